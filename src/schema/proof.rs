//! The result of the proof.

use super::form::few;
use super::{OutlineId, Pt};
use serde::{Deserialize, Serialize};

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Proof {
    pub gap_min_mm: f64,
    pub gap_max_mm: f64,
    pub pieces: Vec<Fit>,
    pub outlines: Vec<Shape>,
}

/// An outline as SVG path data, mm, one path per ring. The y axis points *down*: each y is the negative of that in the
/// drawing frame. `letin prove` recalculates the pieces from these paths.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Shape {
    pub outline: OutlineId,
    #[serde(deserialize_with = "few")]
    pub drawn: Vec<String>,
    #[serde(deserialize_with = "few")]
    pub made: Vec<String>,
}

/// The two pieces of an outline, put together.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Fit {
    pub outline: OutlineId,
    pub recess_size_mm: Pt,
    pub inlay_size_mm: Pt,
    pub recess_area_mm2: f64,
    pub inlay_area_mm2: f64,
    pub gap_min_mm: f64,
    pub gap_min_at_mm: Pt,
    pub gap_max_mm: f64,
    pub gap_max_at_mm: Pt,
    pub recess_off_mm: f64,
    pub inlay_off_mm: f64,
    /// Greatest distance between the edge of the piece as cut and the outline as made, whether or not its corners are
    /// eased.
    pub recess_off_made_mm: f64,
    pub inlay_off_made_mm: f64,
    /// The worst place of each stretch where the inlay is too large.
    pub binds: Vec<Place>,
    /// The worst place of each stretch where the gap is too wide.
    pub gapes: Vec<Place>,
    /// The gap along each ring of the recess's edge, from the ring's first point. Between neighbouring places the gap is
    /// linear.
    pub joint: Vec<Run>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Run {
    pub length_mm: f64,
    pub along_mm: Vec<f64>,
    pub gap_mm: Vec<f64>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Place {
    pub mm: f64,
    pub at_mm: Pt,
}
