//! Lays the openings of each part out on panels, and makes the bytes for the machine.
//!
//! In: planned parts. Out: panels, openings, steps and files. All parts share one centre mark, because the same marks serve
//! them. A part that an error blocks has no panels.

use super::super::files::{self, Machine};
use super::super::{AppError, Kind};
use super::plan::Planned;
use super::work::uncertified;
use crate::budget::Budget;
use crate::check::Finding;
use crate::check::registry::{self, OF_PANELS, ShoulderSeen};
use crate::geom::{Certified, GeomError, Point, Region, shrink};
use crate::panel::Opening;
use crate::panel::flush::{template, template_of};
use crate::panel::shoulder::{ShoulderError, Shouldered, Together};
use crate::panel::steps::{Step, flush};
use crate::panel::template::Template;
use crate::template::Duty;
use crate::template::Piece;
use crate::template::clearing::Clearing;
use crate::template::hand::common_axis;

/// A part with its panels.
pub(super) struct Laid {
    pub planned: Planned,
    pub template: Template,
    pub steps: Vec<Step>,
    pub files: Vec<Machine>,
    /// An error in drawing, tools or pieces stops the part. It then has no panels, and nothing to prove.
    pub blocked: bool,
    pub shouldered: Option<LaidPlug>,
}

/// Further results for a plug with its shoulder.
pub(super) struct LaidPlug {
    /// Plug and shoulder have a mirror axis in common.
    pub has_axis: bool,
    /// Number of the plug's outline.
    plug: usize,
    /// The finished plug, in the drawing frame; `None` if it could not be certified.
    finished: Option<Certified<Region>>,
}

impl Laid {
    /// The wood that the loose centre of an opening can be stuck onto: the finished plug, after the waste around it is
    /// cleared. `None`: everywhere.
    pub fn wood_under_centre(&self, o: &Opening) -> Option<Certified<Region>> {
        let s = self.shouldered.as_ref()?;
        let own = o.outline == s.plug && o.duty != Duty::Clearing;
        if own { None } else { s.finished.clone() }
    }
}

/// Lays out all parts of a run.
///
/// # Errors
/// [`AppError`] for a plug without a ledge that no finding has, and for figures that cannot be written.
pub(super) fn laid_out(parts: Vec<Planned>, budget: &Budget) -> Result<Vec<Laid>, AppError> {
    let shouldered: Vec<(Shouldered, &Clearing)> =
        parts.iter().filter_map(|p| Some((p.shouldered()?, p.clearing.as_ref()?))).collect();
    let turn = parts.first().map_or(crate::panel::Turn::None, |p| p.job.panel.turn);
    let together = Together::new(&shouldered, turn);
    let mut all: Vec<Laid> = Vec::new();
    for planned in parts {
        let centre_mark = all.first().and_then(|l| l.template.centre_mark);
        all.push(laid(planned, centre_mark, together, budget)?);
    }
    Ok(all)
}

fn laid(
    mut planned: Planned,
    centre_mark: Option<Point>,
    together: Option<Together>,
    budget: &Budget,
) -> Result<Laid, AppError> {
    let (blocked, mut findings) = (planned.blocked(), Vec::new());
    let (template, steps, shouldered) = match (&planned.job.kind, planned.shouldered(), &planned.clearing) {
        (Kind::Shouldered(_), Some(both), Some(clearing)) => {
            shouldered(both, clearing, together, &planned, &mut findings, budget)?
        }
        (Kind::Shouldered(_), ..) => (Template::default(), Vec::new(), None),
        (Kind::Flush | Kind::InHand(_), ..) => {
            let template = single(&planned, centre_mark, budget)?;
            let steps = flush(&template.openings, &planned.job.tools, &planned.job.depths);
            (template, steps, None)
        }
    };
    let beside = planned.shouldered().zip(planned.clearing.as_ref()).zip(shouldered.as_ref());
    let seen = registry::PanelsSeen {
        template: &template,
        settings: &planned.job.panel,
        steps: &steps,
        shoulder: beside.map(|((both, clearing), s)| ShoulderSeen { both, clearing, has_axis: s.has_axis }),
    };
    findings.extend(registry::all(OF_PANELS, &seen));
    planned.findings.extend(findings);
    let files = files::machine(&template, planned.name.as_deref(), &planned.job)?;
    Ok(Laid { planned, template, steps, files, blocked, shouldered })
}

/// The panels of a job with one group of outlines.
fn single(planned: &Planned, centre_mark: Option<Point>, budget: &Budget) -> Result<Template, AppError> {
    if planned.blocked() {
        return Ok(Template::default());
    }
    let job = &planned.job;
    let pieces: &[Piece] = planned.groups.first().map_or(&[], |g| &g.worked.pieces);
    Ok(match job.kind.start().map(|s| s.cut(&job.tools)) {
        None => template(pieces, &job.tools, &job.panel, centre_mark, budget)?,
        Some(Some(duty)) => template_of(pieces, &[&[duty]], &job.tools, &job.panel, None, budget)?,
        Some(None) => Template::default(),
    })
}

/// The panels of a plug with its shoulder.
fn shouldered(
    both: Shouldered,
    clearing: &Clearing,
    together: Option<Together>,
    planned: &Planned,
    findings: &mut Vec<Finding>,
    budget: &Budget,
) -> Result<(Template, Vec<Step>, Option<LaidPlug>), AppError> {
    let template = match both.template(clearing, &planned.job.panel, together, budget) {
        Ok(t) => t,
        Err(ShoulderError::Geom(e)) => {
            findings.push(uncertified(e)?);
            return Ok((Template::default(), Vec::new(), None));
        }
        Err(other) => return Err(AppError::Shoulder(other)),
    };
    let has_axis = common_axis(&both.plug.made, &both.shoulder.made).is_some();
    let steps = both.steps(&template, clearing, &planned.job.depths);
    let finished = match standing(both, budget) {
        Ok(region) => Some(region),
        Err(e) => {
            findings.push(uncertified(e)?);
            None
        }
    };
    Ok((template, steps, Some(LaidPlug { has_axis, plug: both.plug.outline, finished })))
}

/// The finished plug, in the drawing frame.
fn standing(both: Shouldered, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let inlay = both.plug.tools.inlay;
    shrink(&both.plug.inlay, inlay.bush_radius() + inlay.cutter_radius(), budget)
}
