//! Values that several documents have: points, boxes, and the program that wrote them.

use serde::{Deserialize, Serialize};

pub type Pt = [f64; 2];
pub type Bounds = [f64; 4];

/// The program that wrote a document.
#[derive(Clone, Debug, Serialize, Deserialize)]
#[cfg_attr(test, derive(schemars::JsonSchema))]
pub struct Tool {
    pub name: String,
    pub version: String,
}

impl Tool {
    /// This program.
    #[must_use]
    pub fn own() -> Tool {
        Tool { name: env!("CARGO_PKG_NAME").to_owned(), version: env!("CARGO_PKG_VERSION").to_owned() }
    }
}
