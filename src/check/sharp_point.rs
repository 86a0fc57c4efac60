//! Points of the template that are sharp enough for the bush to dent.
//!
//! In: an opening. Out: a note for each region of `close_ρ(T) \ T` that is a single corner, with ρ = [`SHARP`]. A wall
//! between two limbs of the opening that is thinner than twice that is a thin strip. (Common practice, no source.)

use super::{Code, Finding, Severity};
use crate::budget::Budget;
use crate::geom::misfit::{Misfit, filled};
use crate::geom::{Certified, GeomError, Point, Region};
use crate::text::{at_most, plain, typed_up};
use crate::tolerance::{ALONG_BISECTOR, DRAWN_SHARP, FINDING_DEPTH, TURN_OF_CORNER};
use crate::words;

/// Least radius of a point of template that resists the bush, mm.
pub const SHARP: f64 = 0.5;

/// Remedy where a piece or a template in hand fixes the corners.
const HELP_OF_ONE: &str = "Run the bush past it without pressing. Look at it before you use the template again.";

/// The sharp points of the template at the openings of one outline. Each opening has the name of its piece and its
/// offset, mm. A point that both openings have gets one finding.
///
/// # Errors
/// As the operations.
pub fn sharp_points(
    number: usize,
    drawn: &Region,
    openings: [(&Certified<Region>, &str, f64); 2],
    budget: &Budget,
) -> Result<Vec<Finding>, GeomError> {
    let [(recess, for_recess, a), (inlay, for_inlay, b)] = openings;
    let reach = ALONG_BISECTOR * (a - b).abs() + SHARP;
    let mut others = filled(inlay, SHARP, FINDING_DEPTH, budget)?.parts;
    let mut found = Vec::new();
    for m in filled(recess, SHARP, FINDING_DEPTH, budget)?.parts {
        let twin = (0..others.len())
            .filter(|&i| others[i].is_corner() == m.is_corner() && (others[i].at - m.at).hypot() <= reach)
            .min_by(|&i, &j| (others[i].at - m.at).hypot2().total_cmp(&(others[j].at - m.at).hypot2()));
        match twin.map(|i| others.remove(i)) {
            Some(_) => found.push(finding((number, drawn), &m, &format!("{for_recess} and the {for_inlay}"))),
            None => found.push(finding((number, drawn), &m, for_recess)),
        }
    }
    found.extend(others.iter().map(|m| finding((number, drawn), m, for_inlay)));
    Ok(found)
}

/// The same for a single opening.
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
    Ok(parts.iter().map(|m| Finding { help: HELP_OF_ONE.into(), ..finding((number, drawn), m, piece) }).collect())
}

fn finding((number, drawn): (usize, &Region), m: &Misfit, piece: &str) -> Finding {
    let ease = words!("Set --corners ease with --ease-outside {} or more", typed_up(SHARP));
    let finding = if m.is_corner() {
        let shape =
            if m.radius < DRAWN_SHARP { "is sharp".into() } else { words!("has a radius of {}", plain(m.radius)) };
        let message = words!("A point of the template for the {} {}, and the bush dents it.", piece, shape);
        let help = words!("{}, or draw this corner rounder.", ease);
        Finding::new(Code::SharpPoint, Severity::Note, message, help).measures(m.radius, SHARP)
    } else {
        let width = m.width.unwrap_or(0.0);
        let message = words!(
            "A strip of template for the {} is {} wide between two limbs, and the bush breaks it.",
            piece,
            at_most(width)
        );
        let help = words!("{}, or draw the limbs farther apart.", ease);
        Finding::new(Code::ThinWeb, Severity::Warning, message, help).measures(width, 2.0 * SHARP)
    };
    finding.at(on_outline(drawn, m.at)).on(number)
}

/// The place on the outline for a place on the opening, because the maker can measure it there. It is an outside corner
/// of the drawing if one lies within twice the distance of the nearest edge, else the nearest point.
fn on_outline(drawn: &Region, p: Point) -> Point {
    let Some((distance, foot)) = drawn.nearest(p) else { return p };
    let outside = drawn.rings.iter().flat_map(|r| {
        let after = r.segments.iter().cycle().skip(1);
        let turns =
            r.segments.iter().zip(after).map(|(s, next)| (s.end(), s.tangent_at_end(), next.tangent_at_start()));
        turns.filter(|(_, a, b)| a.cross(*b) < -TURN_OF_CORNER).map(|(at, ..)| at)
    });
    let nearest = outside.min_by(|a, b| (*a - p).hypot2().total_cmp(&(*b - p).hypot2()));
    nearest.filter(|c| (*c - p).hypot() <= 2.0 * distance).unwrap_or(foot)
}
