//! What a round tool leaves of a region: the parts of `S \ open_r(S)` and of `close_o(S) \ S`, measured.
//!
//! In: a certified region and the radius, mm. Out: one [`Misfit`] for each part deeper than a given depth. The parts
//! come from certified operations and are separated where they only touch. Depths are measured on their exact edges
//! ([`super::farthest`]). Widths are sampled every sixteenth of an edge, or every 0.05 mm on short edges, and refined
//! around the least.
//!
//! A part with one stretch of the tool's own edge is a corner if its outline turns by clearly less than a half turn. It
//! may be drawn as a point, an arc, or several of both. Edges that bend no more than the tool are the sides of the
//! corner. Any other part is too narrow for the tool: a limb, a bump, or a neck between two wider parts; outside S a
//! gap.

mod reach;
mod width;

use super::farthest::{Counts, Far, farthest};
use super::{close, minus, open};
use crate::budget::Budget;
use crate::geom::certify::Certified;
use crate::geom::engine::parted::parted;
use crate::geom::index::edges::{EdgeIndex, Near};
use crate::geom::shape::trig::{atan2, cos};
use crate::geom::shape::{GeomError, Point, Region, Ring, Segment};
use crate::threads::both;
use crate::tolerance::{
    ALONGSIDE, AT_TIP, OF_CURVE, ROUNDING, ROUNDING_SHARE, SAME_CENTRE, SHORTEST_STRETCH, TIP_OF_CUSP, TURN_BACK,
};
use std::f64::consts::TAU;
use width::{may_face, width};

/// One part of a region that a round tool cannot make.
#[derive(Clone, Debug, PartialEq)]
pub struct Misfit {
    /// A single island.
    pub region: Region,
    /// The point of the outline farthest from what the tool makes.
    pub at: Point,
    /// That distance, mm.
    pub depth: f64,
    /// mm².
    pub area: f64,
    /// Stretches of the tool's edge on its boundary: 0 if the tool makes nothing, 1 at a corner or limb, more at a
    /// neck.
    pub stretches: usize,
    /// How far the outline turns towards the part, radians; the net turn if it turns both ways.
    pub turn: f64,
    /// Radius with which the corner is drawn, mm: that of its arc, or 0 for a point. A corner of several pieces has the
    /// radius of the arc at its tip; without one, the radius with the same shortfall.
    pub radius: f64,
    /// For a corner whose tip is a point: the turn of the outline there, radians.
    pub point: Option<f64>,
    /// Whether the two sides of the corner are tangent at its tip.
    pub cusp: bool,
    /// For a part that is no corner: the least width between opposite sides, mm, if it has opposite sides.
    pub width: Option<f64>,
    /// The outline's edges along the part, in order; for a corner, from one end of the tool's stretch to the other.
    pub outline: Vec<Segment>,
}

impl Misfit {
    #[must_use]
    pub fn is_corner(&self) -> bool {
        self.stretches == 1 && self.turn < ALONGSIDE
    }

    /// Largest tool radius, mm, that leaves this corner short by at most `least` mm.
    #[must_use]
    pub fn largest_radius(&self, least: f64) -> f64 {
        self.radius + least / shortness(self.point.unwrap_or(self.turn))
    }
}

/// Shortfall along the bisector per unit of (t − ρ), for a tool of radius t in a corner of radius ρ that turns by
/// `turn`. Elementary geometry: `1/sin(θ/2) − 1` with the interior angle θ = π − turn.
fn shortness(turn: f64) -> f64 {
    (1.0 / cos(turn.min(ALONGSIDE) / 2.0) - 1.0).max(ROUNDING)
}

/// What a tool makes of a region, and the parts where the two differ.
#[derive(Clone, Debug, PartialEq)]
pub struct Misfits {
    /// `open_r(S)` or `close_o(S)`.
    pub made: Certified<Region>,
    pub parts: Vec<Misfit>,
}

/// The parts of `S \ open_r(S)` deeper than `least` mm: what a cutter of radius `r` does not reach.
///
/// # Errors
/// As the operations.
pub fn unreached(s: &Certified<Region>, r: f64, least: f64, budget: &Budget) -> Result<Misfits, GeomError> {
    let made = open(s, r, budget)?;
    let parts = lost(s, &made, r, least, budget)?;
    Ok(Misfits { made, parts })
}

/// The parts of `close_o(S) \ S` deeper than `least` mm: what a bush rolling outside at `o` does not follow.
///
/// # Errors
/// As the operations.
pub fn filled(s: &Certified<Region>, o: f64, least: f64, budget: &Budget) -> Result<Misfits, GeomError> {
    let made = close(s, o, budget)?;
    let parts = gained(s, &made, o, least, budget)?;
    Ok(Misfits { made, parts })
}

/// The parts of `S` missing from `opened`, its opening by `r` mm.
///
/// # Errors
/// As the operations.
pub fn lost(
    s: &Certified<Region>,
    opened: &Certified<Region>,
    r: f64,
    least: f64,
    budget: &Budget,
) -> Result<Vec<Misfit>, GeomError> {
    Ok(measured(&minus(s, opened, budget)?, s, opened, r, least))
}

/// The parts that `closed`, the closing of `S` by `o` mm, adds.
///
/// # Errors
/// As the operations.
pub fn gained(
    s: &Certified<Region>,
    closed: &Certified<Region>,
    o: f64,
    least: f64,
    budget: &Budget,
) -> Result<Vec<Misfit>, GeomError> {
    Ok(measured(&minus(closed, s, budget)?, s, closed, o, least))
}

fn measured(difference: &Region, s: &Region, made: &Region, tool: f64, least: f64) -> Vec<Misfit> {
    if difference.is_empty() {
        return Vec::new();
    }
    let (drawn, tooled) = (EdgeIndex::new(s), EdgeIndex::new(made));
    let mut regions = parted(&worth_a_look(difference, least));
    let rest = regions.split_off(regions.len() / 2);
    let of = |half: Vec<Region>| -> Vec<Misfit> {
        half.into_iter().filter_map(|region| misfit(region, &drawn, &tooled, tool, least)).collect()
    };
    let (mut parts, others) = both(|| of(regions), || of(rest));
    parts.extend(others);
    parts
}

/// Drops the parts that are too small for that depth: a dense outline has very many.
fn worth_a_look(difference: &Region, least: f64) -> Region {
    let small = |r: &Ring| r.bounds().is_none_or(|b| b.width().max(b.height()) < least);
    // A hole in a small part is smaller still, and one in a large part is too small to matter.
    Region::new(difference.rings.iter().filter(|r| !small(r)).cloned().collect())
}

fn misfit(region: Region, drawn: &EdgeIndex, tooled: &EdgeIndex, tool: f64, least: f64) -> Option<Misfit> {
    let area = region.area();
    // Too small for that depth: the bounding box limits it.
    let thin = region.rings.iter().all(|r| r.bounds().is_some_and(|b| b.width().max(b.height()) < least));
    if area <= 0.0 || thin {
        return None;
    }
    let rings: Vec<PartRing> = region.rings.iter().map(|r| part_ring(r, drawn, tooled, tool)).collect();
    let Far { at, mm: depth } = depth(&rings, drawn, tooled, tool, least)?;
    let stretches = rings.iter().map(|w| w.stretches).sum();
    let turned: f64 = rings.iter().map(|w| w.turn).sum();
    let cusp = rings.iter().any(|w| w.sharpest.0 >= TURN_BACK);
    let outline = rings.iter().flat_map(|w| w.outline.iter().copied()).collect();
    let mut misfit = Misfit {
        region,
        at,
        depth,
        area,
        stretches,
        turn: turned,
        radius: 0.0,
        point: None,
        cusp,
        width: None,
        outline,
    };
    if !misfit.is_corner() {
        let edges = &misfit.outline;
        // A width of the tool's diameter or more is no obstacle, and the tip of a cusp has no opposite sides.
        misfit.width = Some(edges)
            .filter(|e| may_face(e))
            .and_then(|e| width(e, drawn, tool))
            .filter(|w| *w < 2.0 * tool && (!cusp || *w > TIP_OF_CUSP));
        // A part without opposite sides that turns both ways: the net turn, but no less than the tool turns.
        if stretches == 1 && misfit.width.is_none() {
            let (net, swept): (f64, f64) = (rings.iter().map(|w| w.net).sum(), rings.iter().map(|w| w.swept).sum());
            misfit.turn = net.max(swept.min(turned));
        }
    }
    if misfit.is_corner() {
        let point = drawn_sharp(&misfit.outline, at);
        misfit.point = point;
        misfit.radius = match point {
            Some(_) => 0.0,
            None => rings[0]
                .radius()
                .or_else(|| round_tip(&misfit.outline, at, tool))
                .unwrap_or_else(|| (tool - depth / shortness(misfit.turn)).max(0.0)),
        };
    }
    Some(misfit)
}

/// The radius of the tightest arc at a corner's tip, if it is tighter than the tool.
fn round_tip(outline: &[Segment], tip: Point, tool: f64) -> Option<f64> {
    let at_tip = outline.iter().filter(|s| s.nearest(tip).0 < AT_TIP);
    let radius = |s: &Segment| if let Segment::Arc(a) = s { Some(a.radius) } else { None };
    at_tip.filter_map(radius).filter(|r| *r < tool).min_by(f64::total_cmp)
}

/// How far the outline turns at the point that is the corner's tip, radians. `None` if the tip lies on an edge or the
/// turn is slight.
fn drawn_sharp(outline: &[Segment], tip: Point) -> Option<f64> {
    let joints = outline.windows(2).filter(|w| (w[0].end() - tip).hypot() < AT_TIP);
    let turn = |w: &[Segment]| {
        let (t, u) = (w[0].tangent_at_end(), w[1].tangent_at_start());
        atan2(t.cross(u), t.dot(u))
    };
    joints.map(turn).filter(|t| *t > OF_CURVE).max_by(f64::total_cmp)
}

/// The greatest distance between outline and tool's edge around a part, and its place on the outline. Without an edge
/// of the outline, the place is on the tool's edge. `None` below `least` mm. If the tool makes nothing, its radius.
fn depth(rings: &[PartRing], drawn: &EdgeIndex, tooled: &EdgeIndex, tool: f64, least: f64) -> Option<Far> {
    let outline = || rings.iter().flat_map(|w| &w.outline);
    let Some(first) = outline().next() else {
        return farthest(rings.iter().flat_map(|w| &w.tools), drawn, Counts::BothSides, least);
    };
    if tooled.nearest(first.start()).is_none() {
        return (tool >= least).then_some(Far { at: first.start(), mm: tool });
    }
    farthest(outline(), tooled, Counts::BothSides, least)
}

/// One ring of a part: which edges belong to the outline, and how it turns along them.
struct PartRing {
    outline: Vec<Segment>,
    tools: Vec<Segment>,
    stretches: usize,
    /// All left turns along the outline that are tighter than the tool, radians; and the net turn.
    turn: f64,
    net: f64,
    /// Angle swept by the tool's own edge, radians.
    swept: f64,
    /// The sharpest single turn: its angle and its radius (0 for a point).
    sharpest: (f64, f64),
}

impl PartRing {
    /// The radius of the single arc or point that makes nearly all of the turn.
    fn radius(&self) -> Option<f64> {
        (self.sharpest.0 >= 0.95 * self.turn).then_some(self.sharpest.1)
    }
}

fn part_ring(ring: &Ring, drawn: &EdgeIndex, tooled: &EdgeIndex, tool: f64) -> PartRing {
    let n = ring.segments.len();
    let mut indices = [drawn.walk(), tooled.walk()];
    let of_outline: Vec<bool> = ring
        .segments
        .iter()
        .map(|s| {
            let m = s.at(0.5);
            let [drawn, tooled] = &mut indices;
            let off = |n: Option<Near>| n.map_or(f64::INFINITY, |n| n.distance);
            off(drawn.nearest(m)) <= off(tooled.nearest(m))
        })
        .collect();
    let mut w = PartRing {
        outline: Vec::new(),
        tools: Vec::new(),
        stretches: 0,
        turn: 0.0,
        net: 0.0,
        swept: 0.0,
        sharpest: (0.0, 0.0),
    };
    let mut bend = |turn: f64, radius: f64| {
        w.net += turn;
        if turn > 0.0 && radius < tool {
            w.turn += turn;
            if turn > w.sharpest.0 {
                w.sharpest = (turn, radius);
            }
        }
    };
    for i in 0..n {
        let (s, next) = (&ring.segments[i], &ring.segments[(i + 1) % n]);
        if !of_outline[i] {
            continue;
        }
        if let Segment::Arc(a) = s {
            bend(if a.ccw { a.sweep() } else { -a.sweep() }, a.radius);
        }
        if of_outline[(i + 1) % n] {
            let (t, u) = (s.tangent_at_end(), next.tangent_at_start());
            let turn = atan2(t.cross(u), t.dot(u));
            // At a tip with tangent sides, rounding decides the sign of the half turn.
            let turn = if turn < -TURN_BACK { turn + TAU } else { turn };
            let of_curve = (0.0..OF_CURVE).contains(&turn);
            let radius = if of_curve { s.length().min(next.length()) / turn.max(ROUNDING_SHARE) } else { 0.0 };
            bend(turn, if radius >= tool { radius } else { 0.0 });
        }
    }
    w.tools = (0..n).filter(|&i| !of_outline[i]).map(|i| ring.segments[i]).collect();
    w.swept = w.tools.iter().map(|s| if let Segment::Arc(a) = s { a.sweep() } else { 0.0 }).sum();
    // Start after a stretch of the tool, so that a corner's edges are one run.
    let first = (0..n).find(|&i| of_outline[i] && !of_outline[(i + n - 1) % n]).unwrap_or(0);
    w.outline = (first..first + n).map(|i| i % n).filter(|&i| of_outline[i]).map(|i| ring.segments[i]).collect();
    w.stretches = stretches(ring, &of_outline);
    w
}

/// Number of stretches of the tool's edge, without artefacts. Where the tool's edge has a vertex between two positions
/// of the tool, it counts as two: no corner lies behind this vertex. Arcs of two radii belong to two tools, and the
/// joint of their edges is not a vertex of this kind.
fn stretches(ring: &Ring, of_outline: &[bool]) -> usize {
    let n = of_outline.len();
    let Some(start) = (0..n).find(|&i| of_outline[i]) else { return 1 };
    let (mut count, mut length, mut tool): (usize, f64, Option<(Point, f64)>) = (0, 0.0, None);
    for k in 1..=n {
        let i = (start + k) % n;
        let here = if let Segment::Arc(a) = &ring.segments[i] { Some((a.center, a.radius)) } else { None };
        let moved = matches!((tool, here), (Some((c, r)), Some((h, s)))
            if (c - h).hypot() > SAME_CENTRE && (r - s).abs() < SAME_CENTRE);
        if of_outline[i] || moved {
            count += usize::from(length > SHORTEST_STRETCH);
            (length, tool) = (0.0, None);
        }
        if !of_outline[i] {
            length += ring.segments[i].length();
            tool = here.or(tool);
        }
    }
    count
}

#[cfg(test)]
mod tests;
