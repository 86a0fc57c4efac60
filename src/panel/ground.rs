//! What supports the router's base: a panel without its openings, and the pieces stuck back into them.
//!
//! In: a sheet, openings as seen on its face, mm. Out: for a position and radius of the base, how far the position lies
//! inside the convex hull of the panel under the base. Dense openings are simplified within [`ROUGH_GROUND`]. Only
//! nearby geometry is tested: edges, points and openings are kept in trees of boxes, built once per face of a panel
//! ([`Grounds`]). No errors of its own.

use crate::budget::Budget;
use crate::geom::inside::Filled;
use crate::geom::{BoxTree, GeomError, Point, Rect, Region, Ring, Segment, Vec2, hull, rough, trig};
use crate::panel::template::Template;
use crate::panel::{Face, Panel};
use crate::tolerance::{ROUGH_GROUND, ROUNDING};
use std::collections::BTreeMap;
use std::f64::consts::TAU;
use std::ops::ControlFlow;
use std::sync::{Arc, OnceLock};

/// One in this many positions is tested first, and while a base is searched for.
pub(super) const LOOKED_AT: usize = 6;
/// Spacing of the points that represent a round edge, radians: at a radius of 75 mm they omit 0.05 mm.
const TURN: f64 = TAU / 90.0;
/// Half the size of a panel whose size is not given, mm: so large that the base meets no edge.
const BOUNDLESS: f64 = 5000.0;

/// The least margin of a step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Margin {
    /// Negative infinity if no part of the panel is under the base.
    pub mm: f64,
    /// The bush's centre, in the frame of the opening's face.
    pub at: Point,
}

/// The grounds of a template's faces, each made at its first use.
pub struct Grounds<'a> {
    template: &'a Template,
    /// By panel and face: the panel as it is, and an unbounded one with the openings of its own face only.
    known: BTreeMap<(u32, u8), [OnceLock<Ground>; 2]>,
    /// Coordinate of the lower left corner of an unbounded panel, mm.
    least: f64,
}

impl<'a> Grounds<'a> {
    /// `cornered`: the position of the openings from the panel's lower left corner is given, so a larger panel grows
    /// only to the right and up.
    #[must_use]
    pub fn new(template: &'a Template, cornered: bool) -> Grounds<'a> {
        let faces = template.panels.iter().flat_map(|p| [(p.number, 1), (p.number, 2)]);
        let known = faces.map(|f| (f, [OnceLock::new(), OnceLock::new()])).collect();
        Grounds { template, known, least: if cornered { 0.0 } else { -BOUNDLESS } }
    }

    /// The panel with all its openings, as seen on `face`; `None` for a face that the template lacks.
    pub(super) fn ground(&self, panel: &Panel, face: u8) -> Option<&Ground> {
        let [known, _] = self.known.get(&(panel.number, face))?;
        Some(known.get_or_init(|| {
            let own = self.template.openings.iter().filter(|o| o.panel == panel.number);
            let seen = own.map(|o| rough(&Face { panel, face, openings: Vec::new() }.seen(o), ROUGH_GROUND));
            Ground::new(Rect::new(0.0, 0.0, panel.width, panel.height), &seen.collect::<Vec<_>>())
        }))
    }

    /// A panel so large that the base meets no edge, with only the openings of this face: the base does not reach the
    /// other half.
    pub(super) fn without_end(&self, panel: &Panel, face: u8) -> Option<&Ground> {
        let [_, known] = self.known.get(&(panel.number, face))?;
        Some(known.get_or_init(|| {
            let own = self.template.openings.iter().filter(|o| (o.panel, o.face) == (panel.number, face));
            let holes = own.map(|o| rough(&o.on_face(), ROUGH_GROUND));
            Ground::new(Rect::new(self.least, self.least, BOUNDLESS, BOUNDLESS), &holes.collect::<Vec<_>>())
        }))
    }
}

/// Edges, their rings, and points of them, indexed for proximity queries.
struct NearEdges {
    rings: BoxTree<Filled>,
    edges: BoxTree<Segment>,
    /// Ends of the edges, and points of the round ones, in order.
    points: BoxTree<Point>,
}

impl NearEdges {
    /// `loose`: edges that do not form a ring here. `keep`: which points count.
    fn new(loose: &Region, holes: &[Region], keep: impl Fn(Point) -> bool) -> NearEdges {
        let rings = holes.iter().flat_map(|h| &h.rings).filter_map(|r| Some((r.bounds()?, filled(r))));
        let segments = || loose.segments().chain(holes.iter().flat_map(Region::segments));
        let points = segments().flat_map(points_of).filter(|p| keep(*p));
        NearEdges {
            rings: BoxTree::new(rings),
            edges: BoxTree::new(segments().map(|s| (s.bounds(), *s))),
            points: BoxTree::new(points.map(|p| (Rect::from_points(p, p), p))),
        }
    }

    /// Whether `p` lies in an odd number of the rings.
    fn within(&self, p: Point) -> bool {
        self.rings.at(p).into_iter().filter(|(_, r)| r.contains(p)).count() % 2 == 1
    }

    /// The points within `base` of `at`, relative to it, in order.
    fn points(&self, at: Point, base: f64) -> impl Iterator<Item = Vec2> {
        let near = self.points.meeting(around(at, base + 1.0)).into_iter();
        // A corner on the rim counts, whatever the last digit says: without it the hull would jump.
        near.map(move |(_, p)| *p - at).filter(move |v| v.hypot() <= base + ROUNDING)
    }
}

/// The start of an edge, and points of a round one.
fn points_of(s: &Segment) -> impl Iterator<Item = Point> {
    let pieces = if let Segment::Arc(a) = s { (a.sweep() / TURN).ceil().max(1.0) } else { 1.0 };
    // Bounded: a sweep is less than a full turn.
    (0..pieces as u32).map(move |i| s.at(f64::from(i) / pieces))
}

fn around(at: Point, reach: f64) -> Rect {
    Rect::new(at.x - reach, at.y - reach, at.x + reach, at.y + reach)
}

/// What can support the base: a sheet without its holes, and the pieces stuck back into them.
pub struct Ground {
    sheet: Rect,
    holes: Arc<NearEdges>,
    islands: Option<NearEdges>,
}

impl Ground {
    #[must_use]
    pub fn new(sheet: Rect, holes: &[Region]) -> Ground {
        let corners = [(sheet.x0, sheet.y0), (sheet.x1, sheet.y0), (sheet.x1, sheet.y1), (sheet.x0, sheet.y1)];
        let rim = Region::new(vec![Ring::polygon(&corners.map(Point::from))]);
        let on = sheet.inflate(ROUNDING, ROUNDING);
        Ground { sheet, holes: Arc::new(NearEdges::new(&rim, holes, |p| on.contains(p))), islands: None }
    }

    /// The same with a piece of the panel stuck back into a hole; it replaces any earlier one.
    #[must_use]
    pub fn with(&self, island: &Region) -> Ground {
        let islands = NearEdges::new(&Region::default(), std::slice::from_ref(island), |_| true);
        Ground { sheet: self.sheet, holes: Arc::clone(&self.holes), islands: Some(islands) }
    }

    fn is_material(&self, p: Point) -> bool {
        self.sheet.contains(p) && !self.holes.within(p) || self.islands.as_ref().is_some_and(|i| i.within(p))
    }

    /// How far `at` lies inside the convex hull of the material under a base of radius `base` around it.
    #[must_use]
    pub fn margin(&self, at: Point, base: f64) -> f64 {
        hull::in_disc(&self.rim(at, base), base, &self.inner(at, base))
    }

    /// The points of edges under the base, relative to its centre.
    fn inner(&self, at: Point, base: f64) -> Vec<Vec2> {
        let islands = self.islands.iter().flat_map(|i| i.points(at, base));
        self.holes.points(at, base).chain(islands).collect()
    }

    /// The same if it may be less than `limit`. If the rim of the base alone gives that much support, the inner points
    /// are not tested.
    fn margin_below(&self, at: Point, base: f64, limit: f64) -> Option<f64> {
        let rim = self.rim(at, base);
        if !rim.is_empty() && hull::in_disc(&rim, base, &[]) >= limit {
            return None;
        }
        Some(hull::in_disc(&rim, base, &self.inner(at, base))).filter(|mm| *mm < limit)
    }

    /// The arcs of the base's rim that rest on the panel, as pairs of angles. Where the rim only touches an edge, the
    /// contact is an arc without length.
    fn rim(&self, at: Point, base: f64) -> Vec<(f64, f64)> {
        let mut ends: Vec<f64> = Vec::new();
        for near in [Some(&*self.holes), self.islands.as_ref()].into_iter().flatten() {
            let _: Option<()> = near.edges.visit(around(at, base + 1.0), 0.0, |_, edge| {
                if meets(edge.bounds(), at, (base - 1.0).max(0.0), base + 1.0) {
                    crossings(edge, at, base, &mut ends);
                }
                ControlFlow::Continue(())
            });
        }
        ends.sort_by(f64::total_cmp);
        let on = |angle: f64| at + trig::unit(angle) * base;
        if ends.is_empty() {
            return if self.is_material(on(0.0)) { vec![(0.0, TAU)] } else { Vec::new() };
        }
        let mut rim: Vec<(f64, f64)> = Vec::new();
        for (i, &from) in ends.iter().enumerate() {
            let to = if i + 1 < ends.len() { ends[i + 1] } else { ends[0] + TAU };
            if to > from && self.is_material(on(f64::midpoint(from, to))) {
                rim.push((from, to));
            } else if self.sheet.contains(on(from)) {
                rim.push((from, from));
            }
        }
        rim
    }

    /// The least margin over all positions; of equals, that of the first.
    pub(super) fn least(&self, places: &[Point], base: f64, budget: &Budget) -> Result<Option<Margin>, GeomError> {
        let mut least: Option<(Margin, usize)> = None;
        // First one in several: once the margin is nearly the least, most other positions need no inner points.
        for first in 0..LOOKED_AT {
            for (i, &at) in places.iter().enumerate().skip(first).step_by(LOOKED_AT) {
                budget.check()?;
                // The next greater number, so that equal margins are tested as well.
                let limit = least.map_or(f64::INFINITY, |l| l.0.mm.next_up());
                let found =
                    if least.is_none() { Some(self.margin(at, base)) } else { self.margin_below(at, base, limit) };
                let Some(mm) = found else { continue };
                if least.is_none_or(|(l, k)| mm < l.mm || (mm <= l.mm && i < k)) {
                    least = Some((Margin { mm, at }, i));
                }
            }
        }
        Ok(least.map(|l| l.0))
    }

    /// Whether the margin reaches `wanted` at all positions. Those most likely to fail should come first.
    pub(super) fn holds(&self, places: &[Point], base: f64, wanted: f64, budget: &Budget) -> Result<bool, GeomError> {
        for &at in places {
            budget.check()?;
            if self.margin_below(at, base, wanted).is_some() {
                return Ok(false);
            }
        }
        Ok(true)
    }
}

/// A ring within [`ROUGH_GROUND`]: a rim that runs this close to an edge may count as resting on it or not.
pub(super) fn filled(ring: &Ring) -> Filled {
    Filled::roughly(ring, ROUGH_GROUND)
}

/// Whether a box has points farther than `inner` and nearer than `outer` mm from `c`.
fn meets(b: Rect, c: Point, inner: f64, outer: f64) -> bool {
    let farthest = Vec2::new((c.x - b.x0).max(b.x1 - c.x), (c.y - b.y0).max(b.y1 - c.y));
    b.inflate(outer, outer).contains(c) && farthest.hypot2() >= inner * inner
}

/// Directions from `c` to the intersections of the edge with the circle of radius `r` around `c`.
fn crossings(s: &Segment, c: Point, r: f64, out: &mut Vec<f64>) {
    let mut add = |v: Vec2| out.push(trig::positive(trig::angle(v)));
    match s {
        Segment::Line(l) => {
            let (d, f) = (l.end - l.start, l.start - c);
            let (a, b) = (d.dot(d), f.dot(d));
            let under = b * b - a * (f.dot(f) - r * r);
            if a > 0.0 && under >= 0.0 {
                let root = under.sqrt();
                let ts = [(-b - root) / a, (-b + root) / a];
                ts.into_iter().filter(|t| (0.0..=1.0).contains(t)).for_each(|t| add(f + d * t));
            }
        }
        Segment::Arc(a) => {
            let v = a.center - c;
            let apart = v.hypot();
            if apart == 0.0 {
                return;
            }
            let x = (apart * apart + r * r - a.radius * a.radius) / (2.0 * apart);
            let under = r * r - x * x;
            if under >= 0.0 {
                let (along, across) = (v * (x / apart), trig::left(v) * (under.sqrt() / apart));
                for p in [along + across, along - across] {
                    if a.spans(p - v) {
                        add(p);
                    }
                }
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A hole of radius `t` in a wide sheet.
    fn round(t: f64) -> Ground {
        Ground::new(Rect::new(-500.0, -500.0, 500.0, 500.0), &[Region::new(vec![Ring::circle(Point::ORIGIN, t)])])
    }

    /// By hand: let t be the radius of the hole, q that of the base, and s the distance of their centres. The two
    /// circles meet on the chord at (s² + t² − q²)/2s. Beyond it the base is supported, so the centre lies (s² − t² +
    /// q²)/2s inside.
    #[test]
    fn a_round_hole_by_hand() {
        for (t, s, q) in [(80.95, 70.95, 75.0), (75.0, 40.0, 75.0), (28.0, 18.0, 45.0), (120.0, 110.0, 75.0)] {
            let wanted = (s * s - t * t + q * q) / (2.0 * s);
            for u in [0.0, 0.4, 2.0] {
                let found = round(t).margin(Point::ORIGIN + trig::unit(u) * s, q);
                assert!((found - wanted).abs() < 0.02, "{t} {s} {q}: {found}, by hand {wanted}");
            }
        }
        // The whole rim on the panel; and no panel under the base.
        assert!((round(28.0).margin(Point::new(18.0, 0.0), 75.0) - 75.0).abs() < 0.02);
        assert!(round(90.0).margin(Point::ORIGIN, 75.0) == f64::NEG_INFINITY);
    }

    /// Along the only straight side under the base, the centre overhangs by the bush's radius.
    #[test]
    fn a_long_straight_side_holds_nothing() {
        let slot = Region::new(vec![Ring::polygon(
            &[(-300.0, -200.0), (300.0, -200.0), (300.0, 0.0), (-300.0, 0.0)].map(Point::from),
        )]);
        let g = Ground::new(Rect::new(-500.0, -500.0, 500.0, 500.0), &[slot]);
        assert!((g.margin(Point::new(3.0, -10.0), 75.0) + 10.0).abs() < 1e-6);
        // At the edge of a sheet the base is half supported, and the margin is 0.
        let g = Ground::new(Rect::new(0.0, 0.0, 500.0, 500.0), &[]);
        assert!(g.margin(Point::new(0.0, 200.0), 75.0).abs() < 1e-6);
        assert!((g.margin(Point::new(20.0, 200.0), 75.0) - 20.0).abs() < 1e-6);
    }

    /// An opening of 150 × 100, bush 20, base 75. At the middle of a long side the base just touches both short sides,
    /// and the margin is 0. Slightly to the right it touches the right side only. The left end of its support above is
    /// then √(75² − 10²) away and 10 higher, so the centre lies outside the line between the two.
    #[test]
    fn a_wide_opening_by_hand() {
        let hole = Region::new(vec![Ring::polygon(
            &[(-75.0, -50.0), (75.0, -50.0), (75.0, 50.0), (-75.0, 50.0)].map(Point::from),
        )]);
        let g = Ground::new(Rect::new(-500.0, -500.0, 500.0, 500.0), &[hole]);
        assert!(g.margin(Point::new(0.0, 40.0), 75.0).abs() < 1e-6);
        let left = (75.0_f64 * 75.0 - 100.0).sqrt();
        let wanted = -10.0 * 75.0 / (75.0 + left).hypot(10.0);
        let found = g.margin(Point::new(1e-7, 40.0), 75.0);
        assert!((found - wanted).abs() < 0.01, "{found}, by hand {wanted}");
    }

    #[test]
    fn a_centre_stuck_back_holds() {
        let box_of = |y0: f64, y1: f64| {
            Region::new(vec![Ring::polygon(&[(-300.0, y0), (300.0, y0), (300.0, y1), (-300.0, y1)].map(Point::from))])
        };
        let sheet = Rect::new(-500.0, -500.0, 500.0, 500.0);
        let at = Point::new(3.0, -10.0);
        // Its edge is 22 below that of the hole, 12 below the centre: the base has panel on both sides and rests on its
        // rim.
        let g = Ground::new(sheet, &[box_of(-200.0, 0.0)]).with(&box_of(-178.0, -22.0));
        assert!((g.margin(at, 75.0) - 74.0).abs() < 1.0, "{}", g.margin(at, 75.0));
    }

    /// 400 round openings, only some of them near a base of 75 mm. The margin with all openings equals that with the
    /// near ones, bit for bit.
    #[test]
    fn openings_far_off_change_nothing() {
        let sheet = Rect::new(0.0, 0.0, 1300.0, 1300.0);
        let centre = |i: u32| Point::new(40.0 + 61.0 * f64::from(i % 20), 40.0 + 60.0 * f64::from(i / 20));
        let hole = |i: u32| Region::new(vec![Ring::circle(centre(i), 17.0 + f64::from(i % 7))]);
        let all = Ground::new(sheet, &(0..400).map(hole).collect::<Vec<_>>());
        for i in (0..400).step_by(37) {
            let at = centre(i) + trig::unit(f64::from(i)) * 9.0;
            let near: Vec<Region> = (0..400).filter(|&j| (centre(j) - at).hypot() < 130.0).map(hole).collect();
            assert!(near.len() < 30);
            let alone = Ground::new(sheet, &near);
            assert_eq!(all.margin(at, 75.0), alone.margin(at, 75.0), "{i}");
            assert_eq!(all.is_material(at), alone.is_material(at), "{i}");
        }
    }

    /// Points of the material: on all edges, at most 0.02 mm apart.
    fn edge_points(sheet: Rect, hole: &Ring) -> Vec<Point> {
        let corners = [(sheet.x0, sheet.y0), (sheet.x1, sheet.y0), (sheet.x1, sheet.y1), (sheet.x0, sheet.y1)];
        let edges = [hole.clone(), Ring::polygon(&corners.map(Point::from))].into_iter().flat_map(|r| r.segments);
        let points = |e: Segment| {
            let n = (e.length() / 0.02).ceil() as u32;
            (0..=n).map(move |i| e.at(f64::from(i) / f64::from(n)))
        };
        edges.flat_map(points).collect()
    }

    /// The signed distance of `at` from the edge of the convex hull of the material under the base, from dense points of
    /// its edges and of the rim. The hull is that of Andrew, "Another efficient algorithm for convex hulls", 1979.
    fn by_dense_points(sheet: Rect, hole: &Region, edges: &[Point], at: Point, base: f64) -> f64 {
        let holds = |p: Point| {
            let beside = hole.nearest(p).is_none_or(|n| n.0 > 1e-7);
            beside && crate::geom::inside::contains(hole, p)
        };
        let rim = (0..3600).map(|k| at + trig::unit(f64::from(k) * TAU / 3600.0) * base);
        let rim = rim.filter(|p| sheet.inflate(1e-7, 1e-7).contains(*p) && !holds(*p));
        let under = edges.iter().copied().filter(|p| (*p - at).hypot2() <= (base + 1e-7).powi(2));
        let mut all: Vec<Point> = rim.chain(under).collect();
        all.sort_by(|a, b| a.x.total_cmp(&b.x).then(a.y.total_cmp(&b.y)));
        let turn = |a: Point, b: Point, c: Point| (b - a).cross(c - a);
        let chain = |points: &mut dyn Iterator<Item = Point>| {
            let mut out: Vec<Point> = Vec::new();
            for p in points {
                while out.len() > 1 && turn(out[out.len() - 2], out[out.len() - 1], p) <= 0.0 {
                    out.pop();
                }
                out.push(p);
            }
            out.pop();
            out
        };
        let mut hull = chain(&mut all.iter().copied());
        hull.extend(chain(&mut all.iter().rev().copied()));
        let sides = || (0..hull.len()).map(|i| (hull[i], hull[(i + 1) % hull.len()]));
        let near = sides().map(|(a, b)| Segment::line(a, b).nearest(at).0).fold(f64::INFINITY, f64::min);
        if sides().all(|(a, b)| turn(a, b, at) >= 0.0) { near } else { -near }
    }

    /// A panel of 300 × 200 with a round or a square hole near its corner, and a base of 75: at 1,000 places the margin is
    /// that of a hull of dense points. The first ten places lay the rim through a corner of the panel (3-4-5 and 7-24-25),
    /// or along an edge.
    #[test]
    fn margins_are_those_of_an_independent_hull() {
        let sheet = Rect::new(0.0, 0.0, 300.0, 200.0);
        let square: Vec<Point> = [(33.0, 33.0), (87.0, 33.0), (87.0, 87.0), (33.0, 87.0)].map(Point::from).to_vec();
        let ties = [(60.0, 45.0), (45.0, 60.0), (21.0, 72.0), (72.0, 21.0), (75.0, 60.0), (60.0, 75.0)];
        let others = [(240.0, 45.0), (255.0, 60.0), (60.0, 155.0), (240.0, 155.0)];
        let mut places: Vec<Point> = ties.into_iter().chain(others).map(Point::from).collect();
        let (mut x, mut y) = (0.5, 0.5);
        places.extend((places.len()..250).map(|_| {
            // A sequence of low discrepancy, by the plastic number (Roberts 2018, from memory).
            (x, y) = ((x + 0.754_877_666_246_692_7) % 1.0, (y + 0.569_840_290_998_053_3) % 1.0);
            Point::new(20.0 + 160.0 * x, 20.0 + 120.0 * y)
        }));
        for hole in [Ring::circle(Point::new(60.0, 60.0), 37.0), Ring::polygon(&square)] {
            let (edges, hole) = (edge_points(sheet, &hole), Region::new(vec![hole]));
            let ground = Ground::new(sheet, std::slice::from_ref(&hole));
            for &place in &places {
                for at in [place, place + trig::unit(place.x + place.y) * 0.01] {
                    let (found, wanted) = (ground.margin(at, 75.0), by_dense_points(sheet, &hole, &edges, at, 75.0));
                    assert!((found - wanted).abs() < 0.05, "{at:?}: {found}, by dense points {wanted}");
                }
            }
        }
    }
}
