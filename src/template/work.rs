//! The depth and the passes of each step, and the steps of a flush job.
//!
//! A flush job makes an inlay without a shoulder. In: openings, tools, and the thicknesses and depths that are known, mm.
//! Out: steps, and for each the depth of cut, the passes, and how far the cutter extends below the base. A figure that
//! depends on an unknown one is `None`. No errors. Common practice, no source: a hand-held pass is no deeper than half
//! the cutter's diameter.

use super::hand::{Corner, Purpose, Step, Work};
use super::{Duty, Opening};
use crate::kit::{Pair, Tools};
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

/// The steps of a flush job: first the recesses, then the inlays. Each is set by the bottom and left edges.
#[must_use]
pub fn flush(openings: &[Opening], tools: &Tools, depths: &Depths) -> Vec<Step> {
    let of = |work: Work, own: Duty, pair: Pair| {
        let board = work == Work::Board;
        openings.iter().filter(move |o| o.duty == own || o.duty == Duty::Both).map(move |o| Step {
            work,
            panel: o.panel,
            face_up: o.face,
            corner: Corner::BOTTOM_LEFT,
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
            corner: Corner::BOTTOM_LEFT,
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
