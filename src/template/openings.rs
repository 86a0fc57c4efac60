//! The openings of a flush job: for each outline one for the recess and one for the inlay.
//!
//! In: outlines as they will be made, certified, in the drawing frame, mm. Out: panels and their openings. No errors
//! but those of the geometry and the budget.

use super::ease::AsCut;
use super::layout::{FaceNeeds, Layout, PanelSettings, Size, layout, sizes};
use super::panels::{Packing, pack};
use super::steps::Step;
use super::{Duty, Opening, Panel, Turn};
use crate::budget::{Budget, Stopped};
use crate::geom::{Certified, FillRule, GeomError, Point, Rect, Region, Ring};
use crate::geom::{along_hilbert, and, enclosed, grow, or, outset};
use crate::kit::Tools;
use crate::threads::both;
use std::borrow::Cow;

/// One outline of the job. All regions in the drawing frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Number of the outline.
    pub outline: usize,
    pub drawn: Certified<Region>,
    /// As it will be made, with corners eased or not.
    pub made: Certified<Region>,
    /// The pieces as cut, computed from `made`.
    pub cut: AsCut,
    /// The tools and the gap of both pieces.
    pub tools: Tools,
    /// Opening for the recess, `made ⊕ (R − r)`.
    pub recess: Certified<Region>,
    /// Opening for the inlay, `made ⊕ (R + r − gap)`.
    pub inlay: Certified<Region>,
}

impl Piece {
    /// Computes both openings.
    ///
    /// # Errors
    /// As [`grow`].
    pub fn new(
        outline: usize,
        drawn: &Certified<Region>,
        made: Certified<Region>,
        cut: AsCut,
        tools: &Tools,
        budget: &Budget,
    ) -> Result<Piece, GeomError> {
        // A gap of exactly twice the offset is made as drawn.
        let (recess, inlay) =
            both(|| outset(&made, tools.recess_offset(), budget), || outset(&made, tools.inlay_offset(), budget));
        let (recess, inlay) = (recess?.region, inlay?.region);
        Ok(Piece { outline, drawn: drawn.clone(), made, cut, tools: *tools, recess, inlay })
    }
}

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
    pub sizes: Vec<Size>,
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
    pub fn of(&self, s: &Step) -> Option<(&Opening, &Panel)> {
        let opening = self.opening(&s.opening)?;
        Some((opening, self.panels.iter().find(|p| p.number == opening.panel)?))
    }

    /// The opening with this id.
    #[must_use]
    pub fn opening(&self, id: &str) -> Option<&Opening> {
        at_its_number(&self.openings, id, |o| &o.id)
    }
}

/// The template of `pieces`, all placed from one centre mark: the middle of the bounding box of all made outlines.
///
/// On turned panels recess openings are on face 1 and inlay openings on face 2. On panels that are not turned recess
/// openings come first; inlay openings follow on further panels, at the same place. An outline that fits no panel has
/// no openings; [`Template::packings`] gives the reason. Without pieces the template is empty.
///
/// # Errors
/// [`Stopped`] by the budget.
pub fn template(
    pieces: &[Piece],
    tools: &Tools,
    settings: &PanelSettings,
    centre_mark: Option<Point>,
    budget: &Budget,
) -> Result<Template, Stopped> {
    let on: &[&[Duty]] = match settings.turn {
        _ if tools.one_opening => &[&[Duty::Both]],
        Turn::None => &[&[Duty::Recess], &[Duty::Inlay]],
        Turn::LeftRight | Turn::BottomTop => &[&[Duty::Recess, Duty::Inlay]],
    };
    template_of(pieces, on, tools, settings, centre_mark, budget)
}

/// The same, limited to the openings listed in `on`: for each kind of panel the duties on its faces, face 1 first.
///
/// # Errors
/// [`Stopped`] by the budget.
pub fn template_of(
    pieces: &[Piece],
    on: &[&[Duty]],
    tools: &Tools,
    settings: &PanelSettings,
    centre_mark: Option<Point>,
    budget: &Budget,
) -> Result<Template, Stopped> {
    let boxes = |region: fn(&Piece) -> &Region| {
        pieces.iter().filter_map(|p| region(p).bounds()).reduce(|a: Rect, b| a.union(b))
    };
    let (Some(made), Some(recess), Some(inlay)) = (boxes(|p| &p.made), boxes(|p| &p.recess), boxes(|p| &p.inlay))
    else {
        return Ok(Template::default());
    };
    let of_recess = FaceNeeds { openings: recess, bush_radius: tools.recess.bush_radius() };
    let of_inlay = FaceNeeds { openings: inlay, bush_radius: tools.inlay.bush_radius() };
    let faces = match on {
        [[Duty::Recess]] => [of_recess; 2],
        [[Duty::Inlay]] => [of_inlay; 2],
        _ => [of_recess, of_inlay],
    };
    let centre_mark = centre_mark.unwrap_or_else(|| made.center());
    let layout = layout(faces, centre_mark, settings);
    let mut t = Template {
        centre_mark: Some(centre_mark),
        layout: Some(layout),
        sizes: sizes(faces, centre_mark, settings),
        ..Template::default()
    };
    for duties in on {
        t.packings.push(pack(pieces, duties, &layout, settings, budget)?);
    }
    let count = t.packings.iter().map(|p| p.panels).sum();
    t.panels = (1..).take(count).map(|n| Panel::of(n, &layout, settings)).collect();
    for (i, p) in pieces.iter().enumerate() {
        let sorts =
            on.iter().enumerate().flat_map(|(sort, duties)| (1..).zip(*duties).map(move |(f, d)| (sort, f, *d)));
        for (sort, face, duty) in sorts {
            let (offset, region) = match duty {
                Duty::Inlay => (p.tools.inlay_offset(), &p.inlay),
                _ => (p.tools.recess_offset(), &p.recess),
            };
            let Some(panel) = whereabouts(&t.packings, i, sort) else { continue };
            t.openings.push(Opening {
                id: format!("opening-{}", t.openings.len() + 1),
                outline: p.outline,
                duty,
                panel,
                face,
                offset,
                region: region.clone(),
                place: layout.place,
            });
        }
    }
    Ok(t)
}

/// The panel of the `i`th piece, of the given kind; `None` if any of its openings fits no panel. The panels of each
/// kind are numbered after those of the kinds before it.
fn whereabouts(packings: &[Packing], i: usize, sort: usize) -> Option<u32> {
    let all: Vec<usize> = packings.iter().map(|p| p.panel.get(i).copied().flatten()).collect::<Option<_>>()?;
    let before: usize = packings.iter().take(sort).map(|p| p.panels).sum();
    u32::try_from(before + all.get(sort)? + 1).ok()
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
    use super::super::layout::tests::SETTINGS;
    use super::super::{Edges, Setup};
    use super::*;
    use crate::geom::{Affine, grow};

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
            edges: Edges::of(Turn::None),
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
