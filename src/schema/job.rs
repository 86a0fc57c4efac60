//! The document of a run: the output of `--json` and the content of `NAME.json`.

use super::asides::{Begun, Choice, Season, Shouldered, Suggestion};
use super::bench::{Registration, Router, Step};
use super::finding::Finding;
use super::form::few;
use super::proof::Proof;
use super::{Bounds, OutlineId, Pt, Tool, Version};
use crate::drawing::Format;
use crate::names::names;
use crate::panel::shoulder::Role;
use crate::panel::{Edges, Setup, Turn};
use crate::template::Duty;
use crate::template::ease::CornerMode;
use crate::units::FileUnit;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Document {
    pub schema: Version,
    pub tool: Tool,
    pub drawing: Drawing,
    pub tools: Tools,
    pub corners: Corners,
    pub outlines: Vec<Outline>,
    pub openings: Vec<Opening>,
    pub panels: Vec<Panel>,
    pub router: Router,
    pub steps: Vec<Step>,
    pub registration: Option<Registration>,
    /// The verdict in words.
    pub verdict: String,
    #[serde(deserialize_with = "few")]
    pub findings: Vec<Finding>,
    pub proof: Option<Proof>,
    pub writing: Writing,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub pair: Option<Choice>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub suggestion: Option<Suggestion>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub season: Option<Season>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub shouldered: Option<Shouldered>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub start: Option<Begun>,
    #[serde(deserialize_with = "few")]
    pub files: Vec<String>,
    /// SHA-256 of each file, lower-case hexadecimal.
    pub hashes: BTreeMap<String, String>,
    /// Name of a job that follows another, such as `island-1`; null for the first job.
    pub part: Option<String>,
    /// Jobs that follow. Each has a document of its own. The document of the first job lists the files of all jobs.
    pub then: Vec<Document>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Drawing {
    pub path: String,
    pub format: Format,
    pub unit: String,
    pub unit_source: String,
    pub size_mm: Option<Pt>,
    /// The pieces are the mirror image of the drawing. All places refer to the mirror image.
    pub mirrored: bool,
    /// Path of the drawing relative to the folder of the files; only in the first job's document of `make`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub from_folder: Option<String>,
    /// SHA-256 of the drawing; only in the first job's document of `make`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub sha256: Option<String>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Tools {
    /// Null if no recess is routed.
    pub recess: Option<Pair>,
    /// Null if no inlay is routed.
    pub inlay: Option<Pair>,
    pub gap_mm: f64,
    pub gap_wanted_mm: f64,
    /// True if all diameters are measured.
    pub measured: bool,
    pub sensitivity: Vec<Sensitivity>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Pair {
    pub bush_mm: f64,
    pub cutter_mm: f64,
    pub offset_mm: f64,
    /// Nominal diameters; present only if the calculation uses a measured diameter that differs.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub bush_nominal_mm: Option<f64>,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub cutter_nominal_mm: Option<f64>,
}

/// The change of the gap per side if a part is 0.1 mm larger than calculated.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Sensitivity {
    pub part: String,
    pub gap_mm: f64,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Corners {
    pub mode: CornerMode,
    pub inside_radius_mm: Option<f64>,
    pub outside_radius_mm: Option<f64>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Outline {
    pub id: OutlineId,
    pub number: usize,
    pub source: String,
    pub layer: Option<String>,
    /// Null for flush pieces.
    pub role: Option<Role>,
    pub area_mm2: f64,
    pub perimeter_mm: f64,
    pub bounds_mm: Option<Bounds>,
    pub holes: usize,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Opening {
    pub id: String,
    pub outline: OutlineId,
    pub duty: Duty,
    pub panel: u32,
    pub face: u8,
    pub offset_mm: f64,
    pub area_mm2: f64,
    pub perimeter_mm: f64,
    pub size_mm: Option<Pt>,
    /// The bounding box that the CAM program must show after import. In the frame of the face that is cut.
    pub reads_mm: Option<Bounds>,
    pub lines: usize,
    pub arcs: usize,
    /// The matrix `[a, b, c, d, e, f]` from the drawing frame to the frame of the face that is up.
    pub place: [f64; 6],
    /// Width and height of the centre that comes loose on the machine; null if the cutter leaves nothing.
    pub loose_mm: Option<Pt>,
    #[serde(deserialize_with = "few")]
    pub files: Vec<String>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Panel {
    pub panel: u32,
    pub size_mm: Pt,
    pub turn: Turn,
    /// In two set-ups each face has a file. In one set-up the file of face 1 has all openings; those of face 2 are
    /// mirrored in it.
    pub setup: Setup,
    /// The centre mark, in the frame of whichever face is up.
    pub common_mm: Option<Pt>,
    pub edges: Edges,
    /// Points of the machine that touch the reference edges, in the face frame. They are the same for both faces.
    pub stops_mm: Vec<Pt>,
    /// Length of each of the two diagonals if the panel is square-cornered.
    pub diagonal_mm: f64,
    /// For each face, the area where no clamp, stop or screw may be.
    pub keep_clear: Vec<KeepClear>,
}

/// The area swept by the router's base, limited to the panel.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct KeepClear {
    pub face: u8,
    pub area_mm2: f64,
    pub bounds_mm: Bounds,
}

/// The format of the files for the machine.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Writing {
    pub unit: Option<FileUnit>,
    pub dxf: Option<Release>,
    /// Arcs are replaced by chords within this tolerance; null keeps arcs.
    pub flatten_mm: Option<f64>,
}

/// Release of the DXF files.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Release {
    R2000,
    R12,
}

names!(Release, "unknown release of the DXF files"; R2000 = "2000", R12 = "r12");
