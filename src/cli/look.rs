//! `letin outlines`: lists what a drawing holds.

use super::args::OutlinesArgs;
use super::watch::watched;
use super::{ExitStatus, convert, no_verdict, stdout};
use crate::app::{self, AppError, Input, Out, WRITING};
use crate::report::listing;
use crate::write::WriteError;

/// Prints the list, and writes the picture if asked to. A list is no verdict, so its status is 0 whatever it holds.
pub(super) fn outlines(asked: &OutlinesArgs) -> ExitStatus {
    let read = match convert::reading(&asked.reading) {
        Ok(read) => read,
        Err(e) => return no_verdict(e.code(), &e.to_string(), e.help().as_deref(), asked.json),
    };
    let out = Out::plain(None, asked.force, false);
    let drawing = [Input { path: &asked.drawing, what: "the drawing" }];
    let listed = watched(|budget| -> Result<Vec<u8>, AppError> {
        if let Some(to) = &asked.picture {
            app::may_save(to, &drawing, &out)?;
        }
        let list = app::look(&asked.drawing, &read, asked.reading.mirror, asked.show.map(convert::shown), budget)?;
        if let Some(to) = &asked.picture {
            let picture = listing::picture(&list).map_err(WriteError::from)?;
            budget.check()?;
            budget.enter(WRITING);
            app::save(to, picture.as_bytes(), &drawing, &out)?;
        }
        Ok(if asked.json { listing::document(&list)? } else { listing::report(&list, asked.all).into_bytes() })
    });
    match listed {
        Ok(text) => stdout::answer(&text, ExitStatus::Clean),
        Err(e) => no_verdict(e.code(), &e.to_string(), e.help().as_deref(), asked.json),
    }
}
