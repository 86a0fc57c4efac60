//! Jobs that start from a part, a template or a recess in hand, instead of a drawing of the inlay.
//!
//! In: the drawing of what is in hand. Out: the facts of the run with every remaining step and its sizes, and the data
//! of the files for the openings to cut, if any. This module accesses no files.

use super::files::{Machine, machine};
use super::{AppError, Job, riding, steps};
use crate::budget::Budget;
use crate::check::{Finding, bore, depth, making, numbered, panel, start as checks};
use crate::drawing::Drawing;
use crate::drawing::outline::Outline;
use crate::geom::Region;
use crate::kit::pairs::{Bounds, matching};
use crate::kit::{Pair, Tools};
use crate::proof::{Fit, InHand};
use crate::report::facts::{Asides, Bench, Facts, PairChoice, Stage, StageKind, StartFacts};
use crate::template::ease::Corners;
use crate::template::layout::PanelSettings;
use crate::template::openings::{Piece, Template, template_of};
use crate::template::start::{Begun, Start, begin};
use crate::template::{Duty, Turn, work};
use crate::tolerance::WIDE_GAP;

/// Most matching pairs tried. They are ranked already.
const PAIRS_TRIED: usize = 8;

/// The facts of a job that starts from something in hand, and its files for the machine.
///
/// # Errors
/// As all steps.
pub(super) fn worked_out(
    drawing: Drawing,
    start: Start,
    job: &Job,
    budget: &Budget,
) -> Result<(Facts, Vec<Machine>), AppError> {
    budget.enter("finding its outlines");
    let (drawing, outlines) = steps::join(drawing, job, budget)?;
    budget.enter("checking every corner");
    let panel = PanelSettings { turn: Turn::None, ..job.panel };
    let job = &Job { corners: Corners::Keep, panel, ..job.clone() };
    let (tools, pair) = tools(start, &outlines.outlines, job, budget)?;
    let round =
        if pair.is_some() { (tools.inlay, tools.inlay_called) } else { (job.tools.inlay, job.tools.inlay_called) };
    let nominal_gap = if pair.is_some() { tools.gap } else { job.tools.gap_of_one_opening() };
    let wanted = job.tools.gap;
    let job = &Job { tools, ..job.clone() };
    let cut = start.cut(&tools);
    let served = [cut.unwrap_or(Duty::Recess)];

    let (begun, mut findings) = begun(start, &outlines.outlines, round.0, job, budget)?;
    let pieces: Vec<Piece> = begun.iter().map(|b| b.piece.clone()).collect();
    findings.extend(steps::check(&drawing, &outlines, (&pieces, &served), &findings, job, budget)?);
    findings.extend(of_tools(start, &tools, job));
    let mut findings = numbered(findings, &job.accept);

    budget.enter("placing the openings");
    let blocked = findings.iter().any(Finding::blocks);
    let template = match cut {
        Some(duty) if !blocked => template_of(&pieces, &[&[duty]], &tools, &job.panel, None, budget)?,
        _ => Template::default(),
    };
    findings.extend(panel::panels(&template, &job.panel));
    let files = machine(&template, None, job)?;
    budget.enter("proving what will be written");
    let in_hand = InHand { start, recess: tools.recess, inlay: tools.inlay, one_opening: tools.one_opening };
    let fits = if blocked {
        Vec::new()
    } else {
        steps::prove(&pieces, &template, &files, Some(in_hand), job, crate::proof::prove, budget)?
    };
    let order = work::flush(&template.openings, &tools, &job.depths);
    let riding = riding::look(&template, &order, &|_| None, job, budget)?;
    findings.extend(riding.findings);
    let of_fit = making::fits(&fits, job.corners, tools.measured, tools.gap, &findings);
    findings.extend(of_fit);
    findings.extend(steps::account_in_hand(&pieces, &fits, &findings, job));

    let start_facts = StartFacts {
        start,
        round: round.1,
        match_gap: nominal_gap,
        wanted,
        cut,
        stages: begun.iter().flat_map(|b| stages(start, b, round, &fits, job)).collect(),
    };
    let facts = Facts {
        path: job.drawing.to_string_lossy().into_owned(),
        assumed: job.assumed.clone(),
        show: job.shown(&drawing),
        part: None,
        drawing,
        mirrored: job.mirror,
        outlines: outlines.outlines,
        cut: begun.iter().map(|b| b.piece.cut.clone()).collect(),
        made: begun.into_iter().map(|b| (b.piece.outline, b.piece.made)).collect(),
        tools,
        corners: job.corners,
        figures: job.figures,
        template,
        bench: Bench {
            steps: order,
            margins: riding.margins,
            base: job.panel.base,
            router: job.router,
            loose: riding.loose,
            not_checked: depth::unknown(&job.kit, &[&tools], &job.depths, job.router, None),
        },
        keep_clear: riding.swept,
        fits,
        findings: numbered(findings, &job.accept),
        files: Vec::new(),
        flatten: job.flatten,
        writing: None,
        origin: None,
        then: Vec::new(),
        asides: Asides { pair, season: job.season.clone(), start: Some(start_facts), ..Asides::default() },
    };
    Ok((facts, files))
}

/// The tools of the job: two pairs that match, or the one pair that is needed.
fn tools(
    start: Start,
    outlines: &[Outline],
    job: &Job,
    budget: &Budget,
) -> Result<(Tools, Option<PairChoice>), AppError> {
    let most = WIDE_GAP.max(job.tools.gap);
    if start == Start::Recess {
        return Ok((job.tools.only(&job.kit, false), None));
    }
    if job.auto_pair {
        return chosen(start, outlines, most, job, budget).map(|(tools, why)| (tools, Some(why)));
    }
    Ok((
        match job.tools.matched(most) {
            Some(matched) => matched,
            // The part exists, so only the recess is routed.
            None if start == Start::Part => job.tools.only(&job.kit, true),
            None => job.tools,
        },
        None,
    ))
}

/// Findings on the tools themselves.
fn of_tools(start: Start, tools: &Tools, job: &Job) -> Vec<Finding> {
    let mut found = bore::bores(&job.kit, tools);
    // The bush that goes around a part may project as far as the part is thick. That thickness is not known.
    let over_template = if start == Start::Part { tools.only(&job.kit, true) } else { *tools };
    found.extend(depth::bushes(&job.kit, &over_template, job.router));
    found
}

/// The matching pair of the kit with the fewest findings.
fn chosen(
    start: Start,
    outlines: &[Outline],
    most: f64,
    job: &Job,
    budget: &Budget,
) -> Result<(Tools, PairChoice), AppError> {
    let wanted = job.tools.gap;
    let bounds = Bounds { least: 0.0, most, wanted };
    let all = matching(&job.kit, bounds);
    let mut best: Option<(_, Tools)> = None;
    for m in all.iter().take(PAIRS_TRIED) {
        budget.check()?;
        let Ok(tools) = Tools::matching(&job.kit, m) else { continue };
        let with = Job { tools, ..job.clone() };
        let (_, mut findings) = begun(start, outlines, tools.inlay, &with, budget)?;
        findings.extend(of_tools(start, &tools, job));
        let count = super::choose::count(&numbered(findings, &job.accept));
        if best.is_none_or(|(least, _)| count < least) {
            best = Some((count, tools));
        }
    }
    let (count, tools) = best.ok_or_else(|| super::choose::no_pair(&job.kit, bounds))?;
    Ok((tools, PairChoice { count, tried: all.len().min(PAIRS_TRIED), all: all.len(), wanted }))
}

/// Each outline begun, and its findings. An outline of which nothing is left has only findings.
fn begun(
    start: Start,
    outlines: &[Outline],
    round: Pair,
    job: &Job,
    budget: &Budget,
) -> Result<(Vec<Begun>, Vec<Finding>), AppError> {
    let (mut all, mut findings) = (Vec::new(), Vec::new());
    for o in outlines {
        let one = begin(start, o.number, &o.region, &job.tools, round, budget).and_then(|b| {
            let found = checks::misfits(start, &b, &job.tools, job.figures.template_cutter.mm, job.within, budget)?;
            Ok((flattened(b, job, budget)?, found))
        });
        match one {
            Ok((b, found)) => {
                findings.extend(found);
                all.extend((!b.piece.made.is_empty()).then_some(b));
            }
            Err(e) => findings.push(steps::uncertified(e)?.on(o.number)),
        }
    }
    Ok((all, findings))
}

/// With chords for arcs in the openings to cut, if `--flatten` is given.
fn flattened(b: Begun, job: &Job, budget: &Budget) -> Result<Begun, crate::geom::GeomError> {
    let Some(tolerance) = job.flatten else { return Ok(b) };
    let piece = Piece {
        recess: crate::geom::flattened(&b.piece.recess, tolerance, budget)?,
        inlay: crate::geom::flattened(&b.piece.inlay, tolerance, budget)?,
        ..b.piece
    };
    Ok(Begun { piece, ..b })
}

/// Every remaining step of one outline with its tools and sizes, in the order of work. The sizes of the pieces come
/// from the proof. They are missing if an error blocks the job.
fn stages(start: Start, b: &Begun, round: (Pair, Pair), fits: &[Fit], job: &Job) -> Vec<Stage> {
    let (outline, tools) = (b.piece.outline, &job.tools);
    let size = |r: &Region| r.bounds().map_or((0.0, 0.0), |b| (b.width(), b.height()));
    let stage = |kind, pair, size, offset| Stage { outline, kind, pair, size, offset, taken: true };
    let fit = fits.iter().find(|f| f.outline == outline);
    let recess = fit.map(|f| f.recess_size);
    let inlay = fit.map(|f| f.inlay_size);
    let (bush, cutter) = (round.0.bush_radius(), round.0.cutter_radius());
    let mut all = Vec::new();
    match start {
        Start::Part => {
            let opening = b.opening.as_deref().map(size).unwrap_or_default();
            all.push(stage(StageKind::Round, Some(round.1), opening, bush + cutter));
            all.extend(b.blank.as_deref().map(|r| stage(StageKind::Blank, Some(round.1), size(r), bush - cutter)));
            all.iter_mut().for_each(|s| s.taken = tools.one_opening);
            if !tools.one_opening {
                let offset = tools.gap + tools.recess_offset();
                all.push(stage(StageKind::Opening, None, size(&b.piece.recess), offset));
            }
            all.extend(recess.map(|s| stage(StageKind::Recess, Some(tools.recess_called), s, tools.gap)));
        }
        Start::Template => {
            let inset = -tools.recess_offset();
            all.extend(recess.map(|s| stage(StageKind::Recess, Some(tools.recess_called), s, inset)));
            if !tools.one_opening {
                let offset = inset + tools.inlay_offset();
                all.push(stage(StageKind::Opening, None, size(&b.piece.inlay), offset));
            }
            all.extend(inlay.map(|s| stage(StageKind::Inlay, Some(tools.inlay_called), s, inset - tools.gap)));
        }
        Start::Recess => {
            all.push(stage(StageKind::Opening, None, size(&b.piece.inlay), tools.inlay_offset()));
            all.extend(inlay.map(|s| stage(StageKind::Inlay, Some(tools.inlay_called), s, -tools.gap)));
        }
    }
    all
}
