//! Limits of a run, and no finding without its cause in the drawing: many outlines, absurd sizes, outlines that touch or
//! nearly touch, shapes inside one another, and the message about the chosen pair.

#![cfg(unix)]

use serde_json::Value;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::time::{Duration, Instant};

fn folder() -> tempfile::TempDir {
    tempfile::tempdir().unwrap()
}

fn svg(folder: &Path, wide: f64, high: f64, body: &str) -> PathBuf {
    let path = folder.join("drawing.svg");
    let head = format!("width=\"{wide}mm\" height=\"{high}mm\" viewBox=\"0 0 {wide} {high}\"");
    std::fs::write(&path, format!("<svg xmlns=\"http://www.w3.org/2000/svg\" {head}>{body}</svg>")).unwrap();
    path
}

/// Runs the program on a drawing within `mib` MiB of memory. `more` holds further `ulimit` commands for the shell.
fn limited(more: &str, mib: u64, args: &[&str], drawing: &Path) -> Output {
    let limited = format!("{more}; ulimit -v {}; exec \"$0\" \"$@\"", mib << 10);
    let mut sh = Command::new("sh");
    sh.args(["-c", &limited, env!("CARGO_BIN_EXE_letin")]).args(args).arg(drawing);
    sh.output().unwrap()
}

fn letin(mib: u64, args: &[&str], drawing: &Path) -> Output {
    limited(":", mib, args, drawing)
}

fn check(args: &[&str], drawing: &Path) -> Value {
    let o = letin(2048, &[&["check", "--json"], args].concat(), drawing);
    assert!(matches!(o.status.code(), Some(0 | 1)), "{args:?}: {}", String::from_utf8_lossy(&o.stdout));
    serde_json::from_slice(&o.stdout).unwrap()
}

/// The findings of one code: severity, outline, message.
fn found<'a>(v: &'a Value, code: &str) -> Vec<(&'a str, Option<&'a str>, &'a str)> {
    let of = |f: &'a Value| (f["severity"].as_str().unwrap(), f["outline"].as_str(), f["message"].as_str().unwrap());
    v["findings"].as_array().unwrap().iter().filter(|f| f["code"] == code).map(of).collect()
}

/// 625 circles, with all openings on one panel, within 1 GiB and 120 s of processor time.
///
/// Processor time does not depend on other work of the machine. The limit catches work that grows with the square of the
/// number of openings. Base, swept area and panels must not compare every opening with every other.
#[test]
fn hundreds_of_circles_are_answered_in_time_and_memory() {
    let folder = folder();
    let mut body = String::new();
    for i in 0..625 {
        let (x, y) = (30 + 60 * (i % 25), 30 + 60 * (i / 25));
        let _ = writeln!(body, "<circle cx=\"{x}\" cy=\"{y}\" r=\"10\"/>");
    }
    let drawing = svg(folder.path(), 1500.0, 1500.0, &body);
    let o = limited("ulimit -t 120", 1024, &["check", "--json"], &drawing);
    assert_eq!(o.status.code(), Some(0), "killed by its limits, or a finding: {}", String::from_utf8_lossy(&o.stderr));
    let v: Value = serde_json::from_slice(&o.stdout).unwrap();
    assert_eq!(v["openings"].as_array().unwrap().len(), 1250);
    assert_eq!(v["proof"]["pieces"].as_array().unwrap().len(), 625);
    assert_eq!(v["panels"].as_array().unwrap().len(), 1);
    assert!(v["steps"].as_array().unwrap().iter().all(|s| s["tipping_margin_mm"].is_number()));
}

/// A star of 20 units read as metres, or a file that states a size above 10 m. The program refuses it with the reason,
/// quickly and in little memory.
#[test]
fn sizes_that_no_template_has_are_refused_before_any_geometry() {
    let folder = folder();
    let star = folder.path().join("star.svg");
    let of_width = |size: &str| {
        let body = "<path d=\"M12 2 15 9 22 9 16 14 19 22 12 17 5 22 8 14 2 9 9 9Z\"/>";
        let head = "xmlns=\"http://www.w3.org/2000/svg\" viewBox=\"2 2 20 20\"";
        std::fs::write(&star, format!("<svg {head} {size}>{body}</svg>")).unwrap();
    };
    for (size, option) in [
        ("", &["--unit", "m"] as &[&str]),
        ("width=\"10001mm\" height=\"10001mm\"", &[]),
        ("width=\"10000cm\" height=\"10000cm\"", &[]),
        ("width=\"1000000mm\" height=\"1000000mm\"", &[]),
    ] {
        of_width(size);
        for command in ["check", "make"] {
            let out = folder.path().join("out");
            let to: &[&str] = if command == "make" { &["--force", "--out", out.to_str().unwrap()] } else { &[] };
            let start = Instant::now();
            let o = letin(512, &[&[command, "--json"], option, to].concat(), &star);
            assert!(start.elapsed() < Duration::from_secs(20), "{size}: {:?}", start.elapsed());
            assert_eq!(o.status.code(), Some(1), "{size}: {}", String::from_utf8_lossy(&o.stderr));
            let v: Value = serde_json::from_slice(&o.stdout).unwrap();
            let reported = found(&v, "odd-size");
            assert!(
                matches!(reported.as_slice(), [("error", None, m)] if m.contains("the limit is 10000 mm")),
                "{size}: {reported:?}"
            );
            assert!(v["openings"].as_array().unwrap().is_empty());
        }
    }
    // A given width is refused as a setting, or as the file's own size.
    of_width("");
    let o = letin(512, &["check", "--width", "100m"], &star);
    assert!(matches!(o.status.code(), Some(1 | 2)), "{}", String::from_utf8_lossy(&o.stderr));
    // Just below the limit the program makes the job and warns.
    of_width("width=\"9999mm\" height=\"9999mm\"");
    let v = check(&[], &star);
    assert!(matches!(found(&v, "odd-size").as_slice(), [("warning", Some(_), _)]), "{v:#}");
}

/// Two small joints 4 m, 9 m and 1 km apart: no finding, a warning, an error.
#[test]
fn outlines_far_from_each_other_are_reported() {
    let folder = folder();
    for (wide, wanted) in [(4000.0, None), (9000.0, Some("warning")), (1e6, Some("error"))] {
        let body = format!("<circle cx=\"50\" cy=\"50\" r=\"30\"/><circle cx=\"{}\" cy=\"50\" r=\"30\"/>", wide - 50.0);
        let v = check(&[], &svg(folder.path(), wide, 100.0, &body));
        let reported = found(&v, "odd-size");
        assert_eq!(reported.iter().map(|t| t.0).collect::<Vec<_>>(), Vec::from_iter(wanted), "{wide}: {reported:?}");
    }
}

/// Two squares side by side with several gaps. The finding `touching` appears up to 0.005 mm and gives the gap, if there is one.
#[test]
fn touching_is_reported_only_of_lines_that_meet() {
    let folder = folder();
    for (gap, wanted) in [
        (0.0, Some(" touches another")),
        (0.003, Some(" is at most 0.01 mm away from another")),
        (0.0055, None),
        (0.5, None),
    ] {
        let right = 50.0 + gap;
        let body = format!("<path d=\"M10 10H50V50H10Z\"/><path d=\"M{right} 20H{}V40H{right}Z\"/>", right + 40.0);
        let v = check(&[], &svg(folder.path(), 110.0, 60.0, &body));
        let reported = found(&v, "touching");
        let says = |m: &str| wanted.is_some_and(|w| m.starts_with("An outline") && m.contains(w));
        assert!(
            reported.len() == usize::from(wanted.is_some()) && reported.iter().all(|t| says(t.2)),
            "{gap}: {reported:?}"
        );
        if wanted.is_some() {
            // The place lies on both squares, with y upwards: 20 to 40 mm from the top of the 60 mm page.
            let at = &v["findings"].as_array().unwrap().iter().find(|f| f["code"] == "touching").unwrap()["at_mm"];
            let (x, y) = (at[0].as_f64().unwrap(), at[1].as_f64().unwrap());
            assert!((x - 50.0).abs() < 0.006 && (19.999..=40.001).contains(&y), "{gap}: {at}");
        }
    }
}

/// Two triangles of one path meet in one point. Their sides come near each other again 9 mm from there. The second pair
/// of triangles does not meet.
#[test]
fn a_pinched_shape_is_reported_with_its_place() {
    let folder = folder();
    let v = check(&[], &svg(folder.path(), 120.0, 60.0, "<path d=\"M10 10H40V50Z M40 50H100V10Z\"/>"));
    let reported = found(&v, "touching");
    assert!(
        matches!(reported.as_slice(), [("error", None, m)] if m.contains("meet in a single point")),
        "{reported:?}"
    );
    let at = &v["findings"][0]["at_mm"];
    assert!((at[0].as_f64().unwrap() - 40.0).abs() < 1e-3 && (at[1].as_f64().unwrap() - 10.0).abs() < 1e-3, "{at}");
    let v = check(&[], &svg(folder.path(), 120.0, 60.0, "<path d=\"M10 10H40V50Z M40.1 50H100V10Z\"/>"));
    assert_eq!(found(&v, "touching"), []);
}

/// Half sides of concentric squares, from the outside inwards.
const SQUARES: [f64; 5] = [55.0, 43.0, 31.0, 19.0, 8.0];

fn square(half: f64, backwards: bool) -> String {
    let (a, b) = (60.0 - half, 60.0 + half);
    if backwards { format!("M{a} {a}V{b}H{b}V{a}Z") } else { format!("M{a} {a}H{b}V{b}H{a}Z") }
}

/// 2 to 5 squares inside one another. Every second square is a hole with one finding, and the next square inwards is an
/// outline of its own. In one path a hole is an island. As separate shapes, the two innermost may be a plug and its
/// shoulder, so the program asks.
#[test]
fn shapes_in_one_another_are_outlines_and_holes_by_turns() {
    let folder = folder();
    for n in 2..=5 {
        let squares = &SQUARES[..n];
        let path = |turned: bool| -> String {
            squares.iter().enumerate().map(|(i, h)| square(*h, turned && i % 2 == 1)).collect()
        };
        let rects = |paint: &str| -> String {
            let one = |h: &f64| {
                format!("<rect x=\"{0}\" y=\"{0}\" width=\"{1}\" height=\"{1}\" {paint}/>", 60.0 - h, 2.0 * h)
            };
            squares.iter().map(one).collect()
        };
        let stroke = "fill=\"none\" stroke=\"black\"";
        let drawings = [
            (format!("<path fill-rule=\"evenodd\" d=\"{}\"/>", path(false)), true),
            (format!("<path d=\"{}\"/>", path(true)), true),
            (format!("<path {stroke} d=\"{}\"/>", path(false)), true),
            (rects(""), false),
            (rects(stroke), false),
        ];
        let dxf = folder.path().join("drawing.dxf");
        std::fs::write(&dxf, loops(squares)).unwrap();
        for (body, one) in drawings.iter().map(|(body, one)| (Some(body), *one)).chain([(None, false)]) {
            let file = body.map_or_else(|| dxf.clone(), |body| svg(folder.path(), 120.0, 120.0, body));
            let v = check(&["--bush", "12", "--cutter", "4"], &file);
            let holes: Vec<u64> =
                v["outlines"].as_array().unwrap().iter().map(|o| o["holes"].as_u64().unwrap()).collect();
            let wanted: Vec<u64> = (0..n.div_ceil(2)).map(|i| u64::from(2 * i + 1 < n)).collect();
            assert_eq!(holes, wanted, "{n}: {body:?}");
            // Of separate shapes, the two innermost are asked about where they form a pair.
            let asked = usize::from(!one && n % 2 == 0);
            assert_eq!((found(&v, "island").len(), found(&v, "nested").len()), (n / 2 - asked, asked), "{n}: {body:?}");
        }
        // With equal winding of all squares, the nonzero fill rule fills everything.
        let same = svg(folder.path(), 120.0, 120.0, &format!("<path d=\"{}\"/>", path(false)));
        let v = check(&[], &same);
        assert_eq!((v["outlines"].as_array().unwrap().len(), found(&v, "island").len()), (1, 0));
    }
}

/// A DXF file of squares in mm.
fn loops(squares: &[f64]) -> String {
    let mut out = "0\nSECTION\n2\nHEADER\n9\n$INSUNITS\n70\n4\n0\nENDSEC\n0\nSECTION\n2\nENTITIES\n".to_owned();
    for h in squares {
        out.push_str("0\nLWPOLYLINE\n8\n0\n90\n4\n70\n1\n");
        for (x, y) in [(-h, -h), (*h, -h), (*h, *h), (-h, *h)] {
            let _ = write!(out, "10\n{x}\n20\n{y}\n");
        }
    }
    out + "0\nENDSEC\n0\nEOF\n"
}

/// A panel of 200 × 140 mm with rounded corners. The router's base has no support, and the program can see that only after
/// it has chosen the pair. The message about the pair counts this finding as well.
#[test]
fn the_note_on_the_pair_counts_the_findings_of_the_report() {
    let folder = folder();
    let drawing = svg(folder.path(), 220.0, 160.0, "<rect x=\"10\" y=\"10\" width=\"200\" height=\"140\" rx=\"30\"/>");
    for bed in [&[] as &[&str], &["--bed", "100x100"]] {
        let v = check(&[&["--pair", "auto"], bed].concat(), &drawing);
        let count =
            |severity: &str| v["findings"].as_array().unwrap().iter().filter(|f| f["severity"] == severity).count();
        let (errors, warnings) = (count("error"), count("warning"));
        assert!(warnings > 0 && (errors == 0) == bed.is_empty(), "{v:#}");
        assert_eq!(
            (v["pair"]["errors"].as_u64(), v["pair"]["warnings"].as_u64()),
            (Some(errors as u64), Some(warnings as u64))
        );
        let o = letin(2048, &[&["check", "--pair", "auto"], bed].concat(), &drawing);
        let said = String::from_utf8(o.stdout).unwrap();
        assert!(!said.contains("no warnings with this drawing"), "{said}");
    }
}
