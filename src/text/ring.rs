//! Rings as SVG path data.
//!
//! In: a ring in mm, y up, and the height from which y is subtracted. Out: path data with `M`, `L`, `A` and `Z`,
//! absolute, full digits. And back: the ring of path data in this form ([`ring_of_path`]). Source: SVG 2, section 9.3
//! (path data).
//!
//! SVG gives an arc by its ends and its radius; the centre follows from them. An error in the chord moves the middle of
//! an arc of sweep s by tan(s/2)/2 times that error. The factor has no limit at a half turn. Files for the machine
//! therefore hold arcs of at most a quarter turn ([`svg_path_in_quarters`]).

use super::{NotFinite, full};
use crate::geom::{Curve, EllipticArc, Point, Ring, Segment, Vec2};
use std::f64::consts::{FRAC_PI_2, PI};

/// A sweep that exceeds a half turn by no more than this, radians, counts as one: it is rounding, not geometry.
const HALF_TURN_SLACK: f64 = 1e-9;

/// The edges of a ring, each arc of more than a half turn cut in two. Such arcs are legal, but some readers fail on
/// them. A full circle becomes two halves that start at its rightmost point.
#[must_use]
pub fn halves(ring: &Ring) -> Vec<Segment> {
    if let Some((center, radius)) = ring.as_circle() {
        let circle = Ring::circle(center, radius);
        return if ring.area() < 0.0 { circle.reversed().segments } else { circle.segments };
    }
    let mut out = Vec::with_capacity(ring.segments.len());
    for s in &ring.segments {
        match s {
            Segment::Arc(a) if a.sweep() > PI + HALF_TURN_SLACK => out.extend([s.part(0.0, 0.5), s.part(0.5, 1.0)]),
            s => out.push(*s),
        }
    }
    out
}

/// The edges of a ring, each arc of more than a quarter turn cut into equal parts of at most a quarter turn. A full
/// circle becomes four quarters that start at its rightmost point.
fn quarters(ring: &Ring) -> Vec<Segment> {
    let mut out = Vec::with_capacity(ring.segments.len());
    for s in halves(ring) {
        let sweep = if let Segment::Arc(a) = &s { a.sweep() } else { 0.0 };
        // At most a half turn, so one to three parts.
        let parts = [1.0, 2.0, 3.0].into_iter().find(|n| sweep <= n * (FRAC_PI_2 + HALF_TURN_SLACK)).unwrap_or(4.0);
        let mut k = 0.0;
        while k < parts {
            out.push(if parts > 1.0 { s.part(k / parts, (k + 1.0) / parts) } else { s });
            k += 1.0;
        }
    }
    out
}

/// Path data of a closed ring, y written as `height − y`; empty for an empty ring.
///
/// # Errors
/// [`NotFinite`].
pub fn svg_path(ring: &Ring, height: f64) -> Result<String, NotFinite> {
    path_data(&halves(ring), height)
}

/// As [`svg_path`], with arcs of at most a quarter turn. If a program rounds all numbers to two decimals, no point of
/// the line moves by more than 0.02 mm.
///
/// # Errors
/// [`NotFinite`].
pub fn svg_path_in_quarters(ring: &Ring, height: f64) -> Result<String, NotFinite> {
    path_data(&quarters(ring), height)
}

fn path_data(edges: &[Segment], height: f64) -> Result<String, NotFinite> {
    let at = |p: Point| Ok(format!("{} {}", full(p.x)?, full(height - p.y)?));
    let Some(first) = edges.first() else { return Ok(String::new()) };
    let mut d = format!("M {}", at(first.start())?);
    for (i, s) in edges.iter().enumerate() {
        match s {
            // Z draws the last line.
            Segment::Line(_) if i + 1 == edges.len() => {}
            Segment::Line(l) => d.push_str(&format!(" L {}", at(l.end)?)),
            Segment::Arc(a) => {
                let r = full(a.radius)?;
                // With y flipped, anticlockwise runs towards smaller angles: flag 0.
                d.push_str(&format!(" A {r} {r} 0 0 {} {}", u8::from(!a.ccw), at(a.end)?));
            }
        }
    }
    d.push_str(" Z");
    Ok(d)
}

/// The ring of path data in the form of [`svg_path`], with the same height; `None` for any other form. Each edge must
/// have a length.
#[must_use]
pub fn ring_of_path(d: &str, height: f64) -> Option<Ring> {
    let mut words = d.strip_prefix("M ")?.strip_suffix(" Z")?.split(' ');
    let start = point(&mut words, height)?;
    let (mut at, mut segments) = (start, Vec::new());
    while let Some(command) = words.next() {
        let arc = match command {
            "L" => None,
            "A" => {
                let [radius, same] = [number(words.next())?, number(words.next())?];
                let flags = [words.next()?, words.next()?, words.next()?];
                let ccw = ["0", "1"].iter().position(|f| *f == flags[2])? == 0;
                (radius == same && flags[..2] == ["0", "0"]).then_some(())?;
                Some((Vec2::new(radius, radius), ccw))
            }
            _ => return None,
        };
        let end = point(&mut words, height)?;
        segments.push(match arc {
            None => (end != at).then(|| Segment::line(at, end))?,
            Some((radii, ccw)) => match EllipticArc::from_svg(at, radii, 0.0, false, ccw, end)? {
                Curve::Arc(a) => Segment::Arc(a),
                _ => return None,
            },
        });
        at = end;
    }
    if at != start {
        segments.push(Segment::line(at, start));
    }
    (!segments.is_empty()).then(|| Ring::new(segments))
}

fn point<'a>(words: &mut impl Iterator<Item = &'a str>, height: f64) -> Option<Point> {
    Some(Point::new(number(words.next())?, height - number(words.next())?))
}

fn number(word: Option<&str>) -> Option<f64> {
    word?.parse().ok().filter(|v: &f64| v.is_finite())
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Arc;

    #[test]
    fn a_circle_is_two_halves() {
        let d = svg_path(&Ring::circle(Point::new(50.0, 40.0), 10.0), 100.0).unwrap();
        assert_eq!(d, "M 60 60 A 10 10 0 0 0 40 60 A 10 10 0 0 0 60 60 Z");
    }

    /// Quarters of a circle, a half turn and three quarters; shorter arcs stay whole.
    #[test]
    fn for_the_machine_no_arc_is_longer_than_a_quarter() {
        let c = svg_path_in_quarters(&Ring::circle(Point::new(50.0, 40.0), 10.0), 100.0).unwrap();
        assert_eq!(c, "M 60 60 A 10 10 0 0 0 50 50 A 10 10 0 0 0 40 60 A 10 10 0 0 0 50 70 A 10 10 0 0 0 60 60 Z");
        for (degrees, parts) in [(10.0, 1), (90.0, 1), (91.0, 2), (180.0, 2), (181.0, 4), (270.0, 4), (350.0, 4)] {
            let (center, radius) = (Point::new(20.0, 20.0), 10.0);
            let a = f64::to_radians(degrees);
            let (start, end) = (Point::new(30.0, 20.0), Point::new(20.0 + 10.0 * a.cos(), 20.0 + 10.0 * a.sin()));
            let arc = Segment::Arc(Arc { start, end, center, radius, ccw: true });
            let ring = Ring::new(vec![arc, Segment::line(end, start)]);
            let cut = quarters(&ring);
            assert_eq!(cut.len(), parts + 1, "{degrees}");
            assert!((Ring::new(cut.clone()).area() - ring.area()).abs() < 1e-9);
            let sweeps = cut.iter().filter_map(|s| if let Segment::Arc(a) = s { Some(a.sweep()) } else { None });
            assert!(sweeps.into_iter().all(|s| s <= FRAC_PI_2 + 1e-8), "{degrees}");
        }
    }

    #[test]
    fn a_long_arc_is_cut_in_two() {
        // Three quarters of a circle and a corner: a keyhole.
        let (center, radius) = (Point::new(20.0, 20.0), 10.0);
        let (start, end) = (Point::new(30.0, 20.0), Point::new(20.0, 10.0));
        let arc = Segment::Arc(Arc { start, end, center, radius, ccw: true });
        let corner = Point::new(30.0, 10.0);
        let ring = Ring::new(vec![arc, Segment::line(end, corner), Segment::line(corner, start)]);
        let cut = halves(&ring);
        assert_eq!(cut.len(), 4);
        assert!((Ring::new(cut.clone()).area() - ring.area()).abs() < 1e-9);
        assert!(cut.iter().all(|s| !matches!(s, Segment::Arc(a) if a.sweep() > PI)));
        assert!(svg_path(&ring, 40.0).unwrap().ends_with(" L 30 30 Z"));
    }

    /// A keyhole, a disc and a hole: each edge comes back where it was.
    #[test]
    fn path_data_reads_back() {
        let (center, radius) = (Point::new(20.0, 20.0), 10.0);
        let (start, end) = (Point::new(30.0, 20.0), Point::new(20.0, 10.0));
        let arc = Segment::Arc(Arc { start, end, center, radius, ccw: true });
        let corner = Point::new(30.0, 10.0);
        let keyhole = Ring::new(vec![arc, Segment::line(end, corner), Segment::line(corner, start)]);
        let disc = Ring::circle(Point::new(0.3, -7.1), 4.7);
        for ring in [keyhole.clone(), keyhole.reversed(), disc.clone(), disc.reversed()] {
            let d = svg_path(&ring, 40.0).unwrap();
            let back = ring_of_path(&d, 40.0).unwrap();
            assert_eq!(svg_path(&back, 40.0).unwrap(), d);
            assert!((back.area() - ring.area()).abs() < 1e-9, "{d}");
        }
    }

    #[test]
    fn other_path_data_is_refused() {
        assert!(ring_of_path("M 0 0 L 1 0 A 1 1 0 0 1 1 2 Z", 0.0).is_some());
        for d in [
            "",
            "M 0 0 Z",
            "M 0 0 L 1 0 A 1 1 0 0 1 1 2",
            "M 0 0 L 1 0 L 1 0 L 1 2 Z",
            "M 0 0 L 1 0 A 1 2 0 0 1 1 2 Z",
            "M 0 0 L 1 0 A 1 1 0 1 1 1 2 Z",
            "M 0 0 L 1 0 A 1 1 0 0 2 1 2 Z",
            "M 0 0 L 1 0 A 0 0 0 0 1 1 2 Z",
            "M 0 0 L 1 0 C 1 1 0 0 1 2 Z",
            "M 0 0 l 1 0 l 0 2 Z",
            "M 0 0 L 1 nan L 1 2 Z",
            "M 0 0 L 1 0  L 1 2 Z",
            "M 0 0 L 1 0 L 1 2 Z M 5 5 L 6 5 L 6 6 Z",
        ] {
            assert!(ring_of_path(d, 0.0).is_none(), "{d}");
        }
    }

    /// Read back by an independent path reader.
    #[test]
    fn kurbo_reads_the_same_box() {
        let c = Ring::circle(Point::new(50.0, 40.0), 10.0);
        let path = kurbo::BezPath::from_svg(&svg_path(&c, 100.0).unwrap()).unwrap();
        let b = kurbo::Shape::bounding_box(&path);
        for (is, wanted) in [(b.x0, 40.0), (b.y0, 50.0), (b.x1, 60.0), (b.y1, 70.0)] {
            assert!((is - wanted).abs() < 0.01, "{b:?}");
        }
    }
}
