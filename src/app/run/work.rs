//! Works out the pieces of some outlines, each with its openings and findings.
//!
//! In: outlines, and the job with its tools. Out: pieces. An outline of which nothing is left has only findings. A place
//! that cannot be certified becomes a finding. Errors: the budget stops the work.

use super::super::{AppError, Job};
use crate::budget::Budget;
use crate::check::registry::{self, OF_PIECES};
use crate::check::{
    Code, Finding, Severity, Subject, closed_gap, difference, outlines as of_outlines, path, start as of_start,
};
use crate::drawing::outline::Outline;
use crate::geom::{Certified, FillRule, GeomError, Region, Ring, enclosed, flattened};
use crate::kit::Pair;
use crate::template::Piece;
use crate::template::ease::{self, AsCut};
use crate::template::start::{Begun, Start, begin};
use crate::threads::{both, each};

/// The pieces of some outlines.
#[derive(Default)]
pub(super) struct Worked {
    pub pieces: Vec<Piece>,
    /// For each piece of a job in hand, what existed before its openings.
    pub begun: Vec<Begun>,
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
    let seen = registry::PieceSeen { subject: of, piece: &piece, template_cutter: job.figures.template_cutter.mm };
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

/// Findings on gaps that close in the template, except those that `earlier` already has as errors.
///
/// # Errors
/// [`AppError`] if the budget stops the work.
pub(super) fn closed_gaps(
    pieces: &[Piece],
    earlier: &[Finding],
    job: &Job,
    budget: &Budget,
) -> Result<Vec<Finding>, AppError> {
    // With closed gaps accepted, an island of template that remains is a new finding, because nothing holds it.
    let accepted = job.accept.contains(&Code::ClosedGap);
    let gaps = earlier.iter().filter(|f| !accepted && f.code == Code::ClosedGap && f.severity == Severity::Error);
    let gaps: Vec<usize> = gaps.filter_map(|f| f.outline).collect();
    match closed_gap::closed_gaps(pieces, &job.kind.served(&job.tools), &gaps, &job.tools, budget) {
        Ok(gaps) => Ok(gaps),
        Err(e) => Ok(vec![uncertified(e)?]),
    }
}
