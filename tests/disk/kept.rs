//! Files that a run never overwrites.

use super::*;
use std::os::unix::fs::symlink;

/// The drawing, the kit, the job file of the run, and a document. Each is reached by name, link, hard link and detour, with
/// and without `--force`, for every option that names an output file.
#[test]
fn what_is_read_is_never_written_over() {
    let t = yard();
    let dir = t.path();
    fs::write(dir.join("letin.toml"), KIT).unwrap();
    fs::write(dir.join("other-kit.toml"), KIT.replace("20", "16")).unwrap();
    fs::write(dir.join("key.toml"), "drawing = \"key.svg\"\n").unwrap();
    assert_eq!(status(&letin(dir, &["key.svg"])), 0);
    fs::copy(dir.join("key-letin/key.json"), dir.join("kept.json")).unwrap();
    fs::hard_link(dir.join("key.svg"), dir.join("hard.svg")).unwrap();
    fs::hard_link(dir.join("letin.toml"), dir.join("hard.toml")).unwrap();
    fs::hard_link(dir.join("key.toml"), dir.join("hard-job.toml")).unwrap();
    symlink("key.svg", dir.join("soft.svg")).unwrap();
    fs::create_dir(dir.join("x")).unwrap();
    let all = || -> BTreeMap<String, Vec<u8>> {
        names(dir).into_iter().filter_map(|n| Some((n.clone(), fs::read(dir.join(n)).ok()?))).collect()
    };
    let before = all();
    let documents = ["key-letin/key.json", "kept.json"];
    let kits = ["letin.toml", "hard.toml", "x/../letin.toml", "other-kit.toml"];
    let drawings = ["key.svg", "./key.svg", "hard.svg", "soft.svg", "x/../key.svg"];
    let jobs = ["key.toml", "hard-job.toml"];
    let mut tried = 0;
    for (words, targets) in [
        (&["make", "key.svg", "--write-job"][..], &[&documents[..], &kits, &drawings][..]),
        (&["make", "key.toml", "--write-job"], &[&documents, &kits, &drawings, &jobs]),
        (&["outlines", "key.svg", "--picture"], &[&documents, &kits, &drawings]),
        (&["offsets", "--html"], &[&documents, &kits]),
    ] {
        for target in targets.iter().copied().flatten() {
            for force in [&["--force"][..], &[]] {
                let o = letin(dir, &[words, &[target], force].concat());
                assert_eq!(status(&o), 2, "{words:?} {target} {force:?}");
                assert!(all() == before, "{words:?} {target} {force:?}");
                let refused =
                    err(&o).contains("never overwritten") || force.is_empty() && err(&o).contains("cannot-write");
                assert!(refused, "{words:?} {target} {force:?}: {}", err(&o));
                tried += 1;
            }
        }
    }
    assert_eq!(tried, 2 * (11 + 13 + 11 + 6));
    // `--force`, and nothing else, replaces a job file that the run does not read, and a foreign file.
    for target in ["hard-job.toml", "old.html"] {
        fs::write(dir.join("old.html"), "old").unwrap();
        assert_eq!(status(&letin(dir, &["offsets", "--html", target])), 2);
        assert_eq!(status(&letin(dir, &["offsets", "--html", target, "--force"])), 0);
    }
}

/// The settings file must not take the place of a file that the same run writes.
#[test]
fn settings_are_not_saved_over_a_file_of_the_run() {
    let t = yard();
    for (args, to) in [(&[][..], "key-letin/key.json"), (&["--out", "."], "key-marks.svg")] {
        let o = letin(t.path(), &[&["make", "key.svg", "--write-job", to, "--force"], args].concat());
        assert_eq!(status(&o), 2, "{}", err(&o));
        assert!(err(&o).contains("one of the files of this run"), "{}", err(&o));
        assert_eq!(names(t.path()), ["key.svg"]);
    }
    assert_eq!(status(&letin(t.path(), &["make", "key.svg", "--write-job", "key-letin/job.toml"])), 0);
}

/// Anything but a plain file stays, even with `--force`: a device must not become a file.
#[test]
fn only_plain_files_are_replaced() {
    let t = yard();
    assert!(Command::new("mkfifo").arg(t.path().join("pipe")).status().unwrap().success());
    fs::create_dir(t.path().join("folder")).unwrap();
    for to in ["pipe", "folder"] {
        for words in [&["outlines", "key.svg", "--picture"][..], &["make", "key.svg", "--write-job"]] {
            let o = letin(t.path(), &[words, &[to, "--force"]].concat());
            assert_eq!(status(&o), 2, "{words:?} {to}: {}", err(&o));
        }
    }
    assert_eq!(names(t.path()), ["folder", "key.svg", "pipe"]);
}

/// A kit with the name of an output file stays.
#[test]
fn the_kit_is_not_replaced_by_a_file_of_the_run() {
    let t = yard();
    fs::write(t.path().join("key-marks.svg"), KIT).unwrap();
    let o = letin(t.path(), &["make", "key.svg", "--kit", "key-marks.svg", "--out", ".", "--force"]);
    assert_eq!(status(&o), 2, "{}", err(&o));
    assert!(err(&o).contains("is read for this job"), "{}", err(&o));
    assert_eq!(fs::read_to_string(t.path().join("key-marks.svg")).unwrap(), KIT);
}
