//! Corners eased so that recess and inlay match, and the places that easing leaves proud.
//!
//! In: an outline's region, the tools, the treatment of corners; mm. Out: the region that is made, certified. Opening
//! by the cutter's radius rounds inside corners, closing by the offset rounds outside ones (Serra 1982; Soille,
//! *Morphological Image Analysis*, 2003). A second opening after the closing may change the region again. A gap
//! slightly too wide to close leaves horns on the inlay that the recess lacks. [`proud`] finds them.

use crate::budget::Budget;
use crate::geom::edges::{EdgeIndex, sampled};
use crate::geom::{Certified, GeomError, Point, Region, Ring, close, grow, inset, open};
use crate::kit::Tools;
use crate::names::names;
use crate::threads::both;

/// Greatest spacing of sampled points along an edge, mm.
const STEP: f64 = 0.1;

/// How the corners of the outline are made.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Corners {
    /// Inside and outside corners rounded, in recess and inlay alike, with radii larger than the tools need by these
    /// margins, mm.
    Ease { inside: f64, outside: f64 },
    /// Outside corners rounded, inside corners left sharp for the chisel.
    Square,
    /// As drawn.
    Keep,
}

/// [`Corners`] without the margins.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum CornerMode {
    Ease,
    Square,
    Keep,
}

names!(CornerMode, "it has an unknown mode of corners"; Ease = "ease", Square = "square", Keep = "keep");

impl Corners {
    #[must_use]
    pub fn mode(self) -> CornerMode {
        match self {
            Corners::Ease { .. } => CornerMode::Ease,
            Corners::Square => CornerMode::Square,
            Corners::Keep => CornerMode::Keep,
        }
    }

    /// Radius of rounded inside corners, mm; `None` if they stay as drawn.
    #[must_use]
    pub fn inside_radius(self, tools: &Tools) -> Option<f64> {
        match self {
            Corners::Ease { inside, .. } => Some(tools.recess.cutter_radius() + inside),
            Corners::Square | Corners::Keep => None,
        }
    }

    /// Radius of rounded outside corners, mm; `None` if they stay as drawn.
    #[must_use]
    pub fn outside_radius(self, tools: &Tools) -> Option<f64> {
        match self {
            Corners::Ease { outside, .. } => Some(tools.largest_offset() + outside),
            Corners::Square => Some(tools.largest_offset()),
            Corners::Keep => None,
        }
    }
}

/// The outline with only its inside corners rounded: what a round tool reaches.
///
/// # Errors
/// As the operations of [`crate::geom`].
pub fn opened(
    drawn: &Certified<Region>,
    corners: Corners,
    tools: &Tools,
    budget: &Budget,
) -> Result<Certified<Region>, GeomError> {
    corners.inside_radius(tools).map_or_else(|| Ok(drawn.clone()), |r| open(drawn, r, budget))
}

/// The outline as it will be made, from the result of [`opened`]. Closing can rejoin parts that opening separated.
///
/// # Errors
/// As the operations of [`crate::geom`].
pub fn made(
    opened: &Certified<Region>,
    corners: Corners,
    tools: &Tools,
    budget: &Budget,
) -> Result<Certified<Region>, GeomError> {
    corners.outside_radius(tools).map_or_else(|| Ok(opened.clone()), |o| close(opened, o, budget))
}

/// The pieces cut with the openings of one outline, computed from the outline as made. Drawing frame, mm.
#[derive(Clone, Debug, PartialEq)]
pub struct AsCut {
    /// What the recess's cutter removes from the board.
    pub recess: Certified<Region>,
    /// The inlay for a gap of 0. The inlay as cut is smaller by the gap on all sides.
    pub inlay: Certified<Region>,
    /// Whether all of the recess lies inside `inlay`.
    pub nested: bool,
    /// Number of islands of the path of the recess's cutter: 1 if the cutter can go everywhere.
    pub ways: usize,
    /// The centre of the smallest of them, if any.
    pub smallest_way: Option<Point>,
}

/// The recess and the inlay that follow the outline `made`. Recess: `open_r(close_o(S))` with its own offset o; inlay:
/// `close_o(S)` with its own. If the outline was already closed by the larger offset, closing changes nothing.
///
/// # Errors
/// As the operations of [`crate::geom`].
pub fn as_cut(made: &Certified<Region>, corners: Corners, tools: &Tools, budget: &Budget) -> Result<AsCut, GeomError> {
    let followed = |o: f64| {
        let closed = corners.outside_radius(tools).is_some();
        if closed || o <= 0.0 { Ok(made.clone()) } else { close(made, o, budget) }
    };
    let recess = || {
        let way = inset(&followed(tools.recess_offset())?, tools.recess.cutter_radius(), budget)?;
        Ok::<_, GeomError>((grow(&way.region, way.radius, budget)?, way.region))
    };
    let (recess, inlay) = both(recess, || followed(tools.inlay_offset()));
    let (recess, way) = recess?;
    let islands: Vec<&Ring> = way.rings.iter().filter(|r| r.area() > 0.0).collect();
    let smallest = islands.iter().min_by(|a, b| a.area().total_cmp(&b.area()));
    let smallest_way = smallest.and_then(|r| r.bounds()).map(|b| b.center());
    // What the cutter reaches of a smaller closing lies inside the larger closing.
    let nested = corners.outside_radius(tools).is_some() || tools.recess_offset() <= tools.inlay_offset();
    Ok(AsCut { recess, inlay: inlay?, nested, ways: islands.len(), smallest_way })
}

/// A place that a tool of a given radius does not reach.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Proud {
    /// The deepest point.
    pub at: Point,
    /// Distance of that point from the region that the tool reaches, mm.
    pub depth: f64,
}

/// The places of `S \ open_r(S)` deeper than `least` mm: what a round tool of radius `r` leaves of `s`.
///
/// # Errors
/// As the operations of [`crate::geom`].
pub fn proud(s: &Certified<Region>, r: f64, least: f64, budget: &Budget) -> Result<Vec<Proud>, GeomError> {
    let reached = open(s, r, budget)?;
    beyond(s, &reached, r, least, budget)
}

/// As [`proud`], with `open_r(S)`, the region that the tool reaches, given.
///
/// The rest lies between the edges of S and of `open_r(S)`. So its depth is sampled along the edge of S, at all corners
/// and at points at most [`STEP`] mm apart. The difference of the regions is not used: it has slivers where the edges
/// coincide, and those are hard to certify. A run of points beyond `least` is one place. Runs whose deepest points lie
/// within 2r also count as one: they are the two sides of a neck.
///
/// # Errors
/// As the operations of [`crate::geom`].
pub fn beyond(s: &Region, reached: &Region, r: f64, least: f64, budget: &Budget) -> Result<Vec<Proud>, GeomError> {
    let index = EdgeIndex::new(reached);
    // If nothing is reached, the depth is at least the tool's radius.
    let mut walk = index.walk();
    let mut depth = |p| walk.nearest(p).map_or(r, |n| if n.inside { 0.0 } else { n.distance });
    let mut found: Vec<Proud> = Vec::new();
    for ring in &s.rings {
        budget.check()?;
        let one = Region::new(vec![ring.clone()]);
        let measured: Vec<Proud> = sampled(&one, STEP).map(|at| Proud { at, depth: depth(at) }).collect();
        let stretches = measured.chunk_by(|a, b| (a.depth > least) == (b.depth > least));
        found.extend(stretches.filter_map(|s| s.iter().copied().max_by(deeper)).filter(|p| p.depth > least));
    }
    found.sort_by(|a, b| deeper(b, a));
    let mut places: Vec<Proud> = Vec::new();
    for p in found {
        if places.iter().all(|q| (q.at - p.at).hypot() > 2.0 * r) {
            places.push(p);
        }
    }
    Ok(places)
}

fn deeper(a: &Proud, b: &Proud) -> std::cmp::Ordering {
    a.depth.total_cmp(&b.depth).then(a.at.x.total_cmp(&b.at.x)).then(a.at.y.total_cmp(&b.at.y))
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{FillRule, Ring, enclosed};

    /// A corner of 90° and a tool of radius 3: shortfall r(1/sin 45° − 1) = 1.2426407, by
    /// elementary geometry.
    #[test]
    fn a_cutter_leaves_four_corners_of_a_square() {
        let budget = Budget::unlimited();
        let p = Point::new;
        let ring = Ring::polygon(&[p(0.0, 0.0), p(20.0, 0.0), p(20.0, 20.0), p(0.0, 20.0)]);
        let square = enclosed(&[ring], FillRule::NonZero, &budget).unwrap();
        let found = proud(&square, 3.0, 0.02, &budget).unwrap();
        assert_eq!(found.len(), 4);
        for f in &found {
            assert!((f.depth - 1.242_640_7).abs() < 1e-4, "{f:?}");
            assert!(f.at.x.min(20.0 - f.at.x).abs() < 1e-6, "the corner is the deepest: {f:?}");
        }
        assert!(proud(&square, 3.0, 1.25, &budget).unwrap().is_empty());
    }
}
