//! File names, ownership of files, and access rights.

use super::*;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::PathBuf;

#[test]
fn long_names_are_shortened_and_reported() {
    let t = yard();
    let mut folders = Vec::new();
    for (n, last) in [(170, "a"), (170, "b"), (251, "a"), (150, "a")] {
        let name = format!("{}{last}.svg", "k".repeat(n - 1));
        fs::write(t.path().join(&name), KEY).unwrap();
        for _ in 0..2 {
            let o = letin(t.path(), &["make", &name]);
            assert_eq!(status(&o), 0, "{n}: {}", err(&o));
            assert!(err(&o).contains("the names of the files begin with kkk"), "{n}: {}", err(&o));
        }
        folders.push(name);
    }
    let made: Vec<String> = names(t.path()).into_iter().filter(|n| n.ends_with("-letin")).collect();
    assert_eq!(made.len(), folders.len(), "each drawing needs its own folder: {made:?}");
    for folder in made {
        let name = folder.strip_suffix("-letin").unwrap();
        is_whole_set(&t.path().join(&folder), &format!("{name}.json")).unwrap();
    }
}

/// Line ends, bidirectional marks, bytes that are not text, a leading dash, dots. Each drawing is made, proved, made again.
#[test]
fn strange_names_are_made_harmless_and_made_again() {
    let t = yard();
    for name in [
        b"line\nend.svg".as_slice(),
        b"esc\x1b[2J.svg",
        "hatch\u{202e}gvs.svg".as_bytes(),
        b"latin\xe9.svg",
        b"-key.svg",
        b"...svg",
        b"con.svg",
        b" key .svg",
    ] {
        let dir = tempfile::tempdir().unwrap();
        let name = OsStr::from_bytes(name);
        // Some file systems reject some names.
        if fs::write(dir.path().join(name), KEY).is_err() {
            continue;
        }
        let args = [OsStr::new("make"), OsStr::new("--"), name];
        assert_eq!(status(&letin(dir.path(), &args)), 0, "{name:?}");
        // The edited file is the same drawing.
        fs::write(dir.path().join(name), edited(34)).unwrap();
        let o = letin(dir.path(), &args);
        assert_eq!(status(&o), 0, "{name:?}: {}", err(&o));
        assert!(!o.stderr.contains(&0x1b) && !o.stdout.contains(&0x1b), "{name:?}");
        assert!(!String::from_utf8_lossy(&o.stderr).contains('\u{202e}'));
        let made: Vec<String> = names(dir.path()).into_iter().filter(|n| n.ends_with("-letin")).collect();
        assert_eq!(made.len(), 1, "{name:?}: {made:?}");
        assert!(!made[0].contains(char::is_control) && !made[0].starts_with('-'), "{made:?}");
        assert_eq!(status(&letin(dir.path(), &["prove", &made[0]])), 0, "{name:?}");
    }
    for no in ["..", ".", "/"] {
        let o = letin(t.path(), &["make", no]);
        assert_eq!(status(&o), 2, "{no}: {}", err(&o));
    }
}

/// Two drawings of the same name share an output folder. The second drawing is refused. The first may be edited, named by
/// another path, and moved.
#[test]
fn files_of_another_drawing_are_not_replaced_in_silence() {
    let t = yard();
    let dir = t.path();
    for (folder, drawing) in [("a", KEY.to_owned()), ("b", edited(34))] {
        fs::create_dir(dir.join(folder)).unwrap();
        fs::write(dir.join(folder).join("key.svg"), drawing).unwrap();
    }
    let made = |drawing: &str, more: &[&str]| letin(dir, &[&["make", drawing, "--out", "same"], more].concat());
    assert_eq!(status(&made("a/key.svg", &[])), 0);
    assert_eq!(document(&dir.join("same/key.json"))["drawing"]["from_folder"], "../a/key.svg");
    let before = fs::read(dir.join("same/key.json")).unwrap();
    let o = made("b/key.svg", &[]);
    assert_eq!(status(&o), 2);
    assert!(err(&o).contains("another drawing, a/key.svg") && err(&o).contains("--force"), "{}", err(&o));
    assert_eq!(fs::read(dir.join("same/key.json")).unwrap(), before);
    // The same drawing, edited, by several paths.
    fs::write(dir.join("a/key.svg"), edited(33)).unwrap();
    symlink("a", dir.join("link")).unwrap();
    let whole = dir.join("a/key.svg");
    for way in ["a/key.svg", "./b/../a/key.svg", "link/key.svg", whole.to_str().unwrap()] {
        let o = made(way, &[]);
        assert_eq!(status(&o), 0, "{way}: {}", err(&o));
    }
    // First moved together with its folder of files, then by itself without an edit.
    fs::create_dir(dir.join("moved")).unwrap();
    for n in ["a", "b", "same"] {
        fs::rename(dir.join(n), dir.join("moved").join(n)).unwrap();
    }
    fs::write(dir.join("moved/a/key.svg"), KEY).unwrap();
    let moved =
        |drawing: &str, more: &[&str]| letin(&dir.join("moved"), &[&["make", drawing, "--out", "same"], more].concat());
    assert_eq!(status(&moved("a/key.svg", &[])), 0);
    fs::rename(dir.join("moved/a"), dir.join("moved/c")).unwrap();
    assert_eq!(status(&moved("c/key.svg", &[])), 0);
    assert_eq!(status(&moved("b/key.svg", &[])), 2);
    assert_eq!(status(&moved("b/key.svg", &["--force"])), 0);
    is_whole_set(&dir.join("moved/same"), "key.json").unwrap();
}

/// A link with a trailing slash is also a link.
#[test]
fn a_link_to_a_folder_is_refused_with_and_without_a_slash() {
    let t = yard();
    fs::create_dir(t.path().join("real")).unwrap();
    symlink("real", t.path().join("link")).unwrap();
    for out in ["link", "link/", "link//", "link/."] {
        let o = letin(t.path(), &["make", "key.svg", "--out", out]);
        assert_eq!(status(&o), 2, "{out}");
        assert!(err(&o).contains("symbolic link, which is not followed; name the folder itself"), "{out}: {}", err(&o));
    }
    assert_eq!(names(&t.path().join("real")).len(), 0);
    assert_eq!(status(&letin(t.path(), &["make", "key.svg", "--out", "real/"])), 0);
}

/// A job file that writes outside its own folder reports that first. Any other job file stays silent.
#[test]
fn a_job_file_that_writes_outside_its_folder_says_so() {
    let t = yard();
    let dir = t.path();
    fs::create_dir_all(dir.join("job/in")).unwrap();
    fs::copy(dir.join("key.svg"), dir.join("job/key.svg")).unwrap();
    let whole = fs::canonicalize(dir).unwrap();
    for (text, typed, reported) in [
        ("drawing = \"key.svg\"\n", &[][..], None),
        ("drawing = \"key.svg\"\nout = \"in/deep\"\n", &[], None),
        ("drawing = \"key.svg\"\nout = \"in/../../elsewhere\"\n", &[], Some("elsewhere")),
        ("drawing = \"key.svg\"\nout = \"../else\"\n", &["--out", "typed"], None),
        ("drawing = \"../key.svg\"\n", &[], Some("key-letin")),
    ] {
        fs::write(dir.join("job/key.toml"), text).unwrap();
        let o = letin(dir, &[&["make", "job/key.toml", "--json"], typed].concat());
        assert_eq!(status(&o), 0, "{text}: {}", err(&o));
        assert!(serde_json::from_slice::<Value>(&o.stdout).is_ok());
        let said = err(&o).replace(' ', "");
        match reported {
            None => assert!(!said.contains("outsideitsown"), "{text}: {said}"),
            Some(folder) => {
                let wanted = format!("outsideitsownfolder,into{}", whole.join(folder).display());
                assert!(said.contains(&wanted.replace(' ', "")), "{text}: {said}");
            }
        }
    }
}

/// The umask decides who may read the files.
#[test]
fn files_have_the_rights_that_the_mask_gives() {
    for (mask, file, folder) in [("022", 0o644, 0o755), ("077", 0o600, 0o700), ("002", 0o664, 0o775)] {
        let t = yard();
        fs::remove_file(t.path().join("key.svg")).unwrap();
        let script = format!(
            "umask {mask}; \"$0\" shape rectangle 80x40 --out key.svg && \"$0\" make key.svg --write-job key.toml && \
             \"$0\" offsets --html page.html && \"$0\" outlines key.svg --picture n.svg && \"$0\" testpiece && \
             \"$0\" make key.svg"
        );
        let o = Command::new("sh").args(["-c", &script, env!("CARGO_BIN_EXE_letin")]).current_dir(t.path()).output();
        let o = o.unwrap();
        assert_eq!(status(&o), 0, "{}", err(&o));
        let mut seen = 0;
        let mut folders: Vec<PathBuf> = vec![t.path().to_path_buf()];
        while let Some(dir) = folders.pop() {
            for e in fs::read_dir(dir).unwrap().map(|e| e.unwrap()) {
                let mode = e.metadata().unwrap().permissions().mode() & 0o777;
                let is_dir = e.file_type().unwrap().is_dir();
                assert_eq!(mode, if is_dir { folder } else { file }, "{mask} {}", e.path().display());
                folders.extend(is_dir.then(|| e.path()));
                seen += 1;
            }
        }
        assert!(seen > 15, "{seen}");
    }
}
