//! Jobs that start from something in hand: a part, a template, a recess. Every test runs the built program.
//!
//! Areas in closed form: a convex region grown by a has the area A + p·a + π·a² (Steiner's formula).
//! Source: Schneider, *Convex Bodies: The Brunn–Minkowski Theory*, 1993; from memory, unchecked.

use serde_json::{Value, json};
use std::f64::consts::PI;
use std::fs;
use std::path::Path;
use std::process::{Command, Output};
use tempfile::TempDir;

fn letin(dir: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_letin")).args(args).current_dir(dir).env("NO_COLOR", "1").output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8_lossy(bytes).into_owned()
}

fn yard(shape: &str) -> TempDir {
    let dir = tempfile::tempdir().unwrap();
    let head = r#"<svg xmlns="http://www.w3.org/2000/svg" width="200mm" height="200mm" viewBox="0 0 200 200">"#;
    fs::write(dir.path().join("hand.svg"), format!("{head}{shape}</svg>")).unwrap();
    dir
}

/// 80 × 50 with corner radius 12, larger than any cutter here.
const PATCH: &str = r#"<rect x="40" y="60" width="80" height="50" rx="12"/>"#;
/// The same rectangle with sharp corners.
const SHARP: &str = r#"<rect x="40" y="60" width="80" height="50"/>"#;

/// The recess keeps wood at a sharp corner of the part, from the corner to the cutter's arc. The cutter of radius r touches
/// lines g outside the part's edges, so the depth is (r − g)·√2 − r. By hand: 3.9·√2 − 4 = 1.515 and 2.9·√2 − 3 = 1.101.
/// Source: none outside; the check does the sums anew.
#[test]
fn wood_at_a_corner_is_measured_to_the_part() {
    let dir = yard(SHARP);
    for (bush, cutter, r) in [("24", "8", 4.0_f64), ("20", "6", 3.0)] {
        let args =
            ["check", "hand.svg", "--from", "part", "--bush", bush, "--cutter", cutter, "--gap", "0.1", "--json"];
        let o = letin(dir.path(), &args);
        let v: Value = serde_json::from_slice(&o.stdout).unwrap();
        let corners: Vec<&Value> =
            v["findings"].as_array().unwrap().iter().filter(|f| f["code"] == "inside-corner").collect();
        assert!(!corners.is_empty(), "{v}");
        for f in corners {
            let want = (r - 0.1) * 2.0_f64.sqrt() - r;
            let reported = format!("leaves {want:.2} mm of wood");
            assert!(f["message"].as_str().unwrap().contains(&reported), "{reported}: {f}");
        }
    }
}

/// Runs `make` and asserts status 0.
fn made(dir: &Path, args: &[&str]) -> Value {
    let o = letin(dir, &[&["make", "hand.svg", "--json", "--out", "out", "--force"][..], args].concat());
    assert_eq!(o.status.code(), Some(0), "{args:?}: {}{}", text(&o.stdout), text(&o.stderr));
    serde_json::from_slice(&o.stdout).unwrap()
}

fn proved(dir: &Path) -> (bool, String) {
    let o = letin(dir, &["prove", "out"]);
    (o.status.code() == Some(0), text(&o.stdout) + &text(&o.stderr))
}

#[track_caller]
fn near(v: &Value, want: f64, within: f64) {
    let found = v.as_f64().unwrap_or_else(|| panic!("{v} is no number"));
    assert!((found - want).abs() <= within, "{found} {want}");
}

/// Area and perimeter of the patch grown by `a`.
fn grown(a: f64) -> (f64, f64) {
    let (w, h, r) = (80.0, 50.0, 12.0);
    let area = w * h - (4.0 - PI) * r * r;
    let perimeter = 2.0 * (w + h) - (8.0 - 2.0 * PI) * r;
    (area + perimeter * a + PI * a * a, perimeter + 2.0 * PI * a)
}

#[track_caller]
fn opening(v: &Value, duty: &str, offset: f64) {
    let all = v["openings"].as_array().unwrap();
    assert_eq!(all.len(), 1, "{v:#}");
    let (area, perimeter) = grown(offset);
    assert_eq!((&all[0]["duty"], &all[0]["face"]), (&duty.into(), &1.into()));
    near(&all[0]["area_mm2"], area, 1e-3);
    near(&all[0]["perimeter_mm"], perimeter, 1e-3);
}

/// The product of each later step, with its offset from the piece in hand.
fn steps(v: &Value) -> Vec<(String, f64)> {
    let all = v["start"]["steps"].as_array().unwrap();
    all.iter().map(|s| (s["makes"].as_str().unwrap().to_owned(), s["offset_mm"].as_f64().unwrap())).collect()
}

fn codes(v: &Value) -> Vec<String> {
    v["findings"].as_array().unwrap().iter().map(|f| f["code"].as_str().unwrap().to_owned()).collect()
}

fn finding<'a>(v: &'a Value, code: &str) -> &'a Value {
    v["findings"].as_array().unwrap().iter().find(|f| f["code"] == code).unwrap_or_else(|| panic!("no {code}: {v:#}"))
}

/// With 20/6 for everything, routing around the part leaves an opening 10 + 3 outside it. A recess from that opening is 6
/// too large per side. So the machine cuts an opening for the recess, 0.05 + 7 outside the part.
#[test]
fn a_part_whose_recess_needs_an_opening_of_its_own() {
    let dir = yard(PATCH);
    let v = made(dir.path(), &["--from", "part"]);
    opening(&v, "recess", 7.05);
    let want = [("round-part", 13.0), ("blank", 7.0), ("opening", 7.05), ("recess", 0.05)];
    assert_eq!(steps(&v), want.map(|(n, o)| (n.to_owned(), o)));
    assert_eq!(v["start"]["steps"][0]["size_mm"], json!([106, 76]));
    let taken: Vec<&Value> = v["start"]["steps"].as_array().unwrap().iter().map(|s| &s["taken"]).collect();
    assert_eq!(taken, [false, false, true, true]);
    assert_eq!(v["start"]["one_opening_gap_mm"], 6);
    assert_eq!((&v["start"]["one_opening"], &v["tools"]["inlay"]), (&false.into(), &Value::Null));
    let piece = &v["proof"]["pieces"][0];
    near(&piece["recess_area_mm2"], grown(0.05).0, 0.05);
    near(&piece["inlay_area_mm2"], grown(0.0).0, 1e-3);
    near(&piece["gap_min_mm"], 0.05, 0.005);
    near(&piece["gap_max_mm"], 0.05, 0.005);
    assert_eq!(codes(&v), ["not-measured"]);
    // The proposed bush makes the pairs match.
    let said = text(&letin(dir.path(), &["check", "hand.svg", "--from", "part", "--full"]).stdout);
    let bush = said.split("with a recess bush of ").nth(1).unwrap().split(' ').next().unwrap().to_owned();
    let v = made(dir.path(), &["--from", "part", "--bush", &bush, "--inlay-bush", "20"]);
    assert_eq!(v["start"]["one_opening"], true, "{bush}");
    near(&v["tools"]["gap_mm"], 0.05, 1e-9);
}

/// 31.9 − 6 = 20 + 6 − 2·0.05. The opening left in the sheet is the template, and the machine cuts nothing.
#[test]
fn a_part_routed_round_with_a_pair_that_matches() {
    let dir = yard(PATCH);
    let args = ["--from", "part", "--bush", "31.9", "--inlay-bush", "20"];
    let v = made(dir.path(), &args);
    assert_eq!((v["openings"].as_array().unwrap().len(), v["panels"].as_array().unwrap().len()), (0, 0));
    assert_eq!(steps(&v).iter().map(|s| s.0.as_str()).collect::<Vec<_>>(), ["round-part", "blank", "recess"]);
    let piece = &v["proof"]["pieces"][0];
    near(&piece["recess_area_mm2"], grown(0.05).0, 0.05);
    near(&piece["gap_min_mm"], 0.05, 0.005);
    near(&piece["gap_max_mm"], 0.05, 0.005);
    let files: Vec<&str> = v["files"].as_array().unwrap().iter().map(|f| f.as_str().unwrap()).collect();
    assert_eq!(files, ["hand-marks.svg", "hand-gap.svg"]);
    // Without written files there is no proof of files, and the answer says so.
    let (fine, said) = proved(dir.path());
    assert!(!fine && said.contains("nothing to prove"), "{said}");
    let said = text(&letin(dir.path(), &[&["check", "hand.svg"][..], &args].concat()).stdout);
    assert!(said.contains("Not proved: whether what is in hand matches the drawing."), "{said}");
}

/// An opening of 80 × 50 with corner radius 12. A bush of 20 leaves 60 × 30 with corner radius 2 for its centre, and the
/// recess is larger by 3 per side. The inlay's opening lies 12.95 outside the recess, 5.95 outside the old opening.
#[test]
fn an_existing_template_and_its_inlay() {
    let dir = yard(PATCH);
    let v = made(dir.path(), &["--from", "template"]);
    opening(&v, "inlay", 5.95);
    let want = [("recess", -7.0), ("opening", 5.95), ("inlay", -7.05)];
    assert!(steps(&v).iter().zip(want).all(|(s, w)| s.0 == w.0 && (s.1 - w.1).abs() < 1e-9), "{:?}", steps(&v));
    let piece = &v["proof"]["pieces"][0];
    near(&piece["recess_area_mm2"], grown(-7.0).0, 0.05);
    near(&piece["inlay_area_mm2"], grown(-7.05).0, 0.05);
    near(&piece["gap_min_mm"], 0.05, 0.005);
    near(&piece["gap_max_mm"], 0.05, 0.005);
    assert_eq!(piece["recess_size_mm"], json!([66, 36]));
    let (fine, said) = proved(dir.path());
    assert!(fine && said.contains("hand-face-1.dxf"), "{said}");
    // A matching pair needs no second opening. Sharp corners then come out sharp on the inlay only.
    let pair = ["--from", "template", "--bush", "32", "--inlay-bush", "20", "--gap", "0"];
    let v = made(dir.path(), &[&pair[..4], &pair[4..6]].concat());
    assert_eq!((&v["tools"]["gap_mm"], &v["tools"]["gap_wanted_mm"]), (&0.into(), &json!(0.05)));
    let v = made(dir.path(), &pair);
    assert_eq!((v["openings"].as_array().unwrap().len(), &v["start"]["one_opening"]), (0, &true.into()));
    assert_eq!(v["proof"]["pieces"][0]["inlay_size_mm"], json!([54, 24]));
    // The opening's corner radius 12 is less than the bush's 16. So the recess of 54 × 24 has the corner radius 3.
    near(&v["proof"]["pieces"][0]["recess_area_mm2"], 54.0 * 24.0 - (4.0 - PI) * 9.0, 0.05);
}

/// The round trip. The recess opening of a flush job, taken as an existing template, asks for an inlay opening. It must
/// equal the inlay opening of the flush job.
#[test]
fn a_template_of_a_job_asks_for_the_other_opening_of_that_job() {
    let dir = yard(SHARP);
    let first = made(dir.path(), &[]);
    let inlay = first["openings"].as_array().unwrap().iter().find(|o| o["duty"] == "inlay").unwrap().clone();
    let face = dir.path().join("out/hand-face-1.dxf").to_string_lossy().into_owned();
    let args = ["check", &face, "--from", "template", "--only", "OPENING_CUT_INSIDE", "--json"];
    let o = letin(dir.path(), &args);
    let again: Value = serde_json::from_slice(&o.stdout).unwrap();
    let t = &again["openings"][0];
    assert_eq!(t["duty"], "inlay", "{again:#}");
    for what in ["area_mm2", "perimeter_mm"] {
        near(&t[what], inlay[what].as_f64().unwrap(), 0.01);
    }
    near(&t["size_mm"][0], inlay["size_mm"][0].as_f64().unwrap(), 1e-3);
    assert_eq!(codes(&again), ["not-measured"]);
}

/// An existing recess: the inlay is smaller by 0.05, its opening lies 12.95 outside. The inlay follows all inside corners.
#[test]
fn an_existing_recess() {
    let dir = yard(PATCH);
    let v = made(dir.path(), &["--from", "recess"]);
    opening(&v, "inlay", 12.95);
    assert_eq!(steps(&v), [("opening".to_owned(), 12.95), ("inlay".to_owned(), -0.05)]);
    near(&v["proof"]["pieces"][0]["inlay_area_mm2"], grown(-0.05).0, 0.05);
    near(&v["proof"]["pieces"][0]["recess_area_mm2"], grown(0.0).0, 1e-3);
    assert_eq!((&v["tools"]["recess"], &v["steps"][0]["piece"]), (&Value::Null, &"inlay".into()));
    assert_eq!(v["steps"].as_array().unwrap().len(), 1);
    assert!(proved(dir.path()).0);
    fs::write(dir.path().join("hand.svg"), fs::read_to_string(yard(SHARP).path().join("hand.svg")).unwrap()).unwrap();
    let v = made(dir.path(), &["--from", "recess", "--bush", "16", "--cutter", "5"]);
    assert_eq!(codes(&v), ["not-measured"]);
    near(&v["openings"][0]["offset_mm"], 10.45, 1e-9);
    near(&v["proof"]["pieces"][0]["inlay_area_mm2"], 79.9 * 49.9, 0.05);
}

/// At a sharp corner of the part the cutter's arc of radius 3 touches lines 0.05 outside the edges, and (3 − 0.05)·√2 − 3
/// of wood remains. In the hollow of an L the recess has the radius 7, and the gap there is (7 + 0.05)·√2 − 7.
/// Source: none outside; the check does the sums anew.
#[test]
fn misfits_have_their_closed_forms() {
    let root = 2f64.sqrt() - 1.0;
    let dir = yard(r#"<path d="M20 20 H120 V70 H70 V120 H20 Z"/>"#);
    let v = made(dir.path(), &["--from", "part"]);
    let f = finding(&v, "inside-corner");
    near(&f["short_mm"], 2.95 * 2f64.sqrt() - 3.0, 1e-3);
    near(&f["needed_mm"], 2.95, 1e-9);
    assert_eq!(codes(&v).iter().filter(|c| *c == "inside-corner").count(), 5);
    let f = finding(&v, "outside-corner");
    near(&f["short_mm"], 7.05 * 2f64.sqrt() - 7.0, 1e-3);
    assert_eq!(f["at_mm"], json!([70, 130]));
    // As a recess: no cutter has to reach its inside corners, and the inlay has too much wood in its hollow.
    let v = made(dir.path(), &["--from", "recess"]);
    assert_eq!(codes(&v).iter().filter(|c| *c == "inside-corner").count(), 0);
    near(&finding(&v, "outside-corner")["short_mm"], 12.95 * root, 1e-3);
    assert!(codes(&v).iter().all(|c| c != "fit"), "the corner finding is enough: {:?}", codes(&v));
    assert!(finding(&v, "outside-corner")["ways"].is_null(), "no bush goes round a sharp corner");
    // A template with sharp corners that serves both pieces: the inlay has them, the recess has not.
    let v = made(dir.path(), &["--from", "template", "--bush", "32", "--inlay-bush", "20"]);
    near(&finding(&v, "inside-corner")["short_mm"], 3.0 * root, 1e-3);
    assert!(codes(&v).iter().all(|c| c != "fit"), "{:?}", codes(&v));
}

/// The close-ups show the limiting tools: around a part the recess's bush and the gap, in a template the bush.
#[test]
fn pictures_show_what_goes_there() {
    let dir = yard(r#"<path d="M20 20 H120 V70 H70 V120 H20 Z"/>"#);
    let words = || {
        let svg = fs::read_to_string(dir.path().join("out/hand-marks.svg")).unwrap();
        let text = |part: &str| part.split_once('>').map(|p| p.1.split_whitespace().collect::<Vec<_>>().join(" "));
        svg.split('<').filter_map(text).filter(|t| !t.is_empty()).collect::<Vec<_>>().join(" ")
    };
    made(dir.path(), &["--from", "part"]);
    assert!(
        words().contains("Circle: bush and cutter together round this corner to a radius of 7.05 mm."),
        "{}",
        words()
    );
    assert!(
        words().contains("Circle: the 6 mm cutter less the gap, as far into the corner as it reaches."),
        "{}",
        words()
    );
    made(dir.path(), &["--from", "recess"]);
    assert!(
        words().contains("Circle: bush and cutter together round this corner to a radius of 12.95 mm."),
        "{}",
        words()
    );
    made(dir.path(), &["--from", "template"]);
    assert!(
        words().contains("Circle: bush and cutter together round this corner to a radius of 12.95 mm."),
        "{}",
        words()
    );
    fs::write(
        dir.path().join("hand.svg"),
        fs::read_to_string(yard(r#"<path d="M10 10 H110 V40 H130 V55 H110 V90 H10 Z"/>"#).path().join("hand.svg"))
            .unwrap(),
    )
    .unwrap();
    made(dir.path(), &["--from", "template"]);
    assert!(words().contains("Circle: the 20 mm bush, too wide for this neck."), "{}", words());
}

/// A hollow of radius 11 in a recess. The proposed inlay bush follows it, a larger bush does not.
#[test]
fn the_bush_proposed_for_a_hollow_does() {
    let dir = yard(r#"<path d="M10 10 H150 V60 H111 A11 11 0 0 0 100 71 V120 H10 Z"/>"#);
    let v = made(dir.path(), &["--from", "recess"]);
    let way = &finding(&v, "outside-corner")["ways"][0];
    assert_eq!(way["setting"], "inlay-bush");
    let most = way["at_most_mm"].as_f64().unwrap();
    let with = |bush: f64| codes(&made(dir.path(), &["--from", "recess", "--inlay-bush", &bush.to_string()]));
    assert!(!with(most).contains(&"outside-corner".to_owned()), "{most}");
    assert!(with(most + 0.05).contains(&"outside-corner".to_owned()), "{most}");
}

#[test]
fn what_cannot_be_made_is_an_error() {
    // A bush too large for the whole template, and then one too large for its middle.
    let dir = yard(r#"<rect x="10" y="10" width="100" height="18"/>"#);
    let o = letin(dir.path(), &["make", "hand.svg", "--from", "template", "--out", "out", "--json"]);
    assert_eq!(o.status.code(), Some(1), "{}", text(&o.stderr));
    let v: Value = serde_json::from_slice(&o.stdout).unwrap();
    assert!(finding(&v, "neck")["message"].as_str().unwrap().contains("does not get into"), "{v:#}");
    assert!(!dir.path().join("out/hand-face-1.dxf").exists());
    let dir = yard(r#"<path d="M10 10 H70 V31 H110 V10 H170 V70 H110 V49 H70 V70 H10 Z"/>"#);
    let o = letin(dir.path(), &["check", "hand.svg", "--from", "template", "--json"]);
    let v: Value = serde_json::from_slice(&o.stdout).unwrap();
    let f = finding(&v, "neck");
    assert_eq!(f["severity"], "error");
    near(&f["measured_mm"], 18.0, 0.01);
    near(&f["needed_mm"], 20.0, 1e-9);
    // A part with a hole has an island, as in every other job.
    let dir = yard(r#"<path fill-rule="evenodd" d="M10 10 H110 V110 H10 Z M40 40 H80 V80 H40 Z"/>"#);
    let o = letin(dir.path(), &["check", "hand.svg", "--from", "part", "--json"]);
    assert_eq!(o.status.code(), Some(1), "{}", text(&o.stderr));
    let v: Value = serde_json::from_slice(&o.stdout).unwrap();
    assert_eq!(finding(&v, "island")["severity"], "error");
    // Two limbs of a part with a gap of 4, where the template is lost.
    let dir = yard(r#"<path d="M10 10 H110 V50 H40 V54 H110 V94 H10 Z"/>"#);
    let v = made(dir.path(), &["--from", "part"]);
    near(&finding(&v, "closed-gap")["measured_mm"], 4.0, 0.01);
}

/// Changed files are refused for every start that has files.
#[test]
fn spoilt_files_are_not_proved() {
    for start in ["part", "template", "recess"] {
        let dir = yard(PATCH);
        let v = made(dir.path(), &["--from", start]);
        assert!(proved(dir.path()).0, "{start}");
        let svg = dir.path().join("out/hand-face-1.svg");
        let dxf = dir.path().join("out/hand-face-1.dxf");
        let other = made_wider(start);
        fs::copy(other.path().join("out/hand-face-1.svg"), &svg).unwrap();
        fs::copy(other.path().join("out/hand-face-1.dxf"), &dxf).unwrap();
        let (fine, said) = proved(dir.path());
        assert!(!fine && said.contains("NOT proved"), "{start}: {said}");
        // A document that names another start is refused as well.
        let path = dir.path().join("out/hand.json");
        let mut spoilt = v.clone();
        spoilt["start"]["from"] = "drawing".into();
        fs::write(&path, spoilt.to_string()).unwrap();
        let (fine, said) = proved(dir.path());
        assert!(!fine && said.contains("starts from something unknown"), "{start}: {said}");
    }
}

/// The same job with a gap of 0.1 instead of 0.05. Its openings differ by 0.05 per side.
fn made_wider(start: &str) -> TempDir {
    let dir = yard(PATCH);
    let v = made(dir.path(), &["--from", start, "--gap", "0.1"]);
    assert_eq!(v["openings"].as_array().unwrap().len(), 1);
    dir
}

#[test]
fn from_a_job_file_and_in_other_forms() {
    let dir = yard(PATCH);
    fs::write(dir.path().join("hatch.toml"), "drawing = \"hand.svg\"\nfrom = \"recess\"\nbush = 16\ncutter = 5\n")
        .unwrap();
    let o = letin(dir.path(), &["check", "hatch.toml", "--json"]);
    let v: Value = serde_json::from_slice(&o.stdout).unwrap();
    assert_eq!((&v["start"]["from"], &v["openings"][0]["offset_mm"]), (&"recess".into(), &json!(10.45)));
    // In inches, release 12, straight lines only, and saved as a job file.
    let args =
        ["--from", "part", "--write-unit", "in", "--dxf", "r12", "--flatten", "0.01", "--write-job", "kept.toml"];
    made(dir.path(), &args);
    let (fine, said) = proved(dir.path());
    assert!(fine, "{said}");
    assert!(fs::read_to_string(dir.path().join("kept.toml")).unwrap().contains("\nfrom = \"part\"\n"));
    for bad in [&["--from", "part", "--corners", "ease"][..], &["--from", "recess", "--pair", "auto"], &["--from", "x"]]
    {
        let o = letin(dir.path(), &[&["check", "hand.svg"][..], bad].concat());
        assert_eq!(o.status.code(), Some(2), "{bad:?}");
    }
}

/// Measured tools count for the single routed piece: (19.87 + 5.94)/2 − 0.05, by hand.
#[test]
fn measured_tools_and_pairs_of_the_kit() {
    let dir = yard(PATCH);
    let kit =
        "[[bush]]\noutside = 20\nmeasured = 19.87\n[[bush]]\noutside = 32\n[[cutter]]\ndiameter = 6\nmeasured = 5.94\n";
    fs::write(dir.path().join("letin.toml"), kit).unwrap();
    let v = made(dir.path(), &["--from", "recess"]);
    near(&v["openings"][0]["offset_mm"], 12.855, 1e-9);
    assert_eq!((codes(&v).len(), &v["tools"]["measured"]), (0, &true.into()));
    // 19.87 + 5.94 − 32 + 5.94 = −0.25. The inlay of this pair is too large, so no pair of the kit matches.
    let o = letin(dir.path(), &["check", "hand.svg", "--from", "part", "--pair", "auto", "--json"]);
    let v: Value = serde_json::from_slice(&o.stdout).unwrap();
    assert_eq!(v["error"]["code"], "no-pair");
    let kit = "[[bush]]\noutside = 20\n[[bush]]\noutside = 32\n[[cutter]]\ndiameter = 6\n";
    fs::write(dir.path().join("letin.toml"), kit).unwrap();
    for start in ["part", "template"] {
        let v = made(dir.path(), &["--from", start, "--pair", "auto"]);
        assert_eq!((&v["start"]["one_opening"], &v["pair"]["matching"]), (&true.into(), &1.into()), "{v:#}");
        assert_eq!((&v["tools"]["recess"]["bush_mm"], &v["tools"]["inlay"]["bush_mm"]), (&32.into(), &20.into()));
    }
}

/// A rotated, mirrored or moved drawing gives the same result.
#[test]
fn the_result_does_not_depend_on_the_position() {
    let turned = [
        r#"<path d="M20 20 H120 V70 H70 V120 H20 Z"/>"#,
        r#"<path transform="rotate(33 100 100)" d="M20 20 H120 V70 H70 V120 H20 Z"/>"#,
        r#"<path transform="translate(200 0) scale(-1 1)" d="M20 20 H120 V70 H70 V120 H20 Z"/>"#,
    ];
    for start in ["part", "template", "recess"] {
        let all: Vec<Value> = turned.iter().map(|s| made(yard(s).path(), &["--from", start])).collect();
        for v in &all[1..] {
            assert_eq!(codes(v), codes(&all[0]), "{start}");
            for what in ["recess_area_mm2", "inlay_area_mm2", "gap_max_mm"] {
                near(&v["proof"]["pieces"][0][what], all[0]["proof"]["pieces"][0][what].as_f64().unwrap(), 0.02);
            }
        }
    }
}
