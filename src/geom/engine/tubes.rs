//! Grow and shrink, by the union of the region with the tubes that its edges sweep.
//!
//! A point outside S within d of it lies on the normal of length d at its nearest point of S. So S ⊕ d is the union of
//! S and everything that the normals sweep. That is a rectangle beside a line, a band beside an arc, and a fan at a
//! convex corner. If the offset arc would have no radius, the band is a sector to its centre. Shrinking subtracts the
//! same tubes, swept inward: they run the other way round, and only positive winding remains.
//!
//! The far side of each tube is tagged with its exact line or circle; all other sides must vanish in the interior. The
//! near side of a tube and the region's own edge run in opposite directions over the same chords, so they cancel. Both
//! are omitted unless the tubes are united separately first.

use super::overlay::{Carrier, Chords, Narrowest, Rule, Scene, Side, Winding, united};
use crate::budget::Budget;
use crate::geom::shape::trig::{atan2, right, unit};
use crate::geom::shape::{GeomError, Region, Ring, Segment, chords};
use crate::tolerance::{CRUMB, CUSP, OVERLAY_CHORD, TANGENT_TUBES};
use kurbo::Point;
use std::f64::consts::PI;

/// From this number of edges on, an offset may be computed in pieces.
const DENSE: usize = 512;
/// Edges whose tubes are united at once: few enough that a piece has few crossings, many enough for a low tree.
const PIECE: usize = 8;

/// `s` grown by `d` mm; a negative `d` shrinks it by `|d|`. Computed on a grid of `grid` mm. Not certified.
///
/// # Errors
/// As [`Scene::resolve`].
pub(in crate::geom) fn offset(s: &Region, d: f64, grid: f64, budget: &Budget) -> Result<Region, GeomError> {
    let mut scene = Scene::new(grid);
    if is_dense(s, d) {
        let tubes = dense_tubes(&mut scene, s, d, budget)?;
        scene.put_clip(tubes);
        let rule = if d > 0.0 { Rule::Union } else { Rule::Difference };
        return Ok(Region::new(scene.resolve(rule, Winding::Positive, Narrowest(CRUMB), budget)?));
    }
    for ring in &s.rings {
        budget.check()?;
        add_ring(&mut scene, ring, d);
    }
    let rings = scene.resolve(Rule::Subject, Winding::Positive, Narrowest(CRUMB), budget)?;
    Ok(Region::new(rings))
}

/// Whether the edges are many and much shorter than the offset. Each tube then crosses very many others, and a single
/// overlay would cost the square of their number.
fn is_dense(s: &Region, d: f64) -> bool {
    let count: usize = s.rings.iter().map(|r| r.segments.len()).sum();
    #[allow(clippy::cast_precision_loss)]
    let mean = || s.perimeter() / count as f64;
    count >= DENSE && mean() < d.abs() / 4.0
}

/// The union of the tubes of all edges: pieces of [`PIECE`] edges, united in a tree. Each piece also contains the first
/// tube of the next piece, so that their common sides lie inside, not on the edge. The edges of `s` go into the scene.
fn dense_tubes(scene: &mut Scene, s: &Region, d: f64, budget: &Budget) -> Result<Chords, GeomError> {
    let mut pieces = Vec::new();
    for ring in &s.rings {
        budget.check()?;
        let n = ring.segments.len();
        let mut first = Chords::default();
        let mut piece = Chords::default();
        for i in 0..n {
            let from = scene.edge_count();
            let mut tube = Tube { scene, d, side: Side::Clip, near: Vec::new(), far: Vec::new() };
            tube.edge(&ring.segments[i]);
            tube.corner(&ring.segments[i], &ring.segments[(i + 1) % n]);
            let one = scene.take_clip(from);
            piece.append(&one);
            if i == 0 {
                first = one;
            } else if i % PIECE == 0 {
                pieces.push(std::mem::replace(&mut piece, one));
            }
        }
        piece.append(&first);
        pieces.push(piece);
    }
    let winding = if d > 0.0 { Winding::Positive } else { Winding::Negative };
    united(&pieces, winding, budget)
}

fn add_ring(scene: &mut Scene, ring: &Ring, d: f64) {
    let n = ring.segments.len();
    let mut tube = Tube { scene, d, side: Side::Subject, near: Vec::new(), far: Vec::new() };
    for i in 0..n {
        tube.edge(&ring.segments[i]);
        tube.corner(&ring.segments[i], &ring.segments[(i + 1) % n]);
    }
}

struct Tube<'a> {
    scene: &'a mut Scene,
    /// Signed: outward is to the right of travel.
    d: f64,
    /// The operand to which the tubes belong. If that is the clip, the edges themselves go into the scene as the
    /// subject.
    side: Side,
    /// Points along an edge, and the points of the tube's far side.
    near: Vec<Point>,
    far: Vec<Point>,
}

impl Tube<'_> {
    /// The tube beside an edge.
    fn edge(&mut self, s: &Segment) {
        let d = self.d;
        let parallel = match s {
            Segment::Line(_) => 0.0,
            Segment::Arc(a) if a.ccw => a.radius + d,
            Segment::Arc(a) => a.radius - d,
        };
        let apart = self.side == Side::Clip;
        let served = match s {
            Segment::Arc(a) if apart => a.radius.max(parallel),
            _ => parallel.max(0.0),
        };
        chords::points(s, served, OVERLAY_CHORD, &mut self.near);
        if apart {
            self.scene.chords(&self.near, Carrier::from_segment(s), Side::Subject);
        }
        let collapsed = matches!(s, Segment::Arc(_)) && parallel < CRUMB;
        self.far.clear();
        let carrier = match s {
            Segment::Line(l) => {
                let t = s.tangent_at_start();
                self.far.extend(self.near.iter().map(|p| *p + right(t) * d));
                Carrier::Line(l.start + right(t) * d, t)
            }
            Segment::Arc(a) if collapsed => {
                self.far.push(a.center);
                Carrier::Inner
            }
            Segment::Arc(a) => {
                // Move outward from the edge instead of scaling about the centre. Scaling would magnify the error of an
                // end on a small circle, and the tube would no longer fit its neighbour's.
                let out = if a.ccw { d } else { -d };
                self.far.extend(self.near.iter().map(|p| *p + (*p - a.center).normalize() * out));
                Carrier::Circle(a.center, parallel)
            }
        };
        let (Some(&a), Some(&b)) = (self.near.first(), self.near.last()) else { return };
        let (Some(&a2), Some(&b2)) = (self.far.first(), self.far.last()) else { return };
        self.scene.inner(&[a, a2], self.side);
        self.scene.chords(&self.far, carrier, self.side);
        self.scene.inner(&[b2, b], self.side);
        if apart {
            self.near.reverse();
            self.scene.inner(&self.near, self.side);
        }
    }

    /// The fan between two edges whose tubes diverge. A sector of radius d around a point of the outline never adds too
    /// much. So in doubt it is added: at a cusp, whose turn may have either sign.
    fn corner(&mut self, before: &Segment, after: &Segment) {
        let (t, u) = (before.tangent_at_end(), after.tangent_at_start());
        let v = after.start();
        let opens = self.d.signum();
        let turn = atan2(t.cross(u), t.dot(u));
        let cusp = turn.abs() > PI - CUSP;
        let turn = if cusp && turn * opens < 0.0 { turn + opens * 2.0 * PI } else { turn };
        let (from, to) = (v + right(t) * self.d, v + right(u) * self.d);
        if self.scene.same(from, to) {
            return;
        }
        if turn * opens <= 0.0 {
            // Where edges are tangent, the grid decides whether their tubes overlap or leave a slit one step wide. This
            // thin triangle makes their sides cancel in both cases.
            if (to - from).hypot() < TANGENT_TUBES {
                self.scene.inner(&[v, from, to, v], self.side);
            }
            return;
        }
        let r = self.d.abs();
        let start = right(t) * opens;
        let from_angle = atan2(start.y, start.x);
        self.far.clear();
        self.far.push(from);
        let angles = chords::inner_angles(from_angle, turn.abs(), turn > 0.0, chords::per_turn(r, OVERLAY_CHORD));
        self.far.extend(angles.map(|a| v + unit(a) * r));
        self.far.push(to);
        self.scene.inner(&[v, from], self.side);
        self.scene.chords(&self.far, Carrier::Circle(v, r), self.side);
        self.scene.inner(&[to, v], self.side);
    }
}

/// Adds the edges of `rings`, chord by chord, as one operand of an overlay.
pub(in crate::geom) fn add_region<'a>(scene: &mut Scene, rings: impl Iterator<Item = &'a Ring>, side: Side) {
    let mut points = Vec::new();
    for s in rings.flat_map(|r| &r.segments) {
        let radius = if let Segment::Arc(a) = s { a.radius } else { 0.0 };
        chords::points(s, radius, OVERLAY_CHORD, &mut points);
        scene.chords(&points, Carrier::from_segment(s), side);
    }
}
