//! What does not fit where one of the two pieces, or the opening, is in hand already.
//!
//! In: one outline, what is in hand, the tools. Out: findings, mm. What is in hand is not redrawn and not eased, so a corner
//! that the tools do not follow is one to be chiselled or pared, and is told with how much that is. Only what the tools of the
//! job cut is looked at: into a recess that is there no cutter has to reach, and round a part that is there no bush for an
//! insert has to go.

use super::corner::{drawn, to_be_had};
use super::narrow::joins;
use super::sharp_point::sharp_points_of_one;
use super::{Code, Finding, Severity, Subject, island_count, making};
use crate::budget::Budget;
use crate::geom::misfit::{Misfit, filled, unreached};
use crate::geom::{Certified, GeomError, Region};
use crate::kit::Tools;
use crate::template::Duty;
use crate::template::ease::Corners;
use crate::template::start::{Begun, Start};
use crate::tolerance::FINDING_DEPTH;

/// All that is found on one outline. `template_cutter`: diameter, mm.
///
/// # Errors
/// As the operations.
pub fn misfits(
    start: Start,
    of: &Begun,
    tools: &Tools,
    template_cutter: f64,
    budget: &Budget,
) -> Result<Vec<Finding>, GeomError> {
    let look = Look { of, tools, budget };
    let piece = &of.piece;
    let mut found = Vec::new();
    match start {
        // Against the part itself, which is its own insert: what the recess follows is a gap larger all round.
        Start::Part => {
            found.extend(look.inside(&piece.drawn, tools.recess.cutter_radius() - tools.gap, "the part")?);
            found.extend(look.jutting(&piece.drawn, tools.recess_offset() + tools.gap, true)?);
        }
        Start::Template => {
            found.extend(look.bush()?);
            if piece.made.is_empty() {
                return Ok(found);
            }
            found.extend(look.inside(&piece.made, tools.recess.cutter_radius(), "the insert")?);
            found.extend(look.jutting(&piece.made, tools.largest_offset(), false)?);
        }
        Start::Recess => found.extend(look.jutting(&piece.made, tools.insert_offset(), false)?),
    }
    if let Some(duty) = start.cut(tools) {
        found.extend(making::template_corners(piece, &[duty], template_cutter, tools, budget)?);
        let (opening, whom) = if duty == Duty::Recess { (&piece.recess, "recess") } else { (&piece.insert, "insert") };
        let of =
            Subject { number: piece.outline, drawn: &piece.made, opened: &piece.made, corners: Corners::Keep, tools };
        found.extend(sharp_points_of_one(&of, opening, whom, budget)?);
    }
    Ok(found)
}

struct Look<'a> {
    of: &'a Begun,
    tools: &'a Tools,
    budget: &'a Budget,
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

    /// Corners and parts of `shape` that the recess's cutter does not come into: `r` mm is what it makes there. Where that is
    /// less than the cutter's radius, the recess is larger than what was opened by `r` by the rest all round, and so much
    /// less wood is left in it.
    fn inside(&self, shape: &Certified<Region>, r: f64, whose: &str) -> Result<Vec<Finding>, GeomError> {
        let cutter = self.tools.recess.cutter;
        let room = self.tools.recess.cutter_radius() - r;
        let found = unreached(shape, r, FINDING_DEPTH + room, self.budget)?;
        let apart = island_count(&found.made) != island_count(shape);
        let say = |mut m: Misfit| {
            let bad = m.depth > r || (apart && m.stretches != 1);
            m.depth -= room;
            let m = &m;
            if m.is_corner() {
                let message = format!(
                    "an inside corner {}, but the {cutter} mm cutter leaves {:.2} mm of wood in the recess where {whose} has it",
                    drawn(m),
                    m.depth
                );
                let fits = to_be_had(2.0 * (m.largest_radius(FINDING_DEPTH + room) + room));
                let tool = fits.map(|d| format!(", or take a cutter of at most {d} mm, with a bush to go with it"));
                let help = format!(
                    "chisel the recess out there, or round {whose}'s corner to {r:.2} mm{}",
                    tool.unwrap_or_default()
                );
                return self.finding(Code::InsideCorner, Severity::Warning, (message, help), m, r);
            }
            let wide = m.width.map_or("too narrow".to_owned(), |w| format!("{w:.2} mm wide"));
            let message = format!(
                "a part of {whose} is {wide} here; the recess's {cutter} mm cutter needs {:.2} mm and does not come in",
                2.0 * r
            );
            let help = "take a smaller cutter for the recess, with a bush that goes with it, or cut this place by hand";
            let severity = if bad { Severity::Error } else { Severity::Warning };
            self.finding(Code::Neck, severity, (message, help.to_owned()), m, 2.0 * r)
        };
        Ok(found.parts.into_iter().map(say).collect())
    }

    /// Hollows and gaps of `shape` that a bush rolling outside at `o` mm does not follow: in the recess round a part, where
    /// then a gap shows, or on the insert, which then has too much wood.
    fn jutting(&self, shape: &Certified<Region>, o: f64, round_part: bool) -> Result<Vec<Finding>, GeomError> {
        let found = filled(shape, o, FINDING_DEPTH, self.budget)?;
        let island = joins(shape, &found.made);
        let tools = self.tools;
        let say = |mut m: Misfit| {
            // The recess is larger than what was closed by the gap all round.
            m.depth += if round_part { tools.gap } else { 0.0 };
            let m = &m;
            let (outcome, help) = if round_part {
                (
                    format!(
                        "the recess loses its point, and a gap of up to {:.2} mm shows in the part's hollow",
                        m.depth
                    ),
                    "let a sliver of wood in there, or fill the part's hollow".to_owned(),
                )
            } else {
                (
                    format!("the insert keeps up to {:.2} mm of wood there", m.depth),
                    "pare the insert's hollow until it goes in, by no more than that".to_owned(),
                )
            };
            if m.is_corner() {
                // Nobody drew it: it is what the template that is there makes.
                let template = self.of.opening.is_some() && !round_part;
                let shape =
                    if template { format!("of the recess, {}", drawn(m).replace("drawn ", "")) } else { drawn(m) };
                let message = format!("a jutting corner {shape}, but the bush goes round it at {o:.2} mm: {outcome}");
                let bush = 2.0 * (m.largest_radius(FINDING_DEPTH) + tools.gap) - tools.insert.cutter;
                // In a template that exists the bush of the recess has rounded it already.
                let fits = to_be_had(bush).filter(|_| !round_part && bush > tools.insert.cutter + 1.0);
                let tool = fits.map(|b| format!("; or take an insert bush of at most {b} mm")).unwrap_or_default();
                let f = self.finding(Code::JuttingCorner, Severity::Warning, (message, format!("{help}{tool}")), m, o);
                return f.way("insert-bush", fits);
            }
            let wide = m.width.map_or("too narrow".to_owned(), |w| format!("{w:.2} mm wide"));
            let message = format!(
                "a gap between two limbs is {wide}; for template to be left in it {:.2} mm are needed: {outcome}",
                2.0 * o
            );
            let severity = if island && m.stretches != 1 { Severity::Error } else { Severity::Warning };
            let which = if round_part { "take a smaller bush for the recess" } else { "take a smaller insert bush" };
            self.finding(Code::ClosedGap, severity, (message, format!("{which}; or {help}")), m, 2.0 * o)
        };
        Ok(found.parts.into_iter().map(say).collect())
    }

    /// Places of the opening that is there into which the bush of the recess does not get.
    fn bush(&self) -> Result<Vec<Finding>, GeomError> {
        let Some(opening) = &self.of.opening else { return Ok(Vec::new()) };
        let bush = self.tools.recess.bush;
        let help = "take a smaller bush (--bush), or open the template there";
        if self.of.piece.made.is_empty() {
            let message = format!("the {bush} mm bush does not get into the opening of the template anywhere");
            let f = Finding::new(Code::Neck, Severity::Error, message, help).on(self.of.piece.outline).last_word();
            return Ok(vec![f.at(opening.bounds().map(|b| b.center()))]);
        }
        let found = unreached(opening, bush / 2.0, FINDING_DEPTH, self.budget)?;
        let apart = island_count(&found.made) != island_count(opening);
        let say = |m: &Misfit| {
            let wide = m.width.map_or("too narrow".to_owned(), |w| format!("{w:.2} mm wide"));
            let message = format!("the opening of the template is {wide} here: the {bush} mm bush does not get in");
            let severity = if apart && m.stretches != 1 { Severity::Error } else { Severity::Warning };
            self.finding(Code::Neck, severity, (message, help.to_owned()), m, bush)
        };
        // Corners rounder than the opening's own are what every bush leaves.
        Ok(found.parts.iter().filter(|m| !m.is_corner()).map(say).collect())
    }
}
