//! Several outlines, panels, faces, turns, set-ups, and the form of the files. Each setting must show in the files.
//!
//! Every test runs the built program. The tests read the files as text or with the library `dxf`. Independent check of the
//! placing: `outside/check_places.py`.
//! Source: none outside; the check does the sums anew.

use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use tempfile::TempDir;

/// Two round patches of 60 mm, `between` mm apart, on a sheet of 300 × 200.
fn two(between: f64) -> String {
    svg(&format!(
        r#"<circle id="port" cx="60" cy="60" r="30"/><circle id="starboard" cx="{}" cy="60" r="30"/>"#,
        120.0 + between
    ))
}

/// A patch with a smaller one to its upper right, without mirror symmetry.
fn lopsided() -> String {
    svg(r#"<circle id="large" cx="60" cy="140" r="30"/><circle id="small" cx="180" cy="60" r="15"/>"#)
}

fn svg(body: &str) -> String {
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200">{body}</svg>"#
    )
}

struct Run {
    dir: TempDir,
    output: Output,
}

fn run(drawing: &str, args: &[&str]) -> Run {
    let dir = TempDir::new().unwrap();
    let path = dir.path().join("hatch.svg");
    fs::write(&path, drawing).unwrap();
    let mut c = Command::new(env!("CARGO_BIN_EXE_letin"));
    let output = c.arg("make").arg(&path).args(args).arg("--json").output().unwrap();
    Run { dir, output }
}

/// Runs `make` and asserts status 0.
#[track_caller]
fn made(drawing: &str, args: &[&str]) -> Run {
    let r = run(drawing, args);
    assert_eq!(r.output.status.code(), Some(0), "{args:?}: {}", String::from_utf8_lossy(&r.output.stdout));
    r
}

impl Run {
    fn json(&self) -> Value {
        serde_json::from_slice(&self.output.stdout).unwrap()
    }

    fn folder(&self) -> PathBuf {
        self.dir.path().join("hatch-letin")
    }

    fn text(&self, name: &str) -> String {
        fs::read_to_string(self.folder().join(name)).unwrap_or_else(|e| panic!("{name}: {e}"))
    }

    /// Names of the DXF face files.
    fn faces(&self) -> Vec<String> {
        let all = fs::read_dir(self.folder()).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap());
        let mut faces: Vec<String> = all.filter(|n| n.contains("-face-") && n.ends_with(".dxf")).collect();
        faces.sort();
        faces
    }

    /// The circles of a DXF file: layer, centre, radius, in the file's unit.
    fn circles(&self, name: &str) -> Vec<(String, f64, f64, f64)> {
        entities(&self.folder().join(name))
            .into_iter()
            .filter_map(|e| match e.specific {
                dxf::entities::EntityType::Circle(c) => Some((e.common.layer, c.center.x, c.center.y, c.radius)),
                _ => None,
            })
            .collect()
    }

    fn finding(&self, code: &str) -> Value {
        let v = self.json();
        let all = v["findings"].as_array().unwrap();
        all.iter().find(|f| f["code"] == code).cloned().unwrap_or_else(|| panic!("no {code}: {v:#}"))
    }

    fn has(&self, code: &str) -> bool {
        self.json()["findings"].as_array().unwrap().iter().any(|f| f["code"] == code)
    }
}

fn entities(path: &Path) -> Vec<dxf::entities::Entity> {
    dxf::Drawing::load_file(path).unwrap().entities().cloned().collect()
}

fn near(a: f64, b: f64) {
    assert!((a - b).abs() < 1e-6, "{a}, expected {b}");
}

fn number(v: &Value) -> f64 {
    v.as_f64().unwrap_or_else(|| panic!("{v} is no number"))
}

// 1. Several outlines.

/// Each inlay opening grows by 12.95. So 40 apart leaves 14.1 and 29 apart leaves 3.1, where 9 is needed.
#[test]
fn outlines_too_near_go_to_a_second_panel_at_the_same_place() {
    let apart = made(&two(40.0), &[]);
    assert_eq!(apart.faces(), ["hatch-face-1.dxf", "hatch-face-2.dxf"]);
    assert!(!apart.has("further-panel"));
    let close = made(&two(29.0), &[]);
    let four = ["hatch-face-1.dxf", "hatch-face-2.dxf", "hatch-panel-2-face-1.dxf", "hatch-panel-2-face-2.dxf"];
    assert_eq!(close.faces(), four);
    let f = close.finding("further-panel");
    assert_eq!(f["severity"], "note");
    assert!((number(&f["measured_mm"]) - 3.1).abs() < 1e-3 && number(&f["needed_mm"]) == 9.0, "{f}");
    assert!(!close.has("thin-web"));
    // The spacing stays: 89 between the centres, on whichever panel they are.
    let x = |name: &str| close.circles(name)[0].1;
    near(x("hatch-panel-2-face-1.dxf") - x("hatch-face-1.dxf"), 89.0);
    let v = close.json();
    let openings = v["openings"].as_array().unwrap();
    assert!(openings.iter().all(|o| o["place"] == openings[0]["place"]), "{v:#}");
    assert_eq!(openings.iter().map(|o| o["panel"].as_u64().unwrap()).collect::<Vec<_>>(), [1, 1, 2, 2]);
    assert_eq!(openings[2]["files"], serde_json::json!(["hatch-panel-2-face-1.dxf", "hatch-panel-2-face-1.svg"]));
    // Openings that would overlap go to two panels as well.
    assert_eq!(made(&two(10.0), &[]).faces().len(), 4);
}

#[test]
fn a_smaller_web_puts_them_on_one_panel() {
    assert_eq!(made(&two(29.0), &["--web", "3"]).faces().len(), 2);
    assert_eq!(made(&two(29.0), &["--web", "3.2"]).faces().len(), 4);
}

/// A disc in the mouth of a horseshoe. Easing fills the mouth and thereby the place of the disc.
#[test]
fn an_outline_in_a_gap_that_closes_is_an_error() {
    let shoe = r#"<path d="M40 20 H140 V60 H60 V140 H140 V180 H40 A20 20 0 0 1 20 160 V40 A20 20 0 0 1 40 20 Z"/>"#;
    let disc = |r: f64| svg(&format!(r#"{shoe}<circle cx="100" cy="100" r="{r}"/>"#));
    let ok = run(&disc(12.0), &[]);
    assert!(!ok.has("closed-gap"), "{:#}", ok.json());
    // With a bush of 80 the limbs, 80 apart, grow together: the offset is 43 − 0.05.
    let lost = run(&disc(12.0), &["--bush", "80"]);
    assert_eq!(lost.output.status.code(), Some(1));
    let v = lost.json();
    let all = v["findings"].as_array().unwrap();
    assert!(
        all.iter().any(|f| f["code"] == "closed-gap" && f["message"].as_str().unwrap().contains("one lies in a gap")),
        "{v:#}"
    );
}

// 2. Turning.

#[test]
fn turned_bottom_over_top_the_reference_edges_are_left_bottom_and_top() {
    let r = made(&lopsided(), &["--turn", "bottom-top"]);
    let v = r.json();
    let p = &v["panels"][0];
    assert_eq!(p["turn"], "bottom-top");
    let edges = serde_json::json!({"left": "reference", "right": "free", "bottom": "reference", "top": "reference"});
    assert_eq!(p["edges"], edges);
    let (w, h) = (number(&p["size_mm"][0]), number(&p["size_mm"][1]));
    // The free edge runs from (W, 0) to (W, H) on both faces.
    for face in ["hatch-face-1.dxf", "hatch-face-2.dxf"] {
        let free: Vec<_> =
            entities(&r.folder().join(face)).into_iter().filter(|e| e.common.layer == "FREE_EDGE").collect();
        assert_eq!(free.len(), 1);
        let dxf::entities::EntityType::Line(l) = &free[0].specific else { panic!("a line") };
        near(l.p1.x, w);
        near(l.p2.x, w);
        near((l.p1.y - l.p2.y).abs(), h);
    }
    let (one, two) = (r.circles("hatch-face-1.dxf"), r.circles("hatch-face-2.dxf"));
    // With either face up the place is the same; after turning, it lies on the other half of the panel.
    near(one[0].1, two[0].1);
    near(one[0].2, two[0].2);
    assert!(h - two[1].2 - two[1].3 > one[1].2 + one[1].3 && h > w, "{one:?} {two:?} {w} x {h}");
    assert!(r.text("hatch-plan-1.svg").contains("turn bottom over top"));
}

#[test]
fn not_turned_recess_and_inlay_have_a_panel_each_at_one_place() {
    let r = made(&lopsided(), &["--turn", "none"]);
    assert_eq!(r.faces(), ["hatch-face-1.dxf", "hatch-panel-2-face-1.dxf"]);
    let v = r.json();
    for (n, duty) in [(0, "recess"), (1, "inlay")] {
        let p = &v["panels"][n];
        assert_eq!((p["turn"].as_str(), p["edges"]["right"].as_str()), (Some("none"), Some("free")));
        let on: Vec<_> = v["openings"].as_array().unwrap().iter().filter(|o| o["panel"] == p["panel"]).collect();
        assert!(on.len() == 2 && on.iter().all(|o| o["duty"] == duty && o["face"] == 1), "{v:#}");
        assert_eq!(p["common_mm"], v["panels"][0]["common_mm"]);
    }
    let turned = made(&lopsided(), &[]).json();
    let width = |v: &Value| number(&v["panels"][0]["size_mm"][0]);
    near(2.0 * width(&v), width(&turned));
    let plan = r.text("hatch-plan-1.svg");
    assert!(plan.contains("One face only.") && !plan.contains("TURN_LINE"));
    let steps: Vec<_> =
        v["steps"].as_array().unwrap().iter().map(|s| (s["panel"].as_u64(), s["face_up"].as_u64())).collect();
    assert_eq!(steps, [(Some(1), Some(1)), (Some(1), Some(1)), (Some(2), Some(1)), (Some(2), Some(1))]);
}

#[test]
fn steps_say_how_each_opening_is_used() {
    let v = made(&svg(r#"<circle cx="60" cy="140" r="30"/>"#), &["--inlay-bush", "16"]).json();
    let step = |piece: &str, face: u8, opening: &str, bush: u8| {
        serde_json::json!({"piece": piece, "panel": 1, "face_up": face, "edges": ["left", "bottom"], "opening": opening,
            "purpose": "line", "bush_mm": bush, "cutter_mm": 6, "depth_mm": null})
    };
    let wanted = [step("board", 1, "opening-1", 20), step("inlay", 2, "opening-2", 16)];
    assert_eq!(v["steps"].as_array().unwrap().len(), wanted.len());
    for (i, one) in wanted.iter().enumerate() {
        for (key, value) in one.as_object().unwrap() {
            assert_eq!(&v["steps"][i][key], value, "step {i}, {key}");
        }
    }
}

// 3. Set-ups.

/// In the file of face 1, opening 2 lies at W − x or at H − y, and the panel is a line to cut.
#[test]
fn one_setup_is_one_file_with_the_second_opening_mirrored() {
    for (turn, mirrored) in [("left-right", true), ("bottom-top", false)] {
        let (a, b) = (made(&lopsided(), &["--turn", turn]), made(&lopsided(), &["--turn", turn, "--setup", "one"]));
        assert_eq!(b.faces(), ["hatch-face-1.dxf"]);
        let v = b.json();
        let (w, h) = (number(&v["panels"][0]["size_mm"][0]), number(&v["panels"][0]["size_mm"][1]));
        assert_eq!(v["panels"][0]["setup"], "one");
        let (face, all) = (a.circles("hatch-face-2.dxf"), b.circles("hatch-face-1.dxf"));
        assert_eq!(all.len(), 4);
        for (_, x, y, r) in face {
            let at = if mirrored { (w - x, y) } else { (x, h - y) };
            assert!(
                all.iter().any(|c| (c.1 - at.0).hypot(c.2 - at.1) < 1e-9 && (c.3 - r).abs() < 1e-9),
                "{all:?} {at:?}"
            );
        }
        let layers: std::collections::BTreeSet<String> =
            entities(&b.folder().join("hatch-face-1.dxf")).into_iter().map(|e| e.common.layer).collect();
        assert_eq!(layers.into_iter().collect::<Vec<_>>(), ["OPENING_CUT_INSIDE", "PANEL_CUT_OUTSIDE"]);
        // All openings name that file. Both faces have a plan, because both are used.
        let files = serde_json::json!(["hatch-face-1.dxf", "hatch-face-1.svg"]);
        assert!(v["openings"].as_array().unwrap().iter().all(|o| o["files"] == files));
        assert_eq!(v["openings"][1]["face"], 2);
        assert!(b.text("hatch-plan-2.svg").contains("hatch-face-1.dxf"));
        assert!(b.text("hatch-face-1.svg").contains("PANEL_CUT_OUTSIDE"));
    }
}

// 4. Place, size, bed.

#[test]
fn at_and_panel_say_where_and_how_large() {
    let r = made(&lopsided(), &["--at", "150x120", "--panel", "700x300"]);
    let v = r.json();
    assert_eq!(v["panels"][0]["size_mm"], serde_json::json!([700, 300]));
    assert_eq!(v["panels"][0]["common_mm"], serde_json::json!([150, 120]));
    // The bounding box of both outlines runs from (30, 30) to (195, 155), y up, with its centre at (112.5, 92.5).
    let c = r.circles("hatch-face-1.dxf");
    let large = c.iter().find(|c| c.3 > 30.0).unwrap();
    let (x, y) = (60.0 - f64::midpoint(30.0, 195.0), 60.0 - f64::midpoint(30.0, 155.0));
    near(large.1, 150.0 + x);
    near(large.2, 120.0 + y);
}

#[test]
fn what_runs_off_the_panel_is_an_error_with_a_size_that_does() {
    let r = run(&two(40.0), &["--panel", "400x80"]);
    assert_eq!(r.output.status.code(), Some(1));
    assert!(r.faces().is_empty());
    let f = r.finding("off-panel");
    assert_eq!(f["severity"], "error");
    // The proposed panel works and keeps the strip of template.
    let help = f["help"].as_str().unwrap();
    let size = help.split("set --panel ").nth(1).unwrap().split(' ').next().unwrap();
    let r = made(&two(40.0), &["--panel", size]);
    assert!(!r.has("thin-web"), "{size}: {:#}", r.json());
    let r = run(&two(40.0), &["--at", "20x20"]);
    let help = r.finding("off-panel")["help"].as_str().unwrap().to_owned();
    assert!(help.starts_with("Leave out --at."), "{help}");
    // The size and the place that it names work together.
    let set = help.split("Or set ").nth(1).unwrap().trim_end_matches('.').replace(" or larger with", "");
    let r = made(&two(40.0), &set.split(' ').collect::<Vec<_>>());
    assert!(!r.has("thin-web"), "{set}");
}

/// On a panel 320 wide the large patch lies 60 from the left and the small one 240. On each face the openings lie well
/// apart. After turning, the large patch's inlay opening lies at 320 − 60 = 260, over the small patch's recess.
#[test]
fn on_a_narrow_panel_the_other_face_counts_too() {
    let pair = svg(r#"<circle cx="60" cy="100" r="30"/><circle cx="240" cy="100" r="15"/>"#);
    assert_eq!(made(&pair, &[]).faces().len(), 2);
    let narrow = made(&pair, &["--panel", "320x120", "--at", "142.5x60"]);
    assert_eq!(narrow.faces().len(), 4);
    let f = narrow.finding("further-panel");
    assert!(f["message"].as_str().unwrap().contains("openings for the"), "{f}");
    assert_eq!(number(&f["measured_mm"]), 0.0);
}

#[test]
fn a_bed_too_small_is_an_error_and_its_ways_out_work() {
    let one = svg(r#"<circle cx="60" cy="140" r="30"/>"#);
    assert!(!made(&one, &["--bed", "600x400"]).has("bed"));
    let r = run(&one, &["--bed", "400x400"]);
    assert_eq!(r.output.status.code(), Some(1));
    let f = r.finding("bed");
    assert!(number(&f["measured_mm"]) > 400.0 && number(&f["needed_mm"]) == 400.0 && number(&f["short_mm"]) > 0.0);
    let help = f["help"].as_str().unwrap();
    let ways: Vec<&str> = help.split("et --").skip(1).collect();
    assert!(ways.len() > 1 && ways.iter().any(|w| w.starts_with("turn none")), "{ways:?}");
    for way in ways {
        let options = format!("--{}", way.split(" (").next().unwrap());
        let all = [&["--bed", "400x400"][..], &options.split(' ').collect::<Vec<_>>()].concat();
        made(&one, &all);
    }
    // Where nothing fits, the help says so.
    let f = run(&one, &["--bed", "60x60"]).finding("bed");
    assert!(f["help"].as_str().unwrap().contains("Even with one opening"), "{f}");
}

#[test]
fn base_and_web_make_the_panel_larger() {
    let one = svg(r#"<circle cx="60" cy="140" r="30"/>"#);
    let size = |args: &[&str]| number(&made(&one, args).json()["panels"][0]["size_mm"][0]);
    assert!(size(&["--base", "45"]) < size(&[]) && size(&["--web", "120"]) > size(&[]));
}

/// The keep-clear line is clipped to the panel, and the free corners are bevelled.
#[test]
fn the_plan_shows_what_the_base_sweeps_on_the_panel() {
    let one = svg(r#"<circle cx="60" cy="140" r="30"/>"#);
    let r = made(&one, &["--panel", "300x130"]);
    let plan = r.text("hatch-plan-1.svg");
    let doc = roxmltree::Document::parse(&plan).unwrap();
    let group = |id: &str| doc.descendants().find(|n| n.attribute("id") == Some(id)).unwrap_or_else(|| panic!("{id}"));
    let d = group("KEEP_CLEAR").descendants().find_map(|n| n.attribute("d")).unwrap();
    let b = kurbo::Shape::bounding_box(&kurbo::BezPath::from_svg(d).unwrap());
    // A bush of 20 in an opening of 74 with a base of 75 reaches 102 from the centre, beyond top and bottom.
    assert!(b.y0 > -0.1 && b.y1 < 130.1 && b.height() > 129.0, "{b:?}");
    assert!(group("FREE_EDGE").children().filter(roxmltree::Node::is_element).count() == 3, "an edge and two bevels");
    for words in ["for the recess", "bush 20 mm, cutter 6 mm", "opening 74.00 × 74.00 mm", "recess 60.00 × 60.00 mm"]
    {
        assert!(plan.contains(words), "{words}");
    }
    let plan = r.text("hatch-plan-2.svg");
    assert!(
        plan.contains("for the inlay")
            && plan.contains("inlay 59.90 × 59.90 mm")
            && plan.contains("gap 0.05 mm per side")
    );
}

// 5. Reading and writing.

#[test]
fn mirrored_left_and_right_change_about() {
    let (a, b) = (made(&lopsided(), &[]), made(&lopsided(), &["--mirror"]));
    assert_eq!((&a.json()["drawing"]["mirrored"], &b.json()["drawing"]["mirrored"]), (&false.into(), &true.into()));
    let common = number(&a.json()["panels"][0]["common_mm"][0]);
    for ((_, x, y, r), (_, mx, my, mr)) in a.circles("hatch-face-1.dxf").into_iter().zip(b.circles("hatch-face-1.dxf"))
    {
        near(x - common, common - mx);
        near(y, my);
        near(r, mr);
    }
    let dir = TempDir::new().unwrap();
    let path = dir.path().join("hatch.svg");
    fs::write(&path, lopsided()).unwrap();
    let o = Command::new(env!("CARGO_BIN_EXE_letin")).arg("check").arg(&path).arg("--mirror").output().unwrap();
    assert!(String::from_utf8(o.stdout).unwrap().contains("Mirrored: the drawing shows the back of the work."));
}

#[test]
fn in_inches_both_files_say_so() {
    let (a, b) = (made(&lopsided(), &[]), made(&lopsided(), &["--write-unit", "in"]));
    for (mm, inch) in a.circles("hatch-face-1.dxf").into_iter().zip(b.circles("hatch-face-1.dxf")) {
        for (m, i) in [(mm.1, inch.1), (mm.2, inch.2), (mm.3, inch.3)] {
            assert!((m - 25.4 * i).abs() < 1e-9);
        }
    }
    let pairs = b.text("hatch-face-1.dxf").replace("\r\n", "\n");
    assert!(pairs.contains("$INSUNITS\n 70\n1\n"), "inches");
    let doc = b.text("hatch-face-1.svg");
    let root = roxmltree::Document::parse(&doc).unwrap();
    let root = root.root_element();
    let (width, view) = (root.attribute("width").unwrap(), root.attribute("viewBox").unwrap());
    let wide: f64 = width.strip_suffix("in").expect("in inches").parse().unwrap();
    near(wide * 25.4, number(&b.json()["panels"][0]["size_mm"][0]));
    near(view.split(' ').nth(2).unwrap().parse().unwrap(), wide);
    assert_eq!(b.json()["writing"]["unit"], "in");
}

#[test]
fn release_12_is_written_and_read() {
    let key = svg(r#"<path d="M40 40 L75 50 L110 40 V76 L75 66 L40 76 Z"/>"#);
    let (a, b) = (made(&key, &[]), made(&key, &["--dxf", "r12"]));
    let text = b.text("hatch-face-1.dxf");
    assert!(
        text.contains("AC1009") && text.contains("SEQEND") && !text.contains("LWPOLYLINE") && !text.contains("AcDb")
    );
    let vertices = |r: &Run| -> Vec<(f64, f64, f64)> {
        let all = entities(&r.folder().join("hatch-face-1.dxf"));
        let one = |e: dxf::entities::Entity| match e.specific {
            dxf::entities::EntityType::LwPolyline(p) => p.vertices.iter().map(|v| (v.x, v.y, v.bulge)).collect(),
            dxf::entities::EntityType::Polyline(p) => {
                assert_eq!(p.flags & 1, 1, "closed");
                p.vertices().map(|v| (v.location.x, v.location.y, v.bulge)).collect()
            }
            _ => Vec::new(),
        };
        all.into_iter().flat_map(one).collect()
    };
    assert!(vertices(&a).len() > 4);
    assert_eq!(vertices(&a), vertices(&b));
    assert_eq!(b.json()["writing"]["dxf"], "r12");
}

/// Chords of a circle of radius 37 lie within 0.01 of it. The reported gap is that of the chords.
#[test]
fn flattened_files_have_no_arcs_and_the_gap_is_that_of_the_chords() {
    let one = svg(r#"<circle cx="60" cy="140" r="30"/>"#);
    let r = made(&one, &["--flatten", "0.01"]);
    let v = r.json();
    assert!(
        v["openings"].as_array().unwrap().iter().all(|o| o["arcs"] == 0 && o["lines"].as_u64() > Some(40)),
        "{v:#}"
    );
    assert!(r.circles("hatch-face-1.dxf").is_empty());
    assert_eq!(v["writing"]["flatten_mm"], 0.01);
    let all = entities(&r.folder().join("hatch-face-1.dxf"));
    let p = all.iter().find_map(|e| match &e.specific {
        dxf::entities::EntityType::LwPolyline(p) => Some(p.vertices.clone()),
        _ => None,
    });
    let p = p.unwrap();
    assert!(p.iter().all(|v| v.bulge == 0.0));
    let (cx, cy) = (number(&v["panels"][0]["common_mm"][0]), number(&v["panels"][0]["common_mm"][1]));
    for i in 0..p.len() {
        let (a, b) = (&p[i], &p[(i + 1) % p.len()]);
        let off = 37.0 - (f64::midpoint(a.x, b.x) - cx).hypot(f64::midpoint(a.y, b.y) - cy);
        assert!((-1e-6..=0.01).contains(&off), "{off}");
    }
    let (least, most) = (number(&v["proof"]["gap_min_mm"]), number(&v["proof"]["gap_max_mm"]));
    assert!(least < 0.05 && least > 0.03 && most > 0.05 && most < 0.07, "{least} to {most}");
    // With a tolerance this coarse the inlay would not go in.
    let r = run(&one, &["--flatten", "0.2"]);
    assert_eq!(r.finding("fit")["severity"], "error");
}

/// The reported bounding box of each opening equals the box that a reader finds in the file for the machine.
#[test]
fn what_must_be_read_after_import() {
    for args in [
        &["--turn", "left-right"][..],
        &["--turn", "bottom-top"],
        &["--turn", "none"],
        &["--setup", "one"],
        &["--setup", "one", "--turn", "bottom-top"],
    ] {
        let r = made(&lopsided(), args);
        let v = r.json();
        let mut count = 0;
        for o in v["openings"].as_array().unwrap() {
            let reported: Vec<f64> = o["reads_mm"].as_array().unwrap().iter().map(|n| n.as_f64().unwrap()).collect();
            let file = o["files"]
                .as_array()
                .unwrap()
                .iter()
                .map(|f| f.as_str().unwrap())
                .find(|f| f.ends_with(".dxf"))
                .unwrap();
            let read = Command::new(env!("CARGO_BIN_EXE_letin"))
                .arg("outlines")
                .arg(r.folder().join(file))
                .arg("--json")
                .output()
                .unwrap();
            let lines: Value = serde_json::from_slice(&read.stdout).unwrap();
            let there =
                lines["lines"].as_array().unwrap().iter().filter(|l| l["layer"] == "OPENING_CUT_INSIDE").any(|l| {
                    let b = l["bounds_mm"].as_array().unwrap();
                    b.iter().zip(&reported).all(|(a, t)| (a.as_f64().unwrap() - t).abs() < 1e-5)
                });
            assert!(there, "{args:?}: {o:#}");
            count += 1;
        }
        assert_eq!(count, 4);
    }
}
