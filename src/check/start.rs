//! What does not fit where one of the two pieces, or the opening, is in hand already.
//!
//! In: one outline, what is in hand, the tools. Out: findings, mm. What is in hand is not redrawn and not eased, so a corner
//! that the tools do not follow is one to be chiselled or pared, and is told with how much that is. Only what the tools of the
//! job cut is looked at: into a recess that is there no cutter has to reach, and round a part that is there no bush for an
//! inlay has to go.

use super::corner::{drawn, to_be_had};
use super::narrow::joins;
use super::sharp_point::sharp_points_of_one;
use super::{Code, Finding, Severity, difference, island_count, making};
use crate::budget::Budget;
use crate::geom::edges::EdgeIndex;
use crate::geom::misfit::{Misfit, unreached};
use crate::geom::{GeomError, Point, Segment};
use crate::kit::Tools;
use crate::template::Duty;
use crate::template::start::{Begun, Start};
use crate::tolerance::FINDING_DEPTH;
use std::sync::Arc;

/// The gap that shows in a part's hollow is looked for at so many places of each edge of it, and at its deepest point.
const SAMPLES: u32 = 32;
/// The point of a hollow lies no farther from that of the outline a gap outside it than this many gaps: of one of 12°.
const HOLLOW: f64 = 10.0;

/// All that is found on one outline. `template_cutter`: diameter, mm; `within`: how far a piece may lie
/// off what is in hand, mm, where that was asked for.
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
    // Both pieces follow what is in hand, or what comes out of it: that is what they are held against.
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
        found.extend(making::template_corners(piece, &[duty], template_cutter, tools, budget)?);
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

/// What places are measured to: the drawing, the outline that both pieces follow, and all that either piece has.
struct Edges {
    drawn: EdgeIndex,
    made: EdgeIndex,
    whole: EdgeIndex,
    /// Where edges of the drawing meet.
    points: Vec<Point>,
}

impl Look<'_> {
    fn finding(&self, code: Code, severity: Severity, said: (String, String), m: &Misfit, needed: f64) -> Finding {
        let f = Finding::new(code, severity, said.0, said.1).at(m.at).on(self.of.piece.outline).covers(m.area);
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

    /// A corner or a part that the recess's cutter, of radius `r` mm, does not come into.
    fn inside(&self, m: &Misfit, r: f64, apart: bool, edges: &Edges) -> Finding {
        let cutter = self.tools.recess.cutter;
        let (whose, room) = if self.start == Start::Part { ("the part", self.tools.gap) } else { ("the inlay", 0.0) };
        // Of what is in hand itself: the outline that the recess follows lies outside it by the gap.
        let own = if room > 0.0 { edges.drawn.nearest(m.at).map(|n| n.at) } else { None };
        let as_drawn = Misfit {
            at: own.unwrap_or(m.at),
            radius: (m.radius - room).max(0.0),
            depth: m.depth - room,
            width: m.width.map(|w| w - 2.0 * room),
            ..m.clone()
        };
        if m.is_corner() {
            let message = format!(
                "Inside corner of the recess, {}. The {cutter} mm cutter leaves {:.2} mm of wood where {whose} has its corner.",
                drawn(&as_drawn),
                as_drawn.depth
            );
            let fits = m.reached_by(&edges.made, true, r, FINDING_DEPTH).and_then(|t| to_be_had(2.0 * t));
            let tool = fits.map(|d| format!(", or use a cutter of at most {d} mm with a bush that suits it"));
            let help = format!(
                "Chisel the recess there, or round {whose}'s corner to {:.2} mm{}.",
                r - room,
                tool.unwrap_or_default()
            );
            let f = self.finding(Code::InsideCorner, Severity::Warning, (message, help), &as_drawn, r - room);
            return f.way("cutter", fits);
        }
        let wide = wide(&as_drawn);
        let message = format!(
            "A part of {whose} is {wide} here. The recess's {cutter} mm cutter needs {:.2} mm and does not come in.",
            2.0 * (r - room)
        );
        let help = "Use a smaller cutter for the recess with a bush that suits it, or cut this place by hand.";
        let bad = m.depth > r || (apart && m.stretches != 1);
        let severity = if bad { Severity::Error } else { Severity::Warning };
        self.finding(Code::Neck, severity, (message, help.to_owned()), &as_drawn, 2.0 * (r - room))
    }

    /// A corner or a gap that a bush rolling outside at `o` mm does not follow: in the recess round a part, where then a gap
    /// shows, or on the inlay, which then has too much wood.
    fn outside(&self, m: &Misfit, o: f64, island: bool, edges: &Edges) -> Finding {
        let tools = self.tools;
        let round_part = self.start == Start::Part;
        let room = if round_part { tools.gap } else { 0.0 };
        // Round a part the gap that shows is seen from the part itself; its hollow's own point lies deeper than what the
        // outline that the recess follows has of it.
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
                format!("The recess loses its point. A gap of up to {depth:.2} mm shows in the part's hollow."),
                "Let a sliver of wood in there, or fill the part's hollow".to_owned(),
            )
        } else {
            (
                format!("The inlay keeps up to {depth:.2} mm of wood there."),
                "Pare the inlay's hollow until it goes in, by no more than that".to_owned(),
            )
        };
        let radius = m.radius + if m.radius > 0.0 { room } else { 0.0 };
        let as_drawn = Misfit { at, depth, radius, width: m.width.map(|w| w + 2.0 * room), ..m.clone() };
        if m.is_corner() {
            // Nobody drew it: it is what the template that is there makes.
            let template = self.of.opening.is_some() && !round_part;
            let shape = if template { drawn(&as_drawn).replace("drawn ", "") } else { drawn(&as_drawn) };
            let message = format!(
                "Outside corner of the recess, {shape}. The bush goes round it at {:.2} mm. {outcome}",
                o + room
            );
            let bush = |t: f64| 2.0 * (t + tools.gap) - tools.inlay.cutter;
            // In a template that exists the bush of the recess has rounded it already.
            let follows = if round_part { None } else { m.reached_by(&edges.made, false, o, FINDING_DEPTH) };
            let fits = follows.map(bush).and_then(to_be_had).filter(|b| *b > tools.inlay.cutter + 1.0);
            let tool = fits.map(|b| format!("; or use an inlay bush of at most {b} mm")).unwrap_or_default();
            let said = (message, format!("{help}{tool}."));
            let f = self.finding(Code::OutsideCorner, Severity::Warning, said, &as_drawn, o + room);
            return f.way("inlay-bush", fits);
        }
        let wide = wide(&as_drawn);
        let message = format!(
            "A gap between two limbs is {wide}. For template to be left in it {:.2} mm are needed. {outcome}",
            2.0 * (o + room)
        );
        let severity = if island && m.stretches != 1 { Severity::Error } else { Severity::Warning };
        let which = if round_part { "Use a smaller bush for the recess" } else { "Use a smaller inlay bush" };
        self.finding(Code::ClosedGap, severity, (message, format!("{which}. Or: {help}.")), &as_drawn, 2.0 * (o + room))
    }

    /// Places of the opening that is there into which the bush of the recess does not get.
    fn bush(&self, budget: &Budget) -> Result<Vec<Finding>, GeomError> {
        let Some(opening) = &self.of.opening else { return Ok(Vec::new()) };
        let bush = self.tools.recess.bush;
        let help = "take a smaller bush (--bush), or open the template there";
        if self.of.piece.made.is_empty() {
            let message = format!("the {bush} mm bush does not get into the opening of the template anywhere");
            let f = Finding::new(Code::Neck, Severity::Error, message, help).on(self.of.piece.outline).last_word();
            return Ok(vec![f.at(opening.bounds().map(|b| b.center()))]);
        }
        let found = unreached(opening, bush / 2.0, FINDING_DEPTH, budget)?;
        let apart = island_count(&found.made) != island_count(opening);
        let say = |m: &Misfit| {
            let wide = wide(m);
            let message = format!("the opening of the template is {wide} here: the {bush} mm bush does not get in");
            let severity = if apart && m.stretches != 1 { Severity::Error } else { Severity::Warning };
            self.finding(Code::Neck, severity, (message, help.to_owned()), m, bush)
        };
        // Corners rounder than the opening's own are what every bush leaves.
        Ok(found.parts.iter().filter(|m| !m.is_corner()).map(say).collect())
    }
}

fn wide(m: &Misfit) -> String {
    m.width.map_or_else(|| "too narrow".to_owned(), |w| format!("{w:.2} mm wide"))
}
