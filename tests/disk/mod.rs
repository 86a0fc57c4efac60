//! Files and standard output: files that a run never overwrites, simultaneous runs, interrupted runs, output that
//! cannot be written, unusual names. Every test runs the built program.

#![cfg(unix)]

mod answers;
mod kept;
mod names;
mod runs;

use serde_json::Value;
use std::collections::BTreeMap;
use std::ffi::OsStr;
use std::fs;
use std::path::Path;
use std::process::{Command, Output, Stdio};
use tempfile::TempDir;

const KEY: &str = include_str!("../../samples/bow-tie-key/key.svg");
const KIT: &str = "[[bush]]\noutside = 20\n[[cutter]]\ndiameter = 6\n";

fn yard() -> TempDir {
    let dir = tempfile::tempdir().unwrap();
    fs::write(dir.path().join("key.svg"), KEY).unwrap();
    dir
}

/// The same drawing with other bytes.
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

/// Standard error without the line breaks of the terminal.
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

/// Checks that the folder holds the document `name` and exactly the files that it lists, each with its hash.
fn is_whole_set(dir: &Path, name: &str) -> Result<Value, String> {
    let document = document(&dir.join(name));
    let hashes: BTreeMap<String, String> = serde_json::from_value(document["hashes"].clone()).unwrap();
    let mut listed: Vec<String> = hashes.keys().cloned().chain([name.to_owned()]).collect();
    listed.sort();
    if names(dir) != listed {
        return Err(format!("found {:?}, expected {listed:?}", names(dir)));
    }
    for (name, hash) in hashes {
        let found = letin::write::store::sha256(&fs::read(dir.join(&name)).unwrap());
        if found != hash {
            return Err(format!("{name} does not match its hash in the document"));
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
