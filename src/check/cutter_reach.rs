//! Cutters that are too short for the cut.
//!
//! In: the maker's own kit, the router's figures and the cuts of the job, mm. Out: errors. A missing figure is not checked,
//! and a general kit has no figures of its own. Common practice, no source: the cutter reaches through the template's
//! thickness and the depth of cut. A shank no thicker than the cutter may enter the cut.

use super::{Code, Finding, Severity};
use crate::kit::{Kit, Pair, Router, shank_passes};
use crate::panel::steps::INTO_SPOIL;
use crate::text::{Words, at_least, at_most, plain, tool};
use crate::tolerance::WIDTH_SLACK;
use crate::words;

/// One cut of the job: the nominal sizes of its tools and its depth, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cut {
    pub called: Pair,
    pub depth: Option<f64>,
    /// True for a cut through the wood into the spoil board.
    pub through: bool,
}

/// A finding for each cutter that does not reach, on its deepest cut.
#[must_use]
pub fn reaches(kit: &Kit, cuts: &[Cut], router: Router) -> Vec<Finding> {
    let mut worst: Vec<(f64, Finding)> = Vec::new();
    for cut in cuts {
        let Some(f) = reach(kit, *cut, router) else { continue };
        match worst.iter_mut().find(|t| t.0 == cut.called.cutter) {
            Some(t) if t.1.needed < f.needed => t.1 = f,
            Some(_) => {}
            None => worst.push((cut.called.cutter, f)),
        }
    }
    worst.into_iter().map(|t| t.1).collect()
}

fn reach(kit: &Kit, cut: Cut, router: Router) -> Option<Finding> {
    let called = cut.called;
    let cutter = kit.cutter(called.cutter).filter(|_| !kit.generic)?;
    let spoil = if cut.through { INTO_SPOIL } else { 0.0 };
    let (length, depth) = (cutter.length?, cut.depth? + spoil);
    let needed = router.thickness + depth;
    if needed <= length + WIDTH_SLACK {
        return None;
    }
    let thin = cutter.shank? <= cutter.true_size() + WIDTH_SLACK;
    let passes = kit.bush(called.bush).and_then(|b| shank_passes(b, cutter));
    let why = match (thin, passes) {
        (true, Some(false)) => "does not pass through the bush",
        (true, _) => return None,
        (false, _) => "is thicker than the cutter",
    };
    let into = if cut.through { words!(", with {} into the spoil board", plain(spoil)) } else { Words::default() };
    let message = words!(
        "The {} cutter needs a cutting length of {} and has {}. The template takes {} and the cut {}{}. Its shank \
         would enter the cut, and the shank {}.",
        tool(called.cutter),
        at_least(needed),
        at_most(length),
        plain(router.thickness),
        plain(depth),
        into,
        why
    );
    let help = "Use a longer cutter or a thinner template. Or cut less deep and saw the rest.";
    Some(Finding::new(Code::CutterReach, Severity::Error, message, help).measures(length, needed))
}
