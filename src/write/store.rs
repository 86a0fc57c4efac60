//! Stores files in a folder, all of them or none.
//!
//! In: names and bytes, the folder, and the name of the document (`NAME.json`) that lists them. Out: the files, or the
//! unchanged folder. Only one run at a time writes into a folder. Every file is first written to a temporary folder,
//! then renamed into place. Replaced files are kept until all new ones are in place. If a run is killed, the next run
//! restores the files.
//!
//! A file is ours if the document of an earlier run lists it with its current hash. Files that are not ours, or that
//! were made from another drawing, are never replaced or removed without `force`. Input files are not replaced even
//! then. Symbolic links are not followed. Errors ([`StoreError`]) say what to do.

mod earlier;
mod error;
mod lock;
#[cfg(test)]
mod tests;
mod transaction;

pub use error::StoreError;

use crate::budget::Budget;
use crate::text;
use earlier::Earlier;
use lock::Held;
use sha2::{Digest, Sha256};
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::io::ErrorKind;
use std::path::{Component, Path, PathBuf};
use std::time::Duration;
use transaction::Transaction;
#[cfg(feature = "report")]
pub(crate) use transaction::plain;

/// How long to wait for another run that writes into the same folder.
const PATIENCE: Duration = Duration::from_secs(10);

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

/// The result of a run.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Committed {
    /// In the order in which they were added; the document last.
    pub written: Vec<Written>,
    /// Files of an earlier run that this run did not make; removed.
    pub removed: Vec<String>,
    /// Files of an earlier run that this run did not make; kept because they were changed since.
    pub left: Vec<String>,
    /// Number of earlier runs that were killed while writing and whose changes were undone first.
    pub repaired: usize,
}

#[derive(Clone, Copy, Debug, Default)]
pub struct CommitOptions<'a> {
    /// Replace files that this program did not make.
    pub force: bool,
    /// Input files, which are never written.
    pub input: &'a [PathBuf],
    /// Checked until the first file is put in place.
    pub budget: Option<&'a Budget>,
}

/// Files to be stored in a folder.
#[derive(Clone, Debug)]
pub struct Outputs {
    dir: PathBuf,
    manifest: String,
    files: Vec<(String, Vec<u8>)>,
    patience: Duration,
    /// Fails at this step, to test what a failure leaves.
    #[cfg(test)]
    fail_at: Option<usize>,
    /// Then ends as a killed process would.
    #[cfg(test)]
    killed: bool,
}

impl Outputs {
    /// `dir` is created if missing; `manifest` is the name of the document (`NAME.json`).
    #[must_use]
    pub fn new(dir: PathBuf, manifest: String) -> Outputs {
        Outputs {
            // A trailing slash would make the system follow a link.
            dir: dir.components().collect(),
            manifest,
            files: Vec::new(),
            patience: PATIENCE,
            #[cfg(test)]
            fail_at: None,
            #[cfg(test)]
            killed: false,
        }
    }

    pub fn add(&mut self, name: impl Into<String>, bytes: Vec<u8>) -> &mut Outputs {
        self.files.push((name.into(), bytes));
        self
    }

    /// The files to be written, without the document: as input of the document, and to show without writing.
    #[must_use]
    pub fn listed(&self) -> Vec<Written> {
        self.files.iter().map(|(name, bytes)| listed(name, bytes)).collect()
    }

    /// Writes all files and the document that lists them. `document` makes its bytes from the list: JSON with
    /// `"tool": {"name": "letin"}`, the names under `"files"`, and names with hashes under `"hashes"`. It cannot hold
    /// its own hash.
    ///
    /// # Errors
    /// [`StoreError`]; the folder is then unchanged, except for [`StoreError::NotRestored`].
    pub fn commit(
        self,
        options: &CommitOptions,
        document: impl FnOnce(&[Written]) -> Vec<u8>,
    ) -> Result<Committed, StoreError> {
        self.check_names()?;
        self.check_folder()?;
        let mut list = self.listed();
        let last = document(&list);
        let new = Earlier::parse(&last).filter(|e| e.lists(&list));
        let Some(new) = new else { return Err(StoreError::Document { name: self.manifest }) };
        list.push(listed(&self.manifest, &last));
        let held = Held::take(&self.dir, self.patience, options.budget)?;
        match self.exchange(options, &new, last) {
            Ok(done) => Ok(Committed { written: list, ..done }),
            Err(e) => {
                held.abandon();
                Err(e)
            }
        }
    }

    /// With the folder locked: inspects its contents and puts the files in place.
    fn exchange(&self, options: &CommitOptions, new: &Earlier, last: Vec<u8>) -> Result<Committed, StoreError> {
        let go = || options.budget.map_or(Ok(()), Budget::check).map_err(StoreError::from);
        go()?;
        let repaired = transaction::repair(&self.dir)?;
        let earlier = Earlier::read(&self.dir.join(&self.manifest))?;
        if earlier.is_ours() && !options.force && !earlier.is_of_same_drawing(new) {
            let drawing = earlier.drawing();
            return Err(StoreError::OtherDrawing { dir: self.dir.clone(), name: self.manifest.clone(), drawing });
        }
        let mut files = self.files.clone();
        files.push((self.manifest.clone(), last));
        let mut old = self.check_targets(&files, &earlier, options)?;
        let (stale, mut left) = self.stale(&earlier, options)?;
        for name in &stale {
            old.extend(transaction::hash(&self.dir.join(name))?.map(|h| (name.clone(), h)));
        }
        left.extend(repaired.left);

        let mut t = Transaction::begin(&self.dir, &files, old)?;
        #[cfg(test)]
        t.fail_at(self.fail_at);
        // The document comes last: until then, the earlier document lists our files.
        match t.run(&files, &stale, go) {
            Ok(()) => t.keep(),
            #[cfg(test)]
            Err(e) if self.killed => return Err(e),
            Err(e) => return Err(t.undo(e)),
        }
        Ok(Committed { written: Vec::new(), removed: stale, left, repaired: repaired.runs })
    }

    /// Checks for plain names that differ even without regard to case.
    fn check_names(&self) -> Result<(), StoreError> {
        let mut seen = BTreeSet::new();
        for name in self.files.iter().map(|f| &f.0).chain([&self.manifest]) {
            if !is_plain(name) || !seen.insert(name.to_lowercase()) {
                return Err(StoreError::BadName { name: name.clone() });
            }
        }
        Ok(())
    }

    /// Checks that the folder exists or can be created.
    fn check_folder(&self) -> Result<(), StoreError> {
        match fs::symlink_metadata(&self.dir) {
            Ok(m) if m.is_symlink() => Err(StoreError::FolderIsLink { path: self.dir.clone() }),
            Ok(m) if !m.is_dir() => Err(StoreError::NotAFolder { path: self.dir.clone() }),
            Ok(_) => Ok(()),
            Err(e) if e.kind() == ErrorKind::NotFound => Ok(()),
            Err(source) => Err(StoreError::io(&self.dir, "look at", source)),
        }
    }

    /// Checks that each target may be written. Returns the existing files that will be replaced, with their hashes.
    fn check_targets(
        &self,
        files: &[(String, Vec<u8>)],
        earlier: &Earlier,
        options: &CommitOptions,
    ) -> Result<BTreeMap<String, String>, StoreError> {
        let (mut replaced, mut strangers) = (BTreeMap::new(), Vec::new());
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
            let hash = transaction::hash(&path)?.unwrap_or_default();
            let ours = if *name == self.manifest { earlier.is_ours() } else { earlier.owns(name, &hash) };
            if !ours && !options.force {
                strangers.push(name.clone());
            }
            replaced.insert(name.clone(), hash);
        }
        if strangers.is_empty() {
            Ok(replaced)
        } else {
            Err(StoreError::NotOurs { dir: self.dir.clone(), names: strangers })
        }
    }

    /// Files of the earlier run that this run does not make: those that are still ours, and those changed since.
    fn stale(&self, earlier: &Earlier, options: &CommitOptions) -> Result<(Vec<String>, Vec<String>), StoreError> {
        let (mut stale, mut left) = (Vec::new(), Vec::new());
        for name in earlier.hashes().keys() {
            // A file system that ignores case stores the old and the new name in one file.
            let made = |n: &String| n.to_lowercase() == name.to_lowercase();
            if self.files.iter().any(|(n, _)| made(n)) || made(&self.manifest) || !is_plain(name) {
                continue;
            }
            let path = self.dir.join(name);
            match look(&path)? {
                None => {}
                Some(Kind::File) if !is_input(&path, options.input) => {
                    let hash = transaction::hash(&path)?.unwrap_or_default();
                    let to = if earlier.owns(name, &hash) { &mut stale } else { &mut left };
                    to.push(name.clone());
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

/// The `files` and `hashes` of a document, from the list of written files.
#[must_use]
pub fn hashes(list: &[Written]) -> BTreeMap<String, String> {
    list.iter().map(|w| (w.name.clone(), w.sha256.clone())).collect()
}

/// A single name inside the folder, valid on any system.
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
    input.iter().any(|i| same_file(i, path))
}

/// Whether two names denote one file: through symbolic links, hard links (on Unix), or a difference of case only.
#[must_use]
pub fn same_file(a: &Path, b: &Path) -> bool {
    let (Ok(one), Ok(two)) = (fs::canonicalize(a), fs::canonicalize(b)) else { return false };
    one == two || same_inode(&one, &two)
}

#[cfg(unix)]
fn same_inode(a: &Path, b: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let place = |m: &fs::Metadata| (m.dev(), m.ino());
    matches!((fs::metadata(a), fs::metadata(b)), (Ok(a), Ok(b)) if place(&a) == place(&b))
}

#[cfg(not(unix))]
fn same_inode(_: &Path, _: &Path) -> bool {
    false
}

/// Whether a file's bytes are a document of this program.
#[must_use]
pub fn is_document(bytes: &[u8]) -> bool {
    Earlier::parse(bytes).is_some()
}
