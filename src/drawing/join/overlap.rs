//! Removes the overlap of straight lines, so that each stretch is kept once.
//!
//! In: the chains of one drawing. Out: the same chains, with single straight lines cut back to the stretches that no
//! other straight edge of their layer covers. Each removed stretch is a [`RemarkKind::DoubledLine`]. Any edge of a
//! longer chain covers, and so does an earlier single line. A remaining stretch ends at exactly the covering edge's end
//! point, so the two meet there. Overlaps up to the joining tolerance are left to [`super::join`]. Arcs are not
//! compared.

use super::{Chain, Remark, RemarkKind, remark};
use crate::budget::Budget;
use crate::geom::{BoxTree, Line, Point, Segment};
use crate::tolerance::{DOUBLED, SAME_PLACE};

/// A stretch of a line that another edge covers: the fraction along the line and the covering edge's own end point, at
/// both ends.
struct Covered {
    from: (f64, Point),
    to: (f64, Point),
}

/// Cuts covered stretches off the chains. `None` if the budget stops it.
pub(super) fn cut_back(
    chains: Vec<Chain>,
    tolerance: f64,
    remarks: &mut Vec<Remark>,
    budget: &Budget,
) -> Option<Vec<Chain>> {
    let edges = chains.iter().enumerate().flat_map(|(i, c)| {
        let straight = c.segments.iter().enumerate().filter(|(_, s)| matches!(s, Segment::Line(_)));
        straight.map(move |(k, s)| (s.bounds(), (i, k)))
    });
    let tree = BoxTree::new(edges);
    let mut out = Vec::with_capacity(chains.len());
    for (i, chain) in chains.iter().enumerate() {
        if i.is_multiple_of(256) {
            budget.check().ok()?;
        }
        let [Segment::Line(line)] = chain.segments[..] else {
            out.push(chain.clone());
            continue;
        };
        let mut found = Vec::new();
        for (_, &(j, k)) in tree.meeting(chain.segments[0].bounds().inflate(DOUBLED, DOUBLED)) {
            let other = &chains[j];
            let before = other.segments.len() > 1 || j < i;
            if j != i
                && before
                && other.source.layer == chain.source.layer
                && let Segment::Line(by) = other.segments[k]
                && let Some(c) = covered(&line, &by)
                && (c.to.0 - c.from.0) * chain.length > tolerance.max(DOUBLED)
            {
                found.push(c);
            }
        }
        found.sort_by(|a, b| a.from.0.total_cmp(&b.from.0).then(b.to.0.total_cmp(&a.to.0)));
        rest(chain, &line, &found, &mut out, remarks);
    }
    Some(out)
}

/// The stretch of `line` that `by` covers, in either direction.
fn covered(line: &Line, by: &Line) -> Option<Covered> {
    let v = line.end - line.start;
    let along = |p: Point| (p - line.start).dot(v) / v.hypot2();
    let mut ends = [(along(by.start), by.start), (along(by.end), by.end)];
    if ends[0].0 > ends[1].0 {
        ends.swap(0, 1);
    }
    let [a, b] = ends;
    let from = if a.0 > 0.0 { a } else { (0.0, line.start) };
    let to = if b.0 < 1.0 { b } else { (1.0, line.end) };
    let beside = |t: f64| Segment::Line(*by).nearest(line.start + v * t).0 <= DOUBLED;
    (from.0 < to.0 && beside(from.0) && beside(to.0)).then_some(Covered { from, to })
}

/// Adds the stretches of the chain that no other edge covers.
fn rest(chain: &Chain, line: &Line, found: &[Covered], out: &mut Vec<Chain>, remarks: &mut Vec<Remark>) {
    let mut at = (0.0, line.start);
    let mut keep = |from: (f64, Point), to: (f64, Point)| {
        let segment = Segment::line(from.1, to.1);
        let length = segment.length();
        if to.0 > from.0 && length > SAME_PLACE {
            out.push(Chain { segments: vec![segment], length, ..chain.clone() });
        }
    };
    for c in found {
        if c.to.0 <= at.0 {
            continue;
        }
        keep(at, c.from);
        let from = c.from.0.max(at.0);
        let length = (c.to.0 - from) * chain.length;
        let middle = line.start.lerp(line.end, (from + c.to.0) / 2.0);
        remarks.push(remark(RemarkKind::DoubledLine { length }, Some(&chain.source), Some(middle)));
        at = c.to;
    }
    keep(at, (1.0, line.end));
}
