//! Why a command has no answer, and how that is printed.
//!
//! In: an error. Out: a message and what to do, on standard error, or as JSON on standard output; status 2. An error in a
//! job file or a kit is shown at its place.

use super::args::GAP;
use super::meant::Meant;
use super::message::{diagnostic, in_words};
use super::values::example_of;
use super::{ExitStatus, stdout};
use crate::app::AppError;
use crate::kit::KitError;
use crate::kit::testpiece::ReadingError;
use crate::report::json;
use crate::shape::ShapeError;
use crate::shape::keys::KeysError;
use crate::text::terminal as safe;
use std::io::{self, Write};
use std::ops::Range;
use std::path::{Path, PathBuf};

/// The reason why a command has no answer.
#[derive(Debug)]
pub(super) struct Failure {
    /// Kebab-case, for programs.
    code: &'static str,
    pub message: String,
    /// What to do.
    pub help: Option<String>,
    /// The settings in question, by name; the first is the one to look at.
    pub settings: Vec<String>,
    at: Option<Box<At>>,
}

/// A place of a text file, in bytes.
#[derive(Debug)]
struct At {
    path: PathBuf,
    text: String,
    place: Range<usize>,
}

impl Failure {
    /// Wrong usage of `settings`. An empty `help` is none.
    pub(super) fn usage(settings: &[&str], message: impl ToString, help: impl Into<String>) -> Failure {
        let settings = settings.iter().map(ToString::to_string).collect();
        let help = Some(help.into()).filter(|h| !h.is_empty());
        Failure { code: "usage", message: message.to_string(), help, settings, at: None }
    }

    /// Two settings that contradict each other.
    pub(super) fn contradiction<T>(one: &str, other: &str, why: &str) -> Result<T, Failure> {
        let message = format!("--{one} and --{other} contradict each other: {why}");
        Err(Failure::usage(&[other, one], message, format!("Change or leave out --{one} or --{other}.")))
    }

    /// The failure at a place of a text file.
    pub(super) fn at(self, path: &Path, text: &str, place: Range<usize>) -> Failure {
        Failure { at: Some(Box::new(At { path: path.to_path_buf(), text: text.to_owned(), place })), ..self }
    }

    /// Prints it.
    pub(super) fn print(&self, as_json: bool) -> ExitStatus {
        let Some(at) = &self.at else {
            return no_verdict(self.code, &self.message, self.help.as_deref(), as_json);
        };
        let (name, text) = (safe(&at.path.to_string_lossy()), &at.text);
        if as_json {
            let line = text.get(..at.place.start).map_or(1, |before| before.matches('\n').count() + 1);
            let message = format!("{name}, line {line}: {}", self.message);
            return no_verdict(self.code, &message, self.help.as_deref(), true);
        }
        let here = miette::LabeledSpan::underline(at.place.clone());
        let diagnostic = diagnostic(self.code, &self.message, self.help.as_deref()).with_label(here);
        // Control characters could move the terminal's cursor.
        let shown: String = text.chars().map(|c| if c.is_control() && c != '\n' { ' ' } else { c }).collect();
        let report = miette::Report::new(diagnostic).with_source_code(miette::NamedSource::new(name, shown));
        let _ = writeln!(io::stderr(), "{report:?}");
        ExitStatus::NoVerdict
    }
}

impl From<AppError> for Failure {
    fn from(e: AppError) -> Failure {
        let usage = |message: String, help| Failure { code: e.code(), ..Failure::usage(&[], message, help) };
        match &e {
            AppError::Kit { path, text, source } => {
                usage(source.message.clone(), source.help.clone()).at(path, text, source.place.clone())
            }
            _ => usage(e.to_string(), e.help().map(String::from).unwrap_or_default()),
        }
    }
}

impl From<Meant> for Failure {
    fn from(m: Meant) -> Failure {
        Failure::usage(&[], m.message, m.help)
    }
}

impl From<serde_json::Error> for Failure {
    fn from(e: serde_json::Error) -> Failure {
        AppError::Document(e).into()
    }
}

impl From<KitError> for Failure {
    fn from(e: KitError) -> Failure {
        let help = match e {
            KitError::NotPositive { setting, .. } => format!("Give a larger --{setting}."),
            KitError::BushNotLarger { bush_setting, cutter_setting, .. } => {
                format!("Give a larger --{bush_setting} or a smaller --{cutter_setting}.")
            }
            KitError::NegativeGap(_) | KitError::GapTooWide { .. } => example_of("--gap", GAP.2),
        };
        Failure::usage(&e.settings(), e, help)
    }
}

impl From<ReadingError> for Failure {
    fn from(e: ReadingError) -> Failure {
        let help = match e {
            ReadingError::Apart { .. } => {
                "Measure again. If the readings stay apart, the opening is out of round or the cutter runs out of true."
            }
            _ => "--measured takes the widths of recess and inlay, both routed through the same opening: 46.07x34.19.",
        };
        Failure { code: "readings", ..Failure::usage(&[], e, help) }
    }
}

impl From<ShapeError> for Failure {
    fn from(e: ShapeError) -> Failure {
        let help = match e {
            ShapeError::NoSize { .. } => "For example: letin shape rectangle 80x50",
            ShapeError::Corner { .. } => "Give a smaller --corner.",
            ShapeError::Sides(_) => "For example: letin shape polygon 60 --sides 6",
            ShapeError::Waist { .. } => "Give a smaller --waist, or leave it out.",
        };
        Failure::usage(&[], e, help)
    }
}

impl From<KeysError> for Failure {
    fn from(e: KeysError) -> Failure {
        let help = match e {
            KeysError::NoSize { .. } => "For example: letin keys --length 600 --board 30",
            KeysError::Count(_) => "Give another --count, or leave it out.",
            KeysError::TooMany { .. } => "Give a smaller --count, or leave it out.",
            KeysError::Short { .. } => "Check --length, --board and --cutter. A smaller cutter allows a smaller key.",
            KeysError::TooLong { .. } => "Give --count, or plan the split in parts.",
        };
        Failure::usage(&[], e, help)
    }
}

/// Prints the answer of a command, or why there is none.
pub(super) fn answer(result: Result<Vec<u8>, Failure>, as_json: bool) -> ExitStatus {
    match result {
        Ok(bytes) => stdout::answer(&bytes, ExitStatus::Clean),
        Err(failure) => failure.print(as_json),
    }
}

/// An error without a verdict: as JSON on standard output, or in words on standard error.
fn no_verdict(code: &str, message: &str, help: Option<&str>, as_json: bool) -> ExitStatus {
    if as_json {
        if let Ok(bytes) = json::error(code, message, help) {
            return stdout::answer(&bytes, ExitStatus::NoVerdict);
        }
        return ExitStatus::NoVerdict;
    }
    in_words(code, message, help);
    ExitStatus::NoVerdict
}

/// The answer to a fault of the program itself.
#[must_use]
pub fn fault(message: &str) -> ExitStatus {
    let json = std::env::args_os().any(|a| a == "--json");
    no_verdict("internal", message, Some("letin itself is at fault. Please report it with the drawing."), json)
}
