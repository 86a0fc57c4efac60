//! Corners that the tools make rounder than drawn: inside corners by the recess's cutter, outside corners by the
//! offset.
//!
//! In: one region of the difference that is a single corner, and the corner's own figures. Out: its finding. Measured
//! and needed are radii, mm. Where the tool itself is too large, needed is the tool's radius. `short` is then the
//! distance that the tool keeps from the corner. Where only the easing margin moves the outline, needed is the radius
//! with the margin. `short` is then the distance that the outline moves.

use super::{Code, Finding, Severity, Subject};
use crate::geom::edges::EdgeIndex;
use crate::geom::misfit::Misfit;
use crate::template::ease::Corners;
use crate::text::{Words, at_least, at_most, fixed, plain, tool, typed};
use crate::tolerance::{DRAWN_SHARP, FINDING_DEPTH, TYPED, WIDTH_SLACK};
use crate::words;

/// A corner where easing moves the outline no farther than this gets a note instead of a warning, mm.
const SMALL_MOVE: f64 = 1.0;

/// Largest scale of the drawing that is proposed for the sake of a corner.
const LARGEST_SCALE: f64 = 3.0;

/// What a finding on one corner is made from.
#[derive(Clone, Copy)]
pub struct Corner<'a> {
    pub of: &'a Subject<'a>,
    /// The corner as the tool alone leaves it. `None` where the corner is as round as the tool needs.
    pub tight: Option<&'a Misfit>,
    /// The region in which the pieces differ from the drawing.
    pub moved: &'a Misfit,
    pub drawn: &'a EdgeIndex,
}

impl Corner<'_> {
    fn figures(&self) -> &Misfit {
        self.tight.unwrap_or(self.moved)
    }

    /// The radius with all margins of the largest tool that makes the corner as drawn. Calculated where the sides are
    /// straight, and always tried.
    fn largest(&self, lost: bool, now: f64) -> Option<f64> {
        self.figures().reached_by(self.drawn, lost, now, FINDING_DEPTH)
    }

    #[must_use]
    pub fn inside(&self) -> Finding {
        let (of, m) = (self.of, self.figures());
        let cutter = tool(of.tools.recess_called.cutter);
        let (r, eased) = (of.tools.recess.cutter_radius(), of.inside_radius());
        let margin = eased - r;
        let needed = if self.tight.is_some() { r } else { eased };
        let extra = if matches!(of.corners, Corners::Ease { .. }) && margin > WIDTH_SLACK {
            words!(", {} by --ease-inside", plain(margin))
        } else {
            Words::default()
        };
        let head = words!(
            "Inside corner of the recess rounds to {}: {} by the {} cutter{}. Drawn {}.",
            plain(eased),
            plain(r),
            cutter,
            extra,
            shape(m)
        );
        let wood = words!("{} of wood stays in the recess, and the inlay comes out as drawn.", fixed(m.depth));
        let (severity, outcome, by_hand) = match of.corners {
            Corners::Ease { .. } => (eased_severity(self.moved.depth), self.both_pieces(), Words::default()),
            Corners::Square => (Severity::Note, wood, "Chisel the recess square there.".into()),
            Corners::Keep => (Severity::Warning, wood, "Chisel the recess there, or round the inlay.".into()),
        };
        let message = words!("{} {}", head, outcome);
        let largest = self.largest(true, eased);
        let fits = largest.and_then(|t| available(2.0 * (t - margin)));
        let inside = largest.filter(|t| self.tight.is_none() && *t >= r).map(|t| down(t - r));
        let tool = fits.map(|d| words!("use a cutter of at most {}", at_most(d)));
        let set = inside.map(|mm| words!("set --ease-inside {}", typed(mm)));
        let help = remedy(by_hand, words!("a radius of {} or more", at_least(eased)), [tool, set]);
        self.finding(Code::InsideCorner, severity, message, help, needed, eased)
            .way("cutter", fits)
            .way("ease-inside", inside)
    }

    #[must_use]
    pub fn outside(&self) -> Finding {
        let (of, m, tools) = (self.of, self.figures(), self.of.tools);
        let (o, eased) = (tools.largest_offset(), of.outside_radius());
        let margin = eased - o;
        let needed = if self.tight.is_some() { o } else { eased };
        let (recess, inlay) = (tools.recess_offset().max(m.radius), tools.inlay_offset().max(m.radius));
        let (severity, message, by_hand) = match of.corners.outside_radius(tools) {
            Some(radius) => {
                let (whose, pair) = if tools.inlay_offset() >= tools.recess_offset() {
                    ("inlay", tools.inlay_called)
                } else {
                    ("recess", tools.recess_called)
                };
                let extra = if margin > WIDTH_SLACK {
                    words!(", and --ease-outside adds {}", plain(margin))
                } else {
                    Words::default()
                };
                let message = words!(
                    "Outside corner of the recess (a notch in the inlay) rounds to {}. The {}'s {} bush and {} cutter \
                     leave {}{}. Drawn {}. {}",
                    plain(radius),
                    whose,
                    tool(pair.bush),
                    tool(pair.cutter),
                    plain(o),
                    extra,
                    shape(m),
                    self.both_pieces()
                );
                (eased_severity(self.moved.depth), message, Words::default())
            }
            None => {
                let message = words!(
                    "Outside corner of the recess rounds to {}, and the notch in the inlay to {}: drawn {}.",
                    plain(recess),
                    plain(inlay),
                    shape(m)
                );
                let pare = words!("Pare the inlay's notch to a radius of {}, never sharper.", plain(recess));
                (Severity::Warning, message, if inlay > recess { pare } else { Words::default() })
            }
        };
        let largest = self.largest(false, eased);
        let of_bush = |follows: f64| 2.0 * (follows - margin + tools.gap) - tools.inlay.cutter;
        let room = |t: f64| of_bush(t) > tools.inlay.cutter + 1.0 && tools.recess_offset() <= t - margin;
        let fits = largest.filter(|t| room(*t)).and_then(|t| available(of_bush(t)));
        let outside = largest.filter(|t| self.tight.is_none() && *t >= o).map(|t| down(t - o));
        let tool = fits.map(|b| words!("use an inlay bush of at most {}", at_most(b)));
        let set = outside.map(|mm| words!("set --ease-outside {}", typed(mm)));
        let help = remedy(by_hand, words!("a radius of {} or more", at_least(eased)), [tool, set]);
        self.finding(Code::OutsideCorner, severity, message, help, needed, eased)
            .way("inlay-bush", fits)
            .way("ease-outside", outside)
    }

    fn both_pieces(&self) -> Words {
        words!("Both pieces are {} off.", fixed(self.moved.depth))
    }

    fn finding(&self, code: Code, severity: Severity, message: Words, help: Words, needed: f64, eased: f64) -> Finding {
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

/// The shape of a corner, to follow "drawn". The angle is the one between the sides, in the corner, degrees.
pub(super) fn shape(m: &Misfit) -> Words {
    if m.cusp {
        return "to a point where its sides touch".into();
    }
    let angle = format!("{:.0}°", 180.0 - m.point.unwrap_or(m.turn).to_degrees());
    if m.radius < DRAWN_SHARP {
        words!("sharp at {}", angle)
    } else {
        words!("at {} with {} radius", angle, plain(m.radius))
    }
}

/// A remedy in one or two sentences: what to do by hand, if anything, then what to draw or which setting to use
/// instead. `draw` follows "draw", each of `others` is an imperative without a capital.
pub(super) fn remedy(by_hand: Words, draw: Words, others: [Option<Words>; 2]) -> Words {
    let draw = if by_hand.is_empty() { words!("Draw {}", draw) } else { words!("{} Or draw {}", by_hand, draw) };
    match others {
        [None, None] => words!("{}.", draw),
        [Some(one), None] | [None, Some(one)] => words!("{}, or {}.", draw, one),
        [Some(one), Some(other)] => words!("{}, {}, or {}.", draw, one, other),
    }
}

/// A diameter to propose, rounded down to the hundredth. `None` below 1 mm, where no tool exists.
pub(super) fn available(diameter: f64) -> Option<f64> {
    let hundredths = down(diameter);
    (hundredths >= 1.0).then_some(hundredths)
}

/// Rounded down to the hundredth, with slack for the error of doubles.
pub(super) fn down(mm: f64) -> f64 {
    (mm * 100.0 + TYPED).floor() / 100.0
}
