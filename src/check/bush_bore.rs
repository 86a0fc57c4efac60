//! Cutters that do not pass through the bore of their bush, by the maker's own kit.
//!
//! In: the kit and the tools of the job, mm. Out: an error for each pair whose cutter does not pass. Measured is the
//! bore, needed is the cutter and the least clearance. A bush without a bore in the kit is not checked. A cutter that the kit lacks has its nominal size. A general kit
//! is not checked either, because nobody owns its bushes.

use super::{Code, Finding, Severity};
use crate::kit::{Cutter, Kit, Pair, Passage, Tools, passage};
use crate::text::{at_least, at_most, tool};
use crate::tolerance::{BORE_CLEARANCE, TYPED};
use crate::words;

/// The pairs of the job whose cutter does not pass.
#[must_use]
pub fn bores(kit: &Kit, tools: &Tools) -> Vec<Finding> {
    if kit.generic {
        return Vec::new();
    }
    let pairs: &[(Pair, &str)] = if tools.recess_called == tools.inlay_called {
        &[(tools.recess_called, "")]
    } else {
        &[(tools.recess_called, " for the recess"), (tools.inlay_called, " for the inlay")]
    };
    pairs.iter().filter_map(|&(pair, whose)| bore(kit, pair, whose)).collect()
}

fn bore(kit: &Kit, pair: Pair, whose: &str) -> Option<Finding> {
    let bush = kit.bush(pair.bush)?;
    // A cutter that the kit does not list has its nominal size.
    let unlisted = Cutter { diameter: pair.cutter, ..Cutter::default() };
    let cutter = kit.cutter(pair.cutter).unwrap_or(&unlisted);
    let bore = bush.bore.filter(|_| passage(bush, cutter) == Passage::No)?;
    let needed = cutter.true_size() + BORE_CLEARANCE;
    let message = words!(
        "The {} bush has a bore of {}. The {} cutter{} needs {} to pass through it.",
        tool(pair.bush),
        at_most(bore),
        tool(pair.cutter),
        whose,
        at_least(needed)
    );
    // Rounded down, because a cutter of exactly this size must pass.
    let largest = ((bore - BORE_CLEARANCE) * 100.0 + TYPED).floor() / 100.0;
    let help = words!(
        "Use a cutter of at most {}, or a bush with a wider bore. letin offsets lists the pairs that pass.",
        at_most(largest)
    );
    let setting = if whose == " for the inlay" { "inlay-cutter" } else { "cutter" };
    let found = Finding::new(Code::BushBore, Severity::Error, message, help).measures(bore, needed);
    Some(found.way(setting, Some(largest)))
}
