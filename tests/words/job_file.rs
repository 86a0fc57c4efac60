//! JOB.toml: the settings of the command line, paths relative to the file's folder, and errors that point into the file.

use serde_json::Value;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

const KEY: &str = include_str!("../../samples/bow-tie-key/key.svg");

/// A temporary folder with a subfolder `yard` that holds the drawing and the job file.
fn yard(job: &str) -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    fs::create_dir(dir.path().join("yard")).unwrap();
    fs::write(dir.path().join("yard/key.svg"), KEY).unwrap();
    fs::write(dir.path().join("yard/key.toml"), job).unwrap();
    dir
}

fn letin(dir: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_letin")).args(args).current_dir(dir).output().unwrap()
}

fn json(out: &Output) -> Value {
    serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&out.stderr)))
}

/// Asserts status 2 and returns standard error.
fn refused(job: &str, args: &[&str]) -> String {
    let dir = yard(job);
    let out = letin(dir.path(), &[&["check", "yard/key.toml"], args].concat());
    let said = String::from_utf8_lossy(&out.stderr).into_owned();
    assert_eq!(out.status.code(), Some(2), "{job}\n{said}");
    assert!(!dir.path().join("yard/key-letin").exists());
    // Undo the terminal's line breaks.
    said.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_file_says_what_the_options_say() {
    let dir = yard("drawing = \"key.svg\"\nbush = 16\ncutter = '1/4in'\ncorners = \"square\"\nonly = [\"key\"]\n");
    let by_file = letin(dir.path(), &["check", "yard/key.toml", "--json"]);
    let typed = ["--bush", "16", "--cutter", "1/4in", "--corners", "square", "--only", "key", "--json"];
    let by_options = letin(dir.path(), &[&["check", "yard/key.svg"], &typed[..]].concat());
    assert_eq!(json(&by_file), json(&by_options));
    assert_eq!(json(&by_file)["tools"]["recess"]["cutter_mm"], 6.35);
}

#[test]
fn what_is_typed_outweighs_the_file() {
    let dir = yard("drawing = \"key.svg\"\nbush = 16\nonly = [\"nothing-of-this-name\"]\n");
    let out = letin(dir.path(), &["check", "--bush", "18", "yard/key.toml", "--only", "key", "--json"]);
    assert_eq!(json(&out)["tools"]["recess"]["bush_mm"], 18.0);
}

#[test]
fn a_job_file_alone_is_made_and_paths_count_from_its_folder() {
    let dir = yard("drawing = \"key.svg\"\nout = \"cut\"\nforce = false\n");
    let out = letin(dir.path(), &["yard/key.toml"]);
    assert_eq!(out.status.code(), Some(0), "{}", String::from_utf8_lossy(&out.stderr));
    assert!(dir.path().join("yard/cut/key-face-1.dxf").is_file());
}

#[test]
fn settings_of_a_run_are_saved_and_come_back_the_same() {
    let dir = yard("drawing = \"key.svg\"\nbush = 16\ngap = \"0,1\"\n");
    let first = letin(
        dir.path(),
        &["make", "yard/key.toml", "--only", "key", "--panel", "500x260", "--out", "a b", "--write-job", "kept.toml"],
    );
    assert_eq!(first.status.code(), Some(0), "{}", String::from_utf8_lossy(&first.stderr));
    let before = fs::read(dir.path().join("a b/key.json")).unwrap();
    fs::remove_dir_all(dir.path().join("a b")).unwrap();
    let again = letin(dir.path(), &["make", "kept.toml"]);
    assert_eq!(again.status.code(), Some(0), "{}", String::from_utf8_lossy(&again.stderr));
    assert_eq!(before, fs::read(dir.path().join("a b/key.json")).unwrap());
    // The saved file stays, and the run writes nothing.
    let refused = letin(dir.path(), &["make", "yard/key.toml", "--out", "c", "--write-job", "kept.toml"]);
    assert_eq!(refused.status.code(), Some(2));
    assert!(!dir.path().join("c").exists());
    let forced = letin(dir.path(), &["make", "yard/key.toml", "--out", "c", "--force", "--write-job", "kept.toml"]);
    assert_eq!(forced.status.code(), Some(0));
}

#[test]
fn a_saved_file_lists_every_setting() {
    let dir = yard("drawing = \"key.svg\"\n");
    letin(dir.path(), &["make", "yard/key.toml", "--write-job", "kept.toml"]);
    let kept = fs::read_to_string(dir.path().join("kept.toml")).unwrap();
    let help = String::from_utf8(letin(dir.path(), &["make", "--help"]).stdout).unwrap();
    let options = help.lines().filter_map(|l| l.trim_start().strip_prefix("--")?.split([' ', '=']).next());
    let mut settings = 0;
    for name in options.filter(|n| *n != "write-job" && *n != "help") {
        assert!(kept.contains(&format!("# {name} = ")), "{name} is missing in\n{kept}");
        settings += 1;
    }
    assert!(settings > 20, "{help}");
}

#[test]
fn mistakes_are_pointed_at() {
    for (job, says) in [
        ("drawing = \"key.svg\"\nbosh = 16\n", ["key.toml:2:1", "There is no setting bosh", "Did you mean `bush`"]),
        ("drawing = \"key.svg\"\nbush = \"wide\"\n", ["key.toml:2:8", "wide", "--bush"]),
        ("drawing = \"key.svg\"\nbush = [16]\n", ["key.toml:2:8", "not a list", "without the brackets"]),
        ("drawing = \"key.svg\"\nbush = true\n", ["key.toml:2:8", "cannot be a boolean", "bush"]),
        ("drawing = \"key.svg\"\njson = 3\n", ["key.toml:2:8", "yes or no", "json = true"]),
        ("drawing = \"key.svg\"\ncorners = \"round\"\n", ["key.toml:2:11", "round", "corners"]),
        (
            "drawing = \"key.svg\"\n[tools]\nbush = 16\n",
            ["key.toml:2:", "There is no setting tools", "Did you mean `kit`"],
        ),
        ("drawing = \"key.svg\"\nbush = 16\nbush = 17\n", ["key.toml:3:", "not valid TOML", "duplicate"]),
        ("drawing = \"key.svg\"\nbush = \n", ["key.toml:2:", "not valid TOML", "name ="]),
        ("bush = 16\n", ["key.toml:1:1", "names no drawing", "drawing ="]),
        ("drawing = \"key.svg\"\nbush = 5\n", ["key.toml:2:8", "not larger than", "--cutter"]),
        ("drawing = \"key.svg\"\ncorners = \"keep\"\nease-inside = 1\n", ["key.toml:3:15", "contradict", "--corners"]),
        ("drawing = \"key.svg\"\naccept = [\"fit\"]\n", ["key.toml:2:10", "cannot be accepted", "island"]),
        ("drawing = [\"key.svg\", \"key.svg\"]\n", ["key.toml:1:11", "2 drawings", "one at a time"]),
        (
            "drawing = \"key.svg\"\ndepth = 6\n",
            ["key.toml:2:1", "There is no setting depth", "Did you mean `recess-depth`"],
        ),
        ("drawing = \"key.svg\"\ninches = true\n", ["key.toml:2:1", "`show = \"in\"`", "`unit = \"in\"`"]),
        ("drawing = \"key.svg\"\nonly = \"no\"\n", ["nothing in the drawing is called no", "ids: key", "no-such-name"]),
        ("drawing = \"gone.svg\"\n", ["there is no file", "gone.svg", "not-found"]),
    ] {
        let said = refused(job, &[]);
        for part in says {
            assert!(said.contains(part), "{job}\nno “{part}” in: {said}");
        }
    }
}

/// Both spellings count in a file, and each value reports its own place.
#[test]
fn american_spellings_and_aliases_count() {
    let dir =
        yard("drawing = \"key.svg\"\nbushing = \"5/8in\"\nbit = '1/4in'\nstroke = \"center\"\nunit = \"inches\"\n");
    let by_file = json(&letin(dir.path(), &["check", "yard/key.toml", "--json"]));
    let typed = ["--bush", "5/8in", "--cutter", "1/4in", "--unit", "in", "--json"];
    assert_eq!(by_file, json(&letin(dir.path(), &[&["check", "yard/key.svg"], &typed[..]].concat())));
    let said = refused("drawing = \"key.svg\"\nbushing = 5\n", &[]);
    assert!(said.contains("key.toml:2:11") && said.contains("larger --bush"), "{said}");
    // A typed option overrides the file under either name.
    let dir = yard("drawing = \"key.svg\"\nbushing = 16\n");
    let out = json(&letin(dir.path(), &["check", "--bush", "18", "yard/key.toml", "--json"]));
    assert_eq!(out["tools"]["recess"]["bush_mm"], 18.0);
}

#[test]
fn mistakes_have_their_line_in_json_too() {
    let dir = yard("drawing = \"key.svg\"\nbush = 16\nbosh = 1\n");
    let out = letin(dir.path(), &["check", "yard/key.toml", "--json"]);
    assert_eq!(out.status.code(), Some(2));
    let message = json(&out)["error"]["message"].as_str().unwrap().to_owned();
    assert!(message.contains("line 3") && message.contains("bosh"), "{message}");
}

#[test]
fn a_missing_or_strange_file_is_refused() {
    let dir = yard("");
    for (name, bytes) in [("none.toml", None), ("binary.toml", Some(&b"\xff\xfe\x00"[..]))] {
        if let Some(bytes) = bytes {
            fs::write(dir.path().join(name), bytes).unwrap();
        }
        let out = letin(dir.path(), &["make", name]);
        assert_eq!(out.status.code(), Some(2), "{name}");
        assert!(String::from_utf8_lossy(&out.stderr).contains(name));
    }
}
