//! The edges of a panel as seen on the face that is up.

use super::{Edges, Face, Turn};

impl Face<'_> {
    /// The panel's edges as seen on this face: turning the panel over makes two of them change places.
    #[must_use]
    pub fn edges(&self) -> Edges {
        let Edges { left, right, bottom, top } = self.panel.edges;
        match self.panel.turn {
            Turn::LeftRight if self.face == 2 => Edges { left: right, right: left, bottom, top },
            Turn::BottomTop if self.face == 2 => Edges { left, right, bottom: top, top: bottom },
            _ => self.panel.edges,
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::{Edge, Panel};
    use super::*;

    #[test]
    fn turning_swaps_two_edges() {
        let edges = Edges { left: Edge::Reference, right: Edge::Free, bottom: Edge::Reference, top: Edge::Free };
        let panel = |turn| Panel { number: 1, width: 400.0, height: 300.0, turn, edges };
        let seen = |panel: &Panel, face| Face { panel, face, openings: vec![] }.edges();
        let p = panel(Turn::LeftRight);
        assert_eq!(seen(&p, 1), edges);
        assert_eq!(seen(&p, 2), Edges { left: Edge::Free, right: Edge::Reference, ..edges });
        let p = panel(Turn::BottomTop);
        assert_eq!(seen(&p, 2), Edges { bottom: Edge::Free, top: Edge::Reference, ..edges });
        assert_eq!(seen(&panel(Turn::None), 1), edges);
    }
}
