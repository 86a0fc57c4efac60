//! Places where two regions differ, outside areas where a difference is expected; found by the second engine.
//!
//! In: two regions, the areas of expected difference, and the radius of the largest disc allowed in the rest; mm. Out:
//! each place where a larger disc fits. `clipper2-rust` computes this on polygons whose chords lie within
//! [`INDEPENDENT_CHORD`] of the arcs, so it shares nothing with the operations that made the regions. No errors.

use crate::geom::certify::independent::{inflated, polygons};
use crate::geom::shape::{Point, Region};
use crate::tolerance::{GRID, INDEPENDENT_CHORD, LARGEST_DISC};
use clipper2_rust::{FillRule, Path64, Paths64, difference_64, intersect_64, union_subjects_64, xor_64};

/// A place where two regions differ.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Spot {
    /// Inside the largest disc.
    pub at: Point,
    /// Radius of the largest disc, mm; up to 0.001 too small.
    pub radius: f64,
    /// mm².
    pub area: f64,
}

/// The places where `a` and `b` differ outside `known`, and where a disc larger than radius `allowed` mm fits.
#[must_use]
pub fn unknown(a: &Region, b: &Region, known: &[&Region], allowed: f64) -> Vec<Spot> {
    if a == b {
        return Vec::new();
    }
    let differ = xor_64(&polygons(&a.rings), &polygons(&b.rings), FillRule::NonZero);
    if !worth_a_look(&differ, allowed) {
        return Vec::new();
    }
    let known: Paths64 = known.iter().flat_map(|r| polygons(&r.rings)).collect();
    let left = difference_64(&differ, &known, FillRule::NonZero);
    if !worth_a_look(&left, allowed) {
        return Vec::new();
    }
    let wide = inflated(&left, -allowed, allowed / 8.0);
    wide.iter().filter(|p| area(p) > 0.0).map(|p| spot(p, &wide, &left, allowed)).collect()
}

/// The union of all differences between one region and others. It answers how much of a place they cover.
pub struct Differing {
    paths: Vec<(Path64, [i64; 4])>,
}

impl Differing {
    /// The differences of `a` from each of `others`, united.
    #[must_use]
    pub fn new(a: &Region, others: &[&Region]) -> Differing {
        let of = polygons(&a.rings);
        let mut all = Paths64::new();
        for (i, b) in others.iter().enumerate() {
            if !others[..i].contains(b) {
                all.extend(xor_64(&of, &polygons(&b.rings), FillRule::NonZero));
            }
        }
        let all = union_subjects_64(&all, FillRule::NonZero);
        Differing { paths: all.into_iter().map(|p| (p.clone(), bounds(&p))).collect() }
    }

    /// The share of `place`, by area, in which none of them differs: 0 to 1.
    #[must_use]
    pub fn idle_share(&self, place: &Region) -> f64 {
        let whole = polygons(&place.rings);
        let boxes: Vec<[i64; 4]> = whole.iter().map(bounds).collect();
        let near = |b: &[i64; 4]| boxes.iter().any(|c| b[0] <= c[2] && c[0] <= b[2] && b[1] <= c[3] && c[1] <= b[3]);
        let here: Paths64 = self.paths.iter().filter(|(_, b)| near(b)).map(|(p, _)| p.clone()).collect();
        let sum = |paths: &Paths64| paths.iter().map(area).sum::<f64>();
        let all = sum(&whole);
        if all > 0.0 { 1.0 - sum(&intersect_64(&whole, &here, FillRule::NonZero)) / all } else { 0.0 }
    }
}

fn bounds(path: &Path64) -> [i64; 4] {
    path.iter().fold([i64::MAX, i64::MAX, i64::MIN, i64::MIN], |b, p| {
        [b[0].min(p.x), b[1].min(p.y), b[2].max(p.x), b[3].max(p.y)]
    })
}

/// Whether a disc of this radius can fit into any of the polygons, judged by area.
fn worth_a_look(paths: &Paths64, radius: f64) -> bool {
    paths.iter().any(|p| area(p) >= std::f64::consts::PI * radius * radius)
}

/// `outer`: one of the outer rings of `wide`, which is `left` shrunk by `allowed`.
fn spot(outer: &Path64, wide: &Paths64, left: &Paths64, allowed: f64) -> Spot {
    let own = vec![outer.clone()];
    let inner = intersect_64(wide, &own, FillRule::NonZero);
    let (mut does, mut does_not) = (0.0, area(outer).sqrt());
    let mut at = outer.first().copied();
    while does_not - does > LARGEST_DISC {
        let middle = (does + does_not) / 2.0;
        let room = inflated(&inner, -middle, 0.01);
        match room.first().and_then(|p| p.first()) {
            Some(p) => (does, at) = (middle, Some(*p)),
            None => does_not = middle,
        }
    }
    #[allow(clippy::cast_precision_loss)]
    let at = at.map_or(Point::ORIGIN, |p| Point::new(p.x as f64 * GRID, p.y as f64 * GRID));
    // The place before it was shrunk.
    let around = inflated(&own, 2.0 * allowed, 0.01);
    let area = intersect_64(left, &around, FillRule::NonZero).iter().map(area).sum();
    Spot { at, radius: allowed + does, area }
}

/// mm², negative for a hole.
fn area(path: &Path64) -> f64 {
    clipper2_rust::area(path) * GRID * GRID
}

const _: () = assert!(INDEPENDENT_CHORD < 0.005, "chords are far finer than any disc queried");

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Ring;

    fn rect(x0: f64, y0: f64, x1: f64, y1: f64) -> Region {
        let p = Point::new;
        Region::new(vec![Ring::polygon(&[p(x0, y0), p(x1, y0), p(x1, y1), p(x0, y1)])])
    }

    #[test]
    fn a_place_that_nothing_knows_is_found_and_measured() {
        let (a, b) = (rect(0.0, 0.0, 20.0, 10.0), rect(0.0, 0.0, 21.0, 10.0));
        let found = unknown(&a, &b, &[], 0.02);
        assert_eq!(found.len(), 1, "{found:?}");
        assert!((found[0].radius - 0.5).abs() < 0.002 && (found[0].area - 10.0).abs() < 0.1, "{found:?}");
        assert!((20.0..=21.0).contains(&found[0].at.x), "{found:?}");
        // Known as a whole, then known except for a part.
        assert!(unknown(&a, &b, &[&rect(20.0, 0.0, 21.0, 10.0)], 0.02).is_empty());
        let rest = unknown(&a, &b, &[&rect(20.0, 0.0, 21.0, 6.0)], 0.02);
        assert!(rest.len() == 1 && rest[0].at.y > 6.0, "{rest:?}");
    }

    #[test]
    fn what_is_no_wider_than_allowed_is_let_be() {
        let a = rect(0.0, 0.0, 20.0, 10.0);
        assert!(unknown(&a, &rect(0.0, 0.0, 20.038, 10.0), &[], 0.02).is_empty());
        assert_eq!(unknown(&a, &rect(0.0, 0.0, 20.042, 10.0), &[], 0.02).len(), 1);
        assert!(unknown(&a, &a.clone(), &[], 0.02).is_empty());
    }

    #[test]
    fn a_place_without_a_difference_is_idle() {
        let (a, b) = (rect(0.0, 0.0, 20.0, 10.0), rect(0.0, 0.0, 21.0, 10.0));
        let differ = Differing::new(&a, &[&b, &a, &b]);
        assert!(differ.idle_share(&rect(20.0, 0.0, 21.0, 10.0)) < 1e-6);
        assert!((differ.idle_share(&rect(19.0, 0.0, 21.0, 10.0)) - 0.5).abs() < 1e-6);
        assert!(differ.idle_share(&rect(3.0, 3.0, 4.0, 4.0)) > 0.999_999);
    }
}
