//! Rewrites the files of a job as other programs write them, and asks `letin prove` about them.

use crate::common::unlimited;
use letin::app::prove::{Proved, prove};
use letin::drawing::{ReadSettings, dxf, outline::outlines};
use letin::geom::{Arc, Point, Region, Ring, Segment};
use serde_json::Value;
use std::collections::BTreeMap;
use std::f64::consts::PI;
use std::ffi::OsString;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use std::sync::Mutex;
use tempfile::TempDir;

pub const LAYER: &str = "OPENING_CUT_INSIDE";

pub fn letin(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_letin")).args(args).output().unwrap()
}

pub fn text(o: &Output) -> String {
    format!("{}{}", String::from_utf8_lossy(&o.stdout), String::from_utf8_lossy(&o.stderr))
}

/// Both output streams on one line, because the terminal breaks long lines.
pub fn flowing(o: &Output) -> String {
    text(o).split_whitespace().collect::<Vec<_>>().join(" ")
}

pub struct Made {
    _dir: TempDir,
    pub folder: PathBuf,
    pub name: &'static str,
}

type Files = Vec<(OsString, Vec<u8>)>;

/// The files that a drawing and settings give. A job that came before is copied, since equal jobs give equal bytes.
pub fn made(drawing: &'static str, settings: &[&str]) -> Made {
    static KNOWN: Mutex<BTreeMap<Vec<String>, Files>> = Mutex::new(BTreeMap::new());
    let dir = TempDir::new().unwrap();
    let folder = dir.path().join("out");
    let job: Vec<String> = [drawing].iter().chain(settings).map(|&s| s.to_owned()).collect();
    let known = KNOWN.lock().unwrap().get(&job).cloned();
    if let Some(files) = known {
        fs::create_dir(&folder).unwrap();
        files.iter().for_each(|(name, bytes)| fs::write(folder.join(name), bytes).unwrap());
    } else {
        let path = Path::new(env!("CARGO_MANIFEST_DIR")).join(drawing);
        let mut args = vec!["make", path.to_str().unwrap(), "--out", folder.to_str().unwrap()];
        args.extend(settings);
        let o = letin(&args);
        assert_eq!(o.status.code(), Some(0), "{settings:?}: {}", text(&o));
        let entries = fs::read_dir(&folder).unwrap().map(|e| e.unwrap());
        let files = entries.map(|e| (e.file_name(), fs::read(e.path()).unwrap())).collect();
        KNOWN.lock().unwrap().insert(job, files);
    }
    let name = drawing.rsplit('/').next().unwrap().split('.').next().unwrap();
    Made { _dir: dir, folder, name }
}

impl Made {
    pub fn read(&self, name: &str) -> String {
        fs::read_to_string(self.folder.join(name)).unwrap()
    }

    pub fn put(&self, name: &str, content: &str) {
        fs::write(self.folder.join(name), content).unwrap();
    }

    pub fn faces(&self, kind: &str) -> Vec<String> {
        let all = fs::read_dir(&self.folder).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap());
        let mut all: Vec<String> = all.filter(|n| n.contains("-face-") && n.ends_with(kind)).collect();
        all.sort();
        all
    }

    pub fn proved(&self) -> Proved {
        let mut all = prove(&self.folder, &unlimited()).unwrap();
        assert_eq!(all.len(), 1);
        all.remove(0)
    }

    #[track_caller]
    pub fn holds(&self, what: &str) -> Proved {
        let p = self.proved();
        assert!(p.verdict.is_ok(), "{}, {what}: {}", self.name, p.verdict.unwrap_err());
        p
    }

    /// The reason against the files; `None` where they are proved.
    pub fn against(&self) -> Option<String> {
        self.proved().verdict.err().map(|e| e.to_string())
    }

    #[track_caller]
    pub fn refused(&self, what: &str) -> String {
        self.against().unwrap_or_else(|| panic!("{}, {what}: proved despite the edit", self.name))
    }

    pub fn document(&self) -> Value {
        serde_json::from_str(&self.read(&format!("{}.json", self.name))).unwrap()
    }
}

/// The openings of a DXF file, in file order.
pub fn openings(dxf_text: &str) -> Vec<Region> {
    let d = dxf::read(dxf_text.as_bytes(), &ReadSettings::default(), &unlimited()).unwrap();
    let own: Vec<_> = d.shapes.into_iter().filter(|s| s.source.layer.as_deref() == Some(LAYER)).collect();
    outlines(&own, &unlimited()).unwrap().outlines.into_iter().map(|o| o.region.into_inner()).collect()
}

/// Replaces the openings of the file by `entities`.
pub fn with_openings(dxf_text: &str, entities: &str) -> String {
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

/// DXF pairs from words: code and value in turn.
pub fn entity(words: &str) -> String {
    words.split_whitespace().map(|w| format!("{w}\n")).collect()
}

pub fn line(layer: &str, a: Point, b: Point) -> String {
    entity(&format!("0 LINE 8 {layer} 10 {:?} 20 {:?} 11 {:?} 21 {:?}", a.x, a.y, b.x, b.y))
}

/// The angles, in degrees, between which the arc runs anticlockwise.
pub fn angles(a: &Arc) -> (f64, f64) {
    let at = |p: Point| (p.y - a.center.y).atan2(p.x - a.center.x).to_degrees().rem_euclid(360.0);
    if a.ccw { (at(a.start), at(a.end)) } else { (at(a.end), at(a.start)) }
}

/// Writes an edge as entities of its own.
pub type Form = fn(&Segment) -> String;

pub fn as_line_or_arc(s: &Segment) -> String {
    let Segment::Arc(a) = s else { return line(LAYER, s.start(), s.end()) };
    let (from, to) = angles(a);
    entity(&format!("0 ARC 8 {LAYER} 10 {:?} 20 {:?} 40 {:?} 50 {from:?} 51 {to:?}", a.center.x, a.center.y, a.radius))
}

pub fn as_ellipse(s: &Segment) -> String {
    let Segment::Arc(a) = s else { return line(LAYER, s.start(), s.end()) };
    let (from, to) = angles(a);
    // A rotated major axis: the parameters count from it.
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

/// Chords within 0.004 mm of the edge.
pub fn as_chords(s: &Segment) -> String {
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

/// Cubic control points for an arc, at most an eighth of a turn each. Handles are (4/3)·tan(sweep/4)·r long.
pub fn cubics(a: &Arc) -> Vec<[Point; 4]> {
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

pub fn as_spline(s: &Segment) -> String {
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

/// Single edges, in reverse order, every second one reversed.
pub fn exploded(regions: &[Region], form: Form) -> String {
    let mut all: Vec<Segment> = regions.iter().flat_map(|r| r.rings.iter().flat_map(letin::text::halves)).collect();
    all.reverse();
    let turned = |(i, s): (usize, &Segment)| if i % 2 == 1 { s.reversed() } else { *s };
    all.iter().enumerate().map(turned).map(|s| form(&s)).collect()
}

/// LWPOLYLINEs of the rings. With `shut` a flag closes them; otherwise the first corner is repeated at the end.
pub fn polylines(rings: &[Ring], layer: &str, shut: bool) -> String {
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

pub fn rings(regions: &[Region]) -> Vec<Ring> {
    regions.iter().flat_map(|r| r.rings.clone()).collect()
}

pub fn other_start(ring: &Ring) -> Ring {
    let mut segments = ring.reversed().segments;
    segments.rotate_left(1);
    Ring::new(segments)
}

/// Jobs with one opening per face, several openings, a circle, and one set-up with both faces in a file.
pub fn jobs() -> Vec<Made> {
    vec![
        made("tests/fixtures/prove/fish.svg", &[]),
        made("tests/fixtures/prove/fish.svg", &["--setup", "one", "--dxf", "r12", "--write-unit", "in"]),
        made("tests/fixtures/outside/two.svg", &[]),
        made("tests/fixtures/outside/disc.svg", &["--corners", "square"]),
        made("tests/fixtures/panels/rosette.svg", &["--bush", "12", "--cutter", "3"]),
    ]
}

/// The path data of all openings of an SVG face file.
pub fn path_data(svg_text: &str) -> Vec<String> {
    svg_text.split(" d=\"").skip(1).map(|s| s.split('"').next().unwrap().to_owned()).collect()
}

pub fn with_paths(svg_text: &str, how: impl Fn(&str) -> String) -> String {
    path_data(svg_text).iter().fold(svg_text.to_owned(), |t, d| t.replacen(d, &how(d), 1))
}

/// The edges of path data with absolute M, L, A and Z, in the file's own numbers, with y down.
pub fn edges(d: &str) -> Vec<Segment> {
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
                // In these numbers an arc is anticlockwise where the sweep flag is 1.
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
