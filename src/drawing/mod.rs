//! Files to outlines: SVG and DXF in, closed loops of lines and arcs out, each with where it came from.
//!
//! In: the bytes of a drawing and [`ReadSettings`]. Out: a [`Drawing`] in millimetres, x right, y up, with everything
//! that was read and a [`Remark`] on everything that was not, or was mended. Nothing is dropped without a remark.
//! Refuses (with [`ReadError`]) only what cannot be read at all.

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

/// How a drawing is to be read.
#[derive(Clone, Debug)]
pub struct ReadSettings {
    /// Length of the drawing's unit, if the maker states it, as millimetres a unit.
    pub unit: Option<Unit>,
    /// Pixels an inch for SVG files that state no real unit; 96 unless given.
    pub dpi: Option<f64>,
    /// How wide all that is drawn is to be, mm. Outranks the unit; only [`read`] looks at it.
    pub width: Option<f64>,
    pub stroke: Strokes,
    pub text: Texts,
    /// Ends this near to each other are joined, mm.
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

/// What a stroke without a fill stands for (SVG).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Strokes {
    /// Its middle is the outline.
    #[default]
    Centre,
    /// Its edges are: a stroke 3 wide is a band 3 wide.
    Outline,
}

/// What becomes of text (SVG).
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Texts {
    /// Left out, and told.
    #[default]
    Leave,
    /// Its letters become outlines, by the fonts of the machine.
    Outline,
}

pub use crate::units::Unit;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Format {
    Svg,
    Dxf,
}

/// Where a loop came from, for messages and for choosing.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Source {
    /// The element's id (SVG) or the entity's handle (DXF), or what stands for it (`path 3`, `line 120`).
    pub id: String,
    /// Layer (DXF), or label or id of the nearest group that has one (SVG).
    pub layer: Option<String>,
    /// What the drawing program calls the element itself (SVG: its `label`).
    pub label: Option<String>,
    /// Fill or, without one, stroke: `#rrggbb`, or the number of a DXF colour.
    pub colour: Option<String>,
    /// Kind of element or entity: `path`, `circle`, `LWPOLYLINE`, …
    pub kind: String,
    /// Line of the file, from 1, where known.
    pub line: Option<usize>,
}

/// What is inside a loop.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fill {
    NonZero,
    EvenOdd,
    /// Not filled: a stroke or a DXF line. Each closed loop stands for itself, and must not cross itself.
    None,
}

/// One drawn shape: the subpaths of one SVG element, or one DXF entity.
#[derive(Clone, Debug, PartialEq)]
pub struct Shape {
    pub paths: Vec<Path>,
    pub fill: Fill,
    pub source: Source,
}

/// A chain of edges, each starting where the one before ends.
#[derive(Clone, Debug, PartialEq)]
pub struct Path {
    pub segments: Vec<Segment>,
    /// Closed by the file itself (a `Z`, a closed flag, ends that are the same point; subpaths of a filled SVG shape
    /// are closed by the format). Then the last edge ends where the first starts.
    pub closed: bool,
}

/// A drawing in millimetres, x right, y up (DXF: as in the file; SVG: origin at the bottom left of the root viewport,
/// or of the drawn box where there is none).
#[derive(Clone, Debug, PartialEq)]
pub struct Drawing {
    pub format: Format,
    pub unit: Unit,
    /// Why the unit is believed, in words for people.
    pub unit_source: String,
    /// Whether the unit is a guess.
    pub unit_guessed: bool,
    pub shapes: Vec<Shape>,
    /// Box of all that was drawn, without stroke width, mm.
    pub bounds: Option<Rect>,
    pub remarks: Vec<Remark>,
}

impl Drawing {
    /// The mirror image, x for x about the middle of all that was drawn, so that its box stays where it is: for a drawing
    /// that shows the back of the work.
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

/// Something that the maker should know about the reading. A place is in the drawing frame, mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Remark {
    pub kind: RemarkKind,
    pub source: Option<Source>,
    pub at: Option<Point>,
}

#[derive(Clone, Debug, PartialEq)]
pub enum RemarkKind {
    /// Not read: what it is in plain words, and how many of them. `harmless` for text, dimensions, centre lines.
    LeftOut { what: String, count: usize, harmless: bool },
    /// A line whose ends stay `gap` mm apart.
    OpenLine { gap: f64, length: f64 },
    /// Two ends joined over `gap` mm.
    JoinedGap { gap: f64 },
    /// Three or more ends meet; the chain stops here.
    Branching,
    /// Drawn twice.
    DoubledLine { length: f64 },
    /// Too small to be meant: its larger side, mm.
    Speck { size: f64 },
    /// A line out and back the same way, taken off: its length, mm.
    Needle { length: f64 },
    /// Shapes that have a stroke and no fill: the centre line of the stroke is taken for the outline. How many, and
    /// the widest stroke, mm.
    CentreLine { count: usize, widest: f64 },
    /// The second reader saw something else: in words.
    SecondReader { what: String },
    /// The file bends the format's rules and was read all the same: how.
    Tolerated { what: String },
    /// Part of the file is damaged or missing, so part of the drawing may not be read: what is known of it.
    Damaged { what: String },
}

/// No verdict: the drawing cannot be read.
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
