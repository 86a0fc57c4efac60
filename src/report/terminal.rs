//! The report on the terminal, short or in full.
//!
//! In: the facts of a run. Out: text; no line is longer than [`super::lines::WIDEST`] columns. The verdict comes
//! first, then the size, because a wrong unit is the most likely serious mistake. While an error stops the job, the
//! report has only that error and the ways out. Strings from files are made safe for the terminal.

use super::caution::CAUTION;
use super::found::{self, Manner, capital};
use super::lines::Lines;
use super::verdict::{by_hand, verdict};
use super::{asides, machine, start, work};
use crate::check::source::named;
use crate::check::{Code, Finding, Severity};
use crate::geom::Point;
use crate::job::facts::Facts;
use crate::kit::fit::BY;
use crate::kit::{FigureSource, Tools};
use crate::template::ease::Corners;
use crate::template::start::Start;
use crate::text::{Length, Show, Words, fixed, gap, plain, terminal as safe, tool};

/// The short report lists the caliper sizes of at most this many outlines.
const SIZES: usize = 4;

/// How much is shown.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Detail {
    /// Every finding by itself.
    pub all: bool,
    /// Every detail.
    pub full: bool,
}

/// The report. `made`: true if files are written (`make`), false if the job is only checked (`check`).
#[must_use]
pub fn report(facts: &Facts, detail: Detail, made: bool) -> String {
    let mut lines = Lines::default();
    lines.line(&verdict(facts));
    write_size(&mut lines, facts, detail);
    if facts.blocked() {
        write_stop(&mut lines, facts, detail);
        return lines.text();
    }
    for job in facts.jobs() {
        write_job(&mut lines, job, detail, made);
    }
    if made {
        machine::write_machine(&mut lines, facts, detail.full);
    }
    write_assumed(&mut lines, facts, detail);
    CAUTION.iter().for_each(|c| lines.line(c));
    lines.text()
}

/// A job that can be made: its findings, the sizes of the pieces, and the cuts.
fn write_job(lines: &mut Lines, facts: &Facts, detail: Detail, made: bool) {
    if let Some(part) = &facts.part {
        write_heading(lines, part, facts);
    }
    write_findings(lines, facts, detail);
    lines.gap();
    asides::write_asides(lines, facts);
    lines.gap();
    if !made && !detail.full {
        lines.line(&tools(facts));
    }
    write_sizes(lines, facts, detail.full);
    if detail.full {
        write_outcome(lines, facts);
        lines.gap();
    }
    if let Some(s) = &facts.asides.start {
        start::write_start(lines, s, facts, detail.full);
    }
    let staged = facts.asides.start.is_some();
    if (made && !staged) || detail.full {
        work::write_cuts(lines, facts, detail.full);
    }
}

/// The heading of a job that follows the first: another shouldered piece, or the islands' own wood.
fn write_heading(lines: &mut Lines, part: &str, facts: &Facts) {
    lines.gap();
    if facts.asides.shoulder.is_some() {
        lines.line(&format!(
            "{}, its panels set to the same pencil lines; places count from its own outlines.",
            capital(part)
        ));
    } else {
        lines.line(&format!(
            "{}, after the glue is dry: rout its recess in the first inlay. Cut its inlay from the board's own wood.",
            capital(part)
        ));
    }
}

fn write_size(lines: &mut Lines, facts: &Facts, detail: Detail) {
    let d = &facts.drawing;
    let size = match d.bounds {
        Some(b) => Words::pair(plain(b.width()).with_fraction(), plain(b.height()).with_fraction()).shown(facts.show),
        None => "no size".to_owned(),
    };
    lines.line(&format!("{}: {size}. Size from {}.", safe(&facts.name()), safe(&d.unit_source)));
    if let Some(s) = &facts.asides.start {
        lines.line(&format!("Read as {}.", start::read_as(s.start)));
    }
    if facts.mirrored {
        lines.line("Mirrored: the drawing shows the back of the work.");
    }
    if detail.full {
        facts.jobs().for_each(|job| write_outlines(lines, job));
    }
}

fn write_outlines(lines: &mut Lines, facts: &Facts) {
    for o in &facts.outlines {
        let Some(b) = o.region.bounds() else { continue };
        let layer = o.source.layer.as_ref().map(|l| format!(", layer {}", safe(l))).unwrap_or_default();
        let size = Words::pair(fixed(b.width()), fixed(b.height())).shown(facts.show);
        let part = facts.part.as_ref().map(|p| format!("{p}, ")).unwrap_or_default();
        lines.item(&format!("{part}outline {}: {size} ({}{layer}).", o.number, safe(&named(&o.source))));
    }
}

fn manner<'a>(facts: &Facts, detail: Detail, severities: &'a [Severity]) -> Manner<'a> {
    Manner {
        show: facts.show,
        corner: facts.corner(),
        several: facts.outlines.len() > 1,
        each: detail.all || detail.full,
        severities,
    }
}

/// Each kind of error and warning, and the notes in one line. With `--all` or `--full`: every finding.
fn write_findings(lines: &mut Lines, facts: &Facts, detail: Detail) {
    use Severity::{Error, Note, Warning};
    if detail.all || detail.full {
        found::write_entries(lines, &facts.findings, manner(facts, detail, &[Error, Warning, Note]));
        if !facts.findings.is_empty() {
            lines.line("letin explain CODE says more; the code is the word in brackets.");
        }
        return;
    }
    found::write_entries(lines, &facts.findings, manner(facts, detail, &[Error, Warning]));
    let hand: Vec<Finding> = facts.findings.iter().filter(|f| f.code == Code::Hand).cloned().collect();
    found::write_entries(lines, &hand, manner(facts, detail, &[Note]));
    found::write_notes(lines, &facts.findings);
}

/// The errors that stop the job, and the ways out.
fn write_stop(lines: &mut Lines, facts: &Facts, detail: Detail) {
    let mut others: Vec<Severity> = Vec::new();
    // A doubtful size explains errors that follow from it.
    let doubtful: Vec<Finding> =
        facts.findings.iter().filter(|f| matches!(f.code, Code::UnitGuess | Code::OddSize)).cloned().collect();
    if !detail.all && !detail.full {
        found::write_entries(lines, &doubtful, manner(facts, detail, &[Severity::Warning]));
    }
    for job in facts.jobs() {
        lines.gap();
        let (stop, rest): (Vec<Finding>, Vec<Finding>) = job.findings.iter().cloned().partition(Finding::blocks);
        found::write_entries(lines, &stop, manner(job, detail, &[Severity::Error]));
        if detail.all || detail.full {
            found::write_entries(
                lines,
                &rest,
                manner(job, detail, &[Severity::Error, Severity::Warning, Severity::Note]),
            );
        }
        others.extend(rest.iter().map(|f| f.severity));
    }
    let mut ways: Vec<String> = facts
        .jobs()
        .flat_map(|job| &job.findings)
        .filter(|f| f.blocks() && f.code.acceptable() && !f.last_word)
        .map(|f| format!("--accept {}", f.code))
        .collect();
    ways.dedup();
    let all_acceptable =
        facts.jobs().flat_map(|j| &j.findings).filter(|f| f.blocks()).all(|f| f.code.acceptable() && !f.last_word);
    lines.gap();
    if all_acceptable {
        lines.line(&format!("To make it anyway: {}.", ways.join(" ")));
    }
    asides::write_asides(lines, facts);
    if !others.is_empty() && !detail.all && !detail.full {
        let counted = [Severity::Error, Severity::Warning, Severity::Note].into_iter().filter_map(|s| {
            let n = others.iter().filter(|o| **o == s).count();
            let many = if n == 1 { "" } else { "s" };
            (n > 0).then(|| format!("{n} {}{many}", s.name()))
        });
        let counted: Vec<String> = counted.collect();
        lines.line(&format!("Besides that: {}. --all lists everything.", counted.join(", ")));
    }
    write_tools(lines, facts);
    lines.line("While an error stops the job no opening is written, and openings of an earlier run are removed.");
}

/// The tools of the pieces that are routed.
fn tools(facts: &Facts) -> String {
    let (t, show) = (&facts.tools, facts.show);
    let (f, m) = (t.recess_called, t.inlay_called);
    let name = |bush: (f64, f64), cutter: (f64, f64)| {
        format!("bush {}, cutter {}", work::tool(bush.0, bush.1, show), work::tool(cutter.0, cutter.1, show))
    };
    let recess = name((f.bush, t.recess.bush), (f.cutter, t.recess.cutter));
    let inlay = name((m.bush, t.inlay.bush), (m.cutter, t.inlay.cutter));
    match facts.asides.start.as_ref().map(|s| s.start) {
        Some(Start::Recess) => format!("Tools: {inlay}."),
        Some(Start::Part) => format!("Tools for the recess: {recess}."),
        _ if recess == inlay => format!("Tools: {recess}."),
        _ => format!("Tools: recess {recess}; inlay {inlay}."),
    }
}

/// The tools of a job that errors stop, and which options would change them.
fn write_tools(lines: &mut Lines, facts: &Facts) {
    lines.line(&tools(facts));
    let options: Vec<String> =
        facts.assumed.iter().filter(|o| **o != "gap").map(|option| format!("--{option}")).collect();
    if !options.is_empty() {
        lines.item(&format!("These are assumed. Give yours with {}.", options.join(" and ")));
    }
}

/// The sizes that calipers must show on the two pieces.
fn write_sizes(lines: &mut Lines, facts: &Facts, full: bool) {
    let most = if full { usize::MAX } else { SIZES };
    let several = facts.fits.len() > 1;
    let start = facts.asides.start.is_some();
    for (i, f) in facts.fits.iter().take(most).enumerate() {
        let pair = |(w, h): (f64, f64)| Words::pair(fixed(w), fixed(h)).shown(facts.show);
        let whose = match facts.role(f.outline) {
            Some(role) => format!("{}: ", role.name()),
            None if several => format!("outline {}: ", f.outline),
            None => String::new(),
        };
        let names = if start && facts.asides.start.as_ref().is_some_and(|s| s.cut.is_none()) {
            ["recess", "part"]
        } else {
            ["recess", "inlay"]
        };
        let heading = if i == 0 { "Calipers: " } else { "          " };
        lines.hung_behind(
            heading,
            &format!("{whose}{} {}, {} {}.", names[0], pair(f.recess_size), names[1], pair(f.inlay_size)),
        );
    }
    if facts.fits.len() > most {
        lines.hung_behind("          ", &format!("and {} more: --full lists them.", facts.fits.len() - most));
    }
}

/// The tools, the corners, the gap of each outline, and what changes it.
fn write_outcome(lines: &mut Lines, facts: &Facts) {
    let (t, show) = (&facts.tools, facts.show);
    lines.gap();
    lines.line("What comes out");
    lines.item(&tools(facts));
    lines.item(&corners(facts, t));
    let sizes = if t.measured { "measured" } else { "nominal" };
    for f in &facts.fits {
        let (least, most) = (gap(f.gap_min.mm).shown(show), gap(f.gap_max.mm).shown(show));
        let by_hand = if by_hand(facts) > 0 { ", before the corners are cut by hand" } else { "" };
        let between = if f.gap_min.mm < 0.0 {
            format!(
                "the inlay overlaps the recess by up to {}; elsewhere the gap is up to {most}",
                gap(-f.gap_min.mm).shown(show)
            )
        } else {
            let one = least == most;
            if one { format!("gap {most} per side") } else { format!("gap {least} to {most} per side") }
        };
        lines.item(&format!("Outline {}: {between}{by_hand}, by {sizes} sizes.", f.outline));
        let off = |mm: f64| plain(mm).shown(show);
        lines.below(&format!(
            "Farthest off the drawing{}: recess {}, inlay {} (its gap included).",
            if by_hand.is_empty() { "" } else { ", as routed" },
            off(f.recess_off),
            off(f.inlay_off)
        ));
    }
    if !facts.fits.is_empty() {
        write_changes(lines, facts);
    }
}

fn corners(facts: &Facts, t: &Tools) -> String {
    let radius = |r: Option<f64>| r.map(|r| plain(r).shown(facts.show)).unwrap_or_default();
    let (inside, outside) = (radius(facts.corners.inside_radius(t)), radius(facts.corners.outside_radius(t)));
    if facts.asides.start.is_some() {
        return "Corners are not eased: what is in hand stays as it is.".to_owned();
    }
    match facts.corners {
        Corners::Ease { .. } => format!(
            "Inside corners of the recess tighter than {inside} and outside corners tighter than {outside} get these \
             radii, in both pieces."
        ),
        Corners::Square => format!(
            "Outside corners of the recess are eased to a radius of {outside}. Chisel its inside corners square."
        ),
        Corners::Keep => {
            "Corners are kept as drawn. Chisel the recess's inside corners. Pare the inlay's notches to the \
                          radius of the recess."
                .to_owned()
        }
    }
}

/// A table of the parts that affect the gap.
fn write_changes(lines: &mut Lines, facts: &Facts) {
    let all = start::what_counts(facts);
    let show = facts.show;
    let by = if show == Show::Mm { format!("{BY} mm") } else { "0.004 in".to_owned() };
    let head = format!("If this is {by} larger");
    let wide = all.iter().map(|s| s.part.chars().count()).max().unwrap_or(0).max(head.chars().count());
    lines.table(&format!("{head:wide$}  the gap per side changes by"));
    for s in &all {
        let change = if s.gap == 0.0 {
            "0, the same for both pieces".to_owned()
        } else {
            let sign = if s.gap < 0.0 { '−' } else { '+' };
            format!("{sign}{}", gap(s.gap.abs()).shown(show))
        };
        lines.table(&format!("{:wide$}  {change}", s.part));
    }
}

/// The figures that were not given: assumed, or not checked.
fn write_assumed(lines: &mut Lines, facts: &Facts, detail: Detail) {
    let (f, show) = (&facts.figures, facts.show);
    let t = &facts.tools;
    let tools = [("bush", tool(t.recess_called.bush)), ("cutter", tool(t.recess_called.cutter)), ("gap", gap(t.gap))];
    let figures = [("base radius", f.base), ("template", f.thickness), ("its cutter", f.template_cutter)];
    let named = |(name, length): (&str, Length)| format!("{name} {}", length.shown(show));
    let of = |whose: &dyn Fn(FigureSource) -> bool| {
        let own = figures.iter().filter(|(_, figure)| whose(figure.source) && !facts.template.panels.is_empty());
        own.map(|(name, figure)| named((name, tool(figure.mm)))).collect::<Vec<_>>()
    };
    let mut assumed: Vec<String> = tools
        .into_iter()
        .filter(|t| facts.assumed.contains(&t.0) && !(t.0 == "gap" && facts.tools.one_opening))
        .map(named)
        .collect();
    assumed.extend(of(&|s| s == FigureSource::Assumed));
    if !assumed.is_empty() {
        lines.line(&format!("Assumed: {}.", assumed.join(", ")));
    }
    let known = of(&|s| s != FigureSource::Assumed);
    if detail.full && !known.is_empty() {
        lines.line(&format!("Given or from your kit: {}.", known.join(", ")));
    }
    let recess_in_hand = facts.asides.start.as_ref().is_some_and(|s| s.start == Start::Recess);
    let unknown: Vec<_> =
        facts.bench.not_checked.iter().filter(|(s, _)| !(recess_in_hand && *s == "recess-depth")).collect();
    if unknown.is_empty() {
        return;
    }
    if detail.full {
        lines.line("Not checked, because not given:");
        unknown.iter().for_each(|(_, words)| lines.item(&format!("{}.", capital(&words.shown(show)))));
        return;
    }
    let mut names: Vec<String> = unknown.iter().map(|(setting, _)| noun(setting).to_owned()).collect();
    names.dedup();
    lines.line(&format!("Not checked (not given): {}.", names.join(", ")));
}

/// The noun for the value of a setting or of a key of the kit.
fn noun(setting: &str) -> &str {
    match setting {
        "recess-depth" => "recess depth",
        "plug-height" => "plug height",
        "board" => "board thickness",
        "stock" => "inlay thickness",
        "projection" => "bush projection",
        "bore" => "bush bore",
        "length" => "cutter length",
        "shank" => "cutter shank",
        other => other,
    }
}

/// The findings in the list of outlines.
pub(super) fn write_findings_of_list(lines: &mut Lines, findings: &[Finding], each: bool, show: Show, corner: Point) {
    use Severity::{Error, Note, Warning};
    let severities = [Error, Warning, Note];
    found::write_entries(lines, findings, Manner { show, corner, several: false, each, severities: &severities });
}
