//! DXF files that are cut off, damaged or unusual. The reader adds a remark on what may be missing.

use letin::budget::Budget;
use letin::check::{Code, Severity};
use letin::drawing::outline::outlines;
use letin::drawing::{Drawing, Path, ReadError, ReadSettings, RemarkKind, dxf};
use letin::geom::Ring;
use std::f64::consts::PI;

fn read(bytes: &[u8]) -> Drawing {
    dxf::read(bytes, &ReadSettings::default(), &Budget::unlimited()).unwrap()
}

fn error(bytes: &[u8]) -> ReadError {
    dxf::read(bytes, &ReadSettings::default(), &Budget::unlimited()).unwrap_err()
}

/// A DXF file with these entities and an optional header variable. Code and value are separate words.
fn file(header: &str, entities: &str) -> String {
    let lines = |s: &str| s.split_whitespace().map(|w| format!("{w}\n")).collect::<String>();
    format!(
        "0\nSECTION\n2\nHEADER\n{}0\nENDSEC\n0\nSECTION\n2\nENTITIES\n{}0\nENDSEC\n0\nEOF\n",
        lines(header),
        lines(entities)
    )
}

fn paths(d: &Drawing) -> Vec<&Path> {
    d.shapes.iter().flat_map(|s| &s.paths).collect()
}

fn area(p: &Path) -> f64 {
    assert!(p.closed);
    Ring::new(p.segments.clone()).area()
}

fn tolerated(d: &Drawing) -> Vec<&str> {
    let what = d.remarks.iter().filter_map(|r| match &r.kind {
        RemarkKind::Tolerated { what } => Some(what.as_str()),
        _ => None,
    });
    what.collect()
}

fn damaged(d: &Drawing) -> Vec<&str> {
    let what = d.remarks.iter().filter_map(|r| match &r.kind {
        RemarkKind::Damaged { what } => Some(what.as_str()),
        _ => None,
    });
    what.collect()
}

fn doubts(d: &Drawing) -> Vec<&RemarkKind> {
    d.remarks.iter().map(|r| &r.kind).filter(|k| matches!(k, RemarkKind::SecondReader { .. })).collect()
}

fn close(a: f64, b: f64, by: f64) {
    assert!((a - b).abs() <= by, "{a} is not {b} within {by}");
}

/// The ellipse is centre + major·cos t + minor·sin t, where minor is the ratio times major turned left by 90°.
/// Source: Autodesk, *DXF Reference*, AutoCAD 2024, ELLIPSE.
#[test]
fn an_ellipse_may_have_its_longer_axis_second() {
    let d = read(file("", "0 ELLIPSE 10 5 20 7 11 20 21 0 40 2 41 0 42 6.283185307179586").as_bytes());
    let b = d.bounds.unwrap();
    for (is, wanted) in [(b.x0, -15.0), (b.x1, 25.0), (b.y0, -33.0), (b.y1, 47.0)] {
        close(is, wanted, 0.0025);
    }
    close(area(paths(&d)[0]), PI * 20.0 * 40.0, 0.5);
    assert!(tolerated(&d)[0].contains("ELLIPSE whose second axis is the longer one"));
    assert_eq!(doubts(&d), [] as [&RemarkKind; 0]);
    // An elliptical arc seen from above and from below: the formula gives each point.
    for (normal, side) in [("", 1.0), (" 210 0 220 0 230 -1", -1.0)] {
        let d = read(file("", &format!("0 ELLIPSE 10 5 20 7 11 20 21 0 40 2 41 0.3 42 2.1{normal}")).as_bytes());
        let p = paths(&d)[0];
        assert!(!p.closed);
        let on = |t: f64| (5.0 + 20.0 * t.cos(), 7.0 + side * 40.0 * t.sin());
        close(p.segments[0].start().x, on(0.3).0, 1e-9);
        close(p.segments.last().unwrap().end().y, on(2.1).1, 1e-9);
        for i in 0..=50 {
            let q = on(0.3 + 1.8 * f64::from(i) / 50.0);
            let off = p.segments.iter().map(|s| s.nearest(q.into()).0).fold(f64::INFINITY, f64::min);
            assert!(off <= letin::tolerance::CURVE_FIT, "{off}");
        }
        // The rest of the ellipse is not drawn.
        let far = p.segments.iter().map(|s| s.nearest(on(4.0).into()).0).fold(f64::INFINITY, f64::min);
        assert!(far > 10.0, "{far}");
    }
}

#[test]
fn a_closed_line_without_area_is_reported() {
    let there_and_back = "0 LWPOLYLINE 90 2 70 1 10 0 20 0 42 1 10 40 20 0 42 -1 0 CIRCLE 10 100 20 0 40 10";
    let d = read(file("", there_and_back).as_bytes());
    let found = outlines(&d.shapes, &Budget::unlimited()).unwrap();
    assert_eq!((found.outlines.len(), found.flat.len()), (1, 1));
    let f = &found.flat[0];
    assert!(f.whole && f.source.kind == "LWPOLYLINE");
    close(f.length, 2.0 * PI * 20.0, 1e-9);
    close((f.at.x - 20.0).hypot(f.at.y), 20.0, 1e-9);
    let findings = letin::check::outlines::findings(&found, 6.0);
    assert_eq!((findings[0].code, findings[0].severity), (Code::LeftOut, Severity::Warning));
    assert!(findings[0].message.contains("125.7 mm long encloses nothing") && findings[0].at.is_some());
    // Part of a line: an arc leaves a corner and returns along itself.
    let spur = "0 LWPOLYLINE 90 5 70 1 10 0 20 0 10 40 20 0 10 40 20 40 42 1 10 60 20 40 42 -1 10 40 20 40";
    let d = read(file("", &format!("{spur} 10 0 20 40").replace("90 5", "90 6")).as_bytes());
    let found = outlines(&d.shapes, &Budget::unlimited()).unwrap();
    assert_eq!(found.flat.len(), 1, "{found:?}");
    assert!(!found.flat[0].whole);
    close(found.flat[0].length, 2.0 * PI * 10.0, 1e-6);
    close(found.outlines[0].region.area(), 1600.0, 1e-6);
    // Without another outline there is no drawing to make, and the error names the line.
    let dir = tempfile::TempDir::new().unwrap();
    let path = dir.path().join("flat.dxf");
    std::fs::write(&path, file("9 $INSUNITS 70 4", there_and_back.split(" 0 CIRCLE").next().unwrap())).unwrap();
    let o =
        std::process::Command::new(env!("CARGO_BIN_EXE_letin")).args(["check", "--json"]).arg(&path).output().unwrap();
    let said = String::from_utf8_lossy(&o.stdout);
    let wanted = said.contains("holds no closed outline; LWPOLYLINE, line 15") && said.contains("encloses nothing");
    assert!(o.status.code() == Some(2) && wanted, "{said}");
    // A clean drawing has no such line.
    let d = read(file("", "0 CIRCLE 10 100 20 0 40 10").as_bytes());
    assert_eq!(outlines(&d.shapes, &Budget::unlimited()).unwrap().flat, []);
}

#[test]
fn a_file_that_breaks_off_is_a_warning_with_how_much_was_there() {
    let whole = file("9 $INSUNITS 70 4", "0 CIRCLE 5 10 8 0 10 0 20 0 40 15 0 CIRCLE 5 11 8 0 10 100 20 0 40 15");
    let pairs = |n: usize| whole.lines().take(n).map(|l| format!("{l}\n")).collect::<String>();
    let second = whole.lines().enumerate().filter(|l| l.1 == "CIRCLE").nth(1).unwrap().0;
    let cases = [
        // Between two entities, within one, within a pair, within a number.
        (pairs(second - 1), "after 1 record:", "CIRCLE, line"),
        (pairs(second + 7), "after 2 records:", "CIRCLE, line"),
        (pairs(second + 8), "after 2 records:", "CIRCLE, line"),
        (pairs(second + 11).trim_end().to_owned(), "after 2 records:", "may be incomplete"),
    ];
    for (text, count, last) in cases {
        let d = read(text.as_bytes());
        let [what] = damaged(&d)[..] else { panic!("{text}: {:?}", d.remarks) };
        assert!(what.contains("ends in the ENTITIES section") && what.contains(count) && what.contains(last), "{what}");
        let found = letin::check::reading::findings(&d, true);
        let reported = found.iter().find(|f| f.code == Code::LeftOut && f.message.contains("damaged")).unwrap();
        assert_eq!(reported.severity, Severity::Warning);
    }
    // Without any entity there is no verdict, and the error gives the reason.
    let e = error(pairs(second - 13).as_bytes());
    assert!(matches!(&e, ReadError::Refused { what } if what.contains("the rest is missing")), "{e:?}");
    let e = error(b"0\nSECTION\n2\nBLOCKS\n0\nBLOCK\n2\nA\n10\n0\n20\n0\n");
    assert!(matches!(&e, ReadError::Refused { what } if what.contains("BLOCKS section, after 1 record:")), "{e:?}");
}

#[test]
fn a_damaged_mark_of_a_record_is_a_warning() {
    let whole = file(
        "",
        "0 CIRCLE 5 10 8 0 10 0 20 0 40 15 0 CIRCLE 5 11 8 0 10 100 20 0 40 15 0 LINE 8 0 10 0 20 0 11 1 21 0",
    );
    assert_eq!(damaged(&read(whole.as_bytes())), [] as [&str; 0]);
    // Give each record mark in turn another group code. The record then merges with the one before it.
    let lines: Vec<&str> = whole.lines().collect();
    let mut tried = 0;
    for at in (0..lines.len()).step_by(2).filter(|&i| lines[i] == "0" && i > 0) {
        let mut harmed = lines.clone();
        harmed[at] = "7";
        let read = dxf::read((harmed.join("\n") + "\n").as_bytes(), &ReadSettings::default(), &Budget::unlimited());
        let what = lines[at + 1];
        match read {
            Err(_) => tried += 1,
            Ok(d) => {
                let reported = !damaged(&d).is_empty() || tolerated(&d).iter().any(|t| t.contains("EOF"));
                assert!(
                    reported || (what == "ENDSEC" && paths(&d).len() == 3),
                    "{what}, line {}: {:?}",
                    at + 1,
                    d.remarks
                );
                tried += 1;
            }
        }
    }
    assert_eq!(tried, 7);
    let named = |name: &str| whole.replacen("2\nENTITIES", &format!("2\n{name}"), 1);
    let d = dxf::read(named("ENTITXES").as_bytes(), &ReadSettings::default(), &Budget::unlimited());
    assert!(d.is_err(), "{d:?}");
}

#[test]
fn entities_of_the_block_of_the_model_space_are_read_once() {
    let circle = "0 CIRCLE 5 1F 8 KEEL 10 0 20 0 40 15";
    let with = |entities: &str, inside: &str| {
        let blocks =
            format!("0 BLOCK 2 *Model_Space 10 0 20 0 {inside} 0 ENDBLK 0 BLOCK 2 *Paper_Space 10 0 20 0 0 ENDBLK");
        read(file(&format!("9 $INSUNITS 70 4 0 ENDSEC 0 SECTION 2 BLOCKS {blocks}"), entities).as_bytes())
    };
    let d = with("", &format!("{circle} 0 LINE 10 0 20 0 11 9 21 0"));
    assert_eq!(paths(&d).len(), 2);
    assert_eq!(d.shapes[0].source.layer.as_deref(), Some("KEEL"));
    assert!(tolerated(&d)[0].contains("2 entities that only the block of the model space holds"), "{:?}", d.remarks);
    assert_eq!(doubts(&d), [] as [&RemarkKind; 0]);
    // An entity in both places counts once, with or without handles. An entity in one place only is read as well.
    assert_eq!(paths(&with(circle, circle)).len(), 1);
    let bare = "0 CIRCLE 8 KEEL 10 0 20 0 40 15";
    assert_eq!(paths(&with(bare, bare)).len(), 1);
    assert_eq!(paths(&with(circle, "0 CIRCLE 5 20 10 99 20 0 40 15")).len(), 2);
}
