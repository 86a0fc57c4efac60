//! Reads back the files for the machine.
//!
//! In: bytes of a DXF or SVG face file, and its expected contents. Out: each opening in the frame of *its own* face,
//! mm; a mirrored opening of a one-set-up file is turned back. Only the openings' layer and the panel's outline are
//! cut. The reader is the one used for drawings.
//!
//! Files as this program writes them ([`Plan::saved`] false) are read strictly: any remark of the reader is an error.
//! Files saved by another program hold the same lines in another form: single edges, arcs as chords or cubics. Starts,
//! directions, order and letter case may differ. They are joined and matched by geometry. Lines beside the openings are
//! reported in [`Beside`]; anything that could make the machine cut something else is an error.

mod matching;
mod sheet;

use super::plan::{FaceFile, Plan, Slot};
use super::{Edged, ProofError};
use crate::budget::Budget;
use crate::drawing::outline::{Trouble, outlines};
use crate::drawing::{Drawing, ReadError, ReadSettings, RemarkKind, Shape, dxf, join, svg};
use crate::geom::{Affine, Certified, GeomError, Point, Region, Ring};
use crate::panel::{OPENING_LAYER, PANEL_LAYER, Panel, Setup};
use crate::threads::each;
use crate::tolerance::{ALIKE, PROVED};
use std::collections::BTreeMap;

/// Remarks on files that pass nevertheless.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Beside {
    /// No action needed.
    pub notes: Vec<String>,
    /// A machine or a person may misinterpret this.
    pub warnings: Vec<String>,
}

impl Beside {
    fn extend(&mut self, other: Beside) {
        self.notes.extend(other.notes);
        self.warnings.extend(other.warnings);
    }
}

/// The shapes of all openings by id, each in the frame of the face from which it is used. Never empty. If another file
/// shows an opening in a slightly different form, there is a second set; both must be proved.
pub(super) type Sets = Vec<BTreeMap<String, Certified<Region>>>;

pub(super) fn openings(
    plan: &Plan,
    files: &[FaceFile],
    reported: &mut Beside,
    budget: &Budget,
) -> Result<Sets, ProofError> {
    // By opening: the shape, and the first file that shows it.
    let mut found: BTreeMap<String, (Certified<Region>, &str)> = BTreeMap::new();
    let mut second: BTreeMap<String, Certified<Region>> = BTreeMap::new();
    let read = each(files.iter().collect(), |file| {
        plan.check(budget)?;
        let panel = plan.panel(file.panel)?;
        let wanted = plan.on(panel, file.face);
        let mut own = Beside::default();
        let seen = face(file, panel, &wanted, plan, &mut own, budget);
        Ok::<_, ProofError>((file, panel, wanted, seen, own))
    });
    for one in read {
        let (file, panel, wanted, seen, own) = one?;
        reported.extend(own);
        for (slot, seen) in wanted.iter().zip(seen?) {
            let own = if slot.face == file.face { seen } else { seen.moved(panel.turned()) };
            match found.get(&slot.id) {
                Some((first, first_name)) => {
                    let Some(mm) = apart(first, &own, budget)? else { continue };
                    let most = if plan.saved { 2.0 * plan.allowed() } else { ALIKE };
                    if mm > most {
                        let (id, first, second) = (slot.id.clone(), (*first_name).to_owned(), file.name.to_owned());
                        return Err(ProofError::Disagree { id, first, second, mm });
                    }
                    reported.notes.push(format!(
                        "{first_name} and {} show {} in different forms, at most {mm:.4} mm apart; both are proved",
                        file.name, slot.id
                    ));
                    second.insert(slot.id.clone(), own);
                }
                None => {
                    found.insert(slot.id.clone(), (own, file.name));
                }
            }
        }
    }
    let first: BTreeMap<_, _> = found.into_iter().map(|(id, (region, _))| (id, region)).collect();
    if second.is_empty() {
        return Ok(vec![first]);
    }
    let mut other = first.clone();
    other.extend(second);
    Ok(vec![first, other])
}

/// The openings of one file, in the order of `wanted`, in the frame of its face.
fn face(
    file: &FaceFile,
    panel: &Panel,
    wanted: &[&Slot],
    plan: &Plan,
    reported: &mut Beside,
    budget: &Budget,
) -> Result<Vec<Certified<Region>>, ProofError> {
    let refuse = |what: String| ProofError::File { name: file.name.to_owned(), what };
    let drawing = drawing(file, plan, reported, budget)?;
    let cut = regions(file.name, &drawing, OPENING_LAYER, plan, reported, budget)?;
    if cut.is_empty() {
        return Err(refuse(sheet::nothing_to_cut(&drawing)));
    }
    let cut = matching::matched(cut, wanted, file, panel, plan, budget)?;
    let slack = if plan.saved { PROVED } else { ALIKE };
    let corners = [(0.0, 0.0), (panel.width, 0.0), (panel.width, panel.height), (0.0, panel.height)];
    let whole_panel = Region::new(vec![Ring::polygon(&corners.map(Point::from))]);
    let lines = regions(file.name, &drawing, PANEL_LAYER, plan, reported, budget)?;
    match (panel.setup, lines.as_slice()) {
        (Setup::Two, []) => {}
        (Setup::One, [line]) => {
            let off = Edged::new(line).apart(&Edged::new(&whole_panel), budget)?;
            if off.is_none_or(|m| m.mm > slack) {
                return Err(refuse("the panel's outline has the wrong size or place".to_owned()));
            }
        }
        (_, lines) => return Err(refuse(format!("the panel's outline is in it {} times", lines.len()))),
    }
    // All lines together must span exactly the panel: many programs count from the bounding box of all lines.
    let near = |a: f64, b: f64| (a - b).abs() <= slack;
    let whole = |b: crate::geom::Rect| {
        near(b.x0, 0.0) && near(b.y0, 0.0) && near(b.x1, panel.width) && near(b.y1, panel.height)
    };
    let bounds = drawing.bounds.ok_or_else(|| refuse("it contains no lines".to_owned()))?;
    if !whole(bounds) {
        return Err(refuse(format!(
            "its lines reach from {:.3}, {:.3} to {:.3}, {:.3} mm, but the panel reaches from 0, 0 to {}, {} mm",
            bounds.x0, bounds.y0, bounds.x1, bounds.y1, panel.width, panel.height
        )));
    }
    if plan.saved {
        sheet::beside(file, panel, &drawing, reported, budget)?;
    }
    Ok(cut)
}

/// Whether a shape is on this layer. Some programs change the case of layer names.
fn on(shape: &Shape, layer: &str) -> bool {
    shape.source.layer.as_deref().is_some_and(|l| l.eq_ignore_ascii_case(layer))
}

fn drawing(file: &FaceFile, plan: &Plan, reported: &mut Beside, budget: &Budget) -> Result<Drawing, ProofError> {
    let refuse = |what: String| ProofError::File { name: file.name.to_owned(), what };
    let stopped = |e: ReadError| match e {
        ReadError::Stopped(s) => ProofError::Geom(GeomError::Stopped(s)),
        e => refuse(e.to_string()),
    };
    let mut settings = ReadSettings::default();
    let drawing = if file.name.ends_with(".svg") {
        svg::read(file.bytes, &settings, budget).map_err(stopped)?
    } else {
        let read = dxf::read(file.bytes, &settings, budget).map_err(stopped)?;
        match plan.unitless {
            Some(unit) if read.unit_guessed => {
                settings.unit = Some(unit);
                dxf::read(file.bytes, &settings, budget).map_err(stopped)?
            }
            _ => read,
        }
    };
    if drawing.unit_guessed {
        return Err(refuse(format!("it does not state its unit: {}", drawing.unit_source)));
    }
    for r in &drawing.remarks {
        let what = remark(&r.kind);
        let ours = r
            .source
            .as_ref()
            .and_then(|s| s.layer.as_deref())
            .is_some_and(|l| [OPENING_LAYER, PANEL_LAYER].iter().any(|own| l.eq_ignore_ascii_case(own)));
        let of = |what: &str| format!("{}: {what}", file.name);
        match &r.kind {
            // A face file consists of lines without a fill.
            RemarkKind::CentreLine { .. } => {}
            RemarkKind::Tolerated { .. } if plan.saved => reported.notes.push(of(&what)),
            RemarkKind::LeftOut { harmless: true, .. } if plan.saved && !ours => reported.notes.push(of(&what)),
            // Several of a kind may be on several layers, unless they are not shown at all.
            RemarkKind::LeftOut { what: kind, count, .. }
                if plan.saved && !ours && (*count == 1 || dxf::hidden(kind)) =>
            {
                reported.warnings.push(of(&what));
            }
            RemarkKind::Speck { .. } if plan.saved && !ours => reported.warnings.push(of(&what)),
            _ => return Err(refuse(format!("it cannot be read without loss: {what}"))),
        }
    }
    Ok(drawing)
}

fn remark(kind: &RemarkKind) -> String {
    match kind {
        RemarkKind::LeftOut { what, count, .. } => format!("{count} x {what} would be left out"),
        RemarkKind::SecondReader { what } | RemarkKind::Tolerated { what } | RemarkKind::Damaged { what } => {
            what.clone()
        }
        RemarkKind::OpenLine { gap, .. } => format!("a line does not close: its ends are {gap:.3} mm apart"),
        RemarkKind::Branching => "three or more lines meet in one place".to_owned(),
        RemarkKind::JoinedGap { gap } => format!("two ends are {gap:.3} mm apart"),
        RemarkKind::DoubledLine { .. } => "a line is drawn twice".to_owned(),
        RemarkKind::Needle { .. } => "a line runs out and back the same way".to_owned(),
        RemarkKind::Speck { .. } => "it contains a speck".to_owned(),
        RemarkKind::CentreLine { .. } => "a stroke was read along its middle".to_owned(),
    }
}

fn trouble(t: &Trouble) -> String {
    match t {
        Trouble::SelfCrossing { at, .. } => format!("one crosses itself at {:.3}, {:.3} mm", at.x, at.y),
        Trouble::Crossing { at, .. } => format!("two cross at {:.3}, {:.3} mm", at.x, at.y),
        Trouble::Touching { at, .. } | Trouble::TouchingParts { at, .. } => {
            format!("two touch at {:.3}, {:.3} mm", at.x, at.y)
        }
        Trouble::TooLarge { at, .. } => format!("one is larger than any template, at {:.3}, {:.3} mm", at.x, at.y),
        Trouble::Uncertified { why, .. } => why.clone(),
    }
}

/// The regions enclosed by the lines of a layer.
fn regions(
    name: &str,
    drawing: &Drawing,
    layer: &str,
    plan: &Plan,
    reported: &mut Beside,
    budget: &Budget,
) -> Result<Vec<Certified<Region>>, ProofError> {
    let refuse = |what: String| ProofError::File { name: name.to_owned(), what };
    let mut shapes: Vec<Shape> = drawing.shapes.iter().filter(|s| on(s, layer)).cloned().collect();
    let open = |shapes: &[Shape]| shapes.iter().flat_map(|s| &s.paths).any(|p| !p.closed);
    if plan.saved && open(&shapes) {
        shapes = joined(name, shapes, layer, reported, budget)?;
    }
    if open(&shapes) {
        return Err(refuse(format!("a line of {layer} does not close")));
    }
    let found = outlines(&shapes, budget).map_err(GeomError::Stopped)?;
    if let Some(t) = found.troubles.first() {
        return Err(refuse(format!("the lines of {layer} are not separate closed lines: {}", trouble(t))));
    }
    if let Some(s) = found.specks.first() {
        return Err(refuse(format!("{} contains a speck", s.source.id)));
    }
    if let Some(s) = found.doubled.first() {
        return Err(refuse(format!("{} is drawn twice", s.id)));
    }
    if let Some(f) = found.flat.first() {
        return Err(refuse(format!("{:.3} mm of {} enclose no area", f.length, f.source.id)));
    }
    Ok(found.outlines.into_iter().map(|o| o.region).collect())
}

/// Joins edges that were saved one by one. Each end may lie off its place by the allowance.
fn joined(
    name: &str,
    mut shapes: Vec<Shape>,
    layer: &str,
    reported: &mut Beside,
    budget: &Budget,
) -> Result<Vec<Shape>, ProofError> {
    // Only lines of one layer are joined, and its name may be written in several ways.
    shapes.iter_mut().for_each(|s| s.source.layer = Some(layer.to_owned()));
    let (shapes, remarks) = join::join(shapes, 2.0 * PROVED, budget);
    let mut widest = 0.0_f64;
    for r in remarks {
        match r.kind {
            RemarkKind::JoinedGap { gap } => widest = widest.max(gap),
            kind => {
                let at = r.at.map(|p| format!(" at {:.3}, {:.3} mm", p.x, p.y)).unwrap_or_default();
                let what = format!("on {layer}, {}{at}", remark(&kind));
                return Err(ProofError::File { name: name.to_owned(), what });
            }
        }
    }
    if widest > ALIKE {
        reported.notes.push(format!("{name}: ends of lines on {layer} lie up to {widest:.4} mm apart"));
    }
    Ok(shapes)
}

/// Distance between two forms of an opening, mm; `None` if they agree within [`ALIKE`].
fn apart(a: &Certified<Region>, b: &Certified<Region>, budget: &Budget) -> Result<Option<f64>, ProofError> {
    if edge_by_edge(a, b) {
        return Ok(None);
    }
    let mm = Edged::new(a).apart(&Edged::new(b), budget)?.map_or(f64::INFINITY, |m| m.mm);
    Ok((mm > ALIKE).then_some(mm))
}

/// Whether both have the same edges in the same order: a quick test that usually succeeds.
fn edge_by_edge(a: &Region, b: &Region) -> bool {
    let same_count = a.rings.len() == b.rings.len()
        && a.rings.iter().zip(&b.rings).all(|(r, s)| r.segments.len() == s.segments.len());
    // For lines, and arcs of at most a half turn, ends and middle suffice.
    same_count
        && a.segments().zip(b.segments()).all(|(s, t)| {
            [0.0, 0.5, 1.0].iter().all(|&u| (s.at(u) - t.at(u)).hypot() <= ALIKE / 2.0)
                && matches!(
                    (s, t),
                    (crate::geom::Segment::Line(_), crate::geom::Segment::Line(_))
                        | (crate::geom::Segment::Arc(_), crate::geom::Segment::Arc(_))
                )
        })
}

/// Maps an outline of the drawing to its place in this file.
fn shown(slot: &Slot, file: &FaceFile, panel: &Panel) -> Affine {
    let turned = if slot.face == file.face { Affine::IDENTITY } else { panel.turned() };
    turned * slot.place
}
