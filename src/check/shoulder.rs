//! What stands against a shouldered piece: its ledge, its hand, and waste that no bush reaches.
//!
//! In: plug and shoulder as they will be made, the steps, the clearing; mm. Out: findings.

use super::{Code, Finding, Severity, making};
use crate::kit::Tools;
use crate::proof::Fit;
use crate::template::clearing::{Clearing, NOTHING};
use crate::template::ease::Corners;
use crate::template::hand::{Purpose, Step, Work};
use crate::template::shoulder::Shouldered;
use crate::template::work::Depths;
use crate::tolerance::{WIDE_GAP, WIDTH_SLACK};

/// A plug's gap may fall so far short of what was wanted, mm, without a word.
const TIGHT: f64 = 0.05;
/// A ledge narrower or thinner than this, mm, breaks off or holds no glue. Common practice, no source.
const LEAST_LEDGE: f64 = 3.0;

/// A plug that is not inside the shoulder, or that leaves too little of a ledge.
#[must_use]
pub fn ledge(both: &Shouldered) -> Option<Finding> {
    let (width, at) = both.ledge().ok()?;
    let plug = both.plug.outline;
    if width <= 0.0 {
        let message = "the plug is not inside the shoulder: there is no ledge here";
        let help = "draw the shoulder round the plug, or change --plug and --shoulder about";
        let f = Finding::new(Code::Ledge, Severity::Error, message, help);
        return Some(f.at(at).on(plug).measures(width, LEAST_LEDGE));
    }
    if width >= LEAST_LEDGE - WIDTH_SLACK {
        return None;
    }
    let message = format!("the ledge of the shoulder is only {width:.2} mm wide here; {LEAST_LEDGE} mm are wanted");
    let f = Finding::new(Code::Ledge, Severity::Warning, message, "draw the shoulder wider or the plug narrower here");
    Some(f.at(at).on(plug).measures(width, LEAST_LEDGE))
}

/// A shoulder, or a ledge of the board under it, too thin to hold, where thicknesses are known.
#[must_use]
pub fn thin(depths: &Depths, plug: usize) -> Vec<Finding> {
    let parts = [
        (depths.shoulder(), "the shoulder", "take thicker wood (--stock) or a lower plug (--plug-height)"),
        (
            depths.board.zip(depths.rebate()).map(|(board, rebate)| board - rebate),
            "the board under the shoulder",
            "take a thicker board (--board), or make the rebate less deep with a thinner shoulder",
        ),
    ];
    let told = |(thick, what, help): (Option<f64>, &str, &str)| {
        let thick = thick.filter(|t| *t < LEAST_LEDGE - WIDTH_SLACK)?;
        let message = format!("{what} is only {thick:.2} mm thick; {LEAST_LEDGE} mm are wanted");
        Some(Finding::new(Code::Ledge, Severity::Warning, message, help).on(plug).measures(thick, LEAST_LEDGE))
    };
    parts.into_iter().filter_map(told).collect()
}

/// One opening serves hole and plug, and the pairs leave the plug less of a gap than was wanted: then both its settings and
/// those of the shoulder have to be exact.
#[must_use]
pub fn plug_gap(plug: usize, tools: &Tools, wanted: f64) -> Option<Finding> {
    let short = wanted - tools.gap;
    if !tools.one_opening || short <= TIGHT {
        return None;
    }
    let message = format!(
        "with the pairs that match the plug's gap is {:.2} mm per side; {wanted} mm were wanted, since plug and shoulder cannot both be tight",
        tools.gap
    );
    let help = format!(
        "a layer of tape {short:.2} mm thick round the bush for the plug's kerf makes the plug that much smaller per side; or leave out --pair auto: then the plug has an opening of its own"
    );
    let mut f = Finding::new(Code::Fit, Severity::Warning, message, help).on(plug);
    (f.measured, f.needed, f.short) = (Some(tools.gap), Some(wanted), Some(short));
    Some(f)
}

/// Plug and shoulder without a common mirror axis: which face and which edges.
#[must_use]
pub fn hand(has_axis: bool, steps: &[Step], both: &Shouldered) -> Option<Finding> {
    if has_axis {
        return None;
    }
    let line = |s: &&Step| s.work == Work::Inlay && s.purpose == Purpose::Line;
    let said: Vec<String> = steps.iter().filter(line).map(setting).collect();
    let mut each = said.clone();
    each.dedup();
    let message = format!("plug and shoulder have no mirror axis in common: for the inlay {}", each.join(", then "));
    let help = "keep to the face and the edges that each step names: any other makes an inlay that does not go in";
    let at = both.plug.made.bounds().map(|b| b.center());
    Some(Finding::new(Code::Hand, Severity::Note, message, help).at(at).on(both.shoulder.outline))
}

fn setting(s: &Step) -> String {
    let [side, end] = s.corner.names();
    format!("{} of panel {} with face {} up, {end} and {side} edges to the marks", s.opening, s.panel, s.face_up)
}

/// Waste that is left for a free hand.
#[must_use]
pub fn free_hand(c: &Clearing, both: &Shouldered) -> Option<Finding> {
    if c.left.area() < NOTHING {
        return None;
    }
    let at = c.left.segments().next().map(crate::geom::Segment::start);
    let message = format!(
        "{:.1} % of the waste round the plug is out of reach of the bushes at hand and of {} clearing openings: {:.0} mm² are left for a free hand",
        100.0 * (1.0 - c.coverage()),
        c.openings.len(),
        c.left.area()
    );
    let help = "give a kit with smaller and larger bushes (--kit), draw the shoulder narrower, or take the rest down with a chisel";
    let f = Finding::new(Code::FreeHand, Severity::Warning, message, help);
    Some(f.at(at).on(both.plug.outline).covers(c.left.area()))
}

/// What the proof says of the fit. The plug's gap is wide because it is wanted wide: that is told only beyond it.
#[must_use]
pub fn fits(
    all: &[Fit],
    corners: Corners,
    measured: bool,
    told: &[Finding],
    (plug, gap): (usize, f64),
    shoulder_gap: f64,
) -> Vec<Finding> {
    let wanted = |f: &Finding| {
        let wide = f.code == Code::Fit && f.severity == Severity::Warning && f.outline == Some(plug);
        wide && f.measured.is_some_and(|m| m <= gap + WIDE_GAP)
    };
    making::fits(all, corners, measured, gap.max(shoulder_gap), told).into_iter().filter(|f| !wanted(f)).collect()
}
