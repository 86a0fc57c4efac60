//! The proof and the findings describe the same cut.
//!
//! The test lays each piece that the proof cuts on the outline as drawn. (It adds the gap to the inlay again.) The two
//! set differences, piece without outline and outline without piece, consist of *difference regions*. Every region deeper
//! than [`MUST`] must have a finding of a corner, neck or gap. Every finding of these kinds must lie at a region. Depth is
//! the greatest distance of a point on the region's edge from the piece's edge.
//!
//! Shapes: the samples, the drawings of the codes, and shapes made here. Corners: eased with the default margins, eased
//! without margins, squared, kept. Without margins the tools alone cause the differences; a default margin may add
//! regions of its own.
//!
//! The test shares the library's certified booleans with the program. Independent check: `tests/corpus/findings.py`.
//! Source: none outside; the check does the sums anew.

use crate::common::{facts_of, job_of, unlimited};
use letin::app::Job;
use letin::check::{Code, Finding};
use letin::geom::edges::{EdgeIndex, sampled};
use letin::geom::inside::Filled;
use letin::geom::{Certified, Point, Region, grow, minus, shrink};
use letin::job::facts::Facts;
use letin::proof::Fit;
use letin::template::ease::Corners;
use std::fmt::Write;
use std::fs;
use std::path::{Path, PathBuf};

/// A region deeper than this needs a finding, mm.
const MUST: f64 = 0.05;
/// A region at least this deep justifies a finding, mm.
const MAY: f64 = 0.01;
/// Greatest distance between a finding and its region, mm.
const AT: f64 = 0.03;
/// Erosion of the first operand before a difference, mm. Without it, equal edges leave slivers.
const HAIR: f64 = 0.002;

const SHARP: Corners = Corners::Ease { inside: 0.0, outside: 0.0 };
const USUAL: Corners = Corners::Ease { inside: 0.5, outside: 1.0 };

fn facts(drawing: &Path, corners: Corners) -> Option<Facts> {
    facts_of(&Job { corners, ..job_of(drawing) })
}

/// A connected component of a difference.
struct Part {
    region: Region,
    index: EdgeIndex,
    depth: f64,
    at: Point,
}

impl Part {
    fn away(&self, p: Point) -> f64 {
        let inside = self.region.rings.iter().filter(|r| Filled::new(r).contains(p)).count() % 2 == 1;
        if inside { 0.0 } else { self.index.nearest(p).map_or(f64::INFINITY, |n| n.distance) }
    }
}

/// The components of `a` without `b` that are at least [`MAY`] deep. Depth is measured to the edge of `piece`.
fn parts(a: &Certified<Region>, b: &Region, piece: &EdgeIndex, what: &str) -> Vec<Part> {
    let b = letin::geom::enclosed(&b.rings, letin::geom::FillRule::NonZero, &unlimited()).unwrap();
    let a = shrink(a, HAIR, &unlimited()).unwrap();
    let difference = minus(&a, &b, &unlimited()).unwrap_or_else(|e| panic!("{what}: {e}"));
    // Each outer ring takes the holes inside it.
    let (outer, holes): (Vec<_>, Vec<_>) = difference.rings.iter().partition(|r| r.area() > 0.0);
    let whole = |o: &&letin::geom::Ring| {
        let filled = Filled::new(o);
        let own = holes.iter().filter(|h| h.segments.first().is_some_and(|s| filled.contains(s.at(0.5))));
        Region::new(std::iter::once((*o).clone()).chain(own.map(|h| (*h).clone())).collect())
    };
    let measured = |region: Region| {
        let depth = |p: Point| (piece.nearest(p).map_or(f64::INFINITY, |n| n.distance), p);
        let (depth, at) = sampled(&region, 0.05).map(depth).max_by(|a, b| a.0.total_cmp(&b.0))?;
        let index = EdgeIndex::new(&region);
        (depth >= MAY).then_some(Part { region, index, depth, at })
    };
    outer.iter().map(whole).filter_map(measured).collect()
}

/// Two lists of regions: what the pieces lack inside the outline, and what they have in excess outside it.
fn differences(drawn: &Certified<Region>, fit: &Fit, gap: f64, what: &str) -> [Vec<Part>; 2] {
    let certified = |r: &Region| letin::geom::enclosed(&r.rings, letin::geom::FillRule::NonZero, &unlimited()).unwrap();
    let (mut inner, mut outer) = (Vec::new(), Vec::new());
    let inlay = grow(&certified(&fit.joint.inlay), gap, &unlimited()).unwrap();
    for piece in [certified(&fit.joint.recess), inlay] {
        inner.extend(parts(drawn, &piece, &EdgeIndex::new(&piece), what));
        // Outside, the piece's edge runs beyond the outline's edge.
        outer.extend(parts(&piece, drawn, &EdgeIndex::new(&piece), what));
    }
    [inner, outer]
}

#[derive(Default, Debug)]
struct Counts {
    pieces: usize,
    regions: usize,
    findings: usize,
}

fn told_of(code: Code) -> Option<usize> {
    match code {
        Code::InsideCorner | Code::Neck => Some(0),
        Code::OutsideCorner | Code::ClosedGap => Some(1),
        _ => None,
    }
}

fn agree(name: &str, facts: &Facts, counts: &mut Counts, wrong: &mut String) {
    for fit in &facts.fits {
        counts.pieces += 1;
        let what = format!("{name}, {}, outline {}", facts.corners.mode().name(), fit.outline);
        let drawn = &facts.outlines.iter().find(|o| o.number == fit.outline).unwrap().region;
        let sides = differences(drawn, fit, facts.tools.gap, &what);
        let own: Vec<&Finding> = facts.findings.iter().filter(|f| f.outline == Some(fit.outline)).collect();
        let at = |f: &Finding| f.at.unwrap_or(Point::new(f64::MAX, f64::MAX));
        let wide = |f: &&&Finding| matches!(f.code, Code::Neck | Code::ClosedGap);
        for (side, regions) in sides.iter().enumerate() {
            for f in own.iter().filter(|f| told_of(f.code) == Some(side) && f.needed.is_some()) {
                counts.findings += 1;
                if !regions.iter().any(|r| r.away(at(f)) <= AT) {
                    let _ = writeln!(wrong, "{what}: {} at {:?} without a region", f.code.name(), f.at);
                }
            }
            for r in regions.iter().filter(|r| r.depth > MUST) {
                counts.regions += 1;
                let under = |f: &&&Finding| told_of(f.code) == Some(side) && r.away(at(f)) <= AT;
                // A corner at the edge of a reported neck or gap belongs to that finding.
                let with_wide = || {
                    own.iter()
                        .filter(wide)
                        .any(|f| sides.iter().flatten().any(|o| o.away(at(f)) <= AT && o.away(r.at) <= AT))
                };
                if own.iter().any(|f| under(&f)) || with_wide() {
                    continue;
                }
                let _ = writeln!(
                    wrong,
                    "{what}: a region {} at {:?}, {:.4} deep, without a finding",
                    ["inside", "outside"][side],
                    r.at,
                    r.depth
                );
            }
        }
    }
}

fn drawings() -> Vec<PathBuf> {
    let root = Path::new(env!("CARGO_MANIFEST_DIR"));
    let mut all = vec![root.join("tests/fixtures/prove/fish.svg")];
    for folder in ["samples", "tests/codes"] {
        for sub in fs::read_dir(root.join(folder)).unwrap().map(|e| e.unwrap().path()).filter(|p| p.is_dir()) {
            let files = fs::read_dir(&sub).unwrap().map(|e| e.unwrap().path());
            all.extend(files.filter(|p| p.extension().is_some_and(|e| e == "svg")));
        }
    }
    all.sort();
    all
}

/// Path data in mm, on a page of 200 × 200.
const MADE: [(&str, &str); 14] = [
    ("square", "M40 40H120V110H40Z"),
    ("ell", "M20 20H140V70H80V150H20Z"),
    ("cross", "M60 20H100V60H140V100H100V140H60V100H20V60H60Z"),
    ("star", "M100 10L118 70L180 70L130 106L150 168L100 130L50 168L70 106L20 70L82 70Z"),
    ("wedge", "M20 100L180 80L180 120Z"),
    ("arrow", "M20 80H110V40L180 100L110 160V120H20Z"),
    (
        "corners of just the cutter",
        "M43 40H117A3 3 0 0 1 120 43V107A3 3 0 0 1 117 110H43A3 3 0 0 1 40 107V43A3 3 0 0 1 43 40Z",
    ),
    (
        "corners a little too tight",
        "M42 40H118A2 2 0 0 1 120 42V108A2 2 0 0 1 118 110H42A2 2 0 0 1 40 108V42A2 2 0 0 1 42 40Z",
    ),
    ("a bite", "M20 60H80A20 20 0 0 0 120 60H180V150H20Z"),
    ("a leaf", "M20 100Q100 20 180 100Q100 180 20 100Z"),
    ("waves", "M20 60Q40 30 60 60T100 60T140 60T180 60V140H20Z"),
    ("a heart", "M100 160L30 90A40 40 0 0 1 100 60A40 40 0 0 1 170 90Z"),
    ("a notch", "M20 40H92L100 90L108 40H180V150H20Z"),
    ("a comb's wide teeth", "M20 150V40H60V110H100V40H140V110H180V150Z"),
];

fn made(folder: &Path) -> Vec<PathBuf> {
    let one = |(name, d): &(&str, &str)| {
        let path = folder.join(format!("{name}.svg"));
        let svg = format!(
            "<svg xmlns='http://www.w3.org/2000/svg' width='200mm' height='200mm' viewBox='0 0 200 200'><path d='{d}'/></svg>"
        );
        fs::write(&path, svg).unwrap();
        path
    };
    MADE.iter().map(one).collect()
}

fn name(p: &Path) -> String {
    let parts: Vec<_> = p.iter().rev().take(2).map(|s| s.to_string_lossy().into_owned()).collect();
    format!("{}/{}", parts[1], parts[0])
}

#[test]
fn every_region_has_its_finding_and_every_finding_its_region() {
    let dir = tempfile::tempdir().unwrap();
    let (mut counts, mut wrong) = (Counts::default(), String::new());
    for drawing in drawings().into_iter().chain(made(dir.path())) {
        for corners in [USUAL, SHARP, Corners::Square, Corners::Keep] {
            if let Some(facts) = facts(&drawing, corners) {
                agree(&name(&drawing), &facts, &mut counts, &mut wrong);
            }
        }
    }
    println!("{counts:?}");
    assert!(wrong.is_empty(), "{counts:?}\n{wrong}");
    assert!(counts.pieces > 240 && counts.regions > 700 && counts.findings > 450, "{counts:?}");
}
