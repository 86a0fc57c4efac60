//! The plan of the proof, and the promises, from the document of a run.
//!
//! In: a [`Document`]. Out: a [`Plan`], the listed files, the known findings. Refuses, with a reason in words, documents
//! without a proof, impossible numbers, and parts that contradict each other.

use crate::budget::Budget;
use crate::check::{Finding, Severity};
use crate::geom::{Affine, Certified, FillRule, Point, Region, Ring, enclosed};
use crate::kit::Pair;
use crate::panel::shoulder::Role;
use crate::panel::steps::{PanelCorner, Step};
use crate::panel::{Edges, Panel, Setup};
use crate::proof::{InHand, Plan, PlugInShoulder, Slot, Wanted};
use crate::schema::asides::Begun;
use crate::schema::{Document, Release, bench, finding, job, proof};
use crate::template::ease::{CornerMode, Corners};
use crate::text::ring_of_path;
use crate::tolerance::COARSEST_CHORDS;
use crate::units::FileUnit;
use std::sync::Arc;

/// Tolerance of offsets, mm: a document rounds its numbers, and the diameters of tools, to 1e-6.
const OFFSET_DIGITS: f64 = 1e-5;

/// A face file that the document lists.
pub(super) struct Listed {
    pub name: String,
    pub panel: u32,
    pub face: u8,
}

/// The treatment of corners. The document has no margins.
pub(super) fn corners(d: &Document) -> Corners {
    match d.corners.mode {
        CornerMode::Ease => Corners::Ease { inside: 0.0, outside: 0.0 },
        CornerMode::Square => Corners::Square,
        CornerMode::Keep => Corners::Keep,
    }
}

/// The findings of the document with their places, so that a misfit at a known corner belongs to that corner's finding.
pub(super) fn findings(d: &Document) -> Vec<Finding> {
    let known = |f: &finding::Finding| {
        let mut known = Finding::new(f.code, Severity::Note, "", "");
        known.outline = f.outline.map(|o| o.0);
        known.at = f.at_mm.map(|[x, y]| Point::new(x, y));
        (known.needed, known.short) = (f.needed_mm, f.short_mm);
        // The document holds the bounding box of the region, not its edge.
        let place = f.region_mm.map(|[x0, y0, x1, y1]| {
            Region::new(vec![Ring::polygon(&[(x0, y0), (x1, y0), (x1, y1), (x0, y1)].map(Point::from))])
        });
        known.region = place.map(Arc::new);
        known
    };
    d.findings.iter().map(known).collect()
}

/// The reason why a finished job has no files to prove.
pub(super) fn nothing_to_prove(d: &Document) -> Option<&'static str> {
    let needless = d.start.as_ref().is_some_and(|s| s.one_opening);
    needless.then_some("the job starts from something in hand and needed no file: nothing to prove")
}

/// The plan for the proof.
pub(super) fn plan(d: &Document, budget: &Budget) -> Result<Plan, String> {
    let Some(proof) = d.proof.as_ref().filter(|p| !p.pieces.is_empty()) else {
        return Err("an error blocked this job, so it has no files to prove".to_owned());
    };
    if proof.outlines.is_empty() {
        return Err("it holds no outlines to prove against".to_owned());
    }
    let flatten = d.writing.flatten_mm;
    if flatten.is_some_and(|f| !(0.0..=COARSEST_CHORDS).contains(&f)) {
        return Err(format!("it has a tolerance of chords above {COARSEST_CHORDS} mm"));
    }
    let shouldered = shouldered(d)?;
    let gap = |outline| gap(d, outline, shouldered);
    let steps: Vec<Step> = d.steps.iter().map(|s| step(d, s)).collect::<Result<_, String>>()?;
    if let Some(s) = steps.iter().find(|s| shouldered.is_none() && s.corner != PanelCorner::BOTTOM_LEFT) {
        return Err(format!("it has a step with unknown edges, {}", s.corner.names().join(" and ")));
    }
    let narrow = |s: &&Step| !(0.0..s.pair.cutter_radius()).contains(&gap(s.outline));
    if let Some(s) = steps.iter().find(narrow) {
        return Err(format!("it has an impossible gap of {} mm", gap(s.outline)));
    }
    let wanted = |s: &proof::Shape| wanted(s, gap(s.outline.0), budget);
    let plan = Plan {
        outlines: proof.outlines.iter().map(wanted).collect::<Result<_, String>>()?,
        closed: d.corners.mode != CornerMode::Keep,
        flatten,
        saved: true,
        unitless: d.writing.unit.filter(|_| d.writing.dxf == Some(Release::R12)).map(FileUnit::unit),
        panels: d.panels.iter().map(panel).collect::<Result<_, String>>()?,
        slots: d.openings.iter().map(slot).collect::<Result<_, String>>()?,
        steps,
        in_hand: d.start.as_ref().map(|s| in_hand(d, s)).transpose()?,
        shouldered,
    };
    offsets(d, &plan)?;
    Ok(plan)
}

/// Compares the offsets in the document with those of its tools, since people and programs rely on both.
fn offsets(d: &Document, plan: &Plan) -> Result<(), String> {
    let differs = |stated: f64, worked_out: f64, what: &str| {
        let near = (stated - worked_out).abs() <= OFFSET_DIGITS;
        let why = || format!("it states an offset of {stated} mm for {what}, and its tools give {worked_out} mm");
        near.then_some(()).ok_or_else(why)
    };
    for (o, slot) in d.openings.iter().zip(&plan.slots) {
        if let Some(worked_out) = plan.offset(slot) {
            differs(o.offset_mm, worked_out, &o.id)?;
        }
    }
    let pairs = [("the recess", &d.tools.recess, -1.0, 0.0), ("the inlay", &d.tools.inlay, 1.0, d.tools.gap_mm)];
    for (name, pair, side, gap) in pairs {
        if let Some(p) = pair {
            differs(p.offset_mm, (p.bush_mm + side * p.cutter_mm) / 2.0 - gap, name)?;
        }
    }
    Ok(())
}

fn in_hand(d: &Document, s: &Begun) -> Result<InHand, String> {
    let known = |p: &Option<job::Pair>| p.as_ref().map(|p| pair(p.bush_mm, p.cutter_mm)).transpose();
    let (recess, inlay) = (known(&d.tools.recess)?, known(&d.tools.inlay)?);
    let none = || "it has no tools".to_owned();
    // The piece in hand needs no tools.
    let (recess, inlay) = (recess.or(inlay).ok_or_else(none)?, inlay.or(recess).ok_or_else(none)?);
    Ok(InHand { start: s.from, recess, inlay, one_opening: s.one_opening })
}

/// Plug and shoulder; `None` for a job without a shoulder.
fn shouldered(d: &Document) -> Result<Option<PlugInShoulder>, String> {
    if d.shouldered.is_none() {
        return Ok(None);
    }
    let outline = |role: Role| {
        let found = d.outlines.iter().find(|o| o.role == Some(role)).map(|o| o.id.0);
        found.ok_or_else(|| format!("it has no outline for the {}", role.name()))
    };
    Ok(Some(PlugInShoulder { plug: outline(Role::Plug)?, shoulder: outline(Role::Shoulder)? }))
}

/// The gap of an outline, mm per side. A plug has its own.
fn gap(d: &Document, outline: usize, shouldered: Option<PlugInShoulder>) -> f64 {
    match &d.shouldered {
        Some(part) if shouldered.is_some_and(|s| s.plug == outline) => part.plug_gap_mm,
        _ => d.tools.gap_mm,
    }
}

fn step(d: &Document, s: &bench::Step) -> Result<Step, String> {
    let opening = d.openings.iter().find(|o| o.id == s.opening);
    Ok(Step {
        work: s.piece,
        panel: s.panel,
        face_up: s.face_up,
        corner: s.edges.0,
        opening: s.opening.clone(),
        outline: opening.ok_or_else(|| format!("a step names a missing opening, {}", s.opening))?.outline.0,
        purpose: s.purpose,
        pair: pair(s.bush_mm, s.cutter_mm)?,
        depth: s.depth_mm,
        through: s.through,
        whole: s.middle_cleared,
    })
}

fn pair(bush: f64, cutter: f64) -> Result<Pair, String> {
    if cutter > 0.0 && bush > cutter && bush < 1e4 {
        return Ok(Pair { bush, cutter });
    }
    Err(format!("it has an impossible cutter of {cutter} mm in a bush of {bush} mm"))
}

fn panel(p: &job::Panel) -> Result<Panel, String> {
    let [width, height] = p.size_mm;
    if !(width > 0.0 && height > 0.0 && width < 1e7 && height < 1e7) {
        return Err(format!("it has an impossible panel of {width} × {height} mm"));
    }
    Ok(Panel { number: p.panel, width, height, turn: p.turn, setup: p.setup, edges: Edges::turned_over(p.turn) })
}

fn slot(o: &job::Opening) -> Result<Slot, String> {
    let [a, b, c, d, e, f] = o.place;
    let rigid =
        (a * a + b * b - 1.0).abs() < 1e-12 && (c * c + d * d - 1.0).abs() < 1e-12 && (a * c + b * d).abs() < 1e-12;
    if !rigid || e.abs().max(f.abs()) >= 1e7 {
        return Err(format!("the place of {} distorts it, or lies too far away", o.id));
    }
    let (id, place) = (o.id.clone(), Affine::new(o.place));
    Ok(Slot { id, outline: o.outline.0, duty: o.duty, panel: o.panel, face: o.face, place, area: Some(o.area_mm2) })
}

fn wanted(s: &proof::Shape, gap: f64, budget: &Budget) -> Result<Wanted, String> {
    let shape = |paths| region(paths, budget).map_err(|e| format!("the shape of {}: {e}", s.outline));
    Ok(Wanted { number: s.outline.0, drawn: shape(&s.drawn)?, made: shape(&s.made)?, gap })
}

fn region(paths: &[String], budget: &Budget) -> Result<Certified<Region>, String> {
    let ring =
        |(n, d): (usize, &String)| ring_of_path(d, 0.0).ok_or(format!("path {n} is not in the form that letin writes"));
    let rings: Vec<Ring> = (1..).zip(paths).map(ring).collect::<Result<_, String>>()?;
    if rings.is_empty() {
        return Err("it has no path".to_owned());
    }
    enclosed(&rings, FillRule::EvenOdd, budget).map_err(|e| e.to_string())
}

/// The files for the machine. Each opening must be in a DXF and in an SVG.
pub(super) fn listed(d: &Document, plan: &Plan) -> Result<Vec<Listed>, String> {
    let mut listed: Vec<Listed> = Vec::new();
    for o in &d.openings {
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
