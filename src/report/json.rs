//! The JSON document of a run, made from its facts: the output of `--json` and the content of `NAME.json`.
//!
//! In: the facts of a run. Out: the types of [`crate::schema`], and their bytes.

mod fit;
mod making;

pub use fit::{DocumentProof, Routed, proved};

use super::verdict::verdict;
use super::{asides, bench, registration, start};
use crate::check::{Code, Finding};
use crate::drawing::Drawing;
use crate::drawing::outline::Outline;
use crate::geom::{Point, Rect};
use crate::job::facts::Facts;
use crate::schema::answers::{CodeSummary, Codes, Failure, NoVerdict, Page};
use crate::schema::finding::Way;
use crate::schema::job::{Corners, Writing};
use crate::schema::{self, Bounds, Document, OutlineId, Pt, Tool, Version, bytes_by_name};
use crate::text::Show;

pub(super) fn pt(p: Point) -> Pt {
    [p.x, p.y]
}

fn size(r: Rect) -> Pt {
    [r.width(), r.height()]
}

pub(super) fn bounds(r: Rect) -> Bounds {
    [r.x0, r.y0, r.x1, r.y1]
}

/// The document, ending with a newline.
///
/// # Errors
/// If `serde_json` cannot write the document.
pub fn document(facts: &Facts) -> Result<Vec<u8>, serde_json::Error> {
    schema::bytes(&job(facts))
}

fn job(facts: &Facts) -> Document {
    let (t, c, a) = (&facts.tools, facts.corners, &facts.asides);
    let files = || facts.jobs().flat_map(|f| &f.files);
    Document {
        schema: Version,
        tool: Tool::own(),
        drawing: schema::job::Drawing {
            from_folder: facts.origin.as_ref().map(|o| o.from_folder.clone()),
            sha256: facts.origin.as_ref().map(|o| o.sha256.clone()),
            ..drawing(&facts.path, &facts.drawing, facts.mirrored)
        },
        tools: making::tools(facts),
        corners: Corners {
            mode: c.mode(),
            inside_radius_mm: c.inside_radius(t),
            outside_radius_mm: c.outside_radius(t),
        },
        outlines: facts.outlines.iter().map(|o| outline(o, facts)).collect(),
        openings: facts.template.openings.iter().map(|o| making::opening(o, facts)).collect(),
        panels: facts.template.panels.iter().map(|p| making::panel(p, facts)).collect(),
        router: bench::router(facts),
        steps: bench::steps(facts),
        registration: registration::part(facts),
        verdict: verdict(facts),
        findings: facts.findings.iter().map(|f| finding(f, facts.show)).collect(),
        proof: fit::proof(facts),
        writing: Writing {
            unit: facts.writing.map(|w| w.unit),
            dxf: facts.writing.map(|w| w.dxf),
            flatten_mm: facts.flatten,
        },
        pair: a.pair.as_ref().map(asides::choice),
        suggestion: a.suggestion.as_ref().map(asides::suggested),
        season: a.season.as_ref().map(|s| asides::moves(s, facts)),
        shouldered: a.shoulder.as_ref().map(asides::shouldered),
        start: a.start.as_ref().map(start::part),
        files: files().map(|f| f.name.clone()).collect(),
        hashes: files().map(|f| (f.name.clone(), f.sha256.clone())).collect(),
        part: facts.part.clone(),
        then: facts.then.iter().map(job).collect(),
    }
}

pub(super) fn drawing(path: &str, d: &Drawing, mirrored: bool) -> schema::job::Drawing {
    schema::job::Drawing {
        path: path.to_owned(),
        format: d.format,
        unit: d.unit.symbol.to_owned(),
        unit_source: d.unit_source.clone(),
        size_mm: d.bounds.map(size),
        mirrored,
        from_folder: None,
        sha256: None,
    }
}

fn outline(o: &Outline, facts: &Facts) -> schema::job::Outline {
    schema::job::Outline {
        id: OutlineId(o.number),
        number: o.number,
        source: o.source.id.clone(),
        layer: o.source.layer.clone(),
        role: facts.role(o.number),
        area_mm2: o.region.area(),
        perimeter_mm: o.region.perimeter(),
        bounds_mm: o.region.bounds().map(bounds),
        holes: o.region.rings.iter().filter(|r| r.area() < 0.0).count(),
    }
}

pub(super) fn finding(f: &Finding, show: Show) -> schema::finding::Finding {
    schema::finding::Finding {
        mark: f.mark,
        code: f.code,
        severity: f.severity,
        outline: f.outline.map(OutlineId),
        at_mm: f.at.map(pt),
        measured_mm: f.measured,
        needed_mm: f.needed,
        short_mm: f.short,
        off_mm: f.off,
        region_mm: f.region.as_ref().and_then(|r| r.bounds()).map(bounds),
        area_mm2: f.area,
        message: f.message.shown(show),
        help: f.help.shown(show),
        ways: f.ways.iter().map(|w| Way { setting: w.setting.to_owned(), at_most_mm: w.at_most }).collect(),
        scale: f.scale,
        accepted: f.accepted,
    }
}

/// The output of `--json` if there is no verdict.
///
/// # Errors
/// As [`document`].
pub fn error(code: &str, message: &str, help: Option<&str>) -> Result<Vec<u8>, serde_json::Error> {
    let (code, message, help) = (code.to_owned(), message.to_owned(), help.map(str::to_owned));
    bytes_by_name(&NoVerdict { schema: Version, error: Failure { code, message, help } })
}

/// The output of `letin explain CODE --json`.
///
/// # Errors
/// As [`document`].
pub fn page(code: Code) -> Result<Vec<u8>, serde_json::Error> {
    bytes_by_name(&Page { schema: Version, code, severity: code.severity_words(), page: code.page().to_owned() })
}

/// The output of `letin explain --json`.
///
/// # Errors
/// As [`document`].
pub fn codes() -> Result<Vec<u8>, serde_json::Error> {
    let summary = |&code: &Code| {
        let (severity, summary) = (code.severity_words(), code.summary().to_owned());
        CodeSummary { code, severity, summary }
    };
    bytes_by_name(&Codes { schema: Version, codes: Code::ALL.iter().map(summary).collect() })
}
