//! Waste between plug and shoulder cleared with the bush guided: which bushes, in which opening, in what order.
//!
//! In: the insert's two openings (drawing frame, mm), the pairs that cut the finished lines, the bushes at hand. Out: the
//! passes from the plug outward, all with the plug's cutter so that the depth stop stays, and what they leave. A bush
//! of radius R' with a cutter of radius r clears the band from `T ⊖ (R' + r)` to `T ⊖ (R' − r)`: Minkowski algebra with
//! discs (Serra, 1982). Bands of one opening lie within one another, so a chain of them that overlap is one band, and
//! what all leave is one difference of two regions: measured as such, not by adding areas. Refuses nothing.

use crate::budget::Budget;
use crate::geom::{Certified, GeomError, Region, grow, minus, shrink};
use crate::kit::Pair;
use crate::tolerance::WIDTH_SLACK;

/// Clearing keeps this far off the finished plug, mm. Common practice, no source.
pub const OFF_PLUG: f64 = 0.3;
/// Neighbouring bands overlap by this at least, mm, or a wisp is left. Common practice, no source.
pub const OVERLAP: f64 = 0.5;
/// Less left than this, mm², is nothing: crumbs of two edges that fall together.
const NOTHING: f64 = 1e-3;
/// More clearing openings than this are not proposed.
const MOST_OPENINGS: usize = 8;

/// The opening in which a pass is run.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum In {
    Plug,
    Shoulder,
}

/// One round with a bush.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pass {
    pub opening: In,
    pub pair: Pair,
}

/// How the waste on the insert goes. The kerf of the plug's line comes before, that of the shoulder's line last.
#[derive(Clone, Debug, PartialEq)]
pub struct Clearing {
    pub passes: Vec<Pass>,
    /// Area between the finished plug and the finished shoulder, mm².
    pub waste: f64,
    /// What no pass reaches, drawing frame: for a clearing opening or for a free hand.
    pub left: Region,
    /// By how much the plug's opening would have to be grown for each clearing opening that takes the rest, mm.
    pub openings: Vec<f64>,
}

impl Clearing {
    /// Share of the waste that is cleared with the bush guided, 0 to 1.
    #[must_use]
    pub fn coverage(&self) -> f64 {
        if self.waste <= 0.0 { 1.0 } else { 1.0 - self.left.area() / self.waste }
    }
}

/// The insert's waste cleared with as few bushes as it takes; where bushes do not do, with as few clearing openings.
///
/// # Errors
/// As the operations of [`crate::geom`].
pub fn insert(
    (plug, plug_pair): (&Certified<Region>, Pair),
    (shoulder, shoulder_pair): (&Certified<Region>, Pair),
    bushes: &[f64],
    budget: &Budget,
) -> Result<Clearing, GeomError> {
    let r = plug_pair.cutter_radius();
    let line = plug_pair.bush_radius() + r;
    let finished = shrink(plug, line, budget)?;
    let edge = shoulder_pair.bush_radius() + shoulder_pair.cutter_radius();
    let waste = minus(&shrink(shoulder, edge, budget)?, &finished, budget)?.area();
    let near = grow(&finished, OFF_PLUG, budget)?;
    let off_plug = |reach: f64| -> Result<bool, GeomError> {
        Ok(minus(&near, &shrink(shoulder, reach, budget)?, budget)?.area() < NOTHING)
    };
    let small = smaller(plug_pair, bushes);
    let large = larger(edge, r, bushes, off_plug)?;
    let reach = |small: &[f64], grown: f64| small.last().map_or(line - 2.0 * r, |b| b / 2.0 - r) - grown;
    let inner = |large: &[f64]| large.last().map_or(edge, |b| b / 2.0 + r);
    let left = |out: f64, inward: f64, budget: &Budget| -> Result<Region, GeomError> {
        let cleared = if out >= 0.0 { shrink(plug, out, budget)? } else { grow(plug, -out, budget)? };
        minus(&shrink(shoulder, inward, budget)?, &cleared, budget)
    };
    let done = |out: f64, inward: f64| Ok::<bool, GeomError>(left(out + OVERLAP, inward, budget)?.area() < NOTHING);
    let passes = |small: &[f64], large: &[f64]| -> Vec<Pass> {
        let with = |opening, b: f64| Pass { opening, pair: Pair { bush: b, cutter: plug_pair.cutter } };
        let inside = small.iter().map(|&b| with(In::Plug, b));
        // From the middle outward: the largest bush runs nearest to the plug.
        inside.chain(large.iter().rev().map(|&b| with(In::Shoulder, b))).collect()
    };
    for count in 0..=small.len() + large.len() {
        for n in (0..=count.min(small.len())).rev().filter(|n| count - n <= large.len()) {
            let (s, l) = (&small[..n], &large[..count - n]);
            // With no other bush the line's own kerfs may just meet.
            if done(reach(s, 0.0), inner(l))? {
                let left = left(reach(s, 0.0), inner(l), budget)?;
                return Ok(Clearing { passes: passes(s, l), waste, left, openings: Vec::new() });
            }
        }
    }
    let (out, inward) = (reach(&small, 0.0), inner(&large));
    let rest = left(out, inward, budget)?;
    let mut openings = Vec::new();
    let mut grown = 0.0;
    while openings.len() < MOST_OPENINGS && !done(reach(&small, grown), inward)? {
        grown += line - out - OVERLAP;
        openings.push(grown);
    }
    Ok(Clearing { passes: passes(&small, &large), waste, left: rest, openings })
}

/// Smaller bushes in the plug's opening, each as small as it may be and still overlap the band before it.
fn smaller(pair: Pair, bushes: &[f64]) -> Vec<f64> {
    let r = pair.cutter_radius();
    let mut chain: Vec<f64> = Vec::new();
    loop {
        let out = chain.last().map_or(pair.bush_radius(), |b| b / 2.0) - r;
        let fits = |b: &f64| {
            let (inner, outer) = (b / 2.0 + r, b / 2.0 - r);
            b / 2.0 > r + WIDTH_SLACK
                && outer < out - WIDTH_SLACK
                && inner >= out + OVERLAP
                && inner <= pair.bush_radius() + r - OFF_PLUG
        };
        match bushes.iter().copied().filter(fits).min_by(f64::total_cmp) {
            Some(b) => chain.push(b),
            None => return chain,
        }
    }
}

/// Larger bushes in the shoulder's opening, inward from the line, each as large as it may be: the first runs up to the
/// line or over it, so that no rim stands; the others overlap the band before.
fn larger(
    edge: f64,
    r: f64,
    bushes: &[f64],
    off_plug: impl Fn(f64) -> Result<bool, GeomError>,
) -> Result<Vec<f64>, GeomError> {
    let mut chain: Vec<f64> = Vec::new();
    loop {
        let (most, need) = chain.last().map_or((edge, WIDTH_SLACK), |b| (b / 2.0 + r, -OVERLAP));
        let mut able: Vec<f64> = bushes.to_vec();
        able.retain(|b| b / 2.0 > r + WIDTH_SLACK && b / 2.0 - r <= most + need && b / 2.0 + r > most + WIDTH_SLACK);
        able.sort_by(|a, b| b.total_cmp(a));
        let mut next = None;
        for b in able {
            if off_plug(b / 2.0 + r)? {
                next = Some(b);
                break;
            }
        }
        match next {
            Some(b) => chain.push(b),
            None => return Ok(chain),
        }
    }
}

/// Bushes that may clear a recess with the pair's own cutter: those that keep within its line (`R' − r ≥ R − r`), the
/// largest first and the pair's own last.
#[must_use]
pub fn recess(pair: Pair, bushes: &[f64]) -> Vec<Pair> {
    let mut able: Vec<f64> = bushes.iter().copied().filter(|b| *b > pair.bush + WIDTH_SLACK).collect();
    able.sort_by(|a, b| b.total_cmp(a));
    able.push(pair.bush);
    able.into_iter().map(|bush| Pair { bush, ..pair }).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::{FillRule, Point, Ring, enclosed};

    const PAIR: Pair = Pair { bush: 20.0, cutter: 6.0 };

    fn disc(radius: f64) -> Certified<Region> {
        enclosed(&[Ring::circle(Point::ORIGIN, radius)], FillRule::NonZero, &Budget::unlimited()).unwrap()
    }

    /// Plug ⌀30 and shoulder ⌀60 with 20/6: openings of radius 15 + 13 and 30 + 13.
    fn round(bushes: &[f64]) -> Clearing {
        insert((&disc(28.0), PAIR), (&disc(43.0), PAIR), bushes, &Budget::unlimited()).unwrap()
    }

    /// By hand: in opening 1 bush 20 clears 0 to 6 from the plug and bush 12 clears 4 to 10; in opening 2 bush 32 clears
    /// 9 to 15, which is the shoulder's line.
    #[test]
    fn round_plug_in_round_shoulder() {
        let c = round(&[12.0, 16.0, 20.0, 24.0, 27.0, 30.0, 32.0, 40.0]);
        let told: Vec<_> = c.passes.iter().map(|p| (p.opening, p.pair.bush)).collect();
        assert_eq!(told, [(In::Plug, 12.0), (In::Shoulder, 32.0)]);
        assert!(c.openings.is_empty() && c.left.area() < 1e-3);
        let ring = std::f64::consts::PI * (30.0 * 30.0 - 15.0 * 15.0);
        assert!((c.waste - ring).abs() < 0.05, "{} {ring}", c.waste);
        assert!((c.coverage() - 1.0).abs() < 1e-6);
    }

    /// Without other bushes the ring from 6 to 15 off the plug is left: radii 21 and 30. A clearing opening overlaps by
    /// half a millimetre, so each takes 5.5 more: two reach 6 + 2 · 5.5 = 17.
    #[test]
    fn without_bushes_it_takes_two_openings() {
        let c = round(&[20.0]);
        assert!(c.passes.is_empty());
        let ring = std::f64::consts::PI * (30.0 * 30.0 - 21.0 * 21.0);
        assert!((c.left.area() - ring).abs() < 0.05, "{}", c.left.area());
        assert_eq!(c.openings, [5.5, 11.0]);
    }

    /// In a 20/6 opening bush 16 cuts 2 mm past the line and bush 12 cuts 4: neither may clear a recess.
    #[test]
    fn only_larger_bushes_clear_a_recess() {
        let order: Vec<f64> = recess(PAIR, &[12.0, 16.0, 20.0, 24.0, 30.0]).iter().map(|p| p.bush).collect();
        assert_eq!(order, [30.0, 24.0, 20.0]);
    }
}
