//! Each guard of the certificate refuses a fault that all the other guards accept.

use super::{Boolean, complete, edges, independent, offset, remainder, structure};
use crate::budget::Budget;
use crate::geom::index::BoxTree;
use crate::geom::ops::{enclosed, grow};
use crate::geom::shape::{FillRule, GeomError, Point, Region, Ring};

/// Half width and half height of the source, mm.
const HALF: (f64, f64) = (40.0, 20.0);
/// The source is grown by this, mm.
const D: f64 = 7.0;

fn frame(x: f64, w: f64, h: f64) -> Ring {
    Ring::polygon(&[(x - w, -h), (x + w, -h), (x + w, h), (x - w, h)].map(Point::from))
}

fn solid() -> Region {
    Region::new(vec![frame(0.0, HALF.0, HALF.1)])
}

/// The same with a hole in it.
fn hollow() -> Region {
    with(solid(), frame(0.0, 20.0, 12.0).reversed())
}

/// The source grown by `d` mm.
fn grown(source: &Region, d: f64) -> Region {
    let b = Budget::unlimited();
    grow(&enclosed(&source.rings, FillRule::NonZero, &b).unwrap(), d, &b).unwrap().into_inner()
}

fn with(mut region: Region, ring: Ring) -> Region {
    region.rings.push(ring);
    region
}

fn in_place(source: &Region, result: &Region) -> Result<(), GeomError> {
    edges::at_distance(&BoxTree::of_edges(source.segments().copied()), source, D, result, &Budget::unlimited())
}

fn settled(source: &Region, result: &Region) -> bool {
    let tree = BoxTree::of_edges(source.segments().copied());
    complete::offset(source, &tree, D, result, &Budget::unlimited()).unwrap().settled
}

fn why<T: std::fmt::Debug>(result: Result<T, GeomError>) -> &'static str {
    match result {
        Err(GeomError::Uncertified { why, .. }) => why,
        other => panic!("not refused: {other:?}"),
    }
}

/// A further ring inside the source. Its edges are D from the source's edges too, and the true boundary is complete.
/// Only its sense is wrong: its outside faces the source's edges.
#[test]
fn a_ring_that_runs_the_wrong_way_round_is_refused_for_its_sense_alone() {
    let (source, b) = (solid(), Budget::unlimited());
    let right = grown(&source, D);
    assert_eq!((structure::check(&right), in_place(&source, &right)), (Ok(()), Ok(())));
    assert!(settled(&source, &right));
    assert!(offset(&source, D, right.clone(), &b).is_ok());
    let spoilt = with(right, frame(0.0, HALF.0 - D, HALF.1 - D));
    assert_eq!(structure::check(&spoilt), Ok(()));
    assert!(settled(&source, &spoilt));
    let wrong = "an edge runs the wrong way round";
    assert_eq!(why(in_place(&source, &spoilt)), wrong);
    assert_eq!(why(offset(&source, D, spoilt, &b)), wrong);
}

/// The outer boundary is traversed twice, 0.001 mm apart. Both rings lie within the tolerance of their place, and they
/// are too far apart for a doubled edge. So only `each_once` leaves the result to the second engine. That engine refuses
/// it: the winding number in the hole is 1.
#[test]
fn a_boundary_traversed_twice_is_not_settled_by_following_it() {
    let (source, b) = (hollow(), Budget::unlimited());
    let right = grown(&source, D);
    assert!(settled(&source, &right));
    assert!(offset(&source, D, right.clone(), &b).is_ok());
    let outer = grown(&source, D + 0.001).rings.into_iter().find(|r| r.area() > 0.0).unwrap();
    let spoilt = with(right, outer);
    assert_eq!((structure::check(&spoilt), in_place(&source, &spoilt)), (Ok(()), Ok(())));
    assert!(!settled(&source, &spoilt));
    assert_eq!(why(offset(&source, D, spoilt, &b)), "an independent engine gives another result");
}

/// The second engine counts a point as inside whether its winding number is 1 or 2, and as outside at 0 or −1.
#[test]
fn a_winding_number_other_than_0_and_1_is_refused_by_its_own_test_alone() {
    let b = Budget::unlimited();
    let (left, right) = (frame(0.0, 10.0, 10.0), frame(50.0, 10.0, 10.0));
    let (of, less) = (Region::new(vec![left.clone()]), Region::new(vec![right.clone()]));
    let agreed = |result: &Region| super::agreed_boolean(&of, &less, Boolean::Minus, result, &b);
    assert_eq!((independent::wound_once(&of, &b), agreed(&of)), (Ok(()), Ok(())));
    assert_eq!(remainder(&of, &less, of.clone(), &b), Ok(of.clone()));
    let faults = [("wound twice", with(of.clone(), left)), ("wound backwards", with(of.clone(), right.reversed()))];
    for (name, spoilt) in faults {
        assert_eq!(structure::check_rings(&spoilt), Ok(()), "{name}");
        let wound = "the winding number is 2 or more, or negative";
        assert_eq!(why(independent::wound_once(&spoilt, &b)), wound, "{name}");
        assert_eq!(why(agreed(&spoilt)), wound, "{name}");
        assert_eq!(why(remainder(&of, &less, spoilt, &b)), wound, "{name}");
    }
}

/// A false hole inside the source: its edges are D from the source's edges, and it turns as a hole does. The true
/// boundary is complete, so the second engine is not asked.
#[test]
fn a_hole_on_the_inner_side_of_the_source_is_refused_for_its_side() {
    let (source, b) = (solid(), Budget::unlimited());
    let spoilt = with(grown(&source, D), frame(0.0, HALF.0 - D, HALF.1 - D).reversed());
    assert_eq!(structure::check(&spoilt), Ok(()));
    assert!(settled(&source, &spoilt));
    let wrong = "a ring lies on the wrong side of the outline";
    assert_eq!(why(in_place(&source, &spoilt)), wrong);
    assert_eq!(why(offset(&source, D, spoilt, &b)), wrong);
    // A true hole has a side of its own: the hollow source grown keeps it.
    assert_eq!(in_place(&hollow(), &grown(&hollow(), D)), Ok(()));
}

/// The only boundary traversed twice, 0.001 mm apart. The second engine encloses the same points, so only the winding
/// number shows it.
#[test]
fn a_boundary_traversed_twice_without_a_hole_is_refused_for_its_winding() {
    let (source, b) = (solid(), Budget::unlimited());
    let right = grown(&source, D);
    let spoilt = with(right, grown(&source, D + 0.001).rings.remove(0));
    assert_eq!((structure::check(&spoilt), in_place(&source, &spoilt)), (Ok(()), Ok(())));
    assert!(!settled(&source, &spoilt));
    assert_eq!(why(offset(&source, D, spoilt, &b)), "the winding number is 2 or more, or negative");
}
