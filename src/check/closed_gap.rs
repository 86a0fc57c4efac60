//! Gaps of an outline that close in a piece or its openings.
//!
//! In: pieces with their openings, certified, and the tools, mm. Out: errors. A closed gap leaves a loose island of
//! template, or swallows another outline.

use super::{Code, Finding, Severity, holes};
use crate::budget::Budget;
use crate::geom::{Certified, GeomError, Region, and, overlapping, shrink};
use crate::kit::Tools;
use crate::template::Duty;
use crate::template::Piece;
use crate::words;
use std::cell::OnceCell;

/// Name of the outline as made. A gap that closes in it can be filled, if the maker accepts that.
const MADE: &str = "outline as made";

/// Name of the opening that serves the recess.
const RECESS: &str = "recess opening";

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
    fn closing(&self, i: usize, duty: usize, budget: &Budget) -> Result<&Certified<Region>, GeomError> {
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
        let shared = and(closed.closing(i, duty, budget)?, closed.closing(j, duty, budget)?, budget)?;
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
