//! Waste around a plug that no bush reaches.
//!
//! In: the clearing, mm. Out: a warning.

use super::{Code, Finding, Severity};
use crate::panel::shoulder::Shouldered;
use crate::template::clearing::Clearing;
use crate::text::Words;
use crate::tolerance::NOTHING_LEFT;
use crate::words;

/// A finding on waste that no bush reaches.
#[must_use]
pub fn free_hand(c: &Clearing, both: Shouldered) -> Option<Finding> {
    if c.left.area() < NOTHING_LEFT {
        return None;
    }
    let at = c.left.segments().next().map(crate::geom::Segment::start);
    let openings = c.openings.len();
    let message = words!(
        "The bushes and {} clearing opening{} leave {} of waste around the plug, {} % of it. It must be cleared \
         freehand.",
        openings,
        if openings == 1 { "" } else { "s" },
        Words::area(c.left.area()),
        format!("{:.1}", 100.0 * (1.0 - c.coverage()))
    );
    let help = "Give a kit with smaller and larger bushes (--kit), or draw the shoulder narrower. Or remove the rest \
                with a chisel.";
    let f = Finding::new(Code::FreeHand, Severity::Warning, message, help);
    Some(f.at(at).on(both.plug.outline).covers(c.left.area()))
}
