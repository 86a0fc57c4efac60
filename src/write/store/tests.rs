use super::*;
use serde_json::json;

fn document(list: &[Written]) -> Vec<u8> {
    let files: Vec<_> = list.iter().map(|w| &w.name).collect();
    json!({"schema": 1, "tool": {"name": "letin"}, "files": files, "hashes": hashes(list)}).to_string().into_bytes()
}

fn outputs(dir: &Path, files: &[(&str, &str)]) -> Outputs {
    let mut o = Outputs::new(dir.to_path_buf(), "key.json".into());
    for (name, text) in files {
        o.add(*name, text.as_bytes().to_vec());
    }
    o
}

fn commit(dir: &Path, files: &[(&str, &str)], force: bool) -> Result<Committed, StoreError> {
    outputs(dir, files).commit(&CommitOptions { force, ..CommitOptions::default() }, document)
}

/// Names and texts of all that is in the folder.
fn holds(dir: &Path) -> BTreeMap<String, String> {
    let entry = |e: std::io::Result<fs::DirEntry>| {
        let e = e.unwrap();
        (e.file_name().into_string().unwrap(), fs::read_to_string(e.path()).unwrap_or("(folder)".into()))
    };
    fs::read_dir(dir).unwrap().map(entry).collect()
}

fn place() -> (tempfile::TempDir, PathBuf) {
    let t = tempfile::tempdir().unwrap();
    let dir = t.path().join("key-letin");
    (t, dir)
}

#[test]
fn writes_replaces_and_tidies() {
    let (_t, dir) = place();
    let first = commit(&dir, &[("a.dxf", "1"), ("b.dxf", "2")], false).unwrap();
    assert_eq!(first.written.iter().map(|w| w.name.as_str()).collect::<Vec<_>>(), ["a.dxf", "b.dxf", "key.json"]);
    // As sha256sum of the GNU coreutils prints it for the one byte "1".
    assert_eq!(first.written[0].sha256, "6b86b273ff34fce19d6b804eff5a3f5747ada4eaa22f1d49c01e52ddb7875b4b");
    fs::write(dir.join("mine.txt"), "mine").unwrap();

    let second = commit(&dir, &[("a.dxf", "3")], false).unwrap();
    assert_eq!(second.removed, ["b.dxf"]);
    let now = holds(&dir);
    assert_eq!(now.keys().collect::<Vec<_>>(), ["a.dxf", "key.json", "mine.txt"]);
    assert_eq!(now["a.dxf"], "3");
}

#[test]
fn what_is_not_ours_stays() {
    let (_t, dir) = place();
    fs::create_dir(&dir).unwrap();
    fs::write(dir.join("a.dxf"), "mine").unwrap();
    let before = holds(&dir);
    let e = commit(&dir, &[("a.dxf", "1")], false).unwrap_err();
    assert!(matches!(&e, StoreError::NotOurs { names, .. } if names == &["a.dxf"]), "{e}");
    assert!(e.to_string().contains("--force") && e.to_string().contains("--out"), "{e}");
    assert_eq!(holds(&dir), before);
    commit(&dir, &[("a.dxf", "1")], true).unwrap();
    assert_eq!(holds(&dir)["a.dxf"], "1");
}

#[test]
fn a_changed_file_is_no_longer_ours() {
    let (_t, dir) = place();
    commit(&dir, &[("a.dxf", "1"), ("b.dxf", "2")], false).unwrap();
    fs::write(dir.join("a.dxf"), "edited").unwrap();
    assert!(matches!(commit(&dir, &[("a.dxf", "1")], false), Err(StoreError::NotOurs { .. })));
    assert_eq!(holds(&dir)["b.dxf"], "2");
    // Not made any more and edited: left and told.
    let c = commit(&dir, &[("b.dxf", "2")], false).unwrap();
    assert_eq!((c.removed.len(), c.left), (0, vec!["a.dxf".to_string()]));
    assert_eq!(holds(&dir)["a.dxf"], "edited");
}

#[test]
fn someone_elses_document_is_not_ours() {
    let (_t, dir) = place();
    fs::create_dir(&dir).unwrap();
    for text in ["{}", "not json", r#"{"tool":{"name":"other"},"files":[],"hashes":{}}"#] {
        fs::write(dir.join("key.json"), text).unwrap();
        assert!(matches!(commit(&dir, &[("a.dxf", "1")], false), Err(StoreError::NotOurs { .. })), "{text}");
        assert_eq!(holds(&dir).len(), 1);
    }
}

#[test]
fn the_drawing_is_never_overwritten() {
    let (_t, dir) = place();
    fs::create_dir(&dir).unwrap();
    let drawing = dir.join("a.dxf");
    fs::write(&drawing, "drawn").unwrap();
    // The same file by another path.
    let input = [dir.join("..").join("key-letin").join("a.dxf")];
    let r =
        outputs(&dir, &[("a.dxf", "1")]).commit(&CommitOptions { force: true, input: &input, budget: None }, document);
    assert!(matches!(r, Err(StoreError::IsInput { .. })), "{r:?}");
    assert_eq!(fs::read_to_string(&drawing).unwrap(), "drawn");
}

#[test]
fn a_document_cannot_point_out_of_its_folder() {
    let (_t, dir) = place();
    fs::create_dir(&dir).unwrap();
    let outside = dir.join("../precious");
    fs::write(&outside, "1").unwrap();
    let text = json!({"tool": {"name": "letin"}, "files": ["../precious"], "hashes": {"../precious": sha256(b"1")}});
    fs::write(dir.join("key.json"), text.to_string()).unwrap();
    commit(&dir, &[("a.dxf", "1")], false).unwrap();
    assert!(outside.exists());
}

#[test]
fn names_must_be_names() {
    let (_t, dir) = place();
    for name in ["", ".", "..", "a/b", "/a", "../a", "a\\b", "a\nb", "con.dxf", "key.json", "KEY.json"] {
        let e = commit(&dir, &[(name, "1")], true);
        assert!(matches!(e, Err(StoreError::BadName { .. })), "{name:?}: {e:?}");
    }
    assert!(matches!(commit(&dir, &[("a", "1"), ("A", "1")], true), Err(StoreError::BadName { .. })));
    assert!(!dir.exists());
}

#[test]
fn a_document_that_lists_something_else_is_refused() {
    let (_t, dir) = place();
    let r = outputs(&dir, &[("a.dxf", "1")]).commit(&CommitOptions::default(), |_| document(&[]));
    assert!(matches!(r, Err(StoreError::Document { .. })));
    assert!(!dir.exists());
}

/// Stops before every step in turn: each time the folder is as it was.
#[test]
fn all_or_none() {
    let (_t, dir) = place();
    commit(&dir, &[("a.dxf", "1"), ("b.dxf", "2")], false).unwrap();
    let before = holds(&dir);
    let mut failed = 0;
    for step in 1.. {
        let mut o = outputs(&dir, &[("a.dxf", "new"), ("c.dxf", "new")]);
        o.fail_at = Some(step);
        match o.commit(&CommitOptions::default(), document) {
            Err(e) => {
                assert!(matches!(e, StoreError::Io { .. }), "{e}");
                assert_eq!(holds(&dir), before, "step {step}");
                failed += 1;
            }
            Ok(c) => {
                assert_eq!(c.removed, ["b.dxf"]);
                break;
            }
        }
    }
    // Three files prepared, three put in place, one removed.
    assert_eq!(failed, 7);
    assert_eq!(holds(&dir).len(), 3);
}

#[test]
fn a_folder_made_in_vain_goes_again() {
    let (t, dir) = place();
    let deep = dir.join("x/y");
    let mut o = outputs(&deep, &[("a.dxf", "1")]);
    o.fail_at = Some(3);
    assert!(o.commit(&CommitOptions::default(), document).is_err());
    assert_eq!(fs::read_dir(t.path()).unwrap().count(), 0);
    commit(&deep, &[("a.dxf", "1")], false).unwrap();
    assert!(deep.join("key.json").exists());
}

#[test]
fn a_file_where_the_folder_should_be() {
    let (_t, dir) = place();
    fs::write(&dir, "").unwrap();
    assert!(matches!(commit(&dir, &[("a.dxf", "1")], true), Err(StoreError::NotAFolder { .. })));
    assert!(commit(&dir.join("deeper"), &[("a.dxf", "1")], true).is_err());
    fs::remove_file(&dir).unwrap();
    fs::create_dir_all(dir.join("a.dxf")).unwrap();
    assert!(matches!(commit(&dir, &[("a.dxf", "1")], true), Err(StoreError::NotAFile { .. })));
}

#[cfg(unix)]
mod unix {
    use super::*;
    use std::os::unix::fs::{PermissionsExt, symlink};

    #[test]
    fn links_are_not_followed() {
        let (t, dir) = place();
        let real = t.path().join("real");
        fs::create_dir(&real).unwrap();
        symlink(&real, &dir).unwrap();
        assert!(matches!(commit(&dir, &[("a.dxf", "1")], true), Err(StoreError::FolderIsLink { .. })));
        for name in ["a.dxf", "key.json"] {
            let precious = t.path().join("precious");
            fs::write(&precious, "mine").unwrap();
            symlink(&precious, real.join(name)).unwrap();
            assert!(matches!(commit(&real, &[("a.dxf", "1")], true), Err(StoreError::TargetIsLink { .. })));
            assert_eq!(fs::read_to_string(&precious).unwrap(), "mine");
            fs::remove_file(real.join(name)).unwrap();
        }
        // A link that leads nowhere is one all the same.
        symlink(t.path().join("nowhere"), real.join("a.dxf")).unwrap();
        assert!(matches!(commit(&real, &[("a.dxf", "1")], true), Err(StoreError::TargetIsLink { .. })));
    }

    /// The kernel's own folder takes no files, not even from the superuser.
    #[cfg(target_os = "linux")]
    #[test]
    fn a_folder_that_cannot_be_written_to() {
        for dir in ["/sys", "/sys/key-letin"] {
            let e = commit(Path::new(dir), &[("a.dxf", "1")], true).unwrap_err();
            assert!(matches!(e, StoreError::NotWritable { .. }), "{e:?}");
            assert!(e.to_string().contains("--out"), "{e}");
        }
    }

    #[test]
    fn files_are_made_as_the_mask_says() {
        let (t, dir) = place();
        commit(&dir, &[("a.dxf", "1")], false).unwrap();
        let usual = t.path().join("usual");
        fs::write(&usual, "").unwrap();
        let mode = |p: PathBuf| fs::metadata(p).unwrap().permissions().mode();
        assert_eq!(mode(dir.join("a.dxf")), mode(usual));
    }
}
