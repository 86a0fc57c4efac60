//! Chooses the kit of a run, and writes measured sizes into it.
//!
//! In: the given name or path, and a folder. Out: the [`Kit`] and its path. By default it is the nearest `letin.toml` upward
//! from the drawing's folder. The file must have the same owner as that folder, and lie no higher than the home folder: a
//! file of somebody else must not decide a cut. Without such a file it is the general metric kit.

use super::read::read_text;
use super::save::replace;
use super::{AppError, Out};
use crate::kit::file::{KitFileError, parse};
use crate::kit::{Kit, Pair, edit, generic};
use crate::text::terminal as safe;
use std::path::{Path, PathBuf};

/// The file name of a default kit.
pub const NAME: &str = "letin.toml";

/// A kit and its file.
#[derive(Clone, Debug, PartialEq)]
pub struct ChosenKit {
    pub kit: Kit,
    /// `None` for a general kit.
    pub path: Option<PathBuf>,
    /// True for a default kit beside or above the drawing.
    pub found: bool,
}

impl ChosenKit {
    /// The file or the general kit in words, safe for a terminal.
    #[must_use]
    pub fn name(&self) -> String {
        match &self.path {
            Some(p) => safe(&p.to_string_lossy()),
            None if self.kit.inches => "the general inch kit (common sizes, not measured)".to_owned(),
            None => "the general metric kit (common sizes, not measured)".to_owned(),
        }
    }
}

/// The given kit: `metric`, `inch`, or a file. By default the nearest file upward from the folder `from`.
///
/// # Errors
/// [`AppError`] for a file that cannot be read, and for a file that is not a kit.
pub fn load(asked: Option<&Path>, from: &Path) -> Result<ChosenKit, AppError> {
    let general = |kit: Result<Kit, KitFileError>| {
        let kit = kit.map_err(|e| broken(Path::new("the general kit"), String::new(), e))?;
        Ok(ChosenKit { kit, path: None, found: false })
    };
    match asked {
        Some(p) if is_general(p, "metric") => general(generic::metric()),
        Some(p) if is_general(p, "inch") => general(generic::inch()),
        Some(p) => own(p, false),
        None => match nearest(from) {
            Some(p) => own(&p, true),
            None => general(generic::metric()),
        },
    }
}

/// Whether a path names a general kit. A job file prefixes its folder, so only the file name counts. An existing file of
/// that name wins.
fn is_general(asked: &Path, name: &str) -> bool {
    asked.file_name().is_some_and(|n| n == name) && !asked.exists()
}

fn own(path: &Path, found: bool) -> Result<ChosenKit, AppError> {
    let text = read_text(path)?;
    match parse(&text) {
        Ok(kit) => Ok(ChosenKit { kit, path: Some(path.to_path_buf()), found }),
        Err(e) => Err(broken(path, text, e)),
    }
}

fn broken(path: &Path, text: String, source: KitFileError) -> AppError {
    AppError::Kit { path: path.to_path_buf(), text, source: Box::new(source) }
}

/// The nearest kit upward from a folder.
fn nearest(from: &Path) -> Option<PathBuf> {
    let from = if from.as_os_str().is_empty() { Path::new(".") } else { from };
    let folder = std::fs::canonicalize(from).ok()?;
    let owner = owner(&folder)?;
    let home = std::env::home_dir().and_then(|h| std::fs::canonicalize(h).ok());
    for above in folder.ancestors() {
        if self::owner(above) != Some(owner) {
            break;
        }
        let file = above.join(NAME);
        // A link may lead to a file of another owner.
        if std::fs::symlink_metadata(&file).is_ok_and(|m| m.is_file()) && self::owner(&file) == Some(owner) {
            // Beside the drawing the path stays relative, as the user gave it.
            let here = if from == Path::new(".") { PathBuf::from(NAME) } else { from.join(NAME) };
            return Some(if above == folder { here } else { file });
        }
        if home.as_deref() == Some(above) {
            break;
        }
    }
    None
}

#[cfg(unix)]
fn owner(path: &Path) -> Option<u32> {
    use std::os::unix::fs::MetadataExt;
    std::fs::symlink_metadata(path).ok().map(|m| m.uid())
}

/// Systems without owners: only files within the home folder count.
#[cfg(not(unix))]
fn owner(path: &Path) -> Option<u32> {
    let home = std::env::home_dir().and_then(|h| std::fs::canonicalize(h).ok())?;
    std::fs::canonicalize(path).ok()?.starts_with(home).then_some(0)
}

/// Writes measured sizes into the kit file at `path`, and leaves the rest of its text alone. Makes a missing file. A dry run
/// writes nothing.
///
/// # Errors
/// [`AppError`] for a file that is not a kit, and for one that cannot be written.
pub fn correct(path: &Path, called: Pair, found: Pair, dry_run: bool) -> Result<(), AppError> {
    let text = match read_text(path) {
        Err(AppError::NotFound { .. }) => String::new(),
        other => other?,
    };
    let new = edit::measured(&text, called, found).map_err(|e| broken(path, text.clone(), e))?;
    let out = Out::plain(None, true, dry_run);
    let mode = std::fs::metadata(path).map(|m| m.permissions());
    replace(path, new.as_bytes(), &out)?;
    if let (Ok(mode), false) = (mode, dry_run) {
        std::fs::set_permissions(path, mode)
            .map_err(|e| AppError::Unwritable { path: path.to_path_buf(), why: e.to_string() })?;
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_nearest_kit_upward_counts() {
        let dir = tempfile::tempdir().unwrap();
        let deep = dir.path().join("jobs/hatch");
        std::fs::create_dir_all(&deep).unwrap();
        let row = |b: u32| format!("[[bush]]\noutside = {b}\n");
        std::fs::write(dir.path().join(NAME), row(20)).unwrap();
        let chosen = load(None, &deep).unwrap();
        assert_eq!((chosen.kit.bushes[0].outside, chosen.found), (20.0, true));
        std::fs::write(dir.path().join("jobs").join(NAME), row(16)).unwrap();
        assert_eq!(load(None, &deep).unwrap().kit.bushes[0].outside, 16.0);
        // A given kit overrides the default one.
        assert!(load(Some(Path::new("inch")), &deep).unwrap().kit.inches);
        std::fs::write(deep.join(NAME), "[[bush]]\noutsid = 3\n").unwrap();
        assert!(matches!(load(None, &deep), Err(AppError::Kit { .. })));
        assert!(matches!(load(Some(Path::new("none.toml")), &deep), Err(AppError::NotFound { .. })));
    }

    #[cfg(unix)]
    #[test]
    fn links_are_not_followed_to_a_kit() {
        let dir = tempfile::tempdir().unwrap();
        let (a, b) = (dir.path().join("a"), dir.path().join("b"));
        std::fs::create_dir_all(&a).unwrap();
        std::fs::create_dir_all(&b).unwrap();
        std::fs::write(b.join("k.toml"), "[[bush]]\noutside = 16\n").unwrap();
        std::os::unix::fs::symlink(b.join("k.toml"), a.join(NAME)).unwrap();
        assert!(load(None, &a).unwrap().path.is_none_or(|p| !p.starts_with(dir.path())));
    }
}
