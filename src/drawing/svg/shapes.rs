//! Turns the basic shapes into curves, in the user space of the element.
//!
//! In: an element and the reference of its lengths. Out: an [`ElementPath`], or the reason for none. Circles, and
//! rounded corners with equal radii, are true arcs. Source: W3C SVG 2 chapter 10.

use super::path::{self, ElementPath, PathBuilder, Subpath};
use super::size::{Axis, Lengths};
use super::style::Own;
use crate::drawing::ReadError;
use crate::geom::{Arc, Curve, EllipticArc, Point, Vec2};
use roxmltree::Node;
use std::f64::consts::FRAC_PI_2;

/// Names of the shape elements.
pub(super) const NAMES: [&str; 7] = ["rect", "circle", "ellipse", "line", "polyline", "polygon", "path"];

/// The reason for a shape without an outline.
pub(super) enum Absent {
    /// The format draws nothing, because the shape has no size or no points.
    Nothing,
    /// A length or list is invalid.
    Fault(String),
}

pub(super) fn outline(node: &Node, own: &Own, lengths: &Lengths) -> Result<Result<ElementPath, Absent>, ReadError> {
    Ok(match node.tag_name().name() {
        "path" => match own.get("d") {
            Some(d) => Ok(path::data(d)?),
            None => Err(Absent::Nothing),
        },
        "polyline" => points(node, false),
        "polygon" => points(node, true),
        "line" => line(node, lengths),
        "rect" => rect(own, lengths),
        name => ellipse(own, name == "circle", lengths),
    })
}

fn points(node: &Node, closed: bool) -> Result<ElementPath, Absent> {
    node.attribute("points").map(|p| path::points(p, closed)).ok_or(Absent::Nothing)
}

/// A length, or its default of 0.
fn length(text: Option<&str>, name: &str, axis: Axis, lengths: &Lengths) -> Result<f64, Absent> {
    match text {
        None | Some("auto") => Ok(0.0),
        Some(text) => lengths.user(text, axis).ok_or_else(|| Absent::Fault(format!("{name}={text:?} is not a length"))),
    }
}

/// A radius. A negative one counts as `auto`.
fn radius(own: &Own, name: &str, axis: Axis, lengths: &Lengths) -> Result<Option<f64>, Absent> {
    match own.get(name) {
        None | Some("auto") => Ok(None),
        text => length(text, name, axis, lengths).map(|r| Some(r).filter(|r| *r >= 0.0)),
    }
}

fn line(node: &Node, lengths: &Lengths) -> Result<ElementPath, Absent> {
    let x = |name| length(node.attribute(name), name, Axis::X, lengths);
    let y = |name| length(node.attribute(name), name, Axis::Y, lengths);
    let mut pen = PathBuilder::new();
    pen.move_to(Point::new(x("x1")?, y("y1")?));
    pen.line_to(Point::new(x("x2")?, y("y2")?));
    Ok(pen.finish())
}

fn ellipse(own: &Own, circle: bool, lengths: &Lengths) -> Result<ElementPath, Absent> {
    let of = |name: &str, axis: Axis| length(own.get(name), name, axis, lengths);
    let center = Point::new(of("cx", Axis::X)?, of("cy", Axis::Y)?);
    let (rx, ry) = if circle {
        let r = of("r", Axis::Diagonal)?;
        (r, r)
    } else {
        let (rx, ry) = (radius(own, "rx", Axis::X, lengths)?, radius(own, "ry", Axis::Y, lengths)?);
        // A missing radius equals the other one.
        (rx.or(ry).unwrap_or(0.0), ry.or(rx).unwrap_or(0.0))
    };
    if rx < 0.0 || ry < 0.0 {
        return Err(Absent::Fault("a radius is negative".into()));
    }
    if rx == 0.0 || ry == 0.0 {
        return Err(Absent::Nothing);
    }
    let subpaths = vec![Subpath { curves: Curve::ellipse(center, rx, ry), closed: true, joined: true }];
    Ok(ElementPath { subpaths, fault: None })
}

fn rect(own: &Own, lengths: &Lengths) -> Result<ElementPath, Absent> {
    let of = |name: &str, axis: Axis| length(own.get(name), name, axis, lengths);
    let (x, y) = (of("x", Axis::X)?, of("y", Axis::Y)?);
    let (w, h) = (of("width", Axis::X)?, of("height", Axis::Y)?);
    if w < 0.0 || h < 0.0 {
        return Err(Absent::Fault("a width or height is negative".into()));
    }
    if w == 0.0 || h == 0.0 {
        return Err(Absent::Nothing);
    }
    let (rx, ry) = (radius(own, "rx", Axis::X, lengths)?, radius(own, "ry", Axis::Y, lengths)?);
    let (rx, ry) = (rx.or(ry).unwrap_or(0.0).min(w / 2.0), ry.or(rx).unwrap_or(0.0).min(h / 2.0));
    let (x1, y1) = (x + w, y + h);
    let mut pen = PathBuilder::new();
    if rx == 0.0 || ry == 0.0 {
        pen.move_to(Point::new(x, y));
        for p in [(x1, y), (x1, y1), (x, y1)] {
            pen.line_to(p.into());
        }
        pen.close();
        return Ok(pen.finish());
    }
    // Each side, then the corner at its end, in the order that the format defines.
    pen.move_to(Point::new(x + rx, y));
    let corners = [
        ((x1 - rx, y), (x1, y + ry), (x1 - rx, y + ry), -FRAC_PI_2),
        ((x1, y1 - ry), (x1 - rx, y1), (x1 - rx, y1 - ry), 0.0),
        ((x + rx, y1), (x, y1 - ry), (x + rx, y1 - ry), FRAC_PI_2),
        ((x, y + ry), (x + rx, y), (x + rx, y + ry), 2.0 * FRAC_PI_2),
    ];
    for (start, end, center, from) in corners {
        let (start, end, center) = (Point::from(start), Point::from(end), Point::from(center));
        pen.line_to(start);
        let curve = if rx == ry {
            Curve::Arc(Arc { start, end, center, radius: rx, ccw: true })
        } else {
            let (major, minor) = (Vec2::new(rx, 0.0), Vec2::new(0.0, ry));
            Curve::Ellipse(EllipticArc { start, end, center, major, minor, from, sweep: FRAC_PI_2 })
        };
        pen.add(curve, end);
    }
    pen.close();
    Ok(pen.finish())
}
