//! The work at the bench in the JSON document: the router, and each step with its depth, passes and tipping margin.
//!
//! In: the facts of a run. Out: parts of the JSON document.

use crate::check::bush_depth::ABOVE_WORK;
use crate::job::facts::Facts;
use crate::panel::steps::{self, INTO_SPOIL};
use crate::panel::tipping::Margin;
use crate::schema::bench::{Feed, Marks, Router, Step};

pub(super) fn router(facts: &Facts) -> Router {
    let (b, r, f) = (&facts.bench, facts.bench.router, &facts.figures);
    Router {
        base_mm: f.base.mm,
        base_from: f.base.source,
        template_thickness_mm: f.thickness.mm,
        template_thickness_from: f.thickness.source,
        template_cutter_mm: f.template_cutter.mm,
        template_cutter_from: f.template_cutter.source,
        bush_projection_mm: r.projection,
        bush_projection_most_mm: r.thickness - ABOVE_WORK,
        pass_depth_mm: r.pass,
        into_spoil_mm: INTO_SPOIL,
        not_checked: b.not_checked.iter().map(|n| n.0.to_owned()).collect(),
    }
}

fn step(s: &steps::Step, margin: Option<Margin>, facts: &Facts) -> Step {
    let router = facts.bench.router;
    let passes = s.passes(router.pass);
    Step {
        piece: s.work,
        panel: s.panel,
        face_up: s.face_up,
        edges: Marks(s.corner),
        opening: s.opening.clone(),
        purpose: s.purpose,
        bush_mm: s.pair.bush,
        cutter_mm: s.pair.cutter,
        depth_mm: s.depth,
        through: s.through,
        passes,
        pass_mm: s.cut().zip(passes).map(|(cut, n)| cut / f64::from(n)),
        cutter_below_base_mm: s.below_base(router.thickness),
        feed: Feed::Clockwise,
        middle_cleared: s.whole,
        tipping_margin_mm: margin.map(|m| m.mm),
    }
}

/// The steps, in order.
pub(super) fn steps(facts: &Facts) -> Vec<Step> {
    // No margin is known if none was calculated.
    let margins = facts.bench.margins.iter().copied().chain(std::iter::repeat(None));
    facts.bench.steps.iter().zip(margins).map(|(s, m)| step(s, m, facts)).collect()
}
