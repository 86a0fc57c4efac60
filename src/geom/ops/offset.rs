//! Growing and shrinking by a disc.

use super::attempts::{in_local_frame, origin};
use crate::budget::Budget;
use crate::geom::certify::{self, Certified};
use crate::geom::engine::bridged::bridged;
use crate::geom::engine::thinned::thinned;
use crate::geom::engine::tubes;
use crate::geom::shape::{GeomError, Region};
use crate::tolerance::{GRID, LARGEST_COORDINATE};
use std::borrow::Cow;
use std::cell::Cell;

/// `S ⊕ d`: the region grown by a disc of radius `d` ≥ 0 mm.
///
/// # Errors
/// [`GeomError::Uncertified`] if no engine's result passes; [`GeomError::NotARegion`] for a negative distance;
/// [`GeomError::Stopped`] if the budget runs out.
pub fn grow(s: &Certified<Region>, d: f64, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    Ok(offset(s, d, 1.0, budget)?.region)
}

/// `S ⊖ d`: the region shrunk by a disc of radius `d` ≥ 0 mm.
///
/// # Errors
/// As [`grow`].
pub fn shrink(s: &Certified<Region>, d: f64, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    Ok(offset(s, d, -1.0, budget)?.region)
}

/// [`grow`] for a `sign` of 1, [`shrink`] for −1.
pub(super) fn offset(s: &Certified<Region>, d: f64, sign: f64, budget: &Budget) -> Result<certify::Offset, GeomError> {
    if !(0.0..LARGEST_COORDINATE).contains(&d) {
        return Err(GeomError::NotARegion("a distance must be 0 or more"));
    }
    if d == 0.0 || s.is_empty() {
        return Ok(certify::Offset { region: s.clone(), clear: true });
    }
    let d = d * sign;
    let clear = Cell::new(false);
    let region = in_local_frame(s.bounds(), Certified::moved, |frame, attempt| {
        let local = s.under_similarity(frame);
        // The last attempts do without bridging and thinning.
        let plain = attempt.grid < GRID && attempt.turn == 0.0;
        let edges = if plain { Cow::Borrowed(&local) } else { bridged(&local, d) };
        let result = tubes::offset(&edges, d, attempt.grid, budget)?;
        let passed = certify::offset(&local, d, if plain { result } else { thinned(result) }, budget)?;
        clear.set(passed.clear);
        Ok(passed.region)
    })?;
    Ok(certify::Offset { region, clear: clear.get() })
}

/// A preview by the engine alone, for questions that certified results answer afterwards.
pub(super) fn uncertified_offset(s: &Region, d: f64, budget: &Budget) -> Result<Region, GeomError> {
    let Some(bounds) = s.bounds() else { return Ok(Region::default()) };
    let origin = origin(bounds);
    Ok(tubes::offset(&bridged(&s.translated(-origin), d), d, GRID, budget)?.translated(origin))
}
