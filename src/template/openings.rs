//! The openings of a flush job: for each outline one for the recess and one for the inlay.
//!
//! In: outlines as they will be made, certified, in the drawing frame, mm. Out: panels and their openings. Refuses
//! nothing; the geometry refuses what it cannot certify.

use super::ease::AsCut;
use super::hand::Step;
use super::layout::{FaceNeeds, Layout, PanelSettings, Size, layout, sizes};
use super::panels::{Packing, pack};
use super::{Duty, Opening, Panel, Turn};
use crate::budget::{Budget, Stopped};
use crate::geom::{Certified, FillRule, GeomError, Point, Rect, Region, Ring};
use crate::geom::{along_hilbert, and, enclosed, grow, or, outset};
use crate::kit::Tools;
use crate::threads::both;
use std::borrow::Cow;

/// One outline on its way to being let in. All regions in the drawing frame.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece {
    /// Number of the outline.
    pub outline: usize,
    pub drawn: Certified<Region>,
    /// As it will be made: corners eased or not.
    pub made: Certified<Region>,
    /// What comes out of the openings, worked out from `made`.
    pub cut: AsCut,
    /// Opening for the recess, `made ⊕ (R − r)`.
    pub recess: Certified<Region>,
    /// Opening for the inlay, `made ⊕ (R + r − gap)`.
    pub inlay: Certified<Region>,
}

impl Piece {
    /// Works out both openings.
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
        // A gap of just twice the offset is made as drawn.
        let (recess, inlay) =
            both(|| outset(&made, tools.recess_offset(), budget), || outset(&made, tools.inlay_offset(), budget));
        let (recess, inlay) = (recess?.region, inlay?.region);
        Ok(Piece { outline, drawn: drawn.clone(), made, cut, recess, inlay })
    }
}

/// What is cut, and from what.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Template {
    pub panels: Vec<Panel>,
    pub openings: Vec<Opening>,
    /// The one point from which all openings are placed, in the drawing frame.
    pub common: Option<Point>,
    /// Size and place that all panels have.
    pub layout: Option<Layout>,
    /// Who shares a panel with whom, and why not: one for panels that are turned; for those that are not, one for the
    /// panels of the recesses and one for those of the inlays.
    pub packings: Vec<Packing>,
    /// The sizes that the panels could have.
    pub sizes: Vec<Size>,
}

/// The item called `name`, of a list that is numbered from 1: mostly it stands where the number at the end of its name
/// says, so that a long list need not be gone through.
pub fn at_its_number<'a, T>(all: &'a [T], name: &str, called: impl Fn(&T) -> &str) -> Option<&'a T> {
    let number = name.rsplit_once('-').and_then(|(_, n)| n.parse::<usize>().ok());
    let there = number.and_then(|n| all.get(n.checked_sub(1)?)).filter(|t| called(t) == name);
    there.or_else(|| all.iter().find(|t| called(t) == name))
}

impl Template {
    /// The opening of a step and its panel.
    #[must_use]
    pub fn of(&self, s: &Step) -> Option<(&Opening, &Panel)> {
        let opening = self.opening(&s.opening)?;
        Some((opening, self.panels.iter().find(|p| p.number == opening.panel)?))
    }

    /// The opening with that name.
    #[must_use]
    pub fn opening(&self, id: &str) -> Option<&Opening> {
        at_its_number(&self.openings, id, |o| &o.id)
    }
}

/// The template of `pieces`, all from one common point: the middle of the box round all outlines that are made. On panels
/// that are turned recess openings stand on face 1 and inlay openings on face 2; on panels that are not, recess openings
/// come first and inlay openings on further panels, at the same place. An outline that no panel takes has no openings;
/// [`Template::packings`] tells why. Nothing to make is an empty template.
///
/// # Errors
/// [`Stopped`] by the budget.
pub fn template(
    pieces: &[Piece],
    tools: &Tools,
    settings: &PanelSettings,
    common: Option<Point>,
    budget: &Budget,
) -> Result<Template, Stopped> {
    let on: &[&[Duty]] = match settings.turn {
        _ if tools.one_opening => &[&[Duty::Both]],
        Turn::None => &[&[Duty::Recess], &[Duty::Inlay]],
        Turn::LeftRight | Turn::BottomTop => &[&[Duty::Recess, Duty::Inlay]],
    };
    template_of(pieces, on, tools, settings, common, budget)
}

/// The same with those openings only that `on` lists: for each kind of panel the duties on its faces, face 1 first.
///
/// # Errors
/// [`Stopped`] by the budget.
pub fn template_of(
    pieces: &[Piece],
    on: &[&[Duty]],
    tools: &Tools,
    settings: &PanelSettings,
    common: Option<Point>,
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
    let common = common.unwrap_or_else(|| made.center());
    let layout = layout(faces, common, settings);
    let mut t = Template {
        common: Some(common),
        layout: Some(layout),
        sizes: sizes(faces, common, settings),
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
                Duty::Inlay => (tools.inlay_offset(), &p.inlay),
                _ => (tools.recess_offset(), &p.recess),
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

/// The panel, of that sort, of the `i`th piece; none where any of its openings finds no panel. Sorts are numbered one after
/// the other.
fn whereabouts(packings: &[Packing], i: usize, sort: usize) -> Option<u32> {
    let all: Vec<usize> = packings.iter().map(|p| p.panel.get(i).copied().flatten()).collect::<Option<_>>()?;
    let before: usize = packings.iter().take(sort).map(|p| p.panels).sum();
    u32::try_from(before + all.get(sort)? + 1).ok()
}

/// What the router's base (radius `base`, mm) sweeps while the bush runs in `openings`, in the frame of their face:
/// `(T ⊖ R) ⊕ Q`, of which `centre` gives `T ⊖ R` for the smallest bush that runs there, as far as it lies on the panel. No
/// clamp, stop or screw may stand there. Empty without openings.
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
        // Neighbours are united first, so that little but an edge is left of many.
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

/// Of fewer openings the swept areas are united in their order.
const FEW: usize = 8;

/// The union of what `of` gives for each of the openings, half by half: so no union sees more than its halves' edges.
/// Nothing of none.
fn united(
    openings: &[&Opening],
    of: &(impl Fn(&Opening) -> Result<Certified<Region>, GeomError> + Sync),
    budget: &Budget,
) -> Result<Option<Certified<Region>>, GeomError> {
    let (first, last) = match openings {
        [] => return Ok(None),
        [one] => return of(one).map(Some),
        // In their order, one more at a time.
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

    /// 40 swept discs that overlap: the union half by half encloses what it does one after the other. Given in an order in
    /// which neighbours do not follow each other.
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
