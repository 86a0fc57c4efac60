//! The groups of a plan.

use crate::report::canvas::Layer;

/// The groups of a plan, in drawing order.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum PlanGroup {
    KeepClear,
    Opening,
    FreeHand,
    FreeEdge,
    ReferenceEdge,
    Stops,
    TurnLine,
    CentreLine,
    Datum,
    Words,
}

impl Layer for PlanGroup {
    const NAMES: &'static [&'static str] = &[
        "KEEP_CLEAR",
        "OPENING",
        "FREE_HAND",
        "FREE_EDGE",
        "REFERENCE_EDGE",
        "STOPS",
        "TURN_LINE",
        "SIGHT_LINE",
        "DATUM",
        "WORDS",
    ];
    const WORDS: PlanGroup = PlanGroup::Words;

    fn index(self) -> usize {
        self as usize
    }
}
