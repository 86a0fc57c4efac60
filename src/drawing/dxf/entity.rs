//! Entities with the numbers of the file, in their own plane and the drawing's unit.

use super::spline::Spline;

pub type P3 = [f64; 3];

#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Vertex {
    pub x: f64,
    pub y: f64,
    pub z: f64,
    pub bulge: f64,
}

#[derive(Clone, Debug)]
pub enum Geometry {
    Line {
        ends: [P3; 2],
    },
    /// Angles in degrees, anticlockwise from the x axis of the entity's plane.
    Arc {
        center: P3,
        radius: f64,
        from: f64,
        to: f64,
    },
    Circle {
        center: P3,
        radius: f64,
    },
    Polyline {
        vertices: Vec<Vertex>,
        closed: bool,
    },
    /// `major` points from the centre; the parameters are radians. The format limits `ratio` to 1. Some files exceed
    /// it, and `major` is then the shorter half axis. The curve is `center + major·cos t + minor·sin t` in both cases.
    Ellipse {
        center: P3,
        major: P3,
        ratio: f64,
        from: f64,
        to: f64,
    },
    Spline(Box<Spline>),
    Insert(Box<Insert>),
    /// Loops in the entity's plane.
    Hatch(Box<Hatch>),
    /// Not read: `what` names the entity for the message.
    Left {
        what: String,
        harmless: bool,
    },
}

/// A block that is inserted into the drawing.
#[derive(Clone, Debug)]
pub struct Insert {
    pub block: String,
    pub at: P3,
    pub scale: [f64; 2],
    /// Degrees.
    pub turn: f64,
    pub columns: i64,
    pub rows: i64,
    pub column_step: f64,
    pub row_step: f64,
}

/// The line type of an entity. Only centre lines matter, because they are not outlines.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum LineType {
    ByLayer,
    Centre,
    Other,
}

pub fn line_type(name: &str) -> LineType {
    let name = name.to_ascii_uppercase();
    match name.as_str() {
        "" | "BYLAYER" => LineType::ByLayer,
        n if n.starts_with("CENTER") || n.starts_with("CENTRE") => LineType::Centre,
        _ => LineType::Other,
    }
}

#[derive(Clone, Debug)]
pub struct Entity {
    pub kind: String,
    pub at: usize,
    pub handle: Option<String>,
    pub layer: String,
    pub owner: Option<String>,
    /// True if the entity's own flag puts it on a paper sheet.
    pub paper: bool,
    pub invisible: bool,
    /// True if the entity is a record of the ENTITIES section.
    pub counted: bool,
    pub line_type: LineType,
    /// The entity's own colour. `None` means that of its layer.
    pub colour: Option<Colour>,
    pub normal: P3,
    pub geometry: Geometry,
}

impl Entity {
    /// Number of vertices or control points, as a measure of its size.
    pub fn weight(&self) -> usize {
        weight(&self.geometry)
    }

    /// The same entity without its geometry.
    pub fn clone_head(&self) -> Entity {
        let geometry = Geometry::Left { what: String::new(), harmless: true };
        let (kind, handle, layer, owner) =
            (self.kind.clone(), self.handle.clone(), self.layer.clone(), self.owner.clone());
        Entity { kind, handle, layer, owner, geometry, ..*self }
    }
}

fn weight(g: &Geometry) -> usize {
    match g {
        Geometry::Polyline { vertices, .. } => vertices.len().max(1),
        Geometry::Spline(s) => s.points.len().max(1),
        Geometry::Hatch(h) => h.loops.iter().flatten().map(weight).sum::<usize>().max(1),
        _ => 1,
    }
}

/// A colour: its number (group 62), or red, green and blue (group 420).
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Colour {
    Number(i64),
    Rgb(i64),
}

impl Colour {
    /// The name for messages and selection: seven colours have names, the others a number.
    pub fn name(self) -> String {
        const NAMES: [&str; 7] = ["red", "yellow", "green", "cyan", "blue", "magenta", "white"];
        match self {
            Colour::Rgb(v) => format!("#{:06x}", v & 0xff_ffff),
            Colour::Number(n) => {
                let named = usize::try_from(n).ok().and_then(|n| NAMES.get(n.checked_sub(1)?));
                named.map_or_else(|| format!("colour {n}"), |s| (*s).to_owned())
            }
        }
    }
}

/// One boundary path of a HATCH.
pub type HatchLoop = Vec<Geometry>;

/// The loops of a HATCH.
#[derive(Clone, Debug)]
pub struct Hatch {
    pub loops: Vec<HatchLoop>,
    /// Number of loops that only keep the pattern off a text.
    pub text_boxes: usize,
}
