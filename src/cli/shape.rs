//! `letin shape` and `letin keys`.
//!
//! In: the options as text. Out: a drawing, words or JSON about it, an exit status. Only `--force` replaces an existing
//! file.

use super::args::{KeysArgs, KindArg, ShapeArgs};
use super::convert::UsageError;
use super::ranges::{length, pair, whole};
use super::watch::watched;
use super::{ExitStatus, no_verdict, no_verdict_from, stdout};
use crate::app::{AppError, Out, WRITING, save};
use crate::budget::Budget;
use crate::report::keys as report;
use crate::shape::keys::{Keys, KeysError, MOST as MOST_KEYS, Split};
use crate::shape::{Drawing, MOST_SIDES, Shape, ShapeError};
use crate::text::terminal as safe;
use crate::write;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// The error of a command that writes a drawing.
#[derive(Debug, thiserror::Error)]
enum Trouble {
    #[error(transparent)]
    Usage(#[from] UsageError),
    #[error(transparent)]
    Shape(#[from] ShapeError),
    #[error(transparent)]
    Keys(#[from] KeysError),
    #[error(transparent)]
    App(#[from] AppError),
}

fn value(option: &'static str, text: &str, why: impl ToString) -> UsageError {
    UsageError::Value { option, value: text.to_owned(), why: why.to_string() }
}

fn answer(result: Result<Vec<u8>, Trouble>, json: bool) -> ExitStatus {
    match result {
        Ok(bytes) => stdout::answer(&bytes, ExitStatus::Clean),
        Err(Trouble::App(e)) => no_verdict_from(&e, json),
        Err(Trouble::Usage(e)) => no_verdict("usage", &e.to_string(), e.help().as_deref(), json),
        Err(Trouble::Keys(e)) => no_verdict("usage", &e.to_string(), Some(help_of_keys(&e)), json),
        Err(Trouble::Shape(e)) => no_verdict("usage", &e.to_string(), Some(help_of_shape(&e)), json),
    }
}

/// What to type instead.
fn help_of_keys(e: &KeysError) -> &'static str {
    match e {
        KeysError::NoSize { .. } => "For example: letin keys --length 600 --board 30",
        KeysError::Count(_) => "Give another --count, or leave it out.",
        KeysError::TooMany { .. } => "Give a smaller --count, or leave it out.",
        KeysError::Short { .. } => "Check --length, --board and --cutter. A smaller cutter allows a smaller key.",
        KeysError::TooLong { .. } => "Give --count, or plan the split in parts.",
    }
}

/// What to type instead.
fn help_of_shape(e: &ShapeError) -> &'static str {
    match e {
        ShapeError::NoSize { .. } => "For example: letin shape rectangle 80x50",
        ShapeError::Corner { .. } => "Give a smaller --corner.",
        ShapeError::Sides(_) => "For example: letin shape polygon 60 --sides 6",
        ShapeError::Waist { .. } => "Give a smaller --waist, or leave it out.",
    }
}

/// Writes the drawing in the format of the name's ending.
fn write_drawing(drawing: &Drawing, path: &Path, force: bool, budget: &Budget) -> Result<(), Trouble> {
    let ending = path.extension().and_then(|e| e.to_str()).map(str::to_ascii_lowercase);
    let bytes = match ending.as_deref() {
        Some("svg") => write::outlines::svg(drawing).map(String::into_bytes),
        Some("dxf") => write::dxf::outlines(drawing),
        _ => {
            let why = "the name must end in .svg or .dxf, which chooses the format";
            return Err(value("out", &safe(&path.to_string_lossy()), why).into());
        }
    };
    budget.check().map_err(AppError::from)?;
    budget.enter(WRITING);
    save(path, &bytes.map_err(AppError::from)?, &[], &Out::plain(None, force, false))?;
    let _ = writeln!(io::stderr(), "written: {}", safe(&path.to_string_lossy()));
    Ok(())
}

fn place(asked: Option<&PathBuf>, stem: &str) -> PathBuf {
    asked.cloned().unwrap_or_else(|| PathBuf::from(format!("{stem}.svg")))
}

pub(super) fn shape(args: &ShapeArgs) -> ExitStatus {
    answer(watched(|budget| shape_of(args, budget)), false)
}

fn shape_of(args: &ShapeArgs, budget: &Budget) -> Result<Vec<u8>, Trouble> {
    let shape = asked_for(args)?;
    let drawing = shape.drawing()?;
    let path = place(args.out.as_ref(), &shape.file_stem());
    write_drawing(&drawing, &path, args.force, budget)?;
    Ok(format!("{}\nNext: letin make {}\n", drawing.about, safe(&path.to_string_lossy())).into_bytes())
}

/// The shape of the arguments. Refuses an option that the shape does not have.
fn asked_for(args: &ShapeArgs) -> Result<Shape, UsageError> {
    let of = [
        ("corner", &args.corner, KindArg::Rectangle, "a rectangle"),
        ("sides", &args.sides, KindArg::Polygon, "a polygon"),
        ("waist", &args.waist, KindArg::BowTie, "a bow-tie"),
    ];
    for (option, given, kind, name) in of {
        if let Some(text) = given
            && args.kind != kind
        {
            return Err(value(option, text, format!("only {name} has this option")));
        }
    }
    let pair = || pair("SIZE", &args.size);
    let one = || length("SIZE", &args.size);
    Ok(match args.kind {
        KindArg::Disc => Shape::Disc { diameter: one()? },
        KindArg::Oval => pair().map(|(length, width)| Shape::Oval { length, width })?,
        KindArg::Lozenge => pair().map(|(length, width)| Shape::Lozenge { length, width })?,
        KindArg::Rectangle => {
            let (l, width) = pair()?;
            let corner = args.corner.as_deref().map_or(Ok(0.0), |t| length("corner", t))?;
            Shape::Rectangle { length: l, width, corner }
        }
        KindArg::Polygon => {
            let Some(sides) = &args.sides else {
                return Err(value("sides", "", "a polygon needs its number of sides, such as --sides 6"));
            };
            Shape::Polygon { sides: whole("sides", sides, 3, MOST_SIDES)?, across: one()? }
        }
        KindArg::BowTie => {
            let (l, width) = pair()?;
            let waist = args.waist.as_deref().map_or(Ok(width / 2.0), |t| length("waist", t))?;
            Shape::BowTie { length: l, width, waist }
        }
    })
}

pub(super) fn keys(args: &KeysArgs) -> ExitStatus {
    answer(watched(|budget| keys_of(args, budget)), args.json)
}

fn keys_of(args: &KeysArgs, budget: &Budget) -> Result<Vec<u8>, Trouble> {
    let keys = Keys::plan(Split {
        length: length("length", &args.length)?,
        board: length("board", &args.board)?,
        cutter: length("cutter", &args.cutter)?,
        count: args.count.as_deref().map(|t| whole("count", t, 1, MOST_KEYS)).transpose()?,
    })?;
    let path = place(args.out.as_ref(), &keys.file_stem());
    // Before the drawing is written: an error here leaves no file.
    let name = path.to_string_lossy();
    let words = if args.json {
        report::json(&keys, &name).map_err(AppError::from)?
    } else {
        report::terminal(&keys, &name).into_bytes()
    };
    write_drawing(&keys.drawing(), &path, args.force, budget)?;
    Ok(words)
}
