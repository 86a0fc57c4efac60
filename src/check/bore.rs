//! Cutters that do not come through their bush, by the maker's own kit.
//!
//! In: the kit and the tools of the job, mm. Out: an error for a pair whose cutter the bore does not let through.
//! Measured: the bore; needed: the cutter and the least clearance. A bore that nobody gave is not checked, and a general
//! kit's bores are nobody's.

use super::{Code, Finding, Severity};
use crate::kit::{Kit, Pair, Passage, Tools, passage};
use crate::tolerance::BORE_CLEARANCE;

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
    pairs.iter().filter_map(|&(pair, whose)| one(kit, pair, whose)).collect()
}

fn one(kit: &Kit, pair: Pair, whose: &str) -> Option<Finding> {
    let (bush, cutter) = (kit.bush(pair.bush)?, kit.cutter(pair.cutter)?);
    let bore = bush.bore.filter(|_| passage(bush, cutter) == Passage::No)?;
    let needed = cutter.true_size() + BORE_CLEARANCE;
    let message = format!(
        "the {} mm cutter{whose} does not come through the {} mm bush: its bore is {bore:.2} mm, and {needed:.2} mm are needed",
        pair.cutter, pair.bush
    );
    // Down to the hundredth, so that what is said comes through.
    let largest = ((bore - BORE_CLEARANCE) * 100.0 + 1e-6).floor() / 100.0;
    let help = format!(
        "take a cutter of at most {largest:.2} mm, or a bush with a wider bore; letin offsets lists what passes"
    );
    let setting = if whose == " for the inlay" { "inlay-cutter" } else { "cutter" };
    let found = Finding::new(Code::BushBore, Severity::Error, message, help).measures(bore, needed);
    Some(found.way(setting, Some(largest)))
}
