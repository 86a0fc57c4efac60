//! Every sample gives its expected files to the byte, and every faulty drawing its expected messages.
//!
//! A sample is a folder with a drawing, a file `command` with the arguments, and a folder `expected`. The latter holds all
//! written files, and both output streams as `report.txt`. After an intended change, run
//! `LETIN_REFRESH=1 cargo test --test samples` and read the difference before the commit.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::collections::BTreeMap;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

type Files = BTreeMap<String, Vec<u8>>;

fn samples() -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("samples")
}

fn files(folder: &Path) -> Files {
    let Ok(entries) = fs::read_dir(folder) else { return Files::new() };
    let plain = entries.map(|e| e.unwrap().path()).filter(|p| p.is_file());
    plain.map(|p| (p.file_name().unwrap().to_str().unwrap().to_owned(), fs::read(&p).unwrap())).collect()
}

/// Runs `args` in a copy of `folder`. Returns the files written into `out`, and both output streams.
fn run(folder: &Path, args: &[&str]) -> Files {
    let dir = tempfile::tempdir().unwrap();
    for (name, bytes) in files(folder) {
        fs::write(dir.path().join(name), bytes).unwrap();
    }
    let done = Command::new(env!("CARGO_BIN_EXE_letin")).args(args).current_dir(dir.path()).output().unwrap();
    let mut all = files(&dir.path().join("out"));
    let text = |b: &[u8]| String::from_utf8(b.to_vec()).unwrap();
    // Progress lines depend on the speed of the machine, and only long runs print them.
    let progress = |l: &&str| l.starts_with("letin: ") && l.ends_with(" s)");
    let errors: String = text(&done.stderr).lines().filter(|l| !progress(l)).map(|l| l.to_owned() + "\n").collect();
    let said = format!("{}{errors}status {}\n", text(&done.stdout), done.status.code().unwrap());
    all.insert("report.txt".to_owned(), said.into_bytes());
    all
}

fn refresh() -> bool {
    std::env::var_os("LETIN_REFRESH").is_some()
}

/// Compares the files, or renews them on request. Returns the names of the files that differ.
fn differences(expected: &Path, found: &Files) -> Vec<String> {
    if refresh() {
        let _ = fs::remove_dir_all(expected);
        fs::create_dir_all(expected).unwrap();
        for (name, bytes) in found {
            fs::write(expected.join(name), bytes).unwrap();
        }
    }
    let there = files(expected);
    let names: std::collections::BTreeSet<&String> = there.keys().chain(found.keys()).collect();
    let differs = |n: &&&String| there.get(**n) != found.get(**n);
    names.iter().filter(differs).map(|n| expected.join(n).display().to_string()).collect()
}

#[test]
fn samples_come_out_as_expected() {
    let mut count = 0;
    let mut wrong = Vec::new();
    let mut folders: Vec<PathBuf> = fs::read_dir(samples()).unwrap().map(|e| e.unwrap().path()).collect();
    folders.sort();
    for folder in folders.iter().filter(|f| f.join("command").is_file()) {
        assert!(folder.join("README.md").is_file(), "{} has no README.md", folder.display());
        let command = fs::read_to_string(folder.join("command")).unwrap();
        let args: Vec<&str> = command.split_whitespace().chain(["--out", "out"]).collect();
        wrong.extend(differences(&folder.join("expected"), &run(folder, &args)));
        count += 1;
    }
    assert!(count >= 8, "only {count} samples");
    assert!(wrong.is_empty(), "these files differ: {wrong:#?}");
}

#[test]
fn faulty_drawings_give_the_expected_answers() {
    let folder = samples().join("dirt");
    let drawings: Vec<String> =
        files(&folder).into_keys().filter(|n| n.ends_with(".svg") || n.ends_with(".dxf")).collect();
    assert!(drawings.len() >= 12, "{drawings:?}");
    let mut said = Files::new();
    for name in &drawings {
        let mut all = run(&folder, &["check", name]);
        let text = all.remove("report.txt").unwrap();
        assert!(all.is_empty(), "{name}: check writes nothing");
        said.insert(format!("{name}.txt"), text);
    }
    let wrong = differences(&folder.join("expected"), &said);
    assert!(wrong.is_empty(), "these files differ: {wrong:#?}");
}
