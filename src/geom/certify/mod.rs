//! The certificate: the checks that a result must pass before it is returned.
//!
//! It shares nothing with the operations but the primitive types. It has four parts; each can refuse a result.
//!
//! * `structure`: the rings are closed and finite, the arcs are true, no edge is doubled. (Ends must agree bit for bit;
//!   doubling is tested at the middle of every edge.)
//! * `edges`: every edge of the result lies in its place. For an offset, every point of every edge is at the distance
//!   |d| from the source, on the correct side. None is nearer: minimum distances in closed form, no samples. None is
//!   farther: by carrier where the edges are parallel, else by subdivision down to the tolerance. For a boolean, every
//!   point of every edge lies on an edge of an operand.
//! * `complete`: nothing of an offset is missing or doubled. Every offset curve of a source edge and every circle
//!   around a corner is followed from end to end in closed form. If that settles the result, the last part is skipped.
//! * `independent`: otherwise (slivers, ties, booleans), a third-party engine (`clipper2-rust`) with its own chords
//!   must enclose the same points. The symmetric difference may hold no disc of radius
//!   [`crate::tolerance::AGREE_RADIUS`]. A lost, added or filled ring is therefore found unless it is narrower than
//!   twice that. Edges are accurate to [`crate::tolerance::CERTIFIED_DISTANCE`].
//!
//! Limit: rings narrower than 0.0044 mm are not seen. No cutter notices them either.

#[cfg(test)]
mod alone;
mod certified;
mod complete;
mod edges;
pub(in crate::geom) mod independent;
mod matching;
#[cfg(test)]
mod spoilt;
mod structure;

use crate::budget::Budget;
use crate::geom::index::BoxTree;
use crate::geom::shape::{FillRule, GeomError, Region, Ring};
use crate::threads::both;

pub use certified::Certified;

/// The boolean operations on two regions.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::geom) enum Boolean {
    And,
    Or,
    Minus,
}

/// Certifies `result` as `source` grown by `d` mm (shrunk if `d` is negative).
///
/// # Errors
/// [`GeomError::Uncertified`] with the place and the reason; [`GeomError::Stopped`].
pub(in crate::geom) fn offset(source: &Region, d: f64, result: Region, budget: &Budget) -> Result<Offset, GeomError> {
    structure::check(&result)?;
    let tree = BoxTree::of_edges(source.segments().copied());
    let (edges, complete) = both(
        || edges::at_distance(&tree, source, d, &result, budget),
        || complete::offset(source, &tree, d, &result, budget),
    );
    drop(tree);
    edges?;
    let complete = complete?;
    if !complete.settled {
        let reference = independent::offset(source, d);
        independent::agrees(&reference, &result, budget)?;
    }
    Ok(Offset { region: Certified::passed(result), clear: complete.clear })
}

/// A certified offset.
#[derive(Debug)]
pub(in crate::geom) struct Offset {
    pub region: Certified<Region>,
    /// True: reducing the radius by up to half of [`crate::tolerance::WIDTH_SLACK`] provably changes nothing.
    /// False: unknown.
    pub clear: bool,
}

/// Certifies `result` as the boolean of `a` and `b`.
///
/// # Errors
/// As [`offset`].
pub(in crate::geom) fn boolean(
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

/// Checks `result` as `a` minus `b`, for measuring. Where operands share edges the difference has tails of zero width,
/// along which an edge seems doubled. So only the winding number tests for doubling, not the edges, and the result is
/// returned without the certificate.
///
/// # Errors
/// As [`offset`].
pub(in crate::geom) fn remainder(a: &Region, b: &Region, result: Region, budget: &Budget) -> Result<Region, GeomError> {
    structure::check_rings(&result)?;
    agreed_boolean(a, b, Boolean::Minus, &result, budget)?;
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

/// Certifies `result` as the region enclosed by `rings` under the fill rule.
///
/// # Errors
/// As [`offset`].
pub(in crate::geom) fn enclosed(
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
