//! Results besides the verdict: the chosen pair, other tools, the movement of the wood, a shouldered piece, and a job
//! that starts from an existing thing.

use super::{OutlineId, Pt};
use crate::template::start::{StageKind, Start};
use serde::{Deserialize, Serialize};

/// Why the matching pair was chosen.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Choice {
    pub errors: usize,
    pub warnings: usize,
    pub tried: usize,
    pub matching: usize,
}

/// The effect of other tools.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Suggestion {
    pub errors: usize,
    pub warnings: usize,
    pub tried: usize,
    pub sets: usize,
    pub best: Option<Set>,
    pub buy: Option<Set>,
    /// Number of sets tried with tools of the general kit; null if there was no search.
    pub buy_tried: Option<usize>,
    /// Number of all such sets; null if there was no search.
    pub buy_sets: Option<usize>,
    /// Nominal diameters of the tools in `buy` that the kit lacks.
    pub buy_bush_mm: Option<f64>,
    pub buy_cutter_mm: Option<f64>,
    pub scale: Option<f64>,
    pub scale_width_mm: Option<f64>,
}

/// A set of tools by nominal diameter, with the number of problems that it leaves.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Set {
    pub bush_mm: f64,
    pub cutter_mm: f64,
    pub inlay_bush_mm: f64,
    pub inlay_cutter_mm: f64,
    pub errors: usize,
    pub warnings: usize,
    /// Lost necks and gaps, counted among the errors and warnings.
    pub lost: usize,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Season {
    pub species: String,
    pub moisture_change_percent: f64,
    /// Change of the width and of the height of each inlay, mm.
    pub outlines: Vec<Pt>,
    /// The resulting gap per side, across the width and across the height, if the board does not move.
    pub gaps_mm: Vec<Pt>,
}

/// Figures of a shouldered piece.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Shouldered {
    pub plug_gap_mm: f64,
    pub common_axis: bool,
    pub waste_mm2: Option<f64>,
    pub left_mm2: Option<f64>,
    /// Distance from the finished plug to the edge of each clearing opening.
    pub clearing_openings_mm: Vec<f64>,
}

/// The start of a job from an existing thing.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Begun {
    pub from: Start,
    /// One opening serves both pieces: the existing one, or the one that the sheet keeps around the part.
    pub one_opening: bool,
    /// The gap per side, with the requested tools, if that opening served both pieces.
    pub one_opening_gap_mm: f64,
    pub steps: Vec<Stage>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Stage {
    pub outline: OutlineId,
    pub makes: StageKind,
    pub bush_mm: Option<f64>,
    pub cutter_mm: Option<f64>,
    pub size_mm: Pt,
    pub offset_mm: f64,
    /// False for a step that the job needs only if the pairs match.
    pub taken: bool,
}
