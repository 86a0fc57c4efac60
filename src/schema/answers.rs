//! The answers of `letin outlines`, `letin prove` and `letin explain`, and the answer without a verdict.

use super::finding::Finding;
use super::job::Drawing;
use super::proof::Fit;
use super::{Bounds, Tool, Version};
use crate::check::Code;
use serde::{Deserialize, Serialize};

/// The lines of a drawing.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Listing {
    pub schema: Version,
    pub tool: Tool,
    pub drawing: Drawing,
    pub lines: Vec<Line>,
    pub findings: Vec<Finding>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Line {
    pub number: usize,
    pub source: String,
    pub kind: String,
    /// Line of the file.
    pub line: Option<usize>,
    pub layer: Option<String>,
    pub label: Option<String>,
    pub colour: Option<String>,
    pub closed: usize,
    pub open: usize,
    /// Number of the line around it.
    pub inside: Option<usize>,
    pub bounds_mm: Bounds,
    pub length_mm: f64,
    pub area_mm2: Option<f64>,
}

/// The results of `letin prove`.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Proved {
    pub schema: Version,
    pub documents: Vec<ProvedDocument>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct ProvedDocument {
    pub document: String,
    pub proved: bool,
    pub error: Option<ProofFailure>,
    pub notes: Vec<String>,
    pub warnings: Vec<String>,
    pub pieces: Vec<Fit>,
    pub findings: Vec<Finding>,
    /// The files that were read back.
    pub files: Vec<String>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct ProofFailure {
    pub code: String,
    pub message: String,
}

/// The answer without a verdict.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct NoVerdict {
    pub schema: Version,
    pub error: Failure,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Failure {
    pub code: String,
    pub message: String,
    pub help: Option<String>,
}

/// The page of a code.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Page {
    pub schema: Version,
    pub code: Code,
    /// In words.
    pub severity: String,
    /// In Markdown.
    pub page: String,
}

/// All codes.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Codes {
    pub schema: Version,
    pub codes: Vec<CodeSummary>,
}

#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct CodeSummary {
    pub code: Code,
    /// In words.
    pub severity: String,
    pub summary: String,
}
