//! What was asked for besides the verdict, in words and for programs.
//!
//! In: the facts of a run. Out: lines for a terminal, parts of the JSON document.

use super::facts::{Count, Facts, PairChoice, Season, Suggestion};
use super::json::Number;
use crate::kit::Tools;
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
