//! A panel, its faces, its edges, and the openings in it.
//!
//! Lengths are in mm. A face frame has its origin at the bottom left corner of the face that is up.

use crate::geom::{Affine, Certified, Region};
use crate::names::names;
use crate::template::Duty;
use serde::{Deserialize, Serialize};

/// Layer of the openings in the machine's files: the cutter runs inside the line.
pub const OPENING_LAYER: &str = "OPENING_CUT_INSIDE";
/// Layer of the panel's outline, if it is cut in the same set-up: the cutter runs outside the line.
pub const PANEL_LAYER: &str = "PANEL_CUT_OUTSIDE";
/// Layer of the panel's edges that rest against the stops.
pub const REFERENCE_LAYER: &str = "REFERENCE_EDGE";
/// Layer of the panel's other edges.
pub const FREE_LAYER: &str = "FREE_EDGE";

/// How the panel is turned over between its two faces.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Turn {
    /// Like the page of a book: left edge over to the right. (x, y) of face 1 is (W − x, y) of face 2.
    LeftRight,
    /// Bottom edge over to the top. (x, y) of face 1 is (x, H − y) of face 2.
    BottomTop,
    /// One face only.
    None,
}

names!(Turn, "it has a panel with an unknown turn"; LeftRight = "left-right", BottomTop = "bottom-top", None = "none");

/// How the machine cuts a panel that is turned.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Setup {
    /// One face, then the panel is turned over, then the other face: one file each, one datum.
    Two,
    /// Both openings from face 1, opening 2 as its mirror image, together with the panel's own outline: one file.
    One,
}

names!(Setup, "it has a panel with an unknown set-up"; Two = "two", One = "one");

/// The use of a panel edge.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Edge {
    /// Set against stops on the machine, and against marks or a fence on the work.
    Reference,
    Free,
}

names!(Edge, "it has a panel with an unknown edge"; Reference = "reference", Free = "free");

/// The four edges of a panel, named as seen on face 1.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Edges {
    pub left: Edge,
    pub right: Edge,
    pub bottom: Edge,
    pub top: Edge,
}

/// A sheet that carries openings, mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Panel {
    /// From 1.
    pub number: u32,
    pub width: f64,
    pub height: f64,
    pub turn: Turn,
    pub setup: Setup,
    pub edges: Edges,
}

impl Panel {
    /// Maps a point from the frame of one face to that of the other. The map is its own inverse.
    #[must_use]
    pub fn turned(&self) -> Affine {
        match self.turn {
            Turn::LeftRight => Affine::new([-1.0, 0.0, 0.0, 1.0, self.width, 0.0]),
            Turn::BottomTop => Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, self.height]),
            Turn::None => Affine::IDENTITY,
        }
    }
}

/// An opening of the template, in which the bush runs.
#[derive(Clone, Debug, PartialEq)]
pub struct Opening {
    /// `opening-1` and so on.
    pub id: String,
    /// Number of the outline that it serves.
    pub outline: usize,
    pub duty: Duty,
    pub panel: u32,
    /// 1 or 2: the face that is up when the opening is cut on the machine and used on the work.
    pub face: u8,
    /// Effective offset, mm.
    pub offset: f64,
    /// In the drawing frame.
    pub region: Certified<Region>,
    /// Maps the drawing frame to the frame of the face that is up.
    pub place: Affine,
}

impl Opening {
    /// The opening in the frame of the face that is up, as written to that face's files.
    #[must_use]
    pub fn on_face(&self) -> Certified<Region> {
        self.region.moved(self.place)
    }
}

/// One face of one panel with its openings, as passed to the writers. An opening of the other face is cut through this
/// face as its mirror image.
#[derive(Clone, Debug)]
pub struct Face<'a> {
    pub panel: &'a Panel,
    pub face: u8,
    pub openings: Vec<&'a Opening>,
}

impl Face<'_> {
    /// The panel's edges as seen on this face: turning the panel over swaps two of them.
    #[must_use]
    pub fn edges(&self) -> Edges {
        let Edges { left, right, bottom, top } = self.panel.edges;
        match self.panel.turn {
            Turn::LeftRight if self.face == 2 => Edges { left: right, right: left, bottom, top },
            Turn::BottomTop if self.face == 2 => Edges { left, right, bottom: top, top: bottom },
            _ => self.panel.edges,
        }
    }

    /// An opening in the frame of this face.
    #[must_use]
    pub fn seen(&self, o: &Opening) -> Certified<Region> {
        let own = o.on_face();
        if o.face == self.face { own } else { own.moved(self.panel.turned()) }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn turning_swaps_two_edges() {
        let edges = Edges { left: Edge::Reference, right: Edge::Free, bottom: Edge::Reference, top: Edge::Free };
        let panel = |turn| Panel { number: 1, width: 400.0, height: 300.0, turn, setup: Setup::Two, edges };
        let seen = |panel: &Panel, face| Face { panel, face, openings: vec![] }.edges();
        let p = panel(Turn::LeftRight);
        assert_eq!(seen(&p, 1), edges);
        assert_eq!(seen(&p, 2), Edges { left: Edge::Free, right: Edge::Reference, ..edges });
        let p = panel(Turn::BottomTop);
        assert_eq!(seen(&p, 2), Edges { bottom: Edge::Free, top: Edge::Reference, ..edges });
        assert_eq!(seen(&panel(Turn::None), 1), edges);
    }
}
