//! The steps between reading and writing. They access no files.

use super::files::Machine;
use super::{AppError, Job, Out, Prover, Task};
use crate::budget::Budget;
use crate::check::{Code, Finding, Severity, Subject, account, difference, making, outlines, reading, sharp_point};
use crate::drawing::choose::choose;
use crate::drawing::outline::{Outline, Outlines, Trouble, outlines as find_outlines, too_large};
use crate::drawing::{Drawing, RemarkKind, islands, join as joining, needles, unite};
use crate::geom::{Certified, FillRule, GeomError, Point, Region, Ring, enclosed, flattened};
use crate::proof::{self, FaceFile, Fit, InHand, Plan, ProofError, Slot, Wanted};
use crate::template::Duty;
use crate::template::ease::{self, AsCut, Corners};
use crate::template::openings::{Piece, Template, template};
use crate::threads::{both, each};
use crate::write::dxf::Release;

/// The chosen part of the drawing with loose edges joined, and its outlines.
pub(super) fn join(drawing: Drawing, job: &Job, budget: &Budget) -> Result<(Drawing, Outlines), AppError> {
    let mut drawing = if job.mirror { drawing.mirrored() } else { drawing };
    let chosen = choose(drawing.shapes, &job.select, job.read.join, budget)?;
    let (shapes, remarks) = joining::join(chosen, job.read.join, budget);
    let (shapes, needles) = needles::cleaned(shapes);
    drawing.shapes = shapes;
    drawing.remarks.extend(remarks.into_iter().chain(needles));
    let troubles = too_large(&drawing.shapes);
    if !troubles.is_empty() {
        return Ok((drawing, Outlines { troubles, ..Outlines::default() }));
    }
    let found = find_outlines(&drawing.shapes, budget)?;
    let (drawing, found) = united(drawing, found, job, budget)?;
    let found = if job.accept.contains(&Code::Island) { islands::whole(found, budget)? } else { found };
    Ok((drawing, found))
}

/// Unites shapes that cross, if the maker accepts that.
fn united(drawing: Drawing, found: Outlines, job: &Job, budget: &Budget) -> Result<(Drawing, Outlines), AppError> {
    if !job.accept.contains(&Code::Crossing) {
        return Ok((drawing, found));
    }
    // The crossings remain as findings after the union.
    let united = Drawing { shapes: unite::unite(&drawing.shapes, &found.troubles, budget)?, ..drawing };
    let mut again = find_outlines(&united.shapes, budget)?;
    let crossed = |t: &Trouble| matches!(t, Trouble::Crossing { .. } | Trouble::SelfCrossing { .. });
    again.troubles.extend(found.troubles.into_iter().filter(crossed));
    Ok((united, again))
}

/// The outlines as made, with their openings and findings. An outline of which nothing is left has only findings.
pub(super) fn plan(outlines: &[Outline], job: &Job, budget: &Budget) -> Result<(Vec<Piece>, Vec<Finding>), AppError> {
    let (mut pieces, mut findings) = (Vec::new(), Vec::new());
    for (o, planned) in outlines.iter().zip(each(outlines.iter().collect(), |o| planned(o, job, budget))) {
        match planned {
            Ok((piece, found)) => {
                pieces.extend(piece);
                findings.extend(found);
            }
            Err(e) => findings.push(uncertified(e)?.on(o.number)),
        }
    }
    Ok((pieces, findings))
}

fn planned(o: &Outline, job: &Job, budget: &Budget) -> Result<(Option<Piece>, Vec<Finding>), GeomError> {
    let (drawn, tools) = (&o.region, &job.tools);
    let (made, of_tools) = both(|| made(drawn, job, budget), || difference::by_tools(drawn, tools, budget));
    let ((made, cut), of_tools) = (made?, of_tools?);
    let of = Subject { number: o.number, drawn, cut: &cut, corners: job.corners, tools, within: job.within };
    let differ = difference::differences(drawn, &cut, (of.inside_radius(), of.outside_radius()), budget)?;
    let differences = difference::findings(&of, &made, &differ, &of_tools);
    let broken = differences.iter().any(|f| f.code == Code::Neck && f.severity == Severity::Error);
    let way = making::way(&of, &made, broken);
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
    found.extend(making::horns(&of, &piece.made, budget)?);
    found.extend(making::template_corners(&piece, &BOTH, job.figures.template_cutter.mm, &job.tools, budget)?);
    // With an easing margin of SHARP or more an opening has no sharp points.
    if !matches!(job.corners, Corners::Ease { outside, .. } if outside >= sharp_point::SHARP) {
        let t = of.tools;
        let openings = [(&piece.recess, "recess", t.recess_offset()), (&piece.inlay, "inlay", t.inlay_offset())];
        found.extend(sharp_point::sharp_points(of.number, drawn, openings, budget)?);
    }
    let piece = match job.flatten {
        Some(tolerance) => Piece {
            recess: flattened(&piece.recess, tolerance, budget)?,
            inlay: flattened(&piece.inlay, tolerance, budget)?,
            ..piece
        },
        None => piece,
    };
    Ok((Some(piece), found))
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

/// Findings on differences between drawing and pieces that no other finding explains. In a debug build a finding whose
/// region is as drawn fails an assertion.
pub(super) fn account(pieces: &[Piece], fits: &[Fit], findings: &[Finding], job: &Job) -> Vec<Finding> {
    accounted(pieces.iter().map(|p| held(p, job)).collect(), fits, findings)
}

/// The same for a piece, a recess or a template in hand. The pieces are compared with the outline that follows from it.
pub(super) fn account_in_hand(pieces: &[Piece], fits: &[Fit], findings: &[Finding], job: &Job) -> Vec<Finding> {
    let held = pieces.iter().map(|p| account::Held { drawn: &p.made, ..held(p, job) });
    accounted(held.collect(), fits, findings)
}

fn accounted(held: Vec<account::Held>, fits: &[Fit], findings: &[Finding]) -> Vec<Finding> {
    let of = |h: account::Held| {
        debug_assert!(
            account::idle(&h, fits, findings).is_empty(),
            "findings without a difference: {:?}",
            account::idle(&h, fits, findings).iter().map(|f| (f.code, f.at, f.off)).collect::<Vec<_>>()
        );
        account::unexplained(&h, fits, findings)
    };
    each(held, of).into_iter().flatten().collect()
}

fn held<'a>(p: &'a Piece, job: &Job) -> account::Held<'a> {
    account::Held {
        outline: p.outline,
        drawn: &p.drawn,
        made: &p.made,
        cut: &p.cut,
        flatten: job.flatten.unwrap_or(0.0),
    }
}

/// The neck with the least measured width.
fn narrowest(necks: &[Finding]) -> Option<&Finding> {
    let width = |f: &&Finding| f.measured.unwrap_or(f64::INFINITY);
    necks.iter().filter(|f| f.code == Code::Neck && f.measured.is_some()).min_by(|a, b| width(a).total_cmp(&width(b)))
}

/// Turns a place that could not be certified into a finding. Any other error ends the run without a verdict.
pub(super) fn uncertified(e: GeomError) -> Result<Finding, AppError> {
    match e {
        GeomError::Uncertified { at, why } => Ok(outlines::uncertified(Some(at), why)),
        other => Err(other.into()),
    }
}

/// The openings of both pieces count.
pub(super) const BOTH: [Duty; 2] = [Duty::Recess, Duty::Inlay];

/// Findings on the drawing and its outlines, before panels are laid out. `served`: the pieces whose openings count.
pub(super) fn check(
    drawing: &Drawing,
    found: &Outlines,
    (pieces, served): (&[Piece], &[Duty]),
    planned: &[Finding],
    job: &Job,
    budget: &Budget,
) -> Result<Vec<Finding>, AppError> {
    let nothing = found.outlines.is_empty();
    let reported = !found.troubles.is_empty() || drawing.remarks.iter().any(|r| is_open(&r.kind));
    if nothing && (!reported || job.accept.contains(&Code::OpenLine)) {
        let flat = found.flat.iter().map(|f| format!("; {} encloses nothing", reading::named(&f.source))).collect();
        return Err(AppError::NoOutline { path: job.drawing.clone(), flat });
    }
    let mut findings = reading::findings(drawing, !nothing);
    findings.extend(outlines::findings(found, job.tools.recess.cutter));
    // With closed gaps accepted, an island of template that remains is a new finding, because nothing holds it.
    let accepted = job.accept.contains(&Code::ClosedGap);
    let gaps = planned.iter().filter(|f| !accepted && f.code == Code::ClosedGap && f.severity == Severity::Error);
    let gaps: Vec<usize> = gaps.filter_map(|f| f.outline).collect();
    match making::closed_gaps(pieces, served, &gaps, &job.tools, budget) {
        Ok(gaps) => findings.extend(gaps),
        Err(e) => findings.push(uncertified(e)?),
    }
    Ok(findings)
}

fn is_open(kind: &RemarkKind) -> bool {
    matches!(kind, RemarkKind::OpenLine { .. } | RemarkKind::Branching)
}

/// The panels and their openings. Empty if an error blocks the job.
pub(super) fn build(
    pieces: &[Piece],
    findings: &[Finding],
    centre_mark: Option<Point>,
    job: &Job,
    budget: &Budget,
) -> Result<Template, AppError> {
    let pieces = if findings.iter().any(Finding::blocks) { &[] } else { pieces };
    Ok(template(pieces, &job.tools, &job.panel, centre_mark, budget)?)
}

/// The fits, simulated from the bytes of the files and from what is in hand.
pub(super) fn prove(
    pieces: &[Piece],
    t: &Template,
    files: &[Machine],
    in_hand: Option<InHand>,
    job: &Job,
    prover: Prover,
    budget: &Budget,
) -> Result<Vec<Fit>, AppError> {
    if t.openings.is_empty() && !in_hand.is_some_and(|h| h.one_opening) {
        return Ok(Vec::new());
    }
    // An outline that fits no panel has an error and no opening to route.
    let has = |p: &&Piece| in_hand.is_some_and(|h| h.one_opening) || t.openings.iter().any(|o| o.outline == p.outline);
    let has: Vec<&Piece> = pieces.iter().filter(has).collect();
    let plan = Plan { in_hand, ..proof_plan(&has, t, proof::steps(&t.openings, &job.tools), job) };
    match prover(&plan, &face_files(files), budget) {
        Err(ProofError::Geom(GeomError::Stopped(s))) => Err(s.into()),
        other => Ok(other?),
    }
}

/// The input of the proof, without the shapes of the openings.
pub(super) fn proof_plan(pieces: &[&Piece], t: &Template, steps: Vec<proof::Step>, job: &Job) -> Plan {
    let wanted = |p: &&Piece| Wanted { number: p.outline, drawn: p.drawn.clone(), made: p.made.clone() };
    let unitless = match &job.task {
        Task::Make(Out { release: Release::R12, unit, .. }) => Some(unit.unit()),
        _ => None,
    };
    Plan {
        outlines: pieces.iter().map(wanted).collect(),
        gap: job.tools.gap,
        closed: job.corners.outside_radius(&job.tools).is_some(),
        flatten: job.flatten,
        saved: false,
        unitless,
        panels: t.panels.clone(),
        slots: t.openings.iter().map(Slot::from).collect(),
        steps,
        in_hand: None,
    }
}

pub(super) fn face_files(files: &[Machine]) -> Vec<FaceFile<'_>> {
    files.iter().map(|f| FaceFile { name: &f.name, bytes: &f.bytes, panel: f.panel, face: f.faces[0] }).collect()
}
