//! The region of the bush's centre in the openings: `C = T ⊖ R`, in the frame of the opening's face.
//!
//! In: openings and the radii of the bushes that run in them, mm. Out: the centres' regions, each computed once and
//! shared. A region that cannot be certified gives an error when it is requested.

use crate::budget::Budget;
use crate::geom::{Certified, GeomError, Region, shrink};
use crate::panel::Opening;
use crate::threads::each;
use std::borrow::Cow;
use std::collections::BTreeMap;

type Centre = Result<Certified<Region>, GeomError>;

/// The regions, by the opening's id and the bits of the bush's radius.
pub struct Centres(BTreeMap<(String, u64), Centre>);

impl Centres {
    /// Computes the regions, each only once.
    #[must_use]
    pub fn new<'a>(wanted: impl IntoIterator<Item = (&'a Opening, f64)>, budget: &Budget) -> Centres {
        let once: BTreeMap<(String, u64), (&Opening, f64)> = wanted.into_iter().map(|w| (key(w.0, w.1), w)).collect();
        let centre = |(key, (o, radius)): (_, (&Opening, f64))| (key, shrink(&o.on_face(), radius, budget));
        Centres(each(once.into_iter().collect(), centre).into_iter().collect())
    }

    /// The region for an opening and a bush.
    ///
    /// # Errors
    /// As [`shrink`].
    pub fn region(
        &self,
        o: &Opening,
        bush_radius: f64,
        budget: &Budget,
    ) -> Result<Cow<'_, Certified<Region>>, GeomError> {
        match self.0.get(&key(o, bush_radius)) {
            Some(Ok(known)) => Ok(Cow::Borrowed(known)),
            Some(Err(e)) => Err(e.clone()),
            None => shrink(&o.on_face(), bush_radius, budget).map(Cow::Owned),
        }
    }
}

fn key(o: &Opening, bush_radius: f64) -> (String, u64) {
    (o.id.clone(), bush_radius.to_bits())
}
