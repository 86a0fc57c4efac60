//! The openings of a flush job: for each outline one for the recess on face 1 and one for the insert on face 2.
//!
//! In: outlines as they will be made, certified, in the drawing frame, mm. Out: a panel and its openings. Refuses what
//! [`super::layout`] refuses; the geometry refuses what it cannot certify.

use super::layout::{FaceNeeds, LayoutError, PanelSettings, left_over_right};
use super::{Duty, Opening, Panel};
use crate::budget::Budget;
use crate::geom::{Certified, GeomError, Point, Rect, Region, grow, or, outset, shrink};
use crate::kit::Tools;

/// One outline on its way to being let in. All regions in the drawing frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Number of the outline.
    pub outline: usize,
    pub drawn: Certified<Region>,
    /// As it will be made: corners eased or not.
    pub made: Certified<Region>,
    /// Opening for the recess, `made ⊕ (R − r)`.
    pub recess: Certified<Region>,
    /// Opening for the insert, `made ⊕ (R + r − gap)`.
    pub insert: Certified<Region>,
}

impl Piece {
    /// Works out both openings.
    ///
    /// # Errors
    /// As [`grow`].
    pub fn new(
        outline: usize,
        drawn: &Certified<Region>,
        made: Certified<Region>,
        tools: &Tools,
        budget: &Budget,
    ) -> Result<Piece, GeomError> {
        // A gap of just twice the offset is made as drawn.
        let recess = outset(&made, tools.recess_offset(), budget)?.region;
        let insert = outset(&made, tools.insert_offset(), budget)?.region;
        Ok(Piece { outline, drawn: drawn.clone(), made, recess, insert })
    }
}

/// What is cut, and from what.
#[derive(Clone, Debug, PartialEq)]
pub struct Template {
    pub panels: Vec<Panel>,
    pub openings: Vec<Opening>,
    /// The one point from which all openings are placed, in the drawing frame.
    pub common: Option<Point>,
    /// Least material by the openings' boxes, mm, and where, in the drawing frame.
    pub thinnest: Option<(f64, Point)>,
}

/// The template of `pieces`: recess openings on face 1, insert openings on face 2, turned left over right, all from one
/// common point: the middle of the box round all outlines that are made. Nothing to make is an empty template.
///
/// # Errors
/// As [`left_over_right`].
pub fn template(pieces: &[Piece], tools: &Tools, settings: &PanelSettings) -> Result<Template, LayoutError> {
    let boxes = |region: fn(&Piece) -> &Region| {
        pieces.iter().filter_map(|p| region(p).bounds()).reduce(|a: Rect, b| a.union(b))
    };
    let (Some(made), Some(recess), Some(insert)) = (boxes(|p| &p.made), boxes(|p| &p.recess), boxes(|p| &p.insert))
    else {
        return Ok(Template { panels: Vec::new(), openings: Vec::new(), common: None, thinnest: None });
    };
    let faces = [
        FaceNeeds { openings: recess, bush_radius: tools.recess.bush_radius() },
        FaceNeeds { openings: insert, bush_radius: tools.insert.bush_radius() },
    ];
    let layout = left_over_right(faces, made.center(), settings)?;
    let mut openings = Vec::new();
    for p in pieces {
        for (face, duty, offset, region) in
            [(1, Duty::Recess, tools.recess_offset(), &p.recess), (2, Duty::Insert, tools.insert_offset(), &p.insert)]
        {
            openings.push(Opening {
                id: format!("opening-{}", openings.len() + 1),
                outline: p.outline,
                duty,
                panel: layout.panel.number,
                face,
                offset,
                region: region.clone(),
                place: layout.place,
            });
        }
    }
    Ok(Template { panels: vec![layout.panel], openings, common: Some(made.center()), thinnest: Some(layout.thinnest) })
}

/// What the router's base (radius `base`, mm) sweeps while a bush of radius `bush_radius` runs in `openings`, in the
/// frame of their face: `(T ⊖ R) ⊕ Q`. No clamp, stop or screw may stand there. Empty without openings.
///
/// # Errors
/// As the operations of [`crate::geom`].
pub fn keep_clear(openings: &[&Opening], bush_radius: f64, base: f64, budget: &Budget) -> Result<Region, GeomError> {
    let mut all: Option<Certified<Region>> = None;
    for o in openings {
        let one = grow(&shrink(&o.on_face(), bush_radius, budget)?, base, budget)?;
        all = Some(match all {
            Some(a) => or(&a, &one, budget)?,
            None => one,
        });
    }
    Ok(all.map(Certified::into_inner).unwrap_or_default())
}
