//! What could not be checked, because its figure was not given.
//!
//! In: the kit, the tools, the depths and the router's figures. Out: the setting or the key of the kit for each missing
//! figure, with its name in words. The figures of a general kit do not count.

use crate::kit::{Kit, Router, Tools};
use crate::panel::steps::Depths;
use crate::text::{Words, tool};
use crate::words;

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
