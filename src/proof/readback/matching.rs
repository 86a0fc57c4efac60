//! Matches the closed lines of a file with the expected openings.
//!
//! In: the closed lines of the openings' layer, and the expected openings. Out: the region of each opening, in the
//! requested order. A line belongs to the opening whose outline it follows at the correct offset, measured along its
//! edge from the outline as made. Clearing openings follow no outline: they are distinguished by the area stated in the
//! document, else by their order. An opening may have several parts, if its outline fell apart and that was accepted.
//! Errors, with the place: a line that matches no opening, and an opening without a line.

use super::shown;
use crate::budget::Budget;
use crate::geom::{Certified, FillRule, Point, Region, Ring, enclosed};
use crate::panel::Panel;
use crate::proof::plan::{FaceFile, Plan, Slot};
use crate::proof::{Edged, ProofError};
use crate::tolerance::NO_OPENING;

/// Most edges measured to identify the opening of a line.
const LOOKED_AT: usize = 64;

/// An opening with the outline that it follows, in the frame of the file.
struct OpeningPlace<'p> {
    slot: &'p Slot,
    /// The outline and the offset, mm; `None` for a clearing opening.
    round: Option<(Edged<'static>, f64)>,
}

impl OpeningPlace<'_> {
    /// The greatest measured deviation of a line from this opening, mm.
    fn off(&self, part: &Region) -> Option<f64> {
        let (made, offset) = self.round.as_ref()?;
        let edges: Vec<_> = part.segments().collect();
        let step = edges.len().div_ceil(LOOKED_AT).max(1);
        let points = edges.iter().step_by(step).map(|s| s.at(0.5));
        let off = |p: Point| made.index.nearest(p).map_or(f64::INFINITY, |n| (n.distance - offset).abs());
        Some(points.map(off).fold(0.0, f64::max))
    }
}

pub(super) fn matched(
    cut: Vec<Certified<Region>>,
    wanted: &[&Slot],
    file: &FaceFile,
    panel: &Panel,
    plan: &Plan,
    budget: &Budget,
) -> Result<Vec<Certified<Region>>, ProofError> {
    let refuse = |what: String| ProofError::File { name: file.name.to_owned(), what };
    let counts = format!("it has {} openings to cut but should have {}", cut.len(), wanted.len());
    let places: Vec<OpeningPlace> = wanted.iter().map(|slot| place(slot, file, panel, plan)).collect();
    let clearings: Vec<usize> = (0..places.len()).filter(|&i| places[i].round.is_none()).collect();
    let mut parts: Vec<Vec<&Certified<Region>>> = vec![Vec::new(); wanted.len()];
    let mut others: Vec<&Certified<Region>> = Vec::new();
    for part in &cut {
        plan.check(budget)?;
        let offs = places.iter().enumerate().filter_map(|(i, p)| Some((i, p.off(part)?)));
        match offs.min_by(|a, b| a.1.total_cmp(&b.1)) {
            // A single line for a single opening is that opening, however wrong; the comparison reports the deviation.
            Some((i, off)) if off <= NO_OPENING || (cut.len() == wanted.len() && clearings.is_empty()) => {
                parts[i].push(part);
            }
            _ => others.push(part),
        }
    }
    if others.len() > clearings.len() {
        // Report the last one: additional lines usually come last.
        let at = others.last().and_then(|r| r.bounds()).map_or(Point::ORIGIN, |b| b.center());
        return Err(refuse(format!("{counts}: the one near {:.2}, {:.2} mm matches none of them", at.x, at.y)));
    }
    for (slot, part) in by_area(&clearings, others, &places) {
        parts[slot].push(part);
    }
    if let Some(i) = parts.iter().position(Vec::is_empty) {
        return Err(refuse(format!("{counts}: {} is missing", wanted[i].id)));
    }
    let whole = |parts: Vec<&Certified<Region>>| match parts[..] {
        [one] => Ok(one.clone()),
        _ => {
            let rings: Vec<Ring> = parts.iter().flat_map(|p| p.rings.iter().cloned()).collect();
            Ok(enclosed(&rings, FillRule::EvenOdd, budget)?)
        }
    };
    parts.into_iter().map(whole).collect()
}

fn place<'p>(slot: &'p Slot, file: &FaceFile, panel: &Panel, plan: &Plan) -> OpeningPlace<'p> {
    let of = plan.outlines.iter().find(|o| o.number == slot.outline);
    let round = of
        .zip(plan.offset(slot))
        .map(|(of, offset)| (Edged::owned(of.made.under_similarity(shown(slot, file, panel))), offset));
    OpeningPlace { slot, round }
}

/// Assigns lines to clearing openings: by nearest area, or in order if no area is stated.
fn by_area<'r>(
    clearings: &[usize],
    mut lines: Vec<&'r Certified<Region>>,
    places: &[OpeningPlace],
) -> Vec<(usize, &'r Certified<Region>)> {
    let mut out = Vec::new();
    for &i in clearings {
        if lines.is_empty() {
            break;
        }
        let off = |r: &Certified<Region>| places[i].slot.area.map_or(0.0, |a| (r.area() - a).abs());
        // Of equals the first.
        let nearest = (0..lines.len()).min_by(|&a, &b| off(lines[a]).total_cmp(&off(lines[b]))).unwrap_or(0);
        out.push((i, lines.remove(nearest)));
    }
    out
}
