//! Edges and openings of a panel as seen on the face that is up.

use super::{Edges, Face, Opening, Turn};
use crate::geom::{Certified, Region};

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
    use super::super::{Edge, Panel, Setup};
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
