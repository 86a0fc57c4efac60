//! The results of the proof, in the document of a run and in the output of `letin prove --json`.

use super::{FindingPart, Number, Pt, SCHEMA, outline_id, pt, with_line_end};
use crate::check::Finding;
use crate::geom::Region;
use crate::proof::joint::{Gap, Run};
use crate::proof::{Fit, Measured};
use crate::report::facts::Facts;
use crate::template::openings::Piece;
use crate::text::Show;
use crate::text::svg_path;
use serde::Serialize;

#[derive(Serialize)]
pub(super) struct ProofPart {
    gap_min_mm: Number,
    gap_max_mm: Number,
    pieces: Vec<FitPart>,
    outlines: Vec<ShapePart>,
}

/// An outline as SVG path data, mm, one path per ring. The y axis points *down*: each y is the negative of that in
/// the drawing frame. `letin prove` recalculates the pieces from these paths.
#[derive(Serialize)]
struct ShapePart {
    outline: String,
    drawn: Vec<String>,
    made: Vec<String>,
}

fn shapes(facts: &Facts) -> Vec<ShapePart> {
    // A ring with a non-finite number becomes an empty path, which proves nothing.
    let paths = |r: &Region| r.rings.iter().map(|r| svg_path(r, 0.0).unwrap_or_default()).collect();
    let of = |p: &Piece| {
        facts.fits.iter().find(|f| f.outline == p.outline)?;
        Some(ShapePart { outline: outline_id(p.outline), drawn: paths(&p.drawn), made: paths(&p.made) })
    };
    facts.pieces.iter().filter_map(of).collect()
}

#[derive(Serialize)]
struct FitPart {
    outline: String,
    recess_size_mm: [Number; 2],
    inlay_size_mm: [Number; 2],
    recess_area_mm2: Number,
    inlay_area_mm2: Number,
    gap_min_mm: Number,
    gap_min_at_mm: Pt,
    gap_max_mm: Number,
    gap_max_at_mm: Pt,
    recess_off_mm: Number,
    inlay_off_mm: Number,
    /// Greatest distance between the edge of the piece as cut and the outline as made, whether or not its corners are
    /// eased.
    recess_off_made_mm: Number,
    inlay_off_made_mm: Number,
    /// The worst place of each stretch where the inlay is too large.
    binds: Vec<PlacePart>,
    /// The worst place of each stretch where the gap is too wide.
    gapes: Vec<PlacePart>,
    /// The gap along each ring of the recess's edge, from the ring's first point. Between neighbouring places the gap
    /// is linear.
    joint: Vec<RunPart>,
}

#[derive(Serialize)]
struct RunPart {
    length_mm: Number,
    along_mm: Vec<Number>,
    gap_mm: Vec<Number>,
}

impl RunPart {
    fn new(r: &Run) -> RunPart {
        let all = |of: fn(&Gap) -> f64| r.gaps.iter().map(|g| Number(of(g))).collect();
        RunPart { length_mm: Number(r.length), along_mm: all(|g| g.along), gap_mm: all(|g| g.mm) }
    }
}

#[derive(Serialize)]
struct PlacePart {
    mm: Number,
    at_mm: Pt,
}

impl FitPart {
    fn new(f: &Fit) -> FitPart {
        let at = |m: Measured| pt(m.at);
        let place = |m: &Measured| PlacePart { mm: Number(m.mm), at_mm: pt(m.at) };
        FitPart {
            outline: outline_id(f.outline),
            recess_size_mm: [Number(f.recess_size.0), Number(f.recess_size.1)],
            inlay_size_mm: [Number(f.inlay_size.0), Number(f.inlay_size.1)],
            recess_area_mm2: Number(f.recess_area),
            inlay_area_mm2: Number(f.inlay_area),
            gap_min_mm: Number(f.gap_min.mm),
            gap_min_at_mm: at(f.gap_min),
            gap_max_mm: Number(f.gap_max.mm),
            gap_max_at_mm: at(f.gap_max),
            recess_off_mm: Number(f.recess_off),
            inlay_off_mm: Number(f.inlay_off),
            recess_off_made_mm: Number(f.recess_off_made),
            inlay_off_made_mm: Number(f.inlay_off_made),
            binds: f.binds.iter().map(place).collect(),
            gapes: f.gapes.iter().map(place).collect(),
            joint: f.joint.runs.iter().map(RunPart::new).collect(),
        }
    }
}

pub(super) fn proof(facts: &Facts) -> Option<ProofPart> {
    let fits = &facts.fits;
    let least = fits.iter().map(|f| f.gap_min.mm).min_by(f64::total_cmp)?;
    let most = fits.iter().map(|f| f.gap_max.mm).max_by(f64::total_cmp)?;
    Some(ProofPart {
        gap_min_mm: Number(least),
        gap_max_mm: Number(most),
        pieces: fits.iter().map(FitPart::new).collect(),
        outlines: shapes(facts),
    })
}

/// The result of `letin prove` for one document.
#[derive(Clone, Copy, Debug)]
pub struct Proved<'a> {
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
pub fn proved(all: &[Proved]) -> Result<Vec<u8>, serde_json::Error> {
    let one = |p: &Proved| {
        let parts = |f: &[Fit]| f.iter().map(FitPart::new).collect::<Vec<_>>();
        let reported = |f: &[Finding]| {
            f.iter().map(|f| serde_json::to_value(FindingPart::new(f, Show::Mm))).collect::<Result<Vec<_>, _>>()
        };
        let (fits, findings, files, error) = match p.verdict {
            Ok((fits, findings, files)) => (parts(fits), reported(findings)?, files, None),
            Err((code, message)) => {
                (Vec::new(), Vec::new(), &[][..], Some(serde_json::json!({"code": code, "message": message})))
            }
        };
        Ok(serde_json::json!({
            "document": p.document, "proved": error.is_none(), "error": error, "notes": p.notes,
            "warnings": p.warnings,
            "pieces": fits, "findings": findings, "files": files,
        }))
    };
    let all = all.iter().map(one).collect::<Result<Vec<_>, serde_json::Error>>()?;
    Ok(with_line_end(serde_json::to_vec_pretty(&serde_json::json!({"schema": SCHEMA, "documents": all}))?))
}
