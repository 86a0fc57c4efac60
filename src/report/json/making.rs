//! Tools, openings, panels and steps of the document.

use super::{Number, Pt, outline_id, pt, size};
use crate::geom::{Region, Segment};
use crate::kit::fit::Sensitivity;
use crate::kit::{Figures, Pair};
use crate::proof;
use crate::report::facts::Facts;
use crate::report::start::hangs_on;
use crate::template::start::Start;
use crate::template::{Duty, Edge, Opening, Panel, hand};
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct ToolsPart {
    /// Null where nothing is routed for that piece.
    recess: Option<PairPart>,
    insert: Option<PairPart>,
    gap_mm: Number,
    gap_wanted_mm: Number,
    /// All diameters were measured.
    measured: bool,
    sensitivity: Vec<SensitivityPart>,
}

/// What it does to the gap if a part is 0.1 mm larger than the sums take it for.
#[derive(Serialize)]
struct SensitivityPart {
    part: &'static str,
    gap_mm: Number,
}

fn sensitivity(facts: &Facts) -> Vec<SensitivityPart> {
    let part = |s: Sensitivity| SensitivityPart { part: s.name, gap_mm: Number(s.gap) };
    hangs_on(facts).into_iter().map(part).collect()
}

impl ToolsPart {
    pub(super) fn new(facts: &Facts) -> ToolsPart {
        let t = &facts.tools;
        let in_hand = facts.asides.start.as_ref().map(|s| (s.start, s.cut));
        let wanted = facts.asides.pair.map(|p| p.wanted).or(facts.asides.start.as_ref().map(|s| s.wanted));
        let no_recess = matches!(in_hand, Some((Start::Recess, _)));
        let no_insert = matches!(in_hand, Some((Start::Part, Some(_))));
        let recess = PairPart::new(t.recess, t.recess_called, t.recess_offset());
        let insert = PairPart::new(t.insert, t.insert_called, t.insert_offset());
        ToolsPart {
            recess: (!no_recess).then_some(recess),
            insert: (!no_insert).then_some(insert),
            gap_mm: Number(t.gap),
            gap_wanted_mm: Number(wanted.unwrap_or(t.gap)),
            measured: t.measured,
            sensitivity: sensitivity(facts),
        }
    }
}

#[derive(Serialize)]
struct PairPart {
    bush_mm: Number,
    cutter_mm: Number,
    offset_mm: Number,
    /// What the tools are called by, where the sums are made with what was measured.
    #[serde(skip_serializing_if = "Option::is_none")]
    bush_nominal_mm: Option<Number>,
    #[serde(skip_serializing_if = "Option::is_none")]
    cutter_nominal_mm: Option<Number>,
}

impl PairPart {
    fn new(p: Pair, called: Pair, offset: f64) -> PairPart {
        let other = |called: f64, used: f64| (called != used).then_some(Number(called));
        PairPart {
            bush_mm: Number(p.bush),
            cutter_mm: Number(p.cutter),
            offset_mm: Number(offset),
            bush_nominal_mm: other(called.bush, p.bush),
            cutter_nominal_mm: other(called.cutter, p.cutter),
        }
    }
}

/// Router and template, and who says so.
#[derive(Serialize)]
pub(super) struct RouterPart {
    base_mm: Number,
    base_from: &'static str,
    template_thickness_mm: Number,
    template_thickness_from: &'static str,
    template_cutter_mm: Number,
    template_cutter_from: &'static str,
}

impl RouterPart {
    pub(super) fn new(f: &Figures) -> RouterPart {
        RouterPart {
            base_mm: Number(f.base.mm),
            base_from: f.base.said.name(),
            template_thickness_mm: Number(f.thickness.mm),
            template_thickness_from: f.thickness.said.name(),
            template_cutter_mm: Number(f.template_cutter.mm),
            template_cutter_from: f.template_cutter.said.name(),
        }
    }
}

#[derive(Serialize)]
pub(super) struct OpeningPart<'a> {
    id: &'a str,
    outline: String,
    duty: &'static str,
    panel: u32,
    face: u8,
    offset_mm: Number,
    area_mm2: Number,
    perimeter_mm: Number,
    size_mm: Option<Pt>,
    /// The box that the machine's program must show after import, in the frame of the face that is cut: left, bottom,
    /// right, top.
    reads_mm: Option<[Number; 4]>,
    lines: usize,
    arcs: usize,
    place: [Number; 6],
    files: Vec<&'a str>,
}

impl<'a> OpeningPart<'a> {
    pub(super) fn new(o: &'a Opening, facts: &'a Facts) -> OpeningPart<'a> {
        let region: &Region = &o.region;
        let (lines, arcs): (Vec<&Segment>, Vec<&Segment>) =
            region.segments().partition(|s| matches!(s, Segment::Line(_)));
        OpeningPart {
            id: &o.id,
            outline: outline_id(o.outline),
            duty: duty(o.duty),
            panel: o.panel,
            face: o.face,
            offset_mm: Number(o.offset),
            area_mm2: Number(region.area()),
            perimeter_mm: Number(region.perimeter()),
            size_mm: region.bounds().map(size),
            reads_mm: facts.read_back(o).map(|(_, b)| [b.x0, b.y0, b.x1, b.y1].map(Number)),
            lines: lines.len(),
            arcs: arcs.len(),
            place: o.place.as_coeffs().map(Number),
            files: facts.files_with(o).collect(),
        }
    }
}

fn duty(d: Duty) -> &'static str {
    match d {
        Duty::Recess => "recess",
        Duty::Insert => "insert",
        Duty::Both => "both",
        Duty::Clearing => "clearing",
    }
}

#[derive(Serialize)]
pub(super) struct PanelPart {
    panel: u32,
    size_mm: Pt,
    turn: &'static str,
    /// Cut in two set-ups, a file a face, or in one, with all openings in the file of face 1, those of face 2 mirrored.
    setup: &'static str,
    /// The common point in the frame of whichever face is up.
    common_mm: Option<Pt>,
    edges: EdgesPart,
}

#[derive(Serialize)]
struct EdgesPart {
    left: &'static str,
    right: &'static str,
    bottom: &'static str,
    top: &'static str,
}

impl PanelPart {
    pub(super) fn new(p: &Panel, facts: &Facts) -> PanelPart {
        let own = facts.template.openings.iter().find(|o| o.panel == p.number);
        let common = own.zip(facts.template.common).map(|(o, c)| o.place * c);
        let edge = |e| match e {
            Edge::Reference => "reference",
            Edge::Free => "free",
        };
        let e = p.edges;
        PanelPart {
            panel: p.number,
            size_mm: [Number(p.width), Number(p.height)],
            turn: p.turn.name(),
            setup: p.setup.name(),
            common_mm: common.map(pt),
            edges: EdgesPart { left: edge(e.left), right: edge(e.right), bottom: edge(e.bottom), top: edge(e.top) },
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
}

impl Step<'_> {
    fn of(s: &hand::Step) -> Step<'_> {
        Step {
            piece: if s.work == hand::Work::Board { "board" } else { "insert" },
            panel: s.panel,
            face_up: s.face_up,
            edges: s.corner.names(),
            opening: &s.opening,
            purpose: if s.purpose == hand::Purpose::Line { "line" } else { "clearing" },
            bush_mm: Number(s.pair.bush),
            cutter_mm: Number(s.pair.cutter),
            depth_mm: s.depth.map(Number),
        }
    }
}

/// The board's steps first, then the insert's: a flush piece is set with the bottom and left edges both times.
pub(super) fn steps(facts: &Facts) -> Vec<Step<'_>> {
    if let Some(s) = &facts.asides.shoulder {
        return s.steps.iter().map(Step::of).collect();
    }
    let step = |s: proof::Step| {
        let opening = facts.template.openings.iter().find(|o| o.id == s.opening)?;
        Some(Step {
            piece: s.timber.name(),
            panel: s.panel,
            face_up: s.face_up,
            edges: ["left", "bottom"],
            opening: &opening.id,
            purpose: "line",
            bush_mm: Number(s.pair.bush),
            cutter_mm: Number(s.pair.cutter),
            depth_mm: None,
        })
    };
    proof::steps(&facts.template.openings, &facts.tools).into_iter().filter_map(step).collect()
}
