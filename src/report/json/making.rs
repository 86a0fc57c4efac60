//! Tools, openings and panels in the document.

use super::{Number, Pt, outline_id, pt, size};
use crate::geom::{Region, Segment};
use crate::kit::Pair;
use crate::kit::fit::Sensitivity;
use crate::report::facts::Facts;
use crate::report::start::what_counts;
use crate::template::registration::diagonal;
use crate::template::start::Start;
use crate::template::{Duty, Edge, Opening, Panel};
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct ToolsPart {
    /// Null if no recess is routed.
    recess: Option<PairPart>,
    /// Null if no inlay is routed.
    inlay: Option<PairPart>,
    gap_mm: Number,
    gap_wanted_mm: Number,
    /// True if all diameters are measured.
    measured: bool,
    sensitivity: Vec<SensitivityPart>,
}

/// The change of the gap per side if a part is 0.1 mm larger than calculated.
#[derive(Serialize)]
struct SensitivityPart {
    part: &'static str,
    gap_mm: Number,
}

fn sensitivity(facts: &Facts) -> Vec<SensitivityPart> {
    let part = |s: Sensitivity| SensitivityPart { part: s.name, gap_mm: Number(s.gap) };
    what_counts(facts).into_iter().map(part).collect()
}

impl ToolsPart {
    pub(super) fn new(facts: &Facts) -> ToolsPart {
        let t = &facts.tools;
        let in_hand = facts.asides.start.as_ref().map(|s| (s.start, s.cut));
        let wanted = facts.asides.pair.map(|p| p.wanted).or(facts.asides.start.as_ref().map(|s| s.wanted));
        let no_recess = matches!(in_hand, Some((Start::Recess, _)));
        let no_inlay = matches!(in_hand, Some((Start::Part, Some(_))));
        let recess = PairPart::new(t.recess, t.recess_called, t.recess_offset());
        let inlay = PairPart::new(t.inlay, t.inlay_called, t.inlay_offset());
        ToolsPart {
            recess: (!no_recess).then_some(recess),
            inlay: (!no_inlay).then_some(inlay),
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
    /// Nominal diameters; present only if the calculation uses a measured diameter that differs.
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
    /// The bounding box that the CAM program must show after import: left, bottom, right, top. In the frame of the
    /// face that is cut.
    reads_mm: Option<[Number; 4]>,
    lines: usize,
    arcs: usize,
    place: [Number; 6],
    /// Width and height of the centre that comes loose on the machine; null if the cutter leaves nothing.
    loose_mm: Option<Pt>,
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
            loose_mm: facts.loose(o).map(|(w, h)| [Number(w), Number(h)]),
            files: facts.files_with(o).collect(),
        }
    }
}

fn duty(d: Duty) -> &'static str {
    match d {
        Duty::Recess => "recess",
        Duty::Inlay => "inlay",
        Duty::Both => "both",
        Duty::Clearing => "clearing",
    }
}

#[derive(Serialize)]
pub(super) struct PanelPart {
    panel: u32,
    size_mm: Pt,
    turn: &'static str,
    /// In two set-ups each face has a file. In one set-up the file of face 1 has all openings; those of face 2 are
    /// mirrored in it.
    setup: &'static str,
    /// The centre mark, in the frame of whichever face is up.
    common_mm: Option<Pt>,
    edges: EdgesPart,
    /// Points of the machine that touch the reference edges, in the face frame. They are the same for both faces.
    stops_mm: Vec<Pt>,
    /// Length of each of the two diagonals if the panel is square-cornered.
    diagonal_mm: Number,
    /// For each face, the area where no clamp, stop or screw may be.
    keep_clear: Vec<KeepClearPart>,
}

/// The area swept by the router's base, limited to the panel.
#[derive(Serialize)]
struct KeepClearPart {
    face: u8,
    area_mm2: Number,
    bounds_mm: [Number; 4],
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
        let centre_mark = own.zip(facts.template.centre_mark).map(|(o, c)| o.place * c);
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
            common_mm: centre_mark.map(pt),
            edges: EdgesPart { left: edge(e.left), right: edge(e.right), bottom: edge(e.bottom), top: edge(e.top) },
            stops_mm: facts.stops(p).into_iter().map(pt).collect(),
            diagonal_mm: Number(diagonal(p)),
            keep_clear: keep_clear(p, facts),
        }
    }
}

fn keep_clear(p: &Panel, facts: &Facts) -> Vec<KeepClearPart> {
    let one = |((panel, face), r): &((u32, u8), Region)| {
        let b = r.bounds().filter(|_| *panel == p.number)?;
        let bounds_mm = [b.x0, b.y0, b.x1, b.y1].map(Number);
        Some(KeepClearPart { face: *face, area_mm2: Number(r.area()), bounds_mm })
    };
    facts.keep_clear.iter().filter_map(one).collect()
}
