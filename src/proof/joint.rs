//! The gap along the joint, and the stretches where it binds, is as wanted, or is too wide.
//!
//! In: recess and inlay as cut, put together, and the distances of points of their edges; mm. Out: for each ring of the
//! recess's edge, the gap as a function of the length along it.
//!
//! Two kinds of places are measured. Points of the recess's edge outside the inlay have their distance to it. Points of
//! the inlay's edge outside the recess have minus their distance to the recess, assigned to the nearest measured point
//! of its edge. So the extremes over all runs are the least gap (if negative) and the greatest gap of the proof. If a
//! place has both values, the lesser counts. The runs are thinned: between neighbouring places the gap is linear within
//! [`GAP_THINNED`].

use super::{Edged, Measured, STEP};
use crate::geom::edges::sampled;
use crate::geom::{Arc, BoxTree, Point, Rect, Region, Ring, Segment};
use crate::tolerance::{GAP_THINNED, WIDTH_SLACK};

/// The gap at a place of the recess's edge.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Gap {
    /// Along the ring from its first point, mm.
    pub along: f64,
    /// Negative if the inlay is too large.
    pub mm: f64,
}

/// The gap along one ring of the recess's edge.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct RingGaps {
    /// Length of the ring, mm.
    pub length: f64,
    /// Sorted by [`Gap::along`].
    pub gaps: Vec<Gap>,
}

/// The state of a stretch of the joint.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum JointState {
    Binds,
    AsWanted,
    Gapes,
}

/// A stretch of a run, mm along it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Stretch {
    pub kind: JointState,
    pub from: f64,
    pub to: f64,
}

/// Both pieces as cut, put together, in the drawing frame, and the gap between them.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Joint {
    pub recess: Region,
    pub inlay: Region,
    /// One for each ring of `recess`.
    pub runs: Vec<RingGaps>,
}

impl JointState {
    /// `widest`: the widest gap that counts as wanted, mm.
    #[must_use]
    pub fn from_gap(mm: f64, widest: f64) -> JointState {
        match mm {
            mm if mm < -WIDTH_SLACK => JointState::Binds,
            mm if mm > widest + WIDTH_SLACK => JointState::Gapes,
            _ => JointState::AsWanted,
        }
    }
}

impl RingGaps {
    /// The stretches, in order and contiguous; neighbours are of different kinds. `widest`: as in
    /// [`JointState::from_gap`].
    #[must_use]
    pub fn stretches(&self, widest: f64) -> Vec<Stretch> {
        let mut all: Vec<Stretch> = Vec::new();
        let mut add = |kind, to: f64| match all.last_mut() {
            Some(last) if last.kind == kind => last.to = to,
            last => {
                let from = last.map_or(0.0, |l| l.to);
                all.push(Stretch { kind, from, to });
            }
        };
        for pair in self.gaps.windows(2) {
            let (a, b) = (pair[0], pair[1]);
            // A stretch ends where the linear interpolation between two places crosses a limit.
            let mut cuts: Vec<f64> = [-WIDTH_SLACK, widest + WIDTH_SLACK]
                .iter()
                .map(|limit| (limit - a.mm) / (b.mm - a.mm))
                .filter(|t| *t > 0.0 && *t < 1.0)
                .collect();
            cuts.sort_by(f64::total_cmp);
            let mut before = 0.0;
            for t in cuts.into_iter().chain([1.0]) {
                let middle = f64::midpoint(before, t);
                add(JointState::from_gap(a.mm + (b.mm - a.mm) * middle, widest), a.along + (b.along - a.along) * t);
                before = t;
            }
        }
        if let Some(last) = all.last_mut() {
            last.to = self.length;
        }
        all
    }
}

/// The edges of `ring` from `from` to `to` mm along it.
#[must_use]
pub fn part(ring: &Ring, from: f64, to: f64) -> Vec<Segment> {
    let (mut at, mut out) = (0.0, Vec::new());
    for s in &ring.segments {
        let length = s.length();
        let (a, b) = (((from - at) / length).clamp(0.0, 1.0), ((to - at) / length).clamp(0.0, 1.0));
        if length > 0.0 && a < b {
            out.push(if (a, b) == (0.0, 1.0) { *s } else { s.part(a, b) });
        }
        at += length;
    }
    out
}

/// Distance of `p` from `ring`, and the position of the nearest point along the ring, mm.
#[must_use]
pub fn along(ring: &Ring, p: Point) -> (f64, f64) {
    let (mut at, mut best) = (0.0, (f64::INFINITY, 0.0));
    for s in &ring.segments {
        let (off, q) = s.nearest(p);
        if off < best.0 {
            best = (off, at + up_to(s, q));
        }
        at += s.length();
    }
    best
}

/// Length of an edge from its start to its point `q`, mm.
fn up_to(s: &Segment, q: Point) -> f64 {
    match *s {
        Segment::Line(l) => (q - l.start).hypot(),
        Segment::Arc(a) if (q - a.start).hypot() == 0.0 => 0.0,
        Segment::Arc(a) => Segment::Arc(Arc { end: q, ..a }).length(),
    }
}

/// `tight`: the signed distances of the inlay's points to the recess. `wide`: the distances of the recess's points to
/// the inlay. Both in the order of the points.
pub(super) fn joint(recess: &Edged, inlay: &Edged, tight: &[Measured], wide: &[Measured]) -> Joint {
    let places = places(&recess.region);
    let mut gaps: Vec<Vec<Gap>> = vec![Vec::new(); recess.region.rings.len()];
    for (place, m) in places.iter().zip(wide) {
        if m.mm > 0.0 {
            gaps[place.ring].push(Gap { along: place.along, mm: m.mm });
        }
    }
    let outside: Vec<&Measured> = tight.iter().filter(|m| m.mm <= 0.0).collect();
    if !outside.is_empty() {
        let near = BoxTree::new(places.iter().map(|p| (Rect::from_points(p.at, p.at), p)));
        for m in outside {
            if let Some((_, p)) = recess.index.nearest(m.at).and_then(|n| near.by_distance(n.at).next()) {
                gaps[p.ring].push(Gap { along: p.along, mm: m.mm });
            }
        }
    }
    let runs = recess.region.rings.iter().zip(gaps).map(|(ring, gaps)| run(ring.perimeter(), gaps)).collect();
    Joint { recess: recess.region.clone().into_owned(), inlay: inlay.region.clone().into_owned(), runs }
}

fn run(length: f64, mut gaps: Vec<Gap>) -> RingGaps {
    // If a place has several values, the least comes first and is kept: where it binds, it is not too wide.
    gaps.sort_by(|a, b| a.along.total_cmp(&b.along).then(a.mm.total_cmp(&b.mm)));
    gaps.dedup_by(|next, first| next.along == first.along);
    // The run is closed: its last place is the first one.
    if let (Some(&first), Some(&last)) = (gaps.first(), gaps.last()) {
        if first.along > 0.0 {
            gaps.insert(0, Gap { along: 0.0, mm: first.mm.min(last.mm) });
        }
        if last.along < length {
            gaps.push(Gap { along: length, mm: gaps[0].mm });
        }
    }
    RingGaps { length, gaps: thinned(&gaps) }
}

/// Drops places that linear interpolation reproduces (Ramer 1972; Douglas and Peucker 1973; from memory). The least and
/// the greatest gap are kept.
fn thinned(gaps: &[Gap]) -> Vec<Gap> {
    let Some(last) = gaps.len().checked_sub(1) else { return Vec::new() };
    let mut keep = vec![false; gaps.len()];
    (keep[0], keep[last]) = (true, true);
    let least = (0..=last).min_by(|&a, &b| gaps[a].mm.total_cmp(&gaps[b].mm)).unwrap_or(0);
    let most = (0..=last).max_by(|&a, &b| gaps[a].mm.total_cmp(&gaps[b].mm)).unwrap_or(0);
    // In a uniform gap, rounding would decide where these are.
    let varies = gaps[most].mm - gaps[least].mm > GAP_THINNED;
    let mut ends = if varies { vec![0, least, most, last] } else { vec![0, last] };
    ends.sort_unstable();
    ends.dedup();
    let mut open: Vec<(usize, usize)> = ends.windows(2).map(|w| (w[0], w[1])).collect();
    for e in ends {
        keep[e] = true;
    }
    while let Some((a, b)) = open.pop() {
        let (p, q) = (gaps[a], gaps[b]);
        let off = |i: usize| {
            let g = gaps[i];
            let t = if q.along > p.along { (g.along - p.along) / (q.along - p.along) } else { 0.0 };
            (g.mm - (p.mm + (q.mm - p.mm) * t)).abs()
        };
        let worst = (a + 1..b).map(|i| (off(i), i)).max_by(|x, y| x.0.total_cmp(&y.0));
        if let Some((_, i)) = worst.filter(|w| w.0 > GAP_THINNED) {
            keep[i] = true;
            open.extend([(a, i), (i, b)]);
        }
    }
    gaps.iter().zip(keep).filter(|(_, k)| *k).map(|(g, _)| *g).collect()
}

/// A measured point of the recess's edge.
#[derive(Clone, Copy)]
struct RecessPoint {
    ring: usize,
    along: f64,
    at: Point,
}

/// The points of [`sampled`], with their lengths along the rings.
fn places(region: &Region) -> Vec<RecessPoint> {
    let mut all = Vec::new();
    for (ring, r) in region.rings.iter().enumerate() {
        let mut from = 0.0;
        for s in &r.segments {
            let length = s.length();
            let one = Region::new(vec![Ring::new(vec![*s])]);
            let points: Vec<Point> = sampled(&one, STEP).collect();
            // They are spaced evenly along the edge; its end is the start of the next one.
            let pieces = points.len().max(1) as f64;
            all.extend(points.iter().enumerate().map(|(i, &at)| RecessPoint {
                ring,
                along: from + length * i as f64 / pieces,
                at,
            }));
            from += length;
        }
    }
    all
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::budget::Budget;
    use crate::tolerance::WIDE_GAP;

    fn rect(w: f64, h: f64) -> Region {
        let corners = [(-w, -h), (w, -h), (w, h), (-w, h)].map(Point::from);
        Region::new(vec![Ring::polygon(&corners)])
    }

    fn joint_of(recess: &Region, inlay: &Region) -> Joint {
        let (recess, inlay) = (Edged::new(recess), Edged::new(inlay));
        let budget = Budget::unlimited();
        let (tight, wide) = (inlay.signed(&recess, &budget).unwrap(), recess.away(&inlay, &budget).unwrap());
        joint(&recess, &inlay, &tight, &wide)
    }

    #[test]
    fn an_even_gap_is_few_places() {
        let j = joint_of(&rect(20.0, 10.0), &rect(19.95, 9.95));
        let run = &j.runs[0];
        assert!((run.length - 120.0).abs() < 1e-9 && run.gaps.len() < 20, "{run:?}");
        // Along the diagonal of the corners the gap is √2 times as wide.
        let most = run.gaps.iter().map(|g| g.mm).fold(0.0, f64::max);
        assert!((most - 0.05 * 2f64.sqrt()).abs() < 1e-9);
        assert_eq!(run.stretches(WIDE_GAP), [Stretch { kind: JointState::AsWanted, from: 0.0, to: 120.0 }]);
        assert_eq!(run.stretches(0.02), [Stretch { kind: JointState::Gapes, from: 0.0, to: 120.0 }]);
    }

    /// 0.1 too wide at the left and right, and with a gap of 0.3 above and below.
    #[test]
    fn what_binds_and_what_gapes_follow_each_other() {
        let j = joint_of(&rect(20.0, 10.0), &rect(20.1, 9.7));
        let stretches = j.runs[0].stretches(WIDE_GAP);
        let kinds: Vec<JointState> = stretches.iter().map(|s| s.kind).filter(|k| *k != JointState::AsWanted).collect();
        // The run begins within the first stretch, so this stretch appears again at its end.
        assert_eq!(
            kinds,
            [JointState::Gapes, JointState::Binds, JointState::Gapes, JointState::Binds, JointState::Gapes],
            "{stretches:?}"
        );
        assert!(stretches.windows(2).all(|s| s[0].to == s[1].from && s[0].kind != s[1].kind));
        assert_eq!((stretches[0].from, stretches[stretches.len() - 1].to), (0.0, j.runs[0].length));
        let long = |kind| stretches.iter().filter(|s| s.kind == kind).map(|s| s.to - s.from).sum::<f64>();
        // 40 each above and below, less the parts near the ends; 20 each left and right.
        assert!(
            (long(JointState::Gapes) - 80.0).abs() < 1.0 && (long(JointState::Binds) - 40.0).abs() < 1.5,
            "{stretches:?}"
        );
        let least = j.runs[0].gaps.iter().map(|g| g.mm).fold(0.0, f64::min);
        assert!((least + 0.1).abs() < 1e-9, "{least}");
    }

    #[test]
    fn a_part_of_a_ring_is_as_long_as_asked_for() {
        let ring = Ring::circle(Point::ORIGIN, 10.0);
        let long = |from, to| part(&ring, from, to).iter().map(Segment::length).sum::<f64>();
        for (from, to) in [(0.0, 5.0), (20.0, 45.0), (31.0, 32.0), (0.0, ring.perimeter())] {
            assert!((long(from, to) - (to - from)).abs() < 1e-9, "{from} to {to}");
        }
        assert!(part(&ring, 4.0, 4.0).is_empty());
        // And a point of it is found again.
        for wanted in [0.0, 7.0, 30.0, 60.0] {
            let end = part(&ring, 0.0, wanted).last().map_or(Point::new(10.0, 0.0), Segment::end);
            let (off, at) = along(&ring, end);
            assert!(off < 1e-9 && (at - wanted).abs() < 1e-6, "{wanted}: {off}, {at}");
        }
    }
}
