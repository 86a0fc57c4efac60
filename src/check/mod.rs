//! Checks that find problems before any wood is cut.
//!
//! In: the drawing as read, the outlines, the pieces, the proof. Out: [`Finding`]s. No check ends the run. The caller
//! looks at [`Finding::blocks`]. A place that could not be checked gets a finding too.

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
