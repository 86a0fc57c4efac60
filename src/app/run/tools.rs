//! What a kind of job means for its tools.
//!
//! In: the job. Out: the pieces that its openings serve, the cuts with their depths, and findings on the tools themselves.
//! These findings do not depend on the drawing.

use super::super::{Job, Kind};
use crate::check::Finding;
use crate::check::cutter_reach::Cut;
use crate::check::registry::{self, OF_TOOLS, ToolsSeen};
use crate::kit::Tools;
use crate::panel::steps::Depths;
use crate::template::Duty;
use crate::template::start::Start;

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
