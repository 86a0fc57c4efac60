//! No verdict: why, and the way out.

use crate::budget::Stopped;
use crate::drawing::ReadError;
use crate::drawing::choose::NoSuchName;
use crate::geom::GeomError;
use crate::kit::file::KitFileError;
use crate::proof::ProofError;
use crate::proof::shoulder::ShoulderProofError;
use crate::template::shoulder::ShoulderError;
use crate::text::alike;
use crate::text::terminal as safe;
use crate::write::WriteError;
use crate::write::store::StoreError;
use std::path::PathBuf;

#[derive(Debug, thiserror::Error)]
pub enum AppError {
    #[error("there is no file {}", safe(&path.to_string_lossy()))]
    NotFound { path: PathBuf },
    #[error("{} cannot be read: {why}", safe(&path.to_string_lossy()))]
    Unreadable { path: PathBuf, why: String },
    #[error("{} cannot be written: {why}", safe(&path.to_string_lossy()))]
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
        /// One more tool of the general kit would help.
        buy: bool,
    },
    #[error("{}: there is no closed outline in it{}", safe(&path.to_string_lossy()), safe(flat))]
    NoOutline {
        path: PathBuf,
        /// Closed lines that enclose nothing, in words behind the rest; or nothing.
        flat: String,
    },
    #[error("{}: there is no document of this program (NAME.json) in it", safe(&path.to_string_lossy()))]
    NoDocument { path: PathBuf },
    #[error("{}: {why}", safe(&path.to_string_lossy()))]
    NothingToProve { path: PathBuf, why: &'static str },
    #[error("nothing in the drawing is called {}{}", safe(&.0.name), meant(.0))]
    NoSuchName(NoSuchName),
    #[error("--{setting} has no meaning for a DXF drawing, and {} is one", safe(&path.to_string_lossy()))]
    OnlySvg { setting: &'static str, path: PathBuf },
    #[error("--{setting} {}: an outline with a hole can be neither plug nor shoulder", safe(name))]
    Holed { setting: &'static str, name: String },
    #[error(
        "--plug names {plugs} outlines and --shoulder {shoulders}: {}each plug has to lie in a shoulder of its own",
        safe(why)
    )]
    NotPaired { plugs: usize, shoulders: usize, why: String },
    #[error(transparent)]
    Shoulder(ShoulderError),
    #[error(transparent)]
    ShoulderProof(ShoulderProofError),
    #[error(transparent)]
    Geom(#[from] GeomError),
    #[error(transparent)]
    Proof(#[from] ProofError),
    #[error(transparent)]
    Write(#[from] WriteError),
    #[error(transparent)]
    Store(#[from] StoreError),
    #[error("the report could not be put together: {0}")]
    Document(#[from] serde_json::Error),
    #[error(transparent)]
    Stopped(#[from] Stopped),
}

/// So many names are told, where none looks like what was asked for.
const TOLD: usize = 30;

/// The names that were likely meant, or what names there are.
fn meant(no: &NoSuchName) -> String {
    let listed = |names: &[&str]| names.iter().map(|n| safe(n)).collect::<Vec<_>>().join(", ");
    let alike = alike(&no.name, no.there.iter().map(String::as_str));
    if !alike.is_empty() {
        return format!("; did you mean {}?", listed(&alike));
    }
    let some: Vec<&str> = no.there.iter().take(TOLD).map(String::as_str).collect();
    let more = no.there.len().saturating_sub(TOLD);
    match (some.is_empty(), more) {
        (true, _) => "; it has no names at all".to_owned(),
        (_, 0) => format!("; it has: {}", listed(&some)),
        _ => format!("; it has: {} and {more} more", listed(&some)),
    }
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
            AppError::Proof(_) | AppError::ShoulderProof(_) => "proof",
            AppError::Write(_) | AppError::Document(_) => "internal",
            AppError::Store(StoreError::Stopped(_)) => "stopped",
            AppError::Kept { .. }
            | AppError::Store(
                StoreError::NotOurs { .. } | StoreError::IsInput { .. } | StoreError::OtherDrawing { .. },
            ) => "would-overwrite",
            AppError::Store(_) => "cannot-write",
        }
    }

    /// What to do, where the message does not say so itself.
    #[must_use]
    pub fn help(&self) -> Option<&'static str> {
        match self {
            AppError::NotFound { .. } => {
                Some("look at the name and the folder; a name with spaces needs quotation marks")
            }
            AppError::Unreadable { .. } => Some("look whether it is a file, and whether you may read it"),
            AppError::Kept { .. } => Some("give another name"),
            AppError::Unwritable { .. } => Some("give another name, or --force to replace a file"),
            AppError::Read { source, .. } => Some(match source {
                ReadError::NotADrawing(_) => "save the drawing as SVG or DXF from the program that made it",
                ReadError::Empty => "look whether the right file was saved, and with the outline in it",
                ReadError::Syntax { .. } => "the file is damaged or cut short there: save or fetch it again",
                ReadError::Refused { .. } => "save the drawing again as plain SVG or as DXF of release 2000",
                ReadError::Stopped(_) => "take what is not needed out of the drawing",
            }),
            AppError::Kit { .. } => Some("a row is [[bush]] and below it outside = 20, or [[cutter]] and diameter = 6"),
            AppError::NoPair { buy: false, .. } => {
                Some("leave --pair out for two openings; no one tool of the general kit more would help")
            }
            AppError::NoPair { .. } => Some("leave --pair out for two openings; letin offsets says what tool to buy"),
            AppError::NoOutline { .. } => {
                Some("draw the outline as a closed line; text, pictures and clones have to be turned into paths first")
            }
            AppError::OnlySvg { .. } => Some("leave it out; the unit of a DXF drawing is said by --unit"),
            AppError::NoDocument { .. } => Some("give the folder that letin make wrote into"),
            AppError::NoSuchName(_) => Some(
                "a name is an id, layer, label or colour of the drawing, with capitals as there, or a number that letin outlines lists",
            ),
            AppError::Geom(GeomError::TooFar) => Some("move the drawing to the origin, and look at its unit"),
            AppError::Holed { .. } | AppError::NotPaired { .. } => {
                Some("letin outlines lists what there is, with numbers")
            }
            AppError::Shoulder(_) => Some("draw the shoulder round the plug, or change --plug and --shoulder about"),
            AppError::Write(_) | AppError::Document(_) | AppError::Proof(_) | AppError::ShoulderProof(_) => {
                Some("this is a fault of the program: please report it with the drawing")
            }
            AppError::NothingToProve { .. } | AppError::Geom(_) | AppError::Store(_) | AppError::Stopped(_) => None,
        }
    }
}
