//! Repeats the operation with `clipper2-rust` on polygons, and refuses a result that differs.

use super::{Boolean, matching, refuse};
use crate::budget::Budget;
use crate::geom::shape::trig::acos;
use crate::geom::shape::{FillRule, GeomError, Region, Ring, Segment};
use crate::threads::both;
use crate::tolerance::{AGREE_RADIUS, GRID, INDEPENDENT_CHORD};
use clipper2_rust::{
    ClipperOffset, EndType, FillRule as Clip, JoinType, Path64, Paths64, Point64, difference_64, intersect_64,
    union_64, union_subjects_64, xor_64,
};
use kurbo::Point;

/// Polygons of the second engine, on its integer grid.
pub(super) struct ReferencePolygons(Paths64);

pub(super) fn offset(source: &Region, d: f64) -> ReferencePolygons {
    ReferencePolygons(inflated(&polygons(&source.rings), d, INDEPENDENT_CHORD))
}

pub(super) fn boolean(a: &Region, b: &Region, op: Boolean) -> ReferencePolygons {
    let (a, b) = (polygons(&a.rings), polygons(&b.rings));
    ReferencePolygons(match op {
        Boolean::And => intersect_64(&a, &b, Clip::NonZero),
        Boolean::Or => union_64(&a, &b, Clip::NonZero),
        Boolean::Minus => difference_64(&a, &b, Clip::NonZero),
    })
}

pub(super) fn enclosed(rings: &[Ring], fill: FillRule) -> ReferencePolygons {
    let rule = match fill {
        FillRule::NonZero => Clip::NonZero,
        FillRule::EvenOdd => Clip::EvenOdd,
    };
    ReferencePolygons(union_subjects_64(&polygons(rings), rule))
}

/// Refuses if a disc of [`AGREE_RADIUS`] fits between the two results.
///
/// First it compares ring by ring, which settles nearly all cases. A ring may have no partner: a sliver, a neck of zero
/// width, or a place where rounding decides whether two rings meet. Then it computes the symmetric difference.
pub(super) fn agrees(reference: &ReferencePolygons, result: &Region, budget: &Budget) -> Result<(), GeomError> {
    budget.check()?;
    if matching::ring_by_ring(&reference.0, result) {
        return Ok(());
    }
    let ours = polygons(&result.rings);
    // A reversed ring differs under the positive fill rule. A doubled one does not: see `wound_once`.
    let differ = xor_64(&ours, &reference.0, Clip::Positive);
    budget.check()?;
    nothing_wide(&differ, "an independent engine gives another result")?;
    wound_once(result, budget)
}

/// Refuses if the winding number is 2 or more, or negative, over a disc of [`AGREE_RADIUS`].
pub(super) fn wound_once(result: &Region, budget: &Budget) -> Result<(), GeomError> {
    budget.check()?;
    let ours = polygons(&result.rings);
    // A clockwise frame lowers the winding number by one everywhere. Where it is then positive, it was at least 2.
    let mut framed = ours.clone();
    let all = || framed.iter().flatten();
    let (Some(x0), Some(x1)) = (all().map(|p| p.x).min(), all().map(|p| p.x).max()) else { return Ok(()) };
    let (Some(y0), Some(y1)) = (all().map(|p| p.y).min(), all().map(|p| p.y).max()) else { return Ok(()) };
    let corner = |x: i64, y: i64| Point64::new(x, y);
    framed.push(vec![
        corner(x0 - 1000, y0 - 1000),
        corner(x0 - 1000, y1 + 1000),
        corner(x1 + 1000, y1 + 1000),
        corner(x1 + 1000, y0 - 1000),
    ]);
    let (backwards, twice) =
        both(|| union_subjects_64(&ours, Clip::Negative), || union_subjects_64(&framed, Clip::Positive));
    for paths in [backwards, twice] {
        nothing_wide(&paths, "the winding number is 2 or more, or negative")?;
    }
    Ok(())
}

/// Refuses if a disc of [`AGREE_RADIUS`] fits into the polygons.
fn nothing_wide(paths: &Paths64, why: &'static str) -> Result<(), GeomError> {
    let wide = inflated(paths, -AGREE_RADIUS, AGREE_RADIUS / 4.0);
    match wide.first().and_then(|p| p.first()) {
        #[allow(clippy::cast_precision_loss)]
        Some(p) => Err(refuse(Point::new(p.x as f64 * GRID, p.y as f64 * GRID), why)),
        None => Ok(()),
    }
}

pub(in crate::geom) fn inflated(paths: &Paths64, d: f64, chord: f64) -> Paths64 {
    let mut offset = ClipperOffset::new(2.0, chord / GRID, false, false);
    offset.add_paths(paths, JoinType::Round, EndType::Polygon);
    let mut out = Paths64::new();
    offset.execute(d / GRID, &mut out);
    out
}

pub(in crate::geom) fn polygons(rings: &[Ring]) -> Paths64 {
    rings.iter().map(polygon).collect()
}

fn polygon(ring: &Ring) -> Path64 {
    let mut path = Path64::new();
    for s in &ring.segments {
        let n = if let Segment::Arc(a) = s { chords_of(a.radius, a.sweep()) } else { 1 };
        let at = s.placed();
        for k in 0..n {
            #[allow(clippy::cast_precision_loss)]
            let p = at(f64::from(k) / f64::from(n));
            #[allow(clippy::cast_possible_truncation)]
            path.push(Point64::new((p.x / GRID).round() as i64, (p.y / GRID).round() as i64));
        }
    }
    path
}

/// Number of chords that replace an arc within [`INDEPENDENT_CHORD`].
fn chords_of(radius: f64, sweep: f64) -> u32 {
    let half = acos((1.0 - INDEPENDENT_CHORD / radius).max(-1.0));
    // Bounded: sweep below 7, half above 1e-6.
    #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
    let n = (sweep / (2.0 * half)).ceil() as u32;
    n.max(1)
}
