//! The template of a job without a shoulder: for each outline an opening for the recess and one for the inlay.
//!
//! In: outlines as they will be made, certified, in the drawing frame, mm. Out: panels and their openings. No errors but
//! those of the budget.

use super::layout::{FaceNeeds, PanelSettings, layout, sizes};
use super::packing::{Packing, pack};
use super::template::Template;
use super::{Opening, Panel, Turn};
use crate::budget::{Budget, Stopped};
use crate::geom::{Point, Rect, Region};
use crate::kit::Tools;
use crate::template::{Duty, Piece};

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
    t.panels = (1..).take(count).map(|n| Panel::new(n, &layout, settings)).collect();
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
