//! Reads SVG files.
//!
//! In: the bytes of a file and [`ReadSettings`]. Out: a [`Drawing`] in millimetres, y up. The origin is the bottom left
//! corner of the root viewport. Without a viewport it is that of the bounding box. Numbers stay in double precision
//! from the text to the outline. Circles and circular arcs stay true arcs under every transform that keeps them
//! circular.
//!
//! The elements it reads: basic shapes and paths, groups, links, `use`, `symbol`, nested `svg` and `switch`. It also
//! reads transforms, units, `viewBox`, style attributes and style rules ([`css`]).
//!
//! * A filled shape is the edge of its fill. The format closes its open subpaths.
//! * A shape with a stroke and no fill is the centre line of the stroke, with a remark. On request it is the edges of
//!   the stroke ([`stroke`]).
//! * Text is left out. On request its letters become outlines ([`text`]).
//!
//! Parts that the format does not show are left out: no paint, hidden, no size, definitions. Visible parts that are not
//! read get a remark: text, images, markers, clipping, masks, filters. Titles, metadata, animation and elements of
//! other namespaces draw nothing and are skipped. The edge of the page does not clip.
//!
//! Refuses invalid documents ([`document`]) and drawings beyond [`limits`]. Sources: W3C SVG 2, CSS Values and Units.
//!
//! The steps:
//!
//! 1. [`document`] parses the bytes to XML.
//! 2. [`size`] reads the page.
//! 3. [`walk`] visits the elements, with [`style`], [`css`] and [`transform`].
//! 4. [`draw`] draws each shape, with [`shapes`] and [`path`]. Module [`reported`] reports the rest.
//! 5. [`second`] compares with another reader, which gets the drawing itself or a [`resolved`] copy.

mod css;
mod document;
mod draw;
mod element;
mod limits;
mod path;
mod reported;
mod resolved;
mod second;
mod shapes;
mod size;
mod stroke;
mod style;
mod tally;
mod text;
mod transform;
mod walk;

use super::{Drawing, Format, ReadError, ReadSettings, Remark, RemarkKind, Shape};
use crate::budget::Budget;
use crate::geom::{Rect, Segment, Vec2};
use crate::units::CSS_PX_PER_INCH;
use second::Given;
use size::Lengths;
use std::rc::Rc;
use style::{Style, StyleSheet};

/// Reads an SVG file.
///
/// # Errors
/// [`ReadError`] for a file that is not SVG, is not well-formed XML, or exceeds a limit. [`ReadError::Stopped`] by the
/// budget.
pub fn read(bytes: &[u8], settings: &ReadSettings, budget: &Budget) -> Result<Drawing, ReadError> {
    let text = document::decode(bytes)?;
    budget.check()?;
    let doc = document::parse(&text)?;
    let sheet = StyleSheet::from_document(&doc);
    let own = sheet.own(doc.root_element(), &Rc::default())?;
    let dpi = settings.dpi.unwrap_or(CSS_PX_PER_INCH);
    let lengths = Lengths { viewport: (0.0, 0.0), dpi, em: size::FONT_PX, rem: size::FONT_PX };
    let rem = Style::default().child(&own, &lengths, |_| true).font_size;
    let viewport = size::root(&doc.root_element(), &own, rem, settings)?;
    let mut found = walk::elements(&doc, &text, &sheet, &viewport, settings, budget)?;
    let given = if sheet.beyond() {
        let lengths = Lengths { viewport: viewport.user, dpi, em: rem, rem };
        Given::Resolved(resolved::text(&doc, &sheet, &found.placed, lengths)?)
    } else {
        Given::AsItIs(&doc)
    };
    found.letters(&given, &viewport);
    let page = viewport.faults.iter().map(|what| Remark {
        kind: RemarkKind::Tolerated { what: format!("the size of the page: {what}") },
        source: None,
        at: None,
    });
    let mut remarks: Vec<Remark> = page.collect();
    remarks.append(&mut found.remarks);
    if found.forgotten > 0 {
        let what = format!("{} elements gave neither a shape nor a message", found.forgotten);
        remarks.push(Remark { kind: RemarkKind::SecondReader { what }, source: None, at: None });
    }
    if let Some(what) = second::compare(&given, text.len(), sheet.steps(), &viewport, &found, budget)? {
        remarks.push(Remark { kind: RemarkKind::SecondReader { what }, source: None, at: None });
    }
    let mut drawing = Drawing {
        format: Format::Svg,
        unit: viewport.unit,
        unit_source: viewport.unit_source,
        unit_guessed: viewport.unit_guessed,
        bounds: bounds(&found.shapes),
        shapes: found.shapes,
        remarks,
    };
    if let (false, Some(b)) = (viewport.anchored, drawing.bounds) {
        shift(&mut drawing, Vec2::new(-b.x0, -b.y0));
    }
    Ok(drawing)
}

fn bounds(shapes: &[Shape]) -> Option<Rect> {
    let segments = shapes.iter().flat_map(|s| &s.paths).flat_map(|p| &p.segments);
    segments.map(Segment::bounds).reduce(|a, b| a.union(b))
}

fn shift(drawing: &mut Drawing, by: Vec2) {
    for s in drawing.shapes.iter_mut().flat_map(|s| &mut s.paths).flat_map(|p| &mut p.segments) {
        *s = s.translated(by);
    }
    for at in drawing.remarks.iter_mut().filter_map(|r| r.at.as_mut()) {
        *at += by;
    }
    drawing.bounds = drawing.bounds.map(|b| b + by);
}

fn too_many_segments() -> ReadError {
    ReadError::Refused { what: format!("the drawing has more than {} lines and curves", limits::SEGMENTS) }
}

/// Shortens and escapes text of the file for a message.
fn shown(text: &str) -> String {
    let short: String = text.chars().take(60).collect();
    let dots = if short.len() < text.len() { "…" } else { "" };
    format!("\"{}{dots}\"", short.escape_debug())
}
