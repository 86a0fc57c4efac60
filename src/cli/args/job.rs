//! The options of the commands that make templates for a drawing.

use super::{ChoiceArgs, FailOn, ReadingArgs, ShowArg};
use clap::{Args, ValueEnum};
use std::path::PathBuf;

#[derive(Debug, Args)]
pub struct MakeArgs {
    #[command(flatten)]
    pub common: CommonArgs,
    /// Folder for the files [default: NAME-letin beside the drawing]
    #[arg(long, value_name = "DIR", help_heading = "Files")]
    pub out: Option<PathBuf>,
    /// Replace files that letin did not make, or made from another drawing
    #[arg(long, help_heading = "Files")]
    pub force: bool,
    /// Unit of the files for the machine
    #[arg(long, value_enum, value_name = "UNIT", default_value = "mm", help_heading = "Files")]
    pub write_unit: WriteUnit,
    /// Release of the DXF files
    #[arg(long, value_enum, value_name = "RELEASE", default_value = "2000", help_heading = "Files")]
    pub dxf: DxfArg,
    /// Write arcs as short straight lines, no farther than this from the arc
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Files")]
    pub flatten: Option<String>,
    /// List the files and write nothing
    #[arg(long, help_heading = "Files")]
    pub dry_run: bool,
    /// Save the settings of this run as a job file
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub write_job: Option<PathBuf>,
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

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum CornersArg {
    /// Round all corners that the tools cannot follow, alike in both pieces
    Ease,
    /// Round outside corners of the recess; leave its inside corners to a chisel
    Square,
    /// Change no corner of the drawing. The report lists what to chisel or pare
    Keep,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum TurnArg {
    /// Like the page of a book: the left edge goes to the right
    LeftRight,
    /// The bottom edge goes to the top
    BottomTop,
    /// Not turned: one panel for the recess, one for the inlay
    None,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum SetupArg {
    /// One file for each face; both count from one datum, the machine's X0 Y0
    Two,
    /// One file for both openings and the panel's edge, all from face 1
    One,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum StartArg {
    /// The outside of a part to let in; --inlay-bush and --inlay-cutter run around it
    Part,
    /// The opening of a template that exists; it serves the recess
    Template,
    /// A recess that exists; only the inlay is made
    Recess,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum WriteUnit {
    #[value(aliases = ["millimetre", "millimetres", "millimeter", "millimeters"])]
    Mm,
    #[value(aliases = ["inch", "inches"])]
    In,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum DxfArg {
    #[value(name = "2000")]
    R2000,
    R12,
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

    /// Outside diameter of the guide bush (US: guide bushing)
    #[arg(
        long,
        alias = "bushing",
        value_name = "LENGTH",
        default_value = "20",
        allow_negative_numbers = true,
        help_heading = "Tools"
    )]
    pub bush: String,
    /// Diameter of the straight cutter (US: bit)
    #[arg(
        long,
        alias = "bit",
        value_name = "LENGTH",
        default_value = "6",
        allow_negative_numbers = true,
        help_heading = "Tools"
    )]
    pub cutter: String,
    /// Bush for the inlay. With --from part: the bush you run around the part [default: --bush]
    #[arg(long, alias = "inlay-bushing", value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Tools")]
    pub inlay_bush: Option<String>,
    /// Cutter for the inlay. With --from part: the cutter in that bush [default: --cutter]
    #[arg(long, alias = "inlay-bit", value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Tools")]
    pub inlay_cutter: Option<String>,
    /// Gap per side: the inlay is smaller than its recess by this, all around
    #[arg(long, value_name = "LENGTH", default_value = "0.05", allow_negative_numbers = true, help_heading = "Tools")]
    pub gap: String,
    /// Gap per side around the plug, with --plug [default: 0.25]
    #[arg(long, value_name = "LENGTH", requires = "plug", allow_negative_numbers = true, help_heading = "Tools")]
    pub plug_gap: Option<String>,
    /// File with your tools, or the word metric or inch [default: nearest letin.toml]
    #[arg(long, value_name = "FILE", help_heading = "Tools")]
    pub kit: Option<PathBuf>,
    /// Choose tools of the kit that let one opening serve both pieces
    #[arg(long, value_enum, value_name = "auto", help_heading = "Tools",
          conflicts_with_all = ["bush", "cutter", "inlay_bush", "inlay_cutter"])]
    pub pair: Option<PairArg>,
    /// Try the other tools of the kit on this drawing, and list the better ones
    #[arg(long, help_heading = "Tools")]
    pub suggest: bool,
    /// Radius of the router's base [default: from your kit, else 75]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Tools")]
    pub base: Option<String>,
    /// How far the guide bush reaches below the router's base [default: from your kit]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Tools")]
    pub projection: Option<String>,

    /// Thickness of the board
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Wood")]
    pub board: Option<String>,
    /// Thickness of the wood for the inlay
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Wood")]
    pub stock: Option<String>,
    /// Depth of the recess, or of the rebate for a shoulder (US: rabbet)
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Wood")]
    pub recess_depth: Option<String>,
    /// Height of the plug beyond its shoulder
    #[arg(long, value_name = "LENGTH", requires = "plug", allow_negative_numbers = true, help_heading = "Wood")]
    pub plug_height: Option<String>,
    /// Greatest depth of one pass [default: half the cutter's diameter]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Wood")]
    pub pass_depth: Option<String>,
    /// Species of the inlay: sugar maple, red oak, white ash or black walnut
    #[arg(long, value_name = "NAME", requires = "moisture_change", help_heading = "Wood")]
    pub species: Option<String>,
    /// Seasonal change of the wood's moisture content, in per cent, to work out its movement
    #[arg(long, value_name = "PERCENT", requires = "species", allow_negative_numbers = true, help_heading = "Wood")]
    pub moisture_change: Option<String>,

    /// Corners that the tools cannot follow
    #[arg(long, value_enum, default_value = "ease", help_heading = "Corners")]
    pub corners: CornersArg,
    /// Extra radius at inside corners of the recess, added to the cutter's [default: 0.5]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Corners")]
    pub ease_inside: Option<String>,
    /// Extra radius at outside corners of the recess, added to what the tools leave [default: 1]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Corners")]
    pub ease_outside: Option<String>,
    /// Report an error where a piece differs from the drawing by more than this
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Corners")]
    pub within: Option<String>,

    /// Template thickness [default: the first thickness under [template] in your kit, else 9]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Template and panel")]
    pub template_thickness: Option<String>,
    /// Cutter that cuts the template [default: your kit's first template cutter, else 6]
    #[arg(
        long,
        alias = "template-bit",
        value_name = "LENGTH",
        allow_negative_numbers = true,
        help_heading = "Template and panel"
    )]
    pub template_cutter: Option<String>,
    /// Least strip of template left [default: 6, or the template's thickness if that is more]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Template and panel")]
    pub web: Option<String>,
    /// Where the centre lines cross on the panel, from its bottom left corner
    #[arg(long, value_name = "XxY", allow_hyphen_values = true, help_heading = "Template and panel")]
    pub at: Option<String>,
    /// Turn of the panel from face 1 to face 2
    #[arg(long, value_enum, default_value = "left-right", help_heading = "Template and panel")]
    pub turn: TurnArg,
    /// Set-ups on the machine for a panel with two faces
    #[arg(long, value_enum, default_value = "two", help_heading = "Template and panel")]
    pub setup: SetupArg,
    /// Largest panel that the machine takes
    #[arg(long, value_name = "WxH", allow_hyphen_values = true, help_heading = "Template and panel")]
    pub bed: Option<String>,
    /// Size of the panel [default: as small as works]
    #[arg(long, value_name = "WxH", allow_hyphen_values = true, help_heading = "Template and panel")]
    pub panel: Option<String>,

    /// Start from a piece that exists; the drawing shows it
    #[arg(long, value_enum, help_heading = "Reading the drawing",
          conflicts_with_all = ["plug", "suggest", "corners", "ease_inside", "ease_outside", "turn", "setup"])]
    pub from: Option<StartArg>,
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

/// How to report the result.
#[derive(Debug, Args)]
pub struct ReportArgs {
    /// Print the answer as JSON
    #[arg(long, help_heading = "Report")]
    pub json: bool,
    /// List every error, warning and note one by one
    #[arg(long, help_heading = "Report")]
    pub all: bool,
    /// Print everything, also how errors in setting up change the gap
    #[arg(long, help_heading = "Report")]
    pub full: bool,
    /// Unit of the figures [default: inches where drawing or kit has them, else mm]
    #[arg(long, value_enum, help_heading = "Report")]
    pub show: Option<ShowArg>,
    /// Go on in spite of: open-line, crossing, neck, island, closed-gap or not-as-drawn
    ///
    /// The rest of the job is made. May be given several times.
    #[arg(long, value_name = "CODE", help_heading = "Report")]
    pub accept: Vec<String>,
    /// Least severity that gives exit status 1 [default: error for make, warning for check]
    #[arg(long, value_enum, value_name = "LEVEL", help_heading = "Report")]
    pub fail_on: Option<FailOn>,
}
