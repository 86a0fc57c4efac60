//! The JSON document for other programs, schema 1: the output of `--json` and the content of `NAME.json`.
//!
//! In: the facts of a run. Out: JSON. Lengths are in mm, areas in mm²; the document has no angles. Numbers are
//! rounded to 1e-6, never −0. Values that do not apply are null. Keys may be added, never renamed. The same facts
//! give the same bytes.

mod fit;
mod making;

pub use fit::{Proved, Routed, proved};

use super::asides::{self, AsidesPart};
use super::bench::{self, RouterPart, Step};
use super::facts::{Facts, Origin};
use super::registration::{self, Registration};
use super::verdict::verdict;
use crate::check::{Code, Finding};
use crate::drawing::outline::Outline;
use crate::drawing::{Drawing, Format};
use crate::geom::{Point, Rect};
use crate::text::Show;
use fit::{ProofPart, proof};
use making::{OpeningPart, PanelPart, ToolsPart};
use serde::{Serialize, Serializer};
use std::collections::BTreeMap;

/// Version of the schema.
pub(super) const SCHEMA: u32 = 1;

/// A number in the document: rounded to 1e-6, integers without a decimal point, non-finite values as null.
#[derive(Clone, Copy, Debug, PartialEq)]
pub(super) struct Number(pub(super) f64);

impl Serialize for Number {
    fn serialize<S: Serializer>(&self, s: S) -> Result<S::Ok, S::Error> {
        let v = (self.0 * 1e6).round() / 1e6;
        if !v.is_finite() {
            return s.serialize_none();
        }
        // Integers below 2^53 convert without loss.
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
    /// The verdict in words.
    verdict: String,
    findings: Vec<FindingPart>,
    proof: Option<ProofPart>,
    writing: WritingPart,
    #[serde(flatten)]
    asides: AsidesPart,
    files: Vec<&'a str>,
    hashes: BTreeMap<&'a str, &'a str>,
    /// Name of a job that follows another, such as `island-1`; null for the first job.
    part: Option<&'a str>,
    /// Jobs that follow. Each has a document of its own.
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
    /// The pieces are the mirror image of the drawing. All places refer to the mirror image.
    mirrored: bool,
    /// Path of the drawing relative to the folder of the files; only in the first job's document of `make`.
    #[serde(skip_serializing_if = "Option::is_none")]
    from_folder: Option<&'a str>,
    /// SHA-256 of the drawing; only in the first job's document of `make`.
    #[serde(skip_serializing_if = "Option::is_none")]
    sha256: Option<&'a str>,
}

/// The format of the files for the machine.
#[derive(Serialize)]
struct WritingPart {
    unit: Option<&'static str>,
    dxf: Option<&'static str>,
    /// Arcs are replaced by chords within this tolerance; null keeps arcs.
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
            from_folder: None,
            sha256: None,
        }
    }

    fn made_of(self, origin: Option<&'a Origin>) -> DrawingPart<'a> {
        let (from_folder, sha256) = (origin.map(|o| o.from_folder.as_str()), origin.map(|o| o.sha256.as_str()));
        DrawingPart { from_folder, sha256, ..self }
    }
}

#[derive(Serialize)]
struct CornersPart {
    mode: &'static str,
    inside_radius_mm: Option<Number>,
    outside_radius_mm: Option<Number>,
}

#[derive(Serialize)]
struct OutlinePart<'a> {
    id: String,
    number: usize,
    source: &'a str,
    layer: Option<&'a str>,
    /// `plug` or `shoulder`; null for flush pieces.
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

fn outline_id(number: usize) -> String {
    format!("outline-{number}")
}

#[derive(Serialize)]
pub(super) struct FindingPart {
    mark: usize,
    code: &'static str,
    severity: &'static str,
    outline: Option<String>,
    at_mm: Option<Pt>,
    measured_mm: Option<Number>,
    needed_mm: Option<Number>,
    short_mm: Option<Number>,
    off_mm: Option<Number>,
    region_mm: Option<[Number; 4]>,
    area_mm2: Option<Number>,
    message: String,
    help: String,
    /// Settings that would remove the finding, each with its limit.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    ways: Vec<WayPart>,
    /// Enlarging the drawing by this factor removes the finding. The program has tried it.
    #[serde(skip_serializing_if = "Option::is_none")]
    scale: Option<Number>,
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    accepted: bool,
}

#[derive(Serialize)]
struct WayPart {
    setting: &'static str,
    at_most_mm: Number,
}

impl FindingPart {
    pub(super) fn new(f: &Finding, show: Show) -> FindingPart {
        FindingPart {
            mark: f.mark,
            code: f.code.name(),
            severity: f.severity.name(),
            outline: f.outline.map(outline_id),
            at_mm: f.at.map(pt),
            measured_mm: f.measured.map(Number),
            needed_mm: f.needed.map(Number),
            short_mm: f.short.map(Number),
            off_mm: f.off.map(Number),
            region_mm: f.region.as_ref().and_then(|r| r.bounds()).map(|b| [b.x0, b.y0, b.x1, b.y1].map(Number)),
            area_mm2: f.area.map(Number),
            message: f.message.shown(show),
            help: f.help.shown(show),
            ways: f.ways.iter().map(|w| WayPart { setting: w.setting, at_most_mm: Number(w.at_most) }).collect(),
            scale: f.scale.map(Number),
            accepted: f.accepted,
        }
    }
}

/// The document, ending with a newline.
///
/// # Errors
/// If `serde_json` cannot write the document.
pub fn document(facts: &Facts) -> Result<Vec<u8>, serde_json::Error> {
    Ok(with_line_end(serde_json::to_vec_pretty(&of_job(facts))?))
}

fn of_job(facts: &Facts) -> Document<'_> {
    let (d, t, c) = (&facts.drawing, &facts.tools, facts.corners);
    // The document of the first job lists the files of all jobs.
    let files = || facts.jobs().flat_map(|f| &f.files);
    Document {
        schema: SCHEMA,
        tool: TOOL,
        drawing: DrawingPart::new(&facts.path, d, facts.mirrored).made_of(facts.origin.as_ref()),
        tools: ToolsPart::new(facts),
        corners: CornersPart {
            mode: c.name(),
            inside_radius_mm: c.inside_radius(t).map(Number),
            outside_radius_mm: c.outside_radius(t).map(Number),
        },
        outlines: facts.outlines.iter().map(|o| OutlinePart::new(o, facts)).collect(),
        openings: facts.template.openings.iter().map(|o| OpeningPart::new(o, facts)).collect(),
        panels: facts.template.panels.iter().map(|p| PanelPart::new(p, facts)).collect(),
        router: RouterPart::new(facts),
        steps: bench::steps(facts),
        registration: registration::part(facts),
        verdict: verdict(facts),
        findings: facts.findings.iter().map(|f| FindingPart::new(f, facts.show)).collect(),
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

/// The output of `--json` if there is no verdict.
///
/// # Errors
/// As [`document`].
pub fn error(code: &str, message: &str, help: Option<&str>) -> Result<Vec<u8>, serde_json::Error> {
    let error = serde_json::json!({"schema": SCHEMA, "error": {"code": code, "message": message, "help": help}});
    Ok(with_line_end(serde_json::to_vec_pretty(&error)?))
}

/// The output of `letin explain CODE --json`.
///
/// # Errors
/// As [`document`].
pub fn page(code: Code) -> Result<Vec<u8>, serde_json::Error> {
    let page = serde_json::json!({
        "schema": SCHEMA, "code": code.name(), "severity": code.severity_words(), "page": code.page(),
    });
    Ok(with_line_end(serde_json::to_vec_pretty(&page)?))
}

/// The output of `letin explain --json`.
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
