//! The steps of the work with the template.
//!
//! In: panels, openings, tools, and the thicknesses and depths that are known, mm. Out: steps. Each names its opening, the
//! face that is up, the edges on the marks, and its tools. Each gives the map from the drawing to the work, the depth of
//! cut, the passes, and how far the cutter extends below the base. A figure that depends on an unknown one is `None`. No
//! errors. Common practice, no source: a hand-held pass is no deeper than half the cutter's diameter.
//!
//! The steps of a flush job are listed here, those of a shouldered piece in [`crate::panel::shoulder`]. On a panel that serves
//! both pieces of a shouldered inlay, each opening is used with its other face up for the inlay. It is then set by the
//! other of the two edges that change places.

use crate::geom::Affine;
use crate::kit::{Pair, Tools};
use crate::names::names;
use crate::panel::{Opening, Panel, Turn};
use crate::template::Duty;
use crate::tolerance::TYPED;

/// Depth of a through cut in the spoil board, mm. Common practice, no source.
pub const INTO_SPOIL: f64 = 0.5;
/// Thicknesses and depths that are known, mm.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Depths {
    pub board: Option<f64>,
    /// Thickness of the wood for the inlay.
    pub stock: Option<f64>,
    pub plug_height: Option<f64>,
    /// Depth of the recess, or of the rebate for a shoulder.
    pub recess: Option<f64>,
}

impl Depths {
    /// Thickness of the shoulder, mm.
    #[must_use]
    pub fn shoulder(&self) -> Option<f64> {
        Some(self.stock? - self.plug_height?)
    }

    /// Depth of the rebate for a shoulder, mm: the thickness of the shoulder unless given.
    #[must_use]
    pub fn rebate(&self) -> Option<f64> {
        self.recess.or(self.shoulder())
    }

    /// Whether the recess of a flush job is known to go through the board. Its middle then drops out.
    #[must_use]
    pub fn through(&self) -> bool {
        self.recess.zip(self.board).is_some_and(|(recess, board)| recess >= board - TYPED)
    }
}

/// The workpiece that is routed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Work {
    Board,
    Inlay,
}

names!(Work, "it has a step for an unknown piece"; Board = "board", Inlay = "inlay");

/// The purpose of a step.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Purpose {
    /// The finished line.
    Line,
    /// Waste only.
    Clearing,
}

names!(Purpose, "it has a step with an unknown purpose"; Line = "line", Clearing = "clearing");

/// The two edges of the panel that are set to the marks, as seen on the face that is up.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct PanelCorner {
    /// Right, else left.
    pub right: bool,
    /// Top, else bottom.
    pub top: bool,
}

impl PanelCorner {
    pub const BOTTOM_LEFT: PanelCorner = PanelCorner { right: false, top: false };

    #[must_use]
    pub fn names(self) -> [&'static str; 2] {
        [if self.right { "right" } else { "left" }, if self.top { "top" } else { "bottom" }]
    }

    /// The corner for the inlay on a panel that also serves the board.
    #[must_use]
    pub fn for_insert(turn: Turn) -> PanelCorner {
        PanelCorner { right: turn == Turn::LeftRight, top: turn == Turn::BottomTop }
    }
}

/// One placement of the template on a piece and one run of the router.
#[derive(Clone, Debug, PartialEq)]
pub struct Step {
    pub work: Work,
    pub panel: u32,
    pub face_up: u8,
    pub corner: PanelCorner,
    /// Id of the opening.
    pub opening: String,
    pub outline: usize,
    pub purpose: Purpose,
    pub pair: Pair,
    /// From the face of the wood, mm; `None` if not given.
    pub depth: Option<f64>,
    /// Cuts right through the wood.
    pub through: bool,
    /// The middle is cleared too, so the bush goes everywhere in its opening; else it runs along the edge.
    pub whole: bool,
}

/// The steps of a flush job: first the recesses, then the inlays. Each is set by the bottom and left edges.
#[must_use]
pub fn flush(openings: &[Opening], tools: &Tools, depths: &Depths) -> Vec<Step> {
    let of = |work: Work, own: Duty, pair: Pair| {
        let board = work == Work::Board;
        openings.iter().filter(move |o| o.duty == own || o.duty == Duty::Both).map(move |o| Step {
            work,
            panel: o.panel,
            face_up: o.face,
            corner: PanelCorner::BOTTOM_LEFT,
            opening: o.id.clone(),
            outline: o.outline,
            purpose: Purpose::Line,
            pair,
            depth: if board { depths.recess } else { depths.stock },
            through: !board || depths.through(),
            whole: board && !depths.through(),
        })
    };
    of(Work::Board, Duty::Recess, tools.recess).chain(of(Work::Inlay, Duty::Inlay, tools.inlay)).collect()
}

impl Step {
    /// Maps the drawing frame to the frame of the work: mm, x right, y up, origin where the marks of the two edges meet.
    /// `face` is the face of the step's opening, and `place` maps the drawing frame to it.
    #[must_use]
    pub fn on_work(&self, panel: &Panel, face: u8, place: Affine) -> Affine {
        let seen = if self.face_up == face { place } else { panel.turned() * place };
        let x = if self.corner.right { -panel.width } else { 0.0 };
        let y = if self.corner.top { -panel.height } else { 0.0 };
        Affine::translate((x, y)) * seen
    }

    /// From the face of the wood to the end of the cut, mm, including the depth in the spoil board.
    #[must_use]
    pub fn cut(&self) -> Option<f64> {
        Some(self.depth? + if self.through { INTO_SPOIL } else { 0.0 })
    }

    /// How far the cutter extends below the base in the last pass, mm, with a template of this thickness.
    #[must_use]
    pub fn below_base(&self, thickness: f64) -> Option<f64> {
        Some(self.cut()? + thickness)
    }

    /// Greatest depth of a pass, mm: `set`, else half the cutter's diameter.
    #[must_use]
    pub fn deepest_pass(&self, set: Option<f64>) -> f64 {
        set.unwrap_or(self.pair.cutter / 2.0)
    }

    /// Number of equal passes.
    #[must_use]
    pub fn passes(&self, set: Option<f64>) -> Option<u32> {
        let n = ((self.cut()? - TYPED) / self.deepest_pass(set)).ceil();
        // Bounded: no cut is 10 m deep, and no pass is shallower than 0.01 mm.
        Some(n.clamp(1.0, 1e6) as u32)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn step(depth: Option<f64>, through: bool) -> Step {
        Step {
            work: Work::Inlay,
            panel: 1,
            face_up: 1,
            corner: PanelCorner::BOTTOM_LEFT,
            opening: "opening-1".to_owned(),
            outline: 1,
            purpose: Purpose::Line,
            pair: Pair { bush: 20.0, cutter: 6.0 },
            depth,
            through,
            whole: false,
        }
    }

    #[test]
    fn passes_by_hand() {
        // 9 deep in passes of 3; slightly deeper needs one more; through 24 and 0.5 into the spoil board.
        assert_eq!(step(Some(9.0), false).passes(None), Some(3));
        assert_eq!(step(Some(9.01), false).passes(None), Some(4));
        assert_eq!(step(Some(24.0), true).passes(None), Some(9));
        assert_eq!(step(Some(24.0), true).passes(Some(6.0)), Some(5));
        assert_eq!(step(Some(1.0), false).passes(None), Some(1));
        assert_eq!(step(None, true).passes(None), None);
        assert_eq!(step(Some(24.0), true).below_base(9.0), Some(33.5));
        assert_eq!(step(Some(24.0), false).below_base(9.0), Some(33.0));
    }

    #[test]
    fn a_recess_as_deep_as_the_board_goes_through() {
        let depths = |board, recess| Depths { board, recess, ..Depths::default() };
        assert!(depths(Some(20.0), Some(20.0)).through());
        assert!(!depths(Some(20.0), Some(19.7)).through());
        assert!(!depths(None, Some(19.7)).through() && !depths(Some(20.0), None).through());
    }
}
