//! `letin offsets` and `letin testpiece`.
//!
//! In: the options. Out: the table, the files of the test piece, or the corrected kit; an exit status.

use super::ExitStatus;
use super::args::{CommonArgs, OffsetsArgs, TestpieceArgs};
use super::failure::{Failure, answer};
use super::jobfile::is_job_file;
use super::watch::watched;
use crate::app::kits::{ChosenKit, NAME, correct, load};
use crate::app::testpiece::{Order, make};
use crate::app::{AppError, Input, Out, WRITING, save};
use crate::budget::Budget;
use crate::kit::pairs::Bounds;
use crate::kit::testpiece::{Readings, opening, solve};
use crate::kit::{Figures, Pair, Tools, generic};
use crate::report::{offsets, testpiece};
use crate::tolerance::WIDE_GAP;
use std::io::{self, Write};
use std::path::{Path, PathBuf};

/// Least strip of template beside an opening, mm: the usual thickness of a template. Common practice, no source.
const WEB: f64 = 9.0;

/// The kit of a job: the given one, or the nearest upward from the drawing. Prints its path.
pub(super) fn of_job(args: &CommonArgs) -> Result<ChosenKit, AppError> {
    let drawing = args.drawing.iter().rfind(|p| !is_job_file(p));
    let folder = drawing.and_then(|d| d.parent()).unwrap_or(Path::new("."));
    let mut chosen = load(args.tools.kit.as_deref(), folder)?;
    let args = &args.tools;
    // Who types both tools in inches and has no kit buys inch tools.
    let inch = args.bush.inches && args.cutter.inches;
    if args.suggest && inch && args.kit.is_none() && !chosen.found {
        chosen = load(Some(Path::new("inch")), folder)?;
    }
    if chosen.found || args.pair.is_some() || args.suggest {
        let _ = writeln!(io::stderr(), "kit: {}", chosen.name());
    }
    Ok(chosen)
}

/// The given kit, or the nearest upward from the current folder. Prints its path.
fn kit(asked: Option<&Path>) -> Result<ChosenKit, AppError> {
    let chosen = load(asked, Path::new("."))?;
    if chosen.found {
        let _ = writeln!(io::stderr(), "kit: {}", chosen.name());
    }
    Ok(chosen)
}

pub(super) fn table(args: &OffsetsArgs) -> ExitStatus {
    answer(watched(|budget| table_of(args, budget)), args.json)
}

fn table_of(args: &OffsetsArgs, budget: &Budget) -> Result<Vec<u8>, Failure> {
    let wanted = args.gap;
    let most = args.gap_most.unwrap_or(WIDE_GAP.max(wanted));
    if most < wanted {
        let why = "the widest gap is smaller than the gap to aim for";
        return Failure::contradiction("gap", "gap-most", why);
    }
    let chosen = kit(args.kit.as_deref())?;
    let shop = if chosen.kit.inches { generic::inch() } else { generic::metric() }.unwrap_or_default();
    let name = chosen.name();
    let table = offsets::OffsetTable::new(&chosen.kit, &name, &shop, Bounds { least: 0.0, most, wanted });
    if let Some(path) = &args.html {
        let out = Out::plain(None, args.force, false);
        let read: Vec<Input> = chosen.path.iter().map(|path| Input { path, what: "the kit" }).collect();
        budget.check().map_err(AppError::from)?;
        budget.enter(WRITING);
        save(path, offsets::html(&table).as_bytes(), &read, &out)?;
        let _ = writeln!(io::stderr(), "written: {}", crate::text::terminal(&path.to_string_lossy()));
    }
    Ok(if args.json { offsets::json(&table)? } else { offsets::terminal(&table).into_bytes() })
}

pub(super) fn test_piece(args: &TestpieceArgs) -> ExitStatus {
    answer(watched(|budget| test_piece_of(args, budget)), args.json)
}

fn test_piece_of(args: &TestpieceArgs, budget: &Budget) -> Result<Vec<u8>, Failure> {
    let called = Pair { bush: args.bush, cutter: args.cutter };
    Tools::new(called, called, 0.0)?;
    let chosen =
        kit(args.kit.as_deref().filter(|p| p.exists() || *p == Path::new("metric") || *p == Path::new("inch")))?;
    let sized = chosen.kit.sized(called);
    let show = testpiece::shown(chosen.kit.inches, called);
    if args.measured.is_empty() {
        if !args.opening.is_empty() {
            let why = "the size of the opening needs the widths of recess and inlay beside it";
            return Failure::contradiction("opening", "measured", why);
        }
        let base = Figures::new(&chosen.kit, args.base, None, None).base.mm;
        let out = Out::plain(args.out.clone(), args.force, args.dry_run);
        let also_read = chosen.path.into_iter().collect();
        let made = make(&Order { called, sized, show, base, web: WEB, out, also_read }, budget)?;
        let notes: String = made.notes.iter().map(|n| format!("{n}\n")).collect();
        let _ = io::stderr().write_all(notes.as_bytes());
        return Ok(if args.json { made.document } else { made.words.into_bytes() });
    }
    let found = solve(&readings(args, called), called)?;
    // A kit given by name is made if it is missing. A general kit belongs to nobody and is never corrected.
    let own = args.kit.clone().filter(|p| p != Path::new("metric") && p != Path::new("inch")).or(chosen.path);
    budget.check().map_err(AppError::from)?;
    budget.enter(WRITING);
    if let Some(path) = &own {
        correct(path, called, Pair { bush: found.bush, cutter: found.cutter }, args.dry_run)?;
    }
    if args.json {
        let path = own.as_ref().map(|p| p.to_string_lossy().into_owned());
        return Ok(testpiece::correction_json(called, sized, &found, path.as_deref())?);
    }
    Ok(testpiece::correction(called, sized, &found, &where_to(own.as_ref(), args.dry_run), show).into_bytes())
}

fn where_to(kit: Option<&PathBuf>, dry_run: bool) -> String {
    match kit {
        Some(p) if dry_run => format!("Dry run: nothing written to {}", crate::text::terminal(&p.to_string_lossy())),
        Some(p) => format!("Written to {}", crate::text::terminal(&p.to_string_lossy())),
        None => format!("Not written: you have no kit yet. --kit {NAME} makes one."),
    }
}

fn readings(args: &TestpieceArgs, called: Pair) -> Readings {
    let (recesses, inlays) = args.measured.iter().copied().unzip();
    let openings = if args.opening.is_empty() { vec![opening(called)] } else { args.opening.clone() };
    Readings { openings, recesses, inlays }
}
