//! The answers of `letin offsets`, `letin testpiece` and `letin keys`.

use super::{Pt, Tool, Version};
use crate::kit::{Pair, Passage};
use crate::names::names;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

names!(serde Passage, "unknown passage of a cutter"; Free, Tight, NotKnown, No);

/// The kit's table of offsets.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Offsets {
    pub schema: Version,
    pub tool: Tool,
    pub kit: String,
    pub offsets: Vec<Offset>,
    pub bounds: Gaps,
    pub pairs: Vec<Matching>,
    pub buy: Option<Buy>,
}

/// The bounds of the gap.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Gaps {
    pub gap_least_mm: f64,
    pub gap_most_mm: f64,
    pub gap_wanted_mm: f64,
}

/// A bush with a cutter: nominal sizes, and offsets from measured sizes where the kit has them.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Offset {
    pub bush_mm: f64,
    pub bush_measured_mm: Option<f64>,
    pub bore_mm: Option<f64>,
    pub cutter_mm: f64,
    pub cutter_measured_mm: Option<f64>,
    pub recess_offset_mm: f64,
    pub inlay_offset_mm: f64,
    /// Both sides together.
    pub recess_over_all_mm: f64,
    pub inlay_over_all_mm: f64,
    pub recess_offset_in: f64,
    pub inlay_offset_in: f64,
    pub recess_over_all_in: f64,
    pub inlay_over_all_in: f64,
    pub passes: Passage,
    pub shank_passes: Option<bool>,
}

/// A bush and a cutter.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct BushAndCutter {
    pub bush_mm: f64,
    pub cutter_mm: f64,
}

impl From<Pair> for BushAndCutter {
    fn from(p: Pair) -> BushAndCutter {
        BushAndCutter { bush_mm: p.bush, cutter_mm: p.cutter }
    }
}

/// Tools that let one opening serve both pieces.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Matching {
    pub recess: BushAndCutter,
    pub inlay: BushAndCutter,
    pub gap_mm: f64,
    pub offset_mm: f64,
    pub inside_radius_mm: f64,
    pub same_cutter: bool,
    pub bore_room_mm: Option<f64>,
}

/// The tool that would add most matching pairs.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Buy {
    pub kind: ToolKind,
    pub size_mm: f64,
    pub adds: usize,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum ToolKind {
    Bush,
    Cutter,
}

names!(ToolKind, "unknown kind of tool"; Bush = "bush", Cutter = "cutter");

/// The written test piece: the content of `testpiece.json`.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct TestPiece {
    pub schema: Version,
    pub tool: Tool,
    pub testpiece: TestPieceSizes,
    pub files: Vec<String>,
    /// SHA-256 of each file, lower-case hexadecimal.
    pub hashes: BTreeMap<String, String>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct TestPieceSizes {
    pub bush_mm: f64,
    pub cutter_mm: f64,
    pub opening_mm: f64,
    pub recess_expected_mm: f64,
    pub inlay_expected_mm: f64,
    pub panel_size_mm: Pt,
    pub openings: Vec<TestOpening>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct TestOpening {
    pub id: String,
    /// `round` or `square`.
    pub shape: String,
    pub size_mm: f64,
    pub middle_mm: Pt,
}

/// The result of a test piece's readings.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Correction {
    pub schema: Version,
    pub tool: Tool,
    pub called: BushAndCutter,
    pub before: BushAndCutter,
    pub after: BushAndCutter,
    pub spread_mm: f64,
    pub kit: Option<String>,
}

/// Keys across a split.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Keys {
    pub schema: Version,
    pub tool: Tool,
    pub file: String,
    pub split_mm: f64,
    pub board_mm: f64,
    pub cutter_mm: f64,
    /// Where the proportions come from.
    pub basis: String,
    pub size: KeySize,
    pub depth_mm: f64,
    pub depth_range_mm: Pt,
    pub spacing_mm: f64,
    pub between_mm: Option<f64>,
    pub grain: String,
    pub longer_for_cutter: bool,
    pub keys: Vec<Key>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct KeySize {
    pub length_mm: f64,
    pub width_mm: f64,
    pub waist_mm: f64,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Key {
    pub id: String,
    pub number: usize,
    /// Along the split, from its start.
    pub place_mm: f64,
}
