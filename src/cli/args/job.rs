//! The options of the commands that work on a drawing.

use super::{ChoiceArgs, FailOn, ReadingArgs, ShowArg};
use clap::{Args, ValueEnum};
use std::path::PathBuf;

#[derive(Debug, Args)]
pub struct MakeArgs {
    #[command(flatten)]
    pub common: CommonArgs,
    /// Folder for the files; NAME-letin beside the drawing unless given
    #[arg(long, value_name = "DIR", help_heading = "Files")]
    pub out: Option<PathBuf>,
    /// Replace files that this program did not make, or made from another drawing (never what it reads). The drawing is
    /// the same where it lies as before, seen from the folder, or has the same content
    #[arg(long, help_heading = "Files")]
    pub force: bool,
    /// Unit of the numbers in the files for the machine
    #[arg(long, value_enum, default_value = "mm", help_heading = "Files")]
    pub write_unit: WriteUnit,
    /// Release of the DXF files
    #[arg(long, value_enum, default_value = "2000", help_heading = "Files")]
    pub dxf: DxfArg,
    /// Straight lines only: arcs become chords within this of them
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Files")]
    pub flatten: Option<String>,
    /// Only tell what would be written
    #[arg(long, help_heading = "Files")]
    pub dry_run: bool,
    /// Save the settings of this run as a job file
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub write_job: Option<PathBuf>,
}

#[derive(Debug, Args)]
pub struct CheckArgs {
    #[command(flatten)]
    pub common: CommonArgs,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum CornersArg {
    /// Round inside and outside corners in both pieces alike
    Ease,
    /// Round outside corners; inside corners stay sharp, to be chiselled
    Square,
    /// As drawn
    Keep,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum TurnArg {
    /// Like the page of a book: left edge over to the right
    LeftRight,
    /// Bottom edge over to the top
    BottomTop,
    /// Not turned: recess and inlay on a panel each
    None,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum SetupArg {
    /// A file for each face, one datum
    Two,
    /// Both openings and the panel's outline in one file, all from face 1
    One,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum StartArg {
    /// The outside of a part that is let in as it is; the template is routed round it with --inlay-bush and --inlay-cutter
    Part,
    /// The opening of a template that exists; it serves the recess
    Template,
    /// A recess that is there; only the inlay is made
    Recess,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum WriteUnit {
    Mm,
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
    /// The pair that does best on the drawing
    Auto,
}

#[derive(Debug, Args)]
pub struct CommonArgs {
    /// The outline, as SVG or DXF; or a file NAME.toml with the drawing and the settings
    #[arg(required = true, value_name = "DRAWING or JOB.toml")]
    pub drawing: Vec<PathBuf>,

    /// What the drawing shows, if it is not the outline of the joint but something in hand
    #[arg(long, value_enum, help_heading = "Starting from something in hand",
          conflicts_with_all = ["plug", "suggest", "corners", "ease_inside", "ease_outside", "turn", "setup"])]
    pub from: Option<StartArg>,

    /// Outside diameter of the guide bush (guide bushing)
    #[arg(
        long,
        alias = "bushing",
        value_name = "LENGTH",
        default_value = "20",
        allow_negative_numbers = true,
        help_heading = "Tools"
    )]
    pub bush: String,
    /// Diameter of the cutter (bit)
    #[arg(
        long,
        alias = "bit",
        value_name = "LENGTH",
        default_value = "6",
        allow_negative_numbers = true,
        help_heading = "Tools"
    )]
    pub cutter: String,
    /// Your kit of bushes and cutters; or metric or inch for a general one [default: the nearest letin.toml]
    #[arg(long, value_name = "FILE", help_heading = "Tools")]
    pub kit: Option<PathBuf>,
    /// Take the tools of the kit that let one opening serve both pieces
    #[arg(long, value_enum, value_name = "auto", help_heading = "Tools",
          conflicts_with_all = ["bush", "cutter", "inlay_bush", "inlay_cutter"])]
    pub pair: Option<PairArg>,
    /// Try the other tools of the kit on this drawing, and say which would do better
    #[arg(long, help_heading = "Tools")]
    pub suggest: bool,
    /// Bush for the inlay, or to go round the part in hand, if it is another
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Tools")]
    pub inlay_bush: Option<String>,
    /// Cutter for the inlay, or to go round the part in hand, if it is another
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Tools")]
    pub inlay_cutter: Option<String>,
    /// How much smaller than its recess the inlay is made, per side
    #[arg(long, value_name = "LENGTH", default_value = "0.05", allow_negative_numbers = true, help_heading = "Tools")]
    pub gap: String,

    /// The plug of a shouldered piece: an id, layer or number of `letin outlines` (may be given again, or name several)
    #[arg(long, value_name = "NAME", requires = "shoulder", conflicts_with_all = ["only", "suggest"],
          help_heading = "Shouldered piece")]
    pub plug: Vec<String>,
    /// Its shoulder; each plug has to lie in one of its own
    #[arg(long, value_name = "NAME", requires = "plug", help_heading = "Shouldered piece")]
    pub shoulder: Vec<String>,
    /// How much smaller than its hole the plug is made, per side [default: 0.25]
    #[arg(
        long,
        value_name = "LENGTH",
        requires = "plug",
        allow_negative_numbers = true,
        help_heading = "Shouldered piece"
    )]
    pub plug_gap: Option<String>,
    /// How far the plug stands out from the shoulder
    #[arg(
        long,
        value_name = "LENGTH",
        requires = "plug",
        allow_negative_numbers = true,
        help_heading = "Shouldered piece"
    )]
    pub plug_height: Option<String>,

    /// Thickness of the board
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Wood")]
    pub board: Option<String>,
    /// Thickness of the wood for the inlay
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Wood")]
    pub stock: Option<String>,
    /// Depth of the recess, or of a shouldered piece's rebate [default for that: as the shoulder is thick]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Wood")]
    pub recess_depth: Option<String>,
    /// How deep a pass is taken [default: half the cutter's diameter]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Wood")]
    pub pass_depth: Option<String>,
    /// Species of the inlay, to be told how it moves: black walnut, red oak, sugar maple, white ash
    #[arg(long, value_name = "NAME", requires = "moisture_change", help_heading = "Wood")]
    pub species: Option<String>,
    /// By how many per cent its moisture content changes from season to season
    #[arg(long, value_name = "PERCENT", requires = "species", allow_negative_numbers = true, help_heading = "Wood")]
    pub moisture_change: Option<String>,

    /// How corners are made that the tools cannot follow
    #[arg(long, value_enum, default_value = "ease", help_heading = "Making")]
    pub corners: CornersArg,
    /// Round inside corners by so much more than the cutter's radius [default: 0.5]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Making")]
    pub ease_inside: Option<String>,
    /// Round outside corners by so much more than the offset [default: 1]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Making")]
    pub ease_outside: Option<String>,
    /// Refuse places where a piece lies farther off the drawing than this
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Making")]
    pub within: Option<String>,
    /// Radius of the router's base [default: your kit's, else 75]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Making")]
    pub base: Option<String>,
    /// Thickness of the template [default: the first of your kit's stock, else 9]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Making")]
    pub template_thickness: Option<String>,
    /// How far the guide bush stands out below the base [default: what your kit says]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Making")]
    pub projection: Option<String>,
    /// Diameter of the cutter that cuts the template [default: the first of your kit's template cutters, else 6]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Making")]
    pub template_cutter: Option<String>,
    /// Least template between openings and to the edges [default: 6, or the thickness if that is more]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Making")]
    pub web: Option<String>,
    /// Where the middle of the outlines lies from the panel's bottom left corner
    #[arg(long, value_name = "XxY", allow_hyphen_values = true, help_heading = "Making")]
    pub at: Option<String>,
    /// How the panel is turned between its two faces
    #[arg(long, value_enum, default_value = "left-right", help_heading = "Making")]
    pub turn: TurnArg,
    /// In how many set-ups the machine cuts a panel that is turned
    #[arg(long, value_enum, default_value = "two", help_heading = "Making")]
    pub setup: SetupArg,
    /// Largest panel that the machine takes
    #[arg(long, value_name = "WxH", allow_hyphen_values = true, help_heading = "Making")]
    pub bed: Option<String>,
    /// Size of the panel
    #[arg(long, value_name = "WxH", allow_hyphen_values = true, help_heading = "Making")]
    pub panel: Option<String>,

    #[command(flatten)]
    pub reading: ReadingArgs,
    #[command(flatten)]
    pub choice: ChoiceArgs,
    /// Print the verdict as JSON
    #[arg(long, help_heading = "Answer")]
    pub json: bool,
    /// List every error, warning and note by itself
    #[arg(long, help_heading = "Answer")]
    pub all: bool,
    /// Print everything: all findings, reasons, set-up errors, what changes the gap
    #[arg(long, help_heading = "Answer")]
    pub full: bool,
    /// Unit of the figures for you [default: inches where drawing or kit has them, else mm]
    #[arg(long, value_enum, help_heading = "Answer")]
    pub show: Option<ShowArg>,
    /// Go on in spite of this error, with what is left (may be given again)
    #[arg(long, value_name = "CODE", help_heading = "Answer")]
    pub accept: Vec<String>,
    /// From which severity on the exit status is 1 [default: error for make, warning for check]
    #[arg(long, value_enum, help_heading = "Answer")]
    pub fail_on: Option<FailOn>,
}
