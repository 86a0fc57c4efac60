//! The files for the machine, read back.
//!
//! In: bytes of a DXF or SVG face file, and what it should hold. Out: each opening in the frame of *its own* face, mm:
//! what a file in one set-up shows mirrored is turned over again. Only the layer of the openings counts, and that of the
//! panel's own line. The reading path is the one that drawings come in by. Strict, for the files are the program's own:
//! whatever it would have to remark on, it refuses.

use super::plan::{FaceFile, Plan, Slot};
use super::{Edged, ProofError};
use crate::budget::Budget;
use crate::drawing::outline::{Trouble, outlines};
use crate::drawing::{Drawing, ReadError, ReadSettings, RemarkKind, Shape, dxf, svg};
use crate::geom::{Affine, Certified, FillRule, GeomError, Point, Region, Ring, enclosed};
use crate::template::{OPENING_LAYER, PANEL_LAYER, Panel, Setup};
use crate::threads::each;
use crate::tolerance::ALIKE;
use std::collections::BTreeMap;

/// The shapes of all openings, by their names, in the frame of the face that each is used from.
pub(super) fn openings(
    plan: &Plan,
    files: &[FaceFile],
    budget: &Budget,
) -> Result<BTreeMap<String, Certified<Region>>, ProofError> {
    // By opening: the shape, and the file that it was first seen in.
    let mut found: BTreeMap<String, (Certified<Region>, &str)> = BTreeMap::new();
    let read = each(files.iter().collect(), |file| {
        plan.check(budget)?;
        let panel = plan.panel(file.panel)?;
        let wanted = plan.on(panel, file.face);
        let seen = face(file, panel, &wanted, plan, budget)?;
        Ok::<_, ProofError>((file, panel, wanted, seen))
    });
    for one in read {
        let (file, panel, wanted, seen) = one?;
        for (slot, seen) in wanted.iter().zip(seen) {
            let own = if slot.face == file.face { seen } else { seen.moved(panel.turned()) };
            match found.get(&slot.id) {
                Some((first, first_name)) => alike(first, &own, slot, first_name, file.name, budget)?,
                None => {
                    found.insert(slot.id.clone(), (own, file.name));
                }
            }
        }
    }
    Ok(found.into_iter().map(|(id, (region, _))| (id, region)).collect())
}

/// The openings of one file, in its order, in the frame of its face.
fn face(
    file: &FaceFile,
    panel: &Panel,
    wanted: &[&Slot],
    plan: &Plan,
    budget: &Budget,
) -> Result<Vec<Certified<Region>>, ProofError> {
    let refuse = |what: String| ProofError::File { name: file.name.to_owned(), what };
    let drawing = drawing(file, plan, budget)?;
    let cut = regions(file.name, &drawing, OPENING_LAYER, budget)?;
    let cut = if cut.len() > wanted.len() { grouped(cut, wanted, file, panel, plan, budget)? } else { cut };
    if cut.len() != wanted.len() {
        return Err(refuse(format!("it has {} openings to cut, where there should be {}", cut.len(), wanted.len())));
    }
    let corners = [(0.0, 0.0), (panel.width, 0.0), (panel.width, panel.height), (0.0, panel.height)];
    let sheet = Region::new(vec![Ring::polygon(&corners.map(Point::from))]);
    let lines = regions(file.name, &drawing, PANEL_LAYER, budget)?;
    match (panel.setup, lines.as_slice()) {
        (Setup::Two, []) => {}
        (Setup::One, [line]) => {
            let off = Edged::new(line).apart(&Edged::new(&sheet), budget)?;
            if off.is_none_or(|m| m.mm > ALIKE) {
                return Err(refuse("the panel is cut to another size or at another place".to_owned()));
            }
        }
        (_, lines) => return Err(refuse(format!("the panel's own line is there {} times", lines.len()))),
    }
    // Whatever the file shows, it is the panel that all of it lies on.
    let near = |a: f64, b: f64| (a - b).abs() <= ALIKE;
    let whole = |b: crate::geom::Rect| {
        near(b.x0, 0.0) && near(b.y0, 0.0) && near(b.x1, panel.width) && near(b.y1, panel.height)
    };
    if !drawing.bounds.is_some_and(whole) {
        return Err(refuse(format!("what it shows does not fill the panel of {} x {} mm", panel.width, panel.height)));
    }
    Ok(cut)
}

/// An opening may be of several parts, where an outline fell apart and that was accepted. Each part goes to the one
/// opening whose outline it lies about; where that cannot be told the parts stay as they are.
fn grouped(
    cut: Vec<Certified<Region>>,
    wanted: &[&Slot],
    file: &FaceFile,
    panel: &Panel,
    plan: &Plan,
    budget: &Budget,
) -> Result<Vec<Certified<Region>>, ProofError> {
    let mut own: Vec<(Edged<'static>, f64)> = Vec::new();
    for slot in wanted {
        let turned = if slot.face == file.face { Affine::IDENTITY } else { panel.turned() };
        let of = plan.outlines.iter().find(|o| o.number == slot.outline);
        let (Some(of), Some(offset)) = (of, plan.offset(slot)) else { return Ok(cut) };
        own.push((Edged::owned(of.made.under_similarity(turned * slot.place)), offset));
    }
    let mut parts: Vec<Vec<Ring>> = vec![Vec::new(); wanted.len()];
    for part in &cut {
        let Some(p) = part.segments().next().map(|s| s.at(0.5)) else { continue };
        let off = |(made, offset): &(Edged, f64)| {
            made.index.nearest(p).map_or(f64::INFINITY, |n| (n.distance - offset).abs())
        };
        let near = (0..own.len()).min_by(|&i, &j| off(&own[i]).total_cmp(&off(&own[j])));
        if let Some(i) = near {
            parts[i].extend(part.rings.iter().cloned());
        }
    }
    if parts.iter().any(Vec::is_empty) {
        return Ok(cut);
    }
    parts.iter().map(|rings| Ok(enclosed(rings, FillRule::EvenOdd, budget)?)).collect()
}

fn drawing(file: &FaceFile, plan: &Plan, budget: &Budget) -> Result<Drawing, ProofError> {
    let refuse = |what: String| ProofError::File { name: file.name.to_owned(), what };
    let read = if file.name.ends_with(".svg") {
        svg::read(file.bytes, &ReadSettings::default(), budget)
    } else {
        dxf::read(file.bytes, &ReadSettings { unit: plan.unitless, ..ReadSettings::default() }, budget)
    };
    let drawing = read.map_err(|e| match e {
        ReadError::Stopped(s) => ProofError::Geom(GeomError::Stopped(s)),
        e => refuse(e.to_string()),
    })?;
    if drawing.unit_guessed {
        return Err(refuse(format!("its unit is not told: {}", drawing.unit_source)));
    }
    // Lines without a fill are what a face file is made of.
    if let Some(r) = drawing.remarks.iter().find(|r| !matches!(r.kind, RemarkKind::CentreLine { .. })) {
        return Err(refuse(format!("it cannot be read as it stands: {}", remark(&r.kind))));
    }
    Ok(drawing)
}

fn remark(kind: &RemarkKind) -> String {
    match kind {
        RemarkKind::LeftOut { what, count, .. } => format!("{count} x {what} would be left out"),
        RemarkKind::SecondReader { what } | RemarkKind::Tolerated { what } => what.clone(),
        RemarkKind::OpenLine { .. } | RemarkKind::Branching | RemarkKind::JoinedGap { .. } => {
            "a line does not close".to_owned()
        }
        RemarkKind::DoubledLine { .. } => "a line is there twice".to_owned(),
        RemarkKind::Needle { .. } => "a line runs out and back the same way".to_owned(),
        RemarkKind::Speck { .. } => "there is a speck in it".to_owned(),
        RemarkKind::CentreLine { .. } => "a stroke stands for a line".to_owned(),
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

/// The closed lines of a layer.
fn regions(name: &str, drawing: &Drawing, layer: &str, budget: &Budget) -> Result<Vec<Certified<Region>>, ProofError> {
    let refuse = |what: String| ProofError::File { name: name.to_owned(), what };
    let on = |s: &&Shape| s.source.layer.as_deref() == Some(layer);
    let shapes: Vec<Shape> = drawing.shapes.iter().filter(on).cloned().collect();
    if shapes.iter().flat_map(|s| &s.paths).any(|p| !p.closed) {
        return Err(refuse(format!("a line of {layer} does not close")));
    }
    let found = outlines(&shapes, budget).map_err(GeomError::Stopped)?;
    if let Some(t) = found.troubles.first() {
        return Err(refuse(format!("the lines of {layer} do not stand by themselves: {}", trouble(t))));
    }
    if let Some(s) = found.specks.first() {
        return Err(refuse(format!("there is a speck in {}", s.source.id)));
    }
    if let Some(s) = found.doubled.first() {
        return Err(refuse(format!("{} is there twice", s.id)));
    }
    Ok(found.outlines.into_iter().map(|o| o.region).collect())
}

/// Two files that show one opening must show the same.
fn alike(
    a: &Certified<Region>,
    b: &Certified<Region>,
    slot: &Slot,
    first: &str,
    second: &str,
    budget: &Budget,
) -> Result<(), ProofError> {
    if edge_by_edge(a, b) {
        return Ok(());
    }
    let off = Edged::new(a).apart(&Edged::new(b), budget)?;
    match off {
        Some(m) if m.mm <= ALIKE => Ok(()),
        _ => Err(ProofError::Disagree {
            id: slot.id.clone(),
            first: first.to_owned(),
            second: second.to_owned(),
            mm: off.map_or(f64::INFINITY, |m| m.mm),
        }),
    }
}

/// Whether both have the same edges in the same order: quickly told, and mostly so.
fn edge_by_edge(a: &Region, b: &Region) -> bool {
    let same_count = a.rings.len() == b.rings.len()
        && a.rings.iter().zip(&b.rings).all(|(r, s)| r.segments.len() == s.segments.len());
    // Lines and arcs of a half turn at most: ends and middle tell all.
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
