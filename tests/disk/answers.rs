//! Answers on standard output, and answers that fail to arrive.

use super::*;
use std::os::unix::fs::symlink;

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

/// A full disk, a closed descriptor, a pipe without a reader. Without its answer, a run has no verdict.
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
        assert!(
            !err(&o).contains("cannot be written") && !err(&o).contains("stopped unexpectedly"),
            "{args:?}: {}",
            err(&o)
        );

        // The null device discards the answer on purpose: no failure, however the device was opened.
        let null = fs::OpenOptions::new().read(true).write(true).open("/dev/null").unwrap();
        let o = command(t.path(), args).stdout(null).stderr(Stdio::piped()).output().unwrap();
        assert_eq!(status(&o), if args.contains(&"none.svg") { 2 } else { i32::from(args[0] == "check") }, "{args:?}");
    }
}

/// Findings and documents go to standard output, everything else to standard error.
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

/// With `--json`, every kind of refusal is an object.
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
