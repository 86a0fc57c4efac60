//! One file that the maker asked for by name: a job file, a page, a picture, a drawing.
//!
//! In: its path and bytes, and what is read for it. Out: the file, whole or not at all. Nothing is replaced without
//! `force`; what is read, a kit and a document of this program not even then, by whatever name they are called.

use super::files::read_text;
use super::{AppError, Out};
use crate::kit::{Kit, file::parse};
use crate::write::store::{is_document, plain, same_file};
use std::io::Write;
use std::path::Path;

/// A file that is read for the run, and what it is.
#[derive(Clone, Copy, Debug)]
pub struct Input<'a> {
    pub path: &'a Path,
    pub what: &'static str,
}

/// Whether a file may be written to `path`.
///
/// # Errors
/// [`AppError::Kept`] where it is one that is never replaced, [`AppError::Unwritable`] where there is something already
/// that is no file, or that `out` does not say to replace.
pub fn may_save(path: &Path, read: &[Input], out: &Out) -> Result<(), AppError> {
    let kept = |what| AppError::Kept { path: path.to_path_buf(), what };
    if let Some(input) = read.iter().find(|i| same_file(i.path, path)) {
        return Err(kept(input.what));
    }
    may_replace(path, out)?;
    match std::fs::symlink_metadata(path).map(|_| what_it_holds(path)) {
        Ok(Some(what)) => Err(kept(what)),
        _ => Ok(()),
    }
}

/// What of value a file holds that nobody could make again from the drawing.
fn what_it_holds(path: &Path) -> Option<&'static str> {
    // Documents may be long.
    if super::files::bytes(path, super::files::LONGEST).is_ok_and(|b| is_document(&b)) {
        return Some("the document of a job (NAME.json)");
    }
    let kit = parse(&read_text(path).ok()?).ok()?;
    (kit != Kit::default()).then_some("a kit")
}

fn may_replace(path: &Path, out: &Out) -> Result<(), AppError> {
    let why = match std::fs::symlink_metadata(path) {
        Ok(m) if m.is_dir() => "it is a folder",
        Ok(m) if m.is_symlink() => "it is a symbolic link, which is not followed",
        Ok(m) if !m.is_file() => "it is not a plain file",
        Ok(_) if !out.force => "there is one already",
        _ => return Ok(()),
    };
    Err(AppError::Unwritable { path: path.to_path_buf(), why: why.to_owned() })
}

/// Writes a file, whole or not at all; in a dry run not.
///
/// # Errors
/// [`AppError`] where [`may_save`] says no, or no file can be made.
pub fn save(path: &Path, bytes: &[u8], read: &[Input], out: &Out) -> Result<(), AppError> {
    may_save(path, read, out)?;
    replace(path, bytes, out)
}

/// The same for a file that is corrected: it was read just now, and is known to be what it should.
pub(super) fn replace(path: &Path, bytes: &[u8], out: &Out) -> Result<(), AppError> {
    may_replace(path, out)?;
    if out.dry_run {
        return Ok(());
    }
    let unwritable = |why: String| AppError::Unwritable { path: path.to_path_buf(), why };
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    builder.prefix(".letin-");
    // As any program makes a file: the user's mask decides who may read it.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut file = builder.tempfile_in(folder).map_err(|e| unwritable(plain(&e).to_string()))?;
    file.write_all(bytes).map_err(|e| unwritable(e.to_string()))?;
    let done = if out.force { file.persist(path) } else { file.persist_noclobber(path) };
    done.map(drop).map_err(|e| unwritable(e.error.to_string()))
}
