//! Places entities and blocks in the drawing: rotated, scaled, nested, and in rows and columns.
//!
//! In: the scanned file and the unit. Out: shapes in mm, and a note on every entity that gives none. A block that
//! contains itself is left out with a note. Refuses more copies of blocks than any drawing has, because it could not
//! read them all. Source: the published DXF Reference, INSERT and BLOCK. In a block, layer 0 means the layer of the
//! INSERT.

use super::curves::{EntityResult, height, path, unit_deg};
use super::entity::Hatch;
use super::entity::{Colour, Entity, Geometry, Insert, LineType};
use super::ocs::to_plane;
use super::remarks::Notes;
use super::scan::{Block, File};
use crate::budget::Budget;
use crate::drawing::join::join;
use crate::drawing::{Fill, ReadError, Remark, RemarkKind, Shape, Source};
use crate::geom::Affine;
use crate::tolerance;

/// Deepest nesting of blocks. No sound drawing has more.
const DEEPEST: usize = 32;
/// Most entities that blocks may produce.
const MOST_PLACED: usize = 1_000_000;

const ON_PAPER: &str = "entity on a paper sheet";

/// True if the drawing itself hides `what`: it lies on a paper sheet, or on a layer that is off or frozen.
#[must_use]
pub fn hidden(what: &str) -> bool {
    what == ON_PAPER || what.starts_with("on layer ")
}

pub struct Placing<'a> {
    file: &'a File,
    notes: &'a mut Notes,
    budget: &'a Budget,
    /// Widest gap that is joined, mm.
    join: f64,
    pub shapes: Vec<Shape>,
    /// The remarks that have a place.
    pub remarks: Vec<Remark>,
    /// Lowest and highest z of the entities in the drawing, mm.
    pub heights: Option<(f64, f64)>,
    placed: usize,
    segments: usize,
    /// Number of entities of the ENTITIES section that gave something: a shape, a remark, or copies of a block.
    pub accounted: usize,
}

/// How the enclosing INSERTs place an entity.
struct Setting<'s> {
    map: Affine,
    /// Layer of the INSERT, which replaces layer 0.
    layer: Option<&'s str>,
    /// Handles of the enclosing INSERTs.
    path: String,
    /// Names of the enclosing blocks.
    inside: Vec<&'s str>,
}

impl<'a> Placing<'a> {
    pub fn new(file: &'a File, notes: &'a mut Notes, join: f64, budget: &'a Budget) -> Placing<'a> {
        let (shapes, remarks) = (Vec::new(), Vec::new());
        Placing { file, notes, budget, join, shapes, remarks, heights: None, placed: 0, segments: 0, accounted: 0 }
    }

    /// Places the whole model space. `mm` is the length of a unit, mm.
    ///
    /// # Errors
    /// [`ReadError::Refused`] for too many copies of blocks; [`ReadError::Stopped`] by the budget.
    pub fn place_all(&mut self, mm: f64) -> Result<(), ReadError> {
        let setting = Setting { map: Affine::scale(mm), layer: None, path: String::new(), inside: Vec::new() };
        let file = self.file;
        for e in &file.entities {
            let before = self.outcome();
            self.place(e, &setting)?;
            self.accounted += usize::from(e.counted && self.outcome() > before);
            if let (Some(h), None) = (height(e), self.left_because(e, &setting)) {
                let (lo, hi) = self.heights.unwrap_or((h * mm, h * mm));
                self.heights = Some((lo.min(h * mm), hi.max(h * mm)));
            }
        }
        Ok(())
    }

    /// A count that grows with every result of an entity.
    fn outcome(&self) -> usize {
        self.shapes.len() + self.remarks.len() + self.notes.reported()
    }

    fn layer_of<'e>(e: &'e Entity, s: &Setting<'e>) -> &'e str {
        match s.layer {
            Some(l) if e.layer == "0" => l,
            _ => &e.layer,
        }
    }

    fn source(&self, e: &Entity, s: &Setting) -> Source {
        let own = e
            .handle
            .clone()
            .unwrap_or_else(|| if self.file.binary { format!("byte {}", e.at) } else { format!("line {}", e.at) });
        Source {
            id: if s.path.is_empty() { own } else { format!("{}/{own}", s.path) },
            layer: Some(Self::layer_of(e, s).to_owned()),
            label: None,
            colour: e
                .colour
                .or_else(|| Some(self.file.layers.get(&Self::layer_of(e, s).to_uppercase())?.colour))
                .map(Colour::name),
            kind: e.kind.clone(),
            line: (!self.file.binary).then_some(e.at),
        }
    }

    /// The reason to skip an entity of any kind, and whether skipping it is harmless.
    fn left_because(&self, e: &Entity, s: &Setting) -> Option<(String, bool)> {
        let harmless = matches!(e.geometry, Geometry::Left { harmless: true, .. });
        if e.paper || e.owner.as_ref().is_some_and(|o| self.file.papers.contains(o)) {
            let what = if harmless { "text and the like on a paper sheet" } else { ON_PAPER };
            return Some((what.to_owned(), harmless));
        }
        if e.invisible {
            return Some(("invisible entity".to_owned(), harmless));
        }
        let name = Self::layer_of(e, s);
        let layer = self.file.layers.get(&name.to_uppercase());
        let insert = matches!(e.geometry, Geometry::Insert(_));
        let shown: String = name.chars().take(80).collect();
        match layer {
            Some(l) if l.frozen => return Some((format!("on layer {shown}, which is frozen"), harmless)),
            // A block's entities on other layers stay visible when the layer of its INSERT is off.
            Some(l) if l.off && !insert => return Some((format!("on layer {shown}, which is off"), harmless)),
            _ => {}
        }
        let centre =
            e.line_type == LineType::Centre || (e.line_type == LineType::ByLayer && layer.is_some_and(|l| l.centre));
        if centre && matches!(e.geometry, Geometry::Line { .. }) {
            return Some(("centre line (LINE)".to_owned(), true));
        }
        None
    }

    fn place<'s>(&mut self, e: &'s Entity, s: &Setting<'s>) -> Result<(), ReadError>
    where
        'a: 's,
    {
        self.placed += 1;
        if self.placed.is_multiple_of(256) {
            self.budget.check()?;
        }
        if let Some((what, harmless)) = self.left_because(e, s) {
            let source = self.source(e, s);
            self.notes.leave_out(what, harmless, Some(source));
            return Ok(());
        }
        match &e.geometry {
            Geometry::Left { what, harmless } => {
                let source = self.source(e, s);
                self.notes.leave_out(what.clone(), *harmless, Some(source));
            }
            Geometry::Insert(i) => self.insert(e, i, s)?,
            Geometry::Hatch(h) => self.hatch(e, h, s),
            _ => {
                let source = self.source(e, s);
                let notes = &mut *self.notes;
                match path(e, s.map, &mut |what| notes.tolerate(what, e.at)) {
                    EntityResult::Path(p) => {
                        self.segments += p.segments.len();
                        self.shapes.push(Shape { paths: vec![p], fill: Fill::None, source });
                    }
                    EntityResult::Speck(at) => {
                        let kind = RemarkKind::Speck { size: 0.0 };
                        self.remarks.push(Remark { kind, source: Some(source), at: Some(at) });
                    }
                    EntityResult::Left(what) => self.notes.leave_out(what, false, Some(source)),
                }
            }
        }
        Ok(())
    }

    /// Adds the loops of a hatch, each as a shape. Edges that do not meet exactly are joined here, so that no other
    /// line of the drawing can join in.
    fn hatch(&mut self, e: &Entity, h: &Hatch, s: &Setting) {
        let source = self.source(e, s);
        let Some(own) = to_plane(e.normal) else {
            self.notes.leave_out("HATCH that is not in the plane of the drawing".to_owned(), false, Some(source));
            return;
        };
        let map = s.map * own;
        for edges in &h.loops {
            let mut paths = Vec::with_capacity(edges.len());
            for edge in edges {
                let edge =
                    Entity { geometry: edge.clone(), normal: [0.0, 0.0, 1.0], kind: e.kind.clone(), ..e.clone_head() };
                let notes = &mut *self.notes;
                match path(&edge, map, &mut |what| notes.tolerate(what, e.at)) {
                    EntityResult::Path(p) => paths.push(p),
                    EntityResult::Speck(at) => {
                        let kind = RemarkKind::Speck { size: 0.0 };
                        self.remarks.push(Remark { kind, source: Some(source.clone()), at: Some(at) });
                    }
                    EntityResult::Left(what) => self.notes.leave_out(what, false, Some(source.clone())),
                }
            }
            self.segments += paths.iter().map(|p| p.segments.len()).sum::<usize>();
            let shape = Shape { paths, fill: Fill::None, source: source.clone() };
            let (shapes, remarks) = join(vec![shape], self.join, self.budget);
            self.shapes.extend(shapes);
            self.remarks.extend(remarks.into_iter().filter(|r| !matches!(r.kind, RemarkKind::OpenLine { .. })));
        }
        if h.text_boxes > 0 {
            self.notes.leave_out("loop of a HATCH around a text".to_owned(), true, Some(source));
        }
    }

    fn insert<'s>(&mut self, e: &'s Entity, i: &'s Insert, s: &Setting<'s>) -> Result<(), ReadError>
    where
        'a: 's,
    {
        let source = self.source(e, s);
        let name: String = i.block.chars().take(80).collect();
        let key = i.block.to_uppercase();
        let found = self.file.blocks.get_key_value(&key);
        let why = match (found, to_plane(e.normal)) {
            (None, _) => Some(format!("INSERT of a block that is missing from the file ({name})")),
            (Some((k, _)), _) if s.inside.contains(&k.as_str()) => {
                Some(format!("INSERT of a block within itself ({name})"))
            }
            (Some((_, b)), _) if b.elsewhere => Some(format!(
                "INSERT of a drawing in another file ({name}), which is not opened: bind it into this file"
            )),
            (_, None) => Some("INSERT that is not in the plane of the drawing".to_owned()),
            _ if s.inside.len() >= DEEPEST => Some(format!("INSERT nested deeper than {DEEPEST} blocks")),
            _ if i.scale.contains(&0.0) => Some("INSERT of scale 0".to_owned()),
            _ => None,
        };
        let (Some((key, block)), Some(own), None) = (found, to_plane(e.normal), &why) else {
            self.notes.leave_out(why.unwrap_or_default(), false, Some(source));
            return Ok(());
        };
        self.room(e, i, block)?;
        if block.entities.is_empty() {
            self.notes.leave_out(format!("INSERT of an empty block ({name})"), true, Some(source));
            return Ok(());
        }
        let turn = unit_deg(i.turn);
        let turned = Affine::new([turn.x, turn.y, -turn.y, turn.x, i.at[0], i.at[1]]);
        let scaled =
            Affine::scale_non_uniform(i.scale[0], i.scale[1]) * Affine::translate((-block.base[0], -block.base[1]));
        let mut inside = s.inside.clone();
        inside.push(key);
        let layer = Some(Self::layer_of(e, s));
        for row in 0..i.rows {
            for column in 0..i.columns {
                #[allow(clippy::cast_precision_loss)]
                let step = Affine::translate((column as f64 * i.column_step, row as f64 * i.row_step));
                let map = s.map * own * turned * step * scaled;
                let setting = Setting { map, layer, path: source.id.clone(), inside: inside.clone() };
                for e in &block.entities {
                    self.place(e, &setting)?;
                }
            }
        }
        Ok(())
    }

    /// Refuses an INSERT that would exceed [`MOST_PLACED`].
    fn room(&mut self, e: &Entity, i: &Insert, block: &Block) -> Result<(), ReadError> {
        let copies = usize::try_from(i.rows.saturating_mul(i.columns)).unwrap_or(usize::MAX);
        // Copies of an empty block take time too.
        let more = copies.saturating_mul(block.entities.len().max(1));
        if self.placed.saturating_add(more) > MOST_PLACED {
            let at = if self.file.binary { format!("byte {}", e.at) } else { format!("line {}", e.at) };
            let what = format!(
                "{at}: the copies of blocks make more than {MOST_PLACED} entities; draw the outline itself, or fewer copies"
            );
            return Err(ReadError::Refused { what });
        }
        Ok(())
    }

    /// A message if the entities lie at different heights.
    pub fn stairs(&self) -> Option<String> {
        let (lo, hi) = self.heights?;
        (hi - lo > tolerance::FLAT).then(|| {
            format!("entities at different heights (z from {lo:.3} to {hi:.3} mm), read as lying in one plane")
        })
    }
}
