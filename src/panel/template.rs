//! The panels of a job and the openings cut in them.
//!
//! In: panels and openings, mm. Out: openings by name, and the area that the router's base sweeps. No errors but those of
//! the geometry and the budget.

use super::layout::{Layout, PanelSize};
use super::packing::Packing;
use super::steps::Step;
use super::{Opening, Panel};
use crate::budget::Budget;
use crate::geom::{Certified, FillRule, GeomError, Point, Rect, Region, Ring};
use crate::geom::{along_hilbert, and, enclosed, grow, or};
use crate::threads::both;
use std::borrow::Cow;

/// The panels of a job and the openings cut in them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Template {
    pub panels: Vec<Panel>,
    pub openings: Vec<Opening>,
    /// The centre mark: the one point from which all openings are placed, in the drawing frame.
    pub centre_mark: Option<Point>,
    /// Size and place shared by all panels.
    pub layout: Option<Layout>,
    /// The distribution of outlines over panels, and the reasons. Turned panels have one packing. Panels that are not
    /// turned have two: one for the recesses and one for the inlays.
    pub packings: Vec<Packing>,
    /// The possible sizes of the panels.
    pub sizes: Vec<PanelSize>,
}

/// The item called `name` in a list numbered from 1. It is usually at the position given by the number at the end of
/// its name, which avoids a search.
pub fn at_its_number<'a, T>(all: &'a [T], name: &str, called: impl Fn(&T) -> &str) -> Option<&'a T> {
    let number = name.rsplit_once('-').and_then(|(_, n)| n.parse::<usize>().ok());
    let there = number.and_then(|n| all.get(n.checked_sub(1)?)).filter(|t| called(t) == name);
    there.or_else(|| all.iter().find(|t| called(t) == name))
}

impl Template {
    /// The opening of a step, and its panel.
    #[must_use]
    pub fn opening_of_step(&self, s: &Step) -> Option<(&Opening, &Panel)> {
        let opening = self.opening(&s.opening)?;
        Some((opening, self.panels.iter().find(|p| p.number == opening.panel)?))
    }

    /// The opening with this id.
    #[must_use]
    pub fn opening(&self, id: &str) -> Option<&Opening> {
        at_its_number(&self.openings, id, |o| &o.id)
    }
}

/// The area swept by the router's base (radius `base`, mm) while the bush runs in `openings`, in the frame of their
/// face: `(T ⊖ R) ⊕ Q`, limited to the panel. `centre` returns `T ⊖ R` for the smallest bush that runs there. No clamp,
/// stop or screw may be in this area. Empty without openings.
///
/// # Errors
/// As the operations of [`crate::geom`].
pub fn keep_clear<'a>(
    openings: &[&Opening],
    centre: impl Fn(&Opening) -> Result<Cow<'a, Certified<Region>>, GeomError> + Sync,
    base: f64,
    panel: &Panel,
    budget: &Budget,
) -> Result<Region, GeomError> {
    let mut openings = openings.to_vec();
    if openings.len() > FEW {
        // Unite neighbours first, so that intermediate results have few edges.
        let boxes: Vec<Rect> = openings.iter().map(|o| o.region.bounds().unwrap_or_default()).collect();
        openings = along_hilbert(&boxes).into_iter().map(|i| openings[i]).collect();
    }
    let Some(all) = united(&openings, &|o| grow(&*centre(o)?, base, budget), budget)? else {
        return Ok(Region::default());
    };
    let whole = Rect::new(0.0, 0.0, panel.width, panel.height);
    if all.bounds().is_some_and(|b| whole.contains_rect(b)) {
        return Ok(all.into_inner());
    }
    let corners = [(0.0, 0.0), (panel.width, 0.0), (panel.width, panel.height), (0.0, panel.height)];
    let sheet = enclosed(&[Ring::polygon(&corners.map(Point::from))], FillRule::NonZero, budget)?;
    Ok(and(&all, &sheet, budget)?.into_inner())
}

/// Up to this many openings are united in their order.
const FEW: usize = 8;

/// The union of `of` over the openings, by halves, so that each union sees only the edges of its halves. `None` without
/// openings.
fn united(
    openings: &[&Opening],
    of: &(impl Fn(&Opening) -> Result<Certified<Region>, GeomError> + Sync),
    budget: &Budget,
) -> Result<Option<Certified<Region>>, GeomError> {
    let (first, last) = match openings {
        [] => return Ok(None),
        [one] => return of(one).map(Some),
        // In order, one at a time.
        few if few.len() <= FEW => few.split_at(few.len() - 1),
        many => many.split_at(many.len() / 2),
    };
    let (a, b) = both(|| united(first, of, budget), || united(last, of, budget));
    match (a?, b?) {
        (Some(a), Some(b)) => or(&a, &b, budget).map(Some),
        (one, other) => Ok(one.or(other)),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{Affine, grow};
    use crate::panel::layout::tests::SETTINGS;
    use crate::panel::{Edges, Setup, Turn};
    use crate::template::Duty;

    fn opening(n: usize, x: f64, y: f64) -> Opening {
        let region = Certified::for_test(Region::new(vec![Ring::circle(Point::new(x, y), 12.0)]));
        let place = Affine::IDENTITY;
        Opening {
            id: format!("opening-{n}"),
            outline: n,
            duty: Duty::Recess,
            panel: 1,
            face: 1,
            offset: 7.0,
            region,
            place,
        }
    }

    /// 40 overlapping swept discs: the union by halves encloses the same area as the union in order. The input order
    /// separates neighbours.
    #[test]
    fn swept_areas_united_in_a_tree_are_the_same() {
        let budget = Budget::unlimited();
        let all: Vec<Opening> = (0..40)
            .map(|i| i * 7 % 40)
            .map(|i| opening(i + 1, 150.0 + 40.0 * (i % 8) as f64, 150.0 + 45.0 * (i / 8) as f64))
            .collect();
        let panel = Panel {
            number: 1,
            width: 800.0,
            height: 600.0,
            turn: Turn::None,
            setup: Setup::Two,
            edges: Edges::turned_over(Turn::None),
        };
        let own: Vec<&Opening> = all.iter().collect();
        let centre = |o: &Opening| Ok(Cow::Owned(o.on_face()));
        let tree = keep_clear(&own, centre, SETTINGS.base, &panel, &budget).unwrap();
        let mut one_by_one = grow(&own[0].region, SETTINGS.base, &budget).unwrap();
        for o in &own[1..] {
            one_by_one = or(&one_by_one, &grow(&o.region, SETTINGS.base, &budget).unwrap(), &budget).unwrap();
        }
        assert_eq!(tree.rings.len(), one_by_one.rings.len());
        assert!((tree.area() - one_by_one.area()).abs() < 0.01, "{} {}", tree.area(), one_by_one.area());
        let off = |a: &Region, b: &Region| {
            a.segments().map(|s| b.nearest(s.at(0.3)).map_or(1.0, |n| n.0)).fold(0.0, f64::max)
        };
        assert!(off(&tree, &one_by_one).max(off(&one_by_one, &tree)) < 1e-3);
    }

    #[test]
    fn what_is_not_at_its_number_is_found_all_the_same() {
        let names = ["opening-1", "opening-3", "opening-2", "guard"];
        for n in names {
            assert_eq!(at_its_number(&names, n, |s| s), Some(&n));
        }
        assert_eq!(at_its_number(&names, "opening-0", |s| s), None);
        assert_eq!(at_its_number(&names, "opening-4", |s| s), None);
    }
}
