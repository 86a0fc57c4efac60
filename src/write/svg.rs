//! A face as SVG for the machine.
//!
//! In: a face, mm, y up. Out: width and height in mm or inches, and a viewBox of the same numbers. The numbers themselves
//! count y down, so the file needs no transform. It holds lines and circular arcs of a quarter turn at most, without fill.
//! Each layer is a group, and the layer's name is the group's id. All lines have one colour, so the id alone gives the
//! duty of a line. Refuses openings that lie off the panel, and numbers that are not finite. Source: SVG 2, chapters 8
//! and 9.

use super::sheet::Sheet;
use super::{FileUnit, WriteError};
use crate::panel::Face;
use crate::text::{full, rounded, svg_path_in_quarters, xml};
use std::fmt::Write;

/// Width of the lines, mm: wide enough to see, and thin enough for programs that recognise a cut by its hairline.
const HAIRLINE: f64 = 0.1;
/// Colour of every line: none of the pure colours that laser and CAM programs give a meaning.
pub(super) const LINE: &str = "#7a1f5c";

/// The SVG file of a face.
///
/// # Errors
/// [`WriteError`] where an opening lies off the panel, is not closed, or has a number that is not finite.
pub fn face(face: &Face, unit: FileUnit) -> Result<String, WriteError> {
    let sheet = Sheet::from_face(face)?.in_unit(unit);
    let (symbol, hairline) = (unit.name(), rounded(unit.number(HAIRLINE), 4)?);
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
            let name = layer.name();
            let _ = write!(
                out,
                "  <g id=\"{name}\" fill=\"none\" stroke=\"{LINE}\" stroke-width=\"{hairline}\">\n{inside}  </g>\n"
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
        // Y counts down: 240 − 100.
        assert!(s.contains("d=\"M 135 140 A 15 15 0 0 0 120 125 A 15 15 0 0 0 105 140 A 15 15 0 0 0 120 155 A 15 15 0 0 0 135 140 Z\""), "{s}");
        // The free edge is the top one: y = 0 in the file.
        assert!(s.contains("<line x1=\"400\" y1=\"0\" x2=\"0\" y2=\"0\"/>"));
        assert_eq!(s.matches("<line").count(), 4);
        assert!(!s.contains("transform"));
        let colours: Vec<_> = doc.descendants().filter_map(|n| n.attribute("stroke")).collect();
        assert_eq!(colours, [LINE; 3]);
    }

    #[test]
    fn what_does_not_lie_on_the_panel_is_refused() {
        let p = panel();
        let o = opening(Region::new(vec![Ring::circle(Point::new(0.0, 0.0), 15.0)]), Affine::translate((10.0, 100.0)));
        let e = super::face(&Face { panel: &p, face: 1, openings: vec![&o] }, FileUnit::Mm).unwrap_err();
        assert_eq!(e, WriteError::OffPanel { opening: "opening-1".into(), past: 5.0 });
    }
}
