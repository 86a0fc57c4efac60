use super::*;
use crate::check::{Code, numbered};
use crate::drawing::outline::{Hole, Outline};
use crate::drawing::{Drawing, Fill, Format, Path as Chain, Shape, Source, Unit};
use crate::geom::{Certified, Region, Ring, Segment};
use crate::job::asides::Asides;
use crate::job::facts::Bench;
use crate::kit::{Figures, Kit, Pair, Tools};
use crate::panel::template::Template;
use crate::report::canvas::{CRIMSON, PETROL};
use crate::template::Piece;
use crate::template::ease::{AsCut, Corners};
use crate::text::Show;

fn plate(x: f64, y: f64, w: f64, h: f64) -> Region {
    let corners = [(x, y), (x + w, y), (x + w, y + h), (x, y + h)].map(Point::from);
    Region::new(vec![Ring::polygon(&corners)])
}

/// A plate at (100, 200) of the drawing frame, with these findings.
fn facts(w: f64, h: f64, findings: Vec<Finding>) -> Facts {
    let region = plate(100.0, 200.0, w, h);
    let pair = Pair { bush: 20.0, cutter: 6.0 };
    let tools = Tools::new(pair, pair, 0.05).unwrap();
    let made = || Certified::for_test(region.clone());
    let cut = AsCut { recess: made(), inlay: made(), nested: true, ways: 1, smallest_way: None };
    let piece = Piece { outline: 1, drawn: made(), made: made(), cut, tools, recess: made(), inlay: made() };
    let source = Source { id: "plate".into(), kind: "path".into(), ..Source::default() };
    Facts {
        show: Show::Mm,
        assumed: Vec::new(),
        part: None,
        then: Vec::new(),
        path: "yard/hatch.svg".into(),
        drawing: Drawing {
            format: Format::Svg,
            unit: Unit::MM,
            unit_source: "the file says mm".into(),
            unit_guessed: false,
            shapes: Vec::new(),
            bounds: region.bounds(),
            remarks: Vec::new(),
        },
        outlines: vec![Outline { number: 1, region: Certified::for_test(region.clone()), source, holes: Vec::new() }],
        pieces: vec![piece],
        tools,
        corners: Corners::Ease { inside: 0.5, outside: 1.0 },
        figures: Figures::new(&Kit::default(), None, None, None),
        template: Template::default(),
        bench: Bench::default(),
        keep_clear: Vec::new(),
        fits: Vec::new(),
        findings: numbered(findings, &[]),
        files: Vec::new(),
        flatten: None,
        writing: None,
        origin: None,
        mirrored: false,
        asides: Asides::default(),
    }
}

fn finding(code: Code, severity: Severity, x: f64, y: f64) -> Finding {
    Finding::new(code, severity, "a corner is too tight. More of it.", "draw it rounder").at(Point::new(x, y)).on(1)
}

/// Bounding box of the first path of a group, from its `M` and `L` commands.
fn path_box(doc: &roxmltree::Document, group: &str) -> Rect {
    let g = doc.descendants().find(|n| n.attribute("id") == Some(group)).unwrap();
    let d = g.descendants().find_map(|n| n.attribute("d")).unwrap();
    let numbers: Vec<f64> = d.split(' ').filter_map(|v| v.parse().ok()).collect();
    let points = numbers.chunks(2).map(|c| Point::new(c[0], c[1]));
    points.map(|p| Rect::from_points(p, p)).reduce(|a, b| a.union(b)).unwrap()
}

/// The marks: title, ring, and the element of each.
fn marks_of<'a>(doc: &'a roxmltree::Document) -> Vec<(String, Point, roxmltree::Node<'a, 'a>)> {
    let Some(g) = doc.descendants().find(|n| n.attribute("id") == Some("MARKS")) else { return Vec::new() };
    let one = |n: roxmltree::Node<'a, 'a>| {
        let title = n.children().find(|c| c.has_tag_name("title")).unwrap().text().unwrap().to_owned();
        let ring = n.children().find(|c| c.has_tag_name("circle")).unwrap();
        let v = |a: &str| ring.attribute(a).unwrap().parse::<f64>().unwrap();
        (title, Point::new(v("cx"), v("cy")), n)
    };
    g.children().filter(|n| n.has_tag_name("g")).map(one).collect()
}

#[test]
fn a_ring_is_where_its_place_is_with_y_turned() {
    // 10 mm from the left, 5 mm from the bottom of 80 by 40 mm: at an eighth of the width, seven eighths down.
    for scale in [0.5, 1.0, 7.5] {
        let (w, h) = (80.0 * scale, 40.0 * scale);
        let at = finding(Code::Fit, Severity::Warning, 100.0 + w / 8.0, 200.0 + h / 8.0);
        let s = svg(&facts(w, h, vec![at])).unwrap();
        let doc = roxmltree::Document::parse(&s).unwrap();
        let b = path_box(&doc, "AS_IT_WILL_BE");
        let marks = marks_of(&doc);
        assert_eq!(marks.len(), 1);
        let (title, ring, _) = &marks[0];
        let want = Point::new(b.x0 + b.width() / 8.0, b.y1 - b.height() / 8.0);
        assert!((*ring - want).hypot() < 2e-3, "{ring} {want}");
        let place = format!("{:.1} mm from the left, {:.1} mm from the bottom", w / 8.0, h / 8.0);
        assert!(title.ends_with(&place), "{title}");
        assert!(s.contains(&format!(">{place}<")), "{place}");
        assert!((b.width() / b.height() - 2.0).abs() < 1e-9);
    }
}

/// A plate 4 in by 2 in: 25.4 mm is 1 in.
#[test]
fn an_inch_picture_has_no_millimetres() {
    let at = finding(Code::InsideCorner, Severity::Warning, 125.4, 200.0);
    let mut facts = facts(101.6, 50.8, vec![at]);
    facts.show = Show::Inch;
    facts.drawing.unit_source = "the inches of the file".into();
    let s = svg(&facts).unwrap();
    let doc = roxmltree::Document::parse(&s).unwrap();
    let words: Vec<&str> = doc.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
    for w in [
        "Drawing: 4.000 in (4) wide, 2.000 in (2) high. Size from the inches of the file.",
        "1.00 in from the left, 0.00 in from the bottom",
        "1 in of the drawing",
    ] {
        assert!(words.contains(&w), "{w}: {words:?}");
    }
    // Tools of 6 and 20 mm keep their own unit, in brackets.
    assert!(words.iter().all(|w| !w.replace("(6 mm)", "").contains("mm")), "{words:?}");
}

#[test]
fn the_sign_tells_the_severity() {
    let f = |severity, x| finding(Code::Fit, severity, x, 210.0);
    let all = vec![f(Severity::Error, 105.0), f(Severity::Warning, 120.0), f(Severity::Note, 135.0)];
    let s = svg(&facts(40.0, 30.0, all)).unwrap();
    let doc = roxmltree::Document::parse(&s).unwrap();
    let count = |n: &roxmltree::Node, tag: &str| n.children().filter(|c| c.has_tag_name(tag)).count();
    for (title, _, n) in marks_of(&doc) {
        // Two circles are the ring and its casing.
        let signs = (count(&n, "circle") - 2, count(&n, "rect"), count(&n, "polygon"));
        let (want, colour) = match title.split([':', ',']).nth(1).unwrap().trim() {
            "error" => ((2, 0, 0), CRIMSON),
            "warning" => ((0, 0, 1), OCHRE),
            _ => ((1, 0, 0), PETROL),
        };
        assert_eq!(signs, want, "{title}");
        let ring = n.children().filter(|c| c.has_tag_name("circle")).nth(1).unwrap();
        assert_eq!((ring.attribute("fill"), ring.attribute("stroke")), (Some("none"), Some(colour)));
    }
    assert!(s.contains("1 error, 1 warning, 1 note. No files for the machine while there is an error."), "{s}");
}

#[test]
fn of_many_the_worst_thirty_are_marked() {
    let many = (0..40).map(|i| {
        let mut f = finding(Code::Fit, Severity::Warning, 100.0 + f64::from(i) * 5.0, 200.0);
        f.short = Some(f64::from(i));
        f
    });
    let s = svg(&facts(200.0, 100.0, many.collect())).unwrap();
    let doc = roxmltree::Document::parse(&s).unwrap();
    let marks = marks_of(&doc);
    assert_eq!(marks.len(), 30);
    assert!(marks[0].0.starts_with("mark 11:"), "{}", marks[0].0);
    let words: String = doc.descendants().filter(|n| n.has_tag_name("text")).filter_map(|n| n.text()).collect();
    assert!(words.contains("The 30 worst are marked. 10 more have a place"), "{words}");
}

#[test]
fn a_distant_line_is_reported_and_does_not_shrink_the_picture() {
    let all = vec![finding(Code::Fit, Severity::Note, 9000.0, 0.0), finding(Code::Fit, Severity::Note, 100.0, 200.0)];
    let s = svg(&facts(40.0, 30.0, all)).unwrap();
    let doc = roxmltree::Document::parse(&s).unwrap();
    assert_eq!(marks_of(&doc).len(), 1);
    assert!(path_box(&doc, "AS_IT_WILL_BE").height() > 50.0);
    assert!(s.contains("1 lies far outside the"), "{s}");
}

#[test]
fn names_from_outside_are_harmless() {
    let mut f = finding(Code::Fit, Severity::Error, 110.0, 210.0);
    f.message = "path </text><script>&\u{202e}".into();
    let mut facts = facts(40.0, 30.0, vec![f]);
    facts.path = "yard/<script>\u{202e}.svg".into();
    facts.drawing.unit_source = "\"<script>\"".into();
    let s = svg(&facts).unwrap();
    assert!(!s.contains("<script") && !s.contains('\u{202e}'));
    assert!(roxmltree::Document::parse(&s).is_ok());
}

#[test]
fn what_is_not_a_number_is_refused() {
    assert!(svg(&facts(f64::NAN, 30.0, vec![])).is_err());
    assert!(svg(&facts(40.0, 30.0, vec![finding(Code::Fit, Severity::Note, f64::NAN, 1.0)])).is_err());
    assert!(svg(&facts(40.0, 30.0, vec![])).is_ok());
}

#[test]
fn a_line_without_an_outline_is_dashed() {
    let mut facts = facts(40.0, 30.0, vec![]);
    let segments = vec![Segment::line(Point::new(100.0, 200.0), Point::new(120.0, 215.0))];
    let source = Source { id: "loose".into(), ..Source::default() };
    let open = Shape { paths: vec![Chain { segments, closed: false }], fill: Fill::None, source };
    facts.drawing.shapes.push(open);
    let s = svg(&facts).unwrap();
    let doc = roxmltree::Document::parse(&s).unwrap();
    let g = doc.descendants().find(|n| n.attribute("id") == Some("NO_OUTLINE")).unwrap();
    assert!(g.descendants().any(|n| n.has_attribute("stroke-dasharray")));
}

/// An accepted island: its hole is dashed, whether it is a path of its own or part of the outline's path.
#[test]
fn the_hole_of_an_accepted_island_is_dashed() {
    for own in [false, true] {
        let mut facts = facts(40.0, 30.0, vec![]);
        let path = |x: f64, y: f64, w: f64, h: f64| Chain {
            segments: plate(x, y, w, h).rings[0].segments.clone(),
            closed: true,
        };
        let shape = |id: &str, paths| Shape {
            paths,
            fill: Fill::EvenOdd,
            source: Source { id: id.into(), kind: "path".into(), ..Source::default() },
        };
        let (outer, inner) = (path(100.0, 200.0, 40.0, 30.0), path(110.0, 210.0, 5.0, 5.0));
        facts.drawing.shapes = match own {
            true => vec![shape("plate", vec![outer]), shape("hole", vec![inner])],
            false => vec![shape("plate", vec![outer, inner])],
        };
        let source = facts.drawing.shapes.last().unwrap().source.clone();
        facts.outlines[0].holes =
            vec![Hole { at: Point::new(110.0, 210.0), area: 25.0, source, same_shape: !own, holds: None }];
        let s = svg(&facts).unwrap();
        let doc = roxmltree::Document::parse(&s).unwrap();
        let g = doc.descendants().find(|n| n.attribute("id") == Some("NO_OUTLINE")).unwrap();
        assert_eq!(g.children().filter(|n| n.has_tag_name("polyline")).count(), 1, "{own}");
    }
}

/// In a corner of 90° the middle of the cutter's circle lies one radius from both sides.
#[test]
fn the_close_up_shows_the_cutter_as_deep_as_it_comes() {
    for (x, y, u, v) in [(100.0, 200.0, 1.0, 1.0), (180.0, 240.0, -1.0, -1.0), (100.0, 240.0, 1.0, -1.0)] {
        let f = finding(Code::InsideCorner, Severity::Warning, x, y);
        let facts = facts(80.0, 40.0, vec![f]);
        let shown = view::shown(&facts).unwrap();
        let chosen = choose(&facts, shown);
        let insets = inset::wanted(&facts, &chosen.worst);
        assert_eq!(insets.len(), 1);
        let (centre, radius) = insets[0].circle();
        assert_eq!(radius, 3.0);
        let want = Point::new(x + 3.0 * u, y + 3.0 * v);
        assert!((centre - want).hypot() < 0.01, "{centre} {want}");
    }
}
