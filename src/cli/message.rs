//! A message on standard error, with what to do.

use crate::text::wrapped;
use std::io::{self, Write};

/// Prints an error in words.
pub(super) fn in_words(code: &str, message: &str, help: Option<&str>) {
    let _ = writeln!(io::stderr(), "{:?}", miette::Report::new(diagnostic(code, message, help)));
}

/// Longest line of an error, characters, without the mark before it.
const WIDEST: usize = 88;

/// An error with its lines wrapped at blanks only, so that options stay whole.
pub(super) fn diagnostic(code: &str, message: &str, help: Option<&str>) -> miette::MietteDiagnostic {
    // The first call sets the hook; later calls have no effect.
    let _ = miette::set_hook(Box::new(|_| Box::new(miette::MietteHandlerOpts::new().wrap_lines(false).build())));
    let lines = |text: &str| {
        let line = |l: &str| {
            let margin = " ".repeat(l.len() - l.trim_start().len());
            wrapped(l, &margin, &margin, WIDEST)
        };
        text.lines().map(line).collect::<String>().trim_end().to_owned()
    };
    let diagnostic = miette::MietteDiagnostic::new(lines(message)).with_code(code);
    match help {
        Some(help) => diagnostic.with_help(lines(help)),
        None => diagnostic,
    }
}
