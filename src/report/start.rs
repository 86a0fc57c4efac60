//! A job that starts from something in hand: every later step with its tools and sizes, in words and for programs.
//!
//! In: the facts of a run. Out: lines for a terminal, a part of the JSON document.

use super::facts::{Facts, Stage, StageKind, StartFacts};
use super::json::Number;
use super::work::{called, tool};
use crate::kit::Pair;
use crate::kit::fit::{Sensitivity, sensitivities, sensitivities_of_one};
use crate::template::Duty;
use crate::template::start::Start;
use crate::units::mm_and_inch;
use serde::Serialize;
use std::fmt::Write;

/// What the drawing is taken for.
pub(super) fn taken_for(start: Start) -> &'static str {
    match start {
        Start::Part => "the outside of a part in hand, which is let in as it is",
        Start::Template => "the opening of a template that is there, which serves the recess",
        Start::Recess => "a recess that is there; nothing is cut into the board",
    }
}

/// What the gap hangs on: only the parts that are used.
pub(super) fn hangs_on(facts: &Facts) -> Vec<Sensitivity> {
    match facts.asides.start.as_ref().map(|s| (s.start, s.cut)) {
        None => sensitivities(&facts.tools, facts.tools.one_opening),
        Some((_, Some(Duty::Recess))) => sensitivities_of_one(true),
        Some((Start::Recess, _)) => sensitivities_of_one(false),
        Some((start, _)) => {
            let all = sensitivities(&facts.tools, facts.tools.one_opening);
            // The opening was made by the very pair that runs round the part, and the bush is taped for one step only.
            let told =
                |s: &Sensitivity| start != Start::Part || !matches!(s.name, "opening" | "eccentricity" | "tape-inlay");
            let named = |s: Sensitivity| match (start, s.name) {
                (Start::Part, "inlay-bush") => Sensitivity { part: "the bush that runs round the part", ..s },
                (Start::Part, "inlay-cutter") => Sensitivity { part: "the cutter that runs round the part", ..s },
                _ => s,
            };
            all.into_iter().filter(told).map(named).collect()
        }
    }
}

/// The steps in their order; then what of it rests on what.
pub(super) fn words(out: &mut String, s: &StartFacts, facts: &Facts) -> std::fmt::Result {
    writeln!(out, "\nWhat will come out, step by step")?;
    let several = facts.outlines.len() > 1;
    for (n, stage) in (1..).zip(s.stages.iter().filter(|g| g.taken)) {
        let whose = if several { format!("outline {}: ", stage.outline) } else { String::new() };
        writeln!(out, "  {n}. {whose}{}", step(s, stage, facts))?;
    }
    let plain = |mm: f64| if mm.abs() < 5e-4 { 0.0 } else { mm };
    let sizes = if facts.tools.measured { "measured" } else { "nominal" };
    for f in &facts.fits {
        writeln!(
            out,
            "  outline {}: gap between recess and inlay from {:.3} to {:.3} mm per side as routed, by {sizes} sizes",
            f.outline,
            plain(f.gap_min.mm),
            plain(f.gap_max.mm)
        )?;
    }
    matching(out, s, facts)?;
    if s.start == Start::Part && s.cut.is_none() {
        writeln!(out, "  not checked: that the part is thicker than the bush stands out below the base")?;
    }
    writeln!(
        out,
        "  not proved: that what is in hand is as drawn. Measure it; {}",
        match s.cut {
            Some(_) => "what is cut through the new opening is proved from the files",
            None => "no file is needed, so none was read back: the sums start from the drawing of what is in hand",
        }
    )
}

fn step(s: &StartFacts, stage: &Stage, facts: &Facts) -> String {
    let size = format!("{} wide, {} high", mm_and_inch(stage.size.0), mm_and_inch(stage.size.1));
    let tools = |p: Pair| {
        let c = called(p, facts);
        format!("bush {}, cutter {}", tool(c.bush, p.bush), tool(c.cutter, p.cutter))
    };
    let pair = stage.pair.map(tools).unwrap_or_default();
    let there = match s.start {
        Start::Part => "the part",
        Start::Template => "the template's opening",
        Start::Recess => "the recess",
    };
    let a_side = if stage.offset < 0.0 {
        format!("{:.3} mm per side inside {there}", -stage.offset)
    } else {
        format!("{:.3} mm per side outside {there}", stage.offset)
    };
    let through = match (s.start, s.cut) {
        (Start::Part, None) => "through the opening that the sheet keeps, the same face of the sheet up",
        (Start::Template, None) => "through the template that is there",
        (Start::Template, Some(_)) if stage.kind == StageKind::Recess => "through the template that is there",
        _ => "through the new opening",
    };
    match stage.kind {
        StageKind::Round => {
            format!(
                "sheet: the part fixed on it show face up, {pair}, once round with the bush against the part, the base on the part and on packing \
                 as thick, feed anticlockwise: the sheet keeps an opening {size} ({a_side}); this opening is the template"
            )
        }
        StageKind::Blank => format!("the blank under the part, {size}, drops out: hold it"),
        StageKind::Opening => {
            let whom = if s.cut == Some(Duty::Recess) { "recess" } else { "inlay" };
            format!("machine: an opening for the {whom}, {size} ({a_side})")
        }
        StageKind::Recess => format!("board: {pair}, {through}, feed clockwise: a recess {size} ({a_side})"),
        StageKind::Inlay => {
            let gap =
                if facts.tools.gap > 0.0 { format!(", gap {:.3} mm per side", facts.tools.gap) } else { String::new() };
            format!("inlay: {pair}, {through}, feed clockwise: a piece {size} ({a_side}{gap})")
        }
    }
}

/// Whether the opening that is there would serve both, and what would make it do so.
fn matching(out: &mut String, s: &StartFacts, facts: &Facts) -> std::fmt::Result {
    let t = &facts.tools;
    if s.cut.is_none() {
        writeln!(out, "  the pairs leave a gap of {:.3} mm per side in one opening; {} was wanted", t.gap, s.wanted)?;
    }
    let Some(duty) = s.cut.filter(|_| s.start != Start::Recess) else { return Ok(()) };
    let gap = s.match_gap;
    let round = s.stages.iter().find(|g| g.kind == StageKind::Round);
    let what = match round.filter(|_| duty == Duty::Recess) {
        Some(g) => format!(
            "routed round the part with bush {} and cutter {}, a sheet would keep an opening of {:.2} x {:.2} mm; it",
            s.round.bush, s.round.cutter, g.size.0, g.size.1
        ),
        None => "the template that is there".to_owned(),
    };
    let size = if gap < 0.0 { "too small: the inlay would not go in" } else { "too wide" };
    writeln!(out, "  {what} cannot serve both pieces with these tools: the gap would be {gap:.3} mm per side, {size}")?;
    // Bf = Bm + dm + df − 2g.
    let bush = s.round.bush + s.round.cutter + t.recess_called.cutter - 2.0 * t.gap;
    writeln!(
        out,
        "    it does with a recess bush of {bush:.2} mm on the same cutters; --pair auto looks for such tools in the kit"
    )
}

/// For programs.
#[derive(Serialize)]
pub(super) struct StartPart {
    from: &'static str,
    /// The opening that is there (or that the sheet keeps round the part) serves both pieces.
    one_opening: bool,
    /// The gap per side if it did, with the tools asked for.
    one_opening_gap_mm: Number,
    steps: Vec<StagePart>,
}

#[derive(Serialize)]
struct StagePart {
    outline: String,
    makes: &'static str,
    bush_mm: Option<Number>,
    cutter_mm: Option<Number>,
    size_mm: [Number; 2],
    offset_mm: Number,
    /// False for what would be a step if the pairs matched.
    taken: bool,
}

pub(super) fn part(s: &StartFacts) -> StartPart {
    let stage = |g: &Stage| StagePart {
        outline: format!("outline-{}", g.outline),
        makes: g.kind.name(),
        bush_mm: g.pair.map(|p| Number(p.bush)),
        cutter_mm: g.pair.map(|p| Number(p.cutter)),
        size_mm: [Number(g.size.0), Number(g.size.1)],
        offset_mm: Number(g.offset),
        taken: g.taken,
    };
    StartPart {
        from: s.start.name(),
        one_opening: s.cut.is_none(),
        one_opening_gap_mm: Number(s.match_gap),
        steps: s.stages.iter().map(stage).collect(),
    }
}
