//! The JSON documents, schema 1: one type for each JSON object, written and read by the same type.
//!
//! Lengths are in mm, areas in mm², points `[x, y]`, boxes `[left, bottom, right, top]`; the documents have no angles.
//! Keys stand in the order of the fields. Values that do not apply are null. Keys may be added, never renamed: an added
//! key is an `Option` or has a default, so that earlier documents are still read. Unknown keys are skipped.
//!
//! [`job`] is `NAME.json`; [`mod@bench`], [`proof`], [`asides`] and [`finding`] are its parts. [`kit`] and [`answers`] are
//! the answers of the other commands. `shared/letin.schema.json` is the JSON Schema of them all.

pub mod answers;
pub mod asides;
pub mod bench;
pub mod finding;
mod form;
pub mod job;
pub mod kit;
pub mod proof;
#[cfg(test)]
mod tests;
mod value;

pub use form::{OutlineId, Version, bytes, bytes_by_name};
pub use job::{Document, Release};
pub use value::{Bounds, Pt, Tool};
