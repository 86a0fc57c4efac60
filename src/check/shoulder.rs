//! Problems of a shouldered piece: its ledge, its mirror axis, its fit, and waste that no bush reaches.
//!
//! In: plug and shoulder as made, the steps, the clearing, mm. Out: findings.

use super::{Code, Finding, Severity, making};
use crate::kit::Tools;
use crate::proof::Fit;
use crate::template::clearing::{Clearing, NOTHING};
use crate::template::ease::Corners;
use crate::template::shoulder::Shouldered;
use crate::template::steps::Depths;
use crate::template::steps::{Purpose, Step, Work};
use crate::text::{Words, at_most, gap, plain};
use crate::tolerance::{WIDE_GAP, WIDTH_SLACK};
use crate::words;

/// Largest shortfall of the plug's gap that gets no finding, mm.
const TIGHT: f64 = 0.05;
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

/// A finding if one opening serves hole and plug, and the pairs leave the plug a smaller gap than `--plug-gap`. Plug
/// and shoulder must then both be set exactly.
#[must_use]
pub fn plug_gap(plug: usize, tools: &Tools, asked: f64) -> Option<Finding> {
    let short = asked - tools.gap;
    if !tools.one_opening || short <= TIGHT {
        return None;
    }
    let message = words!(
        "The matching pairs give the plug a gap of {} per side, and --plug-gap is {}. Plug and shoulder cannot both be \
         tight.",
        gap(tools.gap),
        gap(asked)
    );
    let help = words!(
        "Wind tape {} thick around the bush for the plug's kerf: it makes the plug that much smaller per side. Or \
         leave out --pair auto, which gives the plug an opening of its own.",
        gap(short)
    );
    let mut f = Finding::new(Code::Fit, Severity::Warning, message, help).on(plug);
    (f.measured, f.needed, f.short) = (Some(tools.gap), Some(asked), Some(short));
    Some(f)
}

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

/// A finding on waste that no bush reaches.
#[must_use]
pub fn free_hand(c: &Clearing, both: Shouldered) -> Option<Finding> {
    if c.left.area() < NOTHING {
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

/// The findings of [`making::fits`] for a shouldered piece. The plug's gap is wide on purpose, so only a gap wider than
/// that is reported for it.
#[must_use]
pub fn fits(
    all: &[Fit],
    corners: Corners,
    measured: bool,
    before: &[Finding],
    (plug, plug_gap): (usize, f64),
    shoulder_gap: f64,
) -> Vec<Finding> {
    let intended = |f: &Finding| {
        let wide = f.code == Code::Fit && f.severity == Severity::Warning && f.outline == Some(plug);
        wide && f.measured.is_some_and(|m| m <= plug_gap + WIDE_GAP)
    };
    let mut found = making::fits(all, corners, measured, plug_gap.max(shoulder_gap), before);
    found.retain(|f| !intended(f));
    for f in found.iter_mut().filter(|f| f.code == Code::Fit && f.outline == Some(plug)) {
        f.help = if f.severity == Severity::Error {
            "Set a wider gap with --plug-gap, or ease the drawing there.".into()
        } else {
            "Set a smaller gap with --plug-gap, or draw that place rounder.".into()
        };
    }
    found
}
