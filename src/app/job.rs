//! A checked order: what to do with which drawing. Made once, by the command line; the rest never sees that.

use super::PlugAndShoulder;
use crate::check::Code;
use crate::check::depth::Router;
pub use crate::drawing::choose::Selection;
use crate::drawing::{Drawing, ReadSettings};
use crate::kit::{Figures, Kit, Tools};
use crate::report::facts::Season;
use crate::template::ease::Corners;
use crate::template::layout::PanelSettings;
use crate::template::start::Start;
use crate::template::work::Depths;
use crate::text::Show;
use crate::units::Unit;
use crate::write::FileUnit;
use crate::write::dxf::Release;
use std::path::PathBuf;

#[derive(Clone, Debug)]
pub struct Job {
    pub task: Task,
    pub drawing: PathBuf,
    /// What else is read for it, such as the kit: never written to.
    pub also_read: Vec<PathBuf>,
    pub read: ReadSettings,
    /// The unit of figures for people; unless given, that of the drawing, or else of the kit.
    pub show: Option<Show>,
    /// The drawing shows the back of the work: its mirror image is made.
    pub mirror: bool,
    pub select: Selection,
    /// A shouldered piece: its two outlines in place of what `select` takes.
    pub shouldered: Option<PlugAndShoulder>,
    pub tools: Tools,
    /// Where the tools are from; empty where nothing is known of them.
    pub kit: Kit,
    /// Take a matching pair of the kit in place of `tools`, with one opening for both pieces.
    pub auto_pair: bool,
    /// What the drawing shows, where it is not the outline of the joint.
    pub start: Option<Start>,
    /// Look for tools that would do better.
    pub suggest: bool,
    /// Wood whose moisture changes.
    pub season: Option<Season>,
    pub corners: Corners,
    /// A piece farther off the drawing than this is an error, mm.
    pub within: Option<f64>,
    pub panel: PanelSettings,
    /// Arcs become chords within this of them, mm.
    pub flatten: Option<f64>,
    /// Template and bush, as far as they are known.
    pub router: Router,
    /// Base, template and its cutter, and who says so.
    pub figures: Figures,
    /// Of the wood, as far as they are known.
    pub depths: Depths,
    /// Codes of findings that the maker accepts.
    pub accept: Vec<Code>,
}

impl Job {
    /// The unit of figures for people: as asked for, or that of the drawing; inches too where the kit has them.
    #[must_use]
    pub fn shown(&self, drawing: &Drawing) -> Show {
        let inches = self.kit.inches || shown_by(drawing) == Show::Inch;
        self.show.unwrap_or(if inches { Show::Inch } else { Show::Mm })
    }
}

/// The unit in which figures of a drawing are shown unless another is asked for.
#[must_use]
pub fn shown_by(drawing: &Drawing) -> Show {
    if [Unit::INCH, Unit::FOOT].iter().any(|u| u.mm == drawing.unit.mm) { Show::Inch } else { Show::Mm }
}

#[derive(Clone, Debug)]
pub enum Task {
    /// On paper; nothing is written.
    Check,
    Make(Out),
}

/// Where files go, and in what form.
#[derive(Clone, Debug)]
pub struct Out {
    pub unit: FileUnit,
    pub release: Release,
    /// `NAME-letin` beside the drawing unless given.
    pub folder: Option<PathBuf>,
    /// Replace files that this program did not make.
    pub force: bool,
    /// Only say what would be written.
    pub dry_run: bool,
}

impl Out {
    /// In millimetres and the usual release of DXF.
    #[must_use]
    pub fn plain(folder: Option<PathBuf>, force: bool, dry_run: bool) -> Out {
        Out { unit: FileUnit::Mm, release: Release::R2000, folder, force, dry_run }
    }
}
