//! Renames that can be undone, also by the next run.
//!
//! All preparation happens in a folder `.letin-…` beside the files. First comes a journal with the hashes of the new
//! files and of those they replace. Then come the new files themselves, so that a full disk is noticed before anything
//! changes. Then each old file gets a second name there, and each new file is renamed into place, the document last. A
//! run killed in between leaves that folder; [`repair`] follows its journal and restores the earlier state. It changes
//! only files that have the hash in the journal.

use super::{StoreError, is_plain, listed, sha256};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, ErrorKind, Read, Write};
use std::path::{Path, PathBuf};

const PREFIX: &str = ".letin-";
const JOURNAL: &str = "journal.json";
const NEW: &str = "new";
const OLD: &str = "old";
/// Longest journal, bytes: far above what a job with a thousand files makes.
const LONGEST: u64 = 16 << 20;

/// What a run is about to do. Names are relative to the folder, hashes as in the document.
#[derive(Debug, Serialize, Deserialize)]
struct Journal {
    letin: String,
    /// The file that comes last: once it has its new hash, the run is complete.
    document: String,
    new: BTreeMap<String, String>,
    /// The files that are replaced or removed.
    old: BTreeMap<String, String>,
}

enum Done {
    /// A name that was free.
    New(PathBuf),
    /// A name whose old file is kept.
    Replaced { at: PathBuf, kept: PathBuf },
}

pub(super) struct Transaction {
    dir: PathBuf,
    staged: PathBuf,
    journal: Journal,
    done: Vec<Done>,
    steps: usize,
    fail_at: Option<usize>,
}

impl Transaction {
    /// Creates the temporary folder for `files`, the document last, and writes the journal. `old`: names and hashes of
    /// the files that will be replaced or removed.
    pub(super) fn begin(
        dir: &Path,
        files: &[(String, Vec<u8>)],
        old: BTreeMap<String, String>,
    ) -> Result<Transaction, StoreError> {
        let fault = |e| StoreError::io(dir, "write into", e);
        let staged = tempfile::Builder::new().prefix(PREFIX).tempdir_in(dir).map_err(|e| fault(plain(&e)))?.keep();
        let new = files.iter().map(|(name, bytes)| (name.clone(), listed(name, bytes).sha256)).collect();
        let document = files.last().map(|f| f.0.clone()).unwrap_or_default();
        let journal = Journal { letin: env!("CARGO_PKG_VERSION").to_owned(), document, new, old };
        let text = serde_json::to_vec(&journal).map_err(io::Error::other);
        let t = Transaction { dir: dir.to_path_buf(), staged, journal, done: Vec::new(), steps: 0, fail_at: None };
        let begun = text.and_then(|text| t.write(&t.staged.join(JOURNAL), &text));
        match begun.and_then(|()| [NEW, OLD].iter().try_for_each(|d| fs::create_dir(t.staged.join(d)))) {
            Ok(()) => Ok(t),
            Err(e) => {
                t.tidy();
                Err(fault(e))
            }
        }
    }

    #[cfg(test)]
    pub(super) fn fail_at(&mut self, step: Option<usize>) {
        self.fail_at = step;
    }

    fn step(&mut self) -> io::Result<()> {
        self.steps += 1;
        if self.fail_at == Some(self.steps) { Err(io::Error::other("stopped by a test")) } else { Ok(()) }
    }

    /// Puts `files` in place, in order; the last one follows the removal of the `stale` ones. `go` is called once,
    /// before anything changes.
    pub(super) fn run(
        &mut self,
        files: &[(String, Vec<u8>)],
        stale: &[String],
        go: impl FnOnce() -> Result<(), StoreError>,
    ) -> Result<(), StoreError> {
        for (name, bytes) in files {
            let ready = self.step().and_then(|()| self.write(&self.staged.join(NEW).join(name), bytes));
            ready.map_err(|e| StoreError::io(&self.dir.join(name), "write", e))?;
        }
        go()?;
        let Some(((last, _), first)) = files.split_last() else { return Ok(()) };
        for (name, _) in first {
            self.place(name)?;
        }
        for name in stale {
            let (at, kept) = (self.dir.join(name), self.staged.join(OLD).join(name));
            self.step().and_then(|()| fs::rename(&at, &kept)).map_err(|e| StoreError::io(&at, "remove", e))?;
            self.done.push(Done::Replaced { at, kept });
        }
        // The document lists all files, so they must be on the disk before it.
        settle(&self.dir);
        self.place(last)?;
        settle(&self.dir);
        Ok(())
    }

    /// Creates the file in the usual way: the user's umask decides who may read it.
    fn write(&self, path: &Path, bytes: &[u8]) -> io::Result<()> {
        let mut file = File::create_new(path)?;
        file.write_all(bytes)?;
        file.sync_all()
    }

    fn place(&mut self, name: &str) -> Result<(), StoreError> {
        let (at, kept, new) = (self.dir.join(name), self.staged.join(OLD).join(name), self.staged.join(NEW).join(name));
        let fault = |e| StoreError::io(&at, "write", e);
        self.step().map_err(fault)?;
        let replaced = self.journal.old.contains_key(name);
        if replaced {
            // A hard link to the old file costs nothing; if the file system has none, copy it.
            fs::hard_link(&at, &kept).or_else(|_| fs::copy(&at, &kept).map(|_| ())).map_err(fault)?;
        } else if fs::symlink_metadata(&at).is_ok() {
            return Err(fault(io::Error::new(ErrorKind::AlreadyExists, "a file with this name has just appeared")));
        }
        fs::rename(&new, &at).map_err(fault)?;
        self.done.push(if replaced { Done::Replaced { at, kept } } else { Done::New(at) });
        Ok(())
    }

    /// Ends a successful run: deletes the replaced files. A leftover does not make the run fail.
    pub(super) fn keep(self) {
        self.tidy();
    }

    /// Restores everything and returns the original error.
    pub(super) fn undo(self, first: StoreError) -> StoreError {
        let mut fault = None;
        for d in self.done.iter().rev() {
            let back = match d {
                Done::New(at) => fs::remove_file(at),
                Done::Replaced { at, kept } => fs::rename(kept, at),
            };
            if let Err(e) = back {
                fault = Some(e);
            }
        }
        if let Some(source) = fault {
            return StoreError::NotRestored { first: Box::new(first), kept: self.staged, source };
        }
        self.tidy();
        first
    }

    fn tidy(&self) {
        tidy(&self.staged, &self.journal);
    }
}

/// The error without the temporary path that `tempfile` adds: it means nothing to the user.
pub fn plain(e: &io::Error) -> io::Error {
    let text = e.to_string();
    io::Error::new(e.kind(), text.split(" at path ").next().unwrap_or_default().to_owned())
}

/// Removes the contents of the folder `staged` listed in its journal, then the folder if it is empty. The journal goes
/// last.
fn tidy(staged: &Path, journal: &Journal) {
    for (sub, names) in [(NEW, &journal.new), (OLD, &journal.old)] {
        for name in names.keys().filter(|n| is_plain(n)) {
            let _ = fs::remove_file(staged.join(sub).join(name));
        }
        let _ = fs::remove_dir(staged.join(sub));
    }
    let only_journal = fs::read_dir(staged).is_ok_and(|d| d.count() <= 1);
    if only_journal {
        let _ = fs::remove_file(staged.join(JOURNAL));
        let _ = fs::remove_dir(staged);
    }
}

/// Flushes the renames to the disk, where the system can do this for folders.
fn settle(dir: &Path) {
    if cfg!(unix) {
        let _ = File::open(dir).and_then(|d| d.sync_all());
    }
}

/// The result of repairing interrupted runs.
#[derive(Debug, Default, PartialEq, Eq)]
pub(super) struct Repaired {
    /// Number of interrupted runs whose changes were undone.
    pub runs: usize,
    /// Files that were changed since, and were kept.
    pub left: Vec<String>,
}

/// Undoes the changes of runs that were killed while writing, and removes their leftovers. The caller must hold the
/// folder's lock.
pub(super) fn repair(dir: &Path) -> Result<Repaired, StoreError> {
    let mut out = Repaired::default();
    // A folder that cannot be listed has no leftovers that could be found.
    let Ok(entries) = fs::read_dir(dir) else { return Ok(out) };
    let ours = |e: &fs::DirEntry| {
        e.file_name().to_str().is_some_and(|n| n.starts_with(PREFIX)) && e.file_type().is_ok_and(|t| t.is_dir())
    };
    for entry in entries.flatten().filter(ours) {
        let staged = entry.path();
        let Some(journal) = read(&staged) else {
            // Killed before the journal was complete: nothing else is in the folder.
            let lone = fs::read_dir(&staged).is_ok_and(|d| d.flatten().all(|e| e.file_name() == JOURNAL));
            if lone {
                let _ = fs::remove_file(staged.join(JOURNAL));
                let _ = fs::remove_dir(&staged);
            }
            continue;
        };
        if hash(&dir.join(&journal.document))?.as_ref() != journal.new.get(&journal.document) {
            out.runs += 1;
            for name in journal.new.keys().chain(journal.old.keys().filter(|n| !journal.new.contains_key(*n))) {
                if !back(dir, &staged, name, &journal)? {
                    out.left.push(name.clone());
                }
            }
        }
        tidy(&staged, &journal);
    }
    Ok(out)
}

fn read(staged: &Path) -> Option<Journal> {
    let path = staged.join(JOURNAL);
    let about = fs::symlink_metadata(&path).ok().filter(|m| m.is_file() && m.len() <= LONGEST)?;
    let mut bytes = Vec::new();
    File::open(&path).ok()?.take(about.len()).read_to_end(&mut bytes).ok()?;
    let journal: Journal = serde_json::from_slice(&bytes).ok()?;
    let plain = journal.new.keys().chain(journal.old.keys()).chain([&journal.document]).all(|n| is_plain(n));
    plain.then_some(journal)
}

/// Restores one file to its state before that run; false if it was changed since.
fn back(dir: &Path, staged: &Path, name: &str, journal: &Journal) -> Result<bool, StoreError> {
    let (at, kept) = (dir.join(name), staged.join(OLD).join(name));
    let (now, new, old) = (hash(&at)?, journal.new.get(name), journal.old.get(name));
    let placed = now.is_some() && now.as_ref() == new;
    if now.as_ref() == old {
        return Ok(true);
    }
    if !placed && fs::symlink_metadata(&at).is_ok() {
        return Ok(false);
    }
    match old {
        None => fs::remove_file(&at).map_err(|e| StoreError::io(&at, "remove", e))?,
        Some(_) if hash(&kept)?.as_ref() == old => {
            fs::rename(&kept, &at).map_err(|e| StoreError::io(&at, "put back", e))?;
        }
        Some(_) => return Ok(false),
    }
    Ok(true)
}

/// SHA-256 of a plain file; `None` for anything else.
pub(super) fn hash(path: &Path) -> Result<Option<String>, StoreError> {
    match fs::symlink_metadata(path) {
        Ok(m) if m.is_file() => {}
        _ => return Ok(None),
    }
    fs::read(path).map(|b| Some(sha256(&b))).map_err(|source| StoreError::Io {
        path: path.to_path_buf(),
        doing: "read",
        source,
    })
}
