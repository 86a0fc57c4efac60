//! Results besides the verdict, in words and for JSON: the chosen pair, other tools, the movement of the wood.
//!
//! In: the facts of a run. Out: lines for a terminal, and parts of the JSON document.

use super::facts::{Count, Facts, Lacks, PairChoice, Season, Suggestion};
use super::json::Number;
use super::lines::Lines;
use super::start::{self, StartPart};
use crate::geom::Rect;
use crate::kit::Tools;
use crate::text::{Show, gap, tool, typed_up};
use serde::Serialize;

/// Writes all results in words; nothing if none was requested.
pub(super) fn words(lines: &mut Lines, facts: &Facts) {
    let a = &facts.asides;
    if let Some(p) = &a.pair {
        pair(lines, p, facts);
    }
    if let Some(s) = &a.suggestion {
        suggestion(lines, s, facts.show);
    }
    if let Some(s) = &a.season {
        season(lines, s, facts);
    }
}

fn called(t: &Tools, show: Show) -> String {
    let (f, m) = (t.recess_called, t.inlay_called);
    let n = |mm: f64| tool(mm).shown(show);
    if f == m {
        return format!("bush {}, cutter {}", n(f.bush), n(f.cutter));
    }
    format!(
        "recess with bush {}, cutter {}; inlay with bush {}, cutter {}",
        n(f.bush),
        n(f.cutter),
        n(m.bush),
        n(m.cutter)
    )
}

/// The tools to buy, and the tools to use them with.
fn bought(l: Lacks, t: &Tools, show: Show) -> String {
    let what = |name: &str, size: Option<f64>| size.map(|s| format!("{name} {}", tool(s).shown(show)));
    let all: Vec<String> = [what("bush", l.bush), what("cutter", l.cutter)].into_iter().flatten().collect();
    let (f, m) = (t.recess_called, t.inlay_called);
    let with = match l {
        _ if f != m => format!(", for {}", called(t, show)),
        Lacks { bush: None, .. } => format!(", with your bush {}", tool(f.bush).shown(show)),
        Lacks { cutter: None, .. } => format!(", with your cutter {}", tool(f.cutter).shown(show)),
        Lacks { .. } => String::new(),
    };
    all.join(" and ") + &with
}

fn pair(lines: &mut Lines, p: &PairChoice, facts: &Facts) {
    let (t, show) = (&facts.tools, facts.show);
    lines.line(&format!("Tools from the kit, with one opening for both pieces: {}.", called(t, show)));
    lines.item(&format!(
        "Gap {} per side instead of the {} set, {}. The best of {} pairs tried, of {} that match.",
        gap(t.gap).shown(show),
        gap(p.wanted).shown(show),
        p.count,
        p.tried,
        p.all
    ));
}

fn suggestion(lines: &mut Lines, s: &Suggestion, show: Show) {
    lines.line(&format!("Other tools (these have {}):", s.now));
    match &s.of_kit.best {
        Some((count, tools)) => {
            lines.item(&format!("From the kit: {}. {}", called(tools, show), removes(s.now, *count)));
        }
        None => lines.item("From the kit: none of those tried does better."),
    }
    let which = if s.larger_too { "sets" } else { "sets not larger than these" };
    lines.below(&format!("Tried: {} of {} {which}.", s.of_kit.tried, s.of_kit.all));
    if let Some(buy) = &s.buy {
        match &buy.best {
            Some((count, tools)) => {
                lines.item(&format!("To buy: {}. {}", bought(s.lacks, tools, show), removes(s.now, *count)));
            }
            None => lines.item("To buy: nothing that was tried does better."),
        }
        lines.below(&format!("Tried: {} of {} sets with tools of the general kit.", buy.tried, buy.all));
    }
    if let Some(l) = s.scale {
        lines.item(&format!(
            "Or make the drawing {} times as large (--width {}): tried, no error and no warning.",
            l.times,
            typed_up(l.width).shown(show)
        ));
    }
}

/// The effect of a set of tools, as a sentence.
fn removes(now: Count, then: Count) -> String {
    if then == Count::default() {
        return "Removes all errors and warnings.".to_owned();
    }
    let less = |now: usize, then: usize, what: &str| {
        // Finer tools can cause more warnings at corners. A count that does not fall is left out.
        let s = if now == 1 { "" } else { "s" };
        (then < now).then(|| format!("{} of {now} {what}{s}", now - then))
    };
    let lost = (then.lost < now.lost).then(|| format!("{} of {} lost necks and gaps", now.lost - then.lost, now.lost));
    let (errors, warnings) = (less(now.errors, then.errors, "error"), less(now.warnings, then.warnings, "warning"));
    // Lost necks and gaps are mentioned only if neither errors nor warnings become fewer.
    let lost = lost.filter(|_| errors.is_none() && warnings.is_none());
    let gone: Vec<String> = [errors, lost, warnings].into_iter().flatten().collect();
    format!("Removes {}; leaves {then}.", gone.join(" and "))
}

/// Approximate bounding box of each inlay, with the outline's number. In a job that starts from an existing thing the
/// drawing may show a template's opening. The box is then that of the outline as made.
fn across(facts: &Facts) -> impl Iterator<Item = (usize, Rect)> {
    let made = facts.pieces.iter().filter(|_| facts.asides.start.is_some()).map(|p| (p.outline, &p.made));
    let drawn = facts.outlines.iter().filter(|_| facts.asides.start.is_none()).map(|o| (o.number, &o.region));
    made.chain(drawn).filter_map(|(n, r)| Some((n, r.bounds()?)))
}

fn moved(s: &Season, b: Rect) -> [f64; 2] {
    [b.width(), b.height()].map(|across| s.species.movement(across, s.percent))
}

fn season(lines: &mut Lines, s: &Season, facts: &Facts) {
    let show = facts.show;
    let signed = |mm: f64| {
        let sign = if mm < 0.0 { '−' } else { '+' };
        format!("{sign}{}", gap(mm.abs()).shown(show))
    };
    lines.line(&format!(
        "How the wood moves: {}, {:+} % of moisture (Wood Handbook, tangential).",
        s.species.name, s.percent
    ));
    let becomes = |mm: f64| {
        if mm < 0.0 { format!("{} too tight", gap(-mm).shown(show)) } else { gap(mm).shown(show) }
    };
    for (number, b) in across(facts) {
        let [w, h] = moved(s, b);
        let own = facts.tools_for(number).gap;
        let whose = if facts.outlines.len() > 1 { format!("Outline {number}, ") } else { String::new() };
        for (name, by) in [("width", w), ("height", h)] {
            let words = format!(
                "{whose}{name} across the grain: {}, so the gap per side becomes {}.",
                signed(by),
                becomes(own - by / 2.0)
            );
            lines.item(&super::found::capital(&words));
        }
    }
    lines.item("This holds where the board does not move with the inlay, as with crossed grain.");
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

/// Figures of a shouldered piece.
#[derive(Serialize)]
struct ShoulderPart {
    plug_gap_mm: Number,
    common_axis: bool,
    waste_mm2: Option<Number>,
    left_mm2: Option<Number>,
    /// Distance from the finished plug to the edge of each clearing opening.
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
    /// Number of sets tried with tools of the general kit; null if there was no search.
    buy_tried: Option<usize>,
    /// Number of all such sets; null if there was no search.
    buy_sets: Option<usize>,
    /// Nominal diameters of the tools in `buy` that the kit lacks.
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
    /// Lost necks and gaps, counted among the errors and warnings.
    lost: usize,
}

#[derive(Serialize)]
struct SeasonPart {
    species: String,
    moisture_change_percent: Number,
    /// Change of the width and of the height of each inlay, mm.
    outlines: Vec<[Number; 2]>,
    /// The resulting gap per side, across the width and across the height, if the board does not move.
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
