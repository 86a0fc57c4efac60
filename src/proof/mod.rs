//! Routes openings on paper and compares the two pieces that come out.
//!
//! In: the openings as they lie on their faces (mm, frame of the face that is up) and the tools. Out: for each outline
//! the least and greatest gap between recess and insert and how far each lies off the drawing. The sums are those of
//! the router, not of the plan: the bush's centre can be anywhere in `C = T ⊖ R`; a recess loses `K = C ⊕ r`; of the
//! insert `P = T ⊖ (R + r)` is left. Refuses an opening in which nothing can be cut.
//!
//! What is sampled: the edges themselves are lines and true arcs and every distance *to* them is to rounding. The
//! places measured *from* are points along the other edge, [`STEP`] mm apart or closer, always with the ends and
//! the middle of each edge. A distance that is greatest or least between two such points is missed by at most half
//! the step, and on smooth edges by far less.
//!
//! [`prove`] takes [`Cut`]s and not a template: they can as well be read back from the written files.

pub mod shoulder;

use crate::budget::Budget;
use crate::geom::edges::{EdgeIndex, sampled};
use crate::geom::{Affine, Certified, GeomError, Point, Region, grow, shrink};
use crate::kit::{Pair, Tools};
use crate::template::{Duty, Opening};

/// Greatest distance between neighbouring points that are measured from, mm.
pub const STEP: f64 = 0.25;

/// An opening as it is on the face that is up.
#[derive(Clone, Debug, PartialEq)]
pub struct Cut {
    pub outline: usize,
    pub duty: Duty,
    /// In the frame of the face.
    pub region: Certified<Region>,
    /// Takes the drawing frame to the frame of the face.
    pub place: Affine,
}

impl From<&Opening> for Cut {
    fn from(o: &Opening) -> Cut {
        Cut { outline: o.outline, duty: o.duty, region: o.on_face(), place: o.place }
    }
}

/// A measured distance, mm, and where, in the drawing frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    pub mm: f64,
    pub at: Point,
}

/// One outline's two pieces, put together.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    pub outline: usize,
    /// Greatest width and height of either piece as cut, along the panel's edges, mm: for the calipers.
    pub recess_size: (f64, f64),
    pub insert_size: (f64, f64),
    /// mm².
    pub recess_area: f64,
    pub insert_area: f64,
    /// Least signed distance of the insert's edge to the recess's edge: negative where it does not fit.
    pub gap_min: Measured,
    /// Greatest distance of the recess's edge to the insert.
    pub gap_max: Measured,
    /// Greatest distance between the edge of the piece as cut and the outline as drawn, looked at from both.
    pub recess_off: f64,
    pub insert_off: f64,
}

/// No proof.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ProofError {
    #[error("nothing can be cut through the opening of outline {outline}")]
    NothingCut { outline: usize },
    #[error("outline {outline} has no opening for the {missing}")]
    Missing { outline: usize, missing: &'static str },
    #[error(transparent)]
    Geom(#[from] GeomError),
}

/// What the board loses through opening `t`: `(T ⊖ R) ⊕ r`.
///
/// # Errors
/// As the operations.
pub fn recess_cut(t: &Certified<Region>, pair: Pair, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    grow(&shrink(t, pair.bush_radius(), budget)?, pair.cutter_radius(), budget)
}

/// What is left inside the kerf cut through opening `t`: `T ⊖ (R + r)`.
///
/// # Errors
/// As the operations.
pub fn insert_cut(t: &Certified<Region>, pair: Pair, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    shrink(t, pair.bush_radius() + pair.cutter_radius(), budget)
}

/// Routes both pieces of each of `outlines` (number and region as drawn) and puts them together: the board with face 1
/// up and the insert with face 2 up, both against the bottom and the left edge, so in one and the same frame.
///
/// # Errors
/// [`ProofError`] for a missing or useless opening, or geometry that could not be certified.
pub fn prove(
    outlines: &[(usize, &Region)],
    cuts: &[Cut],
    tools: &Tools,
    budget: &Budget,
) -> Result<Vec<Fit>, ProofError> {
    outlines.iter().map(|&(number, drawn)| fit(number, drawn, cuts, tools, budget)).collect()
}

fn fit(outline: usize, drawn: &Region, cuts: &[Cut], tools: &Tools, budget: &Budget) -> Result<Fit, ProofError> {
    let cut = |duty, missing| {
        let of = |c: &&Cut| c.outline == outline && (c.duty == duty || c.duty == Duty::Both);
        cuts.iter().find(of).ok_or(ProofError::Missing { outline, missing })
    };
    let (t1, t2) = (cut(Duty::Recess, "recess")?, cut(Duty::Insert, "insert")?);
    let recess = recess_cut(&t1.region, tools.recess, budget)?;
    let insert = insert_cut(&t2.region, tools.insert, budget)?;
    if recess.is_empty() || insert.is_empty() {
        return Err(ProofError::NothingCut { outline });
    }
    // Back to the drawing by the place of the recess: if the two places differ the pieces do not meet, as in the shop.
    let back = t1.place.inverse();
    let located = |(mm, p): (f64, Point)| Measured { mm, at: back * p };
    let nothing = ProofError::NothingCut { outline };
    Ok(Fit {
        outline,
        recess_size: size(&recess),
        insert_size: size(&insert),
        recess_area: recess.area(),
        insert_area: insert.area(),
        gap_min: located(least_gap(&insert, &recess, budget)?.ok_or(nothing.clone())?),
        gap_max: located(farthest(&recess, &insert, budget)?.ok_or(nothing)?),
        recess_off: off(&recess, &drawn.under_similarity(t1.place), budget)?,
        insert_off: off(&insert, &drawn.under_similarity(t2.place), budget)?,
    })
}

fn size(r: &Region) -> (f64, f64) {
    r.bounds().map_or((0.0, 0.0), |b| (b.width(), b.height()))
}

/// Least signed distance from `insert`'s edge to `recess`'s: negative outside the recess.
fn least_gap(insert: &Region, recess: &Region, budget: &Budget) -> Result<Option<(f64, Point)>, GeomError> {
    let index = EdgeIndex::new(recess);
    let mut least: Option<(f64, Point)> = None;
    for p in sampled(insert, STEP) {
        budget.check()?;
        let Some(near) = index.nearest(p) else { return Ok(None) };
        let signed = if near.inside { near.distance } else { -near.distance };
        if least.is_none_or(|(d, _)| signed < d) {
            least = Some((signed, p));
        }
    }
    Ok(least)
}

/// Greatest distance from the edge of `from` to the edge of `to`.
fn farthest(from: &Region, to: &Region, budget: &Budget) -> Result<Option<(f64, Point)>, GeomError> {
    let index = EdgeIndex::new(to);
    let mut most: Option<(f64, Point)> = None;
    for p in sampled(from, STEP) {
        budget.check()?;
        let Some(near) = index.nearest(p) else { return Ok(None) };
        if most.is_none_or(|(d, _)| near.distance > d) {
            most = Some((near.distance, p));
        }
    }
    Ok(most)
}

fn off(piece: &Region, drawn: &Region, budget: &Budget) -> Result<f64, GeomError> {
    let one_way = |a, b| Ok::<f64, GeomError>(farthest(a, b, budget)?.map_or(0.0, |m| m.0));
    Ok(one_way(piece, drawn)?.max(one_way(drawn, piece)?))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Ring;

    fn square(half: f64) -> Region {
        let p = |x, y| Point::new(x, y);
        Region::new(vec![Ring::polygon(&[p(-half, -half), p(half, -half), p(half, half), p(-half, half)])])
    }

    #[test]
    fn gaps_of_two_squares() {
        let budget = Budget::unlimited();
        let (recess, insert) = (square(10.0), square(9.95));
        let (least, _) = least_gap(&insert, &recess, &budget).unwrap().unwrap();
        assert!((least - 0.05).abs() < 1e-9, "{least}");
        // Greatest at the corner: along the diagonal.
        let (most, at) = farthest(&recess, &insert, &budget).unwrap().unwrap();
        assert!((most - 0.05 * 2f64.sqrt()).abs() < 1e-9 && at.x.abs() == 10.0, "{most} {at:?}");
    }

    #[test]
    fn an_insert_too_large_has_a_negative_gap() {
        let budget = Budget::unlimited();
        let (least, _) = least_gap(&square(10.2), &square(10.0), &budget).unwrap().unwrap();
        // Its corner stands 0.2 out both ways.
        assert!((least + 0.2 * 2f64.sqrt()).abs() < 1e-9, "{least}");
    }

    #[test]
    fn off_looks_from_both_sides() {
        let budget = Budget::unlimited();
        assert!((off(&square(10.0), &square(11.0), &budget).unwrap() - 2f64.sqrt()).abs() < 1e-9);
    }
}
