//! The contents of a face file, independent of the format: DXF and SVG are written from it, so they agree.

use super::{FileUnit, WriteError};
use crate::geom::{Affine, Point, Ring, Segment};
use crate::panel::{Edge, FREE_LAYER, Face, OPENING_LAYER, PANEL_LAYER, REFERENCE_LAYER, Setup};
use crate::text::{NotFinite, halves};
use crate::tolerance::GRID;

/// The layers of a face file, in the order of the file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Layer {
    /// The cutter runs inside the line.
    OpeningCutInside,
    /// The edges that rest against the stops.
    ReferenceEdge,
    FreeEdge,
    /// The panel's own outline, if it is cut in the same set-up; the cutter runs outside the line.
    PanelCutOutside,
    /// A line of a plain drawing, not for the machine.
    Outline,
}

impl Layer {
    pub(super) fn name(self) -> &'static str {
        match self {
            Layer::OpeningCutInside => OPENING_LAYER,
            Layer::ReferenceEdge => REFERENCE_LAYER,
            Layer::FreeEdge => FREE_LAYER,
            Layer::PanelCutOutside => PANEL_LAYER,
            Layer::Outline => "OUTLINE",
        }
    }
}

/// A closed line to be cut.
#[derive(Clone, Debug)]
pub(super) struct Loop {
    pub layer: Layer,
    /// Id of its opening; further rings of the same opening have a number appended.
    pub id: String,
    pub ring: Ring,
}

impl Loop {
    /// Its edges, with no arc over a half turn.
    pub(super) fn edges(&self) -> Vec<Segment> {
        halves(&self.ring)
    }
}

/// The contents of one face file, in the face's frame, mm, y up.
#[derive(Clone, Debug)]
pub(super) struct Sheet {
    pub width: f64,
    pub height: f64,
    pub loops: Vec<Loop>,
    /// The panel's edges, anticlockwise from the bottom one; empty if the panel itself is cut.
    pub edges: Vec<(Layer, Point, Point)>,
    /// The layers of the file.
    pub layers: Vec<Layer>,
}

impl Sheet {
    pub(super) fn from_face(face: &Face) -> Result<Sheet, WriteError> {
        let (width, height) = (face.panel.width, face.panel.height);
        if !width.is_finite() || !height.is_finite() {
            return Err(NotFinite.into());
        }
        if width <= 0.0 || height <= 0.0 {
            return Err(WriteError::NoPanel { width, height });
        }
        let mut loops = Vec::new();
        for o in &face.openings {
            let region = face.seen(o).into_inner();
            if region.is_empty() {
                return Err(WriteError::Empty { opening: o.id.clone() });
            }
            for (i, ring) in region.rings.into_iter().enumerate() {
                check(&ring, &o.id, width, height)?;
                let id = if i == 0 { o.id.clone() } else { format!("{}-{}", o.id, i + 1) };
                loops.push(Loop { layer: Layer::OpeningCutInside, id, ring });
            }
        }
        if face.panel.setup == Setup::Two {
            let layers = vec![Layer::OpeningCutInside, Layer::ReferenceEdge, Layer::FreeEdge];
            return Ok(Sheet { width, height, loops, edges: edges(face), layers });
        }
        // The panel comes last: once cut out, it may move.
        let corners = [(0.0, 0.0), (width, 0.0), (width, height), (0.0, height)];
        let ring = Ring::polygon(&corners.map(Point::from));
        loops.push(Loop { layer: Layer::PanelCutOutside, id: "panel".to_owned(), ring });
        let layers = vec![Layer::OpeningCutInside, Layer::PanelCutOutside];
        Ok(Sheet { width, height, loops, edges: Vec::new(), layers })
    }

    /// The same with all numbers in the file's unit.
    pub(super) fn in_unit(self, unit: FileUnit) -> Sheet {
        if unit == FileUnit::Mm {
            return self;
        }
        let k = unit.number(1.0);
        let at = |p: Point| Point::new(unit.number(p.x), unit.number(p.y));
        Sheet {
            width: unit.number(self.width),
            height: unit.number(self.height),
            loops: self
                .loops
                .into_iter()
                .map(|l| Loop { ring: l.ring.under_similarity(Affine::scale(k)), ..l })
                .collect(),
            edges: self.edges.into_iter().map(|(layer, a, b)| (layer, at(a), at(b))).collect(),
            layers: self.layers,
        }
    }
}

fn check(ring: &Ring, id: &str, width: f64, height: f64) -> Result<(), WriteError> {
    let opening = || id.to_string();
    if ring.segments.iter().any(|s| !s.is_finite()) {
        return Err(NotFinite.into());
    }
    let Some(b) = ring.bounds() else { return Err(WriteError::Empty { opening: opening() }) };
    let past = (-b.x0).max(-b.y0).max(b.x1 - width).max(b.y1 - height);
    if past > GRID {
        return Err(WriteError::OffPanel { opening: opening(), past });
    }
    let n = ring.segments.len();
    if n < 2 || (0..n).any(|i| ring.segments[i].end() != ring.segments[(i + 1) % n].start()) {
        return Err(WriteError::Open { opening: opening() });
    }
    Ok(())
}

fn edges(face: &Face) -> Vec<(Layer, Point, Point)> {
    let (w, h) = (face.panel.width, face.panel.height);
    let e = face.edges();
    let c = [Point::new(0.0, 0.0), Point::new(w, 0.0), Point::new(w, h), Point::new(0.0, h)];
    [(e.bottom, c[0], c[1]), (e.right, c[1], c[2]), (e.top, c[2], c[3]), (e.left, c[3], c[0])]
        .map(|(e, a, b)| (if e == Edge::Reference { Layer::ReferenceEdge } else { Layer::FreeEdge }, a, b))
        .to_vec()
}
