//! What callers use: operations on certified regions, and measures of regions.

pub mod apart;
mod attempts;
mod boolean;
pub mod farthest;
mod flat;
pub mod hull;
pub mod misfit;
mod morphology;
mod offset;

pub use boolean::{and, enclosed, minus, or};
pub use flat::flattened;
pub use morphology::{Reached, close, inset, open, outset};
pub use offset::{grow, shrink};
