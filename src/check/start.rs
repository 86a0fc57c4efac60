//! Misfits where one of the two pieces, or the opening, is in hand already.
//!
//! In: one outline, what is in hand, the tools. Out: findings, mm. What is in hand is not redrawn and not eased. A
//! corner that the tools cannot follow is therefore chiselled or pared, and its finding says by how much. Only what the
//! tools of the job cut is checked. No cutter has to reach into an existing recess, and no bush for an inlay goes
//! around an existing part.

use super::corner::{available, shape};
use super::narrow::joins;
use super::sharp_point::sharp_points_of_one;
use super::template_corner;
use super::{Code, Finding, Severity, difference, island_count};
use crate::budget::Budget;
use crate::geom::edges::EdgeIndex;
use crate::geom::misfit::{Misfit, unreached};
use crate::geom::{GeomError, Point, Segment};
use crate::kit::Tools;
use crate::template::Duty;
use crate::template::start::{Begun, Start};
use crate::text::{Words, at_least, at_most, fixed, plain, tool};
use crate::tolerance::{FINDING_DEPTH, HOLLOW};
use crate::words;
use std::sync::Arc;

/// The gap that shows in a part's notch is measured at this many places of each edge, and at its deepest point.
const SAMPLES: u32 = 32;
/// All findings on one outline. `template_cutter`: diameter, mm. `within`: largest distance of a piece from what is in
/// hand, mm, if given.
///
/// # Errors
/// As the operations.
pub fn misfits(
    start: Start,
    of: &Begun,
    tools: &Tools,
    template_cutter: f64,
    within: Option<f64>,
    budget: &Budget,
) -> Result<Vec<Finding>, GeomError> {
    let look = Look { start, of, tools };
    let piece = &of.piece;
    let mut found = Vec::new();
    if start == Start::Template {
        found.extend(look.bush(budget)?);
    }
    if piece.made.is_empty() {
        return Ok(found);
    }
    // The pieces are compared with what is in hand, or with what comes out of it.
    let o = match start {
        Start::Part => tools.recess_offset(),
        Start::Template => tools.largest_offset(),
        Start::Recess => tools.inlay_offset(),
    };
    let r = tools.recess.cutter_radius();
    let differ = difference::differences(&piece.made, &piece.cut, (r, o), budget)?;
    let edges = Edges {
        drawn: EdgeIndex::new(&piece.drawn),
        made: EdgeIndex::new(&piece.made),
        whole: EdgeIndex::new(&differ.whole),
        points: piece.drawn.segments().map(Segment::start).collect(),
    };
    let apart = piece.cut.ways != 1;
    let island = joins(&piece.made, &differ.whole);
    let limit = |m: &Misfit| difference::not_as_drawn(piece.outline, m, within);
    let beyond: Vec<(&Misfit, Finding)> =
        differ.lost.iter().chain(&differ.gained).filter_map(|m| Some((m, limit(m)?))).collect();
    let lost = differ.lost.iter().map(|m| (m, look.inside(m, r, apart, &edges)));
    let gained = differ.gained.iter().map(|m| (m, look.outside(m, o, island, &edges)));
    found.extend(lost.chain(gained).chain(beyond).map(|(m, f)| f.owning(&Arc::new(m.region.clone()), m.depth)));
    if let Some(duty) = start.cut(tools) {
        found.extend(template_corner::template_corners(piece, &[duty], template_cutter, tools, budget)?);
        let (opening, whom) = if duty == Duty::Recess { (&piece.recess, "recess") } else { (&piece.inlay, "inlay") };
        found.extend(sharp_points_of_one(piece.outline, &piece.made, opening, whom, budget)?);
    }
    Ok(found)
}

struct Look<'a> {
    start: Start,
    of: &'a Begun,
    tools: &'a Tools,
}

/// Indices to measure distances: to the drawing, to the outline that both pieces follow, to the union of the pieces.
struct Edges {
    drawn: EdgeIndex,
    made: EdgeIndex,
    whole: EdgeIndex,
    /// Points where edges of the drawing meet.
    points: Vec<Point>,
}

impl Look<'_> {
    fn finding(
        &self,
        code: Code,
        severity: Severity,
        (message, help): (Words, Words),
        m: &Misfit,
        needed: f64,
    ) -> Finding {
        let f = Finding::new(code, severity, message, help).at(m.at).on(self.of.piece.outline).covers(m.area);
        let measured = if m.is_corner() { Some(m.radius) } else { m.width };
        let mut f = match measured {
            Some(measured) => f.measures(measured, needed),
            None => Finding { needed: Some(needed), ..f },
        };
        if m.is_corner() {
            f.short = Some(m.depth);
        }
        f
    }

    /// A corner or a part that the recess's cutter, of radius `r` mm, does not reach.
    fn inside(&self, m: &Misfit, r: f64, apart: bool, edges: &Edges) -> Finding {
        let cutter = tool(self.tools.recess_called.cutter);
        let (whose, room) = if self.start == Start::Part { ("part", self.tools.gap) } else { ("inlay", 0.0) };
        // The figures are those of the part in hand. The outline that the recess follows lies outside it by the gap.
        let own = if room > 0.0 { edges.drawn.nearest(m.at).map(|n| n.at) } else { None };
        let as_drawn = Misfit {
            at: own.unwrap_or(m.at),
            radius: (m.radius - room).max(0.0),
            depth: m.depth - room,
            width: m.width.map(|w| w - 2.0 * room),
            ..m.clone()
        };
        if m.is_corner() {
            let message = words!(
                "Inside corner of the recess, drawn {}: the {} cutter leaves {} of wood at the {}'s corner.",
                shape(&as_drawn),
                cutter,
                fixed(as_drawn.depth),
                whose
            );
            let fits = m.reached_by(&edges.made, true, r, FINDING_DEPTH).and_then(|t| available(2.0 * t));
            let help = words!("Chisel the recess there, or round the {}'s corner to {}.", whose, at_least(r - room));
            let help = match fits {
                Some(d) => words!("{} Or use a cutter of at most {} with a bush to match.", help, at_most(d)),
                None => help,
            };
            let f = self.finding(Code::InsideCorner, Severity::Warning, (message, help), &as_drawn, r - room);
            return f.way("cutter", fits);
        }
        let message = words!(
            "The {} is {} in one place. The {} cutter of the recess needs {} and does not get in.",
            whose,
            wide(&as_drawn),
            cutter,
            at_least(2.0 * (r - room))
        );
        let help = "Use a smaller recess cutter with a bush to match (--cutter and --bush), or cut this place by hand.";
        let bad = m.depth > r || (apart && m.stretches != 1);
        let severity = if bad { Severity::Error } else { Severity::Warning };
        self.finding(Code::Neck, severity, (message, help.into()), &as_drawn, 2.0 * (r - room))
    }

    /// A corner or a gap that the bush does not follow at the offset `o` mm. In the recess for a part a gap shows
    /// there. An inlay keeps too much wood there.
    fn outside(&self, m: &Misfit, o: f64, island: bool, edges: &Edges) -> Finding {
        let tools = self.tools;
        let round_part = self.start == Start::Part;
        let room = if round_part { tools.gap } else { 0.0 };
        // The gap around a part is measured from the part itself. The point of its notch lies deeper than that of the
        // outline that the recess follows.
        let foot = |p: Point| edges.drawn.nearest(p).map(|n| n.at);
        let along = m.outline.iter().flat_map(|s| (0..=SAMPLES).map(|k| s.at(f64::from(k) / f64::from(SAMPLES))));
        let points = edges.points.iter().copied().filter(|p| (*p - m.at).hypot() <= HOLLOW * tools.gap);
        let seen = along.filter_map(foot).chain(points).filter_map(|p| Some((edges.whole.nearest(p)?.distance, p)));
        let (depth, at) = if round_part {
            seen.max_by(|a, b| a.0.total_cmp(&b.0)).unwrap_or((m.depth, m.at))
        } else {
            (m.depth, m.at)
        };
        let (outcome, help) = if round_part {
            (
                words!("A gap of up to {} shows in the part's notch.", fixed(depth)),
                "let a sliver of wood into the gap, or fill it",
            )
        } else {
            (
                words!("The inlay keeps up to {} of wood in its notch.", fixed(depth)),
                "pare the notch until the inlay goes in, but take off no more than that",
            )
        };
        let radius = m.radius + if m.radius > 0.0 { room } else { 0.0 };
        let as_drawn = Misfit { at, depth, radius, width: m.width.map(|w| w + 2.0 * room), ..m.clone() };
        if m.is_corner() {
            // The template in hand makes this corner, so it is not drawn.
            let template = self.of.opening.is_some() && !round_part;
            let message = words!(
                "Outside corner of the recess, {}{}: bush and cutter leave a radius of {}. {}",
                if template { "" } else { "drawn " },
                shape(&as_drawn),
                plain(o + room),
                outcome
            );
            let bush = |t: f64| 2.0 * (t + tools.gap) - tools.inlay.cutter;
            // Around a part only the recess's own tools count, and no inlay bush is proposed.
            let follows = if round_part { None } else { m.reached_by(&edges.made, false, o, FINDING_DEPTH) };
            let fits = follows.map(bush).and_then(available).filter(|b| *b > tools.inlay.cutter + 1.0);
            let by_hand = if round_part {
                "Let a sliver of wood into the gap, or fill it."
            } else {
                "Pare the notch until the inlay goes in, but take off no more than that."
            };
            let help = match fits {
                Some(b) => words!("{} Or use an inlay bush of at most {} (--inlay-bush).", by_hand, at_most(b)),
                None => by_hand.into(),
            };
            let f = self.finding(Code::OutsideCorner, Severity::Warning, (message, help), &as_drawn, o + room);
            return f.way("inlay-bush", fits);
        }
        let message = words!(
            "A gap between two limbs is {}. It must be {} wide, or no template is left in it. {}",
            wide(&as_drawn),
            at_least(2.0 * (o + room)),
            outcome
        );
        let severity = if island && m.stretches != 1 { Severity::Error } else { Severity::Warning };
        let which =
            if round_part { "Use a smaller recess bush (--bush)" } else { "Use a smaller inlay bush (--inlay-bush)" };
        self.finding(
            Code::ClosedGap,
            severity,
            (message, words!("{}. Or {}.", which, help)),
            &as_drawn,
            2.0 * (o + room),
        )
    }

    /// Places of the existing opening that the bush of the recess does not enter.
    fn bush(&self, budget: &Budget) -> Result<Vec<Finding>, GeomError> {
        let Some(opening) = &self.of.opening else { return Ok(Vec::new()) };
        let bush = self.tools.recess.bush;
        let called = tool(self.tools.recess_called.bush);
        let help = "Use a smaller bush (--bush), or widen the template there.";
        if self.of.piece.made.is_empty() {
            let message = words!("The {} bush does not get into the opening of the template anywhere.", called);
            let f = Finding::new(Code::Neck, Severity::Error, message, help).on(self.of.piece.outline).last_word();
            return Ok(vec![f.at(opening.bounds().map(|b| b.center()))]);
        }
        let found = unreached(opening, bush / 2.0, FINDING_DEPTH, budget)?;
        let apart = island_count(&found.made) != island_count(opening);
        let say = |m: &Misfit| {
            let message = words!(
                "The opening of the template is {} in one place, and the {} bush does not get in.",
                wide(m),
                called
            );
            let severity = if apart && m.stretches != 1 { Severity::Error } else { Severity::Warning };
            self.finding(Code::Neck, severity, (message, help.into()), m, bush)
        };
        // Every bush leaves corners rounder than the opening's own.
        Ok(found.parts.iter().filter(|m| !m.is_corner()).map(say).collect())
    }
}

fn wide(m: &Misfit) -> Words {
    m.width.map_or_else(|| "too narrow".into(), |w| words!("{} wide", at_most(w)))
}
