//! The ledge of a plug with a shoulder: too narrow, or too thin.
//!
//! In: plug and shoulder as made, and the thicknesses that were given, mm. Out: findings.

use super::{Code, Finding, Severity};
use crate::panel::shoulder::Shouldered;
use crate::panel::steps::Depths;
use crate::text::{at_most, plain};
use crate::tolerance::WIDTH_SLACK;
use crate::words;

/// Least width and thickness of a ledge, mm. A smaller one breaks off or holds no glue. Common practice, no source.
const LEAST_LEDGE: f64 = 3.0;

/// A finding on a plug outside the shoulder, or on a ledge that is too narrow.
#[must_use]
pub fn ledge(both: Shouldered) -> Option<Finding> {
    let (width, at) = both.ledge().ok()?;
    let plug = both.plug.outline;
    if width <= 0.0 {
        let message = "The plug is not inside the shoulder, and it has no ledge.";
        let help = "Draw the shoulder around the plug, or swap --plug and --shoulder.";
        let f = Finding::new(Code::Ledge, Severity::Error, message, help);
        return Some(f.at(at).on(plug).measures(width, LEAST_LEDGE));
    }
    if width >= LEAST_LEDGE - WIDTH_SLACK {
        return None;
    }
    let message =
        words!("The ledge of the shoulder is {} wide. It must be {} wide or more.", at_most(width), plain(LEAST_LEDGE));
    let f =
        Finding::new(Code::Ledge, Severity::Warning, message, "Draw the shoulder wider there, or the plug narrower.");
    Some(f.at(at).on(plug).measures(width, LEAST_LEDGE))
}

/// Findings on a shoulder, or a ledge of the board under it, that is too thin. Only for thicknesses that were given.
#[must_use]
pub fn thin(depths: &Depths, plug: usize) -> Vec<Finding> {
    let parts = [
        (depths.shoulder(), "shoulder", "Use thicker wood (--stock) or a lower plug (--plug-height)."),
        (
            depths.board.zip(depths.rebate()).map(|(board, rebate)| board - rebate),
            "board under the shoulder",
            "Use a thicker board (--board), or a shallower rebate (--recess-depth) with a thinner shoulder.",
        ),
    ];
    let one = |(thick, what, help): (Option<f64>, &str, &str)| {
        let thick = thick.filter(|t| *t < LEAST_LEDGE - WIDTH_SLACK)?;
        let message = if thick > 0.0 {
            words!("The {} is {} thick. It must be {} thick or more.", what, at_most(thick), plain(LEAST_LEDGE))
        } else {
            words!("The cut leaves nothing of the {}. It must be {} thick or more.", what, plain(LEAST_LEDGE))
        };
        Some(Finding::new(Code::Ledge, Severity::Warning, message, help).on(plug).measures(thick, LEAST_LEDGE))
    };
    parts.into_iter().filter_map(one).collect()
}
