//! A message to the maker.

use super::{Bounds, OutlineId, Pt};
use crate::check::{Code, Severity};
use serde::{Deserialize, Serialize};

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Finding {
    pub mark: usize,
    pub code: Code,
    pub severity: Severity,
    pub outline: Option<OutlineId>,
    pub at_mm: Option<Pt>,
    pub measured_mm: Option<f64>,
    pub needed_mm: Option<f64>,
    pub short_mm: Option<f64>,
    pub off_mm: Option<f64>,
    /// Box of the region where piece and drawing differ.
    pub region_mm: Option<Bounds>,
    pub area_mm2: Option<f64>,
    pub message: String,
    pub help: String,
    /// Settings that would remove the finding, each with its limit.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    pub ways: Vec<Way>,
    /// Enlarging the drawing by this factor removes the finding. The program has tried it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub scale: Option<f64>,
    #[serde(default, skip_serializing_if = "std::ops::Not::not")]
    pub accepted: bool,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Way {
    pub setting: String,
    pub at_most_mm: f64,
}
