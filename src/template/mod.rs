//! From outlines and tools to openings on the faces of a panel.

pub mod ease;
pub mod layout;
pub mod openings;
mod seen;

use crate::geom::{Affine, Certified, Region};

/// Which piece an opening serves.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Duty {
    Recess,
    Insert,
    Both,
    Clearing,
}

/// How the panel is turned between its two faces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turn {
    /// Like the page of a book: left edge over to the right. (x, y) of face 1 is (W − x, y) of face 2.
    LeftRight,
    /// Bottom edge over to the top. (x, y) of face 1 is (x, H − y) of face 2.
    BottomTop,
    /// One face only.
    None,
}

/// What a panel edge is for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    /// Set against stops on the machine and against marks or a fence on the work.
    Reference,
    Free,
}

/// The four edges of a panel, named as seen on face 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Edges {
    pub left: Edge,
    pub right: Edge,
    pub bottom: Edge,
    pub top: Edge,
}

/// A sheet that carries the openings, mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// From 1.
    pub number: u32,
    pub width: f64,
    pub height: f64,
    pub turn: Turn,
    pub edges: Edges,
}

/// A hole in the template in which the bush runs.
#[derive(Clone, Debug, PartialEq)]
pub struct Opening {
    /// `opening-1` and so on.
    pub id: String,
    /// Number of the outline it serves.
    pub outline: usize,
    pub duty: Duty,
    pub panel: u32,
    /// 1 or 2: the face that is up when the opening is cut on the machine and used on the work.
    pub face: u8,
    /// Effective offset, mm.
    pub offset: f64,
    /// In the drawing frame.
    pub region: Certified<Region>,
    /// Takes the drawing frame to the frame of the face that is up.
    pub place: Affine,
}

impl Opening {
    /// The opening in the frame of the face that is up: what is written to that face's files.
    #[must_use]
    pub fn on_face(&self) -> Certified<Region> {
        self.region.moved(self.place)
    }
}

/// One face of one panel with the openings cut from it, as the writers take it.
#[derive(Clone, Debug)]
pub struct Face<'a> {
    pub panel: &'a Panel,
    pub face: u8,
    pub openings: Vec<&'a Opening>,
}
