//! The facts of a run: the first part with those that follow it.
//!
//! In: proved parts. Out: facts, and the files for the machine of each part.

use super::super::files::Machine;
use super::super::{Job, Kind};
use super::choose;
use super::plan::{Group, Planned};
use super::prove::Proved;
use super::tools::PLUG;
use crate::check::{Finding, unknown};
use crate::drawing::outline::Outline;
use crate::geom::Region;
use crate::job::asides::{Asides, ShoulderFacts, Stage, StartFacts};
use crate::job::facts::{Bench, Facts};
use crate::kit::{Bush, Tools};
use crate::proof::Fit;
use crate::template::Piece;
use crate::template::start::StageKind;
use crate::template::start::{Begun, Start};

/// The facts of all parts, of which there is at least one. The files for the machine are in the order of the parts.
pub(super) fn facts(parts: Vec<Proved>, job: &Job) -> (Facts, Vec<Vec<Machine>>) {
    let (mut all, machine): (Vec<Facts>, Vec<_>) = parts.into_iter().map(|p| of_part(p, job)).unzip();
    let then = all.split_off(1);
    let mut facts = all.remove(0);
    for mut next in then {
        // Findings about the drawing and the tools appear once, in the first part.
        let same =
            |f: &Finding, g: &Finding| (f.code, &f.message, f.at, f.outline) == (g.code, &g.message, g.at, g.outline);
        next.findings.retain(|f| !facts.findings.iter().any(|g| same(f, g)));
        facts.then.push(next);
    }
    // The note on the chosen tools gives the number of all findings of the report.
    let count = choose::count(facts.jobs().flat_map(|f| &f.findings));
    if let Some(pair) = &mut facts.asides.pair {
        pair.count = count;
    }
    (facts, machine)
}

fn of_part(p: Proved, whole: &Job) -> (Facts, Vec<Machine>) {
    let asides = asides(&p, whole);
    let bench = bench(&p);
    let Planned { name, drawing, job, groups, .. } = p.laid.planned;
    let tools = job.tools;
    let (outlines, pieces): (Vec<Vec<Outline>>, Vec<Vec<Piece>>) =
        groups.into_iter().map(|g| (g.outlines, g.worked.pieces)).unzip();
    let (mut outlines, mut pieces): (Vec<Outline>, Vec<Piece>) = (outlines.concat(), pieces.concat());
    outlines.sort_by_key(|o| o.number);
    pieces.sort_by_key(|p| p.outline);
    let facts = Facts {
        path: job.drawing.to_string_lossy().into_owned(),
        assumed: job.assumed.clone(),
        show: job.shown(&drawing),
        part: name,
        drawing,
        mirrored: job.mirror,
        outlines,
        pieces,
        tools,
        corners: job.corners,
        figures: job.figures,
        template: p.laid.template,
        bench,
        keep_clear: p.riding.swept,
        fits: p.fits,
        findings: p.findings,
        files: Vec::new(),
        flatten: job.flatten,
        writing: None,
        origin: None,
        then: Vec::new(),
        asides,
    };
    (facts, p.laid.files)
}

fn bench(p: &Proved) -> Bench {
    let planned = &p.laid.planned;
    let job = &planned.job;
    let tools: Vec<&Tools> = planned.groups.iter().map(|g| &g.tools).collect();
    let clearing: Vec<f64> = clearing_called(planned).iter().map(|c| c.1).collect();
    let clearing = job.kind.shouldered().then_some(clearing.as_slice());
    Bench {
        steps: p.laid.steps.clone(),
        margins: p.riding.margins.clone(),
        base: job.panel.base,
        router: job.router,
        loose: p.riding.loose.clone(),
        not_checked: unknown::unknown(&job.kit, &tools, &job.depths, job.router, clearing),
    }
}

fn asides(p: &Proved, whole: &Job) -> Asides {
    let planned = &p.laid.planned;
    let (start, shoulder) = match (&planned.job.kind, planned.groups.as_slice()) {
        (Kind::InHand(start), [group]) => (Some(in_hand(*start, group, &p.fits, &planned.job, whole)), None),
        (Kind::Shouldered(_), groups) => (None, shoulder(p, groups)),
        _ => (None, None),
    };
    Asides {
        pair: planned.groups.last().and_then(|g| g.pair),
        suggestion: planned.suggestion,
        season: planned.job.season.clone(),
        shoulder,
        start,
    }
}

fn shoulder(p: &Proved, groups: &[Group]) -> Option<ShoulderFacts> {
    let number = |g: &Group| g.outlines.first().map_or(0, |o| o.number);
    Some(ShoulderFacts {
        plug: number(groups.get(PLUG)?),
        shoulder: number(groups.last()?),
        plug_tools: groups.get(PLUG)?.tools,
        has_axis: p.laid.shouldered.as_ref().is_some_and(|s| s.has_axis),
        clearing: p.laid.planned.clearing.clone(),
        clearing_called: clearing_called(&p.laid.planned),
    })
}

/// Each bush that clears waste: the diameter of the sums, and the nominal one.
fn clearing_called(planned: &Planned) -> Vec<(f64, f64)> {
    let kit = &planned.job.kit.bushes;
    let called = |size: f64| kit.iter().find(|b: &&Bush| b.true_size() == size).map_or(size, |b| b.outside);
    let passes = planned.clearing.iter().flat_map(|c| &c.passes).map(|p| p.pair.bush);
    passes.map(|b| (b, called(b))).collect()
}

/// The figures of a job that starts from something in hand. `whole`: the job with the requested tools.
fn in_hand(start: Start, group: &Group, fits: &[Fit], job: &Job, whole: &Job) -> StartFacts {
    let match_gap = if group.pair.is_some() { job.tools.gap } else { whole.tools.gap_of_one_opening() };
    StartFacts {
        start,
        round: group.round.called,
        match_gap,
        wanted: whole.tools.gap,
        cut: start.cut(&job.tools),
        stages: group.worked.begun.iter().flat_map(|b| stages(start, b, group, fits, job)).collect(),
    }
}

/// Every remaining step of one outline with its tools and sizes, in the order of work. The sizes of the pieces come
/// from the proof. They are missing if an error blocks the job.
fn stages(start: Start, b: &Begun, group: &Group, fits: &[Fit], job: &Job) -> Vec<Stage> {
    let (outline, tools, round) = (b.piece.outline, &job.tools, group.round);
    let size = |r: &Region| r.bounds().map_or((0.0, 0.0), |b| (b.width(), b.height()));
    let stage = |kind, pair, size, offset| Stage { outline, kind, pair, size, offset, taken: true };
    let fit = fits.iter().find(|f| f.outline == outline);
    let recess = fit.map(|f| f.recess_size);
    let inlay = fit.map(|f| f.inlay_size);
    let (bush, cutter) = (round.sized.bush_radius(), round.sized.cutter_radius());
    let mut all = Vec::new();
    match start {
        Start::Part => {
            let opening = b.opening.as_deref().map(size).unwrap_or_default();
            all.push(stage(StageKind::Round, Some(round.called), opening, bush + cutter));
            all.extend(b.blank.as_deref().map(|r| stage(StageKind::Blank, Some(round.called), size(r), bush - cutter)));
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
