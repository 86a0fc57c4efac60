//! Corners that the tools make rounder than drawn: inside corners by the recess's cutter, outside corners by the offset.
//!
//! In: one region of the difference that is one corner, and the corner's own figures. Out: its finding. Measured and needed
//! are radii, mm. Where the tool itself is too large, needed is the tool's radius, and short is how far the tool stays away from
//! the corner; where only the margin of easing moves it, needed is the radius with the margin, and short is how far it moves.

use super::{Code, Finding, Severity, Subject};
use crate::geom::edges::EdgeIndex;
use crate::geom::misfit::Misfit;
use crate::template::ease::Corners;
use crate::tolerance::FINDING_DEPTH;

/// Where easing moves the outline by no more than this, it is worth a note and no warning, mm.
const SMALL_MOVE: f64 = 1.0;

/// A drawing is not proposed to be made larger than so many times for the sake of a corner.
const LARGEST_SCALE: f64 = 3.0;

/// One corner on its way to its finding.
#[derive(Clone, Copy)]
pub struct Corner<'a> {
    pub of: &'a Subject<'a>,
    /// What the tool alone leaves of it; none where it is as round as the tool needs.
    pub tight: Option<&'a Misfit>,
    /// The region in which the pieces differ from the drawing.
    pub moved: &'a Misfit,
    pub drawn: &'a EdgeIndex,
}

impl Corner<'_> {
    fn figures(&self) -> &Misfit {
        self.tight.unwrap_or(self.moved)
    }

    /// The largest tool, by its radius with all margins, that makes the corner as drawn: by sums where the sides are
    /// straight, and always tried.
    fn largest(&self, lost: bool, now: f64) -> Option<f64> {
        self.figures().reached_by(self.drawn, lost, now, FINDING_DEPTH)
    }

    #[must_use]
    pub fn inside(&self) -> Finding {
        let (of, m) = (self.of, self.figures());
        let (cutter, r, eased) = (of.tools.recess.cutter, of.tools.recess.cutter_radius(), of.inside_radius());
        let needed = if self.tight.is_some() { r } else { eased };
        let left = format!("The cutter leaves {:.2} mm of wood in the recess.", m.depth);
        let (severity, outcome) = match of.corners {
            Corners::Ease { .. } => (eased_severity(self.moved.depth), self.both_rounded(eased)),
            Corners::Square => {
                (Severity::Note, format!("{left} The inlay comes out as drawn: chisel the recess square."))
            }
            Corners::Keep => (
                Severity::Warning,
                format!("{left} The inlay comes out as drawn: chisel the recess or round the inlay."),
            ),
        };
        let makes = if self.tight.is_some() {
            format!("the {cutter} mm cutter makes a radius of {r} mm")
        } else {
            format!("the {cutter} mm cutter with its margin makes a radius of {eased} mm")
        };
        let message = format!("Inside corner of the recess, {}; {makes}. {outcome}", drawn(m));
        let margin = eased - r;
        let largest = self.largest(true, eased);
        let fits = largest.and_then(|t| to_be_had(2.0 * (t - margin)));
        let mut ways = vec![format!("draw it with a radius of {} mm or more", up(eased))];
        ways.extend(fits.map(|d| format!("use a cutter of at most {d} mm")));
        let inside = largest.filter(|t| self.tight.is_none() && *t >= r).map(|t| down(t - r));
        ways.extend(inside.map(|mm| format!("set --ease-inside {mm}")));
        let help = format!("To have it as drawn, {}.", ways.join(", or "));
        self.finding(Code::InsideCorner, severity, message, help, needed, eased)
            .way("cutter", fits)
            .way("ease-inside", inside)
    }

    #[must_use]
    pub fn outside(&self) -> Finding {
        let (of, m, tools) = (self.of, self.figures(), self.of.tools);
        let (o, eased) = (tools.largest_offset(), of.outside_radius());
        let needed = if self.tight.is_some() { o } else { eased };
        let (severity, outcome) = match of.corners.outside_radius(tools) {
            Some(radius) => (eased_severity(self.moved.depth), self.both_rounded(radius)),
            None => (
                Severity::Warning,
                format!(
                    "The recess loses its point to a radius of {0:.2} mm; the inlay's hollow gets {1:.2} mm. Pare the hollow \
                     to {0:.2} mm, never sharp.",
                    tools.recess_offset(),
                    tools.inlay_offset()
                ),
            ),
        };
        let goes = if self.tight.is_some() {
            format!("the bush goes round it at {o:.2} mm")
        } else {
            format!("with its margin it is rounded to {eased:.2} mm")
        };
        let message = format!("Outside corner of the recess, {}; {goes}. {outcome}", drawn(m));
        let margin = eased - o;
        let largest = self.largest(false, eased);
        let of_bush = |follows: f64| 2.0 * (follows - margin + tools.gap) - tools.inlay.cutter;
        let room = |t: f64| of_bush(t) > tools.inlay.cutter + 1.0 && tools.recess_offset() <= t - margin;
        let fits = largest.filter(|t| room(*t)).and_then(|t| to_be_had(of_bush(t)));
        let mut ways = vec![format!("draw it with a radius of {:.2} mm or more", up(eased))];
        ways.extend(fits.map(|b| format!("use an inlay bush of at most {b} mm")));
        let outside = largest.filter(|t| self.tight.is_none() && *t >= o).map(|t| down(t - o));
        ways.extend(outside.map(|mm| format!("set --ease-outside {mm}")));
        let help = format!("To have it as drawn, {}.", ways.join(", or "));
        self.finding(Code::OutsideCorner, severity, message, help, needed, eased)
            .way("inlay-bush", fits)
            .way("ease-outside", outside)
    }

    fn both_rounded(&self, radius: f64) -> String {
        format!("Both pieces come out rounded to {radius:.2} mm, {:.2} mm off the drawing.", self.moved.depth)
    }

    fn finding(
        &self,
        code: Code,
        severity: Severity,
        message: String,
        help: String,
        needed: f64,
        eased: f64,
    ) -> Finding {
        let m = self.figures();
        let mut f = Finding::new(code, severity, message, help).at(m.at).on(self.of.number);
        f = f.measures(m.radius, needed).covers(m.area).larger(m.radius, eased, LARGEST_SCALE);
        f.short = Some(m.depth);
        f
    }
}

fn eased_severity(moved: f64) -> Severity {
    if moved <= SMALL_MOVE { Severity::Note } else { Severity::Warning }
}

/// How it is drawn, in words. The angle is that between the sides, on the side of the wood in question, degrees.
pub(super) fn drawn(m: &Misfit) -> String {
    if m.cusp {
        return "drawn to a point between two sides that touch".to_owned();
    }
    let angle = 180.0 - m.point.unwrap_or(m.turn).to_degrees();
    if m.radius < 0.005 {
        format!("{angle:.0}°, drawn sharp")
    } else {
        format!("{angle:.0}°, drawn with a radius of {:.2} mm", m.radius)
    }
}

/// A diameter to propose, to the hundredth below; none where no such tool is to be had.
pub(super) fn to_be_had(diameter: f64) -> Option<f64> {
    let hundredths = down(diameter);
    (hundredths >= 1.0).then_some(hundredths)
}

/// To the hundredth below, but for what doubles are out by.
pub(super) fn down(mm: f64) -> f64 {
    (mm * 100.0 + 1e-6).floor() / 100.0
}

/// To the hundredth above: a radius to draw is no smaller than what is needed.
fn up(mm: f64) -> f64 {
    (mm * 100.0 - 1e-6).ceil() / 100.0
}
