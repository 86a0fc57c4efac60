//! Passes that are too deep for the cutter.
//!
//! In: the depth of a pass, and the tools of the job, mm. Out: a warning. Common practice, no source: a hand-held router
//! takes half the cutter's diameter.

use super::{Code, Finding, Severity};
use crate::kit::{Router, Tools};
use crate::text::{plain, tool, typed};
use crate::tolerance::WIDTH_SLACK;
use crate::words;

/// A finding if the pass is deeper than the smallest cutter of the job should take.
#[must_use]
pub fn pass(tools: &[Tools], router: Router) -> Option<Finding> {
    let set = router.pass?;
    let cutters = tools.iter().flat_map(|t| [t.recess_called.cutter, t.inlay_called.cutter]);
    let cutter = cutters.min_by(f64::total_cmp)?;
    let most = cutter / 2.0;
    if set <= most + WIDTH_SLACK {
        return None;
    }
    let message = words!(
        "A pass of {} is too deep for the {} cutter in a hand-held router. The limit is {}, half its diameter.",
        plain(set),
        tool(cutter),
        plain(most)
    );
    let help = words!("Set --pass-depth {}, or leave it out: each cutter then takes half its diameter.", typed(most));
    let mut f = Finding::new(Code::PassDepth, Severity::Warning, message, help).way("pass-depth", Some(most));
    (f.measured, f.needed, f.short) = (Some(set), Some(most), Some(set - most));
    Some(f)
}
