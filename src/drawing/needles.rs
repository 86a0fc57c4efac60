//! Removes lines that go out and return along themselves: they enclose no area.
//!
//! In: shapes in mm. Out: the shapes without such needles in their closed paths, and a remark on each needle with the
//! place of its tip. A vertex is a tip if the way back lies within [`SAME_PLACE`] of the way out. After each removal
//! the remaining edges are checked again. Arcs are never needles. Open paths stay unchanged.

use super::{Path, Remark, RemarkKind, Shape};
use crate::geom::{Line, Segment};
use crate::tolerance::SAME_PLACE;

/// Removes the needles of all closed paths.
#[must_use]
pub fn cleaned(mut shapes: Vec<Shape>) -> (Vec<Shape>, Vec<Remark>) {
    let mut remarks = Vec::new();
    for shape in &mut shapes {
        for path in shape.paths.iter_mut().filter(|p| p.closed) {
            let before = remarks.len();
            clean(path, &mut remarks);
            remarks[before..].iter_mut().for_each(|r| r.source = Some(shape.source.clone()));
        }
        shape.paths.retain(|p| !p.segments.is_empty());
    }
    shapes.retain(|s| !s.paths.is_empty());
    (shapes, remarks)
}

fn clean(path: &mut Path, remarks: &mut Vec<Remark>) {
    let mut out: Vec<Segment> = Vec::with_capacity(path.segments.len());
    for &s in &path.segments {
        let mut next = Some(s);
        while let (Some(Segment::Line(back)), Some(Segment::Line(on))) = (next, out.last().copied())
            && needle(&on, &back)
        {
            out.pop();
            next = rest(&on, &back, remarks);
        }
        out.extend(next);
    }
    // Check across the start of the ring.
    let mut from = 0;
    while let (Some(Segment::Line(on)), Some(Segment::Line(back))) = (out.last().copied(), out.get(from).copied())
        && out.len() - from > 2
        && needle(&on, &back)
    {
        out.pop();
        match rest(&on, &back, remarks) {
            Some(r) => out[from] = r,
            None => from += 1,
        }
    }
    out.drain(..from);
    // A single line cannot form a ring.
    path.segments =
        if out.len() < 2 && matches!(out.first(), None | Some(Segment::Line(_))) { Vec::new() } else { out };
}

fn needle(on: &Line, back: &Line) -> bool {
    let (a, b) = (on.end - on.start, back.end - back.start);
    let longer = a.hypot().max(b.hypot());
    on.end == back.start && a.dot(b) < 0.0 && a.cross(b).abs() <= SAME_PLACE * longer
}

/// Returns the rest of the two lines, if any, and adds a remark on the removed part.
fn rest(on: &Line, back: &Line, remarks: &mut Vec<Remark>) -> Option<Segment> {
    let length = (on.end - on.start).hypot().min((back.end - back.start).hypot());
    remarks.push(Remark { kind: RemarkKind::Needle { length }, source: None, at: Some(on.end) });
    (on.start != back.end).then(|| Segment::line(on.start, back.end))
}

#[cfg(test)]
mod tests {
    use super::super::{Fill, Source};
    use super::*;
    use crate::geom::{Point, Ring};

    fn shape(points: &[(f64, f64)]) -> Shape {
        let points: Vec<Point> = points.iter().map(|&p| p.into()).collect();
        let segments = Ring::polygon(&points).segments;
        Shape { paths: vec![Path { segments, closed: true }], fill: Fill::None, source: Source::default() }
    }

    fn lengths(remarks: &[Remark]) -> Vec<f64> {
        let of = remarks.iter().map(|r| match r.kind {
            RemarkKind::Needle { length } => length,
            _ => f64::NAN,
        });
        of.collect()
    }

    #[test]
    fn needles_go_and_corners_stay() {
        let square = [(0.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)];
        assert_eq!(cleaned(vec![shape(&square)]).1, []);
        // A needle at a corner, one at a side, and one at the start of the ring.
        for spiked in [
            vec![(0.0, 0.0), (10.0, 0.0), (15.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0)],
            vec![(0.0, 0.0), (10.0, 0.0), (10.0, 5.0), (15.0, 5.0), (10.0, 5.0), (10.0, 10.0), (0.0, 10.0)],
            vec![(-5.0, 0.0), (10.0, 0.0), (10.0, 10.0), (0.0, 10.0), (0.0, 0.0)],
        ] {
            let (shapes, remarks) = cleaned(vec![shape(&spiked)]);
            assert_eq!(lengths(&remarks), [5.0], "{spiked:?}");
            let ring = Ring::new(shapes[0].paths[0].segments.clone());
            assert_eq!(ring.area(), 100.0);
            let n = ring.segments.len();
            assert!((0..n).all(|i| ring.segments[i].end() == ring.segments[(i + 1) % n].start()));
        }
        // A path that is only a needle.
        let (shapes, remarks) = cleaned(vec![shape(&[(0.0, 0.0), (10.0, 0.0), (4.0, 0.0)])]);
        assert!(shapes.is_empty() && !remarks.is_empty());
        // A thin wedge is no needle.
        assert_eq!(cleaned(vec![shape(&[(0.0, 0.0), (10.0, 0.0), (0.0, 1e-3)])]).1, []);
    }
}
