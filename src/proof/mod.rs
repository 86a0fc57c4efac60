//! Simulates the routing of the written files and compares the resulting pieces.
//!
//! In: the bytes of the machine's files, and a [`Plan`]: the steps with their tools, the expected places of the
//! openings, and the outlines; mm. Out, for each outline, in the drawing frame: the least and greatest gap between
//! recess and inlay, and where it binds or is too wide. Also the gap along the joint (see `joint`), and the distance of
//! each piece from the outline as drawn and as made.
//!
//! The sums are those of the router, not of the plan (see `cut`): the bush's centre can be anywhere in `C = T ⊖ R`. A
//! recess loses `K = C ⊕ r`; the inlay keeps `P = T ⊖ (R + r)`. Errors ([`ProofError`]): files without the expected
//! contents, files that contradict each other, and unexpected cuts. The expected cut is computed by another route (see
//! `compare`).
//!
//! Board and inlay of a plug with a shoulder are each routed in the frame of their own marks. Faces and edges come from
//! the steps. Then the inlay is turned over and laid in directly or rotated by a half turn, whichever fits better. So a
//! wrong face or edge shows as a misfit.
//!
//! The distances of a fit are exact: branch and bound on the edges finds the greatest within
//! [`crate::tolerance::FARTHEST_ACCURACY`], the least are closed forms. The gap along the joint, its stretches, the comparison
//! with the plan, and the distance of clearing from the plug come from sampled points. These are at most [`STEP`] mm apart
//! and include the ends and the middle of each edge.

mod compare;
mod cut;
#[cfg(test)]
mod guards;
pub mod joint;
mod plan;
mod readback;

pub use cut::{inlay_cut, recess_cut};
pub use joint::Joint;
pub use plan::{FaceFile, InHand, Plan, PlugInShoulder, Slot, Wanted};
pub use readback::Beside;

use cut::{Cuts, Workshop};

use crate::budget::Budget;
use crate::geom::edges::{EdgeIndex, least_distance, sampled};
use crate::geom::farthest::{Counts, farthest};
use crate::geom::{Affine, Certified, GeomError, Point, Region};
use crate::panel::steps::Work;
use crate::template::clearing::OFF_PLUG;
use crate::threads::{both, each};
use crate::tolerance::{WIDE_GAP, WIDTH_SLACK};
use std::borrow::Cow;

/// Greatest spacing of neighbouring measured points, mm.
pub const STEP: f64 = 0.25;

/// A measured distance, mm, and its place, in the drawing frame.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Measured {
    pub mm: f64,
    pub at: Point,
}

/// The two pieces of one outline, put together.
#[derive(Clone, Debug, PartialEq)]
pub struct Fit {
    pub outline: usize,
    /// Width and height of each piece as cut, along the panel's edges, mm: for the calipers.
    pub recess_size: (f64, f64),
    pub inlay_size: (f64, f64),
    /// mm².
    pub recess_area: f64,
    pub inlay_area: f64,
    /// Least signed distance of the inlay's edge to the recess's edge: negative if it does not fit.
    pub gap_min: Measured,
    /// Greatest distance of the recess's edge to the inlay. A place inside the inlay, where it does not fit, counts as
    /// 0.
    pub gap_max: Measured,
    /// Greatest distance between the edge of the piece as cut and the outline as drawn, in both directions.
    pub recess_off: f64,
    pub inlay_off: f64,
    /// The same for the outline as made, with corners eased or not.
    pub recess_off_made: f64,
    pub inlay_off_made: f64,
    /// The worst place of each stretch where the inlay is too large (gap below 0) ...
    pub binds: Vec<Measured>,
    /// ... and of each stretch where the gap is too wide.
    pub gapes: Vec<Measured>,
    /// The gap along the joint.
    pub joint: Joint,
}

/// Why there is no proof.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ProofError {
    #[error("nothing can be cut through the opening of outline {outline}")]
    NothingCut { outline: usize },
    #[error("outline {outline} has no step for the {missing}")]
    Missing { outline: usize, missing: &'static str },
    #[error("there is no panel {panel}")]
    NoSuchPanel { panel: u32 },
    #[error("{id} is in none of the files")]
    NoSuchOpening { id: String },
    #[error("the step for {id} has the wrong face up")]
    OtherFace { id: String },
    #[error("clearing through {opening} with the {bush} mm bush comes nearer than {OFF_PLUG} mm to the plug")]
    CutsPlug { opening: String, bush: f64 },
    #[error("recess and inlay of outline {outline} have different places on their faces: they would not meet")]
    Places { outline: usize },
    #[error("{name}: {what}")]
    File { name: String, what: String },
    #[error("{first} and {second} differ: {id} lies {mm:.4} mm apart in them")]
    Disagree { id: String, first: String, second: String, mm: f64 },
    #[error("{what} of outline {outline}: the document states {promised:.4}, but the files give {found:.4}")]
    Promise { outline: usize, what: &'static str, promised: f64, found: f64 },
    #[error("{what} is empty and should not be, or should be empty and is not")]
    Nothing { what: String },
    #[error(
        "{what} lies {mm:.4} mm off what was worked out, at {:.3}, {:.3} mm of the drawing; the limit is {allowed} mm",
        at.x, at.y
    )]
    Differs { what: String, mm: f64, at: Point, allowed: f64 },
    #[error(transparent)]
    Geom(#[from] GeomError),
}

/// The shapes of the openings by their ids, each in the frame of its face.
pub type Shapes = std::collections::BTreeMap<String, Certified<Region>>;

/// Reads the files, simulates both pieces of each outline, compares each with the expected one, and puts the two
/// together. `reported` gets remarks on the files, even if they are refused. If two files show an opening in different
/// forms, each form is proved; the fits returned are those of the first form.
///
/// # Errors
/// [`ProofError`] for a file without the expected contents, files that differ, or a missing or useless opening. Also
/// for an unexpected cut, and for geometry that could not be certified.
pub fn prove(plan: &Plan, files: &[FaceFile], reported: &mut Beside, budget: &Budget) -> Result<Vec<Fit>, ProofError> {
    let mut first = None;
    for shapes in readback::openings(plan, files, reported, budget)? {
        let fits = routed(plan, &shapes, true, budget)?;
        first = first.or(Some(fits));
    }
    Ok(first.unwrap_or_default())
}

/// Simulates the steps with these shapes and puts the pieces together, without comparing them with the plan. So a wrong
/// face or edge shows as a misfit.
///
/// # Errors
/// As [`prove`].
pub fn simulate(plan: &Plan, shapes: &Shapes, budget: &Budget) -> Result<Vec<Fit>, ProofError> {
    routed(plan, shapes, false, budget)
}

fn routed(plan: &Plan, shapes: &Shapes, compared: bool, budget: &Budget) -> Result<Vec<Fit>, ProofError> {
    let workshop = Workshop { plan, shapes, steps: plan.by_outline()?, compared, budget };
    let cuts = each(plan.outlines.iter().collect(), |outline| workshop.cuts(outline));
    let cuts = cuts.into_iter().collect::<Result<Vec<Cuts>, ProofError>>()?;
    let Some(pair) = plan.shouldered else { return put_together(&cuts, None, budget) };
    let of = |outline: usize| {
        let missing = ProofError::Missing { outline, missing: Work::Board.name() };
        cuts.iter().find(|c| c.outline.number == outline).ok_or(missing)
    };
    if compared {
        workshop.clearing_keeps_off(of(pair.plug)?)?;
    }
    let mut best: Option<Vec<Fit>> = None;
    for laid in turned_over(of(pair.shoulder)?) {
        let fits = put_together(&cuts, Some(laid), budget)?;
        if best.as_ref().is_none_or(|b| least_gap(&fits) > least_gap(b)) {
            best = Some(fits);
        }
    }
    Ok(best.unwrap_or_default())
}

fn least_gap(fits: &[Fit]) -> f64 {
    fits.iter().map(|f| f.gap_min.mm).fold(f64::INFINITY, f64::min)
}

/// Maps from the frame of the inlay's wood to that of the board. The inlay is turned over, left over right, and laid in
/// with the middle of the shoulder's outline on its counterpart, directly or rotated by a half turn.
fn turned_over(shoulder: &Cuts) -> [Affine; 2] {
    // Use the outline, not the cuts: with corners kept, the two cuts differ in size.
    let middle = shoulder.outline.drawn.bounds().map_or(Point::ORIGIN, |b| b.center());
    let over = Affine::new([-1.0, 0.0, 0.0, 1.0, 0.0, 0.0]);
    [over, Affine::new([-1.0, 0.0, 0.0, -1.0, 0.0, 0.0]) * over]
        .map(|turned| Affine::translate(shoulder.board * middle - turned * shoulder.wood * middle) * turned)
}

/// The fit of each inlay in its recess, in the drawing frame. `laid` maps the frame of the inlay's wood to that of the
/// board; without it both pieces were set by the same edges and marks, so they share one frame.
fn put_together(cuts: &[Cuts], laid: Option<Affine>, budget: &Budget) -> Result<Vec<Fit>, ProofError> {
    let fit = |c: &Cuts| {
        let back = |lay: Affine| c.inlay.region.under_similarity(c.board.inverse() * lay * c.wood);
        match laid.map(|lay| Edged::owned(back(lay))) {
            Some(inlay) => fit(c, &inlay, budget),
            None => fit(c, &c.inlay, budget),
        }
    };
    each(cuts.iter().collect(), fit).into_iter().collect()
}

/// Fits one piece into the other.
fn fit(cuts: &Cuts, inlay: &Edged, budget: &Budget) -> Result<Fit, ProofError> {
    let (outline, recess) = (cuts.outline.number, &cuts.recess);
    let nothing = || ProofError::NothingCut { outline };
    let (drawn, made) = (Edged::new(&cuts.outline.drawn), Edged::new(&cuts.outline.made));
    let (tight, wide) = both(|| inlay.signed(recess, budget), || recess.away(inlay, budget));
    let (tight, wide) = (tight?, wide?);
    let off = |piece: &Edged, other: &Edged| Ok::<f64, GeomError>(piece.apart(other, budget)?.map_or(0.0, |m| m.mm));
    let too_large: Vec<Measured> = tight.iter().map(|m| Measured { mm: -m.mm, at: m.at }).collect();
    let binds = worst_of_stretches(&too_large, WIDTH_SLACK);
    let gap_min = inlay.least_gap(recess).ok_or_else(nothing)?;
    let gap_max = recess.farthest(inlay, Counts::Outside).ok_or_else(nothing)?;
    let joint = joint::joint(recess, inlay, &tight, &wide);
    let (recess_off, inlay_off) = both(
        || Ok::<_, GeomError>((off(recess, &drawn)?, off(recess, &made)?)),
        || Ok::<_, GeomError>((off(inlay, &drawn)?, off(inlay, &made)?)),
    );
    let ((recess_off, recess_off_made), (inlay_off, inlay_off_made)) = (recess_off?, inlay_off?);
    Ok(Fit {
        outline,
        recess_size: size(&recess.region),
        inlay_size: size(&inlay.region),
        recess_area: recess.region.area(),
        inlay_area: inlay.region.area(),
        gap_min,
        gap_max,
        recess_off,
        inlay_off,
        recess_off_made,
        inlay_off_made,
        binds: binds.into_iter().map(|m| Measured { mm: -m.mm, at: m.at }).collect(),
        gapes: worst_of_stretches(&wide, WIDE_GAP + WIDTH_SLACK),
        joint,
    })
}

fn size(r: &Region) -> (f64, f64) {
    r.bounds().map_or((0.0, 0.0), |b| (b.width(), b.height()))
}

/// The worst place of each run of neighbouring places above `limit`.
fn worst_of_stretches(all: &[Measured], limit: f64) -> Vec<Measured> {
    let beyond = |m: &Measured| m.mm > limit;
    let stretches = all.chunk_by(|a, b| beyond(a) == beyond(b) && (a.at - b.at).hypot() <= 2.0 * STEP);
    let worst = stretches.filter_map(|s| s.iter().copied().max_by(|a, b| a.mm.total_cmp(&b.mm)));
    worst.filter(beyond).collect()
}

/// A region with its edges indexed and sampled for measuring.
struct Edged<'a> {
    region: Cow<'a, Region>,
    index: EdgeIndex,
    points: Vec<Point>,
}

impl<'a> Edged<'a> {
    fn new(region: &'a Region) -> Edged<'a> {
        let (index, points) = (EdgeIndex::new(region), sampled(region, STEP).collect());
        Edged { region: Cow::Borrowed(region), index, points }
    }

    fn owned(region: Region) -> Edged<'static> {
        let (index, points) = (EdgeIndex::new(&region), sampled(&region, STEP).collect());
        Edged { region: Cow::Owned(region), index, points }
    }

    /// Signed distances of own points to `other`'s edge: negative outside it. Empty if `other` has no edge.
    fn signed(&self, other: &Edged, budget: &Budget) -> Result<Vec<Measured>, GeomError> {
        self.measured(other, budget, |n| if n.inside { n.distance } else { -n.distance })
    }

    /// Distances of own points to `other`: 0 for points inside it. Empty if `other` has no edge.
    fn away(&self, other: &Edged, budget: &Budget) -> Result<Vec<Measured>, GeomError> {
        self.measured(other, budget, |n| if n.inside { 0.0 } else { n.distance })
    }

    fn measured(
        &self,
        other: &Edged,
        budget: &Budget,
        how: impl Fn(crate::geom::edges::Near) -> f64,
    ) -> Result<Vec<Measured>, GeomError> {
        let mut all = Vec::with_capacity(self.points.len());
        let mut walk = other.index.walk();
        for &at in &self.points {
            budget.check()?;
            all.extend(walk.nearest(at).map(|n| Measured { mm: how(n), at }));
        }
        Ok(all)
    }

    /// The place of the own edge farthest from `other`'s edge. `None` if either has no edges.
    fn farthest(&self, other: &Edged, counts: Counts) -> Option<Measured> {
        let far = farthest(self.region.segments(), &other.index, counts, 0.0)?;
        Some(Measured { mm: far.mm, at: far.at })
    }

    /// The least signed distance of the own edge to `recess`'s edge: negative outside it.
    fn least_gap(&self, recess: &Edged) -> Option<Measured> {
        let out = self.farthest(recess, Counts::Outside)?;
        if out.mm > 0.0 {
            return Some(Measured { mm: -out.mm, at: out.at });
        }
        let (mm, at) = least_distance(&self.region, &recess.region, f64::INFINITY)?;
        Some(Measured { mm, at })
    }

    /// Greatest distance between the two sets of edges, in both directions. `None` if either has no edges.
    fn apart(&self, other: &Edged, budget: &Budget) -> Result<Option<Measured>, GeomError> {
        budget.check()?;
        let Some(there) = self.farthest(other, Counts::BothSides) else { return Ok(None) };
        let back = farthest(other.region.segments(), &self.index, Counts::BothSides, there.mm);
        Ok(Some(back.filter(|b| b.mm > there.mm).map_or(there, |b| Measured { mm: b.mm, at: b.at })))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Ring;

    fn square(half: f64) -> Region {
        let p = |x, y| Point::new(x, y);
        Region::new(vec![Ring::polygon(&[p(-half, -half), p(half, -half), p(half, half), p(-half, half)])])
    }

    fn together(recess: f64, inlay: f64) -> Fit {
        let (recess, inlay) = (square(recess), square(inlay));
        let [drawn, made] = [&recess, &inlay].map(|r| Certified::for_test(r.clone()));
        let outline = Wanted { number: 1, drawn, made, gap: 0.05 };
        let (recess, inlay) = (Edged::owned(recess), Edged::owned(inlay));
        let cuts = Cuts { outline: &outline, recess, inlay, board: Affine::IDENTITY, wood: Affine::IDENTITY };
        fit(&cuts, &cuts.inlay, &Budget::unlimited()).unwrap()
    }

    #[test]
    fn gaps_of_two_squares() {
        let f = together(10.0, 9.95);
        assert!((f.gap_min.mm - 0.05).abs() < 1e-9, "{f:?}");
        // Greatest at the corner: along the diagonal.
        assert!((f.gap_max.mm - 0.05 * 2f64.sqrt()).abs() < 1e-9 && f.gap_max.at.x.abs() == 10.0, "{f:?}");
        assert!(f.binds.is_empty() && f.gapes.is_empty());
        // 0.12 per side is 0.17 at the corners and too wide only there: four places.
        assert_eq!(together(10.0, 9.88).gapes.len(), 4);
    }

    #[test]
    fn an_inlay_too_large_has_a_negative_gap() {
        // Its corner projects by 0.2 in both directions.
        let f = together(10.0, 10.2);
        assert!((f.gap_min.mm + 0.2 * 2f64.sqrt()).abs() < 1e-9, "{f:?}");
        assert!((f.binds[0].mm - f.gap_min.mm).abs() < 1e-9);
    }

    #[test]
    fn off_looks_from_both_sides() {
        let f = together(10.0, 11.0);
        assert!((f.inlay_off - 2f64.sqrt()).abs() < 1e-9 && f.recess_off < 1e-12, "{f:?}");
    }
}
