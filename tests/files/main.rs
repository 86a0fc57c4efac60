//! Written files: what they hold, their proof, and what happens on disk.
//!
//! * [`samples`]: the report of every sample, its files, and the document about them.
//! * [`determinism`]: equal bytes on any number of threads and processes.
//! * [`written_numbers`]: rounded numbers, and both files of a face.
//! * [`gap_picture`]: the picture of the fit.
//! * [`disk`]: files that stay, simultaneous and interrupted runs, odd names, output that cannot be written.
//!
//! `letin prove`:
//! * [`prove`]: files as written and edited.
//! * [`prove_beside`]: extra content beside the openings.
//! * [`prove_saved`]: files that other programs saved.
//! * [`prove_shouldered`]: a plug with a shoulder.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "../common/mod.rs"]
mod common;
#[path = "../disk/mod.rs"]
mod disk;
/// Rewrites files as other programs write them.
#[path = "../saved/mod.rs"]
mod saved;

mod determinism;
mod gap_picture;
mod prove;
mod prove_beside;
mod prove_saved;
mod prove_shouldered;
mod samples;
mod written_numbers;
