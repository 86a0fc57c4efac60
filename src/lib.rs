//! Template openings for inlaying wood in wood: read, checked, worked out, proved and written.
//!
//! The flow, each step a module, lower ones never importing higher ones: [`drawing`] reads a file to outlines,
//! `template` makes openings of outlines and tools, `proof` simulates the routing, `check` tells what will not
//! come out, `write` and `report` make files and words, `app` strings them together. [`geom`] is under all of it.

#[cfg(feature = "report")]
pub mod app;
pub mod budget;
pub mod check;
#[cfg(feature = "cli")]
pub mod cli;
pub mod drawing;
pub mod geom;
pub mod kit;
pub mod proof;
#[cfg(feature = "report")]
pub mod report;
pub mod shape;
pub mod template;
pub mod text;
mod threads;
pub mod tolerance;
pub mod units;
pub mod write;
