//! Reads SVG and DXF files into closed loops of lines and arcs. Each loop keeps its source.
//!
//! In: the bytes of a drawing and [`ReadSettings`]. Out: a [`Drawing`] in millimetres, x right, y up. It holds
//! everything that was read. A [`Remark`] reports every part that was left out or mended.
//! Refuses, with [`ReadError`], only a file that cannot be read at all.

pub mod choose;
pub mod dxf;
mod file;
pub mod found;
pub mod islands;
pub mod join;
pub mod needles;
pub mod outline;
pub mod svg;
pub mod unite;

pub use file::read;

use crate::geom::{Affine, Point, Rect, Segment};
use crate::names::names;

/// How to read a drawing.
#[derive(Clone, Debug)]
pub struct ReadSettings {
    /// Length of the drawing's unit, if the maker gives it.
    pub unit: Option<Unit>,
    /// Pixels an inch for SVG files that state no real unit. `None` means 96.
    pub dpi: Option<f64>,
    /// Width of everything drawn after scaling, mm. Outranks the unit. Only [`read`] uses it.
    pub width: Option<f64>,
    pub stroke: Strokes,
    pub text: Texts,
    /// Line ends are joined when their distance is at most this, mm.
    pub join: f64,
}

impl Default for ReadSettings {
    fn default() -> Self {
        ReadSettings {
            unit: None,
            dpi: None,
            width: None,
            stroke: Strokes::default(),
            text: Texts::default(),
            join: crate::tolerance::JOIN,
        }
    }
}

/// How to read an SVG stroke without a fill.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Strokes {
    /// The centre line of the stroke is the outline.
    #[default]
    Centre,
    /// The edges of the stroke are the outline: a stroke 3 mm wide is a band 3 mm wide.
    Outline,
}

impl Strokes {
    /// The name of the setting's value.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Strokes::Centre => "centre",
            Strokes::Outline => "outline",
        }
    }
}

/// How to read SVG text.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Texts {
    /// Leave it out, with a remark.
    #[default]
    Leave,
    /// Turn its letters into outlines, with the fonts of this computer.
    Outline,
}

impl Texts {
    /// The name of the setting's value.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Texts::Leave => "leave",
            Texts::Outline => "outline",
        }
    }
}

pub use crate::units::Unit;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    Svg,
    Dxf,
}

names!(Format, "unknown format of the drawing"; Svg = "svg", Dxf = "dxf");

/// The origin of a loop, for messages and for selection.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Source {
    /// The element's id (SVG) or the entity's handle (DXF). Without one, a substitute such as `path 3` or `line 120`.
    pub id: String,
    /// The layer (DXF), or the label or id of the nearest labelled group (SVG).
    pub layer: Option<String>,
    /// The element's own name in its editor (the SVG attribute `label`).
    pub label: Option<String>,
    /// The fill colour, or the stroke colour without a fill: `#rrggbb`, or a DXF colour.
    pub colour: Option<String>,
    /// Kind of element or entity: `path`, `circle`, `LWPOLYLINE`.
    pub kind: String,
    /// Line of the file, counted from 1, if known.
    pub line: Option<usize>,
}

/// The fill rule of a shape.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fill {
    NonZero,
    EvenOdd,
    /// Not filled: a stroke or a DXF line. Each closed loop is a region on its own and must not cross itself.
    None,
}

/// One drawn shape: the subpaths of one SVG element, or one DXF entity.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    pub paths: Vec<Path>,
    pub fill: Fill,
    pub source: Source,
}

/// A chain of edges. Each edge starts where the previous one ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Path {
    pub segments: Vec<Segment>,
    /// The file itself closes the path: by a `Z`, a closed flag, or equal end points. SVG also closes every subpath of
    /// a filled shape. In a closed path the last edge ends where the first one starts.
    pub closed: bool,
}

/// A drawing in millimetres, x right, y up. DXF: the origin is that of the file. SVG: the origin is the bottom left
/// corner of the root viewport. Without a viewport it is the bottom left corner of the bounding box.
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    pub format: Format,
    pub unit: Unit,
    /// The source of the size, as a noun phrase that follows "size from".
    pub unit_source: String,
    /// True if the unit is a guess.
    pub unit_guessed: bool,
    pub shapes: Vec<Shape>,
    /// Bounding box of everything drawn, without stroke width, mm.
    pub bounds: Option<Rect>,
    pub remarks: Vec<Remark>,
}

impl Drawing {
    /// The drawing mirrored left to right about the centre of its bounding box. The box keeps its place. Used when the
    /// drawing shows the back of the work.
    #[must_use]
    pub fn mirrored(mut self) -> Drawing {
        let about = self.bounds.map_or(0.0, |b| b.x0 + b.x1);
        let m = Affine::new([-1.0, 0.0, 0.0, 1.0, about, 0.0]);
        for s in self.shapes.iter_mut().flat_map(|s| &mut s.paths).flat_map(|p| &mut p.segments) {
            *s = s.under_similarity(m);
        }
        for at in self.remarks.iter_mut().filter_map(|r| r.at.as_mut()) {
            *at = m * *at;
        }
        self
    }
}

/// A message about the reading, with a place in the drawing frame, mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Remark {
    pub kind: RemarkKind,
    pub source: Option<Source>,
    pub at: Option<Point>,
}

#[derive(Clone, Debug, PartialEq)]
pub enum RemarkKind {
    /// Parts that were not read: `what` names them and `count` counts them. `harmless` is true for text, dimensions and
    /// centre lines.
    LeftOut { what: String, count: usize, harmless: bool },
    /// A line that does not close: `gap` is the distance of its ends and `length` its length, mm.
    OpenLine { gap: f64, length: f64 },
    /// Two ends that were joined across a gap of `gap` mm.
    JoinedGap { gap: f64 },
    /// Three or more ends meet here. The chain stops here.
    Branching,
    /// A line drawn twice, `length` mm long. One copy was kept.
    DoubledLine { length: f64 },
    /// A shape too small to be intended: `size` is its larger dimension, mm.
    Speck { size: f64 },
    /// A line that goes out and returns along itself. It was removed. `length` is its length, mm.
    Needle { length: f64 },
    /// Shapes with a stroke and no fill, read as the centre line of the stroke. `count` counts them. `widest` is the
    /// widest stroke, mm.
    CentreLine { count: usize, widest: f64 },
    /// The second reader disagrees: `what` describes the difference.
    SecondReader { what: String },
    /// The file breaks a rule of its format and was read all the same: `what` names the fault.
    Tolerated { what: String },
    /// Part of the file is damaged or missing, and part of the drawing may be lost: `what` describes the damage.
    Damaged { what: String },
}

/// The drawing cannot be read.
#[derive(Debug, thiserror::Error, Clone, PartialEq)]
pub enum ReadError {
    #[error("this is neither an SVG nor a DXF drawing: {0}")]
    NotADrawing(String),
    #[error("the drawing is empty")]
    Empty,
    #[error("line {line}, column {column}: {what}")]
    Syntax { line: usize, column: usize, what: String },
    #[error("{what}")]
    Refused { what: String },
    #[error(transparent)]
    Stopped(#[from] crate::budget::Stopped),
}
