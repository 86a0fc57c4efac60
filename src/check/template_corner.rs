//! Corners of the template that its own cutter leaves too round for the bush.
//!
//! In: the openings of one outline, and the diameter of the template's cutter, mm. Out: warnings.

use super::{Code, Finding, Severity};
use crate::budget::Budget;
use crate::geom::GeomError;
use crate::kit::Tools;
use crate::template::Duty;
use crate::template::Piece;
use crate::template::ease::proud;
use crate::text::{at_most, tool};
use crate::tolerance::{FINDING_DEPTH, WIDTH_SLACK};
use crate::words;

/// Findings on corners of the openings that the template's cutter leaves too round for the bush. `cutter` is its
/// diameter, mm. `served` lists the pieces, recess or inlay, whose openings are cut.
///
/// # Errors
/// As the operations.
pub fn template_corners(
    piece: &Piece,
    served: &[Duty],
    cutter: f64,
    tools: &Tools,
    budget: &Budget,
) -> Result<Vec<Finding>, GeomError> {
    let mut found = Vec::new();
    let recess = (Duty::Recess, &piece.recess, tools.recess.bush, "recess");
    let inlay = (Duty::Inlay, &piece.inlay, tools.inlay.bush, "inlay");
    for (_, opening, bush, what) in [recess, inlay].into_iter().filter(|s| served.contains(&s.0)) {
        // Rounding by no more than the bush's radius changes nothing: (open_a T) ⊖ R = T ⊖ R.
        if cutter <= bush + WIDTH_SLACK {
            continue;
        }
        for p in proud(opening, cutter / 2.0, FINDING_DEPTH, budget)? {
            let message = words!(
                "The template's {} cutter leaves a corner of the {} opening too round for the {} bush.",
                tool(cutter),
                what,
                tool(bush)
            );
            let help = words!("Cut the template with a cutter of at most {} (--template-cutter).", at_most(bush));
            let f = Finding::new(Code::TemplateCorner, Severity::Warning, message, help);
            found.push(f.at(p.at).on(piece.outline).measures(bush, cutter));
        }
    }
    Ok(found)
}
