//! `letin prove`: proves the files in a folder again.
//!
//! In: a folder. Out: a verdict for each document of this program in it: the fit of each piece, or the reason for the failed
//! proof. The shapes of the openings come from the files alone. The document gives the steps, the tools, the places and the
//! outlines. A hash that differs gives a note; it neither helps nor spoils the proof.

mod kind;
mod plan;

use super::AppError;
use super::read::{LONGEST, bytes};
use crate::budget::Budget;
use crate::check::registry::{self, FitsSeen, OF_FITS};
use crate::check::{Finding, numbered};
use crate::proof::{self, Beside, FaceFile, Fit, Plan, ProofError};
use crate::schema::Document;
use crate::tolerance::PROVED;
use crate::write::store::sha256;
use std::io::Read;
use std::path::{Path, PathBuf};

/// Largest document, bytes. A document of this size takes less than 1 GiB of memory, whatever it holds.
const LARGEST_DOCUMENT: u64 = 64 << 20;

/// A document and its verdict.
#[derive(Debug)]
pub struct Proved {
    /// Name of the document within the folder.
    pub name: String,
    /// Notes in words: files changed after they were written, and forms from another program.
    pub notes: Vec<String>,
    /// Warnings in words: lines that do not belong to the job, and missing edges.
    pub warnings: Vec<String>,
    pub verdict: Result<Verdict, AppError>,
}

/// The result of a proof that holds.
#[derive(Clone, Debug, PartialEq)]
pub struct Verdict {
    pub fits: Vec<Fit>,
    pub findings: Vec<Finding>,
    /// The files of the proof.
    pub files: Vec<String>,
    /// Allowed distance of a cut from the plan, mm.
    pub allowed: f64,
}

/// Proves every document in `folder`, in the order of their names.
///
/// # Errors
/// [`AppError`] for a folder that cannot be read or has no document. An error of a document or its files is in its verdict.
pub fn prove(folder: &Path, budget: &Budget) -> Result<Vec<Proved>, AppError> {
    let mut all = Vec::new();
    let mut strange = Vec::new();
    for path in documents(folder)? {
        let name = path.file_name().unwrap_or_default().to_string_lossy().into_owned();
        let against = |error: AppError| Proved {
            name: name.clone(),
            notes: Vec::new(),
            warnings: Vec::new(),
            verdict: Err(error),
        };
        let unreadable = |why: String| AppError::Unreadable { path: path.clone(), why };
        let read = match bytes(&path, LARGEST_DOCUMENT) {
            Ok(read) => read,
            Err(e) if kind::starts_like_ours(&head(&path)) || has_faces(&path) => {
                all.push(against(e));
                continue;
            }
            Err(e) => {
                strange.push(e.to_string());
                continue;
            }
        };
        match kind::kind(&read) {
            kind::Kind::Others => {}
            kind::Kind::Spoilt(why) if kind::starts_like_ours(&read) || has_faces(&path) => {
                all.push(against(unreadable(format!("the document is cut short or damaged: {why}"))));
            }
            kind::Kind::Spoilt(why) => strange.push(format!("{name} is skipped: it is not complete JSON ({why})")),
            kind::Kind::Ours => match serde_json::from_slice::<Document>(&read) {
                Err(why) => all.push(against(unreadable(why.to_string()))),
                Ok(first) => {
                    for d in std::iter::once(&first).chain(&first.then) {
                        let name = d.part.as_ref().map_or_else(|| name.clone(), |part| format!("{name}, {part}"));
                        let (mut notes, mut beside) = (Vec::new(), Beside::default());
                        let verdict = proved(folder, &path, d, &mut notes, &mut beside, budget);
                        notes.extend(beside.notes);
                        all.push(Proved { name, notes, warnings: beside.warnings, verdict });
                    }
                }
            },
        }
    }
    match all.first_mut() {
        None => return Err(AppError::NoDocument { path: folder.to_path_buf() }),
        Some(first) => first.notes.extend(strange),
    }
    Ok(all)
}

/// The first bytes of a file; empty for an unreadable file.
fn head(path: &Path) -> Vec<u8> {
    let mut head = Vec::new();
    let plain = std::fs::metadata(path).is_ok_and(|m| m.is_file());
    if plain && let Ok(file) = std::fs::File::open(path) {
        // An unreadable file gets a note as a foreign file.
        let _ = file.take(4096).read_to_end(&mut head);
    }
    head
}

/// Whether files of a run lie beside its supposed document.
fn has_faces(document: &Path) -> bool {
    let stem = document.file_stem().unwrap_or_default().to_string_lossy().into_owned();
    ["-face-1.dxf", "-face-2.dxf", "-marks.svg"]
        .iter()
        .any(|end| document.with_file_name(format!("{stem}{end}")).is_file())
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

fn proved(
    folder: &Path,
    path: &Path,
    document: &Document,
    notes: &mut Vec<String>,
    beside: &mut Beside,
    budget: &Budget,
) -> Result<Verdict, AppError> {
    let unreadable = |why: String| AppError::Unreadable { path: path.to_path_buf(), why };
    if let Some(why) = plan::nothing_to_prove(document) {
        return Err(AppError::NothingToProve { path: path.to_path_buf(), why });
    }
    let plan = plan::plan(document, budget).map_err(unreadable)?;
    let listed = plan::listed(document, &plan).map_err(unreadable)?;
    let mut held = Vec::new();
    let mut changed = false;
    for t in &listed {
        let bytes = bytes(&folder.join(&t.name), LONGEST)?;
        let hash = document.hashes.get(&t.name);
        changed |= hash.is_none_or(|h| *h != sha256(&bytes));
        match hash {
            Some(hash) if *hash == sha256(&bytes) => {}
            Some(_) => notes.push(format!("{} was changed after it was written: the proof reads it as it is", t.name)),
            None => notes.push(format!("{} has no hash in the document: the proof reads it as it is", t.name)),
        }
        held.push(bytes);
    }
    let files: Vec<FaceFile> = listed
        .iter()
        .zip(&held)
        .map(|(t, bytes)| FaceFile { name: &t.name, bytes, panel: t.panel, face: t.face })
        .collect();
    let fits = proof::prove(&plan, &files, beside, budget)?;
    kept(document, &fits, &plan, changed).map_err(unreadable)??;
    let (corners, measured, known) = (plan::corners(document), document.tools.measured, plan::findings(document));
    let gap = |number| plan.outlines.iter().find(|o| o.number == number).map_or(0.0, |o| o.gap);
    let seen = FitsSeen {
        fits: &fits,
        corners,
        measured,
        gap: document.tools.gap_mm,
        plug: plan.shouldered.map(|s| (s.plug, gap(s.plug))),
        before: &known,
    };
    let findings = numbered(registry::all(OF_FITS, &seen), &[]);
    let files = listed.into_iter().map(|t| t.name).collect();
    Ok(Verdict { fits, findings, files, allowed: plan.allowed() })
}

/// Compares the result with the promises of the document. Files in another form may move each piece by the allowed distance,
/// and the gap between two pieces by twice as much.
fn kept(document: &Document, fits: &[Fit], plan: &Plan, changed: bool) -> Result<Result<(), ProofError>, String> {
    let promised = document.proof.as_ref().map_or(&[][..], |p| &p.pieces);
    if promised.len() != fits.len() {
        return Err(format!("it promises {} pieces and holds the shapes of {}", promised.len(), fits.len()));
    }
    let area_slack = if changed { plan.allowed() } else { PROVED };
    let gap_slack = if changed { 2.0 * plan.allowed() } else { PROVED };
    for p in promised {
        let outline = p.outline.0;
        let Some(f) = fits.iter().find(|f| f.outline == outline) else {
            return Err(format!("it promises a fit of {} and lacks its shape", p.outline));
        };
        let edge: f64 = plan.outlines.iter().filter(|o| o.number == outline).map(|o| o.made.perimeter()).sum();
        for (what, promised, found, slack) in [
            ("the least gap", p.gap_min_mm, f.gap_min.mm, gap_slack),
            ("the greatest gap", p.gap_max_mm, f.gap_max.mm, gap_slack),
            ("the recess's area", p.recess_area_mm2, f.recess_area, area_slack * edge),
            ("the inlay's area", p.inlay_area_mm2, f.inlay_area, area_slack * edge),
        ] {
            let off = (promised - found).abs();
            if off.is_nan() || off > slack {
                return Ok(Err(ProofError::Promise { outline, what, promised, found }));
            }
        }
    }
    Ok(Ok(()))
}
