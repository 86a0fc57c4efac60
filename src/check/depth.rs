//! Bushes that stand out too far below the base, cutters too short for the cut, and passes too deep.
//!
//! In: the maker's own kit, the template's thickness, the bush's projection where it was given, the pairs of the job and
//! how deep each cuts, mm. Out: findings, and what could not be checked. Measured and needed are lengths. A figure that nobody gave is not checked, and a
//! general kit's figures are nobody's. Common practice, no source: the bush ends 0.5 mm above the work; the cutter reaches
//! the template's thickness and the depth of cut below the base, and a shank no thicker than the cutter may enter the cut.

use super::{Code, Finding, Severity};
use crate::kit::{Kit, Pair, Tools, shank_passes};
use crate::template::work::{Depths, INTO_SPOIL};
use crate::text::Words;
use crate::tolerance::WIDTH_SLACK;

/// The bush ends so far above the work, mm. Common practice, no source.
pub const ABOVE_WORK: f64 = 0.5;

/// What is known of the router and the template.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Router {
    /// Thickness of the template, mm.
    pub thickness: f64,
    /// How far every bush of the job stands out below the base, mm, whatever the kit says.
    pub projection: Option<f64>,
    /// How deep a pass is taken, mm; each cutter half its diameter unless given.
    pub pass: Option<f64>,
}

/// The bushes of the job that would ride on the work: each by its nominal size.
#[must_use]
pub fn bushes(kit: &Kit, tools: &Tools, router: Router) -> Vec<Finding> {
    let mut called = vec![tools.recess_called.bush, tools.inlay_called.bush];
    called.dedup();
    called.into_iter().filter_map(|bush| rides(kit, bush, router)).collect()
}

/// A bush, by its nominal size, that would ride on the work.
#[must_use]
pub fn rides(kit: &Kit, bush: f64, router: Router) -> Option<Finding> {
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

/// A cut that the job has: with what, called by nominal sizes, and how deep, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Cut {
    pub called: Pair,
    pub depth: Option<f64>,
    /// Right through, into the spoil board.
    pub through: bool,
}

/// Cutters that do not reach: of each its deepest cut.
#[must_use]
pub fn reaches(kit: &Kit, cuts: &[Cut], router: Router) -> Vec<Finding> {
    let mut told: Vec<(f64, Finding)> = Vec::new();
    for cut in cuts {
        let Some(f) = reach(kit, *cut, router) else { continue };
        match told.iter_mut().find(|t| t.0 == cut.called.cutter) {
            Some(t) if t.1.needed < f.needed => t.1 = f,
            Some(_) => {}
            None => told.push((cut.called.cutter, f)),
        }
    }
    told.into_iter().map(|t| t.1).collect()
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
        (true, Some(false)) => "does not come through the bush",
        (true, _) => return None,
        (false, _) => "is thicker than the cutter",
    };
    let into = if cut.through { format!(", {spoil} mm of it into the spoil board,") } else { String::new() };
    let message = format!(
        "the {} mm cutter cuts {length:.2} mm of its length, and a template of {} mm with a cut of {depth:.2} mm{into} needs {needed:.2} mm: its shank would enter the cut, and {why}",
        called.cutter, router.thickness
    );
    let help = "take a longer cutter, a thinner template, or a cut that is less deep and saw the rest";
    Some(Finding::new(Code::CutterReach, Severity::Error, message, help).measures(length, needed))
}

/// A pass that was set deeper than the smallest cutter of the job should take.
#[must_use]
pub fn pass(tools: &[&Tools], router: Router) -> Option<Finding> {
    let set = router.pass?;
    let cutters = tools.iter().flat_map(|t| [t.recess_called.cutter, t.inlay_called.cutter]);
    let cutter = cutters.min_by(f64::total_cmp)?;
    let most = cutter / 2.0;
    if set <= most + WIDTH_SLACK {
        return None;
    }
    let message = format!("passes of {set} mm are deeper than a {cutter} mm cutter should take by hand: {most} mm");
    let help = format!("--pass-depth {most}, or leave it out: then each cutter takes half its diameter");
    let mut f = Finding::new(Code::PassDepth, Severity::Warning, message, help).way("pass-depth", Some(most));
    (f.measured, f.needed, f.short) = (Some(set), Some(most), Some(set - most));
    Some(f)
}

/// What could not be checked, since nobody said: the setting, or what lacks in the kit, and in words. `clearing`: the
/// bushes that clear waste, of a shouldered piece, by their nominal sizes.
#[must_use]
pub fn unknown(
    kit: &Kit,
    tools: &[&Tools],
    depths: &Depths,
    router: Router,
    clearing: Option<&[f64]>,
) -> Vec<(&'static str, Words)> {
    let mut all = Vec::new();
    let mut lacks = |lacks: bool, setting, words: String| {
        if lacks {
            all.push((setting, words.into()));
        }
    };
    let said = |what: &str, setting: &str| format!("{what} (--{setting})");
    if clearing.is_some() {
        lacks(depths.board.is_none(), "board", said("how thick the board is", "board"));
        lacks(depths.plug_height.is_none(), "plug-height", said("how high the plug is", "plug-height"));
    } else {
        lacks(depths.recess.is_none(), "recess-depth", said("how deep the recess is", "recess-depth"));
    }
    lacks(depths.stock.is_none(), "stock", said("how thick the wood for the inlay is", "stock"));
    let own = |b: f64| kit.bush(b).filter(|_| !kit.generic);
    // What a general kit has is nobody's, so it counts for nothing here.
    let whose = if kit.generic { "a kit of your own" } else { "your kit" };
    let mut bushes: Vec<f64> = tools.iter().flat_map(|t| [t.recess_called.bush, t.inlay_called.bush]).collect();
    bushes.extend(clearing.unwrap_or_default());
    let mut cutters: Vec<f64> = tools.iter().flat_map(|t| [t.recess_called.cutter, t.inlay_called.cutter]).collect();
    for list in [&mut bushes, &mut cutters] {
        list.sort_by(f64::total_cmp);
        list.dedup();
    }
    let listed = |v: Vec<f64>| v.iter().map(|d| format!("{d}")).collect::<Vec<_>>().join(", ");
    let no: Vec<f64> = bushes.iter().copied().filter(|b| own(*b).and_then(|b| b.projection).is_none()).collect();
    let projection = !no.is_empty() && router.projection.is_none();
    lacks(
        projection,
        "projection",
        format!("how far the bush of {} mm stands out (--projection, or {whose})", listed(no)),
    );
    let no: Vec<f64> = bushes.iter().copied().filter(|b| own(*b).and_then(|b| b.bore).is_none()).collect();
    lacks(!no.is_empty(), "bore", format!("the bore of the bush of {} mm ({whose})", listed(no)));
    // Length and shank by cutters that lack the same, so that each is told what it lacks and no more.
    let has = |c: f64| {
        let own = kit.cutter(c).filter(|_| !kit.generic);
        (own.is_some_and(|c| c.length.is_some()), own.is_some_and(|c| c.shank.is_some()))
    };
    for (state, setting, what) in [
        ((false, false), "length", "length and shank"),
        ((false, true), "length", "the length"),
        ((true, false), "shank", "the shank"),
    ] {
        let no: Vec<f64> = cutters.iter().copied().filter(|c| has(*c) == state).collect();
        lacks(!no.is_empty(), setting, format!("{what} of the cutter of {} mm ({whose})", listed(no)));
    }
    all
}
