//! Where a file is, whatever it is called from here.
//!
//! In: paths as they were given. Out: paths without links and dots, and one path as seen from another. The file system is
//! asked; what is not there yet is taken as it is written.

use super::Out;
use super::files::target;
use std::path::{Component, Path, PathBuf};

/// The whole path, with links followed in as much of it as is there.
pub(super) fn resolved(path: &Path) -> PathBuf {
    let path = if path.as_os_str().is_empty() { Path::new(".") } else { path };
    let Ok(whole) = std::path::absolute(path) else { return path.to_path_buf() };
    let there = whole.ancestors().find_map(|a| Some((a, std::fs::canonicalize(a).ok()?)));
    let Some((above, mut real)) = there else { return whole };
    let rest = whole.strip_prefix(above).unwrap_or(Path::new(""));
    for part in rest.components() {
        // What is not there has no links, so going up is just that.
        if part == Component::ParentDir {
            real.pop();
        } else {
            real.push(part);
        }
    }
    real
}

/// A file as seen from a folder, with slashes: the same wherever both are moved together, and from wherever both are
/// named. The file's own name stays as it was given.
pub(super) fn seen_from(folder: &Path, file: &Path) -> String {
    let parent = file.parent().unwrap_or(Path::new(""));
    between(&resolved(folder), &resolved(parent).join(file.file_name().unwrap_or_default()))
        .to_string_lossy()
        .into_owned()
}

/// The way from one whole path to another, where there is one.
fn between(folder: &Path, path: &Path) -> PathBuf {
    let (mut a, mut b) = (path.components().peekable(), folder.components().peekable());
    let mut shared = 0;
    while a.peek().is_some() && a.peek() == b.peek() {
        a.next();
        b.next();
        shared += 1;
    }
    // Another drive has no way there.
    if shared == 0 || b.clone().any(|c| matches!(c, Component::ParentDir)) {
        return path.to_path_buf();
    }
    let up = b.map(|_| "..".to_owned());
    let down = a.map(|c| c.as_os_str().to_string_lossy().into_owned());
    PathBuf::from(up.chain(down).collect::<Vec<_>>().join("/"))
}

/// `path` as seen from the folder of the file `from`, with slashes, where that can be said; both as they are written.
#[must_use]
pub fn relative(path: &Path, from: &Path) -> PathBuf {
    let (Ok(path_abs), Ok(from_abs)) = (std::path::absolute(path), std::path::absolute(from)) else {
        return path.to_path_buf();
    };
    between(from_abs.parent().unwrap_or(Path::new("")), &path_abs)
}

/// Where a run of `drawing` writes, if that lies outside the folder of the job file.
#[must_use]
pub fn outside(job_file: &Path, drawing: &Path, out: &Out) -> Option<PathBuf> {
    let folder = resolved(&target(drawing, out).0);
    (!folder.starts_with(resolved(job_file.parent().unwrap_or(Path::new(""))))).then_some(folder)
}

#[cfg(test)]
mod tests {
    use super::*;

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
