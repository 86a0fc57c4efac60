//! What errors of setting up do to the fit, in words and for programs.
//!
//! In: the facts of a run. Out: lines for a terminal, a part of the JSON document; mm. A flush inlay is cut round by
//! itself, so such errors move the recess on the board and leave the fit as it is. Of a shouldered piece plug and shoulder
//! are cut in two settings on each piece, and how far they may come to lie off each other is what the two gaps leave.

use super::facts::Facts;
use super::json::Number;
use super::lines::Lines;
use crate::template::registration::{apart, diagonal, out_of_square, side};
use crate::template::{Panel, Setup, Turn};
use crate::text::plain;
use serde::Serialize;

/// Errors whose effect is told, mm: of datum, width and setting; of sides over their length; between the stops' heights.
const OFF: f64 = 0.1;
const OUT: f64 = 0.5;
const HIGHER: f64 = 80.0;

#[derive(Serialize)]
pub(super) struct Registration {
    /// Plug and shoulder of one piece may lie so far off those of the other; nothing for flush pieces.
    shift_allowed_mm: Option<Number>,
    /// Settings of the template that each piece takes.
    settings: usize,
    sources: Vec<Source>,
}

#[derive(Serialize)]
struct Source {
    source: &'static str,
    error_mm: Number,
    /// The side stop of the work higher than that of the machine.
    #[serde(skip_serializing_if = "Option::is_none")]
    stops_apart_mm: Option<Number>,
    /// How far the recess moves on the board.
    place_mm: Number,
    /// How far plug and shoulder of a piece move against each other, which the fit has to bear; of a flush piece nothing does.
    fit_mm: Number,
}

/// What an error does: its name, its size, the stops, to the place and to the fit.
fn sources(facts: &Facts) -> Vec<(&'static str, f64, Option<f64>, f64, f64)> {
    let Some(p) = facts.template.panels.first() else { return Vec::new() };
    let shouldered = facts.asides.shoulder.is_some();
    let fit = |mm: f64| if shouldered { mm } else { 0.0 };
    let lean = OUT / side(p) * HIGHER;
    // In one set-up the panel's sides are cut with the openings, and move with the datum.
    let datum = if p.setup == Setup::One && p.turn != Turn::None { 0.0 } else { OFF };
    vec![
        ("datum", OFF, None, datum, 0.0),
        ("width", OFF, None, 0.0, 0.0),
        ("squareness", OUT, Some(HIGHER), lean, fit(apart(p, OUT, HIGHER))),
        ("setting", OFF, None, OFF, fit(OFF)),
    ]
}

/// What the gaps leave for plug and shoulder to lie off each other.
fn allowed(facts: &Facts) -> Option<f64> {
    facts.asides.shoulder.as_ref().map(|s| s.plug_tools.gap + facts.tools.gap)
}

pub(super) fn part(facts: &Facts) -> Option<Registration> {
    let all = sources(facts);
    (!all.is_empty()).then(|| Registration {
        shift_allowed_mm: allowed(facts).map(Number),
        settings: if facts.asides.shoulder.is_some() { 2 } else { 1 },
        sources: all
            .into_iter()
            .map(|(source, error, stops, place, fit)| Source {
                source,
                error_mm: Number(error),
                stops_apart_mm: stops.map(Number),
                place_mm: Number(place),
                fit_mm: Number(fit),
            })
            .collect(),
    })
}

/// The machine's stops and what to measure, of the panels that are all alike; then what errors of setting up do. Jobs that
/// follow have panels of their own.
pub(super) fn words(lines: &mut Lines, facts: &Facts) {
    let Some(p) = facts.template.panels.first() else { return };
    to_measure(lines, facts, p);
    for next in facts.jobs().skip(1) {
        let Some(q) = next.template.panels.first() else { continue };
        if (q.width, q.height) != (p.width, p.height) || next.stops(q) != facts.stops(p) {
            lines.item(&format!("The panels of {} differ:", next.part.as_deref().unwrap_or_default()));
            to_measure(lines, next, q);
        }
    }
    errors(lines, facts, p);
}

fn to_measure(lines: &mut Lines, facts: &Facts, p: &Panel) {
    let n = |mm: f64| plain(mm).shown(facts.show);
    if let s @ [_, _, _] = facts.stops(p).as_slice() {
        let (edge, two, other, one) = if p.turn == Turn::BottomTop {
            ("left", [s[0].y, s[1].y], "bottom", s[2].x)
        } else {
            ("bottom", [s[0].x, s[1].x], "left", s[2].y)
        };
        let both = if p.turn == Turn::None { "" } else { ", the same for both faces" };
        lines.item(&format!(
            "Stops for the reference edges{both}: at {} and {} along the {edge} edge, at {} along the {other} edge.",
            n(two[0]),
            n(two[1]),
            n(one)
        ));
        lines.item("On the work set the side stop at the same height, level with the centre mark.");
    }
    lines.item(&format!(
        "Measure both diagonals of the panel: {}. A difference of {} means {} out of square over the sides.",
        n(diagonal(p)),
        n(1.0),
        n(out_of_square(p, 1.0))
    ));
}

fn errors(lines: &mut Lines, facts: &Facts, p: &Panel) {
    let n = |mm: f64| plain(mm).shown(facts.show);
    let one = p.setup == Setup::One && p.turn != Turn::None;
    if one {
        lines.item(
            "Cut the panel's own line in this set-up. With sides cut earlier, an error of the panel's width would move the \
             second opening.",
        );
    }
    let Some(allowed) = allowed(facts) else {
        let what = if one { "A setting" } else { "A datum or a setting" };
        lines.item(&format!(
            "{what} {} off moves the recess on the board by {}. The fit depends on neither, nor on the panel's width.",
            n(OFF),
            n(OFF)
        ));
        return;
    };
    lines.item(&format!("Plug and shoulder may lie {} off each other in all: their gaps leave no more.", n(allowed)));
    lines.below(&if one {
        format!("Datum {} off: no change, as the panel's own line moves with both openings.", n(OFF))
    } else {
        format!("Datum or panel width {} off: no change, as both openings move alike.", n(OFF))
    });
    lines.below(&format!(
        "Sides {} out of square, side stop {} higher on the work than on the machine: {}. At the same height: no change.",
        n(OUT),
        n(HIGHER),
        n(apart(p, OUT, HIGHER))
    ));
    lines.below(&format!(
        "One setting of the template {} off: {}. Each piece takes two settings, so each may be {} off.",
        n(OFF),
        n(OFF),
        n(allowed / 4.0)
    ));
}
