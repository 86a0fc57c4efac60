//! The account of differences: no piece differs from its drawing without a finding that says so.
//!
//! In: an outline as drawn (or as it is in hand), the pieces that come of it, and all findings on it. Out: an error for each
//! place where a piece differs and no finding owns the place. What is compared is what is cut: the recess as the proof cut it
//! from the written bytes, or as worked out where nothing is written; the inlay's outline; the outline as made. The second
//! engine compares them ([`crate::geom::apart`]), which shares nothing with the checks whose findings it holds to account.
//! What a disc of [`FINDING_DEPTH`] does not fit into is within tolerance: needles and slivers narrower than twice that.

use super::{Code, Finding, Severity};
use crate::geom::Region;
use crate::geom::apart::{Differing, Spot, unknown};
use crate::proof::Fit;
use crate::template::ease::AsCut;
use crate::tolerance::FINDING_DEPTH;

/// A finding is idle if more than this share of its place is as drawn.
const IDLE: f64 = 0.5;

/// What one outline's pieces are held against.
#[derive(Clone, Copy, Debug)]
pub struct Held<'a> {
    /// Number of the outline.
    pub outline: usize,
    pub drawn: &'a Region,
    pub made: &'a Region,
    pub cut: &'a AsCut,
    /// Greatest distance of chords from the arcs that they stand for in the openings, mm.
    pub flatten: f64,
}

impl<'a> Held<'a> {
    /// The pieces, in words, and what each may differ by everywhere: as far as chords lie off their arcs, to either side.
    fn pieces(&self, fits: &'a [Fit]) -> [(&'static str, &'a Region, f64); 3]
    where
        Self: 'a,
    {
        let proved = fits.iter().find(|f| f.outline == self.outline).map(|f| &f.joint.recess);
        let (recess, chords) = proved.map_or((&*self.cut.recess, 0.0), |k| (k, self.flatten));
        [("recess", recess, chords), ("inlay", &self.cut.inlay, 0.0), ("outline as made", self.made, 0.0)]
    }
}

/// An error for each place where a piece differs from the drawing and none of `findings` owns it.
#[must_use]
pub fn unexplained(held: &Held, fits: &[Fit], findings: &[Finding]) -> Vec<Finding> {
    let known: Vec<&Region> = owned(held.outline, findings).filter_map(|f| f.region.as_deref()).collect();
    let pieces = held.pieces(fits);
    let mut found: Vec<Finding> = Vec::new();
    for (i, (what, region, chords)) in pieces.iter().enumerate() {
        // The same region twice is looked at once.
        if pieces[..i].iter().any(|(_, other, _)| other == region) {
            continue;
        }
        for spot in unknown(held.drawn, region, &known, FINDING_DEPTH + chords) {
            let twice = found.iter().any(|f| f.at.is_some_and(|at| (at - spot.at).hypot() <= spot.radius));
            found.extend((!twice).then(|| told(held.outline, what, spot)));
        }
    }
    found
}

/// The findings of `held`'s outline whose place is for the most part as drawn in every piece.
#[must_use]
pub fn idle<'a>(held: &Held, fits: &[Fit], findings: &'a [Finding]) -> Vec<&'a Finding> {
    let differ = Differing::new(held.drawn, &held.pieces(fits).map(|p| p.1));
    let is_idle = |f: &&Finding| f.region.as_deref().is_some_and(|place| differ.idle_share(place) > IDLE);
    owned(held.outline, findings).filter(is_idle).collect()
}

fn owned(outline: usize, findings: &[Finding]) -> impl Iterator<Item = &Finding> {
    findings.iter().filter(move |f| f.outline == Some(outline))
}

fn told(outline: usize, what: &str, spot: Spot) -> Finding {
    let message = format!(
        "The {what} differs from the drawing here and no check says why: a disc of {:.2} mm fits into the difference, {:.1} mm².",
        2.0 * spot.radius,
        spot.area
    );
    let help = "This is a fault of the program. Do not cut this job; report the drawing and the command.";
    let mut f = Finding::new(Code::Unexplained, Severity::Error, message, help).at(spot.at).on(outline);
    f.short = Some(spot.radius);
    f.covers(spot.area)
}
