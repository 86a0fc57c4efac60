//! The order of work at the bench, as a maker would say it.
//!
//! In: the facts of a run. Out: lines for a terminal: each step with panel, face, edges, tools, depth and passes, which way
//! to feed, what falls loose and where tape has to hold it; and what could not be checked. Common practice, no source,
//! where no sum stands behind it: which way to feed, tape or a skin of 0.3 mm, 0.5 to 1 mm left in thick wood, the trial in
//! scrap first.

use super::facts::{Facts, ShoulderFacts};
use crate::check::depth::ABOVE_WORK;
use crate::kit::Pair;
use crate::template::hand::{Purpose, Step, Work};
use crate::template::work::INTO_SPOIL;
use crate::template::{Duty, Opening};
use crate::text::rounded;
use crate::tolerance::WIDTH_SLACK;
use crate::units::{hundredths, inch_behind};
use std::collections::BTreeSet;
use std::fmt::Write;

/// A number for people: to the hundredth, no zeros behind.
fn n(mm: f64) -> String {
    hundredths(mm)
}

/// A tool as it is called in the box, with its size where that was measured: `20 (19.86 measured)`.
pub(super) fn tool(called: f64, size: f64) -> String {
    let inch = inch_behind(called);
    let measured = rounded(size, 3).unwrap_or_default();
    let name = hundredths(called);
    match (size == called, inch.strip_suffix(')')) {
        (true, _) => format!("{name}{inch}"),
        (false, Some(inch)) => format!("{name}{inch}; {measured} measured)"),
        (false, None) => format!("{name} ({measured} measured)"),
    }
}

/// What the tools of a pair are called by, of those that the job has.
pub(super) fn called(pair: Pair, facts: &Facts) -> Pair {
    let shoulder = facts.asides.shoulder.as_ref();
    let sets = [Some(&facts.tools), shoulder.map(|s| &s.plug_tools)];
    let mut pairs = sets.into_iter().flatten().flat_map(|t| [(t.recess, t.recess_called), (t.inlay, t.inlay_called)]);
    let cutter = pairs.clone().find(|(p, _)| p.cutter == pair.cutter).map_or(pair.cutter, |(_, c)| c.cutter);
    let line = pairs.find(|(p, _)| p.bush == pair.bush).map(|(_, c)| c.bush);
    let clearing = || shoulder?.clearing_called.iter().find(|(size, _)| *size == pair.bush).map(|(_, c)| *c);
    Pair { bush: line.or_else(clearing).unwrap_or(pair.bush), cutter }
}

/// All steps in order; nothing while an error stands.
pub(super) fn words(out: &mut String, facts: &Facts) -> std::fmt::Result {
    if facts.blocked() || facts.bench.steps.is_empty() {
        return Ok(());
    }
    let shoulder = facts.asides.shoulder.as_ref();
    let why = match shoulder {
        Some(_) => "the inlay first: it is the depth gauge for the rebate",
        None => "the recess in scrap first, the inlay fitted in that, and only then the board",
    };
    writeln!(out, "\nOrder of work ({why})")?;
    before(out, facts)?;
    let mut steps: Vec<&Step> = facts.bench.steps.iter().collect();
    if shoulder.is_none() {
        // One setting of the panel serves all its openings.
        steps.sort_by_key(|s| (s.work == Work::Inlay, s.panel));
    }
    let together = |a: &&Step, b: &&Step| match shoulder {
        // Rounds in one opening with one bush after the other are one step to the maker.
        Some(_) => [a, b].iter().all(|s| s.purpose == Purpose::Clearing) && a.opening == b.opening,
        None => (a.work, a.panel, a.face_up) == (b.work, b.panel, b.face_up),
    };
    for (i, rounds) in steps.chunk_by(together).enumerate() {
        one(out, i + 1, rounds, facts)?;
    }
    if let Some(s) = shoulder {
        after_shoulder(out, s, facts)?;
    }
    not_checked(out, facts)
}

/// What holds for all steps.
fn before(out: &mut String, facts: &Facts) -> std::fmt::Result {
    let r = facts.bench.router;
    let given = r.projection.map(|p| format!(", it is said to stand out {} mm", n(p))).unwrap_or_default();
    writeln!(
        out,
        "  the template is {} mm thick: no bush may stand out more than {} mm below the base{given}",
        n(r.thickness),
        n(r.thickness - ABOVE_WORK)
    )?;
    writeln!(
        out,
        "  plunge with the bush against the edge, press it outward all the way, keep the same side of the router towards you, and let the cutter stop before lifting"
    )
}

fn one(out: &mut String, number: usize, rounds: &[&Step], facts: &Facts) -> std::fmt::Result {
    let [step, ..] = rounds else { return Ok(()) };
    let shoulder = facts.asides.shoulder.as_ref();
    let piece = match (step.work, shoulder) {
        (Work::Board, _) => "board",
        (Work::Inlay, None) => "inlay",
        (Work::Inlay, Some(_)) => "inlay, plug up",
    };
    let [side, end] = step.corner.names();
    writeln!(
        out,
        "  {number}. {piece}: panel {}, face {} up, {end} and {side} edges to the marks, {}: {}",
        step.panel,
        step.face_up,
        openings(rounds, facts),
        what(step, facts)
    )?;
    writeln!(out, "     {}; {}", tools(rounds, facts), depth(step, facts))?;
    writeln!(out, "     {}", feed(step, shoulder))?;
    match loose(step, facts) {
        Some(held) => writeln!(out, "     {held}"),
        None => Ok(()),
    }
}

fn openings(rounds: &[&Step], facts: &Facts) -> String {
    let shoulder = facts.asides.shoulder.as_ref();
    let mut names: Vec<String> = Vec::new();
    let mut seen: BTreeSet<String> = BTreeSet::new();
    for s in rounds {
        let opening = facts.template.opening(&s.opening);
        let role = match (opening.map(|o| o.duty), shoulder) {
            (_, None) if facts.outlines.len() > 1 => format!(" (outline {})", s.outline),
            (_, None) => String::new(),
            (Some(Duty::Clearing), _) => " (for clearing)".to_owned(),
            (_, Some(f)) if s.outline == f.plug => " (plug)".to_owned(),
            _ => " (shoulder)".to_owned(),
        };
        let name = format!("{}{role}", s.opening);
        if seen.insert(name.clone()) {
            names.push(name);
        }
    }
    names.join(", ")
}

fn what(step: &Step, facts: &Facts) -> &'static str {
    let Some(s) = &facts.asides.shoulder else {
        return match (step.work, step.through) {
            (Work::Board, true) => "the recess, right through",
            (Work::Board, false) => "the recess",
            (Work::Inlay, _) => "the kerf round the inlay, right through",
        };
    };
    match (step.work, step.purpose, step.outline == s.plug) {
        (_, Purpose::Clearing, _) => "clear the waste",
        (Work::Inlay, _, true) => "the kerf round the plug",
        (Work::Inlay, _, false) => "the shoulder's line, right through",
        (Work::Board, _, true) => "the hole, right through",
        (Work::Board, _, false) => "the rebate, to the shoulder's thickness",
    }
}

/// Bushes in the order in which they run, and the cutter.
fn tools(rounds: &[&Step], facts: &Facts) -> String {
    let mut listed: Vec<String> = rounds.iter().map(|s| tool(called(s.pair, facts).bush, s.pair.bush)).collect();
    if facts.asides.shoulder.is_none() {
        listed.truncate(1);
    }
    let bush = match listed.as_slice() {
        [one] => one.clone(),
        [all @ .., last] => format!("{} and then {last}", all.join(", ")),
        [] => String::new(),
    };
    let cutter = rounds.first().map(|s| tool(called(s.pair, facts).cutter, s.pair.cutter)).unwrap_or_default();
    format!("bush {bush}, cutter {cutter}")
}

fn depth(step: &Step, facts: &Facts) -> String {
    let r = facts.bench.router;
    let pass = step.deepest_pass(r.pass);
    let (Some(depth), Some(cut), Some(passes)) = (step.depth, step.cut(), step.passes(r.pass)) else {
        let into = if step.through { format!(", and {INTO_SPOIL} mm into the spoil board") } else { String::new() };
        return format!("how deep was not said: in passes of {} mm at most{into}", n(pass));
    };
    let into = if step.through { format!(" and {INTO_SPOIL} mm into the spoil board") } else { String::new() };
    let in_passes = match passes {
        1 => "in one pass".to_owned(),
        many => format!("in {many} passes of {:.2} mm", cut / f64::from(many)),
    };
    let below = step.below_base(r.thickness).map(|b| format!(", the cutter {} mm below the base for the last", n(b)));
    format!("{} mm deep{into} {in_passes}{}", n(depth), below.unwrap_or_default())
}

fn feed(step: &Step, shoulder: Option<&ShoulderFacts>) -> &'static str {
    match (step.purpose, step.whole) {
        (Purpose::Line, false) => "feed clockwise along the opening's edge",
        (Purpose::Line, true) if shoulder.is_some() => {
            "clear from the hole outward; feed clockwise, the last round along the opening's edge"
        }
        (Purpose::Line, true) => {
            "clear from the middle outward; feed clockwise, round waste that still stands in the middle anticlockwise, the last round along the opening's edge clockwise"
        }
        (Purpose::Clearing, _) => {
            "to the depth of the kerf, the stop left as it is; feed clockwise along the opening's edge"
        }
    }
}

/// What falls loose with the last pass of a step, and what holds it.
fn loose(step: &Step, facts: &Facts) -> Option<String> {
    if step.purpose == Purpose::Clearing || !step.through {
        return None;
    }
    let tape = "tape it to the spoil board before the cut";
    Some(match step.work {
        Work::Inlay => {
            let size = facts.fits.iter().find(|f| f.outline == step.outline).map(|f| f.inlay_size);
            let within = match size {
                Some((w, h)) if facts.asides.shoulder.is_some() || facts.outlines.len() == 1 => {
                    format!(", within its {} x {} mm", n(w), n(h))
                }
                _ => ", within its line".to_owned(),
            };
            format!(
                "the inlay falls loose with the last pass: {tape}{within}; or leave a skin of 0.3 mm and pare it off, in thick wood 0.5 to 1 mm and saw it free"
            )
        }
        Work::Board => format!("the middle drops out with the last pass: {tape}, under its middle"),
    })
}

fn after_shoulder(out: &mut String, s: &ShoulderFacts, facts: &Facts) -> std::fmt::Result {
    if let Some(c) = &s.clearing {
        writeln!(out, "  waste round the plug cleared with the bush guided: {:.1} %", 100.0 * c.coverage())?;
    }
    if let Some(o) = facts.template.openings.iter().find(|o| facts.left_under(o).is_some()) {
        let left = s.clearing.as_ref().map_or(0.0, |c| c.left.area());
        writeln!(
            out,
            "  {left:.0} mm² of it are left for a free hand, before the shoulder's line: hatched on the plan of panel {}, face {}; feed anticlockwise round what still stands, and keep off the plug",
            o.panel, o.face
        )?;
    }
    mirrored(out, facts)?;
    writeln!(out, "  then turn the inlay over and lay it in from above")?;
    lies(out, s, facts)
}

/// How deep the inlay will lie, as far as depths are known.
fn lies(out: &mut String, s: &ShoulderFacts, facts: &Facts) -> std::fmt::Result {
    let deep = |work: Work, outline: usize| {
        let line = |x: &&Step| x.purpose == Purpose::Line && x.work == work && x.outline == outline;
        facts.bench.steps.iter().find(line)?.depth
    };
    let (plug, stock) = (deep(Work::Inlay, s.plug), deep(Work::Inlay, s.shoulder));
    let (board, rebate) = (deep(Work::Board, s.plug), deep(Work::Board, s.shoulder));
    let (Some(plug), Some(stock), Some(rebate)) = (plug, stock, rebate) else { return Ok(()) };
    let proud = stock - plug - rebate;
    let face = match proud {
        p if p > WIDTH_SLACK => format!("stand {} mm proud of the board: plane it flush", n(p)),
        p if p < -WIDTH_SLACK => format!("lie {} mm below the board's face", n(-p)),
        _ => "lie flush with the board's face".to_owned(),
    };
    writeln!(out, "  its shoulder will {face}")?;
    let Some(board) = board else { return Ok(()) };
    let back = match plug + rebate - board {
        p if p > WIDTH_SLACK => format!("stand {} mm out of the board's back: saw and plane it off", n(p)),
        p if p < -WIDTH_SLACK => format!("end {} mm short of the board's back", n(-p)),
        _ => "end flush with the board's back".to_owned(),
    };
    writeln!(out, "  its plug will {back}")
}

/// The panels that are for the inlay only.
fn mirrored(out: &mut String, facts: &Facts) -> std::fmt::Result {
    let t = &facts.template;
    // On a panel that serves both the inlay's steps have the other face up instead.
    if t.openings.iter().any(|o| o.duty == Duty::Both) {
        return Ok(());
    }
    let serves = |n: u32| t.openings.iter().any(|o| o.panel == n && o.duty != Duty::Recess);
    for panel in t.panels.iter().filter(|p| serves(p.number)) {
        let n = panel.number;
        writeln!(out, "  panel {n} is for the inlay only: its openings are drawn as the mirror image")?;
    }
    Ok(())
}

fn not_checked(out: &mut String, facts: &Facts) -> std::fmt::Result {
    let all: Vec<String> = facts.bench.not_checked.iter().map(|(_, words)| words.shown(facts.show)).collect();
    // Once: a job that follows lacks the same figures.
    if all.is_empty() || facts.part.is_some() {
        Ok(())
    } else {
        writeln!(out, "  not checked, since it was not said: {}", all.join("; "))
    }
}

/// What comes loose when the machine cuts an opening, and what holds it.
pub(super) fn on_machine(o: &Opening, facts: &Facts) -> Option<String> {
    let (w, h) = facts.loose(o)?;
    Some(format!(
        "its centre, {} x {} mm, falls loose with the last pass: tape under its middle before the cut",
        n(w),
        n(h)
    ))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 5/16 in is 7.9375 mm and 1/8 in 3.175, by 25.4.
    #[test]
    fn tools_are_called_as_in_the_box() {
        for (called, size, want) in [
            (20.0, 20.0, "20"),
            (20.0, 19.86, "20 (19.86 measured)"),
            (7.9375, 7.9375, "7.94 (5/16 in)"),
            (3.175, 3.175, "3.18 (1/8 in)"),
            (3.175, 3.16, "3.18 (1/8 in; 3.16 measured)"),
        ] {
            assert_eq!(tool(called, size), want);
        }
    }
}
