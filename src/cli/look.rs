//! `letin outlines`: what a drawing holds.

use super::args::OutlinesArgs;
use super::watch::watched;
use super::{ExitStatus, convert, no_verdict};
use crate::app::{self, AppError, Out};
use crate::report::listing;
use crate::write::WriteError;
use std::io::{self, Write};

/// Lists, and draws if asked to. The list is no verdict, so whatever was found the status is 0.
pub(super) fn outlines(asked: &OutlinesArgs) -> ExitStatus {
    let read = match convert::reading(&asked.reading) {
        Ok(read) => read,
        Err(e) => return no_verdict(e.code(), &e.to_string(), Some("see letin outlines --help"), asked.json),
    };
    let out = Out::plain(None, asked.force, false);
    let told = || -> Result<Vec<u8>, AppError> {
        if let Some(to) = &asked.picture {
            app::may_draw(to, &asked.drawing, &out)?;
        }
        let list = watched(|b| app::look(&asked.drawing, &read, asked.reading.mirror, b))?;
        if let Some(to) = &asked.picture {
            app::save_text(to, &listing::picture(&list).map_err(WriteError::from)?, &out)?;
        }
        Ok(if asked.json { listing::document(&list)? } else { listing::report(&list, asked.all).into_bytes() })
    };
    match told() {
        Ok(text) => {
            // Whoever reads may stop reading: no reason to fail.
            let _ = io::stdout().write_all(&text);
            ExitStatus::Clean
        }
        Err(e) => no_verdict(e.code(), &e.to_string(), e.help(), asked.json),
    }
}
