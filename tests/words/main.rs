//! Words: the command line, its messages and pages.
//!
//! * [`command_line`]: options, exit status, messages, JSON.
//! * [`job_file`]: settings in a job file.
//! * [`outlines_command`]: `letin outlines`, and the choice of outlines.
//! * [`codes`]: the page of every code, and its bad and its good drawing.
//! * [`finding_words`]: messages of findings.
//! * [`plain_words`]: sentences, words and lines of every text.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

mod codes;
mod command_line;
mod finding_words;
mod job_file;
mod outlines_command;
mod plain_words;
