//! A face as SVG for the machine.
//!
//! Out: width and height in mm or inches and a viewBox with the same numbers; y flipped in the coordinates, no
//! transform. Only lines and circular arcs of at most a quarter turn, without fill. Each layer is a group with the
//! layer's name as id. Source: SVG 2, chapters 8 and 9.

use super::sheet::{Layer, Sheet};
use super::{FileUnit, WriteError};
use crate::template::Face;
use crate::text::{full, rounded, svg_path_in_quarters, xml};
use std::fmt::Write;

/// Line width, mm: visible, and thin enough for programs that recognise cuts by it.
const HAIRLINE: f64 = 0.1;

fn colour(layer: Layer) -> &'static str {
    match layer {
        Layer::OpeningCutInside | Layer::Outline => "#000000",
        Layer::ReferenceEdge => "#0000ff",
        Layer::FreeEdge => "#808080",
        Layer::PanelCutOutside => "#ff0000",
    }
}

/// The SVG file of a face.
///
/// # Errors
/// [`WriteError`] if an opening extends past the panel or does not close, or if a number is not finite.
pub fn face(face: &Face, unit: FileUnit) -> Result<String, WriteError> {
    let sheet = Sheet::of(face)?.in_unit(unit);
    let (symbol, hairline) = (unit.symbol(), rounded(unit.of(HAIRLINE), 4)?);
    let (w, h) = (full(sheet.width)?, full(sheet.height)?);
    let mut out = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" \
         width=\"{w}{symbol}\" height=\"{h}{symbol}\" viewBox=\"0 0 {w} {h}\">\n"
    );
    for &layer in &sheet.layers {
        let mut inside = String::new();
        for l in sheet.loops.iter().filter(|l| l.layer == layer) {
            let d = svg_path_in_quarters(&l.ring, sheet.height)?;
            // Writing to a String cannot fail, here and below.
            let _ = writeln!(inside, "    <path id=\"{}\" d=\"{d}\"/>", xml(&l.id));
        }
        for (_, a, b) in sheet.edges.iter().filter(|e| e.0 == layer) {
            let (x1, y1, x2, y2) = (full(a.x)?, full(sheet.height - a.y)?, full(b.x)?, full(sheet.height - b.y)?);
            let _ = writeln!(inside, "    <line x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\"/>");
        }
        if !inside.is_empty() {
            let (name, colour) = (layer.name(), colour(layer));
            let _ = write!(
                out,
                "  <g id=\"{name}\" fill=\"none\" stroke=\"{colour}\" stroke-width=\"{hairline}\">\n{inside}  </g>\n"
            );
        }
    }
    out.push_str("</svg>\n");
    Ok(out)
}

#[cfg(test)]
mod tests {
    use super::super::dxf::tests::{opening, panel};
    use super::*;
    use crate::geom::{Affine, Point, Region, Ring};

    #[test]
    fn what_a_face_file_holds() {
        let p = panel();
        let o = opening(Region::new(vec![Ring::circle(Point::new(0.0, 0.0), 15.0)]), Affine::translate((120.0, 100.0)));
        let s = super::face(&Face { panel: &p, face: 1, openings: vec![&o] }, FileUnit::Mm).unwrap();
        let doc = roxmltree::Document::parse(&s).unwrap();
        let root = doc.root_element();
        assert_eq!(root.attribute("width"), Some("400mm"));
        assert_eq!(root.attribute("height"), Some("240mm"));
        assert_eq!(root.attribute("viewBox"), Some("0 0 400 240"));
        let ids: Vec<_> = root.children().filter_map(|n| n.attribute("id")).collect();
        assert_eq!(ids, ["OPENING_CUT_INSIDE", "REFERENCE_EDGE", "FREE_EDGE"]);
        // y flipped: 240 − 100.
        assert!(s.contains("d=\"M 135 140 A 15 15 0 0 0 120 125 A 15 15 0 0 0 105 140 A 15 15 0 0 0 120 155 A 15 15 0 0 0 135 140 Z\""), "{s}");
        // The free edge is the top one: y = 0 in the file.
        assert!(s.contains("<line x1=\"400\" y1=\"0\" x2=\"0\" y2=\"0\"/>"));
        assert_eq!(s.matches("<line").count(), 4);
        assert!(!s.contains("transform"));
    }

    #[test]
    fn what_does_not_lie_on_the_panel_is_refused() {
        let p = panel();
        let o = opening(Region::new(vec![Ring::circle(Point::new(0.0, 0.0), 15.0)]), Affine::translate((10.0, 100.0)));
        let e = super::face(&Face { panel: &p, face: 1, openings: vec![&o] }, FileUnit::Mm).unwrap_err();
        assert_eq!(e, WriteError::OffPanel { opening: "opening-1".into(), past: 5.0 });
    }
}
