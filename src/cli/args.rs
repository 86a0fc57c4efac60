//! The definition of the command line: commands, and of each option the name, the help, the type and the bounds.

mod job;
#[cfg(test)]
mod tests;

pub use job::*;

use super::values::{Range, Size, choice, length, mm, number, pair, size, unit, whole};
use crate::check::Severity;
use crate::drawing::{Strokes, Texts};
use crate::shape::keys::MOST as MOST_KEYS;
use crate::shape::{MOST_SIDES, Shape};
use crate::text::Show;
use crate::units::{Length, Unit};
use clap::builder::TypedValueParser;
use clap::{Args, Parser, Subcommand};
use std::path::PathBuf;

/// The key that names the drawing; on the command line the drawing is a positional argument.
pub(super) const DRAWING: &str = "drawing";

// Bounds that several options share, mm.
const BUSH: Range = Range(1.0, 200.0, "20, 20mm or 3/4in");
const CUTTER: Range = Range(0.1, 100.0, "6, 6mm or 1/4in");
pub const GAP: Range = Range(0.0, 10.0, "0.05");
const WIDE_GAP: Range = Range(0.0, 10.0, "0.25");
const BASE: Range = Range(1.0, 1000.0, "75 or 3in: the radius of the router's base");
const THICKNESS: Range = Range(0.1, 1000.0, "20, 20mm or 3/4in");
const DEPTH: Range = Range(0.1, 1000.0, "6, 6mm or 1/4in");
const MARGIN: Range = Range(0.0, 1000.0, "0.5");
const PANEL: Range = Range(1.0, 10_000.0, "400x250 or 16x10in");
/// Pixels per inch; no real file lies outside.
const DPI: Range = Range(1.0, 100_000.0, "96");
const SIZE: Range = Range(0.1, 10_000.0, "80, 80mm or 3 1/4in in quotation marks");

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
    /// Check a drawing, work out the openings, and write the files (also: letin DRAWING)
    Make(MakeArgs),
    /// Check a drawing and write nothing: list its errors, warnings and notes
    Check(CheckArgs),
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

#[derive(Debug, Args)]
pub struct ProveArgs {
    /// The folder of the files
    pub folder: PathBuf,
    /// Print the answer as JSON
    #[arg(long)]
    pub json: bool,
    /// Least severity that gives exit status 1
    #[arg(long, value_name = "LEVEL", default_value = "error", value_parser = FailOn::parser())]
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
    #[arg(long, value_name = "LENGTH", default_value = GAP.2, allow_negative_numbers = true, value_parser = mm(GAP))]
    pub gap: f64,
    /// List shared openings up to this gap per side [default: 0.15]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(WIDE_GAP))]
    pub gap_most: Option<f64>,
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

#[derive(Debug, Args)]
pub struct ShapeArgs {
    /// Kind of shape
    // The sizes here are empty: SIZE and the options give them.
    #[arg(value_parser = choice(Shape::kind, [
        (Shape::Disc { diameter: 0.0 }, "A circle; SIZE is the diameter"),
        (Shape::Oval { length: 0.0, width: 0.0 }, "An ellipse; SIZE is length x width"),
        (Shape::Lozenge { length: 0.0, width: 0.0 }, "A diamond; SIZE is length x width, from corner to corner"),
        (Shape::Rectangle { length: 0.0, width: 0.0, corner: 0.0 },
         "SIZE is length x width; --corner rounds the corners"),
        (Shape::Polygon { sides: 0, across: 0.0 },
         "Regular, with --sides; SIZE is the diameter of the circle through its corners"),
        (Shape::BowTie { length: 0.0, width: 0.0, waist: 0.0 },
         "SIZE is length x width at the ends; --waist is the width in the middle"),
    ]))]
    pub kind: Shape,
    /// Its size: 60, or 80x50
    #[arg(value_name = "SIZE", allow_hyphen_values = true, value_parser = size(Range(SIZE.0, SIZE.1, "60, 60mm or 80x50")))]
    pub size: Size,
    /// Radius of a rectangle's corners [default: 0, sharp]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(MARGIN))]
    pub corner: Option<f64>,
    /// Number of a polygon's sides
    #[arg(long, value_name = "NUMBER", allow_negative_numbers = true, value_parser = whole(3, MOST_SIDES, "6"))]
    pub sides: Option<u32>,
    /// Width of a bow-tie in the middle [default: half of its width]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(SIZE))]
    pub waist: Option<f64>,
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
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(SIZE))]
    pub length: f64,
    /// Thickness of the board
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(THICKNESS))]
    pub board: f64,
    /// Number of keys [default: by common practice]
    #[arg(long, value_name = "NUMBER", allow_negative_numbers = true, value_parser = whole(1, MOST_KEYS, "6"))]
    pub count: Option<u32>,
    /// Diameter of the cutter for the recesses (US: bit)
    #[arg(long, alias = "bit", value_name = "LENGTH", default_value = "6", allow_negative_numbers = true,
          value_parser = mm(CUTTER))]
    pub cutter: f64,
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
    #[arg(long, alias = "bushing", value_name = "LENGTH", default_value = "20", allow_negative_numbers = true,
          value_parser = mm(BUSH))]
    pub bush: f64,
    /// Nominal diameter of the cutter (US: bit)
    #[arg(long, alias = "bit", value_name = "LENGTH", default_value = "6", allow_negative_numbers = true,
          value_parser = mm(CUTTER))]
    pub cutter: f64,
    /// The kit to correct; made if missing [default: the nearest letin.toml]
    #[arg(long, value_name = "FILE")]
    pub kit: Option<PathBuf>,
    /// Measured recess and inlay from one opening: 46.07x34.19 (may be given several times)
    #[arg(long, value_name = "RECESSxINLAY", allow_hyphen_values = true, value_parser = pair(PANEL))]
    pub measured: Vec<(f64, f64)>,
    /// Measured size of the opening (may be given several times) [default: as drawn]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(Range(1.0, 10_000.0, SIZE.2)))]
    pub opening: Vec<f64>,
    /// Radius of the router's base [default: from your kit, else 75]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(BASE))]
    pub base: Option<f64>,
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

/// The least severity that counts; `None` for never.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct FailOn(pub Option<Severity>);

impl FailOn {
    /// Its values.
    fn parser() -> impl TypedValueParser<Value = FailOn> {
        let all = [Some(Severity::Error), Some(Severity::Warning), None];
        choice(|f: FailOn| f.0.map_or("never", Severity::name), all.map(|s| (FailOn(s), "")))
    }

    /// Whether `severity` counts.
    pub fn counts(self, severity: Severity) -> bool {
        self.0.is_some_and(|least| severity <= least)
    }
}

/// The unit of figures for people.
fn show() -> impl TypedValueParser<Value = Show> {
    choice(Show::symbol, [(Show::Mm, ""), (Show::Inch, "")])
}

/// How to read a drawing.
#[derive(Debug, Args)]
#[command(next_help_heading = "Reading the drawing")]
pub struct ReadingArgs {
    /// Use the mirror image: the drawing shows the back of the work
    #[arg(long)]
    pub mirror: bool,

    /// Unit of the drawing, whatever the file states: mm, cm, m, in, ft, px, pt, pc or Q
    #[arg(long, value_name = "UNIT", value_parser = unit)]
    pub unit: Option<Unit>,
    /// Pixels per inch of an SVG file without a unit [default: 96]
    #[arg(long, value_name = "NUMBER", allow_negative_numbers = true, value_parser = number(DPI))]
    pub dpi: Option<f64>,
    /// Join line ends that lie no farther apart than this [default: 0.05]
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = mm(Range(0.0, 1000.0, "0.05")))]
    pub join: Option<f64>,
    /// Scale the drawing to this width, whatever the file states
    #[arg(long, value_name = "LENGTH", allow_negative_numbers = true, value_parser = length(SIZE))]
    pub width: Option<Length>,
    /// What counts as the outline of an SVG stroke without a fill
    #[arg(long, default_value = "centre", value_parser = choice(Strokes::name, [
        (Strokes::Centre, "The middle of the stroke"),
        (Strokes::Outline, "Both edges of the stroke, which becomes a band"),
    ]))]
    pub stroke: Strokes,
    /// Text in an SVG drawing
    #[arg(long, default_value = "leave", value_parser = choice(Texts::name, [
        (Texts::Leave, "Left out, with a note"),
        (Texts::Outline, "Letters become outlines, with the fonts of this computer"),
    ]))]
    pub text: Texts,
}

/// Which lines of the drawing to use.
#[derive(Debug, Args)]
#[command(next_help_heading = "Reading the drawing")]
pub struct ChoiceArgs {
    /// Use only lines with this id, layer, label, colour or number (may be given several times)
    #[arg(long, value_name = "NAME")]
    pub only: Vec<String>,
    /// Leave out lines with this id, layer, label, colour or number (may be given several times)
    #[arg(long, value_name = "NAME")]
    pub skip: Vec<String>,
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
    #[arg(long, help_heading = "Report", value_parser = show())]
    pub show: Option<Show>,
}
