//! The template of a shouldered piece: a plug that goes through the board, with a wider shoulder that sits in a rebate.
//!
//! In: plug and shoulder as they will be made (drawing frame, mm), each with its own tools and gap. Out: panels,
//! openings and the steps of the work.
//!
//! With matching pairs one panel serves both pieces: the plug's opening on face 1 and the shoulder's on face 2, each
//! for board and inlay. Otherwise board and inlay have a panel each. The inlay's panel is drawn as the mirror image,
//! because the inlay is turned over into the board. Like the board's panel it is set by its bottom left corner. On
//! panels that are not turned each opening has its own panel, and the inlay's are mirrored. The centre mark is the
//! middle of the shoulder's bounding box unless given. A plug without a ledge gives [`ShoulderError`].

use crate::budget::Budget;
use crate::geom::edges::{EdgeIndex, sampled};
use crate::geom::{Affine, GeomError, Point, Rect, Region};
use crate::kit::Pair;
use crate::names::names;
use crate::panel::layout::{FaceNeeds, Layout, PanelSettings, layout, sizes};
use crate::panel::packing::{Packing, Tight};
use crate::panel::steps::Depths;
use crate::panel::steps::{PanelCorner, Purpose, Step, Work};
use crate::panel::template::Template;
use crate::panel::{Opening, Panel, Turn};
use crate::template::Duty;
use crate::template::Piece;
use crate::template::clearing::{Clearing, In};

/// Greatest spacing of sampled points along an edge, mm.
const STEP: f64 = 0.25;

/// What an outline is in a shouldered piece.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Role {
    Plug,
    Shoulder,
}

names!(Role, "it has an outline with an unknown role"; Plug = "plug", Shoulder = "shoulder");

/// Plug and shoulder of one piece, each with its tools and gap.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Shouldered<'a> {
    pub plug: &'a Piece,
    pub shoulder: &'a Piece,
}

/// What the panels of all pieces of a drawing share, so that the same marks serve them.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Together {
    /// The middle of the bounding box of all shoulders, in the drawing frame.
    pub centre_mark: Point,
    /// What must fit on each face.
    pub faces: [FaceNeeds; 2],
}

impl Together {
    /// For these pieces; `None` if there is no shoulder.
    #[must_use]
    pub fn new(pieces: &[(Shouldered, &Clearing)], turn: Turn) -> Option<Together> {
        let boxes = pieces.iter().filter_map(|(s, _)| s.shoulder.made.bounds());
        let centre_mark = boxes.reduce(|a, b| a.union(b))?.center();
        let needs = pieces.iter().map(|(s, c)| s.needs(c, centre_mark, turn));
        let both = |a: FaceNeeds, b: FaceNeeds| FaceNeeds {
            openings: a.openings.union(b.openings),
            bush_radius: a.bush_radius.min(b.bush_radius),
        };
        let faces = needs.reduce(|a, b| [both(a[0], b[0]), both(a[1], b[1])])?;
        Some(Together { centre_mark, faces })
    }
}

/// The reflection in the vertical line through the centre mark, which keeps the mark in place.
fn mirror(centre_mark: Point) -> Affine {
    Affine::new([-1.0, 0.0, 0.0, 1.0, 2.0 * centre_mark.x, 0.0])
}

/// Why there is no template.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum ShoulderError {
    #[error("the plug is not inside the shoulder")]
    NotInside { at: Point },
    #[error(transparent)]
    Geom(#[from] GeomError),
}

impl Shouldered<'_> {
    /// One panel whose openings serve both pieces. This needs a turned panel, because the inlay needs the mirror image.
    #[must_use]
    pub fn one_panel(&self, turn: Turn) -> bool {
        turn != Turn::None && self.plug.tools.one_opening && self.shoulder.tools.one_opening
    }

    /// The narrowest width of the ledge, from the plug's edge to the shoulder's, mm, and its place. Negative where the
    /// plug extends beyond the shoulder.
    ///
    /// # Errors
    /// [`ShoulderError`] for empty outlines.
    pub fn ledge(&self) -> Result<(f64, Point), ShoulderError> {
        let index = EdgeIndex::new(&self.shoulder.made);
        let width = |p| index.nearest(p).map(|n| (if n.inside { n.distance } else { -n.distance }, p));
        let least = sampled(&self.plug.made, STEP).filter_map(width).min_by(|a, b| a.0.total_cmp(&b.0));
        least.ok_or(ShoulderError::NotInside { at: Point::ORIGIN })
    }

    /// The panels and openings.
    ///
    /// # Errors
    /// [`ShoulderError`] if the plug is not inside the shoulder.
    pub fn template(
        &self,
        clearing: &Clearing,
        settings: &PanelSettings,
        together: Option<Together>,
        budget: &Budget,
    ) -> Result<Template, ShoulderError> {
        budget.check().map_err(GeomError::from)?;
        let (ledge, at) = self.ledge()?;
        if ledge <= 0.0 {
            return Err(ShoulderError::NotInside { at });
        }
        let Some(Together { centre_mark, faces }) =
            together.or_else(|| Together::new(&[(*self, clearing)], settings.turn))
        else {
            return Err(ShoulderError::NotInside { at });
        };
        let one_panel = self.one_panel(settings.turn);
        let mirror = mirror(centre_mark);
        // Clearing openings serve the inlay: they are mirrored if the inlay's openings are.
        let for_insert = if one_panel { Affine::IDENTITY } else { mirror };
        let lay = layout(faces, centre_mark, settings);
        let mut t = Template {
            centre_mark: Some(centre_mark),
            layout: Some(lay),
            sizes: sizes(faces, centre_mark, settings),
            ..Template::default()
        };
        let duties: &[Duty] = if one_panel { &[Duty::Both] } else { &[Duty::Recess, Duty::Inlay] };
        for &duty in duties {
            for piece in [self.plug, self.shoulder] {
                let tools = &piece.tools;
                let inlay = duty == Duty::Inlay;
                let (panel, face) = t.next_face(&lay, settings);
                t.openings.push(Opening {
                    id: format!("opening-{}", t.openings.len() + 1),
                    outline: piece.outline,
                    duty,
                    panel,
                    face,
                    offset: if inlay { tools.inlay_offset() } else { tools.recess_offset() },
                    region: if inlay { piece.inlay.clone() } else { piece.recess.clone() },
                    place: if inlay { lay.place * mirror } else { lay.place },
                });
            }
        }
        // Two per panel, on its two faces, after the panels of the lines.
        for o in &clearing.openings {
            let (panel, face) = t.next_face(&lay, settings);
            t.openings.push(Opening {
                id: format!("opening-{}", t.openings.len() + 1),
                outline: self.plug.outline,
                duty: Duty::Clearing,
                panel,
                face,
                offset: o.offset,
                region: o.region.clone(),
                place: lay.place * for_insert,
            });
        }
        t.packings.push(packing(&t));
        Ok(t)
    }

    /// What must fit on the two faces around the centre mark.
    fn needs(&self, clearing: &Clearing, centre_mark: Point, turn: Turn) -> [FaceNeeds; 2] {
        let one_panel = self.one_panel(turn);
        let mirror = mirror(centre_mark);
        let for_insert = if one_panel { Affine::IDENTITY } else { mirror };
        let further = clearing.openings.iter().filter_map(|o| o.region.bounds());
        let further = further.map(|b| for_insert.transform_rect_bbox(b)).reduce(|a: Rect, b| a.union(b));
        [self.plug, self.shoulder].map(|p| {
            let board = p.recess.bounds().unwrap_or_default();
            let openings = if one_panel {
                board
            } else {
                board.union(mirror.transform_rect_bbox(p.inlay.bounds().unwrap_or_default()))
            };
            let openings = further.map_or(openings, |f| openings.union(f));
            let run = clearing.passes.iter().map(|p| p.pair.bush_radius());
            FaceNeeds { openings, bush_radius: run.fold(p.tools.smallest_bush() / 2.0, f64::min) }
        })
    }

    /// The steps with the template, in order: the inlay first, because it is the depth gauge for the rebate.
    #[must_use]
    pub fn steps(&self, t: &Template, clearing: &Clearing, depths: &Depths) -> Vec<Step> {
        let turn = t.panels.first().map_or(Turn::LeftRight, |p| p.turn);
        let step = |o: &Opening, work, purpose, pair, depth: Option<f64>| {
            let line = purpose == Purpose::Line;
            // The plug's hole in the board, and the shoulder's line on the inlay.
            let through = line && (work == Work::Board) == (o.outline == self.plug.outline);
            let turned_over = work == Work::Inlay && self.one_panel(turn);
            Step {
                work,
                panel: o.panel,
                face_up: if turned_over { 3 - o.face } else { o.face },
                corner: if turned_over { PanelCorner::for_insert(turn) } else { PanelCorner::BOTTOM_LEFT },
                opening: o.id.clone(),
                outline: o.outline,
                purpose,
                pair,
                depth,
                through,
                whole: work == Work::Board && !through,
            }
        };
        let of = |work, outline| {
            let duty = if work == Work::Board { Duty::Recess } else { Duty::Inlay };
            t.openings.iter().find(move |o: &&Opening| o.outline == outline && [duty, Duty::Both].contains(&o.duty))
        };
        let further = |n| t.openings.iter().filter(|o| o.duty == Duty::Clearing).nth(n);
        let (plug, shoulder) = (self.plug.outline, self.shoulder.outline);
        let (p, s) = (&self.plug.tools, &self.shoulder.tools);
        let line = |work, outline, pair, depth| Some(step(of(work, outline)?, work, Purpose::Line, pair, depth));
        let mut all = vec![line(Work::Inlay, plug, p.inlay, depths.plug_height)];
        all.extend(clearing.passes.iter().map(|pass| {
            let o = match pass.opening {
                In::Plug => of(Work::Inlay, plug),
                In::Shoulder => of(Work::Inlay, shoulder),
                In::Clearing(n) => further(n),
            };
            Some(step(o?, Work::Inlay, Purpose::Clearing, pass.pair, depths.plug_height))
        }));
        all.push(line(Work::Inlay, shoulder, s.inlay, depths.stock));
        all.push(line(Work::Board, plug, p.recess, depths.board));
        all.push(line(Work::Board, shoulder, s.recess, depths.rebate()));
        all.into_iter().flatten().collect()
    }

    /// Bushes of the job itself, which can clear the inlay's waste.
    #[must_use]
    pub fn own_bushes(&self) -> Vec<f64> {
        let all = [self.plug.tools.recess, self.plug.tools.inlay, self.shoulder.tools.recess];
        all.iter().map(|p: &Pair| p.bush).chain([self.shoulder.tools.inlay.bush]).collect()
    }
}

impl Template {
    /// The next free face for an opening; on a new panel if the last one is full.
    fn next_face(&mut self, lay: &Layout, settings: &PanelSettings) -> (u32, u8) {
        let faces = if settings.turn == Turn::None { 1 } else { 2 };
        let fresh = self.openings.len().is_multiple_of(faces);
        if fresh {
            let number = u32::try_from(self.panels.len() + 1).unwrap_or(u32::MAX);
            self.panels.push(Panel::new(number, lay, settings));
        }
        let face = if fresh { 1 } else { 2 };
        (u32::try_from(self.panels.len()).unwrap_or(u32::MAX), face)
    }
}

/// Width of the template to the edges, and between the two openings of each panel.
fn packing(t: &Template) -> Packing {
    let mut found = Packing { panel: Vec::new(), panels: t.panels.len(), fewest: true, ..Packing::default() };
    for panel in &t.panels {
        let own: Vec<&Opening> = t.openings.iter().filter(|o| o.panel == panel.number).collect();
        for o in &own {
            let Some(b) = o.on_face().bounds() else { continue };
            let mm = b.x0.min(b.y0).min(panel.width - b.x1).min(panel.height - b.y1);
            found.add(o, mm, nearest_edge(o, b, panel), false);
        }
        if let [a, b] = own[..]
            && let Some((mm, at)) = between(a, b, panel)
        {
            found.add(a, mm, a.place.inverse() * at, true);
        }
    }
    found
}

impl Packing {
    fn add(&mut self, o: &Opening, mm: f64, at: Point, between_halves: bool) {
        let tight = Tight { outline: o.outline, mm, at, between_halves };
        if mm < 0.0 { self.refused.push(tight) } else { self.tight.push(tight) }
    }
}

/// The point of the opening's box nearest to an edge of the panel, in the drawing frame.
fn nearest_edge(o: &Opening, b: Rect, panel: &Panel) -> Point {
    let c = b.center();
    let ways = [
        (b.x0, Point::new(b.x0, c.y)),
        (b.y0, Point::new(c.x, b.y0)),
        (panel.width - b.x1, Point::new(b.x1, c.y)),
        (panel.height - b.y1, Point::new(c.x, b.y1)),
    ];
    let nearest = ways.into_iter().min_by(|a, b| a.0.total_cmp(&b.0)).map_or(c, |w| w.1);
    o.place.inverse() * nearest
}

/// Width of the template between the openings on face 1 and face 2, and its place, seen on the first one's face; −1 mm
/// if they overlap.
fn between(a: &Opening, b: &Opening, panel: &Panel) -> Option<(f64, Point)> {
    let (first, second): (Region, Region) = (a.on_face().into_inner(), b.on_face().moved(panel.turned()).into_inner());
    let index = EdgeIndex::new(&second);
    let near = |p| index.nearest(p).map(|n| (if n.inside { -1.0 } else { n.distance }, p));
    let least = sampled(&first, STEP).filter_map(near).min_by(|x, y| x.0.total_cmp(&y.0))?;
    let other = EdgeIndex::new(&first);
    let within = sampled(&second, STEP).find(|p| other.nearest(*p).is_some_and(|n| n.inside));
    Some(within.map_or(least, |p| (-1.0, p)))
}
