//! The verdict in plain words, for whoever stands in the workshop.
//!
//! In: the facts of a run. Out: text. The size comes first, since a wrong unit is the likeliest disaster; then what
//! will come out, what was found, and what to look at on the machine. Strings from files are made harmless.

use super::facts::Facts;
use super::verdict::verdict;
use super::{asides, registration, start, work};
use crate::check::reading::named;
use crate::check::{Finding, Severity};
use crate::geom::Point;
use crate::kit::fit::{BY, Sensitivity};
use crate::kit::{Figure, Tools};
use crate::template::ease::Corners;
use crate::template::{Duty, Opening, Panel, Setup, Turn};
use crate::text::terminal as safe;
use crate::units::{INCH, inch_behind, mm_and_inch};
use std::fmt::Write;

/// So many findings of a kind are told one by one; of more, the worst and how many.
const OF_A_KIND: usize = 3;

/// The verdict. `all`: every finding by itself. `made`: whether files are written (`make`), or only told (`check`).
#[must_use]
pub fn report(facts: &Facts, all: bool, made: bool) -> String {
    let mut out = String::new();
    // Writing to a string cannot fail.
    let _ = writeln!(out, "{}", verdict(facts))
        .and_then(|()| size(&mut out, facts))
        .and_then(|()| found(&mut out, &facts.findings, all, from_corner(facts)))
        .and_then(|()| outcome(&mut out, facts))
        .and_then(|()| asides::words(&mut out, facts))
        .and_then(|()| work::words(&mut out, facts))
        .and_then(|()| facts.then.iter().try_for_each(|next| following(&mut out, next, facts, all)))
        .and_then(|()| if made { machine(&mut out, facts) } else { Ok(()) })
        .and_then(|()| if facts.blocked() { Ok(()) } else { caution(&mut out) });
    out
}

/// A job that follows: what was let in whole is the board now, and the island's own wood is the inlay.
fn following(out: &mut String, next: &Facts, first: &Facts, all: bool) -> std::fmt::Result {
    let part = next.part.as_deref().unwrap_or_default();
    if next.asides.shoulder.is_some() {
        writeln!(out, "\nAnd, with its panels set to the same marks: {part} (places count from its own outlines)")?;
        sizes(out, next)?;
        found(out, &next.findings, all, from_corner(next))?;
        return if first.blocked() { Ok(()) } else { outcome(out, next).and_then(|()| work::words(out, next)) };
    }
    writeln!(out, "\nThen, when the first job is glued and level: {part}")?;
    writeln!(
        out,
        "  the recess goes into the wood that was let in; the inlay is the wood of the island, cut from the board's own"
    )?;
    let frame = first.frame().map_or(Point::ORIGIN, |r| Point::new(r.x0, r.y0));
    for o in &next.outlines {
        let Some(b) = o.region.bounds() else { continue };
        let (x, y) = (b.x0 - frame.x, b.y0 - frame.y);
        writeln!(
            out,
            "  island {}: {:.2} x {:.2} mm, its lower left {x:.1} mm from the left and {y:.1} mm from the bottom of the first job's outlines",
            o.number,
            b.width(),
            b.height()
        )?;
    }
    found(out, &next.findings, all, from_corner(next))?;
    if first.blocked() {
        return Ok(());
    }
    outcome(out, next)?;
    work::words(out, next)
}

fn size(out: &mut String, facts: &Facts) -> std::fmt::Result {
    let d = &facts.drawing;
    let size = match d.bounds {
        Some(b) => format!("{} wide, {} high", mm_and_inch(b.width()), mm_and_inch(b.height())),
        None => "without a size".to_owned(),
    };
    writeln!(out, "{}: {size}", safe(&facts.path))?;
    writeln!(out, "  believed because: {}", safe(&d.unit_source))?;
    if let Some(s) = &facts.asides.start {
        writeln!(out, "  taken for {}", start::taken_for(s.start))?;
    }
    if facts.mirrored {
        writeln!(out, "  mirrored: it is taken to show the back of the work, so left and right are changed about")?;
    }
    sizes(out, facts)
}

fn sizes(out: &mut String, facts: &Facts) -> std::fmt::Result {
    for o in &facts.outlines {
        let Some(b) = o.region.bounds() else { continue };
        let layer = o.source.layer.as_ref().map(|l| format!(", layer {}", safe(l))).unwrap_or_default();
        let from = safe(&named(&o.source));
        writeln!(out, "  outline {} ({from}{layer}): {:.2} x {:.2} mm", o.number, b.width(), b.height())?;
    }
    Ok(())
}

/// How far a place lies from the left and the bottom.
fn from_corner(facts: &Facts) -> impl Fn(Point) -> (f64, f64) {
    let corner = facts.corner();
    move |p| (p.x - corner.x, p.y - corner.y)
}

/// Findings in words; `measured` says where a place lies from the left and the bottom.
pub(super) fn found(
    out: &mut String,
    findings: &[Finding],
    all: bool,
    measured: impl Fn(Point) -> (f64, f64),
) -> std::fmt::Result {
    if findings.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nFound")?;
    for kind in findings.chunk_by(|a, b| a.severity == b.severity && a.code == b.code) {
        if all || kind.len() <= OF_A_KIND {
            kind.iter().try_for_each(|f| finding(out, f, &measured))?;
            continue;
        }
        let badness = |f: &Finding| f.short.or(f.measured).unwrap_or(0.0).abs();
        if let Some(worst) = kind.iter().max_by(|a, b| badness(a).total_cmp(&badness(b)).then(b.mark.cmp(&a.mark))) {
            finding(out, worst, &measured)?;
        }
        writeln!(out, "      and {} more of this kind: --all tells them one by one", kind.len() - 1)?;
    }
    writeln!(out, "  letin explain CODE tells more of a finding; its code is the word in brackets")
}

fn finding(out: &mut String, f: &Finding, measured: &impl Fn(Point) -> (f64, f64)) -> std::fmt::Result {
    let glyph = match f.severity {
        Severity::Error => "●",
        Severity::Warning => "▲",
        Severity::Note => "○",
    };
    let accepted = if f.accepted { ", accepted" } else { "" };
    let on = f.outline.map(|n| format!(", outline {n}")).unwrap_or_default();
    writeln!(
        out,
        "  {glyph} {} {} [{}{accepted}{on}] {}",
        f.mark,
        f.severity.name(),
        f.code,
        safe(&f.message.to_string())
    )?;
    if let Some(p) = f.at {
        let (x, y) = measured(p);
        writeln!(out, "      {x:.1} mm from the left, {y:.1} mm from the bottom")?;
    }
    writeln!(out, "      {}", safe(&f.help.to_string()))
}

fn outcome(out: &mut String, facts: &Facts) -> std::fmt::Result {
    let t = &facts.tools;
    if facts.blocked() {
        return writeln!(
            out,
            "\nIt cannot be made as it is: nothing for the machine is written while an error stands."
        );
    }
    if let Some(s) = &facts.asides.start {
        start::words(out, s, facts)?;
        measured(out, t)?;
    } else {
        pieces(out, facts)?;
    }
    if let Some(t) = facts.flatten {
        writeln!(out, "  the openings' arcs are chords within {t} mm of them; the gaps told are those of the chords")?;
    }
    if !facts.fits.is_empty() {
        hangs_on(out, &start::hangs_on(facts))?;
    }
    if !facts.template.panels.is_empty() {
        let f = &facts.figures;
        let said = |figure: Figure| format!("{} mm ({})", figure.mm, figure.said.words());
        writeln!(
            out,
            "  worked out for a router base of radius {} and a template {} thick, cut with a cutter of {}",
            said(f.base),
            said(f.thickness),
            said(f.template_cutter)
        )?;
    }
    for p in &facts.template.panels {
        panel(out, p, facts)?;
    }
    Ok(())
}

/// The two pieces and how they fit.
fn pieces(out: &mut String, facts: &Facts) -> std::fmt::Result {
    let t = &facts.tools;
    writeln!(out, "\nWhat will come out")?;
    writeln!(
        out,
        "  recess with a {} mm{} bush and a {} mm{} cutter, inlay with {}{} and {}{}",
        t.recess_called.bush,
        inch_behind(t.recess_called.bush),
        t.recess_called.cutter,
        inch_behind(t.recess_called.cutter),
        t.inlay_called.bush,
        inch_behind(t.inlay_called.bush),
        t.inlay_called.cutter,
        inch_behind(t.inlay_called.cutter)
    )?;
    measured(out, t)?;
    let radius = |r: Option<f64>| r.map(|r| format!("{r:.2}")).unwrap_or_default();
    let (inside, outside) = (radius(facts.corners.inside_radius(t)), radius(facts.corners.outside_radius(t)));
    match facts.corners {
        Corners::Ease { .. } => writeln!(
            out,
            "  corners eased in both pieces alike: inside corners to a radius of {inside} mm, outside ones to {outside} mm"
        )?,
        Corners::Square => writeln!(
            out,
            "  outside corners eased to a radius of {outside} mm; inside corners stay sharp on the inlay: chisel the recess square there"
        )?,
        Corners::Keep => writeln!(
            out,
            "  corners kept as drawn: chisel the recess's inside corners, and pare the inlay's hollows to the radius that the recess came out with"
        )?,
    }
    let sizes = if t.measured { "measured" } else { "nominal" };
    for f in &facts.fits {
        // What rounds to nothing is not told with a minus.
        let plain = |mm: f64| if mm.abs() < 5e-4 { 0.0 } else { mm };
        let (least, most) = (plain(f.gap_min.mm), plain(f.gap_max.mm));
        match facts.corners {
            Corners::Ease { .. } => writeln!(
                out,
                "  outline {}: gap between recess and inlay from {least:.3} to {most:.3} mm per side, by {sizes} sizes",
                f.outline
            )?,
            _ => writeln!(
                out,
                "  outline {}: gap from {least:.3} to {most:.3} mm per side as routed, before the corners are worked by hand",
                f.outline
            )?,
        }
        writeln!(out, "    off the drawing by at most: recess {:.2} mm, inlay {:.2} mm", f.recess_off, f.inlay_off)?;
    }
    Ok(())
}

/// What the panel is, what it carries, and which edges are set against something.
fn panel(out: &mut String, p: &Panel, facts: &Facts) -> std::fmt::Result {
    let (turned, reference) = match p.turn {
        Turn::LeftRight => {
            ("turned over like a page, left edge to the right", "bottom, left and right; the top edge is not used")
        }
        Turn::BottomTop => ("turned bottom edge over to the top", "left, bottom and top; the right edge is not used"),
        Turn::None => ("not turned", "left and bottom"),
    };
    let size = format!("{} wide, {} high", mm_and_inch(p.width), mm_and_inch(p.height));
    writeln!(out, "  panel {}: {size}, {turned}", p.number)?;
    writeln!(out, "    reference edges: {reference}")?;
    let on = |duty: Duty| {
        let own = facts.template.openings.iter().filter(|o| o.panel == p.number && o.duty == duty);
        own.map(|o| o.outline.to_string()).collect::<Vec<_>>().join(", ")
    };
    if facts.template.panels.len() > 1 {
        for (duty, whom) in [(Duty::Recess, "recesses"), (Duty::Inlay, "inlays"), (Duty::Both, "recesses and inlays")] {
            let outlines = on(duty);
            if !outlines.is_empty() {
                writeln!(out, "    for the {whom} of: outline {outlines}")?;
            }
        }
        if !on(Duty::Clearing).is_empty() {
            writeln!(out, "    for clearing only: it takes waste and no line")?;
        }
    }
    let own = facts.template.openings.iter().find(|o| o.panel == p.number);
    let Some(at) = own.zip(facts.template.common).map(|(o, c)| o.place * c) else { return Ok(()) };
    writeln!(
        out,
        "    common point, whichever face is up: {:.2} mm from the left, {:.2} mm from the bottom edge",
        at.x, at.y
    )
}

/// The diameters that the sums were made with, where they are not those that the tools are called by.
fn measured(out: &mut String, t: &Tools) -> std::fmt::Result {
    if (t.recess, t.inlay) == (t.recess_called, t.inlay_called) {
        return Ok(());
    }
    writeln!(
        out,
        "    worked out with what the kit has measured: {:.2} and {:.2} mm for the recess, {:.2} and {:.2} mm for the inlay",
        t.recess.bush, t.recess.cutter, t.inlay.bush, t.inlay.cutter
    )
}

/// What the fit hangs on: the parts that change it, and those that do not.
fn hangs_on(out: &mut String, all: &[Sensitivity]) -> std::fmt::Result {
    let (drops, counts): (Vec<&Sensitivity>, Vec<&Sensitivity>) = all.iter().partition(|s| s.gap == 0.0);
    let said: Vec<String> = counts.iter().map(|s| format!("{} {:+.2}", s.part, s.gap)).collect();
    writeln!(out, "  what {BY} mm more of each does to the gap per side: {}", said.join(", "))?;
    if drops.is_empty() {
        return Ok(());
    }
    let none: Vec<&str> = drops.iter().map(|s| s.part).collect();
    writeln!(out, "    nothing, since it is the same for both pieces: {}", none.join(", "))
}

fn machine(out: &mut String, facts: &Facts) -> std::fmt::Result {
    let Some(first) = facts.template.panels.first() else { return Ok(()) };
    if facts.template.openings.is_empty() || facts.blocked() {
        return Ok(());
    }
    let how = match (first.setup, first.turn) {
        (Setup::One, _) => "all from face 1 in one set-up, the panel's own outline last, outside the line",
        (Setup::Two, Turn::None) => "datum at the bottom left corner",
        (Setup::Two, _) => "both faces with one datum at the bottom left corner",
    };
    writeln!(out, "\nOn the machine: cut inside the line, {how}")?;
    registration::words(out, facts)?;
    if facts.writing.is_some_and(|w| w.dxf == "r12") {
        let unit = facts.writing.map_or("mm", |w| w.unit);
        writeln!(out, "  DXF of release 12 holds no unit: tell the machine's program that it is {unit}")?;
    }
    for job in facts.jobs() {
        if let Some(part) = &job.part {
            writeln!(out, "  {part}:")?;
        }
        for p in &job.template.panels {
            for o in job.template.openings.iter().filter(|o| o.panel == p.number) {
                read_back(out, p, o, job)?;
            }
        }
    }
    writeln!(out, "\nFor the calipers, along the panel's edges")?;
    let all = facts.jobs().flat_map(|job| job.fits.iter().map(move |f| (job, f)));
    for (job, f) in all {
        let part = job.part.as_ref().map(|p| format!("{p}, ")).unwrap_or_default();
        writeln!(
            out,
            "  {part}outline {}: recess {:.2} x {:.2} mm, inlay {:.2} x {:.2} mm",
            f.outline, f.recess_size.0, f.recess_size.1, f.inlay_size.0, f.inlay_size.1
        )?;
    }
    Ok(())
}

/// What every report carries that tells somebody to rout.
fn caution(out: &mut String) -> std::fmt::Result {
    writeln!(
        out,
        "\nRouters hurt. Guards on; protect eyes, ears and lungs. Unplug the router to change bush or cutter.\n\
         Local rules, the makers' instructions and trained practice come first. Cut a trial in scrap first."
    )
}

/// What must be seen after the file has been taken into the machine's program.
fn read_back(out: &mut String, panel: &Panel, o: &Opening, facts: &Facts) -> std::fmt::Result {
    let Some((face, b)) = facts.read_back(o) else { return Ok(()) };
    let sheet = if facts.template.panels.len() > 1 { format!("panel {}, ", panel.number) } else { String::new() };
    let inches = facts.writing.is_some_and(|w| w.unit == "in");
    let n = |mm: f64| if inches { format!("{:.4}", mm / INCH) } else { format!("{mm:.2}") };
    let unit = if inches { "in" } else { "mm" };
    let whom = match o.duty {
        Duty::Recess => "for the recess",
        Duty::Inlay => "for the inlay",
        Duty::Both => "for both",
        Duty::Clearing => "for clearing",
    };
    writeln!(
        out,
        "  {sheet}face {face}, {} {whom}: after import it must read {} {unit} wide and {} {unit} high, its lower left at ({}, {})",
        o.id,
        n(b.width()),
        n(b.height()),
        n(b.x0),
        n(b.y0)
    )?;
    match work::on_machine(o, facts) {
        Some(loose) => writeln!(out, "    {loose}"),
        None => Ok(()),
    }
}
