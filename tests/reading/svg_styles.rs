//! Styles of SVG files: which shapes are visible, where they lie, and the messages about rules that are not understood.
//!
//! Independent reference: `fixtures/svg/browser.json` holds small drawings with unusual style rules, and the bounding box
//! and area that a browser paints. The file names the browser and its version; `tests/corpus/browser_boxes.py` measures
//! again.
//! Source: W3C, *Scalable Vector Graphics (SVG) 2*, 2018.
//! Source: W3C, *CSS Cascading and Inheritance Level 5*, 2022; from memory, unchecked.
//! Source: W3C, *CSS Values and Units Module Level 4*, 2024; from memory, unchecked.
//! Source: W3C, *CSS Transforms Module Level 2*, 2021; from memory, unchecked.

use letin::budget::Budget;
use letin::check::{Code, Finding, Severity, reading};
use letin::drawing::{self, Drawing, ReadSettings, RemarkKind, Strokes, svg};
use letin::geom::{Rect, Ring, Segment};
use std::collections::BTreeMap;

fn file(name: &str) -> Vec<u8> {
    let path = format!("{}/tests/fixtures/svg/{name}", env!("CARGO_MANIFEST_DIR"));
    std::fs::read(&path).unwrap_or_else(|e| panic!("{path}: {e}"))
}

fn read(bytes: &[u8], settings: &ReadSettings) -> Drawing {
    svg::read(bytes, settings, &Budget::unlimited()).unwrap()
}

/// A drawing of 100 × 100 mm with this content.
fn body(body: &str) -> Drawing {
    let text = format!(
        "<svg xmlns='http://www.w3.org/2000/svg' width='100mm' height='100mm' viewBox='0 0 100 100'>{body}</svg>"
    );
    read(text.as_bytes(), &ReadSettings::default())
}

fn findings(drawing: &Drawing) -> Vec<Finding> {
    reading::findings(drawing, true)
}

fn warned(drawing: &Drawing, of: &str) -> bool {
    let is = |f: &Finding| f.code == Code::LeftOut && f.severity == Severity::Warning && f.message.contains(of);
    findings(drawing).iter().any(is)
}

fn noted(drawing: &Drawing, of: &str) -> bool {
    let is = |f: &Finding| f.code == Code::LeftOut && f.severity == Severity::Note && f.message.contains(of);
    findings(drawing).iter().any(is)
}

fn second_reader(drawing: &Drawing) -> Option<&str> {
    drawing.remarks.iter().find_map(|r| match &r.kind {
        RemarkKind::SecondReader { what } => Some(what.as_str()),
        _ => None,
    })
}

fn area(drawing: &Drawing) -> f64 {
    let paths = drawing.shapes.iter().flat_map(|s| &s.paths).filter(|p| p.closed);
    paths.map(|p| Ring::new(p.segments.clone()).area().abs()).sum()
}

fn box_is(r: Option<Rect>, expected: [f64; 4], tolerance: f64) {
    let r = r.unwrap();
    for (a, b) in [r.x0, r.y0, r.x1, r.y1].iter().zip(expected) {
        assert!((a - b).abs() <= tolerance, "{r:?} is not {expected:?}");
    }
}

/// Drawings that this reader reads otherwise than the browser, and a phrase of the warning about it.
const TOLD: [(&str, &str); 4] = [
    ("t-group-fill-box", "transform-box whose box is not known"),
    ("t-stroke-box", "the transform-box stroke-box"),
    // CSS forbids units in an attribute, but drawing programs write them.
    ("t-rotate-attribute-with-unit", ""),
    ("unknown-pseudo-drops-the-rule", ":wobble"),
];

/// Drawings for which the second reader is not asked.
const NOT_ASKED: [&str; 4] =
    ["use-rules-of-the-original", "use-var", "use-nth-child-in-its-own-tree", "use-root-is-not-in-it"];

#[test]
fn a_browser_sees_the_same() {
    let table: serde_json::Value = serde_json::from_slice(&file("browser.json")).unwrap();
    let reported = BTreeMap::from(TOLD);
    let mut faults = Vec::new();
    let drawings = table["drawings"].as_array().unwrap();
    assert!(drawings.len() > 200);
    for d in drawings {
        let (name, text) = (d["name"].as_str().unwrap(), d["svg"].as_str().unwrap());
        let drawing = read(text.as_bytes(), &ReadSettings::default());
        let painted: Option<Vec<f64>> = d["box"].as_array().map(|b| b.iter().map(|v| v.as_f64().unwrap()).collect());
        // The browser's pixels are tenths of a unit, counted from the top.
        let same = match (&painted, drawing.bounds) {
            (None, None) => true,
            (Some(p), Some(b)) => {
                let ours = [b.x0, 100.0 - b.y1, b.x1, 100.0 - b.y0];
                p.iter().zip(ours).all(|(p, o)| (p - o).abs() < 0.16)
            }
            _ => false,
        };
        let painted_area = d["area"].as_f64().unwrap();
        let stroked = text.contains("stroke-width");
        let as_large = stroked || (area(&drawing) - painted_area).abs() < 1.0 + 0.01 * painted_area;
        match reported.get(name) {
            Some(what) if !what.is_empty() && !warned(&drawing, what) => {
                faults.push(format!("{name}: {:?}", drawing.remarks));
            }
            Some(what) if !what.is_empty() => {}
            Some(_) => assert!(second_reader(&drawing).is_some(), "{name}"),
            None if !same || !as_large => {
                faults.push(format!("{name}: {painted:?} {painted_area}, but {:?} {}", drawing.bounds, area(&drawing)));
            }
            None => {}
        }
        let asked = second_reader(&drawing).is_none_or(|w| NOT_ASKED.contains(&name) && w.contains("was not used"));
        if !asked && !reported.contains_key(name) {
            faults.push(format!("{name}: {:?}", second_reader(&drawing)));
        }
    }
    assert!(faults.is_empty(), "{}\n{}", table["browser"], faults.join("\n"));
}

#[test]
fn rules_that_are_not_understood_are_warnings_by_name() {
    let rect = "<rect width='9' height='9'/>";
    for (rules, named) in [
        ("rect:wobble(2){display:none}", "rect:wobble(2)"),
        ("@import url(other.css);", "@import url(other.css)"),
        ("@scope (g){rect{display:none}}", "@scope (g)"),
        ("@container (width>1px){rect{display:none}}", "@container"),
        ("@media (min-width:9px){rect{display:none}}", "@media (min-width:9px)"),
        ("@supports (wobble:1){rect{display:none}}", "@supports (wobble:1)"),
        ("rect{stroke:wobble(1)}", "stroke: wobble(1)"),
        ("rect{display:attr(x)}", "display: attr(x)"),
        ("rect{width:calc(1px + 2em)}", "width: calc(1px + 2em)"),
        ("rect{transform:rotateX(9deg)}", "transform: rotateX(9deg)"),
        ("rect{all:initial}", "all: initial"),
        ("rect{display:revert-layer}", "display: revert-layer"),
        ("rect{offset-path:path('M0 0H9')}", "offset-path"),
        ("rect{zoom:2}", "zoom"),
        ("rect{animation:x 1s}", "animation"),
        ("rect{width:12}", "width: 12"),
        ("rect{mask-image:url(#m)}", "masks"),
    ] {
        let drawing = body(&format!("<style>{rules}</style>{rect}"));
        assert!(warned(&drawing, named), "{rules}: {:?}", findings(&drawing));
        assert_eq!(drawing.shapes.len(), 1, "{rules}");
    }
    // Rules for other media, and rules without visible effect, give no message.
    for rules in [
        "@media print{rect{display:none}}",
        "@page{size:A4} @font-face{font-family:x} @keyframes k{to{opacity:0}}",
        "@media (min-width:9px){rect{cursor:pointer}} rect{cursor:pointer;font-family:x;transition:all 1s}",
        "rect:hover{display:none}",
    ] {
        let drawing = body(&format!("<style>{rules}</style>{rect}"));
        assert!(drawing.remarks.is_empty() && drawing.shapes.len() == 1, "{rules}: {:?}", drawing.remarks);
    }
}

#[test]
fn style_rules_are_followed() {
    let names = |d: &Drawing| d.shapes.iter().map(|s| s.source.id.clone()).collect::<Vec<_>>();
    let drawing = read(&file("style-not.svg"), &ReadSettings::default());
    assert_eq!(names(&drawing), ["a"]);
    let drawing = read(&file("style-var.svg"), &ReadSettings::default());
    assert!(drawing.shapes.is_empty() && noted(&drawing, "2 of them"));
    // The transform origin is the corner of the viewport, as in SVG (W3C, CSS Transforms 2).
    let drawing = read(&file("style-rotate-scale-translate.svg"), &ReadSettings::default());
    let boxes: Vec<Rect> = drawing
        .shapes
        .iter()
        .map(|s| s.paths[0].segments.iter().map(Segment::bounds).reduce(|a, b| a.union(b)).unwrap())
        .collect();
    box_is(Some(boxes[0]), [-25.0, 85.0, -5.0, 95.0], 1e-9);
    box_is(Some(boxes[1]), [90.0, 50.0, 110.0, 90.0], 1e-9);
    box_is(Some(boxes[2]), [75.0, 35.0, 85.0, 55.0], 1e-9);
    assert_eq!(second_reader(&drawing), None);
}

#[test]
fn an_invalid_value_leaves_the_previous_one() {
    let drawing = read(&file("style-light-dark.svg"), &ReadSettings::default());
    assert_eq!((drawing.shapes.len(), second_reader(&drawing)), (2, None));
    let drawing = body("<rect width='9' height='9' fill='none' stroke='#f00' style='stroke: wobble(1, 2)'/>");
    assert_eq!(drawing.shapes[0].source.colour.as_deref(), Some("#ff0000"));
    assert!(warned(&drawing, "stroke: wobble(1, 2)") && second_reader(&drawing).is_none());
}

#[test]
fn what_draws_nothing_has_no_size() {
    let settings = ReadSettings { width: Some(100.0), ..ReadSettings::default() };
    let drawing = drawing::read(&file("frame-of-opacity-0.svg"), &settings, &Budget::unlimited()).unwrap();
    let b = drawing.bounds.unwrap();
    assert!((b.width() - 100.0).abs() < 1e-9 && (b.height() - 112.5).abs() < 1e-9, "{b:?}");
    assert!(noted(&drawing, "opacity: 0") && second_reader(&drawing).is_none());
    for clear in [
        "<rect width='99' height='99' fill-opacity='0'/>",
        "<rect width='99' height='99' fill='none' stroke='red' stroke-opacity='0%'/>",
        "<g opacity='0'><g><rect width='99' height='99'/></g></g>",
        "<g visibility='hidden'><rect width='99' height='99'/></g>",
        "<g style='display:none'><rect width='99' height='99'/></g>",
        "<rect width='99' height='99' fill='#0000'/>",
        "<rect width='99' height='99' fill='none'/>",
    ] {
        let drawing = body(&format!("{clear}<rect x='10' y='10' width='20' height='20'/>"));
        box_is(drawing.bounds, [10.0, 70.0, 30.0, 90.0], 1e-9);
        assert!(noted(&drawing, "not shown") && second_reader(&drawing).is_none(), "{clear}: {:?}", drawing.remarks);
    }
}

#[test]
fn lengths_that_depend_on_a_font() {
    // Without known fonts, ex and ch are half the font size (CSS Values and Units 4, section 6.1.1).
    let drawing = body("<g font-size='20'><rect width='1ex' height='2ch'/></g>");
    box_is(drawing.bounds, [0.0, 80.0, 10.0, 100.0], 1e-9);
    assert!(warned(&drawing, "half the font size") && second_reader(&drawing).is_none());
    let drawing = body("<g font-size='20'><rect width='1em' height='2rem'/></g>");
    box_is(drawing.bounds, [0.0, 68.0, 20.0, 100.0], 1e-9);
    assert!(drawing.remarks.is_empty(), "{:?}", drawing.remarks);
    assert!(warned(&body("<rect width='9vw' height='9'/>"), "9vw"));
    // The stroke width counts at the element that sets it, whatever the font size further down.
    let drawing =
        body("<g font-size='2' stroke-width='1em' fill='none' stroke='red'><path font-size='50' d='M0 0H9V9Z'/></g>");
    let widest = |r: &RemarkKind| matches!(r, RemarkKind::CentreLine { widest, .. } if (*widest - 2.0).abs() < 1e-9);
    assert!(drawing.remarks.iter().any(|r| widest(&r.kind)), "{:?}", drawing.remarks);
    // The page as well: 10em at 40px are 400px.
    let root = |attributes: &str| {
        let text = format!(
            "<svg xmlns='http://www.w3.org/2000/svg' viewBox='0 0 10 10' {attributes}><rect width='10' height='10'/></svg>"
        );
        let drawing = read(text.as_bytes(), &ReadSettings::default());
        assert_eq!(second_reader(&drawing), None, "{attributes}");
        drawing.bounds.unwrap().width()
    };
    assert!((root("width='10em' height='10em' font-size='40'") - 400.0 * 25.4 / 96.0).abs() < 1e-9);
    assert!((root("width='1rem' height='1rem' style='font-size:50px'") - 50.0 * 25.4 / 96.0).abs() < 1e-9);
    assert!((root("style='width:60mm;height:60mm'") - 60.0).abs() < 1e-9);
    assert!((root("width='60mm' height='60mm' style='width:100%;height:100%'") - 60.0).abs() < 1e-9);
}

fn band(svg: &str) -> Drawing {
    let settings = ReadSettings { stroke: Strokes::Outline, ..ReadSettings::default() };
    read(svg.as_bytes(), &settings)
}

#[test]
fn ends_that_meet_are_ends() {
    let open = String::from_utf8(file("open-ends-meet.svg")).unwrap();
    // The stroke is 20 wide. At (30, 50) it leaves at 45° and returns at atan 1/4. The farthest corner of a butt cap lies
    // 10 · sin 45° to the left. A round cap reaches 10, a square cap 10 · (sin 45° + cos 45°).
    let left = |cap: &str| {
        let drawing = band(&open.replace("fill=\"none\"", &format!("fill=\"none\" stroke-linecap=\"{cap}\"")));
        30.0 - drawing.shapes[0].paths.iter().flat_map(|p| &p.segments).map(|s| s.bounds().x0).fold(f64::MAX, f64::min)
    };
    let half = std::f64::consts::FRAC_1_SQRT_2;
    assert!((left("butt") - 10.0 * half).abs() < 0.002, "{}", left("butt"));
    assert!((left("round") - 10.0).abs() < 0.002, "{}", left("round"));
    assert!((left("square") - 20.0 * half).abs() < 0.002, "{}", left("square"));
    // A closed path has a mitre: the two directions are 59.04° apart, so it is 10 / sin 29.52° = 20.3 long.
    let closed = band(&open.replace("30 50\"/>", "30 50Z\"/>"));
    let tip = closed.shapes[0].paths.iter().flat_map(|p| &p.segments).map(|s| s.bounds().x0).fold(f64::MAX, f64::min);
    assert!(30.0 - tip > 15.0, "{tip}");
}

#[test]
fn dashes_are_measured_by_the_length_that_the_drawing_states() {
    // A path of length 40 that states 4 has dashes ten times as long (SVG 2, 9.6.1).
    let dashed = |more: &str| {
        let path = format!("<path d='M10 10H50' fill='none' stroke='red' stroke-width='2' {more}/>");
        let drawing = band(&format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='100mm' height='100mm' viewBox='0 0 100 100'>{path}</svg>"
        ));
        (drawing.shapes.iter().map(|s| s.paths.len()).sum::<usize>(), area(&drawing))
    };
    let near = |(n, a): (usize, f64), m: usize, b: f64| assert!(n == m && (a - b).abs() < 1e-3, "{n} {a}");
    near(dashed("stroke-dasharray='10'"), 2, 40.0);
    near(dashed("stroke-dasharray='1' pathLength='4'"), 2, 40.0);
    near(dashed("stroke-dasharray='1' pathLength='4' stroke-dashoffset='-1.5'"), 3, 40.0);
}

#[test]
fn strokes_that_depend_on_the_screen_are_reported() {
    let svg = "<svg xmlns='http://www.w3.org/2000/svg' width='100mm' height='100mm' viewBox='0 0 10 10'><path d='M1 1H5V5Z' fill='none' stroke='red' vector-effect='non-scaling-stroke'/></svg>";
    assert!(warned(&band(svg), "non-scaling-stroke"));
}

#[test]
fn the_second_reader_is_heard() {
    // A unit in the attribute: this reader accepts it, the second reader ignores the transform.
    let moved = body("<rect width='9' height='9' transform='translate(10px 5px)'/>");
    assert!(second_reader(&moved).is_some_and(|w| w.contains("the boxes differ by")));
}

#[test]
fn the_second_reader_is_given_what_it_can_read() {
    // Style properties that are not attribute names, or that clash with other attributes, or that are set twice.
    for style in [
        "\\ä:1; x1:3; points:0 0 9 9; id:q; href:none; viewbox:0 0 1 1",
        "font-family:x; -webkit-any:1; mix-blend-mode:multiply; --x:'&lt;&amp;\\22'",
        "fill:url(&quot;#a&lt;&quot;) red; stop-color:var(--no, &quot;)",
    ] {
        let drawing = body(&format!(
            "<style>:root{{--a:1}}</style><g font-family='y'><rect style=\"{style}\" width='9' height='9' font-family='z'/></g>"
        ));
        assert_eq!((drawing.shapes.len(), second_reader(&drawing)), (1, None), "{style}");
    }
}

#[test]
fn letters_follow_styles() {
    let settings = ReadSettings { text: letin::drawing::Texts::Outline, ..ReadSettings::default() };
    let text = "<svg xmlns='http://www.w3.org/2000/svg' width='100mm' height='100mm' viewBox='0 0 100 100'><style>:root{--s:20px} text:not(.q){font-size:var(--s)}</style><text y='50'>I</text></svg>";
    let styled = read(text.as_bytes(), &settings);
    let plain = text.replace("<text y", "<text font-size='20' y").replace("text:not(.q){font-size:var(--s)}", "");
    let plain = read(plain.as_bytes(), &settings);
    // Without fonts both drawings have no letters.
    assert_eq!(styled.bounds, plain.bounds);
}
