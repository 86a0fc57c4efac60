//! Which kit counts, and measured sizes into it.
//!
//! In: what was asked for by name or path, and where to look. Out: the [`Kit`] and where it is from. Unless one is asked
//! for it is the nearest `letin.toml` upward from the drawing's folder: only one with the same owner as that folder, and
//! no farther than the home folder, so that nobody else's file decides what is cut. Without one it is the general metric
//! kit.

use super::files::read_text;
use super::save::replace;
use super::{AppError, Out};
use crate::kit::file::{KitFileError, parse};
use crate::kit::{Kit, Pair, edit, generic};
use crate::text::terminal as safe;
use std::path::{Path, PathBuf};

/// The name of a kit that is found by itself.
pub const NAME: &str = "letin.toml";

/// A kit, and where it is from.
#[derive(Clone, Debug, PartialEq)]
pub struct ChosenKit {
    pub kit: Kit,
    /// None for a general kit.
    pub path: Option<PathBuf>,
    /// It was found beside or above the drawing, not asked for.
    pub found: bool,
}

impl ChosenKit {
    /// Where it is from, in words and harmless.
    #[must_use]
    pub fn name(&self) -> String {
        match &self.path {
            Some(p) => safe(&p.to_string_lossy()),
            None if self.kit.inches => {
                "the general inch kit (nobody's own; its figures are common practice)".to_owned()
            }
            None => "the general metric kit (nobody's own; its figures are common practice)".to_owned(),
        }
    }
}

/// The kit asked for: `metric`, `inch`, or a file; else the nearest one from the folder `from`.
///
/// # Errors
/// [`AppError`] where the file cannot be read or is no kit.
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

/// A job file gives its paths from its own folder, so the name alone counts; a file of that name comes first.
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
        // A link could lead to a file of somebody else.
        if std::fs::symlink_metadata(&file).is_ok_and(|m| m.is_file()) && self::owner(&file) == Some(owner) {
            // Told as it was given where it lies beside the drawing.
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

/// Where owners cannot be told apart only what lies within the home folder counts.
#[cfg(not(unix))]
fn owner(path: &Path) -> Option<u32> {
    let home = std::env::home_dir().and_then(|h| std::fs::canonicalize(h).ok())?;
    std::fs::canonicalize(path).ok()?.starts_with(home).then_some(0)
}

/// Writes measured sizes into the kit file at `path`, which is made if it is not there. Everything else in it stays as it
/// is. In a dry run only what would be written is worked out.
///
/// # Errors
/// [`AppError`] where the file is no kit, or cannot be written.
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
        // What is asked for outweighs it.
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
