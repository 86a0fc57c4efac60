//! Tries larger sizes of the drawing and proposes those that remove a finding.
//!
//! In: findings with the scale that their own figures estimate. Out: the same findings. The scaled outline is planned
//! and certified anew. If an error or a warning is gone, its help names the scale and the width to set. If not, a
//! slightly larger scale is tried. If that fails too, or the outline has too many edges, nothing is proposed.

use super::super::{AppError, Job};
use super::work;
use crate::budget::Budget;
use crate::check::{Code, Finding, Severity};
use crate::drawing::Drawing;
use crate::drawing::outline::Outline;
use crate::geom::{Affine, FillRule, GeomError, enclosed};
use crate::text::typed_up;
use crate::units::Unit;
use crate::words;
use std::collections::BTreeMap;

/// Most sizes tried for the findings of one outline. Each costs as much as a check.
const TRIED: usize = 2;
/// Scales to try, as multiples of the estimate from the finding's figures.
const LARGER: [f64; 2] = [1.0, 1.04];
/// Outlines with more edges than this are not tried. It would take as long as the rest of the run.
const MOST_EDGES: usize = 500;
/// Findings of one kind are the same if their places differ by at most this times the scale, mm.
const SAME_FINDING: f64 = 6.0;

/// The outline scaled by `times`.
///
/// # Errors
/// As [`enclosed`].
pub(super) fn scaled(o: &Outline, times: f64, budget: &Budget) -> Result<Outline, GeomError> {
    let rings = o.region.under_similarity(Affine::scale(times)).rings;
    Ok(Outline { region: enclosed(&rings, FillRule::EvenOdd, budget)?, ..o.clone() })
}

/// True if the outlines have few enough edges to try other sizes.
pub(super) fn can_be_tried(outlines: &[Outline]) -> bool {
    outlines.iter().map(|o| o.region.segments().count()).sum::<usize>() <= MOST_EDGES
}

/// Rounded up to the hundredth.
pub(super) fn up(v: f64) -> f64 {
    (v * 100.0 - 1e-6).ceil() / 100.0
}

/// The value of `--width`, mm, that scales the drawing by `times`.
pub(super) fn width(drawing: &Drawing, times: f64) -> Option<f64> {
    Some(up(drawing.bounds?.width() * times))
}

/// Tries the scale of each finding. A scale that works stays and is added to the help, any other is removed.
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
        // The most serious first, and of those the smallest scale first.
        ours.sort_by(|a, b| {
            let scale = |f: &Finding| f.scale.unwrap_or(f64::INFINITY);
            a.severity.cmp(&b.severity).then(scale(a).total_cmp(&scale(b)))
        });
        for f in ours {
            let Some(asked) = f.scale.take() else { continue };
            // A note is no reason to enlarge the drawing.
            if f.severity == Severity::Note || !can_be_tried(std::slice::from_ref(o)) {
                continue;
            }
            for times in LARGER.map(|l| up(asked * l)) {
                let Some(found) = at_scale(o, times, &mut trials, job, budget)? else { break };
                let Some(width) = width(drawing, times) else { break };
                if gone(f, &own, found, times) {
                    f.scale = Some(times);
                    let times = times.to_string();
                    let width = typed_up(width);
                    // A width and a unit given together would contradict each other.
                    f.help.push(match job.read.unit.or(job.read.dpi.map(Unit::px_at)) {
                        None => words!(" Or make the drawing {} times as large (--width {}).", times, width),
                        Some(_) => words!(
                            " Or make the drawing {} times as large: set --width {} in place of the unit.",
                            times,
                            width
                        ),
                    });
                    break;
                }
            }
        }
    }
    Ok(())
}

/// Findings on the outline at this scale. `None` after [`TRIED`] sizes.
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
            Ok(larger) => work::worked(&[larger], job.tools.inlay, job, budget)?.1,
            Err(e) => vec![work::uncertified(e)?],
        };
        trials.push((times, found));
    }
    Ok(trials.iter().find(|t| t.0 == times).map(|t| t.1.as_slice()))
}

/// True if the finding is gone at the scale: no finding of its code lies at the place, there are fewer of its kind than
/// before, and the outline could be certified.
fn gone(f: &Finding, before: &[Finding], found: &[Finding], times: f64) -> bool {
    let alike = |g: &&Finding| (g.code, g.severity) == (f.code, f.severity);
    let near = |g: &Finding| match (f.at, g.at) {
        (Some(a), Some(b)) => (b - (a.to_vec2() * times).to_point()).hypot() <= SAME_FINDING * times,
        _ => true,
    };
    let worse = found.iter().any(|g| g.code == Code::Uncertified || g.code == f.code && near(g));
    !worse && found.iter().filter(alike).count() < before.iter().filter(alike).count()
}
