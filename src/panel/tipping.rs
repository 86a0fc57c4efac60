//! Whether the panel supports the router wherever the bush goes.
//!
//! In: panels, openings and steps, the radius of the router's base, mm. Out: for each step the least margin and its
//! place. The margin is the depth of the bush's centre inside the convex hull of the panel under the base. It is
//! negative outside the hull, where the router tips.
//!
//! The bush goes along the edge of its opening, or everywhere that it fits if the middle is cleared. Positions are
//! tested [`STEP`] mm apart along the edge and [`CLEARED`] mm apart inside, farther apart in very large openings, and
//! refined around the worst. The hull is that of points of the edges; dense openings are simplified within
//! [`ROUGH_GROUND`]. So the margin is at most 0.05 mm too small (at a radius of 75 mm) and at most [`ROUGH_GROUND`] too
//! large. Errors: those of [`Centres`].

use crate::budget::Budget;
use crate::geom::edges::sampled;
use crate::geom::inside::Filled;
use crate::geom::{Certified, GeomError, Point, Region, Vec2, rough, shrink, trig};
use crate::panel::Opening;
use crate::panel::centres::Centres;
use crate::panel::ground::{Ground, Grounds, LOOKED_AT, filled};
use crate::panel::layout::PanelSettings;
use crate::panel::steps::Step;
use crate::panel::template::Template;
use crate::threads::each;
use crate::tolerance::{ROUGH_GROUND, TIPPING_REFINED};
use std::collections::BTreeMap;
use std::f64::consts::TAU;

pub use crate::panel::ground::Margin;

/// Greatest spacing of positions, mm: along an edge, and inside a cleared opening.
const STEP: f64 = 1.0;
const CLEARED: f64 = 3.0;
/// Most positions of either kind: in larger openings they are farther apart.
const MOST: f64 = 1500.0;
/// Largest base proposed, mm.
pub const LARGEST_BASE: f64 = 300.0;
/// Sub-bases are proposed in multiples of this, mm.
const BASES: f64 = 5.0;
/// Clearance between the bush and a centre that is stuck back, per side, mm. Common practice, no source.
pub const BESIDE_BUSH: f64 = 2.0;

/// The positions of the bush's centre in an opening, in the frame of the opening's face.
pub struct CentrePositions {
    /// Its boundary is the path along the edge.
    centre: Region,
    /// The area covered if the middle is cleared too.
    cleared: Vec<Filled>,
    step: f64,
    places: Vec<Point>,
}

impl CentrePositions {
    /// Along the edge of the region of the bush's centre; if `whole`, everywhere inside it.
    #[must_use]
    pub fn new(centre: &Region, whole: bool) -> CentrePositions {
        let centre = rough(centre, ROUGH_GROUND);
        let cleared: Vec<Filled> = if whole { centre.rings.iter().map(filled).collect() } else { Vec::new() };
        let step = STEP.max(centre.perimeter() / MOST);
        let mut way = CentrePositions { places: sampled(&centre, step).collect(), centre, cleared, step };
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

    /// The least margin on the way: of the worst position, refined around it.
    ///
    /// # Errors
    /// [`GeomError::Stopped`] by the budget.
    pub fn least(&self, ground: &Ground, base: f64, budget: &Budget) -> Result<Option<Margin>, GeomError> {
        let Some(mut least) = ground.least(&self.places, base, budget)? else { return Ok(None) };
        let near: Vec<Point> =
            sampled(&self.centre, self.step / 32.0).filter(|p| (*p - least.at).hypot() <= self.step).collect();
        let beside = ground.least(&near, base, budget)?;
        least = beside.filter(|b| b.mm < least.mm).unwrap_or(least);
        let mut reach = if self.cleared.is_empty() { 0.0 } else { CLEARED };
        while reach > TIPPING_REFINED && least.mm.is_finite() {
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

fn way(o: &Opening, s: &Step, centres: &Centres, budget: &Budget) -> Result<CentrePositions, GeomError> {
    Ok(CentrePositions::new(&*centres.region(o, s.pair.bush_radius(), budget)?, s.whole))
}

/// The least margin of each step; `None` if the bush does not fit the step's opening.
///
/// # Errors
/// As [`Centres::region`]; [`GeomError::Stopped`] by the budget.
pub fn margins(
    t: &Template,
    steps: &[Step],
    (centres, grounds): (&Centres, &Grounds),
    base: f64,
    budget: &Budget,
) -> Result<Vec<Option<Margin>>, GeomError> {
    // Steps with the same way are computed once.
    let way = |s: &Step| (s.opening.clone(), s.pair.bush.to_bits(), s.whole);
    let once: BTreeMap<_, &Step> = steps.iter().map(|s| (way(s), s)).collect();
    let found = each(once.into_iter().collect(), |(way, s)| Ok((way, margin(t, s, (centres, grounds), base, budget)?)));
    let found: BTreeMap<_, Option<Margin>> = found.into_iter().collect::<Result<_, GeomError>>()?;
    Ok(steps.iter().map(|s| found.get(&way(s)).copied().flatten()).collect())
}

fn margin(
    t: &Template,
    s: &Step,
    (centres, grounds): (&Centres, &Grounds),
    base: f64,
    budget: &Budget,
) -> Result<Option<Margin>, GeomError> {
    let Some((o, panel)) = t.opening_of_step(s) else { return Ok(None) };
    let Some(ground) = grounds.ground(panel, o.face) else { return Ok(None) };
    way(o, s, centres, budget)?.least(ground, base, budget)
}

/// The smallest base, in multiples of the step, that gives the step a margin of `wanted`; `None` if no base does. A
/// panel without a given size grows with the base.
///
/// # Errors
/// As [`margins`].
pub fn base_that_holds(
    t: &Template,
    s: &Step,
    (centres, grounds): (&Centres, &Grounds),
    wanted: f64,
    settings: &PanelSettings,
    budget: &Budget,
) -> Result<Option<f64>, GeomError> {
    let Some((o, panel)) = t.opening_of_step(s) else { return Ok(None) };
    let ground =
        if settings.size.is_some() { grounds.ground(panel, o.face) } else { grounds.without_end(panel, o.face) };
    let Some(ground) = ground else { return Ok(None) };
    let way = way(o, s, centres, budget)?;
    let mut places: Vec<Point> = way.least(ground, settings.base, budget)?.iter().map(|m| m.at).collect();
    // A preliminary search; the full check follows below.
    places.extend(way.places.iter().step_by(LOOKED_AT));
    let steps = |k: u32| (settings.base / BASES).floor() * BASES + BASES * f64::from(k);
    let (mut low, mut high) = (0, ((LARGEST_BASE - settings.base) / BASES).floor().max(0.0) as u32);
    if high == 0 || !ground.holds(&places, steps(high), wanted, budget)? {
        return Ok(None);
    }
    // The hull grows with the base, so a base that suffices is followed only by bases that suffice.
    while high - low > 1 {
        let middle = u32::midpoint(low, high);
        if ground.holds(&places, steps(middle), wanted, budget)? { high = middle } else { low = middle }
    }
    // Between the tested positions the margin may be slightly less.
    for k in high..high + 3 {
        if way.least(ground, steps(k), budget)?.is_some_and(|m| m.mm >= wanted) {
            return Ok(Some(steps(k)));
        }
    }
    Ok(None)
}

/// The part of the opening's centre that can be stuck back: clear of the bush on all sides, and on remaining material
/// `stands`. In the drawing frame.
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
    (centres, grounds): (&Centres, &Grounds),
    centre: &Region,
    base: f64,
    budget: &Budget,
) -> Result<Option<Margin>, GeomError> {
    let Some((o, panel)) = t.opening_of_step(s) else { return Ok(None) };
    let Some(ground) = grounds.ground(panel, o.face) else { return Ok(None) };
    let ground = ground.with(&centre.under_similarity(o.place));
    way(o, s, centres, budget)?.least(&ground, base, budget)
}
