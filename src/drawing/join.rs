//! Joins loose lines and arcs into closed loops.
//!
//! In: shapes in mm. Out: the same shapes, with the open paths of unfilled shapes joined end to end, and a remark on
//! every repair and every failure. Closed paths and filled shapes stay unchanged.
//!
//! The steps:
//!
//! 1. Drop lines no longer than [`SAME_PLACE`] ([`RemarkKind::Speck`]).
//! 2. Keep one of several equal lines ([`RemarkKind::DoubledLine`]). Cut a straight line back to the part that no other
//!    line covers ([`overlap`]).
//! 3. Join two ends that meet within [`SAME_PLACE`]. Where three or more ends meet, no chain continues
//!    ([`RemarkKind::Branching`]).
//! 4. Join the remaining free ends across gaps up to the tolerance, nearest first. Where a third free end lies within
//!    twice the gap, the place is a branching too.
//!
//! A chain closes on itself only if it is long compared with its gap. Two ends joined across a gap move to their
//! midpoint ([`RemarkKind::JoinedGap`]). A chain that stays open is a [`RemarkKind::OpenLine`] and stays among the
//! shapes.
//!
//! Only lines of one layer are joined. Files usually keep an outline on one layer, and lines of other layers that touch
//! it are something else. The order of the shapes is that of their first edges. A loop runs in the direction of its
//! first edge. Run time is near-linear in the number of edges.

mod ends;
mod overlap;
mod snap;

use super::{Fill, Path, Remark, RemarkKind, Shape, Source};
use crate::budget::Budget;
use crate::geom::{Point, Segment, clusters};
use crate::tolerance::{DOUBLED, SAME_PLACE, SAME_POINT};
use std::collections::BTreeMap;

/// An open path: one or more consecutive edges.
#[derive(Clone, Debug)]
struct Chain {
    segments: Vec<Segment>,
    source: Source,
    /// Index of the shape that it comes from.
    shape: usize,
    length: f64,
}

impl Chain {
    /// The start point (`which` is 0) or the end point (1).
    fn end(&self, which: usize) -> Point {
        let s =
            if which == 0 { self.segments.first().map(Segment::start) } else { self.segments.last().map(Segment::end) };
        s.unwrap_or(Point::ORIGIN)
    }

    /// True if the chain may close on itself across `gap`. A single straight edge may not. Neither may a chain shorter
    /// than eight gaps, because its ends are near each other by chance.
    fn may_close(&self, gap: f64) -> bool {
        let bent = self.segments.len() > 1 || matches!(self.segments[..], [Segment::Arc(_)]);
        bent && self.length > 8.0 * gap
    }
}

/// Joins open lines into loops, as the module describes. `tolerance` is the widest gap, mm.
///
/// Returns the input shapes without remarks if the budget stops it. The budget stays stopped, so the caller's next
/// check of it ends the run.
#[must_use]
pub fn join(shapes: Vec<Shape>, tolerance: f64, budget: &Budget) -> (Vec<Shape>, Vec<Remark>) {
    let Joined { shapes, remarks, .. } = traced(shapes, tolerance, budget);
    (shapes, remarks)
}

/// The result of joining.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Joined {
    pub shapes: Vec<Shape>,
    /// For each shape, the ascending indices of the input shapes in it.
    pub members: Vec<Vec<usize>>,
    pub remarks: Vec<Remark>,
}

/// Like [`join`], and also returns the input shapes of each output shape.
#[must_use]
pub fn traced(shapes: Vec<Shape>, tolerance: f64, budget: &Budget) -> Joined {
    let mut remarks = Vec::new();
    let (kept, chains) = take_apart(&shapes, &mut remarks);
    let chains = single(chains, &mut remarks, budget)
        .and_then(|c| overlap::cut_back(c, tolerance.max(0.0), &mut remarks, budget));
    let mates = chains.and_then(|c| Some((ends::mates(&c, tolerance.max(0.0), &mut remarks, budget)?, c)));
    let Some((mates, chains)) = mates else {
        let members = (0..shapes.len()).map(|i| vec![i]).collect();
        return Joined { shapes, members, remarks: Vec::new() };
    };
    let mut kept: Vec<(usize, Shape, Vec<usize>)> = kept.into_iter().map(|(i, s)| (i, s, vec![i])).collect();
    for run in runs(&mates) {
        let shape = run.first().map_or(0, |&(i, _)| chains[i].shape);
        let mut members: Vec<usize> = run.iter().map(|&(i, _)| chains[i].shape).collect();
        members.sort_unstable();
        members.dedup();
        kept.push((shape, together(&chains, &run, &mates, &mut remarks), members));
    }
    kept.sort_by_key(|(i, ..)| *i);
    let (shapes, members) = kept.into_iter().map(|(_, s, m)| (s, m)).unzip();
    Joined { shapes, members, remarks }
}

/// Splits open paths of unfilled shapes into chains. Everything else stays a shape with its index.
fn take_apart(shapes: &[Shape], remarks: &mut Vec<Remark>) -> (Vec<(usize, Shape)>, Vec<Chain>) {
    let (mut kept, mut chains) = (Vec::new(), Vec::new());
    for (i, shape) in shapes.iter().enumerate() {
        if shape.fill != Fill::None {
            kept.push((i, shape.clone()));
            continue;
        }
        let mut closed = Vec::new();
        for path in &shape.paths {
            if path.closed {
                closed.push(path.clone());
                continue;
            }
            let segments: Vec<Segment> = path.segments.iter().filter(|s| s.length() > SAME_POINT).copied().collect();
            let length: f64 = segments.iter().map(Segment::length).sum();
            // The two ends of this short line would count as one place.
            if length <= SAME_PLACE {
                let at = path.segments.first().map(Segment::start);
                remarks.push(remark(RemarkKind::Speck { size: length }, Some(&shape.source), at));
                continue;
            }
            chains.push(Chain { segments, source: shape.source.clone(), shape: i, length });
        }
        if !closed.is_empty() {
            kept.push((i, Shape { paths: closed, ..shape.clone() }));
        }
    }
    (kept, chains)
}

fn remark(kind: RemarkKind, source: Option<&Source>, at: Option<Point>) -> Remark {
    Remark { kind, source: source.cloned(), at }
}

/// The midpoint of the middle edge, or the middle vertex. Reversing the chain does not change it.
fn middle(c: &Chain) -> Point {
    let n = c.segments.len();
    if n.is_multiple_of(2) { c.segments[n / 2].start() } else { c.segments[n / 2].at(0.5) }
}

/// Drops chains that repeat another one in either direction. `None` if the budget stops it.
fn single(chains: Vec<Chain>, remarks: &mut Vec<Remark>, budget: &Budget) -> Option<Vec<Chain>> {
    let points: Vec<Point> = chains.iter().flat_map(|c| [c.end(0), c.end(1), middle(c)]).collect();
    let places = clusters(&points, DOUBLED);
    // Layer, number of edges, and the places of both ends and the middle.
    type Key<'k> = (Option<&'k str>, usize, usize, usize, usize);
    let mut seen: BTreeMap<Key, Vec<usize>> = BTreeMap::new();
    let mut keep = vec![true; chains.len()];
    for (i, c) in chains.iter().enumerate() {
        if i.is_multiple_of(1024) {
            budget.check().ok()?;
        }
        let (a, b, m) = (places[3 * i], places[3 * i + 1], places[3 * i + 2]);
        let alike = seen.entry((c.source.layer.as_deref(), c.segments.len(), a.min(b), a.max(b), m)).or_default();
        if alike.iter().any(|&j| same(&chains[j], c)) {
            keep[i] = false;
            remarks.push(remark(RemarkKind::DoubledLine { length: c.length }, Some(&c.source), Some(middle(c))));
        } else if alike.len() < 64 {
            // At most 64 different lines between the same three places are compared.
            alike.push(i);
        }
    }
    let mut keep = keep.into_iter();
    Some(chains.into_iter().filter(|_| keep.next().unwrap_or(true)).collect())
}

/// True if two chains with equal edge counts follow the same line, in either direction.
fn same(a: &Chain, b: &Chain) -> bool {
    let near = |p: Point, q: Point| (p - q).hypot() <= DOUBLED;
    let alike =
        |s: &Segment, t: &Segment| near(s.start(), t.start()) && near(s.end(), t.end()) && near(s.at(0.5), t.at(0.5));
    let onward = a.segments.iter().zip(&b.segments).all(|(s, t)| alike(s, t));
    onward || a.segments.iter().zip(b.segments.iter().rev()).all(|(s, t)| alike(s, &t.reversed()))
}

/// The chains in connected order. Each entry is a chain and whether it is reversed. The ends of chain `i` have the
/// numbers `2 * i` (start) and `2 * i + 1` (end).
fn runs(mates: &[Option<usize>]) -> Vec<Vec<(usize, bool)>> {
    let n = mates.len() / 2;
    let mut used = vec![false; n];
    let mut out = Vec::new();
    for first in 0..n {
        if used[first] {
            continue;
        }
        // Walk back from the start of the first chain to the head of the run, or once around a loop.
        let mut head = 2 * first;
        while let Some(before) = mates[head] {
            head = before ^ 1;
            if head == 2 * first {
                break;
            }
        }
        let mut run = Vec::new();
        let mut next = Some(head);
        while let Some(from) = next {
            if used[from / 2] {
                break;
            }
            used[from / 2] = true;
            run.push((from / 2, from % 2 == 1));
            next = mates[from ^ 1];
        }
        out.push(run);
    }
    out
}

/// Makes one shape of one run of chains.
fn together(chains: &[Chain], run: &[(usize, bool)], mates: &[Option<usize>], remarks: &mut Vec<Remark>) -> Shape {
    let first = run.iter().map(|&(i, _)| i).min().unwrap_or(0);
    let mut segments: Vec<Segment> = Vec::new();
    let mut kinds: Vec<&str> = Vec::new();
    let mut joints = Vec::new();
    for &(i, turned) in run {
        let c = &chains[i];
        if !segments.is_empty() {
            joints.push((segments.len(), &c.source));
        }
        if turned {
            segments.extend(c.segments.iter().rev().map(Segment::reversed));
        } else {
            segments.extend(&c.segments);
        }
        if !kinds.contains(&c.source.kind.as_str()) {
            kinds.push(&c.source.kind);
        }
    }
    let head = run.first().map_or(0, |&(i, turned)| 2 * i + usize::from(turned));
    let closed = mates[head].is_some();
    if closed {
        joints.push((0, &chains[run[0].0].source));
    }
    let mut shifted = vec![(None, None); segments.len()];
    for (at, source) in joints {
        let before = (at + segments.len() - 1) % segments.len();
        let (p, q) = (segments[before].end(), segments[at].start());
        let gap = (p - q).hypot();
        if p != q {
            let m = p.midpoint(q);
            (shifted[before].1, shifted[at].0) = (Some(m), Some(m));
        }
        if gap > SAME_POINT {
            remarks.push(remark(RemarkKind::JoinedGap { gap }, Some(source), Some(p.midpoint(q))));
        }
    }
    let segments: Vec<Segment> =
        segments.iter().zip(shifted).flat_map(|(s, (a, b))| snap::with_ends(s, a, b)).collect();
    let source = Source { kind: kinds.join("+"), ..chains[first].source.clone() };
    if !closed {
        let (a, b) = (segments.first().map(Segment::start), segments.last().map(Segment::end));
        let gap = a.zip(b).map_or(0.0, |(a, b)| (a - b).hypot());
        let length = segments.iter().map(Segment::length).sum();
        remarks.push(remark(RemarkKind::OpenLine { gap, length }, Some(&source), b));
    }
    Shape { paths: vec![Path { segments, closed }], fill: Fill::None, source }
}
