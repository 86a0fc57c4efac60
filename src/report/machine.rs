//! The work on the machine that cuts the template, and the figures that its CAM program must show after import.
//!
//! In: the facts of a run. Out: lines for a terminal. Figures are in the unit of the files. If the report has another
//! unit, they are given in both.

use super::lines::Lines;
use super::{registration, work};
use crate::geom::Rect;
use crate::job::facts::Facts;
use crate::panel::{Opening, Panel, Setup, Turn};
use crate::schema::Release;
use crate::template::Duty;
use crate::text::{Show, Words, fixed, plain, terminal as safe, whole};
use crate::units::{FileUnit, INCH};
use std::collections::BTreeSet;

/// The panels, and a line for each file.
pub(super) fn write_machine(lines: &mut Lines, facts: &Facts, full: bool) {
    if facts.template.openings.is_empty() || facts.blocked() {
        return;
    }
    lines.gap();
    lines.line("On the machine: cut inside the lines, datum X0 Y0 at the bottom left. Your CAM program must show:");
    if let Some(w) = facts.writing.filter(|w| w.dxf == Release::R12) {
        let unit = if w.unit == FileUnit::Inch { "inches" } else { "millimetres" };
        lines.item(&format!("DXF release 12 has no unit: tell your CAM program that it is in {unit}."));
    }
    for job in facts.jobs() {
        write_files(lines, job);
    }
    for job in facts.jobs() {
        write_panels(lines, job);
    }
    if facts.show == Show::Inch && facts.writing.is_some_and(|w| w.unit == FileUnit::Mm) {
        lines.item("The files are in mm. For inches add --write-unit in.");
    }
    if let Some(t) = facts.flatten {
        lines.item(&format!(
            "Arcs are written as straight lines, at most {} from the arc. Every gap includes that.",
            plain(t).shown(facts.show)
        ));
    }
    if full {
        registration::write_registration(lines, facts);
        for job in facts.jobs() {
            if let Some(part) = &job.part {
                lines.item(&format!("{part}:"));
            }
            for p in &job.template.panels {
                for o in job.template.openings.iter().filter(|o| o.panel == p.number) {
                    write_opening(lines, p, o, job);
                }
            }
        }
    }
}

fn how(p: &Panel) -> &'static str {
    match (p.setup, p.turn) {
        (_, Turn::None) => "It is not turned over.",
        (Setup::One, _) => "One set-up, all from face 1. Cut the panel's edge last, outside its line.",
        (Setup::Two, Turn::LeftRight) => "For face 2 turn it like a page.",
        (Setup::Two, Turn::BottomTop) => "For face 2 turn its bottom edge over to the top.",
    }
}

/// Neighbouring panels of one size share a line.
fn write_panels(lines: &mut Lines, facts: &Facts) {
    // A panel with openings on one face only is not turned over.
    let faces = |p: &Panel| {
        let own = facts.template.openings.iter().filter(|o| o.panel == p.number);
        own.map(|o| o.face).collect::<BTreeSet<_>>().len()
    };
    let like = |p: &Panel| (p.width, p.height, faces(p));
    for alike in facts.template.panels.chunk_by(|a, b| like(a) == like(b)) {
        let [p, ..] = alike else { continue };
        let numbers: Vec<String> = alike.iter().map(|p| p.number.to_string()).collect();
        let name = match (numbers.len(), facts.template.panels.len()) {
            (_, 1) => "Panel".to_owned(),
            (1, _) => format!("Panel {}", numbers.join(", ")),
            _ => format!("Panels {}, each", numbers.join(", ")),
        };
        let part = facts.part.as_ref().map(|p| format!(" of {p}")).unwrap_or_default();
        let size = Words::pair(whole(p.width).with_fraction(), whole(p.height).with_fraction()).shown(facts.show);
        let used = match p.turn {
            Turn::LeftRight => "left, bottom, right",
            Turn::BottomTop => "bottom, left, top",
            Turn::None => "left, bottom",
        };
        lines.item(&format!(
            "{name}{part} {size}, reference edges {used}. {}",
            if faces(p) > 1 || p.turn == Turn::None { how(p) } else { "Cut face 1 only." }
        ));
    }
}

/// A line for each DXF file, with the bounding box of all its openings.
fn write_files(lines: &mut Lines, facts: &Facts) {
    for file in facts.files.iter().filter(|f| f.name.ends_with(".dxf") && !f.cuts.is_empty()) {
        let own: Vec<&Opening> =
            facts.template.openings.iter().filter(|o| file.cuts.contains(&(o.panel, o.face))).collect();
        let boxes = own.iter().filter_map(|o| facts.read_back(o)).map(|(_, b)| b);
        let Some(all) = boxes.reduce(|a, b| a.union(b)) else { continue };
        let of = match own.as_slice() {
            [o] => whom(o.duty).to_owned(),
            many => format!("{} openings", many.len()),
        };
        lines.item(&format!("{} ({of}): {}", safe(&file.name), figures(all, facts)));
    }
}

fn whom(duty: Duty) -> &'static str {
    match duty {
        Duty::Recess => "recess",
        Duty::Inlay => "inlay",
        Duty::Both => "recess and inlay",
        Duty::Clearing => "waste",
    }
}

/// Size and place of a bounding box, as the CAM program shows them.
fn figures(b: Rect, facts: &Facts) -> String {
    let unit = match facts.writing.map(|w| w.unit) {
        Some(FileUnit::Inch) => Show::Inch,
        Some(_) => Show::Mm,
        None => facts.show,
    };
    let one = |show: Show| {
        let n = |mm: f64| match show {
            Show::Mm => fixed(mm).number(show),
            Show::Inch => format!("{:.4}", mm / INCH),
        };
        let unit = show.symbol();
        (format!("{} × {} {unit}", n(b.width()), n(b.height())), format!("X {} Y {}", n(b.x0), n(b.y0)))
    };
    let (size, corner) = one(unit);
    let other = if unit == facts.show {
        String::new()
    } else {
        let (size, corner) = one(facts.show);
        format!(" ({size}, {corner})")
    };
    format!("{size}, lower-left corner at {corner}{other}")
}

/// One opening in full.
fn write_opening(lines: &mut Lines, panel: &Panel, o: &Opening, facts: &Facts) {
    let Some((face, b)) = facts.read_back(o) else { return };
    let sheet = if facts.template.panels.len() > 1 { format!("panel {}, ", panel.number) } else { String::new() };
    lines.item(&format!("{}, {sheet}face {face}, {}: {}.", o.id, whom(o.duty), figures(b, facts)));
    if let Some(loose) = work::on_machine(o, facts) {
        lines.below(&loose);
    }
}
