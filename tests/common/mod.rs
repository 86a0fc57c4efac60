//! Regions for tests, and comparisons of regions. Lengths in mm, areas in mm².
//!
//! Two regions are compared by the area of their symmetric difference, and by the distance of sampled edge points from the
//! other's edges. Where one must contain the other, sampled points decide as well.

#![allow(dead_code, reason = "each test file uses some of it")]

use letin::app::{self, Job, Kind, Selection, Task};
use letin::budget::Budget;
use letin::drawing::ReadSettings;
use letin::geom::edges::{EdgeIndex, sampled};
use letin::geom::inside::Filled;
use letin::geom::{self, Certified, FillRule, GeomError, Point, Region, Ring, Segment};
use letin::job::facts::Facts;
use letin::kit::{Figures, Kit, Pair, Router, Tools};
use letin::panel::layout::PanelSettings;
use letin::panel::steps::Depths;
use letin::panel::{Setup, Turn};
use letin::template::ease::Corners;
use std::path::Path;

/// The job of `letin check` on a drawing, with default settings.
#[track_caller]
pub fn job_of(drawing: &Path) -> Job {
    let pair = Pair { bush: 20.0, cutter: 6.0 };
    Job {
        show: None,
        assumed: Vec::new(),
        task: Task::Check,
        drawing: drawing.to_path_buf(),
        also_read: Vec::new(),
        read: ReadSettings::default(),
        mirror: false,
        select: Selection::default(),
        kind: Kind::Flush,
        tools: Tools::new(pair, pair, 0.05).expect("a pair of tools"),
        kit: Kit::default(),
        within: None,
        auto_pair: false,
        suggest: false,
        season: None,
        corners: Corners::Ease { inside: 0.5, outside: 1.0 },
        panel: PanelSettings {
            base: 75.0,
            web: 9.0,
            at: None,
            size: None,
            bed: None,
            turn: Turn::LeftRight,
            setup: Setup::Two,
        },
        flatten: None,
        router: Router { thickness: 9.0, projection: None, pass: None },
        figures: Figures::new(&Kit::default(), None, None, None),
        depths: Depths::default(),
        accept: Vec::new(),
    }
}

/// The facts of a run; `None` without a verdict.
pub fn facts_of(job: &Job) -> Option<Facts> {
    app::run(job, &unlimited()).ok().map(|o| o.facts)
}

pub fn unlimited() -> Budget {
    Budget::unlimited()
}

pub fn polygon(points: &[(f64, f64)]) -> Ring {
    let points: Vec<Point> = points.iter().map(|&p| p.into()).collect();
    Ring::polygon(&points)
}

/// Each corner carries the bulge of the edge that leaves it: the tangent of a quarter of the sweep.
pub fn bulged(corners: &[(f64, f64, f64)]) -> Ring {
    let n = corners.len();
    let edge = |i: usize| {
        let ((x, y, b), (u, v, _)) = (corners[i], corners[(i + 1) % n]);
        Segment::from_bulge(Point::new(x, y), Point::new(u, v), b)
    };
    Ring::new((0..n).map(edge).collect())
}

#[track_caller]
pub fn enclosed(rings: &[Ring]) -> Certified<Region> {
    geom::enclosed(rings, FillRule::NonZero, &unlimited()).expect("plain rings")
}

#[track_caller]
pub fn region(points: &[(f64, f64)]) -> Certified<Region> {
    enclosed(&[polygon(points)])
}

pub fn rectangle(w: f64, h: f64) -> Certified<Region> {
    region(&[(0.0, 0.0), (w, 0.0), (w, h), (0.0, h)])
}

/// A rectangle with corner radius `r`.
pub fn rounded_rectangle(w: f64, h: f64, r: f64) -> Ring {
    let b = (std::f64::consts::PI / 8.0).tan();
    bulged(&[
        (r, 0.0, 0.0),
        (w - r, 0.0, b),
        (w, r, 0.0),
        (w, h - r, b),
        (w - r, h, 0.0),
        (r, h, b),
        (0.0, h - r, 0.0),
        (0.0, r, b),
    ])
}

/// Half length 35, half width 18 at the ends and 8 at the waist.
pub fn bow_tie() -> Certified<Region> {
    region(&[(-35.0, -18.0), (0.0, -8.0), (35.0, -18.0), (35.0, 18.0), (0.0, 8.0), (-35.0, 18.0)])
}

/// A regular polygon with its corners at distance `r` from the origin.
pub fn regular(n: u32, r: f64) -> Certified<Region> {
    let corner = |k: u32| {
        let (s, c) = (std::f64::consts::TAU * f64::from(k) / f64::from(n)).sin_cos();
        (r * c, r * s)
    };
    region(&(0..n).map(corner).collect::<Vec<_>>())
}

#[track_caller]
pub fn grow(s: &Certified<Region>, d: f64) -> Certified<Region> {
    geom::grow(s, d, &unlimited()).expect("certified")
}

#[track_caller]
pub fn shrink(s: &Certified<Region>, d: f64) -> Certified<Region> {
    geom::shrink(s, d, &unlimited()).expect("certified")
}

#[track_caller]
pub fn open(s: &Certified<Region>, r: f64) -> Certified<Region> {
    geom::open(s, r, &unlimited()).expect("certified")
}

#[track_caller]
pub fn close(s: &Certified<Region>, o: f64) -> Certified<Region> {
    geom::close(s, o, &unlimited()).expect("certified")
}

#[track_caller]
pub fn or(a: &Certified<Region>, b: &Certified<Region>) -> Certified<Region> {
    geom::or(a, b, &unlimited()).expect("certified")
}

/// Reproducible pseudo-random numbers (xorshift).
/// Source: Marsaglia, *Xorshift RNGs*, Journal of Statistical Software 8(14), 2003; from memory, unchecked.
pub struct Dice(pub u64);

impl Dice {
    pub fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    /// From `lo` up to `hi`.
    #[allow(clippy::cast_precision_loss)]
    pub fn between(&mut self, lo: f64, hi: f64) -> f64 {
        lo + (hi - lo) * ((self.next() >> 11) as f64 / (1u64 << 53) as f64)
    }
}

/// Asserts that `found` equals `wanted` to `digits` digits after the point.
#[track_caller]
pub fn near(found: f64, wanted: f64, digits: i32) {
    let half = 0.500_001 * 10f64.powi(-digits);
    assert!((found - wanted).abs() <= half, "found {found:.9}, expected {wanted}");
}

/// A region prepared for point queries.
pub struct Asked {
    index: EdgeIndex,
    rings: Vec<Filled>,
}

impl Asked {
    pub fn new(r: &Region) -> Asked {
        Asked { index: EdgeIndex::new(r), rings: r.rings.iter().map(Filled::new).collect() }
    }

    /// Distance from the edges; infinite for an empty region.
    pub fn off(&self, p: Point) -> f64 {
        self.index.nearest(p).map_or(f64::INFINITY, |n| n.distance)
    }

    /// True for a point inside the region. Undefined for points on the edges.
    pub fn contains(&self, p: Point) -> bool {
        self.rings.iter().filter(|r| r.contains(p)).count() % 2 == 1
    }
}

/// Greatest distance of points along the edges of `a` from the edges of `b`, and its point.
pub fn strays(a: &Region, b: &Region, step: f64) -> (f64, Point) {
    let asked = Asked::new(b);
    sampled(a, step).map(|p| (asked.off(p), p)).max_by(|x, y| x.0.total_cmp(&y.0)).unwrap_or((0.0, Point::ORIGIN))
}

/// Area of the symmetric difference, or the place where it could not be certified.
pub fn differing(a: &Certified<Region>, b: &Certified<Region>) -> Result<f64, GeomError> {
    Ok(geom::minus(a, b, &unlimited())?.area() + geom::minus(b, a, &unlimited())?.area())
}

/// Asserts that the regions are equal, with their edges at most `tolerance` apart.
#[track_caller]
pub fn same(a: &Certified<Region>, b: &Certified<Region>, tolerance: f64, what: &str) {
    assert_eq!(a.is_empty(), b.is_empty(), "{what}: one of the two is empty");
    for (one, other) in [(a, b), (b, a)] {
        let (off, at) = strays(one, other, 0.5);
        assert!(off <= tolerance, "{what}: edges {off:.6} apart at {at:?}");
    }
    assert_eq!(a.rings.len(), b.rings.len(), "{what}: rings");
    let most = tolerance * a.perimeter();
    match differing(a, b) {
        Ok(area) => assert!(area.abs() <= most, "{what}: differ by {area:.6} mm², {most:.6} allowed"),
        Err(e) => panic!("{what}: no certified difference: {e}"),
    }
}

/// Asserts that no point of `a` lies more than `tolerance` outside `b`.
#[track_caller]
pub fn inside(a: &Region, b: &Region, tolerance: f64, what: &str) {
    let (in_a, in_b) = (Asked::new(a), Asked::new(b));
    for p in sampled(a, 0.5) {
        let off = in_b.off(p);
        assert!(off <= tolerance || in_b.contains(p), "{what}: extends outside by {off:.6} at {p:?}");
    }
    // A hole or bay of b may lie within a without touching the edges of a.
    for p in sampled(b, 0.5) {
        let off = in_a.off(p);
        assert!(off <= tolerance || !in_a.contains(p), "{what}: covers an edge of the other by {off:.6} at {p:?}");
    }
}
