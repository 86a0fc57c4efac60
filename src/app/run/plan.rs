//! Works out the pieces of a part, and checks drawing, outlines and tools.
//!
//! In: a part. Out: its tools and its pieces with their openings, and the findings before anything is laid out. An
//! outline of which nothing is left has only findings. Errors: [`AppError`] for a drawing without outlines.

use super::super::{AppError, Job, Kind};
use super::outlines::Part;
use super::tools::{self, Equipped, PLUG};
use super::{choose, scale};
use crate::budget::Budget;
use crate::check::registry::{self, OF_DRAWING, OF_PIECES, OF_SHOULDERS, Ordered, Read};
use crate::check::{
    Code, Finding, Severity, Subject, bush_depth, closed_gap, difference, ledge, numbered, outlines as of_outlines,
    path, source, start as of_start,
};
use crate::drawing::outline::{Outline, Outlines};
use crate::drawing::{Drawing, RemarkKind};
use crate::geom::{Certified, FillRule, GeomError, Region, Ring, enclosed, flattened};
use crate::job::asides::{PairChoice, Suggestion};
use crate::kit::{Bush, Pair, Passage, Tools, passage};
use crate::panel::shoulder::Shouldered;
use crate::template::Piece;
use crate::template::clearing::{self, Clearing};
use crate::template::ease::{self, AsCut};
use crate::template::start::{Begun, Start, begin};
use crate::threads::{both, each};

/// A part of the run, worked out and checked.
pub(super) struct Planned {
    pub name: Option<String>,
    pub drawing: Drawing,
    /// The job with the tools of the last group.
    pub job: Job,
    pub groups: Vec<Group>,
    /// The waste around a plug, if no error blocks the part.
    pub clearing: Option<Clearing>,
    /// What other tools would do.
    pub suggestion: Option<Suggestion>,
    pub findings: Vec<Finding>,
}

/// Outlines that share their tools.
pub(super) struct Group {
    pub outlines: Vec<Outline>,
    pub tools: Tools,
    pub pair: Option<PairChoice>,
    /// The pair that runs around a part: the sizes for the sums, and the nominal ones.
    pub round: (Pair, Pair),
    pub worked: Worked,
}

/// The pieces of some outlines.
#[derive(Default)]
pub(super) struct Worked {
    pub pieces: Vec<Piece>,
    /// For each piece of a job in hand, what existed before its openings.
    pub begun: Vec<Begun>,
}

impl Planned {
    /// Plug and shoulder, if both can be made.
    pub fn shouldered(&self) -> Option<Shouldered<'_>> {
        let [plug, shoulder] = self.groups.as_slice() else { return None };
        Some(Shouldered { plug: plug.worked.pieces.first()?, shoulder: shoulder.worked.pieces.first()? })
    }

    /// The pieces of all groups.
    pub fn pieces(&self) -> impl Iterator<Item = &Piece> {
        self.groups.iter().flat_map(|g| &g.worked.pieces)
    }

    pub fn blocked(&self) -> bool {
        self.findings.iter().any(Finding::blocks)
    }
}

/// Works out a part.
///
/// # Errors
/// [`AppError`] for a drawing without outlines, and a kit without a matching pair.
pub(super) fn planned(part: Part, job: &Job, budget: &Budget) -> Result<Planned, AppError> {
    let (mut groups, mut findings, mut own) = (Vec::new(), Vec::new(), job.clone());
    for (number, outlines) in part.groups.into_iter().enumerate() {
        let equipped = tools::equipped(&outlines.outlines, number, job, budget)?;
        let (group, found) = group(&part.drawing, outlines, &equipped, budget)?;
        groups.push(group);
        findings.extend(found);
        own = equipped.job;
    }
    let of_groups: Vec<(usize, Tools)> = groups.iter().map(|g| g.tools).enumerate().collect();
    findings.extend(tools::findings(&of_groups, &own));
    let suggestion = match groups.as_slice() {
        [g] if job.suggest && job.kind == Kind::Flush => choose::suggestion(&g.outlines, &part.drawing, &own, budget)?,
        _ => None,
    };
    let (name, drawing, clearing) = (part.name, part.drawing, None);
    let mut planned = Planned { name, drawing, job: own, groups, clearing, suggestion, findings };
    if job.kind.shouldered() {
        planned.findings.extend(joined(&planned));
        planned.clearing = cleared(&mut planned, budget)?;
    }
    planned.findings = numbered(planned.findings, &job.accept);
    Ok(planned)
}

fn group(
    drawing: &Drawing,
    found: Outlines,
    equipped: &Equipped,
    budget: &Budget,
) -> Result<(Group, Vec<Finding>), AppError> {
    let job = &equipped.job;
    let (worked, mut findings) = worked(&found.outlines, equipped.round.0, job, budget)?;
    findings.extend(checked(drawing, &found, &worked.pieces, &findings, job, budget)?);
    // What exists already cannot be drawn larger.
    if job.kind.start().is_none() {
        findings = numbered(findings, &job.accept);
        scale::tried(&mut findings, &found.outlines, drawing, job, budget)?;
    }
    let (pair, round) = (equipped.pair, equipped.round);
    Ok((Group { outlines: found.outlines, tools: job.tools, pair, round, worked }, findings))
}

/// The pieces of the outlines with the tools of the job, and their findings. `round`: the pair that runs around a part.
///
/// # Errors
/// [`AppError`] if the budget stops the work.
pub(super) fn worked(
    outlines: &[Outline],
    round: Pair,
    job: &Job,
    budget: &Budget,
) -> Result<(Worked, Vec<Finding>), AppError> {
    let (mut worked, mut findings) = (Worked::default(), Vec::new());
    let all = each(outlines.iter().collect(), |o| match job.kind.start() {
        Some(start) => in_hand(o, start, round, job, budget),
        None => piece(o, job, budget).map(|(piece, found)| (piece, None, found)),
    });
    for (o, one) in outlines.iter().zip(all) {
        match one {
            Ok((piece, begun, found)) => {
                worked.pieces.extend(piece);
                worked.begun.extend(begun);
                findings.extend(found);
            }
            Err(e) => findings.push(uncertified(e)?.on(o.number)),
        }
    }
    Ok((worked, findings))
}

type Made = (Option<Piece>, Option<Begun>, Vec<Finding>);

/// An outline that follows something in hand. A piece of which nothing is left has only findings.
fn in_hand(o: &Outline, start: Start, round: Pair, job: &Job, budget: &Budget) -> Result<Made, GeomError> {
    let mut begun = begin(start, o.number, &o.region, &job.tools, round, budget)?;
    let found = of_start::misfits(start, &begun, &job.tools, job.figures.template_cutter.mm, job.within, budget)?;
    begun.piece = flat(begun.piece, job, budget)?;
    let made = (!begun.piece.made.is_empty()).then_some(begun);
    Ok((made.as_ref().map(|b| b.piece.clone()), made, found))
}

/// The outline as made, with its openings and findings.
fn piece(o: &Outline, job: &Job, budget: &Budget) -> Result<(Option<Piece>, Vec<Finding>), GeomError> {
    let (drawn, tools) = (&o.region, &job.tools);
    let (made, of_tools) = both(|| made(drawn, job, budget), || difference::by_tools(drawn, tools, budget));
    let ((made, cut), of_tools) = (made?, of_tools?);
    let of = Subject { number: o.number, drawn, cut: &cut, corners: job.corners, tools, within: job.within };
    let differ = difference::differences(drawn, &cut, (of.inside_radius(), of.outside_radius()), budget)?;
    let differences = difference::findings(&of, &made, &differ, &of_tools);
    let broken = differences.iter().any(|f| f.code == Code::Neck && f.severity == Severity::Error);
    let way = path::way(&of, &made, broken);
    if let Some(mut last) = way.clone().filter(|f| f.last_word) {
        // Nothing is left of the outline: report the width and the remedy of its narrowest neck.
        if let Some(part) = narrowest(&differences) {
            (last.measured, last.needed, last.short) = (part.measured, part.needed, part.short);
            (last.help, last.ways, last.scale) = (part.help.clone(), part.ways.clone(), part.scale);
        }
        return Ok((None, vec![last]));
    }
    let mut found: Vec<Finding> = way.into_iter().chain(differences).collect();
    let piece = Piece::new(o.number, &o.region, made, cut.clone(), &job.tools, budget)?;
    let seen = registry::Worked { subject: of, piece: &piece, template_cutter: job.figures.template_cutter.mm };
    found.extend(registry::surveyed(OF_PIECES, &seen, budget)?);
    Ok((Some(flat(piece, job, budget)?), found))
}

/// With chords for arcs in its openings, if `--flatten` is given.
fn flat(piece: Piece, job: &Job, budget: &Budget) -> Result<Piece, GeomError> {
    let Some(tolerance) = job.flatten else { return Ok(piece) };
    Ok(Piece {
        recess: flattened(&piece.recess, tolerance, budget)?,
        inlay: flattened(&piece.inlay, tolerance, budget)?,
        ..piece
    })
}

/// The outline as made, and its pieces. If the maker accepts closed gaps, a gap that closes around an island of
/// template is filled with its island.
fn made(drawn: &Certified<Region>, job: &Job, budget: &Budget) -> Result<(Certified<Region>, AsCut), GeomError> {
    let opened = ease::opened(drawn, job.corners, &job.tools, budget)?;
    let mut made = ease::made(&opened, job.corners, &job.tools, budget)?;
    let new_holes = holes(&made) > holes(drawn);
    if new_holes && job.accept.contains(&Code::ClosedGap) {
        let outer: Vec<Ring> = made.rings.iter().filter(|r| r.area() > 0.0).cloned().collect();
        made = enclosed(&outer, FillRule::NonZero, budget)?;
    }
    let cut = ease::as_cut(&made, job.corners, &job.tools, budget)?;
    Ok((made, cut))
}

fn holes(r: &Region) -> usize {
    r.rings.iter().filter(|r| r.area() < 0.0).count()
}

/// The neck with the least measured width.
fn narrowest(necks: &[Finding]) -> Option<&Finding> {
    let width = |f: &&Finding| f.measured.unwrap_or(f64::INFINITY);
    necks.iter().filter(|f| f.code == Code::Neck && f.measured.is_some()).min_by(|a, b| width(a).total_cmp(&width(b)))
}

/// Turns a place that could not be certified into a finding. Any other error ends the run without a verdict.
pub(super) fn uncertified(e: GeomError) -> Result<Finding, AppError> {
    match e {
        GeomError::Uncertified { at, why } => Ok(of_outlines::uncertified(Some(at), why)),
        other => Err(other.into()),
    }
}

/// Findings on the drawing and its outlines.
fn checked(
    drawing: &Drawing,
    found: &Outlines,
    pieces: &[Piece],
    planned: &[Finding],
    job: &Job,
    budget: &Budget,
) -> Result<Vec<Finding>, AppError> {
    let nothing = found.outlines.is_empty();
    let reported = !found.troubles.is_empty() || drawing.remarks.iter().any(|r| is_open(&r.kind));
    if nothing && (!reported || job.accept.contains(&Code::OpenLine)) {
        let flat = found.flat.iter().map(|f| format!("; {} encloses nothing", source::named(&f.source))).collect();
        return Err(AppError::NoOutline { path: job.drawing.clone(), flat });
    }
    let seen = Read { drawing, outlines: found, cutter: job.tools.recess.cutter };
    let mut findings = registry::all(OF_DRAWING, &seen);
    findings.extend(closed_gaps(pieces, planned, job, budget)?);
    Ok(findings)
}

/// Findings on gaps that close in the template, except those that `planned` already has as errors.
///
/// # Errors
/// [`AppError`] if the budget stops the work.
pub(super) fn closed_gaps(
    pieces: &[Piece],
    planned: &[Finding],
    job: &Job,
    budget: &Budget,
) -> Result<Vec<Finding>, AppError> {
    // With closed gaps accepted, an island of template that remains is a new finding, because nothing holds it.
    let accepted = job.accept.contains(&Code::ClosedGap);
    let gaps = planned.iter().filter(|f| !accepted && f.code == Code::ClosedGap && f.severity == Severity::Error);
    let gaps: Vec<usize> = gaps.filter_map(|f| f.outline).collect();
    match closed_gap::closed_gaps(pieces, &job.kind.served(&job.tools), &gaps, &job.tools, budget) {
        Ok(gaps) => Ok(gaps),
        Err(e) => Ok(vec![uncertified(e)?]),
    }
}

fn is_open(kind: &RemarkKind) -> bool {
    matches!(kind, RemarkKind::OpenLine { .. } | RemarkKind::Branching)
}

/// Findings on plug and shoulder together.
fn joined(planned: &Planned) -> Vec<Finding> {
    let (Kind::Shouldered(order), Some(plug)) = (&planned.job.kind, planned.groups.get(PLUG)) else {
        return Vec::new();
    };
    let seen = Ordered {
        both: planned.shouldered(),
        depths: &planned.job.depths,
        plug: plug.outlines.first().map_or(0, |o| o.number),
        plug_tools: &plug.tools,
        plug_gap: order.plug_gap,
    };
    registry::all(OF_SHOULDERS, &seen)
}

/// The waste on the inlay, cleared with the available bushes. `None` if an error blocks the part.
fn cleared(planned: &mut Planned, budget: &Budget) -> Result<Option<Clearing>, AppError> {
    let job = &planned.job;
    let blocked = numbered(planned.findings.clone(), &job.accept).iter().any(Finding::blocks);
    let Some(both) = planned.shouldered().filter(|_| !blocked) else { return Ok(None) };
    // A plug outside its shoulder has no template, even if the error is accepted.
    if ledge::ledge(both).is_some_and(|f| f.severity == Severity::Error) {
        return Ok(None);
    }
    let one = both.one_panel(job.panel.turn);
    let opening = |p: &Piece| if one { p.recess.clone() } else { p.inlay.clone() };
    let cleared = clearing::inlay(
        (&opening(both.plug), both.plug.tools.inlay),
        (&opening(both.shoulder), both.shoulder.tools.inlay),
        &bushes(both, job),
        budget,
    );
    let cleared = cleared.and_then(|c| match job.flatten {
        Some(tolerance) => c.flattened(tolerance, budget),
        None => Ok(c),
    });
    match cleared {
        Ok(clearing) => Ok(Some(clearing)),
        Err(e) => {
            planned.findings.push(uncertified(e)?);
            Ok(None)
        }
    }
}

/// The available bushes that the plug's cutter passes through.
fn bushes(both: Shouldered, job: &Job) -> Vec<f64> {
    let cutter = job.kit.cutter(both.plug.tools.inlay_called.cutter);
    let passes = |b: &&Bush| cutter.is_none_or(|c| passage(b, c) != Passage::No);
    let own = both.own_bushes();
    // A bush that would ride on the work is not available.
    let stays_off = |b: &&Bush| bush_depth::rides(&job.kit, b.outside, job.router).is_none();
    job.kit.bushes.iter().filter(passes).filter(stays_off).map(Bush::true_size).chain(own).collect()
}
