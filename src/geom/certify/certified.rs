//! The type of a certified result.

use crate::tolerance::ROUNDING_SHARE;
use kurbo::Affine;
use std::ops::Deref;

use crate::geom::shape::Region;

/// A region that passed its certificate. Only `geom::certify` can make one: operations return it and writers require
/// it. The default is the empty region, which has nothing to prove.
///
/// A certified region has closed rings that do not cross, overlap or repeat, and that run the right way round. It is
/// the result of its operation within the tolerances given in `geom::certify`.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Certified<T>(T);

impl<T> Certified<T> {
    /// Only for results that passed a certificate.
    pub(super) fn passed(value: T) -> Certified<T> {
        Certified(value)
    }

    /// The bare value, without the guarantee.
    #[must_use]
    pub fn into_inner(self) -> T {
        self.0
    }
}

#[cfg(test)]
impl Certified<Region> {
    /// A region whose correctness the test guarantees.
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
    /// Moved by a rigid motion (rotation, translation, mirror), which keeps the certificate valid.
    ///
    /// # Panics
    /// If `m` is not rigid.
    #[must_use]
    pub fn moved(&self, m: Affine) -> Certified<Region> {
        let [a, b, c, d, ..] = m.as_coeffs();
        let rigid = (a * a + b * b - 1.0).abs() < ROUNDING_SHARE
            && (c * c + d * d - 1.0).abs() < ROUNDING_SHARE
            && (a * c + b * d).abs() < ROUNDING_SHARE;
        assert!(rigid, "a certified region accepts only rigid motions");
        Certified(self.0.under_similarity(m))
    }
}
