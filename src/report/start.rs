//! A job that starts from an existing thing: every later step with its tools and sizes, in words and for JSON.
//!
//! In: the facts of a run. Out: lines for a terminal, and a part of the JSON document.

use super::lines::Lines;
use super::work::{called, depth, tool};
use crate::job::asides::{Stage, StartFacts};
use crate::job::facts::Facts;
use crate::kit::Pair;
use crate::kit::fit::{Sensitivity, sensitivities, sensitivities_of_one};
use crate::panel::steps::Work;
use crate::schema::OutlineId;
use crate::schema::asides::{self, Begun};
use crate::template::Duty;
use crate::template::start::StageKind;
use crate::template::start::Start;
use crate::text::{Words, fixed, gap, plain, tool as nominal};

/// What the drawing shows, in words.
pub(super) fn read_as(start: Start) -> &'static str {
    match start {
        Start::Part => "the outside of a part in hand, which goes in as it is",
        Start::Template => "the opening of a template in hand, which serves the recess",
        Start::Recess => "a recess in hand, so nothing is cut into the board",
    }
}

/// The parts that affect the gap; only those that the job uses.
pub(super) fn what_counts(facts: &Facts) -> Vec<Sensitivity> {
    match facts.asides.start.as_ref().map(|s| (s.start, s.cut)) {
        None => sensitivities(&facts.tools, facts.tools.one_opening),
        Some((_, Some(Duty::Recess))) => sensitivities_of_one(true),
        Some((Start::Recess, _)) => sensitivities_of_one(false),
        Some((start, _)) => {
            let all = sensitivities(&facts.tools, facts.tools.one_opening);
            // The pair that runs around the part also makes the opening, so the opening adds no error of its own.
            // Tape on the bush serves one step only.
            let reported =
                |s: &Sensitivity| start != Start::Part || !matches!(s.name, "opening" | "eccentricity" | "tape-inlay");
            let named = |s: Sensitivity| match (start, s.name) {
                (Start::Part, "inlay-bush") => Sensitivity { part: "the bush that runs around the part", ..s },
                (Start::Part, "inlay-cutter") => Sensitivity { part: "the cutter that runs around the part", ..s },
                _ => s,
            };
            all.into_iter().filter(reported).map(named).collect()
        }
    }
}

/// Writes the steps in order. Then: whether one opening serves both pieces, and what is not checked and not proved.
pub(super) fn write_start(lines: &mut Lines, s: &StartFacts, facts: &Facts, full: bool) {
    lines.line("Step by step");
    let several = facts.outlines.len() > 1;
    for (n, stage) in (1..).zip(s.stages.iter().filter(|g| g.taken)) {
        let whose = if several { format!("outline {}, ", stage.outline) } else { String::new() };
        lines.hung(
            2,
            5,
            &format!("{n}. {}", super::found::capital(&format!("{whose}{}", step(s, stage, facts, full)))),
        );
    }
    write_matching(lines, s, facts, full);
    if s.start == Start::Part && s.cut.is_none() {
        lines.line("Check: the bush must reach below the base by less than the part's thickness.");
    }
    lines.line(match s.cut {
        Some(_) => {
            "Not proved: whether what is in hand matches the drawing. Measure it. The new opening is proved."
        }
        None => "Not proved: whether what is in hand matches the drawing. Measure it. The machine cuts no opening, so no file is proved.",
    });
    lines.gap();
}

fn step(s: &StartFacts, stage: &Stage, facts: &Facts, full: bool) -> String {
    let show = facts.show;
    let size = Words::pair(fixed(stage.size.0), fixed(stage.size.1)).shown(show);
    let tools = |p: Pair| {
        let c = called(p, facts);
        format!("bush {}, cutter {}", tool(c.bush, p.bush, show), tool(c.cutter, p.cutter, show))
    };
    let pair = stage.pair.map(tools).unwrap_or_default();
    let in_hand = match s.start {
        Start::Part => "the part",
        Start::Template => "the template's opening",
        Start::Recess => "the recess",
    };
    let side = if stage.offset < 0.0 { "inside" } else { "outside" };
    let per_side = match full {
        true if stage.offset.abs() < 0.005 => format!(", as large as {in_hand}"),
        true => format!(", {} per side {side} {in_hand}", plain(stage.offset.abs()).shown(show)),
        false => String::new(),
    };
    let through = match (s.start, s.cut) {
        (Start::Part, None) => "through the sheet's opening, same face up",
        (Start::Template, None) => "through the template in hand",
        (Start::Template, Some(_)) if stage.kind == StageKind::Recess => "through the template in hand",
        _ => "through the new opening",
    };
    let cut = |work: Work| {
        // In full the cut has an entry of its own below.
        if full {
            return String::new();
        }
        let own = |x: &&crate::panel::steps::Step| x.work == work && x.outline == stage.outline;
        let step = facts.bench.steps.iter().find(own);
        step.map(|x| {
            let [side, end] = x.corner.names();
            format!(" {} and {end} edges on your pencil lines, {}.", super::found::capital(side), depth(x, facts))
        })
        .unwrap_or_default()
    };
    match stage.kind {
        StageKind::Round => {
            let how = if full {
                " Fix the part show face up. Rest the base on the part and on packing of the same thickness. Move \
                 anticlockwise, the bush against the part."
            } else {
                ""
            };
            format!("sheet: rout around the part, {pair}. Keep the opening, {size}{per_side}: it is the template.{how}")
        }
        StageKind::Blank => format!("the piece of sheet under the part, {size}, drops out: tape under it."),
        StageKind::Opening => {
            let whom = if s.cut == Some(Duty::Recess) { "recess" } else { "inlay" };
            format!("machine: cut an opening for the {whom}, {size}{per_side}.")
        }
        StageKind::Recess => format!("recess {size}: {pair}, {through}{per_side}.{}", cut(Work::Board)),
        StageKind::Inlay => format!("inlay {size}: {pair}, {through}{per_side}.{}", cut(Work::Inlay)),
    }
}

/// Says whether the existing opening serves both pieces. If not, names the recess bush with which it can.
fn write_matching(lines: &mut Lines, s: &StartFacts, facts: &Facts, full: bool) {
    let (t, show) = (&facts.tools, facts.show);
    if s.cut.is_none() {
        lines.line(&format!(
            "One opening serves both pieces: gap {} per side instead of the {} set.",
            gap(t.gap).shown(show),
            gap(s.wanted).shown(show)
        ));
    }
    let Some(duty) = s.cut.filter(|_| s.start != Start::Recess && full) else { return };
    let round = s.stages.iter().find(|g| g.kind == StageKind::Round);
    let what = match round.filter(|_| duty == Duty::Recess) {
        Some(g) => format!(
            "A sheet routed around the part with bush {}, cutter {} keeps an opening of {}. It",
            nominal(s.round.bush).shown(show),
            nominal(s.round.cutter).shown(show),
            Words::pair(fixed(g.size.0), fixed(g.size.1)).shown(show)
        ),
        None => "The template in hand".to_owned(),
    };
    let why = if s.match_gap < 0.0 {
        format!("the inlay would be {} per side too large", gap(-s.match_gap).shown(show))
    } else {
        format!("the gap would be {} per side", gap(s.match_gap).shown(show))
    };
    lines.line(&format!("{what} cannot serve both pieces with these tools: {why}."));
    // The pairs match if Bf = Bm + dm + df − 2g. B: bush, d: cutter, g: gap per side; f: recess, m: inlay.
    let bush = s.round.bush + s.round.cutter + t.recess_called.cutter - 2.0 * t.gap;
    lines.item(&format!(
        "It can with a recess bush of {} and the same cutters. --pair auto looks for such tools in the kit.",
        plain(bush).shown(show)
    ));
}

/// The job's start in the JSON document.
pub(super) fn part(s: &StartFacts) -> Begun {
    let stage = |g: &Stage| asides::Stage {
        outline: OutlineId(g.outline),
        makes: g.kind,
        bush_mm: g.pair.map(|p| p.bush),
        cutter_mm: g.pair.map(|p| p.cutter),
        size_mm: g.size.into(),
        offset_mm: g.offset,
        taken: g.taken,
    };
    Begun {
        from: s.start,
        one_opening: s.cut.is_none(),
        one_opening_gap_mm: s.match_gap,
        steps: s.stages.iter().map(stage).collect(),
    }
}
