//! Allows one run at a time in a folder.
//!
//! In: the folder. Out: the folder, created if missing, and locked until [`Held`] is dropped. The lock is on the folder
//! itself and leaves nothing behind, even after a kill. If a folder cannot be locked (Windows, some network file
//! systems), a file in the system's temporary folder is locked instead. That file stays. Error ([`StoreError::Busy`]):
//! another run does not finish in time.

use super::StoreError;
use crate::budget::Budget;
use std::fs::{self, File, TryLockError};
use std::io::{self, ErrorKind};
use std::path::{Path, PathBuf};
use std::time::{Duration, Instant};

/// Pause between two attempts.
const PAUSE: Duration = Duration::from_millis(10);
/// Most attempts to create folders that another run removes at the same time.
const TRIES: usize = 100;

/// A folder locked for this run.
#[derive(Debug)]
pub(super) struct Held {
    /// Folders that were created, the outermost first.
    made: Vec<PathBuf>,
    _lock: File,
}

impl Held {
    /// Creates `dir` if missing, and waits for the lock for up to `patience`.
    pub(super) fn take(dir: &Path, patience: Duration, budget: Option<&Budget>) -> Result<Held, StoreError> {
        let until = Instant::now() + patience;
        let mut made = Vec::new();
        let mut tries = 0;
        loop {
            let new = make(dir)?;
            if !new.is_empty() {
                made = new;
            }
            let lock = match locked(dir, until, budget) {
                Ok(lock) => lock,
                Err(e) => {
                    remove(&made);
                    return Err(e);
                }
            };
            tries += 1;
            // The previous holder may have removed the folder: the lock would then be on nothing.
            if let Some(lock) = lock {
                return Ok(Held { made, _lock: lock });
            }
            if tries > TRIES {
                return Err(StoreError::Busy { dir: dir.to_path_buf() });
            }
        }
    }

    /// Removes the folders that were created in vain.
    pub(super) fn abandon(self) {
        remove(&self.made);
    }
}

/// Creates the folder and its missing ancestors, and returns those created. Another run may create them at the same
/// time.
fn make(dir: &Path) -> Result<Vec<PathBuf>, StoreError> {
    let mut made = Vec::new();
    let mut tries = 0;
    loop {
        let missing: Vec<PathBuf> = dir
            .ancestors()
            .take_while(|p| !p.as_os_str().is_empty() && fs::symlink_metadata(p).is_err())
            .map(Path::to_path_buf)
            .collect();
        let Some(next) = missing.last() else { return Ok(made) };
        match fs::create_dir(next) {
            Ok(()) => made.push(next.clone()),
            Err(e) if e.kind() == ErrorKind::AlreadyExists && next.is_dir() => {}
            Err(e) if e.kind() == ErrorKind::NotFound && tries < TRIES => tries += 1,
            Err(source) => {
                remove(&made);
                return Err(StoreError::io(next, "make the folder", source));
            }
        }
    }
}

fn remove(made: &[PathBuf]) {
    for p in made.iter().rev() {
        // Succeeds only for empty folders: someone may have put a file there meanwhile.
        let _ = fs::remove_dir(p);
    }
}

/// The lock; `None` if the folder was removed before the lock was acquired.
fn locked(dir: &Path, until: Instant, budget: Option<&Budget>) -> Result<Option<File>, StoreError> {
    if let Some(file) = open(dir) {
        match wait(&file, dir, until, budget) {
            Ok(()) => return Ok(is_still(&file, dir).then_some(file)),
            Err(Fault::Store(e)) => return Err(e),
            // This file system cannot lock folders.
            Err(Fault::Unfit) => {}
        }
    }
    let file = aside(dir).map_err(|e| StoreError::io(dir, "lock", e))?;
    match wait(&file, dir, until, budget) {
        Ok(()) => Ok(dir.is_dir().then_some(file)),
        Err(Fault::Store(e)) => Err(e),
        Err(Fault::Unfit) => Err(StoreError::io(dir, "lock", io::Error::from(ErrorKind::Unsupported))),
    }
}

enum Fault {
    Store(StoreError),
    Unfit,
}

fn wait(file: &File, dir: &Path, until: Instant, budget: Option<&Budget>) -> Result<(), Fault> {
    loop {
        match file.try_lock() {
            Ok(()) => return Ok(()),
            Err(TryLockError::Error(_)) => return Err(Fault::Unfit),
            Err(TryLockError::WouldBlock) => {}
        }
        budget.map_or(Ok(()), Budget::check).map_err(|e| Fault::Store(e.into()))?;
        if Instant::now() >= until {
            return Err(Fault::Store(StoreError::Busy { dir: dir.to_path_buf() }));
        }
        std::thread::sleep(PAUSE);
    }
}

/// The folder as a handle that can be locked.
fn open(dir: &Path) -> Option<File> {
    if cfg!(unix) { File::open(dir).ok() } else { None }
}

/// A lock file that represents the folder. It is never removed: otherwise two runs could lock two files.
fn aside(dir: &Path) -> io::Result<File> {
    let place = fs::canonicalize(dir)?;
    let name = format!("letin-{}.lock", &super::sha256(place.as_os_str().as_encoded_bytes())[..32]);
    let path = std::env::temp_dir().join(name);
    match File::options().create(true).append(true).open(&path) {
        // It belongs to another user: a read-only handle suffices for the lock.
        Err(e) if e.kind() == ErrorKind::PermissionDenied => File::open(&path),
        other => other,
    }
}

#[cfg(unix)]
fn is_still(file: &File, dir: &Path) -> bool {
    use std::os::unix::fs::MetadataExt;
    let place = |m: &fs::Metadata| (m.dev(), m.ino());
    matches!((file.metadata(), fs::metadata(dir)), (Ok(a), Ok(b)) if place(&a) == place(&b))
}

#[cfg(not(unix))]
fn is_still(_: &File, dir: &Path) -> bool {
    dir.is_dir()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_second_run_waits_and_then_reports_the_other_run() {
        let t = tempfile::tempdir().unwrap();
        let dir = t.path().join("a/b");
        let first = Held::take(&dir, Duration::ZERO, None).unwrap();
        let e = Held::take(&dir, Duration::from_millis(50), None).unwrap_err();
        assert!(matches!(&e, StoreError::Busy { .. }) && e.to_string().contains("another run"), "{e}");
        let stopped = Budget::unlimited();
        stopped.cancel();
        let e = Held::take(&dir, Duration::from_secs(60), Some(&stopped)).unwrap_err();
        assert!(matches!(e, StoreError::Stopped(_)), "{e}");
        drop(first);
        Held::take(&dir, Duration::ZERO, None).unwrap();
        assert_eq!(fs::read_dir(&dir).unwrap().count(), 0, "a lock leaves nothing");
    }

    /// The folder disappears while a second run waits for it: that run creates it again and locks the new one.
    #[test]
    fn a_folder_removed_while_a_run_waits_for_it_is_made_again() {
        let t = tempfile::tempdir().unwrap();
        let dir = t.path().join("new");
        let first = Held::take(&dir, Duration::ZERO, None).unwrap();
        std::thread::scope(|scope| {
            let second = scope.spawn(|| Held::take(&dir, Duration::from_secs(20), None));
            std::thread::sleep(Duration::from_millis(100));
            first.abandon();
            let second = second.join().unwrap().unwrap();
            assert!(dir.is_dir());
            assert!(matches!(Held::take(&dir, Duration::ZERO, None), Err(StoreError::Busy { .. })));
            drop(second);
        });
    }

    #[test]
    fn the_lock_file_of_a_folder_locks_it_too() {
        let t = tempfile::tempdir().unwrap();
        let (one, two) = (aside(t.path()).unwrap(), aside(&t.path().join(".")).unwrap());
        one.try_lock().unwrap();
        assert!(matches!(two.try_lock(), Err(TryLockError::WouldBlock)));
        let name = fs::canonicalize(t.path()).unwrap();
        let name = format!("letin-{}.lock", &crate::write::store::sha256(name.as_os_str().as_encoded_bytes())[..32]);
        fs::remove_file(std::env::temp_dir().join(name)).unwrap();
    }
}
