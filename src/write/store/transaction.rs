//! Renames that can be taken back.
//!
//! All new files are written beside their places first, so that a full disk is met before anything is touched. What is
//! replaced or removed is kept in a folder beside them until the end. A power cut in the middle leaves each name with
//! its old or its new file, never with half of one.

use super::StoreError;
use std::collections::BTreeSet;
use std::fs;
use std::io::{self, ErrorKind, Write};
use std::path::{Path, PathBuf};
use tempfile::{Builder, NamedTempFile, TempDir};

const PREFIX: &str = ".letin-";

enum Done {
    /// A name that was free.
    New(PathBuf),
    /// A name whose old file is kept.
    Replaced { at: PathBuf, kept: PathBuf },
}

pub(super) struct Transaction {
    dir: PathBuf,
    /// Folders that were made, the outermost first.
    made: Vec<PathBuf>,
    kept: TempDir,
    done: Vec<Done>,
    steps: usize,
    fail_at: Option<usize>,
}

impl Transaction {
    /// Makes the folder if it is missing.
    pub(super) fn begin(dir: &Path) -> Result<Transaction, StoreError> {
        let missing: Vec<PathBuf> = dir
            .ancestors()
            .take_while(|p| !p.as_os_str().is_empty() && fs::symlink_metadata(p).is_err())
            .map(Path::to_path_buf)
            .collect();
        let mut made = Vec::new();
        for p in missing.into_iter().rev() {
            if let Err(source) = fs::create_dir(&p) {
                remove_folders(&made);
                return Err(StoreError::io(&p, "make the folder", source));
            }
            made.push(p);
        }
        match Builder::new().prefix(PREFIX).tempdir_in(dir) {
            Ok(kept) => {
                Ok(Transaction { dir: dir.to_path_buf(), made, kept, done: Vec::new(), steps: 0, fail_at: None })
            }
            Err(source) => {
                remove_folders(&made);
                Err(StoreError::io(dir, "write into", source))
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

    /// Puts `files` in place, in order, but the last of them after the `stale` ones are gone.
    pub(super) fn run(
        &mut self,
        files: &[(String, Vec<u8>)],
        replaced: &BTreeSet<String>,
        stale: &[String],
    ) -> Result<(), StoreError> {
        let mut ready = Vec::new();
        for (name, bytes) in files {
            let at = self.dir.join(name);
            let file = self.step().and_then(|()| self.prepare(bytes));
            ready.push((name, file.map_err(|e| StoreError::io(&at, "write", e))?));
        }
        let last = ready.pop();
        for (name, file) in ready {
            self.place(name, file, replaced)?;
        }
        for name in stale {
            let at = self.dir.join(name);
            let kept = self.kept.path().join(name);
            self.step().and_then(|()| fs::rename(&at, &kept)).map_err(|e| StoreError::io(&at, "remove", e))?;
            self.done.push(Done::Replaced { at, kept });
        }
        last.map_or(Ok(()), |(name, file)| self.place(name, file, replaced))
    }

    fn prepare(&self, bytes: &[u8]) -> io::Result<NamedTempFile> {
        let mut builder = Builder::new();
        builder.prefix(PREFIX);
        // As any program makes a file: the user's mask decides who may read it.
        #[cfg(unix)]
        builder.permissions(std::os::unix::fs::PermissionsExt::from_mode(0o666));
        let mut file = builder.tempfile_in(&self.dir)?;
        file.write_all(bytes)?;
        file.as_file().sync_all()?;
        Ok(file)
    }

    fn place(&mut self, name: &str, file: NamedTempFile, replaced: &BTreeSet<String>) -> Result<(), StoreError> {
        let at = self.dir.join(name);
        let kept = self.kept.path().join(name);
        let fault = |e| StoreError::io(&at, "write", e);
        self.step().map_err(fault)?;
        if replaced.contains(name) {
            // A second name for the old file costs nothing; where the file system has none, a copy does.
            fs::hard_link(&at, &kept).or_else(|_| fs::copy(&at, &kept).map(|_| ())).map_err(fault)?;
        } else if fs::symlink_metadata(&at).is_ok() {
            return Err(fault(io::Error::new(ErrorKind::AlreadyExists, "it was put there just now")));
        }
        file.persist(&at).map_err(|e| fault(e.error))?;
        let replaced = replaced.contains(name);
        self.done.push(if replaced { Done::Replaced { at, kept } } else { Done::New(at) });
        Ok(())
    }

    /// The end of a good run: what was replaced goes.
    pub(super) fn keep(self) {
        // All files are in place; a leftover folder of old ones would be no reason to call the run failed.
        let _ = self.kept.close();
    }

    /// Puts everything back and hands on what was the matter.
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
            return StoreError::NotRestored { first: Box::new(first), kept: self.kept.keep(), source };
        }
        let _ = self.kept.close();
        remove_folders(&self.made);
        first
    }
}

fn remove_folders(made: &[PathBuf]) {
    for p in made.iter().rev() {
        // Only if empty: someone may have put a file there meanwhile.
        let _ = fs::remove_dir(p);
    }
}
