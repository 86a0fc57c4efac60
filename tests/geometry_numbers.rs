//! Closed forms, each with where it is published or how it is derived. Lengths mm, areas mm².

use letin::budget::Budget;
use letin::geom::{self, Certified, FillRule, Point, Region, Ring, Segment};

fn region(points: &[(f64, f64)]) -> Certified<Region> {
    let points: Vec<Point> = points.iter().map(|&p| p.into()).collect();
    geom::enclosed(&[Ring::polygon(&points)], FillRule::NonZero, &Budget::unlimited()).expect("a plain polygon")
}

fn grow(s: &Certified<Region>, d: f64) -> Certified<Region> {
    geom::grow(s, d, &Budget::unlimited()).expect("certified")
}

#[track_caller]
fn near(found: f64, wanted: f64, digits: i32) {
    let half = 0.500_001 * 10f64.powi(-digits);
    assert!((found - wanted).abs() <= half, "found {found:.9}, wanted {wanted}");
}

fn rectangle(w: f64, h: f64) -> Certified<Region> {
    region(&[(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)])
}

fn bow_tie() -> Certified<Region> {
    region(&[(-35.0, -18.0), (0.0, -8.0), (35.0, -18.0), (35.0, 18.0), (0.0, 8.0), (-35.0, 18.0)])
}

/// Steiner's formula (Schneider, Convex Bodies: The Brunn–Minkowski Theory; from memory): A + p·a + π·a², p + 2π·a.
#[test]
fn rectangle_grown_is_four_lines_and_four_arcs() {
    let t = grow(&rectangle(80.0, 40.0), 7.0);
    near(t.area(), 5033.93804, 5);
    near(t.perimeter(), 283.98230, 5);
    let radii: Vec<f64> =
        t.segments().filter_map(|s| if let Segment::Arc(a) = s { Some(a.radius) } else { None }).collect();
    assert_eq!(t.segments().count(), 8);
    assert_eq!(radii, vec![7.0; 4]);
}

#[test]
fn bow_tie_numbers() {
    let s = bow_tie();
    near(s.area(), 1820.0, 6);
    near(s.perimeter(), 217.602198, 6);
    let t = grow(&s, 7.0);
    near(t.area(), 3496.426791, 6);
    near(t.perimeter(), 261.376885, 6);
    let t = grow(&s, 13.0);
    near(t.area(), 5177.251586, 6);
    near(t.perimeter(), 298.898046, 6);
}

/// Limbs, gaps and discs of exactly tool size, and a hundredth over and under, at every whole degree.
#[test]
fn tool_sizes_hold_at_every_angle() {
    let b = Budget::unlimited();
    for degrees in 0..360 {
        let m = letin::geom::Affine::rotate(f64::from(degrees).to_radians());
        for (over, kept) in [(0.0, true), (0.01, true), (-0.01, false)] {
            // A head 30 × 30 with a limb 20 long and a cutter's 6 wide.
            let w = (6.0 + over) / 2.0;
            let key =
                [(0.0, -15.0), (30.0, -15.0), (30.0, 15.0), (0.0, 15.0), (0.0, w), (-20.0, w), (-20.0, -w), (0.0, -w)];
            let key = region(&key).moved(m);
            let opened = geom::open(&key, 3.0, &b).unwrap();
            let lost = key.area() - opened.area();
            assert_eq!(lost < 15.0, kept, "limb {over:+} at {degrees}°: lost {lost}");
            // The gap between two limbs, 14 wide, 20 deep.
            let g = (14.0 + over) / 2.0;
            let fork = [
                (-30.0, -40.0),
                (40.0, -40.0),
                (40.0, 40.0),
                (-30.0, 40.0),
                (-30.0, g),
                (0.0, g),
                (0.0, -g),
                (-30.0, -g),
            ];
            let fork = region(&fork).moved(m);
            let closed = geom::close(&fork, 7.0, &b).unwrap();
            let filled = closed.area() - fork.area();
            assert_eq!(filled < 60.0, kept, "gap {over:+} at {degrees}°: filled {filled}");
        }
    }
}
