//! Parts of an outline narrower than the cutter, and gaps that close between its limbs.
//!
//! In: one region of the difference that is no single corner. Out: its finding. Measured and needed, mm: the least width
//! between opposite sides, and the width that the tools need; with eased corners that is the width with the margin, for that is
//! what the outline loses.

use super::corner::down;
use super::{Code, Finding, Severity, Subject, holes, island_count};
use crate::geom::Region;
use crate::geom::misfit::Misfit;
use crate::template::ease::Corners;
use crate::tolerance::{DEEP_LOSS, LARGE_LOSS, PROUD, WIDTH_SLACK};

/// A drawing is not proposed to be made larger than so many times for the sake of a narrow place.
const LARGEST_SCALE: f64 = 10.0;

/// Whether so much of the drawing is lost in one region that it is not the same drawing.
fn heavy(of: &Subject, m: &Misfit) -> bool {
    m.depth > DEEP_LOSS || m.area > LARGE_LOSS * of.drawn.area()
}

/// A part of the outline that the cutter does not pass. `falls`: the cutter's way through the outline is not in one piece.
pub(super) fn neck(of: &Subject, m: &Misfit, falls: bool) -> Finding {
    let deep = m.depth > of.tools.recess.cutter_radius() || heavy(of, m);
    let falls = falls && m.stretches != 1;
    let error = deep || falls;
    neck_of(of, m, 2.0 * of.inside_radius(), falls, if error { Severity::Error } else { Severity::Warning })
}

/// Wood that the outline as made has and the recess's cutter leaves: no deeper than the gap takes up, else
/// [`super::making::horns`] says more.
pub(super) fn horn(of: &Subject, m: &Misfit) -> Finding {
    let message = format!("The recess is {:.2} mm tighter than the inlay's outline here.", m.depth);
    let help = if m.depth > PROUD { "See the error at this place." } else { "The gap takes it up." };
    let f = Finding::new(Code::Fit, Severity::Note, message, help).at(m.at).on(of.number).covers(m.area);
    f.measuring(m.depth)
}

fn neck_of(of: &Subject, m: &Misfit, needed: f64, falls: bool, severity: Severity) -> Finding {
    let pieces = of.cut.ways;
    let cutter = of.tools.recess.cutter;
    let margin = needed - cutter;
    let eased = margin > WIDTH_SLACK;
    let with = if eased { " with its margin" } else { "" };
    let wants = format!("the {cutter} mm cutter{with} needs {needed} mm");
    let measure = match m.width {
        Some(w) => format!("a part of the outline is {w:.2} mm wide; {wants}: {:.2} mm short", needed - w),
        None => format!("a part of the outline is too narrow: {wants}"),
    };
    let outcome = match (m.stretches, pieces) {
        (0, _) | (_, 0) => "nothing of it is reached",
        (1, _) => "it is lost in both pieces",
        _ if falls => "the outline falls apart there",
        _ => "it is lost there in both pieces",
    };
    let outcome = format!("{outcome}, {:.2} mm off the drawing", m.depth);
    let (mut ways, mut cutters, mut margins) = (Vec::new(), None, None);
    if let Some(w) = m.width {
        if eased && w + WIDTH_SLACK >= cutter {
            let inside = down((w - cutter).max(0.0) / 2.0);
            ways.push(format!("set --ease-inside {inside}"));
            margins = Some(inside);
        }
        let fits = down(w + WIDTH_SLACK - margin);
        if fits >= 1.0 {
            ways.push(format!("take a cutter of at most {fits} mm"));
            cutters = Some(fits);
        }
    }
    ways.push(format!("draw the part {needed} mm wide or more"));
    told(Code::Neck, severity, format!("{measure}; {outcome}"), &ways, of, m, needed)
        .way("cutter", cutters)
        .way("ease-inside", margins)
}

/// Whether closing made an island of template, or joined what lay apart.
pub(super) fn joins(before: &Region, after: &Region) -> bool {
    holes(after).count() > holes(before).count() || island_count(after) < island_count(before)
}

/// A gap between limbs in which no template is left. `joined`: what is filled makes an island of template, or joins what lay
/// apart.
pub(super) fn gap(of: &Subject, m: &Misfit, joined: bool) -> Finding {
    let (tools, o) = (of.tools, of.outside_radius());
    let bridges = joined && m.stretches != 1;
    let severity = if bridges || heavy(of, m) { Severity::Error } else { Severity::Warning };
    let needed = 2.0 * o;
    let measure = match m.width {
        Some(w) => format!(
            "a gap between two limbs is {w:.2} mm wide; for template to be left in it {needed:.2} mm are needed: \
             {:.2} mm short",
            needed - w
        ),
        None => format!("a gap is too narrow for template to be left in it: {needed:.2} mm are needed"),
    };
    let recess_keeps = m.width.is_some_and(|w| w + WIDTH_SLACK >= 2.0 * tools.recess_offset());
    let outcome = match (bridges, of.corners) {
        (true, _) => "it closes and leaves a loose island of template",
        (_, Corners::Keep) if recess_keeps => "the inlay loses it, the recess keeps it",
        _ => "both pieces lose it",
    };
    let outcome = format!("{outcome}, {:.2} mm off the drawing", m.depth);
    let (mut ways, mut bushes) = (Vec::new(), None);
    if let Some(w) = m.width {
        let margin = (o - tools.largest_offset()).max(0.0);
        let offset = (w + WIDTH_SLACK) / 2.0 - margin;
        let bush = down(2.0 * (offset + tools.gap) - tools.inlay.cutter);
        if bush > tools.inlay.cutter + 1.0 {
            bushes = (tools.recess_offset() <= offset).then_some(bush);
            let recess = down(2.0 * offset + tools.recess.cutter);
            let too = if tools.recess_offset() > offset {
                format!(" and a recess bush of at most {recess} mm (--bush)")
            } else {
                String::new()
            };
            ways.push(format!("take an inlay bush of at most {bush} mm (--inlay-bush){too}"));
        }
    }
    ways.push(format!("draw the gap {needed:.2} mm wide or more"));
    told(Code::ClosedGap, severity, format!("{measure}; {outcome}"), &ways, of, m, needed).way("inlay-bush", bushes)
}

fn told(
    code: Code,
    severity: Severity,
    message: String,
    ways: &[String],
    of: &Subject,
    m: &Misfit,
    needed: f64,
) -> Finding {
    let mut f = Finding::new(code, severity, message, ways.join(", or ")).at(m.at).on(of.number).covers(m.area);
    f.needed = Some(needed);
    match m.width {
        Some(w) => f.measures(w, needed).larger(w, needed, LARGEST_SCALE),
        None => f,
    }
}
