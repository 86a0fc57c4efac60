//! Each guard of the proof refuses a fault that all the other guards accept.
//!
//! Every test feeds one fault, checks that the other guards accept it, and proves the faultless twin.

use super::plan::{FaceFile, InHand, Plan, Slot, Wanted};
use super::readback::{self, Beside};
use super::{Edged, ProofError, Shapes, compare, inlay_cut, recess_cut, routed};
use crate::budget::Budget;
use crate::geom::{Affine, Certified, Point, Region, Ring, or};
use crate::kit::Pair;
use crate::panel::steps::{PanelCorner, Purpose, Step, Work};
use crate::panel::{Edges, FREE_LAYER, OPENING_LAYER, Panel, REFERENCE_LAYER, Setup, Turn};
use crate::template::Duty;
use crate::template::start::Start;

const PAIR: Pair = Pair { bush: 20.0, cutter: 6.0 };
const GAP: f64 = 0.05;
/// Offset of the recess opening, R − r, mm.
const RECESS: f64 = 7.0;
/// Offset of the inlay opening, R + r − gap, mm.
const INLAY: f64 = 13.0 - GAP;

fn region(rings: Vec<Ring>) -> Certified<Region> {
    Certified::for_test(Region::new(rings))
}

fn polygon(points: &[(f64, f64)]) -> Certified<Region> {
    region(vec![Ring::polygon(&points.iter().map(|&p| Point::from(p)).collect::<Vec<_>>())])
}

/// A disc of radius 20, and a disc of radius `small` beside it, both larger by `more`.
fn two_discs(small: f64, more: f64) -> Certified<Region> {
    let disc = |x, radius| Ring::circle(Point::new(x, 0.0), radius + more);
    region(vec![disc(0.0, 20.0), disc(60.0, small)])
}

/// The large disc alone.
fn one_disc(more: f64) -> Certified<Region> {
    region(vec![Ring::circle(Point::ORIGIN, 20.0 + more)])
}

fn slot(number: usize, duty: Duty) -> Slot {
    let id = format!("opening-{number}");
    Slot { id, outline: 1, duty, panel: 1, face: 1, place: Affine::IDENTITY, area: None }
}

fn step(work: Work, number: usize) -> Step {
    Step {
        work,
        panel: 1,
        face_up: 1,
        corner: PanelCorner::BOTTOM_LEFT,
        opening: format!("opening-{number}"),
        outline: 1,
        purpose: Purpose::Line,
        pair: PAIR,
        depth: None,
        through: false,
        whole: false,
    }
}

/// A job with one outline: opening 1 serves the recess, opening 2 the inlay.
fn plan(made: &Certified<Region>) -> Plan {
    Plan {
        outlines: vec![Wanted { number: 1, drawn: made.clone(), made: made.clone(), gap: GAP }],
        closed: true,
        flatten: None,
        saved: false,
        unitless: None,
        panels: vec![Panel {
            number: 1,
            width: 400.0,
            height: 240.0,
            turn: Turn::LeftRight,
            setup: Setup::Two,
            edges: Edges::turned_over(Turn::LeftRight),
        }],
        slots: vec![slot(1, Duty::Recess), slot(2, Duty::Inlay)],
        steps: vec![step(Work::Board, 1), step(Work::Inlay, 2)],
        in_hand: None,
        shouldered: None,
    }
}

/// The proof of the two openings, as if files showed them.
fn proved(plan: &Plan, recess: &Certified<Region>, inlay: &Certified<Region>) -> Result<(), ProofError> {
    let shapes: Shapes = [("opening-1".to_owned(), recess.clone()), ("opening-2".to_owned(), inlay.clone())].into();
    routed(plan, &shapes, true, &Budget::unlimited()).map(drop)
}

/// The three comparisons by themselves.
fn opening_of(t: &Region, offset: f64, plan: &Plan) -> Result<(), ProofError> {
    let made = Edged::new(&plan.outlines[0].made);
    compare::opening(&Edged::new(t), &made, offset, "the opening", plan, &Budget::unlimited())
}

fn recess_of(t: &Certified<Region>, plan: &Plan) -> Result<(), ProofError> {
    let budget = Budget::unlimited();
    let cut = recess_cut(t, PAIR, &budget)?;
    compare::recess(&Edged::new(&cut), &plan.outlines[0], PAIR, plan, &budget)
}

fn inlay_of(t: &Certified<Region>, plan: &Plan) -> Result<(), ProofError> {
    let budget = Budget::unlimited();
    let cut = inlay_cut(t, PAIR, &budget)?;
    compare::inlay(&Edged::new(&cut), &plan.outlines[0], PAIR, plan, &budget)
}

/// The thing that a proof reports as different.
fn what_differs(result: Result<(), ProofError>) -> String {
    match result {
        Err(ProofError::Differs { what, .. }) => what,
        other => panic!("no difference is reported: {other:?}"),
    }
}

/// The bush cannot enter a groove 0.2 mm wide, so both pieces come out right. Only the opening's own check sees it.
#[test]
fn a_groove_too_narrow_for_the_bush_is_refused_by_the_check_of_the_opening() {
    let (made, budget) = (two_discs(10.0, 0.0), Budget::unlimited());
    let plan = plan(&made);
    let (recess, inlay) = (two_discs(10.0, RECESS), two_discs(10.0, INLAY));
    assert_eq!(proved(&plan, &recess, &inlay), Ok(()));
    let grooved = |t: &Certified<Region>, reach: f64| {
        let groove = polygon(&[(0.0, -0.1), (reach, -0.1), (reach, 0.1), (0.0, 0.1)]);
        or(t, &groove, &budget).unwrap()
    };
    let (bad_recess, bad_inlay) = (grooved(&recess, 30.0), grooved(&inlay, 36.0));
    assert_eq!((recess_of(&bad_recess, &plan), inlay_of(&bad_inlay, &plan)), (Ok(()), Ok(())));
    what_differs(opening_of(&bad_recess, RECESS, &plan));
    what_differs(opening_of(&bad_inlay, INLAY, &plan));
    assert_eq!(what_differs(proved(&plan, &bad_recess, &inlay)), "opening-1");
    assert_eq!(what_differs(proved(&plan, &recess, &bad_inlay)), "opening-2");
}

/// Every point of the opening has the correct distance from the outline, but the opening lacks one of two parts. Only
/// the comparison of the recess sees that.
#[test]
fn a_recess_that_lacks_a_part_is_refused_by_the_check_of_the_recess() {
    let plan = plan(&two_discs(10.0, 0.0));
    let (recess, inlay) = (two_discs(10.0, RECESS), two_discs(10.0, INLAY));
    assert_eq!((recess_of(&recess, &plan), proved(&plan, &recess, &inlay)), (Ok(()), Ok(())));
    let lacking = one_disc(RECESS);
    assert_eq!(opening_of(&lacking, RECESS, &plan), Ok(()));
    what_differs(recess_of(&lacking, &plan));
    assert_eq!(what_differs(proved(&plan, &lacking, &inlay)), "the recess of outline 1");
}

/// The same fault in the inlay's opening. Only the comparison of the inlay sees it.
#[test]
fn an_inlay_that_lacks_a_part_is_refused_by_the_check_of_the_inlay() {
    let plan = plan(&two_discs(10.0, 0.0));
    let (recess, inlay) = (two_discs(10.0, RECESS), two_discs(10.0, INLAY));
    assert_eq!((inlay_of(&inlay, &plan), proved(&plan, &recess, &inlay)), (Ok(()), Ok(())));
    let lacking = one_disc(INLAY);
    assert_eq!(opening_of(&lacking, INLAY, &plan), Ok(()));
    what_differs(inlay_of(&lacking, &plan));
    assert_eq!(what_differs(proved(&plan, &recess, &lacking)), "the inlay of outline 1");
}

/// The small disc is hardly larger than the cutter. With a radius larger by the allowance the cutter makes nothing of
/// it, so the sandwich accepts a recess without that disc. Only the number of rings differs.
#[test]
fn a_recess_that_lacks_a_part_as_small_as_the_cutter_is_refused_by_its_number_of_rings() {
    let small = PAIR.cutter_radius() + 0.006;
    let plan = plan(&two_discs(small, 0.0));
    assert!(small < PAIR.cutter_radius() + plan.allowed());
    let (recess, inlay) = (two_discs(small, RECESS), two_discs(small, INLAY));
    assert_eq!((recess_of(&recess, &plan), proved(&plan, &recess, &inlay)), (Ok(()), Ok(())));
    let lacking = one_disc(RECESS);
    assert_eq!(opening_of(&lacking, RECESS, &plan), Ok(()));
    what_differs(recess_of(&lacking, &plan));
    assert_eq!(what_differs(proved(&plan, &lacking, &inlay)), "the recess of outline 1");
}

/// Compares a cut inlay with the outline `made` shrunk by `gap`.
fn cut_as(cut: &Region, made: &Certified<Region>, gap: f64) -> Result<(), ProofError> {
    let plan = plan(made);
    let of = Wanted { gap, ..plan.outlines[0].clone() };
    compare::inlay(&Edged::new(cut), &of, PAIR, &plan, &Budget::unlimited())
}

/// Length of a point whose sides enclose 2°, and whose base is 2 mm wide.
const LONG: f64 = 57.29;

/// A point along x, shrunk by `less`. It is cut off at x = `end` if its tip lies beyond.
fn point(less: f64, end: f64) -> Certified<Region> {
    let (sin, tan) = (crate::geom::trig::sin(1f64.to_radians()), 1.0 / LONG);
    let tip = LONG - less / sin;
    let half = |x: f64| (tip - x) * tan;
    if end >= tip {
        return polygon(&[(less, -half(less)), (tip, 0.0), (less, half(less))]);
    }
    polygon(&[(less, -half(less)), (end, -half(end)), (end, half(end)), (less, half(less))])
}

/// A frame with a notch of the same shape from above, filled from its tip to `end` mm above the tip.
fn notched(end: f64) -> Certified<Region> {
    let half = end / LONG;
    let tip = 50.0 - LONG + end;
    let mut points = vec![(-30.0, -50.0), (30.0, -50.0), (30.0, 50.0), (1.0, 50.0)];
    points.extend(if end > 0.0 { vec![(half, tip), (-half, tip)] } else { vec![(0.0, tip)] });
    points.extend([(-1.0, 50.0), (-30.0, 50.0)]);
    polygon(&points)
}

/// A frame whose lower edge, at −10, has a bar 0.09 mm wide down to `y`, or a slit up to `y`. No measured point of the
/// plain frame lies on its mouth.
fn barred(y: f64) -> Certified<Region> {
    let bar = [(0.08, -10.0), (0.08, y), (0.17, y), (0.17, -10.0)];
    let mut points = vec![(-20.0, -10.0)];
    points.extend(bar);
    points.extend([(20.0, -10.0), (20.0, 10.0), (-20.0, 10.0)]);
    polygon(&points)
}

/// Each cut has as many rings as the expected one, and only one of the sandwich's four comparisons refuses it.
#[test]
fn a_cut_of_another_form_is_refused_by_the_sandwich() {
    let frame = polygon(&[(-20.0, -10.0), (20.0, -10.0), (20.0, 10.0), (-20.0, 10.0)]);
    // From the exact tip to the place where the nearer limit is 0.0038 mm wide. The comparisons tolerate that width.
    let back = 0.01 / crate::geom::trig::sin(1f64.to_radians()) + 0.0019 * LONG;
    let whole = f64::INFINITY;
    let faults = [
        ("a point too short", point(0.0, LONG - back), point(0.0, whole)),
        ("a thin bar too much", barred(-11.0), frame.clone()),
        ("a thin slit", barred(-9.0), frame.clone()),
        ("a notch too shallow", notched(back), notched(0.0)),
    ];
    for (name, cut, made) in faults {
        assert_eq!(cut_as(&made, &made, 0.0), Ok(()), "{name}: the faultless twin");
        assert_eq!(cut.rings.len(), made.rings.len());
        assert!(matches!(cut_as(&cut, &made, 0.0), Err(ProofError::Differs { .. })), "{name}");
    }
}

/// At a sharp point a difference of 0.005 mm moves the tip by 0.29 mm. The sandwich accepts that, and no more than the
/// allowance.
#[test]
fn a_tip_that_a_small_difference_moves_far_is_accepted_by_the_sandwich() {
    let (made, whole) = (point(0.0, f64::INFINITY), f64::INFINITY);
    assert_eq!(cut_as(&point(GAP, whole), &made, GAP), Ok(()));
    assert_eq!(cut_as(&point(GAP - 0.005, whole), &made, GAP), Ok(()));
    assert_eq!(cut_as(&point(GAP + 0.005, whole), &made, GAP), Ok(()));
    for less in [GAP - 0.015, GAP + 0.015] {
        what_differs(cut_as(&point(less, whole), &made, GAP));
    }
}

/// One face with a square opening, 40 mm wide, in the form that this program writes.
fn written(plan: &mut Plan) -> String {
    plan.slots = vec![Slot { place: Affine::translate((200.0, 120.0)), ..slot(1, Duty::Recess) }];
    plan.steps.truncate(1);
    format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="400mm" height="240mm" viewBox="0 0 400 240">
<g id="{OPENING_LAYER}" fill="none" stroke="black"><path id="opening-1" d="M180 100L220 100L220 140L180 140Z"/></g>
<g id="{REFERENCE_LAYER}" fill="none" stroke="black">
<line x1="0" y1="240" x2="400" y2="240"/><line x1="0" y1="0" x2="0" y2="240"/><line x1="400" y1="240" x2="400" y2="0"/>
</g>
<g id="{FREE_LAYER}" fill="none" stroke="black"><line x1="400" y1="0" x2="0" y2="0"/></g>
</svg>
"#
    )
}

fn square(half: f64) -> Certified<Region> {
    polygon(&[(-half, -half), (half, -half), (half, half), (-half, half)])
}

fn read_back(plan: &Plan, svg: &str) -> Result<usize, ProofError> {
    let file = FaceFile { name: "key-face-1.svg", bytes: svg.as_bytes(), panel: 1, face: 1 };
    readback::openings(plan, &[file], &mut Beside::default(), &Budget::unlimited()).map(|sets| sets[0].len())
}

fn why_refused(result: Result<usize, ProofError>) -> String {
    match result {
        Err(ProofError::File { what, .. }) => what,
        other => panic!("the file is not refused: {other:?}"),
    }
}

/// The lines of the file are all correct, but the reader leaves a text out.
#[test]
fn a_file_that_is_not_read_whole_is_refused_for_the_remark_alone() {
    let mut plan = plan(&square(13.0));
    let whole = written(&mut plan);
    let text = "<text x=\"20\" y=\"20\">cut twice</text>";
    let beside = whole.replace("</svg>", &format!("{text}</svg>"));
    let group = whole.find(OPENING_LAYER).unwrap();
    let among = whole[..group].to_owned() + &whole[group..].replacen("</g>", &format!("{text}</g>"), 1);
    assert_eq!(read_back(&plan, &whole), Ok(1));
    for spoilt in [&beside, &among] {
        let why = why_refused(read_back(&plan, spoilt));
        assert!(why.starts_with("it cannot be read without loss"), "{why}");
    }
    // A file saved by another program may have a text beside the openings, but not on their layer.
    plan.saved = true;
    assert_eq!((read_back(&plan, &whole), read_back(&plan, &beside)), (Ok(1), Ok(1)));
    let why = why_refused(read_back(&plan, &among));
    assert!(why.starts_with("it cannot be read without loss"), "{why}");
}

/// Single edges that close once one of two equal ones is dropped. A machine would cut that edge twice.
#[test]
fn a_saved_edge_that_is_drawn_twice_is_refused_for_the_remark_alone() {
    let mut plan = plan(&square(13.0));
    let whole = written(&mut plan);
    plan.saved = true;
    let start = whole.find("<path id=\"opening-1\"").unwrap();
    let end = start + whole[start..].find("/>").unwrap() + 2;
    let corners = [(180, 100), (220, 100), (220, 140), (180, 140), (180, 100)];
    let lines: Vec<String> = corners
        .windows(2)
        .map(|w| format!("<line x1=\"{}\" y1=\"{}\" x2=\"{}\" y2=\"{}\"/>", w[0].0, w[0].1, w[1].0, w[1].1))
        .collect();
    let with = |lines: &[String]| whole[..start].to_owned() + &lines.concat() + &whole[end..];
    assert_eq!(read_back(&plan, &with(&lines)), Ok(1));
    let why = why_refused(read_back(&plan, &with(&[&lines[..], &lines[..1]].concat())));
    assert!(why.contains("a line is drawn twice"), "{why}");
}

/// The recess exists already, and the inlay's opening lacks one of two parts. Only the comparison of the inlay sees it.
/// The same for a part that exists already, and the recess's opening.
#[test]
fn a_piece_that_lacks_a_part_is_refused_if_the_other_piece_exists_already() {
    let made = two_discs(10.0, 0.0);
    let from = |start| {
        let in_hand = Some(InHand { start, recess: PAIR, inlay: PAIR, one_opening: false });
        Plan { in_hand, ..plan(&made) }
    };
    let (recess, inlay) = (two_discs(10.0, RECESS), two_discs(10.0, INLAY));
    let starts = [(Start::Recess, "the inlay of outline 1"), (Start::Part, "the recess of outline 1")];
    for (start, piece) in starts {
        let plan = from(start);
        assert_eq!(proved(&plan, &recess, &inlay), Ok(()), "{start:?}");
        let (lacking_recess, lacking_inlay) = (one_disc(RECESS), one_disc(INLAY));
        assert_eq!(opening_of(&lacking_recess, RECESS, &plan), Ok(()));
        assert_eq!(opening_of(&lacking_inlay, INLAY, &plan), Ok(()));
        assert_eq!(what_differs(proved(&plan, &lacking_recess, &lacking_inlay)), piece);
    }
}
