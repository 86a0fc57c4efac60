//! The files of an earlier run, as listed in its document.
//!
//! In: the bytes of `NAME.json`. Out: names and hashes. A file that is no such document lists nothing, and is then not
//! ours itself.

use super::{StoreError, Written};
use serde::Deserialize;
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{ErrorKind, Read};
use std::path::Path;

/// Longest document read, bytes: far above what a job with a thousand openings makes.
const LONGEST: u64 = 256 << 20;

#[derive(Debug, Default, Deserialize)]
struct Document {
    tool: Tool,
    hashes: BTreeMap<String, String>,
    files: Vec<String>,
    #[serde(default)]
    drawing: Option<Drawing>,
}

/// The drawing from which the files were made. A test piece has none.
#[derive(Debug, Default, Deserialize)]
struct Drawing {
    /// As given on the command line.
    #[serde(default)]
    path: Option<String>,
    /// Relative to the folder of the files.
    #[serde(default)]
    from_folder: Option<String>,
    #[serde(default)]
    sha256: Option<String>,
}

impl Drawing {
    /// Whether both are the same drawing: at the same place, whatever its content, or with the same content anywhere.
    fn is(&self, other: &Drawing) -> bool {
        let both = |a: &Option<String>, b: &Option<String>| a.is_some() && a == b;
        let placed = self.from_folder.is_some() && other.from_folder.is_some();
        both(&self.from_folder, &other.from_folder)
            || both(&self.sha256, &other.sha256)
            || (!placed && both(&self.path, &other.path))
    }
}

#[derive(Debug, Default, Deserialize)]
struct Tool {
    name: String,
}

/// The files of an earlier run, if there was one.
#[derive(Debug, Default)]
pub(super) struct Earlier(Option<Document>);

impl Earlier {
    pub(super) fn read(path: &Path) -> Result<Earlier, StoreError> {
        match fs::symlink_metadata(path) {
            Ok(m) if m.is_file() && m.len() <= LONGEST => {}
            // Not ours: writing there is refused later.
            Ok(_) => return Ok(Earlier(None)),
            Err(e) if e.kind() == ErrorKind::NotFound => return Ok(Earlier(None)),
            Err(source) => return Err(StoreError::io(path, "look at", source)),
        }
        let mut bytes = Vec::new();
        let read = File::open(path).and_then(|f| f.take(LONGEST).read_to_end(&mut bytes));
        read.map_err(|source| StoreError::Io { path: path.to_path_buf(), doing: "read", source })?;
        Ok(Earlier::parse(&bytes).unwrap_or_default())
    }

    /// `None` if it is no document of ours.
    pub(super) fn parse(bytes: &[u8]) -> Option<Earlier> {
        let d: Document = serde_json::from_slice(bytes).ok()?;
        (d.tool.name == env!("CARGO_PKG_NAME")).then_some(Earlier(Some(d)))
    }

    /// Whether it lists exactly these files, with their hashes.
    pub(super) fn lists(&self, list: &[Written]) -> bool {
        let Some(d) = &self.0 else { return false };
        d.hashes == super::hashes(list) && list.iter().all(|w| d.files.contains(&w.name))
    }

    pub(super) fn is_ours(&self) -> bool {
        self.0.is_some()
    }

    pub(super) fn hashes(&self) -> &BTreeMap<String, String> {
        static NONE: BTreeMap<String, String> = BTreeMap::new();
        self.0.as_ref().map_or(&NONE, |d| &d.hashes)
    }

    /// Whether it lists the file `name` with this hash.
    pub(super) fn owns(&self, name: &str, hash: &str) -> bool {
        self.hashes().get(name).is_some_and(|h| h == hash)
    }

    /// Whether both were made from one drawing, or both from none.
    pub(super) fn is_of_same_drawing(&self, other: &Earlier) -> bool {
        match (self.made_of(), other.made_of()) {
            (None, None) => true,
            (Some(a), Some(b)) => a.is(b),
            _ => false,
        }
    }

    /// The drawing as given to the earlier run; `None` if there was none.
    pub(super) fn drawing(&self) -> Option<String> {
        self.made_of()?.path.clone()
    }

    fn made_of(&self) -> Option<&Drawing> {
        self.0.as_ref()?.drawing.as_ref()
    }
}
