//! Pairs the ends of open lines.

use super::{Chain, remark};
use crate::budget::Budget;
use crate::drawing::{Remark, RemarkKind};
use crate::geom::{BoxTree, Point, Rect, clusters};
use crate::tolerance::SAME_PLACE;
use std::collections::BTreeMap;

/// Most neighbours of an end that are considered. Where more lie within one gap, the nearest ones decide.
const NEIGHBOURS: usize = 8;

#[derive(Clone, Copy, PartialEq, Eq)]
enum State {
    Free,
    Joined,
    /// At a branching: it joins no other end.
    Stopped,
}

/// The mate of each end, by end number (`2 * chain` for a start, one more for an end). An end without a mate has
/// `None`. The function returns `None` if the budget stops it.
pub fn mates(
    chains: &[Chain],
    tolerance: f64,
    remarks: &mut Vec<Remark>,
    budget: &Budget,
) -> Option<Vec<Option<usize>>> {
    let mut layers: BTreeMap<Option<&str>, Vec<usize>> = BTreeMap::new();
    for (i, c) in chains.iter().enumerate() {
        layers.entry(c.source.layer.as_deref()).or_default().extend([2 * i, 2 * i + 1]);
    }
    let mut m = EndMatching {
        points: (0..2 * chains.len()).map(|e| chains[e / 2].end(e % 2)).collect(),
        chains,
        mates: vec![None; 2 * chains.len()],
        state: vec![State::Free; 2 * chains.len()],
        branchings: Vec::new(),
    };
    for ends in layers.values() {
        m.same_place(ends, tolerance);
        m.near(ends, tolerance, budget)?;
    }
    let mut branchings = m.branchings;
    branchings.sort_unstable();
    for e in branchings {
        let source = Some(&chains[e / 2].source);
        remarks.push(remark(RemarkKind::Branching, source, Some(chains[e / 2].end(e % 2))));
    }
    Some(m.mates)
}

struct EndMatching<'c> {
    chains: &'c [Chain],
    points: Vec<Point>,
    mates: Vec<Option<usize>>,
    state: Vec<State>,
    /// The first end of each branching.
    branchings: Vec<usize>,
}

impl EndMatching<'_> {
    fn gap(&self, a: usize, b: usize) -> f64 {
        (self.points[a] - self.points[b]).hypot()
    }

    fn may_join(&self, a: usize, b: usize) -> bool {
        a != b && (a / 2 != b / 2 || self.chains[a / 2].may_close(self.gap(a, b)))
    }

    fn join(&mut self, a: usize, b: usize) {
        (self.mates[a], self.mates[b]) = (Some(b), Some(a));
        (self.state[a], self.state[b]) = (State::Joined, State::Joined);
    }

    fn branch(&mut self, ends: &[usize]) {
        for &e in ends {
            self.state[e] = State::Stopped;
        }
        self.branchings.extend(ends.iter().min());
    }

    /// Joins two ends at one place. Three or more ends at one place stop.
    fn same_place(&mut self, ends: &[usize], tolerance: f64) {
        let points: Vec<Point> = ends.iter().map(|&e| self.points[e]).collect();
        let place = clusters(&points, SAME_PLACE);
        let mut at: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        for (&e, &p) in ends.iter().zip(&place) {
            at.entry(p).or_default().push(e);
        }
        for here in at.values() {
            match here[..] {
                [a, b] if self.may_join(a, b) && self.gap(a, b) <= tolerance.max(crate::tolerance::SAME_POINT) => {
                    self.join(a, b);
                }
                [_, _, _, ..] => self.branch(here),
                _ => {}
            }
        }
    }

    /// Joins free ends across gaps, nearest first. Stops where a third end is about as near.
    fn near(&mut self, ends: &[usize], tolerance: f64, budget: &Budget) -> Option<()> {
        let free: Vec<usize> = ends.iter().copied().filter(|&e| self.state[e] == State::Free).collect();
        let tree = BoxTree::new(free.iter().map(|&e| (Rect::from_points(self.points[e], self.points[e]), e)));
        // For each free end its neighbours, nearest first. Rivals count up to twice the gap.
        let mut around: BTreeMap<usize, Vec<usize>> = BTreeMap::new();
        let mut pairs: Vec<(f64, usize, usize)> = Vec::new();
        for (i, &e) in free.iter().enumerate() {
            if i.is_multiple_of(1024) {
                budget.check().ok()?;
            }
            let p = self.points[e];
            let mut near: Vec<usize> = tree
                .by_distance(p)
                .take_while(|(d2, _)| *d2 <= 4.0 * tolerance * tolerance)
                .map(|(_, &o)| o)
                .filter(|&o| self.may_join(e, o))
                .take(NEIGHBOURS)
                .collect();
            near.sort_by(|&a, &b| self.gap(e, a).total_cmp(&self.gap(e, b)).then(a.cmp(&b)));
            let within = near.iter().map(|&o| (self.gap(e, o), e.min(o), e.max(o)));
            pairs.extend(within.filter(|(d, ..)| *d <= tolerance));
            around.insert(e, near);
        }
        pairs.sort_by(|a, b| a.0.total_cmp(&b.0).then((a.1, a.2).cmp(&(b.1, b.2))));
        pairs.dedup();
        for (gap, a, b) in pairs {
            if self.state[a] != State::Free || self.state[b] != State::Free {
                continue;
            }
            let mut rivals: Vec<usize> = [a, b]
                .iter()
                .flat_map(|&e| around[&e].iter().map(move |&o| (e, o)))
                .filter(|&(e, o)| o != a && o != b && self.state[o] == State::Free && self.gap(e, o) <= 2.0 * gap)
                .filter(|&(e, o)| !self.has_nearer(o, self.gap(e, o), [a, b], &around))
                .map(|(_, o)| o)
                .collect();
            if rivals.is_empty() {
                self.join(a, b);
            } else {
                rivals.extend([a, b]);
                rivals.sort_unstable();
                rivals.dedup();
                self.branch(&rivals);
            }
        }
        Some(())
    }

    /// True if `e` has a free neighbour nearer than `d` other than the two in `not`.
    fn has_nearer(&self, e: usize, d: f64, not: [usize; 2], around: &BTreeMap<usize, Vec<usize>>) -> bool {
        let free = |o: usize| !not.contains(&o) && self.state[o] == State::Free;
        around[&e].iter().any(|&o| free(o) && self.gap(e, o) < d)
    }
}
