//! Unites shapes that cross, when the maker accepts the crossing.
//!
//! In: shapes, and the crossings between them. Out: the shapes, with each group of crossing shapes replaced by one
//! filled shape, in the place of the group's first one. Each shape counts by its fill rule. A loop without a fill
//! counts by the non-zero rule.

use super::outline::Trouble;
use super::{Fill, Path, Shape, Source};
use crate::budget::Budget;
use crate::geom::{Certified, FillRule, GeomError, Region, Ring, enclosed, or};

/// Unites the shapes that `troubles` reports as crossing.
///
/// # Errors
/// The errors of the operations of [`crate::geom`].
pub fn unite(shapes: &[Shape], troubles: &[Trouble], budget: &Budget) -> Result<Vec<Shape>, GeomError> {
    let groups = groups(shapes, troubles);
    let mut out = Vec::new();
    for (i, shape) in shapes.iter().enumerate() {
        let Some(group) = groups.iter().find(|g| g.contains(&i)) else {
            out.push(shape.clone());
            continue;
        };
        if group[0] != i {
            continue;
        }
        let mut whole: Option<Certified<Region>> = None;
        for &k in group {
            let one = inside(&shapes[k], budget)?;
            whole = Some(match whole {
                Some(w) => or(&w, &one, budget)?,
                None => one,
            });
        }
        let rings = whole.map(Certified::into_inner).unwrap_or_default().rings;
        let paths = rings.into_iter().map(|r| Path { segments: r.segments, closed: true }).collect();
        out.push(Shape { paths, fill: Fill::NonZero, source: shape.source.clone() });
        // Open lines take no part and stay unchanged.
        for &k in group {
            let open: Vec<Path> = shapes[k].paths.iter().filter(|p| !p.closed).cloned().collect();
            if !open.is_empty() {
                out.push(Shape { paths: open, ..shapes[k].clone() });
            }
        }
    }
    Ok(out)
}

fn inside(shape: &Shape, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let rings: Vec<Ring> = shape.paths.iter().filter(|p| p.closed).map(|p| Ring::new(p.segments.clone())).collect();
    let fill = if shape.fill == Fill::EvenOdd { FillRule::EvenOdd } else { FillRule::NonZero };
    enclosed(&rings, fill, budget)
}

/// Groups of shapes that crossings connect, by index, each in file order.
fn groups(shapes: &[Shape], troubles: &[Trouble]) -> Vec<Vec<usize>> {
    let mut groups: Vec<Vec<usize>> = Vec::new();
    for t in troubles {
        let crossing: &[Source] = match t {
            Trouble::SelfCrossing { source, .. } => std::slice::from_ref(source),
            Trouble::Crossing { sources, .. } => sources,
            Trouble::Touching { .. }
            | Trouble::TouchingParts { .. }
            | Trouble::TooLarge { .. }
            | Trouble::Uncertified { .. } => continue,
        };
        let of = |s: &Source| crossing.contains(s);
        let mut group: Vec<usize> = (0..shapes.len()).filter(|&i| of(&shapes[i].source)).collect();
        let (linked, apart): (Vec<_>, Vec<_>) = groups.into_iter().partition(|g| g.iter().any(|i| group.contains(i)));
        groups = apart;
        group.extend(linked.into_iter().flatten());
        group.sort_unstable();
        group.dedup();
        if !group.is_empty() {
            groups.push(group);
        }
    }
    groups
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Point;

    fn square(x: f64, id: &str) -> Shape {
        let p = |x, y| Point::new(x, y);
        let ring = Ring::polygon(&[p(x, 0.0), p(x + 10.0, 0.0), p(x + 10.0, 10.0), p(x, 10.0)]);
        let source = Source { id: id.to_owned(), ..Source::default() };
        Shape { paths: vec![Path { segments: ring.segments, closed: true }], fill: Fill::None, source }
    }

    #[test]
    fn a_chain_of_crossing_squares_becomes_one_shape() {
        let shapes = [square(0.0, "a"), square(100.0, "alone"), square(5.0, "b"), square(10.0, "c")];
        let cross = |x: usize, y: usize| Trouble::Crossing {
            at: Point::ORIGIN,
            sources: [shapes[x].source.clone(), shapes[y].source.clone()],
        };
        let made = unite(&shapes, &[cross(0, 2), cross(2, 3)], &Budget::unlimited()).unwrap();
        assert_eq!(made.len(), 2);
        assert_eq!(made[1], shapes[1]);
        let area: f64 = made[0].paths.iter().map(|p| Ring::new(p.segments.clone()).area()).sum();
        assert!((area - 200.0).abs() < 1e-6, "{area}");
    }
}
