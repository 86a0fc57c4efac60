//! Which tools of the kit do best on this drawing: found by really running the checks with each set.
//!
//! In: the outlines, the job with its kit. Out: the matching pair to take (`--pair auto`), or what other tools would do
//! ([`Suggestion`]). Sets are weighed by their errors, then by the necks and gaps that are lost, then by their warnings; of sets that do as well, the first in order
//! counts, and the order puts large tools first, since they are the stronger ones. So many sets are tried and no more;
//! how many there are is told. What is found of the tools themselves counts as in the run.

use super::steps::BOTH;
use super::{AppError, Job, scale, steps};
use crate::budget::Budget;
use crate::check::depth::{self, Cut};
use crate::check::{Code, Finding, Severity, bore, making, numbered};
use crate::drawing::Drawing;
use crate::drawing::outline::Outline;
use crate::kit::pairs::{Bounds, matching, to_buy};
use crate::kit::{Kit, Pair, Passage, Tools, generic, passage};
use crate::report::facts::{Count, Lacks, Larger, PairChoice, Suggestion, Trials};
use crate::template::Turn;
use crate::template::layout::PanelSettings;
use crate::tolerance::WIDE_GAP;

/// So many sets are tried on a drawing: each costs as much as a check.
const TRIED: usize = 24;
/// Of these so many at most change the inlay's bush only.
const APART: usize = 8;
/// Scales that are tried, times what the findings' figures speak for.
const SCALES: [f64; 3] = [1.0, 1.04, 1.15];
/// No drawing is proposed to be made larger than this.
const LARGEST: f64 = 10.0;
/// So many matching pairs, which are ranked already.
const PAIRS_TRIED: usize = 8;

/// What a job cuts with these tools, and how deep.
pub(super) type Cuts<'a> = &'a dyn Fn(&Tools) -> Vec<Cut>;

/// What is found of the tools themselves, on whatever drawing.
pub(super) fn of_tools(job: &Job, tools: &Tools, cuts: &[Cut]) -> Vec<Finding> {
    let mut found = bore::bores(&job.kit, tools);
    found.extend(depth::bushes(&job.kit, tools, job.router));
    found.extend(depth::reaches(&job.kit, cuts, job.router));
    found.extend(depth::pass(&[tools], job.router));
    found
}

/// What the checks find with these tools.
fn tried(
    outlines: &[Outline],
    job: &Job,
    tools: Tools,
    cuts: Cuts,
    budget: &Budget,
) -> Result<(Count, Vec<Finding>), AppError> {
    let job = Job { tools, ..job.clone() };
    let (pieces, mut findings) = steps::plan(outlines, &job, budget)?;
    let told = findings.iter().filter(|f| f.code == Code::ClosedGap && f.severity == Severity::Error);
    let told: Vec<usize> = told.filter_map(|f| f.outline).collect();
    match making::closed_gaps(&pieces, &BOTH, &told, &tools, budget) {
        Ok(gaps) => findings.extend(gaps),
        Err(e) => findings.push(steps::uncertified(e)?),
    }
    findings.extend(of_tools(&job, &tools, &cuts(&tools)));
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

/// No pair of the kit matches: and whether any one tool would help.
pub(super) fn no_pair(kit: &Kit, bounds: Bounds) -> AppError {
    AppError::NoPair { most: bounds.most, buy: to_buy(kit, &shop(kit), bounds).is_some() }
}

/// The general kit in the units of the maker's own.
fn shop(kit: &Kit) -> Kit {
    if kit.inches { generic::inch() } else { generic::metric() }.unwrap_or_default()
}

/// The job with the matching pair of its kit that does best on the outlines, and why it was taken.
///
/// # Errors
/// [`AppError::NoPair`] where no tools of the kit match; else as the checks.
pub(super) fn pair(
    job: &Job,
    outlines: &[Outline],
    cuts: Cuts,
    budget: &Budget,
) -> Result<(Job, PairChoice), AppError> {
    let gap = job.tools.gap;
    let bounds = Bounds { least: 0.0, most: WIDE_GAP.max(gap), wanted: gap };
    let all = matching(&job.kit, bounds);
    let mut best: Option<(Count, Tools)> = None;
    for m in all.iter().take(PAIRS_TRIED) {
        budget.check()?;
        let Ok(tools) = Tools::matching(&job.kit, m) else { continue };
        let (count, _) = tried(outlines, job, tools, cuts, budget)?;
        if best.is_none_or(|(least, _)| count < least) {
            best = Some((count, tools));
        }
    }
    let (count, tools) = best.ok_or_else(|| no_pair(&job.kit, bounds))?;
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
    cuts: Cuts,
    budget: &Budget,
) -> Result<Option<Suggestion>, AppError> {
    let (now, findings) = tried(outlines, job, job.tools, cuts, budget)?;
    if now == Count::default() {
        return Ok(None);
    }
    // Where something stands against a tool itself, a larger one may be what mends it.
    let larger_too = of_tools(job, &job.tools, &cuts(&job.tools)).iter().any(|f| f.severity != Severity::Note);
    let of_kit = best(sets(&job.kit, job, larger_too), now, outlines, job, cuts, budget)?;
    let (mut buy, mut lacks) = (None, Lacks::default());
    if of_kit.best.is_none_or(|(c, _)| c != Count::default()) && !job.kit.generic {
        let least = of_kit.best.map_or(now, |(c, _)| c);
        let (apart, mut both) = sets(&with_shop(&job.kit), job, larger_too);
        let lacking = |t: &Tools| lacks_of(&job.kit, t);
        let apart = apart.into_iter().filter(|t| lacking(t).many() > 0).collect();
        both.retain(|t| lacking(t).many() > 0);
        // Rather one tool to buy than two.
        both.sort_by_key(|t| lacking(t).many());
        let trials = best((apart, both), least, outlines, job, cuts, budget)?;
        lacks = trials.best.map(|(_, t)| lacking(&t)).unwrap_or_default();
        buy = Some(trials);
    }
    let scale = larger(&findings, outlines, drawing, job, cuts, budget)?;
    Ok(Some(Suggestion { now, of_kit, larger_too, scale, buy, lacks }))
}

/// The kit with what a shop has besides; what the maker owns stays as it was measured.
fn with_shop(kit: &Kit) -> Kit {
    let (mut all, shop) = (kit.clone(), shop(kit));
    all.bushes.extend(shop.bushes.into_iter().filter(|b| kit.bush(b.outside).is_none()));
    all.cutters.extend(shop.cutters.into_iter().filter(|c| kit.cutter(c.diameter).is_none()));
    all.bushes.sort_by(|a, b| a.outside.total_cmp(&b.outside));
    all.cutters.sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
    all
}

/// What the kit lacks of these tools.
fn lacks_of(kit: &Kit, tools: &Tools) -> Lacks {
    let pairs = [tools.recess_called, tools.inlay_called];
    Lacks {
        bush: pairs.iter().map(|p| p.bush).find(|b| kit.bush(*b).is_none()),
        cutter: pairs.iter().map(|p| p.cutter).find(|c| kit.cutter(*c).is_none()),
    }
}

/// Evenly from all of them, so that small tools come in too: no more than `most`.
fn thinned(all: &[Tools], most: usize) -> Vec<Tools> {
    all.iter().step_by(all.len().div_ceil(most.max(1)).max(1)).copied().collect()
}

/// The first of the best of `sets`, if it is better than `than`; and how many were tried: no more than [`TRIED`].
fn best(
    (apart, both): (Vec<Tools>, Vec<Tools>),
    than: Count,
    outlines: &[Outline],
    job: &Job,
    cuts: Cuts,
    budget: &Budget,
) -> Result<Trials, AppError> {
    let (mut best, mut trials): (Option<(Count, Tools)>, usize) = (None, 0);
    let all = apart.len() + both.len();
    let mut sets = thinned(&apart, APART);
    sets.extend(thinned(&both, TRIED - sets.len()));
    for tools in sets {
        budget.check()?;
        trials += 1;
        let (count, _) = tried(outlines, job, tools, cuts, budget)?;
        if count < best.map_or(than, |(c, _)| c) {
            best = Some((count, tools));
            if count == Count::default() {
                break;
            }
        }
    }
    Ok(Trials { best, tried: trials, all })
}

/// The job's tools with another bush for the inlay only; and every bush with every cutter that comes through it, for both
/// pieces. Unless `larger_too`, none larger than those of the job: larger ones reach nowhere that these do not. The largest
/// first.
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

/// How much larger the drawing would have to be for nothing to stand against it: what the findings' own figures speak for,
/// and then a little more, each tried. None where sharp corners are among the findings, which no scale mends, where none of
/// the sizes does, or where there is too much to try.
fn larger(
    findings: &[Finding],
    outlines: &[Outline],
    drawing: &Drawing,
    job: &Job,
    cuts: Cuts,
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
        if tried(&all, job, job.tools, cuts, budget)?.0 == Count::default() {
            return Ok(scale::width(drawing, times).map(|width| Larger { times, width }));
        }
    }
    Ok(None)
}

/// What the figures of the findings speak for.
fn asked(findings: &[Finding]) -> Option<f64> {
    let mut most: f64 = 1.0;
    for f in findings.iter().filter(|f| f.severity != Severity::Note) {
        // No size of the drawing mends a tool.
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
