//! `letin shape` and `letin keys`.
//!
//! In: the options. Out: a drawing, words or JSON about it, an exit status. Only `--force` replaces an existing
//! file.

use super::ExitStatus;
use super::args::{KeysArgs, ShapeArgs};
use super::failure::{Failure, answer};
use super::values::Size;
use super::watch::watched;
use crate::app::{AppError, Out, WRITING, save};
use crate::budget::Budget;
use crate::report::keys as report;
use crate::shape::keys::{Keys, Split};
use crate::shape::{Drawing, Shape};
use crate::text::terminal as safe;
use crate::write;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Writes the drawing in the format of the name's ending.
fn write_drawing(drawing: &Drawing, path: &Path, force: bool, budget: &Budget) -> Result<(), Failure> {
    let ending = path.extension().and_then(|e| e.to_str()).map(str::to_ascii_lowercase);
    let bytes = match ending.as_deref() {
        Some("svg") => write::outlines::svg(drawing).map(String::into_bytes),
        Some("dxf") => write::dxf::outlines(drawing),
        _ => {
            let name = safe(&path.to_string_lossy());
            let why = format!("--out {name}: the name must end in .svg or .dxf, which chooses the format");
            return Err(Failure::usage(&["out"], why, "For example: --out shape.svg"));
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

fn shape_of(args: &ShapeArgs, budget: &Budget) -> Result<Vec<u8>, Failure> {
    let shape = asked_for(args)?;
    let drawing = shape.drawing()?;
    let path = place(args.out.as_ref(), &shape.file_stem());
    write_drawing(&drawing, &path, args.force, budget)?;
    Ok(format!("{}\nNext: letin make {}\n", drawing.about, safe(&path.to_string_lossy())).into_bytes())
}

/// The shape of the arguments. Refuses an option that the shape does not have.
fn asked_for(args: &ShapeArgs) -> Result<Shape, Failure> {
    let wrong = |why: &str, help: &str| Err(Failure::usage(&[], why, help));
    if args.corner.is_some() && !matches!(args.kind, Shape::Rectangle { .. }) {
        return wrong("only a rectangle has --corner", "Leave out --corner.");
    }
    if args.sides.is_some() && !matches!(args.kind, Shape::Polygon { .. }) {
        return wrong("only a polygon has --sides", "Leave out --sides.");
    }
    if args.waist.is_some() && !matches!(args.kind, Shape::BowTie { .. }) {
        return wrong("only a bow-tie has --waist", "Leave out --waist.");
    }
    Ok(match (args.kind, args.size) {
        (Shape::Disc { .. }, Size::One(diameter)) => Shape::Disc { diameter },
        (Shape::Polygon { .. }, Size::One(across)) => {
            let Some(sides) = args.sides else {
                let help = "For example: letin shape polygon 60 --sides 6";
                return wrong("a polygon needs its number of sides", help);
            };
            Shape::Polygon { sides, across }
        }
        (Shape::Oval { .. }, Size::Two(length, width)) => Shape::Oval { length, width },
        (Shape::Lozenge { .. }, Size::Two(length, width)) => Shape::Lozenge { length, width },
        (Shape::Rectangle { .. }, Size::Two(length, width)) => {
            Shape::Rectangle { length, width, corner: args.corner.unwrap_or(0.0) }
        }
        (Shape::BowTie { .. }, Size::Two(length, width)) => {
            Shape::BowTie { length, width, waist: args.waist.unwrap_or(width / 2.0) }
        }
        (kind, Size::One(_)) => {
            let why = format!("`letin shape {}` takes two lengths", kind.kind());
            return wrong(&why, "Write length and width, such as 80x50.");
        }
        (kind, Size::Two(..)) => {
            let why = format!("`letin shape {}` takes one length", kind.kind());
            return wrong(&why, "Write the diameter, such as 60.");
        }
    })
}

pub(super) fn keys(args: &KeysArgs) -> ExitStatus {
    answer(watched(|budget| keys_of(args, budget)), args.json)
}

fn keys_of(args: &KeysArgs, budget: &Budget) -> Result<Vec<u8>, Failure> {
    let keys = Keys::plan(Split { length: args.length, board: args.board, cutter: args.cutter, count: args.count })?;
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
