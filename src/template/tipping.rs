//! Whether the panel holds the router up wherever the bush goes.
//!
//! In: panels, openings and steps, the radius of the router's base, mm. Out: for each step the least margin and where:
//! how far the bush's centre lies within the convex hull of the panel that is left under the base, negative where it lies
//! outside and the router tips. The bush goes along the edge of its opening, or, where the middle is cleared, everywhere
//! that it fits. Looked at in places [`STEP`] mm apart along the edge and [`CLEARED`] mm apart inside, farther apart in
//! very large openings, and ever closer about the worst; the hull is one of points of the edges, which of openings with very
//! many are taken to within [`ROUGH`]: told too small by 0.05 mm at most (round a radius of 75 mm), and too large by no more than that hundredth. Refuses what [`Centres`] refuses.

use super::centres::Centres;
use super::hand::Step;
use super::layout::PanelSettings;
use super::openings::Template;
use super::{Opening, Panel};
use crate::budget::Budget;
use crate::geom::edges::sampled;
use crate::geom::inside::Filled;
use crate::geom::{Certified, GeomError, Point, Rect, Region, Ring, Segment, Vec2, hull, rough, shrink, trig};
use crate::threads::each;
use std::collections::BTreeMap;
use std::f64::consts::TAU;

/// Places along an edge are this far apart at most, mm, and those inside a cleared opening.
const STEP: f64 = 1.0;
const CLEARED: f64 = 3.0;
/// The worst place inside is looked for to this, mm.
const FINEST: f64 = 0.01;
/// Of the places one in so many is looked at first, and while a base is searched for.
const LOOKED_AT: usize = 6;
/// Openings with very many edges are looked at to this, mm.
const ROUGH: f64 = 0.01;
/// More places than this of either kind are not looked at: in openings so large they stand farther apart.
const MOST: f64 = 1500.0;
/// Points stand for a round edge of an opening this far apart, radians: of one of 75 mm radius they leave out 0.05 mm.
const TURN: f64 = TAU / 90.0;
/// A panel whose size is not given is made so large that the base finds no edge: so far out it ends, mm.
const BOUNDLESS: f64 = 5000.0;
/// A base larger than this is not proposed, mm.
pub const LARGEST_BASE: f64 = 300.0;
/// Sub-bases are proposed in whole steps of this, mm.
const BASES: f64 = 5.0;
/// Room between the bush and a centre stuck back, a side, mm. Common practice, no source.
pub const BESIDE_BUSH: f64 = 2.0;

/// The least margin of a step.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Margin {
    /// Negative infinity where nothing of the panel is under the base.
    pub mm: f64,
    /// The bush's centre, in the frame of the opening's face.
    pub at: Point,
}

/// What the base can stand on: a sheet less its holes, and what is stuck into them.
pub struct Ground {
    sheet: Rect,
    holes: Vec<Filled>,
    islands: Vec<Filled>,
    edges: Vec<(Segment, Rect)>,
    /// Ends of the edges, and points of the round ones.
    points: Vec<Point>,
}

impl Ground {
    #[must_use]
    pub fn new(sheet: Rect, holes: &[Region]) -> Ground {
        let filled = holes.iter().flat_map(|h| &h.rings).map(filled).collect();
        let mut g = Ground { sheet, holes: filled, islands: Vec::new(), edges: Vec::new(), points: Vec::new() };
        let corners = [(sheet.x0, sheet.y0), (sheet.x1, sheet.y0), (sheet.x1, sheet.y1), (sheet.x0, sheet.y1)];
        g.add(&Region::new(vec![Ring::polygon(&corners.map(Point::from))]));
        holes.iter().for_each(|h| g.add(h));
        g.points.retain(|p| sheet.inflate(1e-9, 1e-9).contains(*p));
        g
    }

    /// The same with a piece of the panel stuck back into a hole.
    #[must_use]
    pub fn with(mut self, island: &Region) -> Ground {
        self.islands.extend(island.rings.iter().map(filled));
        self.add(island);
        self
    }

    fn add(&mut self, r: &Region) {
        for s in r.segments() {
            self.edges.push((*s, s.bounds()));
            let pieces = if let Segment::Arc(a) = s { (a.sweep() / TURN).ceil().max(1.0) } else { 1.0 };
            // Bounded: a sweep is less than a full turn.
            self.points.extend((0..pieces as u32).map(|i| s.at(f64::from(i) / pieces)));
        }
    }

    fn is_material(&self, p: Point) -> bool {
        let within = |rings: &[Filled]| rings.iter().filter(|r| r.contains(p)).count() % 2 == 1;
        self.sheet.contains(p) && !within(&self.holes) || within(&self.islands)
    }

    /// How far `at` lies within the hull of what is under a base of radius `base` round it.
    #[must_use]
    pub fn margin(&self, at: Point, base: f64) -> f64 {
        hull::in_disc(&self.rim(at, base), base, &self.inner(at, base))
    }

    /// The points of edges under the base, seen from its centre.
    fn inner(&self, at: Point, base: f64) -> Vec<Vec2> {
        self.points.iter().map(|p| *p - at).filter(|v| v.hypot2() <= base * base).collect()
    }

    /// The same, if it may be less than `limit`: where the rim of the base alone holds it up so far, what lies further in is
    /// not asked.
    fn margin_below(&self, at: Point, base: f64, limit: f64) -> Option<f64> {
        let rim = self.rim(at, base);
        if !rim.is_empty() && hull::in_disc(&rim, base, &[]) >= limit {
            return None;
        }
        Some(hull::in_disc(&rim, base, &self.inner(at, base))).filter(|mm| *mm < limit)
    }

    /// The arcs of the base's rim that stand on panel, from angle to angle. Where the rim only touches an edge it finds a
    /// point of it all the same.
    fn rim(&self, at: Point, base: f64) -> Vec<(f64, f64)> {
        let mut ends: Vec<f64> = Vec::new();
        for (s, b) in &self.edges {
            if meets(*b, at, (base - 1.0).max(0.0), base + 1.0) {
                crossings(s, at, base, &mut ends);
            }
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

    /// The least margin over all places; of equals that of the first.
    fn least(&self, places: &[Point], base: f64, budget: &Budget) -> Result<Option<Margin>, GeomError> {
        let mut least: Option<(Margin, usize)> = None;
        // One in so many first: with a margin that is nearly the least most of the others need not be looked into.
        for first in 0..LOOKED_AT {
            for (i, &at) in places.iter().enumerate().skip(first).step_by(LOOKED_AT) {
                budget.check()?;
                // The next number up, so that equals are looked at as well.
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

    /// Whether the margin is `wanted` in all places; those that are likeliest to fail come first.
    fn holds(&self, places: &[Point], base: f64, wanted: f64, budget: &Budget) -> Result<bool, GeomError> {
        for &at in places {
            budget.check()?;
            if self.margin_below(at, base, wanted).is_some() {
                return Ok(false);
            }
        }
        Ok(true)
    }
}

/// A ring, to within [`ROUGH`]: a rim that runs that near beside an edge may count as standing on it or not.
fn filled(ring: &Ring) -> Filled {
    Filled::roughly(ring, ROUGH)
}

/// Whether a box has points farther than `inner` and nearer than `outer` mm from `c`.
fn meets(b: Rect, c: Point, inner: f64, outer: f64) -> bool {
    let farthest = Vec2::new((c.x - b.x0).max(b.x1 - c.x), (c.y - b.y0).max(b.y1 - c.y));
    b.inflate(outer, outer).contains(c) && farthest.hypot2() >= inner * inner
}

/// Directions from `c` in which the circle of radius `r` round it meets the edge.
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

/// Where the bush's centre goes in an opening, in the frame of the opening's face.
pub struct Way {
    /// The edge that it runs along.
    centre: Region,
    /// What it covers, where the middle is cleared too.
    cleared: Vec<Filled>,
    step: f64,
    places: Vec<Point>,
}

impl Way {
    /// Along the edge of where the bush's centre goes, and where `whole`, everywhere within.
    #[must_use]
    pub fn new(centre: &Region, whole: bool) -> Way {
        let centre = rough(centre, ROUGH);
        let cleared: Vec<Filled> = if whole { centre.rings.iter().map(filled).collect() } else { Vec::new() };
        let step = STEP.max(centre.perimeter() / MOST);
        let mut way = Way { places: sampled(&centre, step).collect(), centre, cleared, step };
        if let Some(b) = way.centre.bounds().filter(|_| whole) {
            let apart = CLEARED.max((b.area() / MOST).sqrt());
            let count = |long: f64| (long / apart).ceil().max(1.0);
            let (nx, ny) = (count(b.width()), count(b.height()));
            let at =
                |i: u32, j: u32| b.origin() + Vec2::new(b.width() * f64::from(i) / nx, b.height() * f64::from(j) / ny);
            // Bounded by MOST.
            let grid = (0..=ny as u32).flat_map(|j| (0..=nx as u32).map(move |i| at(i, j)));
            let inner: Vec<Point> = grid.filter(|p| way.clears(*p)).collect();
            way.places.extend(inner);
        }
        way
    }

    fn clears(&self, p: Point) -> bool {
        self.cleared.iter().filter(|r| r.contains(p)).count() % 2 == 1
    }

    /// The least margin on the way: that of the worst place, and then of those about it, ever closer.
    ///
    /// # Errors
    /// Stopped by the budget.
    pub fn least(&self, ground: &Ground, base: f64, budget: &Budget) -> Result<Option<Margin>, GeomError> {
        let Some(mut least) = ground.least(&self.places, base, budget)? else { return Ok(None) };
        let near: Vec<Point> =
            sampled(&self.centre, self.step / 32.0).filter(|p| (*p - least.at).hypot() <= self.step).collect();
        let beside = ground.least(&near, base, budget)?;
        least = beside.filter(|b| b.mm < least.mm).unwrap_or(least);
        let mut reach = if self.cleared.is_empty() { 0.0 } else { CLEARED };
        while reach > FINEST && least.mm.is_finite() {
            let round = (0..8).map(|k| least.at + trig::unit(f64::from(k) * TAU / 8.0) * reach);
            let places: Vec<Point> = round.filter(|p| self.clears(*p)).collect();
            match ground.least(&places, base, budget)? {
                Some(better) if better.mm < least.mm => least = better,
                _ => reach /= 2.0,
            }
        }
        Ok(Some(least))
    }
}

/// All openings of the panel as seen on `face`.
fn seen(t: &Template, panel: &Panel, face: u8) -> Vec<Region> {
    let own = t.openings.iter().filter(|o| o.panel == panel.number);
    own.map(|o| rough(&super::Face { panel, face, openings: Vec::new() }.seen(o), ROUGH)).collect()
}

fn way(o: &Opening, s: &Step, centres: &Centres, budget: &Budget) -> Result<Way, GeomError> {
    Ok(Way::new(&*centres.of(o, s.pair.bush_radius(), budget)?, s.whole))
}

fn sheet(panel: &Panel) -> Rect {
    Rect::new(0.0, 0.0, panel.width, panel.height)
}

/// The least margin of each step; none where the step's opening takes no bush.
///
/// # Errors
/// As [`Centres::of`]; stopped by the budget.
pub fn margins(
    t: &Template,
    steps: &[Step],
    centres: &Centres,
    base: f64,
    budget: &Budget,
) -> Result<Vec<Option<Margin>>, GeomError> {
    // The same way is looked at once.
    let way = |s: &Step| (s.opening.clone(), s.pair.bush.to_bits(), s.whole);
    let once: BTreeMap<_, &Step> = steps.iter().map(|s| (way(s), s)).collect();
    let found = each(once.into_iter().collect(), |(way, s)| Ok((way, margin(t, s, centres, base, budget)?)));
    let found: BTreeMap<_, Option<Margin>> = found.into_iter().collect::<Result<_, GeomError>>()?;
    Ok(steps.iter().map(|s| found.get(&way(s)).copied().flatten()).collect())
}

fn margin(t: &Template, s: &Step, centres: &Centres, base: f64, budget: &Budget) -> Result<Option<Margin>, GeomError> {
    let Some((o, panel)) = t.of(s) else { return Ok(None) };
    let ground = Ground::new(sheet(panel), &seen(t, panel, o.face));
    way(o, s, centres, budget)?.least(&ground, base, budget)
}

/// The smallest base, in whole steps, with which the margin of the step is `wanted`; none where none does. A panel whose
/// size is not given grows with the base; a given one does not.
///
/// # Errors
/// As [`margins`].
pub fn base_that_holds(
    t: &Template,
    s: &Step,
    centres: &Centres,
    wanted: f64,
    settings: &PanelSettings,
    budget: &Budget,
) -> Result<Option<f64>, GeomError> {
    let Some((o, panel)) = t.of(s) else { return Ok(None) };
    let ground = if settings.size.is_some() {
        Ground::new(sheet(panel), &seen(t, panel, o.face))
    } else {
        // The base keeps out of the other half, so only the openings of its own face are under it.
        let own: Vec<_> = t.openings.iter().filter(|x| (x.panel, x.face) == (o.panel, o.face)).collect();
        let least = if settings.at.is_some() { 0.0 } else { -BOUNDLESS };
        let sheet = Rect::new(least, least, BOUNDLESS, BOUNDLESS);
        Ground::new(sheet, &own.iter().map(|o| rough(&o.on_face(), ROUGH)).collect::<Vec<_>>())
    };
    let way = way(o, s, centres, budget)?;
    let mut places: Vec<Point> = way.least(&ground, settings.base, budget)?.iter().map(|m| m.at).collect();
    // A first look; what it finds is looked at all along below.
    places.extend(way.places.iter().step_by(LOOKED_AT));
    let steps = |k: u32| (settings.base / BASES).floor() * BASES + BASES * f64::from(k);
    let (mut low, mut high) = (0, ((LARGEST_BASE - settings.base) / BASES).floor().max(0.0) as u32);
    if high == 0 || !ground.holds(&places, steps(high), wanted, budget)? {
        return Ok(None);
    }
    // The hull grows with the base, so that what holds once holds from there on.
    while high - low > 1 {
        let middle = u32::midpoint(low, high);
        if ground.holds(&places, steps(middle), wanted, budget)? { high = middle } else { low = middle }
    }
    // Between the places that were looked at it may be a little less.
    for k in high..high + 3 {
        if way.least(&ground, steps(k), budget)?.is_some_and(|m| m.mm >= wanted) {
            return Ok(Some(steps(k)));
        }
    }
    Ok(None)
}

/// The opening's centre as it may be stuck back: off the bush all round, and on what stands. In the drawing frame.
///
/// # Errors
/// As [`shrink`].
pub fn stuck_back(
    o: &Opening,
    bush: f64,
    stands: Option<&Certified<Region>>,
    budget: &Budget,
) -> Result<Certified<Region>, GeomError> {
    let free = shrink(&o.region, bush + BESIDE_BUSH, budget)?;
    stands.map_or(Ok(free.clone()), |s| crate::geom::and(&free, s, budget))
}

/// The least margin of the step with that centre stuck back.
///
/// # Errors
/// As [`margins`].
pub fn margin_with(
    t: &Template,
    s: &Step,
    centres: &Centres,
    centre: &Region,
    base: f64,
    budget: &Budget,
) -> Result<Option<Margin>, GeomError> {
    let Some((o, panel)) = t.of(s) else { return Ok(None) };
    let ground = Ground::new(sheet(panel), &seen(t, panel, o.face)).with(&centre.under_similarity(o.place));
    way(o, s, centres, budget)?.least(&ground, base, budget)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A hole of radius `t` in a wide sheet.
    fn round(t: f64) -> Ground {
        Ground::new(Rect::new(-500.0, -500.0, 500.0, 500.0), &[Region::new(vec![Ring::circle(Point::ORIGIN, t)])])
    }

    /// By hand: the circles of hole (radius t) and base (q, its centre s off the middle) meet on the chord at
    /// (s² + t² − q²)/2s; beyond it the base is held up, so the centre lies (s² − t² + q²)/2s within.
    #[test]
    fn a_round_hole_by_hand() {
        for (t, s, q) in [(80.95, 70.95, 75.0), (75.0, 40.0, 75.0), (28.0, 18.0, 45.0), (120.0, 110.0, 75.0)] {
            let wanted = (s * s - t * t + q * q) / (2.0 * s);
            for u in [0.0, 0.4, 2.0] {
                let found = round(t).margin(Point::ORIGIN + trig::unit(u) * s, q);
                assert!((found - wanted).abs() < 0.02, "{t} {s} {q}: {found}, by hand {wanted}");
            }
        }
        // All round on the panel; and nothing under the base.
        assert!((round(28.0).margin(Point::new(18.0, 0.0), 75.0) - 75.0).abs() < 0.02);
        assert!(round(90.0).margin(Point::ORIGIN, 75.0) == f64::NEG_INFINITY);
    }

    /// Along a straight side that is the only one under the base the centre hangs over by the bush's radius.
    #[test]
    fn a_long_straight_side_holds_nothing() {
        let slot = Region::new(vec![Ring::polygon(
            &[(-300.0, -200.0), (300.0, -200.0), (300.0, 0.0), (-300.0, 0.0)].map(Point::from),
        )]);
        let g = Ground::new(Rect::new(-500.0, -500.0, 500.0, 500.0), &[slot]);
        assert!((g.margin(Point::new(3.0, -10.0), 75.0) + 10.0).abs() < 1e-6);
        // At the edge of a sheet it is half a base, and the centre is on its rim.
        let g = Ground::new(Rect::new(0.0, 0.0, 500.0, 500.0), &[]);
        assert!(g.margin(Point::new(0.0, 200.0), 75.0).abs() < 1e-6);
        assert!((g.margin(Point::new(20.0, 200.0), 75.0) - 20.0).abs() < 1e-6);
    }

    /// An opening of 150 × 100, bush 20, base 75. At the middle of a long side the base just touches both short sides,
    /// and the margin is 0. A hair to the right of it touches the right side only, and the left end of what it has above
    /// is √(75² − 10²) off, 10 higher: the centre lies outside the line between the two.
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
        // Its edge is 22 below that of the hole, 12 below the centre: the base has panel on both sides and stands on its rim.
        let g = Ground::new(sheet, &[box_of(-200.0, 0.0)]).with(&box_of(-178.0, -22.0));
        assert!((g.margin(at, 75.0) - 74.0).abs() < 1.0, "{}", g.margin(at, 75.0));
    }
}
