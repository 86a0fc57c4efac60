//! What happens on disk and at the terminal's edge: what is never written over, runs at once, runs that are ended, answers
//! that do not get out, names that do not fit. Every test runs the program itself.

#![cfg(unix)]
#![allow(clippy::unwrap_used, clippy::panic, reason = "a test says what it expects by panicking")]

use serde_json::Value;
use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::fs;
use std::os::unix::ffi::OsStrExt;
use std::os::unix::fs::{PermissionsExt, symlink};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Output, Stdio};
use std::time::Duration;
use tempfile::TempDir;

const KEY: &str = include_str!("../samples/bow-tie-key/key.svg");
const KIT: &str = "[[bush]]\noutside = 20\n[[cutter]]\ndiameter = 6\n";

fn yard() -> TempDir {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("key.svg"), KEY).unwrap();
    dir
}

/// Another drawing, or the same one after some work: only the bytes differ.
fn edited(k: u32) -> String {
    KEY.replace("</svg>", &format!("<!-- {k} --></svg>"))
}

fn command<S: AsRef<OsStr>>(dir: &Path, args: &[S]) -> Command {
    let mut c = Command::new(env!("CARGO_BIN_EXE_letin"));
    c.args(args).current_dir(dir).stdin(Stdio::null());
    c
}

fn letin<S: AsRef<OsStr>>(dir: &Path, args: &[S]) -> Output {
    command(dir, args).output().unwrap()
}

fn status(o: &Output) -> i32 {
    o.status.code().expect("not killed")
}

/// What was said on standard error, without the line breaks of the terminal.
fn err(o: &Output) -> String {
    let text = String::from_utf8_lossy(&o.stderr).replace(['│', '╰', '├', '─', '▶', '|'], " ");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn names(dir: &Path) -> Vec<String> {
    let Ok(entries) = fs::read_dir(dir) else { return Vec::new() };
    let mut all: Vec<String> = entries.map(|e| e.unwrap().file_name().to_string_lossy().into_owned()).collect();
    all.sort();
    all
}

fn document(path: &Path) -> Value {
    serde_json::from_slice(&fs::read(path).unwrap()).unwrap()
}

/// The folder holds the document `name` and just the files that it lists, each with its hash.
fn is_whole_set(dir: &Path, name: &str) -> Result<Value, String> {
    let document = document(&dir.join(name));
    let hashes: BTreeMap<String, String> = serde_json::from_value(document["hashes"].clone()).unwrap();
    let mut listed: Vec<String> = hashes.keys().cloned().chain([name.to_owned()]).collect();
    listed.sort();
    if names(dir) != listed {
        return Err(format!("{:?} and not {listed:?}", names(dir)));
    }
    for (name, hash) in hashes {
        let found = letin::write::store::sha256(&fs::read(dir.join(&name)).unwrap());
        if found != hash {
            return Err(format!("{name} is not the one of the document"));
        }
    }
    Ok(document)
}

fn json_error(o: &Output) -> (String, String) {
    assert_eq!(status(o), 2, "{}", err(o));
    let v: Value = serde_json::from_slice(&o.stdout).unwrap_or_else(|e| panic!("{e}: {o:?}"));
    assert_eq!(v["schema"], 1);
    assert!(v["error"].get("help").is_some());
    let text = |k: &str| v["error"][k].as_str().unwrap().to_owned();
    (text("code"), text("message"))
}

// What is never written over.

/// The drawing, the kit, the job file that is read and a document, by name, link, hard link and detour, with and without
/// `--force`; for every option that names a file to write.
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
    // A job file that is not read, and what is nobody's, is replaced with --force and only so.
    for target in ["hard-job.toml", "old.html"] {
        fs::write(dir.join("old.html"), "old").unwrap();
        assert_eq!(status(&letin(dir, &["offsets", "--html", target])), 2);
        assert_eq!(status(&letin(dir, &["offsets", "--html", target, "--force"])), 0);
    }
}

/// Settings that would lie where the run itself writes, although nothing is there yet.
#[test]
fn settings_are_not_saved_over_a_file_of_the_run() {
    let t = yard();
    for (args, to) in [(&[][..], "key-letin/key.json"), (&["--out", "."], "key-marks.svg")] {
        let o = letin(t.path(), &[&["make", "key.svg", "--write-job", to, "--force"], args].concat());
        assert_eq!(status(&o), 2, "{}", err(&o));
        assert!(err(&o).contains("one of the files that this run writes"), "{}", err(&o));
        assert_eq!(names(t.path()), ["key.svg"]);
    }
    assert_eq!(status(&letin(t.path(), &["make", "key.svg", "--write-job", "key-letin/job.toml"])), 0);
}

/// Whatever is no plain file stays, also with `--force`: a device would be replaced by a file.
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

/// The kit may have the name of a file that is made.
#[test]
fn the_kit_is_not_replaced_by_a_file_of_the_run() {
    let t = yard();
    fs::write(t.path().join("key-marks.svg"), KIT).unwrap();
    let o = letin(t.path(), &["make", "key.svg", "--kit", "key-marks.svg", "--out", ".", "--force"]);
    assert_eq!(status(&o), 2, "{}", err(&o));
    assert!(err(&o).contains("is read for this job"), "{}", err(&o));
    assert_eq!(fs::read_to_string(t.path().join("key-marks.svg")).unwrap(), KIT);
}

// Runs at once, and runs that are ended.

/// Pairs with different tools, started together into one folder that is not there yet.
#[test]
fn two_runs_at_once_leave_one_whole_set() {
    let t = yard();
    let mut last = Vec::new();
    for k in 0..15 {
        let out = format!("out-{k}");
        let start = |bush: &str| -> Child {
            let args = ["make", "key.svg", "--bush", bush, "--out", &out];
            command(t.path(), &args).stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap()
        };
        let pair = [start("20"), start("16")];
        for child in pair {
            let o = child.wait_with_output().unwrap();
            assert_eq!(status(&o), 0, "pair {k}: {}", err(&o));
        }
        let set = is_whole_set(&t.path().join(&out), "key.json").unwrap_or_else(|e| panic!("pair {k}: {e}"));
        last.push(set["tools"]["recess"]["bush_mm"].as_f64().unwrap());
    }
    assert!(last.iter().all(|b| [16.0, 20.0].contains(b)), "{last:?}");
}

fn signal(name: &str, child: &Child) {
    let sent = Command::new("kill").args([name, &child.id().to_string()]).status().unwrap();
    assert!(sent.success());
}

/// Ended at any time, also in the middle of writing: the old set or the new one, and nothing else.
#[test]
fn a_run_that_is_asked_to_end_leaves_nothing_half_done() {
    let t = yard();
    let out = t.path().join("key-letin");
    assert_eq!(status(&letin(t.path(), &["key.svg"])), 0);
    let mut stopped = 0;
    for (k, name) in ["-TERM", "-HUP", "-INT"].iter().cycle().take(36).enumerate() {
        let bush = if k % 2 == 0 { "16" } else { "18" };
        let mut run = command(t.path(), &["make", "key.svg", "--bush", bush]);
        let child = run.stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap();
        std::thread::sleep(Duration::from_millis(2 + 4 * k as u64));
        signal(name, &child);
        let o = child.wait_with_output().unwrap();
        // Before the handler is set, nothing is written yet and the signal ends the program as it does any other.
        match o.status.code() {
            Some(0) | None => {}
            Some(2) => stopped += 1,
            other => panic!("{name}: {other:?} {}", err(&o)),
        }
        is_whole_set(&out, "key.json").unwrap_or_else(|e| panic!("{name} after {k}: {e}"));
    }
    assert!(stopped > 0, "none of them met a run at work");
    assert_eq!(names(t.path()), ["key-letin", "key.svg"]);
}

/// A drawing that keeps the program busy for long: a disc with a rough edge.
fn rough_disc(to: &Path) {
    let mut seed = 1u32;
    let mut d = String::from("M");
    for k in 0..20_000 {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let r = 80.0 + f64::from(seed >> 16) / 65_536.0 * 0.04;
        let a = std::f64::consts::TAU * f64::from(k) / 20_000.0;
        d.push_str(&format!("{:.4} {:.4} ", 90.0 + r * a.cos(), 90.0 + r * a.sin()));
    }
    let head = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">"#;
    fs::write(to, format!(r#"{head}<path d="{d}Z"/></svg>"#)).unwrap();
}

/// SIGTERM and SIGHUP end a long run as Ctrl-C does: with a status, a message, and no file.
#[test]
fn sigterm_and_sighup_are_like_ctrl_c() {
    use std::io::{BufRead, BufReader};
    let t = yard();
    rough_disc(&t.path().join("disc.svg"));
    for name in ["-TERM", "-HUP"] {
        let mut run = command(t.path(), &["make", "disc.svg", "--out", "out"]);
        let mut child = run.stdout(Stdio::null()).stderr(Stdio::piped()).spawn().unwrap();
        let mut said = BufReader::new(child.stderr.take().unwrap());
        let mut first = String::new();
        said.read_line(&mut first).unwrap();
        signal(name, &child);
        let rest: String = said.lines().map(|l| l.unwrap() + "\n").collect();
        assert_eq!(child.wait().unwrap().code(), Some(2), "{name}: {rest}");
        assert!(rest.contains("stopped before it was done"), "{name}: {rest}");
        assert_eq!(names(t.path()), ["disc.svg", "key.svg"]);
    }
}

/// Killed outright at any time: the next run needs no `--force`, and leaves a whole set.
#[test]
fn the_next_run_mends_what_a_kill_left() {
    let t = yard();
    let out = t.path().join("key-letin");
    for k in 0..30 {
        let bush = if k % 2 == 0 { "16" } else { "18" };
        let mut run = command(t.path(), &["make", "key.svg", "--bush", bush]);
        let mut child = run.stdout(Stdio::null()).stderr(Stdio::null()).spawn().unwrap();
        // When it begins to write, or soon after.
        let begun = |n: &String| n.starts_with(".letin-");
        while child.try_wait().unwrap().is_none() && !names(&out).iter().any(begun) {
            std::thread::sleep(Duration::from_micros(100));
        }
        std::thread::sleep(Duration::from_micros(150 * k));
        let _ = child.kill();
        child.wait().unwrap();
        let litter = names(&out).iter().any(begun);
        if k % 3 == 0 || litter {
            let o = letin(t.path(), &["make", "key.svg", "--bush", "20"]);
            assert_eq!(status(&o), 0, "{k}: {}", err(&o));
            is_whole_set(&out, "key.json").unwrap_or_else(|e| panic!("{k}: {e}"));
        }
    }
}

/// A folder as a kill between two renames leaves it: told, and mended without `--force`.
#[test]
fn a_set_that_was_broken_off_is_told_when_it_is_mended() {
    let t = yard();
    let out = t.path().join("key-letin");
    let run = |bush: &str| letin(t.path(), &["make", "key.svg", "--bush", bush]);
    assert_eq!(status(&run("16")), 0);
    let old: BTreeMap<String, Vec<u8>> =
        names(&out).into_iter().map(|n| (n.clone(), fs::read(out.join(n)).unwrap())).collect();
    assert_eq!(status(&run("18")), 0);
    let new: BTreeMap<String, Vec<u8>> =
        names(&out).into_iter().map(|n| (n.clone(), fs::read(out.join(n)).unwrap())).collect();
    // Half of the new files in place of the old ones, and beside them what the run had put aside.
    let staged = out.join(".letin-a1b2c3");
    fs::create_dir_all(staged.join("old")).unwrap();
    fs::create_dir_all(staged.join("new")).unwrap();
    let hashes = |all: &BTreeMap<String, Vec<u8>>| -> BTreeMap<String, String> {
        all.iter().map(|(n, b)| (n.clone(), letin::write::store::sha256(b))).collect()
    };
    let journal = serde_json::json!({
        "letin": "0.1.0", "document": "key.json", "new": hashes(&new), "old": hashes(&old),
    });
    fs::write(staged.join("journal.json"), journal.to_string()).unwrap();
    for (k, (name, bytes)) in old.iter().enumerate() {
        if k % 2 == 0 && name != "key.json" {
            fs::write(staged.join("old").join(name), bytes).unwrap();
        } else {
            fs::write(out.join(name), bytes).unwrap();
            fs::write(staged.join("new").join(name), &new[name]).unwrap();
        }
    }
    let o = run("20");
    assert_eq!(status(&o), 0, "{}", err(&o));
    assert!(err(&o).contains("an earlier run was broken off while it wrote"), "{}", err(&o));
    is_whole_set(&out, "key.json").unwrap();
    assert!(!err(&run("20")).contains("broken off"));
}

#[test]
fn a_hundred_runs_leave_nothing_behind() {
    let t = yard();
    for k in 0..100 {
        let bush = ["20", "16", "18"][k % 3];
        assert_eq!(status(&letin(t.path(), &["make", "key.svg", "--bush", bush])), 0);
    }
    is_whole_set(&t.path().join("key-letin"), "key.json").unwrap();
    assert_eq!(names(t.path()), ["key-letin", "key.svg"]);
}

// Answers that do not get out.

const COMMANDS: [&[&str]; 16] = [
    &["make", "key.svg"],
    &["make", "key.svg", "--json"],
    &["make", "key.svg", "--dry-run"],
    &["check", "key.svg"],
    &["outlines", "key.svg"],
    &["offsets"],
    &["testpiece"],
    &["shape", "disc", "60", "--force"],
    &["keys", "--length", "300", "--board", "20", "--force"],
    &["explain"],
    &["explain", "neck", "--json"],
    &["prove", "key-letin"],
    &["--help"],
    &["make", "--help"],
    &["--version"],
    &["check", "none.svg", "--json"],
];

/// A full disk, a closed descriptor, a pipe that nobody reads: an answer that nobody got is no verdict.
#[test]
fn an_answer_that_does_not_get_out_is_no_verdict() {
    let t = yard();
    assert_eq!(status(&letin(t.path(), &["key.svg"])), 0);
    for args in COMMANDS {
        let full = fs::OpenOptions::new().write(true).open("/dev/full").unwrap();
        let o = command(t.path(), args).stdout(full).stderr(Stdio::piped()).output().unwrap();
        assert_eq!(status(&o), 2, "{args:?}");
        assert!(err(&o).contains("standard output cannot be written to"), "{args:?}: {}", err(&o));

        let closed = ["-c", "exec \"$0\" \"$@\" >&-", env!("CARGO_BIN_EXE_letin")];
        let o = Command::new("sh").args(closed).args(args).current_dir(t.path()).output().unwrap();
        assert_eq!(status(&o), 2, "{args:?}");
        assert!(err(&o).contains("it is closed"), "{args:?}: {}", err(&o));

        let (reader, writer) = std::io::pipe().unwrap();
        drop(reader);
        let o = command(t.path(), args).stdout(writer).stderr(Stdio::piped()).output().unwrap();
        assert_eq!(status(&o), 2, "{args:?}");
        assert!(!err(&o).contains("cannot be written") && !err(&o).contains("stumbled"), "{args:?}: {}", err(&o));

        // Where nobody wants to see it, it is no failure; however the null device was opened.
        let null = fs::OpenOptions::new().read(true).write(true).open("/dev/null").unwrap();
        let o = command(t.path(), args).stdout(null).stderr(Stdio::piped()).output().unwrap();
        assert_eq!(status(&o), if args.contains(&"none.svg") { 2 } else { i32::from(args[0] == "check") }, "{args:?}");
    }
}

/// Findings and documents on standard output, everything else on standard error.
#[test]
fn the_two_streams_are_kept_apart() {
    let t = yard();
    for args in COMMANDS.iter().filter(|a| a.contains(&"--json")) {
        let o = letin(t.path(), args);
        assert!(serde_json::from_slice::<Value>(&o.stdout).is_ok(), "{args:?}: {}", String::from_utf8_lossy(&o.stdout));
    }
    let o = letin(t.path(), &["make", "key.svg", "--force"]);
    let said = String::from_utf8(o.stdout.clone()).unwrap();
    assert!(said.contains("[inside-corner]") || said.contains("inside-corner"), "{said}");
    assert!(!said.contains("written into") && err(&o).contains("written into key-letin"));
    let o = letin(t.path(), &["make", "none.svg"]);
    assert!(o.stdout.is_empty() && err(&o).contains("there is no file"));
}

/// Every kind of refusal as an object for programs.
#[test]
fn every_error_is_an_object_where_json_is_asked_for() {
    let t = yard();
    let dir = t.path();
    fs::create_dir_all(dir.join("b")).unwrap();
    fs::write(dir.join("b/key.svg"), edited(34)).unwrap();
    fs::write(dir.join("text.toml"), "drawing = \n").unwrap();
    fs::write(dir.join("wrong.toml"), "drawing = \"key.svg\"\nbushes = 3\n").unwrap();
    fs::write(dir.join("kit.toml"), "[[bush]]\noutsid = 3\n").unwrap();
    fs::write(dir.join("plank"), "oak").unwrap();
    fs::create_dir(dir.join("theirs")).unwrap();
    fs::write(dir.join("theirs/key-marks.svg"), "theirs").unwrap();
    symlink("nowhere", dir.join("dangling")).unwrap();
    assert!(Command::new("mkfifo").arg(dir.join("pipe.svg")).status().unwrap().success());
    assert_eq!(status(&letin(dir, &["make", "key.svg", "--out", "same"])), 0);
    for (args, code, part) in [
        (&["make", "none.svg"][..], "not-found", "none.svg"),
        (&["make", "pipe.svg"], "unreadable", "not a plain file"),
        (&["make", "/dev/zero"], "unreadable", "not a plain file"),
        (&["make", "b"], "unreadable", "folder"),
        (&["make", "plank"], "not-a-drawing", "plank"),
        (&["check", "key.svg", "--kit", "pipe.svg"], "unreadable", "not a plain file"),
        (&["check", "key.svg", "--kit", "/dev/zero"], "unreadable", "not a plain file"),
        (&["check", "key.svg", "--kit", "kit.toml"], "kit", "outsid"),
        (&["offsets", "--kit", "none.toml"], "not-found", "none.toml"),
        (&["make", "none.toml"], "not-found", "none.toml"),
        (&["make", "text.toml"], "usage", "line 1"),
        (&["make", "wrong.toml"], "usage", "bushes"),
        (&["make", "key.svg", "--bush", "6"], "usage", "--bush"),
        (&["make", "key.svg", "--width", "9999999"], "usage", "--width 9999999: it must be from 0.1 to 10000 mm"),
        (&["make", "key.svg", "--no-such"], "usage", "--no-such"),
        (&["make", "key.svg", "key.svg"], "usage", "2 drawings"),
        (&["make"], "usage", ""),
        (&["make", "key.svg", "--out", "plank"], "cannot-write", "not a folder"),
        (&["make", "key.svg", "--out", "plank/x"], "cannot-write", "plank"),
        (&["make", "key.svg", "--out", "dangling"], "cannot-write", "symbolic link"),
        (&["make", "key.svg", "--out", "dangling/x"], "cannot-write", "dangling"),
        (&["make", "key.svg", "--out", "/sys/x"], "cannot-write", "/sys"),
        (&["make", "key.svg", "--out", "theirs"], "would-overwrite", "key-marks.svg"),
        (&["make", "b/key.svg", "--out", "same"], "would-overwrite", "another drawing"),
        (&["make", "key.svg", "--write-job", "key.svg", "--force"], "would-overwrite", "never overwritten"),
        (&["outlines", "key.svg", "--picture", "none/x.svg"], "cannot-write", "none/x.svg"),
        (&["outlines", "key.svg", "--picture", "plank"], "cannot-write", "already"),
        (&["prove", "none"], "not-found", "none"),
        (&["prove", "b"], "no-document", "b"),
        (&["explain", "nothing"], "usage", "nothing"),
        (&["keys", "--length", "0", "--board", "20"], "usage", "--length 0"),
        (&["testpiece", "--measured", "9999999x3"], "usage", "--measured 9999999x3"),
    ] {
        let o = letin(dir, &[args, &["--json"]].concat());
        let (got, message) = json_error(&o);
        assert_eq!(got, code, "{args:?}: {message}");
        assert!(message.contains(part), "{args:?}: {message}");
    }
    assert_eq!(fs::read_to_string(dir.join("theirs/key-marks.svg")).unwrap(), "theirs");
    assert!(!dir.join("nowhere").exists());
}

// Names, and whose files they are.

#[test]
fn long_names_are_shortened_and_told() {
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
    assert_eq!(made.len(), folders.len(), "each has a folder of its own: {made:?}");
    for folder in made {
        let name = folder.strip_suffix("-letin").unwrap();
        is_whole_set(&t.path().join(&folder), &format!("{name}.json")).unwrap();
    }
}

/// Line ends, marks that turn the writing, bytes that are no text, a dash in front, dots: made, proved and made again.
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
        // Not every file system takes every name.
        if fs::write(dir.path().join(name), KEY).is_err() {
            continue;
        }
        let args = [OsStr::new("make"), OsStr::new("--"), name];
        assert_eq!(status(&letin(dir.path(), &args)), 0, "{name:?}");
        // Edited it is the same drawing.
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

/// Two drawings of one name into one folder: the second is refused; the first may be edited, named otherwise and moved.
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
    // The same drawing, edited, and by other ways.
    fs::write(dir.join("a/key.svg"), edited(33)).unwrap();
    symlink("a", dir.join("link")).unwrap();
    let whole = dir.join("a/key.svg");
    for way in ["a/key.svg", "./b/../a/key.svg", "link/key.svg", whole.to_str().unwrap()] {
        let o = made(way, &[]);
        assert_eq!(status(&o), 0, "{way}: {}", err(&o));
    }
    // Moved with its folder of files, or alone but not edited.
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

/// With a slash behind it a link is a link all the same.
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

/// A job file that writes elsewhere says so before it does; one that stays at home says nothing.
#[test]
fn a_job_file_that_writes_outside_its_folder_says_so() {
    let t = yard();
    let dir = t.path();
    fs::create_dir_all(dir.join("job/in")).unwrap();
    fs::copy(dir.join("key.svg"), dir.join("job/key.svg")).unwrap();
    let whole = fs::canonicalize(dir).unwrap();
    for (text, typed, told) in [
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
        match told {
            None => assert!(!said.contains("outsideitsown"), "{text}: {said}"),
            Some(folder) => {
                let wanted = format!("outsideitsownfolder,into{}", whole.join(folder).display());
                assert!(said.contains(&wanted.replace(' ', "")), "{text}: {said}");
            }
        }
    }
}

/// What is made may be read by whom the mask lets read it.
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
