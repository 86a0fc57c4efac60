//! Opening and closing by a disc, and grow and shrink for openings, with the slack of a comparison.
//!
//! Makers draw round numbers: a limb exactly as wide as the cutter, a gap of exactly twice the offset. There the sums
//! stand on an edge, and the last digit would decide. So each operation is also tried with a radius less by half of
//! [`crate::tolerance::WIDTH_SLACK`]; if that keeps something that the full radius loses, the smaller radius is what is
//! used, all round. What comes out is then within that half of the full sums, and limb or gap are kept whichever way
//! the drawing is turned.

use super::packed::Packed;
use super::{Certified, GeomError, Region, grow, ops, shrink};
use crate::budget::Budget;
use crate::tolerance::WIDTH_SLACK;
use kurbo::Point;

/// How far the edges of two results, whose radii differ by the slack, may be apart and still be one and the same
/// feature, mm. A corner of 3° moves by this; a sharper one costs a second, smaller radius and nothing else.
const SAME_FEATURE: f64 = 0.1;

const HALF_SLACK: f64 = WIDTH_SLACK / 2.0;

/// A region with the radius that it was really made with.
#[derive(Clone, Debug, PartialEq)]
pub struct Reached {
    pub region: Certified<Region>,
    /// As asked, or less by the slack, mm.
    pub radius: f64,
}

/// `S ⊖ r`, where a limb exactly 2r wide keeps a hairline.
///
/// # Errors
/// As [`grow`].
pub fn inset(s: &Certified<Region>, r: f64, budget: &Budget) -> Result<Reached, GeomError> {
    with_slack(s, r, -1.0, budget)
}

/// `S ⊕ o`, where a gap exactly 2o wide keeps a hairline.
///
/// # Errors
/// As [`grow`].
pub fn outset(s: &Certified<Region>, o: f64, budget: &Budget) -> Result<Reached, GeomError> {
    with_slack(s, o, 1.0, budget)
}

/// `open_r(S) = (S ⊖ r) ⊕ r`: what a disc of radius `r` mm reaches inside S. A limb exactly 2r wide is kept.
/// (Serra, Image Analysis and Mathematical Morphology, 1982.)
///
/// # Errors
/// As [`grow`].
pub fn open(s: &Certified<Region>, r: f64, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let inner = inset(s, r, budget)?;
    grow(&inner.region, inner.radius, budget)
}

/// `close_o(S) = (S ⊕ o) ⊖ o`: S with all that a disc of radius `o` mm outside cannot reach. A gap exactly 2o wide
/// is kept.
///
/// # Errors
/// As [`grow`].
pub fn close(s: &Certified<Region>, o: f64, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let outer = outset(s, o, budget)?;
    shrink(&outer.region, outer.radius, budget)
}

fn with_slack(s: &Certified<Region>, d: f64, sign: f64, budget: &Budget) -> Result<Reached, GeomError> {
    let plain = ops::offset(s, d, sign, budget);
    if d <= WIDTH_SLACK || s.is_empty() {
        return Ok(Reached { region: plain?.region, radius: d });
    }
    let less = d - HALF_SLACK;
    let keeps_more = match &plain {
        Ok(plain) if plain.clear => false,
        Ok(plain) => match ops::uncertified_offset(s, less * sign, budget) {
            Ok(other) => strays(&other, &plain.region),
            Err(GeomError::Stopped(stopped)) => return Err(stopped.into()),
            Err(_) => false,
        },
        // The full radius may be just where nothing is left between two edges; the smaller one is then the answer.
        Err(GeomError::Uncertified { .. }) => true,
        Err(_) => false,
    };
    if keeps_more {
        return Ok(Reached { region: ops::offset(s, less, sign, budget)?.region, radius: less });
    }
    Ok(Reached { region: plain?.region, radius: d })
}

/// Whether some edge of `other` runs farther than [`SAME_FEATURE`] from all edges of `plain`.
fn strays(other: &Region, plain: &Region) -> bool {
    let tree = Packed::new(plain.segments().copied());
    let far = |p: Point| !tree.any_within(p, SAME_FEATURE, |_, _| true);
    other.segments().any(|s| [0.0, 0.25, 0.5, 0.75].iter().any(|&t| far(s.at(t))))
}
