//! What is wrong with the outlines themselves, whatever they are made with: crossing, touching, holes, sizes.

use super::reading::named;
use super::{Code, Finding, Severity};
use crate::drawing::Source;
use crate::drawing::outline::{Flat, Hole, LARGEST_OUTLINE, LARGEST_SPREAD, Outline, Outlines, Trouble};
use crate::geom::{Point, Rect};
use crate::text::rounded;
use crate::tolerance::{SAME_PLACE, WIDTH_SLACK};

/// An outline larger than this, mm, is a house and no joint.
pub(super) const LARGEST: f64 = 2000.0;
/// An outline smaller than this both ways, mm, is a louse.
const SMALLEST: f64 = 3.0;

/// Outlines that reach farther than this together, mm, are hardly meant for one panel, though each is a joint.
const WIDEST: f64 = 5000.0;

/// Findings on the outlines that were found and on what kept others from becoming one. `cutter`: diameter, mm.
#[must_use]
pub fn findings(found: &Outlines, cutter: f64) -> Vec<Finding> {
    let mut out: Vec<Finding> = found.troubles.iter().map(trouble).collect();
    out.extend(found.doubled.iter().map(doubled));
    out.extend(found.specks.iter().map(speck));
    out.extend(found.flat.iter().map(flat));
    for o in &found.outlines {
        out.extend(odd_size(o, cutter));
        // Let in whole: the maker has said that what lies inside is an island.
        let whole = o.region.rings.iter().all(|r| r.area() > 0.0);
        let is_hole = |h: &Hole| h.same_shape || h.holds.is_some() || whole;
        out.extend(o.holes.iter().map(|h| if is_hole(h) { island(o, h) } else { nested(o, h) }));
    }
    out.extend(far_apart(&found.outlines));
    out.extend(found.inside.iter().map(|(source, at)| inside(source, *at)));
    out
}

/// Outlines of a fitting size that lie very far from each other. Where one is too large by itself, that is said.
fn far_apart(outlines: &[Outline]) -> Option<Finding> {
    let boxes = || outlines.iter().filter_map(|o| o.region.bounds());
    let far = |b: Rect, most: f64| b.width().max(b.height()) > most;
    let all = boxes().reduce(|a, b| a.union(b)).filter(|b| far(*b, WIDEST) && !boxes().any(|b| far(b, LARGEST)))?;
    let message = format!(
        "the outlines lie over {:.0} x {:.0} mm, and one panel has to reach over all of them",
        all.width(),
        all.height()
    );
    let help = "check the size told here; if it is right, make fewer outlines at a time: choose them by --only";
    let mut f = Finding::new(Code::OddSize, Severity::Warning, message, help).at(all.center());
    (f.measured, f.needed) = (Some(all.width().max(all.height())), Some(WIDEST));
    Some(f)
}

/// What the geometry could not do at `at`.
#[must_use]
pub fn uncertified(at: Option<Point>, what: &str) -> Finding {
    Finding::new(
        Code::Uncertified,
        Severity::Error,
        format!("the result could not be certified here, so none is given: {what}"),
        "look at this place in the drawing: take out needless points, doubled edges and hair-fine spikes",
    )
    .at(at)
}

fn trouble(t: &Trouble) -> Finding {
    let two = |[a, b]: &[Source; 2]| format!("{} and {}", named(a), named(b));
    let help = "redraw it so that nothing crosses; or unite what crosses with --accept crossing";
    match t {
        Trouble::SelfCrossing { at, source } => {
            let message = format!(
                "the outline crosses itself here ({}), and the file does not say what is inside",
                named(source)
            );
            Finding::new(Code::Crossing, Severity::Error, message, help).at(*at)
        }
        Trouble::Crossing { at, sources } => {
            Finding::new(Code::Crossing, Severity::Error, format!("outlines cross here: {}", two(sources)), help)
                .at(*at)
        }
        Trouble::Touching { at, gap, sources } => {
            let help = "let one in first, then the other: choose one with --only";
            let [a, b] = sources;
            let message = match apart(*gap) {
                None if a == b => format!("two closed lines of {} touch here", named(a)),
                None => format!("outlines touch here: {}", two(sources)),
                Some(gap) => format!("outlines are only {gap} mm apart here: {}", two(sources)),
            };
            Finding::new(Code::Touching, Severity::Error, message, help).at(*at).measuring(*gap)
        }
        Trouble::TouchingParts { at, gap, source } => {
            let message = match apart(*gap) {
                None => {
                    format!("{} is pinched to a point here: two parts of it meet in this point only", named(source))
                }
                Some(gap) => format!("two parts of {} are only {gap} mm apart here", named(source)),
            };
            let help = "draw the parts apart, or let them run into one another; or break the shape up in the drawing \
                        program, and let in one part first, then the other";
            Finding::new(Code::Touching, Severity::Error, message, help).at(*at).measuring(*gap)
        }
        Trouble::TooLarge { at, size: (w, h), source } => {
            let what = source.as_ref().map_or_else(|| "the whole drawing".to_owned(), named);
            let (is, most) = (w.max(*h), if source.is_some() { LARGEST_OUTLINE } else { LARGEST_SPREAD });
            let m = |mm: f64| rounded(mm / 1000.0, 2).unwrap_or_default();
            let message = format!(
                "{what} is {} x {} m, and more than {} m is not worked out: no template is so large",
                m(*w),
                m(*h),
                m(most)
            );
            let help = "check the unit: say --unit mm or --unit in, or say with --width how wide the drawing is; leave out \
                        what is no outline by --skip";
            let mut f = Finding::new(Code::OddSize, Severity::Error, message, help).at(*at);
            (f.measured, f.needed) = (Some(is), Some(most));
            f
        }
        Trouble::Uncertified { at, source, why } => uncertified(*at, &format!("{}: {why}", named(source))),
    }
}

/// A gap in words; none where the lines meet, as near as can be told.
fn apart(gap: f64) -> Option<String> {
    (gap > SAME_PLACE).then(|| if gap < 0.0001 { "0.0001".to_owned() } else { format!("{gap:.4}") })
}

fn doubled(source: &Source) -> Finding {
    let message = format!("{} is drawn on top of another with the same edges; it was taken once", named(source));
    Finding::new(Code::DoubledLine, Severity::Note, message, "nothing to do; take the second one away to be tidy")
}

fn speck(s: &Hole) -> Finding {
    let part = if s.same_shape { "a loop in " } else { "" };
    let message = format!("{part}{} is a speck, too small to be meant; it was left out", named(&s.source));
    Finding::new(Code::Speck, Severity::Note, message, "nothing to do; take it away in the drawing to be tidy")
        .at(s.at)
        .covers(s.area)
}

fn flat(f: &Flat) -> Finding {
    let (length, name) = (f.length, named(&f.source));
    let message = if f.whole {
        format!("a closed line {length:.1} mm long encloses nothing and was left out ({name})")
    } else {
        format!(
            "{length:.1} mm of a closed line enclose nothing and were left out: it goes out and back the same way ({name})"
        )
    };
    let help =
        "if it was meant to be cut, draw it round the area that is to be let in; else take it away in the drawing";
    Finding::new(Code::LeftOut, Severity::Warning, message, help).at(f.at).measuring(length)
}

/// An outline that is only too narrow one way is a neck, and told there.
fn odd_size(o: &Outline, cutter: f64) -> Option<Finding> {
    let b = o.region.bounds()?;
    let large = b.width().max(b.height());
    let least = cutter.max(SMALLEST);
    let finding = |needed: f64, what: &str| {
        let message = format!("the outline is {:.1} x {:.1} mm: {what}", b.width(), b.height());
        let help = "check the size told here; if it is wrong, the file's unit is: say --unit mm or --unit in";
        let mut f = Finding::new(Code::OddSize, Severity::Warning, message, help).at(b.center()).on(o.number);
        (f.measured, f.needed) = (Some(large), Some(needed));
        f
    };
    if large > LARGEST {
        return Some(finding(LARGEST, "larger than any joint"));
    }
    let what = if cutter >= SMALLEST { "smaller than the cutter" } else { "hardly to be seen" };
    (large < least - WIDTH_SLACK).then(|| finding(least, what))
}

fn island(o: &Outline, hole: &Hole) -> Finding {
    let what = if hole.same_shape { String::new() } else { format!(" ({})", named(&hole.source)) };
    let holds = hole.holds.as_ref().filter(|_| !hole.same_shape);
    let inner = holds.map(|s| format!("; {} in it counts as an outline of its own", named(s))).unwrap_or_default();
    let frame =
        holds.map(|_| format!("; if it is a frame round the others, leave it out by --skip \"{}\"", o.source.id));
    Finding::new(
        Code::Island,
        Severity::Error,
        format!("a hole in the outline{what}: in the template it would be a loose piece that nothing holds{inner}"),
        format!(
            "let in the whole without the hole by --accept island; the island's own wood is then let back into it, as a \
             second job whose files are written as well{}",
            frame.unwrap_or_default()
        ),
    )
    .at(hole.at)
    .on(o.number)
    .covers(hole.area)
}

fn inside(source: &Source, at: Point) -> Finding {
    let message = format!("not made: {} lies inside an island and was left out with it", named(source));
    let help = "when the whole and the island are let in, make it as a job of its own: choose it by --only";
    Finding::new(Code::LeftOut, Severity::Warning, message, help).at(at)
}

fn nested(o: &Outline, hole: &Hole) -> Finding {
    let (inner, outer) = (&hole.source.id, &o.source.id);
    Finding::new(
        Code::Nested,
        Severity::Error,
        format!(
            "{} lies inside {}: an island, a plug in its shoulder, or a frame?",
            named(&hole.source),
            named(&o.source)
        ),
        format!(
            "an island: --accept island lets in the whole without it. A frame: --skip \"{outer}\" leaves it out. A plug in \
             its shoulder: --plug \"{inner}\" --shoulder \"{outer}\""
        ),
    )
    .at(hole.at)
    .on(o.number)
    .covers(hole.area)
}
