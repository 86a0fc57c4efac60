//! The options of the commands that make templates for a drawing.

use super::{
    BASE, BUSH, CUTTER, ChoiceArgs, DEPTH, FailOn, GAP, MARGIN, PANEL, ReadingArgs, THICKNESS, WIDE_GAP, show,
};
use crate::check::{Code, Severity};
use crate::cli::values::{Range, acceptable, choice, length, mm, pair, percent, species};
use crate::kit::wood::Species;
use crate::panel::{Setup, Turn};
use crate::template::ease::Corners;
use crate::template::start::Start;
use crate::text::Show;
use crate::tolerance::COARSEST_CHORDS;
use crate::units::Length;
use crate::write::FileUnit;
use crate::write::dxf::Release;
use clap::{Args, ValueEnum};
use std::path::PathBuf;

/// Default margins of easing, mm. A cutter in a corner of exactly its own radius dwells and burns. An outside corner of
/// exactly the offset's radius leaves a sharp point on the template. Common practice, no source.
const EASE: Corners = Corners::Ease { inside: 0.5, outside: 1.0 };

/// The name of the setting's value.
fn name(corners: Corners) -> &'static str {
    corners.mode().name()
}

/// Tolerance of chords. The finest is a tenth of the accuracy of the files; no machine follows a finer one. The bush jolts
/// over a coarser one.
const CHORDS: Range = Range(0.0005, COARSEST_CHORDS, "0.01");

#[derive(Debug, Args)]
pub struct MakeArgs {
    #[command(flatten)]
    pub common: CommonArgs,
    #[command(flatten)]
    pub files: FileArgs,
    #[command(flatten)]
    pub report: ReportArgs,
}

#[derive(Debug, Args)]
pub struct CheckArgs {
    #[command(flatten)]
    pub common: CommonArgs,
    #[command(flatten)]
    pub report: ReportArgs,
}

/// Which files to write.
#[derive(Debug, Args)]
#[command(next_help_heading = "Files")]
pub struct FileArgs {
    /// Folder for the files [default: NAME-letin beside the drawing]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Replace files that letin did not make, or made from another drawing
    #[arg(long)]
    pub force: bool,
    /// Unit of the files for the machine
    #[arg(long, value_name = "UNIT", default_value = "mm",
          value_parser = choice(FileUnit::name, [(FileUnit::Mm, ""), (FileUnit::Inch, "")]))]
    pub write_unit: FileUnit,
    /// Release of the DXF files
    #[arg(long, value_name = "RELEASE", default_value = "2000",
          value_parser = choice(Release::name, [(Release::R2000, ""), (Release::R12, "")]))]
    pub dxf: Release,
    /// Write arcs as short straight lines, no farther than this from the arc
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(CHORDS))]
    pub flatten: Option<f64>,
    /// List the files and write nothing
    #[arg(long)]
    pub dry_run: bool,
    /// Save the settings of this run as a job file
    #[arg(long, value_name = "FILE")]
    pub write_job: Option<PathBuf>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum PairArg {
    /// The pairs that suit the drawing best
    Auto,
}

/// The options of `make` and `check` that say what to make, and with what.
#[derive(Debug, Args)]
pub struct CommonArgs {
    /// The outline, as SVG or DXF; or a job file NAME.toml with the drawing and the settings
    #[arg(required = true, value_name = "DRAWING or JOB.toml")]
    pub drawing: Vec<PathBuf>,
    #[command(flatten)]
    pub tools: ToolArgs,
    #[command(flatten)]
    pub wood: WoodArgs,
    #[command(flatten)]
    pub corners: CornerArgs,
    #[command(flatten)]
    pub panel: PanelArgs,
    /// Start from a piece that exists; the drawing shows it
    #[arg(long, help_heading = "Reading the drawing",
          conflicts_with_all = ["plug", "suggest", "corners", "ease_inside", "ease_outside", "turn", "setup"],
          value_parser = choice(Start::name, [
              (Start::Part, "The outside of a part to let in; --inlay-bush and --inlay-cutter run around it"),
              (Start::Template, "The opening of a template that exists; it serves the recess"),
              (Start::Recess, "A recess that exists; only the inlay is made"),
          ]))]
    pub from: Option<Start>,
    #[command(flatten)]
    pub reading: ReadingArgs,
    #[command(flatten)]
    pub choice: ChoiceArgs,
    /// Plug (needs --shoulder): name or number from `letin outlines` (may be given several times)
    ///
    /// A plug with a shoulder is an inlay whose thicker middle, the plug, goes through the board.
    #[arg(long, value_name = "NAME", requires = "shoulder", conflicts_with_all = ["only", "suggest"],
          help_heading = "Reading the drawing")]
    pub plug: Vec<String>,
    /// Shoulder; each plug lies in a shoulder of its own (may be given several times)
    #[arg(long, value_name = "NAME", requires = "plug", help_heading = "Reading the drawing")]
    pub shoulder: Vec<String>,
}

/// The tools.
#[derive(Debug, Args)]
#[command(next_help_heading = "Tools")]
pub struct ToolArgs {
    /// Outside diameter of the guide bush (US: guide bushing)
    #[arg(long, alias = "bushing", value_name = "LENGTH", default_value = "20", allow_negative_numbers = true,
          value_parser = length(BUSH))]
    pub bush: Length,
    /// Diameter of the straight cutter (US: bit)
    #[arg(long, alias = "bit", value_name = "LENGTH", default_value = "6", allow_negative_numbers = true,
          value_parser = length(CUTTER))]
    pub cutter: Length,
    /// Bush for the inlay. With --from part: the bush you run around the part [default: --bush]
    #[arg(long, alias = "inlay-bushing", value_name = "LENGTH", allow_negative_numbers = true,
          value_parser = mm(BUSH))]
    pub inlay_bush: Option<f64>,
    /// Cutter for the inlay. With --from part: the cutter in that bush [default: --cutter]
    #[arg(long, alias = "inlay-bit", value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(CUTTER))]
    pub inlay_cutter: Option<f64>,
    /// Gap per side: the inlay is smaller than its recess by this, all around
    #[arg(long, value_name = "LENGTH", default_value = GAP.2, allow_negative_numbers = true, value_parser = mm(GAP))]
    pub gap: f64,
    /// Gap per side around the plug, with --plug [default: 0.25]
    #[arg(long, value_name = "LENGTH", requires = "plug", allow_negative_numbers = true, value_parser = mm(WIDE_GAP))]
    pub plug_gap: Option<f64>,
    /// File with your tools, or the word metric or inch [default: nearest letin.toml]
    #[arg(long, value_name = "FILE")]
    pub kit: Option<PathBuf>,
    /// Choose tools of the kit that let one opening serve both pieces
    #[arg(long, value_enum, value_name = "auto",
          conflicts_with_all = ["bush", "cutter", "inlay_bush", "inlay_cutter"])]
    pub pair: Option<PairArg>,
    /// Try the other tools of the kit on this drawing, and list the better ones
    #[arg(long)]
    pub suggest: bool,
    /// Radius of the router's base [default: from your kit, else 75]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(BASE))]
    pub base: Option<f64>,
    /// How far the guide bush reaches below the router's base [default: from your kit]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(Range(0.0, 200.0, "7")))]
    pub projection: Option<f64>,
}

/// The wood, and how deep to rout it.
#[derive(Debug, Args)]
#[command(next_help_heading = "Wood")]
pub struct WoodArgs {
    /// Thickness of the board
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(THICKNESS))]
    pub board: Option<f64>,
    /// Thickness of the wood for the inlay
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(THICKNESS))]
    pub stock: Option<f64>,
    /// Depth of the recess, or of the rebate for a shoulder (US: rabbet)
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(DEPTH))]
    pub recess_depth: Option<f64>,
    /// Height of the plug beyond its shoulder
    #[arg(long, value_name = "LENGTH", requires = "plug", allow_negative_numbers = true, value_parser = mm(DEPTH))]
    pub plug_height: Option<f64>,
    /// Greatest depth of one pass [default: half the cutter's diameter]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(Range(0.1, 200.0, "3")))]
    pub pass_depth: Option<f64>,
    /// Species of the inlay: sugar maple, red oak, white ash or black walnut
    #[arg(long, value_name = "NAME", requires = "moisture_change", value_parser = species)]
    pub species: Option<Species>,
    /// Seasonal change of the wood's moisture content, in per cent, to work out its movement
    // The coefficients hold between 6 and 14 per cent.
    #[arg(long, value_name = "PERCENT", requires = "species", allow_negative_numbers = true,
          value_parser = percent(Range(-8.0, 8.0, "3")))]
    pub moisture_change: Option<f64>,
}

/// The corners of the outline.
#[derive(Debug, Args)]
#[command(next_help_heading = "Corners")]
pub struct CornerArgs {
    /// Corners that the tools cannot follow
    #[arg(long, default_value = name(EASE), value_parser = choice(name, [
        (EASE, "Round all corners that the tools cannot follow, alike in both pieces"),
        (Corners::Square, "Round outside corners of the recess; leave its inside corners to a chisel"),
        (Corners::Keep, "Change no corner of the drawing. The report lists what to chisel or pare"),
    ]))]
    pub corners: Corners,
    /// Extra radius at inside corners of the recess, added to the cutter's [default: 0.5]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(MARGIN))]
    pub ease_inside: Option<f64>,
    /// Extra radius at outside corners of the recess, added to what the tools leave [default: 1]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(MARGIN))]
    pub ease_outside: Option<f64>,
    /// Report an error where a piece differs from the drawing by more than this
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(Range(0.001, 100.0, "0.5")))]
    pub within: Option<f64>,
}

/// The template and the panel that it is cut from.
#[derive(Debug, Args)]
#[command(next_help_heading = "Template and panel")]
pub struct PanelArgs {
    /// Template thickness [default: the first thickness under [template] in your kit, else 9]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true,
          value_parser = mm(Range(0.1, 200.0, "9, 9mm or 3/8in")))]
    pub template_thickness: Option<f64>,
    /// Cutter that cuts the template [default: your kit's first template cutter, else 6]
    #[arg(long, alias = "template-bit", value_name = "LENGTH", allow_negative_numbers = true,
          value_parser = mm(CUTTER))]
    pub template_cutter: Option<f64>,
    /// Least strip of template left [default: 6, or the template's thickness if that is more]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(Range(0.0, 1000.0, "9")))]
    pub web: Option<f64>,
    /// Where the centre lines cross on the panel, from its bottom left corner
    #[arg(long, value_name = "XxY", allow_hyphen_values = true, value_parser = pair(PANEL))]
    pub at: Option<(f64, f64)>,
    /// Turn of the panel from face 1 to face 2
    #[arg(long, default_value = "left-right", value_parser = choice(Turn::name, [
        (Turn::LeftRight, "Like the page of a book: the left edge goes to the right"),
        (Turn::BottomTop, "The bottom edge goes to the top"),
        (Turn::None, "Not turned: one panel for the recess, one for the inlay"),
    ]))]
    pub turn: Turn,
    /// Set-ups on the machine for a panel with two faces
    #[arg(long, default_value = "two", value_parser = choice(Setup::name, [
        (Setup::Two, "One file for each face; both count from one datum, the machine's X0 Y0"),
        (Setup::One, "One file for both openings and the panel's edge, all from face 1"),
    ]))]
    pub setup: Setup,
    /// Largest panel that the machine takes
    #[arg(long, value_name = "WxH", allow_hyphen_values = true, value_parser = pair(PANEL))]
    pub bed: Option<(f64, f64)>,
    /// Size of the panel [default: as small as works]
    #[arg(long, value_name = "WxH", allow_hyphen_values = true, value_parser = pair(PANEL))]
    pub panel: Option<(f64, f64)>,
}

/// How to report the result.
#[derive(Debug, Args)]
#[command(next_help_heading = "Report")]
pub struct ReportArgs {
    /// Print the answer as JSON
    #[arg(long)]
    pub json: bool,
    /// List every error, warning and note one by one
    #[arg(long)]
    pub all: bool,
    /// Print everything, also how errors in setting up change the gap
    #[arg(long)]
    pub full: bool,
    /// Unit of the figures [default: inches where drawing or kit has them, else mm]
    #[arg(long, value_parser = show())]
    pub show: Option<Show>,
    /// Go on in spite of: open-line, crossing, neck, island, closed-gap or not-as-drawn
    ///
    /// The rest of the job is made. May be given several times.
    #[arg(long, value_name = "CODE", value_parser = acceptable)]
    pub accept: Vec<Code>,
    /// Least severity that gives exit status 1 [default: error for make, warning for check]
    #[arg(long, value_name = "LEVEL", value_parser = FailOn::parser())]
    pub fail_on: Option<FailOn>,
}

impl ReportArgs {
    /// The least severity that gives exit status 1. `makes`: the command writes files.
    pub fn fails_at(&self, makes: bool) -> FailOn {
        self.fail_on.unwrap_or(FailOn(Some(if makes { Severity::Error } else { Severity::Warning })))
    }
}
