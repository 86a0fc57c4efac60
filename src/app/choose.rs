//! Which tools of the kit do best on this drawing: found by really running the checks with each set.
//!
//! In: the outlines, the job with its kit. Out: the matching pair to take (`--pair auto`), or what other tools would do
//! ([`Suggestion`]). Sets are weighed by their errors, then by their warnings; of sets that do as well, the first in order
//! counts, and the order puts large tools first, since they are the stronger ones. So many sets are tried and no more;
//! how many there are is told.

use super::steps::BOTH;
use super::{AppError, Job, scale, steps};
use crate::budget::Budget;
use crate::check::{Code, Finding, Severity, making, numbered};
use crate::drawing::Drawing;
use crate::drawing::outline::Outline;
use crate::kit::pairs::{Bounds, matching};
use crate::kit::{Kit, Pair, Passage, Tools, generic, passage};
use crate::report::facts::{Count, Larger, PairChoice, Suggestion, Trials};
use crate::template::Turn;
use crate::template::layout::PanelSettings;
use crate::tolerance::WIDE_GAP;

/// So many sets are tried on a drawing: each costs as much as a check.
const TRIED: usize = 24;
/// Scales that are tried, times what the findings' figures speak for.
const SCALES: [f64; 3] = [1.0, 1.04, 1.15];
/// No drawing is proposed to be made larger than this.
const LARGEST: f64 = 10.0;
/// So many matching pairs, which are ranked already.
const PAIRS_TRIED: usize = 8;

/// What the checks find with these tools.
fn tried(outlines: &[Outline], job: &Job, tools: Tools, budget: &Budget) -> Result<(Count, Vec<Finding>), AppError> {
    let job = Job { tools, ..job.clone() };
    let (pieces, mut findings) = steps::plan(outlines, &job, budget)?;
    let told = findings.iter().filter(|f| f.code == Code::ClosedGap && f.severity == Severity::Error);
    let told: Vec<usize> = told.filter_map(|f| f.outline).collect();
    match making::closed_gaps(&pieces, &BOTH, &told, &tools, budget) {
        Ok(gaps) => findings.extend(gaps),
        Err(e) => findings.push(steps::uncertified(e)?),
    }
    let findings = numbered(findings, &job.accept);
    Ok((count(&findings), findings))
}

pub(super) fn count(findings: &[Finding]) -> Count {
    let of = |s: Severity| findings.iter().filter(|f| f.severity == s && !f.accepted).count();
    Count { errors: of(Severity::Error), warnings: of(Severity::Warning) }
}

/// The job with the matching pair of its kit that does best on the outlines, and why it was taken.
///
/// # Errors
/// [`AppError::NoPair`] where no tools of the kit match; else as the checks.
pub(super) fn pair(job: &Job, outlines: &[Outline], budget: &Budget) -> Result<(Job, PairChoice), AppError> {
    let gap = job.tools.gap;
    let bounds = Bounds { least: 0.0, most: WIDE_GAP.max(gap), wanted: gap };
    let all = matching(&job.kit, bounds);
    let mut best: Option<(Count, Tools)> = None;
    for m in all.iter().take(PAIRS_TRIED) {
        budget.check()?;
        let Ok(tools) = Tools::matching(&job.kit, m) else { continue };
        let (count, _) = tried(outlines, job, tools, budget)?;
        if best.is_none_or(|(least, _)| count < least) {
            best = Some((count, tools));
        }
    }
    let (count, tools) = best.ok_or(AppError::NoPair { most: bounds.most })?;
    let choice = PairChoice { count, tried: all.len().min(PAIRS_TRIED), all: all.len(), wanted: gap };
    // One opening stands on one face: nothing is turned over.
    let panel = PanelSettings { turn: Turn::None, ..job.panel };
    Ok((Job { tools, panel, ..job.clone() }, choice))
}

/// What other tools of the kit would do where something was found, and what could be bought.
///
/// # Errors
/// As the checks.
pub(super) fn suggestion(
    job: &Job,
    outlines: &[Outline],
    drawing: &Drawing,
    budget: &Budget,
) -> Result<Option<Suggestion>, AppError> {
    let (now, findings) = tried(outlines, job, job.tools, budget)?;
    if now == Count::default() {
        return Ok(None);
    }
    let own = sets(&job.kit, job);
    let of_kit = best(&own, now, outlines, job, budget)?;
    let mut buy = None;
    if of_kit.best.is_none_or(|(c, _)| c != Count::default()) && !job.kit.generic {
        let shop = if job.kit.inches { generic::inch() } else { generic::metric() }.unwrap_or_default();
        let least = of_kit.best.map_or(now, |(c, _)| c);
        buy = Some(best(&sets(&shop, job), least, outlines, job, budget)?);
    }
    let scale = larger(&findings, outlines, drawing, job, budget)?;
    Ok(Some(Suggestion { now, of_kit, scale, buy }))
}

/// The first of the best of `sets`, if it is better than `than`; and how many were tried: no more than [`TRIED`].
fn best(sets: &[Tools], than: Count, outlines: &[Outline], job: &Job, budget: &Budget) -> Result<Trials, AppError> {
    let (mut best, mut trials): (Option<(Count, Tools)>, usize) = (None, 0);
    // Evenly from all of them, so that small tools come in too.
    let step = sets.len().div_ceil(TRIED).max(1);
    for tools in sets.iter().step_by(step) {
        budget.check()?;
        trials += 1;
        let (count, _) = tried(outlines, job, *tools, budget)?;
        if count < best.map_or(than, |(c, _)| c) {
            best = Some((count, *tools));
            if count == Count::default() {
                break;
            }
        }
    }
    Ok(Trials { best, tried: trials, all: sets.len() })
}

/// Every bush with every cutter that comes through it, for both pieces, none larger than those of the job: larger ones
/// reach nowhere that these do not. The largest first.
fn sets(kit: &Kit, job: &Job) -> Vec<Tools> {
    let (bush, cutter) = (job.tools.insert.bush.max(job.tools.recess.bush), job.tools.recess.cutter);
    let mut all = Vec::new();
    for c in kit.cutters.iter().rev().filter(|c| c.true_size() <= cutter) {
        for b in kit.bushes.iter().rev().filter(|b| b.true_size() <= bush && passage(b, c) != Passage::No) {
            let pair = Pair { bush: b.outside, cutter: c.diameter };
            all.extend(Tools::of_kit(kit, pair, pair, job.tools.gap).ok());
        }
    }
    let now = (job.tools.recess_called, job.tools.insert_called);
    all.retain(|t| (t.recess_called, t.insert_called) != now);
    all
}

/// How much larger the drawing would have to be for nothing to stand against it: what the findings' own figures speak for,
/// and then a little more, each tried. None where sharp corners are among the findings, which no scale mends, where none of
/// the sizes does, or where there is too much to try.
fn larger(
    findings: &[Finding],
    outlines: &[Outline],
    drawing: &Drawing,
    job: &Job,
    budget: &Budget,
) -> Result<Option<Larger>, AppError> {
    let Some(asked) = asked(findings).filter(|_| scale::can_be_tried(outlines)) else { return Ok(None) };
    for times in SCALES.map(|more| scale::up(asked * more)) {
        let all = outlines.iter().map(|o| scale::scaled(o, times, budget)).collect::<Result<Vec<_>, _>>();
        let all = match all {
            Ok(all) => all,
            Err(e) => {
                // What cannot be certified at this size is not proposed.
                steps::uncertified(e)?;
                continue;
            }
        };
        if tried(&all, job, job.tools, budget)?.0 == Count::default() {
            return Ok(scale::width(drawing, times).map(|width| Larger { times, width }));
        }
    }
    Ok(None)
}

/// What the figures of the findings speak for.
fn asked(findings: &[Finding]) -> Option<f64> {
    let mut most: f64 = 1.0;
    for f in findings.iter().filter(|f| f.severity != Severity::Note) {
        let (Some(measured), Some(needed)) = (f.measured, f.needed) else { return None };
        if measured < 0.01 {
            return None;
        }
        most = most.max(needed / measured);
    }
    (most > 1.0 && most <= LARGEST).then_some(most)
}
