//! Depths, passes and reach in the program's answers. The expected numbers are worked out by hand.
//!
//! The rules are: half the cutter's diameter per pass, 0.5 mm into the spoil board, 0.5 mm between bush and work.
//! Source: common practice, no source.

use serde_json::{Value, json};
use std::fs;
use std::path::Path;
use std::process::{Command, Output};

const ROUND: &str = r#"<circle id="shoulder" cx="100" cy="100" r="30"/><circle id="plug" cx="100" cy="100" r="15"/>"#;
const PIECE: [&str; 4] = ["--plug", "plug", "--shoulder", "shoulder"];

/// A folder that holds `yard.svg` and other files.
fn yard(shapes: &str, files: &[(&str, &str)]) -> tempfile::TempDir {
    let dir = tempfile::tempdir().unwrap();
    let svg = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200">{shapes}</svg>"#
    );
    fs::write(dir.path().join("yard.svg"), svg).unwrap();
    for (name, text) in files {
        fs::write(dir.path().join(name), text).unwrap();
    }
    dir
}

fn letin(dir: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_letin")).args(args).current_dir(dir).output().unwrap()
}

fn checked(dir: &Path, args: &[&str]) -> Value {
    let o = letin(dir, &[&["check", "--json", "yard.svg"], args].concat());
    serde_json::from_slice(&o.stdout).unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&o.stderr)))
}

fn key(v: &Value, key: &str) -> Vec<Value> {
    v["steps"].as_array().unwrap().iter().map(|s| s[key].clone()).collect()
}

fn codes(v: &Value) -> Vec<&str> {
    v["findings"].as_array().unwrap().iter().map(|f| f["code"].as_str().unwrap()).collect()
}

/// The recess, 8 deep, takes 3 passes of 8/3. The inlay, 9 deep and 9.5 with the spoil board, takes 4. The template adds 9
/// below the base.
#[test]
fn a_flush_job_has_depths() {
    let dir = yard(r#"<circle cx="100" cy="100" r="30"/>"#, &[]);
    let v = checked(dir.path(), &["--recess-depth", "8", "--stock", "9", "--board", "20"]);
    assert_eq!(key(&v, "depth_mm"), [json!(8), json!(9)]);
    assert_eq!(key(&v, "through"), [json!(false), json!(true)]);
    assert_eq!(key(&v, "middle_cleared"), [json!(true), json!(false)]);
    assert_eq!(key(&v, "passes"), [json!(3), json!(4)]);
    assert_eq!(key(&v, "pass_mm"), [json!(2.666667), json!(2.375)]);
    assert_eq!(key(&v, "cutter_below_base_mm"), [json!(17), json!(18.5)]);
    assert_eq!(v["router"]["bush_projection_most_mm"], 8.5);
    assert_eq!(v["router"]["not_checked"], json!(["projection", "bore", "length"]));
    let v = checked(
        dir.path(),
        &["--recess-depth", "8", "--stock", "9", "--pass-depth", "1.5", "--template-thickness", "12"],
    );
    assert_eq!(key(&v, "passes"), [json!(6), json!(7)]);
    assert_eq!(key(&v, "cutter_below_base_mm"), [json!(20), json!(21.5)]);
}

/// A recess as deep as the board goes right through. Its middle falls out, and the bush follows only the edge.
#[test]
fn a_recess_right_through() {
    let dir = yard(r#"<circle cx="100" cy="100" r="30"/>"#, &[]);
    let v = checked(dir.path(), &["--recess-depth", "18", "--board", "18", "--stock", "18"]);
    assert_eq!(key(&v, "through"), [json!(true), json!(true)]);
    assert_eq!(key(&v, "middle_cleared"), [json!(false), json!(false)]);
    assert_eq!(key(&v, "cutter_below_base_mm"), [json!(27.5), json!(27.5)]);
    let said = letin(dir.path(), &["check", "yard.svg", "--recess-depth", "18", "--board", "18", "--full"]);
    let said = String::from_utf8(said.stdout).unwrap().split_whitespace().collect::<Vec<_>>().join(" ");
    for words in [
        "Recess: face 1 up. Bush 20 mm, cutter 6 mm, 18 mm deep plus 0.5 mm into the spoil board, in 7 passes of about 2.6 mm.",
        "The cutter ends 27.5 mm below the base.",
        "The middle drops out on the last pass. Tape under it first.",
        "right through, passes of 3 mm at most",
        "Not checked, because not given: Thickness of the wood for the inlay (--stock).",
    ] {
        assert!(said.contains(words), "{words}: {said}");
    }
    assert_eq!(said.matches("Not checked").count(), 1);
}

#[test]
fn a_shouldered_piece_has_depths() {
    let dir = yard(ROUND, &[]);
    let wood = ["--board", "20", "--stock", "24", "--plug-height", "14"];
    let v = checked(dir.path(), &[&PIECE[..], &wood, &["--kit", "metric"]].concat());
    assert_eq!(key(&v, "depth_mm"), [14, 14, 14, 24, 20, 10].map(Value::from));
    assert_eq!(key(&v, "passes"), [5, 5, 5, 9, 7, 4].map(Value::from));
    assert_eq!(key(&v, "through"), [false, false, false, true, true, false].map(Value::from));
    assert_eq!(
        key(&v, "cutter_below_base_mm"),
        [23.0, 23.0, 23.0, 33.5, 29.5, 19.0].map(|n| { if n % 1.0 == 0.0 { json!(n as i64) } else { json!(n) } })
    );
    // A rebate shallower than the shoulder leaves the shoulder proud.
    let v = checked(dir.path(), &[&PIECE[..], &wood, &["--recess-depth", "9.7"]].concat());
    assert_eq!(key(&v, "depth_mm").last(), Some(&json!(9.7)));
}

#[test]
fn a_cutter_that_is_too_short_is_reported_in_flush_jobs_too() {
    let kit = "[[bush]]\noutside = 20\nbore = 16\n\n[[cutter]]\ndiameter = 6\nlength = 25\nshank = 8\n";
    let dir = yard(r#"<circle cx="100" cy="100" r="30"/>"#, &[("kit.toml", kit)]);
    for (stock, found) in [("15.5", false), ("15.6", true)] {
        let v = checked(dir.path(), &["--kit", "kit.toml", "--stock", stock, "--recess-depth", "8"]);
        assert_eq!(codes(&v).contains(&"cutter-reach"), found, "{stock}");
        assert_eq!(v["router"]["not_checked"], json!(["projection"]));
    }
}

/// Something in hand is not cut: a part is its own inlay, and a recess needs no recess. The template's thickness of 9 and
/// 0.5 in the spoil board leave 15.5 of the cutter's 25 for a through cut, and 16 for a recess.
#[test]
fn jobs_in_hand_check_the_tools_for_what_they_cut() {
    let kit = "[[bush]]\noutside = 20\nbore = 16\n\n[[cutter]]\ndiameter = 6\nlength = 25\nshank = 8\n";
    let dir = yard(r#"<circle cx="100" cy="100" r="30"/>"#, &[("kit.toml", kit)]);
    for (start, stock, recess, found) in [
        ("recess", "15.5", "17", false),
        ("recess", "15.6", "8", true),
        ("part", "17", "16", false),
        ("part", "9", "16.1", true),
        ("template", "15.5", "16", false),
        ("template", "15.6", "8", true),
        ("template", "9", "16.1", true),
    ] {
        let settings = ["--kit", "kit.toml", "--from", start, "--stock", stock, "--recess-depth", recess];
        assert_eq!(codes(&checked(dir.path(), &settings)).contains(&"cutter-reach"), found, "{settings:?}");
    }
    for start in ["part", "template", "recess"] {
        let found =
            |pass| codes(&checked(dir.path(), &["--from", start, "--pass-depth", pass])).contains(&"pass-depth");
        assert_eq!([found("3"), found("3.1")], [false, true], "{start}");
    }
}

#[test]
fn a_pass_set_too_deep_is_reported_and_a_job_file_may_set_it() {
    let job = "drawing = \"yard.svg\"\npass-depth = 4\nrecess-depth = 8\nstock = 9\n";
    let dir = yard(r#"<circle cx="100" cy="100" r="30"/>"#, &[("yard.toml", job)]);
    let o = letin(dir.path(), &["check", "--json", "yard.toml"]);
    let v: Value = serde_json::from_slice(&o.stdout).unwrap();
    let f = v["findings"].as_array().unwrap().iter().find(|f| f["code"] == "pass-depth").unwrap();
    assert_eq!((&f["measured_mm"], &f["needed_mm"], &f["short_mm"]), (&json!(4), &json!(3), &json!(1)));
    assert_eq!(f["ways"], json!([{"setting": "pass-depth", "at_most_mm": 3}]));
    assert_eq!(key(&v, "passes"), [json!(2), json!(3)]);
    assert_eq!(v["router"]["pass_depth_mm"], 4);
}

/// The bush 12 of this kit projects 10 mm, too far for a template of 9. It clears nothing; the line's own bushes do.
#[test]
fn a_bush_that_rides_on_the_work_clears_nothing() {
    let row = |outside: u32, projection: &str| format!("[[bush]]\noutside = {outside}\nprojection = {projection}\n\n");
    let kit =
        |twelve: &str| [row(12, twelve), row(20, "8"), row(32, "8"), "[[cutter]]\ndiameter = 6\n".to_owned()].concat();
    for (twelve, wanted) in [("8", [20, 12, 32].map(Value::from).to_vec()), ("10", vec![])] {
        let dir = yard(ROUND, &[("kit.toml", &kit(twelve))]);
        let v = checked(dir.path(), &[&PIECE[..], &["--kit", "kit.toml"]].concat());
        let bushes = key(&v, "bush_mm");
        assert!(!codes(&v).contains(&"bush-depth"));
        match wanted.is_empty() {
            true => assert!(!bushes.contains(&json!(12)), "{bushes:?}"),
            false => assert_eq!(bushes[..3], wanted[..]),
        }
    }
}

/// Stock of 24 with a plug of 14 has a shoulder of 10. In a board of 20 the plug projects 4 from the back. With a rebate
/// of 8 the shoulder stands 2 proud, and the plug projects 2.
#[test]
fn the_report_shows_how_the_piece_will_lie() {
    let dir = yard(ROUND, &[]);
    let said = |more: &[&str]| {
        let settings = ["--board", "20", "--stock", "24", "--plug-height", "14"];
        let args = [&["make", "yard.svg", "--dry-run"][..], &PIECE, &settings, more].concat();
        let text = String::from_utf8(letin(dir.path(), &args).stdout).unwrap();
        text.split_whitespace().collect::<Vec<_>>().join(" ")
    };
    let flush = said(&[]);
    assert!(flush.contains("It lies flush with the board's face."), "{flush}");
    assert!(flush.contains("Its plug stands 4 mm out of the back"), "{flush}");
    let proud = said(&["--recess-depth", "8"]);
    assert!(proud.contains("It stands 2 mm above the board: plane it flush."), "{proud}");
    assert!(proud.contains("Its plug stands 2 mm out of the back"), "{proud}");
}

/// At least 3 mm must remain. The shoulder keeps 24 − 22 = 2, the board under it 12 − 10 = 2.
/// Source: common practice, no source.
#[test]
fn what_is_left_must_not_be_thin() {
    let dir = yard(ROUND, &[]);
    for (height, board, thin) in [("22", "24", 1), ("14", "12", 1), ("14", "20", 0)] {
        let v =
            checked(dir.path(), &[&PIECE[..], &["--stock", "24", "--plug-height", height, "--board", board]].concat());
        let found: Vec<&Value> = v["findings"].as_array().unwrap().iter().filter(|f| f["code"] == "ledge").collect();
        assert_eq!(found.len(), thin, "{height} {board}: {v:#}");
        assert!(found.iter().all(|f| f["measured_mm"] == 2), "{found:#?}");
    }
}

/// Pairs of whole millimetres match without a gap. The plug should have 0.25, which tape can give.
#[test]
fn a_plug_as_tight_as_its_shoulder_is_reported() {
    let dir = yard(ROUND, &[]);
    let v = checked(dir.path(), &[&PIECE[..], &["--pair", "auto", "--kit", "metric"]].concat());
    let fit = v["findings"].as_array().unwrap().iter().find(|f| f["code"] == "fit").unwrap();
    assert_eq!((&fit["measured_mm"], &fit["needed_mm"], &fit["short_mm"]), (&json!(0), &json!(0.25), &json!(0.25)));
    assert!(!codes(&checked(dir.path(), &PIECE)).contains(&"fit"));
}
