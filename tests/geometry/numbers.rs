//! Closed forms with their sources or derivations. Lengths in mm, areas in mm², to the digits given.
//!
//! The numbers come from the formulas. "From memory, unchecked" means that nobody looked the formula up for this file.

use crate::common::{
    Dice, bow_tie, bulged, close, enclosed, grow, near, open, rectangle, region, regular, rounded_rectangle, same,
    shrink, strays,
};
use letin::geom::{self, Arc, Certified, Point, Region, Segment};
use std::f64::consts::PI;

fn arcs(r: &Region) -> Vec<f64> {
    r.segments().filter_map(|s| if let Segment::Arc(a) = s { Some(a.radius) } else { None }).collect()
}

/// The square of 60 less the square of 30 at its upper right.
fn ell() -> Certified<Region> {
    region(&[(0.0, 0.0), (60.0, 0.0), (60.0, 30.0), (30.0, 30.0), (30.0, 60.0), (0.0, 60.0)])
}

/// Steiner's formula for a convex region: area A + p·a + π·a², perimeter p + 2π·a.
/// Source: Schneider, *Convex Bodies: The Brunn–Minkowski Theory*, 1993; from memory, unchecked.
#[test]
fn rectangle_grown_is_four_lines_and_four_arcs() {
    let t = grow(&rectangle(80.0, 40.0), 7.0);
    near(t.area(), 5033.93804, 5);
    near(t.perimeter(), 283.98230, 5);
    assert_eq!(t.segments().count(), 8);
    assert_eq!(arcs(&t), vec![7.0; 4]);
}

/// Steiner's formula and its source, as above.
#[test]
fn convex_shapes_grown() {
    let t = grow(&rectangle(60.0, 40.0), 7.0);
    near(t.area(), 3953.938040, 6);
    near(t.perimeter(), 243.982297, 6);
    let t = grow(&region(&[(0.0, 0.0), (4.0, 0.0), (0.0, 3.0)]), 1.0);
    near(t.area(), 21.141593, 6);
    near(t.perimeter(), 18.283185, 6);
    let hexagon = regular(6, 20.0);
    near(hexagon.area(), 1039.230485, 6);
    let t = grow(&hexagon, 5.0);
    near(t.area(), 1717.770301, 6);
    near(t.perimeter(), 151.415927, 6);
}

/// At a reflex corner that turns by δ, the two offset lines shorten each other by a·tan(δ/2). So the area is
/// A + p·a + a²(π + Σδ/2 − Σtan(δ/2)) and the perimeter p + a(2π + Σδ − 2Σtan(δ/2)).
/// Source: none outside; the check does the sums anew.
#[test]
fn ell_grown() {
    let t = grow(&ell(), 6.0);
    near(t.area(), 4245.371669, 6);
    near(t.perimeter(), 275.123890, 6);
    assert_eq!(arcs(&t), vec![6.0; 5]);
}

/// At a corner of angle θ, the two offset lines shorten each other by a·cot(θ/2). So the area is A − p·a + a²Σcot(θ/2) and
/// the perimeter p − 2aΣcot(θ/2). Source: none outside; the check does the sums anew.
#[test]
fn hexagon_shrunk() {
    let t = shrink(&regular(6, 20.0), 5.0);
    near(t.area(), 525.833025, 6);
    near(t.perimeter(), 85.358984, 6);
    assert_eq!(t.segments().count(), 6);
    assert!(arcs(&t).is_empty());
}

/// Opening of a convex region by a disc: area A − r²Σ[cot(θ/2) − (π − θ)/2].
/// Source: Serra, *Image Analysis and Mathematical Morphology*, 1982; from memory, unchecked.
/// Source: Soille, *Morphological Image Analysis*, 2003, chapter 4; from memory, unchecked.
#[test]
fn convex_shapes_opened() {
    let t = open(&rectangle(60.0, 40.0), 3.0);
    near(t.area(), 2392.274334, 6);
    near(t.perimeter(), 194.849556, 6);
    assert_eq!(arcs(&t), vec![3.0; 4]);
    let t = open(&regular(6, 20.0), 4.0);
    near(t.area(), 1034.070341, 6);
    near(t.perimeter(), 117.419928, 6);
    assert_eq!(arcs(&t), vec![4.0; 6]);
}

/// Closing by a disc adds r²(tan(δ/2) − δ/2) at a reflex corner that turns by δ. Sources as above.
#[test]
fn ell_closed() {
    let t = close(&ell(), 5.0);
    near(t.area(), 2705.365046, 6);
    near(t.perimeter(), 237.853982, 6);
    assert_eq!(arcs(&t), vec![5.0]);
}

/// A disc of radius t does not fill a corner of angle θ: shortfall t(1/sin(θ/2) − 1), area t²(cot(θ/2) − (π − θ)/2). The
/// corners are those of a square, a triangle, a hexagon and a five-pointed star.
/// Source: none outside; the check does the sums anew.
#[test]
fn corners_that_a_cutter_leaves() {
    let star = {
        // The inner corners of a pentagram lie at cos 72° / cos 36° of its radius.
        let inner = 100.0 * (72f64.to_radians().cos() / 36f64.to_radians().cos());
        let corner = |k: u32| {
            let r = if k.is_multiple_of(2) { 100.0 } else { inner };
            let (s, c) = (36.0 * f64::from(k)).to_radians().sin_cos();
            (r * c, r * s)
        };
        region(&(0..10).map(corner).collect::<Vec<_>>())
    };
    let cases = [
        (regular(4, 50.0), 4.0, 50.0, 1.2426407, 1.9314165),
        (regular(3, 50.0), 3.0, 50.0, 3.0, 6.1636793),
        (regular(6, 50.0), 6.0, 50.0, 0.4641016, 0.4837634),
        (star, 5.0, 100.0, 6.7082039, 16.3894183),
    ];
    for (shape, corners, tip, shortfall, area) in cases {
        let reached = open(&shape, 3.0);
        let tip = Point::new(tip, 0.0);
        near(reached.nearest(tip).unwrap().0, shortfall, 7);
        near((shape.area() - reached.area()) / corners, area, 7);
        // The opening loses nothing more elsewhere.
        assert!(strays(&shape, &reached, 0.25).0 <= shortfall + 1e-6);
    }
}

/// The same corner drawn with a radius ρ below the tool's t: shortfall (t − ρ)(1/sin(θ/2) − 1), area
/// (t² − ρ²)(cot(θ/2) − (π − θ)/2). For 90°, ρ = 1, t = 3 these are 0.828427 and 1.716815.
/// Source: none outside; the check does the sums anew.
#[test]
fn rounded_corners_that_a_cutter_leaves() {
    let shape = enclosed(&[rounded_rectangle(40.0, 30.0, 1.0)]);
    let reached = open(&shape, 3.0);
    near((shape.area() - reached.area()) / 4.0, 1.716815, 6);
    let on_bisector = 1.0 - 0.5f64.sqrt();
    near(reached.nearest(Point::new(on_bisector, on_bisector)).unwrap().0, 0.828427, 6);
}

/// Area, perimeter and angles from the corners (±35, ±18) and (0, ±8).
/// Source: none outside; the check does the sums anew.
#[test]
fn bow_tie_drawn() {
    let s = bow_tie();
    near(s.area(), 1820.0, 6);
    near(s.perimeter(), 217.602198, 6);
    let (end, waist) = (Point::new(35.0, 18.0), Point::new(0.0, 8.0));
    let slope = (end - waist).atan2().to_degrees();
    near(90.0 - slope, 74.054604, 6);
    near(180.0 + 2.0 * slope, 211.890792, 6);
    let turns: Vec<f64> = (0..6)
        .map(|i| {
            let e = &s.rings[0].segments;
            let (t, u) = (e[i].tangent_at_end(), e[(i + 1) % 6].tangent_at_start());
            180.0 - t.cross(u).atan2(t.dot(u)).to_degrees()
        })
        .collect();
    assert_eq!(turns.iter().filter(|a| (*a - 74.054604).abs() < 1e-6).count(), 4);
    assert_eq!(turns.iter().filter(|a| (*a - 211.890792).abs() < 1e-6).count(), 2);
}

/// Bush 20 and cutter 6 for both pieces give the offsets 7 and 13. Source: none outside; the check does the sums anew.
#[test]
fn bow_tie_openings() {
    let s = bow_tie();
    let t = grow(&s, 7.0);
    near(t.area(), 3496.426791, 6);
    near(t.perimeter(), 261.376885, 6);
    let t = grow(&s, 13.0);
    near(t.area(), 5177.251586, 6);
    near(t.perimeter(), 298.898046, 6);
}

/// What the tools leave or fill at each corner of the bow-tie. The corner formulas above apply with t = 3 inside, and with
/// t = 7 and t = 13 at the waist.
#[test]
fn bow_tie_corners() {
    let s = bow_tie();
    let (end, waist) = (Point::new(35.0, 18.0), Point::new(0.0, 8.0));
    let opened = open(&s, 3.0);
    near(opened.nearest(end).unwrap().0, 1.981771, 6);
    near((s.area() - opened.area()) / 4.0, 3.610638, 6);
    for (o, over, area) in [(7.0, 0.280110, 0.363317), (13.0, 0.520204, 1.253072)] {
        let closed = close(&s, o);
        near(closed.nearest(waist).unwrap().0, over, 6);
        near((closed.area() - s.area()) / 2.0, area, 6);
    }
}

/// The pieces as the router cuts them from the openings T. The recess is (T ⊖ R) ⊕ r, the inlay is T ⊖ (R + r).
/// Source: none outside; the check does the sums anew.
#[test]
fn bow_tie_as_cut() {
    let s = bow_tie();
    let board = |t: &Certified<Region>| grow(&shrink(t, 10.0), 3.0);
    let inlay = |t: &Certified<Region>| shrink(t, 13.0);
    near(board(&grow(&s, 7.0)).area(), 1806.284082, 6);
    near(inlay(&grow(&s, 13.0)).area(), 1822.506144, 6);
    // Eased for both tools, cutter radius 3 and larger offset 13, both pieces equal the eased outline.
    let eased = close(&open(&s, 3.0), 13.0);
    near(eased.area(), 1808.063592, 6);
    let (a, b) = (board(&grow(&eased, 7.0)), inlay(&grow(&eased, 13.0)));
    near(a.area(), 1808.063592, 6);
    near(b.area(), 1808.063592, 6);
    same(&a, &eased, 1e-6, "recess");
    same(&b, &eased, 1e-6, "inlay");
    // The opening for the recess has no inside corner tighter than the bush.
    let tightest = grow(&eased, 7.0).segments().fold(f64::INFINITY, |least, e| match e {
        Segment::Arc(a) if a.ccw => least.min(a.radius),
        _ => least,
    });
    near(tightest, 10.0, 9);
}

/// A collar over the bush: bush 5/16 in, collar 9/16 in, cutter 1/8 in. The opening is 7/16 in larger than the inlay in
/// both directions. Inside corners have a radius of 1/16 in, outside corners 7/32 in. The formulas above give the rest.
/// Source: Wood magazine, *Inlay with a bushing kit*, year unknown (for the 7/16).
#[test]
fn bow_tie_with_a_larger_bush() {
    const INCH: f64 = 25.4;
    let (bush, collar, cutter) = (5.0 / 16.0 * INCH, 9.0 / 16.0 * INCH, INCH / 8.0);
    let o = (collar - cutter) / 2.0;
    near(o, 5.55625, 9);
    near((bush + cutter) / 2.0, o, 9);
    near(2.0 * o, 7.0 / 16.0 * INCH, 9);
    let s = region(&[(-40.0, -20.0), (0.0, -10.0), (40.0, -20.0), (40.0, 20.0), (0.0, 10.0), (-40.0, 20.0)]);
    near(s.area(), 2400.0, 6);
    near(s.perimeter(), 244.924225, 6);
    near((Point::new(40.0, 20.0) - Point::new(0.0, 10.0)).atan2().to_degrees(), 14.036243, 6);
    let t = grow(&s, o);
    near(t.area(), 3857.537167, 6);
    near(t.perimeter(), 279.723574, 6);
    let (drawn, opening) = (s.bounds().unwrap(), t.bounds().unwrap());
    near(opening.width() - drawn.width(), 7.0 / 16.0 * INCH, 9);
    near(opening.height() - drawn.height(), 7.0 / 16.0 * INCH, 9);
    let inlay = shrink(&t, f64::midpoint(bush, cutter));
    near(inlay.area(), 2400.310037, 6);
    let radii = arcs(&inlay);
    assert_eq!(radii.len(), 2);
    radii.iter().for_each(|&r| near(r, 7.0 / 32.0 * INCH, 9));
    let recess = grow(&shrink(&t, collar / 2.0), cutter / 2.0);
    near(recess.area(), 2396.551083, 6);
    let mut radii = arcs(&recess);
    radii.sort_by(f64::total_cmp);
    assert_eq!(radii.len(), 6);
    radii[..4].iter().for_each(|&r| near(r, INCH / 16.0, 9));
    radii[4..].iter().for_each(|&r| near(r, 7.0 / 32.0 * INCH, 9));
}

/// Columns: length of arc, rise, chord, area.
/// Source: *Machinery's Handbook*, "Segments of Circles for Radius = 1", edition unknown; from memory, unchecked.
#[test]
#[allow(clippy::approx_constant, reason = "the table's own digits")]
fn segments_of_circles() {
    let rows = [
        (30.0, 0.523599, 0.034074, 0.517638, 0.011799),
        (60.0, 1.047198, 0.133975, 1.0, 0.090586),
        (90.0, 1.570796, 0.292893, 1.414214, 0.285398),
        (120.0, 2.094395, 0.5, 1.732051, 0.614185),
    ];
    for (degrees, length, rise, chord, area) in rows {
        let half = f64::to_radians(degrees / 2.0);
        let (start, end) = (Point::new(half.sin(), 0.0), Point::new(-half.sin(), 0.0));
        let arc = Arc::from_bulge(start, end, (half / 2.0).tan()).unwrap();
        near(arc.radius, 1.0, 9);
        let s = enclosed(&[bulged(&[(start.x, 0.0, (half / 2.0).tan()), (end.x, 0.0, 0.0)])]);
        near(s.area(), area, 6);
        near(s.perimeter(), length + chord, 5);
        let found = |arc: bool| s.segments().find(|e| matches!(e, Segment::Arc(_)) == arc).unwrap().length();
        near(found(true), length, 6);
        near(found(false), chord, 6);
        near(s.bounds().unwrap().height(), rise, 6);
    }
}

/// The bulge is the tangent of a quarter of the sweep, positive anticlockwise. It follows that r = c(1 + b²)/(4·|b|).
/// Source: Autodesk, *DXF Reference*, AutoCAD 2024, VERTEX, group 42.
#[test]
fn bulges() {
    let arc = Arc::from_bulge(Point::ORIGIN, Point::new(60.0, 0.0), 1.0 / 3.0).unwrap();
    near(arc.radius, 50.0, 9);
    near(arc.center.x, 30.0, 9);
    near(arc.center.y, 40.0, 9);
    assert!(arc.ccw);
    let turned = Arc::from_bulge(Point::ORIGIN, Point::new(60.0, 0.0), -1.0 / 3.0).unwrap();
    near(turned.center.y, -40.0, 9);
    assert!(!turned.ccw);
    for (degrees, bulge) in [(90.0f64, 0.414214), (180.0, 1.0)] {
        let (s, c) = degrees.to_radians().sin_cos();
        let (start, end) = (Point::new(5.0, 0.0), Point::new(5.0 * c, 5.0 * s));
        let arc = Arc { start, end, center: Point::ORIGIN, radius: 5.0, ccw: true };
        near(arc.bulge(), bulge, 6);
    }
}

/// The cubic with κ = 4(√2 − 1)/3 misses a quarter circle by 2.725300e-4 of the radius. A circle of radius 50 read through
/// cubics is 0.0136 mm off, so the reader must keep true circles.
/// Source: Riškus, *Approximation of a Cubic Bézier Curve by Circular Arcs and Vice Versa*, Information Technology and
/// Control 35(4), 2006.
#[test]
fn a_circle_is_not_its_cubics() {
    use kurbo::{CubicBez, ParamCurve};
    let k = 4.0 * (2f64.sqrt() - 1.0) / 3.0;
    let quarter = CubicBez::new((1.0, 0.0), (1.0, k), (k, 1.0), (0.0, 1.0));
    let off = (0..=100_000u32).map(|i| quarter.eval(f64::from(i) / 1e5).to_vec2().hypot() - 1.0).fold(0.0, f64::max);
    near(off, 2.725300e-4, 10);
    near(50.0 * off, 0.013627, 6);
    // A circle of the geometry module is a true circle.
    let circle = enclosed(&[geom::Ring::circle(Point::new(3.0, 4.0), 50.0)]);
    near(circle.area(), PI * 2500.0, 8);
    assert!(circle.rings[0].as_circle().is_some());
    assert_eq!(grow(&circle, 7.0).rings[0].as_circle().map(|c| c.1), Some(57.0));
}

/// The half disc, with one bulge of 1, has half the area of the disc.
#[test]
fn half_disc() {
    let s = enclosed(&[bulged(&[(-10.0, 0.0, 0.0), (10.0, 0.0, 1.0)])]);
    near(s.area(), PI * 50.0, 8);
    // Steiner's formula, as above.
    near(grow(&s, 3.0).area(), s.area() + 3.0 * s.perimeter() + PI * 9.0, 8);
}

/// A convex polygon with its corners on a circle, and its interior angles.
fn convex(seed: u64) -> (Certified<Region>, Vec<f64>) {
    let mut dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    for _ in 0..5 {
        dice.next();
    }
    let n = 3 + dice.next() % 6;
    #[allow(clippy::cast_precision_loss)]
    let at = |k: u64, d: &mut Dice| 2.0 * PI * (k as f64 + d.between(0.15, 0.85)) / n as f64;
    let corners: Vec<(f64, f64)> = (0..n).map(|k| at(k, &mut dice)).map(|a| (45.0 * a.cos(), 45.0 * a.sin())).collect();
    let count = corners.len();
    let angle = |i: usize| {
        let p = |k: usize| Point::from(corners[k % count]);
        let (a, b) = (p(i + count - 1) - p(i), p(i + 1) - p(i));
        (a.dot(b) / (a.hypot() * b.hypot())).acos()
    };
    (region(&corners), (0..count).map(angle).collect())
}

/// Random convex polygons. Growing follows Steiner's formula A + p·d + π·d², with the source above. Opening gives
/// A − r²·Σ[cot(θ/2) − (π − θ)/2] and shrinking A − p·r + r²·Σcot(θ/2), while every edge keeps a part of its length. (At
/// each corner these are two tangents and a sector.) Closing changes nothing.
/// Source: none outside; the check does the sums anew.
#[test]
fn convex_shapes_by_closed_forms() {
    let mut opened = 0;
    for seed in 1..=24 {
        let (s, angles) = convex(seed);
        let what = format!("convex {seed}");
        let (area, perimeter) = (s.area(), s.perimeter());
        for d in [0.7, 6.0, 20.0] {
            let t = grow(&s, d);
            let wanted = area + perimeter * d + PI * d * d;
            assert!((t.area() - wanted).abs() < 1e-6 * wanted, "{what} grown by {d}: {} and {wanted}", t.area());
            let round = perimeter + 2.0 * PI * d;
            assert!((t.perimeter() - round).abs() < 1e-6 * round, "{what} grown by {d}");
        }
        same(&close(&s, 15.0), &s, 0.004, &format!("{what} closed"));
        let r = 2.0;
        // The formula holds while every edge keeps a part of its length.
        let shrunk = shrink(&s, r);
        if shrunk.segments().count() != angles.len() {
            continue;
        }
        opened += 1;
        let corner = |t: &f64| 1.0 / (t / 2.0).tan() - (PI - t) / 2.0;
        let wanted = area - r * r * angles.iter().map(corner).sum::<f64>();
        let t = open(&s, r);
        assert!((t.area() - wanted).abs() < 1e-5 * wanted, "{what} opened: {} and {wanted}", t.area());
        let less = perimeter - 2.0 * r * angles.iter().map(|t| 1.0 / (t / 2.0).tan() - (PI - t) / 2.0).sum::<f64>();
        assert!((t.perimeter() - less).abs() < 1e-5 * less, "{what} opened: {} and {less}", t.perimeter());
        let cot: f64 = angles.iter().map(|t| 1.0 / (t / 2.0).tan()).sum();
        let wanted = area - perimeter * r + r * r * cot;
        assert!((shrunk.area() - wanted).abs() < 1e-5 * area, "{what} shrunk: {} and {wanted}", shrunk.area());
    }
    assert!(opened > 15, "only {opened} were opened");
}
