//! Why files could not be stored in a folder, and what to do.

use crate::budget::Stopped;
use crate::text::terminal;
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};

/// Nothing was written, except for [`StoreError::NotRestored`].
#[derive(Debug, thiserror::Error)]
pub enum StoreError {
    /// An error of the caller: a name that is not a plain file name, or is repeated.
    #[error("\"{}\" cannot be used as a file name here", terminal(name))]
    BadName { name: String },
    /// An error of the caller.
    #[error("{}: the document does not list the files to be written", terminal(name))]
    Document { name: String },
    #[error("{} is a symbolic link, which is not followed; name the folder itself with --out", shown(path))]
    FolderIsLink { path: PathBuf },
    #[error("{} is not a folder; choose another with --out", shown(path))]
    NotAFolder { path: PathBuf },
    #[error(
        "{} is a symbolic link, which is not followed; remove it, or choose another folder with --out",
        shown(path)
    )]
    TargetIsLink { path: PathBuf },
    #[error("{} is in the way and is not a file; choose another folder with --out", shown(path))]
    NotAFile { path: PathBuf },
    #[error("{} is read for this job and is never overwritten; choose another folder with --out", shown(path))]
    IsInput { path: PathBuf },
    #[error(
        "in {}: {} not made by this program, or changed since; move what you want to keep, choose another folder with \
         --out, or overwrite with --force",
        shown(dir),
        those(names)
    )]
    NotOurs { dir: PathBuf, names: Vec<String> },
    #[error(
        "the files of {} in {} were made from {}; choose another folder with --out, or replace them with --force",
        terminal(name),
        shown(dir),
        drawing.as_ref().map_or_else(|| "no drawing".to_owned(), |d| format!("another drawing, {}", terminal(d)))
    )]
    OtherDrawing { dir: PathBuf, name: String, drawing: Option<String> },
    #[error(
        "another run is writing into {}; wait until it has finished, or choose another folder with --out",
        shown(dir)
    )]
    Busy { dir: PathBuf },
    #[error(transparent)]
    Stopped(#[from] Stopped),
    #[error("cannot write to {} ({source}); choose another folder with --out", shown(path))]
    NotWritable { path: PathBuf, source: io::Error },
    #[error("cannot {doing} {}: {source}", shown(path))]
    Io { path: PathBuf, doing: &'static str, source: io::Error },
    #[error("{first}; some earlier files could not be put back ({source}): they are in {}", shown(kept))]
    NotRestored { first: Box<StoreError>, kept: PathBuf, source: io::Error },
}

impl StoreError {
    pub(super) fn io(path: &Path, doing: &'static str, source: io::Error) -> StoreError {
        let path = path.to_path_buf();
        match source.kind() {
            ErrorKind::PermissionDenied
            | ErrorKind::ReadOnlyFilesystem
            | ErrorKind::StorageFull
            | ErrorKind::QuotaExceeded => StoreError::NotWritable { path, source },
            _ => StoreError::Io { path, doing, source },
        }
    }
}

fn shown(path: &Path) -> String {
    terminal(&path.to_string_lossy())
}

fn those(names: &[String]) -> String {
    let list = names.iter().map(|n| terminal(n)).collect::<Vec<_>>().join(", ");
    if names.len() == 1 { format!("{list} was") } else { format!("{list} were") }
}
