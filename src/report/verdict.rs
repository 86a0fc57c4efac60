//! The verdict in one or two sentences: whether the pieces fit each other, and whether they match the drawing.
//!
//! In: the facts of a run. Out: text without markup, for the first line of every report and the headline of every
//! picture. Fit and likeness are separate questions. Pieces that fit each other may both have lost much of the
//! drawing.

use crate::check::{Code, Finding, Severity};
use crate::geom::Region;
use crate::job::facts::Facts;
use crate::template::ease::Corners;
use crate::text::fixed;
use crate::tolerance::DEEP_LOSS;
use std::sync::Arc;

/// Gaps that differ by less than this are given as one figure, mm.
const ONE_GAP: f64 = 0.01;

/// Whether the pieces fit and match the drawing; or why nothing can be made.
#[must_use]
pub fn verdict(facts: &Facts) -> String {
    let errors = facts.jobs().flat_map(|f| &f.findings).filter(|f| f.blocks()).count();
    if errors > 0 {
        let stops = if errors == 1 { "1 error stops it" } else { &format!("{errors} errors stop it") };
        return match likeness(facts) {
            Some(l) if l.heavy => format!("Cannot be made as asked: {stops}. {}", l.words),
            _ => format!("Cannot be made as asked: {stops}."),
        };
    }
    let Some(gap) = gap(facts) else { return "Nothing to cut on the machine.".to_owned() };
    let by_hand = by_hand(facts);
    let once = match by_hand {
        0 => String::new(),
        1 => " once 1 corner is cut by hand".to_owned(),
        n => format!(" once {n} corners are cut by hand"),
    };
    match likeness(facts) {
        None if by_hand > 0 => format!("Fits{once}: gap {gap}."),
        None if tight(facts) => "Fits without any gap, as drawn: expect a tight fit.".to_owned(),
        None => format!("Fits, as drawn: gap {gap}."),
        Some(l) if l.heavy => format!("The pieces fit each other{once}, gap {gap}. {}", l.words),
        Some(l) => format!("Fits{once}: gap {gap}. {}", l.words),
    }
}

/// Whether the pieces leave no gap to speak of.
fn tight(facts: &Facts) -> bool {
    facts.jobs().flat_map(|f| &f.fits).any(|f| f.gap_max.mm < ONE_GAP / 2.0)
}

struct Likeness {
    words: String,
    /// The pieces have lost so much that they are not the drawing.
    heavy: bool,
}

fn likeness(facts: &Facts) -> Option<Likeness> {
    let owning =
        || facts.jobs().flat_map(|f| &f.findings).filter(|f| f.region.is_some() && !as_drawn_by_hand(facts, f));
    let worst = owning().filter_map(|f| f.off).max_by(f64::total_cmp)?;
    let narrow = owning().any(|f| matches!(f.code, Code::Neck | Code::ClosedGap) && f.severity != Severity::Note);
    let heavy = narrow || worst > DEEP_LOSS;
    let corner = !narrow && owning().all(|f| matches!(f.code, Code::InsideCorner | Code::OutsideCorner));
    // A place can hold two corners, and each has a mark of its own.
    let places = if corner { owning().count() } else { count(owning()) };
    let what = match (corner, places) {
        (true, 1) => "1 corner".to_owned(),
        (true, n) => format!("{n} corners"),
        (false, 1) => "1 place".to_owned(),
        (false, n) => format!("{n} places"),
    };
    let far = fixed(worst).shown(facts.show);
    let most = if places == 1 { format!("{far} off") } else { format!("at most {far} off") };
    let words = if by_hand(facts) > 0 && !heavy {
        // Paring brings the pieces nearer to the drawing.
        format!("As routed, not as drawn at {what}, {most}.")
    } else if heavy {
        format!("Far from the drawing at {what}, {most}.")
    } else {
        format!("Not as drawn at {what}, {most}.")
    };
    Some(Likeness { words, heavy })
}

/// Whether the router leaves this corner for handwork: to chisel in the recess, or to pare on the inlay before it
/// goes in.
fn left_to_hand(facts: &Facts, f: &Finding) -> bool {
    match facts.corners {
        Corners::Ease { .. } => false,
        Corners::Square => f.code == Code::InsideCorner,
        Corners::Keep => matches!(f.code, Code::InsideCorner | Code::OutsideCorner),
    }
}

/// Whether handwork makes the corner as drawn. It restores an outside corner only in a job that starts from an
/// existing thing. In other jobs the cutter has removed a point of the board.
fn as_drawn_by_hand(facts: &Facts, f: &Finding) -> bool {
    left_to_hand(facts, f) && (f.code == Code::InsideCorner || facts.asides.start.is_some())
}

/// Corners that the router leaves to the hand.
pub(super) fn by_hand(facts: &Facts) -> usize {
    facts.jobs().flat_map(|f| &f.findings).filter(|f| f.region.is_some() && left_to_hand(facts, f)).count()
}

/// The number of places. Several findings may share one place.
fn count<'a>(findings: impl Iterator<Item = &'a Finding>) -> usize {
    let mut places: Vec<*const Region> = findings.filter_map(|f| f.region.as_ref().map(Arc::as_ptr)).collect();
    places.sort_unstable();
    places.dedup();
    places.len()
}

/// The gap per side, in words; `None` if no pieces were put together.
fn gap(facts: &Facts) -> Option<String> {
    let fits = || facts.jobs().flat_map(|f| &f.fits);
    let least = fits().map(|f| f.gap_min.mm).min_by(f64::total_cmp)?;
    let most = fits().map(|f| f.gap_max.mm).max_by(f64::total_cmp)?;
    // Before the handwork the pieces overlap in those corners. The gap given is then the calculated one.
    let worked_out = facts.jobs().map(|f| f.tools.gap).min_by(f64::total_cmp)?;
    let shown = |mm: f64| crate::text::gap((mm * 100.0).round() / 100.0).shown(facts.show);
    if by_hand(facts) > 0 || least < 0.0 {
        return Some(format!("{} per side", shown(worked_out)));
    }
    Some(if most - least < ONE_GAP {
        format!("{} per side", shown(least))
    } else {
        format!("{} to {} per side", crate::text::gap(least).number(facts.show), shown(most))
    })
}
