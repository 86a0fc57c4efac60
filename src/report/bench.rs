//! The work at the bench in the JSON document: the router, and each step with its depth, passes and tipping margin.
//!
//! In: the facts of a run. Out: parts of the JSON document. Keys may be added, never renamed.

use super::facts::Facts;
use super::json::Number;
use crate::check::bush_depth::ABOVE_WORK;
use crate::template::steps::INTO_SPOIL;
use crate::template::steps::{self, Purpose};
use crate::template::tipping::Margin;
use serde::Serialize;

/// The router on the template.
#[derive(Serialize)]
pub(super) struct RouterPart<'a> {
    base_mm: Number,
    /// Origin of the figure: `given`, `kit` or `assumed`.
    base_from: &'static str,
    template_thickness_mm: Number,
    template_thickness_from: &'static str,
    template_cutter_mm: Number,
    template_cutter_from: &'static str,
    /// The projection given for all bushes of the job; null if not given.
    bush_projection_mm: Option<Number>,
    bush_projection_most_mm: Number,
    pass_depth_mm: Option<Number>,
    into_spoil_mm: Number,
    /// Settings and keys of the kit without a value. Checks that need them were left out.
    not_checked: Vec<&'a str>,
}

impl RouterPart<'_> {
    pub(super) fn new(facts: &Facts) -> RouterPart<'_> {
        let (b, r, f) = (&facts.bench, facts.bench.router, &facts.figures);
        RouterPart {
            base_mm: Number(f.base.mm),
            base_from: f.base.source.name(),
            template_thickness_mm: Number(f.thickness.mm),
            template_thickness_from: f.thickness.source.name(),
            template_cutter_mm: Number(f.template_cutter.mm),
            template_cutter_from: f.template_cutter.source.name(),
            bush_projection_mm: r.projection.map(Number),
            bush_projection_most_mm: Number(r.thickness - ABOVE_WORK),
            pass_depth_mm: r.pass.map(Number),
            into_spoil_mm: Number(INTO_SPOIL),
            not_checked: b.not_checked.iter().map(|n| n.0).collect(),
        }
    }
}

/// One placement of the template on a piece and one run of the router.
#[derive(Serialize)]
pub(super) struct Step<'a> {
    piece: &'static str,
    panel: u32,
    face_up: u8,
    edges: [&'static str; 2],
    opening: &'a str,
    purpose: &'static str,
    bush_mm: Number,
    cutter_mm: Number,
    depth_mm: Option<Number>,
    /// The cut goes right through the wood and `router.into_spoil_mm` into the spoil board.
    through: bool,
    passes: Option<u32>,
    /// Depth of each pass.
    pass_mm: Option<Number>,
    /// How far the cutter extends below the base in the last pass.
    cutter_below_base_mm: Option<Number>,
    /// Direction of travel along the opening's edge, seen from above.
    feed: &'static str,
    /// The middle is cleared too, so the bush goes everywhere in its opening.
    middle_cleared: bool,
    /// Least depth of the bush's centre inside the convex hull of the panel under the base. Null if it could not be
    /// calculated, or if no part of the panel is under the base.
    tipping_margin_mm: Option<Number>,
}

impl Step<'_> {
    fn new<'a>(s: &'a steps::Step, margin: Option<Margin>, facts: &Facts) -> Step<'a> {
        let router = facts.bench.router;
        let passes = s.passes(router.pass);
        Step {
            piece: s.work.name(),
            panel: s.panel,
            face_up: s.face_up,
            edges: s.corner.names(),
            opening: &s.opening,
            purpose: if s.purpose == Purpose::Line { "line" } else { "clearing" },
            bush_mm: Number(s.pair.bush),
            cutter_mm: Number(s.pair.cutter),
            depth_mm: s.depth.map(Number),
            through: s.through,
            passes,
            pass_mm: s.cut().zip(passes).map(|(cut, n)| Number(cut / f64::from(n))),
            cutter_below_base_mm: s.below_base(router.thickness).map(Number),
            feed: "clockwise",
            middle_cleared: s.whole,
            tipping_margin_mm: margin.map(|m| Number(m.mm)),
        }
    }
}

/// The steps, in order.
pub(super) fn steps(facts: &Facts) -> Vec<Step<'_>> {
    facts.bench.steps.iter().zip(margins(facts)).map(|(s, m)| Step::new(s, m, facts)).collect()
}

/// The margin of each step; `None` for all if none was calculated.
fn margins(facts: &Facts) -> impl Iterator<Item = Option<Margin>> + '_ {
    facts.bench.margins.iter().copied().chain(std::iter::repeat(None))
}
