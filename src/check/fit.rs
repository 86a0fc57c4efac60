//! The fit of the two pieces.
//!
//! In: the fits of the proof, the pieces of an outline, the tools, mm. Out: findings where the inlay is too large or the
//! gap too wide.

use super::{Code, Finding, Severity, Subject};
use crate::budget::Budget;
use crate::geom::inside::contains;
use crate::geom::{GeomError, Region};
use crate::kit::Tools;
use crate::proof::{Fit, Measured};
use crate::template::ease::{Corners, Proud, beyond};
use crate::text::{gap, tool};
use crate::tolerance::{BESIDE, FINDING_DEPTH, PROUD, SHORT_OF_GAP, WIDE_GAP, WIDTH_SLACK};
use crate::words;

/// Errors on horns: places where the inlay is too large because the recess's cutter does not reach. Only with eased
/// corners. In the other modes the findings on corners say what to chisel or pare.
///
/// # Errors
/// As the operations.
pub fn horns(of: &Subject, made: &Region, budget: &Budget) -> Result<Vec<Finding>, GeomError> {
    if !matches!(of.corners, Corners::Ease { .. }) {
        return Ok(Vec::new());
    }
    let found = beyond(made, &of.cut.recess, of.tools.recess.cutter_radius(), PROUD, budget)?;
    let say = |p: Proud| {
        let message = words!(
            "The inlay is {} larger than the recess: the {} cutter of the recess does not reach that far.",
            gap(p.depth),
            tool(of.tools.recess_called.cutter)
        );
        let help = "Close the narrow gap beside it in the drawing, or draw it wider. Or use a smaller inlay bush \
                    (--inlay-bush).";
        Finding::new(Code::Fit, Severity::Error, message, help).at(p.at).on(of.number).measures(0.0, p.depth)
    };
    Ok(found.into_iter().map(say).collect())
}

/// Remedy for an inlay that is too large.
const TOO_LARGE: &str = "Set a wider gap with --gap, or ease the drawing there.";
/// Remedy for a gap that is too wide.
const TOO_WIDE: &str = "Set a smaller gap with --gap, or draw that place rounder.";

/// Findings on the fits of the proof, and a note if they rest on nominal sizes. `found_before` are the findings so far.
/// With sharp corners the maker chisels or pares the misfit at them, and the findings on corners say so. A misfit
/// elsewhere gets a finding here, from the least depth of findings on corners.
#[must_use]
pub fn flush(fits: &[Fit], corners: Corners, measured: bool, set_gap: f64, found_before: &[Finding]) -> Vec<Finding> {
    let mut found = Vec::new();
    let eased = matches!(corners, Corners::Ease { .. });
    let slack = if eased { WIDTH_SLACK } else { FINDING_DEPTH };
    for f in fits {
        let own = |m: &&Measured| eased || !found_before.iter().any(|t| belongs(m, f.outline, set_gap, t));
        let by = |a: &&Measured, b: &&Measured| a.mm.total_cmp(&b.mm);
        if let Some(m) = f.binds.iter().filter(|m| m.mm < -slack).filter(own).min_by(by) {
            let message = words!("The inlay is {} too large and does not go in.", gap(-m.mm));
            let help = TOO_LARGE;
            let one = Finding::new(Code::Fit, Severity::Error, message, help);
            found.push(one.at(m.at).on(f.outline).measures(m.mm, 0.0));
        }
        if let Some(m) = f.gapes.iter().filter(|m| m.mm > WIDE_GAP + slack).filter(own).max_by(by) {
            let message = words!("The gap between recess and inlay is {}, and the glue line shows.", gap(m.mm));
            let help = TOO_WIDE;
            let one = Finding::new(Code::Fit, Severity::Warning, message, help).measuring(m.mm);
            found.push(one.at(m.at).on(f.outline));
        }
    }
    if !fits.is_empty() && !measured {
        found.push(Finding::new(
            Code::NotMeasured,
            Severity::Note,
            "The fit is calculated from the nominal sizes of bush and cutter.",
            "Make a trial in scrap first. With letin testpiece you can measure bush and cutter.",
        ));
    }
    found
}

/// True if a misfit of the two pieces lies in the region of a finding on a corner or a narrow part, or within the gap
/// and [`BESIDE`] of it.
fn belongs(m: &Measured, outline: usize, gap: f64, t: &Finding) -> bool {
    let narrow = [Code::InsideCorner, Code::OutsideCorner, Code::Neck, Code::ClosedGap].contains(&t.code);
    let beside = gap + BESIDE;
    let Some(region) = t.region.as_ref().filter(|_| narrow && t.outline == Some(outline)) else { return false };
    let near = region.bounds().is_some_and(|b| b.inflate(beside, beside).contains(m.at));
    near && (contains(region, m.at) || region.nearest(m.at).is_some_and(|n| n.0 <= beside))
}

/// A finding if one opening serves hole and plug, and the pairs leave the plug a smaller gap than `--plug-gap`. Plug
/// and shoulder must then both be set exactly.
#[must_use]
pub fn plug_gap(plug: usize, tools: &Tools, asked: f64) -> Option<Finding> {
    let short = asked - tools.gap;
    if !tools.one_opening || short <= SHORT_OF_GAP {
        return None;
    }
    let message = words!(
        "The matching pairs give the plug a gap of {} per side, and --plug-gap is {}. Plug and shoulder cannot both be \
         tight.",
        gap(tools.gap),
        gap(asked)
    );
    let help = words!(
        "Wind tape {} thick around the bush for the plug's kerf: it makes the plug that much smaller per side. Or \
         leave out --pair auto, which gives the plug an opening of its own.",
        gap(short)
    );
    let mut f = Finding::new(Code::Fit, Severity::Warning, message, help).on(plug);
    (f.measured, f.needed, f.short) = (Some(tools.gap), Some(asked), Some(short));
    Some(f)
}

/// The findings of [`flush`] for a shouldered piece. The plug's gap is wide on purpose, so only a gap wider than
/// that is reported for it.
#[must_use]
pub fn shouldered(
    all: &[Fit],
    corners: Corners,
    measured: bool,
    before: &[Finding],
    (plug, plug_gap): (usize, f64),
    shoulder_gap: f64,
) -> Vec<Finding> {
    let intended = |f: &Finding| {
        let wide = f.code == Code::Fit && f.severity == Severity::Warning && f.outline == Some(plug);
        wide && f.measured.is_some_and(|m| m <= plug_gap + WIDE_GAP)
    };
    let mut found = flush(all, corners, measured, plug_gap.max(shoulder_gap), before);
    found.retain(|f| !intended(f));
    for f in found.iter_mut().filter(|f| f.code == Code::Fit && f.outline == Some(plug)) {
        f.help = if f.severity == Severity::Error {
            "Set a wider gap with --plug-gap, or ease the drawing there.".into()
        } else {
            "Set a smaller gap with --plug-gap, or draw that place rounder.".into()
        };
    }
    found
}
