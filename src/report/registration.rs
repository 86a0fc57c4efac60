//! What errors of setting up do to the fit, in words and for programs.
//!
//! In: the facts of a run. Out: lines for a terminal, a part of the JSON document; mm. A flush inlay is cut round by
//! itself, so such errors move the recess on the board and leave the fit as it is. Of a shouldered piece plug and shoulder
//! are cut in two settings on each piece, and how far they may come to lie off each other is what the two gaps leave.

use super::facts::Facts;
use super::json::Number;
use crate::template::registration::{apart, diagonal, out_of_square, side};
use crate::template::{Panel, Setup, Turn};
use crate::text::rounded;
use serde::Serialize;
use std::fmt::Write;

/// Errors whose effect is told, mm: of datum, width and setting; of sides over their length; between the stops' heights.
const OFF: f64 = 0.1;
const OUT: f64 = 0.5;
const HIGHER: f64 = 80.0;

/// A number for people.
fn n(mm: f64) -> String {
    rounded(mm, 2).unwrap_or_default()
}

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

/// The machine's stops and what to measure, of the panels that are all alike; then what errors do. Jobs that follow have
/// panels of their own.
pub(super) fn words(out: &mut String, facts: &Facts) -> std::fmt::Result {
    let Some(p) = facts.template.panels.first() else { return Ok(()) };
    to_measure(out, facts, p)?;
    for next in facts.jobs().skip(1) {
        let Some(q) = next.template.panels.first() else { continue };
        if (q.width, q.height) != (p.width, p.height) || next.stops(q) != facts.stops(p) {
            writeln!(out, "  the panels of {} are others:", next.part.as_deref().unwrap_or_default())?;
            to_measure(out, next, q)?;
        }
    }
    errors(out, facts, p)
}

fn to_measure(out: &mut String, facts: &Facts, p: &Panel) -> std::fmt::Result {
    if let s @ [_, _, _] = facts.stops(p).as_slice() {
        let along = |a: f64, b: f64| format!("{} and {} mm", n(a), n(b));
        let (edge, two, other, one) = if p.turn == Turn::BottomTop {
            ("left", along(s[0].y, s[1].y), "bottom", s[2].x)
        } else {
            ("bottom", along(s[0].x, s[1].x), "left", s[2].y)
        };
        let both = if p.turn == Turn::None { "" } else { ", the same for both faces" };
        writeln!(
            out,
            "  stops that the reference edges touch{both}: {two} along the {edge} edge, {} mm along the {other} edge, level with the common point: on the work as well",
            n(one)
        )?;
    }
    writeln!(
        out,
        "  measure both diagonals of the panel, {} mm: 1 mm between them is {} mm out of square over the sides",
        n(diagonal(p)),
        n(out_of_square(p, 1.0))
    )
}

fn errors(out: &mut String, facts: &Facts, p: &Panel) -> std::fmt::Result {
    let one = p.setup == Setup::One && p.turn != Turn::None;
    if one {
        writeln!(
            out,
            "  cut the panel's own outline in this set-up: sides that were there before would move opening 2 by all that the panel's width is off"
        )?;
    }
    let Some(allowed) = allowed(facts) else {
        let what = if one { "a setting" } else { "a datum or a setting" };
        return writeln!(
            out,
            "  {what} {OFF} mm off puts the recess {OFF} mm off its marks; the fit hangs on none of it, nor on the panel's width"
        );
    };
    writeln!(
        out,
        "  plug and shoulder may lie {} mm off each other, all in all: that is what their gaps leave",
        n(allowed)
    )?;
    let same = if one {
        format!("the datum {OFF} mm off: nothing, the panel's own line shifts with both openings")
    } else {
        format!("the datum or the panel's width {OFF} mm off: nothing, both openings shift alike")
    };
    writeln!(out, "    {same}")?;
    writeln!(
        out,
        "    the sides {OUT} mm out of square, the side stop {HIGHER} mm higher on the work than on the machine: {:.2} mm; at the same height nothing",
        apart(p, OUT, HIGHER)
    )?;
    writeln!(
        out,
        "    one setting of the template {OFF} mm off: {OFF} mm; there are two on each piece, so at the worst each may be {} mm off",
        n(allowed / 4.0)
    )
}
