//! Areas in closed form, from any table of plane figures. The bow-tie is two trapezia.

use super::*;

fn area(s: Shape) -> f64 {
    s.drawing().unwrap().outlines[0].1.area()
}

#[test]
fn areas_are_those_of_the_closed_forms() {
    let cases = [
        (Shape::Disc { diameter: 60.0 }, PI * 900.0),
        (Shape::Oval { length: 80.0, width: 50.0 }, PI * 1000.0),
        (Shape::Oval { length: 50.0, width: 50.0 }, PI * 625.0),
        (Shape::Lozenge { length: 90.0, width: 60.0 }, 2700.0),
        (Shape::Rectangle { length: 80.0, width: 50.0, corner: 0.0 }, 4000.0),
        (Shape::Rectangle { length: 80.0, width: 50.0, corner: 8.0 }, 4000.0 - (4.0 - PI) * 64.0),
        (Shape::Rectangle { length: 80.0, width: 50.0, corner: 25.0 }, 30.0 * 50.0 + PI * 625.0),
        (Shape::Rectangle { length: 50.0, width: 50.0, corner: 25.0 }, PI * 625.0),
        // A hexagon of side 30.
        (Shape::Polygon { sides: 6, across: 60.0 }, 1.5 * 3f64.sqrt() * 900.0),
        // An equilateral triangle in a circle of radius 30.
        (Shape::Polygon { sides: 3, across: 60.0 }, 0.75 * 3f64.sqrt() * 900.0),
        (Shape::BowTie { length: 80.0, width: 40.0, waist: 20.0 }, 2400.0),
    ];
    for (shape, want) in cases {
        assert!((area(shape) - want).abs() < 1e-9 * want, "{shape:?}: {}", area(shape));
    }
}

#[test]
fn every_ring_is_closed_and_lies_in_the_middle_of_its_sheet() {
    for shape in [
        Shape::Disc { diameter: 60.0 },
        Shape::Lozenge { length: 90.0, width: 60.0 },
        Shape::Rectangle { length: 80.0, width: 50.0, corner: 8.0 },
        Shape::Rectangle { length: 80.0, width: 50.0, corner: 25.0 },
        Shape::Polygon { sides: 5, across: 60.0 },
        Shape::BowTie { length: 80.0, width: 40.0, waist: 20.0 },
    ] {
        let d = shape.drawing().unwrap();
        let Outline::Ring(r) = &d.outlines[0].1 else { panic!("{shape:?}") };
        let n = r.segments.len();
        for k in 0..n {
            assert!((r.segments[k].end() - r.segments[(k + 1) % n].start()).hypot() < 1e-12, "{shape:?} {k}");
            assert!(r.segments[k].length() > 1e-6, "{shape:?} {k}");
        }
        let b = r.bounds().unwrap();
        for (got, want) in [(b.x0, BORDER), (b.y0, BORDER), (b.x1, d.width - BORDER), (b.y1, d.height - BORDER)] {
            assert!((got - want).abs() < 1e-9, "{shape:?}: {b:?}");
        }
    }
}

#[test]
fn what_encloses_nothing_is_refused_with_what_is_wrong() {
    let cases = [
        (Shape::Disc { diameter: 0.0 }, "diameter must be more than 0"),
        (Shape::Disc { diameter: f64::NAN }, "diameter must be more than 0"),
        (Shape::Oval { length: 10.0, width: -1.0 }, "width must be more than 0"),
        (Shape::Lozenge { length: 0.0, width: 1.0 }, "length must be more than 0"),
        (Shape::Rectangle { length: 80.0, width: 50.0, corner: 25.1 }, "at most half the side, 25 mm"),
        (Shape::Polygon { sides: 2, across: 60.0 }, "3 to 360 sides, not 2"),
        (Shape::Polygon { sides: 361, across: 60.0 }, "not 361"),
        (Shape::BowTie { length: 80.0, width: 40.0, waist: 40.0 }, "narrower than the ends"),
    ];
    for (shape, says) in cases {
        let e = shape.drawing().unwrap_err().to_string();
        assert!(e.contains(says), "{shape:?}: {e}");
    }
}
