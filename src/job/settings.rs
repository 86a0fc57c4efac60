//! The checked settings of a run. The command line makes them; no other module depends on the command line.

use crate::check::Code;
pub use crate::drawing::choose::Selection;
use crate::drawing::{Drawing, ReadSettings};
use crate::job::asides::Season;
use crate::kit::{Figures, Kit, Router, Tools};
use crate::panel::layout::PanelSettings;
use crate::panel::steps::Depths;
use crate::schema::Release;
use crate::template::ease::Corners;
use crate::template::start::Start;
use crate::text::Show;
use crate::units::FileUnit;
use crate::units::Unit;
use std::path::PathBuf;

/// A job to run. The command line has checked the settings, each by itself and with the others.
#[derive(Clone, Debug)]
pub struct Job {
    pub task: Task,
    pub drawing: PathBuf,
    /// Further inputs, such as the kit; never written to.
    pub also_read: Vec<PathBuf>,
    pub read: ReadSettings,
    /// The unit of figures for people. By default the unit of the drawing or of the kit.
    pub show: Option<Show>,
    /// True where the drawing shows the back of the work: use its mirror image.
    pub mirror: bool,
    pub select: Selection,
    pub kind: Kind,
    pub tools: Tools,
    /// Options of the tools that were not given, so that their values are assumed: of `bush`, `cutter`, `gap`.
    pub assumed: Vec<&'static str>,
    /// The kit of the tools; empty where nothing is known about them.
    pub kit: Kit,
    /// Choose tools of the kit in place of `tools`, with one opening for both pieces.
    pub auto_pair: bool,
    /// Try other tools of the kit.
    pub suggest: bool,
    /// Species and change of moisture.
    pub season: Option<Season>,
    pub corners: Corners,
    /// Greatest distance of a piece from the drawing, mm; more is an error.
    pub within: Option<f64>,
    pub panel: PanelSettings,
    /// Tolerance of chords in place of arcs, mm.
    pub flatten: Option<f64>,
    /// Thickness of the template, projection of the bush and depth of a pass, as far as known.
    pub router: Router,
    /// Base, template and its cutter, each with its source.
    pub figures: Figures,
    /// Thicknesses and depths of the wood, as far as known.
    pub depths: Depths,
    /// Codes of accepted findings.
    pub accept: Vec<Code>,
}

/// What the drawing shows.
#[derive(Clone, Debug, PartialEq)]
pub enum Kind {
    /// The joint of an inlay without a shoulder.
    Flush,
    /// A part, a template or a recess that exists already.
    InHand(Start),
    /// Plugs and the shoulders around them. Their names replace `select`.
    Shouldered(PlugAndShoulder),
}

impl Kind {
    /// The start from something in hand.
    #[must_use]
    pub fn start(&self) -> Option<Start> {
        if let Kind::InHand(start) = self { Some(*start) } else { None }
    }

    #[must_use]
    pub fn shouldered(&self) -> bool {
        matches!(self, Kind::Shouldered(_))
    }
}

/// Plugs and shoulders by id, layer or number.
#[derive(Clone, Debug, PartialEq)]
pub struct PlugAndShoulder {
    pub plug: Vec<String>,
    pub shoulder: Vec<String>,
    /// Gap between the plug and its hole, per side, mm.
    pub plug_gap: f64,
}

impl Job {
    /// The unit of figures for people: the given unit, or else inches where the drawing or the kit has them.
    #[must_use]
    pub fn shown(&self, drawing: &Drawing) -> Show {
        let inches = self.kit.inches || shown_by(drawing) == Show::Inch;
        self.show.unwrap_or(if inches { Show::Inch } else { Show::Mm })
    }
}

/// The default unit of figures for a drawing.
#[must_use]
pub fn shown_by(drawing: &Drawing) -> Show {
    if [Unit::INCH, Unit::FOOT].iter().any(|u| u.mm == drawing.unit.mm) { Show::Inch } else { Show::Mm }
}

#[derive(Clone, Debug)]
pub enum Task {
    /// Writes nothing.
    Check,
    Make(Out),
}

/// Folder and form of the files.
#[derive(Clone, Debug)]
pub struct Out {
    pub unit: FileUnit,
    pub release: Release,
    /// By default `NAME-letin` beside the drawing.
    pub folder: Option<PathBuf>,
    /// Replace files that this program did not make.
    pub force: bool,
    /// List the files and write none.
    pub dry_run: bool,
}

impl Out {
    /// Millimetres, and the default release of DXF.
    #[must_use]
    pub fn plain(folder: Option<PathBuf>, force: bool, dry_run: bool) -> Out {
        Out { unit: FileUnit::Mm, release: Release::R2000, folder, force, dry_run }
    }
}
