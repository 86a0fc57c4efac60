//! SVG files of every kind, one per feature, compared with the outlines that the format defines.
//!
//! Areas follow from elementary geometry.
//! Source: W3C, *Scalable Vector Graphics (SVG) 2*, 2018: chapters 8 (coordinates), 9 (paths), 10 (basic shapes), appendix
//! B.2 (elliptical arcs).
//! Source: W3C, *CSS Values and Units Module Level 3*, 2024, absolute lengths.

use letin::budget::Budget;
use letin::drawing::{Drawing, Fill, ReadError, ReadSettings, RemarkKind, Shape, Unit, svg};
use letin::geom::{Arc, Point, Rect, Ring, Segment};
use std::f64::consts::PI;

fn bytes(name: &str) -> Vec<u8> {
    let path = format!("{}/tests/fixtures/svg/{name}.svg", env!("CARGO_MANIFEST_DIR"));
    std::fs::read(&path).unwrap_or_else(|e| panic!("{path}: {e}"))
}

fn read_with(name: &str, settings: &ReadSettings) -> Drawing {
    let drawing = svg::read(&bytes(name), settings, &Budget::unlimited()).unwrap();
    second_reader_agrees(name, &drawing);
    drawing
}

fn read(name: &str) -> Drawing {
    read_with(name, &ReadSettings::default())
}

fn text(svg: &str) -> Result<Drawing, ReadError> {
    svg::read(svg.as_bytes(), &ReadSettings::default(), &Budget::unlimited())
}

fn second_reader_agrees(name: &str, drawing: &Drawing) {
    let reported = drawing.remarks.iter().find(|r| matches!(r.kind, RemarkKind::SecondReader { .. }));
    assert!(reported.is_none(), "{name}: {reported:?}");
}

/// The first path of a shape as a ring. Asserts that its edges join.
fn ring(shape: &Shape) -> Ring {
    let path = &shape.paths[0];
    assert!(path.closed);
    let n = path.segments.len();
    for i in 0..n {
        assert_eq!(path.segments[i].end(), path.segments[(i + 1) % n].start(), "an edge does not join the next");
    }
    Ring::new(path.segments.clone())
}

fn only(name: &str) -> (Ring, Shape) {
    let drawing = read(name);
    assert_eq!(drawing.shapes.len(), 1, "{name}");
    assert_eq!(drawing.shapes[0].paths.len(), 1, "{name}");
    (ring(&drawing.shapes[0]), drawing.shapes[0].clone())
}

fn near(a: f64, b: f64, tolerance: f64) {
    assert!((a - b).abs() <= tolerance, "{a} is not {b} ± {tolerance}");
}

fn box_is(r: Option<Rect>, expected: [f64; 4], tolerance: f64) {
    let r = r.unwrap();
    for (a, b) in [r.x0, r.y0, r.x1, r.y1].iter().zip(expected) {
        near(*a, b, tolerance);
    }
}

fn arcs(ring: &Ring) -> Vec<Arc> {
    ring.segments.iter().filter_map(|s| if let Segment::Arc(a) = s { Some(*a) } else { None }).collect()
}

fn left_out(drawing: &Drawing) -> Vec<(&str, usize, bool)> {
    let of = |k: &'_ RemarkKind| matches!(k, RemarkKind::LeftOut { .. });
    drawing
        .remarks
        .iter()
        .filter(|r| of(&r.kind))
        .map(|r| match &r.kind {
            RemarkKind::LeftOut { what, count, harmless } => (what.as_str(), *count, *harmless),
            _ => unreachable!(),
        })
        .collect()
}

#[test]
fn rectangles() {
    let (ring, shape) = only("rect");
    assert_eq!(ring.segments.len(), 4);
    near(ring.area().abs(), 2400.0, 1e-9);
    // 20 below the top of a page 100 high: from 40 to 80, y up.
    box_is(ring.bounds(), [10.0, 40.0, 70.0, 80.0], 1e-12);
    assert_eq!(
        (shape.source.id.as_str(), shape.source.kind.as_str(), shape.source.line),
        ("chart-table", "rect", Some(1))
    );
    assert_eq!(shape.fill, Fill::NonZero);
}

#[test]
fn rounded_rectangles() {
    let (ring, _) = only("rounded-rect");
    near(ring.area().abs(), 2400.0 - (4.0 - PI) * 36.0, 1e-9);
    let arcs = arcs(&ring);
    assert_eq!(arcs.len(), 4);
    assert!(arcs.iter().all(|a| a.radius == 6.0));
    let (ring, _) = only("rounded-rect-elliptic");
    near(ring.area().abs(), 2400.0 - (4.0 - PI) * 50.0, 0.0025 * ring.perimeter());
    box_is(ring.bounds(), [10.0, 40.0, 70.0, 80.0], 0.0025);
}

#[test]
fn circles_and_ellipses() {
    let (ring, _) = only("circle");
    assert_eq!(ring.as_circle(), Some((Point::new(50.0, 60.0), 30.0)));
    near(ring.area().abs(), PI * 900.0, 1e-9);
    let (ring, _) = only("ellipse");
    near(ring.area().abs(), PI * 800.0, 0.0025 * ring.perimeter());
    box_is(ring.bounds(), [10.0, 40.0, 90.0, 80.0], 0.0025);
}

#[test]
fn a_large_circle_far_away_keeps_its_radius() {
    for name in ["large-circle-far-away", "circle-moved-far-and-back"] {
        let (ring, _) = only(name);
        let (center, radius) = ring.as_circle().unwrap_or_else(|| panic!("{name} is no circle: {ring:?}"));
        near(radius, 300.0, 1e-3);
        near(center.x, 500.0, 1e-3);
        near(center.y, 1300.0, 1e-3);
    }
}

#[test]
fn polygons() {
    let (ring, _) = only("polygon");
    near(ring.area().abs(), 600.0, 1e-9);
    // The format closes a filled polyline (SVG 2, 13.3).
    let (ring, _) = only("polyline-open");
    near(ring.area().abs(), 600.0, 1e-9);
    assert_eq!(ring.segments.len(), 3);
}

#[test]
fn elliptical_arcs() {
    // M0 0 A50 50 0 0 1 60 0 has its centre at (30, 40) and the length 64.350111 (SVG 2, appendix B.2).
    let (ring, _) = only("arc-path");
    let a = arcs(&ring);
    assert_eq!(a.len(), 1);
    near(a[0].radius, 50.0, 1e-9);
    near(Segment::Arc(a[0]).length(), 64.350111, 1e-6);
    // 60 + 40 with y down is 0 with y up.
    assert!((a[0].center - Point::new(30.0, 0.0)).hypot() < 1e-9);
    // A radius that is too small is scaled up: r 30, length 94.247780.
    let (ring, _) = only("arc-radius-too-small");
    near(arcs(&ring)[0].radius, 30.0, 1e-9);
    near(arcs(&ring).iter().map(|a| Segment::Arc(*a).length()).sum(), 94.247780, 1e-6);
    // M10 20 A30 15 25 0 1 60 45 has the length 60.864696, plus the chord.
    let (ring, _) = only("arc-elliptic");
    near(ring.perimeter(), 60.864696 + 50f64.hypot(25.0), 0.002);
}

#[test]
fn bezier_curves() {
    // Area under the cubic y(x) by Bernstein integrals: ∫ y dx = 1/20 Σ w_ij y_i x_j.
    let (ring, _) = only("cubic");
    let (x, y): ([f64; 4], [f64; 4]) = ([10.0, 20.0, 50.0, 70.0], [10.0, 40.0, -20.0, 10.0]);
    let cross = |i: usize, j: usize| x[i] * y[j] - x[j] * y[i];
    let (a, b, c) = (cross(0, 1) + cross(2, 3), cross(0, 2) + cross(1, 3), cross(1, 2));
    let curve: f64 = (6.0 * a + 3.0 * b + 3.0 * c + cross(0, 3)) / 20.0;
    let sides = ((70.0 * 50.0 - 70.0 * 10.0) + (70.0 * 50.0 - 10.0 * 50.0) + (10.0 * 10.0 - 10.0 * 50.0)) / 2.0;
    near(ring.area().abs(), (curve + sides).abs(), 0.0025 * ring.perimeter());
    // A parabola fills two thirds of its bounding box (Archimedes). Its control point is twice as far as its top.
    let (ring, _) = only("quadratic");
    near(ring.area().abs(), 100.0 * 50.0 * 2.0 / 3.0, 0.0025 * ring.perimeter());
    box_is(ring.bounds(), [0.0, 50.0, 100.0, 100.0], 0.0025);
}

#[test]
fn fill_rules() {
    let drawing = read("even-odd");
    assert_eq!(drawing.shapes[0].fill, Fill::EvenOdd);
    assert_eq!(drawing.shapes[0].paths.len(), 2);
    assert!(drawing.shapes[0].paths.iter().all(|p| p.closed));
}

#[test]
fn transforms() {
    let (ring, _) = only("nested-transform");
    // (x, y) → (100 − 2y, 50 + 2x): x from 82 to 90, y down from 60 to 80.
    box_is(ring.bounds(), [82.0, 20.0, 90.0, 40.0], 1e-12);
    near(ring.area().abs(), 160.0, 1e-9);
    let (ring, _) = only("circle-turned-and-mirrored");
    let (_, r) = ring.as_circle().expect("a similarity keeps it round");
    near(r, 15.0, 1e-12);
    let (ring, _) = only("circle-stretched");
    assert_eq!(ring.as_circle(), None);
    near(ring.area().abs(), PI * 40.0 * 20.0, 0.0025 * ring.perimeter());
    box_is(ring.bounds(), [20.0, 40.0, 100.0, 80.0], 0.0025);
}

#[test]
fn the_sense_turns_with_the_page() {
    // A circle runs from +x towards +y (SVG 2, 10.3): clockwise on the page, so clockwise with y up.
    let (ring, _) = only("circle");
    assert!(ring.area() < 0.0);
    let (ring, _) = only("rounded-rect");
    assert!(ring.area() < 0.0);
}

#[test]
fn styles() {
    let drawing = read("css-class");
    let fills: Vec<Fill> = drawing.shapes.iter().map(|s| s.fill).collect();
    assert_eq!(fills, [Fill::None, Fill::NonZero]);
    assert_eq!(left_out(&drawing), [("shapes that are not shown (display: none)", 1, true)]);
    let drawing = read("stroke-only");
    let closed: Vec<bool> = drawing.shapes[0].paths.iter().map(|p| p.closed).collect();
    assert_eq!(closed, [true, false]);
    let line =
        drawing.remarks.iter().any(|r| matches!(r.kind, RemarkKind::CentreLine { count: 1, widest } if widest == 0.5));
    assert!(line, "{:?}", drawing.remarks);
}

#[test]
fn instances() {
    let drawing = read("use-symbol");
    assert_eq!(drawing.shapes.len(), 2);
    box_is(ring(&drawing.shapes[0]).bounds(), [20.0, 60.0, 50.0, 90.0], 1e-12);
    assert_eq!(drawing.shapes[0].source.id, "use 1/rect 1");
    assert_eq!(ring(&drawing.shapes[1]).as_circle(), Some((Point::new(100.0, 50.0), 5.0)));
    assert_eq!(drawing.shapes[1].source.id, "b/bung");
    let (ring, _) = only("nested-svg");
    box_is(ring.bounds(), [50.0, 40.0, 90.0, 80.0], 1e-12);
    let (ring, _) = only("switch");
    near(ring.area().abs(), 2500.0, 1e-9);
}

#[test]
fn layers() {
    let drawing = read("layers");
    let layers: Vec<_> = drawing.shapes.iter().map(|s| s.source.layer.as_deref()).collect();
    assert_eq!(layers, [Some("Sole boards"), Some("inner")]);
    let ids: Vec<_> = drawing.shapes.iter().map(|s| s.source.id.as_str()).collect();
    assert_eq!(ids, ["rect 1", "rect 2"]);
}

#[test]
fn nothing_is_dropped_in_silence() {
    let drawing = read("left-out");
    assert_eq!(drawing.shapes.len(), 1);
    let reported = left_out(&drawing);
    let of = |w: &str| reported.iter().find(|(what, ..)| what.contains(w)).map(|(_, n, harmless)| (*n, *harmless));
    assert_eq!(of("text"), Some((1, true)));
    assert_eq!(of("image"), Some((1, false)));
    assert_eq!(of("foreignObject"), Some((1, false)));
    assert_eq!(of("wobble"), Some((1, false)));
    assert_eq!(of("clip-path"), Some((1, false)));
    assert_eq!(of("not shown"), Some((1, true)));
    let drawing = read("fault-in-path");
    assert_eq!(drawing.shapes[0].paths.len(), 1);
    assert!(left_out(&drawing)[0].0.starts_with("the rest of a shape"));
    assert_eq!(drawing.remarks[0].source.as_ref().unwrap().id, "bad");
}

#[test]
fn sizes() {
    // 1in = 25.4mm = 96px (CSS).
    let drawing = read("unit-inch");
    box_is(drawing.bounds, [25.4, 25.4, 76.2, 50.8], 1e-12);
    assert_eq!((drawing.unit, drawing.unit_guessed), (Unit::INCH, false));
    let drawing = read("unit-px");
    box_is(drawing.bounds, [0.0, 12.7, 25.4, 25.4], 1e-12);
    assert!(drawing.unit_guessed && drawing.unit_source.contains("96"));
    let drawing = read("unit-none");
    box_is(drawing.bounds, [0.0, 0.0, 25.4, 12.7], 1e-12);
    let drawing = read("unit-on-attributes");
    box_is(drawing.bounds, [10.0, 30.0, 35.4, 40.0], 1e-9);
    let settings = ReadSettings { dpi: Some(90.0), ..ReadSettings::default() };
    box_is(read_with("unit-none", &settings).bounds, [0.0, 0.0, 96.0 / 90.0 * 25.4, 48.0 / 90.0 * 25.4], 1e-12);
    let settings = ReadSettings { unit: Some(Unit::MM), ..ReadSettings::default() };
    box_is(read_with("unit-px", &settings).bounds, [0.0, 48.0, 96.0, 96.0], 1e-12);
    box_is(read_with("unit-inch", &settings).bounds, [1.0, 1.0, 3.0, 2.0], 1e-12);
}

#[test]
fn hostile_files_end_in_an_error_or_a_remark() {
    let svg = |body: &str| text(&format!("<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 9 9'>{body}</svg>"));
    // Copies of copies: a thousand million shapes.
    let mut bomb = "<g id='a0'><rect width='1' height='1'/></g>".to_string();
    for i in 1..10 {
        let uses = format!("<use href='#a{}'/>", i - 1).repeat(10);
        bomb += &format!("<g id='a{i}'>{uses}</g>");
    }
    assert!(matches!(svg(&bomb), Err(ReadError::Refused { .. })));
    let circle = svg("<g id='a'><use href='#b'/></g><g id='b'><use href='#a'/></g>").unwrap();
    assert!(circle.shapes.is_empty() && !left_out(&circle).is_empty());
    let far = svg("<rect width='1e300' height='1e300'/><circle r='1e9'/><path d='M0 0H1e308V1e308Z'/>").unwrap();
    assert_eq!((far.shapes.len(), left_out(&far).len()), (0, 3));
    let deep = svg(&format!("{}<rect width='1' height='1'/>{}", "<g>".repeat(490), "</g>".repeat(490))).unwrap();
    assert_eq!(deep.shapes.len(), 1);
    second_reader_agrees("deep", &deep);
    let budget = Budget::unlimited();
    budget.cancel();
    assert!(matches!(svg::read(&bytes("rect"), &ReadSettings::default(), &budget), Err(ReadError::Stopped(_))));
}

#[test]
fn every_cut_off_file_is_an_error_or_a_drawing() {
    for name in ["css-class", "use-symbol", "arc-elliptic", "layers"] {
        let whole = bytes(name);
        for n in 0..whole.len() - 8 {
            let cut = svg::read(&whole[..n], &ReadSettings::default(), &Budget::unlimited());
            assert!(cut.is_err(), "{name} cut at {n}");
        }
    }
}
