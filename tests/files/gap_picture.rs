//! The picture of the fit. Every simulated joint has one, and it shows the numbers of the proof. The gap along the joint
//! agrees with the least and the greatest gap in the document.

use serde_json::Value;
use sha2::{Digest, Sha256};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use tempfile::TempDir;

struct Made {
    _dir: TempDir,
    folder: PathBuf,
    document: Value,
}

fn made(drawing: &str, settings: &[&str]) -> Made {
    let dir = TempDir::new().unwrap();
    let folder = dir.path().join("out");
    let drawing = Path::new(env!("CARGO_MANIFEST_DIR")).join(drawing);
    let o = Command::new(env!("CARGO_BIN_EXE_letin"))
        .args(["make", drawing.to_str().unwrap(), "--json", "--out", folder.to_str().unwrap()])
        .args(settings)
        .output()
        .unwrap();
    let document = serde_json::from_slice(&o.stdout).unwrap();
    Made { _dir: dir, folder, document }
}

const SHOULDERED: [&str; 12] = [
    "--plug",
    "plug",
    "--shoulder",
    "shoulder",
    "--kit",
    "metric",
    "--board",
    "20",
    "--stock",
    "24",
    "--plug-height",
    "14",
];

fn cases() -> Vec<(&'static str, &'static str, Vec<&'static str>)> {
    vec![
        ("samples/bow-tie-key/key.svg", "key", vec![]),
        ("samples/bow-tie-key/key.svg", "key", vec!["--gap", "0.3"]),
        ("samples/motif/motif.svg", "motif", vec!["--corners", "keep"]),
        ("samples/fish/fish.svg", "fish", vec!["--bush", "16", "--cutter", "4", "--corners", "square"]),
        ("samples/compass-star/star.svg", "star", vec!["--corners", "keep"]),
        ("samples/fish-in-hatch/fish-plug.svg", "fish-plug", SHOULDERED.to_vec()),
    ]
}

fn numbers(v: &Value) -> Vec<f64> {
    v.as_array().unwrap().iter().map(|n| n.as_f64().unwrap()).collect()
}

fn n(v: &Value) -> f64 {
    v.as_f64().unwrap()
}

#[test]
fn the_gap_along_the_joint_agrees_with_its_ends() {
    for (drawing, _, settings) in cases() {
        let m = made(drawing, &settings);
        let pieces = m.document["proof"]["pieces"].as_array().unwrap().clone();
        assert!(!pieces.is_empty());
        for p in &pieces {
            let what = format!("{drawing} {settings:?} {}", p["outline"]);
            let mut all = Vec::new();
            for run in p["joint"].as_array().unwrap() {
                let (along, gap) = (numbers(&run["along_mm"]), numbers(&run["gap_mm"]));
                assert_eq!(along.len(), gap.len(), "{what}");
                assert!(along.windows(2).all(|w| w[0] < w[1]), "{what}: not in ascending order");
                assert_eq!((along[0], *along.last().unwrap()), (0.0, n(&run["length_mm"])), "{what}: incomplete");
                assert!((gap[0] - gap.last().unwrap()).abs() < 0.01, "{what}: the gap does not close");
                all.extend(gap);
            }
            let (least, most) = all.iter().fold((f64::MAX, f64::MIN), |(a, b), &g| (a.min(g), b.max(g)));
            // The joint's gap is measured from the recess, the greatest gap from the inlay.
            assert!((least - n(&p["gap_min_mm"])).abs() < 0.002, "{what}: {least} and {}", p["gap_min_mm"]);
            assert!((most - n(&p["gap_max_mm"])).abs() < 0.002, "{what}: {most} and {}", p["gap_max_mm"]);
        }
    }
}

#[test]
fn the_picture_is_listed_and_tells_the_numbers_of_the_proof() {
    for (drawing, name, settings) in cases() {
        let m = made(drawing, &settings);
        let what = format!("{drawing} {settings:?}");
        let file = format!("{name}-gap.svg");
        let bytes = fs::read(m.folder.join(&file)).unwrap();
        let listed = m.document["files"].as_array().unwrap().iter().filter(|f| **f == file.as_str()).count();
        assert_eq!(listed, 1, "{what}");
        let hash: String = Sha256::digest(&bytes).iter().map(|b| format!("{b:02x}")).collect();
        assert_eq!(m.document["hashes"][&file], hash.as_str(), "{what}");
        let text = String::from_utf8(bytes).unwrap();
        let doc = roxmltree::Document::parse(&text).unwrap();
        let words: Vec<&str> = doc.descendants().filter(|e| e.has_tag_name("text")).filter_map(|e| e.text()).collect();
        let titles: Vec<&str> =
            doc.descendants().filter(|e| e.has_tag_name("title")).filter_map(|e| e.text()).collect();
        for p in m.document["proof"]["pieces"].as_array().unwrap() {
            let (least, most) = (n(&p["gap_min_mm"]), n(&p["gap_max_mm"]));
            // Two decimals; below 0.1 the third where it counts.
            let mm = |v: f64| {
                if v >= 0.1 {
                    return format!("{v:.2}");
                }
                let three = format!("{:.3}", (v * 1e3).round() / 1e3);
                three.strip_suffix('0').unwrap_or(&three).to_owned()
            };
            if most - least < 0.002 {
                assert!(
                    words.contains(&format!("the gap is {} mm everywhere", mm(most)).as_str()),
                    "{what}: {words:?}"
                );
                continue;
            }
            let low = if least < 0.0 {
                format!("too large by up to {} mm", mm(-least))
            } else {
                format!("least gap {} mm", mm(least))
            };
            for wanted in [low, format!("greatest gap {} mm", mm(most))] {
                assert!(words.contains(&wanted.as_str()), "{what}: {wanted} in {words:?}");
            }
            let number = p["outline"].as_str().unwrap().replace("outline-", "outline ");
            assert_eq!(titles.iter().filter(|t| t.starts_with("mark ") && t.contains(&number)).count(), 2, "{what}");
        }
    }
}

/// The lines of a group: colour, and whether the line is dashed.
fn lines(doc: &roxmltree::Document, group: &str) -> Vec<(String, bool)> {
    let g = doc.descendants().find(|e| e.attribute("id") == Some(group)).unwrap();
    let lines = g.children().filter(|e| e.has_tag_name("polyline"));
    lines.map(|l| (l.attribute("stroke").unwrap().to_owned(), l.has_attribute("stroke-dasharray"))).collect()
}

/// Places that bind and places with a large gap differ in colour and in line form. They appear only where the proof has
/// them.
#[test]
fn binding_and_loose_places_differ_in_colour_and_form() {
    let (binds, gapes) = (("#a11d33".to_owned(), false), ("#0b567c".to_owned(), true));
    for (settings, binding, gaping) in
        [(&[][..], 0, 0), (&["--gap", "0.3"], 0, 1), (&["--corners", "keep"], 6, 0), (&["--corners", "square"], 4, 0)]
    {
        let m = made("samples/bow-tie-key/key.svg", settings);
        let text = fs::read_to_string(m.folder.join("key-gap.svg")).unwrap();
        let doc = roxmltree::Document::parse(&text).unwrap();
        let all = lines(&doc, "JOINT");
        let count = |of: &(String, bool)| all.iter().filter(|l| *l == of).count();
        assert_eq!(
            (count(&binds), count(&gapes), all.len()),
            (binding, gaping, binding + gaping),
            "{settings:?}: {all:?}"
        );
    }
}

/// An error stops all files for the machine. The picture is written all the same, to show the place.
#[test]
fn the_picture_exists_with_an_error_but_not_without_a_proof() {
    let m = made("tests/codes/neck/bad.svg", &[]);
    assert!(m.document["proof"].is_null());
    assert!(!m.folder.join("bad-gap.svg").exists());
    let m = made("tests/codes/bed/bad.svg", &["--bed", "200x200"]);
    let errors = m.document["findings"].as_array().unwrap().iter().filter(|f| f["severity"] == "error").count();
    assert!(errors > 0 && !m.document["proof"].is_null(), "{}", m.document["findings"]);
    assert!(m.folder.join("bad-gap.svg").exists() && !m.folder.join("bad-face-1.dxf").exists());
}
