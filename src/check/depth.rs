//! Bushes that project too far below the base, cutters too short for the cut, and passes too deep.
//!
//! In: the maker's own kit, the template's thickness, the bush's projection if given, the pairs of the job and the
//! depth of each cut, mm. Out: findings, and the list of what could not be checked. Measured and needed are lengths. A
//! missing figure is not checked, and a general kit has no figures of its own.
//!
//! Common practice, no source: the bush ends 0.5 mm above the work. The cutter reaches through the template's thickness
//! and the depth of cut. A shank no thicker than the cutter may enter the cut.

use super::{Code, Finding, Severity};
use crate::kit::{Kit, Pair, Tools, shank_passes};
use crate::template::steps::{Depths, INTO_SPOIL};
use crate::text::{Words, at_least, at_most, plain, tool, typed};
use crate::tolerance::WIDTH_SLACK;
use crate::words;

/// Least distance of the bush from the work, mm. Common practice, no source.
pub const ABOVE_WORK: f64 = 0.5;

/// Figures of the router and the template.
#[derive(Clone, Copy, Debug, Default, PartialEq)]
pub struct Router {
    /// Thickness of the template, mm.
    pub thickness: f64,
    /// Projection of every bush below the base, mm. It overrides the kit.
    pub projection: Option<f64>,
    /// Depth of a pass, mm. `None`: half the diameter of each cutter.
    pub pass: Option<f64>,
}

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

/// A finding if the pass is deeper than the smallest cutter of the job should take.
#[must_use]
pub fn pass(tools: &[&Tools], router: Router) -> Option<Finding> {
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

/// What could not be checked, because it was not given: the setting or the figure of the kit, and a noun phrase.
/// `clearing`: nominal sizes of the bushes that clear waste, for a shouldered piece.
#[must_use]
pub fn unknown(
    kit: &Kit,
    tools: &[&Tools],
    depths: &Depths,
    router: Router,
    clearing: Option<&[f64]>,
) -> Vec<(&'static str, Words)> {
    let mut all = Vec::new();
    let mut lacks = |lacks: bool, setting, words: Words| {
        if lacks {
            all.push((setting, words));
        }
    };
    if clearing.is_some() {
        lacks(depths.board.is_none(), "board", "thickness of the board (--board)".into());
        lacks(depths.plug_height.is_none(), "plug-height", "height of the plug (--plug-height)".into());
    } else {
        lacks(depths.recess.is_none(), "recess-depth", "recess depth (--recess-depth)".into());
    }
    lacks(depths.stock.is_none(), "stock", "thickness of the wood for the inlay (--stock)".into());
    let own = |b: f64| kit.bush(b).filter(|_| !kit.generic);
    // The figures of a general kit are nobody's, so they do not count.
    let whose = if kit.generic { "a kit of your own" } else { "your kit" };
    let mut bushes: Vec<f64> = tools.iter().flat_map(|t| [t.recess_called.bush, t.inlay_called.bush]).collect();
    bushes.extend(clearing.unwrap_or_default());
    let mut cutters: Vec<f64> = tools.iter().flat_map(|t| [t.recess_called.cutter, t.inlay_called.cutter]).collect();
    for list in [&mut bushes, &mut cutters] {
        list.sort_by(f64::total_cmp);
        list.dedup();
    }
    let no: Vec<f64> = bushes.iter().copied().filter(|b| own(*b).and_then(|b| b.projection).is_none()).collect();
    let projection = !no.is_empty() && router.projection.is_none();
    lacks(
        projection,
        "projection",
        words!("projection of the {} (--projection or {})", listed(&no, ["bush", "bushes"]), whose),
    );
    let no: Vec<f64> = bushes.iter().copied().filter(|b| own(*b).and_then(|b| b.bore).is_none()).collect();
    lacks(!no.is_empty(), "bore", words!("bore of the {} ({})", listed(&no, ["bush", "bushes"]), whose));
    // Cutters that lack the same figures share a phrase.
    let has = |c: f64| {
        let own = kit.cutter(c).filter(|_| !kit.generic);
        (own.is_some_and(|c| c.length.is_some()), own.is_some_and(|c| c.shank.is_some()))
    };
    for (state, setting, what) in [
        ((false, false), "length", "length and shank"),
        ((false, true), "length", "length"),
        ((true, false), "shank", "shank"),
    ] {
        let no: Vec<f64> = cutters.iter().copied().filter(|c| has(*c) == state).collect();
        let words = words!("{} of the {} ({})", what, listed(&no, ["cutter", "cutters"]), whose);
        lacks(!no.is_empty(), setting, words);
    }
    all
}

/// Sizes with their noun: `20 mm bush`, `12 mm, 16 mm and 20 mm bushes`.
fn listed(sizes: &[f64], [one, several]: [&str; 2]) -> Words {
    let sizes: Vec<Words> = sizes.iter().map(|&d| tool(d).into()).collect();
    match sizes.as_slice() {
        [rest @ .., last] if !rest.is_empty() => {
            words!("{} and {} {}", Words::join(rest.iter().cloned(), ", "), last.clone(), several)
        }
        _ => words!("{} {}", Words::join(sizes, ""), one),
    }
}
