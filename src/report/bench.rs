//! The work at the bench for other programs: the router, and each step with its depth, passes and margin.
//!
//! In: the facts of a run. Out: parts of the JSON document; keys may be added, never renamed.

use super::facts::Facts;
use super::json::Number;
use crate::check::depth::ABOVE_WORK;
use crate::template::hand;
use crate::template::tipping::Margin;
use crate::template::work::INTO_SPOIL;
use serde::Serialize;

/// The router on the template.
#[derive(Serialize)]
pub(super) struct RouterPart<'a> {
    base_mm: Number,
    /// Who says so: given, kit, or usual.
    base_from: &'static str,
    template_thickness_mm: Number,
    template_thickness_from: &'static str,
    template_cutter_mm: Number,
    template_cutter_from: &'static str,
    /// As given for all bushes of the job.
    bush_projection_mm: Option<Number>,
    bush_projection_most_mm: Number,
    pass_depth_mm: Option<Number>,
    into_spoil_mm: Number,
    /// Settings, and figures of the kit, that nobody gave: what hangs on them was not checked.
    not_checked: Vec<&'a str>,
}

impl RouterPart<'_> {
    pub(super) fn new(facts: &Facts) -> RouterPart<'_> {
        let (b, r, f) = (&facts.bench, facts.bench.router, &facts.figures);
        RouterPart {
            base_mm: Number(f.base.mm),
            base_from: f.base.said.name(),
            template_thickness_mm: Number(f.thickness.mm),
            template_thickness_from: f.thickness.said.name(),
            template_cutter_mm: Number(f.template_cutter.mm),
            template_cutter_from: f.template_cutter.said.name(),
            bush_projection_mm: r.projection.map(Number),
            bush_projection_most_mm: Number(r.thickness - ABOVE_WORK),
            pass_depth_mm: r.pass.map(Number),
            into_spoil_mm: Number(INTO_SPOIL),
            not_checked: b.not_checked.iter().map(|n| n.0).collect(),
        }
    }
}

/// One time the template is set on a piece and the router run round it.
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
    /// Right through the wood and `router.into_spoil_mm` into the spoil board.
    through: bool,
    passes: Option<u32>,
    /// How deep each is.
    pass_mm: Option<Number>,
    /// For the last pass.
    cutter_below_base_mm: Option<Number>,
    /// Along the opening's edge, seen from above.
    feed: &'static str,
    /// The bush goes everywhere in its opening.
    middle_cleared: bool,
    /// How far the bush's centre stays within what holds the router up, at the worst; null also where nothing does.
    tipping_margin_mm: Option<Number>,
}

impl Step<'_> {
    fn new<'a>(s: &'a hand::Step, margin: Option<Margin>, facts: &Facts) -> Step<'a> {
        let router = facts.bench.router;
        let passes = s.passes(router.pass);
        Step {
            piece: if s.work == hand::Work::Board { "board" } else { "inlay" },
            panel: s.panel,
            face_up: s.face_up,
            edges: s.corner.names(),
            opening: &s.opening,
            purpose: if s.purpose == hand::Purpose::Line { "line" } else { "clearing" },
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

/// The steps in their order.
pub(super) fn steps(facts: &Facts) -> Vec<Step<'_>> {
    facts.bench.steps.iter().zip(margins(facts)).map(|(s, m)| Step::new(s, m, facts)).collect()
}

/// Of each step; none where they were not worked out.
fn margins(facts: &Facts) -> impl Iterator<Item = Option<Margin>> + '_ {
    facts.bench.margins.iter().copied().chain(std::iter::repeat(None))
}
