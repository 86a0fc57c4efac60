//! `letin prove` of files that another program has saved since: the same lines in another form are proved, lines that
//! moved are refused, and what lies beside the openings is reported.
//!
//! The forms are what drawing programs make of a closed polyline with bulges: single LINEs and ARCs, chords, splines,
//! other starts and directions, another order, other letters. They are written here from the edges as read.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test says what it expects by panicking")]

mod common;

use common::unlimited;
use letin::app::prove::{Proved, prove};
use letin::drawing::{ReadSettings, dxf, outline::outlines};
use letin::geom::{Affine, Arc, Point, Region, Ring, Segment};
use letin::text::svg_path;
use serde_json::Value;
use std::f64::consts::PI;
use std::fmt::Write as _;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use tempfile::TempDir;

const LAYER: &str = "OPENING_CUT_INSIDE";

fn letin(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_letin")).args(args).output().unwrap()
}

fn text(o: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&o.stdout), String::from_utf8_lossy(&o.stderr))
}

struct Made {
    _dir: TempDir,
    folder: PathBuf,
    name: &'static str,
}

fn made(drawing: &'static str, settings: &[&str]) -> Made {
    let dir = TempDir::new().unwrap();
    let folder = dir.path().join("out");
    let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(drawing);
    let mut args = vec!["make", path.to_str().unwrap(), "--out", folder.to_str().unwrap()];
    args.extend(settings);
    let o = letin(&args);
    assert_eq!(o.status.code(), Some(0), "{settings:?}: {}", text(&o));
    let name = drawing.rsplit('/').next().unwrap().split('.').next().unwrap();
    Made { _dir: dir, folder, name }
}

impl Made {
    fn read(&self, name: &str) -> String {
        fs::read_to_string(self.folder.join(name)).unwrap()
    }

    fn put(&self, name: &str, content: &str) {
        fs::write(self.folder.join(name), content).unwrap();
    }

    fn faces(&self, kind: &str) -> Vec<String> {
        let all = fs::read_dir(&self.folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap());
        let mut all: Vec<String> = all.filter(|n| n.contains("-face-") && n.ends_with(kind)).collect();
        all.sort();
        all
    }

    fn proved(&self) -> Proved {
        let mut all = prove(&self.folder, &unlimited()).unwrap();
        assert_eq!(all.len(), 1);
        all.remove(0)
    }

    #[track_caller]
    fn holds(&self, what: &str) -> Proved {
        let p = self.proved();
        assert!(p.verdict.is_ok(), "{}, {what}: {}", self.name, p.verdict.unwrap_err());
        p
    }

    #[track_caller]
    fn refused(&self, what: &str) -> String {
        self.proved().verdict.err().unwrap_or_else(|| panic!("{}, {what}: proved all the same", self.name)).to_string()
    }

    fn document(&self) -> Value {
        serde_json::from_str(&self.read(&format!("{}.json", self.name))).unwrap()
    }
}

/// The openings of a DXF file, in its order.
fn openings(dxf_text: &str) -> Vec<Region> {
    let d = dxf::read(dxf_text.as_bytes(), &ReadSettings::default(), &unlimited()).unwrap();
    let own: Vec<_> = d.shapes.into_iter().filter(|s| s.source.layer.as_deref() == Some(LAYER)).collect();
    outlines(&own, &unlimited()).unwrap().outlines.into_iter().map(|o| o.region.into_inner()).collect()
}

/// The file with its openings replaced by `entities`.
fn with_openings(dxf_text: &str, entities: &str) -> String {
    let lines: Vec<&str> = dxf_text.lines().map(str::trim).collect();
    let pairs: Vec<(&str, &str)> = lines.chunks(2).map(|c| (c[0], c[1])).collect();
    let from = pairs.iter().position(|p| *p == ("2", "ENTITIES")).unwrap() + 1;
    let to = from + pairs[from..].iter().position(|p| *p == ("0", "ENDSEC")).unwrap();
    let mut kept: Vec<Vec<(&str, &str)>> = Vec::new();
    for p in &pairs[from..to] {
        if p.0 == "0" {
            kept.push(Vec::new());
        }
        kept.last_mut().unwrap().push(*p);
    }
    kept.retain(|e| !e.contains(&("8", LAYER)));
    let put = |pairs: &[(&str, &str)]| pairs.iter().map(|(a, b)| format!("{a}\n{b}\n")).collect::<String>();
    let rest: String = kept.iter().map(|e| put(e)).collect();
    format!("{}{entities}{rest}{}", put(&pairs[..from]), put(&pairs[to..]))
}

/// Pairs, in two words each.
fn entity(words: &str) -> String {
    words.split_whitespace().map(|w| format!("{w}\n")).collect()
}

fn line(layer: &str, a: Point, b: Point) -> String {
    entity(&format!("0 LINE 8 {layer} 10 {:?} 20 {:?} 11 {:?} 21 {:?}", a.x, a.y, b.x, b.y))
}

/// Centre, and the angles in degrees from which and to which it runs anticlockwise.
fn angles(a: &Arc) -> (f64, f64) {
    let at = |p: Point| (p.y - a.center.y).atan2(p.x - a.center.x).to_degrees().rem_euclid(360.0);
    if a.ccw { (at(a.start), at(a.end)) } else { (at(a.end), at(a.start)) }
}

/// A form of an edge as entities of its own.
type Form = fn(&Segment) -> String;

fn as_line_or_arc(s: &Segment) -> String {
    let Segment::Arc(a) = s else { return line(LAYER, s.start(), s.end()) };
    let (from, to) = angles(a);
    entity(&format!("0 ARC 8 {LAYER} 10 {:?} 20 {:?} 40 {:?} 50 {from:?} 51 {to:?}", a.center.x, a.center.y, a.radius))
}

fn as_ellipse(s: &Segment) -> String {
    let Segment::Arc(a) = s else { return line(LAYER, s.start(), s.end()) };
    let (from, to) = angles(a);
    // A major axis that lies askew: the parameters count from it.
    let (turn, r) = (0.4_f64, a.radius);
    let shift = |d: f64| d.to_radians() - turn;
    let to = if to < from { to + 360.0 } else { to };
    entity(&format!(
        "0 ELLIPSE 8 {LAYER} 10 {:?} 20 {:?} 11 {:?} 21 {:?} 40 1 41 {:?} 42 {:?}",
        a.center.x,
        a.center.y,
        r * turn.cos(),
        r * turn.sin(),
        shift(from),
        shift(to)
    ))
}

/// As many chords as keep within 0.004 mm.
fn as_chords(s: &Segment) -> String {
    let Segment::Arc(a) = s else { return line(LAYER, s.start(), s.end()) };
    let step = 2.0 * (1.0 - 0.004 / a.radius).clamp(-1.0, 1.0).acos();
    let n = (a.sweep() / step).ceil().max(1.0);
    let mut out = String::new();
    let mut k = 0.0;
    while k < n {
        out += &line(LAYER, s.at(k / n), s.at((k + 1.0) / n));
        k += 1.0;
    }
    out
}

/// Control points of cubics for an arc, an eighth turn each at most: (4/3)·tan(sweep/4)·r along the tangents.
fn cubics(a: &Arc) -> Vec<[Point; 4]> {
    let n = (a.sweep() / (PI / 4.0)).ceil().max(1.0);
    let s = Segment::Arc(*a);
    let side = if a.ccw { 1.0 } else { -1.0 };
    let k = 4.0 / 3.0 * (a.sweep() / n / 4.0).tan() * side;
    let tangent = |p: Point| {
        let v = p - a.center;
        letin::geom::Vec2::new(-v.y, v.x) * k
    };
    let mut out = Vec::new();
    let mut i = 0.0;
    while i < n {
        let (p, q) = (s.at(i / n), s.at((i + 1.0) / n));
        out.push([p, p + tangent(p), q - tangent(q), q]);
        i += 1.0;
    }
    out
}

fn as_spline(s: &Segment) -> String {
    let Segment::Arc(a) = s else { return line(LAYER, s.start(), s.end()) };
    let pieces = cubics(a);
    let n = pieces.len();
    let mut words = format!("0 SPLINE 8 {LAYER} 70 8 71 3 72 {} 73 {} 40 0", 3 * n + 5, 3 * n + 1);
    for i in 0..=n {
        words += &format!(" 40 {i} 40 {i} 40 {i}");
    }
    words += &format!(" 40 {n}");
    let points = pieces.iter().flat_map(|p| p[..3].to_vec()).chain([pieces[n - 1][3]]);
    for p in points {
        words += &format!(" 10 {:?} 20 {:?} 30 0", p.x, p.y);
    }
    entity(&words)
}

/// Edge by edge, the last first and every second one the other way round.
fn exploded(regions: &[Region], form: Form) -> String {
    let mut all: Vec<Segment> = regions.iter().flat_map(|r| r.rings.iter().flat_map(letin::text::halves)).collect();
    all.reverse();
    let turned = |(i, s): (usize, &Segment)| if i % 2 == 1 { s.reversed() } else { *s };
    all.iter().enumerate().map(turned).map(|s| form(&s)).collect()
}

/// LWPOLYLINEs of the rings. `shut`: closed by the flag, or by the first corner again at the end.
fn polylines(rings: &[Ring], layer: &str, shut: bool) -> String {
    let mut out = String::new();
    for ring in rings {
        let edges = letin::text::halves(ring);
        let n = edges.len() + usize::from(!shut);
        let mut words = format!("0 LWPOLYLINE 8 {layer} 90 {n} 70 {}", u8::from(shut));
        for e in &edges {
            let bulge = if let Segment::Arc(a) = e { a.bulge() } else { 0.0 };
            words += &format!(" 10 {:?} 20 {:?} 42 {bulge:?}", e.start().x, e.start().y);
        }
        if !shut {
            words += &format!(" 10 {:?} 20 {:?}", edges[0].start().x, edges[0].start().y);
        }
        out += &entity(&words);
    }
    out
}

fn rings(regions: &[Region]) -> Vec<Ring> {
    regions.iter().flat_map(|r| r.rings.clone()).collect()
}

fn other_start(ring: &Ring) -> Ring {
    let mut segments = ring.reversed().segments;
    segments.rotate_left(1);
    Ring::new(segments)
}

/// Jobs with one opening a face, with several, with a circle, and in one set-up with both faces in a file.
fn jobs() -> Vec<Made> {
    vec![
        made("tests/fixtures/prove/fish.svg", &[]),
        made("tests/fixtures/prove/fish.svg", &["--setup", "one", "--dxf", "r12", "--write-unit", "in"]),
        made("tests/fixtures/outside/two.svg", &[]),
        made("tests/fixtures/outside/disc.svg", &["--corners", "square"]),
        made("tests/fixtures/panels/rosette.svg", &["--bush", "12", "--cutter", "3"]),
    ]
}

/// Every form of every DXF file is proved, and the same form moved by 0.02 mm is refused for its distance.
#[test]
fn the_same_lines_in_another_form_are_proved_and_moved_they_are_not() {
    for m in jobs() {
        for name in m.faces(".dxf") {
            let whole = m.read(&name);
            let inches = whole.contains("all lengths in in");
            // What is read is in mm; what is written is in the file's unit.
            let back = Affine::scale(if inches { 1.0 / 25.4 } else { 1.0 });
            let regions: Vec<Region> = openings(&whole).iter().map(|r| r.under_similarity(back)).collect();
            let forms: Vec<(&str, Box<dyn Fn(&[Region]) -> String>)> = vec![
                ("LINE and ARC", Box::new(|r| exploded(r, as_line_or_arc))),
                ("LINE and ELLIPSE", Box::new(|r| exploded(r, as_ellipse))),
                ("LINE and SPLINE", Box::new(|r| exploded(r, as_spline))),
                ("closed by its last corner", Box::new(|r| polylines(&rings(r), LAYER, false))),
                ("small letters", Box::new(|r| polylines(&rings(r), &LAYER.to_ascii_lowercase(), true))),
                (
                    "the last opening first, turned round, from another corner",
                    Box::new(|r| {
                        let all: Vec<Ring> = rings(r).iter().rev().map(other_start).collect();
                        polylines(&all, LAYER, true)
                    }),
                ),
                (
                    "chords",
                    // Their tolerance is in mm.
                    if inches {
                        Box::new(|r| exploded(r, as_line_or_arc))
                    } else {
                        Box::new(|r| exploded(r, as_chords))
                    },
                ),
            ];
            for (what, form) in &forms {
                m.put(&name, &with_openings(&whole, &form(&regions)));
                let p = m.holds(&format!("{name}, {what}"));
                assert_eq!(p.warnings, [] as [&str; 0], "{name}, {what}");
                let moved = |r: &Region| r.under_similarity(back * Affine::translate((0.0, 0.02)) * back.inverse());
                let moved: Vec<Region> = regions.iter().map(moved).collect();
                m.put(&name, &with_openings(&whole, &form(&moved)));
                let why = m.refused(&format!("{name}, {what}, moved"));
                assert!(
                    why.contains("mm off what was worked out") || why.contains("mm apart in them"),
                    "{what}: {why}"
                );
            }
            m.put(&name, &whole);
        }
        m.holds("as it was");
    }
}

/// All files of a job at once, each in another form than its neighbour.
#[test]
fn all_files_saved_again_are_proved() {
    for m in jobs() {
        for name in m.faces(".dxf") {
            let whole = m.read(&name);
            if whole.contains("all lengths in in") {
                continue;
            }
            m.put(&name, &with_openings(&whole, &exploded(&openings(&whole), as_chords)));
        }
        for name in m.faces(".svg") {
            m.put(&name, &in_cubics(&m.read(&name)));
        }
        let p = m.holds("DXF in chords, SVG in cubics");
        assert!(p.notes.iter().any(|n| n.contains("was changed after it was written")), "{:?}", p.notes);
    }
}

/// The path data of all openings of an SVG face file.
fn path_data(svg_text: &str) -> Vec<String> {
    svg_text.split(" d=\"").skip(1).map(|s| s.split('"').next().unwrap().to_owned()).collect()
}

fn with_paths(svg_text: &str, how: impl Fn(&str) -> String) -> String {
    path_data(svg_text).iter().fold(svg_text.to_owned(), |t, d| t.replacen(d, &how(d), 1))
}

/// The edges of path data with absolute M, L, A, Z in the file's own numbers, y down.
fn edges(d: &str) -> Vec<Segment> {
    let words: Vec<&str> = d.split(' ').collect();
    let num = |i: usize| words[i].parse::<f64>().unwrap();
    let (mut at, mut first, mut out, mut i) = (Point::ORIGIN, Point::ORIGIN, Vec::new(), 0);
    while i < words.len() {
        match words[i] {
            "M" => {
                at = Point::new(num(i + 1), num(i + 2));
                first = at;
                i += 3;
            }
            "L" => {
                let to = Point::new(num(i + 1), num(i + 2));
                out.push(Segment::line(at, to));
                at = to;
                i += 3;
            }
            "A" => {
                let (r, sweep, to) = (num(i + 1), num(i + 5), Point::new(num(i + 6), num(i + 7)));
                // Anticlockwise in these numbers where the sweep flag is 1.
                let half = (to - at).hypot() / 2.0;
                let quarter = ((half / r).min(1.0).asin() / 2.0).tan();
                out.push(Segment::from_bulge(at, to, if sweep == 1.0 { quarter } else { -quarter }));
                at = to;
                i += 8;
            }
            "Z" => {
                if at != first {
                    out.push(Segment::line(at, first));
                }
                i += 1;
            }
            other => panic!("{other}"),
        }
    }
    out
}

/// Arcs as cubics.
fn in_cubics(svg_text: &str) -> String {
    with_paths(svg_text, |d| {
        let all = edges(d);
        let mut out = format!("M{} {}", all[0].start().x, all[0].start().y);
        for s in &all {
            match s {
                Segment::Line(l) => write!(out, "L{},{}", l.end.x, l.end.y).unwrap(),
                Segment::Arc(a) => {
                    for [_, p, q, e] in cubics(a) {
                        write!(out, "C{},{} {},{} {},{}", p.x, p.y, q.x, q.y, e.x, e.y).unwrap();
                    }
                }
            }
        }
        out + "Z"
    })
}

/// Relative commands, under a group that is moved and turned over twice.
fn relative_and_moved(svg_text: &str) -> String {
    let moved = with_paths(svg_text, |d| {
        let all = edges(d);
        let mut out = format!("m{} {}", -(all[0].start().x - 30.0), all[0].start().y + 20.0);
        for s in &all {
            let v = s.end() - s.start();
            // x is mirrored, and with it the sense of arcs.
            match s {
                Segment::Line(_) => write!(out, "l{} {}", -v.x, v.y).unwrap(),
                Segment::Arc(a) => {
                    let large = u8::from(a.sweep() > PI);
                    write!(out, "a{} {} 0 {large} {} {} {}", a.radius, a.radius, u8::from(!a.ccw), -v.x, v.y).unwrap();
                }
            }
        }
        out + "z"
    });
    moved.replace("<path ", "<path transform=\"translate(30 -20) scale(-1 1)\" ")
}

#[test]
fn an_svg_in_another_form_is_proved_and_moved_it_is_not() {
    for m in jobs() {
        for name in m.faces(".svg") {
            let whole = m.read(&name);
            let forms: [(&str, fn(&str) -> String); 4] = [
                ("cubics", in_cubics),
                ("relative commands and transforms", relative_and_moved),
                ("small letters", |t| t.replace("OPENING_CUT_INSIDE", "opening_cut_inside")),
                ("another order", |t| {
                    let all = path_data(t);
                    let mut out = t.to_owned();
                    for (i, d) in all.iter().enumerate() {
                        out = out.replacen(&format!("d=\"{d}\""), &format!("d=\"@{i}\""), 1);
                    }
                    for (i, d) in all.iter().rev().enumerate() {
                        out = out.replacen(&format!("d=\"@{i}\""), &format!("d=\"{d}\""), 1);
                    }
                    out
                }),
            ];
            for (what, form) in forms {
                let again = form(&whole);
                m.put(&name, &again);
                if what == "another order" && whole.contains("PANEL_CUT_OUTSIDE") {
                    continue;
                }
                m.holds(&format!("{name}, {what}"));
                let by = if whole.contains("in\" viewBox") { 0.02 / 25.4 } else { 0.02 };
                let group = again.to_lowercase().find("<g id=\"opening_cut_inside\"").unwrap();
                let mut moved = again.clone();
                moved.insert_str(group + 2, &format!(" transform=\"translate({by} 0)\""));
                m.put(&name, &moved);
                let why = m.refused(&format!("{name}, {what}, moved"));
                assert!(
                    why.contains("mm off what was worked out") || why.contains("mm apart in them"),
                    "{what}: {why}"
                );
            }
            m.put(&name, &whole);
        }
    }
}

#[test]
fn a_shouldered_piece_is_proved_with_its_openings_in_another_order_and_form() {
    let settings = ["--plug", "plug", "--shoulder", "shoulder", "--kit", "metric"];
    let m = made("samples/fish-in-hatch/fish-plug.svg", &settings);
    for name in m.faces(".dxf") {
        let whole = m.read(&name);
        let mut regions = openings(&whole);
        regions.reverse();
        m.put(&name, &with_openings(&whole, &exploded(&regions, as_line_or_arc)));
        m.holds(&format!("{name}: the last opening first, in single edges"));
        let moved: Vec<Region> = regions.iter().map(|r| r.under_similarity(Affine::translate((0.02, 0.0)))).collect();
        m.put(&name, &with_openings(&whole, &polylines(&rings(&moved), LAYER, true)));
        m.refused(&format!("{name}: moved"));
        m.put(&name, &whole);
    }
}

/// What the machine would not cut by its layer is a warning by name; what it would cut is refused.
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
    // The command prints it, and counts it where asked to.
    let folder = m.folder.to_str().unwrap();
    let o = letin(&["prove", folder]);
    assert!(o.status.code() == Some(0) && text(&o).contains("  warning: fish-face-1.dxf: "), "{}", text(&o));
    assert_eq!(letin(&["prove", folder, "--fail-on", "warning"]).status.code(), Some(1));
    let v: Value = serde_json::from_slice(&letin(&["prove", folder, "--json"]).stdout).unwrap();
    assert_eq!(v["documents"][0]["warnings"].as_array().unwrap().len(), 1);
    // On the openings' own layer it would be cut.
    put(&format!("0 CIRCLE 8 {LAYER} 10 40 20 40 40 5"));
    assert!(m.refused("a circle to cut").contains("the one about 40.00, 40.00 mm is none of them"));
    put(&format!("0 LINE 8 {LAYER} 10 40 20 40 11 50 21 50"));
    assert!(m.refused("a line to cut").contains("does not close"));
    // Beyond the panel it moves the box that machines count from.
    put("0 CIRCLE 8 RUDDER 10 -40 20 40 40 5");
    assert!(m.refused("beyond the panel").contains("its lines reach from -45.000"));
    // Each edge of the panel dropped, or on the other layer.
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
    // The same in SVG; and in one set-up, where no file has lines for the edges.
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
    // No layer of ours at all.
    m.put(name, &whole.replace(LAYER, "0"));
    assert!(m.refused("no layer").contains("nothing in it is on layer OPENING_CUT_INSIDE: its layers are 0"));
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
        assert!(said.contains("the document is cut short or damaged"), "{said}");
    }
    // Of others: told, and no reason to fail. Whole, it is not even told.
    m.put("tail.json", "{\"name\": \"others\", \"list\": [1, 2");
    let o = letin(&["prove", folder]);
    assert!(o.status.code() == Some(0) && text(&o).contains("note: tail.json is not looked at"), "{}", text(&o));
    m.put("tail.json", "{\"name\": \"others\"}");
    assert!(!text(&letin(&["prove", folder])).contains("tail.json"));
    fs::remove_file(m.folder.join("tail.json")).unwrap();
    // The only one, cut so short that nothing of the program's name is left: its files tell whose it is.
    m.put("fish.json", &whole[..10]);
    let o = letin(&["prove", folder]);
    assert!(o.status.code() == Some(2) && text(&o).contains("fish.json: NOT proved"), "{}", text(&o));
}

/// Documents beyond 64 MiB are refused before they are parsed, and below that any document is within 1 GiB of memory.
#[cfg(unix)]
#[test]
fn a_document_of_any_size_is_read_or_refused_within_a_gibibyte() {
    let m = made("tests/fixtures/prove/fish.svg", &[]);
    let folder = m.folder.to_str().unwrap();
    let limited = || {
        let command = "ulimit -v 1048576; exec \"$0\" prove \"$1\"";
        Command::new("sh").args(["-c", command, env!("CARGO_BIN_EXE_letin"), folder]).output().unwrap()
    };
    let head = "{\"schema\":1,\"tool\":{\"name\":\"letin\"},";
    m.put("large.json", &format!("{head}\"x\":\"{}\"}}", " ".repeat(240 << 20)));
    let o = limited();
    assert!(o.status.code() == Some(2) && text(&o).contains("larger than 64 MiB"), "{}", text(&o));
    // The shapes of outlines as empty strings: what takes most memory for its size.
    let strings = "\"\",".repeat((63 << 20) / 3);
    let outlines = format!("[{{\"outline\":\"outline-1\",\"drawn\":[{strings}\"\"],\"made\":[]}}]");
    m.put("large.json", &format!("{head}\"proof\":{{\"pieces\":[],\"outlines\":{outlines}}}}}"));
    let o = limited();
    assert!(o.status.code() == Some(2) && text(&o).contains("large.json: NOT proved"), "{}", text(&o));
    assert!(text(&o).contains("fish.json: proved"), "{}", text(&o));
    // Findings without end.
    let findings = "{\"code\":\"\"},".repeat((63 << 20) / 12);
    m.put("large.json", &format!("{head}\"findings\":[{findings}{{\"code\":\"\"}}]}}"));
    let o = limited();
    assert!(o.status.code() == Some(2) && text(&o).contains("at most 1000000 entries"), "{}", text(&o));
}

/// Numbers rounded to two decimals by another program move no point of an opening by more than 0.02 mm.
#[test]
fn two_decimals_do_not_spoil_an_svg() {
    for m in jobs() {
        for name in m.faces(".svg") {
            let whole = m.read(&name);
            if whole.contains("in\" viewBox") {
                continue;
            }
            for d in path_data(&whole) {
                let exact = Region::new(vec![Ring::new(edges(&d))]);
                let round = |w: &str| match w.parse::<f64>() {
                    Ok(v) => format!("{}", (v * 100.0).round() / 100.0),
                    Err(_) => w.to_owned(),
                };
                let words: Vec<String> = d.split(' ').map(round).collect();
                for s in edges(&words.join(" ")) {
                    for i in 0..=8 {
                        let off = exact.nearest(s.at(f64::from(i) / 8.0)).unwrap().0;
                        assert!(off <= 0.02, "{name}: {off}");
                    }
                }
            }
        }
    }
}

/// Both files of a face hold the same numbers in inches: each opening within 1e-6 mm.
#[test]
fn in_inches_both_files_of_a_face_agree() {
    for drawing in
        ["tests/fixtures/prove/fish.svg", "tests/fixtures/outside/disc.svg", "tests/fixtures/outside/leaf.svg"]
    {
        for release in ["2000", "r12"] {
            let m = made(drawing, &["--write-unit", "in", "--dxf", release, "--corners", "square"]);
            for (d, s) in m.faces(".dxf").iter().zip(m.faces(".svg")) {
                let from_dxf = openings(&m.read(d));
                let svg_text = m.read(&s);
                let height: f64 = {
                    let view = svg_text.split("viewBox=\"").nth(1).unwrap().split('"').next().unwrap();
                    view.split(' ').nth(3).unwrap().parse().unwrap()
                };
                // y up, mm.
                let up = Affine::scale(25.4) * Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, height]);
                for (path, region) in path_data(&svg_text).iter().zip(&from_dxf) {
                    for e in edges(path) {
                        let e = e.under_similarity(up);
                        for i in 0..=8 {
                            let off = region.nearest(e.at(f64::from(i) / 8.0)).unwrap().0;
                            assert!(off <= 1e-6, "{drawing} {release}: {off}");
                        }
                    }
                }
                let unit = dxf::read(m.read(d).as_bytes(), &ReadSettings::default(), &unlimited()).unwrap();
                assert!(!unit.unit_guessed, "{}", unit.unit_source);
            }
            // Also as this program reads them, by the same way as drawings.
            let o = letin(&["prove", m.folder.to_str().unwrap()]);
            assert_eq!(o.status.code(), Some(0), "{}", text(&o));
        }
    }
}

/// The path data of these tests is what the program itself writes of a ring.
#[test]
fn edges_of_path_data_are_those_of_the_ring() {
    let ring = Ring::circle(Point::new(50.0, 40.0), 10.0);
    let back = Ring::new(edges(&svg_path(&ring, 0.0).unwrap()));
    assert!((back.area().abs() - PI * 100.0).abs() < 1e-6, "{}", back.area());
}
