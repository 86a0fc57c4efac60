//! The results of the proof, in the document of a run and in the output of `letin prove --json`.

use super::{finding, pt};
use crate::check::Finding;
use crate::geom::Region;
use crate::job::facts::Facts;
use crate::proof::{Fit, Measured};
use crate::schema::answers::{self, ProofFailure, ProvedDocument};
use crate::schema::proof::{self, Place, Proof, Run, Shape};
use crate::schema::{OutlineId, Version, bytes_by_name};
use crate::template::Piece;
use crate::text::{Show, svg_path};

pub(super) fn proof(facts: &Facts) -> Option<Proof> {
    let fits = &facts.fits;
    Some(Proof {
        gap_min_mm: fits.iter().map(|f| f.gap_min.mm).min_by(f64::total_cmp)?,
        gap_max_mm: fits.iter().map(|f| f.gap_max.mm).max_by(f64::total_cmp)?,
        pieces: fits.iter().map(fit).collect(),
        outlines: shapes(facts),
    })
}

fn shapes(facts: &Facts) -> Vec<Shape> {
    // A ring with a non-finite number becomes an empty path, which proves nothing.
    let paths = |r: &Region| r.rings.iter().map(|r| svg_path(r, 0.0).unwrap_or_default()).collect();
    let shape = |p: &Piece| {
        facts.fits.iter().find(|f| f.outline == p.outline)?;
        Some(Shape { outline: OutlineId(p.outline), drawn: paths(&p.drawn), made: paths(&p.made) })
    };
    facts.pieces.iter().filter_map(shape).collect()
}

fn fit(f: &Fit) -> proof::Fit {
    let place = |m: &Measured| Place { mm: m.mm, at_mm: pt(m.at) };
    let run = |r: &crate::proof::joint::RingGaps| Run {
        length_mm: r.length,
        along_mm: r.gaps.iter().map(|g| g.along).collect(),
        gap_mm: r.gaps.iter().map(|g| g.mm).collect(),
    };
    proof::Fit {
        outline: OutlineId(f.outline),
        recess_size_mm: f.recess_size.into(),
        inlay_size_mm: f.inlay_size.into(),
        recess_area_mm2: f.recess_area,
        inlay_area_mm2: f.inlay_area,
        gap_min_mm: f.gap_min.mm,
        gap_min_at_mm: pt(f.gap_min.at),
        gap_max_mm: f.gap_max.mm,
        gap_max_at_mm: pt(f.gap_max.at),
        recess_off_mm: f.recess_off,
        inlay_off_mm: f.inlay_off,
        recess_off_made_mm: f.recess_off_made,
        inlay_off_made_mm: f.inlay_off_made,
        binds: f.binds.iter().map(place).collect(),
        gapes: f.gapes.iter().map(place).collect(),
        joint: f.joint.runs.iter().map(run).collect(),
    }
}

/// The result of `letin prove` for one document.
#[derive(Clone, Copy, Debug)]
pub struct DocumentProof<'a> {
    /// Name of the document.
    pub document: &'a str,
    pub notes: &'a [String],
    pub warnings: &'a [String],
    /// The results; or the code and message of the error.
    pub verdict: Result<Routed<'a>, (&'a str, &'a str)>,
}

/// The fits, the findings, and the names of the files that were read back.
pub type Routed<'a> = (&'a [Fit], &'a [Finding], &'a [String]);

/// The output of `letin prove --json`.
///
/// # Errors
/// As [`super::document`].
pub fn proved(all: &[DocumentProof]) -> Result<Vec<u8>, serde_json::Error> {
    let document = |p: &DocumentProof| {
        let (fits, findings, files) = p.verdict.unwrap_or_default();
        let failure = |(code, message): (&str, &str)| ProofFailure { code: code.into(), message: message.into() };
        ProvedDocument {
            document: p.document.to_owned(),
            proved: p.verdict.is_ok(),
            error: p.verdict.err().map(failure),
            notes: p.notes.to_vec(),
            warnings: p.warnings.to_vec(),
            pieces: fits.iter().map(fit).collect(),
            findings: findings.iter().map(|f| finding(f, Show::Mm)).collect(),
            files: files.to_vec(),
        }
    };
    bytes_by_name(&answers::Proved { schema: Version, documents: all.iter().map(document).collect() })
}
