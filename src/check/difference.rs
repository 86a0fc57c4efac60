//! Where the pieces differ from the drawing: the regions, and a finding for each.
//!
//! In: one outline as drawn, the pieces as they come out of the router. Out: a finding for every region of the two
//! differences, each with its region. *Lost* is what is drawn and missing from a piece, *gained* what a piece has beyond the
//! drawing; both from [`FINDING_DEPTH`] deep. One reference for all: the drawing against what is cut. So no kind of place can
//! fall between two checks; [`super::account`] holds the findings to it once more.

use super::{Code, Finding, Severity, Subject, corner, narrow};
use crate::budget::Budget;
use crate::geom::edges::EdgeIndex;
use crate::geom::inside::Within;
use crate::geom::misfit::{Misfit, Misfits, filled, gained, lost, unreached};
use crate::geom::{Certified, GeomError, Point, Region, and, or};
use crate::template::ease::{AsCut, Corners};
use crate::threads::both;
use crate::tolerance::FINDING_DEPTH;
use std::sync::Arc;

/// Two deepest points of one corner are the same to this, mm.
const SAME_POINT: f64 = 1e-3;

/// The regions in which a piece differs from the drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct Differences {
    /// Drawn, but missing from the recess or from the inlay.
    pub lost: Vec<Misfit>,
    /// Not drawn, but part of the recess or of the inlay.
    pub gained: Vec<Misfit>,
    /// What both pieces have, and what either has.
    pub common: Certified<Region>,
    pub whole: Certified<Region>,
}

/// The regions of `S \ (recess ∩ inlay)` and of `(recess ∪ inlay) \ S`, the inlay with a gap of 0. `r` and `o`: the radii that
/// the tools make inside and outside, mm; they bound the widths that are looked for.
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
    let (common, whole) = if cut.nested {
        (recess.clone(), inlay.clone())
    } else {
        let (common, whole) = both(|| and(recess, inlay, budget), || or(recess, inlay, budget));
        (common?, whole?)
    };
    let (lost, gained) =
        both(|| lost(drawn, &common, r, FINDING_DEPTH, budget), || gained(drawn, &whole, o, FINDING_DEPTH, budget));
    Ok(Differences { lost: lost?, gained: gained?, common, whole })
}

/// What the tools themselves make of the drawing, before any margin: the figures of its corners.
#[derive(Clone, Debug, PartialEq)]
pub struct ByTools {
    /// The regions of `S \ open_r(S)`, r the recess cutter's radius.
    pub inside: Misfits,
    /// The regions of `close_o(S) \ S`, o the larger offset.
    pub outside: Misfits,
}

/// # Errors
/// As the operations.
pub fn by_tools(drawn: &Certified<Region>, of: &crate::kit::Tools, budget: &Budget) -> Result<ByTools, GeomError> {
    let (inside, outside) = both(
        || unreached(drawn, of.recess.cutter_radius(), FINDING_DEPTH, budget),
        || filled(drawn, of.largest_offset(), FINDING_DEPTH, budget),
    );
    Ok(ByTools { inside: inside?, outside: outside? })
}

/// A finding for each region, and where a limit is set, another for each that lies farther off than that. `made`: the
/// outline as it is made; wood that only the recess's cutter leaves in it is the matter of [`super::making::horns`].
#[must_use]
pub fn findings(of: &Subject, made: &Region, d: &Differences, tools: &ByTools) -> Vec<Finding> {
    let drawn = EdgeIndex::new(of.drawn);
    let made = EdgeIndex::new(made);
    let falls = of.cut.ways != 1;
    let joined = narrow::joins(of.drawn, &d.whole);
    // Eased outlines have no corner or neck of their own that the cutter does not reach, but for horns.
    let eased = matches!(of.corners, Corners::Ease { .. });
    let mut found = Vec::new();
    let sides = [(true, &d.lost, &tools.inside), (false, &d.gained, &tools.outside)];
    for (lost, parts, of_tool) in sides {
        let sharp = Sharp::new(of_tool);
        for m in parts {
            let region = Arc::new(m.region.clone());
            let mut told: Vec<Finding> = if m.is_corner() {
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
            told.extend(not_as_drawn(of.number, m, of.within));
            found.extend(told.into_iter().map(|f| f.owning(&region, m.depth)));
        }
    }
    found
}

/// The corners that a tool makes too round, to be found by where they lie.
struct Sharp<'a> {
    corners: Vec<(&'a Misfit, Point)>,
}

impl<'a> Sharp<'a> {
    fn new(of: &'a Misfits) -> Sharp<'a> {
        let tooled = EdgeIndex::new(&of.made);
        // Half way to what the tool makes lies inside the corner's region.
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
        // Where closing filled most of a corner again, only its point is left.
        let same = |c: &&(&'a Misfit, Point)| (c.0.at - m.at).hypot() < SAME_POINT;
        if of.is_empty() { self.corners.iter().find(same).map(|c| c.0).into_iter().collect() } else { of }
    }
}

/// Where a limit is set and a piece lies farther off than that, mm.
pub(super) fn not_as_drawn(outline: usize, m: &Misfit, within: Option<f64>) -> Option<Finding> {
    let within = within.filter(|w| m.depth > *w)?;
    let message = format!("{:.2} mm off the drawing here; --within allows {within} mm", m.depth);
    let help =
        "change the drawing or the tools here, allow more by --within, or take it as it comes by --accept not-as-drawn";
    let f = Finding::new(Code::NotAsDrawn, Severity::Error, message, help);
    Some(f.at(m.at).on(outline).covers(m.area).measures_over(m.depth, within))
}
