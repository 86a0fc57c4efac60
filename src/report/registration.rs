//! The effect of set-up errors on the fit, in words and for JSON.
//!
//! In: the facts of a run. Out: lines for a terminal, and a part of the JSON document; mm. A flush inlay is cut in
//! one setting of the template. A set-up error moves its recess on the board and leaves the fit unchanged. Plug and
//! shoulder of a shouldered piece take two settings on each piece of wood. The two gaps limit how far they may shift
//! against each other.

use super::lines::Lines;
use crate::job::facts::Facts;
use crate::panel::registration::{apart, diagonal, out_of_square, side};
use crate::panel::{Panel, Setup, Turn};
use crate::schema::bench::{Registration, SetUpError};
use crate::template::start::Start;
use crate::text::{at_most, plain, tenth};

/// Example error of the datum, of the panel's width and of a setting, mm.
const OFF: f64 = 0.1;
/// Example error of squareness: over the length of the sides, mm.
const OUT: f64 = 0.5;
/// Example height difference between the side stops on the work and on the machine, mm.
const HIGHER: f64 = 80.0;

/// For each error: its name, its size, the height difference of the stops, the effect on the place and on the fit.
fn sources(facts: &Facts) -> Vec<(&'static str, f64, Option<f64>, f64, f64)> {
    let Some(p) = facts.template.panels.first() else { return Vec::new() };
    let shouldered = facts.asides.shoulder.is_some();
    let fit = |mm: f64| if shouldered { mm } else { 0.0 };
    let lean = OUT / side(p) * HIGHER;
    // In one set-up the panel's sides are cut with the openings. An error of the datum then moves both alike.
    let datum = if p.setup == Setup::One && p.turn != Turn::None { 0.0 } else { OFF };
    vec![
        ("datum", OFF, None, datum, 0.0),
        ("width", OFF, None, 0.0, 0.0),
        ("squareness", OUT, Some(HIGHER), lean, fit(apart(p, OUT, HIGHER))),
        ("setting", OFF, None, OFF, fit(OFF)),
    ]
}

/// Greatest shift between plug and shoulder: the sum of their gaps. `None` for flush pieces.
fn allowed(facts: &Facts) -> Option<f64> {
    facts.asides.shoulder.as_ref().map(|s| s.plug_tools.gap + facts.tools.gap)
}

pub(super) fn part(facts: &Facts) -> Option<Registration> {
    let all = sources(facts);
    let source = |(source, error_mm, stops_apart_mm, place_mm, fit_mm): (&str, _, _, _, _)| SetUpError {
        source: source.to_owned(),
        error_mm,
        stops_apart_mm,
        place_mm,
        fit_mm,
    };
    (!all.is_empty()).then(|| Registration {
        shift_allowed_mm: allowed(facts),
        settings: if facts.asides.shoulder.is_some() { 2 } else { 1 },
        sources: all.into_iter().map(source).collect(),
    })
}

/// Lists the stops of the machine, the diagonals to measure, and the effects of set-up errors. All panels of a job
/// are alike, so they are listed once. A job that follows is listed only if its panels differ.
pub(super) fn write_registration(lines: &mut Lines, facts: &Facts) {
    let Some(p) = facts.template.panels.first() else { return };
    write_measures(lines, facts, p);
    for next in facts.jobs().skip(1) {
        let Some(q) = next.template.panels.first() else { continue };
        if (q.width, q.height) != (p.width, p.height) || next.stops(q) != facts.stops(p) {
            lines.item(&format!("The panels of {} differ:", next.part.as_deref().unwrap_or_default()));
            write_measures(lines, next, q);
        }
    }
    write_errors(lines, facts, p);
}

fn write_measures(lines: &mut Lines, facts: &Facts, p: &Panel) {
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
        lines.item("The side stop on the work belongs level with the centre mark, as on the machine.");
    }
    lines.item(&format!(
        "Both diagonals of the panel must be {}. If they differ by {}, the two sides lean by {} over their length.",
        tenth(diagonal(p)).shown(facts.show),
        n(1.0),
        n(out_of_square(p, 1.0))
    ));
}

fn write_errors(lines: &mut Lines, facts: &Facts, p: &Panel) {
    let n = |mm: f64| plain(mm).shown(facts.show);
    let one = p.setup == Setup::One && p.turn != Turn::None;
    if one {
        lines.item(
            "Cut the panel's own line in this set-up. With sides cut earlier, an error of the panel's width would move the \
             second opening.",
        );
    }
    let in_hand = facts.asides.start.as_ref().is_some_and(|s| s.start == Start::Recess);
    let Some(allowed) = allowed(facts).or(in_hand.then_some(0.0)) else {
        let what = if one { "A setting" } else { "A datum or a setting" };
        lines.item(&format!(
            "{what} {} off moves the recess on the board by {}. The fit does not depend on datum, setting or panel width.",
            n(OFF),
            n(OFF)
        ));
        return;
    };
    if in_hand {
        return;
    }
    lines.item(&format!("Plug and shoulder may be out of line by {} in all: the sum of their two gaps.", n(allowed)));
    lines.below(&if one {
        format!("Datum {} off: no change, as the panel's own line moves with both openings.", n(OFF))
    } else {
        format!("Datum or panel width {} off: no change, as both openings move alike.", n(OFF))
    });
    lines.below(&format!(
        "Sides {} out of square, side stop {} higher on the work than on the machine: {} out of line. At one height: none.",
        n(OUT),
        n(HIGHER),
        n(apart(p, OUT, HIGHER))
    ));
    lines.below(&format!(
        "A setting of the template {} off puts them {} out of line. There are four settings: keep each within {}.",
        n(OFF),
        n(OFF),
        at_most(allowed / 4.0).shown(facts.show)
    ));
}
