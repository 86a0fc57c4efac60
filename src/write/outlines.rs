//! A plain drawing of outlines, as SVG. [`super::dxf::outlines`] writes the same drawing as DXF.
//!
//! In: a drawing, mm, y up. Out: width, height and viewBox in mm. The numbers count y down, so the file needs no
//! transform. Circles and ellipses are elements of their kind. Every other outline is a `path` of lines and circular arcs.
//! Each element has its outline's name as id. Source: SVG 2, chapters 8 to 10.

use super::WriteError;
use super::svg::LINE;
use crate::shape::{Drawing, Outline};
use crate::text::{full, svg_path_in_quarters, xml};
use std::fmt::Write;

/// Width of the lines, mm.
const HAIRLINE: &str = "0.1";

/// The SVG file of a drawing.
///
/// # Errors
/// [`WriteError::NotFinite`].
pub fn svg(drawing: &Drawing) -> Result<String, WriteError> {
    let (w, h) = (full(drawing.width)?, full(drawing.height)?);
    let mut out = format!(
        "<?xml version=\"1.0\" encoding=\"UTF-8\"?>\n<svg xmlns=\"http://www.w3.org/2000/svg\" version=\"1.1\" \
         width=\"{w}mm\" height=\"{h}mm\" viewBox=\"0 0 {w} {h}\">\n  <!-- {} -->\n  \
         <g fill=\"none\" stroke=\"{LINE}\" stroke-width=\"{HAIRLINE}\">\n",
        // An XML comment must not contain two hyphens.
        xml(&drawing.about).replace("--", "- -")
    );
    for (name, outline) in &drawing.outlines {
        let id = xml(name);
        // Writing to a String cannot fail.
        let _ = match outline {
            Outline::Ellipse { center, rx, ry } => {
                let (cx, cy) = (full(center.x)?, full(drawing.height - center.y)?);
                let (rx, ry) = (full(*rx)?, full(*ry)?);
                writeln!(out, "    <ellipse id=\"{id}\" cx=\"{cx}\" cy=\"{cy}\" rx=\"{rx}\" ry=\"{ry}\"/>")
            }
            Outline::Ring(ring) => match ring.as_circle() {
                Some((c, r)) => {
                    let (cx, cy, r) = (full(c.x)?, full(drawing.height - c.y)?, full(r)?);
                    writeln!(out, "    <circle id=\"{id}\" cx=\"{cx}\" cy=\"{cy}\" r=\"{r}\"/>")
                }
                None => writeln!(out, "    <path id=\"{id}\" d=\"{}\"/>", svg_path_in_quarters(ring, drawing.height)?),
            },
        };
    }
    out.push_str("  </g>\n</svg>\n");
    Ok(out)
}
