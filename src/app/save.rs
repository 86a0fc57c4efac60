//! Writes one file that the user named: a job file, a page, a picture, a drawing.
//!
//! In: path, bytes, and the inputs of the run. Out: the whole file or none. Only `force` replaces an existing file. An input,
//! a kit and a document of this program are never replaced, under any name.

use super::read::{LONGEST, bytes, read_text};
use super::{AppError, Out};
use crate::kit::{Kit, file::parse};
use crate::write::store::{is_document, plain, same_file};
use std::io::Write;
use std::path::Path;

/// An input file of the run, and its role in words.
#[derive(Clone, Copy, Debug)]
pub struct Input<'a> {
    pub path: &'a Path,
    pub what: &'static str,
}

/// Checks that a file may be written to `path`.
///
/// # Errors
/// [`AppError::Kept`] for a file that is never replaced. [`AppError::Unwritable`] for an existing file without `force`, and
/// for anything that is not a plain file.
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

/// The kind of a file that cannot be made again from the drawing.
fn what_it_holds(path: &Path) -> Option<&'static str> {
    // A document may be as long as a drawing.
    if bytes(path, LONGEST).is_ok_and(|b| is_document(&b)) {
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
        Ok(_) if !out.force => "this file exists already",
        _ => return Ok(()),
    };
    Err(AppError::Unwritable { path: path.to_path_buf(), why: why.to_owned() })
}

/// Writes the whole file or none; a dry run writes none.
///
/// # Errors
/// The errors of [`may_save`], and [`AppError::Unwritable`] where the file system refuses.
pub fn save(path: &Path, bytes: &[u8], read: &[Input], out: &Out) -> Result<(), AppError> {
    may_save(path, read, out)?;
    replace(path, bytes, out)
}

/// [`save`] for a file that the caller read and checked, such as a kit to correct.
pub(super) fn replace(path: &Path, bytes: &[u8], out: &Out) -> Result<(), AppError> {
    may_replace(path, out)?;
    if out.dry_run {
        return Ok(());
    }
    let unwritable = |why: String| AppError::Unwritable { path: path.to_path_buf(), why };
    let folder = path.parent().filter(|p| !p.as_os_str().is_empty()).unwrap_or(Path::new("."));
    let mut builder = tempfile::Builder::new();
    builder.prefix(".letin-");
    // The user's mask decides who may read the file, as for any program.
    #[cfg(unix)]
    builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
    let mut file = builder.tempfile_in(folder).map_err(|e| unwritable(plain(&e).to_string()))?;
    file.write_all(bytes).map_err(|e| unwritable(e.to_string()))?;
    let done = if out.force { file.persist(path) } else { file.persist_noclobber(path) };
    done.map(drop).map_err(|e| unwritable(e.error.to_string()))
}
