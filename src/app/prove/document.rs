//! Reads the document of a run and its promises.
//!
//! In: the bytes of `NAME.json`, schema 1. Out: a [`Plan`] for the proof, and the promised numbers. Refuses, with a reason in
//! words, other documents, documents without a proof, and impossible numbers.

use super::bounded::{Together, few, few_by_name};
use crate::budget::Budget;
use crate::check::{Code, Finding, Severity};
use crate::drawing::{ReadSettings, svg};
use crate::geom::{Affine, Certified, FillRule, Point, Region, Ring, enclosed};
use crate::kit::Pair;
use crate::proof::{InHand, Plan, PlugInShoulder, Slot, Wanted};
use crate::template::ease::Corners;
use crate::template::start::Start;
use crate::template::steps::{Corner, Purpose, Step, Work};
use crate::template::{Duty, Edges, Panel, Setup, Turn};
use crate::text::xml;
use crate::tolerance::COARSEST_CHORDS;
use crate::units::Unit;
use serde::Deserialize;
use std::collections::BTreeMap;
use std::sync::Arc;

/// Most outlines, openings, panels, steps or files of a run.
const MANY: usize = 100_000;
/// Most findings of a run.
const MOST_FINDINGS: usize = 1_000_000;
/// Most files of an opening, and most edges of a step.
const FEW: usize = 16;

/// Tolerance of offsets, mm: a document rounds its numbers, and the diameters of tools, to 1e-6.
const OFFSET_DIGITS: f64 = 1e-5;

#[derive(Deserialize)]
pub(super) struct Document {
    schema: u32,
    tool: Tool,
    tools: Tools,
    corners: CornersPart,
    #[serde(deserialize_with = "few::<MANY, _, _>")]
    openings: Vec<Opening>,
    #[serde(deserialize_with = "few::<MANY, _, _>")]
    panels: Vec<PanelPart>,
    #[serde(deserialize_with = "few::<MANY, _, _>")]
    steps: Vec<StepPart>,
    pub proof: Option<Promised>,
    #[serde(default, deserialize_with = "few::<MOST_FINDINGS, _, _>")]
    findings: Vec<FindingPart>,
    writing: Writing,
    #[serde(deserialize_with = "few_by_name::<MANY, _>")]
    pub hashes: BTreeMap<String, String>,
    /// The name of a job that follows another.
    pub part: Option<String>,
    #[serde(default, deserialize_with = "few::<MANY, _, _>")]
    then: Vec<Document>,
    /// Only in a shouldered job.
    shouldered: Option<ShoulderPart>,
    #[serde(default, deserialize_with = "few::<MANY, _, _>")]
    outlines: Vec<OutlinePart>,
    /// Only in a job that starts from something in hand.
    start: Option<StartPart>,
}

#[derive(Deserialize)]
struct ShoulderPart {
    plug_gap_mm: f64,
}

#[derive(Deserialize)]
struct OutlinePart {
    id: String,
    role: Option<String>,
}

#[derive(Deserialize)]
struct StartPart {
    from: String,
    one_opening: bool,
}

#[derive(Deserialize)]
struct PairPart {
    bush_mm: f64,
    cutter_mm: f64,
    offset_mm: Option<f64>,
}

#[derive(Deserialize)]
pub(super) struct Tool {
    pub name: String,
}

#[derive(Deserialize)]
struct Tools {
    recess: Option<PairPart>,
    inlay: Option<PairPart>,
    gap_mm: f64,
    #[serde(default)]
    measured: bool,
}

#[derive(Deserialize)]
struct CornersPart {
    mode: String,
}

#[derive(Deserialize)]
struct Writing {
    unit: Option<String>,
    dxf: Option<String>,
    flatten_mm: Option<f64>,
}

#[derive(Deserialize)]
struct Opening {
    id: String,
    outline: String,
    duty: String,
    panel: u32,
    face: u8,
    offset_mm: Option<f64>,
    area_mm2: Option<f64>,
    place: [f64; 6],
    #[serde(deserialize_with = "few::<FEW, _, _>")]
    files: Vec<String>,
}

#[derive(Deserialize)]
struct PanelPart {
    panel: u32,
    size_mm: [f64; 2],
    turn: String,
    setup: String,
}

#[derive(Deserialize)]
struct StepPart {
    piece: String,
    panel: u32,
    face_up: u8,
    #[serde(deserialize_with = "few::<FEW, _, _>")]
    edges: Vec<String>,
    opening: String,
    purpose: String,
    bush_mm: f64,
    cutter_mm: f64,
}

#[derive(Deserialize)]
pub(super) struct Promised {
    #[serde(deserialize_with = "few::<MANY, _, _>")]
    pub pieces: Vec<PiecePart>,
    #[serde(default, deserialize_with = "few::<MANY, _, _>")]
    outlines: Vec<Shape>,
}

#[derive(Deserialize)]
pub(super) struct PiecePart {
    pub outline: String,
    pub recess_area_mm2: f64,
    pub inlay_area_mm2: f64,
    pub gap_min_mm: f64,
    pub gap_max_mm: f64,
}

#[derive(Deserialize)]
struct Shape {
    outline: String,
    drawn: Together,
    made: Together,
}

#[derive(Deserialize)]
struct FindingPart {
    code: String,
    outline: Option<String>,
    at_mm: Option<[f64; 2]>,
    needed_mm: Option<f64>,
    short_mm: Option<f64>,
    region_mm: Option<[f64; 4]>,
}

/// A face file that the document lists.
pub(super) struct Listed {
    pub name: String,
    pub panel: u32,
    pub face: u8,
}

/// The document in `bytes`, if it is one of this program.
pub(super) fn parse(bytes: &[u8]) -> Result<Document, String> {
    let d: Document = serde_json::from_slice(bytes).map_err(|e| e.to_string())?;
    if d.tool.name != env!("CARGO_PKG_NAME") {
        return Err(format!("it is a document of {}", d.tool.name));
    }
    if d.schema != 1 {
        return Err(format!("it has schema {}, and this version of letin reads schema 1", d.schema));
    }
    Ok(d)
}

/// The number in an id: 3 for `outline-3`.
pub(super) fn number(outline: &str) -> Result<usize, String> {
    let digits = outline.strip_prefix("outline-").and_then(|n| n.parse().ok());
    digits.ok_or_else(|| format!("{outline} is not the id of an outline"))
}

impl Document {
    /// This job and those that follow it.
    pub(super) fn jobs(&self) -> impl Iterator<Item = &Document> {
        std::iter::once(self).chain(&self.then)
    }

    /// Whether all diameters are measured.
    pub(super) fn measured(&self) -> bool {
        self.tools.measured
    }

    /// The gap of the job, mm per side.
    pub(super) fn gap(&self) -> f64 {
        self.tools.gap_mm
    }

    pub(super) fn corners(&self) -> Result<Corners, String> {
        match self.corners.mode.as_str() {
            "ease" => Ok(Corners::Ease { inside: 0.0, outside: 0.0 }),
            "square" => Ok(Corners::Square),
            "keep" => Ok(Corners::Keep),
            other => Err(format!("it has an unknown mode of corners, \"{other}\"")),
        }
    }

    /// The findings of the document with their places, so that a misfit at a known corner belongs to that corner's finding.
    pub(super) fn findings(&self) -> Vec<Finding> {
        let one = |f: &FindingPart| {
            let mut known = Finding::new(Code::from_name(&f.code)?, Severity::Note, "", "");
            known.outline = f.outline.as_deref().and_then(|o| number(o).ok());
            known.at = f.at_mm.map(|[x, y]| Point::new(x, y));
            (known.needed, known.short) = (f.needed_mm, f.short_mm);
            // The document holds the bounding box of the region, not its edge.
            let place = f.region_mm.map(|[x0, y0, x1, y1]| {
                Region::new(vec![Ring::polygon(&[(x0, y0), (x1, y0), (x1, y1), (x0, y1)].map(Point::from))])
            });
            known.region = place.map(Arc::new);
            Some(known)
        };
        self.findings.iter().filter_map(one).collect()
    }

    /// The plan for the proof.
    pub(super) fn plan(&self, budget: &Budget) -> Result<Plan, String> {
        let Some(proof) = self.proof.as_ref().filter(|p| !p.pieces.is_empty()) else {
            return Err("an error blocked this job, so it has no files to prove".to_owned());
        };
        let in_hand = self.start.as_ref().map(|s| self.in_hand(s)).transpose()?;
        if proof.outlines.is_empty() {
            return Err("it holds no outlines to prove against".to_owned());
        }
        let unitless = match (self.writing.dxf.as_deref(), self.writing.unit.as_deref()) {
            (Some("r12"), Some(unit)) => Some(Unit::parse(unit).ok_or(format!("\"{unit}\" is no unit"))?),
            _ => None,
        };
        let flatten = self.writing.flatten_mm;
        if flatten.is_some_and(|f| !(0.0..=COARSEST_CHORDS).contains(&f)) {
            return Err(format!("it has a tolerance of chords above {COARSEST_CHORDS} mm"));
        }
        let shouldered = self.shouldered()?;
        let steps: Vec<Step> = self.steps.iter().map(|s| self.step(s)).collect::<Result<_, String>>()?;
        if let Some(s) = self.steps.iter().find(|s| shouldered.is_none() && s.edges != Corner::BOTTOM_LEFT.names()) {
            return Err(format!("it has a step with unknown edges, {}", s.edges.join(" and ")));
        }
        let narrow = |s: &&Step| !(0.0..s.pair.cutter_radius()).contains(&self.gap_of(s.outline, shouldered));
        if let Some(s) = steps.iter().find(narrow) {
            return Err(format!("it has an impossible gap of {} mm", self.gap_of(s.outline, shouldered)));
        }
        let wanted = |s| wanted(s, |number| self.gap_of(number, shouldered), budget);
        let plan = Plan {
            outlines: proof.outlines.iter().map(wanted).collect::<Result<_, String>>()?,
            closed: !matches!(self.corners()?, Corners::Keep),
            flatten,
            saved: true,
            unitless,
            panels: self.panels.iter().map(panel).collect::<Result<_, String>>()?,
            slots: self.openings.iter().map(slot).collect::<Result<_, String>>()?,
            steps,
            in_hand,
            shouldered,
        };
        self.offsets(&plan)?;
        Ok(plan)
    }

    /// Compares the offsets in the document with those of its tools, since people and programs rely on both.
    fn offsets(&self, plan: &Plan) -> Result<(), String> {
        for (o, slot) in self.openings.iter().zip(&plan.slots) {
            let (Some(stated), Some(worked_out)) = (o.offset_mm, plan.offset(slot)) else { continue };
            if (stated - worked_out).abs() > OFFSET_DIGITS {
                return Err(format!(
                    "it states an offset of {stated} mm for {}, and its tools give {worked_out} mm",
                    o.id
                ));
            }
        }
        let pairs = [("recess", &self.tools.recess, -1.0, 0.0), ("inlay", &self.tools.inlay, 1.0, self.tools.gap_mm)];
        for (name, pair, side, gap) in pairs {
            let Some(pair) = pair else { continue };
            let worked_out = (pair.bush_mm + side * pair.cutter_mm) / 2.0 - gap;
            if pair.offset_mm.is_some_and(|o| (o - worked_out).abs() > OFFSET_DIGITS) {
                let stated = pair.offset_mm.unwrap_or_default();
                return Err(format!(
                    "it states an offset of {stated} mm for the {name}, and its tools give {worked_out} mm"
                ));
            }
        }
        Ok(())
    }

    /// The reason why a finished job has no files to prove.
    pub(super) fn nothing_to_prove(&self) -> Option<&'static str> {
        let needless = self.start.as_ref().is_some_and(|s| s.one_opening);
        needless.then_some("the job starts from something in hand and needed no file: nothing to prove")
    }

    fn in_hand(&self, s: &StartPart) -> Result<InHand, String> {
        let start = Start::ALL.into_iter().find(|k| k.name() == s.from);
        let start = start.ok_or_else(|| format!("it starts from something unknown, \"{}\"", s.from))?;
        let of = |p: &Option<PairPart>| p.as_ref().map(|p| pair(p.bush_mm, p.cutter_mm)).transpose();
        let (recess, inlay) = (of(&self.tools.recess)?, of(&self.tools.inlay)?);
        let none = || "it has no tools".to_owned();
        // The piece in hand needs no tools.
        let (recess, inlay) = (recess.or(inlay).ok_or_else(none)?, inlay.or(recess).ok_or_else(none)?);
        Ok(InHand { start, recess, inlay, one_opening: s.one_opening })
    }

    /// Plug and shoulder; `None` for a job without a shoulder.
    fn shouldered(&self) -> Result<Option<PlugInShoulder>, String> {
        if self.shouldered.is_none() {
            return Ok(None);
        }
        let role = |name: &str| {
            let found = self.outlines.iter().find(|o| o.role.as_deref() == Some(name));
            number(&found.ok_or_else(|| format!("it has no outline for the {name}"))?.id)
        };
        Ok(Some(PlugInShoulder { plug: role("plug")?, shoulder: role("shoulder")? }))
    }

    /// The gap of an outline, mm per side. A plug has its own.
    fn gap_of(&self, outline: usize, shouldered: Option<PlugInShoulder>) -> f64 {
        match &self.shouldered {
            Some(part) if shouldered.is_some_and(|s| s.plug == outline) => part.plug_gap_mm,
            _ => self.tools.gap_mm,
        }
    }

    fn step(&self, s: &StepPart) -> Result<Step, String> {
        let named = |e: &str| s.edges.iter().any(|x| x == e);
        let corner = Corner { right: named("right"), top: named("top") };
        if s.edges != corner.names() {
            return Err(format!("it has a step with unknown edges, {}", s.edges.join(" and ")));
        }
        let opening = self.openings.iter().find(|o| o.id == s.opening);
        let outline =
            number(&opening.ok_or_else(|| format!("a step names a missing opening, {}", s.opening))?.outline)?;
        Ok(Step {
            work: work(s)?,
            panel: s.panel,
            face_up: s.face_up,
            corner,
            opening: s.opening.clone(),
            outline,
            purpose: if s.purpose == "line" { Purpose::Line } else { Purpose::Clearing },
            pair: pair(s.bush_mm, s.cutter_mm)?,
            depth: None,
            through: false,
            whole: false,
        })
    }

    /// The files for the machine. Each opening must be in a DXF and in an SVG.
    pub(super) fn listed(&self, plan: &Plan) -> Result<Vec<Listed>, String> {
        let mut listed: Vec<Listed> = Vec::new();
        for o in &self.openings {
            let one = plan.panels.iter().any(|p| p.number == o.panel && p.setup == Setup::One);
            let face = if one { 1 } else { o.face };
            for kind in [".dxf", ".svg"] {
                if !o.files.iter().any(|f| f.ends_with(kind)) {
                    return Err(format!("{} has no {kind} file", o.id));
                }
            }
            for name in &o.files {
                if name.contains(['/', '\\', ':']) || name.starts_with('.') {
                    return Err(format!("\"{name}\" is not the name of a file in the folder"));
                }
                match listed.iter().find(|t| t.name == *name) {
                    Some(t) if (t.panel, t.face) != (o.panel, face) => {
                        return Err(format!("it lists two faces for {name}"));
                    }
                    Some(_) => {}
                    None => listed.push(Listed { name: name.clone(), panel: o.panel, face }),
                }
            }
        }
        Ok(listed)
    }
}

fn work(s: &StepPart) -> Result<Work, String> {
    let known = [Work::Board, Work::Inlay].into_iter().find(|w| w.name() == s.piece);
    known.ok_or_else(|| format!("it has a step for an unknown piece, \"{}\"", s.piece))
}

fn pair(bush: f64, cutter: f64) -> Result<Pair, String> {
    if cutter > 0.0 && bush > cutter && bush < 1e4 {
        return Ok(Pair { bush, cutter });
    }
    Err(format!("it has an impossible cutter of {cutter} mm in a bush of {bush} mm"))
}

fn panel(p: &PanelPart) -> Result<Panel, String> {
    let turn = [Turn::LeftRight, Turn::BottomTop, Turn::None].into_iter().find(|t| t.name() == p.turn);
    let setup = [Setup::Two, Setup::One].into_iter().find(|s| s.name() == p.setup);
    let (Some(turn), Some(setup)) = (turn, setup) else {
        return Err(format!("it has a panel with an unknown turn or set-up, \"{}\" and \"{}\"", p.turn, p.setup));
    };
    let [width, height] = p.size_mm;
    if !(width > 0.0 && height > 0.0 && width < 1e7 && height < 1e7) {
        return Err(format!("it has an impossible panel of {width} × {height} mm"));
    }
    Ok(Panel { number: p.panel, width, height, turn, setup, edges: Edges::of(turn) })
}

fn slot(o: &Opening) -> Result<Slot, String> {
    let duty = match o.duty.as_str() {
        "recess" => Duty::Recess,
        "inlay" => Duty::Inlay,
        "both" => Duty::Both,
        "clearing" => Duty::Clearing,
        other => return Err(format!("it has an opening of an unknown duty, \"{other}\"")),
    };
    let [a, b, c, d, e, f] = o.place;
    let rigid =
        (a * a + b * b - 1.0).abs() < 1e-12 && (c * c + d * d - 1.0).abs() < 1e-12 && (a * c + b * d).abs() < 1e-12;
    if !rigid || e.abs().max(f.abs()) >= 1e7 {
        return Err(format!("the place of {} distorts it, or lies too far away", o.id));
    }
    let place = Affine::new(o.place);
    let (id, outline) = (o.id.clone(), number(&o.outline)?);
    Ok(Slot { id, outline, duty, panel: o.panel, face: o.face, place, area: o.area_mm2 })
}

fn wanted(s: &Shape, gap: impl Fn(usize) -> f64, budget: &Budget) -> Result<Wanted, String> {
    let shape = |paths: &Together| region(paths, budget).map_err(|e| format!("the shape of {}: {e}", s.outline));
    let number = number(&s.outline)?;
    Ok(Wanted { number, drawn: shape(&s.drawn)?, made: shape(&s.made)?, gap: gap(number) })
}

/// The region of path data, by the reader of drawings.
fn region(paths: &Together, budget: &Budget) -> Result<Certified<Region>, String> {
    // In the document y runs down from 0. The reader's y runs up from the bottom of a page 1 mm high.
    let drawing = format!(
        r#"<svg xmlns="http://www.w3.org/2000/svg" width="1mm" height="1mm" viewBox="0 0 1 1"><path transform="translate(0 1)" d="{}"/></svg>"#,
        xml(&paths.text)
    );
    let read = svg::read(drawing.as_bytes(), &ReadSettings::default(), budget).map_err(|e| e.to_string())?;
    let rings: Vec<Ring> = read.shapes.into_iter().flat_map(|s| s.paths).map(|p| Ring::new(p.segments)).collect();
    if rings.is_empty() || rings.len() != paths.count {
        return Err("its lines are not closed".to_owned());
    }
    enclosed(&rings, FillRule::EvenOdd, budget).map_err(|e| e.to_string())
}
