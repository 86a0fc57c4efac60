//! Fills the holes of outlines, when the maker lets in the whole and then the island's wood as a second job.
//!
//! In: outlines, some with holes. Out: the same outlines without holes. Outlines inside a hole are left out and listed
//! in [`Outlines::inside`]. Each hole stays listed with its outline for the report. It also becomes an outline in
//! [`Outlines::islands`], for the second job. Numbers are consecutive again.

use super::Source;
use super::outline::{Outline, Outlines, Trouble};
use crate::budget::{Budget, Stopped};
use crate::geom::inside::Filled;
use crate::geom::{self, FillRule, GeomError, Point, Ring};

/// Fills the holes of the outlines and removes the outlines inside them.
///
/// # Errors
/// [`Stopped`] by the budget. A region that cannot be certified becomes a [`Trouble`].
pub fn whole(found: Outlines, budget: &Budget) -> Result<Outlines, Stopped> {
    let Outlines { outlines, mut troubles, doubled, mut inside, mut islands, specks, flat } = found;
    let edges: Vec<(f64, Filled)> = outlines.iter().filter_map(edge).map(|r| (r.area(), Filled::new(r))).collect();
    let mut kept: Vec<Outline> = Vec::new();
    for o in outlines {
        budget.check()?;
        let Some(ring) = edge(&o).cloned() else { continue };
        let (area, at) = (ring.area(), ring.segments.first().map_or(Point::ORIGIN, |s| s.at(0.5)));
        // Outlines do not overlap, so one inside the edge of another lies in a hole of it.
        if edges.iter().any(|(a, f)| *a > area && f.contains(at)) {
            inside.push((o.source, at));
            continue;
        }
        let number = kept.len() + 1;
        if o.holes.is_empty() {
            kept.push(Outline { number, ..o });
            continue;
        }
        let mut filled = |ring: Ring, source: &Source| match geom::enclosed(&[ring], FillRule::NonZero, budget) {
            Ok(region) => Ok(Some(region)),
            Err(GeomError::Stopped(s)) => Err(s),
            Err(e) => {
                troubles.push(Trouble::Uncertified { at: None, source: source.clone(), why: e.to_string() });
                Ok(None)
            }
        };
        for (ring, hole) in o.region.rings.iter().filter(|r| r.area() < 0.0).zip(&o.holes) {
            let Some(region) = filled(ring.reversed(), &hole.source)? else { continue };
            let number = islands.len() + 1;
            islands.push(Outline { number, region, source: hole.source.clone(), holes: Vec::new() });
        }
        if let Some(region) = filled(ring, &o.source)? {
            kept.push(Outline { number, region, ..o });
        }
    }
    Ok(Outlines { outlines: kept, troubles, doubled, inside, islands, specks, flat })
}

/// The outer ring of an outline.
fn edge(o: &Outline) -> Option<&Ring> {
    o.region.rings.iter().find(|r| r.area() > 0.0)
}

#[cfg(test)]
mod tests {
    use super::super::outline::outlines;
    use super::super::{Fill, Path, Shape};
    use super::*;

    fn square(x: f64, side: f64, id: &str) -> Shape {
        let p = |a: f64, b: f64| Point::new(a, b);
        let ring = Ring::polygon(&[p(x, x), p(x + side, x), p(x + side, x + side), p(x, x + side)]);
        let source = Source { id: id.to_owned(), ..Source::default() };
        Shape { paths: vec![Path { segments: ring.segments, closed: true }], fill: Fill::None, source }
    }

    #[test]
    fn the_whole_is_let_in_and_what_lies_in_the_island_is_named() {
        let budget = Budget::unlimited();
        // An outline with a hole that holds another outline with a hole, and a separate outline.
        let shapes = [
            square(20.0, 60.0, "core"),
            square(10.0, 80.0, "island"),
            square(0.0, 100.0, "all"),
            square(30.0, 10.0, "pip"),
            square(200.0, 10.0, "apart"),
        ];
        let found = outlines(&shapes, &budget).unwrap();
        assert_eq!(found.outlines.len(), 3);
        let whole = whole(found, &budget).unwrap();
        let kept: Vec<_> = whole.outlines.iter().map(|o| (o.number, &*o.source.id, o.region.rings.len())).collect();
        assert_eq!(kept, [(1, "all", 1), (2, "apart", 1)]);
        assert!((whole.outlines[0].region.area() - 10_000.0).abs() < 1e-6);
        assert_eq!(whole.outlines[0].holes.len(), 1);
        assert_eq!(whole.inside.iter().map(|(s, _)| &*s.id).collect::<Vec<_>>(), ["core"]);
        assert!(whole.troubles.is_empty());
        let islands: Vec<_> = whole.islands.iter().map(|o| (o.number, o.region.rings.len(), o.region.area())).collect();
        assert_eq!(islands.len(), 1);
        assert!(islands[0].0 == 1 && islands[0].1 == 1 && (islands[0].2 - 6_400.0).abs() < 1e-6, "{islands:?}");
    }

    #[test]
    fn without_holes_nothing_changes() {
        let budget = Budget::unlimited();
        let found = outlines(&[square(0.0, 10.0, "a"), square(20.0, 10.0, "b")], &budget).unwrap();
        assert_eq!(whole(found.clone(), &budget).unwrap(), found);
    }
}
