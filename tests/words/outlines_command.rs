//! `letin outlines`, and the choice of outlines on `check`. Every test runs the built program.

use serde_json::Value;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

fn fixture(name: &str) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/fixtures").join(name)
}

fn letin(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_letin")).args(args).output().unwrap()
}

fn json(args: &[&str]) -> Value {
    let out = letin(args);
    serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("{args:?}: {e}: {out:?}"))
}

fn text(out: &Output) -> String {
    String::from_utf8(out.stdout.clone()).unwrap()
}

#[test]
fn lists_what_was_found_with_names_and_nesting() {
    let island = fixture("dxf/kinds/hatch-island.dxf");
    let list = json(&["outlines", island.to_str().unwrap(), "--json"]);
    assert_eq!(list["schema"], 1);
    let said: Vec<_> = list["lines"]
        .as_array()
        .unwrap()
        .iter()
        .map(|l| (l["number"].as_u64(), l["inside"].as_u64(), l["area_mm2"].as_f64(), l["layer"].as_str()))
        .collect();
    assert_eq!(said, [(Some(1), None, Some(900.0), Some("0")), (Some(2), Some(1), Some(100.0), Some("0"))]);
    let named = fixture("svg/kinds/label-and-colour.svg");
    let out = letin(&["outlines", named.to_str().unwrap()]);
    let reported = text(&out);
    assert!(out.status.success() && reported.starts_with(named.to_str().unwrap()), "{reported}");
    for part in ["60.00 mm", "label hatch key", "colour #cc0000", "rect cover", "400.0 mm²"] {
        assert!(reported.contains(part), "{part}: {reported}");
    }
}

/// Number, label, colour and id choose the same shape. An unknown name is refused with the nearest known one.
#[test]
fn chooses_by_every_name() {
    let file = fixture("svg/kinds/label-and-colour.svg");
    let file = file.to_str().unwrap();
    for name in ["1", "hatch key", "#cc0000", "#C00", "key"] {
        let verdict = json(&["check", file, "--json", "--only", name]);
        let sources: Vec<_> = verdict["outlines"].as_array().unwrap().iter().map(|o| o["source"].as_str()).collect();
        assert_eq!(sources, [Some("key")], "{name}");
        let verdict = json(&["check", file, "--json", "--skip", name]);
        assert_eq!(verdict["outlines"][0]["source"], "cover", "{name}");
    }
    let no = json(&["check", file, "--json", "--only", "Hatch kye"]);
    assert_eq!(no["error"]["code"], "no-such-name");
    assert!(no["error"]["message"].as_str().unwrap().ends_with("Did you mean \"hatch key\"?"), "{no}");
    assert_eq!(json(&["check", file, "--json", "--only", "3"])["error"]["code"], "no-such-name");
}

#[test]
fn a_numbered_picture_is_written_and_never_over_anything() {
    let folder = tempfile::tempdir().unwrap();
    let drawing = folder.path().join("keys.svg");
    std::fs::copy(fixture("svg/kinds/label-and-colour.svg"), &drawing).unwrap();
    let before = std::fs::read(&drawing).unwrap();
    let picture = folder.path().join("numbers.svg");
    let (d, p) = (drawing.to_str().unwrap(), picture.to_str().unwrap());
    assert!(letin(&["outlines", d, "--picture", p]).status.success());
    let drawn = std::fs::read_to_string(&picture).unwrap();
    for part in ["id=\"CLOSED\"", ">1</text>", ">2</text>"] {
        assert!(drawn.contains(part), "{part}");
    }
    // An existing picture is replaced only with --force; the drawing is never replaced.
    assert_eq!(letin(&["outlines", d, "--picture", p]).status.code(), Some(2));
    assert!(letin(&["outlines", d, "--picture", p, "--force"]).status.success());
    assert_eq!(letin(&["outlines", d, "--picture", d, "--force"]).status.code(), Some(2));
    assert_eq!(std::fs::read(&drawing).unwrap(), before);
}

#[test]
fn a_width_is_met_and_reported() {
    let file = fixture("dxf/kinds/line.dxf");
    let list = json(&["outlines", file.to_str().unwrap(), "--json", "--width", "6in"]);
    let size: Vec<f64> = list["drawing"]["size_mm"].as_array().unwrap().iter().filter_map(Value::as_f64).collect();
    assert!((size[0] - 152.4).abs() < 1e-6 && (size[1] - 203.2).abs() < 1e-6, "{size:?}");
    assert!(list["drawing"]["unit_source"].as_str().unwrap().contains("--width"));
    let no = letin(&["outlines", file.to_str().unwrap(), "--width", "100", "--unit", "in"]);
    assert_eq!(no.status.code(), Some(2));
}

/// Seen from the back, left and right are exchanged, in the list and in the picture.
#[test]
fn mirrored_the_picture_is_the_mirror_image() {
    let dir = tempfile::tempdir().unwrap();
    let drawing = dir.path().join("sail.svg");
    let sail = r#"<svg xmlns="http://www.w3.org/2000/svg" width="90mm" height="60mm" viewBox="0 0 90 60"><path d="M10 50 H80 V5 Z"/></svg>"#;
    std::fs::write(&drawing, sail).unwrap();
    let picture = |name: &str, args: &[&str]| {
        let to = dir.path().join(name);
        let words = [&["outlines", "--picture", to.to_str().unwrap()], args, &[drawing.to_str().unwrap()]].concat();
        assert!(letin(&words).status.success());
        std::fs::read_to_string(to).unwrap()
    };
    let (plain, mirrored) = (picture("a.svg", &[]), picture("b.svg", &["--mirror"]));
    assert_ne!(plain, mirrored);
    // The mirror image drawn by hand gives the same picture.
    std::fs::write(&drawing, sail.replace("M10 50 H80 V5 Z", "M80 50 H10 V5 Z")).unwrap();
    assert_eq!(picture("c.svg", &[]), mirrored);
}
