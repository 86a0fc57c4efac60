//! The definition of the command line: commands, options, values as text, and help. [`super::convert`] gives them meaning.

mod job;
#[cfg(test)]
mod tests;

pub use job::*;

use clap::{Args, Parser, Subcommand, ValueEnum};
use std::path::{Path, PathBuf};

/// Makes router templates for inlaying wood: checks an outline, works out the openings, proves them.
#[derive(Debug, Parser)]
#[command(
    name = "letin",
    version,
    subcommand_required = true,
    arg_required_else_help = true,
    max_term_width = 100,
    after_help = "\
Examples:
  letin key.svg                    Bush 20, cutter 6; files into key-letin beside the drawing
  letin make tray.dxf --bush 5/8in --cutter 1/4in --unit in
  letin check tray.dxf --corners square
  letin make tray.toml             Drawing and settings from a file; --write-job writes one

Lengths: 6   6.35   6,35   6mm   0.25in   1/4in   \"1 1/4in\"
  A bare number is in millimetres.
Spellings: --bushing and --bit for --bush and --cutter. center and meter are taken too.
Exit status: 0 no problem. 1 problems found: any error; for check also any warning. 2 no answer.
  --fail-on changes this."
)]
pub struct Cli {
    #[command(subcommand)]
    pub command: Command,
}

#[derive(Debug, Subcommand)]
#[allow(clippy::large_enum_variant, reason = "one value, made once")]
pub enum Command {
    #[command(flatten)]
    Job(JobCommand),
    /// List what a drawing holds: lines with sizes and names, and what was left out
    Outlines(OutlinesArgs),
    /// Read written files again and prove them against NAME.json
    Prove(ProveArgs),
    /// Explain an error, warning or note: what it means, why it matters, what to do
    Explain(ExplainArgs),
    /// List how far outside the outline an opening lies, for each bush with each cutter
    #[command(after_help = "\
One opening for both: recess and inlay are routed through the same opening of the template.
Two pairs of bush and cutter make that possible. Pair 1 routs the recess, pair 2 the inlay.")]
    Offsets(OffsetsArgs),
    /// Write a test-piece template; from its measured pieces, correct the kit
    Testpiece(TestpieceArgs),
    /// Write a drawing of a plain shape by size
    Shape(ShapeArgs),
    /// Plan bow-tie keys for a split by common practice, and write their drawing
    Keys(KeysArgs),
}

/// The commands that take a drawing and make templates for it.
#[derive(Debug, Subcommand)]
pub enum JobCommand {
    /// Check a drawing, work out the openings, and write the files (also: letin DRAWING)
    Make(MakeArgs),
    /// Check a drawing and write nothing: list its errors, warnings and notes
    Check(CheckArgs),
}

impl JobCommand {
    /// The options of both commands.
    pub fn common(&self) -> &CommonArgs {
        match self {
            JobCommand::Make(m) => &m.common,
            JobCommand::Check(c) => &c.common,
        }
    }

    /// The job file to write.
    pub fn write_job(&self) -> Option<&Path> {
        match self {
            JobCommand::Make(m) => m.write_job.as_deref(),
            JobCommand::Check(_) => None,
        }
    }
}

#[derive(Debug, Args)]
pub struct ProveArgs {
    /// The folder of the files
    pub folder: PathBuf,
    /// Print the answer as JSON
    #[arg(long)]
    pub json: bool,
    /// Least severity that gives exit status 1
    #[arg(long, value_enum, value_name = "LEVEL", default_value = "error")]
    pub fail_on: FailOn,
}

#[derive(Debug, Args)]
pub struct ExplainArgs {
    /// Code of an error, warning or note, such as neck [default: list them all]
    pub code: Option<String>,
    /// Print the answer as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct OffsetsArgs {
    /// File with your tools, or the word metric or inch [default: nearest letin.toml]
    #[arg(long, value_name = "FILE")]
    pub kit: Option<PathBuf>,
    /// Gap per side to aim for between recess and inlay
    #[arg(long, value_name = "LENGTH", default_value = "0.05", allow_negative_numbers = true)]
    pub gap: String,
    /// List shared openings up to this gap per side [default: 0.15]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true)]
    pub gap_most: Option<String>,
    /// Write the table as a page to print
    #[arg(long, value_name = "FILE")]
    pub html: Option<PathBuf>,
    /// Replace an existing page (never a kit or NAME.json)
    #[arg(long)]
    pub force: bool,
    /// Print the answer as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum KindArg {
    /// A circle; SIZE is the diameter
    Disc,
    /// An ellipse; SIZE is length x width
    Oval,
    /// A diamond; SIZE is length x width, from corner to corner
    Lozenge,
    /// SIZE is length x width; --corner rounds the corners
    Rectangle,
    /// Regular, with --sides; SIZE is the diameter of the circle through its corners
    Polygon,
    /// SIZE is length x width at the ends; --waist is the width in the middle
    BowTie,
}

#[derive(Debug, Args)]
pub struct ShapeArgs {
    /// Kind of shape
    #[arg(value_enum)]
    pub kind: KindArg,
    /// Its size: 60, or 80x50
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
    /// The drawing, NAME.svg or NAME.dxf [default: shape and size, as SVG, in this folder]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace an existing file
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
    /// Number of keys [default: by common practice]
    #[arg(long, value_name = "NUMBER", allow_negative_numbers = true)]
    pub count: Option<String>,
    /// Diameter of the cutter for the recesses (US: bit)
    #[arg(long, alias = "bit", value_name = "LENGTH", default_value = "6", allow_negative_numbers = true)]
    pub cutter: String,
    /// The drawing, NAME.svg or NAME.dxf [default: keys and sizes, as SVG, in this folder]
    #[arg(long, value_name = "FILE")]
    pub out: Option<PathBuf>,
    /// Replace an existing file
    #[arg(long)]
    pub force: bool,
    /// Print the keys as JSON
    #[arg(long)]
    pub json: bool,
}

#[derive(Debug, Args)]
pub struct TestpieceArgs {
    /// Nominal outside diameter of the guide bush (US: guide bushing)
    #[arg(long, alias = "bushing", value_name = "LENGTH", default_value = "20", allow_negative_numbers = true)]
    pub bush: String,
    /// Nominal diameter of the cutter (US: bit)
    #[arg(long, alias = "bit", value_name = "LENGTH", default_value = "6", allow_negative_numbers = true)]
    pub cutter: String,
    /// The kit to correct; made if missing [default: the nearest letin.toml]
    #[arg(long, value_name = "FILE")]
    pub kit: Option<PathBuf>,
    /// Measured recess and inlay from one opening: 46.07x34.19 (may be given several times)
    #[arg(long, value_name = "RECESSxINLAY", allow_hyphen_values = true)]
    pub measured: Vec<String>,
    /// Measured size of the opening (may be given several times) [default: as drawn]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true)]
    pub opening: Vec<String>,
    /// Radius of the router's base [default: from your kit, else 75]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true)]
    pub base: Option<String>,
    /// Folder for the files [default: testpiece-letin]
    #[arg(long, value_name = "DIR")]
    pub out: Option<PathBuf>,
    /// Replace files that letin did not make
    #[arg(long)]
    pub force: bool,
    /// List the files and write nothing
    #[arg(long)]
    pub dry_run: bool,
    /// Print the answer as JSON
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
    #[value(aliases = ["millimetre", "millimetres", "millimeter", "millimeters"])]
    Mm,
    #[value(aliases = ["inch", "inches"])]
    In,
}

/// How to read a drawing.
#[derive(Debug, Args)]
pub struct ReadingArgs {
    /// Use the mirror image: the drawing shows the back of the work
    #[arg(long, help_heading = "Reading the drawing")]
    pub mirror: bool,

    /// Unit of the drawing, whatever the file states: mm, cm, m, in, ft, px, pt, pc or Q
    #[arg(long, value_name = "UNIT", help_heading = "Reading the drawing")]
    pub unit: Option<String>,
    /// Pixels per inch of an SVG file without a unit [default: 96]
    #[arg(long, value_name = "NUMBER", allow_negative_numbers = true, help_heading = "Reading the drawing")]
    pub dpi: Option<String>,
    /// Join line ends that lie no farther apart than this [default: 0.05]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Reading the drawing")]
    pub join: Option<String>,
    /// Scale the drawing to this width, whatever the file states
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, help_heading = "Reading the drawing")]
    pub width: Option<String>,
    /// What counts as the outline of an SVG stroke without a fill
    #[arg(long, value_enum, default_value = "centre", help_heading = "Reading the drawing")]
    pub stroke: StrokeArg,
    /// Text in an SVG drawing
    #[arg(long, value_enum, default_value = "leave", help_heading = "Reading the drawing")]
    pub text: TextArg,
}

/// Which lines of the drawing to use.
#[derive(Debug, Args)]
pub struct ChoiceArgs {
    /// Use only lines with this id, layer, label, colour or number (may be given several times)
    #[arg(long, value_name = "NAME", help_heading = "Reading the drawing")]
    pub only: Vec<String>,
    /// Leave out lines with this id, layer, label, colour or number (may be given several times)
    #[arg(long, value_name = "NAME", help_heading = "Reading the drawing")]
    pub skip: Vec<String>,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum StrokeArg {
    /// The middle of the stroke
    #[value(alias = "center")]
    Centre,
    /// Both edges of the stroke, which becomes a band
    Outline,
}

#[derive(Clone, Copy, Debug, PartialEq, Eq, ValueEnum)]
pub enum TextArg {
    /// Left out, with a note
    Leave,
    /// Letters become outlines, with the fonts of this computer
    Outline,
}

#[derive(Debug, Args)]
pub struct OutlinesArgs {
    /// The drawing, as SVG or DXF
    pub drawing: PathBuf,
    #[command(flatten)]
    pub reading: ReadingArgs,
    /// Draw the lines with their numbers into this SVG file
    #[arg(long, value_name = "FILE", help_heading = "Files")]
    pub picture: Option<PathBuf>,
    /// Replace an existing picture (never the drawing, a kit or NAME.json)
    #[arg(long, help_heading = "Files")]
    pub force: bool,
    /// Print the list as JSON
    #[arg(long, help_heading = "Report")]
    pub json: bool,
    /// List every line, error, warning and note
    #[arg(long, help_heading = "Report")]
    pub all: bool,
    /// Unit of the figures [default: inches where the drawing has them, else mm]
    #[arg(long, value_enum, help_heading = "Report")]
    pub show: Option<ShowArg>,
}
