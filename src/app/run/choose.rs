//! Finds the tools of the kit that do best on this drawing, by running the checks with each set.
//!
//! In: the outlines, the job with its kit. Out: the matching pair to use (`--pair auto`), or what other tools would do
//! ([`Suggestion`]). Sets are ranked by their errors, then by lost necks and gaps, then by their warnings. Of equal
//! sets the first counts. Large tools come first, because they are stiffer. The number of trials is limited and
//! reported. Findings on the tools themselves count as in the run.

use super::super::{AppError, Job};
use super::{scale, tools, work};
use crate::budget::Budget;
use crate::check::{Code, Finding, Severity, numbered};
use crate::drawing::Drawing;
use crate::drawing::outline::Outline;
use crate::job::asides::{Count, Lacks, Larger, PairChoice, Suggestion, Trials};
use crate::kit::pairs::{Bounds, matching, to_buy};
use crate::kit::{Kit, Pair, Passage, Tools, generic, passage};
use crate::tolerance::WIDE_GAP;

/// Most sets tried on a drawing. Each costs as much as a check.
const TRIED: usize = 24;
/// Most of these sets that change only the inlay's bush.
const OTHER_INLAY: usize = 8;
/// Scales to try, as multiples of the estimate from the findings' figures.
const SCALES: [f64; 3] = [1.0, 1.04, 1.15];
/// Largest scale that is proposed.
const LARGEST: f64 = 10.0;
/// Most matching pairs tried. They are ranked already.
const PAIRS_TRIED: usize = 8;

/// Counts and findings of the checks with these tools. `group`: the place of the outlines in their part.
fn tried(
    outlines: &[Outline],
    group: usize,
    job: &Job,
    tools: Tools,
    budget: &Budget,
) -> Result<(Count, Vec<Finding>), AppError> {
    let job = Job { tools, ..job.clone() };
    let (worked, mut findings) = work::worked(outlines, tools.inlay, &job, budget)?;
    findings.extend(work::closed_gaps(&worked.pieces, &findings, &job, budget)?);
    findings.extend(tools::findings(&[(group, tools)], &job));
    let findings = numbered(findings, &job.accept);
    Ok((count(&findings), findings))
}

pub(super) fn count<'a>(findings: impl IntoIterator<Item = &'a Finding>) -> Count {
    let findings: Vec<&Finding> = findings.into_iter().collect();
    let of = |s: Severity| findings.iter().filter(|f| f.severity == s && !f.accepted).count();
    let lost =
        |f: &&&Finding| matches!(f.code, Code::Neck | Code::ClosedGap) && f.severity != Severity::Note && !f.accepted;
    let lost = findings.iter().filter(lost).count();
    Count { errors: of(Severity::Error), lost, warnings: of(Severity::Warning) }
}

/// The error for a kit without a matching pair. It says whether one more tool would help.
fn no_pair(kit: &Kit, bounds: Bounds) -> AppError {
    AppError::NoPair { most: bounds.most, buy: to_buy(kit, &general_kit(kit), bounds).is_some() }
}

/// The general kit in the units of the maker's kit.
fn general_kit(kit: &Kit) -> Kit {
    if kit.inches { generic::inch() } else { generic::metric() }.unwrap_or_default()
}

/// The matching pair of the kit that does best on the outlines, and the reason for the choice.
///
/// # Errors
/// [`AppError::NoPair`] where no tools of the kit match; else as the checks.
pub(super) fn pair(
    outlines: &[Outline],
    group: usize,
    job: &Job,
    budget: &Budget,
) -> Result<(Tools, PairChoice), AppError> {
    let gap = job.tools.gap;
    let bounds = Bounds { least: 0.0, most: WIDE_GAP.max(gap), wanted: gap };
    let all = matching(&job.kit, bounds);
    let mut best: Option<(Count, Tools)> = None;
    for m in all.iter().take(PAIRS_TRIED) {
        budget.check()?;
        let Ok(tools) = Tools::matching(&job.kit, m) else { continue };
        let (count, _) = tried(outlines, group, job, tools, budget)?;
        if best.is_none_or(|(least, _)| count < least) {
            best = Some((count, tools));
        }
    }
    let (count, tools) = best.ok_or_else(|| no_pair(&job.kit, bounds))?;
    Ok((tools, PairChoice { count, tried: all.len().min(PAIRS_TRIED), all: all.len(), wanted: gap }))
}

/// Better tools from the kit, better tools to buy, and a better scale, if the job has findings.
///
/// # Errors
/// As the checks.
pub(super) fn suggestion(
    outlines: &[Outline],
    drawing: &Drawing,
    job: &Job,
    budget: &Budget,
) -> Result<Option<Suggestion>, AppError> {
    let (now, findings) = tried(outlines, 0, job, job.tools, budget)?;
    if now == Count::default() {
        return Ok(None);
    }
    // A finding on a tool itself may need a larger tool.
    let larger_too = tools::findings(&[(0, job.tools)], job).iter().any(|f| f.severity != Severity::Note);
    let of_kit = best(sets(&job.kit, job, larger_too), now, outlines, job, budget)?;
    let (mut buy, mut lacks) = (None, Lacks::default());
    if of_kit.best.is_none_or(|(c, _)| c != Count::default()) && !job.kit.generic {
        let least = of_kit.best.map_or(now, |(c, _)| c);
        let (apart, mut both) = sets(&with_general_kit(&job.kit), job, larger_too);
        let lacking = |t: &Tools| lacks_of(&job.kit, t);
        let apart = apart.into_iter().filter(|t| lacking(t).many() > 0).collect();
        both.retain(|t| lacking(t).many() > 0);
        // One tool to buy is better than two.
        both.sort_by_key(|t| lacking(t).many());
        let trials = best((apart, both), least, outlines, job, budget)?;
        lacks = trials.best.map(|(_, t)| lacking(&t)).unwrap_or_default();
        buy = Some(trials);
    }
    let scale = larger(&findings, outlines, drawing, job, budget)?;
    Ok(Some(Suggestion { now, of_kit, larger_too, scale, buy, lacks }))
}

/// The kit and the tools of the general kit. The maker's own tools keep their measured sizes.
fn with_general_kit(kit: &Kit) -> Kit {
    let (mut all, shop) = (kit.clone(), general_kit(kit));
    all.bushes.extend(shop.bushes.into_iter().filter(|b| kit.bush(b.outside).is_none()));
    all.cutters.extend(shop.cutters.into_iter().filter(|c| kit.cutter(c.diameter).is_none()));
    all.bushes.sort_by(|a, b| a.outside.total_cmp(&b.outside));
    all.cutters.sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
    all
}

/// Tools of the set that the kit lacks.
fn lacks_of(kit: &Kit, tools: &Tools) -> Lacks {
    let pairs = [tools.recess_called, tools.inlay_called];
    Lacks {
        bush: pairs.iter().map(|p| p.bush).find(|b| kit.bush(*b).is_none()),
        cutter: pairs.iter().map(|p| p.cutter).find(|c| kit.cutter(*c).is_none()),
    }
}

/// At most `most` sets, spread evenly over all, which includes small tools.
fn thinned(all: &[Tools], most: usize) -> Vec<Tools> {
    all.iter().step_by(all.len().div_ceil(most.max(1)).max(1)).copied().collect()
}

/// The first of the best sets, if it is better than `than`, and the number of trials, at most [`TRIED`].
fn best(
    (apart, both): (Vec<Tools>, Vec<Tools>),
    than: Count,
    outlines: &[Outline],
    job: &Job,
    budget: &Budget,
) -> Result<Trials, AppError> {
    let (mut best, mut trials): (Option<(Count, Tools)>, usize) = (None, 0);
    let all = apart.len() + both.len();
    let mut sets = thinned(&apart, OTHER_INLAY);
    sets.extend(thinned(&both, TRIED - sets.len()));
    for tools in sets {
        budget.check()?;
        trials += 1;
        let (count, _) = tried(outlines, 0, job, tools, budget)?;
        if count < best.map_or(than, |(c, _)| c) {
            best = Some((count, tools));
            if count == Count::default() {
                break;
            }
        }
    }
    Ok(Trials { best, tried: trials, all })
}

/// The sets to try, largest first. The first list has the job's tools with another bush for the inlay. The second has
/// every bush with every cutter that passes through it, for both pieces. Unless `larger_too`, no tool is larger than
/// those of the job, because a larger one reaches fewer places.
fn sets(kit: &Kit, job: &Job, larger_too: bool) -> (Vec<Tools>, Vec<Tools>) {
    let (bush, cutter) = (job.tools.inlay.bush.max(job.tools.recess.bush), job.tools.recess.cutter);
    let (recess, inlay) = (job.tools.recess_called, job.tools.inlay_called);
    let fits = |size: f64, most: f64| larger_too || size <= most;
    let (mut apart, mut both) = (Vec::new(), Vec::new());
    for c in kit.cutters.iter().rev() {
        for b in kit.bushes.iter().rev().filter(|b| passage(b, c) != Passage::No) {
            let pair = Pair { bush: b.outside, cutter: c.diameter };
            if fits(c.true_size(), cutter) && fits(b.true_size(), bush) {
                both.extend(Tools::of_kit(kit, pair, pair, job.tools.gap).ok());
            }
            if pair.cutter == inlay.cutter && b.true_size() < job.tools.inlay.bush && pair != recess {
                apart.extend(Tools::of_kit(kit, recess, pair, job.tools.gap).ok());
            }
        }
    }
    both.retain(|t| (t.recess_called, t.inlay_called) != (recess, inlay));
    (apart, both)
}

/// The scale at which the drawing has no findings. It tries the estimate from the findings' figures, then a little
/// more. `None` if the findings include sharp corners, which no scale mends. `None` too if no size works or the drawing
/// is too large to try.
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
                // A size that cannot be certified is not proposed.
                work::uncertified(e)?;
                continue;
            }
        };
        if tried(&all, 0, job, job.tools, budget)?.0 == Count::default() {
            return Ok(scale::width(drawing, times).map(|width| Larger { times, width }));
        }
    }
    Ok(None)
}

/// The scale that the figures of the findings ask for.
fn asked(findings: &[Finding]) -> Option<f64> {
    let mut most: f64 = 1.0;
    for f in findings.iter().filter(|f| f.severity != Severity::Note) {
        // Scaling the drawing does not mend a tool.
        if [Code::BushBore, Code::BushDepth, Code::CutterReach, Code::PassDepth].contains(&f.code) {
            return None;
        }
        let (Some(measured), Some(needed)) = (f.measured, f.needed) else { return None };
        if measured < 0.01 {
            return None;
        }
        most = most.max(needed / measured);
    }
    (most > 1.0 && most <= LARGEST).then_some(most)
}
