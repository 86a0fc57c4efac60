//! Regions where the pieces differ from the drawing, with a finding for each.
//!
//! In: one outline as drawn, and the pieces as the router cuts them. Out: a finding for every region of the two
//! differences. *Lost* is drawn but missing from a piece. *Gained* is part of a piece but not drawn. Both count from
//! [`FINDING_DEPTH`] deep. All checks on corners, necks and gaps work on these regions, so they cover every difference.
//! [`super::account`] tests that.

use super::{Code, Finding, Severity, Subject, corner, narrow};
use crate::budget::Budget;
use crate::geom::edges::EdgeIndex;
use crate::geom::inside::Within;
use crate::geom::misfit::{Misfit, Misfits, filled, gained, lost, unreached};
use crate::geom::{Certified, GeomError, Point, Region, and, or};
use crate::template::ease::{AsCut, Corners};
use crate::text::{at_least, at_most, typed_up};
use crate::threads::both;
use crate::tolerance::{FINDING_DEPTH, SAME_CORNER};
use crate::words;
use std::sync::Arc;

/// The regions in which a piece differs from the drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Differences {
    /// Drawn, but missing from the recess or the inlay.
    pub lost: Vec<Misfit>,
    /// Not drawn, but part of the recess or the inlay.
    pub gained: Vec<Misfit>,
    /// Recess ∩ inlay.
    pub shared: Certified<Region>,
    /// Recess ∪ inlay.
    pub whole: Certified<Region>,
}

/// The regions of `S \ (recess ∩ inlay)` and `(recess ∪ inlay) \ S`, with the inlay at a gap of 0. `r` and `o` are the
/// radii that the tools make inside and outside, mm. They bound the search for widths.
///
/// # Errors
/// As the operations.
pub fn differences(
    drawn: &Certified<Region>,
    cut: &AsCut,
    (r, o): (f64, f64),
    budget: &Budget,
) -> Result<Differences, GeomError> {
    let (recess, inlay) = (&cut.recess, &cut.inlay);
    let (shared, whole) = if cut.nested {
        (recess.clone(), inlay.clone())
    } else {
        let (shared, whole) = both(|| and(recess, inlay, budget), || or(recess, inlay, budget));
        (shared?, whole?)
    };
    let (lost, gained) =
        both(|| lost(drawn, &shared, r, FINDING_DEPTH, budget), || gained(drawn, &whole, o, FINDING_DEPTH, budget));
    Ok(Differences { lost: lost?, gained: gained?, shared, whole })
}

/// The drawing as the tools alone make it, without any margin. It gives the figures of the corners.
#[derive(Clone, Debug, PartialEq)]
pub struct ByTools {
    /// The regions of `S \ open_r(S)`. r is the recess cutter's radius.
    pub inside: Misfits,
    /// The regions of `close_o(S) \ S`. o is the larger offset.
    pub outside: Misfits,
}

/// Opens and closes the drawing with the radii of the tools.
///
/// # Errors
/// As the operations.
pub fn by_tools(drawn: &Certified<Region>, of: &crate::kit::Tools, budget: &Budget) -> Result<ByTools, GeomError> {
    let (inside, outside) = both(
        || unreached(drawn, of.recess.cutter_radius(), FINDING_DEPTH, budget),
        || filled(drawn, of.largest_offset(), FINDING_DEPTH, budget),
    );
    Ok(ByTools { inside: inside?, outside: outside? })
}

/// A finding for each region. With a limit ([`Subject::within`]) each region beyond it gets a second finding. `made` is
/// the outline as made. [`super::fit::horns`] checks wood in it that only the recess's cutter leaves.
#[must_use]
pub fn findings(of: &Subject, made: &Region, d: &Differences, tools: &ByTools) -> Vec<Finding> {
    let drawn = EdgeIndex::new(of.drawn);
    let made = EdgeIndex::new(made);
    let falls = of.cut.ways != 1;
    let joined = narrow::joins(of.drawn, &d.whole);
    // In an eased outline horns are the only places that the cutter does not reach.
    let eased = matches!(of.corners, Corners::Ease { .. });
    let mut found = Vec::new();
    let sides = [(true, &d.lost, &tools.inside), (false, &d.gained, &tools.outside)];
    for (lost, parts, of_tool) in sides {
        let sharp = Sharp::new(of_tool);
        for m in parts {
            let region = Arc::new(m.region.clone());
            let mut all: Vec<Finding> = if m.is_corner() {
                let corners = sharp.within(m);
                let one = |t: Option<&Misfit>| {
                    let c = corner::Corner { of, tight: t, moved: m, drawn: &drawn };
                    if lost { c.inside() } else { c.outside() }
                };
                if corners.is_empty() { vec![one(None)] } else { corners.into_iter().map(|t| one(Some(t))).collect() }
            } else if lost && eased && made.nearest(m.at).is_some_and(|n| n.inside || n.distance < FINDING_DEPTH) {
                vec![narrow::horn(of, m)]
            } else if lost {
                vec![narrow::neck(of, m, falls)]
            } else {
                vec![narrow::gap(of, m, joined)]
            };
            all.extend(not_as_drawn(of.number, m, of.within));
            found.extend(all.into_iter().map(|f| f.owning(&region, m.depth)));
        }
    }
    found
}

/// The corners that a tool makes too round, sorted by x for the search.
struct Sharp<'a> {
    corners: Vec<(&'a Misfit, Point)>,
}

impl<'a> Sharp<'a> {
    fn new(of: &'a Misfits) -> Sharp<'a> {
        let tooled = EdgeIndex::new(&of.made);
        // The midpoint towards the tool's result lies inside the corner's region.
        let middle = |m: &Misfit| tooled.nearest(m.at).map_or(m.at, |n| m.at.midpoint(n.at));
        let mut corners: Vec<_> = of.parts.iter().filter(|m| m.is_corner()).map(|m| (m, middle(m))).collect();
        corners.sort_by(|a, b| a.1.x.total_cmp(&b.1.x));
        Sharp { corners }
    }

    fn within(&self, m: &Misfit) -> Vec<&'a Misfit> {
        let Some(b) = m.region.bounds() else { return Vec::new() };
        let within = Within::new(&m.region);
        let first = self.corners.partition_point(|c| c.1.x < b.x0);
        let near = self.corners[first..].iter().take_while(|c| c.1.x <= b.x1);
        let of: Vec<&Misfit> = near.filter(|c| within.contains(c.1)).map(|c| c.0).collect();
        // If closing fills most of a corner again, only its point remains.
        let same = |c: &&(&'a Misfit, Point)| (c.0.at - m.at).hypot() < SAME_CORNER;
        if of.is_empty() { self.corners.iter().find(same).map(|c| c.0).into_iter().collect() } else { of }
    }
}

/// The finding if the piece lies farther from the drawing than the limit `within`, mm.
pub(super) fn not_as_drawn(outline: usize, m: &Misfit, within: Option<f64>) -> Option<Finding> {
    let within = within.filter(|w| m.depth > *w)?;
    let message = words!("A piece is {} off the drawing, and --within allows {}.", at_least(m.depth), at_most(within));
    let help = words!(
        "Change the drawing or the tools there. Or allow more with --within {}, or make it all the same with --accept \
         not-as-drawn.",
        typed_up(m.depth)
    );
    let f = Finding::new(Code::NotAsDrawn, Severity::Error, message, help);
    Some(f.at(m.at).on(outline).covers(m.area).measures_over(m.depth, within))
}
