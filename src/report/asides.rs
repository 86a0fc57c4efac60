//! What was asked for besides the verdict, in words and for programs.
//!
//! In: the facts of a run. Out: lines for a terminal, parts of the JSON document.

use super::facts::{Count, Facts, PairChoice, Season, ShoulderFacts, Suggestion};
use super::json::Number;
use crate::kit::Tools;
use crate::template::Duty;
use crate::template::hand::{Purpose, Step, Work};
use crate::units::mm_and_inch;
use serde::Serialize;
use std::fmt::Write;

/// All of it, in words; empty where nothing was asked for.
pub(super) fn words(out: &mut String, facts: &Facts) -> std::fmt::Result {
    let a = &facts.asides;
    if let Some(p) = &a.pair {
        pair(out, p, &facts.tools)?;
    }
    if let Some(s) = &a.suggestion {
        suggestion(out, s)?;
    }
    if let Some(s) = &a.season {
        season(out, s, facts)?;
    }
    match &a.shoulder {
        Some(s) if !facts.blocked() => steps(out, s, facts),
        _ => Ok(()),
    }
}

/// The order of work, as a maker would say it.
fn steps(out: &mut String, s: &ShoulderFacts, facts: &Facts) -> std::fmt::Result {
    writeln!(out, "\nOrder of work (the insert first: it is the depth gauge for the rebate)")?;
    // Rounds in one opening with one bush after the other are one step to the maker.
    let same = |a: &Step, b: &Step| {
        let clearing = a.purpose == Purpose::Clearing && b.purpose == Purpose::Clearing;
        clearing && (a.panel, &a.opening) == (b.panel, &b.opening)
    };
    for (n, rounds) in facts.bench.steps.chunk_by(same).enumerate() {
        let [step, further @ ..] = rounds else { continue };
        let mut bushes = format!("bush {}", step.pair.bush);
        for (i, one) in further.iter().enumerate() {
            let word = if i + 1 == further.len() { " and then" } else { "," };
            bushes.push_str(&format!("{word} {}", one.pair.bush));
        }
        let piece = if step.work == Work::Board { "board" } else { "insert, plug up" };
        let [side, end] = step.corner.names();
        let opening = facts.template.openings.iter().find(|o| o.id == step.opening);
        let outline = match opening.map(|o| o.duty) {
            Some(Duty::Clearing) => "for clearing",
            _ if step.outline == s.plug => "plug",
            _ => "shoulder",
        };
        let what = match (step.work, step.purpose, step.outline == s.plug) {
            (_, Purpose::Clearing, _) => "clear the waste",
            (Work::Insert, _, true) => "the kerf round the plug",
            (Work::Insert, _, false) => "the shoulder's line, right through",
            (Work::Board, _, true) => "the hole, right through",
            (Work::Board, _, false) => "the rebate, to the shoulder's thickness",
        };
        let depth = step.depth.map(|d| format!(", {d} mm deep")).unwrap_or_default();
        writeln!(
            out,
            "  {}. {piece}: panel {}, face {} up, {end} and {side} edges to the marks, {} ({outline}): {what}{depth}; {bushes}, cutter {}, feed clockwise",
            n + 1,
            step.panel,
            step.face_up,
            step.opening,
            step.pair.cutter
        )?;
    }
    if let Some(c) = &s.clearing {
        writeln!(out, "  waste round the plug cleared with the bush guided: {:.1} %", 100.0 * c.coverage())?;
    }
    mirrored(out, facts)?;
    writeln!(out, "  then turn the insert over and lay it in from above")?;
    writeln!(
        out,
        "  not checked: how deep a pass is, and where the figures were not given, whether the bush clears the work and the cutter reaches"
    )
}

/// The panels that are for the insert only.
fn mirrored(out: &mut String, facts: &Facts) -> std::fmt::Result {
    let t = &facts.template;
    // On a panel that serves both the insert's steps have the other face up instead.
    if t.openings.iter().any(|o| o.duty == Duty::Both) {
        return Ok(());
    }
    let serves = |n: u32| t.openings.iter().any(|o| o.panel == n && o.duty != Duty::Recess);
    for panel in t.panels.iter().filter(|p| serves(p.number)) {
        let n = panel.number;
        writeln!(out, "  panel {n} is for the insert only: its openings are drawn as the mirror image")?;
    }
    Ok(())
}

fn called(t: &Tools) -> String {
    let (f, m) = (t.recess_called, t.insert_called);
    if f == m {
        return format!("bush {} and cutter {}", mm_and_inch(f.bush), mm_and_inch(f.cutter));
    }
    format!(
        "recess with bush {} and cutter {}, insert with bush {} and cutter {}",
        mm_and_inch(f.bush),
        mm_and_inch(f.cutter),
        mm_and_inch(m.bush),
        mm_and_inch(m.cutter)
    )
}

fn pair(out: &mut String, p: &PairChoice, t: &Tools) -> std::fmt::Result {
    let change = if t.recess_called.cutter == t.insert_called.cutter { "one cutter for both, " } else { "" };
    writeln!(out, "\nTaken from the kit, so that one opening serves both pieces: {}", called(t))?;
    writeln!(
        out,
        "  {change}a gap of {:.3} mm a side ({} wanted), {} with this drawing: the best of {} tried, of {} that match",
        t.gap, p.wanted, p.count, p.tried, p.all
    )
}

fn suggestion(out: &mut String, s: &Suggestion) -> std::fmt::Result {
    writeln!(out, "\nWhat other tools would do ({} now)", s.now)?;
    match &s.best {
        Some((count, tools)) => writeln!(out, "  of the kit, {}: {count}", called(tools))?,
        None => writeln!(out, "  none of the kit does better")?,
    }
    writeln!(out, "    {} sets not larger than these were tried, of {}", s.tried, s.all)?;
    if let Some((count, tools)) = &s.buy {
        writeln!(out, "  to buy, {}: {count}", called(tools))?;
    }
    if let Some(times) = s.scale {
        writeln!(out, "  or the drawing made {times:.2} times as large, by the figures of the findings")?;
    }
    Ok(())
}

fn season(out: &mut String, s: &Season, facts: &Facts) -> std::fmt::Result {
    writeln!(
        out,
        "\nHow the timber moves: {}, {:+} per cent of moisture (Wood Handbook, tangential)",
        s.species.name, s.percent
    )?;
    for o in &facts.outlines {
        let Some(b) = o.region.bounds() else { continue };
        let [w, h] = [b.width(), b.height()].map(|across| s.species.movement(across, s.percent));
        writeln!(
            out,
            "  outline {}: {w:+.2} mm over its width or {h:+.2} mm over its height, whichever lies across the grain",
            o.number
        )?;
    }
    writeln!(
        out,
        "  half of it a side off the gap, where the board's grain runs the other way and does not move with it"
    )
}

#[derive(Serialize)]
pub(super) struct AsidesPart {
    #[serde(skip_serializing_if = "Option::is_none")]
    pair: Option<PairPart>,
    #[serde(skip_serializing_if = "Option::is_none")]
    suggestion: Option<SuggestionPart>,
    #[serde(skip_serializing_if = "Option::is_none")]
    season: Option<SeasonPart>,
    #[serde(skip_serializing_if = "Option::is_none")]
    shouldered: Option<ShoulderPart>,
}

/// What only a shouldered piece has.
#[derive(Serialize)]
struct ShoulderPart {
    plug_gap_mm: Number,
    common_axis: bool,
    waste_mm2: Option<Number>,
    left_mm2: Option<Number>,
    /// How far the edge of each clearing opening lies outside the finished plug.
    clearing_openings_mm: Vec<Number>,
}

#[derive(Serialize)]
struct PairPart {
    errors: usize,
    warnings: usize,
    tried: usize,
    matching: usize,
}

#[derive(Serialize)]
struct SuggestionPart {
    errors: usize,
    warnings: usize,
    tried: usize,
    sets: usize,
    best: Option<SetPart>,
    buy: Option<SetPart>,
    scale: Option<Number>,
}

#[derive(Serialize)]
struct SetPart {
    bush_mm: Number,
    cutter_mm: Number,
    errors: usize,
    warnings: usize,
}

#[derive(Serialize)]
struct SeasonPart {
    species: String,
    moisture_change_percent: Number,
    outlines: Vec<[Number; 2]>,
}

pub(super) fn part(facts: &Facts) -> AsidesPart {
    let a = &facts.asides;
    let set = |(c, t): &(Count, Tools)| SetPart {
        bush_mm: Number(t.recess_called.bush),
        cutter_mm: Number(t.recess_called.cutter),
        errors: c.errors,
        warnings: c.warnings,
    };
    AsidesPart {
        pair: a.pair.map(|p| PairPart {
            errors: p.count.errors,
            warnings: p.count.warnings,
            tried: p.tried,
            matching: p.all,
        }),
        suggestion: a.suggestion.map(|s| SuggestionPart {
            errors: s.now.errors,
            warnings: s.now.warnings,
            tried: s.tried,
            sets: s.all,
            best: s.best.as_ref().map(set),
            buy: s.buy.as_ref().map(set),
            scale: s.scale.map(Number),
        }),
        season: a.season.as_ref().map(|s| SeasonPart {
            species: s.species.name.clone(),
            moisture_change_percent: Number(s.percent),
            outlines: facts
                .outlines
                .iter()
                .filter_map(|o| o.region.bounds())
                .map(|b| [b.width(), b.height()].map(|v| Number(s.species.movement(v, s.percent))))
                .collect(),
        }),
        shouldered: a.shoulder.as_ref().map(|s| ShoulderPart {
            plug_gap_mm: Number(s.plug_tools.gap),
            common_axis: s.has_axis,
            waste_mm2: s.clearing.as_ref().map(|c| Number(c.waste)),
            left_mm2: s.clearing.as_ref().map(|c| Number(c.left.area())),
            clearing_openings_mm: s.clearing.iter().flat_map(|c| &c.openings).map(|o| Number(o.offset)).collect(),
        }),
    }
}
