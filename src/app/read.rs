//! Reads drawings and files of settings from disk.

use super::AppError;
use crate::budget::Budget;
use crate::drawing::{self, Drawing, Format, ReadSettings, Strokes, Texts};
use crate::write::store::sha256;
use std::fs::File;
use std::io::{ErrorKind, Read};
use std::path::Path;

/// Longest drawing, bytes. A longer file is no drawing of an inlay, and would fill the memory.
pub(super) const LONGEST: u64 = 256 << 20;

/// Longest text file of settings, bytes.
const LONGEST_SETTINGS: u64 = 1 << 20;

/// The drawing at `path`, and the SHA-256 of its bytes. The content decides the format, not the name.
pub(super) fn read(path: &Path, settings: &ReadSettings, budget: &Budget) -> Result<(Drawing, String), AppError> {
    let bytes = bytes(path, LONGEST)?;
    let read = drawing::read(&bytes, settings, budget);
    let read = read.map_err(|source| AppError::Read { path: path.to_path_buf(), source })?;
    match only_svg(settings) {
        Some(setting) if read.format == Format::Dxf => Err(AppError::OnlySvg { setting, path: path.to_path_buf() }),
        _ => Ok((read, sha256(&bytes))),
    }
}

/// The first given setting that applies to SVG drawings only.
fn only_svg(settings: &ReadSettings) -> Option<&'static str> {
    let given = [
        ("dpi", settings.dpi.is_some()),
        ("stroke", settings.stroke != Strokes::default()),
        ("text", settings.text != Texts::default()),
    ];
    given.into_iter().find(|g| g.1).map(|g| g.0)
}

/// The text of a file of settings.
///
/// # Errors
/// [`AppError`] for a missing file, a file that is not plain, a file that is too long, and bytes that are not UTF-8.
pub fn read_text(path: &Path) -> Result<String, AppError> {
    String::from_utf8(bytes(path, LONGEST_SETTINGS)?)
        .map_err(|e| AppError::Unreadable { path: path.to_path_buf(), why: format!("it is not a text in UTF-8: {e}") })
}

/// The bytes of a plain file of at most `longest` bytes.
pub(super) fn bytes(path: &Path, longest: u64) -> Result<Vec<u8>, AppError> {
    let unreadable = |why: String| AppError::Unreadable { path: path.to_path_buf(), why };
    let io = |e: std::io::Error| match e.kind() {
        ErrorKind::NotFound => AppError::NotFound { path: path.to_path_buf() },
        _ => unreadable(e.to_string()),
    };
    let about = std::fs::metadata(path).map_err(io)?;
    if about.is_dir() {
        return Err(unreadable("it is a folder".to_owned()));
    }
    // Reading a pipe or a device might never end.
    if !about.is_file() {
        return Err(unreadable("it is not a plain file".to_owned()));
    }
    if about.len() > longest {
        return Err(unreadable(format!("it is larger than {} MiB", longest >> 20)));
    }
    let mut bytes = Vec::new();
    File::open(path).and_then(|f| f.take(longest).read_to_end(&mut bytes)).map_err(io)?;
    Ok(bytes)
}
