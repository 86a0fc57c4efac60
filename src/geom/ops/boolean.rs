//! The booleans of two regions, and the region that rings enclose.

use super::attempts::in_local_frame;
use crate::budget::Budget;
use crate::geom::certify::{self, Boolean, Certified};
use crate::geom::engine::overlay::{Narrowest, Rule, Scene, Side, Winding};
use crate::geom::engine::tubes;
use crate::geom::shape::{Affine, FillRule, GeomError, Region, Ring, chords};
use crate::tolerance::{CRUMB, FINE_CHORD, OVERLAY_CHORD};

/// An operand with at least this many edges is dense.
const DENSE: usize = 512;

/// `A ∩ B`.
///
/// # Errors
/// As [`grow`](super::grow).
pub fn and(a: &Certified<Region>, b: &Certified<Region>, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    boolean(a, b, Boolean::And, budget)
}

/// `A ∪ B`.
///
/// # Errors
/// As [`grow`](super::grow).
pub fn or(a: &Certified<Region>, b: &Certified<Region>, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    boolean(a, b, Boolean::Or, budget)
}

/// `A \ B`, for measuring only. Where the operands share edges, it may hold tails of zero width. So it is a bare
/// `Region`, which no other operation accepts. Otherwise it is checked like the others.
///
/// # Errors
/// As [`grow`](super::grow).
pub fn minus(a: &Certified<Region>, b: &Certified<Region>, budget: &Budget) -> Result<Region, GeomError> {
    overlaid(a, b, Boolean::Minus, budget, Region::under_similarity, |a, b, r| certify::remainder(a, b, r, budget))
}

fn boolean(
    a: &Certified<Region>,
    b: &Certified<Region>,
    op: Boolean,
    budget: &Budget,
) -> Result<Certified<Region>, GeomError> {
    overlaid(a, b, op, budget, Certified::moved, |a, b, r| certify::boolean(a, b, op, r, budget))
}

fn overlaid<R: Default>(
    a: &Region,
    b: &Region,
    op: Boolean,
    budget: &Budget,
    moved: fn(&R, Affine) -> R,
    check: impl Fn(&Region, &Region, Region) -> Result<R, GeomError>,
) -> Result<R, GeomError> {
    let bounds = [a.bounds(), b.bounds()].into_iter().flatten().reduce(|p, q| p.union(q));
    let rule = match op {
        Boolean::And => Rule::Intersect,
        Boolean::Or => Rule::Union,
        Boolean::Minus => Rule::Difference,
    };
    in_local_frame(bounds, moved, |frame, attempt| {
        let (a, b) = (a.under_similarity(frame), b.under_similarity(frame));
        let mut scene = Scene::new(attempt.grid);
        // A dense outline crosses one long arc very often, each time by less than the chord error. For measuring, short
        // chords serve as well as arcs.
        let dense = op == Boolean::Minus && a.segments().count().max(b.segments().count()) >= DENSE;
        let straight = |r: Region| if dense { chords::straight(&r, FINE_CHORD) } else { r };
        let (a, b) = (straight(a), straight(b));
        tubes::add_region(&mut scene, a.rings.iter(), Side::Subject);
        tubes::add_region(&mut scene, b.rings.iter(), Side::Clip);
        // Regions that share edges differ by slivers as wide as the distance between their chords: drop these. In a
        // difference a long sliver may be attached to a real remainder and lower its mean width, so the limit is
        // smaller.
        let narrowest = if op == Boolean::Minus { CRUMB } else { 2.0 * OVERLAY_CHORD };
        let rings = scene.resolve(rule, Winding::Positive, Narrowest(narrowest), budget)?;
        check(&a, &b, Region::new(rings))
    })
}

/// The region enclosed by `rings` under the fill rule. The rings are closed; they may cross and run either way.
///
/// # Errors
/// As [`grow`](super::grow); [`GeomError::NotARegion`] for a ring that does not close; [`GeomError::NotFinite`],
/// [`GeomError::TooFar`].
pub fn enclosed(rings: &[Ring], fill: FillRule, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    for ring in rings {
        let n = ring.segments.len();
        for (i, s) in ring.segments.iter().enumerate() {
            if !s.is_finite() {
                return Err(GeomError::NotFinite);
            }
            if s.end() != ring.segments[(i + 1) % n].start() {
                return Err(GeomError::NotARegion("a ring does not close"));
            }
        }
    }
    let bounds = rings.iter().filter_map(Ring::bounds).reduce(|p, q| p.union(q));
    let winding = match fill {
        FillRule::NonZero => Winding::NonZero,
        FillRule::EvenOdd => Winding::EvenOdd,
    };
    in_local_frame(bounds, Certified::moved, |frame, attempt| {
        let rings: Vec<Ring> =
            rings.iter().map(|r| Ring::new(r.segments.iter().map(|s| s.under_similarity(frame)).collect())).collect();
        let mut scene = Scene::new(attempt.grid);
        tubes::add_region(&mut scene, rings.iter(), Side::Subject);
        let result = Region::new(scene.resolve(Rule::Subject, winding, Narrowest(CRUMB), budget)?);
        certify::enclosed(&rings, fill, result, budget)
    })
}
