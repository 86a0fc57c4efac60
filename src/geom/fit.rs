//! Curves to lines and arcs.
//!
//! In: one finite [`Curve`] and a distance in mm. Out: a chain of lines and circular arcs that starts and ends exactly
//! where the curve does, no point of either farther than the distance from the other.
//!
//! Method: biarcs on the tangents at points of the curve (D. S. Meek and D. J. Walton, "Approximating smooth planar
//! curves by arc splines", Journal of Computational and Applied Mathematics 59, 1995, from memory), each as long as the
//! distance allows. Between the curve's ends the tangents lean a little where that makes longer arcs; at its ends they
//! are the curve's own. Curves are cut at cusps, where two arcs need not be tangent.
//!
//! The distance is measured at [`SAMPLES`] points of each piece against [`MARGIN`] of what is allowed. The piece and
//! its arcs share both ends, and the curve's direction is held to the arc's at every sample, so the foot of the normal
//! runs over the whole of the arcs: what holds for the curve's points holds for the arcs' too. That argument needs
//! radii well above the distance; for smaller ones the arcs' points are measured as well.

use super::{Arc, Curve, EllipticArc, Line, Segment, trig};
use crate::tolerance::{FIT_KINK, LARGEST_COORDINATE};
use kurbo::{CubicBez, ParamCurve, ParamCurveDeriv, Point, Vec2, common::solve_cubic};
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Points at which a piece of a curve is measured.
const SAMPLES: usize = 32;
/// Share of the allowed distance that the samples may use; the rest is for what lies between them.
const MARGIN: f64 = 0.95;
/// Shortest piece, in the curve's parameter. Only a piece at a cusp, smaller than any tolerance, gets here.
const SHORTEST: f64 = 1e-6;
/// Speeds below this share of the greatest are taken for a stop, where the direction comes from the next derivative.
const STOP: f64 = 1e-6;
/// Control points this near to one straight line, mm, make a straight run.
const STRAIGHT: f64 = 1e-7;

/// Lines and arcs that follow `curve` within `tolerance` mm, tangent to each other (within
/// [`FIT_KINK`]) where the curve is smooth, appended to `out`. The first starts and the last ends exactly where the
/// curve does; each starts exactly where the one before it ends. None has no length: a curve that is one point gives
/// nothing. A curve that runs back on itself gives lines that do.
///
/// Curves with numbers that are not finite, or a hundred times beyond [`LARGEST_COORDINATE`], give nothing: whoever
/// reads drawings must have refused them. So must `tolerance` be positive.
pub fn fit(curve: &Curve, tolerance: f64, out: &mut Vec<Segment>) {
    if !curve.is_finite() || tolerance.is_nan() || tolerance <= 0.0 || too_far(curve) {
        return;
    }
    match *curve {
        Curve::Line(l) => push_line(l.start, l.end, out),
        Curve::Arc(a) => fit_arc(a, out),
        Curve::Ellipse(e) => fit_ellipse(&e, tolerance, out),
        Curve::Quad(q) => fit_cubic(q.raise(), tolerance, out),
        Curve::Cubic(c) => fit_cubic(c, tolerance, out),
    }
}

fn too_far(curve: &Curve) -> bool {
    let b = curve.bounds();
    [b.x0, b.y0, b.x1, b.y1].iter().any(|v| v.is_nan() || v.abs() > 100.0 * LARGEST_COORDINATE)
}

fn push_line(start: Point, end: Point, out: &mut Vec<Segment>) {
    if start != end {
        out.push(Segment::Line(Line { start, end }));
    }
}

/// Lines through `points`; those of no length left out.
fn push_lines(points: &[Point], out: &mut Vec<Segment>) {
    for w in points.windows(2) {
        push_line(w[0], w[1], out);
    }
}

fn fit_arc(a: Arc, out: &mut Vec<Segment>) {
    if a.radius <= 0.0 {
        push_line(a.start, a.end, out);
    } else if a.start == a.end {
        let middle = a.center - (a.start - a.center);
        out.push(Segment::Arc(Arc { end: middle, ..a }));
        out.push(Segment::Arc(Arc { start: middle, ..a }));
    } else {
        out.push(Segment::Arc(a));
    }
}

/// The true circle that the axes say, if they do: as long as each other and at right angles, within 1e-9.
fn circle_radius(e: &EllipticArc) -> Option<f64> {
    let (a, b) = (e.major.hypot(), e.minor.hypot());
    let round = a > 0.0 && (a - b).abs() <= 1e-9 * a && e.major.dot(e.minor).abs() <= 1e-9 * a * a;
    round.then_some(0.5 * (a + b))
}

fn fit_ellipse(e: &EllipticArc, tolerance: f64, out: &mut Vec<Segment>) {
    if e.sweep == 0.0 {
        return push_line(e.start, e.end, out);
    }
    if let Some(radius) = circle_radius(e) {
        return fit_round(e, radius, out);
    }
    // Principal axes: where the distance from the centre is greatest and least, a quarter apart.
    let vertex = 0.5 * trig::atan2(2.0 * e.major.dot(e.minor), e.major.hypot2() - e.minor.hypot2());
    let long = at_angle(e, vertex) - e.center;
    let short = at_angle(e, vertex + FRAC_PI_2) - e.center;
    let flat = short.hypot() <= STRAIGHT;
    let mut cuts: Vec<f64> = (-8..=8)
        .map(|k| vertex + FRAC_PI_2 * f64::from(k))
        .flat_map(|a| [a, a + TAU * ((e.from - a) / TAU).round()])
        .filter(|a| !flat || (at_angle(e, *a) - e.center).dot(long).abs() > 0.5 * long.hypot2())
        .map(|a| (a - e.from) / e.sweep)
        .filter(|t| *t > SHORTEST && *t < 1.0 - SHORTEST)
        .collect();
    tidy(&mut cuts);
    if flat {
        let mut points = vec![e.start];
        points.extend(cuts.iter().map(|t| at_angle(e, e.from + e.sweep * t)));
        points.push(e.end);
        return push_lines(&points, out);
    }
    let path = Path { shape: Shape::Ellipse(*e), origin: e.start, end: e.end, top_speed: e.sweep.abs() * long.hypot() };
    // A quarter between vertices is the most that one biarc is tried on.
    path.emit(path.chain(&cuts, tolerance), out);
}

fn fit_round(e: &EllipticArc, radius: f64, out: &mut Vec<Segment>) {
    let ccw = (e.major.cross(e.minor) > 0.0) == (e.sweep > 0.0);
    let off = |p: Point| ((p - e.center).hypot() - radius).abs() > 1e-9 * radius;
    if e.start == e.end && e.sweep.abs() < PI {
        // A sweep too small for the digits of its ends.
    } else if e.start == e.end || e.sweep.abs() >= TAU - 1e-9 {
        let middle = at_angle(e, e.from + 0.5 * e.sweep);
        out.push(Segment::Arc(Arc { start: e.start, end: middle, center: e.center, radius, ccw }));
        out.push(Segment::Arc(Arc { start: middle, end: e.end, center: e.center, radius, ccw }));
    } else if off(e.start) || off(e.end) {
        // The ends are what the neighbours share: they stay, and the centre gives way.
        let b = trig::tan(0.25 * e.sweep.abs());
        out.push(Segment::from_bulge(e.start, e.end, if ccw { b } else { -b }));
    } else {
        out.push(Segment::Arc(Arc { start: e.start, end: e.end, center: e.center, radius, ccw }));
    }
}

fn at_angle(e: &EllipticArc, a: f64) -> Point {
    e.center + trig::cos(a) * e.major + trig::sin(a) * e.minor
}

fn fit_cubic(c: CubicBez, tolerance: f64, out: &mut Vec<Segment>) {
    let far = [c.p1, c.p2, c.p3].into_iter().map(|p| p - c.p0).max_by(|a, b| a.hypot2().total_cmp(&b.hypot2()));
    let Some(far) = far.filter(|v| v.hypot() > 0.0) else { return };
    let along = far / far.hypot();
    let off = [c.p1, c.p2, c.p3].into_iter().map(|p| (p - c.p0).cross(along).abs()).fold(0.0, f64::max);
    if off <= STRAIGHT.max(1e-12 * far.hypot()) {
        return fit_straight(&c, along, out);
    }
    let path = Path {
        shape: Shape::Cubic(CubicBez::new(
            Point::ZERO,
            (c.p1 - c.p0).to_point(),
            (c.p2 - c.p0).to_point(),
            (c.p3 - c.p0).to_point(),
        )),
        origin: c.p0,
        end: c.p3,
        top_speed: 3.0 * [c.p1 - c.p0, c.p2 - c.p1, c.p3 - c.p2].into_iter().map(Vec2::hypot).fold(0.0, f64::max),
    };
    let stops = path.stops();
    let plain = path.chain(&stops, tolerance);
    let mut cuts = stops;
    cuts.extend(c.inflections());
    tidy(&mut cuts);
    let cut = path.chain(&cuts, tolerance);
    path.emit(if cut.len() <= plain.len() { cut } else { plain }, out);
}

/// All control points on one line: to and fro along it.
fn fit_straight(c: &CubicBez, along: Vec2, out: &mut Vec<Segment>) {
    let [d0, d1, d2] = [c.p1 - c.p0, c.p2 - c.p1, c.p3 - c.p2].map(|v| v.dot(along));
    let turns = kurbo::common::solve_quadratic(d0, 2.0 * (d1 - d0), d0 - 2.0 * d1 + d2);
    let mut cuts: Vec<f64> = turns.into_iter().filter(|t| *t > 0.0 && *t < 1.0).collect();
    cuts.sort_by(f64::total_cmp);
    // A double root is a halt, not a turn: leave the point out where the run goes on the same way.
    let mut points = vec![c.p0];
    points.extend(cuts.iter().map(|t| c.eval(*t)));
    points.push(c.p3);
    points.dedup();
    let mut i = 1;
    while i + 1 < points.len() {
        if (points[i] - points[i - 1]).dot(points[i + 1] - points[i]) > 0.0 {
            points.remove(i);
        } else {
            i += 1;
        }
    }
    push_lines(&points, out);
}

/// In order, inside 0 to 1, none twice.
fn tidy(cuts: &mut Vec<f64>) {
    cuts.retain(|t| *t > SHORTEST && *t < 1.0 - SHORTEST);
    cuts.sort_by(f64::total_cmp);
    cuts.dedup_by(|a, b| (*a - *b).abs() < SHORTEST);
}

/// A curve over t from 0 to 1, in coordinates about its start, where digits are not spent on the place.
struct Path {
    shape: Shape,
    /// Exact start and end in the frame of the drawing.
    origin: Point,
    end: Point,
    /// Bound of the speed, mm per parameter.
    top_speed: f64,
}

enum Shape {
    Cubic(CubicBez),
    Ellipse(EllipticArc),
}

/// One piece of the result: up to `end` (about the origin), turning by `bulge`; 0 is a line.
#[derive(Clone, Copy)]
struct Bit {
    end: Point,
    bulge: f64,
}

/// Points and directions of a stretch of the curve, measured once for all candidates.
struct Stretch {
    points: [Point; SAMPLES + 1],
    /// Unit direction, or zero at a stop.
    ways: [Vec2; SAMPLES + 1],
    /// Direction in which the piece must start: that in which the one before it ends.
    start_way: Vec2,
    /// Directions of the curve at both ends.
    end_ways: [Vec2; 2],
}

/// What follows a stretch, and the direction in which it ends.
struct Piece {
    bits: Vec<Bit>,
    way: Vec2,
}

impl Path {
    fn at(&self, t: f64) -> Point {
        if t <= 0.0 {
            return Point::ZERO;
        }
        if t >= 1.0 {
            return (self.end - self.origin).to_point();
        }
        match &self.shape {
            Shape::Cubic(c) => c.eval(t),
            Shape::Ellipse(e) => (at_angle(e, e.from + e.sweep * t) - self.origin).to_point(),
        }
    }

    /// First, second and third derivative.
    fn derivatives(&self, t: f64) -> [Vec2; 3] {
        match &self.shape {
            Shape::Cubic(c) => {
                let d1 = c.deriv();
                let d2 = d1.deriv();
                [d1.eval(t).to_vec2(), d2.eval(t).to_vec2(), d2.p1 - d2.p0]
            }
            Shape::Ellipse(e) => {
                let v = at_angle(e, e.from + e.sweep * t) - e.center;
                let w = at_angle(e, e.from + e.sweep * t + FRAC_PI_2) - e.center;
                [e.sweep * w, -e.sweep.powi(2) * v, -e.sweep.powi(3) * w]
            }
        }
    }

    /// Unit direction of travel just after `t`, or just before it. At a stop the two differ.
    fn way(&self, t: f64, after: bool) -> Vec2 {
        let [d1, d2, d3] = self.derivatives(t);
        let small = STOP * self.top_speed;
        let v = if d1.hypot() > small {
            d1
        } else if d2.hypot() > small {
            if after { d2 } else { -d2 }
        } else {
            d3
        };
        unit(v)
    }

    /// Where a cubic stops, or nearly: its cusps and the turns too tight to be seen from a distance.
    fn stops(&self) -> Vec<f64> {
        let Shape::Cubic(c) = &self.shape else { return Vec::new() };
        // C′ = a + 2bt + ct², up to the factor 3; half of the derivative of its square is a cubic.
        let a = c.p1 - c.p0;
        let b = (c.p2 - c.p1) - a;
        let e = (c.p3 - c.p2) - 2.0 * (c.p2 - c.p1) + a;
        let roots = solve_cubic(a.dot(b), a.dot(e) + 2.0 * b.dot(b), 3.0 * b.dot(e), e.dot(e));
        let mut stops: Vec<f64> = roots.into_iter().collect();
        stops.retain(|t| t.is_finite() && self.derivatives(*t)[0].hypot() < 0.05 * self.top_speed);
        tidy(&mut stops);
        stops
    }

    /// The stretch from `t0` to `t1`, to be left in direction `start_way`.
    fn stretch(&self, t0: f64, t1: f64, start_way: Vec2) -> Stretch {
        let mut points = [Point::ZERO; SAMPLES + 1];
        let mut ways = [Vec2::ZERO; SAMPLES + 1];
        for i in 0..=SAMPLES {
            let t = if i == SAMPLES { t1 } else { t0 + (t1 - t0) * (i as f64 / SAMPLES as f64) };
            points[i] = self.at(t);
            let v = self.derivatives(t)[0];
            ways[i] = if v.hypot() > STOP * self.top_speed { unit(v) } else { Vec2::ZERO };
        }
        Stretch { points, ways, start_way, end_ways: [self.way(t0, true), self.way(t1, false)] }
    }

    /// The whole curve, cut at `cuts`.
    fn chain(&self, cuts: &[f64], tolerance: f64) -> Vec<Bit> {
        let mut bits = Vec::new();
        let mut from = 0.0;
        for &to in cuts.iter().chain(&[1.0]) {
            bits.extend(self.even_span(from, to, tolerance));
            from = to;
        }
        bits
    }

    /// A span in as few pieces as [`Path::span`] finds, evened out so that the last is not a crumb.
    fn even_span(&self, from: f64, to: f64, tolerance: f64) -> Vec<Bit> {
        let mut best = self.span(from, to, tolerance, usize::MAX).unwrap_or_default();
        if best.len() <= 2 {
            return best;
        }
        let (mut low, mut high) = (0.2, 1.0);
        for _ in 0..3 {
            let middle = 0.5 * (low + high);
            match self.span(from, to, tolerance * middle, best.len()) {
                Some(bits) => {
                    best = bits;
                    high = middle;
                }
                None => low = middle,
            }
        }
        best
    }

    /// Pieces, each as long as goes; `None` if it takes more than `most`.
    fn span(&self, from: f64, to: f64, tolerance: f64, most: usize) -> Option<Vec<Bit>> {
        let mut bits: Vec<Bit> = Vec::new();
        let mut t0 = from;
        let mut way = self.way(from, true);
        while t0 < to {
            let (t1, piece) = self.longest(t0, to, way, tolerance);
            bits.extend(piece.bits);
            if bits.len() > most {
                return None;
            }
            (t0, way) = (t1, piece.way);
        }
        Some(bits)
    }

    /// The longest stretch from `t0`, left in direction `way`, that one line, arc or biarc follows, and where it ends.
    fn longest(&self, t0: f64, to: f64, way: Vec2, tolerance: f64) -> (f64, Piece) {
        let follow = |t1: f64| self.stretch(t0, t1, way).follow(tolerance, t1 < to);
        if let Some(piece) = follow(to) {
            return (to, piece);
        }
        let (mut good, mut bad) = (t0 + 0.5 * (to - t0), to);
        let mut best = loop {
            if let Some(piece) = follow(good) {
                break piece;
            }
            if good - t0 < SHORTEST {
                let bits = vec![Bit { end: self.at(good), bulge: 0.0 }];
                break Piece { bits, way: self.way(good, true) };
            }
            bad = good;
            good = t0 + 0.5 * (good - t0);
        };
        for _ in 0..7 {
            let t = 0.5 * (good + bad);
            match follow(t) {
                Some(piece) => (good, best) = (t, piece),
                None => bad = t,
            }
        }
        (good, best)
    }

    /// Back to the frame of the drawing, ends exact.
    fn emit(&self, bits: Vec<Bit>, out: &mut Vec<Segment>) {
        let mut start = self.origin;
        let n = bits.len();
        for (i, bit) in bits.into_iter().enumerate() {
            let end = if i + 1 == n { self.end } else { self.origin + bit.end.to_vec2() };
            if end != start {
                out.push(Segment::from_bulge(start, end, bit.bulge));
                start = end;
            }
        }
    }
}

impl Stretch {
    fn start(&self) -> Point {
        self.points[0]
    }

    fn end(&self) -> Point {
        self.points[SAMPLES]
    }

    /// One line, else one arc, else a biarc that follows this stretch within `tolerance`. If it `may_lean`, the biarc
    /// need not end in the curve's direction: see [`Stretch::leaning`].
    fn follow(&self, tolerance: f64, may_lean: bool) -> Option<Piece> {
        let (start, end, end_way) = (self.start(), self.end(), self.end_ways[1]);
        let chord = end - start;
        let reach = self.points.iter().map(|p| (*p - start).hypot()).fold(0.0, f64::max);
        if reach == 0.0 {
            return Some(Piece { bits: Vec::new(), way: end_way });
        }
        if chord.hypot() > 1e-3 * reach {
            // Half of the angle between the tangent and the chord at either end; equal on an arc.
            let (b0, b1) = (half_turn(self.start_way, chord), half_turn(chord, end_way));
            if b0.abs().max(b1.abs()) <= 0.5 * FIT_KINK && self.near(&[Bit { end, bulge: 0.0 }], tolerance) {
                return Some(Piece { bits: vec![Bit { end, bulge: 0.0 }], way: end_way });
            }
            if (b0 - b1).abs() <= 0.5 * FIT_KINK {
                let arc = [self.bit(start, end, 0.5 * (b0 + b1), tolerance)];
                if self.near(&arc, tolerance) {
                    return Some(Piece { bits: arc.to_vec(), way: end_way });
                }
            }
            let leaning = if may_lean { self.leaning() } else { None };
            for way in [leaning, Some(end_way)].into_iter().flatten() {
                // Where on the circle of possible joints: the middle first, then to either side.
                for share in [1.0, 0.75, 1.35, 0.5, 2.0] {
                    if let Some(pair) = self.biarc(way, share, tolerance)
                        && self.near(&pair, tolerance)
                    {
                        return Some(Piece { bits: pair.to_vec(), way });
                    }
                }
            }
        }
        // At a cusp, a stretch lost beside the tolerance: any chord is as near as an arc.
        (2.0 * reach <= 0.1 * tolerance).then(|| Piece { bits: vec![Bit { end, bulge: 0.0 }], way: end_way })
    }

    /// The direction at the end of a biarc in the middle of a long chain. Where curvature changes evenly, a chain of
    /// arcs through points of the curve is nearest to it when it crosses it at each: the curve less the arcs is then
    /// κ′s³/6 times the Bernoulli polynomial B₃, and crosses at κ′s²/12, s the length of an arc. Arcs are half as long
    /// again for it. Half the biarc's length is s, and the curve's angles with the chord differ by κ′(2s)²/6.
    fn leaning(&self) -> Option<Vec2> {
        let chord = self.end() - self.start();
        let [w0, w1] = self.end_ways;
        let angle = 0.25 * (half_turn(chord, w1) - half_turn(w0, chord));
        (angle.abs() < 0.1).then(|| unit(w1 - trig::left(w1) * angle))
    }

    /// Two arcs tangent to each other, from the direction of the start to `t1`; the first one's tangent is `share` times
    /// as long as that of the biarc with equal tangents.
    fn biarc(&self, t1: Vec2, share: f64, tolerance: f64) -> Option<[Bit; 2]> {
        let (start, end, t0) = (self.start(), self.end(), self.start_way);
        let v = end - start;
        // d² · 2(1 − t0·t1) + 2d · v·(t0 + t1) − v·v = 0, the positive root, written so that nothing cancels.
        let (a, b, c) = (2.0 * (1.0 - t0.dot(t1)), v.dot(t0 + t1), v.hypot2());
        let root = (b * b + a * c).sqrt();
        let equal = if b >= 0.0 { c / (b + root) } else { (root - b) / a };
        let d0 = share * equal;
        let d1 = (0.5 * c - d0 * v.dot(t0)) / (v.dot(t1) + d0 * (1.0 - t0.dot(t1)));
        if !(d0.is_finite() && d1.is_finite() && d0 > 0.0 && d1 > 0.0) {
            return None;
        }
        let (q0, q1) = (start + t0 * d0, end - t1 * d1);
        let joint = q0 + (q1 - q0) * (d0 / (d0 + d1));
        let first = self.bit(start, joint, half_turn(t0, joint - start), tolerance);
        let second = self.bit(joint, end, half_turn(end - joint, t1), tolerance);
        // Beyond this an arc is near half a turn, and the test of what it spans fails.
        (first.bulge.abs() < 0.9 && second.bulge.abs() < 0.9).then_some([first, second])
    }

    /// A line in place of an arc so flat that nobody could tell.
    fn bit(&self, start: Point, end: Point, bulge: f64, tolerance: f64) -> Bit {
        let c = (end - start).hypot();
        let flat = bulge.abs() <= 0.25 * FIT_KINK && bulge.abs() * c <= 0.1 * tolerance;
        let huge = c > 4.0 * bulge.abs() * LARGEST_COORDINATE;
        Bit { end, bulge: if flat || huge { 0.0 } else { bulge } }
    }

    /// Whether curve and `bits` keep within [`MARGIN`] of `tolerance` of each other and run the same way.
    fn near(&self, bits: &[Bit], tolerance: f64) -> bool {
        let allowed = MARGIN * tolerance;
        let mut pieces: Vec<Segment> = Vec::with_capacity(2);
        let mut start = self.start();
        for b in bits {
            if b.bulge.abs() >= 0.9 || b.end == start {
                return false;
            }
            pieces.push(Segment::from_bulge(start, b.end, b.bulge));
            start = b.end;
        }
        for (p, way) in self.points.iter().zip(&self.ways) {
            let mut best = (f64::INFINITY, Vec2::ZERO);
            for piece in &pieces {
                let here = nearest_of_short(piece, *p);
                if here.0 < best.0 {
                    best = here;
                }
            }
            if best.0.is_nan() || best.0 > allowed || (*way != Vec2::ZERO && best.1.dot(*way) < 0.5) {
                return false;
            }
        }
        let tight = |s: &Segment| matches!(s, Segment::Arc(a) if a.radius < 4.0 * tolerance);
        !pieces.iter().any(tight)
            || pieces.iter().all(|s| (1..8).all(|k| self.distance(s.at(f64::from(k) / 8.0)) <= allowed))
    }

    /// Distance of `p` from the chords of this stretch.
    fn distance(&self, p: Point) -> f64 {
        self.points.windows(2).map(|w| Segment::line(w[0], w[1]).nearest(p).0).fold(f64::INFINITY, f64::min)
    }
}

/// Distance of `p` from a piece of less than half a turn and the piece's direction there, without trigonometry.
fn nearest_of_short(piece: &Segment, p: Point) -> (f64, Vec2) {
    match piece {
        Segment::Line(l) => {
            let v = l.end - l.start;
            ((piece.nearest(p).0), unit(v))
        }
        Segment::Arc(a) => {
            let (v, from, to) = (p - a.center, a.start - a.center, a.end - a.center);
            let turn = if a.ccw { 1.0 } else { -1.0 };
            let n = v.hypot();
            let (d, out) = if n > 0.0 && turn * from.cross(v) >= 0.0 && turn * v.cross(to) >= 0.0 {
                ((n - a.radius).abs(), v)
            } else {
                let (ds, de) = ((p - a.start).hypot(), (p - a.end).hypot());
                if ds <= de { (ds, from) } else { (de, to) }
            };
            (d, unit(trig::left(out)) * turn)
        }
    }
}

fn unit(v: Vec2) -> Vec2 {
    let n = v.hypot();
    if n > 0.0 { v / n } else { Vec2::ZERO }
}

/// Tangent of half the angle from `a` to `b`, positive anticlockwise; infinite for opposite ones.
fn half_turn(a: Vec2, b: Vec2) -> f64 {
    let (cross, dot) = (a.cross(b), a.dot(b));
    let n = a.hypot() * b.hypot();
    // Whichever form does not cancel.
    if dot >= 0.0 { cross / (n + dot) } else { (n - dot) / cross }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tolerance::CURVE_FIT;
    use kurbo::QuadBez;
    use proptest::prelude::*;

    fn fitted(curve: &Curve) -> Vec<Segment> {
        let mut out = Vec::new();
        fit(curve, CURVE_FIT, &mut out);
        out
    }

    fn eval(curve: &Curve, t: f64) -> Point {
        match curve {
            Curve::Line(l) => l.start.lerp(l.end, t),
            Curve::Arc(a) => a.at(t),
            Curve::Ellipse(e) => e.at(t),
            Curve::Quad(q) => q.eval(t),
            Curve::Cubic(c) => c.eval(t),
        }
    }

    fn cubic(p: [(f64, f64); 4]) -> Curve {
        Curve::Cubic(CubicBez::new(p[0], p[1], p[2], p[3]))
    }

    /// Distance of `p` from the curve: the nearest of many samples, then a search about it and its rivals.
    fn distance_from_curve(curve: &Curve, samples: &[Point], p: Point) -> f64 {
        let n = samples.len() - 1;
        let d = |i: usize| (samples[i] - p).hypot();
        let mut best = f64::INFINITY;
        for i in 0..=n {
            if (i > 0 && d(i - 1) < d(i)) || (i < n && d(i + 1) < d(i)) {
                continue;
            }
            let (mut low, mut high) = (i.saturating_sub(1) as f64 / n as f64, (i + 1).min(n) as f64 / n as f64);
            for _ in 0..60 {
                let (a, b) = (low + (high - low) / 3.0, high - (high - low) / 3.0);
                if (eval(curve, a) - p).hypot() < (eval(curve, b) - p).hypot() { high = b } else { low = a }
            }
            best = best.min(d(i)).min((eval(curve, 0.5 * (low + high)) - p).hypot());
        }
        best
    }

    /// Both ways, densely, with means other than the fitter's own.
    fn check(curve: &Curve, out: &[Segment], tolerance: f64) {
        assert_eq!(out.first().map(Segment::start), Some(curve.start()), "{curve:?}");
        assert_eq!(out.last().map(Segment::end), Some(curve.end()), "{curve:?}");
        for w in out.windows(2) {
            assert_eq!(w[0].end(), w[1].start(), "{curve:?}");
        }
        for s in out {
            assert!(s.is_finite() && s.length() > 0.0, "{s:?} of {curve:?}");
            if let Segment::Arc(a) = s {
                for end in [a.start, a.end] {
                    let off = ((end - a.center).hypot() - a.radius).abs();
                    // What the digits of the place allow is enough for arcs too small to see.
                    let digits = 1e-15 * (1.0 + end.to_vec2().hypot());
                    assert!(off <= (1e-9 * a.radius).max(digits), "{off:e} of {a:?} of {curve:?}");
                }
            }
        }
        let samples: Vec<Point> = (0..=1200).map(|i| eval(curve, f64::from(i) / 1200.0)).collect();
        for p in &samples {
            let d = out.iter().map(|s| s.nearest(*p).0).fold(f64::INFINITY, f64::min);
            assert!(d <= tolerance, "curve {d} off at {p:?}: {curve:?}");
        }
        for s in out {
            for k in 0..=12 {
                let d = distance_from_curve(curve, &samples, s.at(f64::from(k) / 12.0));
                assert!(d <= tolerance, "{s:?} is {d} off: {curve:?}");
            }
        }
    }

    /// Greatest angle between one edge's end and the next one's start.
    fn kink(out: &[Segment]) -> f64 {
        out.windows(2)
            .map(|w| {
                let (a, b) = (w[0].tangent_at_end(), w[1].tangent_at_start());
                trig::atan2(a.cross(b), a.dot(b)).abs()
            })
            .fold(0.0, f64::max)
    }

    fn quarter(r: f64) -> Curve {
        let k = 4.0 * (2f64.sqrt() - 1.0) / 3.0 * r;
        cubic([(r, 0.0), (r, k), (k, r), (0.0, r)])
    }

    /// Radial error 2.725300e-4·r of the cubic with κ = 4(√2−1)/3: A. Riškus, Information Technology and Control
    /// 35(4), 2006. Within 0.0025 up to r = 9.17 mm, so r 8 is one arc and r 50 is not.
    #[test]
    fn a_quarter_circle_by_kappa() {
        let small = quarter(8.0);
        let out = fitted(&small);
        let [Segment::Arc(a)] = out[..] else { panic!("{out:?}") };
        assert!((a.radius - 8.0).abs() < 1e-9 && a.center.to_vec2().hypot() < 1e-9 && a.ccw, "{a:?}");
        check(&small, &out, CURVE_FIT);
        let error = (0..=1000).map(|i| eval(&quarter(50.0), f64::from(i) / 1000.0).to_vec2().hypot() - 50.0);
        assert!((error.fold(0.0, f64::max) - 0.013_626_5).abs() < 1e-6);
        let out = fitted(&quarter(50.0));
        assert!((2..=8).contains(&out.len()), "{}", out.len());
        assert!(kink(&out) < 2.0 * FIT_KINK);
        check(&quarter(50.0), &out, CURVE_FIT);
    }

    #[test]
    fn awkward_curves_are_followed() {
        let all = [
            ("cusp", cubic([(0.0, 0.0), (40.0, 30.0), (0.0, 30.0), (40.0, 0.0)])),
            ("loop", cubic([(0.0, 0.0), (80.0, 40.0), (-40.0, 40.0), (40.0, 0.0)])),
            ("almost a cusp", cubic([(0.0, 0.0), (40.0, 30.0), (0.001, 30.0), (40.0, 0.0)])),
            ("tiny loop", cubic([(0.0, 0.0), (40.0, 30.0), (-0.01, 30.0), (40.0, 0.0)])),
            ("first handle of no length", cubic([(0.0, 0.0), (0.0, 0.0), (10.0, 30.0), (40.0, 0.0)])),
            ("last handle of no length", cubic([(0.0, 0.0), (10.0, 30.0), (40.0, 0.0), (40.0, 0.0)])),
            ("closed drop", cubic([(0.0, 0.0), (40.0, 30.0), (-40.0, 30.0), (0.0, 0.0)])),
            ("closed thin drop", cubic([(0.0, 0.0), (0.001, 30.0), (-0.001, 30.0), (0.0, 0.0)])),
            ("almost straight to and fro", cubic([(0.0, 0.0), (40.0, 0.001), (-30.0, 0.0), (10.0, 0.0)])),
            ("S", cubic([(0.0, 0.0), (60.0, 0.0), (-20.0, 40.0), (40.0, 40.0)])),
            ("tiny", cubic([(0.0, 0.0), (0.001, 0.0), (0.001, 0.001), (0.0, 0.001)])),
            ("far out", cubic([(1e6, 1e6), (1e6 + 40.0, 1e6), (1e6 + 40.0, 1e6 + 30.0), (1e6, 1e6 + 30.0)])),
            ("huge", cubic([(0.0, 0.0), (4000.0, 100.0), (3000.0, 5000.0), (-2000.0, 2000.0)])),
            ("quad", Curve::Quad(QuadBez::new((0.0, 0.0), (30.0, 50.0), (60.0, 0.0)))),
            ("sharp quad", Curve::Quad(QuadBez::new((0.0, 0.0), (30.0, 0.01), (0.0, 0.02)))),
        ];
        for (name, c) in all {
            let out = fitted(&c);
            println!("{name}: {} pieces, kink {:e}", out.len(), kink(&out));
            check(&c, &out, CURVE_FIT);
        }
    }

    #[test]
    fn collinear_control_points_run_to_and_fro() {
        let out = fitted(&cubic([(0.0, 0.0), (40.0, 0.0), (-30.0, 0.0), (10.0, 0.0)]));
        assert_eq!(out.len(), 3);
        check(&cubic([(0.0, 0.0), (40.0, 0.0), (-30.0, 0.0), (10.0, 0.0)]), &out, CURVE_FIT);
        assert_eq!(fitted(&cubic([(0.0, 0.0), (3.0, 4.0), (6.0, 8.0), (9.0, 12.0)])).len(), 1);
        let back = Curve::Quad(QuadBez::new((0.0, 0.0), (30.0, 0.0), (0.0, 0.0)));
        let ends: Vec<Point> = fitted(&back).iter().map(Segment::end).collect();
        assert_eq!(ends, [Point::new(15.0, 0.0), Point::ZERO]);
    }

    #[test]
    fn points_and_bad_numbers_give_nothing() {
        assert!(fitted(&cubic([(3.0, 4.0); 4])).is_empty());
        assert!(fitted(&Curve::Line(Line { start: Point::ZERO, end: Point::ZERO })).is_empty());
        assert!(fitted(&cubic([(0.0, 0.0), (f64::NAN, 0.0), (1.0, 1.0), (2.0, 0.0)])).is_empty());
        assert!(fitted(&cubic([(0.0, 0.0), (1e300, 0.0), (1.0, 1.0), (2.0, 0.0)])).is_empty());
        let mut out = Vec::new();
        fit(&quarter(5.0), 0.0, &mut out);
        assert!(out.is_empty());
    }

    #[test]
    fn ellipses() {
        for c in Curve::ellipse(Point::new(3.0, -7.0), 60.0, 25.0) {
            let out = fitted(&c);
            assert!(out.len() <= 34, "{}", out.len());
            assert!(kink(&out) < 2.0 * FIT_KINK);
            check(&c, &out, CURVE_FIT);
        }
        let whole = |minor: Vec2| {
            let (start, major) = (Point::new(20.0, 0.0), Vec2::new(20.0, 0.0));
            Curve::Ellipse(EllipticArc { start, end: start, center: Point::ZERO, major, minor, from: 0.0, sweep: TAU })
        };
        let out = fitted(&whole(Vec2::new(0.0, 20.0)));
        assert!(matches!(out[..], [Segment::Arc(_), Segment::Arc(_)]), "{out:?}");
        check(&whole(Vec2::new(0.0, 20.0)), &out, CURVE_FIT);
        // Skewed axes, a needle, and one squeezed flat.
        for minor in [Vec2::new(12.0, 9.0), Vec2::new(0.0, 0.01), Vec2::new(0.0, 0.0), Vec2::new(8.0, 0.0)] {
            check(&whole(minor), &fitted(&whole(minor)), CURVE_FIT);
        }
    }

    #[test]
    fn few_arcs_and_no_kinks() {
        // Ordinary curves of a drawing, 20 to 100 mm, by a fixed rule (golden ratio steps).
        let mut x = 0.3;
        let mut next = move |size: f64| {
            x = (x + 0.618_033_988_749_895_f64) % 1.0;
            x * size
        };
        let (mut pieces, mut worst) = (0, 0.0_f64);
        for _ in 0..100 {
            let (l, h0, h1) = (20.0 + next(80.0), 3.0 + next(30.0), 3.0 + next(30.0));
            let (a, b) = (next(2.4) - 1.2, next(2.4) - 1.2);
            let (p0, p3) = (Point::ZERO, Point::new(l, 0.0));
            let c = Curve::Cubic(CubicBez::new(p0, p0 + trig::unit(a) * h0, p3 - trig::unit(b) * h1, p3));
            let out = fitted(&c);
            pieces += out.len();
            worst = worst.max(kink(&out));
            for (way, edge) in [(a, out[0].tangent_at_start()), (b, out[out.len() - 1].tangent_at_end())] {
                assert!(trig::unit(way).cross(edge).abs() <= 1.01 * FIT_KINK, "{c:?}");
            }
        }
        println!("{pieces} pieces of 100 cubics, kink {worst:e}");
        assert!(pieces < 1750, "{pieces}");
        assert!(worst < 2.0 * FIT_KINK, "{worst}");
    }

    fn point() -> impl Strategy<Value = (f64, f64)> {
        (-50.0..50.0, -50.0..50.0)
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(150) })]

        #[test]
        fn any_cubic_is_followed(p in [point(), point(), point(), point()]) {
            let c = cubic(p);
            let out = fitted(&c);
            check(&c, &out, CURVE_FIT);
            prop_assert!(out.len() <= 60, "{}", out.len());
        }

        /// Points of a coarse grid: coincident and collinear ones come often.
        #[test]
        fn any_coarse_cubic_is_followed(p in [(0..3, 0..3), (0..3, 0..3), (0..3, 0..3), (0..3, 0..3)]) {
            let c = cubic(p.map(|(x, y)| (10.0 * f64::from(x), 10.0 * f64::from(y))));
            let out = fitted(&c);
            if out.is_empty() {
                prop_assert!(p.iter().all(|q| *q == p[0]));
            } else {
                check(&c, &out, CURVE_FIT);
            }
        }

        #[test]
        fn any_elliptic_arc_is_followed(m in point(), n in point(), from in -6.0..6.0, sweep in -6.2..6.2) {
            let mut e = EllipticArc {
                start: Point::ZERO, end: Point::ZERO, center: Point::new(5.0, 6.0),
                major: m.into(), minor: n.into(), from, sweep,
            };
            e.start = at_angle(&e, from);
            e.end = at_angle(&e, from + sweep);
            check(&Curve::Ellipse(e), &fitted(&Curve::Ellipse(e)), CURVE_FIT);
        }
    }
}
