//! The errors that leave a run without a verdict, and what to do about each.

use crate::budget::Stopped;
use crate::drawing::ReadError;
use crate::drawing::choose::{NameKind, NoSuchName};
use crate::geom::GeomError;
use crate::kit::file::KitFileError;
use crate::panel::shoulder::ShoulderError;
use crate::proof::ProofError;
use crate::text::alike;
use crate::text::terminal as safe;
use crate::write::WriteError;
use crate::write::store::StoreError;
use std::borrow::Cow;
use std::path::PathBuf;

#[derive(Debug, thiserror::Error)]
pub enum AppError {
    #[error("there is no file {}", safe(&path.to_string_lossy()))]
    NotFound { path: PathBuf },
    #[error("cannot read {}: {why}", safe(&path.to_string_lossy()))]
    Unreadable { path: PathBuf, why: String },
    #[error("cannot write {}: {why}", safe(&path.to_string_lossy()))]
    Unwritable { path: PathBuf, why: String },
    #[error("{} is {what} and is never overwritten", safe(&path.to_string_lossy()))]
    Kept { path: PathBuf, what: &'static str },
    #[error("{}: {source}", safe(&path.to_string_lossy()))]
    Read { path: PathBuf, source: ReadError },
    #[error("{}: {source}", safe(&path.to_string_lossy()))]
    Kit { path: PathBuf, text: String, source: Box<KitFileError> },
    #[error("no tools of the kit let one opening serve both pieces with a gap of 0 to {most} mm per side")]
    NoPair {
        most: f64,
        /// Whether one more tool of the general kit would help.
        buy: bool,
    },
    #[error("{} holds no closed outline{}", safe(&path.to_string_lossy()), safe(flat))]
    NoOutline {
        path: PathBuf,
        /// A clause about closed lines that enclose no area; may be empty.
        flat: String,
    },
    #[error("{} holds no document of letin (NAME.json)", safe(&path.to_string_lossy()))]
    NoDocument { path: PathBuf },
    #[error("{}: {why}", safe(&path.to_string_lossy()))]
    NothingToProve { path: PathBuf, why: &'static str },
    #[error("nothing in the drawing is called {}{}", safe(&.0.name), meant(.0))]
    NoSuchName(NoSuchName),
    #[error("--{setting} applies to SVG drawings only, and {} is a DXF drawing", safe(&path.to_string_lossy()))]
    OnlySvg { setting: &'static str, path: PathBuf },
    #[error("--{setting} {}: this outline has a hole, so it cannot be a plug or a shoulder", safe(name))]
    Holed { setting: &'static str, name: String },
    #[error(
        "--plug names {plugs} outlines and --shoulder {shoulders}: {}each plug must lie in a shoulder of its own",
        safe(why)
    )]
    NotPaired { plugs: usize, shoulders: usize, why: String },
    #[error(transparent)]
    Shoulder(ShoulderError),
    #[error(transparent)]
    Geom(#[from] GeomError),
    #[error(transparent)]
    Proof(#[from] ProofError),
    #[error(transparent)]
    Write(#[from] WriteError),
    #[error(transparent)]
    Store(#[from] StoreError),
    #[error("letin cannot write the report: {0}")]
    Document(#[from] serde_json::Error),
    #[error(transparent)]
    Stopped(#[from] Stopped),
}

/// Most names listed of a drawing.
const LISTED: usize = 10;

/// The names of the drawing that are similar to the unknown one, the most similar first.
fn similar(no: &NoSuchName) -> Vec<&str> {
    alike(&no.name, no.there.iter().map(|n| n.1.as_str()))
}

/// The name that was likely meant, as a question.
fn meant(no: &NoSuchName) -> String {
    similar(no).first().map(|name| format!(". Did you mean {}?", quoted(name))).unwrap_or_default()
}

/// The names of the drawing, the most similar first, and how to list them all.
fn names(no: &NoSuchName) -> String {
    let similar = similar(no);
    let rank = |name: &str| similar.iter().position(|s| *s == name).unwrap_or(similar.len());
    let mut there: Vec<&(NameKind, String)> = no.there.iter().collect();
    there.sort_by_key(|n| rank(&n.1));
    let shown = &there[..there.len().min(LISTED)];
    let mut lines = vec!["The drawing has".to_owned()];
    let mut kinds: Vec<NameKind> = Vec::new();
    for (kind, _) in shown {
        if !kinds.contains(kind) {
            kinds.push(*kind);
        }
    }
    for kind in kinds {
        let of_kind: Vec<String> = shown.iter().filter(|n| n.0 == kind).map(|n| quoted(&n.1)).collect();
        let what = match kind {
            NameKind::Layer => "layers",
            NameKind::Label => "labels",
            NameKind::Colour => "colours",
            NameKind::Id => "ids",
        };
        lines.push(format!("  {what}: {}", of_kind.join(", ")));
    }
    lines.push(match no.numbers {
        0 => "  no lines".to_owned(),
        1 => "  number: 1".to_owned(),
        most => format!("  numbers: 1 to {most}"),
    });
    let more = there.len() - shown.len();
    lines.push(match more {
        0 => "Capitals count. `letin outlines DRAWING` lists the lines with their names.".to_owned(),
        _ => format!("and {more} more names: `letin outlines DRAWING` lists them. Capitals count."),
    });
    lines.join("\n")
}

/// A name as it is typed, in quotation marks where it has a blank.
fn quoted(name: &str) -> String {
    let name = safe(name);
    if name.contains(' ') { format!("\"{name}\"") } else { name }
}

impl From<NoSuchName> for AppError {
    fn from(no: NoSuchName) -> AppError {
        AppError::NoSuchName(no)
    }
}

impl AppError {
    /// Kebab-case, for programs.
    #[must_use]
    pub fn code(&self) -> &'static str {
        match self {
            AppError::NotFound { .. } => "not-found",
            AppError::Unreadable { .. } => "unreadable",
            AppError::Unwritable { .. } => "cannot-write",
            AppError::Read { source, .. } => match source {
                ReadError::NotADrawing(_) => "not-a-drawing",
                ReadError::Empty => "empty",
                ReadError::Syntax { .. } => "syntax",
                ReadError::Refused { .. } => "refused",
                ReadError::Stopped(_) => "stopped",
            },
            AppError::Kit { .. } => "kit",
            AppError::NoPair { .. } => "no-pair",
            AppError::NoOutline { .. } => "no-outline",
            AppError::NoDocument { .. } => "no-document",
            AppError::NothingToProve { .. } => "nothing-to-prove",
            AppError::NoSuchName(_) => "no-such-name",
            AppError::OnlySvg { .. } => "usage",
            AppError::Geom(GeomError::Stopped(_)) | AppError::Stopped(_) => "stopped",
            AppError::Geom(_) => "geometry",
            AppError::Holed { .. } | AppError::NotPaired { .. } => "not-one",
            AppError::Shoulder(_) => "shoulder",
            AppError::Proof(_) => "proof",
            AppError::Write(_) | AppError::Document(_) => "internal",
            AppError::Store(StoreError::Stopped(_)) => "stopped",
            AppError::Kept { .. }
            | AppError::Store(
                StoreError::NotOurs { .. } | StoreError::IsInput { .. } | StoreError::OtherDrawing { .. },
            ) => "would-overwrite",
            AppError::Store(_) => "cannot-write",
        }
    }

    /// What to do, where the message does not say it.
    #[must_use]
    pub fn help(&self) -> Option<Cow<'static, str>> {
        Some(Cow::Borrowed(match self {
            AppError::NotFound { .. } => {
                "Check the name and the folder. Put a name with spaces in quotation marks. `letin --help` lists the commands."
            }
            AppError::Unreadable { .. } => "Give a plain file that you may read, unchanged since it was written.",
            AppError::Kept { .. } => "Give another name.",
            AppError::Unwritable { .. } => "Give another name, or replace an existing file with --force.",
            AppError::Read { source, .. } => match source {
                ReadError::NotADrawing(_) => "Save the drawing as SVG or DXF from the program that made it.",
                ReadError::Empty => "Check that you saved the right file, with the outline in it.",
                ReadError::Syntax { .. } => "The file is damaged or cut short there. Save or fetch it again.",
                ReadError::Refused { .. } => "Save the drawing again as plain SVG, or as DXF of release 2000.",
                ReadError::Stopped(_) => "Delete from the drawing what the job does not need.",
            },
            AppError::Kit { .. } => "A row is [[bush]] and below it outside = 20, or [[cutter]] and diameter = 6.",
            AppError::NoPair { buy: false, .. } => {
                "Leave out --pair to make two openings. No single tool of the general kit would help."
            }
            AppError::NoPair { .. } => "Leave out --pair to make two openings. `letin offsets` says what tool to buy.",
            AppError::NoOutline { .. } => {
                "Draw the outline as a closed line. Convert text, pictures and clones to paths first."
            }
            AppError::OnlySvg { setting, .. } => {
                return Some(format!("Leave out --{setting}. --unit sets the unit of a DXF drawing.").into());
            }
            AppError::NoDocument { .. } => "Give the folder that letin make wrote, such as letin prove key-letin.",
            AppError::NoSuchName(no) => return Some(names(no).into()),
            AppError::Geom(GeomError::TooFar) => "Move the drawing to the origin, and check its unit.",
            AppError::Holed { .. } | AppError::NotPaired { .. } => {
                "`letin outlines DRAWING` lists the outlines with their numbers."
            }
            AppError::Shoulder(_) => {
                "Draw the shoulder around the plug, or exchange the names of --plug and --shoulder."
            }
            AppError::Write(_) | AppError::Document(_) | AppError::Proof(_) => {
                "letin itself is at fault. Please report it with the drawing."
            }
            AppError::NothingToProve { .. } | AppError::Geom(_) | AppError::Store(_) | AppError::Stopped(_) => {
                return None;
            }
        }))
    }
}
