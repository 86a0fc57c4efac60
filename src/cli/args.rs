//! What can be typed. Only names, values as text, and help; meaning is given in [`super::convert`].

mod job;

pub use job::*;

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::{Path, PathBuf};

/// Works out, checks and proves the template openings for inlaying wood in wood with a router and guide bush.
#[derive(Debug, Parser)]
#[command(
    name = "letin",
    version,
    subcommand_required = true,
    arg_required_else_help = true,
    after_help = "\
Examples:
  letin key.svg                            bush 20, cutter 6; files into key-letin beside the drawing
  letin make hatch.dxf --bush 5/8in --cutter 1/4in --unit in
  letin check sole-board.svg --corners square --json
  letin make hatch.toml                    drawing and settings in one file; --write-job makes one

Lengths: 6, 6.35, 6,35, 6mm, 0.25in, 1/4in, 1 1/4in (in quotation marks where there is a space).
Exit status: 0 nothing stands against it, 1 something was found, 2 no verdict; also 2 where the answer cannot be
written to standard output (a full disk; a closed pipe, of which nothing is said)."
)]
pub struct Cli {
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Debug, Subcommand)]
#[allow(clippy::large_enum_variant, reason = "there is one of it, made once")]
pub enum Command {
    #[command(flatten)]
    Job(JobCommand),
    /// Lists what a drawing holds: lines with sizes and names, and what was not read
    Outlines(OutlinesArgs),
    /// Reads written files again and proves them against their document
    Prove(ProveArgs),
    /// Tells what a finding means, why it matters and what to do; without a code, lists them all
    Explain(ExplainArgs),
    /// Lists the offset of every bush with every cutter of the kit, and which tools let one opening serve both pieces
    Offsets(OffsetsArgs),
    /// Writes the template of a test piece; with --measured, works out bush and cutter and corrects the kit
    Testpiece(TestpieceArgs),
    /// Writes a plain outline of a given size as a drawing
    Shape(ShapeArgs),
    /// Works out bow-tie keys for a split, by common practice, and writes them as a drawing
    Keys(KeysArgs),
}

/// The commands that look at a drawing.
#[derive(Debug, Subcommand)]
pub enum JobCommand {
    /// Reads and checks a drawing, works out the openings, and writes the files (also: letin DRAWING)
    Make(MakeArgs),
    /// The same without writing: prints the findings
    Check(CheckArgs),
}

impl JobCommand {
    /// What both commands have.
    pub fn common(&self) -> &CommonArgs {
        match self {
            JobCommand::Make(m) => &m.common,
            JobCommand::Check(c) => &c.common,
        }
    }

    /// Where the settings are to be saved.
    pub fn write_job(&self) -> Option<&Path> {
        match self {
            JobCommand::Make(m) => m.write_job.as_deref(),
            JobCommand::Check(_) => None,
        }
    }
}

#[derive(Debug, Args)]
pub struct ProveArgs {
    /// The folder that the files were written into
    pub folder: PathBuf,
    /// Print it as JSON
    #[arg(long)]
    pub json: bool,
    /// Findings from this level on give exit status 1
    #[arg(long, value_enum, value_name = "LEVEL", default_value = "error")]
    pub fail_on: FailOn,
}

#[derive(Debug, Args)]
pub struct ExplainArgs {
    /// The word in brackets of a finding, such as neck
    pub code: Option<String>,
    /// Print it as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct OffsetsArgs {
    /// Your kit of bushes and cutters; or metric or inch for a general one [default: the nearest letin.toml]
    #[arg(long, value_name = "FILE")]
    pub kit: Option<PathBuf>,
    /// Gap wanted between recess and inlay, per side
    #[arg(long, value_name = "LENGTH", default_value = "0.05", allow_negative_numbers = true)]
    pub gap: String,
    /// Widest gap that will do for tools with one opening [default: 0.15]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true)]
    pub gap_most: Option<String>,
    /// Also write the table as a page to print
    #[arg(long, value_name = "FILE")]
    pub html: Option<PathBuf>,
    /// Replace that page if there is one (never a kit or a document NAME.json)
    #[arg(long)]
    pub force: bool,
    /// Print it as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum KindArg {
    /// SIZE is the diameter
    Disc,
    /// An ellipse; SIZE is length x width
    Oval,
    /// SIZE is length x width, from corner to corner
    Lozenge,
    /// SIZE is length x width; --corner rounds it
    Rectangle,
    /// Regular, of so many --sides; SIZE is the diameter of the circle through its corners
    Polygon,
    /// SIZE is length x width at the ends; --waist is its width in the middle
    BowTie,
}

#[derive(Debug, Args)]
pub struct ShapeArgs {
    /// What it is
    #[arg(value_enum)]
    pub kind: KindArg,
    /// How large it is: 60, or 80x50
    #[arg(value_name = "SIZE", allow_hyphen_values = true)]
    pub size: String,
    /// Radius of a rectangle's corners [default: 0, sharp]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true)]
    pub corner: Option<String>,
    /// Number of a polygon's sides
    #[arg(long, value_name = "NUMBER", allow_negative_numbers = true)]
    pub sides: Option<String>,
    /// Width of a bow-tie in the middle [default: half of its width]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true)]
    pub waist: Option<String>,
    /// The drawing, NAME.svg or NAME.dxf [default: kind and sizes, as SVG, in this folder]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace a file that is there already
    #[arg(long)]
    pub force: bool,
}

#[derive(Debug, Args)]
pub struct KeysArgs {
    /// Length of the split
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true)]
    pub length: String,
    /// Thickness of the board
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true)]
    pub board: String,
    /// Number of keys [default: as many as common practice has]
    #[arg(long, value_name = "NUMBER", allow_negative_numbers = true)]
    pub count: Option<String>,
    /// Diameter of the cutter that the keys must suit
    #[arg(long, value_name = "LENGTH", default_value = "6", allow_negative_numbers = true)]
    pub cutter: String,
    /// The drawing, NAME.svg or NAME.dxf [default: keys and sizes, as SVG, in this folder]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace a file that is there already
    #[arg(long)]
    pub force: bool,
    /// Print the keys as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct TestpieceArgs {
    /// Outside diameter of the guide bush, as it is called
    #[arg(long, value_name = "LENGTH", default_value = "20", allow_negative_numbers = true)]
    pub bush: String,
    /// Diameter of the cutter, as it is called
    #[arg(long, value_name = "LENGTH", default_value = "6", allow_negative_numbers = true)]
    pub cutter: String,
    /// Your kit of bushes and cutters, to be corrected; made if it is not there [default: the nearest letin.toml]
    #[arg(long, value_name = "FILE")]
    pub kit: Option<PathBuf>,
    /// Widths of recess and inlay routed through the same opening, such as 46.07x34.19 (may be given again)
    #[arg(long, value_name = "RECESSxINLAY", allow_hyphen_values = true)]
    pub measured: Vec<String>,
    /// Size of the opening as measured [default: as drawn] (may be given again)
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true)]
    pub opening: Vec<String>,
    /// Radius of the router's base [default: your kit's, else 75]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true)]
    pub base: Option<String>,
    /// Folder for the files; testpiece-letin unless given
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Replace files that this program did not make
    #[arg(long)]
    pub force: bool,
    /// Only tell what would be written
    #[arg(long)]
    pub dry_run: bool,
    /// Print it as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum FailOn {
    Error,
    Warning,
    Never,
}

/// The unit of figures for people.
#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum ShowArg {
    Mm,
    In,
}

/// How a drawing is read.
#[derive(Debug, Args)]
pub struct ReadingArgs {
    /// The drawing shows the back of the work: make its mirror image
    #[arg(long, help_heading = "Reading")]
    pub mirror: bool,

    /// The drawing's unit, whatever the file says: mm, cm, m, in, ft, px, pt, pc or Q
    #[arg(long, value_name = "UNIT", help_heading = "Reading")]
    pub unit: Option<String>,
    /// Pixels an inch of an SVG file without a unit [default: 96]
    #[arg(long, value_name = "NUMBER", allow_negative_numbers = true, help_heading = "Reading")]
    pub dpi: Option<String>,
    /// Join ends of lines that lie this near to each other [default: 0.05]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Reading")]
    pub join: Option<String>,
    /// Make all that is drawn so wide, whatever the file says
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Reading")]
    pub width: Option<String>,
    /// What strokes without a fill stand for in SVG
    #[arg(long, value_enum, default_value = "centre", help_heading = "Reading")]
    pub stroke: StrokeArg,
    /// What becomes of text in SVG
    #[arg(long, value_enum, default_value = "leave", help_heading = "Reading")]
    pub text: TextArg,
}

/// What of it counts.
#[derive(Debug, Args)]
pub struct ChoiceArgs {
    /// Only what has this id, layer, label, colour or number (may be given again)
    #[arg(long, value_name = "NAME", help_heading = "Reading")]
    pub only: Vec<String>,
    /// Not what has this id, layer, label, colour or number (may be given again)
    #[arg(long, value_name = "NAME", help_heading = "Reading")]
    pub skip: Vec<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum StrokeArg {
    /// Their middle is the outline
    Centre,
    /// Their edges are: a wide stroke is a band
    Outline,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum TextArg {
    /// Left out, and told
    Leave,
    /// Letters become outlines, by the fonts of this computer
    Outline,
}

#[derive(Debug, Args)]
pub struct OutlinesArgs {
    /// The drawing, as SVG or DXF
    pub drawing: PathBuf,
    #[command(flatten)]
    pub reading: ReadingArgs,
    /// Draw them with their numbers into this SVG file
    #[arg(long, value_name = "FILE", help_heading = "Answer")]
    pub picture: Option<PathBuf>,
    /// Replace that file if there is one (never the drawing, a kit or a document NAME.json)
    #[arg(long, help_heading = "Answer")]
    pub force: bool,
    /// Print the list as JSON
    #[arg(long, help_heading = "Answer")]
    pub json: bool,
    /// List every line and every finding
    #[arg(long, help_heading = "Answer")]
    pub all: bool,
    /// Unit of the figures for you [default: inches where the drawing has them, else mm]
    #[arg(long, value_enum, help_heading = "Answer")]
    pub show: Option<ShowArg>,
}
