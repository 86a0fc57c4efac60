//! Plane geometry: regions of lines and arcs, through the library.
//!
//! * [`numbers`]: closed forms with their sources.
//! * [`laws`]: laws that hold for every shape.
//! * [`budget`]: a budget stops every operation, and promptly.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "../common/mod.rs"]
mod common;

mod budget;
mod laws;
mod numbers;
