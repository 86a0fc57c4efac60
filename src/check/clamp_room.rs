//! Faces without room for clamps.
//!
//! In: the template, and the area that the base sweeps on each face, mm. Out: a warning with a panel that works.

use super::{Code, Finding, Severity};
use crate::geom::Region;
use crate::panel::clamps::{self, APART, PAD};
use crate::panel::layout::PanelSettings;
use crate::panel::template::Template;
use crate::panel::{Face, Turn};
use crate::text::{at_most, plain, typed_up};
use crate::tolerance::WIDTH_SLACK;
use crate::words;

/// A finding on the face with the least room for clamps, if that is too little.
#[must_use]
pub fn clamp_room(t: &Template, swept: &[((u32, u8), Region)], settings: &PanelSettings) -> Option<Finding> {
    let mut worst: Option<(f64, u32, u8)> = None;
    for ((number, face), region) in swept.iter().filter(|s| !s.1.is_empty()) {
        let Some(panel) = t.panels.iter().find(|p| p.number == *number) else { continue };
        let own = t.openings.iter().filter(|o| o.panel == *number);
        let seen: Vec<Region> =
            own.map(|o| Face { panel, face: *face, openings: Vec::new() }.seen(o).into_inner()).collect();
        let room = clamps::room(panel, &seen, region);
        if room < PAD - WIDTH_SLACK && worst.is_none_or(|w| room < w.0) {
            worst = Some((room, *number, *face));
        }
    }
    let (room, panel, face) = worst?;
    let left = if room < 1.0 { "No pad fits".into() } else { words!("Pads of at most {} fit", at_most(room.floor())) };
    let message = words!(
        "On face {} of panel {} the router's base leaves no room for two clamps {} apart. {}, and clamps need {}.",
        u32::from(face),
        panel,
        plain(APART),
        left,
        plain(PAD)
    );
    let roomy = t.sizes.iter().find(|s| s.roomy && s.turn == settings.turn);
    let turn = if settings.turn == Turn::None { "" } else { ", on the face that lies on the work" };
    let help = match roomy {
        Some(s) => words!(
            "Set --panel {}x{}, or hold the panel with double-sided tape alone{}.",
            typed_up(s.width),
            typed_up(s.height),
            turn
        ),
        None => words!("Hold the panel with double-sided tape alone{}.", turn),
    };
    Some(Finding::new(Code::ClampRoom, Severity::Warning, message, help).measures(room, PAD))
}
