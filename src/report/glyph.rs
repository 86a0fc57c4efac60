//! The signs of the three severities, the same as in the terminal: ● error, ▲ warning, ○ note.

use super::canvas::{BLUE, ORANGE};
use crate::check::Severity;
use crate::geom::{Point, Rect, Vec2};
use crate::text::{NotFinite, rounded};

/// Farthest that a balloon reaches from its middle, mm.
pub(super) const REACH: f64 = 3.6;
/// Radius of the ring at the place, mm.
pub(super) const RING: f64 = 1.7;

/// The colour of a severity.
pub(super) fn colour(severity: Severity) -> &'static str {
    match severity {
        Severity::Error | Severity::Warning => ORANGE,
        Severity::Note => BLUE,
    }
}

pub(super) fn reach(balloon: Point) -> Rect {
    Rect::from_center_size(balloon, (2.0 * REACH, 2.0 * REACH))
}

/// Width of a mark's lines, mm: the worse, the heavier.
fn weight(severity: Severity) -> f64 {
    match severity {
        Severity::Error => 0.6,
        Severity::Warning => 0.4,
        Severity::Note => 0.25,
    }
}

fn n(v: f64) -> Result<String, NotFinite> {
    rounded(v, 3)
}

/// The ring at the place, the leader and the balloon with its number.
pub(super) fn mark(ring: Point, balloon: Point, severity: Severity, number: usize) -> Result<String, NotFinite> {
    mark_in(colour(severity), ring, balloon, severity, number)
}

/// The same in a colour of its own.
pub(super) fn mark_in(
    colour: &str,
    ring: Point,
    balloon: Point,
    severity: Severity,
    number: usize,
) -> Result<String, NotFinite> {
    let v = balloon - ring;
    let foot = if v.hypot() > RING { ring + v * (RING / v.hypot()) } else { ring };
    let (w, casing) = (n(weight(severity))?, n(weight(severity) + 0.5)?);
    let (x1, y1, x2, y2) = (n(foot.x)?, n(foot.y)?, n(balloon.x)?, n(balloon.y)?);
    let line = format!("x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\"");
    let (cx, cy, r) = (n(ring.x)?, n(ring.y)?, n(RING)?);
    let round = format!("cx=\"{cx}\" cy=\"{cy}\" r=\"{r}\" fill=\"none\"");
    Ok(format!(
        "<line {line} stroke=\"#ffffff\" stroke-opacity=\"0.8\" stroke-width=\"{casing}\"/>\
         <line {line} stroke=\"{colour}\" stroke-width=\"{w}\"/>\
         <circle {round} stroke=\"#ffffff\" stroke-opacity=\"0.8\" stroke-width=\"{casing}\"/>\
         <circle {round} stroke=\"{colour}\" stroke-width=\"{w}\"/>{}",
        sign_in(colour, balloon, severity, Some(number), 1.0)?
    ))
}

/// The sign of a severity with its middle at `c`, with a number in it if there is one. `size`: 1 is a balloon.
pub(super) fn sign(c: Point, severity: Severity, number: Option<usize>, size: f64) -> Result<String, NotFinite> {
    sign_in(colour(severity), c, severity, number, size)
}

/// The same in a colour of its own.
pub(super) fn sign_in(
    fill: &str,
    c: Point,
    severity: Severity,
    number: Option<usize>,
    size: f64,
) -> Result<String, NotFinite> {
    let (shape, drop) = match severity {
        // A second ring makes an error the heaviest.
        Severity::Error => {
            let (x, y) = (n(c.x)?, n(c.y)?);
            let (outer, inner, w) = (n(3.25 * size)?, n(2.6 * size)?, n(0.35 * size)?);
            let round = format!(
                "<circle cx=\"{x}\" cy=\"{y}\" r=\"{outer}\" fill=\"#ffffff\" stroke=\"{fill}\" stroke-width=\"{w}\"/>\
                 <circle cx=\"{x}\" cy=\"{y}\" r=\"{inner}\" fill=\"{fill}\"/>"
            );
            (round, 0.0)
        }
        Severity::Warning => {
            let corners = [(0.0, -3.4), (3.5, 2.6), (-3.5, 2.6)].map(|(x, y)| c + Vec2::new(x, y) * size);
            let mut list = Vec::new();
            for p in corners {
                list.push(format!("{},{}", n(p.x)?, n(p.y)?));
            }
            (format!("<polygon points=\"{}\" fill=\"{fill}\"/>", list.join(" ")), 0.75)
        }
        Severity::Note => {
            let (x, y, r, w) = (n(c.x)?, n(c.y)?, n(2.7 * size)?, n(0.5 * size)?);
            let round = format!("cx=\"{x}\" cy=\"{y}\" r=\"{r}\"");
            (format!("<circle {round} fill=\"#ffffff\" stroke=\"{fill}\" stroke-width=\"{w}\"/>"), 0.0)
        }
    };
    let Some(number) = number else { return Ok(shape) };
    let digits = number.to_string();
    let font = match (digits.len(), severity) {
        (1, _) => 3.0,
        (2, Severity::Warning) => 2.6,
        (2, _) => 3.0,
        (3, Severity::Warning) => 1.9,
        (3, _) => 2.2,
        _ => 1.5,
    } * size;
    let (x, y, f) = (n(c.x)?, n(c.y + drop * size + 0.36 * font)?, n(font)?);
    // A ring has its number in its own colour.
    let ink = if severity == Severity::Note { fill } else { "#ffffff" };
    Ok(format!(
        "{shape}<text x=\"{x}\" y=\"{y}\" font-size=\"{f}\" font-weight=\"bold\" text-anchor=\"middle\" \
         fill=\"{ink}\">{digits}</text>"
    ))
}
