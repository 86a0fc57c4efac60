//! The tools of each group of outlines.
//!
//! In: the job and the outlines. Out: the job with the tools that the group uses: those of the job, a matching pair of the
//! kit, or the one pair that is needed where a piece exists already.

use super::super::{AppError, Job, Kind};
use super::choose;
use super::tools::PLUG;
use crate::budget::Budget;
use crate::drawing::outline::Outline;
use crate::job::asides::PairChoice;
use crate::kit::Pair;
use crate::panel::Turn;
use crate::panel::layout::PanelSettings;
use crate::template::ease::Corners;
use crate::template::start::Start;
use crate::tolerance::WIDE_GAP;

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
