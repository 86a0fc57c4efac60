//! The shouldered piece: openings, steps, faces and edges, and fit, through the library.
//!
//! The numbers for the plug ⌀30 in the shoulder ⌀60 with bush 20 and cutter 6 are worked out by hand. The inlay's two steps
//! have sixteen choices of face and edge. By the reflections exactly two of them fit, and the test routes all sixteen.
//! Source: none outside; the check does the sums anew.

use crate::common::{enclosed, region, unlimited};
use letin::geom::{Certified, Point, Region, Ring};
use letin::kit::{Pair, Tools};
use letin::panel::layout::PanelSettings;
use letin::panel::shoulder::{ShoulderError, Shouldered};
use letin::panel::steps::Depths;
use letin::panel::steps::{PanelCorner, Purpose, Step, Work};
use letin::panel::template::Template;
use letin::panel::{Setup, Turn};
use letin::proof::{self, Fit, Plan, PlugInShoulder, Shapes, Slot, Wanted};
use letin::template::Duty;
use letin::template::Piece;
use letin::template::clearing::{self, Clearing};
use letin::template::ease::{self, Corners};
use letin::template::hand::common_axis;

const PAIR: Pair = Pair { bush: 20.0, cutter: 6.0 };
/// Matches [`PAIR`] with a gap of 0.1: (20 − 6)/2 + 0.1 = (8.2 + 6)/2.
const SMALL: Pair = Pair { bush: 8.2, cutter: 6.0 };

const PANEL: PanelSettings =
    PanelSettings { base: 75.0, web: 9.0, at: None, size: None, bed: None, turn: Turn::LeftRight, setup: Setup::Two };

fn tools(gap: f64) -> Tools {
    Tools::new(PAIR, PAIR, gap).unwrap()
}

/// One opening for both pieces, with a gap of 0.1 per side.
fn matching() -> Tools {
    Tools { one_opening: true, ..Tools::new(PAIR, SMALL, 0.1).unwrap() }
}

fn piece(outline: usize, drawn: &Certified<Region>, tools: &Tools) -> Piece {
    let corners = Corners::Ease { inside: 0.5, outside: 1.0 };
    let opened = ease::opened(drawn, corners, tools, &unlimited()).unwrap();
    let made = ease::made(&opened, corners, tools, &unlimited()).unwrap();
    let cut = ease::as_cut(&made, corners, tools, &unlimited()).unwrap();
    Piece::new(outline, drawn, made, cut, tools, &unlimited()).unwrap()
}

fn shouldered(plug: &Certified<Region>, shoulder: &Certified<Region>, tools: [Tools; 2]) -> [Piece; 2] {
    [piece(1, plug, &tools[0]), piece(2, shoulder, &tools[1])]
}

fn both([plug, shoulder]: &[Piece; 2]) -> Shouldered<'_> {
    Shouldered { plug, shoulder }
}

fn disc(radius: f64) -> Certified<Region> {
    enclosed(&[Ring::circle(Point::new(5.0, 7.0), radius)])
}

/// A fish without a mirror axis, with a hexagon in its belly, 40 across its corners.
fn fish() -> [Certified<Region>; 2] {
    let hexagon: Vec<(f64, f64)> = (0..6)
        .map(|k| f64::from(k) * std::f64::consts::FRAC_PI_3)
        .map(|a| (60.0 + 20.0 * a.cos(), 52.0 + 20.0 * a.sin()))
        .collect();
    let fish = [
        (8.0, 46.0),
        (30.0, 76.0),
        (62.0, 90.0),
        (98.0, 82.0),
        (126.0, 62.0),
        (162.0, 88.0),
        (156.0, 52.0),
        (168.0, 22.0),
        (124.0, 36.0),
        (92.0, 16.0),
        (50.0, 14.0),
        (24.0, 28.0),
    ];
    let reversed: Vec<_> = fish.iter().rev().copied().collect();
    [region(&hexagon), region(&reversed)]
}

fn cleared(s: Shouldered, bushes: &[f64]) -> Clearing {
    let opening = |p: &Piece| if s.one_panel(Turn::LeftRight) { p.recess.clone() } else { p.inlay.clone() };
    let line = |p: &Piece| (opening(p), p.tools.inlay);
    let ((plug, first), (shoulder, second)) = (line(s.plug), line(s.shoulder));
    clearing::inlay((&plug, first), (&shoulder, second), bushes, &unlimited()).unwrap()
}

/// The fits by these steps alone, without a comparison with the plan.
fn routed(s: Shouldered, steps: &[Step], t: &Template) -> Vec<Fit> {
    let wanted =
        |p: &Piece| Wanted { number: p.outline, drawn: p.drawn.clone(), made: p.made.clone(), gap: p.tools.gap };
    let plan = Plan {
        outlines: [s.plug, s.shoulder].map(wanted).to_vec(),
        closed: true,
        flatten: None,
        saved: false,
        unitless: None,
        panels: t.panels.clone(),
        slots: t.openings.iter().map(Slot::from).collect(),
        steps: steps.to_vec(),
        in_hand: None,
        shouldered: Some(PlugInShoulder { plug: s.plug.outline, shoulder: s.shoulder.outline }),
    };
    let shapes: Shapes = t.openings.iter().map(|o| (o.id.clone(), o.on_face())).collect();
    proof::simulate(&plan, &shapes, &unlimited()).unwrap()
}

#[track_caller]
fn near(a: f64, b: f64, within: f64) {
    assert!((a - b).abs() <= within, "{a} is not {b}");
}

/// Opening radii of the round piece: recess 15 + 7 and 30 + 7, inlay 15 + 13 − 0.25 and 30 + 13 − 0.05.
#[test]
fn the_round_piece_by_hand() {
    let pieces = shouldered(&disc(15.0), &disc(30.0), [tools(0.25), tools(0.05)]);
    let s = both(&pieces);
    near(s.ledge().unwrap().0, 15.0, 1e-3);
    let t = s.template(&cleared(s, &[]), &PANEL, None, &unlimited()).unwrap();
    assert_eq!(t.panels.len(), 2);
    let reported: Vec<_> = t.openings.iter().map(|o| (o.outline, o.duty, o.panel, o.face)).collect();
    let (r, i) = (Duty::Recess, Duty::Inlay);
    assert_eq!(reported, [(1, r, 1, 1), (2, r, 1, 2), (1, i, 2, 1), (2, i, 2, 2)]);
    for (o, radius) in t.openings.iter().zip([22.0, 37.0, 27.75, 42.95]) {
        near(o.region.bounds().unwrap().width(), 2.0 * radius, 0.005);
        // All openings have the same (u, v), counted from the bottom left of whichever face is up.
        let uv = o.place * Point::new(5.0, 7.0);
        assert_eq!(uv, t.openings[0].place * Point::new(5.0, 7.0));
    }
    let c = cleared(s, &[12.0, 20.0, 32.0]);
    assert_eq!(c.passes.len(), 2);
    let depths = Depths { board: Some(20.0), stock: Some(24.0), plug_height: Some(14.0), recess: None };
    let steps = s.steps(&t, &c, &depths);
    let reported: Vec<_> = steps.iter().map(|s| (s.work, s.outline, s.purpose, s.pair.bush, s.depth)).collect();
    let (line, clear) = (Purpose::Line, Purpose::Clearing);
    let expected = [
        (Work::Inlay, 1, line, 20.0, Some(14.0)),
        (Work::Inlay, 1, clear, 12.0, Some(14.0)),
        (Work::Inlay, 2, clear, 32.0, Some(14.0)),
        (Work::Inlay, 2, line, 20.0, Some(24.0)),
        (Work::Board, 1, line, 20.0, Some(20.0)),
        (Work::Board, 2, line, 20.0, Some(10.0)),
    ];
    assert_eq!(reported, expected);
    let fits = routed(s, &steps, &t);
    for (f, (gap, radius)) in fits.iter().zip([(0.25, 15.0), (0.05, 30.0)]) {
        near(f.gap_min.mm, gap, 0.005);
        near(f.gap_max.mm, gap, 0.005);
        near(f.recess_area, std::f64::consts::PI * radius * radius, 0.5);
    }
}

#[test]
fn the_fish_fits_from_one_panel_and_from_two() {
    let [plug, shoulder] = fish();
    for turn in [Turn::LeftRight, Turn::BottomTop] {
        for (tools, panels, gaps) in
            [([matching(), matching()], 1, [0.1, 0.1]), ([tools(0.25), tools(0.05)], 2, [0.25, 0.05])]
        {
            let pieces = shouldered(&plug, &shoulder, tools);
            let s = both(&pieces);
            let t = s.template(&cleared(s, &[]), &PanelSettings { turn, ..PANEL }, None, &unlimited()).unwrap();
            assert_eq!(t.panels.len(), panels);
            assert!(t.packings.iter().all(|p| p.refused.is_empty()));
            let fits = routed(s, &s.steps(&t, &cleared(s, &[]), &Depths::default()), &t);
            for (f, gap) in fits.iter().zip(gaps) {
                near(f.gap_min.mm, gap, 0.005);
                // Within the cutter's reach, recess and inlay have the same eased outline.
                near(f.gap_max.mm, gap, 0.01);
            }
        }
    }
    assert!(common_axis(&plug, &shoulder).is_none());
}

#[test]
fn of_sixteen_choices_two_fit() {
    let [plug, shoulder] = fish();
    let pieces = shouldered(&plug, &shoulder, [matching(), matching()]);
    let s = both(&pieces);
    let t = s.template(&cleared(s, &[]), &PANEL, None, &unlimited()).unwrap();
    let right = s.steps(&t, &cleared(s, &[]), &Depths::default());
    let choices = || [1, 2].into_iter().flat_map(|face| [false, true].map(|right| (face, right)));
    let mut fitting = Vec::new();
    for first in choices() {
        for second in choices() {
            let mut steps = right.clone();
            for step in steps.iter_mut().filter(|s| s.work == Work::Inlay) {
                let (face, right) = if step.outline == 1 { first } else { second };
                (step.face_up, step.corner) = (face, PanelCorner { right, top: false });
            }
            let fits = routed(s, &steps, &t);
            if fits.iter().all(|f| f.gap_min.mm > 0.0) {
                fitting.push((first, second));
            }
        }
    }
    // Opposite faces, both from the left or both from the right. The steps use the right.
    assert_eq!(fitting, [((2, false), (1, false)), ((2, true), (1, true))]);
    let reported: Vec<_> =
        right.iter().filter(|s| s.work == Work::Inlay).map(|s| (s.face_up, s.corner.right)).collect();
    assert_eq!(reported, [(2, true), (1, true)]);
}

#[test]
fn what_leaves_no_ledge_is_refused() {
    let pieces = shouldered(&disc(30.0), &disc(15.0), [tools(0.25), tools(0.05)]);
    let s = both(&pieces);
    assert!(matches!(s.template(&cleared(s, &[]), &PANEL, None, &unlimited()), Err(ShoulderError::NotInside { .. })));
}

/// Each opening has its own panel, face 1 up, from the left and bottom edges. The inlay's openings are mirrored.
#[test]
fn panels_that_are_not_turned() {
    let [plug, shoulder] = fish();
    let flat = PanelSettings { turn: Turn::None, ..PANEL };
    for (tools, gaps) in [([matching(), matching()], [0.1, 0.1]), ([tools(0.25), tools(0.05)], [0.25, 0.05])] {
        let pieces = shouldered(&plug, &shoulder, tools);
        let s = both(&pieces);
        let t = s.template(&cleared(s, &[]), &flat, None, &unlimited()).unwrap();
        let reported: Vec<_> = t.openings.iter().take(4).map(|o| (o.outline, o.duty, o.panel, o.face)).collect();
        let (r, i) = (Duty::Recess, Duty::Inlay);
        assert_eq!(reported, [(1, r, 1, 1), (2, r, 2, 1), (1, i, 3, 1), (2, i, 4, 1)]);
        assert_eq!(t.panels.len(), t.openings.len());
        let steps = s.steps(&t, &cleared(s, &[]), &Depths::default());
        assert!(steps.iter().all(|s| s.face_up == 1 && s.corner == PanelCorner::BOTTOM_LEFT));
        for (f, gap) in routed(s, &steps, &t).iter().zip(gaps) {
            near(f.gap_min.mm, gap, 0.005);
            near(f.gap_max.mm, gap, 0.01);
        }
    }
}
