//! Clears the waste between plug and shoulder with a guided bush: which bushes, in which opening, in which order.
//!
//! In: the inlay's two openings (drawing frame, mm), the pairs that cut the finished lines, the available bushes. Out:
//! the passes from the plug outward, clearing openings where the bushes do not suffice, and the waste that remains. All
//! passes use the plug's cutter, so that the depth stop stays.
//!
//! Let a bush of radius R' with a cutter of radius r run in an opening T. It clears the band between `T ⊖ (R' + r)` and
//! `T ⊖ (R' − r)`: Minkowski algebra with discs (Serra, 1982). Bands of one opening are nested, so a chain of
//! overlapping bands is one band. What all bands leave is a difference of regions; it is measured as such, not by
//! adding areas.
//!
//! A clearing opening is the grown plug intersected with the grown shoulder. Erosion distributes over an intersection,
//! so its bands are those of the grown plug, cut off beyond the shoulder's line. All errors come from `geom`.

use crate::budget::Budget;
use crate::geom::{Certified, FillRule, GeomError, Region, and, enclosed, flattened, grow, minus, shrink};
use crate::kit::Pair;
use crate::tolerance::{NOTHING_LEFT, WIDTH_SLACK};

/// Clearing stays this far from the finished plug, mm. Common practice, no source.
pub const OFF_PLUG: f64 = 0.3;
/// Least overlap of neighbouring bands, mm; with less, a thin wall of waste may remain. Common practice, no source.
pub const OVERLAP: f64 = 0.5;
/// Most clearing openings proposed.
const MOST_OPENINGS: usize = 8;

/// The opening in which a pass runs.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum In {
    Plug,
    Shoulder,
    /// The clearing opening at this index of [`Clearing::openings`].
    Clearing(usize),
}

/// One pass with a bush.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pass {
    pub opening: In,
    pub pair: Pair,
}

/// How the waste on the inlay is cleared. The kerf of the plug's line comes before these passes, that of the shoulder's
/// line after them.
#[derive(Clone, Debug, PartialEq)]
pub struct Clearing {
    pub passes: Vec<Pass>,
    /// Area between the finished plug and the finished shoulder, mm².
    pub waste: f64,
    /// What no pass reaches, drawing frame: left for freehand work.
    pub left: Region,
    /// Openings used only for clearing, from the plug outward.
    pub openings: Vec<ClearingOpening>,
}

/// An opening used only for clearing.
#[derive(Clone, Debug, PartialEq)]
pub struct ClearingOpening {
    /// Distance of its edge from the finished plug, mm, except where it runs along the shoulder.
    pub offset: f64,
    /// In the drawing frame.
    pub region: Certified<Region>,
}

impl Clearing {
    /// The same with the openings' arcs replaced by chords within `tolerance` mm.
    ///
    /// # Errors
    /// As [`flattened`].
    pub fn flattened(mut self, tolerance: f64, budget: &Budget) -> Result<Clearing, GeomError> {
        for o in &mut self.openings {
            o.region = flattened(&o.region, tolerance, budget)?;
        }
        Ok(self)
    }

    /// Share of the waste that guided passes clear, 0 to 1.
    #[must_use]
    pub fn coverage(&self) -> f64 {
        if self.waste <= 0.0 { 1.0 } else { 1.0 - self.left.area() / self.waste }
    }
}

/// Clears the inlay's waste with as few bushes as possible; if bushes do not suffice, with as few clearing openings.
///
/// # Errors
/// As the operations of [`crate::geom`].
pub fn inlay(
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
        Ok(minus(&near, &shrink(shoulder, reach, budget)?, budget)?.area() < NOTHING_LEFT)
    };
    let small = smaller(plug_pair, bushes);
    let large = larger(edge, r, bushes, off_plug)?;
    let reach = |small: &[f64]| small.last().map_or(line - 2.0 * r, |b| b / 2.0 - r);
    let inner = |large: &[f64]| large.last().map_or(edge, |b| b / 2.0 + r);
    let left = |out: f64, inward: f64, budget: &Budget| -> Result<Region, GeomError> {
        let cleared = if out >= 0.0 { shrink(plug, out, budget)? } else { grow(plug, -out, budget)? };
        minus(&shrink(shoulder, inward, budget)?, &cleared, budget)
    };
    let done =
        |out: f64, inward: f64| Ok::<bool, GeomError>(left(out + OVERLAP, inward, budget)?.area() < NOTHING_LEFT);
    let passes = |small: &[f64], large: &[f64]| -> Vec<Pass> {
        let with = |opening, b: f64| Pass { opening, pair: Pair { bush: b, cutter: plug_pair.cutter } };
        let inside = small.iter().map(|&b| with(In::Plug, b));
        // From the plug outward: in the shoulder's opening the largest bush runs nearest to the plug.
        inside.chain(large.iter().rev().map(|&b| with(In::Shoulder, b))).collect()
    };
    for count in 0..=small.len() + large.len() {
        for n in (0..=count.min(small.len())).rev().filter(|n| count - n <= large.len()) {
            let (s, l) = (&small[..n], &large[..count - n]);
            // Done only if the bands overlap by OVERLAP, also without further bushes.
            if done(reach(s), inner(l))? {
                let left = left(reach(s), inner(l), budget)?;
                return Ok(Clearing { passes: passes(s, l), waste, left, openings: Vec::new() });
            }
        }
    }
    let (out, inward) = (reach(&small), inner(&large));
    let finished_shoulder = shrink(shoulder, edge, budget)?;
    let further = Further { plug: &finished, shoulder: &finished_shoulder, pair: plug_pair, bushes, budget };
    let mut all = passes(&small, &[]);
    let (openings, left) = further.openings(line - out, left(out, inward, budget)?, &mut all)?;
    all.extend(passes(&[], &large));
    Ok(Clearing { passes: all, waste, left, openings })
}

/// Finds clearing openings between the band around the plug and the band along the shoulder.
struct Further<'a> {
    plug: &'a Certified<Region>,
    shoulder: &'a Certified<Region>,
    pair: Pair,
    bushes: &'a [f64],
    budget: &'a Budget,
}

impl Further<'_> {
    /// The fewest openings that clear the waste beyond `reached` mm from the plug, and what they leave. Their passes
    /// are appended to `passes`: in each opening from the largest bush, nearest to the plug, to the smallest.
    fn openings(
        &self,
        mut reached: f64,
        mut left: Region,
        passes: &mut Vec<Pass>,
    ) -> Result<(Vec<ClearingOpening>, Region), GeomError> {
        let r = self.pair.cutter_radius();
        let chain = chain(self.pair, self.bushes);
        let mut openings = Vec::new();
        while !chain.is_empty() && openings.len() < MOST_OPENINGS && left.area() >= NOTHING_LEFT {
            let inner = reached - OVERLAP;
            let mut best = None;
            // The widest band may use all bushes; use fewer if they suffice.
            for n in 1..=chain.len() {
                let (least, most) = (chain[0] / 2.0, chain[n - 1] / 2.0);
                let (opening, rest, done) = self.opening_at(inner + most + r, least - r, most + r, &left)?;
                best = Some((n, opening, rest));
                if done {
                    break;
                }
            }
            let Some((n, opening, rest)) = best else { break };
            let with = |b: &f64| Pass {
                opening: In::Clearing(openings.len()),
                pair: Pair { bush: *b, cutter: self.pair.cutter },
            };
            passes.extend(chain[..n].iter().rev().map(with));
            reached = inner + (chain[n - 1] - chain[0]) / 2.0 + 2.0 * r;
            openings.push(opening);
            left = rest;
        }
        Ok((openings, left))
    }

    /// The opening `offset` outside the plug, and what it leaves of `left` with bands from `outer` to `inner` inside
    /// its edge. Also whether it leaves nothing even with OVERLAP less reach.
    fn opening_at(
        &self,
        offset: f64,
        outer: f64,
        inner: f64,
        left: &Region,
    ) -> Result<(ClearingOpening, Region, bool), GeomError> {
        let grown = without_holes(&grow(self.plug, offset, self.budget)?, self.budget)?;
        // Grown by the reach of the largest bush, so that along the shoulder no bush cuts inside the shoulder's line.
        let region = and(&grown, &grow(self.shoulder, inner, self.budget)?, self.budget)?;
        let left = enclosed(&left.rings, FillRule::NonZero, self.budget)?;
        let rest = |outer: f64| -> Result<Region, GeomError> {
            let beyond = minus(&left, &shrink(&region, outer, self.budget)?, self.budget)?;
            let within = and(&left, &shrink(&region, inner, self.budget)?, self.budget)?;
            Ok(Region::new(beyond.rings.into_iter().chain(within.into_inner().rings).collect()))
        };
        let done = rest(outer + OVERLAP)?.area() < NOTHING_LEFT;
        let rest = rest(outer)?;
        Ok((ClearingOpening { offset, region }, rest, done))
    }
}

/// The region with its holes filled: a hole would be a loose piece of template.
fn without_holes(region: &Certified<Region>, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let outer: Vec<_> = region.rings.iter().filter(|r| r.area() > 0.0).cloned().collect();
    if outer.len() == region.rings.len() { Ok(region.clone()) } else { enclosed(&outer, FillRule::NonZero, budget) }
}

/// The fewest bushes that form one band of the greatest width, from the smallest upward. Each is the largest that
/// overlaps the band before it.
fn chain(pair: Pair, bushes: &[f64]) -> Vec<f64> {
    let r = pair.cutter_radius();
    let mut able: Vec<f64> = bushes.iter().copied().filter(|b| b / 2.0 > r + WIDTH_SLACK).collect();
    able.sort_by(f64::total_cmp);
    let mut chain: Vec<f64> = able.first().copied().into_iter().collect();
    while let Some(last) = chain.last().copied() {
        let next = |b: &&f64| **b > last + WIDTH_SLACK && (**b - last) / 2.0 <= 2.0 * r - OVERLAP;
        match able.iter().rfind(next) {
            Some(b) => chain.push(*b),
            None => break,
        }
    }
    chain
}

/// Smaller bushes for the plug's opening, each the smallest that overlaps the band before it.
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

/// Larger bushes for the shoulder's opening, from the line inward, each as large as possible. The first band reaches
/// the line or crosses it, so that no rim remains; each other band overlaps the one before it.
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

/// Pairs that may clear a recess with the pair's own cutter. Their bushes stay within its line (`R' − r ≥ R − r`): the
/// largest first, the pair's own last.
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
        inlay((&disc(28.0), PAIR), (&disc(43.0), PAIR), bushes, &Budget::unlimited()).unwrap()
    }

    /// By hand, distances from the plug: in opening 1 bush 20 clears 0 to 6 and bush 12 clears 4 to 10. In opening 2
    /// bush 32 clears 9 to 15, which is the shoulder's line.
    #[test]
    fn round_plug_in_round_shoulder() {
        let c = round(&[12.0, 16.0, 20.0, 24.0, 27.0, 30.0, 32.0, 40.0]);
        let reported: Vec<_> = c.passes.iter().map(|p| (p.opening, p.pair.bush)).collect();
        assert_eq!(reported, [(In::Plug, 12.0), (In::Shoulder, 32.0)]);
        assert!(c.openings.is_empty() && c.left.area() < 1e-3);
        let ring = std::f64::consts::PI * (30.0 * 30.0 - 15.0 * 15.0);
        assert!((c.waste - ring).abs() < 0.05, "{} {ring}", c.waste);
        assert!((c.coverage() - 1.0).abs() < 1e-6);
    }

    /// Without other bushes the ring from 6 to 15 mm outside the plug is left. With the overlap of half a millimetre,
    /// each clearing opening adds 5.5: two reach 6 + 2 · 5.5 = 17. The first edge lies 5.5 + 13 outside the plug,
    /// radius 33.5. The second would have radius 39; the shoulder grown by the reach of its bush, 30 + 13, does not cut
    /// it off.
    #[test]
    fn without_bushes_it_takes_two_openings() {
        let c = round(&[20.0]);
        let reported: Vec<_> = c.passes.iter().map(|p| (p.opening, p.pair.bush)).collect();
        assert_eq!(reported, [(In::Clearing(0), 20.0), (In::Clearing(1), 20.0)]);
        assert!(c.left.area() < 1e-3 && (c.coverage() - 1.0).abs() < 1e-6, "{}", c.left.area());
        for (o, radius) in c.openings.iter().zip([33.5, 39.0]) {
            assert!((o.offset - (radius - 15.0)).abs() < 1e-9, "{}", o.offset);
            assert!((o.region.bounds().unwrap().width() - 2.0 * radius).abs() < 0.005);
        }
    }

    /// Plug ⌀30 in shoulder ⌀120, bushes 10, 20 and 30, cutter 6. In opening 1 bush 20 clears 0 to 6 from the plug and
    /// bush 10 extends this to 11. In opening 2 bush 30 clears 37 to 45, so 11 to 37 is left. A clearing opening with
    /// 30, 20 and 10 has a band of 16: the first clears 10.5 to 26.5. The second starts at 26 and needs 11.5. With 20
    /// and 10 it would have only 11, so it uses all three.
    #[test]
    fn a_wide_ring_takes_two_openings_with_all_bushes() {
        let b = Budget::unlimited();
        let c = inlay((&disc(28.0), PAIR), (&disc(73.0), PAIR), &[10.0, 20.0, 30.0], &b).unwrap();
        let reported: Vec<_> = c.passes.iter().map(|p| (p.opening, p.pair.bush)).collect();
        let first = [30.0, 20.0, 10.0].map(|b| (In::Clearing(0), b));
        let second = [30.0, 20.0, 10.0].map(|b| (In::Clearing(1), b));
        assert_eq!(reported[0], (In::Plug, 10.0));
        assert_eq!(reported[1..4], first);
        assert_eq!(reported[4..7], second);
        assert_eq!(reported[7..], [(In::Shoulder, 30.0)]);
        let offsets: Vec<f64> = c.openings.iter().map(|o| o.offset).collect();
        assert_eq!(offsets, [10.5 + 18.0, 26.0 + 18.0]);
        assert!((c.coverage() - 1.0).abs() < 1e-6);
    }

    /// In a 20/6 opening bush 16 cuts 2 mm past the line and bush 12 cuts 4: neither may clear a recess.
    #[test]
    fn only_larger_bushes_clear_a_recess() {
        let order: Vec<f64> = recess(PAIR, &[12.0, 16.0, 20.0, 24.0, 30.0]).iter().map(|p| p.bush).collect();
        assert_eq!(order, [30.0, 24.0, 20.0]);
    }
}
