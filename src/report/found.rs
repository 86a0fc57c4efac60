//! Errors, warnings and notes on the terminal.
//!
//! In: findings of one job. Out: lines. Findings of one code and severity share one entry: the worst in full, the
//! others as a list of places. Strings from files are made safe for the terminal.

use super::lines::Lines;
use crate::check::{Code, Finding, Severity};
use crate::geom::Point;
use crate::job::facts::in_words;
use crate::text::{Show, tenth, terminal as safe};
use std::collections::BTreeMap;

/// Greatest number of places listed after the worst one.
const PLACES: usize = 8;

/// How findings are shown.
#[derive(Clone, Copy, Debug)]
pub(super) struct Manner<'a> {
    pub show: Show,
    /// Places count from here, in the drawing frame.
    pub corner: Point,
    /// Several outlines are made, so an entry names its outline.
    pub several: bool,
    /// Every finding has an entry of its own.
    pub each: bool,
    pub severities: &'a [Severity],
}

/// An entry for each kind of finding in the severities of `manner`. The most severe come first, then those farthest
/// off.
pub(super) fn write_entries(lines: &mut Lines, findings: &[Finding], manner: Manner) {
    let mut kinds: BTreeMap<(Severity, Code, bool), Vec<&Finding>> = BTreeMap::new();
    let asked = |f: &&Finding| manner.severities.contains(&f.severity);
    for f in findings.iter().filter(asked) {
        kinds.entry((f.severity, f.code, f.accepted)).or_default().push(f);
    }
    let mut kinds: Vec<Vec<&Finding>> = kinds.into_values().collect();
    for kind in &mut kinds {
        kind.sort_by(|a, b| badness(b).total_cmp(&badness(a)).then(a.mark.cmp(&b.mark)));
    }
    kinds.sort_by(|a, b| {
        // A doubtful size comes before everything that depends on it.
        let size = |f: &Finding| if matches!(f.code, Code::UnitGuess | Code::OddSize) { f64::MAX } else { 0.0 };
        let of = |k: &[&Finding]| k.first().map(|f| (f.severity, f.off.unwrap_or(0.0).max(size(f)), f.mark));
        match (of(a), of(b)) {
            (Some(a), Some(b)) => a.0.cmp(&b.0).then(b.1.total_cmp(&a.1)).then(a.2.cmp(&b.2)),
            _ => std::cmp::Ordering::Equal,
        }
    });
    for kind in kinds {
        if manner.each {
            kind.iter().for_each(|f| write_entry(lines, &[f], manner));
        } else {
            write_entry(lines, &kind, manner);
        }
    }
}

/// How far a piece is off; else by how much a limit is missed. Rounded as in the JSON document, so that of equal figures
/// the first place counts.
fn badness(f: &Finding) -> f64 {
    let mm = f.off.or(f.short).or(f.measured).unwrap_or(0.0).abs();
    (mm * 1e6).round()
}

/// The sign of a severity.
pub(super) fn sign(severity: Severity) -> &'static str {
    match severity {
        Severity::Error => "●",
        Severity::Warning => "▲",
        Severity::Note => "○",
    }
}

fn write_entry(lines: &mut Lines, kind: &[&Finding], manner: Manner) {
    let [worst, ..] = kind else { return };
    let n = kind.len();
    let noun = worst.code.noun(n);
    let noun = if n == 1 { capital(noun) } else { format!("{n} {noun}") };
    let accepted = if worst.accepted { ", accepted" } else { "" };
    // In the long list the command stands once below it.
    let command = if manner.each { "" } else { "letin explain " };
    let on = match worst.outline {
        Some(o) if manner.several && n == 1 => format!(", outline {o}"),
        _ => String::new(),
    };
    lines.line(&format!(
        "{} {}{accepted}: {noun}{on}. {} [{command}{}]",
        sign(worst.severity),
        capital(worst.severity.name()),
        marks(kind),
        worst.code
    ));
    let which = if n == 1 { String::new() } else { format!("Worst, mark {}: ", worst.mark) };
    let message = safe(&worst.message.shown(manner.show));
    let help = if worst.accepted {
        format!("Accepted with --accept {}.", worst.code)
    } else {
        safe(&worst.help.shown(manner.show))
    };
    if manner.each {
        lines.item(&message);
        lines.item(&help);
    } else {
        lines.item(&format!("{which}{message} {help}"));
    }
    write_places(lines, kind, manner);
}

/// The places of an entry: one in words, several as a list by their marks.
fn write_places(lines: &mut Lines, kind: &[&Finding], manner: Manner) {
    let mut all: Vec<(usize, Point)> = kind.iter().filter_map(|f| Some((f.mark, f.at?))).collect();
    all.sort_unstable_by_key(|p| p.0);
    match all.as_slice() {
        [] => {}
        [(_, one)] => lines.item(&format!("{}.", capital(&in_words(manner.corner, *one, manner.show)))),
        some => {
            let shown: Vec<String> =
                some.iter().take(PLACES).map(|(mark, p)| format!("{mark}: {}", place(*p, manner))).collect();
            let rest = match some.len().saturating_sub(PLACES) {
                0 => String::new(),
                rest => format!(" and {rest} more"),
            };
            let unit = manner.show.symbol();
            lines.item(&format!("Marks, {unit} from the left and bottom: {}{rest}.", shown.join(" · ")));
        }
    }
}

/// The marks in the pictures: `Mark 3.`, `Marks 1 to 4.`
fn marks(kind: &[&Finding]) -> String {
    let mut all: Vec<usize> = kind.iter().map(|f| f.mark).collect();
    all.sort_unstable();
    let runs: Vec<String> = all
        .chunk_by(|a, b| b - a == 1)
        .map(|run| match run {
            [one] => one.to_string(),
            [one, other] => format!("{one}, {other}"),
            [first, .., last] => format!("{first} to {last}"),
            [] => String::new(),
        })
        .collect();
    format!("Mark{} {}.", if all.len() == 1 { "" } else { "s" }, runs.join(", "))
}

fn place(p: Point, manner: Manner) -> String {
    let (x, y) = (p.x - manner.corner.x, p.y - manner.corner.y);
    format!("{}, {}", tenth(x).number(manner.show), tenth(y).number(manner.show))
}

/// The kinds of notes in one line; writes nothing without notes. `hand` is not counted: it has its own entry.
pub(super) fn write_notes(lines: &mut Lines, findings: &[Finding]) {
    let mut kinds: BTreeMap<Code, usize> = BTreeMap::new();
    for f in findings.iter().filter(|f| f.severity == Severity::Note && f.code != Code::Hand) {
        *kinds.entry(f.code).or_default() += 1;
    }
    let all: usize = kinds.values().sum();
    if all == 0 {
        return;
    }
    let listed: Vec<String> = kinds
        .iter()
        .map(|(code, n)| if *n == 1 { code.noun(1).to_owned() } else { format!("{n} {}", code.noun(*n)) })
        .collect();
    let s = if all == 1 { "" } else { "s" };
    lines.line(&format!(
        "{} {all} note{s}: {}. --full shows {}.",
        sign(Severity::Note),
        listed.join(", "),
        if all == 1 { "it" } else { "them" }
    ));
}

/// `text` with a capital first letter.
pub(super) fn capital(text: &str) -> String {
    let mut chars = text.chars();
    chars.next().map_or_else(String::new, |c| c.to_uppercase().chain(chars).collect())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn marks_in_runs() {
        let f = |mark| Finding { mark, ..Finding::new(Code::Neck, Severity::Warning, "M.", "H.") };
        let all: Vec<Finding> = [7, 1, 2, 3, 9, 10].map(f).into();
        assert_eq!(marks(&all.iter().collect::<Vec<_>>()), "Marks 1 to 3, 7, 9, 10.");
        assert_eq!(marks(&[&all[0]]), "Mark 7.");
    }

    #[test]
    fn one_entry_for_a_kind_and_the_worst_first() {
        let f = |mark, off| Finding {
            mark,
            off: Some(off),
            at: Some(Point::new(f64::from(u32::try_from(mark).unwrap()), 2.0)),
            ..Finding::new(Code::InsideCorner, Severity::Warning, format!("Off by {off}."), "Draw it rounder.")
        };
        let mut lines = Lines::default();
        let manner = Manner {
            show: Show::Mm,
            corner: Point::ORIGIN,
            several: false,
            each: false,
            severities: &[Severity::Error, Severity::Warning],
        };
        write_entries(&mut lines, &[f(1, 0.5), f(2, 1.5), f(3, 1.0)], manner);
        assert_eq!(
            lines.text(),
            "▲ Warning: 3 inside corners of the recess. Marks 1 to 3. [letin explain inside-corner]\n\
             \x20 Worst, mark 2: Off by 1.5. Draw it rounder.\n\
             \x20 Marks, mm from the left and bottom: 1: 1.0, 2.0 · 2: 2.0, 2.0 · 3: 3.0, 2.0.\n"
        );
    }
}
