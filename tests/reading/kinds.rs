//! Every kind of entity and element, in one file each, compared with its expected outlines.
//!
//! Areas follow from elementary geometry, given beside each. Areas of fitted curves hold to the fit's tolerance times the
//! length of the edge.
//! Source: Autodesk, *DXF Reference*, AutoCAD 2024, ENTITIES section.
//! Source: W3C, *Scalable Vector Graphics (SVG) 2*, 2018.

use letin::budget::Budget;
use letin::drawing::{Drawing, ReadSettings, RemarkKind, Strokes, Texts, join, outline, read};
use std::f64::consts::PI;
use std::path::PathBuf;

fn file(name: &str) -> Vec<u8> {
    let path: PathBuf = [env!("CARGO_MANIFEST_DIR"), "tests/fixtures", name].iter().collect();
    std::fs::read(&path).unwrap_or_else(|e| panic!("{name}: {e}"))
}

fn with(name: &str, settings: &ReadSettings) -> (Drawing, outline::Outlines) {
    let budget = Budget::unlimited();
    let mut d = read(&file(name), settings, &budget).unwrap_or_else(|e| panic!("{name}: {e}"));
    let (shapes, remarks) = join::join(std::mem::take(&mut d.shapes), settings.join, &budget);
    d.shapes = shapes;
    d.remarks.extend(remarks);
    let found = outline::outlines(&d.shapes, &budget).unwrap();
    (d, found)
}

/// The expectation for a file: number of outlines, total area and its tolerance (mm²), size of the bounding box (mm), and
/// phrases. Each remark on something left out or tolerated has one phrase.
type Want<'a> = (&'a str, usize, f64, f64, [f64; 2], &'a [&'a str]);

fn check(folder: &str, settings: &ReadSettings, wanted: &[Want]) {
    for &(name, count, area, off, size, reported) in wanted {
        let path = format!("{folder}/{name}");
        let (d, found) = with(&path, settings);
        assert_eq!(found.outlines.len(), count, "{name}: {:?}", found.troubles);
        let sum: f64 = found.outlines.iter().map(|o| o.region.area()).sum();
        assert!((sum - area).abs() <= off, "{name}: area {sum}, expected {area}");
        let b = d.bounds.unwrap();
        assert!((b.width() - size[0]).abs() < 0.003 && (b.height() - size[1]).abs() < 0.003, "{name}: {b:?}");
        let said: Vec<String> = d
            .remarks
            .iter()
            .filter_map(|r| match &r.kind {
                RemarkKind::LeftOut { what, .. } | RemarkKind::Tolerated { what } => Some(what.clone()),
                RemarkKind::SecondReader { what } => panic!("{name}: {what}"),
                _ => None,
            })
            .collect();
        assert_eq!(said.len(), reported.len(), "{name}: {said:?}");
        for t in reported {
            assert!(said.iter().any(|s| s.contains(t)), "{name}: {said:?} has no {t:?}");
        }
    }
}

/// A parabola over a chord of 20, 10 high: two thirds of its bounding box (Archimedes).
const PARABOLA: f64 = 400.0 / 3.0;
const SQUARE: f64 = 100.0;
/// Tolerance of an area with fitted edges: the fit's tolerance times the length.
const FIT: f64 = 0.0025 * 150.0;

#[test]
fn dxf_entities() {
    let plain: &[&str] = &[];
    check(
        "dxf/kinds",
        &ReadSettings::default(),
        &[
            ("line.dxf", 1, 600.0, 1e-9, [30.0, 40.0], plain),
            ("arc.dxf", 1, 50.0 * PI, 1e-9, [20.0, 10.0], plain),
            ("circle.dxf", 1, 100.0 * PI, 1e-9, [20.0, 20.0], plain),
            ("lwpolyline.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], plain),
            ("lwpolyline-bulge.dxf", 1, 100.0 * PI, 1e-9, [20.0, 20.0], plain),
            ("polyline.dxf", 1, 100.0, 1e-9, [20.0, 10.0], plain),
            ("polyline-3d.dxf", 1, 100.0, 1e-9, [20.0, 10.0], plain),
            ("polyline-spline-frame.dxf", 1, 100.0, 1e-9, [20.0, 10.0], plain),
            ("ellipse.dxf", 1, 200.0 * PI, FIT, [40.0, 20.0], plain),
            ("ellipse-arc.dxf", 1, 100.0 * PI, FIT, [40.0, 10.0], plain),
            ("spline.dxf", 1, PARABOLA, FIT, [20.0, 10.0], plain),
            ("spline-weights.dxf", 1, 25.0 * PI, FIT, [10.0, 10.0], plain),
            // Fit points in a row give a straight line.
            ("spline-fit-points.dxf", 1, 100.0, 1e-6, [20.0, 10.0], &["fit points only"]),
            ("spline-fit-points-closed.dxf", 1, closed_through_four(), FIT, [20.0, 20.0], &["fit points only"]),
            ("hatch-polyline.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], plain),
            ("hatch-polyline-bulge.dxf", 1, 100.0 * PI, 1e-9, [20.0, 20.0], plain),
            ("hatch-edges.dxf", 1, 50.0 * PI, 1e-9, [20.0, 10.0], plain),
            ("hatch-arc-clockwise.dxf", 1, 50.0 * PI, 1e-9, [20.0, 10.0], plain),
            ("hatch-ellipse.dxf", 1, 200.0 * PI, FIT, [40.0, 20.0], plain),
            ("hatch-spline.dxf", 1, PARABOLA, FIT, [20.0, 10.0], plain),
            ("hatch-island.dxf", 1, 800.0, 1e-9, [30.0, 30.0], plain),
            ("hatch-over-outline.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], plain),
            ("own-plane-below.dxf", 1, 100.0, 1e-9, [20.0, 10.0], plain),
            ("invisible.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], &["invisible"]),
            ("paper-space.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], &["paper sheet"]),
            ("text.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], &["text (TEXT)", "text (MTEXT)"]),
            ("dimension.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], &["dimension"]),
            ("point.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], &["point (POINT)"]),
            ("solid.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], &["filled area (SOLID)"]),
            ("3dface.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], &["three-dimensional body (3DFACE)"]),
            ("mline.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], &["(MLINE)"]),
            ("image.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], &["picture (IMAGE)"]),
            ("region.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], &["three-dimensional body (REGION)"]),
            ("leader.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], &["leader (LEADER)"]),
            ("ray.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], &["(RAY)", "(XLINE)"]),
            ("unknown-kind.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], &["(GARBOARD)"]),
            ("layer-off.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], &["layer OFF, which is off"]),
            ("layer-frozen.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], &["layer ICE, which is frozen"]),
            ("insert.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], plain),
            ("insert-scaled.dxf", 1, 600.0, 1e-9, [20.0, 30.0], plain),
            ("insert-mirrored.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], plain),
            ("insert-array.dxf", 6, 600.0, 1e-9, [50.0, 40.0], plain),
            ("insert-nested.dxf", 2, 200.0, 1e-9, [45.0 + 50f64.sqrt(), 200f64.sqrt()], plain),
            ("insert-cycle.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], &["block within itself (ROUND)"]),
            ("insert-no-block.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], &["missing from the file (NOWHERE)"]),
            ("insert-xref.dxf", 1, SQUARE, 1e-9, [10.0, 10.0], &["in another file (ELSEWHERE)"]),
        ],
    );
}

/// Area of the closed curve through (±10, 0) and (0, ±10), which are separated by equal chords h.
///
/// By symmetry the tangent at each point is perpendicular to the radius; the parameter is the chord length. A continuous
/// second derivative makes the derivative 3 (P₊ − P₋) / (4 h), where the neighbours P₊ and P₋ are 20 apart. A Bézier
/// handle is h/3 times that, so it is 5 long. The trapezium rule sums the area of a quarter.
fn closed_through_four() -> f64 {
    let p = [(10.0, 0.0), (10.0, 5.0), (5.0, 10.0), (0.0, 10.0)];
    let at = |t: f64| {
        let u = 1.0 - t;
        let b = [u * u * u, 3.0 * u * u * t, 3.0 * u * t * t, t * t * t];
        let sum = |f: fn(&(f64, f64)) -> f64| p.iter().zip(b).map(|(q, b)| f(q) * b).sum::<f64>();
        (sum(|q| q.0), sum(|q| q.1))
    };
    let n = 100_000;
    let points: Vec<_> = (0..=n).map(|i| at(f64::from(i) / f64::from(n))).collect();
    let quarter: f64 = points.windows(2).map(|w| (w[0].0 * w[1].1 - w[1].0 * w[0].1) / 2.0).sum();
    4.0 * quarter
}

#[test]
fn svg_elements() {
    let plain: &[&str] = &[];
    // path-shorthand: T mirrors the handle, and so the two halves of the wave cancel.
    check(
        "svg/kinds",
        &ReadSettings::default(),
        &[
            ("line-loose.svg", 1, 600.0, 1e-9, [30.0, 40.0], plain),
            ("polyline-closed-stroke.svg", 1, 600.0, 1e-9, [30.0, 40.0], plain),
            ("path-relative.svg", 1, 600.0, 1e-9, [30.0, 20.0], plain),
            ("path-shorthand.svg", 1, 800.0, FIT, [40.0, 25.0], plain),
            ("path-two-subpaths.svg", 1, 800.0, 1e-9, [30.0, 30.0], plain),
            ("clip-path.svg", 1, 400.0, 1e-9, [20.0, 20.0], &["clip-path"]),
            ("mask.svg", 1, 400.0, 1e-9, [20.0, 20.0], &["masks"]),
            ("filter.svg", 1, 400.0, 1e-9, [20.0, 20.0], &["filters"]),
            ("marker.svg", 1, 400.0, 1e-9, [20.0, 20.0], &["markers"]),
            ("image.svg", 1, 400.0, 1e-9, [20.0, 20.0], &["pictures"]),
            ("text.svg", 1, 400.0, 1e-9, [20.0, 20.0], &["text"]),
            ("foreign-object.svg", 1, 400.0, 1e-9, [20.0, 20.0], &["foreignObject"]),
            ("display-none.svg", 1, 400.0, 1e-9, [20.0, 20.0], &["display: none"]),
            ("visibility-hidden.svg", 1, 400.0, 1e-9, [20.0, 20.0], &["not shown"]),
            ("no-paint.svg", 1, 400.0, 1e-9, [20.0, 20.0], &["not shown"]),
            ("link.svg", 1, 400.0, 1e-9, [20.0, 20.0], plain),
            ("defs.svg", 1, 400.0, 1e-9, [20.0, 20.0], plain),
            ("use-missing.svg", 1, 400.0, 1e-9, [20.0, 20.0], &["missing element"]),
            ("use-outside.svg", 1, 400.0, 1e-9, [20.0, 20.0], &["points to no element of this file"]),
            ("use-cycle.svg", 1, 400.0, 1e-9, [20.0, 20.0], &["leads back to itself"]),
            ("nested-svg-clips.svg", 1, 400.0, 1e-9, [20.0, 20.0], &["clipping by a nested viewport"]),
            ("skewed.svg", 1, 400.0, 1e-9, [20.0 + 20.0 / 3f64.sqrt(), 20.0], plain),
            ("stroke-band.svg", 1, 600.0, 1e-9, [30.0, 20.0], plain),
            ("svgz.svgz", 1, 400.0, 1e-9, [20.0, 20.0], plain),
            ("encoding-utf-16.svg", 1, 400.0, 1e-9, [20.0, 20.0], plain),
            ("encoding-latin-1.svg", 1, 400.0, 1e-9, [20.0, 20.0], plain),
            ("encoding-utf-8-mark.svg", 1, 400.0, 1e-9, [20.0, 20.0], plain),
        ],
    );
}

/// Wide strokes read as bands. Areas by elementary geometry: mitred ring, annulus, stadium, dashes 10 on and 5 off over 40.
#[test]
fn strokes_as_bands() {
    let plain: &[&str] = &[];
    let ring = 34.0 * 24.0 - 26.0 * 16.0;
    let settings = ReadSettings { stroke: Strokes::Outline, ..ReadSettings::default() };
    check(
        "svg/kinds",
        &settings,
        &[
            ("stroke-band.svg", 1, ring, 1e-6, [34.0, 24.0], plain),
            ("stroke-band-circle.svg", 1, PI * (32.0 * 32.0 - 28.0 * 28.0), 0.0025 * 380.0, [64.0, 64.0], plain),
            ("stroke-band-open-round.svg", 1, 120.0 + 4.0 * PI, FIT, [34.0, 4.0], plain),
            ("stroke-band-dashed.svg", 3, 120.0, 1e-6, [40.0, 4.0], plain),
        ],
    );
}

/// A missing font is reported and never replaced. Without a named font, letters become outlines where the machine has fonts.
#[test]
fn text_as_outlines() {
    let settings = ReadSettings { text: Texts::Outline, ..ReadSettings::default() };
    let left = |d: &Drawing| -> Vec<String> {
        let of = d.remarks.iter().filter_map(|r| match &r.kind {
            RemarkKind::LeftOut { what, .. } => Some(what.clone()),
            _ => None,
        });
        of.collect()
    };
    let (d, found) = with("svg/kinds/text-unknown-font.svg", &settings);
    assert_eq!(found.outlines.len(), 1);
    let said = left(&d);
    assert!(said.len() == 1 && (said[0].contains("No Such Face") || said[0].contains("no fonts")), "{said:?}");
    let (d, found) = with("svg/kinds/text.svg", &settings);
    match left(&d)[..] {
        [] => {
            // Three letters of a 5 mm font, on a baseline at half the height, from x = 50.
            assert!(found.outlines.len() >= 4, "{}", found.outlines.len());
            let b = d.shapes[1]
                .paths
                .iter()
                .flat_map(|p| &p.segments)
                .map(letin::geom::Segment::bounds)
                .reduce(|a, b| a.union(b));
            let b = b.unwrap();
            assert!(b.x0 > 49.0 && b.x1 < 70.0 && b.y0 > 48.0 && b.y1 < 56.0, "{b:?}");
        }
        [ref one] => assert!(one.contains("no fonts"), "{one}"),
        ref more => panic!("{more:?}"),
    }
}

#[test]
fn names_are_kept_for_choosing() {
    let (d, _) = with("svg/kinds/label-and-colour.svg", &ReadSettings::default());
    let said: Vec<_> = d.shapes.iter().map(|s| (s.source.label.as_deref(), s.source.colour.as_deref())).collect();
    assert_eq!(said, [(Some("hatch key"), Some("#cc0000")), (None, Some("#008080"))]);
    let (d, _) = with("dxf/kinds/circle.dxf", &ReadSettings::default());
    assert_eq!(d.shapes[0].source.layer.as_deref(), Some("0"));
}

/// A given width overrides the file's unit, and curves are fitted at the final size.
#[test]
fn a_width_that_is_given() {
    for (name, high) in
        [("svg/kinds/path-relative.svg", 200.0), ("dxf/kinds/line.dxf", 400.0), ("dxf/kinds/ellipse.dxf", 150.0)]
    {
        let settings = ReadSettings { width: Some(300.0), ..ReadSettings::default() };
        let (d, _) = with(name, &settings);
        let b = d.bounds.unwrap();
        assert!((b.width() - 300.0).abs() < 0.006 && (b.height() - high).abs() < 0.006, "{name}: {b:?}");
        assert!(!d.unit_guessed && d.unit_source.contains("300 mm"), "{}", d.unit_source);
    }
}

/// Circles and arcs of radius 300 mm, far from the origin. Every point of every arc lies within 0.001 mm of its circle. The
/// closed form compares the centre and the radius.
#[test]
fn large_circles_and_arcs_far_out() {
    use letin::geom::{Point, Segment};
    for (x, y) in [(0.0, 0.0), (1e6, 1e6)] {
        let shapes = [
            format!("<circle cx='{x}' cy='{y}' r='300'/>"),
            format!("<path d='M{} {y}A300 300 0 0 1 {} {y}A300 300 0 0 1 {} {y}Z'/>", x - 300.0, x + 300.0, x - 300.0),
            // A quarter, and the way back through the centre.
            format!("<path d='M{} {y}A300 300 0 0 1 {x} {}L{x} {y}Z'/>", x + 300.0, y + 300.0),
            format!("<g transform='translate({x} {y}) rotate(30)'><circle r='300'/></g>"),
        ];
        for shape in shapes {
            let file = format!(
                "<svg xmlns='http://www.w3.org/2000/svg' width='1000mm' height='1000mm' viewBox='0 0 1000 1000'>{shape}</svg>"
            );
            let d = read(file.as_bytes(), &ReadSettings::default(), &Budget::unlimited()).unwrap();
            let centre = Point::new(x, 1000.0 - y);
            let arcs: Vec<_> = d.shapes[0].paths[0].segments.iter().filter(|s| matches!(s, Segment::Arc(_))).collect();
            assert!(!arcs.is_empty(), "{shape}");
            for s in arcs {
                let Segment::Arc(a) = s else { continue };
                let off = (a.center - centre).hypot() + (a.radius - 300.0).abs();
                assert!(off < 0.001, "{shape}: {off}");
            }
        }
    }
}

/// Every drawing of the repository. The number of elements and entities read or reported equals a count that knows no
/// kinds. (The readers compare these numbers on every run; a difference is a remark.)
#[test]
fn nothing_is_lost_between_reading_and_telling() {
    let root = PathBuf::from(env!("CARGO_MANIFEST_DIR"));
    let mut folders = vec![root.join("tests"), root.join("samples")];
    let (mut files, mut counted) = (Vec::new(), 0);
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if ["svg", "svgz", "dxf"].iter().any(|e| path.extension().is_some_and(|x| x == *e)) {
                files.push(path);
            }
        }
    }
    for path in files {
        let Ok(d) = read(&std::fs::read(&path).unwrap(), &ReadSettings::default(), &Budget::unlimited()) else {
            continue;
        };
        counted += 1;
        for r in &d.remarks {
            if let RemarkKind::SecondReader { what } = &r.kind {
                let lost = what.contains("gave neither a shape") || what.contains("the ENTITIES section has");
                assert!(!lost, "{}: {what}", path.display());
            }
        }
    }
    assert!(counted > 200, "{counted}");
}
