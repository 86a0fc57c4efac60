//! The engine under all operations: finds the lines and arcs that bound the result.
//!
//! Every input edge is cut into chords on an integer grid. Every chord carries a tag that names its carrier: the exact
//! line or circle. The integer overlay (`i_overlay`) resolves crossings and containment. It is exact on its grid, so
//! the topology is sound. Its output is loops of chords. A run of chords with one tag becomes one edge again; its ends
//! are recomputed as intersections of the exact carriers. So radii and directions never pass through the grid; only
//! the topology does.
//!
//! In: closed chains of points (f64, mm, local frame) with tags. Out: rings. Nothing here is trusted: every result
//! goes through `certify`. [`crate::tolerance::OVERLAY_CHORD`] and [`crate::tolerance::GRID`] limit how nearly tangent
//! two carriers may run before the grid decides their order. They do not move an edge off its carrier.

mod runs;

use super::tails::without_tails;
use crate::budget::Budget;
use crate::geom::shape::trig::left;
use crate::geom::shape::{GeomError, Ring, Segment};
use crate::threads::each;
use crate::tolerance::{CRUMB, GRID, OVERLAY_CHORD};
use i_overlay::core::edge_data::{EdgeDataMerge, OverlayEdgeData};
use i_overlay::core::edge_overlay::{EdgeOverlay, InputEdge};
use i_overlay::core::overlay::ShapeType;
use i_overlay::core::overlay_rule::OverlayRule;
use i_overlay::i_float::int::point::IntPoint;
use kurbo::{Point, Vec2};

use runs::{ChordRun, corners, measure, merged, settle};

pub(in crate::geom) use i_overlay::core::fill_rule::FillRule as Winding;
pub(in crate::geom) use i_overlay::core::overlay_rule::OverlayRule as Rule;

/// The exact curve that a chord replaces.
#[derive(Clone, Copy, Debug)]
pub(in crate::geom) enum Carrier {
    /// Through the point, along the unit vector.
    Line(Point, Vec2),
    Circle(Point, f64),
    /// A construction side, which never appears in a correct result.
    Inner,
}

impl Carrier {
    pub(in crate::geom) fn from_segment(s: &Segment) -> Carrier {
        match s {
            Segment::Line(l) => Carrier::Line(l.start, s.tangent_at_start()),
            Segment::Arc(a) => Carrier::Circle(a.center, a.radius),
        }
    }

    /// Signed distance of `p`, and the unit vector along which it increases.
    fn distance(&self, p: Point) -> (f64, Vec2) {
        match *self {
            Carrier::Line(o, t) => {
                let n = left(t);
                ((p - o).dot(n), n)
            }
            Carrier::Circle(c, r) => {
                let v = p - c;
                let h = v.hypot();
                if h > 0.0 { (h - r, v / h) } else { (-r, Vec2::new(1.0, 0.0)) }
            }
            Carrier::Inner => (0.0, Vec2::ZERO),
        }
    }
}

impl Carrier {
    /// The point of tangency of two carriers, if they are tangent within a millionth of a millimetre.
    fn touches(&self, other: &Carrier) -> Option<Point> {
        match (*self, *other) {
            (Carrier::Line(o, t), Carrier::Circle(c, r)) | (Carrier::Circle(c, r), Carrier::Line(o, t)) => {
                let foot = o + t * (c - o).dot(t);
                (((foot - c).hypot() - r).abs() < GRID).then_some(foot)
            }
            (Carrier::Circle(c, r), Carrier::Circle(e, s)) => {
                let v = e - c;
                let h = v.hypot();
                if h < CRUMB {
                    return None;
                }
                let outside = ((r + s) - h).abs() < GRID;
                let inside = ((r - s).abs() - h).abs() < GRID;
                let towards = if inside && s > r { -r } else { r };
                (outside || inside).then(|| c + v * (towards / h))
            }
            _ => None,
        }
    }
}

/// Index of a carrier. The greatest value marks construction sides.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Tag(u32);
const INNER: Tag = Tag(u32::MAX);

impl OverlayEdgeData for Tag {
    type Store = ();
    /// Of two coincident chords the earlier tag wins. A construction side never wins.
    fn merge(ctx: EdgeDataMerge<i_overlay::segm::boolean::ShapeCountBoolean, Self>, (): &mut ()) -> Self {
        Tag(ctx.lhs_data.0.min(ctx.rhs_data.0))
    }
}

/// Which operand of the overlay a chain belongs to.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in crate::geom) enum Side {
    Subject,
    Clip,
}

/// Chains of tagged chords, ready for the overlay.
pub(in crate::geom) struct Scene {
    carriers: Vec<Carrier>,
    edges: Vec<(InputEdge<i64, Tag>, Side)>,
    grid: f64,
}

/// Loops with a smaller mean width, mm, are artefacts of the grid. Operations that find shapes use a smaller value
/// than those that compare shapes with nearly the same edges.
#[derive(Clone, Copy, Debug)]
pub(in crate::geom) struct Narrowest(pub f64);

impl Scene {
    pub(in crate::geom) fn new(grid: f64) -> Scene {
        Scene { carriers: Vec::new(), edges: Vec::new(), grid }
    }

    fn snap(&self, p: Point) -> IntPoint<i64> {
        // The frame is local and coordinates beyond 1e7 mm are refused, so this fits with four digits to spare.
        #[allow(clippy::cast_possible_truncation)]
        let round = |v: f64| (v / self.grid + 0.5_f64.copysign(v)) as i64;
        #[allow(clippy::cast_possible_truncation)]
        IntPoint::new(round(p.x), round(p.y))
    }

    fn unsnap(&self, p: IntPoint<i64>) -> Point {
        #[allow(clippy::cast_precision_loss)]
        Point::new(p.x as f64 * self.grid, p.y as f64 * self.grid)
    }

    /// Whether two points snap to the same grid point.
    pub(in crate::geom) fn same(&self, a: Point, b: Point) -> bool {
        self.snap(a) == self.snap(b)
    }

    pub(in crate::geom) fn edge_count(&self) -> usize {
        self.edges.len()
    }

    /// Adds the chords through `points`, which replace `carrier`.
    pub(in crate::geom) fn chords(&mut self, points: &[Point], carrier: Carrier, side: Side) {
        let data = match carrier {
            Carrier::Inner => INNER,
            _ => {
                let tag = u32::try_from(self.carriers.len()).unwrap_or(u32::MAX - 1);
                self.carriers.push(carrier);
                Tag(tag)
            }
        };
        for w in points.windows(2) {
            let (a, b) = (self.snap(w[0]), self.snap(w[1]));
            if a != b {
                self.edges.push((InputEdge { a, b, data }, side));
            }
        }
    }

    /// Adds a closed polygon of construction sides.
    pub(in crate::geom) fn inner(&mut self, points: &[Point], side: Side) {
        self.chords(points, Carrier::Inner, side);
    }

    /// Whether as many chords leave every grid point as arrive. An open chain would make the overlay loop for ever.
    /// Each point adds two hash values where a chord starts and subtracts them where one ends. Both sums are 0 for
    /// closed chains; open chains reach 0 with a probability of about 2^−128.
    fn is_closed(&self) -> bool {
        let mut sums = [[0u64; 2]; 2];
        for (e, side) in &self.edges {
            let sum = &mut sums[usize::from(*side == Side::Clip)];
            for (k, seed) in [0x9e37_79b9_7f4a_7c15, 0xc2b2_ae3d_27d4_eb4f].into_iter().enumerate() {
                sum[k] = sum[k].wrapping_add(mixed(e.a, seed)).wrapping_sub(mixed(e.b, seed));
            }
        }
        sums == [[0; 2]; 2]
    }

    /// Removes the clip's chords from index `from` on and returns them.
    pub(in crate::geom) fn take_clip(&mut self, from: usize) -> Chords {
        let mut taken = Vec::new();
        let mut kept = from;
        for i in from..self.edges.len() {
            let (edge, side) = self.edges[i];
            if side == Side::Clip {
                taken.push(edge);
            } else {
                self.edges[kept] = self.edges[i];
                kept += 1;
            }
        }
        self.edges.truncate(kept);
        Chords(taken)
    }

    /// Adds chords back as the clip.
    pub(in crate::geom) fn put_clip(&mut self, chords: Chords) {
        self.edges.extend(chords.0.into_iter().map(|e| (e, Side::Clip)));
    }

    /// The rings of the result.
    ///
    /// # Errors
    /// [`GeomError::NotARegion`] for an open chain; [`GeomError::Uncertified`] if a construction side appears in the
    /// result; [`GeomError::Stopped`] if the budget runs out.
    pub(in crate::geom) fn resolve(
        self,
        rule: Rule,
        winding: Winding,
        narrowest: Narrowest,
        budget: &Budget,
    ) -> Result<Vec<Ring>, GeomError> {
        budget.check()?;
        if !self.is_closed() {
            return Err(GeomError::NotARegion("a ring does not close"));
        }
        let mut overlay = EdgeOverlay::<i64, Tag>::new(self.edges.len());
        for (edge, side) in &self.edges {
            let kind = match side {
                Side::Subject => ShapeType::Subject,
                Side::Clip => ShapeType::Clip,
            };
            overlay.add_edge(*edge, kind);
        }
        let rule: OverlayRule = rule;
        let shapes = overlay.build_vector_shapes(rule, winding);
        budget.check()?;
        let mut rings = Vec::new();
        for path in shapes.into_iter().flatten() {
            let runs = self.runs(&path);
            if let Some(ring) = self.ring(runs, narrowest)? {
                rings.push(ring);
            }
        }
        Ok(rings)
    }

    /// Groups consecutive chords of one tag into runs. A loop of a single tag is one run.
    fn runs(&self, path: &[i_overlay::vector::edge::DataVectorEdge<i64, Tag>]) -> Vec<ChordRun> {
        let n = path.len();
        let first = (0..n).find(|&i| path[i].data != path[(i + n - 1) % n].data);
        let start = first.unwrap_or(0);
        let mut runs: Vec<ChordRun> = Vec::new();
        let mut last = None;
        for k in 0..n {
            let e = &path[(start + k) % n];
            let (a, b) = (self.unsnap(e.a), self.unsnap(e.b));
            match runs.last_mut() {
                Some(run) if last == Some(e.data) => run.points.push(b),
                _ => runs.push(ChordRun { carrier: self.carrier(e.data), points: vec![a, b] }),
            }
            last = Some(e.data);
        }
        runs
    }

    fn carrier(&self, tag: Tag) -> Carrier {
        self.carriers.get(tag.0 as usize).copied().unwrap_or(Carrier::Inner)
    }

    fn ring(&self, mut runs: Vec<ChordRun>, narrowest: Narrowest) -> Result<Option<Ring>, GeomError> {
        let (area, length) = measure(&runs);
        if area.abs() * 2.0 < narrowest.0 * length || length < 4.0 * CRUMB {
            return Ok(None);
        }
        // A slit between tubes whose directions differ by less than their chords do: not an edge of the result.
        let only_inner = runs.iter().all(|r| matches!(r.carrier, Carrier::Inner));
        if only_inner && area.abs() < OVERLAY_CHORD * length {
            return Ok(None);
        }
        // Remove crumbs first, so that their neighbours meet.
        while runs.len() > 1 {
            let Some(i) = runs.iter().position(ChordRun::is_crumb) else { break };
            runs.remove(i);
        }
        if let Some(r) = runs.iter().find(|r| matches!(r.carrier, Carrier::Inner)) {
            return Err(GeomError::Uncertified { at: r.points[0], why: "a construction line appears in the result" });
        }
        if let [only] = runs.as_slice() {
            return Ok(only.whole_circle());
        }
        let corners = corners(&mut runs);
        let n = runs.len();
        let ends: Vec<Point> = settle(&runs, corners);
        let segments = (0..n).filter_map(|i| runs[i].edge(ends[i], ends[(i + 1) % n])).collect();
        let edges = without_tails(merged(segments));
        let ring = Ring::new(edges);
        // Between nearly coincident carriers a loop may vanish once its ends are exact.
        let length: f64 = ring.segments.iter().map(Segment::length).sum();
        let nothing = ring.segments.len() < 2 || ring.area().abs() * 2.0 < narrowest.0 * length;
        Ok((!nothing).then_some(ring))
    }
}

/// Hash of a grid point (the finisher of MurmurHash3, Appleby, public domain).
#[allow(clippy::cast_sign_loss)]
fn mixed(p: IntPoint<i64>, seed: u64) -> u64 {
    let finish = |mut h: u64| {
        h = (h ^ (h >> 33)).wrapping_mul(0xff51_afd7_ed55_8ccd);
        h = (h ^ (h >> 33)).wrapping_mul(0xc4ce_b9fe_1a85_ec53);
        h ^ (h >> 33)
    };
    finish(finish(p.x as u64 ^ seed).wrapping_add(p.y as u64))
}

/// Chords with their tags: closed chains on the grid of one [`Scene`].
#[derive(Clone, Debug, Default)]
pub(in crate::geom) struct Chords(Vec<InputEdge<i64, Tag>>);

impl Chords {
    pub(in crate::geom) fn append(&mut self, other: &Chords) {
        self.0.extend_from_slice(&other.0);
    }

    /// The boundary of what the chains enclose under the fill rule, as chains around material.
    fn enclosed(&self, winding: Winding) -> Chords {
        let mut overlay = EdgeOverlay::<i64, Tag>::new(self.0.len());
        overlay.add_edges(self.0.iter().copied(), ShapeType::Subject);
        let shapes = overlay.build_vector_shapes(Rule::Subject, winding);
        let edges = shapes.into_iter().flatten().flatten();
        Chords(edges.map(|e| InputEdge { a: e.a, b: e.b, data: e.data }).collect())
    }
}

/// The union of the pieces, in a tree, four at a time. `winding` is the sense in which the pieces run; the result runs
/// anticlockwise around material. The order of the work does not depend on the number of threads.
///
/// # Errors
/// [`GeomError::Stopped`] if the budget runs out.
pub(in crate::geom) fn united(pieces: &[Chords], winding: Winding, budget: &Budget) -> Result<Chords, GeomError> {
    budget.check()?;
    if let [one] = pieces {
        return Ok(one.enclosed(winding));
    }
    let part = pieces.len().div_ceil(4).max(1);
    let parts: Vec<&[Chords]> = pieces.chunks(part).collect();
    let of = |p: &[Chords]| united(p, winding, budget);
    // Fewer pieces are not worth a thread.
    let done = if pieces.len() > 64 { each(parts, of) } else { parts.into_iter().map(of).collect() };
    let mut all = Chords::default();
    for one in done {
        all.append(&one?);
    }
    budget.check()?;
    Ok(all.enclosed(Winding::Positive))
}
