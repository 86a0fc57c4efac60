//! Bushes that stand out too far below the base, and cutters too short for the cut.
//!
//! In: the maker's own kit, the template's thickness, the bush's projection where it was given, the pairs of the job and
//! how deep each cuts, mm. Out: errors. Measured and needed are lengths. A figure that nobody gave is not checked, and a
//! general kit's figures are nobody's. Common practice, no source: the bush ends 0.5 mm above the work; the cutter reaches
//! the template's thickness and the depth of cut below the base, and a shank no thicker than the cutter may enter the cut.

use super::{Code, Finding, Severity};
use crate::kit::{Kit, Pair, Tools, shank_passes};
use crate::tolerance::WIDTH_SLACK;

/// The bush ends so far above the work, mm. Common practice, no source.
pub const ABOVE_WORK: f64 = 0.5;

/// What is known of the router and the template.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Router {
    /// Thickness of the template, mm.
    pub thickness: f64,
    /// How far every bush of the job stands out below the base, mm, whatever the kit says.
    pub projection: Option<f64>,
}

/// The bushes of the job that would ride on the work: each by its nominal size.
#[must_use]
pub fn bushes(kit: &Kit, tools: &Tools, router: Router) -> Vec<Finding> {
    let mut called = vec![tools.recess_called.bush, tools.insert_called.bush];
    called.dedup();
    called.into_iter().filter_map(|bush| rides(kit, bush, router)).collect()
}

fn rides(kit: &Kit, bush: f64, router: Router) -> Option<Finding> {
    let own = kit.bush(bush).filter(|_| !kit.generic).and_then(|b| b.projection);
    let projection = router.projection.or(own)?;
    let most = router.thickness - ABOVE_WORK;
    if projection <= most + WIDTH_SLACK {
        return None;
    }
    let message = format!(
        "the {bush} mm bush stands out {projection:.2} mm below the base and the template is {} mm thick: the bush rides on the work",
        router.thickness
    );
    let help = format!(
        "make the template {:.2} mm thick or more (--template-thickness), or shorten the bush to {most:.2} mm",
        projection + ABOVE_WORK
    );
    let f = Finding::new(Code::BushDepth, Severity::Error, message, help);
    Some(f.measures(router.thickness, projection + ABOVE_WORK))
}

/// A cut with the pair, called by nominal sizes, `depth` mm deep: an error where the cutter does not reach.
#[must_use]
pub fn reach(kit: &Kit, called: Pair, depth: Option<f64>, router: Router) -> Option<Finding> {
    let cutter = kit.cutter(called.cutter).filter(|_| !kit.generic)?;
    let (length, needed) = (cutter.length?, router.thickness + depth?);
    if needed <= length + WIDTH_SLACK {
        return None;
    }
    let thin = cutter.shank? <= cutter.true_size() + WIDTH_SLACK;
    let passes = kit.bush(called.bush).and_then(|b| shank_passes(b, cutter));
    let why = match (thin, passes) {
        (true, Some(false)) => "does not come through the bush",
        (true, _) => return None,
        (false, _) => "is thicker than the cutter",
    };
    let message = format!(
        "the {} mm cutter cuts {length:.2} mm of its length, and a template of {} mm with a cut of {:.2} mm needs {needed:.2} mm: its shank would enter the cut, and {why}",
        called.cutter,
        router.thickness,
        needed - router.thickness
    );
    let help = "take a longer cutter, a thinner template, or a cut that is less deep and saw the rest";
    Some(Finding::new(Code::CutterReach, Severity::Error, message, help).measures(length, needed))
}
