//! `letin outlines`: lists what a drawing holds.

use super::ExitStatus;
use super::args::OutlinesArgs;
use super::convert::read_settings;
use super::failure::answer;
use super::watch::watched;
use crate::app::{self, AppError, Input, Out, WRITING};
use crate::budget::Budget;
use crate::drawing::ReadSettings;
use crate::report::listing;
use crate::write::WriteError;

/// Prints the list, and writes the picture if asked to. A list is no verdict, so its status is 0 whatever it holds.
pub(super) fn outlines(asked: &OutlinesArgs) -> ExitStatus {
    answer(watched(|budget| Ok(list(asked, &read_settings(&asked.reading)?, budget)?)), asked.json)
}

fn list(asked: &OutlinesArgs, read: &ReadSettings, budget: &Budget) -> Result<Vec<u8>, AppError> {
    let out = Out::plain(None, asked.force, false);
    let drawing = [Input { path: &asked.drawing, what: "the drawing" }];
    if let Some(to) = &asked.picture {
        app::may_save(to, &drawing, &out)?;
    }
    let list = app::look(&asked.drawing, read, asked.reading.mirror, asked.show, budget)?;
    if let Some(to) = &asked.picture {
        let picture = listing::picture(&list).map_err(WriteError::from)?;
        budget.check()?;
        budget.enter(WRITING);
        app::save(to, picture.as_bytes(), &drawing, &out)?;
    }
    Ok(if asked.json { listing::document(&list)? } else { listing::report(&list, asked.all).into_bytes() })
}
