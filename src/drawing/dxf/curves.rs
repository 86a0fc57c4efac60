//! Turns entities into paths: from their own plane and unit to lines and arcs of the drawing, mm.
//!
//! In: an entity and the map that its unit and blocks give. Out: a [`Path`], or the reason for none. Lines and arcs
//! stay exact under rotation, reflection and uniform scaling. Other curves are fitted within [`tolerance::CURVE_FIT`].

use super::entity::{Entity, Geometry, P3, Vertex};
use super::ocs::to_plane;
use crate::drawing::Path;
use crate::geom::fit::fit;
use crate::geom::{Affine, Arc, Curve, EllipticArc, Line, Point, Segment, Vec2, trig};
use crate::tolerance;
use crate::tolerance::ROUNDING;
use std::f64::consts::{PI, TAU};

/// The result of an entity.
#[derive(Debug)]
pub enum EntityResult {
    Path(Path),
    /// The entity has no size; this is its place.
    Speck(Point),
    /// The entity was not read, for this reason.
    Left(String),
}

/// The path of a curve entity under `m`, which maps file units in the plane of the drawing to mm. `say` receives each
/// fault that was tolerated.
pub fn path(e: &Entity, m: Affine, say: &mut impl FnMut(&str)) -> EntityResult {
    made(e, m, say).unwrap_or_else(|why| EntityResult::Left(format!("{} {why}", e.kind)))
}

/// The height of an entity above the plane of the drawing, in file units, if it has one.
pub fn height(e: &Entity) -> Option<f64> {
    let own = if e.normal[2] < 0.0 { -1.0 } else { 1.0 };
    match &e.geometry {
        Geometry::Line { ends: [a, _] } => Some(a[2]),
        Geometry::Arc { center, .. } | Geometry::Circle { center, .. } => Some(center[2] * own),
        Geometry::Polyline { vertices, .. } => vertices.first().map(|v| v.z * own),
        Geometry::Ellipse { center, .. } => Some(center[2]),
        Geometry::Spline(s) => s.points.first().map(|p| p[2]),
        Geometry::Insert(_) | Geometry::Hatch(_) | Geometry::Left { .. } => None,
    }
}

const TILTED: &str = "that is not in the plane of the drawing";

fn made(e: &Entity, m: Affine, say: &mut impl FnMut(&str)) -> Result<EntityResult, String> {
    // LINE, ELLIPSE and SPLINE use world coordinates. The other kinds use their own plane.
    let own = || to_plane(e.normal).map(|o| m * o).ok_or_else(|| TILTED.to_owned());
    let scale = m.determinant().abs().sqrt();
    if scale == 0.0 || !scale.is_finite() {
        return Err("in a block of no size".to_owned());
    }
    let (curves, closed) = match &e.geometry {
        Geometry::Line { ends: [a, b] } => {
            flat([a[2], b[2]], scale)?;
            (vec![Curve::Line(Line { start: at(a), end: at(b) }.under(m))], false)
        }
        Geometry::Circle { center, radius } => {
            (Curve::ellipse(at(center), *radius, *radius).iter().map(own_map(own()?)).collect(), true)
        }
        Geometry::Arc { center, radius, from, to } => {
            let (curves, closed) = arc(at(center), *radius, *from, *to, say);
            (curves.iter().map(own_map(own()?)).collect(), closed)
        }
        Geometry::Polyline { vertices, closed } => {
            flat(vertices.iter().map(|v| v.z), scale)?;
            let (curves, closed) = polyline(vertices, *closed, scale);
            (curves.iter().map(own_map(own()?)).collect(), closed)
        }
        Geometry::Ellipse { center, major, ratio, from, to } => {
            let side = to_plane(e.normal).ok_or(TILTED)?.determinant();
            flat([major[2], 0.0], scale)?;
            let (curves, closed) = ellipse(at(center), Vec2::new(major[0], major[1]), ratio * side, *from, *to);
            (curves.iter().map(own_map(m)).collect(), closed)
        }
        Geometry::Spline(s) => {
            flat(s.points.iter().map(|p| p[2]), scale)?;
            // Check the range of the coordinates before any subdivision.
            let points: Vec<Point> = s.points.iter().map(|p| m * Point::new(p[0], p[1])).collect();
            near(&points)?;
            let curves = s.curves(m)?;
            let shut = ends(&curves).is_some_and(|(a, b)| (a - b).hypot() <= tolerance::SAME_POINT);
            (curves, shut)
        }
        Geometry::Insert(_) | Geometry::Hatch(_) | Geometry::Left { .. } => {
            return Err("that is not a curve".to_owned());
        }
    };
    finish(&curves, closed)
}

fn own_map(m: Affine) -> impl Fn(&Curve) -> Curve {
    move |c| c.under(m)
}

trait Under {
    fn under(self, m: Affine) -> Self;
}

impl Under for Line {
    fn under(self, m: Affine) -> Line {
        Line { start: m * self.start, end: m * self.end }
    }
}

fn at(p: &P3) -> Point {
    Point::new(p[0], p[1])
}

fn ends(curves: &[Curve]) -> Option<(Point, Point)> {
    Some((curves.first()?.start(), curves.last()?.end()))
}

/// Fails unless all heights are equal within [`tolerance::FLAT`].
fn flat(z: impl IntoIterator<Item = f64>, scale: f64) -> Result<(), String> {
    let (mut lo, mut hi) = (f64::INFINITY, f64::NEG_INFINITY);
    for z in z {
        (lo, hi) = (lo.min(z), hi.max(z));
    }
    if (hi - lo) * scale > tolerance::FLAT { Err(TILTED.to_owned()) } else { Ok(()) }
}

fn near(points: &[Point]) -> Result<(), String> {
    let far = |v: f64| !v.is_finite() || v.abs() > tolerance::LARGEST_COORDINATE;
    match points.iter().find(|p| far(p.x) || far(p.y)) {
        None => Ok(()),
        Some(p) => Err(format!("that lies more than 10 km from the origin, at ({:.3e}, {:.3e}) mm", p.x, p.y)),
    }
}

/// Makes a path of curves in mm: checks their range, fits them, drops edges of no length, and moves the last end to the
/// start if closed.
fn finish(curves: &[Curve], closed: bool) -> Result<EntityResult, String> {
    for c in curves {
        let b = c.bounds();
        near(&[c.start(), c.end(), Point::new(b.x0, b.y0), Point::new(b.x1, b.y1)])?;
    }
    let mut segments = Vec::with_capacity(curves.len());
    for c in curves {
        // Every curve leaves room for the error of a spline's cubics. This costs nothing.
        fit(c, tolerance::CURVE_FIT - tolerance::SPLINE_CUBIC, &mut segments);
    }
    let Some((start, end)) = ends(curves) else { return Err("without corners".to_owned()) };
    if segments.is_empty() {
        return Ok(EntityResult::Speck(start));
    }
    if closed && start != end {
        let last = segments.len() - 1;
        segments[last] = match segments[last] {
            Segment::Line(l) => Segment::line(l.start, start),
            Segment::Arc(a) => Segment::Arc(Arc { end: start, ..a }),
        };
    }
    // A line and its return enclose nothing: keep one open line.
    if let [Segment::Line(a), Segment::Line(_)] = segments[..]
        && closed
    {
        return Ok(EntityResult::Path(Path { segments: vec![Segment::Line(a)], closed: false }));
    }
    Ok(EntityResult::Path(Path { segments, closed }))
}

/// Unit vector at an angle in degrees; exact at quarter turns.
pub fn unit_deg(degrees: f64) -> Vec2 {
    let a = degrees.rem_euclid(360.0);
    match a {
        0.0 | 360.0 => Vec2::new(1.0, 0.0),
        90.0 => Vec2::new(0.0, 1.0),
        180.0 => Vec2::new(-1.0, 0.0),
        270.0 => Vec2::new(0.0, -1.0),
        _ => trig::unit(a.to_radians()),
    }
}

fn arc(center: Point, radius: f64, from: f64, to: f64, say: &mut impl FnMut(&str)) -> (Vec<Curve>, bool) {
    let sweep = (to - from).rem_euclid(360.0);
    if !(ROUNDING..=360.0 - ROUNDING).contains(&sweep) {
        if (to - from).abs() < 1.0 {
            say("an ARC that starts where it ends, read as a whole circle");
        }
        return (Curve::ellipse(center, radius, radius), true);
    }
    let start = center + unit_deg(from) * radius;
    let end = center + unit_deg(to) * radius;
    let rise = radius * (1.0 - trig::cos(sweep.to_radians() / 2.0));
    if rise < tolerance::STRAIGHT && sweep < 90.0 {
        return (vec![Curve::Line(Line { start, end })], false);
    }
    (vec![Curve::Arc(Arc { start, end, center, radius, ccw: true })], false)
}

/// The edges of a polyline. `scale` is mm per unit.
fn polyline(vertices: &[Vertex], closed: bool, scale: f64) -> (Vec<Curve>, bool) {
    let mut v = vertices.to_vec();
    let same = |a: &Vertex, b: &Vertex| (a.x - b.x).hypot(a.y - b.y) * scale <= tolerance::SAME_POINT;
    // A repeated start vertex closes the line. Its bulge belongs to no edge.
    let returns = v.len() > 2 && v.first().zip(v.last()).is_some_and(|(a, b)| same(a, b));
    if returns {
        v.pop();
    }
    let closed = closed || returns;
    let n = v.len();
    let edges = if closed { n } else { n.saturating_sub(1) };
    let mut out: Vec<Curve> = Vec::with_capacity(edges);
    let mut start = v.first().map_or(Point::ORIGIN, |a| Point::new(a.x, a.y));
    for i in 0..edges {
        let end = Point::new(v[(i + 1) % n].x, v[(i + 1) % n].y);
        let b = v[i].bulge;
        let chord = (end - start).hypot();
        if chord * scale <= tolerance::SAME_POINT {
            continue;
        }
        let straight = b.abs() < 1.0 && b.abs() * chord / 2.0 * scale < tolerance::STRAIGHT;
        out.push(match Arc::from_bulge(start, end, b) {
            Some(a) if !straight => Curve::Arc(a),
            _ => Curve::Line(Line { start, end }),
        });
        start = end;
    }
    if out.is_empty() {
        out.push(Curve::Line(Line { start, end: start }));
    }
    (out, closed)
}

/// The curves of an ellipse. `ratio` is negative if the minor axis lies to the right of the major one.
fn ellipse(center: Point, major: Vec2, ratio: f64, from: f64, to: f64) -> (Vec<Curve>, bool) {
    let minor = trig::left(major) * ratio;
    let on = |t: f64| center + major * trig::cos(t) + minor * trig::sin(t);
    let sweep = trig::positive(to - from);
    let whole = !(ROUNDING..=TAU - ROUNDING).contains(&sweep);
    let piece = |start: Point, end: Point, from: f64, sweep: f64| {
        if ratio.abs() == 1.0 {
            return Curve::Arc(Arc { start, end, center, radius: major.hypot(), ccw: ratio > 0.0 });
        }
        Curve::Ellipse(EllipticArc { start, end, center, major, minor, from, sweep })
    };
    if whole {
        let (east, west) = (center + major, center - major);
        return (vec![piece(east, west, 0.0, PI), piece(west, east, PI, PI)], true);
    }
    (vec![piece(on(from), on(from + sweep), from, sweep)], false)
}
