//! Whether a panel has room for clamps that the router's base does not reach.
//!
//! In: a panel, its openings as seen on the face that is up, and the area that the base sweeps there, mm. Out: the
//! diameter of the largest clamp pad that has two places. A pad is a disc that touches an edge of the panel, because a
//! clamp reaches in from there. It lies on solid template outside the swept area. The two places are at least [`APART`]
//! from each other, because the panel swings around a single clamp. Places are tested every [`STEP`] mm along the edges.

use crate::geom::edges::EdgeIndex;
use crate::geom::inside::Filled;
use crate::geom::{BoxTree, Point, Region, Ring, Vec2};
use crate::panel::Panel;
use crate::tolerance::{PAD_REFINED, WIDTH_SLACK};

/// Diameter of a clamp's pad, mm. Common practice, no source.
pub const PAD: f64 = 20.0;
/// Least distance between two clamps, mm. Common practice, no source.
pub const APART: f64 = 100.0;
/// Spacing of the tested places along the edges, mm.
const STEP: f64 = 2.0;

/// Diameter of the largest pad, mm, up to [`PAD`], that has two places on the panel.
#[must_use]
pub fn room(panel: &Panel, openings: &[Region], swept: &Region) -> f64 {
    let taken = Taken::new(openings, swept);
    if taken.has_two(panel, PAD) {
        return PAD;
    }
    // A smaller pad fits wherever a larger one does.
    let (mut fits, mut fails) = (0.0, PAD);
    while fails - fits > PAD_REFINED {
        let d = f64::midpoint(fits, fails);
        if taken.has_two(panel, d) { fits = d } else { fails = d }
    }
    fits
}

/// The area where no pad may lie.
struct Taken {
    /// All edges of the openings and the swept area.
    edges: EdgeIndex,
    /// All rings of the openings and the swept area, each with the index of its region.
    rings: BoxTree<(usize, Filled)>,
}

impl Taken {
    fn new(openings: &[Region], swept: &Region) -> Taken {
        let all = || openings.iter().chain([swept]);
        let ring = |owner: usize, r: &Ring| Some((r.bounds()?, (owner, Filled::roughly(r, WIDTH_SLACK))));
        let rings = all().enumerate().flat_map(|(i, r)| r.rings.iter().filter_map(move |r| ring(i, r)));
        Taken {
            edges: EdgeIndex::new(&Region::new(all().flat_map(|r| r.rings.iter().cloned()).collect())),
            rings: BoxTree::new(rings),
        }
    }

    fn is_free(&self, p: Point, radius: f64) -> bool {
        if self.edges.nearer(p, radius - WIDTH_SLACK).is_some() {
            return false;
        }
        // The rings of one region follow each other.
        let round = self.rings.at(p).into_iter().filter(|(_, r)| r.1.contains(p));
        let owners: Vec<usize> = round.map(|(_, r)| r.0).collect();
        owners.chunk_by(|a, b| a == b).all(|rings| rings.len() % 2 == 0)
    }

    fn has_two(&self, panel: &Panel, pad: f64) -> bool {
        let r = pad / 2.0;
        let (w, h) = (panel.width - pad, panel.height - pad);
        if w < 0.0 || h < 0.0 {
            return false;
        }
        let mut places: Vec<Point> = Vec::new();
        for (from, along, long) in [
            ((0.0, 0.0), (1.0, 0.0), w),
            ((0.0, h), (1.0, 0.0), w),
            ((0.0, 0.0), (0.0, 1.0), h),
            ((w, 0.0), (0.0, 1.0), h),
        ] {
            let n = (long / STEP).ceil().max(1.0);
            // The largest panel bounds the number of steps.
            let at = |i: u32| Point::from(from) + Vec2::from(along) * (long * f64::from(i) / n) + Vec2::new(r, r);
            places.extend((0..=n as u32).map(at).filter(|p| self.is_free(*p, r)));
        }
        let apart = |p: Point| places.iter().any(|q| (*q - p).hypot() >= APART - WIDTH_SLACK);
        places.iter().any(|p| apart(*p))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::panel::{Edges, Setup, Turn};

    fn panel(width: f64, height: f64) -> Panel {
        let turn = Turn::None;
        Panel { number: 1, width, height, turn, setup: Setup::Two, edges: Edges::turned_over(turn) }
    }

    fn rectangle(x0: f64, y0: f64, x1: f64, y1: f64) -> Region {
        Region::new(vec![Ring::polygon(&[(x0, y0), (x1, y0), (x1, y1), (x0, y1)].map(Point::from))])
    }

    #[test]
    fn a_pad_is_as_wide_as_its_strip() {
        // The base sweeps all of 300 x 200 except a strip along the top.
        for (strip, found) in [(25.0, PAD), (20.0, PAD), (14.0, 14.0), (0.0, 0.0)] {
            let swept = rectangle(0.0, 0.0, 300.0, 200.0 - strip);
            assert!((room(&panel(300.0, 200.0), &[], &swept) - found).abs() < 0.02, "{strip}");
        }
        // The strip is interrupted: an opening leaves 90 and 100 mm of it at the ends, which are far enough apart.
        let swept = rectangle(0.0, 0.0, 300.0, 180.0);
        let hole = rectangle(90.0, 175.0, 200.0, 195.0);
        assert!((room(&panel(300.0, 200.0), &[hole], &swept) - PAD).abs() < 0.02);
    }

    #[test]
    fn one_free_corner_has_no_second_place() {
        // Only one corner is free, 90 mm long both ways: pads at most 70 apart along an edge, 99 across the corner.
        let swept = Region::new(vec![Ring::polygon(
            &[(0.0, 0.0), (300.0, 0.0), (300.0, 110.0), (210.0, 110.0), (210.0, 200.0), (0.0, 200.0)].map(Point::from),
        )]);
        let found = room(&panel(300.0, 200.0), &[], &swept);
        assert!(found < PAD && found > 15.0, "{found}");
    }
}
