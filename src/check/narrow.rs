//! Parts of an outline narrower than the cutter, and gaps that close between its limbs.
//!
//! In: one region of the difference that is not a single corner. Out: its finding. Measured is the least width between
//! opposite sides, mm. Needed is the width that the tools need, mm. With eased corners it includes the margin, because
//! the outline loses that much.

use super::corner::{down, remedy};
use super::{Code, Finding, Severity, Subject, holes, island_count};
use crate::geom::Region;
use crate::geom::misfit::Misfit;
use crate::template::ease::Corners;
use crate::text::{Length, Words, at_least, at_most, fixed, gap as of_gap, plain, tool, typed};
use crate::tolerance::{DEEP_LOSS, LARGE_LOSS, PROUD, WIDTH_SLACK};
use crate::words;

/// Largest scale of the drawing that is proposed for the sake of a narrow place.
const LARGEST_SCALE: f64 = 10.0;

/// True if one region loses so much of the drawing that the pieces no longer show it.
fn heavy(of: &Subject, m: &Misfit) -> bool {
    m.depth > DEEP_LOSS || m.area > LARGE_LOSS * of.drawn.area()
}

/// A part of the outline that the cutter does not pass. `falls`: the cutter's path through the outline is not in one
/// piece.
pub(super) fn neck(of: &Subject, m: &Misfit, falls: bool) -> Finding {
    let deep = m.depth > of.tools.recess.cutter_radius() || heavy(of, m);
    let falls = falls && m.stretches != 1;
    let error = deep || falls;
    neck_of(of, m, 2.0 * of.inside_radius(), falls, if error { Severity::Error } else { Severity::Warning })
}

/// A note on wood of the outline as made that the recess's cutter leaves. [`super::fit::horns`] reports an error
/// where it is deeper than [`PROUD`].
pub(super) fn horn(of: &Subject, m: &Misfit) -> Finding {
    let message = words!("The recess is {} tighter than the inlay's outline.", of_gap(m.depth));
    let help = if m.depth > PROUD {
        "Do what the error at this place says."
    } else if m.depth > of.tools.gap {
        "Pare that much off the inlay there."
    } else {
        "Nothing to do: the gap takes it up."
    };
    let f = Finding::new(Code::Fit, Severity::Note, message, help).at(m.at).on(of.number).covers(m.area);
    f.measuring(m.depth)
}

fn neck_of(of: &Subject, m: &Misfit, needed: f64, falls: bool, severity: Severity) -> Finding {
    let pieces = of.cut.ways;
    let cutter = of.tools.recess.cutter;
    let margin = needed - cutter;
    let eased = margin > WIDTH_SLACK;
    let with = if eased { " with its margin" } else { "" };
    let needs = words!("the {} cutter{} needs {}", tool(of.tools.recess_called.cutter), with, plain(needed));
    let measure = match m.width {
        Some(w) => words!("A part of the outline is {} wide, and {}.", at_most(w), needs),
        None => words!("A part of the outline is too narrow: {}.", needs),
    };
    let off = fixed(m.depth);
    // With corners squared or kept the inlay is not opened by the cutter.
    let lost = |what: &str| match of.corners {
        Corners::Ease { .. } => words!("Both pieces lose {}, {} off the drawing.", what, off),
        Corners::Square | Corners::Keep => {
            words!("The recess loses {}, {} off the drawing, and the inlay keeps it.", what, off)
        }
    };
    let outcome = match (m.stretches, pieces) {
        (0, _) | (_, 0) => words!("The cutter reaches none of it, {} off the drawing.", off),
        (1, _) => lost("it"),
        _ if falls => words!("The outline falls apart there, {} off the drawing.", off),
        _ => lost("it there"),
    };
    let (mut ways, mut cutters, mut margins) = ([None, None], None, None);
    if let Some(w) = m.width {
        if eased && w + WIDTH_SLACK >= cutter {
            let inside = down((w - cutter).max(0.0) / 2.0);
            ways[1] = Some(words!("set --ease-inside {}", typed(inside)));
            margins = Some(inside);
        }
        let fits = down(w + WIDTH_SLACK - margin);
        if fits >= 1.0 {
            ways[0] = Some(words!("use a cutter of at most {}", at_most(fits)));
            cutters = Some(fits);
        }
    }
    let help = remedy(Words::default(), words!("the part {} wide or more", at_least(needed)), ways);
    narrow(Code::Neck, severity, words!("{} {}", measure, outcome), help, of, m, needed)
        .way("cutter", cutters)
        .way("ease-inside", margins)
}

/// True if closing makes an island of template or joins separate parts.
pub(super) fn joins(before: &Region, after: &Region) -> bool {
    holes(after).count() > holes(before).count() || island_count(after) < island_count(before)
}

/// A gap between limbs that is too narrow for any template. `joined`: see [`joins`].
pub(super) fn gap(of: &Subject, m: &Misfit, joined: bool) -> Finding {
    let (tools, o) = (of.tools, of.outside_radius());
    let bridges = joined && m.stretches != 1;
    let severity = if bridges || heavy(of, m) { Severity::Error } else { Severity::Warning };
    let needed = 2.0 * o;
    let rule = words!("It must be {} wide, or no template is left in it.", at_least(needed));
    let measure = match m.width {
        Some(w) => words!("A gap between two limbs is {} wide. {}", at_most(w), rule),
        None => words!("A gap between two limbs is too narrow. {}", rule),
    };
    let recess_keeps = m.width.is_some_and(|w| w + WIDTH_SLACK >= 2.0 * tools.recess_offset());
    let off = fixed(m.depth);
    let outcome = match (bridges, of.corners) {
        (true, _) => words!("It closes and leaves a loose island of template, {} off the drawing.", off),
        (_, Corners::Keep) if recess_keeps => {
            words!("It closes in the inlay but not in the recess, {} off the drawing.", off)
        }
        _ => words!("It closes in both pieces, {} off the drawing.", off),
    };
    let draw = words!("the gap {} wide or more", at_least(needed));
    let (mut help, mut bushes) = (remedy(Words::default(), draw.clone(), [None, None]), None);
    if let Some(w) = m.width {
        let margin = (o - tools.largest_offset()).max(0.0);
        let offset = (w + WIDTH_SLACK) / 2.0 - margin;
        let bush = down(2.0 * (offset + tools.gap) - tools.inlay.cutter);
        if bush > tools.inlay.cutter + 1.0 {
            bushes = (tools.recess_offset() <= offset).then_some(bush);
            let inlay = words!("use an inlay bush of at most {} (--inlay-bush)", at_most(bush));
            help = if tools.recess_offset() > offset {
                let recess: Length = at_most(down(2.0 * offset + tools.recess.cutter));
                words!("{} Or {} and a recess bush of at most {} (--bush).", help, inlay, recess)
            } else {
                remedy(Words::default(), draw, [Some(inlay), None])
            };
        }
    }
    narrow(Code::ClosedGap, severity, words!("{} {}", measure, outcome), help, of, m, needed).way("inlay-bush", bushes)
}

fn narrow(
    code: Code,
    severity: Severity,
    message: Words,
    help: Words,
    of: &Subject,
    m: &Misfit,
    needed: f64,
) -> Finding {
    let mut f = Finding::new(code, severity, message, help).at(m.at).on(of.number).covers(m.area);
    f.needed = Some(needed);
    match m.width {
        Some(w) => f.measures(w, needed).larger(w, needed, LARGEST_SCALE),
        None => f,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Certified, Point, Ring};
    use crate::kit::{Pair, Tools};
    use crate::template::ease::AsCut;

    /// The severity that `judge` gives a part of this depth and area, in an outline 100 mm square.
    fn severity(
        cutter: f64,
        depth: f64,
        area: f64,
        stretches: usize,
        judge: impl Fn(&Subject, &Misfit) -> Finding,
    ) -> Severity {
        let square = [(0.0, 0.0), (100.0, 0.0), (100.0, 100.0), (0.0, 100.0)].map(Point::from);
        let drawn = Certified::for_test(Region::new(vec![Ring::polygon(&square)]));
        let (recess, inlay) = (drawn.clone(), drawn.clone());
        let cut = AsCut { recess, inlay, nested: true, ways: 1, smallest_way: None };
        let pair = Pair { bush: 20.0, cutter };
        let tools = Tools::new(pair, pair, 0.05).unwrap();
        let corners = Corners::Keep;
        let of = Subject { number: 1, drawn: &drawn, cut: &cut, corners, tools: &tools, within: None };
        let region = Region::default();
        let (at, outline) = (Point::ORIGIN, Vec::new());
        let (turn, radius, point, cusp, width) = (3.1, 0.0, None, false, Some(4.0));
        let m = Misfit { region, at, depth, area, stretches, turn, radius, point, cusp, width, outline };
        judge(&of, &m).severity
    }

    /// A tenth of the outline, mm².
    const TENTH: f64 = LARGE_LOSS * 1e4;

    /// The cutter's path is in one piece, and the part is a single limb, so only the loss counts.
    #[test]
    fn a_deep_or_large_loss_is_an_error_by_itself() {
        let limb = |cutter, depth, area| severity(cutter, depth, area, 1, |of, m| neck(of, m, false));
        assert_eq!(limb(6.0, 2.9, 10.0), Severity::Warning);
        assert_eq!(limb(6.0, 3.1, 10.0), Severity::Error, "deeper than the cutter's radius");
        assert_eq!(limb(16.0, DEEP_LOSS - 0.1, 10.0), Severity::Warning);
        assert_eq!(limb(16.0, DEEP_LOSS + 0.1, 10.0), Severity::Error, "deeper than the limit");
        assert_eq!(limb(6.0, 1.0, TENTH - 10.0), Severity::Warning);
        assert_eq!(limb(6.0, 1.0, TENTH + 10.0), Severity::Error, "more than a tenth of the outline");
        // A gap that fills up, likewise.
        let slit = |depth, area| severity(6.0, depth, area, 1, |of, m| gap(of, m, false));
        assert_eq!(slit(DEEP_LOSS - 0.1, TENTH - 10.0), Severity::Warning);
        assert_eq!(slit(DEEP_LOSS + 0.1, 10.0), Severity::Error, "deeper than the limit");
        assert_eq!(slit(1.0, TENTH + 10.0), Severity::Error, "more than a tenth of the outline");
    }

    /// The loss is small, so only the pieces count: the cutter's path falls apart, or a gap closes to an island. A limb
    /// or a slit does neither.
    #[test]
    fn a_part_that_divides_the_path_or_joins_limbs_is_an_error_by_itself() {
        for (stretches, divides, wanted) in [
            (2, true, Severity::Error),
            (0, true, Severity::Error),
            (1, true, Severity::Warning),
            (2, false, Severity::Warning),
        ] {
            let of_neck = severity(6.0, 1.0, 10.0, stretches, |of, m| neck(of, m, divides));
            let of_gap = severity(6.0, 1.0, 10.0, stretches, |of, m| gap(of, m, divides));
            assert_eq!((of_neck, of_gap), (wanted, wanted), "{stretches} {divides}");
        }
    }
}
