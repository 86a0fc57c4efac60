//! Points of the template so sharp that the bush dents them.
//!
//! In: an opening. Out: a note for each region of `close_ρ(T) \ T`, with ρ of [`SHARP`], that is one corner; a wall
//! thinner than twice that, between two limbs of the opening, is a thin web. (Common practice, no source.)

use super::{Code, Finding, Severity, Subject};
use crate::budget::Budget;
use crate::geom::misfit::{Misfit, filled};
use crate::geom::{Certified, GeomError, Region};
use crate::tolerance::FINDING_DEPTH;

/// A point of sheet material rounder than this bears the bush, mm.
pub const SHARP: f64 = 0.5;

/// The sharp points of the template round `opening`, which serves the `piece` (in words) of the outline.
///
/// # Errors
/// As the operations.
pub fn sharp_points(
    of: &Subject,
    opening: &Certified<Region>,
    piece: &str,
    budget: &Budget,
) -> Result<Vec<Finding>, GeomError> {
    let help = "ease the jutting corners (--corners ease), or draw this one rounder";
    let say = |m: &Misfit| {
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
        // The place is told on the outline, where it can be measured; the opening lies outside it.
        finding.at(of.drawn.nearest(m.at).map_or(m.at, |n| n.1)).on(of.number)
    };
    Ok(filled(opening, SHARP, FINDING_DEPTH, budget)?.parts.iter().map(say).collect())
}
