//! Shouldered pieces: from two outlines, plug and shoulder, to openings and findings.
//!
//! In: the drawing, the names of plug and shoulder. Out: the facts of the run with its findings. Each outline is
//! selected before nesting is examined, and is checked against its own tools and gap. This module accesses no files.

use super::files::{self, Machine};
use super::{AppError, Job, choose, scale, steps};
use crate::budget::Budget;
use crate::check::depth::Cut;
use crate::check::{Finding, bore, depth, numbered, panel, shoulder as checks};
use crate::drawing::Drawing;
use crate::drawing::choose::Selection;
use crate::drawing::outline::{Outline, Outlines};
use crate::geom::inside::contains;
use crate::geom::{Certified, GeomError, Region, shrink};
use crate::kit::{Bush, Passage, Tools, passage};
use crate::proof::shoulder::{self as shoulder_proof, ShoulderProofError};
use crate::proof::{self, Beside};
use crate::report::facts::{Asides, Bench, Facts, Loose, PairChoice, ShoulderFacts};
use crate::template::clearing::Clearing;
use crate::template::hand::{Step, common_axis};
use crate::template::openings::{Piece, Template};
use crate::template::shoulder::{ShoulderError, Shouldered, Together};
use crate::template::tipping::Margin;
use crate::template::{Duty, Opening, clearing};

/// Plugs and shoulders by id, layer or number.
#[derive(Clone, Debug, PartialEq)]
pub struct PlugAndShoulder {
    pub plug: Vec<String>,
    pub shoulder: Vec<String>,
    /// Gap between the plug and its hole, per side, mm.
    pub plug_gap: f64,
}

/// One of the two outlines, planned and checked.
struct Part {
    outlines: Outlines,
    tools: Tools,
    pair: Option<PairChoice>,
    piece: Option<Piece>,
    findings: Vec<Finding>,
}

/// One piece, planned and checked by itself, before there is a panel.
struct Order {
    plug: Part,
    shoulder: Part,
    /// `None` if an error blocks the piece.
    both: Option<(Shouldered, Clearing)>,
    findings: Vec<Finding>,
}

/// The facts of all pieces, each with its files for the machine. The first piece is the job. The others follow it and
/// use the same marks.
///
/// # Errors
/// [`AppError`] if a name is unknown or plugs and shoulders do not form pairs, and as all steps.
pub(super) fn worked_out(
    drawing: Drawing,
    order: &PlugAndShoulder,
    job: &Job,
    budget: &Budget,
) -> Result<(Facts, Vec<Vec<Machine>>), AppError> {
    let plug_job = Job { tools: Tools { gap: order.plug_gap, ..job.tools }, ..job.clone() };
    let (seen, mut plugs) = chosen(&drawing, "plug", &order.plug, &plug_job, budget)?;
    let (_, mut shoulders) = chosen(&drawing, "shoulder", &order.shoulder, job, budget)?;
    // Outlines are numbered in the order of the file.
    let mut all: Vec<&mut Outline> = plugs.outlines.iter_mut().chain(&mut shoulders.outlines).collect();
    all.sort_by_key(|o| drawing.shapes.iter().position(|s| s.source == o.source));
    all.into_iter().zip(1..).for_each(|(o, n)| o.number = n);
    let mut orders = Vec::new();
    for (i, (plug, shoulder)) in paired(plugs, shoulders)?.into_iter().enumerate() {
        let remarks = if i == 0 { seen.remarks.clone() } else { Vec::new() };
        let seen = Drawing { remarks, ..seen.clone() };
        orders.push(ordered(&seen, (plug, shoulder), &plug_job, job, budget)?);
    }
    // All panels have one place and one size, because the same marks serve them.
    let whole: Vec<(&Shouldered, &Clearing)> =
        orders.iter().filter_map(|o| o.both.as_ref()).map(|(both, clearing)| (both, clearing)).collect();
    let together = Together::of(&whole, job.panel.turn);
    let (mut jobs, mut machine) = (Vec::new(), Vec::new());
    for (i, order) in orders.into_iter().enumerate() {
        let part = (i > 0).then(|| format!("piece-{}", i + 1));
        let (facts, files) = piece(&seen, order, part, together, job, budget)?;
        jobs.push(facts);
        machine.push(files);
    }
    let mut facts = jobs.remove(0);
    for mut next in jobs {
        // Findings on tools and router are listed once.
        let listed = |f: &Finding| {
            f.outline.is_none() && facts.findings.iter().any(|g| (g.code, &g.message) == (f.code, &f.message))
        };
        next.findings.retain(|f| !listed(f));
        facts.then.push(next);
    }
    Ok((facts, machine))
}

/// Each plug with the shoulder around it, in the order of the plugs. A single pair is not examined here, because its
/// faults become findings.
fn paired(plugs: Outlines, mut shoulders: Outlines) -> Result<Vec<(Outlines, Outlines)>, AppError> {
    let (n, m) = (plugs.outlines.len(), shoulders.outlines.len());
    if n <= 1 && m <= 1 {
        return Ok(vec![(plugs, shoulders)]);
    }
    let not = |why: String| AppError::NotPaired { plugs: n, shoulders: m, why };
    if n != m {
        return Err(not(String::new()));
    }
    let mut pairs = Vec::new();
    let rest = |o: &Outlines, first: bool| if first { o.clone() } else { Outlines::default() };
    for (i, plug) in plugs.outlines.iter().enumerate() {
        let within = |s: &Outline| plug.region.segments().next().is_some_and(|e| contains(&s.region, e.start()));
        let mut around = (0..shoulders.outlines.len()).filter(|&j| within(&shoulders.outlines[j]));
        let (Some(j), None) = (around.next(), around.next()) else {
            return Err(not(format!("{} lies in no free shoulder, or in several; ", plug.source.id)));
        };
        // Troubles of the drawing are reported with the first piece.
        let first = i == 0;
        let own = Outlines { outlines: vec![plug.clone()], ..rest(&plugs, first) };
        let shoulder = shoulders.outlines.remove(j);
        pairs.push((own, Outlines { outlines: vec![shoulder], ..rest(&shoulders, first) }));
    }
    Ok(pairs)
}

fn ordered(
    seen: &Drawing,
    (plug, shoulder): (Outlines, Outlines),
    plug_job: &Job,
    job: &Job,
    budget: &Budget,
) -> Result<Order, AppError> {
    let plug = planned(seen, plug, 0, plug_job, budget)?;
    let shoulder = planned(seen, shoulder, 1, job, budget)?;
    let mut findings: Vec<Finding> = plug.findings.iter().chain(&shoulder.findings).cloned().collect();
    let both = match (&plug.piece, &shoulder.piece) {
        (Some(p), Some(s)) => Some(Shouldered {
            plug: p.clone(),
            plug_tools: plug.tools,
            shoulder: s.clone(),
            shoulder_tools: shoulder.tools,
        }),
        _ => None,
    };
    let ledge = both.as_ref().and_then(checks::ledge);
    let out = ledge.as_ref().is_some_and(Finding::blocks);
    findings.extend(ledge);
    let number = plug.outlines.outlines.first().map_or(0, |o| o.number);
    findings.extend(checks::thin(&job.depths, number));
    findings.extend(checks::plug_gap(number, &plug.tools, plug_job.tools.gap));
    findings.extend(depth::reaches(&job.kit, &cuts(&plug.tools, &shoulder.tools, job), job.router));
    findings.extend(depth::pass(&[&plug.tools, &shoulder.tools], job.router));
    let blocked = out || numbered(findings.clone(), &job.accept).iter().any(Finding::blocks);
    let mut all = None;
    if let Some(both) = both.filter(|_| !blocked) {
        match cleared(&both, job, budget) {
            Ok(clearing) => all = Some((both, clearing)),
            Err(e) => findings.push(steps::uncertified(e)?),
        }
    }
    Ok(Order { plug, shoulder, both: all, findings: numbered(findings, &job.accept) })
}

/// One piece with its panels, as facts and files for the machine.
fn piece(
    seen: &Drawing,
    order: Order,
    part: Option<String>,
    together: Option<Together>,
    job: &Job,
    budget: &Budget,
) -> Result<(Facts, Vec<Machine>), AppError> {
    let Order { plug, shoulder, both, mut findings } = order;
    let mut made = Made::default();
    if let Some((both, clearing)) = both.zip(together).map(|((b, c), t)| ((b, t), c)).as_ref() {
        let further = make(both, clearing, part.as_deref(), &findings, job, &mut made, budget)?;
        findings.extend(further);
    }
    let pieces: Vec<Piece> = [plug.piece, shoulder.piece].into_iter().flatten().collect();
    findings.extend(steps::account(&pieces, &made.fits, &findings, job));
    let findings = numbered(findings, &job.accept);
    let tools = [&plug.tools, &shoulder.tools];
    let passes = made.clearing.iter().flat_map(|c| &c.passes).map(|p| p.pair.bush);
    let clearing_called: Vec<(f64, f64)> = passes.map(|b| (b, called(b, job))).collect();
    let clearing: Vec<f64> = clearing_called.iter().map(|c| c.1).collect();
    let not_checked = depth::unknown(&job.kit, &tools, &job.depths, job.router, Some(&clearing));
    let number = |o: &Outlines| o.outlines.first().map_or(0, |o| o.number);
    let numbers = [number(&plug.outlines), number(&shoulder.outlines)];
    let mut outlines: Vec<Outline> = plug.outlines.outlines.into_iter().chain(shoulder.outlines.outlines).collect();
    outlines.sort_by_key(|o| o.number);
    let mut pieces = pieces;
    pieces.sort_by_key(|p| p.outline);
    let facts = Facts {
        path: job.drawing.to_string_lossy().into_owned(),
        assumed: job.assumed.clone(),
        show: job.shown(seen),
        part,
        drawing: seen.clone(),
        mirrored: job.mirror,
        outlines,
        cut: pieces.iter().map(|p| p.cut.clone()).collect(),
        made: pieces.into_iter().map(|p| (p.outline, p.made)).collect(),
        tools: shoulder.tools,
        corners: job.corners,
        figures: job.figures,
        template: made.template,
        bench: Bench {
            steps: made.steps,
            margins: made.margins,
            base: job.panel.base,
            router: job.router,
            loose: made.loose,
            not_checked,
        },
        keep_clear: made.keep_clear,
        fits: made.fits,
        findings,
        files: Vec::new(),
        flatten: job.flatten,
        writing: None,
        origin: None,
        then: Vec::new(),
        asides: Asides {
            pair: shoulder.pair,
            suggestion: None,
            start: None,
            season: job.season.clone(),
            shoulder: Some(ShoulderFacts {
                plug: numbers[0],
                shoulder: numbers[1],
                plug_tools: plug.tools,
                has_axis: made.has_axis,
                clearing: made.clearing,
                clearing_called,
            }),
        },
    };
    Ok((facts, made.machine))
}

/// The outlines with these names, and the drawing as read for them.
fn chosen(
    drawing: &Drawing,
    setting: &'static str,
    names: &[String],
    job: &Job,
    budget: &Budget,
) -> Result<(Drawing, Outlines), AppError> {
    let select = Selection { only: names.to_vec(), skip: job.select.skip.clone() };
    let (seen, outlines) = steps::join(drawing.clone(), &Job { select, ..job.clone() }, budget)?;
    if !outlines.islands.is_empty() {
        return Err(AppError::Holed { setting, name: names.join(", ") });
    }
    Ok((seen, outlines))
}

/// The cuts of both pieces. Even places use the plug's tools, odd places the shoulder's.
fn cuts(plug: &Tools, shoulder: &Tools, job: &Job) -> [Cut; 4] {
    let d = &job.depths;
    let cut = |called, depth, through| Cut { called, depth, through };
    [
        cut(plug.inlay_called, d.plug_height, false),
        cut(shoulder.inlay_called, d.stock, true),
        cut(plug.recess_called, d.board, true),
        cut(shoulder.recess_called, d.rebate(), false),
    ]
}

/// Plans and checks one outline. `which` is 0 for the plug and 1 for the shoulder, as in [`cuts`].
fn planned(drawing: &Drawing, outlines: Outlines, which: usize, job: &Job, budget: &Budget) -> Result<Part, AppError> {
    let own = |t: &Tools| cuts(t, t, job).into_iter().skip(which).step_by(2).collect();
    let chosen = if job.auto_pair { Some(choose::pair(job, &outlines.outlines, &own, budget)?) } else { None };
    let (job, pair) = chosen.as_ref().map_or((job, None), |(job, why)| (job, Some(*why)));
    let (pieces, mut findings) = steps::plan(&outlines.outlines, job, budget)?;
    findings.extend(steps::check(drawing, &outlines, (&pieces, &steps::BOTH), &findings, job, budget)?);
    scale::tried(&mut findings, &outlines.outlines, drawing, job, budget)?;
    findings.extend(bore::bores(&job.kit, &job.tools));
    findings.extend(depth::bushes(&job.kit, &job.tools, job.router));
    Ok(Part { outlines, tools: job.tools, pair, piece: pieces.into_iter().next(), findings })
}

/// The results for plug and shoulder together. Empty if an error blocks the piece.
#[derive(Default)]
struct Made {
    template: Template,
    steps: Vec<Step>,
    clearing: Option<clearing::Clearing>,
    has_axis: bool,
    keep_clear: Vec<((u32, u8), Region)>,
    margins: Vec<Option<Margin>>,
    loose: Vec<Loose>,
    fits: Vec<proof::Fit>,
    machine: Vec<Machine>,
}

/// The waste on the inlay, cleared with the available bushes.
fn cleared(both: &Shouldered, job: &Job, budget: &Budget) -> Result<Clearing, GeomError> {
    let one = both.one_panel(job.panel.turn);
    let opening = |p: &Piece| if one { p.recess.clone() } else { p.inlay.clone() };
    let cleared = clearing::inlay(
        (&opening(&both.plug), both.plug_tools.inlay),
        (&opening(&both.shoulder), both.shoulder_tools.inlay),
        &bushes(both, job),
        budget,
    )?;
    match job.flatten {
        Some(tolerance) => cleared.flattened(tolerance, budget),
        None => Ok(cleared),
    }
}

fn make(
    (both, together): &(Shouldered, Together),
    clearing: &Clearing,
    part: Option<&str>,
    before: &[Finding],
    job: &Job,
    made: &mut Made,
    budget: &Budget,
) -> Result<Vec<Finding>, AppError> {
    let mut findings = Vec::new();
    made.template = match both.template(clearing, &job.panel, Some(*together), budget) {
        Ok(t) => t,
        Err(ShoulderError::Geom(e)) => return Ok(vec![steps::uncertified(e)?]),
        Err(other) => return Err(AppError::Shoulder(other)),
    };
    findings.extend(panel::panels(&made.template, &job.panel));
    made.has_axis = common_axis(&both.plug.made, &both.shoulder.made).is_some();
    made.steps = both.steps(&made.template, clearing, &job.depths);
    findings.extend(checks::hand(made.has_axis, &made.steps, both));
    findings.extend(checks::free_hand(clearing, both));
    made.clearing = Some(clearing.clone());
    let stands = standing(both, budget).map_err(steps::uncertified);
    let stands = match stands {
        Ok(region) => region,
        Err(uncertified) => return Ok(findings.into_iter().chain([uncertified?]).collect()),
    };
    // Outside the plug's own opening the plug is the only support.
    let on = |o: &Opening| {
        let own = o.outline == both.plug.outline && o.duty != Duty::Clearing;
        (!own).then(|| stands.clone())
    };
    let riding = super::riding::look(&made.template, &made.steps, &on, job, budget)?;
    findings.extend(riding.findings);
    (made.keep_clear, made.margins, made.loose) = (riding.swept, riding.margins, riding.loose);
    made.machine = files::machine(&made.template, part, job)?;
    let piece = shoulder_proof::Piece {
        steps: made.steps.clone(),
        plug: (both.plug.outline, both.plug_tools.gap),
        shoulder: (both.shoulder.outline, both.shoulder_tools.gap),
    };
    let wanted = [&both.plug, &both.shoulder];
    let plan = steps::proof_plan(&wanted, &made.template, piece.lines(), job);
    let fits = match shoulder_proof::prove_files(
        &plan,
        &piece,
        &steps::face_files(&made.machine),
        &mut Beside::default(),
        budget,
    ) {
        Ok(fits) => fits,
        Err(
            ShoulderProofError::Geom(GeomError::Stopped(s))
            | ShoulderProofError::Files(proof::ProofError::Geom(GeomError::Stopped(s))),
        ) => return Err(s.into()),
        Err(other) => return Err(AppError::ShoulderProof(other)),
    };
    let measured = both.plug_tools.measured && both.shoulder_tools.measured;
    findings.extend(checks::fits(&fits, job.corners, measured, before, piece.plug, piece.shoulder.1));
    made.fits = fits.to_vec();
    Ok(findings)
}

/// The available bushes that the plug's cutter passes through.
fn bushes(both: &Shouldered, job: &Job) -> Vec<f64> {
    let cutter = job.kit.cutter(both.plug_tools.inlay_called.cutter);
    let passes = |b: &&Bush| cutter.is_none_or(|c| passage(b, c) != Passage::No);
    let own = both.own_bushes();
    // A bush that would ride on the work is not available.
    let stays_off = |b: &&Bush| depth::rides(&job.kit, b.outside, job.router).is_none();
    job.kit.bushes.iter().filter(passes).filter(stays_off).map(Bush::true_size).chain(own).collect()
}

/// The nominal size of the bush with this true size.
fn called(bush: f64, job: &Job) -> f64 {
    job.kit.bushes.iter().find(|b| b.true_size() == bush).map_or(bush, |b| b.outside)
}

/// The finished plug, in the drawing frame. It is the only support after the waste around it is cleared.
fn standing(both: &Shouldered, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    shrink(&both.plug.inlay, both.plug_tools.inlay.bush_radius() + both.plug_tools.inlay.cutter_radius(), budget)
}
