//! Loose lines and arcs to closed loops.
//!
//! In: shapes in mm. Out: the shapes with the open paths of unfilled ones joined end to end, and a remark on everything
//! that was mended or could not be. Closed paths and filled shapes stay as they are.
//!
//! In this order. Lines of no length (up to [`SAME_PLACE`]) are dropped ([`RemarkKind::Speck`]). Of lines drawn twice one is kept
//! ([`RemarkKind::DoubledLine`]), and of straight lines that lie partly over another what does not ([`overlap`]). Ends that meet in one place, within [`SAME_PLACE`], are joined where they are two;
//! where they are more, none goes on ([`RemarkKind::Branching`]). The free ends left are joined over gaps up to the
//! tolerance, nearest first; where a third free end lies about as near (within twice the gap), it is a branching too.
//! A line is joined to itself only where it is long beside its gap. Ends joined over a gap become one point, half way
//! ([`RemarkKind::JoinedGap`]). What stays open is an [`RemarkKind::OpenLine`], and stays among the shapes.
//!
//! Only lines of one layer are joined: files put an outline on one layer, and what touches it on another is as a rule
//! something else. The order of the shapes is that of their first edges; a loop runs the way its first edge was drawn.
//! Time is near-linear in the number of edges.

mod ends;
mod overlap;
mod snap;

use super::{Fill, Path, Remark, RemarkKind, Shape, Source};
use crate::budget::Budget;
use crate::geom::{Point, Segment};
use crate::tolerance::{DOUBLED, SAME_PLACE, SAME_POINT};
use std::collections::BTreeMap;

/// An open line: one or more edges in a row.
#[derive(Clone, Debug)]
struct Chain {
    segments: Vec<Segment>,
    source: Source,
    /// Number of the shape that it came from.
    shape: usize,
    length: f64,
}

impl Chain {
    /// The point at the start (`0`) or at the end (`1`).
    fn end(&self, which: usize) -> Point {
        let s =
            if which == 0 { self.segments.first().map(Segment::start) } else { self.segments.last().map(Segment::end) };
        s.unwrap_or(Point::ORIGIN)
    }

    /// Whether joining its ends over `gap` makes a loop: a single straight edge never does, and a short one that
    /// happens to be within reach of itself does not either.
    fn may_close(&self, gap: f64) -> bool {
        let bent = self.segments.len() > 1 || matches!(self.segments[..], [Segment::Arc(_)]);
        bent && self.length > 8.0 * gap
    }
}

/// Joins open lines to loops: see the module. `tolerance` is the widest gap, mm.
///
/// Stopped by the budget it hands the shapes back as they were, without remarks: a stop is never taken back, so the
/// caller's next look at the same budget ends the run.
#[must_use]
pub fn join(shapes: Vec<Shape>, tolerance: f64, budget: &Budget) -> (Vec<Shape>, Vec<Remark>) {
    let Joined { shapes, remarks, .. } = traced(shapes, tolerance, budget);
    (shapes, remarks)
}

/// What joining comes to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Joined {
    pub shapes: Vec<Shape>,
    /// For each shape, which of those given are in it: their places, rising.
    pub members: Vec<Vec<usize>>,
    pub remarks: Vec<Remark>,
}

/// The same as [`join`], with what came of which.
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

/// Open paths of unfilled shapes to chains; all else stays a shape, with its number.
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
            // Both ends of such a line would be one place.
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

/// The middle edge's middle, or the middle corner: the same whichever way round the chain runs.
fn middle(c: &Chain) -> Point {
    let n = c.segments.len();
    if n.is_multiple_of(2) { c.segments[n / 2].start() } else { c.segments[n / 2].at(0.5) }
}

/// Without the chains that are drawn a second time, either way round. `None` when stopped.
fn single(chains: Vec<Chain>, remarks: &mut Vec<Remark>, budget: &Budget) -> Option<Vec<Chain>> {
    let points: Vec<Point> = chains.iter().flat_map(|c| [c.end(0), c.end(1), middle(c)]).collect();
    let places = ends::places(&points, DOUBLED);
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
            // More different lines than this between the same three places are not looked through.
            alike.push(i);
        }
    }
    let mut keep = keep.into_iter();
    Some(chains.into_iter().filter(|_| keep.next().unwrap_or(true)).collect())
}

/// Whether two chains of as many edges run along the same line, either way round.
fn same(a: &Chain, b: &Chain) -> bool {
    let near = |p: Point, q: Point| (p - q).hypot() <= DOUBLED;
    let alike =
        |s: &Segment, t: &Segment| near(s.start(), t.start()) && near(s.end(), t.end()) && near(s.at(0.5), t.at(0.5));
    let onward = a.segments.iter().zip(&b.segments).all(|(s, t)| alike(s, t));
    onward || a.segments.iter().zip(b.segments.iter().rev()).all(|(s, t)| alike(s, &t.reversed()))
}

/// The chains in the order in which they hang together: each with whether it is turned round. An end is numbered
/// 2 × chain for its start, and one more for its end.
fn runs(mates: &[Option<usize>]) -> Vec<Vec<(usize, bool)>> {
    let n = mates.len() / 2;
    let mut used = vec![false; n];
    let mut out = Vec::new();
    for first in 0..n {
        if used[first] {
            continue;
        }
        // Back from the start of the first chain to where the run begins, or once round.
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

/// One run of chains as one shape.
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
