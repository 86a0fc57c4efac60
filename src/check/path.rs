//! The cutter's path through an outline.
//!
//! In: the outline with its pieces, mm. Out: an error if nothing is left of the outline, or if the path is not in one
//! piece.

use super::{Code, Finding, Severity, Subject};
use crate::geom::{Point, Region};
use crate::text::{Words, plain, tool};
use crate::tolerance::WIDTH_SLACK;
use crate::words;

/// A finding if the cutter's path through the outline is not in one piece. Easing can open or close a neck. With
/// `broken` an error on a neck exists already, and this finding appears only if nothing would be left to make.
#[must_use]
pub fn way(of: &Subject, made: &Region, broken: bool) -> Option<Finding> {
    let cutter = of.tools.recess.cutter;
    let called = tool(of.tools.recess_called.cutter);
    let say = |message: Words, at: Option<Point>| {
        let help = "Draw it wider there, or use a smaller cutter with a bush to match (--cutter and --bush).";
        Finding::new(Code::Neck, Severity::Error, message, help).at(at).on(of.number)
    };
    let middle = of.drawn.bounds().map(|b| b.center());
    if made.is_empty() {
        let width = 2.0 * of.inside_radius();
        let with = if width > cutter + WIDTH_SLACK { " with its margin" } else { "" };
        let message = words!(
            "Nothing of the outline is left. The {} cutter{} needs a width of {}, and the outline is narrower \
             everywhere.",
            called,
            with,
            plain(width)
        );
        let mut f = say(message, middle).last_word();
        f.needed = Some(cutter);
        return Some(f);
    }
    match of.cut.ways {
        0 => {
            let message = words!("The {} cutter does not fit into the outline anywhere.", called);
            let mut f = say(message, middle).last_word();
            f.needed = Some(cutter);
            Some(f)
        }
        1 => None,
        _ if broken => None,
        n => {
            let message = words!(
                "The path of the {} cutter through the outline falls into {} parts. It cannot pass between them.",
                called,
                n
            );
            Some(say(message, of.cut.smallest_way.or(middle)))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::fit::horns;
    use super::*;
    use crate::budget::Budget;
    use crate::check::difference::{by_tools, differences, findings};
    use crate::geom::Certified;
    use crate::geom::{Ring, Segment};
    use crate::kit::{Pair, Tools};
    use crate::template::ease::{AsCut, Corners, as_cut};

    /// Two squares joined by a waist between two arcs of radius 14. `half`: half the width of the waist, mm.
    fn waisted(half: f64) -> Certified<Region> {
        let sagitta = 20.0 - half;
        let c = (14f64.powi(2) - (sagitta - 14.0).powi(2)).sqrt();
        let p = |x: f64, y: f64| Point::new(x, y);
        let bulge = -sagitta / c;
        let ring = Ring::new(vec![
            Segment::line(p(-40.0, -20.0), p(-c, -20.0)),
            Segment::from_bulge(p(-c, -20.0), p(c, -20.0), bulge),
            Segment::line(p(c, -20.0), p(40.0, -20.0)),
            Segment::line(p(40.0, -20.0), p(40.0, 20.0)),
            Segment::line(p(40.0, 20.0), p(c, 20.0)),
            Segment::from_bulge(p(c, 20.0), p(-c, 20.0), bulge),
            Segment::line(p(-c, 20.0), p(-40.0, 20.0)),
            Segment::line(p(-40.0, 20.0), p(-40.0, -20.0)),
        ]);
        Certified::for_test(Region::new(vec![ring]))
    }

    fn tools() -> Tools {
        let pair = Pair { bush: 20.0, cutter: 6.0 };
        Tools::new(pair, pair, 0.05).unwrap()
    }

    /// The cutter comes so near from both sides that the pieces lose less than any finding reports. Yet it cannot pass.
    #[test]
    fn a_waist_hardly_too_narrow_for_the_cutter_is_an_error_of_the_path_alone() {
        let (tools, corners, budget) = (tools(), Corners::Keep, Budget::unlimited());
        for (half, falls) in [(2.9965, true), (3.01, false)] {
            let drawn = waisted(half);
            let cut = as_cut(&drawn, corners, &tools, &budget).unwrap();
            let of = Subject { number: 1, drawn: &drawn, cut: &cut, corners, tools: &tools, within: None };
            let differ = differences(&drawn, &cut, (of.inside_radius(), of.outside_radius()), &budget).unwrap();
            let others = findings(&of, &drawn, &differ, &by_tools(&drawn, &tools, &budget).unwrap());
            assert!(others.iter().all(|f| f.code != Code::Neck && f.severity != Severity::Error), "{half}: {others:?}");
            assert!(horns(&of, &drawn, &budget).unwrap().is_empty());
            let found = way(&of, &drawn, false).map(|f| (f.code, f.severity, f.last_word));
            assert_eq!(found, falls.then_some((Code::Neck, Severity::Error, false)), "{half}");
            // With an error on a neck already reported, there is nothing to add.
            assert_eq!(way(&of, &drawn, true), None);
        }
    }

    #[test]
    fn an_outline_of_which_nothing_is_left_is_always_an_error() {
        let (tools, drawn, corners) = (tools(), waisted(3.01), Corners::Keep);
        let (recess, inlay) = (drawn.clone(), drawn.clone());
        let cut = AsCut { recess, inlay, nested: true, ways: 1, smallest_way: None };
        let of = |cut| Subject { number: 1, drawn: &drawn, cut, corners, tools: &tools, within: None };
        let nowhere = AsCut { ways: 0, ..cut.clone() };
        for broken in [false, true] {
            assert_eq!(way(&of(&cut), &drawn, broken), None);
            let empty = way(&of(&cut), &Region::default(), broken).unwrap();
            let unreached = way(&of(&nowhere), &drawn, broken).unwrap();
            for f in [empty, unreached] {
                assert_eq!((f.code, f.severity, f.last_word), (Code::Neck, Severity::Error, true));
            }
        }
    }
}
