//! Containment of points and rings, by `geo`.

use super::{Region, Ring, Segment, chords};
use crate::tolerance::OVERLAY_CHORD;
use geo::indexed::IntervalTreeMultiPolygon;
use geo::{Contains, Coord, LineString, Polygon};
use kurbo::Point;
use std::sync::OnceLock;

/// A ring as a filled polygon, its arcs replaced by chords.
pub struct Filled {
    polygon: IntervalTreeMultiPolygon<f64>,
    bounds: Option<kurbo::Rect>,
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
        let mut line: Vec<Coord<f64>> = Vec::new();
        for s in &ring.segments {
            let radius = if let Segment::Arc(a) = s { a.radius } else { 0.0 };
            chords::points(s, radius, sagitta, &mut points);
            line.extend(points[..points.len() - 1].iter().map(|p| Coord { x: p.x, y: p.y }));
        }
        let polygon = Polygon::new(LineString::new(line), Vec::new());
        Filled { polygon: IntervalTreeMultiPolygon::new(&polygon.into()), bounds: ring.bounds() }
    }

    #[must_use]
    pub fn contains(&self, p: Point) -> bool {
        self.bounds.is_some_and(|b| b.contains(p)) && self.polygon.contains(&Coord { x: p.x, y: p.y })
    }
}

/// A region that answers many containment queries. The index is built at the first query.
pub struct Within<'a> {
    region: &'a Region,
    bounds: Option<kurbo::Rect>,
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
