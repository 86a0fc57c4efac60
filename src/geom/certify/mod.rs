//! The certificate: what a result must show before it is handed out.
//!
//! It shares nothing with the operations but the primitive types. Four questions, each of which can refuse:
//!
//! * `structure`: are the rings closed, finite, their arcs true, no edge there twice? (Ends to the bit; doubling by the
//!   middle of every edge.)
//! * `edges`: does every edge of the result lie where it must? For a grown or shrunk region every point of every edge
//!   is at the distance |d| from the source, on the right side: none nearer (smallest distances in closed form, no
//!   samples), none farther (by carrier where result and source edge are parallel, else by cutting until the parts
//!   are shorter than the tolerance). For a boolean every point of every edge lies on an edge of an operand.
//! * `complete`: is nothing of an offset missing, and nothing there twice? Every parallel of a source edge and every
//!   circle round a corner is gone through from end to end in closed form. Where that settles it, no more is asked.
//! * `independent`: elsewhere (slivers, ties, booleans), does an engine that no one here wrote (`clipper2-rust`), with
//!   its own chords, enclose the same points? The symmetric difference may hold no disc of radius
//!   [`crate::tolerance::AGREE_RADIUS`]. So a ring lost, added or filled is found unless it is narrower than that twice
//!   over; edges are to [`crate::tolerance::CERTIFIED_DISTANCE`].
//!
//! What this does not see: rings narrower than 0.0044 mm, which no cutter sees either.

mod complete;
mod edges;
pub(super) mod independent;
mod matching;
#[cfg(test)]
mod spoilt;
mod structure;

use super::ops::FillRule;
use super::packed::Packed;
use super::{Certified, GeomError, Region, Ring};
use crate::budget::Budget;
use crate::threads::both;

/// The sets that a boolean makes of two regions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Boolean {
    And,
    Or,
    Minus,
}

/// Passes `result` as `source` grown by `d` mm (shrunk where `d` is negative).
///
/// # Errors
/// [`GeomError::Uncertified`] with the place and the reason; [`GeomError::Stopped`].
pub(super) fn offset(source: &Region, d: f64, result: Region, budget: &Budget) -> Result<Offset, GeomError> {
    structure::check(&result)?;
    let tree = Packed::new(source.segments().copied());
    let (edges, complete) =
        both(|| edges::at_distance(&tree, d, &result, budget), || complete::offset(source, &tree, d, &result, budget));
    drop(tree);
    edges?;
    let complete = complete?;
    if !complete.settled {
        let reference = independent::offset(source, d);
        independent::agrees(&reference, &result, budget)?;
    }
    Ok(Offset { region: Certified::passed(result), clear: complete.clear })
}

/// An offset that passed.
#[derive(Debug)]
pub(super) struct Offset {
    pub region: Certified<Region>,
    /// With a radius less by up to half of [`crate::tolerance::WIDTH_SLACK`] it would be no other: certainly so where
    /// true, not known where false.
    pub clear: bool,
}

/// Passes `result` as the boolean of `a` and `b`.
///
/// # Errors
/// As [`offset`].
pub(super) fn boolean(
    a: &Region,
    b: &Region,
    op: Boolean,
    result: Region,
    budget: &Budget,
) -> Result<Certified<Region>, GeomError> {
    structure::check(&result)?;
    agreed_boolean(a, b, op, &result, budget)?;
    Ok(Certified::passed(result))
}

/// Checks `result` as `a` less `b`, for measuring. Where operands share edges the difference has tails of no width,
/// along which one edge seems to be there twice; so that question is asked of what is enclosed, not of the edges, and
/// the result does not get the mark.
///
/// # Errors
/// As [`offset`].
pub(super) fn remainder(a: &Region, b: &Region, result: Region, budget: &Budget) -> Result<Region, GeomError> {
    structure::check_rings(&result)?;
    let (once, agreed) =
        both(|| independent::wound_once(&result, budget), || agreed_boolean(a, b, Boolean::Minus, &result, budget));
    once?;
    agreed?;
    Ok(result)
}

fn agreed_boolean(a: &Region, b: &Region, op: Boolean, result: &Region, budget: &Budget) -> Result<(), GeomError> {
    let (edges, agreed) = both(
        || edges::on_edges(a.segments().chain(b.segments()), result, budget),
        || independent::agrees(&independent::boolean(a, b, op), result, budget),
    );
    edges?;
    agreed
}

/// Passes `result` as what `rings` enclose by the fill rule.
///
/// # Errors
/// As [`offset`].
pub(super) fn enclosed(
    rings: &[Ring],
    fill: FillRule,
    result: Region,
    budget: &Budget,
) -> Result<Certified<Region>, GeomError> {
    structure::check(&result)?;
    let (edges, agreed) = both(
        || edges::on_edges(rings.iter().flat_map(|r| &r.segments), &result, budget),
        || independent::agrees(&independent::enclosed(rings, fill), &result, budget),
    );
    edges?;
    agreed?;
    Ok(Certified::passed(result))
}

fn refuse(at: kurbo::Point, why: &'static str) -> GeomError {
    GeomError::Uncertified { at, why }
}
