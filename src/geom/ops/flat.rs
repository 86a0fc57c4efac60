//! Arcs as chords, for machines that accept only straight lines.

use super::enclosed;
use crate::budget::Budget;
use crate::geom::certify::Certified;
use crate::geom::shape::{FillRule, GeomError, Point, Region, Ring, Segment, chords};
use crate::tolerance::CHORD_SHARE;

/// The region with every arc replaced by chords. The ends of the chords lie on the arc, and no chord lies farther than
/// `tolerance` mm from it. A convex arc loses area and a concave one gains it: the edge moves by at most `tolerance`,
/// either way.
///
/// # Errors
/// As [`enclosed`], which certifies the result.
pub fn flattened(region: &Certified<Region>, tolerance: f64, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    if !(tolerance.is_finite() && tolerance > 0.0) {
        return Err(GeomError::NotARegion("a tolerance must be a number above 0"));
    }
    let mut points = Vec::new();
    let straight = |ring: &Ring| {
        let mut corners: Vec<Point> = Vec::new();
        for s in &ring.segments {
            let radius = if let Segment::Arc(a) = s { a.radius } else { 0.0 };
            chords::points(s, radius, tolerance * CHORD_SHARE, &mut points);
            corners.extend(&points[..points.len() - 1]);
        }
        Ring::polygon(&corners)
    };
    let rings: Vec<Ring> = region.rings.iter().map(straight).collect();
    enclosed(&rings, FillRule::NonZero, budget)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The chords of a circle lie within their sagitta of it: for n of them radius (1 − cos(π/n)), elementary geometry.
    #[test]
    fn a_circle_becomes_chords_within_the_tolerance() {
        let budget = Budget::unlimited();
        let ring = Ring::circle(Point::new(50.0, 40.0), 30.0);
        let circle = enclosed(&[ring], FillRule::NonZero, &budget).unwrap();
        for tolerance in [0.2, 0.01] {
            let flat = flattened(&circle, tolerance, &budget).unwrap();
            assert_eq!(flat.rings.len(), 1);
            assert!(flat.segments().all(|s| matches!(s, Segment::Line(_))));
            let off = |p: Point| ((p - Point::new(50.0, 40.0)).hypot() - 30.0).abs();
            let worst = flat.segments().map(|s| off(s.at(0.5))).fold(0.0, f64::max);
            assert!(worst <= tolerance && worst > tolerance / 4.0, "{tolerance}: {worst}");
            assert!(flat.segments().all(|s| off(s.start()) < 1e-6));
        }
        assert!(flattened(&circle, 0.0, &budget).is_err());
    }
}
