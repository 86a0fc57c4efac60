//! Every answer in JSON is one of the types of `letin::schema`: read and written again it gives the same bytes.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use letin::schema::answers::{Codes, Listing, NoVerdict, Page, Proved};
use letin::schema::kit::{Correction, Keys, Offsets, TestPiece};
use letin::schema::{Document, bytes, bytes_by_name};
use serde::de::DeserializeOwned;
use std::path::Path;
use std::process::Command;
use tempfile::TempDir;

/// Runs the program in `dir` and compares its answer with what `again` writes. A key that the type does not know would be
/// missing there.
#[track_caller]
fn comes_back<T: DeserializeOwned>(dir: &TempDir, args: &str, again: fn(&T) -> serde_json::Result<Vec<u8>>) -> T {
    let o = Command::new(env!("CARGO_BIN_EXE_letin")).args(args.split(' ')).current_dir(dir).output().unwrap();
    let text = String::from_utf8(o.stdout).unwrap();
    let read = serde_json::from_str(&text).unwrap_or_else(|e| panic!("{args}: {e}\n{text}"));
    assert_eq!(String::from_utf8(again(&read).unwrap()).unwrap(), text, "{args}");
    read
}

fn yard(drawings: &[&str]) -> TempDir {
    let dir = TempDir::new().unwrap();
    for d in drawings {
        let from = Path::new(env!("CARGO_MANIFEST_DIR")).join(d);
        std::fs::copy(&from, dir.path().join(from.file_name().unwrap())).unwrap();
    }
    dir
}

#[test]
fn documents_of_all_kinds_of_jobs() {
    let dir = yard(&["samples/bow-tie-key/key.svg", "samples/fish-in-hatch/fish-plug.svg", "samples/ring/ring.svg"]);
    let shouldered = "check fish-plug.svg --json --plug plug --shoulder shoulder --kit metric";
    for args in [
        "check key.svg --json --pair auto --species white-ash --moisture-change 4",
        "check key.svg --json --suggest --kit metric --show in --turn none",
        "check key.svg --json --bush 12 --cutter 3 --base 60 --corners square",
        "check key.svg --json --from part --bush 30 --inlay-bush 16",
        "make key.svg --json --write-unit in --dxf r12 --flatten 0.05 --out out",
        "check ring.svg --json --accept island",
        shouldered,
    ] {
        comes_back::<Document>(&dir, args, bytes);
    }
    let piece = comes_back::<Document>(&dir, shouldered, bytes);
    assert!(piece.shouldered.is_some() && piece.proof.unwrap().pieces.len() == 2);
    let island = comes_back::<Document>(&dir, "check ring.svg --json --accept island", bytes);
    assert!(!island.then.is_empty());
}

#[test]
fn answers_of_the_other_commands() {
    let dir = yard(&["samples/bow-tie-key/key.svg"]);
    comes_back::<Listing>(&dir, "outlines key.svg --json", bytes);
    comes_back::<Document>(&dir, "make key.svg --json --out out", bytes);
    let proved = comes_back::<Proved>(&dir, "prove out --json", bytes_by_name);
    assert!(proved.documents[0].proved && proved.documents[0].error.is_none());
    std::fs::remove_file(dir.path().join("out/key-face-1.dxf")).unwrap();
    let proved = comes_back::<Proved>(&dir, "prove out --json", bytes_by_name);
    assert!(!proved.documents[0].proved && proved.documents[0].error.is_some());
    let table = comes_back::<Offsets>(&dir, "offsets --kit metric --json", bytes);
    assert!(!table.pairs.is_empty());
    comes_back::<TestPiece>(&dir, "testpiece --bush 20 --cutter 6 --out piece --json", bytes);
    let measured = "testpiece --bush 20 --cutter 6 --opening 60 --measured 46.1x33.9 --json";
    comes_back::<Correction>(&dir, measured, bytes_by_name);
    // Integers keep their decimal point here.
    let plain = |k: &Keys| serde_json::to_vec_pretty(&serde_json::to_value(k)?).map(|b| [b, b"\n".to_vec()].concat());
    comes_back::<Keys>(&dir, "keys --length 300 --board 20 --json", plain);
    comes_back::<Codes>(&dir, "explain --json", bytes_by_name);
    comes_back::<Page>(&dir, "explain neck --json", bytes_by_name);
    comes_back::<NoVerdict>(&dir, "check nowhere.svg --json", bytes_by_name);
    comes_back::<NoVerdict>(&dir, "check key.svg --bush x --json", bytes_by_name);
}
