//! Checks that find problems before any wood is cut.
//!
//! In: the drawing as read, the outlines, the pieces, the proof. Out: [`Finding`]s. No check ends the run. The caller
//! looks at [`Finding::blocks`]. A place that could not be checked gets a finding too.

pub mod account;
pub mod base_tips;
pub mod bush_bore;
pub mod bush_depth;
pub mod clamp_room;
pub mod closed_gap;
pub mod corner;
pub mod cutter_reach;
pub mod difference;
mod finding;
pub mod fit;
pub mod free_hand;
pub mod hand;
pub mod ledge;
pub mod narrow;
pub mod outlines;
pub mod panel;
pub mod pass_depth;
pub mod path;
pub mod reading;
pub mod registry;
pub mod sharp_point;
mod signature;
pub mod source;
pub mod start;
mod subject;
pub mod template_corner;
pub mod unknown;

pub use finding::{Code, Finding, Severity, Way, numbered};
pub use subject::Subject;
use subject::{holes, island_count};
