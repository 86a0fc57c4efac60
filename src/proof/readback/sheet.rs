//! What a file shows beside its openings: the panel's edges, and lines that do not belong to the job.
//!
//! In: a drawing as read, mm, in the frame of its face. Out: warnings in [`Beside`]. None of these lines is an opening,
//! so the proof of the cuts does not depend on them. But a machine may cut any line, and a person sets the panel by its
//! edges.

use super::{Beside, on};
use crate::budget::Budget;
use crate::drawing::{Drawing, Shape};
use crate::geom::{GeomError, Point, Segment};
use crate::panel::{Edge, FREE_LAYER, Face, OPENING_LAYER, PANEL_LAYER, Panel, REFERENCE_LAYER, Setup};
use crate::proof::ProofError;
use crate::proof::plan::FaceFile;
use crate::tolerance::PROVED;
use std::collections::BTreeMap;

/// Number of intervals at whose ends the line of a panel edge is tested.
const PLACES: u32 = 64;

pub(super) fn beside(
    file: &FaceFile,
    panel: &Panel,
    drawing: &Drawing,
    reported: &mut Beside,
    budget: &Budget,
) -> Result<(), ProofError> {
    if panel.setup == Setup::One {
        strangers(file, drawing, &[OPENING_LAYER, PANEL_LAYER], reported);
        return Ok(());
    }
    strangers(file, drawing, &[OPENING_LAYER, PANEL_LAYER, REFERENCE_LAYER, FREE_LAYER], reported);
    edges(file, panel, drawing, reported, budget)
}

/// Warns of lines on layers that a file of this kind does not have.
fn strangers(file: &FaceFile, drawing: &Drawing, own: &[&str], reported: &mut Beside) {
    let mut found: BTreeMap<(&str, &str), (usize, Point)> = BTreeMap::new();
    for s in drawing.shapes.iter().filter(|s| !own.iter().any(|l| on(s, l))) {
        let Some(first) = s.paths.iter().flat_map(|p| &p.segments).next() else { continue };
        let key = (s.source.layer.as_deref().unwrap_or(""), s.source.kind.as_str());
        found.entry(key).or_insert((0, first.start())).0 += 1;
    }
    for ((layer, kind), (count, at)) in found {
        let place = if layer.is_empty() { "on no layer".to_owned() } else { format!("on layer {layer}") };
        reported.warnings.push(format!(
            "{}: {count} x {kind} {place}, at {:.2}, {:.2} mm, does not belong to this job; do not let the machine cut it",
            file.name, at.x, at.y
        ));
    }
}

/// Warns if an edge of the panel is missing from its layer, or if the layer has any other line.
fn edges(
    file: &FaceFile,
    panel: &Panel,
    drawing: &Drawing,
    reported: &mut Beside,
    budget: &Budget,
) -> Result<(), ProofError> {
    let (w, h) = (panel.width, panel.height);
    let face = Face { panel, face: file.face, openings: Vec::new() };
    let e = face.edges();
    let c = [(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)].map(Point::from);
    let sides = [
        ("bottom", e.bottom, c[0], c[1]),
        ("right", e.right, c[1], c[2]),
        ("top", e.top, c[2], c[3]),
        ("left", e.left, c[3], c[0]),
    ];
    let lines = |layer: &str| -> Vec<Segment> {
        let own = drawing.shapes.iter().filter(|s: &&Shape| on(s, layer));
        own.flat_map(|s| &s.paths).flat_map(|p| &p.segments).copied().collect()
    };
    for layer in [REFERENCE_LAYER, FREE_LAYER] {
        let own: Vec<_> = sides.iter().filter(|s| layer_of(s.1) == layer).collect();
        let segments = lines(layer);
        for (name, _, a, b) in &own {
            let mut there = true;
            for i in 0..=PLACES {
                budget.check().map_err(GeomError::Stopped)?;
                let p = a.lerp(*b, f64::from(i) / f64::from(PLACES));
                there = there && segments.iter().any(|s| s.nearest(p).0 <= PROVED);
            }
            if !there {
                reported.warnings.push(format!(
                    "{}: the line of the panel's {name} edge is missing from layer {layer}, or has moved",
                    file.name
                ));
            }
        }
        let on_an_edge = |p: Point| own.iter().any(|(_, _, a, b)| Segment::line(*a, *b).nearest(p).0 <= PROVED);
        let stray = segments.iter().find(|s| ![0.0, 0.5, 1.0].iter().all(|&t| on_an_edge(s.at(t))));
        if let Some(s) = stray {
            let p = s.at(0.5);
            reported.warnings.push(format!(
                "{}: a line on layer {layer}, at {:.2}, {:.2} mm, lies on no edge of the panel of that kind",
                file.name, p.x, p.y
            ));
        }
    }
    Ok(())
}

fn layer_of(edge: Edge) -> &'static str {
    if edge == Edge::Reference { REFERENCE_LAYER } else { FREE_LAYER }
}

/// The reason why there is no opening to read, with the layers of the file.
pub(super) fn nothing_to_cut(drawing: &Drawing) -> String {
    let mut layers: Vec<&str> = drawing.shapes.iter().filter_map(|s| s.source.layer.as_deref()).collect();
    layers.sort_unstable();
    layers.dedup();
    let there =
        if layers.is_empty() { "it has no layers".to_owned() } else { format!("its layers are {}", layers.join(", ")) };
    format!("nothing in it is on layer {OPENING_LAYER}: {there}")
}
