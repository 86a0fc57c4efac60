//! Plain outlines by size, and keys for a split.
//!
//! In: lengths in mm. Out: a [`Drawing`] of closed outlines, y up, on a sheet with its origin at the bottom left
//! corner. Refuses sizes that enclose nothing ([`ShapeError`], [`keys::KeysError`]). Reads and writes no files.

pub mod keys;

use crate::geom::trig::unit;
use crate::geom::{Arc, Point, Ring, Segment, Vec2};
use std::f64::consts::{FRAC_PI_2, PI, TAU};

/// Empty border around a shape, mm, so that its line is fully visible.
pub const BORDER: f64 = 10.0;
/// Most sides of a polygon. More would be a disc for any cutter.
pub const MOST_SIDES: u32 = 360;

/// A closed line.
#[derive(Clone, Debug, PartialEq)]
pub enum Outline {
    /// Lines and circular arcs, anticlockwise.
    Ring(Ring),
    /// An ellipse with its axes along x and y. Half axes in mm.
    Ellipse { center: Point, rx: f64, ry: f64 },
}

impl Outline {
    fn translated(self, v: Vec2) -> Outline {
        match self {
            Outline::Ring(r) => Outline::Ring(r.translated(v)),
            Outline::Ellipse { center, rx, ry } => Outline::Ellipse { center: center + v, rx, ry },
        }
    }

    /// Enclosed area, mm².
    #[must_use]
    pub fn area(&self) -> f64 {
        match self {
            Outline::Ring(r) => r.area(),
            Outline::Ellipse { rx, ry, .. } => PI * rx * ry,
        }
    }
}

/// Outlines on a sheet, mm, y up, origin at its bottom left corner.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    pub width: f64,
    pub height: f64,
    /// Its description for a comment in the file: plain words, no markup.
    pub about: String,
    /// Name and outline. Names are plain letters, digits and hyphens.
    pub outlines: Vec<(String, Outline)>,
}

/// A plain shape. Lengths in mm; `length` lies along x, `width` along y.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Shape {
    Disc {
        diameter: f64,
    },
    /// An ellipse.
    Oval {
        length: f64,
        width: f64,
    },
    /// A lozenge with its corners at the midpoints of the sides of its bounding box.
    Lozenge {
        length: f64,
        width: f64,
    },
    /// Corners have the radius `corner`; 0 leaves them sharp.
    Rectangle {
        length: f64,
        width: f64,
        corner: f64,
    },
    /// A regular polygon with one side at the bottom. `across` is the diameter of the circle through its corners.
    Polygon {
        sides: u32,
        across: f64,
    },
    /// A bow-tie, widest at both ends and `waist` wide in the middle.
    BowTie {
        length: f64,
        width: f64,
        waist: f64,
    },
}

/// The reason for no shape.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ShapeError {
    #[error("the {what} must be more than 0, and is {mm} mm")]
    NoSize { what: &'static str, mm: f64 },
    #[error("a corner radius of {corner} mm does not fit a side of {side} mm: at most half the side, {} mm", side / 2.0)]
    Corner { corner: f64, side: f64 },
    #[error("a polygon has 3 to {MOST_SIDES} sides, not {0}")]
    Sides(u32),
    #[error("the waist of {waist} mm must be narrower than the ends, which are {width} mm wide")]
    Waist { waist: f64, width: f64 },
}

impl Shape {
    /// A drawing of the shape with a border of [`BORDER`].
    ///
    /// # Errors
    /// [`ShapeError`] for impossible sizes.
    pub fn drawing(self) -> Result<Drawing, ShapeError> {
        let (outline, length, width) = self.centred()?;
        let (w, h) = (length + 2.0 * BORDER, width + 2.0 * BORDER);
        // A polygon's centre is not always that of its bounding box.
        let middle = match &outline {
            Outline::Ring(r) => r.bounds().map_or(Point::ORIGIN, |b| b.center()),
            Outline::Ellipse { center, .. } => *center,
        };
        let outline = outline.translated(Vec2::new(w / 2.0, h / 2.0) - middle.to_vec2());
        Ok(Drawing { width: w, height: h, about: self.about(), outlines: vec![(self.kind().to_owned(), outline)] })
    }

    /// The name of the kind, as typed and as given to the outline.
    #[must_use]
    pub fn kind(self) -> &'static str {
        match self {
            Shape::Disc { .. } => "disc",
            Shape::Oval { .. } => "oval",
            Shape::Lozenge { .. } => "lozenge",
            Shape::Rectangle { .. } => "rectangle",
            Shape::Polygon { .. } => "polygon",
            Shape::BowTie { .. } => "bow-tie",
        }
    }

    fn about(self) -> String {
        match self {
            Shape::Disc { diameter } => format!("Disc of diameter {diameter} mm."),
            Shape::Oval { length, width } => format!("Oval, {length} by {width} mm."),
            Shape::Lozenge { length, width } => format!("Lozenge, {length} by {width} mm."),
            Shape::Rectangle { length, width, corner } => {
                format!("Rectangle, {length} by {width} mm, corners of radius {corner} mm.")
            }
            Shape::Polygon { sides, across } => {
                format!("Regular polygon of {sides} sides, {across} mm across the circle through its corners.")
            }
            Shape::BowTie { length, width, waist } => format!("Bow-tie, {length} by {width} mm, waist {waist} mm."),
        }
    }

    /// A file name without its extension: kind and sizes, mm, to a thousandth.
    #[must_use]
    pub fn file_stem(self) -> String {
        let sizes = match self {
            Shape::Disc { diameter } => short(diameter),
            Shape::Oval { length, width } | Shape::Lozenge { length, width } => by(length, width),
            Shape::Rectangle { length, width, corner } => format!("{}-r{}", by(length, width), short(corner)),
            Shape::Polygon { sides, across } => format!("{sides}-{}", short(across)),
            Shape::BowTie { length, width, waist } => format!("{}-{}", by(length, width), short(waist)),
        };
        format!("{}-{sizes}", self.kind())
    }

    /// The outline centred on the origin, and the size of its bounding box.
    fn centred(self) -> Result<(Outline, f64, f64), ShapeError> {
        let ring = |r: Ring, l, w| Ok((Outline::Ring(r), l, w));
        match self {
            Shape::Disc { diameter: d } => {
                positive("diameter", d)?;
                ring(Ring::circle(Point::ORIGIN, d / 2.0), d, d)
            }
            Shape::Oval { length: l, width: w } => {
                sized(l, w)?;
                // Equal axes give a true circle.
                if l == w {
                    return ring(Ring::circle(Point::ORIGIN, l / 2.0), l, w);
                }
                Ok((Outline::Ellipse { center: Point::ORIGIN, rx: l / 2.0, ry: w / 2.0 }, l, w))
            }
            Shape::Lozenge { length: l, width: w } => {
                sized(l, w)?;
                ring(polygon(&[(l / 2.0, 0.0), (0.0, w / 2.0), (-l / 2.0, 0.0), (0.0, -w / 2.0)]), l, w)
            }
            Shape::Rectangle { length: l, width: w, corner } => {
                sized(l, w)?;
                if !corner.is_finite() || corner < 0.0 || corner > l.min(w) / 2.0 {
                    return Err(ShapeError::Corner { corner, side: l.min(w) });
                }
                ring(rounded(l / 2.0, w / 2.0, corner), l, w)
            }
            Shape::Polygon { sides, across } => {
                positive("size", across)?;
                if !(3..=MOST_SIDES).contains(&sides) {
                    return Err(ShapeError::Sides(sides));
                }
                let step = TAU / f64::from(sides);
                let corner = |k| (unit(-FRAC_PI_2 + step / 2.0 + step * f64::from(k)) * (across / 2.0)).to_point();
                let r = Ring::polygon(&(0..sides).map(corner).collect::<Vec<_>>());
                let (l, w) = r.bounds().map_or((across, across), |b| (b.width(), b.height()));
                ring(r, l, w)
            }
            Shape::BowTie { length: l, width: w, waist } => {
                sized(l, w)?;
                positive("waist", waist)?;
                if waist >= w {
                    return Err(ShapeError::Waist { waist, width: w });
                }
                ring(bow_tie(l, w, waist), l, w)
            }
        }
    }
}

fn positive(what: &'static str, mm: f64) -> Result<(), ShapeError> {
    if mm.is_finite() && mm > 0.0 { Ok(()) } else { Err(ShapeError::NoSize { what, mm }) }
}

fn sized(length: f64, width: f64) -> Result<(), ShapeError> {
    positive("length", length)?;
    positive("width", width)
}

/// A length for file names, to a thousandth.
fn short(mm: f64) -> String {
    crate::text::rounded(mm, 3).unwrap_or_default()
}

fn by(length: f64, width: f64) -> String {
    format!("{}x{}", short(length), short(width))
}

fn polygon(corners: &[(f64, f64)]) -> Ring {
    Ring::polygon(&corners.iter().map(|&c| c.into()).collect::<Vec<Point>>())
}

/// A bow-tie centred on the origin, with its length along x.
fn bow_tie(length: f64, width: f64, waist: f64) -> Ring {
    let (x, y, v) = (length / 2.0, width / 2.0, waist / 2.0);
    polygon(&[(-x, -y), (0.0, -v), (x, -y), (x, y), (0.0, v), (-x, y)])
}

/// A rounded rectangle of half length `x` and half width `y`. Sides of no length are left out.
fn rounded(x: f64, y: f64, r: f64) -> Ring {
    if r == 0.0 {
        return polygon(&[(-x, -y), (x, -y), (x, y), (-x, y)]);
    }
    let (i, j) = (x - r, y - r);
    // Start, end and centre of the corner arcs, anticlockwise from the right end of the bottom side.
    let arcs = [
        ((i, -y), (x, -j), (i, -j)),
        ((x, j), (i, y), (i, j)),
        ((-i, y), (-x, j), (-i, j)),
        ((-x, -j), (-i, -y), (-i, -j)),
    ];
    let mut segments = Vec::new();
    for (k, &(start, end, center)) in arcs.iter().enumerate() {
        let (start, end, center): (Point, Point, Point) = (start.into(), end.into(), center.into());
        segments.push(Segment::Arc(Arc { start, end, center, radius: r, ccw: true }));
        let next: Point = arcs[(k + 1) % 4].0.into();
        if next != end {
            segments.push(Segment::line(end, next));
        }
    }
    Ring::new(segments)
}

#[cfg(test)]
mod tests;
