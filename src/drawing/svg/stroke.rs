//! Finds the edges of a stroke, for makers who draw with wide strokes.
//!
//! In: subpaths in user space, the width, and the caps, joins and dashes. Out: closed subpaths, filled non-zero.
//! Refuses strokes with too many dashes. `kurbo` makes the band within [`STROKE`]. Straight sides and mitres are exact
//! to double precision. Source: W3C SVG 2, chapter 13.

use super::path::Subpath;
use super::size::{Axis, Lengths};
use super::style::{LINE, Style};
use crate::geom::{Curve, Line, trig};
use crate::tolerance::STROKE;
use kurbo::{BezPath, Cap, CubicBez, Join, PathEl, QuadBez, Shape as _, Stroke, StrokeOpts};

/// Most dashes of one shape. More are a texture.
const MOST_DASHES: f64 = 10_000.0;

/// The band along `subpaths`. `stated` is the total path length that the file states, by which dashes are measured.
/// `scale` is mm per unit of user space.
///
/// # Errors
/// A message if the stroke cannot be made.
pub(super) fn band(
    subpaths: &[Subpath],
    width: f64,
    style: &Style,
    lengths: &Lengths,
    stated: Option<f64>,
    scale: f64,
) -> Result<Vec<Subpath>, String> {
    let tolerance = STROKE / scale;
    let mut path = BezPath::new();
    let mut length = 0.0;
    for s in subpaths {
        let Some(first) = s.curves.first() else { continue };
        path.move_to(first.start());
        for c in &s.curves {
            length += (c.end() - c.start()).hypot() + c.bounds().width() + c.bounds().height();
            append(&mut path, c, tolerance);
        }
        // Ends that merely meet stay two ends with caps.
        if s.joined {
            path.close_path();
        }
    }
    let said = |name: &str| LINE.iter().position(|l| *l == name).and_then(|i| style.line[i].as_deref());
    let cap = match said("stroke-linecap") {
        Some("round") => Cap::Round,
        Some("square") => Cap::Square,
        _ => Cap::Butt,
    };
    let join = match said("stroke-linejoin") {
        Some("round") => Join::Round,
        Some("bevel") => Join::Bevel,
        _ => Join::Miter,
    };
    let miter = said("stroke-miterlimit").and_then(|m| m.parse().ok()).filter(|m: &f64| *m >= 1.0).unwrap_or(4.0);
    let mut stroke = Stroke::new(width).with_caps(cap).with_join(join).with_miter_limit(miter);
    let mut dashes = dashes(said("stroke-dasharray"), lengths)?;
    let mut offset = said("stroke-dashoffset").and_then(|o| lengths.user(o, Axis::Diagonal)).unwrap_or(0.0);
    if let (Some(stated), false) = (stated, dashes.is_empty()) {
        let measure = path.perimeter(tolerance) / stated;
        if stated == 0.0 || !measure.is_finite() {
            return Err("a stroke whose dashes are measured by a path of no length".to_owned());
        }
        dashes.iter_mut().for_each(|d| *d *= measure);
        offset *= measure;
    }
    let sum: f64 = dashes.iter().sum();
    if sum > 0.0 {
        if length / sum > MOST_DASHES {
            return Err("a stroke with too many dashes".to_owned());
        }
        stroke = stroke.with_dashes(offset, dashes);
    }
    Ok(subpaths_of(&kurbo::stroke(path.iter(), &stroke, &StrokeOpts::default(), tolerance)))
}

fn dashes(said: Option<&str>, lengths: &Lengths) -> Result<Vec<f64>, String> {
    let Some(said) = said.filter(|s| *s != "none") else { return Ok(Vec::new()) };
    let parts = said.split([',', ' ', '\t', '\n']).filter(|p| !p.is_empty());
    let read: Option<Vec<f64>> = parts.map(|p| lengths.user(p, Axis::Diagonal).filter(|d| *d >= 0.0)).collect();
    let mut read = read.ok_or("a stroke whose dashes are not lengths")?;
    if read.len() % 2 == 1 {
        read.extend_from_within(..);
    }
    Ok(read)
}

fn append(path: &mut BezPath, c: &Curve, tolerance: f64) {
    match c {
        Curve::Line(l) => path.line_to(l.end),
        Curve::Quad(q) => path.quad_to(q.p1, q.p2),
        Curve::Cubic(c) => path.curve_to(c.p1, c.p2, c.p3),
        Curve::Arc(a) => append(path, &Curve::Ellipse(crate::geom::EllipticArc::from_arc(a)), tolerance),
        Curve::Ellipse(e) => {
            // The cubic of an arc piece with sweep s deviates by about r · s⁶ / 74,000 (from memory; an eighth of a
            // turn gives 4e-6 of the radius).
            let size = e.major.hypot().max(e.minor.hypot());
            let step = trig::cbrt((tolerance / size * 50_000.0).sqrt()).clamp(0.01, 0.8);
            #[allow(clippy::cast_possible_truncation, clippy::cast_sign_loss)]
            let n = (e.sweep.abs() / step).ceil().max(1.0) as u32;
            let s = e.sweep / f64::from(n);
            let k = 4.0 / 3.0 * (trig::sin(s / 4.0) / trig::cos(s / 4.0));
            let slope = |t: f64| e.minor * trig::cos(t) - e.major * trig::sin(t);
            let mut p = e.start;
            for i in 1..=n {
                let (t0, t1) = (e.from + s * f64::from(i - 1), e.from + s * f64::from(i));
                let q = e.at(f64::from(i) / f64::from(n));
                path.curve_to(p + slope(t0) * k, q - slope(t1) * k, q);
                p = q;
            }
        }
    }
}

/// All subpaths of a filled path, closed.
pub(super) fn subpaths_of(path: &BezPath) -> Vec<Subpath> {
    let mut out: Vec<Subpath> = Vec::new();
    let (mut start, mut at) = (kurbo::Point::ORIGIN, kurbo::Point::ORIGIN);
    let mut curves: Vec<Curve> = Vec::new();
    let mut finish = |curves: &mut Vec<Curve>, start: kurbo::Point, at: kurbo::Point| {
        if curves.is_empty() {
            return;
        }
        if at != start {
            curves.push(Curve::Line(Line { start: at, end: start }));
        }
        out.push(Subpath { curves: std::mem::take(curves), closed: true, joined: true });
    };
    for el in path.elements() {
        match *el {
            PathEl::MoveTo(p) => {
                finish(&mut curves, start, at);
                (start, at) = (p, p);
            }
            PathEl::LineTo(p) => {
                if p != at {
                    curves.push(Curve::Line(Line { start: at, end: p }));
                }
                at = p;
            }
            PathEl::QuadTo(b, p) => {
                curves.push(Curve::Quad(QuadBez::new(at, b, p)));
                at = p;
            }
            PathEl::CurveTo(b, c, p) => {
                curves.push(Curve::Cubic(CubicBez::new(at, b, c, p)));
                at = p;
            }
            PathEl::ClosePath => {
                finish(&mut curves, start, at);
                at = start;
            }
        }
    }
    finish(&mut curves, start, at);
    out
}
