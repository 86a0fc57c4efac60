//! Grow and shrink: the region, and the tube that each of its edges sweeps.
//!
//! A point outside S within d of it lies on the normal of length d at its nearest point of S. So S grown by d is S
//! together with what the normals sweep: a rectangle beside a line, a band beside an arc (a sector to its centre where
//! the parallel arc would have no radius left), a fan at a convex corner. Shrinking takes the same tubes, swept
//! inward, off S: they are turned the other way, and only winding above zero stays.
//!
//! The far side of each tube is tagged with its exact line or circle; all other sides must vanish inside. Along its edge
//! the near side of a tube and the region run to and fro over the same chords, which is as if neither were there: unless
//! the tubes are united by themselves first, both are left out.

use super::chords;
use super::overlay::{Carrier, Chords, Narrowest, Rule, Scene, Side, Winding, united};
use super::trig::{atan2, right, unit};
use super::{GeomError, Region, Ring, Segment};
use crate::budget::Budget;
use crate::tolerance::{CRUMB, OVERLAY_CHORD};
use kurbo::Point;
use std::f64::consts::PI;

/// Tubes whose far corners lie within this of each other belong to edges that run on into each other, mm: some steps
/// of the grid.
const TANGENT: f64 = 1e-5;

/// Turns as near as this to a half turn, radians, may be meant either way: two arcs that cross once more, by less than
/// [`OVERLAY_CHORD`], just after their corner turn the other way than what is left of them once the lens between the
/// crossings is gone. For arcs of the size of cutters that is some hundredths of a radian.
const CUSP: f64 = 0.1;

/// From so many edges on an offset may be done in pieces.
const DENSE: usize = 512;
/// Edges whose tubes are united at once: the fewest that keep the tree low and the crossings of a piece few.
const PIECE: usize = 8;

/// Grown by `d` > 0 or shrunk by −`d` > 0, mm, on a grid of `grid` mm. Not certified.
///
/// # Errors
/// As [`Scene::resolve`].
pub(super) fn offset(s: &Region, d: f64, grid: f64, budget: &Budget) -> Result<Region, GeomError> {
    let mut scene = Scene::new(grid);
    if is_dense(s, d) {
        let tubes = dense_tubes(&mut scene, s, d, budget)?;
        scene.put_clip(tubes);
        let rule = if d > 0.0 { Rule::Union } else { Rule::Difference };
        return Ok(Region::new(scene.resolve(rule, Winding::Positive, Narrowest(CRUMB), budget)?));
    }
    for ring in &s.rings {
        budget.check_edges(scene.edge_count())?;
        add_ring(&mut scene, ring, d);
    }
    let rings = scene.resolve(Rule::Subject, Winding::Positive, Narrowest(CRUMB), budget)?;
    Ok(Region::new(rings))
}

/// Edges much shorter than the offset, and many: then each tube crosses a great many others, and all at once they would
/// cost the square of their number.
fn is_dense(s: &Region, d: f64) -> bool {
    let count: usize = s.rings.iter().map(|r| r.segments.len()).sum();
    #[allow(clippy::cast_precision_loss)]
    let mean = || s.perimeter() / count as f64;
    count >= DENSE && mean() < d.abs() / 4.0
}

/// The tubes of all edges in one: pieces of [`PIECE`] edges, united in a tree. Each piece has the next one's first
/// tube too, so that the sides on which they meet lie inside and not on the edge. The edges of `s` go into the scene.
fn dense_tubes(scene: &mut Scene, s: &Region, d: f64, budget: &Budget) -> Result<Chords, GeomError> {
    let mut pieces = Vec::new();
    for ring in &s.rings {
        budget.check_edges(scene.edge_count())?;
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
    /// What the tubes count as. Only beside tubes that are the clip the edges themselves go into the scene, as the subject.
    side: Side,
    /// Points along an edge, and beside it where the far side is.
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
            self.scene.chords(&self.near, Carrier::of(s), Side::Subject);
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
                // From the edge outward, not by scaling about the centre: the least miss of an end on a small circle
                // would be scaled with it, and no longer fit the neighbour's tube.
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

    /// The fan between two edges, where their tubes part. A part of a disc of radius d round a point of the outline
    /// never is too much, so in doubt it is added: at a cusp, whose turn may read as either half.
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
            // Where one edge runs on into the next, the grid decides whether their tubes overlap or leave a slit as
            // wide as itself. This thin triangle makes their sides cancel, whichever it is.
            if (to - from).hypot() < TANGENT {
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

/// The edges of `s`, chord by chord, as one operand of an overlay.
pub(super) fn add_region<'a>(scene: &mut Scene, rings: impl Iterator<Item = &'a Ring>, side: Side) {
    let mut points = Vec::new();
    for s in rings.flat_map(|r| &r.segments) {
        let radius = if let Segment::Arc(a) = s { a.radius } else { 0.0 };
        chords::points(s, radius, OVERLAY_CHORD, &mut points);
        scene.chords(&points, Carrier::of(s), side);
    }
}
