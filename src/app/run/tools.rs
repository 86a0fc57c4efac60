//! What a kind of job means for its tools.
//!
//! In: the job. Out: the tools of each group of outlines, the cuts with their depths, and findings on the tools
//! themselves. These findings do not depend on the drawing.

use super::super::{AppError, Job, Kind};
use super::choose;
use crate::budget::Budget;
use crate::check::Finding;
use crate::check::cutter_reach::Cut;
use crate::check::registry::{self, OF_TOOLS, ToolsSeen};
use crate::drawing::outline::Outline;
use crate::job::asides::PairChoice;
use crate::kit::{Pair, Tools};
use crate::panel::Turn;
use crate::panel::layout::PanelSettings;
use crate::panel::steps::Depths;
use crate::template::Duty;
use crate::template::ease::Corners;
use crate::template::start::Start;
use crate::tolerance::WIDE_GAP;

/// The group of the plug, in a part of a shouldered job. The shoulder's group follows.
pub(super) const PLUG: usize = 0;

impl Kind {
    /// The pieces whose openings count.
    pub(super) fn served(&self, tools: &Tools) -> Vec<Duty> {
        match self {
            Kind::InHand(start) => vec![start.cut(tools).unwrap_or(Duty::Recess)],
            Kind::Flush | Kind::Shouldered(_) => vec![Duty::Recess, Duty::Inlay],
        }
    }

    /// The cuts of a group of outlines, with their depths.
    pub(super) fn cuts(&self, group: usize, t: &Tools, d: &Depths) -> Vec<Cut> {
        let cut = |called, depth, through| Cut { called, depth, through };
        let recess = cut(t.recess_called, d.recess, d.through());
        let inlay = cut(t.inlay_called, d.stock, true);
        match self {
            Kind::Flush | Kind::InHand(Start::Template) => vec![recess, inlay],
            // The part is its own inlay, and the bush that goes around it cuts a sheet of unknown thickness.
            Kind::InHand(Start::Part) => vec![recess],
            Kind::InHand(Start::Recess) => vec![inlay],
            Kind::Shouldered(_) if group == PLUG => {
                vec![cut(t.inlay_called, d.plug_height, false), cut(t.recess_called, d.board, true)]
            }
            Kind::Shouldered(_) => {
                vec![cut(t.inlay_called, d.stock, true), cut(t.recess_called, d.rebate(), false)]
            }
        }
    }
}

/// The job of a group of outlines with the tools that it uses.
pub(super) struct Equipped {
    pub job: Job,
    /// Why the tools were chosen, with `--pair auto`.
    pub pair: Option<PairChoice>,
    pub round: Around,
}

/// The pair that runs around a part in hand.
#[derive(Clone, Copy)]
pub(super) struct Around {
    /// Sizes for the sums.
    pub sized: Pair,
    /// Nominal diameters.
    pub called: Pair,
}

/// The tools of a group: those of the job, or the matching pair of the kit that does best on the outlines.
///
/// # Errors
/// [`AppError::NoPair`] where no tools of the kit match; else as the checks.
pub(super) fn equipped(outlines: &[Outline], group: usize, job: &Job, budget: &Budget) -> Result<Equipped, AppError> {
    let mut own = job.clone();
    if let Kind::Shouldered(order) = &job.kind
        && group == PLUG
    {
        own.tools.gap = order.plug_gap;
    }
    let start = job.kind.start();
    if start.is_some() {
        // What exists is not eased, and no opening has a counterpart on a second face.
        own.corners = Corners::Keep;
        own.panel.turn = Turn::None;
    }
    let auto = job.auto_pair && start != Some(Start::Recess);
    if auto {
        let (tools, choice) = choose::pair(outlines, group, &own, budget)?;
        own.tools = tools;
        if job.kind == Kind::Flush {
            // One opening serves both pieces, so the panel is not turned over.
            own.panel = PanelSettings { turn: Turn::None, ..job.panel };
        }
        return Ok(Equipped {
            round: Around { sized: tools.inlay, called: tools.inlay_called },
            job: own,
            pair: Some(choice),
        });
    }
    let round = Around { sized: own.tools.inlay, called: own.tools.inlay_called };
    let most = WIDE_GAP.max(own.tools.gap);
    match (start, own.tools.matched(most)) {
        (None, _) => {}
        (Some(Start::Recess), _) => own.tools = own.tools.only(&job.kit, false),
        (Some(_), Some(matched)) => own.tools = matched,
        // The part exists, so only the recess is routed.
        (Some(Start::Part), None) => own.tools = own.tools.only(&job.kit, true),
        (Some(Start::Template), None) => {}
    }
    Ok(Equipped { job: own, pair: None, round })
}

/// Findings on the tools of one or more groups.
pub(super) fn findings(groups: &[(usize, Tools)], job: &Job) -> Vec<Finding> {
    let tools: Vec<Tools> = groups.iter().map(|g| g.1).collect();
    // The bush that goes around a part may project as far as the part is thick. That thickness is not known.
    let around_part = job.kind.start() == Some(Start::Part);
    let over_template: Vec<Tools> =
        tools.iter().map(|t| if around_part { t.only(&job.kit, true) } else { *t }).collect();
    let cuts: Vec<Cut> = groups.iter().flat_map(|(group, t)| job.kind.cuts(*group, t, &job.depths)).collect();
    let (kit, router) = (&job.kit, job.router);
    registry::all(OF_TOOLS, &ToolsSeen { kit, tools: &tools, over_template: &over_template, cuts: &cuts, router })
}
