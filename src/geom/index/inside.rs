//! Containment of points and rings.
//!
//! In: rings, their arcs replaced by chords, mm. Out: whether a point lies inside. The winding number is counted along
//! a ray to the right. Sides are decided exactly, so no point near a vertex is counted twice. No errors.

use super::BoxTree;
use crate::geom::shape::trig::side;
use crate::geom::shape::{Point, Rect, Region, Ring, Segment, chords};
use crate::tolerance::OVERLAY_CHORD;
use std::ops::ControlFlow;
use std::sync::OnceLock;

/// A ring as a filled polygon, its arcs replaced by chords.
pub struct Filled {
    chords: BoxTree<(Point, Point)>,
    bounds: Option<Rect>,
}

impl Filled {
    /// Correct for points farther from the ring than [`OVERLAY_CHORD`].
    #[must_use]
    pub fn new(ring: &Ring) -> Filled {
        Filled::roughly(ring, OVERLAY_CHORD)
    }

    /// Correct for points farther from the ring than `sagitta` mm. A larger value answers faster.
    #[must_use]
    pub fn roughly(ring: &Ring, sagitta: f64) -> Filled {
        let mut points = Vec::new();
        let mut line: Vec<Point> = Vec::new();
        for s in &ring.segments {
            let radius = if let Segment::Arc(a) = s { a.radius } else { 0.0 };
            chords::points(s, radius, sagitta, &mut points);
            line.extend(&points[..points.len() - 1]);
        }
        let ends = line.iter().copied().cycle().skip(1);
        let chords = line.iter().copied().zip(ends).collect();
        Filled { chords: BoxTree::in_order(chords, |c| Rect::from_points(c.0, c.1)), bounds: ring.bounds() }
    }

    /// Points on the edge lie outside.
    #[must_use]
    pub fn contains(&self, p: Point) -> bool {
        self.bounds.is_some_and(|b| b.contains(p)) && self.winding(p).is_some_and(|turns| turns != 0)
    }

    /// The winding number around `p`; `None` if `p` lies on a chord.
    fn winding(&self, p: Point) -> Option<i32> {
        let mut turns = 0;
        let ray = Rect::new(p.x, p.y, f64::INFINITY, p.y);
        let on_edge = self.chords.visit(ray, 0.0, |_, &(a, b)| {
            let side = side(a, b, p);
            if side.is_eq() && (a.x.min(b.x)..=a.x.max(b.x)).contains(&p.x) {
                return ControlFlow::Break(());
            }
            // The lower end counts, the upper does not: a ray through a vertex meets one chord there.
            if a.y <= p.y && p.y < b.y && side.is_gt() {
                turns += 1;
            } else if b.y <= p.y && p.y < a.y && side.is_lt() {
                turns -= 1;
            }
            ControlFlow::Continue(())
        });
        on_edge.is_none().then_some(turns)
    }
}

/// A region that answers many containment queries. The index is built at the first query.
pub struct Within<'a> {
    region: &'a Region,
    bounds: Option<Rect>,
    filled: OnceLock<Vec<Filled>>,
}

impl<'a> Within<'a> {
    #[must_use]
    pub fn new(region: &'a Region) -> Within<'a> {
        Within { region, bounds: region.bounds(), filled: OnceLock::new() }
    }

    /// Whether `p` lies inside. Within [`OVERLAY_CHORD`] of the edge either answer is possible.
    #[must_use]
    pub fn contains(&self, p: Point) -> bool {
        if !self.bounds.is_some_and(|b| b.contains(p)) {
            return false;
        }
        let filled = self.filled.get_or_init(|| self.region.rings.iter().map(Filled::new).collect());
        filled.iter().filter(|f| f.contains(p)).count() % 2 == 1
    }
}

/// Whether `p` lies inside `region`. Within [`OVERLAY_CHORD`] of its edge either answer is possible.
#[must_use]
pub fn contains(region: &Region, p: Point) -> bool {
    Within::new(region).contains(p)
}

/// The connected parts of a region, in the order of the rings: each an anticlockwise ring with the holes directly
/// inside it.
#[must_use]
pub fn parts(region: &Region) -> Vec<Region> {
    let (outer, holes): (Vec<&Ring>, Vec<&Ring>) = region.rings.iter().partition(|r| r.area() > 0.0);
    let filled: Vec<Filled> = outer.iter().map(|r| Filled::new(r)).collect();
    let mut parts: Vec<Region> = outer.iter().map(|r| Region::new(vec![(*r).clone()])).collect();
    for hole in holes {
        let probe = hole.segments.first().map_or(Point::ORIGIN, |s| s.at(0.5));
        let owner = (0..outer.len())
            .filter(|&i| filled[i].contains(probe))
            .min_by(|&i, &j| outer[i].area().total_cmp(&outer[j].area()));
        if let Some(i) = owner {
            parts[i].rings.push(hole.clone());
        }
    }
    parts
}
