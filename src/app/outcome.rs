//! What a run gives back.

use crate::job::facts::Facts;

/// The stage that writes files. Callers must not interrupt it.
pub const WRITING: &str = "writing the files";

/// The result of a run.
#[derive(Clone, Debug)]
pub struct Outcome {
    pub facts: Facts,
    /// The JSON document, with the bytes of `NAME.json`.
    pub document: Vec<u8>,
    /// Notes for people about files, one per line.
    pub notes: Vec<String>,
}
