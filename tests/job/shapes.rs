//! `letin shape` and `letin keys`: the program reads their files with the expected size and area.

use serde_json::Value;
use std::f64::consts::PI;
use std::path::Path;
use std::process::{Command, Output};

fn letin(dir: &Path, args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_letin")).args(args).current_dir(dir).output().unwrap()
}

fn json(out: &Output) -> Value {
    serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("{e}: {}", String::from_utf8_lossy(&out.stderr)))
}

/// Areas by closed forms. Arcs approximate an ellipse within 0.0025 mm. The key of 80 × 40 with a waist of 20 has the area
/// L (W + w) / 2 = 2400. Source: none outside; the check does the sums anew.
#[test]
fn shapes_are_read_back_with_their_size_and_area() {
    let rounded = 80.0 * 40.0 - (4.0 - PI) * 64.0;
    // The circle through the corners of a hexagon has the hexagon's edge length as its radius.
    let hexagon = 1.5 * 3f64.sqrt() * 400.0;
    for (args, size, area, within) in [
        (&["disc", "40"][..], Some([40.0, 40.0]), PI * 400.0, 1e-6),
        (&["oval", "80x50"], Some([80.0, 50.0]), PI * 1000.0, 0.3),
        (&["lozenge", "90x60"], Some([90.0, 60.0]), 2700.0, 1e-6),
        (&["rectangle", "80x40"], Some([80.0, 40.0]), 3200.0, 1e-6),
        (&["rectangle", "80x40", "--corner", "8"], Some([80.0, 40.0]), rounded, 1e-6),
        (&["polygon", "40", "--sides", "6"], None, hexagon, 1e-6),
        (&["bow-tie", "80x40"], Some([80.0, 40.0]), 2400.0, 1e-6),
        (&["bow-tie", "2inx1in", "--waist", "1/2in"], Some([50.8, 25.4]), 50.8 * 38.1 / 2.0, 1e-6),
    ] {
        for file in ["shape.svg", "shape.dxf"] {
            let dir = tempfile::tempdir().unwrap();
            let made = letin(dir.path(), &[&["shape"], args, &["--out", file]].concat());
            assert_eq!(made.status.code(), Some(0), "{args:?}: {}", String::from_utf8_lossy(&made.stderr));
            let read = json(&letin(dir.path(), &["check", file, "--json"]));
            assert_eq!(read["drawing"]["unit"], "mm", "{args:?}");
            for (k, want) in size.iter().flatten().enumerate() {
                let found = read["drawing"]["size_mm"][k].as_f64().unwrap();
                assert!((found - want).abs() < 0.003, "{args:?} {file}: {found}, expected {want}");
            }
            let found = read["outlines"][0]["area_mm2"].as_f64().unwrap();
            assert!((found - area).abs() < within, "{args:?} {file}: {found}, expected {area}");
        }
    }
}

#[test]
fn nothing_is_replaced_and_nonsense_is_refused() {
    let dir = tempfile::tempdir().unwrap();
    assert_eq!(letin(dir.path(), &["shape", "disc", "40", "--out", "a.svg"]).status.code(), Some(0));
    assert_eq!(letin(dir.path(), &["shape", "disc", "50", "--out", "a.svg"]).status.code(), Some(2));
    assert_eq!(letin(dir.path(), &["shape", "disc", "50", "--out", "a.svg", "--force"]).status.code(), Some(0));
    for args in [
        &["shape", "disc", "-4"][..],
        &["shape", "oval", "40"],
        &["shape", "rectangle", "40x20", "--corner", "12"],
        &["shape", "polygon", "40", "--sides", "2"],
        &["shape", "bow-tie", "80x40", "--waist", "50"],
        &["shape", "lozenge", "40x20", "--out", "a.txt"],
        &["keys", "--length", "600", "--board", "30", "--count", "400"],
        &["keys", "--length", "1/2", "--board", "30"],
        &["keys", "--length", "0", "--board", "30"],
    ] {
        let out = letin(dir.path(), args);
        assert_eq!(out.status.code(), Some(2), "{args:?}: {}", String::from_utf8_lossy(&out.stdout));
        assert!(!out.stderr.is_empty(), "{args:?}");
    }
}

#[test]
fn keys_for_a_split_go_through_make() {
    let dir = tempfile::tempdir().unwrap();
    let planned = letin(dir.path(), &["keys", "--length", "600", "--board", "30", "--json", "--out", "keys.svg"]);
    assert_eq!(planned.status.code(), Some(0), "{}", String::from_utf8_lossy(&planned.stderr));
    let made = letin(dir.path(), &["make", "keys.svg", "--corners", "square", "--json"]);
    assert_eq!(made.status.code(), Some(0), "{}", String::from_utf8_lossy(&made.stderr));
    let made = json(&made);
    let outlines = made["outlines"].as_array().unwrap();
    assert!(outlines.len() >= 2, "{}", outlines.len());
    let area = |o: &Value| o["area_mm2"].as_f64().unwrap();
    assert!(outlines.iter().all(|o| (area(o) - area(&outlines[0])).abs() < 1e-6));
}
