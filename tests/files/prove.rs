//! `letin prove`: it proves the written files again and refuses every edit that matters.
//!
//! The outline is a fish without a mirror axis. The edits cover every vertex and every bulge of the openings. The test
//! measures the movement of an opening itself: it reads the edited file and compares edges with edges.

use crate::common::{Asked, unlimited};
use crate::saved::{LAYER, Made, letin, text};
use letin::drawing::{ReadSettings, dxf, outline::outlines, svg};
use letin::geom::edges::sampled;
use letin::geom::{Affine, Region};
use letin::text::svg_path;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use tempfile::TempDir;

/// An edit that moves an opening by more than this must be refused, mm.
const MATTERS: f64 = 0.02;

fn made(settings: &[&str]) -> Made {
    crate::saved::made("tests/fixtures/prove/fish.svg", settings)
}

/// The single opening of a DXF file.
fn opening(dxf_text: &str) -> Option<Region> {
    let d = dxf::read(dxf_text.as_bytes(), &ReadSettings::default(), &unlimited()).ok()?;
    one(d.shapes)
}

fn opening_in_svg(svg_text: &str) -> Option<Region> {
    one(svg::read(svg_text.as_bytes(), &ReadSettings::default(), &unlimited()).ok()?.shapes)
}

fn one(shapes: Vec<letin::drawing::Shape>) -> Option<Region> {
    let own: Vec<_> = shapes.into_iter().filter(|s| s.source.layer.as_deref() == Some(LAYER)).collect();
    let mut found = outlines(&own, &unlimited()).ok()?.outlines;
    (found.len() == 1).then(|| found.remove(0).region.into_inner())
}

/// True if an edge of one opening lies farther than [`MATTERS`] from the other. A coarse look comes before the fine one.
fn matters(a: &Region, b: &Region) -> bool {
    let (in_a, in_b) = (Asked::new(a), Asked::new(b));
    let off = |from: &Region, to: &Asked, step| sampled(from, step).any(|p| to.off(p) > MATTERS);
    [2.0, 0.1].iter().any(|&step| off(a, &in_b, step) || off(b, &in_a, step))
}

/// The SVG file with `region` as its opening, so that both files have the same edit.
fn redrawn(svg_text: &str, region: &Region, height: f64) -> String {
    let (before, after) = svg_text.split_once(" d=\"").unwrap();
    let (_, after) = after.split_once('"').unwrap();
    format!("{before} d=\"{}\"{after}", svg_path(&region.rings[0], height).unwrap())
}

/// The vertices and bulges of the LWPOLYLINE: group code and index of the line with the value.
fn places(dxf_text: &str) -> Vec<(i32, usize)> {
    let lines: Vec<&str> = dxf_text.lines().collect();
    let mut inside = false;
    let mut found = Vec::new();
    for at in (0..lines.len() - 1).step_by(2) {
        let code: i32 = lines[at].trim().parse().unwrap();
        match code {
            0 => inside = lines[at + 1].trim() == "LWPOLYLINE",
            10 | 20 | 42 if inside => found.push((code, at + 1)),
            _ => {}
        }
    }
    found
}

fn with_line(t: &str, at: usize, value: f64) -> String {
    let mut lines: Vec<String> = t.lines().map(str::to_owned).collect();
    lines[at] = format!("{value:?}");
    lines.join("\n") + "\n"
}

#[test]
fn what_was_written_is_proved() {
    for settings in [
        &[][..],
        &["--turn", "bottom-top"],
        &["--turn", "none"],
        &["--setup", "one"],
        &["--setup", "one", "--turn", "bottom-top", "--write-unit", "in", "--dxf", "r12"],
        &["--flatten", "0.05", "--write-unit", "in"],
        &["--corners", "square", "--dxf", "r12"],
        &["--corners", "keep"],
    ] {
        let m = made(settings);
        assert_eq!(m.against(), None, "{settings:?}");
    }
}

#[test]
fn the_command_shows_the_fit_and_the_exit_status() {
    let m = made(&[]);
    let folder = m.folder.to_str().unwrap();
    let o = letin(&["prove", folder]);
    assert_eq!(o.status.code(), Some(0), "{}", text(&o));
    assert!(
        text(&o).contains("fish.json: proved from fish-face-1.dxf, fish-face-1.svg") && text(&o).contains("gap 0.0")
    );
    assert!(!text(&o).contains("note: "), "{}", text(&o));
    let v: Value = serde_json::from_slice(&letin(&["prove", folder, "--json"]).stdout).unwrap();
    let (piece, promised) = (&v["documents"][0]["pieces"][0], &m.document()["proof"]["pieces"][0]);
    for key in ["gap_min_mm", "gap_max_mm", "recess_area_mm2", "inlay_area_mm2"] {
        let (a, b) = (piece[key].as_f64().unwrap(), promised[key].as_f64().unwrap());
        assert!((a - b).abs() < 1e-3, "{key}: {a} {b}");
    }
    // A changed hash is a note.
    m.put(
        "fish-face-1.dxf",
        &m.read("fish-face-1.dxf").replacen("  0\r\nSECTION", "999\r\nlooked at\r\n  0\r\nSECTION", 1),
    );
    m.put("fish-face-1.svg", &m.read("fish-face-1.svg").replacen("<svg", "<!-- looked at --><svg", 1));
    let o = letin(&["prove", folder]);
    assert_eq!(o.status.code(), Some(0), "{}", text(&o));
    for name in ["fish-face-1.dxf", "fish-face-1.svg"] {
        assert!(text(&o).contains(&format!("note: {name} was changed")), "{}", text(&o));
    }
    // The recess's file in place of the inlay's.
    m.put("fish-face-2.dxf", &m.read("fish-face-1.dxf"));
    let o = letin(&["prove", folder]);
    assert_eq!(o.status.code(), Some(2), "{}", text(&o));
    assert!(text(&o).contains("NOT proved"), "{}", text(&o));
    let o = letin(&["prove", folder, "--json"]);
    let v: Value = serde_json::from_slice(&o.stdout).unwrap();
    assert_eq!((o.status.code(), &v["documents"][0]["error"]["code"]), (Some(2), &Value::from("proof")));
    fs::remove_file(m.folder.join("fish-face-2.dxf")).unwrap();
    assert_eq!(letin(&["prove", folder]).status.code(), Some(2));
    let empty = TempDir::new().unwrap();
    let o = letin(&["prove", empty.path().to_str().unwrap()]);
    assert_eq!(o.status.code(), Some(2));
    assert!(text(&o).contains("no-document"), "{}", text(&o));
}

/// Every vertex moves just over the limit and well over it, in all four directions. Every bulge is reversed, straightened
/// and enlarged. The SVG gets the same edit, so the difference between the two files is not what fails.
#[test]
fn every_edit_of_a_dxf_that_matters_is_caught() {
    let m = made(&[]);
    let height = m.document()["panels"][0]["size_mm"][1].as_f64().unwrap();
    let (mut caught, mut too_little) = (0, 0);
    for face in ["fish-face-1", "fish-face-2"] {
        let (d, s) = (format!("{face}.dxf"), format!("{face}.svg"));
        let (dxf_text, svg_text) = (m.read(&d), m.read(&s));
        let before = opening(&dxf_text).unwrap();
        let mut vertices: Vec<usize> = Vec::new();
        for (code, at) in places(&dxf_text) {
            if code == 10 {
                vertices.push(0);
            }
            let value: f64 = dxf_text.lines().nth(at).unwrap().trim().parse().unwrap();
            let edits = match code {
                10 => vec![value + 0.022, value - 0.05],
                20 => vec![value - 0.022, value + 0.05],
                _ => vec![-value, 0.0, value * 1.02],
            };
            for edit in edits {
                let edited = with_line(&dxf_text, at, edit);
                let Some(after) = opening(&edited) else {
                    m.put(&d, &edited);
                    m.refused(&format!("{d}, line {at}: not an outline"));
                    continue;
                };
                if !matters(&before, &after) {
                    too_little += 1;
                    continue;
                }
                m.put(&d, &edited);
                m.put(&s, &redrawn(&svg_text, &after, height));
                m.refused(&format!("{d}, line {at}: {value} to {edit}"));
                caught += 1;
                if let Some(last) = vertices.last_mut() {
                    *last += 1;
                }
            }
        }
        m.put(&d, &dxf_text);
        m.put(&s, &svg_text);
        assert_eq!(m.against(), None, "the original files are proved");
        assert!(vertices.len() > 10 && vertices.iter().all(|n| *n > 0), "{face}: a vertex was not tried: {vertices:?}");
    }
    assert!(caught > 150, "{caught} edits, and {too_little} that moved too little");
}

/// Every number of the path, in the SVG file alone.
#[test]
fn every_edit_of_an_svg_that_matters_is_caught() {
    let m = made(&[]);
    let mut caught = 0;
    for name in ["fish-face-1.svg", "fish-face-2.svg"] {
        let whole = m.read(name);
        let before = opening_in_svg(&whole).unwrap();
        let (head, rest) = whole.split_once(" d=\"").unwrap();
        let (path, tail) = rest.split_once('"').unwrap();
        let words: Vec<&str> = path.split(' ').collect();
        for i in 0..words.len() {
            let edits: Vec<String> = match words[i] {
                // The sweep flag, three words after the two radii: reverse it.
                "0" | "1" if i >= 5 && words[i - 5] == "A" => vec![if words[i] == "0" { "1" } else { "0" }.to_owned()],
                w => w.parse::<f64>().map(|v| vec![format!("{:?}", v + 0.05)]).unwrap_or_default(),
            };
            for edit in edits {
                let mut other: Vec<String> = words.iter().map(|w| (*w).to_owned()).collect();
                other[i] = edit.clone();
                let edited = format!("{head} d=\"{}\"{tail}", other.join(" "));
                let Some(after) = opening_in_svg(&edited) else { continue };
                if !matters(&before, &after) {
                    continue;
                }
                m.put(name, &edited);
                m.refused(&format!("{name}, word {i}: {} to {edit}", words[i]));
                caught += 1;
            }
        }
        m.put(name, &whole);
    }
    assert!(caught > 60, "{caught}");
}

/// Gives both files of a face the same wrong opening.
fn put_both(m: &Made, face: &str, how: impl Fn(&Region) -> Region) {
    let height = m.document()["panels"][0]["size_mm"][1].as_f64().unwrap();
    let (d, s) = (format!("{face}.dxf"), format!("{face}.svg"));
    let (dxf_text, svg_text) = (m.read(&d), m.read(&s));
    let region = how(&opening(&dxf_text).unwrap());
    // Replace all pairs of the polyline.
    let lines: Vec<&str> = dxf_text.lines().collect();
    let at = places(&dxf_text);
    let (first, last) = (at[0].1 - 1, at[at.len() - 1].1);
    let mut new: Vec<String> = lines[..first].iter().map(|l| (*l).to_owned()).collect();
    for e in letin::text::halves(&region.rings[0]) {
        new.extend([" 10".to_owned(), format!("{:?}", e.start().x), " 20".to_owned(), format!("{:?}", e.start().y)]);
        if let letin::geom::Segment::Arc(a) = e {
            new.extend([" 42".to_owned(), format!("{:?}", a.bulge())]);
        }
    }
    new.extend(lines[last + 1..].iter().map(|l| (*l).to_owned()));
    m.put(&d, &(new.join("\n") + "\n"));
    m.put(&s, &redrawn(&svg_text, &region, height));
}

#[test]
fn a_wrong_opening_in_both_files_is_caught() {
    let about = |r: &Region| r.bounds().unwrap().center();
    let mirror = |r: &Region| r.under_similarity(Affine::new([-1.0, 0.0, 0.0, 1.0, 2.0 * about(r).x, 0.0]));
    let scaled = |r: &Region| {
        let c = about(r).to_vec2();
        r.under_similarity(Affine::translate(c) * Affine::scale(1.001) * Affine::translate(-c))
    };
    for face in ["fish-face-1", "fish-face-2"] {
        let m = made(&[]);
        put_both(&m, face, Region::clone);
        assert_eq!(m.against(), None, "rewritten without a change");
        put_both(&m, face, mirror);
        m.refused("mirrored");
        let m = made(&[]);
        put_both(&m, face, scaled);
        m.refused("a thousandth larger");
        for (dx, dy) in [(0.021, 0.0), (-0.021, 0.0), (0.0, 0.021), (0.0, -0.021)] {
            let m = made(&[]);
            put_both(&m, face, |r| r.under_similarity(Affine::translate((dx, dy))));
            m.refused("moved");
        }
        // Upside down, and then mirrored in one of its two files.
        let over = |r: &Region| r.under_similarity(Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, 2.0 * about(r).y]));
        let m = made(&[]);
        put_both(&m, face, over);
        m.refused("upside down");
        for kind in ["dxf", "svg"] {
            let m = made(&[]);
            let other = format!("{face}.{}", if kind == "dxf" { "svg" } else { "dxf" });
            let right = m.read(&other);
            put_both(&m, face, mirror);
            m.put(&other, &right);
            m.refused(&format!("mirrored in the {kind} file"));
        }
    }
}

#[test]
fn files_that_changed_places_are_caught() {
    let m = made(&[]);
    let swap = |kinds: &[&str]| {
        for k in kinds {
            let (a, b) = (format!("fish-face-1.{k}"), format!("fish-face-2.{k}"));
            let (x, y) = (m.read(&a), m.read(&b));
            m.put(&a, &y);
            m.put(&b, &x);
        }
    };
    swap(&["dxf"]);
    m.refused("the DXF files of the faces");
    swap(&["svg"]);
    m.refused("all files of the faces");
    swap(&["dxf", "svg"]);
    assert_eq!(m.against(), None);
    // Another unit in the file: centimetres, inches, none.
    let whole = m.read("fish-face-1.dxf");
    for unit in ["5", "1", "0"] {
        m.put("fish-face-1.dxf", &whole.replacen("$INSUNITS\r\n 70\r\n4", &format!("$INSUNITS\r\n 70\r\n{unit}"), 1));
        assert_ne!(m.read("fish-face-1.dxf"), whole, "the unit was found");
        m.refused("another unit");
    }
    m.put("fish-face-1.dxf", &whole);
    let s = m.read("fish-face-2.svg");
    m.put("fish-face-2.svg", &s.replacen("<path", "<path transform=\"scale(1.001)\"", 1));
    m.refused("scaled");
}

#[test]
fn a_document_that_promises_something_else_is_caught() {
    let m = made(&[]);
    let right = m.document();
    let try_with = |what: &str, edit: &dyn Fn(&mut Value)| {
        let mut v = right.clone();
        edit(&mut v);
        assert_ne!(v, right, "{what}");
        m.put("fish.json", &serde_json::to_string(&v).unwrap());
        m.refused(what);
    };
    let plus = |v: &mut Value, by: f64| *v = Value::from(v.as_f64().unwrap() + by);
    try_with("the place of one opening", &|v| plus(&mut v["openings"][0]["place"][4], 0.02));
    try_with("both places", &|v| {
        plus(&mut v["openings"][0]["place"][5], 0.02);
        plus(&mut v["openings"][1]["place"][5], 0.02);
    });
    try_with("a place that mirrors", &|v| v["openings"][1]["place"][0] = Value::from(-1));
    try_with("a place that stretches", &|v| v["openings"][1]["place"][0] = Value::from(2));
    try_with("another cutter", &|v| plus(&mut v["steps"][0]["cutter_mm"], 0.1));
    try_with("another bush", &|v| plus(&mut v["steps"][1]["bush_mm"], 0.1));
    try_with("the other face up", &|v| v["steps"][0]["face_up"] = Value::from(2));
    try_with("another gap", &|v| plus(&mut v["tools"]["gap_mm"], 0.03));
    try_with("a panel of another size", &|v| plus(&mut v["panels"][0]["size_mm"][0], 1.0));
    try_with("a better fit", &|v| v["proof"]["pieces"][0]["gap_max_mm"] = Value::from(0.01));
    try_with("a way out of the folder", &|v| v["openings"][0]["files"][0] = Value::from("../fish-face-1.dxf"));
    try_with("no proof", &|v| v["proof"] = Value::Null);
    try_with("no steps", &|v| v["steps"] = Value::Array(Vec::new()));
    m.put("fish.json", &serde_json::to_string(&right).unwrap());
    assert_eq!(m.against(), None);
}

/// Where the proof shows a place that binds or gapes, a finding reports it, and the other way round. All drawings of the
/// codes and the samples run with each way of treating corners.
#[test]
fn proof_and_findings_tell_of_the_same_places() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut drawings = vec![root.join("tests/fixtures/prove/fish.svg")];
    for sample in fs::read_dir(root.join("samples")).unwrap().map(|e| e.unwrap().path()) {
        // Only samples with a command; the others hold faulty drawings.
        let all = fs::read_dir(&sample).unwrap().map(|e| e.unwrap().path());
        let drawn = |p: &PathBuf| p.extension().is_some_and(|e| e == "svg") && !p.ends_with("face-1.svg");
        drawings.extend(all.filter(drawn).filter(|_| sample.join("command").is_file()));
    }
    for code in fs::read_dir(root.join("tests/codes")).unwrap() {
        let folder = code.unwrap().path();
        drawings.extend(["bad.svg", "good.svg"].map(|n| folder.join(n)).into_iter().filter(|p| p.is_file()));
    }
    drawings.sort();
    let (mut proved, mut misfits) = (0, 0);
    for drawing in &drawings {
        for mode in ["ease", "square", "keep"] {
            let o = letin(&["check", "--json", "--corners", mode, drawing.to_str().unwrap()]);
            let v: Value = serde_json::from_slice(&o.stdout).unwrap();
            let what = format!("{} {mode}", drawing.display());
            assert!(v["error"].is_null() || v["error"]["code"] != "proof", "{what}: {v}");
            for piece in v["proof"]["pieces"].as_array().into_iter().flatten() {
                proved += 1;
                misfits += agree(piece, v["findings"].as_array().unwrap(), mode, &what);
            }
        }
    }
    assert!(proved > 40 && misfits > 10, "{proved} pieces with {misfits} misfits");
}

/// Number of misfits of the piece.
fn agree(piece: &Value, findings: &[Value], mode: &str, what: &str) -> usize {
    let slack = if mode == "ease" { 0.005 } else { 0.02 };
    let own: Vec<&Value> = findings.iter().filter(|f| f["outline"] == piece["outline"]).collect();
    let fit = |severity: &str| own.iter().any(|f| f["code"] == "fit" && f["severity"] == severity);
    let corners = ["inside-corner", "outside-corner", "neck", "closed-gap"];
    let near = |m: &Value| {
        own.iter().any(|f| {
            let d = |i: usize| f["at_mm"][i].as_f64().unwrap_or(1e9) - m["at_mm"][i].as_f64().unwrap();
            let reach = f["short_mm"].as_f64().or(f["needed_mm"].as_f64()).unwrap_or(0.0) + 1.0;
            corners.contains(&f["code"].as_str().unwrap()) && d(0).hypot(d(1)) <= reach
        })
    };
    let mut misfits = 0;
    for (key, limit, severity) in [("binds", slack, "error"), ("gapes", 0.15 + slack, "warning")] {
        let all: Vec<&Value> = piece[key].as_array().unwrap().iter().collect();
        let beyond: Vec<_> = all.into_iter().filter(|m| m["mm"].as_f64().unwrap().abs() > limit).collect();
        misfits += beyond.len();
        let untold = beyond.iter().any(|m| mode == "ease" || !near(m));
        assert_eq!(untold, fit(severity), "{what}, {key}: {beyond:?}");
    }
    misfits
}
