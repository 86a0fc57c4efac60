//! Parts of an outline narrower than the cutter, and gaps that close between its limbs.
//!
//! In: one outline, as drawn and as it will be made. Out: a finding for each region of `S \ open_r(S)` and of
//! `close_o(S) \ S` that is no single corner; with eased corners r and o are those of the easing, for that is what the
//! outline loses. Measured and needed, mm: the least width between opposite sides, and the width that the tools want.

use super::{Code, Finding, Severity, Subject, holes, island_count};
use crate::budget::Budget;
use crate::geom::misfit::{Misfit, filled, gained, lost, unreached};
use crate::geom::{Certified, GeomError, Region};
use crate::template::ease::Corners;
use crate::tolerance::{FINDING_DEPTH, WIDTH_SLACK};

/// A drawing is not proposed to be made larger than so many times for the sake of a narrow place.
const LARGEST_SCALE: f64 = 10.0;

/// What was found, with the regions themselves: corners in them are not told again.
pub struct Narrow {
    pub findings: Vec<Finding>,
    pub parts: Vec<Misfit>,
}

/// Necks: parts of the outline that the cutter does not pass.
///
/// # Errors
/// As the operations.
pub fn necks(of: &Subject, budget: &Budget) -> Result<Narrow, GeomError> {
    let cutter_radius = of.tools.recess.cutter_radius();
    let (r, parts, pieces) = if let Some(r) = of.corners.inside_radius(of.tools) {
        (r, lost(of.drawn, of.opened, r, FINDING_DEPTH, budget)?, island_count(of.opened))
    } else {
        let found = unreached(of.drawn, cutter_radius, FINDING_DEPTH, budget)?;
        (cutter_radius, found.parts, island_count(&found.made))
    };
    let parts: Vec<Misfit> = parts.into_iter().filter(|m| !m.is_corner()).collect();
    let apart = pieces != island_count(of.drawn);
    let say = |m: &Misfit| {
        let deep = m.depth > cutter_radius;
        let falls = apart && m.stretches != 1;
        let severity = if deep || falls { Severity::Error } else { Severity::Warning };
        neck(of, m, 2.0 * r, pieces, severity)
    };
    let findings = parts.iter().map(say).collect();
    Ok(Narrow { findings, parts })
}

fn neck(of: &Subject, m: &Misfit, needed: f64, pieces: usize, severity: Severity) -> Finding {
    let cutter = of.tools.recess.cutter;
    let margin = needed - cutter;
    let eased = margin > WIDTH_SLACK;
    let with = if eased { " with its margin" } else { "" };
    let wants = format!("the {cutter} mm cutter{with} needs {needed} mm");
    let measure = match m.width {
        Some(w) => format!("a part of the outline is {w:.2} mm wide; {wants}: {:.2} mm short", needed - w),
        None => format!("a part of the outline is too narrow: {wants}"),
    };
    let outcome = match (m.stretches, severity, pieces) {
        (0, ..) | (_, _, 0) => "nothing of it is reached",
        (1, ..) => "it is lost in both pieces",
        (_, Severity::Error, _) => "the outline falls apart there",
        _ => "it is lost there in both pieces",
    };
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

/// Gaps between limbs in which no template is left.
///
/// # Errors
/// As the operations.
pub fn gaps(of: &Subject, made: &Certified<Region>, budget: &Budget) -> Result<Narrow, GeomError> {
    let base = of.opened;
    let (o, parts, joined) = if let Some(o) = of.corners.jutting_radius(of.tools) {
        (o, gained(base, made, o, FINDING_DEPTH, budget)?, joins(base, made))
    } else {
        let o = of.tools.largest_offset();
        let found = filled(base, o, FINDING_DEPTH, budget)?;
        (o, found.parts, joins(base, &found.made))
    };
    let parts: Vec<Misfit> = parts.into_iter().filter(|m| !m.is_corner()).collect();
    let say = |m: &Misfit| {
        let bridges = joined && m.stretches != 1;
        gap(of, m, o, if bridges { Severity::Error } else { Severity::Warning })
    };
    let findings = parts.iter().map(say).collect();
    Ok(Narrow { findings, parts })
}

/// Whether closing made an island of template, or joined what lay apart.
pub(super) fn joins(before: &Region, after: &Region) -> bool {
    holes(after).count() > holes(before).count() || island_count(after) < island_count(before)
}

fn gap(of: &Subject, m: &Misfit, o: f64, severity: Severity) -> Finding {
    let tools = of.tools;
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
    let outcome = match (severity, of.corners) {
        (Severity::Error, _) => "it closes and leaves a loose island of template",
        (_, Corners::Keep) if recess_keeps => "the insert loses it, the recess keeps it",
        _ => "both pieces lose it",
    };
    let (mut ways, mut bushes) = (Vec::new(), None);
    if let Some(w) = m.width {
        let margin = (o - tools.largest_offset()).max(0.0);
        let offset = (w + WIDTH_SLACK) / 2.0 - margin;
        let bush = down(2.0 * (offset + tools.gap) - tools.insert.cutter);
        if bush > tools.insert.cutter + 1.0 {
            bushes = (tools.recess_offset() <= offset).then_some(bush);
            let recess = down(2.0 * offset + tools.recess.cutter);
            let too = if tools.recess_offset() > offset {
                format!(" and a recess bush of at most {recess} mm (--bush)")
            } else {
                String::new()
            };
            ways.push(format!("take an insert bush of at most {bush} mm (--insert-bush){too}"));
        }
    }
    ways.push(format!("draw the gap {needed:.2} mm wide or more"));
    told(Code::ClosedGap, severity, format!("{measure}; {outcome}"), &ways, of, m, needed).way("insert-bush", bushes)
}

/// To the hundredth below, but for what doubles are out by.
fn down(mm: f64) -> f64 {
    (mm * 100.0 + 1e-6).floor() / 100.0
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
