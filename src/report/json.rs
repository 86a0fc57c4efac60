//! The document for other programs, schema 1: what `--json` prints and `NAME.json` holds.
//!
//! In: the facts of a run. Out: JSON; lengths mm, areas mm², angles none; numbers rounded to 1e-6, never −0; what does
//! not apply is null. Keys may be added, never renamed. The same facts give the same bytes.

use super::asides::{self, AsidesPart};
use super::bench::{self, RouterPart, Step};
use super::facts::Facts;
use super::registration::{self, Registration};
use crate::check::{Code, Finding};
use crate::drawing::outline::Outline;
use crate::drawing::{Drawing, Format};
use crate::geom::{Certified, Point, Rect, Region, Segment};
use crate::kit::fit::{Sensitivity, sensitivities};
use crate::kit::{Pair, Tools};
use crate::proof::{Fit, Measured};
use crate::template::registration::diagonal;
use crate::template::{Duty, Edge, Opening, Panel};
use crate::text::svg_path;
use serde::{Serialize, Serializer};
use std::collections::BTreeMap;

/// The version of the document's form.
pub(super) const SCHEMA: u32 = 1;

/// A number as the document shows it: rounded to 1e-6, whole ones without a point, what is not finite as null.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Number(pub(super) f64);

impl Serialize for Number {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let v = (self.0 * 1e6).round() / 1e6;
        if !v.is_finite() {
            return s.serialize_none();
        }
        // Whole and below 2^53: no digit is lost.
        if v.fract() == 0.0 && v.abs() < 9e15 { s.serialize_i64(v as i64) } else { s.serialize_f64(v) }
    }
}

type Pt = [Number; 2];

fn pt(p: Point) -> Pt {
    [Number(p.x), Number(p.y)]
}

fn size(r: Rect) -> Pt {
    [Number(r.width()), Number(r.height())]
}

#[derive(Serialize)]
struct Document<'a> {
    schema: u32,
    tool: Tool,
    drawing: DrawingPart<'a>,
    tools: ToolsPart,
    corners: CornersPart,
    outlines: Vec<OutlinePart<'a>>,
    openings: Vec<OpeningPart<'a>>,
    panels: Vec<PanelPart>,
    router: RouterPart<'a>,
    steps: Vec<Step<'a>>,
    registration: Option<Registration>,
    findings: Vec<FindingPart<'a>>,
    proof: Option<ProofPart>,
    writing: WritingPart,
    #[serde(flatten)]
    asides: AsidesPart,
    files: Vec<&'a str>,
    hashes: BTreeMap<&'a str, &'a str>,
    /// What a job that follows another is called.
    part: Option<&'a str>,
    /// Jobs that follow, each a document of its own.
    then: Vec<Document<'a>>,
}

#[derive(Serialize)]
pub(super) struct Tool {
    name: &'static str,
    version: &'static str,
}

pub(super) const TOOL: Tool = Tool { name: env!("CARGO_PKG_NAME"), version: env!("CARGO_PKG_VERSION") };

#[derive(Serialize)]
pub(super) struct DrawingPart<'a> {
    path: &'a str,
    format: &'static str,
    unit: &'static str,
    unit_source: &'a str,
    size_mm: Option<Pt>,
    /// Made is the mirror image; all places are those of the mirror image.
    mirrored: bool,
}

/// The form of the files for the machine.
#[derive(Serialize)]
struct WritingPart {
    unit: Option<&'static str>,
    dxf: Option<&'static str>,
    /// Arcs are chords within this of them.
    flatten_mm: Option<Number>,
}

impl<'a> DrawingPart<'a> {
    pub(super) fn new(path: &'a str, d: &'a Drawing, mirrored: bool) -> DrawingPart<'a> {
        let format = match d.format {
            Format::Svg => "svg",
            Format::Dxf => "dxf",
        };
        DrawingPart {
            path,
            format,
            unit: d.unit.symbol,
            unit_source: &d.unit_source,
            size_mm: d.bounds.map(size),
            mirrored,
        }
    }
}

#[derive(Serialize)]
struct ToolsPart {
    recess: PairPart,
    insert: PairPart,
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

fn sensitivity(tools: &Tools) -> Vec<SensitivityPart> {
    let part = |s: Sensitivity| SensitivityPart { part: s.name, gap_mm: Number(s.gap) };
    sensitivities(tools, tools.one_opening).into_iter().map(part).collect()
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

#[derive(Serialize)]
struct CornersPart {
    mode: &'static str,
    inside_radius_mm: Option<Number>,
    jutting_radius_mm: Option<Number>,
}

#[derive(Serialize)]
struct OutlinePart<'a> {
    id: String,
    number: usize,
    source: &'a str,
    layer: Option<&'a str>,
    /// Plug or shoulder; flush pieces have none.
    role: Option<&'static str>,
    area_mm2: Number,
    perimeter_mm: Number,
    bounds_mm: Option<[Number; 4]>,
    holes: usize,
}

impl OutlinePart<'_> {
    fn new<'a>(o: &'a Outline, facts: &Facts) -> OutlinePart<'a> {
        OutlinePart {
            id: outline_id(o.number),
            number: o.number,
            source: &o.source.id,
            layer: o.source.layer.as_deref(),
            role: facts.role(o.number),
            area_mm2: Number(o.region.area()),
            perimeter_mm: Number(o.region.perimeter()),
            bounds_mm: o.region.bounds().map(|b| [b.x0, b.y0, b.x1, b.y1].map(Number)),
            holes: o.region.rings.iter().filter(|r| r.area() < 0.0).count(),
        }
    }
}

#[derive(Serialize)]
struct OpeningPart<'a> {
    id: &'a str,
    outline: String,
    duty: &'static str,
    panel: u32,
    face: u8,
    offset_mm: Number,
    area_mm2: Number,
    perimeter_mm: Number,
    size_mm: Option<Pt>,
    lines: usize,
    arcs: usize,
    place: [Number; 6],
    /// What is left of its middle on the machine; none where nothing is.
    loose_mm: Option<Pt>,
    files: Vec<&'a str>,
}

impl<'a> OpeningPart<'a> {
    fn new(o: &'a Opening, facts: &'a Facts) -> OpeningPart<'a> {
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
            lines: lines.len(),
            arcs: arcs.len(),
            place: o.place.as_coeffs().map(Number),
            loose_mm: facts.loose(o).map(|(w, h)| [Number(w), Number(h)]),
            files: facts.files_with(o).collect(),
        }
    }
}

fn outline_id(number: usize) -> String {
    format!("outline-{number}")
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
struct PanelPart {
    panel: u32,
    size_mm: Pt,
    turn: &'static str,
    /// Cut in two set-ups, a file a face, or in one, with all openings in the file of face 1, those of face 2 mirrored.
    setup: &'static str,
    /// The common point in the frame of whichever face is up.
    common_mm: Option<Pt>,
    edges: EdgesPart,
    /// Points of the machine that touch the reference edges, whichever face is up, in the face frame.
    stops_mm: Vec<Pt>,
    /// Each of both, if it is square.
    diagonal_mm: Number,
    /// Where no clamp, stop or screw may stand, of each face.
    keep_clear: Vec<KeepClearPart>,
}

/// What the router's base sweeps, as far as it lies on the panel.
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
    fn new(p: &Panel, facts: &Facts) -> PanelPart {
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

#[derive(Serialize)]
pub(super) struct FindingPart<'a> {
    mark: usize,
    code: &'static str,
    severity: &'static str,
    outline: Option<String>,
    at_mm: Option<Pt>,
    measured_mm: Option<Number>,
    needed_mm: Option<Number>,
    short_mm: Option<Number>,
    area_mm2: Option<Number>,
    message: &'a str,
    help: &'a str,
    /// Settings that would do, each with its limit.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    ways: Vec<WayPart>,
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    accepted: bool,
}

#[derive(Serialize)]
struct WayPart {
    setting: &'static str,
    at_most_mm: Number,
}

impl FindingPart<'_> {
    pub(super) fn new(f: &Finding) -> FindingPart<'_> {
        FindingPart {
            mark: f.mark,
            code: f.code.name(),
            severity: f.severity.name(),
            outline: f.outline.map(outline_id),
            at_mm: f.at.map(pt),
            measured_mm: f.measured.map(Number),
            needed_mm: f.needed.map(Number),
            short_mm: f.short.map(Number),
            area_mm2: f.area.map(Number),
            message: &f.message,
            help: &f.help,
            ways: f.ways.iter().map(|w| WayPart { setting: w.setting, at_most_mm: Number(w.at_most) }).collect(),
            accepted: f.accepted,
        }
    }
}

#[derive(Serialize)]
struct ProofPart {
    gap_min_mm: Number,
    gap_max_mm: Number,
    pieces: Vec<FitPart>,
    outlines: Vec<ShapePart>,
}

/// An outline as SVG path data in mm, y *down* from 0: what `letin prove` works the pieces out of again. A path a ring.
#[derive(Serialize)]
struct ShapePart {
    outline: String,
    drawn: Vec<String>,
    made: Vec<String>,
}

fn shapes(facts: &Facts) -> Vec<ShapePart> {
    // What is not finite comes out empty, and then nothing is proved by it.
    let paths = |r: &Region| r.rings.iter().map(|r| svg_path(r, 0.0).unwrap_or_default()).collect();
    let of = |(number, made): &(usize, Certified<Region>)| {
        let drawn = facts.outlines.iter().find(|o| o.number == *number)?;
        facts.fits.iter().find(|f| f.outline == *number)?;
        Some(ShapePart { outline: outline_id(*number), drawn: paths(&drawn.region), made: paths(made) })
    };
    facts.made.iter().filter_map(of).collect()
}

#[derive(Serialize)]
struct FitPart {
    outline: String,
    recess_size_mm: [Number; 2],
    insert_size_mm: [Number; 2],
    recess_area_mm2: Number,
    insert_area_mm2: Number,
    gap_min_mm: Number,
    gap_min_at_mm: Pt,
    gap_max_mm: Number,
    gap_max_at_mm: Pt,
    recess_off_mm: Number,
    insert_off_mm: Number,
    /// Off the outline as made, corners eased or not.
    recess_off_made_mm: Number,
    insert_off_made_mm: Number,
    /// The worst place of each stretch where the insert is too large, and of each where the gap shows.
    binds: Vec<PlacePart>,
    gapes: Vec<PlacePart>,
}

#[derive(Serialize)]
struct PlacePart {
    mm: Number,
    at_mm: Pt,
}

impl FitPart {
    fn new(f: &Fit) -> FitPart {
        let at = |m: Measured| pt(m.at);
        let place = |m: &Measured| PlacePart { mm: Number(m.mm), at_mm: pt(m.at) };
        FitPart {
            outline: outline_id(f.outline),
            recess_size_mm: [Number(f.recess_size.0), Number(f.recess_size.1)],
            insert_size_mm: [Number(f.insert_size.0), Number(f.insert_size.1)],
            recess_area_mm2: Number(f.recess_area),
            insert_area_mm2: Number(f.insert_area),
            gap_min_mm: Number(f.gap_min.mm),
            gap_min_at_mm: at(f.gap_min),
            gap_max_mm: Number(f.gap_max.mm),
            gap_max_at_mm: at(f.gap_max),
            recess_off_mm: Number(f.recess_off),
            insert_off_mm: Number(f.insert_off),
            recess_off_made_mm: Number(f.recess_off_made),
            insert_off_made_mm: Number(f.insert_off_made),
            binds: f.binds.iter().map(place).collect(),
            gapes: f.gapes.iter().map(place).collect(),
        }
    }
}

fn proof(facts: &Facts) -> Option<ProofPart> {
    let fits = &facts.fits;
    let least = fits.iter().map(|f| f.gap_min.mm).min_by(f64::total_cmp)?;
    let most = fits.iter().map(|f| f.gap_max.mm).max_by(f64::total_cmp)?;
    Some(ProofPart {
        gap_min_mm: Number(least),
        gap_max_mm: Number(most),
        pieces: fits.iter().map(FitPart::new).collect(),
        outlines: shapes(facts),
    })
}

/// The document, with a line end.
///
/// # Errors
/// Only what `serde_json` itself cannot write.
pub fn document(facts: &Facts) -> Result<Vec<u8>, serde_json::Error> {
    Ok(with_line_end(serde_json::to_vec_pretty(&of_job(facts))?))
}

fn of_job(facts: &Facts) -> Document<'_> {
    let (d, t, c) = (&facts.drawing, &facts.tools, facts.corners);
    // The first document lists the files of all jobs.
    let files = || facts.jobs().flat_map(|f| &f.files);
    Document {
        schema: SCHEMA,
        tool: TOOL,
        drawing: DrawingPart::new(&facts.path, d, facts.mirrored),
        tools: ToolsPart {
            recess: PairPart::new(t.recess, t.recess_called, t.recess_offset()),
            insert: PairPart::new(t.insert, t.insert_called, t.insert_offset()),
            gap_mm: Number(t.gap),
            gap_wanted_mm: Number(facts.asides.pair.map_or(t.gap, |p| p.wanted)),
            measured: t.measured,
            sensitivity: sensitivity(t),
        },
        corners: CornersPart {
            mode: c.name(),
            inside_radius_mm: c.inside_radius(t).map(Number),
            jutting_radius_mm: c.jutting_radius(t).map(Number),
        },
        outlines: facts.outlines.iter().map(|o| OutlinePart::new(o, facts)).collect(),
        openings: facts.template.openings.iter().map(|o| OpeningPart::new(o, facts)).collect(),
        panels: facts.template.panels.iter().map(|p| PanelPart::new(p, facts)).collect(),
        router: RouterPart::new(facts),
        steps: bench::steps(facts),
        registration: registration::part(facts),
        findings: facts.findings.iter().map(FindingPart::new).collect(),
        proof: proof(facts),
        writing: WritingPart {
            unit: facts.writing.map(|w| w.unit),
            dxf: facts.writing.map(|w| w.dxf),
            flatten_mm: facts.flatten.map(Number),
        },
        asides: asides::part(facts),
        files: files().map(|f| f.name.as_str()).collect(),
        hashes: files().map(|f| (f.name.as_str(), f.sha256.as_str())).collect(),
        part: facts.part.as_deref(),
        then: facts.then.iter().map(of_job).collect(),
    }
}

/// What `--json` prints where there is no verdict.
///
/// # Errors
/// As [`document`].
pub fn error(code: &str, message: &str, help: Option<&str>) -> Result<Vec<u8>, serde_json::Error> {
    let error = serde_json::json!({"schema": SCHEMA, "error": {"code": code, "message": message, "help": help}});
    Ok(with_line_end(serde_json::to_vec_pretty(&error)?))
}

/// What `letin prove` found of one document.
#[derive(Clone, Copy, Debug)]
pub struct Proved<'a> {
    /// Name of the document.
    pub document: &'a str,
    pub notes: &'a [String],
    /// Fits, findings, the files read back; or code and message of what stands against it.
    pub verdict: Result<Routed<'a>, (&'a str, &'a str)>,
}

/// Fits, findings, and the files read back.
pub type Routed<'a> = (&'a [Fit], &'a [Finding], &'a [String]);

/// What `letin prove --json` prints.
///
/// # Errors
/// As [`document`].
pub fn proved(all: &[Proved]) -> Result<Vec<u8>, serde_json::Error> {
    let one = |p: &Proved| {
        let parts = |f: &[Fit]| f.iter().map(FitPart::new).collect::<Vec<_>>();
        let told =
            |f: &[Finding]| f.iter().map(|f| serde_json::to_value(FindingPart::new(f))).collect::<Result<Vec<_>, _>>();
        let (fits, findings, files, error) = match p.verdict {
            Ok((fits, findings, files)) => (parts(fits), told(findings)?, files, None),
            Err((code, message)) => {
                (Vec::new(), Vec::new(), &[][..], Some(serde_json::json!({"code": code, "message": message})))
            }
        };
        Ok(serde_json::json!({
            "document": p.document, "proved": error.is_none(), "error": error, "notes": p.notes,
            "pieces": fits, "findings": findings, "files": files,
        }))
    };
    let all = all.iter().map(one).collect::<Result<Vec<_>, serde_json::Error>>()?;
    Ok(with_line_end(serde_json::to_vec_pretty(&serde_json::json!({"schema": SCHEMA, "documents": all}))?))
}

/// What `letin explain CODE --json` prints.
///
/// # Errors
/// As [`document`].
pub fn page(code: Code) -> Result<Vec<u8>, serde_json::Error> {
    let page = serde_json::json!({
        "schema": SCHEMA, "code": code.name(), "severity": code.severity_words(), "page": code.page(),
    });
    Ok(with_line_end(serde_json::to_vec_pretty(&page)?))
}

/// What `letin explain --json` prints.
///
/// # Errors
/// As [`document`].
pub fn codes() -> Result<Vec<u8>, serde_json::Error> {
    let one = |c: &Code| serde_json::json!({"code": c.name(), "severity": c.severity_words(), "summary": c.summary()});
    let all: Vec<_> = Code::ALL.iter().map(one).collect();
    Ok(with_line_end(serde_json::to_vec_pretty(&serde_json::json!({"schema": SCHEMA, "codes": all}))?))
}

pub(super) fn with_line_end(mut bytes: Vec<u8>) -> Vec<u8> {
    bytes.push(b'\n');
    bytes
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn numbers_are_rounded_and_have_no_minus_zero() {
        let text = |v: f64| serde_json::to_string(&Number(v)).unwrap();
        assert_eq!(text(7.0), "7");
        assert_eq!(text(-0.0), "0");
        assert_eq!(text(-0.000_000_4), "0");
        assert_eq!(text(0.123_456_789), "0.123457");
        assert_eq!(text(f64::NAN), "null");
    }

    #[test]
    fn an_error_has_code_message_and_help() {
        let v: serde_json::Value = serde_json::from_slice(&error("usage", "m", None).unwrap()).unwrap();
        assert_eq!(v["schema"], 1);
        assert_eq!(v["error"]["code"], "usage");
        assert!(v["error"]["help"].is_null());
    }
}
