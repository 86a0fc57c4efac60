//! Reads the boundary of a HATCH: loops of edges in the hatch's plane.
//!
//! In: the record. Out: [`HatchLoop`]s, each a closed polyline or single edges in file order. Joining connects the
//! edges and reports gaps. Every loop is an outline, like any other closed line of the format. Pattern, fill and seeds
//! are ignored. Refuses a boundary with fewer loops or edges than it states.
//!
//! Source: the published DXF Reference, HATCH, "Boundary path data". Where the reference is silent, this reader follows
//! the library `ezdxf`. Clockwise arcs have mirrored angles. The angles of elliptic edges are angles, not parameters.

use super::curves::unit_deg;
use super::entity::{Geometry, Hatch, HatchLoop, Vertex};
use super::fields::Fields;
use super::pairs::CodePair;
use super::spline::Spline;
use crate::geom::{Vec2, trig};
use crate::tolerance::ROUNDING;
use std::f64::consts::TAU;

/// Bit flags of a loop (group 92): a polyline, and a box around a text.
const POLYLINE: i64 = 2;
const TEXT_BOX: i64 = 8;

/// Reads the boundary of a HATCH.
///
/// # Errors
/// A message if the boundary cannot be read.
pub fn hatch(f: &mut Fields) -> Result<Geometry, String> {
    let pairs = f.pairs();
    let from = pairs.iter().position(|p| p.code == 91).ok_or("it has no boundary")?;
    let stated = f.int(91, 0)?;
    let to = pairs.iter().position(|p| p.code == 75).filter(|&to| to > from).unwrap_or(pairs.len());
    let body = &pairs[from + 1..to];
    let starts: Vec<usize> = (0..body.len()).filter(|&i| body[i].code == 92).collect();
    if usize::try_from(stated) != Ok(starts.len()) {
        return Err(format!("its boundary is incomplete: {} of {stated} loops", starts.len()));
    }
    let mut out = Hatch { loops: Vec::new(), text_boxes: 0 };
    for (k, &start) in starts.iter().enumerate() {
        let one = &body[start..starts.get(k + 1).copied().unwrap_or(body.len())];
        let flags = one[0].int().ok_or("the flags of its boundary are not a number")?;
        if flags & TEXT_BOX != 0 {
            out.text_boxes += 1;
        } else if flags & POLYLINE != 0 {
            out.loops.push(vec![polyline(f, one)?]);
        } else {
            out.loops.push(edges(f, one)?);
        }
    }
    if out.loops.is_empty() {
        return Err("it has no boundary".to_owned());
    }
    Ok(Geometry::Hatch(Box::new(out)))
}

fn count(pairs: &[CodePair], code: i32) -> i64 {
    pairs.iter().find(|p| p.code == code).and_then(CodePair::int).unwrap_or(-1)
}

fn polyline(f: &mut Fields, pairs: &[CodePair]) -> Result<Geometry, String> {
    let corners = f.rows(pairs, [10, 20, 42])?;
    if corners.is_empty() || usize::try_from(count(pairs, 93)) != Ok(corners.len()) {
        return Err("a loop of its boundary is incomplete".to_owned());
    }
    let vertices = corners.iter().map(|&[x, y, bulge]| Vertex { x, y, z: 0.0, bulge }).collect();
    // A boundary is always closed, so its flag is ignored.
    Ok(Geometry::Polyline { vertices, closed: true })
}

fn edges(f: &mut Fields, pairs: &[CodePair]) -> Result<HatchLoop, String> {
    let starts: Vec<usize> = (0..pairs.len()).filter(|&i| pairs[i].code == 72).collect();
    if starts.is_empty() || usize::try_from(count(pairs, 93)) != Ok(starts.len()) {
        return Err("a loop of its boundary is incomplete".to_owned());
    }
    let mut out = Vec::new();
    for (k, &start) in starts.iter().enumerate() {
        out.push(edge(f, &pairs[start..starts.get(k + 1).copied().unwrap_or(pairs.len())])?);
    }
    Ok(out)
}

fn edge(f: &mut Fields, pairs: &[CodePair]) -> Result<Geometry, String> {
    let real = |f: &mut Fields, code: i32| match pairs.iter().find(|p| p.code == code) {
        Some(p) => f.value(p),
        None => Err(format!("group {code} of an edge of its boundary is missing")),
    };
    let ccw = count(pairs, 73) != 0;
    let turned = |from: f64, to: f64| if ccw { (from, to) } else { (360.0 - to, 360.0 - from) };
    Ok(match pairs[0].int() {
        Some(1) => {
            let (x0, y0, x1, y1) = (real(f, 10)?, real(f, 20)?, real(f, 11)?, real(f, 21)?);
            Geometry::Line { ends: [[x0, y0, 0.0], [x1, y1, 0.0]] }
        }
        Some(2) => {
            let (x, y, radius) = (real(f, 10)?, real(f, 20)?, real(f, 40)?);
            let (from, to) = turned(real(f, 50)?, real(f, 51)?);
            if radius <= 0.0 {
                return Err("an arc of its boundary has no radius".to_owned());
            }
            Geometry::Arc { center: [x, y, 0.0], radius, from, to }
        }
        Some(3) => {
            let (center, major) = ([real(f, 10)?, real(f, 20)?, 0.0], [real(f, 11)?, real(f, 21)?, 0.0]);
            let ratio = real(f, 40)?;
            let (from, to) = turned(real(f, 50)?, real(f, 51)?);
            if ratio <= 0.0 || major == [0.0; 3] {
                return Err("the axes of an edge of its boundary do not make an ellipse".to_owned());
            }
            let whole = (to - from).abs() >= 360.0 - ROUNDING;
            let (from, to) = if whole { (0.0, TAU) } else { (parameter(from, ratio), parameter(to, ratio)) };
            Geometry::Ellipse { center, major, ratio, from, to }
        }
        Some(4) => spline(f, pairs)?,
        _ => return Err("its boundary has an edge of an unknown kind".to_owned()),
    })
}

/// The ellipse parameter of the point at an angle (degrees) from the major axis.
fn parameter(degrees: f64, ratio: f64) -> f64 {
    let v = unit_deg(degrees);
    trig::angle(Vec2::new(v.x, v.y / ratio))
}

fn spline(f: &mut Fields, pairs: &[CodePair]) -> Result<Geometry, String> {
    let degree = usize::try_from(count(pairs, 94)).unwrap_or(0);
    let points: Vec<[f64; 3]> = f.rows(pairs, [10, 20])?.into_iter().map(|[x, y]| [x, y, 0.0]).collect();
    let knots = f.rows(pairs, [40])?.into_iter().map(|[k]| k).collect();
    let weights: Vec<f64> = f.rows(pairs, [42])?.into_iter().map(|[w]| w).collect();
    let weights = if weights.len() == points.len() { weights } else { Vec::new() };
    Ok(Geometry::Spline(Box::new(Spline::new(degree, knots, points, weights)?)))
}
