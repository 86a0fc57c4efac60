//! A job: its settings, and the facts of its run.
//!
//! The settings come from the command line, the facts from the run. Reports and documents read the facts.

pub mod asides;
pub mod facts;
mod settings;

pub use settings::{Job, Kind, Out, PlugAndShoulder, Selection, Task, shown_by};
