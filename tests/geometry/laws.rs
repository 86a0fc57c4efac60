//! Laws that hold for every shape: sums of discs, unions, complements, opening and closing. The result must not depend on
//! how a shape is drawn or where it lies. Lengths in mm, areas in mm². `common` compares the regions.
//!
//! Source: Serra, *Image Analysis and Mathematical Morphology*, 1982; from memory, unchecked.
//! Source: Soille, *Morphological Image Analysis*, 2003, chapters 3 and 4; from memory, unchecked.

use crate::common::{
    Asked, Dice, bow_tie, bulged, close, enclosed, grow, inside, open, or, polygon, region, rounded_rectangle, same,
    shrink, strays, unlimited,
};
use letin::geom::{self, Affine, Certified, FillRule, Point, Region, Ring, Segment, Vec2};
use std::f64::consts::PI;

/// The edges of two correct results lie within twice the error of one, mm.
const CLOSE: f64 = 0.004;

/// A star-shaped outline. With `round`, its edges are arcs.
fn star(seed: u64, round: bool) -> Certified<Region> {
    let mut dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    for _ in 0..5 {
        dice.next();
    }
    let n = 5 + dice.next() % 9;
    #[allow(clippy::cast_precision_loss)]
    let corners: Vec<(f64, f64, f64)> = (0..n)
        .map(|k| {
            let a = 2.0 * PI * (k as f64 + dice.between(0.05, 0.95)) / n as f64;
            let r = dice.between(12.0, 50.0);
            let b = if round && !dice.next().is_multiple_of(3) { dice.between(-0.8, 0.8) } else { 0.0 };
            (r * a.cos(), r * a.sin(), b)
        })
        .collect();
    enclosed(&[bulged(&corners)])
}

fn at(ring: &Ring, x: f64, y: f64) -> Ring {
    ring.translated(Vec2::new(x, y))
}

/// A leaf with two cusps. Two arcs meet at 2·`tip` degrees.
fn leaf(length: f64, tip: f64) -> Ring {
    let b = (tip.to_radians() / 2.0).tan();
    bulged(&[(-length / 2.0, 0.0, b), (length / 2.0, 0.0, b)])
}

/// A half disc with two quarter circles of radius 20 about (±20, 0). They meet in a cusp at the origin.
fn drop_with_cusp() -> Ring {
    let hollow = -(PI / 8.0).tan();
    bulged(&[(0.0, 0.0, hollow), (-20.0, -20.0, 1.0), (20.0, -20.0, hollow)])
}

/// Shapes with the features of outlines: straight and round edges, holes, islands, tangents, cusps, limbs.
fn shapes() -> Vec<(&'static str, Certified<Region>)> {
    let plate = rounded_rectangle(90.0, 60.0, 8.0);
    let slot = rounded_rectangle(40.0, 16.0, 7.999).reversed();
    let hole = Ring::circle(Point::new(70.0, 40.0), 9.0).reversed();
    let comb = [
        (0.0, 0.0),
        (70.0, 0.0),
        (70.0, 40.0),
        (58.0, 40.0),
        (58.0, 12.0),
        (41.0, 12.0),
        (41.0, 40.0),
        (29.0, 40.0),
        (29.0, 12.0),
        (12.0, 12.0),
        (12.0, 40.0),
        (0.0, 40.0),
    ];
    vec![
        ("bow-tie", bow_tie()),
        ("comb", region(&comb)),
        ("rounded plate", enclosed(std::slice::from_ref(&plate))),
        ("plate with holes", enclosed(&[plate, at(&slot, 12.0, 12.0), hole])),
        (
            "islands",
            enclosed(&[
                Ring::circle(Point::new(0.0, 0.0), 15.0),
                at(&rounded_rectangle(30.0, 20.0, 5.0), 22.0, -10.0),
                polygon(&[(0.0, 25.0), (40.0, 20.0), (20.0, 50.0)]),
            ]),
        ),
        ("leaf", enclosed(&[leaf(80.0, 50.0)])),
        ("drop with a cusp", enclosed(&[drop_with_cusp()])),
        ("star", star(3, false)),
        ("round star", star(4, true)),
    ]
}

/// The first `n` random shapes, with straight and round edges in turn.
fn random(n: u64) -> Vec<(String, Certified<Region>)> {
    (1..=n).map(|k| (format!("random {k}"), star(k, k % 2 == 0))).collect()
}

/// (S ⊕ a) ⊕ b = S ⊕ (a + b), and likewise for erosion.
#[test]
fn discs_add_up() {
    for (name, s) in named(12) {
        for (a, b) in [(2.0, 5.0), (6.5, 6.5)] {
            same(&grow(&grow(&s, a), b), &grow(&s, a + b), CLOSE, &format!("{name} grown by {a} and {b}"));
        }
        same(&shrink(&shrink(&s, 1.5), 2.0), &shrink(&s, 3.5), CLOSE, &format!("{name} shrunk twice"));
    }
}

fn named(n: u64) -> Vec<(String, Certified<Region>)> {
    shapes().into_iter().map(|(name, s)| (name.to_owned(), s)).chain(random(n)).collect()
}

/// (A ∪ B) ⊕ a = (A ⊕ a) ∪ (B ⊕ a).
#[test]
fn growing_goes_into_a_union() {
    let all = named(8);
    for (i, (name, a)) in all.iter().enumerate() {
        let (other, b) = &all[(i + 3) % all.len()];
        // A shift and a rotation, so that no edges coincide.
        let b = b.moved(Affine::translate((13.37, -7.21)) * Affine::rotate(0.4321));
        let left = grow(&or(a, &b), 4.0);
        let right = or(&grow(a, 4.0), &grow(&b, 4.0));
        same(&left, &right, CLOSE, &format!("{name} and {other}"));
    }
}

/// Dilation erodes the complement. In a frame F large enough, (F \ S) ⊖ a = (F ⊖ a) \ (S ⊕ a).
#[test]
fn growing_is_shrinking_the_complement() {
    for (name, s) in named(8) {
        let b = s.bounds().unwrap().inflate(100.0, 100.0);
        let frame = |by: f64| {
            let (x0, y0, x1, y1) = (b.x0 + by, b.y0 + by, b.x1 - by, b.y1 - by);
            polygon(&[(x0, y0), (x1, y0), (x1, y1), (x0, y1)])
        };
        let less = |by: f64, s: &Region| {
            let mut rings = vec![frame(by)];
            rings.extend(s.rings.iter().map(Ring::reversed));
            enclosed(&rings)
        };
        let a = 6.0;
        same(&shrink(&less(0.0, &s), a), &less(a, &grow(&s, a)), CLOSE, &name);
    }
}

/// Opening and closing: idempotent, open ⊆ S ⊆ close, and increasing.
#[test]
fn opening_and_closing() {
    for (name, s) in named(12) {
        let (opened, closed) = (open(&s, 3.0), close(&s, 7.0));
        inside(&opened, &s, CLOSE, &format!("{name} opened"));
        inside(&s, &closed, CLOSE, &format!("{name} in its closing"));
        same(&open(&opened, 3.0), &opened, CLOSE, &format!("{name} opened twice"));
        same(&close(&closed, 7.0), &closed, CLOSE, &format!("{name} closed twice"));
        let larger = grow(&s, 1.3);
        inside(&opened, &open(&larger, 3.0), CLOSE, &format!("opening {name} increases"));
        inside(&closed, &close(&larger, 7.0), CLOSE, &format!("closing {name} increases"));
    }
}

/// S ⊆ (S ⊕ d) ⊖ d and (S ⊖ d) ⊕ d ⊆ S. Every edge of an offset lies at the distance d from the source.
#[test]
fn there_and_back() {
    for (name, s) in named(6) {
        for d in [0.5, 4.0, 13.0] {
            let (grown, shrunk) = (grow(&s, d), shrink(&s, d));
            inside(&s, &shrink(&grown, d), CLOSE, &format!("{name} grown by {d} and back"));
            inside(&grow(&shrunk, d), &s, CLOSE, &format!("{name} shrunk by {d} and back"));
            // Every edge of the result lies at the distance d from the source.
            for result in [&grown, &shrunk] {
                let asked = Asked::new(&s);
                for p in geom::edges::sampled(result, 0.7) {
                    let off = asked.off(p);
                    assert!((off - d).abs() < 0.0021, "{name}, {d}: an edge {off} off at {p:?}");
                }
            }
            assert!(strays(&shrunk, &s, 0.7).0 <= d + CLOSE, "{name}");
        }
    }
}

/// A larger tool reaches less and fills more. After it, a smaller tool changes nothing: for a ≤ b,
/// open_a(open_b(S)) = open_b(S) = open_b(open_a(S)), and likewise for closing.
/// Source: Matheron, *Random Sets and Integral Geometry*, 1975 (granulometries); from memory, unchecked.
#[test]
fn larger_tools_leave_less() {
    for (name, s) in named(10) {
        for (a, b) in [(1.0, 3.0), (3.0, 4.5)] {
            let (small, large) = (open(&s, a), open(&s, b));
            inside(&large, &small, CLOSE, &format!("{name} opened by {b} in {a}"));
            same(&open(&large, a), &large, CLOSE, &format!("{name} opened by {b}, then {a}"));
            same(&open(&small, b), &large, CLOSE, &format!("{name} opened by {a}, then {b}"));
            let (small, large) = (close(&s, 2.0 * a), close(&s, 2.0 * b));
            inside(&small, &large, CLOSE, &format!("{name} closed by {} in {}", 2.0 * a, 2.0 * b));
            same(&close(&large, 2.0 * a), &large, CLOSE, &format!("{name} closed by {}, then {}", 2.0 * b, 2.0 * a));
            same(&close(&small, 2.0 * b), &large, CLOSE, &format!("{name} closed by {}, then {}", 2.0 * a, 2.0 * b));
        }
    }
}

/// A motion before or after the operation gives the same region, edge by edge.
#[test]
fn moving_and_operating_change_places() {
    let operations: [(&str, Operation); 4] = [
        ("grown", |s| grow(s, 7.0)),
        ("shrunk", |s| shrink(s, 3.0)),
        ("opened", |s| open(s, 3.0)),
        ("closed", |s| close(s, 7.0)),
    ];
    let motions = [
        Affine::translate((1234.567, -89.01)),
        Affine::rotate(0.7),
        Affine::translate((-3.3, 7.7)) * Affine::rotate(2.9) * Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, 0.0]),
    ];
    for (name, s) in named(6) {
        for (what, operation) in operations {
            let made = operation(&s);
            for m in motions {
                same(&operation(&s.moved(m)), &made.moved(m), CLOSE, &format!("{name} {what}, {m:?}"));
            }
        }
    }
}

type Operation = fn(&Certified<Region>) -> Certified<Region>;

struct Figures {
    name: &'static str,
    area: f64,
    perimeter: f64,
    rings: usize,
    edges: usize,
}

/// The figures after each operation.
fn figures(s: &Certified<Region>) -> Vec<Figures> {
    let of = |name, r: &Region| Figures {
        name,
        area: r.area(),
        perimeter: r.perimeter(),
        rings: r.rings.len(),
        edges: r.segments().count(),
    };
    vec![
        of("as it is", s),
        of("grown", &grow(s, 7.0)),
        of("shrunk", &shrink(s, 3.0)),
        of("opened", &open(s, 3.0)),
        of("closed", &close(s, 7.0)),
    ]
}

/// Asserts equal figures. Lengths agree to `tolerance` per 100 mm of perimeter, areas to `tolerance` per mm of perimeter.
#[track_caller]
fn agree(a: &[Figures], b: &[Figures], scale: f64, tolerance: f64, what: &str) {
    for (f, g) in a.iter().zip(b) {
        let (area, perimeter) = (f.area * scale * scale, f.perimeter * scale);
        let what = format!("{what}, {}", f.name);
        assert_eq!((f.rings, f.edges), (g.rings, g.edges), "{what}: rings and edges");
        let longest = perimeter.max(100.0);
        assert!((area - g.area).abs() <= tolerance * longest, "{what}: area {area} and {}", g.area);
        let most = tolerance * longest / 100.0;
        assert!((perimeter - g.perimeter).abs() <= most, "{what}: perimeter {perimeter} and {}", g.perimeter);
    }
}

/// The direction and the start point of a ring do not matter.
#[test]
fn every_start_point_and_both_ways_round() {
    for (name, s) in named(4) {
        let wanted = figures(&s);
        let reversed: Vec<Ring> = s.rings.iter().map(Ring::reversed).collect();
        let even_odd = geom::enclosed(&reversed, FillRule::EvenOdd, &unlimited()).unwrap();
        agree(&wanted, &figures(&even_odd), 1.0, 1e-6, &format!("{name} reversed"));
        let longest = s.rings.iter().map(|r| r.segments.len()).max().unwrap();
        for k in 1..longest {
            let turned = |r: &Ring| {
                let n = r.segments.len();
                Ring::new((0..n).map(|i| r.segments[(i + k) % n]).collect())
            };
            let again = enclosed(&s.rings.iter().map(turned).collect::<Vec<_>>());
            agree(&wanted, &figures(&again), 1.0, 1e-6, &format!("{name} from point {k}"));
        }
    }
}

/// Rotated, mirrored, moved far away, converted to inches: the figures agree within the resolution of doubles there.
#[test]
fn turned_mirrored_far_off_and_in_inches() {
    for (name, s) in named(6) {
        let wanted = figures(&s);
        let rigid = |m: Affine| enclosed(&s.under_similarity(m).rings);
        for degrees in [90.0f64, 180.0, 17.0, 211.3] {
            let turned = rigid(Affine::rotate(degrees.to_radians()));
            agree(&wanted, &figures(&turned), 1.0, 1e-5, &format!("{name} turned by {degrees}"));
        }
        let mirrored = rigid(Affine::new([-1.0, 0.0, 0.0, 1.0, 0.0, 0.0]));
        agree(&wanted, &figures(&mirrored), 1.0, 1e-5, &format!("{name} mirrored"));
        // A double at 1e6 mm resolves 1.2e-10. Ends and centres of arcs have that error.
        let far = rigid(Affine::translate((1e6, -1e6)));
        agree(&wanted, &figures(&far), 1.0, 1e-5, &format!("{name} at 1e6"));
        let inches = enclosed(&s.under_similarity(Affine::scale(1.0 / 25.4)).rings);
        let back = enclosed(&inches.under_similarity(Affine::scale(25.4)).rings);
        agree(&wanted, &figures(&back), 1.0, 1e-5, &format!("{name} through inches"));
    }
}

/// The effect of an error of 0.0025 mm in the drawing. For S' with its corners shifted that far,
/// op(S ⊖ 0.0025) ⊆ op(S') ⊆ op(S ⊕ 0.0025), within 0.005 mm.
#[test]
fn what_the_drawing_is_out_the_result_is_out() {
    const OUT: f64 = 0.0025;
    let mut dice = Dice(77);
    for (name, s) in named(8) {
        let shifted: Vec<Ring> = s
            .rings
            .iter()
            .map(|r| {
                let corners: Vec<(f64, f64, f64)> = r
                    .segments
                    .iter()
                    .map(|e| {
                        let p = e.start();
                        // An arc magnifies an error of its ends: only straight rings are shifted.
                        let straight = r.segments.iter().all(|e| matches!(e, Segment::Line(_)));
                        let out = if straight { OUT } else { 0.0 };
                        let a = dice.between(0.0, 2.0 * PI);
                        let b = if let Segment::Arc(a) = e { a.bulge() } else { 0.0 };
                        (p.x + out * a.cos(), p.y + out * a.sin(), b)
                    })
                    .collect();
                bulged(&corners)
            })
            .collect();
        let (less, more, drawn) = (shrink(&s, OUT), grow(&s, OUT), enclosed(&shifted));
        let operations: [(&str, Operation); 4] = [
            ("grown", |s| grow(s, 7.0)),
            ("shrunk", |s| shrink(s, 3.0)),
            ("opened", |s| open(s, 3.0)),
            ("closed", |s| close(s, 7.0)),
        ];
        for (what, op) in operations {
            let made = op(&drawn);
            inside(&op(&less), &made, 0.005, &format!("{name} {what}: the lesser"));
            inside(&made, &op(&more), 0.005, &format!("{name} {what}: the greater"));
        }
    }
}

/// A block with limbs of the cutter's width, and three discs.
///
/// Returns the region, the points that a 6 mm cutter must reach, and the points that it must not reach.
fn tool_sized() -> (Certified<Region>, Vec<Point>, Vec<Point>) {
    let mut corners = vec![(0.0, -45.0), (30.0, -45.0), (30.0, 45.0), (0.0, 45.0)];
    let (mut kept, mut lost) = (Vec::new(), Vec::new());
    let mut sort = |over: f64, p: Point| if over < 0.0 { lost.push(p) } else { kept.push(p) };
    for (over, y) in [(0.01, 30.0), (0.0, 0.0), (-0.01, -30.0)] {
        let w = (6.0 + over) / 2.0;
        corners.extend([(0.0, y + w), (-20.0, y + w), (-20.0, y - w), (0.0, y - w)]);
        sort(over, Point::new(-10.0, y));
    }
    let mut rings = vec![polygon(&corners)];
    for (over, y) in [(0.01, 30.0), (0.0, 0.0), (-0.01, -30.0)] {
        let c = Point::new(45.0, y);
        rings.push(Ring::circle(c, (6.0 + over) / 2.0));
        sort(over, c);
    }
    (enclosed(&rings), kept, lost)
}

/// A block with bays as wide as twice the offset.
fn gap_sized() -> (Certified<Region>, Vec<Point>, Vec<Point>) {
    let mut corners = vec![(-30.0, -70.0), (40.0, -70.0), (40.0, 70.0), (-30.0, 70.0)];
    let (mut kept, mut lost) = (Vec::new(), Vec::new());
    for (over, y) in [(0.01, 40.0), (0.0, 0.0), (-0.01, -40.0)] {
        let g = (14.0 + over) / 2.0;
        corners.extend([(-30.0, y + g), (0.0, y + g), (0.0, y - g), (-30.0, y - g)]);
        let p = Point::new(-15.0, y);
        if over < 0.0 { lost.push(p) } else { kept.push(p) }
    }
    (region(&corners), kept, lost)
}

/// Two arcs of this star meet at a corner and cross again 0.02 mm farther on. The lens between them is 0.00002 mm wide, and
/// the corner turns by 179.6° instead of −180.4°. Shrinking must handle both.
#[test]
fn a_corner_beside_a_crossing() {
    let s = star(372, true);
    for r in [1.0, 2.9975, 3.0, 4.0] {
        inside(&open(&s, r), &s, CLOSE, "opened");
        same(&shrink(&shrink(&s, r / 2.0), r / 2.0), &shrink(&s, r), CLOSE, "shrunk");
    }
}

/// Limbs, discs and a corner of exactly the cutter's size and 0.01 mm over and under, at every whole degree. The opening
/// keeps what fits and loses the rest.
#[test]
fn limbs_and_discs_of_tool_size_at_every_angle() {
    let (shape, kept, lost) = tool_sized();
    let corner = enclosed(&[rounded_rectangle(30.0, 20.0, 3.0)]);
    for degrees in 0..360 {
        let m = Affine::rotate(f64::from(degrees).to_radians());
        let reached = Asked::new(&open(&shape.moved(m), 3.0));
        for p in &kept {
            assert!(reached.contains(m * *p), "{p:?} is lost at {degrees}°");
        }
        for p in &lost {
            assert!(!reached.contains(m * *p), "{p:?} is kept at {degrees}°");
        }
        // The cutter reaches a corner of exactly its own radius.
        let corner = corner.moved(m);
        let (off, at) = strays(&corner, &open(&corner, 3.0), 1.0);
        assert!(off < 0.0025, "{off} left at {at:?}, {degrees}°");
    }
}

/// Bays of exactly twice the offset and 0.01 mm over and under, at every whole degree.
#[test]
fn gaps_of_tool_size_at_every_angle() {
    let (shape, kept, lost) = gap_sized();
    for degrees in 0..360 {
        let m = Affine::rotate(f64::from(degrees).to_radians());
        let closed = Asked::new(&close(&shape.moved(m), 7.0));
        for p in &kept {
            assert!(!closed.contains(m * *p), "{p:?} is filled at {degrees}°");
        }
        for p in &lost {
            assert!(closed.contains(m * *p), "{p:?} is left open at {degrees}°");
        }
    }
}

/// Each limb and gap by itself, since another one could decide the radius.
#[test]
fn one_feature_of_tool_size_alone() {
    for degrees in (0..360).step_by(15) {
        let m = Affine::rotate(f64::from(degrees).to_radians());
        for (over, kept) in [(0.0, true), (0.01, true), (-0.01, false)] {
            let w = (6.0 + over) / 2.0;
            let key =
                [(0.0, -15.0), (30.0, -15.0), (30.0, 15.0), (0.0, 15.0), (0.0, w), (-20.0, w), (-20.0, -w), (0.0, -w)];
            let key = region(&key).moved(m);
            let lost = key.area() - open(&key, 3.0).area();
            assert_eq!(lost < 15.0, kept, "limb {over:+} at {degrees}°: lost {lost}");
            let disc = enclosed(&[Ring::circle(Point::new(5.0, 1.0), w)]).moved(m);
            assert_eq!(!open(&disc, 3.0).is_empty(), kept, "disc {over:+} at {degrees}°");
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
            let filled = close(&fork, 7.0).area() - fork.area();
            assert_eq!(filled < 60.0, kept, "gap {over:+} at {degrees}°: filled {filled}");
        }
    }
}
