//! Files into a folder, all of them or none.
//!
//! In: names and bytes, the folder, and the name of the document (`NAME.json`) that lists them. Out: the files, or the
//! folder as it was. Every file is first written beside its place and then renamed into it; what it replaces is kept
//! until all are in place. A file is ours if the document of an earlier run lists it with the hash that it still has.
//! What is not ours is never replaced or removed without `force`; the drawing itself not even then; symbolic links are
//! not followed. Refuses with [`StoreError`], which says what to do.

mod earlier;
mod error;
#[cfg(test)]
mod tests;
mod transaction;

pub use error::StoreError;

use crate::text;
use earlier::Earlier;
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::ErrorKind;
use std::path::{Component, Path, PathBuf};
use transaction::Transaction;

/// A file that was or will be written.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Written {
    /// Name within the folder.
    pub name: String,
    /// Size, bytes.
    pub bytes: usize,
    /// Lower-case hexadecimal.
    pub sha256: String,
}

/// What came of a run.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Committed {
    /// In the order in which they were added; the document last.
    pub written: Vec<Written>,
    /// Files of an earlier run that this run did not make, removed.
    pub removed: Vec<String>,
    /// Files of an earlier run that this run did not make, left because they were changed since.
    pub left: Vec<String>,
}

#[derive(Clone, Copy, Debug, Default)]
pub struct CommitOptions<'a> {
    /// Replace files that this program did not make.
    pub force: bool,
    /// What was read: never written to.
    pub input: &'a [PathBuf],
}

/// Files on their way into a folder.
#[derive(Clone, Debug)]
pub struct Outputs {
    dir: PathBuf,
    manifest: String,
    files: Vec<(String, Vec<u8>)>,
    /// Stops before that step, to see what a failure leaves.
    #[cfg(test)]
    fail_at: Option<usize>,
}

impl Outputs {
    /// `dir` is made if it is missing; `manifest` is the name of the document (`NAME.json`).
    #[must_use]
    pub fn new(dir: PathBuf, manifest: String) -> Outputs {
        Outputs {
            dir,
            manifest,
            files: Vec::new(),
            #[cfg(test)]
            fail_at: None,
        }
    }

    pub fn add(&mut self, name: impl Into<String>, bytes: Vec<u8>) -> &mut Outputs {
        self.files.push((name.into(), bytes));
        self
    }

    /// What is to be written, without the document: for the document itself, and to show without writing.
    #[must_use]
    pub fn listed(&self) -> Vec<Written> {
        self.files.iter().map(|(name, bytes)| listed(name, bytes)).collect()
    }

    /// Writes all files and the document that lists them. `document` makes its bytes from the list: JSON with
    /// `"tool": {"name": "letin"}`, the names under `"files"` and name and hash under `"hashes"` (it cannot hold its own).
    ///
    /// # Errors
    /// [`StoreError`]; the folder is then as it was, unless it is [`StoreError::NotRestored`].
    pub fn commit(
        self,
        options: &CommitOptions,
        document: impl FnOnce(&[Written]) -> Vec<u8>,
    ) -> Result<Committed, StoreError> {
        self.check_names()?;
        let exists = self.check_folder()?;
        let earlier = if exists { Earlier::read(&self.dir.join(&self.manifest))? } else { Earlier::default() };
        let mut list = self.listed();
        let last = document(&list);
        if !Earlier::parse(&last).is_some_and(|e| e.lists(&list)) {
            return Err(StoreError::Document { name: self.manifest });
        }
        list.push(listed(&self.manifest, &last));
        let mut files = self.files.clone();
        files.push((self.manifest.clone(), last));
        let replaced = self.check_targets(&files, &earlier, options)?;
        let (stale, left) = self.stale(&earlier, options)?;

        let mut t = Transaction::begin(&self.dir)?;
        #[cfg(test)]
        t.fail_at(self.fail_at);
        // The document comes last: until it is there, the earlier one tells what is ours.
        match t.run(&files, &replaced, &stale) {
            Ok(()) => t.keep(),
            Err(e) => return Err(t.undo(e)),
        }
        Ok(Committed { written: list, removed: stale, left })
    }

    /// Plain names, all different even where case does not count.
    fn check_names(&self) -> Result<(), StoreError> {
        let mut seen = BTreeSet::new();
        for name in self.files.iter().map(|f| &f.0).chain([&self.manifest]) {
            if !is_plain(name) || !seen.insert(name.to_lowercase()) {
                return Err(StoreError::BadName { name: name.clone() });
            }
        }
        Ok(())
    }

    /// Whether the folder is there.
    fn check_folder(&self) -> Result<bool, StoreError> {
        match fs::symlink_metadata(&self.dir) {
            Ok(m) if m.is_symlink() => Err(StoreError::FolderIsLink { path: self.dir.clone() }),
            Ok(m) if !m.is_dir() => Err(StoreError::NotAFolder { path: self.dir.clone() }),
            Ok(_) => Ok(true),
            Err(e) if e.kind() == ErrorKind::NotFound => Ok(false),
            Err(source) => Err(StoreError::io(&self.dir, "look at", source)),
        }
    }

    /// Whether each target may be written; those that stand there now and will be replaced.
    fn check_targets(
        &self,
        files: &[(String, Vec<u8>)],
        earlier: &Earlier,
        options: &CommitOptions,
    ) -> Result<BTreeSet<String>, StoreError> {
        let (mut replaced, mut strangers) = (BTreeSet::new(), Vec::new());
        for (name, _) in files {
            let path = self.dir.join(name);
            let Some(kind) = look(&path)? else { continue };
            match kind {
                Kind::Link => return Err(StoreError::TargetIsLink { path }),
                Kind::Other => return Err(StoreError::NotAFile { path }),
                Kind::File => {}
            }
            if is_input(&path, options.input) {
                return Err(StoreError::IsInput { path });
            }
            let ours = if *name == self.manifest { earlier.is_ours() } else { earlier.owns(&self.dir, name)? };
            if !ours && !options.force {
                strangers.push(name.clone());
            }
            replaced.insert(name.clone());
        }
        if strangers.is_empty() {
            Ok(replaced)
        } else {
            Err(StoreError::NotOurs { dir: self.dir.clone(), names: strangers })
        }
    }

    /// Files of the earlier run that this one does not make: those still ours, and those changed since.
    fn stale(&self, earlier: &Earlier, options: &CommitOptions) -> Result<(Vec<String>, Vec<String>), StoreError> {
        let (mut stale, mut left) = (Vec::new(), Vec::new());
        for name in earlier.hashes().keys() {
            // A file system that does not tell case apart holds the old and the new name in one file.
            let made = |n: &String| n.to_lowercase() == name.to_lowercase();
            if self.files.iter().any(|(n, _)| made(n)) || made(&self.manifest) || !is_plain(name) {
                continue;
            }
            let path = self.dir.join(name);
            match look(&path)? {
                None => {}
                Some(Kind::File) if !is_input(&path, options.input) && earlier.owns(&self.dir, name)? => {
                    stale.push(name.clone());
                }
                Some(_) => left.push(name.clone()),
            }
        }
        Ok((stale, left))
    }
}

fn listed(name: &str, bytes: &[u8]) -> Written {
    Written { name: name.to_string(), bytes: bytes.len(), sha256: sha256(bytes) }
}

/// SHA-256 of a file, lower-case hexadecimal.
#[must_use]
pub fn sha256(bytes: &[u8]) -> String {
    Sha256::digest(bytes).iter().map(|b| format!("{b:02x}")).collect()
}

/// The `files` and `hashes` of a document, from the list of what is written.
#[must_use]
pub fn hashes(list: &[Written]) -> BTreeMap<String, String> {
    list.iter().map(|w| (w.name.clone(), w.sha256.clone())).collect()
}

/// One name, no way out of the folder, fit for any system.
fn is_plain(name: &str) -> bool {
    let mut parts = Path::new(name).components();
    matches!((parts.next(), parts.next()), (Some(Component::Normal(_)), None)) && text::file_stem(name) == name
}

enum Kind {
    File,
    Link,
    Other,
}

fn look(path: &Path) -> Result<Option<Kind>, StoreError> {
    match fs::symlink_metadata(path) {
        Ok(m) if m.is_symlink() => Ok(Some(Kind::Link)),
        Ok(m) if m.is_file() => Ok(Some(Kind::File)),
        Ok(_) => Ok(Some(Kind::Other)),
        Err(e) if e.kind() == ErrorKind::NotFound => Ok(None),
        Err(source) => Err(StoreError::io(path, "look at", source)),
    }
}

fn is_input(path: &Path, input: &[PathBuf]) -> bool {
    let Ok(target) = fs::canonicalize(path) else { return false };
    input.iter().any(|i| fs::canonicalize(i).is_ok_and(|i| i == target))
}
