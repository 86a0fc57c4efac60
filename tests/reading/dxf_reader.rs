//! The DXF reader, compared with files of another program, with the published format, and with files that break the rules.
//!
//! The Python library `ezdxf` 1.4.5 wrote the fixtures, in R12, R2000, R2010 and R2018. `fixtures/dxf/make.py` holds their
//! shapes. Areas follow from the elementary formulas beside each check.
//! Source: Autodesk, *DXF Reference*, AutoCAD 2024. Each check names the entity.

use letin::budget::Budget;
use letin::drawing::{Drawing, Path, ReadError, ReadSettings, RemarkKind, Shape, Unit, dxf, join};
use letin::geom::{Ring, Segment};
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

/// Every edge starts at the end of the edge before, to the last bit. Closed paths return to their start. The ends of arcs
/// lie on their circles.
fn assert_whole(d: &Drawing) {
    for p in paths(d) {
        assert!(p.segments.windows(2).all(|w| w[0].end() == w[1].start()), "{p:?}");
        if p.closed {
            assert_eq!(p.segments[0].start(), p.segments.last().unwrap().end());
        }
        for s in &p.segments {
            assert!(s.is_finite() && s.length() > 0.0);
            if let Segment::Arc(a) = s {
                assert!(((a.start - a.center).hypot() - a.radius).abs() < 1e-8, "{a:?}");
                assert!(((a.end - a.center).hypot() - a.radius).abs() < 1e-8, "{a:?}");
            }
        }
    }
}

fn left_out(d: &Drawing) -> Vec<(&str, usize, bool)> {
    let left = d.remarks.iter().filter_map(|r| match &r.kind {
        RemarkKind::LeftOut { what, count, harmless } => Some((what.as_str(), *count, *harmless)),
        _ => None,
    });
    left.collect()
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

/// Area of the 120 × 80 plate with corner radius 10 in all rounded fixtures.
const ROUNDED: f64 = 120.0 * 80.0 - (4.0 - PI) * 100.0;

// ---- fixtures ----

#[test]
fn r12_polyline_with_bulges() {
    let d = read(include_bytes!("../fixtures/dxf/r12_polyline.dxf"));
    assert_whole(&d);
    let [p] = paths(&d)[..] else { panic!("{:?}", d.shapes) };
    assert_eq!(p.segments.len(), 8);
    close(area(p), ROUNDED, 1e-9);
    assert_eq!(left_out(&d), [("text (TEXT)", 1, true), ("point (POINT)", 1, true)]);
    assert!(d.unit_guessed && d.unit == Unit::MM);
    assert_eq!(doubts(&d), [] as [&RemarkKind; 0]);
}

#[test]
fn r2000_layers_and_paper() {
    let d = read(include_bytes!("../fixtures/dxf/r2000_layers.dxf"));
    assert_whole(&d);
    let found: Vec<f64> = paths(&d).into_iter().map(area).collect();
    assert_eq!(found.len(), 2);
    close(found[0], ROUNDED, 1e-9);
    close(found[1], PI * 144.0, 1e-9);
    assert_eq!(d.shapes[0].source.layer.as_deref(), Some("SOLE"));
    assert_eq!(d.shapes[0].source.kind, "LWPOLYLINE");
    let left = left_out(&d);
    assert!(left.contains(&("on layer HIDDEN, which is off", 1, false)), "{left:?}");
    assert!(left.contains(&("on layer ICE, which is frozen", 1, false)));
    assert!(left.contains(&("centre line (LINE)", 1, true)));
    assert!(left.contains(&("entity on a paper sheet", 1, false)));
    assert!(!d.unit_guessed);
    assert_eq!(doubts(&d), [] as [&RemarkKind; 0]);
}

#[test]
fn r2010_inches_loose_edges_and_ellipse() {
    let d = read(include_bytes!("../fixtures/dxf/r2010_inch_loose.dxf"));
    assert_whole(&d);
    assert_eq!(d.unit, Unit::INCH);
    let (shapes, remarks) = join::join(d.shapes.clone(), 0.05, &Budget::unlimited());
    assert_eq!(shapes.len(), 2);
    assert_eq!(shapes[0].source.kind, "LINE+ARC");
    // A rectangle 4 × 2 with half a disc of radius 1, and a fitted ellipse with half axes 2 and 1.
    close(area(&shapes[0].paths[0]), (8.0 + PI / 2.0) * 25.4 * 25.4, 1e-6);
    let perimeter = 9.688_448_220_547_675 * 25.4;
    close(area(&shapes[1].paths[0]), 2.0 * PI * 25.4 * 25.4, 0.0025 * perimeter);
    assert_eq!(remarks, []);
    assert_eq!(doubts(&d), [] as [&RemarkKind; 0]);
}

#[test]
fn r2018_planes_blocks_and_splines() {
    let d = read(include_bytes!("../fixtures/dxf/r2018_planes_blocks_splines.dxf"));
    assert_whole(&d);
    let all = paths(&d);
    // Seen from below, x is mirrored. The arc bulges away from the rectangle (bulge 0.5 on a chord of 40).
    let b = all[0].segments.iter().map(Segment::bounds).reduce(|a, b| a.union(b)).unwrap();
    close(b.x0, -40.0, 1e-12);
    close(b.x1, 0.0, 1e-12);
    close(b.y0, -10.0, 1e-9);
    assert!(area(all[0]) < 0.0, "a mirror turns the sense");
    // The ARC from 0° to 90° about (100, 50), radius 10, runs in the mirrored plane from (−110, 50) to (−100, 60).
    let Segment::Arc(a) = all[1].segments[0] else { panic!() };
    close((a.start.x + 110.0).hypot(a.start.y - 50.0) + (a.end.x + 100.0).hypot(a.end.y - 60.0), 0.0, 1e-9);
    assert!(!a.ccw);
    // 2 × 3 copies of a square of 20 with a circle of radius 4, then one 30 × 10 with an ellipse of half axes 6 and 2.
    let copies = &d.shapes[2..16];
    for pair in copies[..12].chunks(2) {
        close(area(&pair[0].paths[0]), 400.0, 1e-9);
        close(area(&pair[1].paths[0]), PI * 16.0, 1e-9);
    }
    close(area(&copies[12].paths[0]), 300.0, 1e-9);
    close(area(&copies[13].paths[0]), PI * 12.0, 0.06);
    // Columns follow the rotated x axis, upwards. The last copy of the last row has its centre at (200 − 40, 60).
    let last = copies[10].paths[0].segments.iter().map(Segment::bounds).reduce(|a, b| a.union(b)).unwrap();
    close((last.center().x - 160.0).hypot(last.center().y - 60.0), 0.0, 1e-9);
    // A circle of radius 50 as a spline with weights. Every point lies within the fit's tolerance of the circle.
    let circle = &d.shapes[16].paths[0];
    assert!(circle.closed);
    for s in &circle.segments {
        for i in 0..=20 {
            let p = s.at(f64::from(i) / 20.0);
            close((p.x - 400.0).hypot(p.y), 50.0, letin::tolerance::CURVE_FIT);
        }
    }
    assert!(!d.shapes[17].paths[0].closed);
    assert!(left_out(&d).is_empty());
    // A hatch fills the triangle (0,0), (1,0), (1,1).
    assert_eq!(d.shapes[18].source.kind, "HATCH");
    close(area(&d.shapes[18].paths[0]), 0.5, 1e-12);
    assert_eq!(doubts(&d), [] as [&RemarkKind; 0]);
}

#[test]
fn binary_files() {
    let d = read(include_bytes!("../fixtures/dxf/r2000_binary.dxf"));
    assert_whole(&d);
    close(area(paths(&d)[0]), ROUNDED, 1e-9);
    assert_eq!(d.shapes[0].source.line, None);
    assert_eq!(doubts(&d), [] as [&RemarkKind; 0]);
    let d = read(include_bytes!("../fixtures/dxf/r12_binary.dxf"));
    let (shapes, _) = join::join(d.shapes.clone(), 0.05, &Budget::unlimited());
    close(area(&shapes[0].paths[0]), 600.0, 1e-9);
    assert_eq!(doubts(&d), [] as [&RemarkKind; 0]);
}

// ---- the published format ----

/// The bulge is the tangent of a quarter of the sweep. From (0,0) to (60,0), bulge 1/3 has radius 50 and centre (30, 40).
/// A half circle has bulge 1, a quarter circle 0.414214.
/// Source: Autodesk, *DXF Reference*, AutoCAD 2024, VERTEX, group 42.
#[test]
fn bulges() {
    let line = |b: &str| {
        let d = read(file("", &format!("0 LWPOLYLINE 90 2 70 0 10 0 20 0 42 {b} 10 60 20 0")).as_bytes());
        let Segment::Arc(a) = paths(&d)[0].segments[0] else { panic!() };
        a
    };
    let a = line("0.3333333333333333");
    close(a.radius, 50.0, 1e-9);
    close((a.center.x - 30.0).hypot(a.center.y - 40.0), 0.0, 1e-9);
    assert!(a.ccw);
    close(line("1").sweep().to_degrees(), 180.0, 1e-9);
    close(line("-1").center.y, 0.0, 1e-9);
    assert!(!line("-1").ccw);
    close(line("0.414214").sweep().to_degrees(), 90.0, 1e-4);
}

/// Source: Autodesk, *DXF Reference*, AutoCAD 2024, header variable $INSUNITS.
#[test]
fn units_of_the_header() {
    let rows = [
        (1, 25.4),
        (2, 304.8),
        (4, 1.0),
        (5, 10.0),
        (6, 1000.0),
        (8, 25.4e-6),
        (9, 0.0254),
        (10, 914.4),
        (13, 0.001),
        (14, 100.0),
    ];
    for (code, mm) in rows {
        let d = read(file(&format!("9 $INSUNITS 70 {code}"), "0 CIRCLE 10 0 20 0 40 2").as_bytes());
        close(d.unit.mm, mm, mm * 1e-15);
        assert!(!d.unit_guessed);
        close(d.bounds.unwrap().width(), 4.0 * mm, mm * 1e-12);
    }
    for header in ["", "9 $INSUNITS 70 0", "9 $INSUNITS 70 18", "9 $INSUNITS 70 99", "9 $MEASUREMENT 70 0"] {
        let d = read(file(header, "0 CIRCLE 10 0 20 0 40 2").as_bytes());
        assert!(d.unit_guessed && d.unit == Unit::MM, "{header}");
    }
    let settings = ReadSettings { unit: Some(Unit::CM), ..ReadSettings::default() };
    let text = file("9 $INSUNITS 70 1", "0 CIRCLE 10 0 20 0 40 2");
    let d = dxf::read(text.as_bytes(), &settings, &Budget::unlimited()).unwrap();
    assert!(!d.unit_guessed && d.unit == Unit::CM);
    close(d.bounds.unwrap().width(), 40.0, 1e-12);
}

// ---- entities one by one ----

#[test]
fn every_entity_is_read_or_reported() {
    let d = read(
        file(
            "",
            "0 LINE 10 0 20 0 11 1 21 0 0 TEXT 1 x 0 FOO 0 FOO 0 3DFACE 10 1 0 LINE 10 0 20 0 11 q 21 0 \
             0 ARC 10 0 20 0 40 -1 50 0 51 9 0 CIRCLE 10 0 20 0 40 nan 0 CIRCLE 10 0 20 0 40 0 \
             0 CIRCLE 10 0 20 0 40 2 210 1 220 0 230 0 0 LINE 10 0 20 0 30 0 11 9 21 0 31 5 0 LINE 10 1e9 20 0 11 0 21 0 \
             0 INSERT 2 NONE 10 0 20 0 0 CIRCLE 60 1 10 0 20 0 40 2 0 VERTEX 10 0 20 0 0 LWPOLYLINE 90 2 10 0 10 1 20 1",
        )
        .as_bytes(),
    );
    let reported: usize = left_out(&d).iter().map(|(_, n, _)| n).sum();
    let specks = d.remarks.iter().filter(|r| matches!(r.kind, RemarkKind::Speck { .. })).count();
    assert_eq!((d.shapes.len(), specks, reported), (1, 1, 14), "{:#?}", d.remarks);
    let harmless: usize = left_out(&d).iter().filter(|l| l.2).map(|l| l.1).sum();
    assert_eq!(harmless, 1);
    assert!(left_out(&d).iter().any(|l| l.0.contains("group 11 is not a number: `q`, line ")));
}

#[test]
fn closing_and_zero_edges() {
    // Closed by a return to the start; with a doubled corner; out and back with bulges; out and back straight, which is open.
    let d = read(
        file(
            "",
            "0 LWPOLYLINE 90 5 70 0 10 0 20 0 10 9 20 0 10 9 20 0 10 9 20 9 10 0 20 0 \
             0 LWPOLYLINE 90 5 70 1 10 0 20 0 10 9 20 0 10 9 20 9 10 0 20 9 10 0 20 0 \
             0 LWPOLYLINE 90 2 70 1 10 0 20 0 42 1 10 9 20 0 42 1 \
             0 LWPOLYLINE 90 2 70 1 10 0 20 0 10 9 20 0",
        )
        .as_bytes(),
    );
    assert_whole(&d);
    let p = paths(&d);
    assert_eq!(p[0].segments.len(), 3);
    close(area(p[0]), 40.5, 1e-9);
    assert_eq!(p[1].segments.len(), 4);
    close(area(p[1]), 81.0, 1e-9);
    close(area(p[2]), PI * 4.5 * 4.5, 1e-9);
    assert!(!p[3].closed && p[3].segments.len() == 1);
}

/// Flag 16 marks a control point of the spline frame, which is not drawn.
/// Source: Autodesk, *DXF Reference*, AutoCAD 2024, VERTEX, group 70.
#[test]
fn frame_of_a_fitted_polyline_is_not_drawn() {
    let d = read(
        file(
            "",
            "0 POLYLINE 66 1 70 5 0 VERTEX 70 16 10 99 20 99 0 VERTEX 70 8 10 0 20 0 0 VERTEX 70 8 10 3 20 0 \
             0 VERTEX 70 8 10 0 20 4 0 SEQEND",
        )
        .as_bytes(),
    );
    close(area(paths(&d)[0]), 6.0, 1e-12);
    assert_eq!(doubts(&d), [] as [&RemarkKind; 0]);
}

/// A spline of degree 3 on the knots 0 0 0 0 1 1 1 1 is the Bézier curve of its control points. The check evaluates
/// Bernstein's formula. Source: none outside; the check does the sums anew.
#[test]
fn spline_without_weights_is_its_bezier() {
    let d = read(
        file(
            "",
            "0 SPLINE 70 8 71 3 72 8 73 4 40 0 40 0 40 0 40 0 40 1 40 1 40 1 40 1 10 0 20 0 30 0 10 10 20 30 30 0 \
             10 40 20 30 30 0 10 50 20 0 30 0",
        )
        .as_bytes(),
    );
    let c = |t: f64| {
        let (u, v) = (1.0 - t, t);
        (30.0 * u * u * v + 120.0 * u * v * v + 50.0 * v * v * v, 90.0 * u * u * v + 90.0 * u * v * v)
    };
    let p = paths(&d)[0];
    for i in 0..=100 {
        let (x, y) = c(f64::from(i) / 100.0);
        let off = p.segments.iter().map(|s| s.nearest((x, y).into()).0).fold(f64::INFINITY, f64::min);
        assert!(off <= letin::tolerance::CURVE_FIT, "{off}");
    }
}

#[test]
fn a_tilted_circle_is_left_out_with_a_word() {
    let d = read(file("", "0 CIRCLE 10 0 20 0 40 2 210 0.1 220 0 230 1").as_bytes());
    assert_eq!(left_out(&d), [("CIRCLE that is not in the plane of the drawing", 1, false)]);
}

#[test]
fn heights_are_ignored_and_reported_when_they_differ() {
    let d = read(file("", "0 CIRCLE 10 0 20 0 30 7 40 2 0 CIRCLE 10 9 20 0 30 7 40 2").as_bytes());
    assert_eq!(tolerated(&d), [] as [&str; 0]);
    let d = read(file("", "0 CIRCLE 10 0 20 0 30 7 40 2 0 CIRCLE 10 9 20 0 30 5 40 2").as_bytes());
    assert!(tolerated(&d)[0].contains("different heights"));
}

// ---- files that break the rules ----

#[test]
fn endings_blanks_commas_and_missing_ends() {
    let good = file("", "0 LINE 10 0,5 20 0 11 2 21 0 0 CIRCLE 10 0 20 0 40 2");
    let base = read(good.as_bytes());
    close(paths(&base)[0].segments[0].start().x, 0.5, 0.0);
    assert!(tolerated(&base)[0].starts_with("numbers with a decimal comma, line"), "{:?}", base.remarks);
    let forms = [
        good.replace('\n', "\r\n"),
        good.replace('\n', "\r"),
        good.replace('\n', "\r\r\n"),
        good.replace('\n', "  \n   "),
        format!("\u{feff}{good}"),
        format!("999\nmade by hand\n{good}"),
        format!("{good}\u{1a}"),
        good.replace("0\nSECTION\n2\nENT", "\n\n0\nSECTION\n2\nENT"),
    ];
    for text in forms {
        let d = read(text.as_bytes());
        assert_eq!(paths(&d), paths(&base), "{text:?}");
        assert_eq!(doubts(&d), [] as [&RemarkKind; 0]);
    }
    for (cut, word) in [("0\nEOF\n", "EOF"), ("0\nENDSEC\n0\nSECTION", "ENDSEC")] {
        let d = read(good.replacen(cut, if word == "EOF" { "" } else { "0\nSECTION" }, 1).as_bytes());
        assert_eq!(paths(&d), paths(&base));
        assert_eq!(damaged(&d), [] as [&str; 0]);
        assert!(tolerated(&d).iter().any(|t| t.contains(word)), "{:?}", d.remarks);
    }
}

#[test]
fn what_is_no_drawing() {
    assert_eq!(error(b""), ReadError::Empty);
    assert_eq!(error(b"\n \n"), ReadError::Empty);
    assert_eq!(error(file("", "").as_bytes()), ReadError::Empty);
    for bytes in [&b"<svg/>"[..], b"AC1015\0\0", b"\xff\xfe0\0", b"0\nLINE\n", b"hello\nworld\n", &[0; 300]] {
        assert!(matches!(error(bytes), ReadError::NotADrawing(_) | ReadError::Empty), "{bytes:?}");
    }
    let text = file("", "0 LINE 10 0 20 0 11 2 21 0").replace("11\n2\n", "11\n2\noops\n");
    assert!(matches!(error(text.as_bytes()), ReadError::Syntax { line: 19, .. }), "{:?}", error(text.as_bytes()));
}

#[test]
fn bombs_and_cycles() {
    let block = |name: &str, body: &str| format!("0 BLOCK 2 {name} 10 0 20 0 {body} 0 ENDBLK ");
    let with =
        |blocks: &str, entities: &str| file(&format!("0 ENDSEC 0 SECTION 2 BLOCKS {blocks}"), entities).into_bytes();
    // A block that contains itself.
    let d = read(&with(&block("A", "0 CIRCLE 10 0 20 0 40 2 0 INSERT 2 A 10 1 20 0"), "0 INSERT 2 A 10 0 20 0"));
    assert_eq!(d.shapes.len(), 1);
    assert_eq!(left_out(&d), [("INSERT of a block within itself (A)", 1, false)]);
    // Ten copies of ten copies, eleven levels deep.
    let mut blocks = block("B0", "0 CIRCLE 10 0 20 0 40 2");
    for i in 1..12 {
        blocks += &block(&format!("B{i}"), &format!("0 INSERT 2 B{} 10 0 20 0 70 10 44 1", i - 1));
    }
    assert!(matches!(error(&with(&blocks, "0 INSERT 2 B11 10 0 20 0")), ReadError::Refused { .. }));
    // A huge number of rows and columns, of an empty block and of a circle.
    for body in ["", "0 CIRCLE 10 0 20 0 40 2"] {
        let bomb = with(&block("C", body), "0 INSERT 2 C 10 0 20 0 70 32767 71 32767");
        assert!(matches!(error(&bomb), ReadError::Refused { .. }));
    }
    // A huge number of entities.
    assert!(matches!(error(file("", &"0 A ".repeat(1_100_000)).as_bytes()), ReadError::Refused { .. }));
    // A chain of blocks deeper than the limit.
    let mut blocks = block("D0", "0 CIRCLE 10 0 20 0 40 2");
    for i in 1..500 {
        blocks += &block(&format!("D{i}"), &format!("0 INSERT 2 D{} 10 0 20 0", i - 1));
    }
    let d = read(&with(&blocks, "0 INSERT 2 D499 10 0 20 0"));
    assert_eq!(left_out(&d), [("INSERT nested deeper than 32 blocks", 1, false)]);
}

#[test]
fn deep_extended_data_far_dates_and_long_counts() {
    let deep = "1002 { ".repeat(30_000);
    let d = read(
        file(
            "9 $TDCREATE 40 9e99",
            &format!("0 LWPOLYLINE 90 2147483647 70 0 10 0 20 0 10 5 20 5 1001 YARD {deep} 0 CIRCLE 10 0 20 0 40 2"),
        )
        .as_bytes(),
    );
    assert_eq!(d.shapes.len(), 2);
    assert!(damaged(&d)[0].contains("as many corners as it states"));
    assert_eq!(doubts(&d), [] as [&RemarkKind; 0]);
}

/// A file cut off anywhere, or with any bytes changed, is read or refused. The reader never panics and never hangs.
#[test]
fn truncated_and_damaged() {
    let files: [&[u8]; 4] = [
        include_bytes!("../fixtures/dxf/r12_polyline.dxf"),
        include_bytes!("../fixtures/dxf/r2018_planes_blocks_splines.dxf"),
        include_bytes!("../fixtures/dxf/r2000_binary.dxf"),
        include_bytes!("../fixtures/dxf/r12_binary.dxf"),
    ];
    let budget = Budget::unlimited();
    let mut outcomes = [0_usize; 2];
    let mut seed = 12_345_u32;
    let mut next = || {
        seed = seed.wrapping_mul(1_664_525).wrapping_add(1_013_904_223);
        (seed >> 8) as usize
    };
    for whole in files {
        for _ in 0..120 {
            let cut = &whole[..next() % whole.len()];
            let mut harmed = whole.to_vec();
            for _ in 0..4 {
                let i = next() % harmed.len();
                harmed[i] = b"0123456789\n-. x\xff\0e"[next() % 18];
            }
            for bytes in [cut, &harmed] {
                match dxf::read(bytes, &ReadSettings::default(), &budget) {
                    Ok(d) => {
                        outcomes[0] += 1;
                        assert_whole(&d);
                    }
                    Err(_) => outcomes[1] += 1,
                }
            }
        }
    }
    assert!(outcomes[0] > 50 && outcomes[1] > 50, "{outcomes:?}");
}

#[test]
fn a_stopped_budget_stops() {
    let budget = Budget::unlimited();
    budget.cancel();
    let text = file("", "0 CIRCLE 10 0 20 0 40 2");
    let got = dxf::read(text.as_bytes(), &ReadSettings::default(), &budget);
    assert!(matches!(got, Err(ReadError::Stopped(_))));
}

#[test]
fn names_and_handles() {
    let d = read(file("", "0 CIRCLE 5 1F 8 SOLE\\U+00DF 10 0 20 0 40 2 0 CIRCLE 10 0 20 0 40 2").as_bytes());
    let sources: Vec<_> = d.shapes.iter().map(|s: &Shape| &s.source).collect();
    assert_eq!((sources[0].id.as_str(), sources[0].layer.as_deref()), ("1F", Some("SOLEß")));
    assert_eq!((sources[1].id.as_str(), sources[1].layer.as_deref()), ("line 23", Some("0")));
    assert_eq!(sources[1].line, Some(23));
}
