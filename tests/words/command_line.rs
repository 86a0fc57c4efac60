//! The promises to those who run the program: exit statuses, messages, files.
//!
//! The sections: a drawing that can be made, drawings that cannot, unreadable files, contradictory settings, foreign
//! folders and files, long runs. Every test runs the built program.

use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use tempfile::TempDir;

/// A bow-tie key, 70 × 36, 16 across the waist.
const KEY: &str = "M0 0 L35 10 L70 0 L70 36 L35 26 L0 36 Z";

struct Yard {
    dir: TempDir,
}

impl Yard {
    fn new() -> Yard {
        Yard { dir: TempDir::new().unwrap() }
    }

    fn path(&self, name: &str) -> PathBuf {
        self.dir.path().join(name)
    }

    fn file(&self, name: &str, contents: impl AsRef<[u8]>) -> PathBuf {
        let p = self.path(name);
        fs::write(&p, contents).unwrap();
        p
    }

    fn svg(&self, body: &str) -> PathBuf {
        self.file("key.svg", svg(body))
    }
}

fn svg(body: &str) -> String {
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">{body}</svg>"#
    )
}

fn path(d: &str) -> String {
    format!(r#"<path id="key" d="{d}"/>"#)
}

fn letin(args: &[&str], drawing: &Path) -> Output {
    let mut c = Command::new(env!("CARGO_BIN_EXE_letin"));
    c.args(args).arg(drawing).output().unwrap()
}

fn status(o: &Output) -> i32 {
    o.status.code().expect("not killed")
}

fn err(o: &Output) -> String {
    // The terminal wraps long lines behind a bar: join them again, so that phrases can be searched.
    let text = String::from_utf8_lossy(&o.stderr).replace(['│', '|', '╰', '├', '─', '▶'], " ");
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

fn json(o: &Output) -> Value {
    serde_json::from_slice(&o.stdout).unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&o.stdout)))
}

fn codes(v: &Value) -> Vec<&str> {
    v["findings"].as_array().unwrap().iter().map(|f| f["code"].as_str().unwrap()).collect()
}

/// Asserts status 2 with a message that contains `what`, and empty standard output.
fn refused(o: &Output, what: &str) {
    assert_eq!(status(o), 2, "{}", err(o));
    assert!(err(o).contains(what), "no “{what}” in: {}", err(o));
    assert!(o.stdout.is_empty());
}

/// Asserts a verdict with the error `code`. Only the marks and the document are written.
fn found(yard: &Yard, drawing: &Path, args: &[&str], code: &str) -> Value {
    let o = letin(&[&["make", "--json"], args].concat(), drawing);
    assert_eq!(status(&o), 1, "{}", err(&o));
    let v = json(&o);
    let f = v["findings"].as_array().unwrap().iter().find(|f| f["code"] == code).unwrap_or_else(|| panic!("{v:#}"));
    assert_eq!(f["severity"], "error");
    assert!(!f["help"].as_str().unwrap().is_empty());
    assert_eq!(v["files"], serde_json::json!(["key-marks.svg"]));
    assert_eq!(names(&yard.path("key-letin")), ["key-marks.svg", "key.json"]);
    v
}

fn names(dir: &Path) -> Vec<String> {
    let mut all: Vec<String> =
        fs::read_dir(dir).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    all.sort();
    all
}

// 1. A drawing that can be made.

#[test]
fn a_drawing_alone_becomes_both_faces() {
    let yard = Yard::new();
    let o = letin(&[], &yard.svg(&path(KEY)));
    assert_eq!(status(&o), 0, "{}", err(&o));
    let said = String::from_utf8(o.stdout).unwrap();
    let mut lines = said.lines();
    assert!(lines.next().unwrap().starts_with("Fits: gap 0.05 mm per side."), "the verdict comes first: {said}");
    assert!(lines.next().unwrap().contains("70 × 36 mm"), "then the size: {said}");
    assert!(said.contains("cut inside the line"));
    let files = names(&yard.path("key-letin"));
    for wanted in ["key-face-1.dxf", "key-face-1.svg", "key-face-2.dxf", "key-face-2.svg", "key-marks.svg", "key.json"]
    {
        assert!(files.contains(&wanted.to_owned()), "{files:?}");
    }
}

/// The offsets are (20 − 6)/2 and (20 + 6)/2 − 0.05. A shape with flat ends grows in length by twice the offset.
#[test]
fn the_document_holds_the_sums() {
    let yard = Yard::new();
    let o = letin(&["make", "--json"], &yard.svg(&path(KEY)));
    let v = json(&o);
    assert_eq!(fs::read(yard.path("key-letin/key.json")).unwrap(), o.stdout, "the file equals the printed document");
    let near = |v: &Value, wanted: f64| (v.as_f64().unwrap() - wanted).abs() < 2e-3;
    assert!(near(&v["tools"]["recess"]["offset_mm"], 7.0) && near(&v["tools"]["inlay"]["offset_mm"], 12.95));
    let (one, two) = (&v["openings"][0], &v["openings"][1]);
    assert!(near(&one["size_mm"][0], 70.0 + 2.0 * 7.0), "{one}");
    assert!(near(&two["size_mm"][0], 70.0 + 2.0 * 12.95), "{two}");
    assert_eq!(one["place"], two["place"], "one place for both faces");
    assert_eq!((one["face"].as_u64(), two["face"].as_u64()), (Some(1), Some(2)));
    assert!(near(&v["proof"]["gap_min_mm"], 0.05) && near(&v["proof"]["gap_max_mm"], 0.05), "{}", v["proof"]);
    let corners = ["inside-corner"; 4].into_iter().chain(["outside-corner"; 2]);
    assert_eq!(codes(&v), corners.chain(["not-measured"]).collect::<Vec<_>>());
}

/// Bow-tie with corners (±35, ±18) and waist (0, ±8), bush 20, cutter 6, no gap, eased without margins. Both pieces have
/// 1808.063592 mm². Closed forms: at each of the four corners of 74.054604° the cutter of radius 3 leaves
/// r²(cot(θ/2) − (π − θ)/2) = 3.610638; at each of the two waists of 211.890792° the offset 13 fills 1.253072.
/// Source: none outside; the check does the sums anew.
#[test]
fn eased_without_margins_both_pieces_are_the_same() {
    let yard = Yard::new();
    let args = ["make", "--json", "--gap", "0", "--ease-inside", "0", "--ease-outside", "0"];
    let v = json(&letin(&args, &yard.svg(&path(KEY))));
    let piece = &v["proof"]["pieces"][0];
    for key in ["recess_area_mm2", "inlay_area_mm2"] {
        assert!((piece[key].as_f64().unwrap() - 1_808.063_592).abs() < 0.01, "{piece}");
    }
}

#[test]
fn check_writes_nothing() {
    let yard = Yard::new();
    let o = letin(&["check"], &yard.svg(&path(KEY)));
    assert_eq!(status(&o), 1, "its sharp corners are warnings: {}", err(&o));
    assert_eq!(status(&letin(&["check", "--fail-on", "error"], &yard.path("key.svg"))), 0);
    assert_eq!(names(yard.dir.path()), ["key.svg"]);
    let o = letin(&["make", "--dry-run"], &yard.path("key.svg"));
    assert_eq!(status(&o), 0);
    assert!(err(&o).contains("key-face-1.dxf"));
    assert_eq!(names(yard.dir.path()), ["key.svg"]);
}

#[test]
fn a_second_run_gives_the_same_bytes() {
    let yard = Yard::new();
    let key = yard.svg(&path(KEY));
    let all = |dir: &Path| names(dir).iter().map(|n| fs::read(dir.join(n)).unwrap()).collect::<Vec<_>>();
    assert_eq!(status(&letin(&[], &key)), 0);
    let first = all(&yard.path("key-letin"));
    assert_eq!(status(&letin(&[], &key)), 0);
    assert_eq!(first, all(&yard.path("key-letin")));
}

#[test]
fn only_and_skip_choose_by_id() {
    let yard = Yard::new();
    let two =
        r#"<rect id="a" x="10" y="10" width="40" height="40"/><rect id="b" x="30" y="30" width="60" height="40"/>"#;
    let key = yard.svg(two);
    for (args, wide) in [(["--only", "a"], 40.0), (["--skip", "a"], 60.0)] {
        let o = letin(&[&["check", "--json", "--fail-on", "error"], &args[..]].concat(), &key);
        assert_eq!(status(&o), 0, "{}", err(&o));
        let v = json(&o);
        let b = &v["outlines"][0]["bounds_mm"];
        assert!((b[2].as_f64().unwrap() - b[0].as_f64().unwrap() - wide).abs() < 1e-6, "{v:#}");
    }
    refused(&letin(&["check", "--only", "hatch"], &key), "a, b");
}

// 2. Drawings that cannot be made as they are.

#[test]
fn an_open_line_is_reported_with_its_gap() {
    let yard = Yard::new();
    let open = r#"<path id="key" fill="none" stroke="black" d="M0 0 L70 0 L70 36 L0 36 L0 0.6"/>"#;
    let v = found(&yard, &yard.svg(open), &[], "open-line");
    let f = v["findings"].as_array().unwrap().iter().find(|f| f["code"] == "open-line").unwrap();
    assert!((f["measured_mm"].as_f64().unwrap() - 0.6).abs() < 1e-6, "{f}");
    assert!(f["help"].as_str().unwrap().contains("--join"), "{f}");
    // The proposed remedy works.
    let o = letin(&["make", "--join", "0.6", "--json"], &yard.path("key.svg"));
    assert_eq!(status(&o), 0, "{}", err(&o));
    assert!(codes(&json(&o)).contains(&"joined-gap"));
}

#[test]
fn a_crossing_line_is_reported_and_can_be_accepted() {
    let yard = Yard::new();
    // A bow that crosses itself: two triangles that meet at (35, 40).
    let bow = r#"<path id="key" fill="none" stroke="black" d="M0 0 L70 80 L70 0 L0 80 Z"/>"#;
    let v = found(&yard, &yard.svg(bow), &[], "crossing");
    let at = &v["findings"][0]["at_mm"];
    // The page is 200 high, and y counts from its bottom.
    assert!((at[0].as_f64().unwrap() - 35.0).abs() < 1e-6 && (at[1].as_f64().unwrap() - 160.0).abs() < 1e-6, "{at}");
    let two =
        r#"<rect id="a" x="10" y="10" width="60" height="40"/><rect id="b" x="40" y="30" width="60" height="40"/>"#;
    let v = found(&yard, &yard.svg(two), &[], "crossing");
    assert!(v["findings"][0]["message"].as_str().unwrap().contains('a'));
    let o = letin(&["make", "--accept", "crossing", "--json"], &yard.path("key.svg"));
    assert_eq!(status(&o), 0, "{}", err(&o));
    let v = json(&o);
    let f = &v["findings"][0];
    assert_eq!(
        (f["code"].as_str(), f["severity"].as_str(), f["accepted"].as_bool()),
        (Some("crossing"), Some("error"), Some(true))
    );
    // Twice 60 · 40, less the common 30 · 20.
    assert!((v["outlines"][0]["area_mm2"].as_f64().unwrap() - 4200.0).abs() < 1e-3, "{v:#}");
}

#[test]
fn too_narrow_is_a_neck() {
    let yard = Yard::new();
    found(&yard, &yard.svg(r#"<rect x="10" y="10" width="80" height="4"/>"#), &[], "neck");
    // Two rooms joined by a passage 4 wide; the rooms lie farther apart than any bush needs.
    let rooms = path("M0 0 H40 V18 H80 V0 H120 V40 H80 V22 H40 V40 H0 Z");
    found(&yard, &yard.svg(&rooms), &[], "neck");
    let o = letin(&["check", "--json", "--corners", "square"], &yard.path("key.svg"));
    assert!(codes(&json(&o)).contains(&"neck"));
    // A cutter of 3 passes, with a matching bush.
    let o = letin(&["make", "--cutter", "3", "--bush", "10"], &yard.path("key.svg"));
    assert_eq!(status(&o), 0, "{}", String::from_utf8_lossy(&o.stdout));
}

/// Two discs of radius 40, 27 apart, on a bar. A disc of radius 13.95 closes the eased gap from above and from below. The
/// two closing discs overlap in the middle and leave two points that no cutter of radius 3 reaches.
#[test]
fn horns_that_the_recess_lacks_are_an_error() {
    let yard = Yard::new();
    let d = "M10 80 a40 40 0 1 1 80 0 a40 40 0 1 1 -80 0 Z M117 80 a40 40 0 1 1 80 0 a40 40 0 1 1 -80 0 Z \
             M20 110 H187 V150 H20 Z";
    let v = found(&yard, &yard.svg(&path(d)), &[], "fit");
    let f = v["findings"].as_array().unwrap().iter().find(|f| f["code"] == "fit").unwrap();
    assert!(f["short_mm"].as_f64().unwrap() > 0.05 && !f["at_mm"].is_null(), "{f}");
    // A smaller bush for the inlay keeps the gap open.
    let o = letin(&["make", "--inlay-bush", "12"], &yard.path("key.svg"));
    assert_eq!(status(&o), 0, "{}", String::from_utf8_lossy(&o.stdout));
}

#[test]
fn a_hole_is_an_island_and_a_shape_inside_is_asked_about() {
    let yard = Yard::new();
    let hole = r#"<path fill-rule="evenodd" d="M0 0 H90 V90 H0 Z M30 30 H60 V60 H30 Z"/>"#;
    found(&yard, &yard.svg(hole), &[], "island");
    let two = r#"<rect id="a" width="90" height="90"/><rect id="b" x="30" y="30" width="30" height="30"/>"#;
    let v = found(&yard, &yard.svg(two), &[], "nested");
    // Three ways out, each with its option.
    let f = v["findings"].as_array().unwrap().iter().find(|f| f["code"] == "nested").unwrap();
    let help = f["help"].as_str().unwrap();
    assert!(
        ["--accept island", "--skip \"a\"", "--plug \"b\" --shoulder \"a\""].iter().all(|o| help.contains(o)),
        "{help}"
    );
    let o = letin(&["make", "--accept", "nested"], &yard.path("key.svg"));
    refused(&o, "cannot be accepted");
}

/// Specks beside, inside and within an outline are left out, each with a note. A drawing of specks alone has an odd size.
#[test]
fn closed_specks_are_left_out() {
    let yard = Yard::new();
    let dust = r#"<rect x="200" y="5" width="0.05" height="0.05"/><circle cx="40" cy="40" r="0.03"/>"#;
    let holed = r#"<path fill-rule="evenodd" d="M0 0 H90 V90 H0 Z M30 30 h0.08 v0.08 h-0.08 Z"/>"#;
    let v = json(&letin(&["check", "--json"], &yard.svg(&format!("{holed}{dust}"))));
    let specks = v["findings"].as_array().unwrap().iter().filter(|f| f["code"] == "speck").count();
    assert_eq!((specks, v["outlines"].as_array().unwrap().len()), (3, 1), "{v:#}");
    assert_eq!(v["outlines"][0]["holes"], 0);
    assert!(!codes(&v).contains(&"nested") && !codes(&v).contains(&"island"), "{v:#}");
    let v = json(&letin(&["check", "--json"], &yard.svg(dust)));
    assert!(codes(&v).contains(&"odd-size") && !codes(&v).contains(&"speck"), "{v:#}");
}

/// Whatever lies inside, the whole outline is made. The error stays, marked as accepted, and lost shapes are named.
#[test]
fn an_island_that_is_accepted_is_let_in_whole() {
    let yard = Yard::new();
    let hole = r#"<path fill-rule="evenodd" d="M0 0 H90 V90 H0 Z M30 30 H60 V60 H30 Z"/>"#;
    let two = r#"<rect id="a" width="90" height="90"/><rect id="b" x="30" y="30" width="30" height="30"/>"#;
    let three = format!(r#"{two}<rect id="c" x="35" y="35" width="20" height="20"/>"#);
    for (drawing, left) in [(hole, 0), (two, 0), (&*three, 1)] {
        let o = letin(&["make", "--json", "--accept", "island"], &yard.svg(drawing));
        assert_eq!(status(&o), 0, "{}", err(&o));
        let v = json(&o);
        assert_eq!(v["outlines"].as_array().unwrap().len(), 1, "{v:#}");
        assert!((v["outlines"][0]["area_mm2"].as_f64().unwrap() - 8100.0).abs() < 1e-6, "{v:#}");
        let all = v["findings"].as_array().unwrap();
        let of = |code: &str| all.iter().filter(|f| f["code"] == code).collect::<Vec<_>>();
        let islands = of("island");
        assert_eq!(islands.len(), 1, "{v:#}");
        assert_eq!((&islands[0]["severity"], &islands[0]["accepted"]), (&Value::from("error"), &Value::from(true)));
        assert!((islands[0]["area_mm2"].as_f64().unwrap() - 900.0).abs() < 1e-6);
        assert_eq!(of("left-out").len(), left, "{v:#}");
        assert!(!v["files"].as_array().unwrap().is_empty());
    }
}

#[test]
fn touching_outlines_are_an_error() {
    let yard = Yard::new();
    let share = r#"<rect id="a" width="40" height="40"/><rect id="b" x="40" width="40" height="40"/>"#;
    found(&yard, &yard.svg(share), &[], "touching");
}

/// A block whose tab touches it only at two corners. As one path, the two are outlines that touch.
#[test]
fn parts_of_one_shape_that_touch_by_their_corners_are_an_error() {
    let yard = Yard::new();
    let tab = r#"<path d="M20 0 H120 V100 H20 V60 H0 V40 H20 Z M20 40 V60 H50 V40 Z" fill-rule="evenodd"/>"#;
    let v = found(&yard, &yard.svg(tab), &[], "touching");
    assert!(!codes(&v).contains(&"fit"), "{v:#}");
}

#[test]
fn a_panel_that_does_not_do_is_found() {
    let yard = Yard::new();
    for args in [&["--panel", "100x50"][..], &["--at", "10x10"]] {
        found(&yard, &yard.svg(&path(KEY)), args, "off-panel");
    }
}

#[test]
fn faces_of_an_earlier_run_are_removed_when_an_error_comes() {
    let yard = Yard::new();
    assert_eq!(status(&letin(&[], &yard.svg(&path(KEY)))), 0);
    assert!(names(&yard.path("key-letin")).len() > 1);
    found(&yard, &yard.svg(r#"<rect x="10" y="10" width="80" height="4"/>"#), &[], "neck");
}

#[test]
fn a_guessed_unit_and_an_odd_size_are_reported() {
    let yard = Yard::new();
    let bare = r#"<svg xmlns="http://www.w3.org/2000/svg"><rect width="12000" height="9000"/></svg>"#;
    let key = yard.file("key.svg", bare);
    let o = letin(&["check", "--json"], &key);
    assert_eq!(status(&o), 1, "a warning fails a check");
    let v = json(&o);
    assert!(codes(&v).contains(&"unit-guess") && codes(&v).contains(&"odd-size"), "{v:#}");
    assert_eq!(status(&letin(&["check", "--fail-on", "error"], &key)), 0);
    assert_eq!(status(&letin(&["check", "--fail-on", "never"], &key)), 0);
    let v = json(&letin(&["check", "--json", "--unit", "mm"], &key));
    assert!(!codes(&v).contains(&"unit-guess"));
}

// 3. Files that cannot be read.

#[test]
fn a_file_that_is_not_there() {
    let yard = Yard::new();
    refused(&letin(&[], &yard.path("no-such.svg")), "there is no file");
    refused(&letin(&["make"], yard.dir.path()), "it is a folder");
}

#[test]
fn files_that_are_no_drawing() {
    let yard = Yard::new();
    for (name, contents) in [
        ("notes.txt", b"oak, 20 thick, two off\n".as_slice()),
        ("page.svg", b"<html><body/></html>"),
        ("picture.dxf", b"\x89PNG\r\n\x1a\n\0\0\0\rIHDR"),
        ("empty.svg", b""),
        ("empty.dxf", b"   \n"),
        ("cut.svg", &svg(&path(KEY)).as_bytes()[..120]),
    ] {
        let file = yard.file(name, contents);
        let o = letin(&["make"], &file);
        assert_eq!(status(&o), 2, "{name}: {}", err(&o));
        assert!(err(&o).contains(name), "{name}: {}", err(&o));
        assert!(!yard.path(&format!("{}-letin", name.split('.').next().unwrap())).exists());
    }
}

#[test]
fn a_truncated_dxf_is_refused_or_reported() {
    let yard = Yard::new();
    let whole = "0\nSECTION\n2\nENTITIES\n0\nCIRCLE\n8\n0\n10\n50.0\n20\n50.0\n40\n30.0\n0\nENDSEC\n0\nEOF\n";
    let o = letin(&["make", "--unit", "mm"], &yard.file("key.dxf", whole));
    assert_eq!(status(&o), 0, "{}", err(&o));
    // Cut off after the circle, the rest is made, with a warning. Cut off within its centre, nothing can be made.
    let o = letin(&["check", "--unit", "mm"], &yard.file("cut.dxf", &whole[..60]));
    let said = String::from_utf8_lossy(&o.stdout);
    assert_eq!(status(&o), 1, "{said}");
    assert!(
        said.split_whitespace().collect::<Vec<_>>().join(" ").contains("ends in the ENTITIES section, after 1 record"),
        "{said}"
    );
    let o = letin(&["make", "--unit", "mm"], &yard.file("cut.dxf", &whole[..40]));
    assert_eq!(status(&o), 2, "{}", String::from_utf8_lossy(&o.stdout));
    assert!(!yard.path("cut-letin/cut-face-1.dxf").exists());
}

#[test]
fn numbers_that_are_none_and_sizes_of_nothing() {
    let yard = Yard::new();
    for body in [
        path("M0 0 L NaN 10 L 70 36 Z"),
        path("M0 0 H0 Z"),
        r#"<rect width="0" height="30"/>"#.to_owned(),
        String::new(),
    ] {
        let o = letin(&["make"], &yard.svg(&body));
        assert_ne!(status(&o), 0, "{body}: {}", String::from_utf8_lossy(&o.stdout));
        assert_ne!(status(&o), 101, "{body}");
        assert!(!err(&o).is_empty() || !o.stdout.is_empty());
        assert!(!yard.path("key-letin/key-face-1.dxf").exists(), "{body}");
    }
}

// 4. Settings that make no sense.

#[test]
fn settings_are_refused_by_name() {
    let yard = Yard::new();
    let key = yard.svg(&path(KEY));
    for (args, says) in [
        (&["make", "--bush", "6"][..], "--bush 6 mm is not larger than --cutter 6 mm"),
        (&["make", "--bush", "-20"], "--bush"),
        (&["make", "--cutter", "0"], "--cutter"),
        (&["make", "--gap", "-0.1"], "--gap"),
        (&["make", "--bush", "1/4"], "1/4in"),
        (&["make", "--corners", "keep", "--ease-inside", "1"], "contradict"),
        (&["make", "--unit", "mm", "--dpi", "90"], "contradict"),
        (&["make", "--turn", "none", "--setup", "one"], "contradict"),
        (&["make", "--panel", "500x300", "--bed", "400x400"], "contradict"),
        (&["make", "--at", "500x100", "--panel", "400x400"], "contradict"),
        (&["make", "--flatten", "5"], "--flatten"),
        (&["check", "--flatten", "0.01"], "--flatten"),
        (&["check", "--force"], "--force"),
        (&["make", "--turn", "over"], "--turn"),
    ] {
        refused(&letin(args, &key), says);
        assert_eq!(names(yard.dir.path()), ["key.svg"], "{args:?}");
    }
}

#[test]
fn what_says_something_of_svg_only_is_refused_for_dxf() {
    let yard = Yard::new();
    let key = yard.file("key.dxf", include_bytes!("../../samples/bow-tie-key/key.dxf"));
    for args in [&["--dpi", "72"], &["--stroke", "outline"], &["--text", "outline"]] {
        let o = letin(&[&["make"], &args[..]].concat(), &key);
        refused(&o, &format!("{} applies to SVG drawings only", args[0]));
        assert_eq!(names(yard.dir.path()), ["key.dxf"], "{args:?}");
    }
}

#[test]
fn with_json_there_is_an_error_object() {
    let yard = Yard::new();
    let key = yard.svg(&path(KEY));
    for (args, file, code) in [
        (&["make", "--json"][..], yard.path("gone.svg"), "not-found"),
        (&["make", "--json", "--bush", "6"], key.clone(), "usage"),
        (&["make", "--json", "--no-such-option"], key.clone(), "usage"),
        (&["make", "--json", "--turn", "none", "--setup", "one"], key.clone(), "usage"),
        (&["make", "--json"], yard.file("text.svg", "oak"), "not-a-drawing"),
    ] {
        let o = letin(args, &file);
        assert_eq!(status(&o), 2);
        let v = json(&o);
        assert_eq!((v["schema"].as_u64(), v["error"]["code"].as_str()), (Some(1), Some(code)), "{v}");
        assert!(!v["error"]["message"].as_str().unwrap().is_empty());
        assert!(v["error"].get("help").is_some());
    }
}

#[test]
fn help_and_version_are_no_failure() {
    for args in [["--help"], ["--version"], ["help"]] {
        let o = Command::new(env!("CARGO_BIN_EXE_letin")).args(args).output().unwrap();
        assert_eq!(status(&o), 0, "{args:?}");
        assert!(!o.stdout.is_empty());
    }
    let o = Command::new(env!("CARGO_BIN_EXE_letin")).output().unwrap();
    assert_eq!(status(&o), 2);
}

// 5. Mistyped input, and both spellings.

/// Wrong usage in words and as JSON: status 2, and both messages hold `says`. Returns the help.
fn usage(yard: &Yard, args: &[&str], says: &str) -> String {
    let run = |more: &[&str]| {
        let all = args.iter().chain(more);
        Command::new(env!("CARGO_BIN_EXE_letin")).args(all).current_dir(yard.dir.path()).output().unwrap()
    };
    refused(&run(&[]), says);
    let o = run(&["--json"]);
    let v = json(&o);
    assert_eq!((status(&o), v["error"]["code"].as_str()), (2, Some("usage")), "{v}");
    // The command that the message offers has --json as well.
    let message = v["error"]["message"].as_str().unwrap().replace(" --json", "");
    assert!(message.contains(says), "no “{says}” in {v}");
    v["error"]["help"].as_str().unwrap().to_owned()
}

#[test]
fn a_mistyped_command_is_answered_with_the_right_one() {
    let yard = Yard::new();
    yard.svg(&path(KEY));
    for (args, says) in [
        (&["mak", "key.svg"][..], "There is no command mak. Did you mean `letin make key.svg`?"),
        (&["chekc", "key.svg"], "There is no command chekc. Did you mean `letin check key.svg`?"),
        (&["list", "key.svg"], "There is no command list. Did you mean `letin outlines key.svg`?"),
        (&["verify", "key-letin"], "There is no command verify. Did you mean `letin prove key-letin`?"),
        (&["butterfly"], "There is no command butterfly. Did you mean `letin keys`?"),
        (&["xyzzy", "key.svg"], "There is no command xyzzy."),
    ] {
        let help = usage(&yard, args, says);
        assert!(help.contains("The commands are make, check"), "{help}");
    }
    // An existing file is a drawing, whatever its name. A lone word unlike every command is a missing drawing.
    let drawing = yard.file("mak", svg(&path(KEY)));
    let o = letin(&["--fail-on", "never", "--dry-run"], &drawing);
    assert_eq!(status(&o), 0, "{}", err(&o));
    let o = Command::new(env!("CARGO_BIN_EXE_letin")).args(["mak", "--dry-run"]).current_dir(yard.dir.path()).output();
    assert_eq!(status(&o.unwrap()), 0);
    let o = Command::new(env!("CARGO_BIN_EXE_letin")).arg("xyzzy").current_dir(yard.dir.path()).output();
    refused(&o.unwrap(), "there is no file");
}

#[test]
fn an_unknown_option_is_answered_by_meaning_and_by_spelling() {
    let yard = Yard::new();
    yard.svg(&path(KEY));
    for (option, says) in [
        ("--depth", "Did you mean `--recess-depth`?"),
        ("--thickness", "Did you mean `--template-thickness`, `--board` or `--stock`?"),
        ("--bit-size", "Did you mean `--cutter`?"),
        ("--router-base", "Did you mean `--base`?"),
        ("--baseplate", "Did you mean `--base`?"),
        ("--tolerance", "Did you mean `--within` or `--gap`?"),
        ("--clearance", "Did you mean `--gap`?"),
        ("--offset", "Did you mean `letin offsets`?"),
        ("--flip", "Did you mean `--turn` or `--mirror`?"),
        ("--scale", "Did you mean `--width`?"),
        ("--units", "Did you mean `--unit`?"),
        ("--output", "Did you mean `--out`?"),
        ("-o", "Did you mean `--out`?"),
        ("--overwrite", "Did you mean `--force`?"),
        ("--fillet", "Did you mean `--ease-inside` or `--ease-outside`?"),
        ("--layer", "Did you mean `--only`?"),
        ("--bed-size", "Did you mean `--bed`?"),
        ("--inches", "Did you mean `--show in` or `--unit in`?"),
        ("--quiet", "Did you mean `--json`?"),
        ("--verbose", "Did you mean `--full`?"),
        ("--list", "Did you mean `letin outlines`?"),
        ("--help-all", "Did you mean `--help`?"),
        ("--insert-cutter", "Did you mean `--inlay-cutter`?"),
        ("--recess_depth", "Did you mean `--recess-depth`?"),
        ("--moisure-change", "Did you mean `--moisture-change`?"),
        ("-bush", "Did you mean `--bush`"),
    ] {
        let help = usage(&yard, &["make", "key.svg", option], &format!("There is no option {option}. {says}"));
        assert!(!help.is_empty());
        assert_eq!(names(yard.dir.path()), ["key.svg"], "{option}");
    }
    let help = usage(&yard, &["make", "key.svg", "--offset"], "letin offsets");
    assert!(help.contains("letin works out the offsets from --bush, --cutter and --gap."), "{help}");
    usage(&yard, &["check", "key.svg", "--out", "d"], "--out is an option of `letin make`, not of `letin check`.");
    usage(&yard, &["make", "key.svg", "--turn", "bottom-up"], "Did you mean `bottom-top`?");
    let help = usage(&yard, &["make", "--turn", "over", "key.svg"], "--turn has no value over.");
    assert!(help.contains("left-right, bottom-top, none"), "{help}");
    let help = usage(&yard, &["key.svg", "check"], "2 drawings are named");
    assert!(help.contains("letin check key.svg"), "{help}");
}

/// The layer has a space in its name, and the drawing has more names than the answer lists.
#[test]
fn an_unknown_name_is_answered_with_the_names_of_the_drawing() {
    let yard = Yard::new();
    let part = |i: i32| format!(r#"<rect id="part{i}" x="{}" y="10" width="10" height="10"/>"#, 12 * i);
    let parts: String = (0..14).map(part).collect();
    let layer = r#"<g inkscape:groupmode="layer" inkscape:label="Patch layer 2" xmlns:inkscape="http://www.inkscape.org/namespaces/inkscape">"#;
    let drawing = yard.svg(&format!("{layer}{parts}</g>"));
    let o = letin(&["check", "--only", "Patch layer"], &drawing);
    refused(&o, "nothing in the drawing is called Patch layer. Did you mean \"Patch layer 2\"?");
    let said = err(&o);
    assert!(said.contains("layers: \"Patch layer 2\"") && said.contains("numbers: 1 to 14"), "{said}");
    assert_eq!(said.matches("part").count() + 2, 10, "a layer, a colour and eight ids: {said}");
    assert!(said.contains("and 6 more names: `letin outlines DRAWING` lists them"), "{said}");
    let v = json(&letin(&["check", "--json", "--only", "Patch layer"], &drawing));
    assert_eq!(v["error"]["code"], "no-such-name");
    assert!(v["error"]["help"].as_str().unwrap().contains("numbers: 1 to 14"), "{v}");
}

/// British and American spellings give the same document.
#[test]
fn both_spellings_count() {
    let yard = Yard::new();
    let key = yard.svg(&format!(r#"<path fill="none" stroke="grey" d="{KEY}"/>"#));
    let of = |args: &[&str]| json(&letin(&[&["check", "--json"], args].concat(), &key));
    let british = ["--stroke", "centre", "--only", "grey", "--unit", "millimetres", "--show", "mm"];
    let american = ["--stroke", "center", "--only", "gray", "--unit", "millimeters", "--show", "millimeters"];
    let document = of(&british);
    assert_eq!(document, of(&american));
    assert_eq!(document["outlines"].as_array().unwrap().len(), 1, "{document}");
    let plain =
        ["--bush", "16", "--cutter", "6.35", "--inlay-bush", "20", "--inlay-cutter", "6", "--template-cutter", "3"];
    let us = ["--bushing", "16", "--bit", "6.35", "--inlay-bushing", "20", "--inlay-bit", "6", "--template-bit", "3"];
    assert_eq!(of(&plain), of(&us));
    for (name, symbol) in [
        ("inches", "in"),
        ("feet", "ft"),
        ("metres", "m"),
        ("meters", "m"),
        ("millimetres", "mm"),
        ("millimeters", "mm"),
    ] {
        let drawn = of(&["--unit", name])["drawing"].clone();
        assert!(drawn["size_mm"].is_array() && drawn == of(&["--unit", symbol])["drawing"], "{name}");
    }
    let page = |code: &str| letin(&["explain"], Path::new(code)).stdout;
    assert_eq!(page("center-line"), page("centre-line"));
    assert!(!page("center-line").is_empty());
}

// 6. Foreign folders and files.

#[test]
fn a_folder_that_cannot_be_written() {
    let yard = Yard::new();
    let key = yard.svg(&path(KEY));
    // A file in the way stops even a user who may write everywhere.
    let blocked = yard.file("plank", "oak").join("out");
    let o = letin(&["make", "--out", blocked.to_str().unwrap()], &key);
    assert_eq!(status(&o), 2, "{}", err(&o));
    assert!(err(&o).contains("plank"), "{}", err(&o));
    refused(&letin(&["make", "--out", yard.path("plank").to_str().unwrap()], &key), "not a folder");
}

#[test]
fn files_of_others_are_not_replaced() {
    let yard = Yard::new();
    let key = yard.svg(&path(KEY));
    fs::create_dir(yard.path("key-letin")).unwrap();
    let theirs = yard.file("key-letin/key-face-1.dxf", "theirs");
    refused(&letin(&["make"], &key), "--force");
    assert_eq!(fs::read(&theirs).unwrap(), b"theirs");
    assert_eq!(names(&yard.path("key-letin")), ["key-face-1.dxf"]);
    let o = letin(&["make", "--json"], &key);
    assert_eq!(json(&o)["error"]["code"], "would-overwrite");
    assert_eq!(status(&letin(&["make", "--force"], &key)), 0);
    assert_ne!(fs::read(&theirs).unwrap(), b"theirs");
}

// 7. Long runs.

/// A drawing that takes seconds: a disc with a rough edge.
fn rough_disc(yard: &Yard) -> PathBuf {
    let mut seed = 1u32;
    let mut d = String::from("M");
    for k in 0..20_000 {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        let r = 80.0 + f64::from(seed >> 16) / 65_536.0 * 0.04;
        let a = std::f64::consts::TAU * f64::from(k) / 20_000.0;
        d.push_str(&format!("{:.4} {:.4} ", 90.0 + r * a.cos(), 90.0 + r * a.sin()));
    }
    yard.svg(&path(&format!("{d}Z")))
}

/// Standard error reports each stage. An interrupt leaves the folder as it was.
#[cfg(unix)]
#[test]
fn a_long_run_says_where_it_is_and_can_be_broken_off() {
    use std::io::{BufRead, BufReader};
    use std::process::{Command, Stdio};
    let yard = Yard::new();
    let drawing = rough_disc(&yard);
    let mut run = Command::new(env!("CARGO_BIN_EXE_letin"))
        .args(["make", "--out"])
        .arg(yard.path("out"))
        .arg(&drawing)
        .stdout(Stdio::null())
        .stderr(Stdio::piped())
        .spawn()
        .unwrap();
    let mut said = BufReader::new(run.stderr.take().unwrap());
    let mut first = String::new();
    said.read_line(&mut first).unwrap();
    assert!(first.starts_with("letin: ") && first.ends_with(" s)\n"), "{first}");
    let stop = Command::new("kill").args(["-INT", &run.id().to_string()]).status().unwrap();
    assert!(stop.success());
    let rest: String = said.lines().map(|l| l.unwrap() + "\n").collect();
    assert_eq!(run.wait().unwrap().code(), Some(2), "{rest}");
    assert!(rest.contains("stopped before it was done"), "{rest}");
    assert!(!yard.path("out").exists() || names(&yard.path("out")).is_empty());
}

/// A double-headed arrow 5 mm across. Its closing has arcs of almost zero radius. A stretch along them must end, although
/// halving hardly shortens it.
#[test]
fn arcs_of_no_radius_come_to_an_end() {
    let y = Yard::new();
    let arrow = r#"<path d="M21 16V9H23.5L20 5.5L16.5 9H19V16H16.5L20 19.5L23.5 16Z"/>"#;
    let drawing = y.file(
        "arrow.svg",
        format!(
            r#"<svg xmlns="http://www.w3.org/2000/svg" width="40mm" height="40mm" viewBox="0 0 24 24">{arrow}</svg>"#
        ),
    );
    let o = letin(&["check", "--json", "--bush", "20", "--cutter", "6"], &drawing);
    assert_eq!(status(&o), 1, "{}", err(&o));
    assert!(codes(&json(&o)).contains(&"neck"));
}
