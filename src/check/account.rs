//! Tests that every difference between a piece and its drawing has a finding.
//!
//! In: an outline as drawn or as in hand, its pieces, and all findings on it. Out: an error for each place where a
//! piece differs and no finding covers the place.
//!
//! The test compares what is cut. These are the recess as the proof cuts it from the written bytes, the inlay's outline
//! and the outline as made. Where nothing is written the recess is the calculated one. The second engine
//! ([`crate::geom::apart`]) does the comparison. It shares no code with the checks.
//!
//! A difference is within tolerance if a disc of radius [`FINDING_DEPTH`] does not fit into it. This drops needles and
//! slivers narrower than twice that.

use super::{Code, Finding, Severity};
use crate::geom::Region;
use crate::geom::apart::{Differing, Spot, unknown};
use crate::proof::Fit;
use crate::template::ease::AsCut;
use crate::text::{Words, plain};
use crate::tolerance::{FINDING_DEPTH, IDLE};
use crate::words;

/// One outline with its pieces.
#[derive(Clone, Copy, Debug)]
pub struct Held<'a> {
    /// Number of the outline.
    pub outline: usize,
    pub drawn: &'a Region,
    pub made: &'a Region,
    pub cut: &'a AsCut,
    /// Greatest distance of the chords in the openings from their arcs, mm. 0 without `--flatten`.
    pub flatten: f64,
}

impl<'a> Held<'a> {
    /// The pieces: name, region, and the tolerance that chords in place of arcs add on either side, mm.
    fn pieces(&self, fits: &'a [Fit]) -> [(&'static str, &'a Region, f64); 3]
    where
        Self: 'a,
    {
        let proved = fits.iter().find(|f| f.outline == self.outline).map(|f| &f.joint.recess);
        let (recess, chords) = proved.map_or((&*self.cut.recess, 0.0), |k| (k, self.flatten));
        [("recess", recess, chords), ("inlay", &self.cut.inlay, 0.0), ("outline as made", self.made, 0.0)]
    }
}

/// An error for each place where a piece differs from the drawing and none of `findings` covers it.
#[must_use]
pub fn unexplained(held: &Held, fits: &[Fit], findings: &[Finding]) -> Vec<Finding> {
    let known: Vec<&Region> = owned(held.outline, findings).filter_map(|f| f.region.as_deref()).collect();
    let pieces = held.pieces(fits);
    let mut found: Vec<Finding> = Vec::new();
    for (i, (what, region, chords)) in pieces.iter().enumerate() {
        // Equal regions are compared once.
        if pieces[..i].iter().any(|(_, other, _)| other == region) {
            continue;
        }
        for spot in unknown(held.drawn, region, &known, FINDING_DEPTH + chords) {
            let twice = found.iter().any(|f| f.at.is_some_and(|at| (at - spot.at).hypot() <= spot.radius));
            found.extend((!twice).then(|| error(held.outline, what, spot)));
        }
    }
    found
}

/// The findings of this outline whose region is mostly as drawn in every piece.
#[must_use]
pub fn idle<'a>(held: &Held, fits: &[Fit], findings: &'a [Finding]) -> Vec<&'a Finding> {
    let differ = Differing::new(held.drawn, &held.pieces(fits).map(|p| p.1));
    let is_idle = |f: &&Finding| f.region.as_deref().is_some_and(|place| differ.idle_share(place) > IDLE);
    owned(held.outline, findings).filter(is_idle).collect()
}

fn owned(outline: usize, findings: &[Finding]) -> impl Iterator<Item = &Finding> {
    findings.iter().filter(move |f| f.outline == Some(outline))
}

fn error(outline: usize, what: &str, spot: Spot) -> Finding {
    let message = words!(
        "The {} differs from the drawing, and no check explains it. A disc of {} fits into the difference, an area of \
         {}.",
        what,
        plain(2.0 * spot.radius),
        Words::area(spot.area)
    );
    let help = "This is a fault of the program. Do not cut this job. Report the drawing and the command.";
    let mut f = Finding::new(Code::Unexplained, Severity::Error, message, help).at(spot.at).on(outline);
    f.short = Some(spot.radius);
    f.covers(spot.area)
}
