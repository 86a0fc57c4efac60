//! The list of a drawing's shapes, for the maker to choose from.
//!
//! In: shapes whose open lines are joined. Out: one [`ListedShape`] for each shape, numbered from 1 in file order, with
//! the shape that encloses it. Crossing and touching shapes are listed too: this module judges nothing. Lengths in mm,
//! areas in mm².

use super::{Shape, Source};
use crate::geom::inside::Filled;
use crate::geom::{BoxTree, Point, Rect, Ring, Segment};

/// One shape of a drawing.
#[derive(Clone, Debug, PartialEq)]
pub struct ListedShape {
    /// Number from 1, in file order. `--only` and `--skip` take it.
    pub number: usize,
    pub source: Source,
    pub bounds: Rect,
    pub length: f64,
    /// The enclosed area, mm², if the shape is a single closed path.
    pub area: Option<f64>,
    /// Number of closed paths.
    pub closed: usize,
    /// Number of open paths.
    pub open: usize,
    /// Number of the smallest shape that encloses this one.
    pub inside: Option<usize>,
    /// Anchor of its number in a picture: a point of its edge, mm.
    pub at: Point,
}

/// Most containment tests of one drawing. A drawing that needs more is not a set of joints, and its list shows no
/// nesting beyond them.
const MOST_QUESTIONS: usize = 200_000;

/// Lists the shapes. A shape without an edge is not listed, but its number stays reserved.
#[must_use]
pub fn found(shapes: &[Shape]) -> Vec<ListedShape> {
    let mut out: Vec<ListedShape> = shapes.iter().enumerate().filter_map(|(i, s)| listed_shape(i + 1, s)).collect();
    let tree = BoxTree::new(out.iter().filter(|f| f.closed > 0).map(|f| (f.bounds, f.number)));
    let mut edges: Vec<Option<Vec<Filled>>> = (0..=shapes.len()).map(|_| None).collect();
    let mut asked = 0;
    let sizes: Vec<(usize, f64)> = out.iter().map(|f| (f.number, f.bounds.area())).collect();
    let size = |n: usize| sizes.binary_search_by_key(&n, |s| s.0).map_or(0.0, |i| sizes[i].1);
    for f in &mut out {
        let around = tree.at(f.at).into_iter().map(|(_, &n)| n);
        let mut round: Vec<usize> = around.filter(|&n| n != f.number && size(n) > f.bounds.area()).collect();
        round.sort_by(|&a, &b| size(a).total_cmp(&size(b)).then(a.cmp(&b)));
        asked += round.len();
        if asked > MOST_QUESTIONS {
            break;
        }
        f.inside = round.into_iter().find(|&n| {
            let filled = edges[n].get_or_insert_with(|| rings(&shapes[n - 1]).map(|r| Filled::new(&r)).collect());
            filled.iter().any(|e| e.contains(f.at))
        });
    }
    out
}

fn rings(shape: &Shape) -> impl Iterator<Item = Ring> {
    shape.paths.iter().filter(|p| p.closed).map(|p| Ring::new(p.segments.clone()))
}

fn listed_shape(number: usize, shape: &Shape) -> Option<ListedShape> {
    let segments = || shape.paths.iter().flat_map(|p| &p.segments);
    let bounds = segments().map(Segment::bounds).reduce(|a, b| a.union(b))?;
    let closed = shape.paths.iter().filter(|p| p.closed).count();
    let area = match &shape.paths[..] {
        [p] if p.closed => Some(Ring::new(p.segments.clone()).area().abs()),
        _ => None,
    };
    Some(ListedShape {
        number,
        source: shape.source.clone(),
        bounds,
        length: segments().map(Segment::length).sum(),
        area,
        closed,
        open: shape.paths.len() - closed,
        inside: None,
        at: segments().next()?.at(0.5),
    })
}

#[cfg(test)]
mod tests {
    use super::super::{Fill, Path};
    use super::*;

    fn square(x: f64, side: f64, closed: bool) -> Shape {
        let p = |a: f64, b: f64| Point::new(a, b);
        let mut ring = Ring::polygon(&[p(x, x), p(x + side, x), p(x + side, x + side), p(x, x + side)]).segments;
        if !closed {
            ring.pop();
        }
        Shape { paths: vec![Path { segments: ring, closed }], fill: Fill::None, source: Source::default() }
    }

    #[test]
    fn what_lies_in_what() {
        let list = found(&[
            square(10.0, 5.0, true),
            square(0.0, 50.0, true),
            square(5.0, 20.0, true),
            square(1.0, 2.0, false),
        ]);
        let said: Vec<_> = list.iter().map(|f| (f.number, f.inside, f.closed, f.open, f.area)).collect();
        assert_eq!(
            said,
            [
                (1, Some(3), 1, 0, Some(25.0)),
                (2, None, 1, 0, Some(2500.0)),
                (3, Some(2), 1, 0, Some(400.0)),
                (4, Some(2), 0, 1, None)
            ]
        );
        assert_eq!(list[0].length, 20.0);
    }
}
