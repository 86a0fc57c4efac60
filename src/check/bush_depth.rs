//! Bushes that project too far below the base.
//!
//! In: the maker's own kit, the router's figures and the tools of the job, mm. Out: errors. A missing figure is not
//! checked, and a general kit has no figures of its own. Common practice, no source: the bush ends 0.5 mm above the work.

use super::{Code, Finding, Severity};
use crate::kit::{Kit, Router, Tools};
use crate::text::{at_least, at_most, plain, tool};
use crate::tolerance::WIDTH_SLACK;
use crate::words;

/// Least distance of the bush from the work, mm. Common practice, no source.
pub const ABOVE_WORK: f64 = 0.5;

/// A finding for each bush of the job that would ride on the work.
#[must_use]
pub fn bushes(kit: &Kit, tools: &Tools, router: Router) -> Vec<Finding> {
    let mut called = vec![tools.recess_called.bush, tools.inlay_called.bush];
    called.dedup();
    called.into_iter().filter_map(|bush| rides(kit, bush, router)).collect()
}

/// The finding on one bush, by its nominal size, if it would ride on the work.
#[must_use]
pub fn rides(kit: &Kit, bush: f64, router: Router) -> Option<Finding> {
    let own = kit.bush(bush).filter(|_| !kit.generic).and_then(|b| b.projection);
    let projection = router.projection.or(own)?;
    let most = router.thickness - ABOVE_WORK;
    if projection <= most + WIDTH_SLACK {
        return None;
    }
    let outcome = if projection > router.thickness {
        ", so the bush rides on the work"
    } else {
        ", and the bush must end above the work"
    };
    let message = words!(
        "The {} bush projects {} below the base. The template is {} thick{}.",
        tool(bush),
        at_least(projection),
        plain(router.thickness),
        outcome
    );
    let help = words!(
        "Use a template of {} or more (--template-thickness), or shorten the bush to a projection of at most {}.",
        at_least(projection + ABOVE_WORK),
        at_most(most)
    );
    let f = Finding::new(Code::BushDepth, Severity::Error, message, help);
    Some(f.measures(router.thickness, projection + ABOVE_WORK))
}
