//! The operations on regions, each certified before it is handed out.
//!
//! All work is done in a local frame: the middle of the box, to whole millimetres, is the origin. If the certificate
//! refuses a result, the operation is tried again on a finer grid and on a turned copy, where other points fall
//! together; if all are refused, so is the operation, with the place. Nothing that did not pass is ever handed out.

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

/// From so many edges on an operand of a boolean is dense.
const DENSE: usize = 512;

/// How rings say what is inside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FillRule {
    NonZero,
    EvenOdd,
}

/// `S ⊕ d`: the region grown by a disc of radius `d` ≥ 0 mm.
///
/// # Errors
/// [`GeomError::Uncertified`] where no engine's result passed; [`GeomError::NotARegion`] for a negative distance;
/// [`GeomError::Stopped`] by the budget.
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
        return Err(GeomError::NotARegion("a distance must be a number from 0 up"));
    }
    if d == 0.0 || s.is_empty() {
        return Ok(certify::Offset { region: s.clone(), clear: true });
    }
    let d = d * sign;
    let clear = Cell::new(false);
    let region = in_local_frame(s.bounds(), |frame, attempt| {
        let local = s.under_similarity(frame);
        // The last tries go without these, too.
        let plain = attempt.grid < GRID && attempt.turn == 0.0;
        let edges = if plain { Cow::Borrowed(&local) } else { bridged(&local, d) };
        let result = tubes::offset(&edges, d, attempt.grid, budget)?;
        let passed = certify::offset(&local, d, if plain { result } else { thinned(result) }, budget)?;
        clear.set(passed.clear);
        Ok(passed.region)
    })?;
    Ok(certify::Offset { region, clear: clear.get() })
}

/// A first look, by the engine alone: for questions whose answer is asked again of certified results.
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

/// `A \ B`, for measuring only: where the two share edges it may hold tails of no width, so it does not carry the mark
/// that further operations ask for. Otherwise it is checked as the others are.
///
/// # Errors
/// As [`grow`].
pub fn minus(a: &Certified<Region>, b: &Certified<Region>, budget: &Budget) -> Result<Region, GeomError> {
    overlaid(a, b, Boolean::Minus, budget, |a, b, r| {
        // The mark goes no farther than this function.
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
        // A dense outline crosses one long arc a great many times, each time by a hair: no more than chords are off. For
        // measuring, short lines do as well as arcs.
        let dense = op == Boolean::Minus && a.segments().count().max(b.segments().count()) >= DENSE;
        let straight = |r: Region| if dense { chords::straight(&r, FINE_CHORD) } else { r };
        let (a, b) = (straight(a), straight(b));
        tubes::add_region(&mut scene, a.rings.iter(), Side::Subject);
        tubes::add_region(&mut scene, b.rings.iter(), Side::Clip);
        // Regions that share edges differ by slivers as wide as two chords are apart; but to what is left of one region
        // outside another a long sliver may hang.
        let narrowest = if op == Boolean::Minus { CRUMB } else { 2.0 * OVERLAY_CHORD };
        let rings = scene.resolve(rule, Winding::Positive, Narrowest(narrowest), budget)?;
        check(&a, &b, Region::new(rings))
    })
}

/// What `rings` (closed, any sense, crossing or not) enclose by the fill rule.
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

/// One try of an operation.
struct Attempt {
    grid: f64,
    /// Turn of the copy, radians.
    turn: f64,
}

/// The ladder. Another grid and another angle make other points coincide, which is what an overlay trips over.
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

/// A turn about the origin; none at all is the identity to the bit.
fn turn(angle: f64) -> Affine {
    if angle == 0.0 {
        return Affine::IDENTITY;
    }
    let u = super::trig::unit(angle);
    Affine::new([u.x, u.y, -u.y, u.x, 0.0, 0.0])
}
