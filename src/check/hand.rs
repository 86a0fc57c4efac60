//! Plug and shoulder without a common mirror axis.
//!
//! In: the steps, and plug and shoulder as made. Out: a note.

use super::{Code, Finding, Severity};
use crate::panel::shoulder::Shouldered;
use crate::panel::steps::{Purpose, Step, Work};
use crate::text::Words;
use crate::words;

/// A note on plug and shoulder without a common mirror axis. It lists the face and the edges of each setting of the
/// inlay.
#[must_use]
pub fn hand(has_axis: bool, steps: &[Step], both: Shouldered) -> Option<Finding> {
    if has_axis {
        return None;
    }
    let line = |s: &&Step| s.work == Work::Inlay && s.purpose == Purpose::Line;
    let mut each: Vec<String> = steps.iter().filter(line).map(setting).collect();
    each.dedup();
    let then = |(i, s): (usize, &String)| words!("{} {}.", if i == 0 { "For the inlay use" } else { "Then use" }, s);
    let settings = Words::join(each.iter().enumerate().map(then), " ");
    let message = words!("Plug and shoulder have no common mirror axis. {}", settings);
    let help = "Keep to the face and the edges of each step. Any other setting makes an inlay that does not go in.";
    let at = both.plug.made.bounds().map(|b| b.center());
    Some(Finding::new(Code::Hand, Severity::Note, message, help).at(at).on(both.shoulder.outline))
}

fn setting(s: &Step) -> String {
    let [side, end] = s.corner.names();
    format!("{} of panel {}: face {} up, its {end} and {side} edges on the pencil lines", s.opening, s.panel, s.face_up)
}
