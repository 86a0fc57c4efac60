//! Problems of the outlines themselves, with any tools: crossings, contacts, holes, sizes.
//!
//! In: the outlines of the drawing, and what kept others from becoming one. Out: findings. Sizes are in mm.

use super::source::named;
use super::{Code, Finding, Severity};
use crate::drawing::Source;
use crate::drawing::outline::{Flat, Hole, Outline, Outlines, Trouble};
use crate::geom::{Point, Rect};
use crate::text::{Length, Words, at_least, plain, tenth, whole};
use crate::tolerance::{LARGEST_OUTLINE, LARGEST_SPREAD, SAME_PLACE, WIDTH_SLACK};
use crate::words;

/// Size of the largest plausible outline, mm.
pub(super) const LARGEST: f64 = 2000.0;
/// An outline smaller than this in width and height is too small to be meant, mm.
const SMALLEST: f64 = 3.0;

/// Outlines that extend farther than this together hardly belong on one panel, mm.
const WIDEST: f64 = 5000.0;

/// Findings on the outlines, and on what kept others from becoming one. `cutter`: diameter, mm.
#[must_use]
pub fn findings(found: &Outlines, cutter: f64) -> Vec<Finding> {
    let mut out: Vec<Finding> = found.troubles.iter().map(trouble).collect();
    out.extend(found.doubled.iter().map(doubled));
    out.extend(found.specks.iter().map(speck));
    out.extend(found.flat.iter().map(flat));
    for o in &found.outlines {
        out.extend(odd_size(o, cutter));
        // The outline is let in whole: the maker accepted the shape inside as an island.
        let let_in_whole = o.region.rings.iter().all(|r| r.area() > 0.0);
        let is_hole = |h: &Hole| h.same_shape || h.holds.is_some() || let_in_whole;
        out.extend(o.holes.iter().map(|h| if is_hole(h) { island(o, h) } else { nested(o, h) }));
    }
    out.extend(far_apart(&found.outlines));
    out.extend(found.inside.iter().map(|(source, at)| inside(source, *at)));
    out
}

/// A finding on outlines of plausible size that lie very far from each other. An outline that is too large by itself
/// has a finding of its own.
fn far_apart(outlines: &[Outline]) -> Option<Finding> {
    let boxes = || outlines.iter().filter_map(|o| o.region.bounds());
    let far = |b: Rect, most: f64| b.width().max(b.height()) > most;
    let all = boxes().reduce(|a, b| a.union(b)).filter(|b| far(*b, WIDEST) && !boxes().any(|b| far(b, LARGEST)))?;
    let area = Words::pair(whole(all.width()), whole(all.height()));
    let message = words!("The outlines lie over an area of {}, and one panel must reach over all of them.", area);
    let help = "Check this size. If it is right, make fewer outlines at a time with --only.";
    let mut f = Finding::new(Code::OddSize, Severity::Warning, message, help).at(all.center());
    (f.measured, f.needed) = (Some(all.width().max(all.height())), Some(WIDEST));
    Some(f)
}

/// The error for a place that the geometry could not certify. `what` is the reason.
#[must_use]
pub fn uncertified(at: Option<Point>, what: &str) -> Finding {
    Finding::new(
        Code::Uncertified,
        Severity::Error,
        words!("The result could not be certified at this place, and the program gives none. Reason: {}.", what),
        "Look at this place in the drawing. Remove needless points, doubled edges and hair-fine spikes.",
    )
    .at(at)
}

fn trouble(t: &Trouble) -> Finding {
    let help = "Redraw it without the crossing. Or unite the shapes that cross with --accept crossing.";
    match t {
        Trouble::SelfCrossing { at, source } => {
            let message =
                words!("An outline crosses itself, and the file does not say what is inside ({}).", named(source));
            Finding::new(Code::Crossing, Severity::Error, message, help).at(*at)
        }
        Trouble::Crossing { at, sources } => {
            let message = words!("An outline ({}) crosses another ({}).", named(&sources[0]), named(&sources[1]));
            Finding::new(Code::Crossing, Severity::Error, message, help).at(*at)
        }
        Trouble::Touching { at, gap, sources } => {
            let help = "Let in one first, then the other, each with --only.";
            let [a, b] = sources;
            let message = match apart(*gap) {
                None if a == b => words!("Two closed lines of one shape touch ({}).", named(a)),
                None => words!("An outline ({}) touches another ({}).", named(a), named(b)),
                Some(gap) => {
                    words!("An outline ({}) is at most {} away from another ({}).", named(a), gap, named(b))
                }
            };
            Finding::new(Code::Touching, Severity::Error, message, help).at(*at).measuring(*gap)
        }
        Trouble::TouchingParts { at, gap, source } => {
            let message = match apart(*gap) {
                None => words!("Two parts of an outline meet in a single point ({}).", named(source)),
                Some(gap) => words!("Two parts of an outline are at most {} apart ({}).", gap, named(source)),
            };
            let help = "Draw the parts apart, or let them run into one another. Or split the shape in the drawing \
                        program, and let in one part first, then the other.";
            Finding::new(Code::Touching, Severity::Error, message, help).at(*at).measuring(*gap)
        }
        Trouble::TooLarge { at, size: (w, h), source } => {
            let (is, most) = (w.max(*h), if source.is_some() { LARGEST_OUTLINE } else { LARGEST_SPREAD });
            let what = match source {
                Some(source) => words!("An outline ({})", named(source)),
                None => "The whole drawing".into(),
            };
            let message = words!(
                "{} is {} in size, and the limit is {}. No template is so large.",
                what,
                Words::pair(whole(*w), whole(*h)),
                whole(most)
            );
            let help = "Check the unit: set --unit mm or --unit in, or the drawing's width with --width. Leave out \
                        what is not an outline with --skip.";
            let mut f = Finding::new(Code::OddSize, Severity::Error, message, help).at(*at);
            (f.measured, f.needed) = (Some(is), Some(most));
            f
        }
        Trouble::Uncertified { at, source, why } => uncertified(*at, &format!("{}: {why}", named(source))),
    }
}

/// The gap as a length that is no smaller than it. `None` where the lines meet within tolerance.
fn apart(gap: f64) -> Option<Length> {
    (gap > SAME_PLACE).then(|| at_least(gap))
}

fn doubled(source: &Source) -> Finding {
    let message = words!("A shape lies on top of another with the same edges and counts once ({}).", named(source));
    Finding::new(
        Code::DoubledLine,
        Severity::Note,
        message,
        "Nothing to do. Remove the second one to tidy the drawing.",
    )
}

fn speck(s: &Hole) -> Finding {
    let part = if s.same_shape { "a loop in " } else { "" };
    let message = words!("A speck was left out: {}{} is too small to be meant.", part, named(&s.source));
    Finding::new(Code::Speck, Severity::Note, message, "Nothing to do. Remove it to tidy the drawing.")
        .at(s.at)
        .covers(s.area)
}

fn flat(f: &Flat) -> Finding {
    let (length, name) = (f.length, named(&f.source));
    let message = if f.whole {
        words!("A closed line {} long encloses nothing and was left out ({}).", tenth(length), name)
    } else {
        words!(
            "{} of a closed line run out and back the same way. They enclose nothing and were left out ({}).",
            tenth(length),
            name
        )
    };
    let help = "If it should be cut, draw it around the area to let in. Else remove it from the drawing.";
    Finding::new(Code::LeftOut, Severity::Warning, message, help).at(f.at).measuring(length)
}

/// A finding on an outline of doubtful size. An outline that is too narrow in one direction only is a neck and has a
/// finding there.
fn odd_size(o: &Outline, cutter: f64) -> Option<Finding> {
    let b = o.region.bounds()?;
    let large = b.width().max(b.height());
    let least = cutter.max(SMALLEST);
    let finding = |needed: f64, what: &str| {
        let message = words!("The outline is {}, {}.", Words::pair(plain(b.width()), plain(b.height())), what);
        let help = "Check this size. If it is wrong, set the file's unit with --unit mm or --unit in.";
        let mut f = Finding::new(Code::OddSize, Severity::Warning, message, help).at(b.center()).on(o.number);
        (f.measured, f.needed) = (Some(large), Some(needed));
        f
    };
    if large > LARGEST {
        return Some(finding(LARGEST, "larger than any inlay"));
    }
    let what = if cutter >= SMALLEST { "smaller than the cutter" } else { "too small to be meant" };
    (large < least - WIDTH_SLACK).then(|| finding(least, what))
}

fn island(o: &Outline, hole: &Hole) -> Finding {
    let what = if hole.same_shape { String::new() } else { format!(" ({})", named(&hole.source)) };
    let holds = hole.holds.as_ref().filter(|_| !hole.same_shape);
    let inner = holds.map(|s| format!(" Inside it, {} counts as an outline of its own.", named(s))).unwrap_or_default();
    let frame = holds
        .map(|_| format!(" If it is a frame around the others, leave it out with --skip \"{}\".", o.source.id))
        .unwrap_or_default();
    Finding::new(
        Code::Island,
        Severity::Error,
        words!("A hole in the outline{} would be a loose piece of template that nothing holds.{}", what, inner),
        words!(
            "Let in the whole without the hole with --accept island. The island's own wood is then let back in as a \
             second job, and its files are written too.{}",
            frame
        ),
    )
    .at(hole.at)
    .on(o.number)
    .covers(hole.area)
}

fn inside(source: &Source, at: Point) -> Finding {
    let message = words!("A shape inside an island was left out with it ({}).", named(source));
    let help = "After the whole and the island are let in, make it as a job of its own with --only.";
    Finding::new(Code::LeftOut, Severity::Warning, message, help).at(at)
}

fn nested(o: &Outline, hole: &Hole) -> Finding {
    let (inner, outer) = (&hole.source.id, &o.source.id);
    Finding::new(
        Code::Nested,
        Severity::Error,
        words!(
            "One outline ({}) lies inside another ({}). The file does not say whether it is an island, a plug in its \
             shoulder, or a shape in a frame.",
            named(&hole.source),
            named(&o.source)
        ),
        words!(
            "For an island, add --accept island: the whole is let in without it. For a frame, add --skip \"{}\". For a \
             plug in its shoulder, add --plug \"{}\" --shoulder \"{}\".",
            outer,
            inner,
            outer
        ),
    )
    .at(hole.at)
    .on(o.number)
    .covers(hole.area)
}
