//! The router on the panel: margins worked out by hand, and remedies that work when applied.

use serde_json::Value;
use std::process::Command;

fn svg(shapes: &str) -> tempfile::NamedTempFile {
    let text = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="600mm" height="400mm" viewBox="0 0 600 400">{shapes}</svg>"#
    );
    let file = tempfile::Builder::new().suffix(".svg").tempfile().unwrap();
    std::fs::write(file.path(), text).unwrap();
    file
}

fn check(drawing: &tempfile::NamedTempFile, args: &[&str]) -> Value {
    let done = Command::new(env!("CARGO_BIN_EXE_letin"))
        .args(["check", "--json", drawing.path().to_str().unwrap()])
        .args(args)
        .output()
        .unwrap();
    assert!(matches!(done.status.code(), Some(0 | 1)), "{}", String::from_utf8_lossy(&done.stderr));
    serde_json::from_slice(&done.stdout).unwrap()
}

fn reported<'a>(v: &'a Value, code: &str) -> Vec<&'a Value> {
    v["findings"].as_array().unwrap().iter().filter(|f| f["code"] == code).collect()
}

/// The word after `before` in the text.
fn after(words: &str, before: &str) -> String {
    let rest = words.split(before).nth(1).unwrap_or_else(|| panic!("{before} is not in {words}"));
    rest.split(' ').next().unwrap().to_owned()
}

/// Round openings of radius 75 for the recess and 80.95 for the inlay. While the recess is cleared, the bush's centre at
/// the distance s from the middle has the margin (s² − 75² + base²)/2s. For base 75 this is s/2, so zero in the middle. For
/// base 90 the least margin is √(90² − 75²), at that distance. Around the inlay s is 70.95.
/// Source: none outside; the check does the sums anew.
#[test]
fn a_round_patch_by_hand() {
    let drawing = svg(r#"<circle cx="100" cy="100" r="68"/>"#);
    for (base, recess) in [(75.0, 0.0), (90.0, (90.0_f64 * 90.0 - 75.0 * 75.0).sqrt())] {
        let v = check(&drawing, &["--base", &base.to_string()]);
        let inlay = (70.95 * 70.95 - 80.95 * 80.95 + base * base) / (2.0 * 70.95);
        for (step, wanted) in [(0, recess), (1, inlay)] {
            let found = v["steps"][step]["tipping_margin_mm"].as_f64().unwrap();
            assert!((found - wanted).abs() < 0.05, "base {base}, step {step}: {found}, expected {wanted}");
        }
        assert_eq!(reported(&v, "base-tips").len(), usize::from(base < 80.0));
    }
}

/// A disc ⌀60 whose middle lies 60 from the left and bottom of its panel. The bush's centre goes as near to these edges as
/// 60 − (37 − 10) for the recess and 60 − (42.95 − 10) for the inlay, and the panel supports the base up to its edge. Where
/// the centre is 60 and 45 from the edges, the rim of the base goes through the corner of the panel, exactly 75 away.
/// Source: none outside; the check does the sums anew.
#[test]
fn a_rim_through_the_corner_of_the_panel_does_not_tip() {
    let drawing = svg(r#"<circle cx="100" cy="100" r="30"/>"#);
    let v = check(&drawing, &["--panel", "300x200", "--at", "60x60"]);
    for (step, wanted) in [(0, 33.0), (1, 27.05)] {
        let found = v["steps"][step]["tipping_margin_mm"].as_f64().unwrap();
        assert!((found - wanted).abs() < 0.05, "step {step}: {found}, expected {wanted}");
    }
    assert!(reported(&v, "base-tips").is_empty(), "{}", v["findings"]);
}

/// Plug ⌀30 in shoulder ⌀60, bush 20 and cutter 6, gaps 0.25 and 0.05, base 75. The board's openings have the radii 15 + 7
/// and 30 + 7, the inlay's 15 + 13 − 0.25 and 30 + 13 − 0.05. The base sweeps a disc of radius opening − smallest bush + 75;
/// in the inlay's plug opening the smallest bush is 12. A base that reaches beyond the far edge of its opening rests on its
/// whole rim, with margin 75. Only along the shoulder's line, 32.95 from the middle, it does not. There the margin is
/// (32.95² − 42.95² + 75²)/(2 · 32.95). Source: none outside; the check does the sums anew.
#[test]
fn the_round_piece_by_hand() {
    let drawing =
        svg(r#"<circle id="shoulder" cx="100" cy="100" r="30"/><circle id="plug" cx="100" cy="100" r="15"/>"#);
    let kit = tempfile::Builder::new().suffix(".toml").tempfile().unwrap();
    let bush = |outside: u32| format!("[[bush]]\noutside = {outside}\n\n");
    let rows: String = [12, 16, 20, 24, 27, 30, 32, 40].map(bush).concat();
    std::fs::write(kit.path(), rows + "[[cutter]]\ndiameter = 6\n").unwrap();
    let kit = ["--kit", kit.path().to_str().unwrap()];
    let v = check(&drawing, &[&["--plug", "plug", "--shoulder", "shoulder"], &kit[..]].concat());
    let near = |found: &Value, wanted: f64, within: f64| {
        let found = found.as_f64().unwrap();
        assert!((found - wanted).abs() < within, "{found}, expected {wanted}");
    };
    let bushes: Vec<f64> = v["steps"].as_array().unwrap().iter().map(|s| s["bush_mm"].as_f64().unwrap()).collect();
    assert_eq!(bushes, [20.0, 12.0, 32.0, 20.0, 20.0, 20.0]);
    near(&v["shouldered"]["left_mm2"], 0.0, 1e-3);
    for (panel, face, radius) in [(0, 1, 87.0), (0, 2, 102.0), (1, 1, 27.75 - 6.0 + 75.0), (1, 2, 42.95 - 10.0 + 75.0)]
    {
        let swept = &v["panels"][panel]["keep_clear"][face - 1];
        assert_eq!(swept["face"], face);
        let common = v["panels"][panel]["common_mm"].as_array().unwrap();
        for (i, sign) in [(0, -1.0), (1, -1.0), (2, 1.0), (3, 1.0)] {
            near(&swept["bounds_mm"][i], common[i % 2].as_f64().unwrap() + sign * radius, 0.005);
        }
        near(&swept["area_mm2"], std::f64::consts::PI * radius * radius, 3.0);
    }
    let far = (32.95 * 32.95 - 42.95 * 42.95 + 75.0 * 75.0) / (2.0 * 32.95);
    for (step, wanted) in [75.0, 75.0, 75.0, far, 75.0, 75.0].into_iter().enumerate() {
        near(&v["steps"][step]["tipping_margin_mm"], wanted, 0.03);
    }
    assert!(
        reported(&v, "base-tips").is_empty()
            && reported(&v, "clamp-room").is_empty()
            && reported(&v, "free-hand").is_empty()
    );
}

#[test]
fn the_sub_base_that_is_named_holds_and_no_smaller_step_does() {
    for shape in [
        r#"<circle cx="200" cy="200" r="68"/>"#,
        r#"<rect x="100" y="100" width="150" height="100" rx="20"/>"#,
        r#"<ellipse cx="200" cy="200" rx="120" ry="60"/>"#,
    ] {
        let drawing = svg(shape);
        let v = check(&drawing, &[]);
        let bases: Vec<f64> = reported(&v, "base-tips")
            .iter()
            .map(|f| after(f["help"].as_str().unwrap(), "set --base ").trim_end_matches('.').parse().unwrap())
            .collect();
        let base = bases.iter().copied().fold(0.0, f64::max);
        assert!(base > 75.0, "{shape}: {bases:?}");
        assert!(reported(&check(&drawing, &["--base", &base.to_string()]), "base-tips").is_empty(), "{shape}, {base}");
        assert!(
            !reported(&check(&drawing, &["--base", &(base - 5.0).to_string()]), "base-tips").is_empty(),
            "{shape}, {base}"
        );
    }
}

/// A large inlay is only followed along its edge, so the loose centre helps. The recess is cleared, so there it does not.
#[test]
fn a_loose_centre_helps_only_where_it_stays() {
    let drawing = svg(r#"<rect x="100" y="100" width="300" height="200" rx="20"/>"#);
    let v = check(&drawing, &[]);
    let mut found = reported(&v, "base-tips");
    found.sort_by_key(|f| f["message"].as_str().unwrap().contains("into opening-2"));
    let helps: Vec<&str> = found.iter().map(|f| f["help"].as_str().unwrap()).collect();
    assert_eq!(helps.len(), 2, "{helps:?}");
    assert!(helps[0].contains("does not help, because the middle is cleared away"), "{}", helps[0]);
    // The opening is 325.9 × 225.9. The centre is smaller by the bush and 2 mm per side.
    assert!(helps[1].contains("trim the loose piece from the opening to 281 × 181 mm"), "{}", helps[1]);
    let margin: f64 = after(helps[1], "The centre of the base is then ").parse().unwrap();
    assert!(margin >= 10.0 && helps[1].contains(" mm inside what supports it"), "{margin}");
}

#[test]
fn the_panel_that_is_named_has_room_for_clamps() {
    let drawing = svg(r#"<circle cx="100" cy="100" r="30"/>"#);
    for (turn, panel, base) in [
        ("none", "160x160", "75"),
        ("none", "150x190", "75"),
        ("left-right", "200x120", "130"),
        ("bottom-top", "120x200", "130"),
    ] {
        let check = |more: &[&str]| check(&drawing, &[&["--turn", turn, "--base", base], more].concat());
        let v = check(&["--panel", panel]);
        let told_of = reported(&v, "clamp-room");
        assert_eq!(told_of.len(), 1, "{turn} {panel}");
        let f = told_of[0];
        assert!(f["measured_mm"].as_f64().unwrap() < 20.0 && f["needed_mm"] == 20, "{f}");
        let size = after(f["help"].as_str().unwrap(), "Set --panel ");
        let size = size.trim_end_matches([',', '.']);
        assert!(reported(&check(&["--panel", size]), "clamp-room").is_empty(), "{turn} {size}");
        assert!(reported(&check(&[]), "clamp-room").is_empty());
    }
}

/// Effects of setting-up errors. Errors of the datum and of the panel's width have none. With edges 0.5 out of square and
/// the side stops 80 apart in height, the effect is 2 · 0.5/H · 80. The gaps allow 0.25 + 0.05.
/// Source: none outside; the check does the sums anew.
#[test]
fn errors_of_setting_up_by_hand() {
    let drawing =
        svg(r#"<circle id="shoulder" cx="100" cy="100" r="30"/><circle id="plug" cx="100" cy="100" r="15"/>"#);
    let v = check(&drawing, &["--plug", "plug", "--shoulder", "shoulder", "--panel", "480x240"]);
    let r = &v["registration"];
    assert_eq!((&r["shift_allowed_mm"], &r["settings"]), (&Value::from(0.3), &Value::from(2)));
    let fit: Vec<(&str, f64)> = r["sources"]
        .as_array()
        .unwrap()
        .iter()
        .map(|s| (s["source"].as_str().unwrap(), s["fit_mm"].as_f64().unwrap()))
        .collect();
    assert_eq!(fit, [("datum", 0.0), ("width", 0.0), ("squareness", 0.333333), ("setting", 0.1)]);
    let panel = &v["panels"][0];
    assert_eq!(panel["diagonal_mm"], 536.656315);
    let v_common = panel["common_mm"][1].clone();
    assert_eq!(panel["stops_mm"], serde_json::json!([[70, 0], [410, 0], [0, v_common]]));
    // A flush piece fits at any place.
    let v = check(&drawing, &["--only", "plug"]);
    assert!(v["registration"]["shift_allowed_mm"].is_null());
    let all = v["registration"]["sources"].as_array().unwrap();
    assert!(all.iter().all(|s| s["fit_mm"] == 0) && all.iter().any(|s| s["place_mm"] == 0.1));
}
