//! Points of the template so sharp that the bush dents them.
//!
//! In: an opening. Out: a note for each region of `close_ρ(T) \ T`, with ρ of [`SHARP`], that is one corner; a wall
//! thinner than twice that, between two limbs of the opening, is a thin web. (Common practice, no source.)

use super::{Code, Finding, Severity};
use crate::budget::Budget;
use crate::geom::misfit::{Misfit, filled};
use crate::geom::{Certified, GeomError, Point, Region};
use crate::tolerance::FINDING_DEPTH;

/// A point of sheet material rounder than this bears the bush, mm.
pub const SHARP: f64 = 0.5;

/// What is in hand has the corners that it has.
const HELP_OF_ONE: &str =
    "run the bush past it without pressing into it, and look at it before the template is used again";

/// Sine of the least turn between two edges that is a corner of the drawing, not the joint of a curve (6°).
const CORNER: f64 = 0.1;
/// A point on the edge of one opening and one of the other stand for the same point of the outline while they are no
/// farther apart than the offsets differ, times this: along the bisector of a corner of down to 40°.
const ALONG_BISECTOR: f64 = 3.0;

/// The sharp points of the template round the openings of one outline, each with the piece (in words) that it serves and
/// its offset, mm. What both have at the same point of the outline is said once.
///
/// # Errors
/// As the operations.
pub fn sharp_points(
    number: usize,
    drawn: &Region,
    openings: [(&Certified<Region>, &str, f64); 2],
    budget: &Budget,
) -> Result<Vec<Finding>, GeomError> {
    let [(recess, for_recess, a), (inlay, for_insert, b)] = openings;
    let reach = ALONG_BISECTOR * (a - b).abs() + SHARP;
    let mut others = filled(inlay, SHARP, FINDING_DEPTH, budget)?.parts;
    let mut found = Vec::new();
    for m in filled(recess, SHARP, FINDING_DEPTH, budget)?.parts {
        let twin = (0..others.len())
            .filter(|&i| others[i].is_corner() == m.is_corner() && (others[i].at - m.at).hypot() <= reach)
            .min_by(|&i, &j| (others[i].at - m.at).hypot2().total_cmp(&(others[j].at - m.at).hypot2()));
        match twin.map(|i| others.remove(i)) {
            Some(_) => found.push(told((number, drawn), &m, &format!("{for_recess} and the {for_insert}"))),
            None => found.push(told((number, drawn), &m, for_recess)),
        }
    }
    found.extend(others.iter().map(|m| told((number, drawn), m, for_insert)));
    Ok(found)
}

/// The same round one opening only.
///
/// # Errors
/// As the operations.
pub fn sharp_points_of_one(
    number: usize,
    drawn: &Region,
    opening: &Certified<Region>,
    piece: &str,
    budget: &Budget,
) -> Result<Vec<Finding>, GeomError> {
    let parts = filled(opening, SHARP, FINDING_DEPTH, budget)?.parts;
    Ok(parts.iter().map(|m| Finding { help: HELP_OF_ONE.into(), ..told((number, drawn), m, piece) }).collect())
}

fn told((number, drawn): (usize, &Region), m: &Misfit, piece: &str) -> Finding {
    let help = "ease the outside corners (--corners ease), or draw this one rounder";
    let finding = if m.is_corner() {
        let message = format!(
            "a point of the template for the {piece} has a radius of {:.2} mm here: the bush dents it",
            m.radius
        );
        Finding::new(Code::SharpPoint, Severity::Note, message, help).measures(m.radius, SHARP)
    } else {
        let width = m.width.unwrap_or(0.0);
        let message = format!("the template for the {piece} is only {width:.2} mm thick here, between two limbs");
        Finding::new(Code::ThinWeb, Severity::Warning, message, help).measures(width, 2.0 * SHARP)
    };
    finding.at(on_outline(drawn, m.at)).on(number)
}

/// The place on the outline, where it can be measured: the opening lies outside it. An outside corner of the drawing that is
/// hardly farther off than the nearest edge is meant.
fn on_outline(drawn: &Region, p: Point) -> Point {
    let Some((distance, foot)) = drawn.nearest(p) else { return p };
    let outside = drawn.rings.iter().flat_map(|r| {
        let after = r.segments.iter().cycle().skip(1);
        let turns =
            r.segments.iter().zip(after).map(|(s, next)| (s.end(), s.tangent_at_end(), next.tangent_at_start()));
        turns.filter(|(_, a, b)| a.cross(*b) < -CORNER).map(|(at, ..)| at)
    });
    let nearest = outside.min_by(|a, b| (*a - p).hypot2().total_cmp(&(*b - p).hypot2()));
    nearest.filter(|c| (*c - p).hypot() <= 2.0 * distance).unwrap_or(foot)
}
