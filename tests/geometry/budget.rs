//! A budget stops a run: at once before it starts, and promptly within a long operation.

use crate::common::{enclosed, region};
use letin::budget::{Budget, Stopped};
use letin::geom::{self, Certified, FillRule, GeomError, Point, Region, Ring};
use std::time::{Duration, Instant};

/// A wheel whose teeth stay apart when grown. Its offset takes long enough to be stopped.
fn wheel(teeth: u32) -> Vec<Ring> {
    let middle = 4.0 * f64::from(teeth);
    let corner = |k: u32| {
        let r = middle + [0.0, 40.0, 40.0, 0.0][(k % 4) as usize];
        let (s, c) = (std::f64::consts::TAU * f64::from(k) / f64::from(4 * teeth)).sin_cos();
        Point::new(r * c, r * s)
    };
    vec![Ring::polygon(&(0..4 * teeth).map(corner).collect::<Vec<_>>())]
}

type Operation = fn(&Certified<Region>, &Budget) -> Result<(), GeomError>;

fn operations() -> Vec<(&'static str, Operation)> {
    vec![
        ("grow", |s, b| geom::grow(s, 7.0, b).map(drop)),
        ("shrink", |s, b| geom::shrink(s, 3.0, b).map(drop)),
        ("open", |s, b| geom::open(s, 3.0, b).map(drop)),
        ("close", |s, b| geom::close(s, 7.0, b).map(drop)),
        ("or", |s, b| geom::or(s, s, b).map(drop)),
        ("and", |s, b| geom::and(s, s, b).map(drop)),
        ("minus", |s, b| geom::minus(s, s, b).map(drop)),
        ("enclosed", |s, b| geom::enclosed(&s.rings, FillRule::NonZero, b).map(drop)),
    ]
}

#[test]
fn a_cancelled_budget_stops_every_operation() {
    let s = region(&[(0.0, 0.0), (50.0, 0.0), (50.0, 30.0), (0.0, 30.0)]);
    for (name, op) in operations() {
        let budget = Budget::unlimited();
        assert_eq!(op(&s, &budget), Ok(()), "{name}");
        budget.cancel();
        assert_eq!(op(&s, &budget), Err(GeomError::Stopped(Stopped)), "{name}");
    }
}

/// Cancelled from another thread during the operation. The engines' calls and the loops of the
/// certificate check the budget. The remaining time must be a fraction of the whole.
#[test]
fn a_long_operation_stops_promptly() {
    let s = enclosed(&wheel(600));
    let begun = Instant::now();
    geom::close(&s, 2.0, &Budget::unlimited()).expect("certified");
    let whole = begun.elapsed();
    let (wait, most) = (whole / 10, whole * 6 / 10 + Duration::from_millis(50));

    let cancelled = || {
        let budget = Budget::unlimited();
        let stop = budget.clone();
        let begun = Instant::now();
        std::thread::scope(|scope| {
            scope.spawn(move || {
                std::thread::sleep(wait);
                stop.cancel();
            });
            (geom::close(&s, 2.0, &budget).map(drop), begun.elapsed())
        })
    };
    stops(cancelled, Stopped, most);
}

/// Every run stops, and at least one of three in time: other work of the machine may delay one of them.
#[track_caller]
fn stops(run: impl Fn() -> (Result<(), GeomError>, Duration), why: Stopped, most: Duration) {
    let mut took = Vec::new();
    for _ in 0..3 {
        let (result, time) = run();
        assert_eq!(result, Err(GeomError::Stopped(why)));
        if time < most {
            return;
        }
        took.push(time);
    }
    panic!("{why:?}: stopped after {took:?}, {most:?} allowed");
}
