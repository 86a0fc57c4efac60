use super::*;
use crate::geom::{Affine, Certified, Ring};
use crate::panel::{Edges, Opening, Panel, Setup, Turn};
use crate::template::Duty;
use proptest::prelude::*;

fn panel(width: f64, height: f64, turn: Turn) -> Panel {
    Panel { number: 1, width, height, turn, setup: Setup::Two, edges: Edges::turned_over(turn) }
}

fn round(n: usize, at: (f64, f64), radius: f64) -> Opening {
    let region = Certified::for_test(Region::new(vec![Ring::circle(Point::ORIGIN, radius)]));
    let place = Affine::translate(at);
    Opening {
        id: format!("opening-{n}"),
        outline: n,
        duty: Duty::Recess,
        panel: 1,
        face: 1,
        offset: 7.0,
        region,
        place,
    }
}

fn lines(n: usize) -> Vec<String> {
    vec![format!("for the recess {n}"), "bush 20, cutter 6".into(), "opening 84 × 50 mm".into()]
}

/// The words of a plan and their bounding boxes, from the file.
fn placed_texts(doc: &roxmltree::Document) -> Vec<(String, Rect)> {
    let text = |n: roxmltree::Node| {
        let number = |a: &str| n.attribute(a).unwrap().parse::<f64>().unwrap();
        let s = n.text().unwrap().to_string();
        let (x, y, size) = (number("x"), number("y"), number("font-size"));
        let long = canvas::width(&s, size, n.has_attribute("font-weight"));
        let back = if n.has_attribute("text-anchor") { long / 2.0 } else { 0.0 };
        let b = if n.has_attribute("transform") {
            Rect::new(x - 0.75 * size, y + back - long, x + 0.2 * size, y + back)
        } else {
            Rect::new(x - back, y - 0.75 * size, x - back + long, y + 0.2 * size)
        };
        (s, b)
    };
    doc.descendants().filter(|n| n.has_tag_name("text")).map(text).collect()
}

fn groups<'a>(doc: &'a roxmltree::Document) -> Vec<&'a str> {
    doc.root_element().children().filter(|n| n.has_tag_name("g")).filter_map(|n| n.attribute("id")).collect()
}

#[test]
fn a_turned_face_has_all_groups() {
    let p = panel(480.0, 240.0, Turn::LeftRight);
    let o = round(1, (120.0, 120.0), 40.0);
    let clear = Region::new(vec![Ring::circle(Point::new(120.0, 120.0), 105.0)]);
    let texts = [lines(1)];
    let plan = Plan {
        title: "key",
        face_files: "key-face-1.dxf",
        centre_mark: Some(Point::new(120.0, 120.0)),
        show: Show::Mm,
        keep_clear: Some(&clear),
        free_hand: None,
        stops: &[Point::new(70.0, 0.0), Point::new(410.0, 0.0), Point::new(0.0, 120.0)],
        words: &texts,
    };
    let s = svg(&Face { panel: &p, face: 1, openings: vec![&o] }, &plan).unwrap();
    let doc = roxmltree::Document::parse(&s).unwrap();
    let all =
        ["KEEP_CLEAR", "OPENING", "FREE_EDGE", "REFERENCE_EDGE", "STOPS", "TURN_LINE", "SIGHT_LINE", "DATUM", "WORDS"];
    assert_eq!(groups(&doc), all);
    let read: String = placed_texts(&doc).into_iter().map(|w| format!(">{}< ", w.0)).collect();
    for w in [
        ">turn left over right<",
        ">datum (X0 Y0)<",
        ">120.0 mm from the left<",
        ">120.0 mm from the bottom<",
        ">key, face 1 up<",
        "Panel 480 mm wide, 240 mm high, seen from above. Turn it only left over right.",
        ">on the bottom edge: 70 mm and 410 mm from the left<",
        ">on the left edge: 120 mm from the bottom<",
        "100 mm at true size",
    ] {
        assert!(read.contains(w), "{w}: {read}");
    }
    // The file is at true size.
    let root = doc.root_element();
    let page: Vec<f64> = root.attribute("viewBox").unwrap().split(' ').map(|v| v.parse().unwrap()).collect();
    assert_eq!(root.attribute("width").unwrap(), format!("{}mm", page[2]));
    assert_eq!(root.attribute("height").unwrap(), format!("{}mm", page[3]));
}

/// By 25.4: 508 mm is 20 in, 254 mm is 10 in, 120 mm is 4.724 in and nearest to 4 23/32 in, 70 mm is 2.756 in.
#[test]
fn an_inch_plan_has_no_millimetres() {
    let p = panel(508.0, 254.0, Turn::LeftRight);
    let o = round(1, (120.0, 120.0), 40.0);
    let plan = Plan {
        title: "key",
        show: Show::Inch,
        centre_mark: Some(Point::new(120.0, 120.0)),
        stops: &[Point::new(70.0, 0.0), Point::new(410.0, 0.0), Point::new(0.0, 120.0)],
        ..Plan::default()
    };
    let s = svg(&Face { panel: &p, face: 2, openings: vec![&o] }, &plan).unwrap();
    let doc = roxmltree::Document::parse(&s).unwrap();
    let all: String = placed_texts(&doc).into_iter().map(|w| w.0 + " ").collect();
    for w in [
        "Panel 20.00 in (20) wide, 10.00 in (10) high",
        ", face 2 up",
        "4.72 in (≈ 4 23/32) from the left",
        "on the bottom edge: 2.756 in (≈ 2 3/4) and 16.142 in (≈ 16 9/64) from the left",
        "4 in at true size",
    ] {
        assert!(all.contains(w), "{w}: {all}");
    }
    assert!(!all.contains("mm"), "{all}");
}

#[test]
fn a_single_face_is_not_turned() {
    let p = panel(160.0, 140.0, Turn::None);
    let o = round(1, (80.0, 70.0), 20.0);
    let s = svg(&Face { panel: &p, face: 1, openings: vec![&o] }, &Plan { title: "key", ..Plan::default() }).unwrap();
    let doc = roxmltree::Document::parse(&s).unwrap();
    assert_eq!(groups(&doc), ["OPENING", "FREE_EDGE", "REFERENCE_EDGE", "DATUM", "WORDS"]);
    assert!(!s.contains("turn"));
}

#[test]
fn what_is_left_is_hatched() {
    let p = panel(480.0, 240.0, Turn::LeftRight);
    let o = round(1, (120.0, 120.0), 60.0);
    let ring = Region::new(vec![
        Ring::circle(Point::new(120.0, 120.0), 40.0),
        Ring::circle(Point::new(120.0, 120.0), 30.0).reversed(),
    ]);
    let plan = Plan { title: "key", free_hand: Some(&ring), ..Plan::default() };
    let s = svg(&Face { panel: &p, face: 1, openings: vec![&o] }, &plan).unwrap();
    let doc = roxmltree::Document::parse(&s).unwrap();
    let group = doc.descendants().find(|n| n.attribute("id") == Some("FREE_HAND")).unwrap();
    assert!(group.children().filter(|n| n.has_tag_name("polyline")).count() > 30);
    assert!(s.contains("hatched: waste to clear by hand"));
}

#[test]
fn names_from_outside_are_harmless() {
    let p = panel(160.0, 140.0, Turn::None);
    let plan = Plan { title: "</text><script>\u{202e}", ..Plan::default() };
    let s = svg(&Face { panel: &p, face: 1, openings: vec![] }, &plan).unwrap();
    assert!(!s.contains("<script") && !s.contains('\u{202e}'));
    assert!(roxmltree::Document::parse(&s).is_ok());
}

#[test]
fn what_is_not_a_number_is_refused() {
    let p = panel(f64::NAN, 140.0, Turn::None);
    assert!(svg(&Face { panel: &p, face: 1, openings: vec![] }, &Plan::default()).is_err());
    let p = panel(160.0, 140.0, Turn::None);
    let plan = Plan { centre_mark: Some(Point::new(f64::INFINITY, 0.0)), ..Plan::default() };
    assert!(svg(&Face { panel: &p, face: 1, openings: vec![] }, &plan).is_err());
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    /// For any places of the openings no words overlap, cross the page's edge, or are lost. In either unit.
    #[test]
    fn words_have_room(
        w in 150.0..900.0f64, h in 120.0..700.0f64, inches in any::<bool>(), u in 0.2..0.8f64, v in 0.2..0.8f64, turn in 0..3,
        at in prop::collection::vec((0.1..0.9f64, 0.1..0.9f64, 0.02..0.12f64), 0..5), sweep in 20.0..120.0f64,
    ) {
        let p = panel(w, h, [Turn::LeftRight, Turn::BottomTop, Turn::None][turn as usize]);
        let least = w.min(h);
        let openings: Vec<Opening> =
            at.iter().enumerate().map(|(i, a)| round(i + 1, (a.0 * w, a.1 * h), a.2 * least)).collect();
        let texts: Vec<Vec<String>> = (1..=at.len()).map(lines).collect();
        let centre_mark = Point::new(u * w, v * h);
        let clear = Region::new(vec![Ring::circle(centre_mark, sweep)]);
        let plan = Plan {
            title: "sole board",
            face_files: "sole-face-1.dxf or sole-face-1.svg",
            centre_mark: Some(centre_mark),
            show: if inches { Show::Inch } else { Show::Mm },
            keep_clear: Some(&clear),
            free_hand: None,
            stops: &[Point::new(0.15 * w, 0.0), Point::new(0.85 * w, 0.0), Point::new(0.0, v * h)],
            words: &texts,
        };
        let face = Face { panel: &p, face: 1, openings: openings.iter().collect() };
        let s = svg(&face, &plan).unwrap();
        let doc = roxmltree::Document::parse(&s).unwrap();
        let found = placed_texts(&doc);
        let page: Vec<f64> = doc.root_element().attribute("viewBox").unwrap().split(' ').map(|v| v.parse().unwrap()).collect();
        let page = Rect::new(page[0], page[1], page[0] + page[2], page[1] + page[3]);
        for (i, (a, b)) in found.iter().enumerate() {
            prop_assert!(page.x0 <= b.x0 && page.y0 <= b.y0 && b.x1 <= page.x1 && b.y1 <= page.y1, "{a} is cut off");
            for (c, d) in &found[..i] {
                let over = b.intersect(*d);
                prop_assert!(over.width() <= 0.0 || over.height() <= 0.0, "{a} over {c}");
            }
        }
        let all: String = found.iter().map(|f| f.0.replace(' ', "")).collect();
        for t in texts.iter().flatten() {
            prop_assert!(all.contains(&t.replace(' ', "")), "{t} is lost in {all}");
        }
    }
}
