//! What the tools make of the outlines: parts too narrow, gaps that close, horns, and the fit of the proof.

use super::{Code, Finding, Severity, Subject, holes};
use crate::budget::Budget;
use crate::geom::inside::contains;
use crate::geom::{Certified, GeomError, Point, Region, and, overlapping, shrink};
use crate::kit::Tools;
use crate::proof::{Fit, Measured};
use crate::template::Duty;
use crate::template::ease::{Corners, Proud, beyond, proud};
use crate::template::openings::Piece;
use crate::tolerance::{FINDING_DEPTH, PROUD, WIDE_GAP, WIDTH_SLACK};
use std::cell::OnceCell;

/// Gaps that close in it can be filled, if the maker accepts that.
const MADE: &str = "outline as made";

/// How far beside a region, and beyond the gap, a misfit of the pieces may lie and still belong to it, mm: it is measured from
/// points of the pieces' edges, which run along the region's.
const BESIDE: f64 = 0.05;

/// Whether the way of the cutter through the outline is in one piece: easing can open or close a neck. `told`: necks that are
/// errors are told already; then this is said again only where nothing would be left to make.
#[must_use]
pub fn way(of: &Subject, made: &Region, told: bool) -> Option<Finding> {
    let cutter = of.tools.recess.cutter;
    let say = |message: String, at: Option<Point>| {
        let help = "draw it wider there, or take a smaller cutter (with its bush) by --cutter and --bush";
        Finding::new(Code::Neck, Severity::Error, message, help).at(at).on(of.number)
    };
    let middle = of.drawn.bounds().map(|b| b.center());
    if made.is_empty() {
        let message = format!("nothing of the outline is left: it is narrower than the {cutter} mm cutter everywhere");
        let mut f = say(message, middle).last_word();
        f.needed = Some(cutter);
        return Some(f);
    }
    match of.cut.ways {
        0 => {
            let message = format!("the {cutter} mm cutter does not fit into the outline anywhere");
            let mut f = say(message, middle).last_word();
            f.needed = Some(cutter);
            Some(f)
        }
        1 => None,
        _ if told => None,
        n => {
            let message =
                format!("the {cutter} mm cutter cannot pass through the outline: its way falls into {n} parts");
            Some(say(message, of.cut.smallest_way.or(middle)))
        }
    }
}

/// Holes that closing or growing made where the outline has none, and outlines one of which lies in a gap that the other
/// one loses. `told`: outlines with gaps that are told already. `served`: the pieces, recess or inlay, whose openings count.
///
/// # Errors
/// As the operations.
pub fn closed_gaps(
    pieces: &[Piece],
    served: &[Duty],
    told: &[usize],
    tools: &Tools,
    budget: &Budget,
) -> Result<Vec<Finding>, GeomError> {
    let mut found = Vec::new();
    for p in pieces.iter().filter(|p| !told.contains(&p.outline)) {
        let drawn = holes(&p.drawn).count();
        let recess = served.contains(&Duty::Recess).then_some((&p.recess, "recess opening"));
        let inlay = served.contains(&Duty::Inlay).then_some((&p.inlay, "inlay opening"));
        let worst =
            [Some((&p.made, MADE)), recess, inlay].into_iter().flatten().find(|(r, _)| holes(r).count() > drawn);
        if let Some((region, what)) = worst {
            for hole in holes(region) {
                found.push(
                    Finding::new(
                        Code::ClosedGap,
                        Severity::Error,
                        format!("a gap closes, and the {what} keeps a loose island of template here"),
                        "draw the gap wider, or take a smaller bush for the inlay by --inlay-bush",
                    )
                    .at(hole.bounds().map(|b| b.center()))
                    .on(p.outline)
                    .covers(hole.area().abs())
                    .final_unless(what == MADE),
                );
            }
        }
    }
    let closed = Closed::new(pieces, tools);
    for pair in overlapping(&pieces.iter().map(|p| p.made.bounds()).collect::<Vec<_>>()) {
        found.extend(joined(&closed, pair, served, budget)?);
    }
    Ok(found)
}

/// What comes out of the openings of each piece: `close_o(S) = (S ⊕ o) ⊖ o`, corners kept or not; worked out when first
/// asked for.
struct Closed<'a> {
    pieces: &'a [Piece],
    offsets: [(Duty, f64); 2],
    known: Vec<[OnceCell<Certified<Region>>; 2]>,
}

impl Closed<'_> {
    fn new<'a>(pieces: &'a [Piece], tools: &Tools) -> Closed<'a> {
        let offsets = [(Duty::Recess, tools.recess_offset()), (Duty::Inlay, tools.inlay_offset())];
        Closed { pieces, offsets, known: pieces.iter().map(|_| [OnceCell::new(), OnceCell::new()]).collect() }
    }

    /// Of the `i`th piece, by the first of the offsets or the second.
    fn of(&self, i: usize, duty: usize, budget: &Budget) -> Result<&Certified<Region>, GeomError> {
        let (cell, piece) = (&self.known[i][duty], &self.pieces[i]);
        if let Some(known) = cell.get() {
            return Ok(known);
        }
        let opening = if duty == 0 { &piece.recess } else { &piece.inlay };
        let closed = shrink(opening, self.offsets[duty].1, budget)?;
        Ok(cell.get_or_init(|| closed))
    }
}

/// Openings that run into one another go to panels of their own; but what the bush cannot follow is lost to the piece
/// itself, and no panel helps where another outline lies in it.
fn joined(
    closed: &Closed,
    (i, j): (usize, usize),
    served: &[Duty],
    budget: &Budget,
) -> Result<Option<Finding>, GeomError> {
    let (a, b) = (&closed.pieces[i], &closed.pieces[j]);
    for (duty, what) in ["recesses", "inlays"].into_iter().enumerate() {
        if !served.contains(&closed.offsets[duty].0) {
            continue;
        }
        let common = and(closed.of(i, duty, budget)?, closed.of(j, duty, budget)?, budget)?;
        if let Some(at) = common.bounds().map(|r| r.center()) {
            let message = format!(
                "the {what} of outlines {} and {} run into one another: one lies in a gap that the other one loses",
                a.outline, b.outline
            );
            let help = "take a smaller bush, so that the gap stays open; or let one in first, then the other: choose one \
                        with --only and give both the same --at";
            let f = Finding::new(Code::ClosedGap, Severity::Error, message, help);
            return Ok(Some(f.at(at).on(a.outline).covers(common.area()).last_word()));
        }
    }
    Ok(None)
}

/// Horns: where the inlay would stand proud because the recess's cutter does not reach. Only where corners are eased;
/// else they are told to be chiselled or pared.
///
/// # Errors
/// As the operations.
pub fn horns(of: &Subject, made: &Region, budget: &Budget) -> Result<Vec<Finding>, GeomError> {
    if !matches!(of.corners, Corners::Ease { .. }) {
        return Ok(Vec::new());
    }
    let found = beyond(made, &of.cut.recess, of.tools.recess.cutter_radius(), PROUD, budget)?;
    let say = |p: Proud| {
        Finding::new(
            Code::Fit,
            Severity::Error,
            format!("the inlay would stand {:.2} mm proud here: the recess's cutter does not reach this far", p.depth),
            "close the narrow gap beside it in the drawing, or draw it wider; or take a smaller bush by --inlay-bush",
        )
        .at(p.at)
        .on(of.number)
        .measures(0.0, p.depth)
    };
    Ok(found.into_iter().map(say).collect())
}

/// Corners that the template's cutter (diameter, mm) leaves so round that the bush does not come into them. `served`: the
/// pieces, recess or inlay, whose openings are cut.
///
/// # Errors
/// As the operations.
pub fn template_corners(
    piece: &Piece,
    served: &[Duty],
    cutter: f64,
    tools: &Tools,
    budget: &Budget,
) -> Result<Vec<Finding>, GeomError> {
    let mut found = Vec::new();
    let recess = (Duty::Recess, &piece.recess, tools.recess.bush, "recess");
    let inlay = (Duty::Inlay, &piece.inlay, tools.inlay.bush, "inlay");
    for (_, opening, bush, what) in [recess, inlay].into_iter().filter(|s| served.contains(&s.0)) {
        // Rounding an opening's corners to no more than the bush's own radius changes nothing: (open_a T) ⊖ R = T ⊖ R.
        if cutter <= bush + WIDTH_SLACK {
            continue;
        }
        for p in proud(opening, cutter / 2.0, FINDING_DEPTH, budget)? {
            let message = format!(
                "the template's {cutter} mm cutter leaves a corner of the {what} opening rounder than the {bush} mm bush"
            );
            let help = "cut the template with a cutter no thicker than the bush, and say so with --template-cutter";
            let f = Finding::new(Code::TemplateCorner, Severity::Warning, message, help);
            found.push(f.at(p.at).on(piece.outline).measures(bush, cutter));
        }
    }
    Ok(found)
}

/// What the proof says of the fit, and on what it rests. `told`: what is found already. With corners left sharp the
/// misfit at them is what the maker chose to chisel or pare, and told there: only what lies elsewhere is told here, from
/// the depth on from which corners are told.
#[must_use]
pub fn fits(fits: &[Fit], corners: Corners, measured: bool, gap: f64, told: &[Finding]) -> Vec<Finding> {
    let mut found = Vec::new();
    let eased = matches!(corners, Corners::Ease { .. });
    let slack = if eased { WIDTH_SLACK } else { FINDING_DEPTH };
    for f in fits {
        let own = |m: &&Measured| eased || !told.iter().any(|t| belongs(m, f.outline, gap, t));
        let by = |a: &&Measured, b: &&Measured| a.mm.total_cmp(&b.mm);
        if let Some(m) = f.binds.iter().filter(|m| m.mm < -slack).filter(own).min_by(by) {
            let message = format!("the inlay is {:.3} mm too large here and would not go in", -m.mm);
            let help = "set a wider --gap, or ease the drawing at this place";
            let one = Finding::new(Code::Fit, Severity::Error, message, help);
            found.push(one.at(m.at).on(f.outline).measures(m.mm, 0.0));
        }
        if let Some(m) = f.gapes.iter().filter(|m| m.mm > WIDE_GAP + slack).filter(own).max_by(by) {
            let message = format!("the gap between recess and inlay is {:.3} mm here: a glue line that shows", m.mm);
            let help = "set a smaller --gap, or draw this place rounder";
            let one = Finding::new(Code::Fit, Severity::Warning, message, help).measuring(m.mm);
            found.push(one.at(m.at).on(f.outline));
        }
    }
    if !fits.is_empty() && !measured {
        found.push(Finding::new(
            Code::NotMeasured,
            Severity::Note,
            "the fit is worked out from the nominal sizes of bush and cutter",
            "make a trial recess in scrap first, and the inlay to fit it; letin testpiece measures bush and cutter",
        ));
    }
    found
}

/// Whether a misfit of the two pieces lies in the region that a finding of a corner or a narrow part speaks of, or beside it
/// by no more than the pieces are apart anyway.
fn belongs(m: &Measured, outline: usize, gap: f64, t: &Finding) -> bool {
    let narrow = [Code::InsideCorner, Code::OutsideCorner, Code::Neck, Code::ClosedGap].contains(&t.code);
    let beside = gap + BESIDE;
    let Some(region) = t.region.as_ref().filter(|_| narrow && t.outline == Some(outline)) else { return false };
    let near = region.bounds().is_some_and(|b| b.inflate(beside, beside).contains(m.at));
    near && (contains(region, m.at) || region.nearest(m.at).is_some_and(|n| n.0 <= beside))
}
