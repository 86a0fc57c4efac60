//! Turns path data and points into curves, in the user space of the element.
//!
//! In: the text of `d` or `points`. Out: an [`ElementPath`] of subpaths, each of [`Curve`]s with the numbers of the
//! file. Elliptical arcs stay arcs. A fault ends the reading. The format would draw everything up to the fault, but
//! half an outline must not become a template. So only subpaths that are closed before the fault are kept, and
//! [`ElementPath::fault`] describes it. Source: W3C SVG 2 chapter 9, arcs by appendix B.2.

use super::limits;
use crate::drawing::ReadError;
use crate::geom::{Curve, EllipticArc, Line, Point, Rect, Vec2};
use crate::tolerance::{LEAST_SIZE, ROUNDING};
use kurbo::{CubicBez, QuadBez};
use svgtypes::{NumberListParser, PathParser, PathSegment as S};

/// A chain of curves.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Subpath {
    pub curves: Vec<Curve>,
    /// True if its ends are one point.
    pub closed: bool,
    /// True if the file closes the subpath explicitly. Its stroke then has a corner there, not two ends.
    pub joined: bool,
}

/// All subpaths of one element.
#[derive(Clone, Debug, Default, PartialEq)]
pub(super) struct ElementPath {
    pub subpaths: Vec<Subpath>,
    /// A message on a fault in the data.
    pub fault: Option<String>,
}

impl ElementPath {
    /// Bounding box of all curves, user units.
    pub(super) fn bounds(&self) -> Option<Rect> {
        self.subpaths.iter().flat_map(|s| &s.curves).map(Curve::bounds).reduce(|a, b| a.union(b))
    }
}

/// Builds subpaths.
pub(super) struct PathBuilder {
    start: Point,
    at: Point,
    curves: Vec<Curve>,
    outline: ElementPath,
    count: usize,
}

impl PathBuilder {
    pub(super) fn new() -> PathBuilder {
        PathBuilder {
            start: Point::ZERO,
            at: Point::ZERO,
            curves: Vec::new(),
            outline: ElementPath::default(),
            count: 0,
        }
    }

    pub(super) fn move_to(&mut self, p: Point) {
        self.flush(false);
        self.start = p;
        self.at = p;
    }

    /// Adds a curve that starts at the pen.
    pub(super) fn add(&mut self, curve: Curve, end: Point) {
        self.curves.push(curve);
        self.count += 1;
        self.at = end;
    }

    pub(super) fn line_to(&mut self, p: Point) {
        if p != self.at {
            self.add(Curve::Line(Line { start: self.at, end: p }), p);
        }
    }

    fn quad_to(&mut self, c: Point, p: Point) {
        if c != self.at || p != self.at {
            self.add(Curve::Quad(QuadBez::new(self.at, c, p)), p);
        }
    }

    fn cubic_to(&mut self, c1: Point, c2: Point, p: Point) {
        if c1 != self.at || c2 != self.at || p != self.at {
            self.add(Curve::Cubic(CubicBez::new(self.at, c1, c2, p)), p);
        }
    }

    /// Adds an elliptical arc: a straight line if a radius is 0, nothing if the ends are one point.
    pub(super) fn arc_to(&mut self, radii: Vec2, rotation: f64, large: bool, sweep: bool, p: Point) {
        if p == self.at {
            return;
        }
        match EllipticArc::from_svg(self.at, radii, rotation, large, sweep, p) {
            Some(curve) => self.add(curve, p),
            None => self.line_to(p),
        }
    }

    pub(super) fn close(&mut self) {
        self.flush(true);
        self.at = self.start;
    }

    pub(super) fn finish(mut self) -> ElementPath {
        self.flush(false);
        self.outline
    }

    fn flush(&mut self, close: bool) {
        if self.curves.is_empty() {
            return;
        }
        let size = self.start.x.abs().max(self.start.y.abs());
        let gap = (self.at - self.start).hypot();
        let meets = gap <= ROUNDING * size.max(LEAST_SIZE) && (gap == 0.0 || self.curves.len() > 1);
        if meets && gap > 0.0 {
            if let Some(last) = self.curves.last_mut() {
                set_end(last, self.start);
            }
            self.curves.retain(|c| !matches!(c, Curve::Line(l) if l.start == l.end));
        } else if close && !meets {
            self.line_to(self.start);
        }
        let curves = std::mem::take(&mut self.curves);
        self.outline.subpaths.push(Subpath { curves, closed: close || meets, joined: close });
    }
}

fn set_end(curve: &mut Curve, p: Point) {
    match curve {
        Curve::Line(l) => l.end = p,
        Curve::Arc(a) => a.end = p,
        Curve::Ellipse(e) => e.end = p,
        Curve::Quad(q) => q.p2 = p,
        Curve::Cubic(c) => c.p3 = p,
    }
}

/// Reads path data.
pub(super) fn data(d: &str) -> Result<ElementPath, ReadError> {
    let mut pen = PathBuilder::new();
    // The control points that S and T mirror.
    let (mut cubic, mut quad) = (None, None);
    if d.trim() == "none" {
        return Ok(ElementPath::default());
    }
    for step in PathParser::from(d) {
        let step = match step {
            Ok(s) => s,
            Err(e) => {
                // The current subpath has the fault and is dropped. Earlier closed ones stay.
                let mut outline = pen.outline;
                outline.subpaths.retain(|s| s.closed);
                outline.fault = Some(format!("{e}"));
                return Ok(outline);
            }
        };
        let at = pen.at;
        let rel = |abs: bool, x: f64, y: f64| if abs { Point::new(x, y) } else { at + Vec2::new(x, y) };
        let mirrored = |c: Option<Point>| c.map_or(at, |c: Point| at + (at - c));
        let (mut next_cubic, mut next_quad) = (None, None);
        match step {
            S::MoveTo { abs, x, y } => pen.move_to(rel(abs, x, y)),
            S::LineTo { abs, x, y } => pen.line_to(rel(abs, x, y)),
            S::HorizontalLineTo { abs, x } => pen.line_to(Point::new(if abs { x } else { at.x + x }, at.y)),
            S::VerticalLineTo { abs, y } => pen.line_to(Point::new(at.x, if abs { y } else { at.y + y })),
            S::CurveTo { abs, x1, y1, x2, y2, x, y } => {
                let c2 = rel(abs, x2, y2);
                pen.cubic_to(rel(abs, x1, y1), c2, rel(abs, x, y));
                next_cubic = Some(c2);
            }
            S::SmoothCurveTo { abs, x2, y2, x, y } => {
                let c2 = rel(abs, x2, y2);
                pen.cubic_to(mirrored(cubic), c2, rel(abs, x, y));
                next_cubic = Some(c2);
            }
            S::Quadratic { abs, x1, y1, x, y } => {
                let c = rel(abs, x1, y1);
                pen.quad_to(c, rel(abs, x, y));
                next_quad = Some(c);
            }
            S::SmoothQuadratic { abs, x, y } => {
                let c = mirrored(quad);
                pen.quad_to(c, rel(abs, x, y));
                next_quad = Some(c);
            }
            S::EllipticalArc { abs, rx, ry, x_axis_rotation, large_arc, sweep, x, y } => {
                let radii = Vec2::new(rx.abs(), ry.abs());
                pen.arc_to(radii, x_axis_rotation.to_radians(), large_arc, sweep, rel(abs, x, y));
            }
            S::ClosePath { .. } => pen.close(),
        }
        (cubic, quad) = (next_cubic, next_quad);
        if pen.count > limits::SEGMENTS {
            return Err(super::too_many_segments());
        }
    }
    Ok(pen.finish())
}

/// Reads the points of a polyline or polygon.
pub(super) fn points(text: &str, closed: bool) -> ElementPath {
    let mut pen = PathBuilder::new();
    let mut first = true;
    let mut numbers = NumberListParser::from(text);
    let mut fault = None;
    while let Some(x) = numbers.next() {
        match (x, numbers.next()) {
            (Ok(x), Some(Ok(y))) => {
                let p = Point::new(x, y);
                if first {
                    pen.move_to(p);
                } else {
                    pen.line_to(p);
                }
                first = false;
            }
            (Ok(_), None) => fault = Some("an x without a y at the end of the points".to_string()),
            (Err(e), _) | (_, Some(Err(e))) => fault = Some(format!("{e}")),
        }
        if fault.is_some() {
            // Half of the points would be a different outline.
            return ElementPath { subpaths: Vec::new(), fault };
        }
    }
    if closed {
        pen.close();
    }
    pen.finish()
}

#[cfg(test)]
mod tests {
    use super::*;

    fn ends(d: &str) -> Vec<(f64, f64)> {
        let o = data(d).unwrap();
        assert_eq!(o.fault, None, "{d}");
        o.subpaths.iter().flat_map(|s| s.curves.iter()).map(Curve::end).map(|p| (p.x, p.y)).collect()
    }

    #[test]
    fn every_command() {
        assert_eq!(
            ends("M1 2 3 4H5V6h1v1l1 1z"),
            [(3., 4.), (5., 4.), (5., 6.), (6., 6.), (6., 7.), (7., 8.), (1., 2.)]
        );
        assert_eq!(ends("m1 1c0 1 1 1 1 0s1 -1 1 0q1 1 2 0t2 0"), [(2., 1.), (3., 1.), (5., 1.), (7., 1.)]);
        assert_eq!(ends("M0 0A5 5 0 0110 0a5 5 0 01-10 0"), [(10., 0.), (0., 0.)]);
        // After Z the next subpath starts at the start of the previous one.
        assert_eq!(ends("M1 1h2v2zl5 5"), [(3., 1.), (3., 3.), (1., 1.), (6., 6.)]);
    }

    #[test]
    fn mirrored_control_points() {
        let o = data("M0 0C0 10 10 10 10 0S20 -10 20 0").unwrap();
        let Curve::Cubic(c) = o.subpaths[0].curves[1] else { panic!() };
        assert_eq!(c.p1, Point::new(10.0, -10.0));
        // After a command of another kind S and T mirror nothing.
        let o = data("M0 0Q5 5 10 0S20 -10 20 0").unwrap();
        let Curve::Cubic(c) = o.subpaths[0].curves[1] else { panic!() };
        assert_eq!(c.p1, Point::new(10.0, 0.0));
        let o = data("M0 0Q5 5 10 0T20 0").unwrap();
        let Curve::Quad(q) = o.subpaths[0].curves[1] else { panic!() };
        assert_eq!(q.p1, Point::new(15.0, -5.0));
    }

    #[test]
    fn closing() {
        let closed = |d: &str| data(d).unwrap().subpaths.iter().map(|s| s.closed).collect::<Vec<_>>();
        assert_eq!(closed("M0 0H9V9Z M20 0H29V9"), [true, false]);
        assert_eq!(closed("M0 0H9V9L0 0"), [true]);
        // A thousand tenths do not sum to a whole number. The rounding is neither a gap nor an edge.
        let o = data(&format!("M0 0{}V10H0Z", "h.1".repeat(1000))).unwrap();
        assert_eq!(o.subpaths[0].curves.len(), 1003);
        let o = data(&format!("m7 7{}v10h-100z", "h.1".repeat(1000))).unwrap();
        assert_eq!(o.subpaths[0].curves.len(), 1003);
        assert!(data("M5 5").unwrap().subpaths.is_empty());
        assert!(data("M5 5h0z").unwrap().subpaths.is_empty());
    }

    #[test]
    fn a_fault_leaves_only_what_was_closed() {
        let o = data("M0 0H9V9Z M20 0H29 V NaN Z").unwrap();
        assert_eq!(o.subpaths.len(), 1);
        assert!(o.fault.is_some());
        assert!(data("M0 0 L1e999 0").unwrap().fault.is_some());
        assert!(data("L0 0").unwrap().fault.is_some());
        assert!(points("0,0 1,0 1", true).fault.is_some());
        assert!(points("0,0 1,0 x,1", true).fault.is_some());
    }
}
