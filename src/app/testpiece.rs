//! The test piece: a template with a round and a square opening.
//!
//! In: the nominal and the measured diameters of a bush and a cutter, the router's base and the strip of template, mm. Out:
//! the files of the template, and a sheet of what to measure. `kit::testpiece::solve` works out bush and cutter from the
//! readings.

use super::files::repaired;
use super::{AppError, Out, WRITING};
use crate::budget::Budget;
use crate::geom::{Affine, Certified, FillRule, Point, Region, Ring, enclosed, shrink};
use crate::kit::{Pair, testpiece};
use crate::panel::template::keep_clear;
use crate::panel::{Edges, Face, Opening, Panel, Setup, Turn};
use crate::report::plan::{self, Plan};
use crate::report::testpiece::{SheetOpening, TestSheet, document, sheet};
use crate::template::Duty;
use crate::text::Show;
use crate::write::store::{CommitOptions, Outputs};
use crate::write::{self, WriteError};
use std::borrow::Cow;
use std::path::PathBuf;

/// Room beyond the router's base for a clamp, mm. Common practice, no source.
const CLAMP: f64 = 20.0;
/// Places are multiples of this, mm, to suit a rule.
const STEP: f64 = 10.0;

/// The figures of a test piece, mm.
#[derive(Clone, Debug)]
pub struct Order {
    /// Nominal diameters.
    pub called: Pair,
    /// Diameters of the kit, measured where it has them.
    pub sized: Pair,
    /// The unit of figures for people.
    pub show: Show,
    /// Radius of the router's base.
    pub base: f64,
    /// Least strip of template beside an opening.
    pub web: f64,
    pub out: Out,
    /// Further inputs, such as the kit; never written to.
    pub also_read: Vec<PathBuf>,
}

/// The test piece as written, or as a dry run would write it.
#[derive(Clone, Debug)]
pub struct Made {
    /// The sheet, for people.
    pub words: String,
    /// The JSON document.
    pub document: Vec<u8>,
    pub notes: Vec<String>,
}

/// Writes the template of a test piece.
///
/// # Errors
/// [`AppError`] for geometry that cannot be certified, and for files that cannot be written.
pub fn make(order: &Order, budget: &Budget) -> Result<Made, AppError> {
    let (panel, openings) = laid_out(order, budget)?;
    let t = testpiece::opening(order.called);
    let pieces = openings.iter().zip(["round", "square"]).map(|(o, shape)| {
        let at = o.on_face().bounds().map_or(Point::ORIGIN, |b| b.center());
        SheetOpening { id: o.id.clone(), shape, size: t, at }
    });
    let about = TestSheet {
        called: order.called,
        show: order.show,
        expected: testpiece::expected(t, order.sized),
        opening: t,
        panel: (panel.width, panel.height),
        pieces: pieces.collect(),
    };
    let face = Face { panel: &panel, face: 1, openings: openings.iter().collect() };
    let centre = |o: &Opening| shrink(&o.on_face(), order.called.bush_radius(), budget).map(Cow::Owned);
    let swept = keep_clear(&face.openings, centre, order.base, &panel, budget)?;
    let words =
        openings.iter().zip(["round", "square"]).map(|(_, shape)| about.opening_label(shape)).collect::<Vec<_>>();
    let plan = Plan {
        title: "test piece",
        face_files: "testpiece-face-1.dxf or testpiece-face-1.svg",
        centre_mark: None,
        show: order.show,
        keep_clear: Some(&swept),
        free_hand: None,
        stops: &[],
        words: &words,
    };
    let folder = order.out.folder.clone().unwrap_or_else(|| PathBuf::from("testpiece-letin"));
    let mut outputs = Outputs::new(folder.clone(), "testpiece.json".to_owned());
    outputs.add("testpiece-face-1.dxf", write::dxf::face(&face, order.out.unit, order.out.release)?);
    outputs.add("testpiece-face-1.svg", write::svg::face(&face, order.out.unit)?.into_bytes());
    outputs.add("testpiece-plan-1.svg", plan::svg(&face, &plan).map_err(WriteError::from)?.into_bytes());
    let words = sheet(&about);
    outputs.add("testpiece-sheet.txt", words.clone().into_bytes());
    let listed = outputs.listed();
    let document = document(&about, &listed.iter().map(|w| (w.name.as_str(), w.sha256.as_str())).collect::<Vec<_>>())?;
    let shown = crate::text::terminal(&folder.to_string_lossy());
    if order.out.dry_run {
        let sizes = listed.iter().map(|w| format!("  {} ({} bytes)", w.name, w.bytes));
        let notes = [format!("would write into {shown}:")].into_iter().chain(sizes).collect();
        return Ok(Made { words, document, notes });
    }
    budget.enter(WRITING);
    let options = CommitOptions { force: order.out.force, input: &order.also_read, budget: Some(budget) };
    let done = outputs.commit(&options, |_| document.clone())?;
    let mut notes = Vec::new();
    notes.extend(repaired(done.repaired));
    notes.push(format!("written into {shown}:"));
    notes.extend(done.written.iter().map(|w| format!("  {}", w.name)));
    Ok(Made { words, document, notes })
}

/// Both openings side by side, with room for the router's base and clamps around them.
fn laid_out(order: &Order, budget: &Budget) -> Result<(Panel, Vec<Opening>), AppError> {
    let t = testpiece::opening(order.called);
    let up = |v: f64| (v / STEP - 1e-9).ceil() * STEP;
    let margin = up((order.base - order.called.bush_radius() + CLAMP).max(order.web));
    let between = up(order.web.max(t / 2.0));
    let (width, height) = (2.0 * margin + 2.0 * t + between, 2.0 * margin + t);
    let edges = Edges::turned_over(Turn::None);
    let panel = Panel { number: 1, width, height, turn: Turn::None, setup: Setup::Two, edges };
    let (y0, x1) = (margin, margin + t + between);
    let round = Ring::circle(Point::new(margin + t / 2.0, y0 + t / 2.0), t / 2.0);
    let corner = |dx: f64, dy: f64| Point::new(x1 + dx, y0 + dy);
    let square = Ring::polygon(&[corner(0.0, 0.0), corner(t, 0.0), corner(t, t), corner(0.0, t)]);
    let one = |(i, ring): (usize, Ring)| {
        let region: Certified<Region> = enclosed(&[ring], FillRule::NonZero, budget)?;
        Ok(Opening {
            id: format!("opening-{}", i + 1),
            outline: i + 1,
            duty: Duty::Both,
            panel: 1,
            face: 1,
            offset: (order.sized.bush - order.sized.cutter) / 2.0,
            region,
            place: Affine::IDENTITY,
        })
    };
    let openings: Result<Vec<Opening>, AppError> = [round, square].into_iter().enumerate().map(one).collect();
    Ok((panel, openings?))
}
