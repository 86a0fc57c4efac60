//! Corners eased so that recess and insert match, and what easing leaves proud.
//!
//! In: an outline's region, the tools, how corners are wanted; mm. Out: the region that is made, certified.
//! Opening by the cutter's radius rounds inside corners, closing by the offset rounds jutting ones (Serra 1982;
//! Soille, *Morphological Image Analysis*, 2003). Opening after closing is not always idle: a gap a little too wide to
//! be closed leaves horns on the insert that the recess lacks. [`proud`] finds them.

use crate::budget::Budget;
use crate::geom::edges::{EdgeIndex, sampled};
use crate::geom::{Certified, GeomError, Point, Region, close, minus, open};
use crate::kit::Tools;

/// Points along the edge of a misfit are this far apart at most, mm.
const STEP: f64 = 0.1;

/// How the corners of the outline are made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Corners {
    /// Inside and jutting corners rounded, in recess and insert alike, a little wider than the tools need: by these
    /// margins, mm.
    Ease { inside: f64, jutting: f64 },
    /// Jutting corners rounded, inside corners left sharp: to be chiselled.
    Square,
    /// As drawn.
    Keep,
}

impl Corners {
    /// The name of the setting's value.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Corners::Ease { .. } => "ease",
            Corners::Square => "square",
            Corners::Keep => "keep",
        }
    }

    /// Radius that inside corners are rounded to, mm.
    #[must_use]
    pub fn inside_radius(self, tools: &Tools) -> Option<f64> {
        match self {
            Corners::Ease { inside, .. } => Some(tools.recess.cutter_radius() + inside),
            Corners::Square | Corners::Keep => None,
        }
    }

    /// Radius that jutting corners are rounded to, mm.
    #[must_use]
    pub fn jutting_radius(self, tools: &Tools) -> Option<f64> {
        match self {
            Corners::Ease { jutting, .. } => Some(tools.largest_offset() + jutting),
            Corners::Square => Some(tools.largest_offset()),
            Corners::Keep => None,
        }
    }
}

/// An outline with its corners eased.
#[derive(Clone, Debug, PartialEq)]
pub struct Eased {
    /// With inside corners rounded only: what a round tool reaches. Closing can join again what fell apart here.
    pub opened: Certified<Region>,
    /// As it will be made.
    pub made: Certified<Region>,
}

/// Eases the corners of an outline.
///
/// # Errors
/// As the operations of [`crate::geom`].
pub fn ease(drawn: &Certified<Region>, corners: Corners, tools: &Tools, budget: &Budget) -> Result<Eased, GeomError> {
    let opened = match corners.inside_radius(tools) {
        Some(r) => open(drawn, r, budget)?,
        None => drawn.clone(),
    };
    let made = match corners.jutting_radius(tools) {
        Some(o) => close(&opened, o, budget)?,
        None => opened.clone(),
    };
    Ok(Eased { opened, made })
}

/// A place that a tool of some radius does not reach into.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Proud {
    /// Where it is deepest.
    pub at: Point,
    /// Distance of that point from what the tool reaches, mm.
    pub depth: f64,
    /// Of the whole place, mm².
    pub area: f64,
}

/// The places of `S \ open_r(S)` deeper than `least` mm: what a round tool of radius `r` leaves of `s`. The depth is the
/// greatest distance from `open_r(S)` of points sampled along the place's edge.
///
/// # Errors
/// As the operations of [`crate::geom`].
pub fn proud(s: &Certified<Region>, r: f64, least: f64, budget: &Budget) -> Result<Vec<Proud>, GeomError> {
    let reached = open(s, r, budget)?;
    let left = minus(s, &reached, budget)?;
    let index = EdgeIndex::new(&reached);
    let mut found = Vec::new();
    for ring in &left.rings {
        budget.check()?;
        let one = Region::new(vec![ring.clone()]);
        // Where nothing at all is reached the depth is the tool's own radius at least.
        let depth = |p| index.nearest(p).map_or(r, |n| n.distance);
        let deepest = sampled(&one, STEP).map(|p| (depth(p), p)).max_by(|a, b| a.0.total_cmp(&b.0));
        if let Some((depth, at)) = deepest
            && depth > least
        {
            found.push(Proud { at, depth, area: ring.area().abs() });
        }
    }
    Ok(found)
}
