//! What was asked for besides the verdict, in words and for programs.
//!
//! In: the facts of a run. Out: lines for a terminal, parts of the JSON document.

use super::facts::{Count, Facts, Lacks, PairChoice, Season, Suggestion};
use super::json::Number;
use super::start::{self, StartPart};
use crate::geom::Rect;
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
    let (f, m) = (t.recess_called, t.inlay_called);
    if f == m {
        return format!("bush {} and cutter {}", mm_and_inch(f.bush), mm_and_inch(f.cutter));
    }
    format!(
        "recess with bush {} and cutter {}, inlay with bush {} and cutter {}",
        mm_and_inch(f.bush),
        mm_and_inch(f.cutter),
        mm_and_inch(m.bush),
        mm_and_inch(m.cutter)
    )
}

/// What has to be bought, and with what that is used.
fn bought(l: Lacks, t: &Tools) -> String {
    let what = |name: &str, size: Option<f64>| size.map(|s| format!("{name} {}", mm_and_inch(s)));
    let all: Vec<String> = [what("bush", l.bush), what("cutter", l.cutter)].into_iter().flatten().collect();
    let (f, m) = (t.recess_called, t.inlay_called);
    let with = match l {
        _ if f != m => format!(", for {}", called(t)),
        Lacks { bush: None, .. } => format!(" (with your bush of {})", mm_and_inch(f.bush)),
        Lacks { cutter: None, .. } => format!(" (with your cutter of {})", mm_and_inch(f.cutter)),
        Lacks { .. } => String::new(),
    };
    all.join(" and ") + &with
}

fn pair(out: &mut String, p: &PairChoice, t: &Tools) -> std::fmt::Result {
    let change = if t.recess_called.cutter == t.inlay_called.cutter { "one cutter for both, " } else { "" };
    writeln!(out, "\nTaken from the kit, so that one opening serves both pieces: {}", called(t))?;
    writeln!(
        out,
        "  {change}a gap of {:.3} mm per side ({} wanted), {} with this drawing: the best of {} tried, of {} that match",
        t.gap, p.wanted, p.count, p.tried, p.all
    )
}

fn suggestion(out: &mut String, s: &Suggestion) -> std::fmt::Result {
    writeln!(out, "\nWhat other tools would do ({} now)", s.now)?;
    match &s.of_kit.best {
        Some((count, tools)) => writeln!(out, "  of the kit, {}: {}", called(tools), removes(s.now, *count))?,
        None => writeln!(out, "  none of the kit that was tried does better")?,
    }
    let which = if s.larger_too { "sets" } else { "sets not larger than these" };
    writeln!(out, "    {} of {} {which} were tried", s.of_kit.tried, s.of_kit.all)?;
    if let Some(buy) = &s.buy {
        match &buy.best {
            Some((count, tools)) => writeln!(out, "  to buy, {}: {}", bought(s.lacks, tools), removes(s.now, *count))?,
            None => writeln!(out, "  nothing to buy that was tried does better")?,
        }
        writeln!(out, "    {} of {} sets with tools of the general kit were tried", buy.tried, buy.all)?;
    }
    if let Some(l) = s.scale {
        writeln!(
            out,
            "  or the drawing made {} times as large (--width {}): tried, nothing stands against it then",
            l.times, l.width
        )?;
    }
    Ok(())
}

/// What a set does of what stands now.
fn removes(now: Count, then: Count) -> String {
    if then == Count::default() {
        return "removes all".to_owned();
    }
    let less = |now: usize, then: usize, what: &str| {
        // Of finer tools more corners can be worth a warning.
        let s = if now == 1 { "" } else { "s" };
        (then < now).then(|| format!("{} of {now} {what}{s}", now - then))
    };
    let lost = (then.lost < now.lost).then(|| format!("{} of {} lost necks and gaps", now.lost - then.lost, now.lost));
    let (errors, warnings) = (less(now.errors, then.errors, "error"), less(now.warnings, then.warnings, "warning"));
    // Where neither errors nor warnings are fewer, what is lost is.
    let lost = lost.filter(|_| errors.is_none() && warnings.is_none());
    let gone: Vec<String> = [errors, lost, warnings].into_iter().flatten().collect();
    format!("removes {}; then {then}", gone.join(" and "))
}

/// The box of each inlay, near enough: of a template that is there the outline is no piece of wood.
fn across(facts: &Facts) -> impl Iterator<Item = (usize, Rect)> {
    let made = facts.made.iter().filter(|_| facts.asides.start.is_some()).map(|(n, r)| (*n, r));
    let drawn = facts.outlines.iter().filter(|_| facts.asides.start.is_none()).map(|o| (o.number, &o.region));
    made.chain(drawn).filter_map(|(n, r)| Some((n, r.bounds()?)))
}

fn moved(s: &Season, b: Rect) -> [f64; 2] {
    [b.width(), b.height()].map(|across| s.species.movement(across, s.percent))
}

fn season(out: &mut String, s: &Season, facts: &Facts) -> std::fmt::Result {
    writeln!(
        out,
        "\nHow the wood moves: {}, {:+} per cent of moisture (Wood Handbook, tangential)",
        s.species.name, s.percent
    )?;
    for (number, b) in across(facts) {
        let [w, h] = moved(s, b);
        let gap = facts.tools_for(number).gap;
        writeln!(
            out,
            "  outline {number}: {w:+.2} mm over its width or {h:+.2} mm over its height, whichever lies across the grain; a gap of \
             {gap:.3} mm per side becomes {:.3} or {:.3}",
            gap - w / 2.0,
            gap - h / 2.0
        )?;
    }
    writeln!(
        out,
        "  (the gap: where the board's grain runs the other way and does not move with it; less than 0 is as much too tight)"
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
    #[serde(skip_serializing_if = "Option::is_none")]
    start: Option<StartPart>,
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
    /// Tried of the general kit, and how many there are; null where nothing was looked for.
    buy_tried: Option<usize>,
    buy_sets: Option<usize>,
    /// What of it the kit lacks.
    buy_bush_mm: Option<Number>,
    buy_cutter_mm: Option<Number>,
    scale: Option<Number>,
    scale_width_mm: Option<Number>,
}

#[derive(Serialize)]
struct SetPart {
    bush_mm: Number,
    cutter_mm: Number,
    inlay_bush_mm: Number,
    inlay_cutter_mm: Number,
    errors: usize,
    warnings: usize,
    /// Necks and gaps that it does not make, of both.
    lost: usize,
}

#[derive(Serialize)]
struct SeasonPart {
    species: String,
    moisture_change_percent: Number,
    outlines: Vec<[Number; 2]>,
    /// What the gap per side becomes, across the width or the height, where the board does not move.
    gaps_mm: Vec<[Number; 2]>,
}

pub(super) fn part(facts: &Facts) -> AsidesPart {
    let a = &facts.asides;
    let set = |(c, t): &(Count, Tools)| SetPart {
        bush_mm: Number(t.recess_called.bush),
        cutter_mm: Number(t.recess_called.cutter),
        inlay_bush_mm: Number(t.inlay_called.bush),
        inlay_cutter_mm: Number(t.inlay_called.cutter),
        errors: c.errors,
        warnings: c.warnings,
        lost: c.lost,
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
            tried: s.of_kit.tried,
            sets: s.of_kit.all,
            best: s.of_kit.best.as_ref().map(set),
            buy: s.buy.as_ref().and_then(|b| b.best.as_ref()).map(set),
            buy_tried: s.buy.map(|b| b.tried),
            buy_sets: s.buy.map(|b| b.all),
            buy_bush_mm: s.lacks.bush.map(Number),
            buy_cutter_mm: s.lacks.cutter.map(Number),
            scale: s.scale.map(|l| Number(l.times)),
            scale_width_mm: s.scale.map(|l| Number(l.width)),
        }),
        start: a.start.as_ref().map(start::part),
        season: a.season.as_ref().map(|s| SeasonPart {
            species: s.species.name.clone(),
            moisture_change_percent: Number(s.percent),
            outlines: across(facts).map(|(_, b)| moved(s, b).map(Number)).collect(),
            gaps_mm: across(facts)
                .map(|(n, b)| moved(s, b).map(|by| Number(facts.tools_for(n).gap - by / 2.0)))
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
