//! Inside corners tighter than the recess's cutter, and jutting corners tighter than the offset.
//!
//! In: one outline, as drawn and as it will be made. Out: a finding for each region of `S \ open_r(S)` and of
//! `close_o(S) \ S` that is one corner, from [`FINDING_DEPTH`] deep. Measured and needed are radii, short is how far the
//! tool stays away from the corner, all mm.

use super::{Code, Finding, Severity, Subject};
use crate::budget::Budget;
use crate::geom::edges::EdgeIndex;
use crate::geom::inside::Within;
use crate::geom::misfit::{Misfit, Misfits, filled, unreached};
use crate::geom::{Certified, GeomError, Point, Rect, Region};
use crate::kit::Tools;
use crate::template::ease::Corners;
use crate::tolerance::FINDING_DEPTH;

/// Where easing moves the outline by no more than this, it is worth a note and no warning, mm.
const SMALL_MOVE: f64 = 1.0;

/// A drawing is not proposed to be made larger than so many times for the sake of a corner.
const LARGEST_SCALE: f64 = 3.0;

/// What the cutter does not reach of the outline.
///
/// # Errors
/// As the operations.
pub fn inside(drawn: &Certified<Region>, tools: &Tools, budget: &Budget) -> Result<Misfits, GeomError> {
    unreached(drawn, tools.recess.cutter_radius(), FINDING_DEPTH, budget)
}

/// What a bush outside does not follow of it.
///
/// # Errors
/// As the operations.
pub fn jutting(drawn: &Certified<Region>, tools: &Tools, budget: &Budget) -> Result<Misfits, GeomError> {
    filled(drawn, tools.largest_offset(), FINDING_DEPTH, budget)
}

/// The corners of the outline that come out other than drawn: of [`inside()`] and [`jutting()`]. `necks` and
/// `gaps`: parts told already, whose corners go with them.
#[must_use]
pub fn corners(
    of: &Subject,
    made: &Region,
    [inner, outer]: [&Misfits; 2],
    necks: &[Misfit],
    gaps: &[Misfit],
) -> Vec<Finding> {
    let made = EdgeIndex::new(made);
    let moved = |m: &Misfit| made.nearest(m.at).map_or(m.depth, |n| n.distance);
    let mut found: Vec<Finding> =
        fresh(inner, necks, gaps).into_iter().map(|m| inside_corner(of, m, moved(m))).collect();
    found.extend(fresh(outer, gaps, necks).into_iter().map(|m| jutting_corner(of, m, moved(m))));
    found
}

/// The corners that no part told already has: of their own side of the outline, `own`, those that are in none; of the
/// other side those that are at the edge of none.
fn fresh<'a>(found: &'a Misfits, own: &[Misfit], other: &[Misfit]) -> Vec<&'a Misfit> {
    let tooled = EdgeIndex::new(&found.made);
    // Half way to what the tool makes lies inside the corner's region.
    let middle = |m: &Misfit| tooled.nearest(m.at).map_or(m.at, |n| m.at.midpoint(n.at));
    let own: Vec<Within> = own.iter().map(|n| Within::new(&n.region)).collect();
    let others: Vec<(Rect, &Region)> = other.iter().filter_map(|n| Some((n.region.bounds()?, &n.region))).collect();
    let beside = |b: &Rect, n: &Region, at: Point| {
        b.inflate(FINDING_DEPTH, FINDING_DEPTH).contains(at) && n.nearest(at).is_some_and(|n| n.0 < FINDING_DEPTH)
    };
    let told = |m: &Misfit| {
        let at = middle(m);
        own.iter().any(|n| n.contains(at)) || others.iter().any(|(b, n)| beside(b, n, m.at))
    };
    found.parts.iter().filter(|m| m.is_corner() && !told(m)).collect()
}

fn eased_severity(moved: f64) -> Severity {
    if moved <= SMALL_MOVE { Severity::Note } else { Severity::Warning }
}

fn both_rounded(radius: f64, moved: f64) -> String {
    format!("both pieces come out rounded to {radius:.2} mm here, {moved:.2} mm off the drawing")
}

/// How it is drawn, in words. `angle`: between the sides, on the wood's side that is spoken of, degrees.
pub(super) fn drawn(m: &Misfit) -> String {
    if m.cusp {
        return "drawn to a point between two sides that touch".to_owned();
    }
    let angle = 180.0 - m.turn.to_degrees();
    if m.radius < 0.005 {
        format!("of {angle:.0}° drawn sharp")
    } else {
        format!("of {angle:.0}° drawn with a radius of {:.2} mm", m.radius)
    }
}

fn inside_corner(of: &Subject, m: &Misfit, moved: f64) -> Finding {
    let cutter = of.tools.recess.cutter;
    let needed = of.tools.recess.cutter_radius();
    let left = format!("the cutter leaves {:.2} mm of wood in the recess", m.depth);
    let (severity, outcome) = match of.corners {
        Corners::Ease { inside, .. } => (eased_severity(moved), both_rounded(needed + inside, moved)),
        Corners::Square => (Severity::Note, format!("{left}, the insert comes out as drawn: chisel the recess square")),
        Corners::Keep => {
            (Severity::Warning, format!("{left}, the insert comes out as drawn: chisel the recess or round the insert"))
        }
    };
    let message = format!("an inside corner {}, but the {cutter} mm cutter makes {needed} mm: {outcome}", drawn(m));
    let fits = to_be_had(2.0 * m.largest_radius(FINDING_DEPTH));
    let tool = fits.map(|d| format!(", or take a cutter of at most {d} mm")).unwrap_or_default();
    let help = format!("to have it as drawn, draw it with a radius of {needed} mm or more{tool}");
    told(Code::InsideCorner, severity, message, help, of, m, needed).way("cutter", fits)
}

fn jutting_corner(of: &Subject, m: &Misfit, moved: f64) -> Finding {
    let tools = of.tools;
    let needed = tools.largest_offset();
    let (severity, outcome) = match of.corners.jutting_radius(tools) {
        Some(radius) => (eased_severity(moved), both_rounded(radius, moved)),
        None => (
            Severity::Warning,
            format!(
                "the recess loses its point to a radius of {0:.2} mm, the insert's hollow comes out with {1:.2} mm: \
                 pare the hollow to {0:.2} mm, never sharp",
                tools.recess_offset(),
                tools.insert_offset()
            ),
        ),
    };
    let message = format!("a jutting corner {}, but the bush goes round it at {needed:.2} mm: {outcome}", drawn(m));
    // (B + d)/2 − gap = o, and the corner is followed up to this o.
    let follows = m.largest_radius(FINDING_DEPTH);
    let bush = 2.0 * (follows + tools.gap) - tools.insert.cutter;
    let room = bush > tools.insert.cutter + 1.0 && tools.recess_offset() <= follows;
    let fits = to_be_had(bush).filter(|_| room);
    let tool = fits.map(|b| format!(", or take an insert bush of at most {b} mm"));
    let help = format!(
        "to have it as drawn, draw it with a radius of {:.2} mm or more{}",
        up(needed),
        tool.unwrap_or_default()
    );
    told(Code::JuttingCorner, severity, message, help, of, m, needed).way("insert-bush", fits)
}

/// A diameter to propose, to the hundredth below; none where no such tool is to be had.
pub(super) fn to_be_had(diameter: f64) -> Option<f64> {
    let hundredths = (diameter * 100.0 + 1e-6).floor() / 100.0;
    (hundredths >= 1.0).then_some(hundredths)
}

/// To the hundredth above: a radius to draw is no smaller than what is needed.
fn up(mm: f64) -> f64 {
    (mm * 100.0 - 1e-6).ceil() / 100.0
}

fn told(
    code: Code,
    severity: Severity,
    message: String,
    help: String,
    of: &Subject,
    m: &Misfit,
    needed: f64,
) -> Finding {
    let mut f = Finding::new(code, severity, message, help).at(m.at).on(of.number);
    f = f.measures(m.radius, needed).covers(m.area).larger(m.radius, needed, LARGEST_SCALE);
    f.short = Some(m.depth);
    f
}
