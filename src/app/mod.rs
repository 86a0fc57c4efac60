//! The pipeline from a drawing to files.
//!
//! In: a checked [`Job`]. Out: [`Facts`], and with `make` the files. Only this module and [`crate::write::store`] access
//! files. A faulty drawing gives findings. [`AppError`] means that the run gives no answer.

mod error;
mod files;
pub mod kits;
mod place;
pub mod prove;
mod run;
mod save;
pub mod testpiece;

use crate::job::shown_by;
pub use crate::job::{Job, Kind, Out, PlugAndShoulder, Selection, Task};
pub use error::AppError;
pub use files::{is_output, read_text};
pub use place::{outside, relative};
pub use run::run;
#[cfg(test)]
pub(crate) use run::{Prover, run_proved_by};
pub use save::{Input, may_save, save};

use crate::budget::Budget;
use crate::check::{numbered, reading};
use crate::drawing::found::found;
use crate::drawing::join::join;
use crate::drawing::{ReadSettings, needles};
use crate::job::facts::Facts;
use crate::report::listing::Listing;
use crate::text::Show;
use std::path::Path;

/// The result of a run.
#[derive(Clone, Debug)]
pub struct Outcome {
    pub facts: Facts,
    /// The JSON document, with the bytes of `NAME.json`.
    pub document: Vec<u8>,
    /// Notes for people about files, one per line.
    pub notes: Vec<String>,
}

/// Reads the drawing or its mirror image, joins its lines and lists them. The numbers count all lines, selected or not.
///
/// # Errors
/// [`AppError`] for a drawing that cannot be read.
pub fn look(
    path: &Path,
    read: &ReadSettings,
    mirror: bool,
    show: Option<Show>,
    budget: &Budget,
) -> Result<Listing, AppError> {
    budget.enter("reading the drawing");
    let drawing = files::read(path, read, budget)?.0;
    budget.enter("listing its lines");
    let mut drawing = if mirror { drawing.mirrored() } else { drawing };
    let (shapes, remarks) = join(std::mem::take(&mut drawing.shapes), read.join, budget);
    budget.check()?;
    let needles = needles::cleaned(shapes.clone()).1;
    drawing.shapes = shapes;
    drawing.remarks.extend(remarks.into_iter().chain(needles));
    let found = found(&drawing.shapes);
    let closed = found.iter().any(|f| f.closed > 0);
    let findings = numbered(reading::findings(&drawing, closed), &[]);
    let show = show.unwrap_or_else(|| shown_by(&drawing));
    Ok(Listing { path: path.to_string_lossy().into_owned(), drawing, show, found, findings })
}

/// The stage that writes files. Callers must not interrupt it.
pub const WRITING: &str = "writing the files";
