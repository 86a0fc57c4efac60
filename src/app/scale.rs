//! Sizes of the drawing at which something found would be gone: tried before they are told.
//!
//! In: findings with the scale that their own figures speak for. Out: the same; of errors and warnings, where the outline made so large, planned and
//! certified anew, no longer has the finding, its help says so, with the width to ask for; where it still has it, a little
//! more is tried; where that does not do either, or too much would have to be tried, nothing is proposed.

use super::{AppError, Job, steps};
use crate::budget::Budget;
use crate::check::{Code, Finding, Severity};
use crate::drawing::Drawing;
use crate::drawing::outline::Outline;
use crate::geom::{Affine, FillRule, GeomError, enclosed};
use crate::text::typed_up;
use crate::words;
use std::collections::BTreeMap;

/// So many sizes are tried for one outline's findings: each costs as much as a check.
const TRIED: usize = 2;
/// What a finding's own figures speak for, and a little more.
const LARGER: [f64; 2] = [1.0, 1.04];
/// Outlines of more edges than this are not tried: it would take as long as all the rest.
const MOST_EDGES: usize = 500;
/// A finding of the same kind within this of the place, times the scale, mm, is the same finding.
const SAME_PLACE: f64 = 6.0;

/// The outline, so many times as large.
///
/// # Errors
/// As [`enclosed`].
pub(super) fn scaled(o: &Outline, times: f64, budget: &Budget) -> Result<Outline, GeomError> {
    let rings = o.region.under_similarity(Affine::scale(times)).rings;
    Ok(Outline { region: enclosed(&rings, FillRule::EvenOdd, budget)?, ..o.clone() })
}

/// Whether it is small enough to be tried at other sizes.
pub(super) fn can_be_tried(outlines: &[Outline]) -> bool {
    outlines.iter().map(|o| o.region.segments().count()).sum::<usize>() <= MOST_EDGES
}

/// To the hundredth above.
pub(super) fn up(v: f64) -> f64 {
    (v * 100.0 - 1e-6).ceil() / 100.0
}

/// The setting that makes the drawing so many times as large.
pub(super) fn width(drawing: &Drawing, times: f64) -> Option<f64> {
    Some(up(drawing.bounds?.width() * times))
}

/// Tries what the findings propose, and leaves in them what holds.
///
/// # Errors
/// As the checks.
pub(super) fn tried(
    findings: &mut [Finding],
    outlines: &[Outline],
    drawing: &Drawing,
    job: &Job,
    budget: &Budget,
) -> Result<(), AppError> {
    let mut by_outline: BTreeMap<usize, Vec<&mut Finding>> = BTreeMap::new();
    for f in findings {
        if let Some(number) = f.outline {
            by_outline.entry(number).or_default().push(f);
        }
    }
    for o in outlines {
        let Some(mut ours) = by_outline.remove(&o.number) else { continue };
        if ours.iter().all(|f| f.scale.is_none()) {
            continue;
        }
        let own: Vec<Finding> = ours.iter().map(|f| (*f).clone()).collect();
        let mut trials: Vec<(f64, Vec<Finding>)> = Vec::new();
        // The worst first, and of those the ones that little would mend.
        ours.sort_by(|a, b| {
            let scale = |f: &Finding| f.scale.unwrap_or(f64::INFINITY);
            a.severity.cmp(&b.severity).then(scale(a).total_cmp(&scale(b)))
        });
        for f in ours {
            let Some(asked) = f.scale.take() else { continue };
            // For the sake of a note nobody draws anything larger.
            if f.severity == Severity::Note || !can_be_tried(std::slice::from_ref(o)) {
                continue;
            }
            for times in LARGER.map(|l| up(asked * l)) {
                let Some(found) = at_scale(o, times, &mut trials, job, budget)? else { break };
                let Some(width) = width(drawing, times) else { break };
                if gone(f, &own, found, times) {
                    f.scale = Some(times);
                    let times = times.to_string();
                    f.help.push(words!(" Or make the drawing {} times as large (--width {}).", times, typed_up(width)));
                    break;
                }
            }
        }
    }
    Ok(())
}

/// What is found on the outline at that size; none where too many were tried already.
fn at_scale<'a>(
    o: &Outline,
    times: f64,
    trials: &'a mut Vec<(f64, Vec<Finding>)>,
    job: &Job,
    budget: &Budget,
) -> Result<Option<&'a [Finding]>, AppError> {
    if !trials.iter().any(|t| t.0 == times) {
        if trials.len() >= TRIED {
            return Ok(None);
        }
        let found = match scaled(o, times, budget) {
            Ok(larger) => steps::plan(&[larger], job, budget)?.1,
            Err(e) => vec![steps::uncertified(e)?],
        };
        trials.push((times, found));
    }
    Ok(trials.iter().find(|t| t.0 == times).map(|t| t.1.as_slice()))
}

/// Neither is there one of the kind at the place, nor are there as many as before; and it could be certified.
fn gone(f: &Finding, before: &[Finding], found: &[Finding], times: f64) -> bool {
    let alike = |g: &&Finding| (g.code, g.severity) == (f.code, f.severity);
    let near = |g: &Finding| match (f.at, g.at) {
        (Some(a), Some(b)) => (b - (a.to_vec2() * times).to_point()).hypot() <= SAME_PLACE * times,
        _ => true,
    };
    let worse = found.iter().any(|g| g.code == Code::Uncertified || g.code == f.code && near(g));
    !worse && found.iter().filter(alike).count() < before.iter().filter(alike).count()
}
