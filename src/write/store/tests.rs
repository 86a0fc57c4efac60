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

/// Names and texts of all files in the folder.
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
    // No longer made, and edited: kept and reported.
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

/// Fails before every step in turn: each time the folder is unchanged.
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

/// Ends before every step in turn as a kill does: the next run needs no `force`, reports it, and leaves no trace of it.
#[test]
fn what_a_killed_run_left_is_put_back_by_the_next_one() {
    for old in [true, false] {
        let mut killed = 0;
        for step in 1.. {
            let (_t, dir) = place();
            if old {
                commit(&dir, &[("a.dxf", "1"), ("b.dxf", "2")], false).unwrap();
            }
            let mut o = outputs(&dir, &[("a.dxf", "new"), ("c.dxf", "new")]);
            (o.fail_at, o.killed) = (Some(step), true);
            if o.commit(&CommitOptions::default(), document).is_ok() {
                break;
            }
            killed += 1;
            assert!(holds(&dir).keys().any(|n| n.starts_with(".letin-")), "step {step}: it was killed");
            // A run of another job in the same folder restores the files too.
            let mut other = Outputs::new(dir.clone(), "other.json".into());
            other.add("o.dxf", b"o".to_vec());
            let c = other.commit(&CommitOptions::default(), document).unwrap();
            assert_eq!((c.repaired, c.left.len()), (1, 0), "step {step}");
            let mut now = holds(&dir);
            assert!(now.remove("o.dxf").is_some() && now.remove("other.json").is_some());
            if old {
                assert_eq!((now.len(), &*now["a.dxf"], &*now["b.dxf"]), (3, "1", "2"), "step {step}: {now:?}");
            } else {
                assert!(now.is_empty(), "step {step}: {now:?}");
            }
            let c = commit(&dir, &[("a.dxf", "new"), ("c.dxf", "new")], false).unwrap();
            assert_eq!(c.repaired, 0);
            assert_eq!(holds(&dir).len(), 5, "step {step}");
        }
        assert_eq!(killed, if old { 7 } else { 6 });
    }
}

/// Killed when all was in place, before its temporary folder was removed: the new set stays.
#[test]
fn a_run_that_was_killed_when_it_was_done_stays_done() {
    let (_t, dir) = place();
    commit(&dir, &[("a.dxf", "1")], false).unwrap();
    let mut files = vec![("a.dxf".to_owned(), b"2".to_vec())];
    files.push(("key.json".to_owned(), document(&[listed("a.dxf", b"2")])));
    let hash = |n: &str| (n.to_owned(), transaction::hash(&dir.join(n)).unwrap().unwrap());
    let old = [hash("a.dxf"), hash("key.json")].into_iter().collect();
    let mut t = Transaction::begin(&dir, &files, old).unwrap();
    t.run(&files, &[], || Ok(())).unwrap();
    assert!(holds(&dir).keys().any(|n| n.starts_with(".letin-")));
    assert_eq!(transaction::repair(&dir).unwrap().runs, 0);
    let now = holds(&dir);
    assert_eq!((now.len(), &*now["a.dxf"]), (2, "2"));
}

/// After a kill someone edited a new file that was already in place: it stays, and that is reported.
#[test]
fn a_file_changed_after_a_kill_is_kept_and_reported() {
    let (_t, dir) = place();
    commit(&dir, &[("a.dxf", "1"), ("b.dxf", "2")], false).unwrap();
    let mut o = outputs(&dir, &[("a.dxf", "new"), ("b.dxf", "new")]);
    // Three prepared, two in place, the document not.
    (o.fail_at, o.killed) = (Some(6), true);
    o.commit(&CommitOptions::default(), document).unwrap_err();
    fs::write(dir.join("a.dxf"), "edited").unwrap();
    let repaired = transaction::repair(&dir).unwrap();
    assert_eq!((repaired.runs, repaired.left), (1, vec!["a.dxf".to_owned()]));
    let now = holds(&dir);
    assert_eq!((now.len(), &*now["a.dxf"], &*now["b.dxf"]), (3, "edited", "2"));
}

/// Folders that only look like ours are ignored, and no journal leads out of the folder.
#[test]
fn the_folder_of_somebody_else_is_no_interrupted_run() {
    let (t, dir) = place();
    fs::create_dir_all(dir.join(".letin-mine")).unwrap();
    fs::write(dir.join(".letin-mine/notes.txt"), "oak").unwrap();
    fs::write(t.path().join("precious"), "1").unwrap();
    fs::create_dir_all(dir.join(".letin-far/new")).unwrap();
    let far = json!({"letin": "1", "document": "k.json", "new": {"../precious": sha256(b"1")}, "old": {}});
    fs::write(dir.join(".letin-far/journal.json"), far.to_string()).unwrap();
    fs::create_dir_all(dir.join(".letin-cut")).unwrap();
    fs::write(dir.join(".letin-cut/journal.json"), &far.to_string()[..20]).unwrap();
    assert_eq!(commit(&dir, &[("a.dxf", "1")], false).unwrap().repaired, 0);
    assert!(t.path().join("precious").exists() && dir.join(".letin-mine/notes.txt").exists());
    assert!(dir.join(".letin-far/journal.json").exists(), "it cannot be understood, so it stays");
    assert!(!dir.join(".letin-cut").exists(), "killed while the journal was written");
}

/// Many runs at once into a missing folder: no error, and in the end one complete set.
#[test]
fn runs_at_once_leave_one_whole_set() {
    let (_t, dir) = place();
    std::thread::scope(|scope| {
        for k in 0..8 {
            let dir = &dir;
            scope.spawn(move || {
                let mut texts: Vec<(String, String)> =
                    (0..6).map(|i| (format!("{i}.dxf"), format!("file {i} of {k}"))).collect();
                texts.push((format!("only-{k}.dxf"), String::new()));
                for _ in 0..5 {
                    let files: Vec<(&str, &str)> = texts.iter().map(|(n, t)| (&**n, &**t)).collect();
                    commit(dir, &files, false).unwrap();
                }
            });
        }
    });
    let now = holds(&dir);
    assert_eq!(now.len(), 8, "{now:?}");
    let last = now.keys().find_map(|n| n.strip_prefix("only-")?.strip_suffix(".dxf")).unwrap();
    assert!((0..6).all(|i| now[&format!("{i}.dxf")] == format!("file {i} of {last}")), "{now:?}");
}

/// A document as a run of this drawing makes it.
fn document_of(drawing: serde_json::Value) -> impl Fn(&[Written]) -> Vec<u8> {
    move |list| {
        let mut v: serde_json::Value = serde_json::from_slice(&document(list)).unwrap();
        v["drawing"] = drawing.clone();
        v.to_string().into_bytes()
    }
}

#[test]
fn files_of_another_drawing_are_not_replaced_without_force() {
    let a = json!({"path": "a/key.svg", "from_folder": "../a/key.svg", "sha256": "1"});
    let one = |d: &serde_json::Value, force| {
        let d = d.clone();
        move |dir: &Path| {
            outputs(dir, &[("k.dxf", "k")])
                .commit(&CommitOptions { force, ..CommitOptions::default() }, document_of(d.clone()))
        }
    };
    for (b, same) in [
        // Edited; moved; named differently from elsewhere.
        (json!({"path": "a/key.svg", "from_folder": "../a/key.svg", "sha256": "2"}), true),
        (json!({"path": "c/key.svg", "from_folder": "../c/key.svg", "sha256": "1"}), true),
        (json!({"path": "key.svg", "from_folder": "../a/key.svg", "sha256": "2"}), true),
        (json!({"path": "a/key.svg", "from_folder": "../b/a/key.svg", "sha256": "2"}), false),
        (json!({"path": "a/key.svg"}), true),
        (json!({"path": "b/key.svg"}), false),
        (serde_json::Value::Null, false),
    ] {
        let (_t, dir) = place();
        one(&a, false)(&dir).unwrap();
        let before = holds(&dir);
        let again = one(&b, false)(&dir);
        assert_eq!(again.is_ok(), same, "{b}: {again:?}");
        if let Err(e) = again {
            assert!(matches!(&e, StoreError::OtherDrawing { .. }) && e.to_string().contains("a/key.svg"), "{e}");
            assert_eq!(holds(&dir), before);
            one(&b, true)(&dir).unwrap();
        }
    }
}

#[test]
fn an_unused_new_folder_is_removed() {
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
        for dir in [dir.clone(), dir.join(""), dir.join(".")] {
            assert!(
                matches!(commit(&dir, &[("a.dxf", "1")], true), Err(StoreError::FolderIsLink { .. })),
                "{}",
                dir.display()
            );
        }
        for name in ["a.dxf", "key.json"] {
            let precious = t.path().join("precious");
            fs::write(&precious, "mine").unwrap();
            symlink(&precious, real.join(name)).unwrap();
            assert!(matches!(commit(&real, &[("a.dxf", "1")], true), Err(StoreError::TargetIsLink { .. })));
            assert_eq!(fs::read_to_string(&precious).unwrap(), "mine");
            fs::remove_file(real.join(name)).unwrap();
        }
        // A dangling link is also a link.
        symlink(t.path().join("nowhere"), real.join("a.dxf")).unwrap();
        assert!(matches!(commit(&real, &[("a.dxf", "1")], true), Err(StoreError::TargetIsLink { .. })));
    }

    /// The kernel's own folder accepts no files, not even from the superuser.
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
