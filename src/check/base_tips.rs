//! Places where the router's base tips.
//!
//! In: the template, the steps with their margins, mm. Out: warnings with a base or a loose centre that works. Common
//! practice, no source: a margin of [`MARGIN`] mm.

use super::{Code, Finding, Severity};
use crate::budget::Budget;
use crate::geom::{Certified, GeomError, Region};
use crate::panel::Opening;
use crate::panel::centres::Centres;
use crate::panel::ground::Grounds;
use crate::panel::layout::PanelSettings;
use crate::panel::steps::Step;
use crate::panel::template::Template;
use crate::panel::tipping::{LARGEST_BASE, Margin, base_that_holds, margin_with, stuck_back};
use crate::text::{Words, at_least, at_most, plain, tool, typed_up};
use crate::threads::each;
use crate::tolerance::WIDTH_SLACK;
use crate::words;
use std::collections::BTreeMap;

/// Least distance of the bush's centre from the edge of the router's support, inside it, mm. Common practice, no
/// source.
pub const MARGIN: f64 = 10.0;

/// The margin as a place, to follow "the centre is": `3 mm outside what supports it`. Whole millimetres, never better
/// than it is.
fn beside(mm: f64) -> Words {
    if mm < 0.0 {
        words!("{} outside what supports it", at_least((-mm).ceil()))
    } else if mm < 1.0 {
        "at the edge of what supports it".into()
    } else {
        words!("{} inside what supports it", at_most(mm.floor()))
    }
}

/// Openings in which the base would tip: one finding for the worst place of each. `stands` gives the wood that a loose
/// centre can be stuck onto, in the drawing frame. `None` means that it can be stuck on everywhere. `centres` are the
/// paths of the bushes' centres.
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

/// The finding on one opening in which the base tips. `runs` are its steps with their margins.
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
        let tips = if least.mm < 0.0 { "tips" } else { "nearly tips" };
        words!(
            "The router {} into {}: the centre of its base is {}. It should be {} inside or more. The radius of the \
             base is {}, and the bush is {}.",
            tips,
            &o.id,
            beside(least.mm),
            plain(MARGIN),
            plain(settings.base),
            tool(step.pair.bush)
        )
    } else {
        words!(
            "In {} nothing of the panel supports the router's base with its radius of {}.",
            &o.id,
            plain(settings.base)
        )
    };
    let help = way_out(on, o, runs, settings, stands, budget)?;
    let mut f = Finding::new(Code::BaseTips, Severity::Warning, message, help).at(o.place.inverse() * least.at);
    if least.mm.is_finite() {
        f = f.measures(least.mm, MARGIN);
    }
    Ok(Some(f.on(o.outline)))
}

/// The sub-base that holds, and whether the loose centre stuck back holds too.
fn way_out(
    (t, centres, grounds): (&Template, &Centres, &Grounds),
    o: &Opening,
    runs: &[(&Step, Margin)],
    settings: &PanelSettings,
    stands: &(dyn Fn(&Opening) -> Option<Certified<Region>> + Sync),
    budget: &Budget,
) -> Result<Words, GeomError> {
    let mut base = Some(0.0_f64);
    for (s, _) in runs.iter().filter(|(_, m)| m.mm < MARGIN - WIDTH_SLACK) {
        let one = base_that_holds(t, s, (centres, grounds), MARGIN, settings, budget)?;
        base = base.zip(one).map(|(a, b)| a.max(b));
    }
    let larger = match base {
        Some(q) => words!("Screw on a sub-base with a radius of {} and set --base {}.", plain(q), typed_up(q)),
        None => words!("No sub-base of up to {} radius holds it.", plain(LARGEST_BASE)),
    };
    if runs.iter().any(|(s, _)| s.whole) {
        return Ok(words!("{} The opening's loose centre does not help, because the middle is cleared away.", larger));
    }
    let bush = runs.iter().map(|(s, _)| s.pair.bush).fold(0.0, f64::max);
    let centre = stuck_back(o, bush, stands(o).as_ref(), budget)?;
    let Some(b) = centre.bounds() else {
        return Ok(words!("{} The bush leaves no room to stick the loose centre back.", larger));
    };
    let mut least = f64::INFINITY;
    for (s, m) in runs {
        let with = margin_with(t, s, (centres, grounds), &centre, settings.base, budget)?;
        least = least.min(with.map_or(m.mm, |w| w.mm));
    }
    let size = Words::pair(at_most(b.width().floor()), at_most(b.height().floor()));
    let lies = if least.is_finite() {
        words!("The centre of the base is then {}.", beside(least))
    } else {
        "Nothing then supports the base.".into()
    };
    Ok(if least >= MARGIN - WIDTH_SLACK {
        words!(
            "{} Or trim the loose piece from the opening to {}, so that the bush passes around it, and tape it back. {}",
            larger,
            size,
            lies
        )
    } else {
        words!(
            "{} The loose piece from the opening, trimmed to {} and taped back, does not help. {}",
            larger,
            size,
            lies
        )
    })
}
