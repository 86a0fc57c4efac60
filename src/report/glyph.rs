//! The signs of the pictures: ● error, ▲ warning and ○ note, as in the terminal, and three of their own for the joint.
//!
//! Every sign has a shape of its own, so that it reads without colour. In: places on the page, mm, y down. Out: SVG
//! elements. Refuses numbers that are not finite.

use super::canvas::{CRIMSON, INK, OCHRE, PETROL};
use crate::check::Severity;
use crate::geom::{Point, Rect, Vec2};
use crate::proof::joint::JointState;
use crate::text::{NotFinite, rounded};

/// Farthest that a balloon reaches from its middle, mm.
pub(super) const REACH: f64 = 3.6;
/// Radius of the ring at a marked place, mm.
pub(super) const RING: f64 = 1.7;
/// How much wider than its line the white casing of a mark is, mm.
const CASING: f64 = 0.5;

/// What a sign stands for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Sign {
    Severity(Severity),
    /// How a stretch of the joint is.
    Joint(JointState),
}

impl From<Severity> for Sign {
    fn from(severity: Severity) -> Sign {
        Sign::Severity(severity)
    }
}

impl From<JointState> for Sign {
    fn from(kind: JointState) -> Sign {
        Sign::Joint(kind)
    }
}

impl Sign {
    pub(super) fn colour(self) -> &'static str {
        match self {
            Sign::Severity(Severity::Error) | Sign::Joint(JointState::Binds) => CRIMSON,
            Sign::Severity(Severity::Warning) => OCHRE,
            Sign::Severity(Severity::Note) | Sign::Joint(JointState::Gapes) => PETROL,
            Sign::Joint(JointState::AsWanted) => INK,
        }
    }

    /// Width of a mark's lines, mm: the worse, the heavier.
    fn weight(self) -> f64 {
        match self {
            Sign::Severity(Severity::Error) | Sign::Joint(JointState::Binds) => 0.6,
            Sign::Severity(Severity::Warning) | Sign::Joint(JointState::Gapes) => 0.4,
            Sign::Severity(Severity::Note) | Sign::Joint(JointState::AsWanted) => 0.25,
        }
    }

    /// A filled sign has a white number; a hollow sign has a number in its own colour.
    fn filled(self) -> bool {
        match self {
            Sign::Severity(s) => s != Severity::Note,
            Sign::Joint(k) => k == JointState::Binds,
        }
    }

    /// Corners round the middle, mm at size 1; none for a round sign.
    fn corners(self) -> &'static [(f64, f64)] {
        match self {
            Sign::Severity(Severity::Warning) => &[(0.0, -3.4), (3.5, 2.6), (-3.5, 2.6)],
            Sign::Severity(_) => &[],
            Sign::Joint(JointState::Binds) => &[(-2.5, -2.5), (2.5, -2.5), (2.5, 2.5), (-2.5, 2.5)],
            Sign::Joint(JointState::Gapes) => &[(0.0, -3.4), (3.4, 0.0), (0.0, 3.4), (-3.4, 0.0)],
            Sign::Joint(JointState::AsWanted) => {
                &[(-3.1, 0.0), (-1.6, -2.6), (1.6, -2.6), (3.1, 0.0), (1.6, 2.6), (-1.6, 2.6)]
            }
        }
    }
}

/// Bounding box of a balloon.
pub(super) fn reach(balloon: Point) -> Rect {
    Rect::from_center_size(balloon, (2.0 * REACH, 2.0 * REACH))
}

fn n(v: f64) -> Result<String, NotFinite> {
    rounded(v, 3)
}

/// The ring at the place, the leader, and the balloon with its number.
pub(super) fn mark(ring: Point, balloon: Point, sign: impl Into<Sign>, number: usize) -> Result<String, NotFinite> {
    let sign = sign.into();
    let colour = sign.colour();
    let v = balloon - ring;
    let foot = if v.hypot() > RING { ring + v * (RING / v.hypot()) } else { ring };
    let (w, casing) = (n(sign.weight())?, n(sign.weight() + CASING)?);
    let (x1, y1, x2, y2) = (n(foot.x)?, n(foot.y)?, n(balloon.x)?, n(balloon.y)?);
    let line = format!("x1=\"{x1}\" y1=\"{y1}\" x2=\"{x2}\" y2=\"{y2}\"");
    let (cx, cy, r) = (n(ring.x)?, n(ring.y)?, n(RING)?);
    let round = format!("cx=\"{cx}\" cy=\"{cy}\" r=\"{r}\" fill=\"none\"");
    Ok(format!(
        "<line {line} stroke=\"#ffffff\" stroke-opacity=\"0.8\" stroke-width=\"{casing}\"/>\
         <line {line} stroke=\"{colour}\" stroke-width=\"{w}\"/>\
         <circle {round} stroke=\"#ffffff\" stroke-opacity=\"0.8\" stroke-width=\"{casing}\"/>\
         <circle {round} stroke=\"{colour}\" stroke-width=\"{w}\"/>{}",
        draw(balloon, sign, Some(number), 1.0)?
    ))
}

/// A sign with its middle at `c`, and a number in it if there is one. `size`: 1 for a balloon.
pub(super) fn draw(c: Point, sign: impl Into<Sign>, number: Option<usize>, size: f64) -> Result<String, NotFinite> {
    let sign = sign.into();
    let shape = outline(c, sign, size)?;
    let Some(number) = number else { return Ok(shape) };
    let digits = number.to_string();
    let triangle = sign == Sign::Severity(Severity::Warning);
    let font = match (digits.len(), triangle) {
        (2, true) => 2.6,
        (3, true) => 1.9,
        (1 | 2, _) => 3.0,
        (3, _) => 2.2,
        _ => 1.5,
    } * size;
    // The widest part of a triangle lies below its middle.
    let drop = if triangle { 0.75 } else { 0.0 };
    let (x, y, f) = (n(c.x)?, n(c.y + drop * size + 0.36 * font)?, n(font)?);
    let ink = if sign.filled() { "#ffffff" } else { sign.colour() };
    Ok(format!(
        "{shape}<text x=\"{x}\" y=\"{y}\" font-size=\"{f}\" font-weight=\"bold\" text-anchor=\"middle\" \
         fill=\"{ink}\">{digits}</text>"
    ))
}

fn outline(c: Point, sign: Sign, size: f64) -> Result<String, NotFinite> {
    let colour = sign.colour();
    let (x, y) = (n(c.x)?, n(c.y)?);
    match sign {
        // A second ring makes an error the heaviest sign.
        Sign::Severity(Severity::Error) => {
            let (outer, inner, w) = (n(3.25 * size)?, n(2.6 * size)?, n(0.35 * size)?);
            Ok(format!(
                "<circle cx=\"{x}\" cy=\"{y}\" r=\"{outer}\" fill=\"#ffffff\" stroke=\"{colour}\" stroke-width=\"{w}\"/>\
                 <circle cx=\"{x}\" cy=\"{y}\" r=\"{inner}\" fill=\"{colour}\"/>"
            ))
        }
        Sign::Severity(Severity::Note) => {
            let (r, w) = (n(2.7 * size)?, n(0.5 * size)?);
            Ok(format!(
                "<circle cx=\"{x}\" cy=\"{y}\" r=\"{r}\" fill=\"#ffffff\" stroke=\"{colour}\" stroke-width=\"{w}\"/>"
            ))
        }
        _ => {
            let mut list = Vec::new();
            for &(dx, dy) in sign.corners() {
                let p = c + Vec2::new(dx, dy) * size;
                list.push(format!("{},{}", n(p.x)?, n(p.y)?));
            }
            let (points, w) = (list.join(" "), n(0.5 * size)?);
            Ok(if sign.filled() {
                format!("<polygon points=\"{points}\" fill=\"{colour}\"/>")
            } else {
                format!("<polygon points=\"{points}\" fill=\"#ffffff\" stroke=\"{colour}\" stroke-width=\"{w}\"/>")
            })
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Without colour each sign still differs from the others, and none reaches farther than its balloon may.
    #[test]
    fn six_shapes() {
        let signs: [Sign; 6] = [
            Severity::Error.into(),
            Severity::Warning.into(),
            Severity::Note.into(),
            JointState::Binds.into(),
            JointState::AsWanted.into(),
            JointState::Gapes.into(),
        ];
        let mut drawn: Vec<String> =
            signs.iter().map(|s| outline(Point::ORIGIN, *s, 1.0).unwrap().replace(s.colour(), "ink")).collect();
        drawn.sort();
        drawn.dedup();
        assert_eq!(drawn.len(), signs.len());
        for s in signs {
            assert!(s.corners().iter().all(|c| Vec2::from(*c).hypot() < REACH + 0.8), "{s:?}");
        }
        let severities = [signs[0], signs[1], signs[2]].map(Sign::colour);
        assert!(severities[0] != severities[1] && severities[1] != severities[2] && severities[0] != severities[2]);
    }
}
