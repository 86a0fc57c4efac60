//! The mark of a checked result.

use kurbo::Affine;
use std::ops::Deref;

use super::Region;

/// A region that passed its certificate. Only `geom` can make one: what the operations hand out and the writers take.
///
/// What is certified of a region: its rings are closed, do not cross, overlap or repeat, and run the right way round;
/// and it is the result of its operation to within the tolerances that `geom::certify` states.
#[derive(Clone, Debug, PartialEq)]
pub struct Certified<T>(T);

impl<T> Certified<T> {
    /// Only for results that a certificate has passed.
    pub(in crate::geom) fn passed(value: T) -> Certified<T> {
        Certified(value)
    }

    /// The bare value; the mark is lost.
    #[must_use]
    pub fn into_inner(self) -> T {
        self.0
    }
}

#[cfg(test)]
impl Certified<Region> {
    /// A region that a test vouches for.
    pub(crate) fn for_test(region: Region) -> Certified<Region> {
        Certified(region)
    }
}

impl<T> Deref for Certified<T> {
    type Target = T;
    fn deref(&self) -> &T {
        &self.0
    }
}

impl Certified<Region> {
    /// Moved by a rigid motion (turn, shift, mirror): what was certified stays so.
    ///
    /// # Panics
    /// If `m` stretches.
    #[must_use]
    pub fn moved(&self, m: Affine) -> Certified<Region> {
        let [a, b, c, d, ..] = m.as_coeffs();
        let rigid =
            (a * a + b * b - 1.0).abs() < 1e-12 && (c * c + d * d - 1.0).abs() < 1e-12 && (a * c + b * d).abs() < 1e-12;
        assert!(rigid, "a certified region is only ever moved rigidly");
        Certified(self.0.under_similarity(m))
    }
}
