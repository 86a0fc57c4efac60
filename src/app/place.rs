//! Names and locations of files, independent of how they were named.
//!
//! In: paths as given. Out: paths without links and dots, and paths relative to another. Links are resolved with the
//! file system. The part of a path that does not exist yet is used as written.

use crate::job::Out;
use crate::text;
use crate::write::store::sha256;
use std::path::{Component, Path, PathBuf};

/// The absolute path. Links are followed in the part that exists.
pub(super) fn resolved(path: &Path) -> PathBuf {
    let path = if path.as_os_str().is_empty() { Path::new(".") } else { path };
    let Ok(whole) = std::path::absolute(path) else { return path.to_path_buf() };
    let there = whole.ancestors().find_map(|a| Some((a, std::fs::canonicalize(a).ok()?)));
    let Some((above, mut real)) = there else { return whole };
    let rest = whole.strip_prefix(above).unwrap_or(Path::new(""));
    for part in rest.components() {
        // The part that does not exist has no links, so `..` removes its parent.
        if part == Component::ParentDir {
            real.pop();
        } else {
            real.push(part);
        }
    }
    real
}

/// The path of a file relative to a folder, with slashes. It stays the same if both move together, and whatever path
/// names them. The file's own name is kept as given.
pub(super) fn seen_from(folder: &Path, file: &Path) -> String {
    let parent = file.parent().unwrap_or(Path::new(""));
    between(&resolved(folder), &resolved(parent).join(file.file_name().unwrap_or_default()))
        .to_string_lossy()
        .into_owned()
}

/// The relative path from `folder` to `path`, both absolute. Where none exists it is `path` itself.
fn between(folder: &Path, path: &Path) -> PathBuf {
    let (mut a, mut b) = (path.components().peekable(), folder.components().peekable());
    let mut shared = 0;
    while a.peek().is_some() && a.peek() == b.peek() {
        a.next();
        b.next();
        shared += 1;
    }
    // No relative path leads to another drive.
    if shared == 0 || b.clone().any(|c| matches!(c, Component::ParentDir)) {
        return path.to_path_buf();
    }
    let up = b.map(|_| "..".to_owned());
    let down = a.map(|c| c.as_os_str().to_string_lossy().into_owned());
    PathBuf::from(up.chain(down).collect::<Vec<_>>().join("/"))
}

/// The folder for the files, and NAME, the beginning of their names.
pub(super) fn target(drawing: &Path, out: &Out) -> (PathBuf, String) {
    let name = name(drawing);
    (out.folder.clone().unwrap_or_else(|| beside(drawing, &name)), name)
}

/// Whether `path` may be one of the files of a run of `drawing`.
#[must_use]
pub fn is_output(path: &Path, drawing: &Path, out: &Out) -> bool {
    let (folder, name) = target(drawing, out);
    let parent = path.parent().unwrap_or(Path::new(""));
    let file = path.file_name().unwrap_or_default().to_string_lossy().to_lowercase();
    let name = name.to_lowercase();
    let drawn = [".svg", ".dxf"].iter().any(|e| file.ends_with(e));
    resolved(parent) == resolved(&folder)
        && (file == format!("{name}.json") || (drawn && file.starts_with(&format!("{name}-"))))
}

/// Longest NAME, bytes. It leaves room for the longest ending of a file's name.
const LONGEST_NAME: usize = text::LONGEST_STEM - "-island-1-panel-99999-face-2.dxf".len();
/// Digits of the hash that distinguish long names.
const DIGITS: usize = 8;

/// NAME: the drawing's name, valid on any system. A longer name ends in digits of its hash.
pub(super) fn name(drawing: &Path) -> String {
    let whole = stem(drawing);
    let mut name = text::file_stem(&whole);
    if name.len() > LONGEST_NAME {
        let cut = (0..=LONGEST_NAME - DIGITS - 1).rev().find(|&i| name.is_char_boundary(i)).unwrap_or(0);
        name.truncate(cut);
        name = format!("{name}-{}", &sha256(whole.as_bytes())[..DIGITS]);
    }
    name
}

fn stem(drawing: &Path) -> String {
    drawing.file_stem().unwrap_or_default().to_string_lossy().into_owned()
}

/// A note if NAME differs from the drawing's name.
pub(super) fn renamed(drawing: &Path, name: &str) -> Option<String> {
    let stem = stem(drawing);
    (stem != name)
        .then(|| format!("the names of the files begin with {name}: not every system takes the drawing's name"))
}

fn beside(drawing: &Path, name: &str) -> PathBuf {
    drawing.parent().unwrap_or(Path::new("")).join(format!("{name}-letin"))
}

/// `path` relative to the folder of the file `from`, with slashes. Links are not followed. Without a relative path it
/// is `path` itself.
#[must_use]
pub fn relative(path: &Path, from: &Path) -> PathBuf {
    let (Ok(path_abs), Ok(from_abs)) = (std::path::absolute(path), std::path::absolute(from)) else {
        return path.to_path_buf();
    };
    between(from_abs.parent().unwrap_or(Path::new("")), &path_abs)
}

/// The folder that a run of `drawing` writes to, if it lies outside the folder of the job file.
#[must_use]
pub fn outside(job_file: &Path, drawing: &Path, out: &Out) -> Option<PathBuf> {
    let folder = resolved(&target(drawing, out).0);
    (!folder.starts_with(resolved(job_file.parent().unwrap_or(Path::new(""))))).then_some(folder)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn long_names_stay_different() {
        let of = |n: usize, last: &str| name(Path::new(&format!("{}{last}.svg", "ä".repeat(n))));
        assert_eq!(of(74, ""), "ä".repeat(74));
        for n in [75, 90, 125] {
            let (a, b) = (of(n, "a"), of(n, "b"));
            assert!(a != b && a.len() <= LONGEST_NAME && b.len() <= LONGEST_NAME, "{a} {b}");
            assert!(text::file_stem(&format!("{a}-island-1-panel-99-face-2.dxf")).ends_with(".dxf"));
        }
    }

    #[test]
    fn files_go_beside_the_drawing() {
        let p = Path::new("yard/hatch key.svg");
        assert_eq!(beside(p, &name(p)), Path::new("yard/hatch key-letin"));
        assert_eq!(beside(Path::new("key.svg"), "key"), Path::new("key-letin"));
    }

    #[test]
    fn paths_are_seen_from_the_file() {
        assert_eq!(relative(Path::new("yard/key.svg"), Path::new("yard/job.toml")), Path::new("key.svg"));
        assert_eq!(relative(Path::new("key.svg"), Path::new("yard/job.toml")), Path::new("../key.svg"));
        assert_eq!(relative(Path::new("a/key.svg"), Path::new("b/job.toml")), Path::new("../a/key.svg"));
    }

    #[cfg(unix)]
    #[test]
    fn one_file_has_one_place_from_a_folder() {
        let t = tempfile::tempdir().unwrap();
        let yard = t.path().join("yard");
        std::fs::create_dir(&yard).unwrap();
        std::os::unix::fs::symlink(&yard, t.path().join("link")).unwrap();
        let out = yard.join("key-letin");
        for (folder, file) in [
            (out.clone(), yard.join("key.svg")),
            (t.path().join("link/key-letin"), yard.join("../yard/./key.svg")),
            (out.join("../key-letin"), t.path().join("link/key.svg")),
        ] {
            assert_eq!(seen_from(&folder, &file), "../key.svg", "{}", folder.display());
        }
        let into = |folder| Out::plain(folder, false, false);
        let (job, key) = (yard.join("key.toml"), yard.join("key.svg"));
        assert_eq!(outside(&job, &key, &into(None)), None);
        assert_eq!(outside(&job, &key, &into(Some(t.path().join("link/cut")))), None);
        let beside = resolved(t.path()).join("yard-2");
        assert_eq!(outside(&job, &key, &into(Some(yard.join("../yard-2")))), Some(beside));
        assert_eq!(outside(&job, &t.path().join("k.svg"), &into(None)), Some(resolved(t.path()).join("k-letin")));
    }
}
