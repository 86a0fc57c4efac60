//! The operations on regions, each certified before it is handed out.

use super::{Certified, GeomError, Region, Ring};
use crate::budget::Budget;

/// How rings say what is inside.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FillRule {
    NonZero,
    EvenOdd,
}

/// `S ⊕ d`: the region grown by a disc of radius `d` ≥ 0 mm.
///
/// # Errors
/// [`GeomError::Uncertified`] where no engine's result passed; [`GeomError::Stopped`] by the budget.
pub fn grow(s: &Certified<Region>, d: f64, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let _ = (s, d, budget);
    unimplemented!()
}

/// `S ⊖ d`: the region shrunk by a disc of radius `d` ≥ 0 mm.
///
/// # Errors
/// As [`grow`].
pub fn shrink(s: &Certified<Region>, d: f64, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let _ = (s, d, budget);
    unimplemented!()
}

/// `open_r(S) = (S ⊖ r) ⊕ r`, with the slack of [`crate::tolerance::WIDTH_SLACK`]: a limb exactly 2r wide is kept.
///
/// # Errors
/// As [`grow`].
pub fn open(s: &Certified<Region>, r: f64, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let _ = (s, r, budget);
    unimplemented!()
}

/// `close_o(S) = (S ⊕ o) ⊖ o`, with the same slack: a gap exactly 2o wide is kept.
///
/// # Errors
/// As [`grow`].
pub fn close(s: &Certified<Region>, o: f64, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let _ = (s, o, budget);
    unimplemented!()
}

/// `A ∩ B`.
///
/// # Errors
/// As [`grow`].
pub fn and(a: &Certified<Region>, b: &Certified<Region>, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let _ = (a, b, budget);
    unimplemented!()
}

/// `A ∪ B`.
///
/// # Errors
/// As [`grow`].
pub fn or(a: &Certified<Region>, b: &Certified<Region>, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let _ = (a, b, budget);
    unimplemented!()
}

/// `A \ B`.
///
/// # Errors
/// As [`grow`].
pub fn minus(a: &Certified<Region>, b: &Certified<Region>, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let _ = (a, b, budget);
    unimplemented!()
}

/// What `rings` (closed, any sense, crossing or not) enclose by the fill rule.
///
/// # Errors
/// As [`grow`]; [`GeomError::NotARegion`] for a ring that does not close.
pub fn enclosed(rings: &[Ring], fill: FillRule, budget: &Budget) -> Result<Certified<Region>, GeomError> {
    let _ = (rings, fill, budget);
    unimplemented!()
}
