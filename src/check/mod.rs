//! What will not come out, said before any wood is spoilt.
//!
//! In: what was read, the outlines, the pieces, the proof. Out: [`Finding`]s. Nothing here stops the work by itself:
//! whoever asked looks at [`Finding::blocks`]. "Could not be checked" is a finding of its own, never silence.

pub mod account;
pub mod bore;
pub mod corner;
pub mod depth;
pub mod difference;
mod finding;
pub mod making;
pub mod narrow;
pub mod outlines;
pub mod panel;
pub mod reading;
pub mod riding;
pub mod sharp_point;
pub mod shoulder;
mod signature;
pub mod start;
mod subject;

pub use finding::{Code, Finding, Severity, Way, numbered};
pub use subject::Subject;
use subject::{holes, island_count};
