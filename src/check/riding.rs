//! The router on the panel: where its base would tip, and where clamps find no room.
//!
//! In: the template, the steps with their margins, what the base sweeps, mm. Out: warnings with the base, the centre or
//! the panel that would do, each worked out. Common practice, no source: a margin of [`MARGIN`] mm.

use super::{Code, Finding, Severity};
use crate::budget::Budget;
use crate::geom::{Certified, GeomError, Region};
use crate::template::centres::Centres;
use crate::template::clamps::{self, APART, PAD};
use crate::template::ground::Grounds;
use crate::template::hand::Step;
use crate::template::layout::PanelSettings;
use crate::template::openings::Template;
use crate::template::tipping::{LARGEST_BASE, Margin, base_that_holds, margin_with, stuck_back};
use crate::template::{Face, Opening, Turn};
use crate::text::rounded;
use crate::threads::each;
use crate::tolerance::WIDTH_SLACK;
use std::collections::BTreeMap;

/// The bush's centre lies so far within what holds the router up, mm. Common practice, no source.
pub const MARGIN: f64 = 10.0;

/// A number for people: to the hundredth, no zeros behind.
fn n(mm: f64) -> String {
    rounded(mm, 2).unwrap_or_default()
}

/// Openings in which the base would tip: one finding each, of the worst place. `stands`: what is left standing in the
/// middle for a centre to be stuck onto, where that is not all of it, in the drawing frame. `centres`: those of the bushes.
///
/// # Errors
/// As the operations.
pub fn tips(
    t: &Template,
    (steps, centres, grounds): (&[Step], &Centres, &Grounds),
    margins: &[Option<Margin>],
    settings: &PanelSettings,
    stands: &(dyn Fn(&Opening) -> Option<Certified<Region>> + Sync),
    budget: &Budget,
) -> Result<Vec<Finding>, GeomError> {
    let mut of: BTreeMap<&str, Vec<(&Step, Margin)>> = BTreeMap::new();
    for (s, m) in steps.iter().zip(margins) {
        if let Some(m) = m {
            of.entry(s.opening.as_str()).or_default().push((s, *m));
        }
    }
    let tip = |o: &&Opening| {
        let least = of.get(o.id.as_str()).into_iter().flatten().map(|r| r.1.mm).min_by(f64::total_cmp);
        least.is_some_and(|mm| mm < MARGIN - WIDTH_SLACK)
    };
    let found = each(t.openings.iter().filter(tip).collect(), |o| {
        let runs = of.get(o.id.as_str()).map(Vec::as_slice).unwrap_or_default();
        tips_in((t, centres, grounds), o, runs, settings, stands, budget)
    });
    found.into_iter().filter_map(Result::transpose).collect()
}

/// The finding on one opening in which the base tips in one of the `runs`.
fn tips_in(
    on: (&Template, &Centres, &Grounds),
    o: &Opening,
    runs: &[(&Step, Margin)],
    settings: &PanelSettings,
    stands: &(dyn Fn(&Opening) -> Option<Certified<Region>> + Sync),
    budget: &Budget,
) -> Result<Option<Finding>, GeomError> {
    let Some((step, least)) = runs.iter().min_by(|a, b| a.1.mm.total_cmp(&b.1.mm)) else { return Ok(None) };
    let message = if least.mm.is_finite() {
        let by = if least.mm < 0.0 { "tips into the opening" } else { "stands too near to tipping" };
        format!(
            "in {} a router with a base of radius {} mm {by} with its {} mm bush here: the margin of what is left of the \
             panel under it is {:.2} mm, and {MARGIN} mm are wanted",
            o.id,
            n(settings.base),
            n(step.pair.bush),
            least.mm
        )
    } else {
        format!(
            "in {} a router with a base of radius {} mm has nothing of the panel under it here",
            o.id,
            n(settings.base)
        )
    };
    let help = way_out(on, o, runs, settings, stands, budget)?;
    let mut f = Finding::new(Code::BaseTips, Severity::Warning, message, help).at(o.place.inverse() * least.at);
    if least.mm.is_finite() {
        f = f.measures(least.mm, MARGIN);
    }
    Ok(Some(f.on(o.outline)))
}

/// The sub-base that holds, and whether the centre stuck back does.
fn way_out(
    (t, centres, grounds): (&Template, &Centres, &Grounds),
    o: &Opening,
    runs: &[(&Step, Margin)],
    settings: &PanelSettings,
    stands: &(dyn Fn(&Opening) -> Option<Certified<Region>> + Sync),
    budget: &Budget,
) -> Result<String, GeomError> {
    let mut base = Some(0.0_f64);
    for (s, _) in runs.iter().filter(|(_, m)| m.mm < MARGIN - WIDTH_SLACK) {
        let one = base_that_holds(t, s, (centres, grounds), MARGIN, settings, budget)?;
        base = base.zip(one).map(|(a, b)| a.max(b));
    }
    let larger = match base {
        Some(q) => format!("screw on a sub-base of radius {} mm (--base)", n(q)),
        None => format!("no sub-base of up to {LARGEST_BASE} mm radius holds it"),
    };
    if runs.iter().any(|(s, _)| s.whole) {
        return Ok(format!("{larger}; the opening's loose centre is no help here, since its middle is cleared away"));
    }
    let bush = runs.iter().map(|(s, _)| s.pair.bush).fold(0.0, f64::max);
    let centre = stuck_back(o, bush, stands(o).as_ref(), budget)?;
    let Some(b) = centre.bounds() else {
        return Ok(format!("{larger}; beside the bush there is no room for the loose centre to be stuck back"));
    };
    let mut least = f64::INFINITY;
    for (s, m) in runs {
        let with = margin_with(t, s, (centres, grounds), &centre, settings.base, budget)?;
        least = least.min(with.map_or(m.mm, |w| w.mm));
    }
    let size = format!("{:.0} x {:.0} mm", b.width().floor(), b.height().floor());
    Ok(if least >= MARGIN - WIDTH_SLACK {
        format!(
            "{larger}; or cut the loose centre down to {size}, so that the bush runs round it, and stick it back with tape: the margin is then {least:.2} mm"
        )
    } else {
        format!(
            "{larger}; the loose centre stuck back is no help here: cut down to {size}, so that the bush runs round it, it leaves the margin at {least:.2} mm"
        )
    })
}

/// The face with the least room for clamps, if it is too little.
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
    let left = if room > 0.05 { format!("only pads of {room:.1} mm find it") } else { "none finds it".to_owned() };
    let message = format!(
        "on face {face} of panel {panel} there is no room for two clamps, {APART} mm apart, where the router's base does not \
         come: {left}, and pads of {PAD} mm are wanted"
    );
    let roomy = t.sizes.iter().find(|s| s.roomy && s.turn == settings.turn);
    let size = roomy.map(|s| format!("a panel of {}x{} mm (--panel) has room", n(s.width), n(s.height)));
    let turn = if settings.turn == Turn::None { "" } else { ", on the face that lies on the work" };
    let help = format!(
        "{}; or hold the panel with double-sided tape alone{turn}, and not with clamps",
        size.unwrap_or_default()
    );
    Some(Finding::new(Code::ClampRoom, Severity::Warning, message, help).measures(room, PAD))
}
