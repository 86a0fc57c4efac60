//! The results of the tools: parts too narrow, gaps that close, horns, corners of the template, and the fit of the
//! proof.
//!
//! In: outlines with their pieces, the tools, the fits of the proof, mm. Out: findings.

use super::{Code, Finding, Severity, Subject, holes};
use crate::budget::Budget;
use crate::geom::inside::contains;
use crate::geom::{Certified, GeomError, Point, Region, and, overlapping, shrink};
use crate::kit::Tools;
use crate::proof::{Fit, Measured};
use crate::template::Duty;
use crate::template::ease::{Corners, Proud, beyond, proud};
use crate::template::openings::Piece;
use crate::text::{Words, at_most, gap, plain, tool};
use crate::tolerance::{BESIDE, FINDING_DEPTH, PROUD, WIDE_GAP, WIDTH_SLACK};
use crate::words;
use std::cell::OnceCell;

/// Name of the outline as made. A gap that closes in it can be filled, if the maker accepts that.
const MADE: &str = "outline as made";

/// Name of the opening that serves the recess.
const RECESS: &str = "recess opening";

/// A finding if the cutter's path through the outline is not in one piece. Easing can open or close a neck. With
/// `broken` an error on a neck exists already, and this finding appears only if nothing would be left to make.
#[must_use]
pub fn way(of: &Subject, made: &Region, broken: bool) -> Option<Finding> {
    let cutter = of.tools.recess.cutter;
    let called = tool(of.tools.recess_called.cutter);
    let say = |message: Words, at: Option<Point>| {
        let help = "Draw it wider there, or use a smaller cutter with a bush to match (--cutter and --bush).";
        Finding::new(Code::Neck, Severity::Error, message, help).at(at).on(of.number)
    };
    let middle = of.drawn.bounds().map(|b| b.center());
    if made.is_empty() {
        let width = 2.0 * of.inside_radius();
        let with = if width > cutter + WIDTH_SLACK { " with its margin" } else { "" };
        let message = words!(
            "Nothing of the outline is left. The {} cutter{} needs a width of {}, and the outline is narrower \
             everywhere.",
            called,
            with,
            plain(width)
        );
        let mut f = say(message, middle).last_word();
        f.needed = Some(cutter);
        return Some(f);
    }
    match of.cut.ways {
        0 => {
            let message = words!("The {} cutter does not fit into the outline anywhere.", called);
            let mut f = say(message, middle).last_word();
            f.needed = Some(cutter);
            Some(f)
        }
        1 => None,
        _ if broken => None,
        n => {
            let message = words!(
                "The path of the {} cutter through the outline falls into {} parts. It cannot pass between them.",
                called,
                n
            );
            Some(say(message, of.cut.smallest_way.or(middle)))
        }
    }
}

/// Findings on new holes in a piece or its openings, and on outlines that lie in a gap that another outline loses. A
/// new hole comes from closing or growing and is a loose island of template. `reported` lists outlines whose gaps have
/// a finding already. `served` lists the pieces, recess or inlay, whose openings count.
///
/// # Errors
/// As the operations.
pub fn closed_gaps(
    pieces: &[Piece],
    served: &[Duty],
    reported: &[usize],
    tools: &Tools,
    budget: &Budget,
) -> Result<Vec<Finding>, GeomError> {
    let mut found = Vec::new();
    for p in pieces.iter().filter(|p| !reported.contains(&p.outline)) {
        let drawn = holes(&p.drawn).count();
        let recess = served.contains(&Duty::Recess).then_some((&p.recess, RECESS));
        let inlay = served.contains(&Duty::Inlay).then_some((&p.inlay, "inlay opening"));
        let worst =
            [Some((&p.made, MADE)), recess, inlay].into_iter().flatten().find(|(r, _)| holes(r).count() > drawn);
        if let Some((region, what)) = worst {
            let help = if what == MADE {
                "Draw the gap wider, or use a smaller inlay bush (--inlay-bush). Or fill the gap with --accept \
                 closed-gap."
            } else if what == RECESS {
                "Draw the gap wider, or use a smaller recess bush (--bush)."
            } else {
                "Draw the gap wider, or use a smaller inlay bush (--inlay-bush)."
            };
            for hole in holes(region) {
                let message = words!("A gap closes and leaves a loose island of template in the {}.", what);
                found.push(
                    Finding::new(Code::ClosedGap, Severity::Error, message, help)
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

/// The closing `close_o(S) = (S ⊕ o) ⊖ o` of each piece, for both offsets. It is what the bush follows, with corners
/// kept or eased. Calculated on first use.
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

    /// The closing of piece `i` by offset `duty`: 0 recess, 1 inlay.
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

/// A finding if one outline lies in a gap that the other loses. Openings that overlap go to different panels. But a gap
/// that the bush cannot follow is lost to the piece itself, and no panel helps there.
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
        let shared = and(closed.of(i, duty, budget)?, closed.of(j, duty, budget)?, budget)?;
        if let Some(at) = shared.bounds().map(|r| r.center()) {
            let message = words!(
                "The {} of outlines {} and {} run into one another: one lies in a gap that the other loses.",
                what,
                a.outline,
                b.outline
            );
            let help = "Use a smaller bush, which keeps the gap open. Or let in one first, then the other, each with \
                        --only and the same --at.";
            let f = Finding::new(Code::ClosedGap, Severity::Error, message, help);
            return Ok(Some(f.at(at).on(a.outline).covers(shared.area()).last_word()));
        }
    }
    Ok(None)
}

/// Errors on horns: places where the inlay is too large because the recess's cutter does not reach. Only with eased
/// corners. In the other modes the findings on corners say what to chisel or pare.
///
/// # Errors
/// As the operations.
pub fn horns(of: &Subject, made: &Region, budget: &Budget) -> Result<Vec<Finding>, GeomError> {
    if !matches!(of.corners, Corners::Ease { .. }) {
        return Ok(Vec::new());
    }
    let found = beyond(made, &of.cut.recess, of.tools.recess.cutter_radius(), PROUD, budget)?;
    let say = |p: Proud| {
        let message = words!(
            "The inlay is {} larger than the recess: the {} cutter of the recess does not reach that far.",
            gap(p.depth),
            tool(of.tools.recess_called.cutter)
        );
        let help = "Close the narrow gap beside it in the drawing, or draw it wider. Or use a smaller inlay bush \
                    (--inlay-bush).";
        Finding::new(Code::Fit, Severity::Error, message, help).at(p.at).on(of.number).measures(0.0, p.depth)
    };
    Ok(found.into_iter().map(say).collect())
}

/// Findings on corners of the openings that the template's cutter leaves too round for the bush. `cutter` is its
/// diameter, mm. `served` lists the pieces, recess or inlay, whose openings are cut.
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
        // Rounding by no more than the bush's radius changes nothing: (open_a T) ⊖ R = T ⊖ R.
        if cutter <= bush + WIDTH_SLACK {
            continue;
        }
        for p in proud(opening, cutter / 2.0, FINDING_DEPTH, budget)? {
            let message = words!(
                "The template's {} cutter leaves a corner of the {} opening too round for the {} bush.",
                tool(cutter),
                what,
                tool(bush)
            );
            let help = words!("Cut the template with a cutter of at most {} (--template-cutter).", at_most(bush));
            let f = Finding::new(Code::TemplateCorner, Severity::Warning, message, help);
            found.push(f.at(p.at).on(piece.outline).measures(bush, cutter));
        }
    }
    Ok(found)
}

/// Remedy for an inlay that is too large.
const TOO_LARGE: &str = "Set a wider gap with --gap, or ease the drawing there.";
/// Remedy for a gap that is too wide.
const TOO_WIDE: &str = "Set a smaller gap with --gap, or draw that place rounder.";

/// Findings on the fits of the proof, and a note if they rest on nominal sizes. `found_before` are the findings so far.
/// With sharp corners the maker chisels or pares the misfit at them, and the findings on corners say so. A misfit
/// elsewhere gets a finding here, from the least depth of findings on corners.
#[must_use]
pub fn fits(fits: &[Fit], corners: Corners, measured: bool, set_gap: f64, found_before: &[Finding]) -> Vec<Finding> {
    let mut found = Vec::new();
    let eased = matches!(corners, Corners::Ease { .. });
    let slack = if eased { WIDTH_SLACK } else { FINDING_DEPTH };
    for f in fits {
        let own = |m: &&Measured| eased || !found_before.iter().any(|t| belongs(m, f.outline, set_gap, t));
        let by = |a: &&Measured, b: &&Measured| a.mm.total_cmp(&b.mm);
        if let Some(m) = f.binds.iter().filter(|m| m.mm < -slack).filter(own).min_by(by) {
            let message = words!("The inlay is {} too large and does not go in.", gap(-m.mm));
            let help = TOO_LARGE;
            let one = Finding::new(Code::Fit, Severity::Error, message, help);
            found.push(one.at(m.at).on(f.outline).measures(m.mm, 0.0));
        }
        if let Some(m) = f.gapes.iter().filter(|m| m.mm > WIDE_GAP + slack).filter(own).max_by(by) {
            let message = words!("The gap between recess and inlay is {}, and the glue line shows.", gap(m.mm));
            let help = TOO_WIDE;
            let one = Finding::new(Code::Fit, Severity::Warning, message, help).measuring(m.mm);
            found.push(one.at(m.at).on(f.outline));
        }
    }
    if !fits.is_empty() && !measured {
        found.push(Finding::new(
            Code::NotMeasured,
            Severity::Note,
            "The fit is calculated from the nominal sizes of bush and cutter.",
            "Make a trial in scrap first. With letin testpiece you can measure bush and cutter.",
        ));
    }
    found
}

/// True if a misfit of the two pieces lies in the region of a finding on a corner or a narrow part, or within the gap
/// and [`BESIDE`] of it.
fn belongs(m: &Measured, outline: usize, gap: f64, t: &Finding) -> bool {
    let narrow = [Code::InsideCorner, Code::OutsideCorner, Code::Neck, Code::ClosedGap].contains(&t.code);
    let beside = gap + BESIDE;
    let Some(region) = t.region.as_ref().filter(|_| narrow && t.outline == Some(outline)) else { return false };
    let near = region.bounds().is_some_and(|b| b.inflate(beside, beside).contains(m.at));
    near && (contains(region, m.at) || region.nearest(m.at).is_some_and(|n| n.0 <= beside))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::check::difference::{by_tools, differences, findings};
    use crate::geom::{Ring, Segment};
    use crate::kit::Pair;
    use crate::template::ease::{AsCut, as_cut};

    /// Two squares joined by a waist between two arcs of radius 14. `half`: half the width of the waist, mm.
    fn waisted(half: f64) -> Certified<Region> {
        let sagitta = 20.0 - half;
        let c = (14f64.powi(2) - (sagitta - 14.0).powi(2)).sqrt();
        let p = |x: f64, y: f64| Point::new(x, y);
        let bulge = -sagitta / c;
        let ring = Ring::new(vec![
            Segment::line(p(-40.0, -20.0), p(-c, -20.0)),
            Segment::from_bulge(p(-c, -20.0), p(c, -20.0), bulge),
            Segment::line(p(c, -20.0), p(40.0, -20.0)),
            Segment::line(p(40.0, -20.0), p(40.0, 20.0)),
            Segment::line(p(40.0, 20.0), p(c, 20.0)),
            Segment::from_bulge(p(c, 20.0), p(-c, 20.0), bulge),
            Segment::line(p(-c, 20.0), p(-40.0, 20.0)),
            Segment::line(p(-40.0, 20.0), p(-40.0, -20.0)),
        ]);
        Certified::for_test(Region::new(vec![ring]))
    }

    fn tools() -> Tools {
        let pair = Pair { bush: 20.0, cutter: 6.0 };
        Tools::new(pair, pair, 0.05).unwrap()
    }

    /// The cutter comes so near from both sides that the pieces lose less than any finding reports. Yet it cannot pass.
    #[test]
    fn a_waist_hardly_too_narrow_for_the_cutter_is_an_error_of_the_path_alone() {
        let (tools, corners, budget) = (tools(), Corners::Keep, Budget::unlimited());
        for (half, falls) in [(2.9965, true), (3.01, false)] {
            let drawn = waisted(half);
            let cut = as_cut(&drawn, corners, &tools, &budget).unwrap();
            let of = Subject { number: 1, drawn: &drawn, cut: &cut, corners, tools: &tools, within: None };
            let differ = differences(&drawn, &cut, (of.inside_radius(), of.outside_radius()), &budget).unwrap();
            let others = findings(&of, &drawn, &differ, &by_tools(&drawn, &tools, &budget).unwrap());
            assert!(others.iter().all(|f| f.code != Code::Neck && f.severity != Severity::Error), "{half}: {others:?}");
            assert!(horns(&of, &drawn, &budget).unwrap().is_empty());
            let found = way(&of, &drawn, false).map(|f| (f.code, f.severity, f.last_word));
            assert_eq!(found, falls.then_some((Code::Neck, Severity::Error, false)), "{half}");
            // With an error on a neck already reported, there is nothing to add.
            assert_eq!(way(&of, &drawn, true), None);
        }
    }

    #[test]
    fn an_outline_of_which_nothing_is_left_is_always_an_error() {
        let (tools, drawn, corners) = (tools(), waisted(3.01), Corners::Keep);
        let (recess, inlay) = (drawn.clone(), drawn.clone());
        let cut = AsCut { recess, inlay, nested: true, ways: 1, smallest_way: None };
        let of = |cut| Subject { number: 1, drawn: &drawn, cut, corners, tools: &tools, within: None };
        let nowhere = AsCut { ways: 0, ..cut.clone() };
        for broken in [false, true] {
            assert_eq!(way(&of(&cut), &drawn, broken), None);
            let empty = way(&of(&cut), &Region::default(), broken).unwrap();
            let unreached = way(&of(&nowhere), &drawn, broken).unwrap();
            for f in [empty, unreached] {
                assert_eq!((f.code, f.severity, f.last_word), (Code::Neck, Severity::Error, true));
            }
        }
    }
}
