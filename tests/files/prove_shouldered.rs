//! A shouldered piece is proved from its files. Every edit that matters is refused.

use crate::saved::{Made, letin};
use serde_json::Value;
use std::fs;
use tempfile::TempDir;

fn made(settings: &[&str]) -> Made {
    let settings = [&["--plug", "plug", "--shoulder", "shoulder", "--kit", "metric"][..], settings].concat();
    crate::saved::made("samples/fish-in-hatch/fish-plug.svg", &settings)
}

/// The reason of the command against the files; `None` where they are proved.
fn against(m: &Made) -> Option<String> {
    let o = letin(&["prove", "--json", m.folder.to_str().unwrap()]);
    let v: Value = serde_json::from_slice(&o.stdout).unwrap();
    let error = &v["documents"][0]["error"]["message"];
    assert_eq!(o.status.code() == Some(2), error.is_string(), "{v}");
    error.as_str().map(str::to_owned)
}

#[track_caller]
fn refused(m: &Made, what: &str) {
    assert!(against(m).is_some(), "{what}: proved despite the edit");
}

#[test]
fn what_was_written_is_proved() {
    for settings in [
        &[][..],
        &["--setup", "one"],
        &["--turn", "bottom-top", "--pair", "auto"],
        &["--turn", "bottom-top", "--setup", "one", "--write-unit", "in", "--dxf", "r12"],
        &["--corners", "keep"],
        &["--corners", "square", "--pair", "auto", "--setup", "one"],
        &["--flatten", "0.02"],
        &["--turn", "none"],
        &["--turn", "none", "--pair", "auto"],
    ] {
        assert_eq!(against(&made(settings)), None, "{settings:?}");
    }
}

/// The recess follows the outline as made, and the inlay lies the gap inside it.
#[test]
fn both_pieces_are_compared_with_the_outline_as_made() {
    let m = made(&[]);
    let document = m.document();
    let pieces = document["proof"]["pieces"].as_array().unwrap();
    assert_eq!(pieces.len(), 2);
    for p in pieces {
        let gap = p["gap_max_mm"].as_f64().unwrap();
        assert!(p["recess_off_made_mm"].as_f64().unwrap() < 0.005, "{p}");
        assert!((p["inlay_off_made_mm"].as_f64().unwrap() - gap).abs() < 0.005, "{p}");
    }
}

/// The four line openings, exchanged in pairs.
#[test]
fn files_that_changed_places_are_caught() {
    let m = made(&[]);
    let names = ["fish-plug-face-1", "fish-plug-face-2", "fish-plug-panel-2-face-1", "fish-plug-panel-2-face-2"];
    for (i, a) in names.iter().enumerate() {
        for b in &names[i + 1..] {
            let swap = || {
                for kind in ["dxf", "svg"] {
                    let (a, b) = (format!("{a}.{kind}"), format!("{b}.{kind}"));
                    let (x, y) = (m.read(&a), m.read(&b));
                    m.put(&a, &y);
                    m.put(&b, &x);
                }
            };
            swap();
            refused(&m, &format!("{a} and {b}"));
            swap();
        }
    }
    assert_eq!(against(&m), None);
    let s = m.read("fish-plug-panel-2-face-1.svg");
    m.put("fish-plug-panel-2-face-1.svg", &s.replacen("<path", "<path transform=\"scale(1.001)\"", 1));
    refused(&m, "one file a thousandth larger");
}

#[test]
fn a_document_that_says_something_else_is_caught() {
    for settings in [&[][..], &["--pair", "auto"]] {
        let m = made(settings);
        let right: Value = serde_json::from_str(&m.read("fish-plug.json")).unwrap();
        let try_with = |what: &str, edit: &dyn Fn(&mut Value)| {
            let mut v = right.clone();
            edit(&mut v);
            assert_ne!(v, right, "{what}");
            m.put("fish-plug.json", &serde_json::to_string(&v).unwrap());
            refused(&m, &format!("{settings:?}: {what}"));
        };
        let plus = |v: &mut Value, by: f64| *v = Value::from(v.as_f64().unwrap() + by);
        let steps = right["steps"].as_array().unwrap();
        for (i, step) in steps.iter().enumerate().filter(|s| s.1["purpose"] == "line") {
            try_with("the other face up", &|v| {
                v["steps"][i]["face_up"] = Value::from(3 - step["face_up"].as_u64().unwrap());
            });
            let other = if step["edges"][0] == "left" { "right" } else { "left" };
            try_with("another edge", &|v| v["steps"][i]["edges"][0] = Value::from(other));
            try_with("another cutter", &|v| plus(&mut v["steps"][i]["cutter_mm"], 0.1));
        }
        try_with("the place of one opening", &|v| plus(&mut v["openings"][0]["place"][4], 0.05));
        try_with("another gap", &|v| plus(&mut v["tools"]["gap_mm"], 0.03));
        try_with("another gap of the plug", &|v| plus(&mut v["shouldered"]["plug_gap_mm"], 0.03));
        try_with("plug and shoulder changed about", &|v| {
            v["outlines"][0]["role"] = Value::from("plug");
            v["outlines"][1]["role"] = Value::from("shoulder");
        });
        try_with("no plug", &|v| v["outlines"][1]["role"] = Value::Null);
        try_with("a better fit", &|v| plus(&mut v["proof"]["pieces"][0]["gap_max_mm"], -0.05));
        // A bush larger than that of the plug's line cuts into the plug. In a clearing opening this takes a very large bush.
        let clears = |s: &Value| s["purpose"] == "clearing";
        let own = steps.iter().position(|s| clears(s) && s["opening"] == steps[0]["opening"]);
        let (clearing, larger) = match own {
            Some(i) => (i, steps[0]["bush_mm"].as_f64().unwrap() + 1.0),
            None => (steps.iter().position(clears).unwrap(), 200.0),
        };
        try_with("clearing that cuts the plug", &|v| v["steps"][clearing]["bush_mm"] = Value::from(larger));
        m.put("fish-plug.json", &serde_json::to_string(&right).unwrap());
        assert_eq!(against(&m), None);
    }
}

const TWO: &str = r#"<svg xmlns="http://www.w3.org/2000/svg" width="300mm" height="200mm" viewBox="0 0 300 200">
<g id="shoulders"><circle id="s1" cx="60" cy="60" r="30"/><circle id="s2" cx="180" cy="90" r="35"/></g>
<g id="plugs"><circle id="p2" cx="185" cy="92" r="17"/><circle id="p1" cx="60" cy="60" r="15"/></g></svg>"#;

/// Two pieces in one drawing. Each plug finds its shoulder. All panels have one size and one common point: the centre of
/// the bounding box of both shoulders, from (30, 75) to (215, 170). Both pieces are proved.
#[test]
fn several_pieces_in_one_drawing() {
    let dir = TempDir::new().unwrap();
    let (drawing, folder) = (dir.path().join("two.svg"), dir.path().join("out"));
    fs::write(&drawing, TWO).unwrap();
    let drawing = drawing.to_str().unwrap();
    let args = ["--plug", "plugs", "--shoulder", "shoulders", "--kit", "metric", "--json"];
    let o = letin(&[&["make", drawing, "--out", folder.to_str().unwrap()], &args[..]].concat());
    assert_eq!(o.status.code(), Some(0), "{}", String::from_utf8_lossy(&o.stderr));
    let v: Value = serde_json::from_slice(&o.stdout).unwrap();
    assert_eq!(v["then"][0]["part"], "piece-2");
    let roles = |v: &Value| -> Vec<(String, String)> {
        let word = |o: &Value, key: &str| o[key].as_str().unwrap().to_owned();
        v["outlines"].as_array().unwrap().iter().map(|o| (word(o, "source"), word(o, "role"))).collect()
    };
    let both = |s: &str, p: &str| [(s.to_owned(), "shoulder".to_owned()), (p.to_owned(), "plug".to_owned())];
    assert_eq!((roles(&v), roles(&v["then"][0])), (both("s2", "p2").to_vec(), both("s1", "p1").to_vec()));
    let panels: Vec<&Value> = [&v, &v["then"][0]].iter().flat_map(|v| v["panels"].as_array().unwrap()).collect();
    for p in &panels {
        assert_eq!((&p["size_mm"], &p["common_mm"]), (&panels[0]["size_mm"], &panels[0]["common_mm"]));
    }
    // Openings for the board lie as drawn: both pieces have the same shift.
    let place = &v["openings"][0]["place"];
    assert_eq!(place, &v["then"][0]["openings"][0]["place"]);
    let at =
        |i: usize, middle: f64| place[4 + i].as_f64().unwrap() + middle - panels[0]["common_mm"][i].as_f64().unwrap();
    assert!(at(0, 122.5).abs() < 1e-6 && at(1, 200.0 - 90.0 + 12.5).abs() < 1e-6, "{place}");
    let o = letin(&["prove", "--json", folder.to_str().unwrap()]);
    let proved: Value = serde_json::from_slice(&o.stdout).unwrap();
    let all = proved["documents"].as_array().unwrap();
    assert!(all.len() == 2 && all.iter().all(|d| d["proved"] == true), "{proved}");
    // Named one by one, the pieces are the same as named by layer.
    let named = ["--plug", "p1", "--plug", "p2", "--shoulder", "s1", "--shoulder", "s2", "--kit", "metric", "--json"];
    let o = letin(&[&["check", drawing], &named[..]].concat());
    let w: Value = serde_json::from_slice(&o.stdout).unwrap();
    assert_eq!((&w["steps"], &w["then"][0]["steps"]), (&v["steps"], &v["then"][0]["steps"]));
    for (plug, shoulder) in [(&["p1", "p2"][..], &["s1"][..]), (&["p1", "s2"], &["s1", "p2"])] {
        let mut args = vec!["check", drawing, "--json"];
        plug.iter().for_each(|p| args.extend(["--plug", p]));
        shoulder.iter().for_each(|s| args.extend(["--shoulder", s]));
        let o = letin(&args);
        let v: Value = serde_json::from_slice(&o.stdout).unwrap();
        assert_eq!((o.status.code(), &v["error"]["code"]), (Some(2), &Value::from("not-one")), "{v}");
    }
}
