//! From outlines and tools to pieces and the openings that they need.

pub mod clearing;
pub mod ease;
pub mod hand;
mod piece;
pub mod start;

pub use piece::{Duty, Piece};
