//! `letin prove`: the files that lie in a folder, proved again.
//!
//! In: a folder. Out: for each document of this program in it a verdict: the fit of each piece, or why the proof failed.
//! The shapes of the openings come from the files alone, whatever lies there; the document gives the steps, the tools, the
//! places and the outlines. A hash that differs is told, and proves nothing either way.

mod document;

use super::AppError;
use super::files::{LONGEST, bytes};
use crate::budget::Budget;
use crate::check::{Finding, making, numbered, shoulder};
use crate::proof::{self, FaceFile, Fit, Plan, ProofError};
use crate::tolerance::PROVED;
use crate::write::store::sha256;
use document::{Document, number};
use std::path::{Path, PathBuf};

/// A document and what came of it.
#[derive(Debug)]
pub struct Proved {
    /// Name of the document within the folder.
    pub name: String,
    /// What is worth knowing, in words: files that were changed or are missing.
    pub notes: Vec<String>,
    pub verdict: Result<Verdict, AppError>,
}

/// The files hold.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    pub fits: Vec<Fit>,
    pub findings: Vec<Finding>,
    /// The files that were read back.
    pub files: Vec<String>,
    /// How far a cut may lie off what is worked out, mm.
    pub allowed: f64,
}

/// Proves every document in `folder`, in the order of their names.
///
/// # Errors
/// [`AppError`] where the folder cannot be read or has no document; what is wrong with a document or its files is told
/// with it.
pub fn prove(folder: &Path, budget: &Budget) -> Result<Vec<Proved>, AppError> {
    let mut all = Vec::new();
    for path in documents(folder)? {
        let read = bytes(&path, LONGEST)?;
        if !document::is_ours(&read) {
            continue;
        }
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let unreadable = |why: String| AppError::Unreadable { path: path.clone(), why };
        match document::parse(&read) {
            Err(why) => all.push(Proved { name, notes: Vec::new(), verdict: Err(unreadable(why)) }),
            Ok(first) => {
                for d in first.jobs() {
                    let name = d.part.as_ref().map_or_else(|| name.clone(), |part| format!("{name}, {part}"));
                    let mut notes = Vec::new();
                    let verdict = one(folder, &path, d, &mut notes, budget);
                    all.push(Proved { name, notes, verdict });
                }
            }
        }
    }
    if all.is_empty() {
        return Err(AppError::NoDocument { path: folder.to_path_buf() });
    }
    Ok(all)
}

fn documents(folder: &Path) -> Result<Vec<PathBuf>, AppError> {
    let unreadable = |e: std::io::Error| match e.kind() {
        std::io::ErrorKind::NotFound => AppError::NotFound { path: folder.to_path_buf() },
        _ => AppError::Unreadable { path: folder.to_path_buf(), why: e.to_string() },
    };
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder).map_err(unreadable)? {
        let path = entry.map_err(unreadable)?.path();
        if path.extension().is_some_and(|e| e == "json") && path.is_file() {
            found.push(path);
        }
    }
    found.sort();
    Ok(found)
}

fn one(
    folder: &Path,
    path: &Path,
    document: &Document,
    notes: &mut Vec<String>,
    budget: &Budget,
) -> Result<Verdict, AppError> {
    let unreadable = |why: String| AppError::Unreadable { path: path.to_path_buf(), why };
    if let Some(why) = document.nothing_to_prove() {
        return Err(AppError::NothingToProve { path: path.to_path_buf(), why });
    }
    let plan = document.plan(budget).map_err(unreadable)?;
    let told = document.told(&plan).map_err(unreadable)?;
    let mut held = Vec::new();
    for t in &told {
        let bytes = bytes(&folder.join(&t.name), LONGEST)?;
        match document.hashes.get(&t.name) {
            Some(hash) if *hash == sha256(&bytes) => {}
            Some(_) => notes.push(format!("{} was changed after it was written: it is proved as it is now", t.name)),
            None => notes.push(format!("{} has no hash in the document: it is proved as it is now", t.name)),
        }
        held.push(bytes);
    }
    let files: Vec<FaceFile> = told
        .iter()
        .zip(&held)
        .map(|(t, bytes)| FaceFile { name: &t.name, bytes, panel: t.panel, face: t.face })
        .collect();
    let piece = document.piece().map_err(unreadable)?;
    let fits = match &piece {
        None => proof::prove(&plan, &files, budget)?,
        Some(piece) => {
            let fits = proof::shoulder::prove_files(&plan, piece, &files, budget);
            fits.map_err(AppError::ShoulderProof)?.to_vec()
        }
    };
    kept(document, &fits, &plan).map_err(unreadable)??;
    let corners = document.corners().map_err(unreadable)?;
    let (measured, known) = (document.measured(), document.findings());
    let of_fit = match &piece {
        None => making::fits(&fits, corners, measured, plan.gap, &known),
        Some(piece) => shoulder::fits(&fits, corners, measured, &known, piece.plug, piece.shoulder.1),
    };
    let findings = numbered(of_fit, &[]);
    let files = told.into_iter().map(|t| t.name).collect();
    Ok(Verdict { fits, findings, files, allowed: plan.allowed() })
}

/// Whether what came out is what the document promises.
fn kept(document: &Document, fits: &[Fit], plan: &Plan) -> Result<Result<(), ProofError>, String> {
    let promised = document.proof.as_ref().map_or(&[][..], |p| &p.pieces);
    if promised.len() != fits.len() {
        return Err(format!("it promises {} pieces and tells the shapes of {}", promised.len(), fits.len()));
    }
    for p in promised {
        let outline = number(&p.outline)?;
        let Some(f) = fits.iter().find(|f| f.outline == outline) else {
            return Err(format!("it promises a fit of {} and does not tell its shape", p.outline));
        };
        let edge: f64 = plan.outlines.iter().filter(|o| o.number == outline).map(|o| o.made.perimeter()).sum();
        for (what, promised, found, slack) in [
            ("the least gap", p.gap_min_mm, f.gap_min.mm, PROVED),
            ("the greatest gap", p.gap_max_mm, f.gap_max.mm, PROVED),
            ("the recess's area", p.recess_area_mm2, f.recess_area, PROVED * edge),
            ("the insert's area", p.insert_area_mm2, f.insert_area, PROVED * edge),
        ] {
            let off = (promised - found).abs();
            if off.is_nan() || off > slack {
                return Ok(Err(ProofError::Promise { outline, what, promised, found }));
            }
        }
    }
    Ok(Ok(()))
}
