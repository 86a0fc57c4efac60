//! Opening and closing by a disc, and the erosion and dilation for openings, with the slack of a comparison.
//!
//! Makers draw round numbers: a limb exactly as wide as the cutter, a gap of exactly twice the offset. There the last
//! digit would decide. So each operation is also tried with a radius smaller by half of
//! [`crate::tolerance::WIDTH_SLACK`]. If the smaller radius keeps a feature that the full radius loses, it is used for
//! the whole region. The result is then within half the slack of the exact one. The limb or gap stays, whichever way
//! the drawing is turned.

use super::offset::{offset, uncertified_offset};
use super::{grow, shrink};
use crate::budget::Budget;
use crate::geom::certify::Certified;
use crate::geom::index::BoxTree;
use crate::geom::shape::{GeomError, Region};
use crate::tolerance::{HALF_SLACK, SAME_FEATURE, WIDTH_SLACK};
use kurbo::Point;

/// A region with the radius that was actually used.
#[derive(Clone, Debug, PartialEq)]
pub struct Reached {
    pub region: Certified<Region>,
    /// The requested radius, or less by half the slack, mm.
    pub radius: f64,
}

/// `S ⊖ r`: the erosion. A limb exactly 2r wide leaves a hairline.
///
/// # Errors
/// As [`grow`].
pub fn inset(s: &Certified<Region>, r: f64, budget: &Budget) -> Result<Reached, GeomError> {
    with_slack(s, r, -1.0, budget)
}

/// `S ⊕ o`: the dilation. A gap exactly 2o wide leaves a hairline.
///
/// # Errors
/// As [`grow`].
pub fn outset(s: &Certified<Region>, o: f64, budget: &Budget) -> Result<Reached, GeomError> {
    with_slack(s, o, 1.0, budget)
}

/// `open_r(S) = (S ⊖ r) ⊕ r`: what a disc of radius `r` mm covers inside S. A limb exactly 2r wide is kept.
/// (Serra, Image Analysis and Mathematical Morphology, 1982.)
///
/// # Errors
/// As [`grow`].
pub fn open(s: &Certified<Region>, r: f64, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let inner = inset(s, r, budget)?;
    grow(&inner.region, inner.radius, budget)
}

/// `close_o(S) = (S ⊕ o) ⊖ o`: S and everything that a disc of radius `o` mm outside S cannot cover. A gap exactly
/// 2o wide is kept.
///
/// # Errors
/// As [`grow`].
pub fn close(s: &Certified<Region>, o: f64, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let outer = outset(s, o, budget)?;
    shrink(&outer.region, outer.radius, budget)
}

fn with_slack(s: &Certified<Region>, d: f64, sign: f64, budget: &Budget) -> Result<Reached, GeomError> {
    let plain = offset(s, d, sign, budget);
    if d <= WIDTH_SLACK || s.is_empty() {
        return Ok(Reached { region: plain?.region, radius: d });
    }
    let less = d - HALF_SLACK;
    let keeps_more = match &plain {
        Ok(plain) if plain.clear => false,
        Ok(plain) => match uncertified_offset(s, less * sign, budget) {
            Ok(other) => strays(&other, &plain.region),
            Err(GeomError::Stopped(stopped)) => return Err(stopped.into()),
            Err(_) => false,
        },
        // The full radius may fail because the material between two edges vanishes; then the smaller radius is the
        // answer.
        Err(GeomError::Uncertified { .. }) => true,
        Err(_) => false,
    };
    if keeps_more {
        return Ok(Reached { region: offset(s, less, sign, budget)?.region, radius: less });
    }
    Ok(Reached { region: plain?.region, radius: d })
}

/// Whether an edge of `other` lies farther than [`SAME_FEATURE`] from all edges of `plain`.
fn strays(other: &Region, plain: &Region) -> bool {
    let tree = BoxTree::of_edges(plain.segments().copied());
    let far = |p: Point| !tree.any_within(p, SAME_FEATURE, |_, _| true);
    other.segments().any(|s| [0.0, 0.25, 0.5, 0.75].iter().any(|&t| far(s.at(t))))
}
