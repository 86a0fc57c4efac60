//! Extra content beside the openings, in files and in the folder. `letin prove` reports it, or refuses what would be cut.

use crate::saved::*;
use serde_json::Value;
use std::fs;
use std::process::Command;

/// An extra line on a foreign layer is a warning with its name. An extra line that the machine would cut is refused.
#[test]
fn what_lies_beside_the_openings_is_reported() {
    let m = made("tests/fixtures/prove/fish.svg", &[]);
    let name = "fish-face-1.dxf";
    let whole = m.read(name);
    let lines: Vec<&str> = whole.lines().map(str::trim).collect();
    let put = |entities: &str| {
        let end = lines.len() - lines.iter().rev().position(|l| *l == "ENTITIES").unwrap();
        let mut all: Vec<&str> = lines[..end].to_vec();
        let own = entity(entities);
        all.extend(own.lines());
        all.extend(&lines[end..]);
        m.put(name, &(all.join("\n") + "\n"));
    };
    put("0 CIRCLE 8 RUDDER 10 40 20 40 40 5");
    let p = m.holds("a circle on a layer of its own");
    assert!(p.warnings.len() == 1 && p.warnings[0].contains("1 x CIRCLE on layer RUDDER"), "{:?}", p.warnings);
    put("0 LINE 8 RUDDER 10 40 20 40 11 50 21 50 0 TEXT 8 RUDDER 10 1 20 1 40 3 1 port");
    let p = m.holds("a line and a text");
    assert!(p.warnings.len() == 1 && p.notes.iter().any(|w| w.contains("text (TEXT)")), "{p:?}");
    // The command prints the warning and counts it with `--fail-on warning`.
    let folder = m.folder.to_str().unwrap();
    let o = letin(&["prove", folder]);
    assert!(o.status.code() == Some(0) && text(&o).contains("  warning: fish-face-1.dxf: "), "{}", text(&o));
    assert_eq!(letin(&["prove", folder, "--fail-on", "warning"]).status.code(), Some(1));
    let v: Value = serde_json::from_slice(&letin(&["prove", folder, "--json"]).stdout).unwrap();
    assert_eq!(v["documents"][0]["warnings"].as_array().unwrap().len(), 1);
    // On the layer of the openings the machine would cut it.
    put(&format!("0 CIRCLE 8 {LAYER} 10 40 20 40 40 5"));
    assert!(m.refused("a circle to cut").contains("the one near 40.00, 40.00 mm matches none of them"));
    put(&format!("0 LINE 8 {LAYER} 10 40 20 40 11 50 21 50"));
    assert!(m.refused("a line to cut").contains("does not close"));
    // Beyond the panel it changes the bounding box that machines count from.
    put("0 CIRCLE 8 RUDDER 10 -40 20 40 40 5");
    assert!(m.refused("beyond the panel").contains("its lines reach from -45.000"));
    // Remove each edge of the panel, or put it on the other layer.
    for (layer, other) in [("REFERENCE_EDGE", "FREE_EDGE"), ("FREE_EDGE", "REFERENCE_EDGE")] {
        let places: Vec<usize> = (0..lines.len() - 1).filter(|&i| lines[i] == "8" && lines[i + 1] == layer).collect();
        assert_eq!(places.len(), if layer == "FREE_EDGE" { 1 } else { 3 });
        for at in places {
            let mut on_other = lines.clone();
            on_other[at + 1] = other;
            m.put(name, &(on_other.join("\n") + "\n"));
            let p = m.holds("an edge on another layer");
            assert!(p.warnings.len() == 2, "{:?}", p.warnings);
            let start = (0..at).rev().find(|&i| i % 2 == at % 2 && lines[i] == "0").unwrap();
            let end = (at..lines.len()).find(|&i| i % 2 == at % 2 && lines[i] == "0").unwrap();
            let dropped: Vec<&str> = lines[..start].iter().chain(&lines[end..]).copied().collect();
            m.put(name, &(dropped.join("\n") + "\n"));
            let p = m.holds("an edge dropped");
            let [w] = &p.warnings[..] else { panic!("{:?}", p.warnings) };
            assert!(w.contains("edge is missing from layer") && w.contains(layer), "{w}");
        }
    }
    m.put(name, &whole);
    // The same in SVG, and in one set-up, where no file has lines for the edges.
    let face = m.read("fish-face-2.svg");
    m.put("fish-face-2.svg", &face.replace("</svg>", "<g id=\"RUDDER\"><path d=\"M9 9h5v5z\"/></g></svg>"));
    let p = m.holds("a path in a group of its own");
    assert!(p.warnings.len() == 1 && p.warnings[0].contains("1 x path on layer RUDDER"), "{:?}", p.warnings);
    m.put("fish-face-2.svg", &face);
    let one = made("tests/fixtures/prove/fish.svg", &["--setup", "one"]);
    let face = one.read("fish-face-1.svg");
    let line = "<g id=\"REFERENCE_EDGE\"><path d=\"M9 9h5v5z\"/></g></svg>";
    one.put("fish-face-1.svg", &face.replace("</svg>", line));
    assert_eq!(one.holds("a line for an edge").warnings.len(), 1);
    // Without any layer of the program.
    m.put(name, &whole.replace(LAYER, "0"));
    assert!(m.refused("no layer").contains("nothing in it is on layer OPENING_CUT_INSIDE: its layers are 0"));
}

/// Release 12 has no standard place for the unit. If another program drops the written unit, the document supplies it. A
/// different unit in the file counts.
#[test]
fn release_12_without_a_unit_is_read_in_that_of_the_document() {
    for (unit, code) in [("mm", "4"), ("in", "1")] {
        let m = made("tests/fixtures/prove/fish.svg", &["--dxf", "r12", "--write-unit", unit]);
        let whole = m.read("fish-face-1.dxf").replace("\r\n", "\n");
        let stated = format!("  9\n$INSUNITS\n 70\n{code}\n");
        assert!(whole.contains(&stated));
        m.put("fish-face-1.dxf", &whole.replace(&stated, ""));
        m.holds("without a unit");
        m.put("fish-face-1.dxf", &whole.replace(&stated, "  9\n$INSUNITS\n 70\n5\n"));
        m.refused("in centimetres");
    }
}

#[test]
fn an_offset_that_the_document_states_wrongly_is_refused() {
    for (drawing, settings) in [
        ("tests/fixtures/prove/fish.svg", &[][..]),
        ("samples/fish-in-hatch/fish-plug.svg", &["--plug", "plug", "--shoulder", "shoulder", "--kit", "metric"][..]),
    ] {
        let m = made(drawing, settings);
        let right = m.document();
        let json = format!("{}.json", m.name);
        let mut tried = 0;
        for i in 0..right["openings"].as_array().unwrap().len() {
            if right["openings"][i]["duty"] == "clearing" {
                continue;
            }
            let mut v = right.clone();
            v["openings"][i]["offset_mm"] = Value::from(right["openings"][i]["offset_mm"].as_f64().unwrap() + 0.01);
            m.put(&json, &v.to_string());
            assert!(m.refused("an opening's offset").contains("states an offset of"));
            tried += 1;
        }
        assert!(tried >= 2);
        let mut v = right.clone();
        v["tools"]["recess"]["offset_mm"] = Value::from(1.0);
        m.put(&json, &v.to_string());
        m.refused("the tools' offset");
        m.put(&json, &right.to_string());
        m.holds("as it was");
    }
}

#[test]
fn a_document_that_is_cut_short_is_reported_beside_a_whole_one() {
    let m = made("tests/fixtures/prove/fish.svg", &[]);
    let whole = m.read("fish.json");
    let folder = m.folder.to_str().unwrap();
    for part in [whole.len() - 3, whole.len() / 2, 200] {
        m.put("tail.json", &whole[..part]);
        let o = letin(&["prove", folder]);
        assert_eq!(o.status.code(), Some(2), "{}", text(&o));
        let said = text(&o);
        assert!(said.contains("fish.json: proved") && said.contains("tail.json: NOT proved"), "{said}");
        assert!(flowing(&o).contains("the document is cut short or damaged"), "{said}");
    }
    // A foreign document cut short gives a note, and the status stays 0. A complete one gives no note.
    m.put("tail.json", "{\"name\": \"others\", \"list\": [1, 2");
    let o = letin(&["prove", folder]);
    assert!(o.status.code() == Some(0) && text(&o).contains("note: tail.json is skipped"), "{}", text(&o));
    m.put("tail.json", "{\"name\": \"others\"}");
    assert!(!text(&letin(&["prove", folder])).contains("tail.json"));
    fs::remove_file(m.folder.join("tail.json")).unwrap();
    // The only document, cut so short that the program's name is lost. The files beside it identify it.
    m.put("fish.json", &whole[..10]);
    let o = letin(&["prove", folder]);
    assert!(o.status.code() == Some(2) && text(&o).contains("fish.json: NOT proved"), "{}", text(&o));
}

/// A document beyond 64 MiB is refused before parsing. Below that, any document needs less than 1 GiB of memory.
#[cfg(unix)]
#[test]
fn a_document_of_any_size_is_read_or_refused_within_a_gibibyte() {
    let m = made("tests/fixtures/prove/fish.svg", &[]);
    let folder = m.folder.to_str().unwrap();
    let limited = || {
        let command = "ulimit -v 1048576; exec \"$0\" prove \"$1\"";
        Command::new("sh").args(["-c", command, env!("CARGO_BIN_EXE_letin"), folder]).output().unwrap()
    };
    let head = "{\"schema\":1,\"tool\":{\"name\":\"letin\",\"version\":\"0\"},";
    m.put("large.json", &format!("{head}\"x\":\"{}\"}}", " ".repeat(240 << 20)));
    let o = limited();
    assert!(o.status.code() == Some(2) && flowing(&o).contains("larger than 64 MiB"), "{}", text(&o));
    // Outline shapes as empty strings: the largest memory for their size.
    let strings = "\"\",".repeat((63 << 20) / 3);
    let outlines = format!("[{{\"outline\":\"outline-1\",\"drawn\":[{strings}\"\"],\"made\":[]}}]");
    m.put("large.json", &format!("{head}\"proof\":{{\"pieces\":[],\"outlines\":{outlines}}}}}"));
    let o = limited();
    assert!(o.status.code() == Some(2) && text(&o).contains("large.json: NOT proved"), "{}", text(&o));
    assert!(text(&o).contains("fish.json: proved"), "{}", text(&o));
    // A huge number of findings.
    let finding = "{\"mark\":1,\"code\":\"fit\",\"severity\":\"note\",\"message\":\"\",\"help\":\"\"}";
    let findings = format!("{finding},").repeat((63 << 20) / (finding.len() + 1));
    m.put("large.json", &format!("{head}\"findings\":[{findings}{finding}]}}"));
    let o = limited();
    assert!(o.status.code() == Some(2) && flowing(&o).contains("at most 1000000 entries"), "{}", text(&o));
}
