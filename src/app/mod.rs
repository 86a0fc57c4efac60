//! The pipeline from a drawing to files.
//!
//! In: a checked [`Job`]. Out: [`Facts`](crate::job::facts::Facts), and with `make` the files. Only this module and
//! [`crate::write::store`] access files. [`run()`] is the whole path from a drawing to proved files.

mod error;
mod files;
pub mod kits;
mod outcome;
mod place;
pub mod prove;
mod read;
mod run;
mod save;
pub mod testpiece;

use crate::job::shown_by;
pub use crate::job::{Job, Kind, Out, PlugAndShoulder, Selection, Task};
pub use error::AppError;

pub use outcome::{Outcome, WRITING};
pub use place::{is_output, outside, relative};
pub use read::read_text;
pub use run::run;
#[cfg(test)]
pub(crate) use run::{Prover, run_proved_by};
pub use save::{Input, may_save, save};

use crate::budget::Budget;
use crate::check::{numbered, reading};
use crate::drawing::found::found;
use crate::drawing::join::join;
use crate::drawing::{ReadSettings, needles};
use crate::report::listing::Listing;
use crate::text::Show;
use std::path::Path;

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
    let drawing = read::read(path, read, budget)?.0;
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
