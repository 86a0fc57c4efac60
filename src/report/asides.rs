//! Results besides the verdict, in words and for JSON: the chosen pair, other tools, the movement of the wood.
//!
//! In: the facts of a run. Out: lines for a terminal, and parts of the JSON document.

use super::lines::Lines;
use crate::geom::Rect;
use crate::job::asides::Season;
use crate::job::asides::{Count, Lacks, PairChoice, ShoulderFacts, Suggestion};
use crate::job::facts::Facts;
use crate::kit::Tools;
use crate::schema::asides::{self as schema, Choice, Set, Shouldered};
use crate::text::{Show, gap, tool, typed_up};

/// Writes all results in words; nothing if none was requested.
pub(super) fn write_asides(lines: &mut Lines, facts: &Facts) {
    let a = &facts.asides;
    if let Some(p) = &a.pair {
        write_pair(lines, p, facts);
    }
    if let Some(s) = &a.suggestion {
        write_suggestion(lines, s, facts.show);
    }
    if let Some(s) = &a.season {
        write_season(lines, s, facts);
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

fn write_pair(lines: &mut Lines, p: &PairChoice, facts: &Facts) {
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

fn write_suggestion(lines: &mut Lines, s: &Suggestion, show: Show) {
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

fn write_season(lines: &mut Lines, s: &Season, facts: &Facts) {
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

pub(super) fn choice(p: &PairChoice) -> Choice {
    Choice { errors: p.count.errors, warnings: p.count.warnings, tried: p.tried, matching: p.all }
}

pub(super) fn suggested(s: &Suggestion) -> schema::Suggestion {
    let set = |(c, t): &(Count, Tools)| Set {
        bush_mm: t.recess_called.bush,
        cutter_mm: t.recess_called.cutter,
        inlay_bush_mm: t.inlay_called.bush,
        inlay_cutter_mm: t.inlay_called.cutter,
        errors: c.errors,
        warnings: c.warnings,
        lost: c.lost,
    };
    schema::Suggestion {
        errors: s.now.errors,
        warnings: s.now.warnings,
        tried: s.of_kit.tried,
        sets: s.of_kit.all,
        best: s.of_kit.best.as_ref().map(set),
        buy: s.buy.as_ref().and_then(|b| b.best.as_ref()).map(set),
        buy_tried: s.buy.map(|b| b.tried),
        buy_sets: s.buy.map(|b| b.all),
        buy_bush_mm: s.lacks.bush,
        buy_cutter_mm: s.lacks.cutter,
        scale: s.scale.map(|l| l.times),
        scale_width_mm: s.scale.map(|l| l.width),
    }
}

pub(super) fn moves(s: &Season, facts: &Facts) -> schema::Season {
    let gaps = |(n, b)| moved(s, b).map(|by| facts.tools_for(n).gap - by / 2.0);
    schema::Season {
        species: s.species.name.clone(),
        moisture_change_percent: s.percent,
        outlines: across(facts).map(|(_, b)| moved(s, b)).collect(),
        gaps_mm: across(facts).map(gaps).collect(),
    }
}

pub(super) fn shouldered(s: &ShoulderFacts) -> Shouldered {
    Shouldered {
        plug_gap_mm: s.plug_tools.gap,
        common_axis: s.has_axis,
        waste_mm2: s.clearing.as_ref().map(|c| c.waste),
        left_mm2: s.clearing.as_ref().map(|c| c.left.area()),
        clearing_openings_mm: s.clearing.iter().flat_map(|c| &c.openings).map(|o| o.offset).collect(),
    }
}
