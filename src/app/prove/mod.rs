//! `letin prove`: the files that lie in a folder, proved again.
//!
//! In: a folder. Out: for each document of this program in it a verdict: the fit of each piece, or why the proof failed.
//! The shapes of the openings come from the files alone, whatever lies there; the document gives the steps, the tools, the
//! places and the outlines. A hash that differs is told, and proves nothing either way.

mod bounded;
mod document;
mod kind;

use super::AppError;
use super::files::{LONGEST, bytes};
use crate::budget::Budget;
use crate::check::{Finding, making, numbered, shoulder};
use crate::proof::{self, FaceFile, Fit, Plan, ProofError, Told};
use crate::tolerance::PROVED;
use crate::write::store::sha256;
use document::{Document, number};
use std::io::Read;
use std::path::{Path, PathBuf};

/// Bytes of the largest document that is read. Whatever is in it, it then takes less than 1 GiB of memory.
const LARGEST_DOCUMENT: u64 = 64 << 20;

/// A document and what came of it.
#[derive(Debug)]
pub struct Proved {
    /// Name of the document within the folder.
    pub name: String,
    /// What is worth knowing, in words: files that were changed, and forms that another program gave them.
    pub notes: Vec<String>,
    /// What a machine or a person may take for something else: lines that are not of this job, edges that are missing.
    pub warnings: Vec<String>,
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
            kind::Kind::Spoilt(why) => strange.push(format!("{name} is not looked at: it is no whole JSON ({why})")),
            kind::Kind::Ours => match document::parse(&read) {
                Err(why) => all.push(against(unreadable(why))),
                Ok(first) => {
                    for d in first.jobs() {
                        let name = d.part.as_ref().map_or_else(|| name.clone(), |part| format!("{name}, {part}"));
                        let (mut notes, mut told) = (Vec::new(), Told::default());
                        let verdict = one(folder, &path, d, &mut notes, &mut told, budget);
                        notes.extend(told.notes);
                        all.push(Proved { name, notes, warnings: told.warnings, verdict });
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

/// How a file starts; nothing where it cannot be read.
fn head(path: &Path) -> Vec<u8> {
    let mut head = Vec::new();
    let plain = std::fs::metadata(path).is_ok_and(|m| m.is_file());
    if plain && let Ok(file) = std::fs::File::open(path) {
        // What is not read does not look like ours, and is told as strange.
        let _ = file.take(4096).read_to_end(&mut head);
    }
    head
}

/// Whether files of a run lie beside what should be its document.
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

fn one(
    folder: &Path,
    path: &Path,
    document: &Document,
    notes: &mut Vec<String>,
    beside: &mut Told,
    budget: &Budget,
) -> Result<Verdict, AppError> {
    let unreadable = |why: String| AppError::Unreadable { path: path.to_path_buf(), why };
    if let Some(why) = document.nothing_to_prove() {
        return Err(AppError::NothingToProve { path: path.to_path_buf(), why });
    }
    let plan = document.plan(budget).map_err(unreadable)?;
    let told = document.told(&plan).map_err(unreadable)?;
    let mut held = Vec::new();
    let mut changed = false;
    for t in &told {
        let bytes = bytes(&folder.join(&t.name), LONGEST)?;
        let hash = document.hashes.get(&t.name);
        changed |= hash.is_none_or(|h| *h != sha256(&bytes));
        match hash {
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
        None => proof::prove_telling(&plan, &files, beside, budget)?,
        Some(piece) => {
            let fits = proof::shoulder::prove_files(&plan, piece, &files, beside, budget);
            fits.map_err(AppError::ShoulderProof)?.to_vec()
        }
    };
    kept(document, &fits, &plan, changed).map_err(unreadable)??;
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

/// Whether what came out is what the document promises. Each piece of files that were saved in another form may lie off
/// by what is let pass, so the gap between two by twice as much.
fn kept(document: &Document, fits: &[Fit], plan: &Plan, changed: bool) -> Result<Result<(), ProofError>, String> {
    let promised = document.proof.as_ref().map_or(&[][..], |p| &p.pieces);
    if promised.len() != fits.len() {
        return Err(format!("it promises {} pieces and tells the shapes of {}", promised.len(), fits.len()));
    }
    let area_slack = if changed { plan.allowed() } else { PROVED };
    let gap_slack = if changed { 2.0 * plan.allowed() } else { PROVED };
    for p in promised {
        let outline = number(&p.outline)?;
        let Some(f) = fits.iter().find(|f| f.outline == outline) else {
            return Err(format!("it promises a fit of {} and does not tell its shape", p.outline));
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
