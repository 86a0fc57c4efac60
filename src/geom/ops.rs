//! The operations on regions, each certified before it is returned.
//!
//! All work is done in a local frame: its origin is the centre of the bounding box, rounded to whole millimetres. If
//! the certificate refuses a result, the operation is repeated on a finer grid and on a rotated copy, where other
//! points coincide. If all attempts are refused, the operation fails with the place. No uncertified result is returned.

use super::bridged::bridged;
use super::certify::{self, Boolean};
use super::overlay::{Narrowest, Rule, Scene, Side, Winding};
use super::thinned::thinned;
use super::{Certified, GeomError, Region, Ring, chords, tubes};
use crate::budget::Budget;
use crate::tolerance::{CRUMB, FINE_CHORD, GRID, LARGEST_COORDINATE, OVERLAY_CHORD};
use kurbo::{Affine, Point, Rect, Vec2};
use std::borrow::Cow;
use std::cell::Cell;

/// An operand with at least this many edges is dense.
const DENSE: usize = 512;

/// The rule by which rings enclose an area.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FillRule {
    NonZero,
    EvenOdd,
}

/// `S ⊕ d`: the region grown by a disc of radius `d` ≥ 0 mm.
///
/// # Errors
/// [`GeomError::Uncertified`] if no engine's result passes; [`GeomError::NotARegion`] for a negative distance;
/// [`GeomError::Stopped`] if the budget runs out.
pub fn grow(s: &Certified<Region>, d: f64, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    Ok(offset(s, d, 1.0, budget)?.region)
}

/// `S ⊖ d`: the region shrunk by a disc of radius `d` ≥ 0 mm.
///
/// # Errors
/// As [`grow`].
pub fn shrink(s: &Certified<Region>, d: f64, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    Ok(offset(s, d, -1.0, budget)?.region)
}

/// [`grow`] for a `sign` of 1, [`shrink`] for −1.
pub(super) fn offset(s: &Certified<Region>, d: f64, sign: f64, budget: &Budget) -> Result<certify::Offset, GeomError> {
    if !(0.0..LARGEST_COORDINATE).contains(&d) {
        return Err(GeomError::NotARegion("a distance must be 0 or more"));
    }
    if d == 0.0 || s.is_empty() {
        return Ok(certify::Offset { region: s.clone(), clear: true });
    }
    let d = d * sign;
    let clear = Cell::new(false);
    let region = in_local_frame(s.bounds(), |frame, attempt| {
        let local = s.under_similarity(frame);
        // The last attempts do without bridging and thinning.
        let plain = attempt.grid < GRID && attempt.turn == 0.0;
        let edges = if plain { Cow::Borrowed(&local) } else { bridged(&local, d) };
        let result = tubes::offset(&edges, d, attempt.grid, budget)?;
        let passed = certify::offset(&local, d, if plain { result } else { thinned(result) }, budget)?;
        clear.set(passed.clear);
        Ok(passed.region)
    })?;
    Ok(certify::Offset { region, clear: clear.get() })
}

/// A preview by the engine alone, for questions that certified results answer afterwards.
pub(super) fn uncertified_offset(s: &Region, d: f64, budget: &Budget) -> Result<Region, GeomError> {
    let Some(bounds) = s.bounds() else { return Ok(Region::default()) };
    let origin = origin(bounds);
    Ok(tubes::offset(&bridged(&s.translated(-origin), d), d, GRID, budget)?.translated(origin))
}

/// `A ∩ B`.
///
/// # Errors
/// As [`grow`].
pub fn and(a: &Certified<Region>, b: &Certified<Region>, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    boolean(a, b, Boolean::And, budget)
}

/// `A ∪ B`.
///
/// # Errors
/// As [`grow`].
pub fn or(a: &Certified<Region>, b: &Certified<Region>, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    boolean(a, b, Boolean::Or, budget)
}

/// `A \ B`, for measuring only. Where the operands share edges, it may hold tails of zero width. So it is a bare
/// `Region`, which no other operation accepts. Otherwise it is checked like the others.
///
/// # Errors
/// As [`grow`].
pub fn minus(a: &Certified<Region>, b: &Certified<Region>, budget: &Budget) -> Result<Region, GeomError> {
    overlaid(a, b, Boolean::Minus, budget, |a, b, r| {
        // The mark does not leave this function.
        certify::remainder(a, b, r, budget).map(Certified::passed)
    })
    .map(Certified::into_inner)
}

fn boolean(
    a: &Certified<Region>,
    b: &Certified<Region>,
    op: Boolean,
    budget: &Budget,
) -> Result<Certified<Region>, GeomError> {
    overlaid(a, b, op, budget, |a, b, r| certify::boolean(a, b, op, r, budget))
}

fn overlaid(
    a: &Certified<Region>,
    b: &Certified<Region>,
    op: Boolean,
    budget: &Budget,
    check: impl Fn(&Region, &Region, Region) -> Result<Certified<Region>, GeomError>,
) -> Result<Certified<Region>, GeomError> {
    let bounds = [a.bounds(), b.bounds()].into_iter().flatten().reduce(|p, q| p.union(q));
    let rule = match op {
        Boolean::And => Rule::Intersect,
        Boolean::Or => Rule::Union,
        Boolean::Minus => Rule::Difference,
    };
    in_local_frame(bounds, |frame, attempt| {
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
/// As [`grow`]; [`GeomError::NotARegion`] for a ring that does not close; [`GeomError::NotFinite`],
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
    in_local_frame(bounds, |frame, attempt| {
        let rings: Vec<Ring> =
            rings.iter().map(|r| Ring::new(r.segments.iter().map(|s| s.under_similarity(frame)).collect())).collect();
        let mut scene = Scene::new(attempt.grid);
        tubes::add_region(&mut scene, rings.iter(), Side::Subject);
        let result = Region::new(scene.resolve(Rule::Subject, winding, Narrowest(CRUMB), budget)?);
        certify::enclosed(&rings, fill, result, budget)
    })
}

/// One attempt at an operation.
struct Attempt {
    grid: f64,
    /// Rotation of the copy, radians.
    turn: f64,
}

/// The attempts, in order. An overlay fails where points coincide; another grid or angle makes other points coincide.
const ATTEMPTS: [Attempt; 4] = [
    Attempt { grid: GRID, turn: 0.0 },
    Attempt { grid: GRID / 8.0, turn: 0.0 },
    Attempt { grid: GRID, turn: 0.618_033_988_7 },
    Attempt { grid: GRID / 4.0, turn: 2.345_678_9 },
];

fn in_local_frame(
    bounds: Option<Rect>,
    run: impl Fn(Affine, &Attempt) -> Result<Certified<Region>, GeomError>,
) -> Result<Certified<Region>, GeomError> {
    let Some(bounds) = bounds else { return Ok(Certified::passed(Region::default())) };
    let middle = bounds.center();
    if !middle.is_finite() {
        return Err(GeomError::NotFinite);
    }
    if bounds.x0.min(bounds.y0) < -LARGEST_COORDINATE || bounds.x1.max(bounds.y1) > LARGEST_COORDINATE {
        return Err(GeomError::TooFar);
    }
    let origin = origin(bounds);
    let mut first = None;
    for attempt in &ATTEMPTS {
        let turn = turn(attempt.turn);
        let frame = turn * Affine::translate(-origin);
        let back = Affine::translate(origin) * turn.inverse();
        match run(frame, attempt) {
            Ok(local) => return Ok(local.moved(back)),
            Err(GeomError::Uncertified { at, why }) => {
                first.get_or_insert(GeomError::Uncertified { at: back * at, why });
            }
            Err(other) => return Err(other),
        }
    }
    Err(first.unwrap_or(GeomError::Uncertified { at: Point::ORIGIN, why: "no attempt was made" }))
}

/// The origin of the local frame: whole millimetres, so that drawn numbers keep their digits.
fn origin(bounds: Rect) -> Vec2 {
    let middle = bounds.center();
    Vec2::new(middle.x.round(), middle.y.round())
}

/// A rotation about the origin; the identity bit for bit if the angle is 0.
fn turn(angle: f64) -> Affine {
    if angle == 0.0 {
        return Affine::IDENTITY;
    }
    let u = super::trig::unit(angle);
    Affine::new([u.x, u.y, -u.y, u.x, 0.0, 0.0])
}
