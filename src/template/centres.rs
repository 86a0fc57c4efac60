//! Where the bush's centre goes in the openings: `C = T ⊖ R`, in the frame of the opening's face.
//!
//! In: openings and the radii of the bushes that run in them, mm. Out: the centres' regions, each worked out once, for all
//! that ask what the router does there. Refuses what cannot be certified, when it is asked for.

use super::Opening;
use crate::budget::Budget;
use crate::geom::{Certified, GeomError, Region, shrink};
use crate::threads::each;

type Centre = Result<Certified<Region>, GeomError>;

/// The regions of some openings and bushes.
pub struct Centres(Vec<(String, f64, Centre)>);

impl Centres {
    /// Works them out, doubled ones once.
    #[must_use]
    pub fn new<'a>(wanted: impl IntoIterator<Item = (&'a Opening, f64)>, budget: &Budget) -> Centres {
        let mut once: Vec<(&Opening, f64)> = Vec::new();
        for (o, radius) in wanted {
            if !once.iter().any(|(p, r)| p.id == o.id && *r == radius) {
                once.push((o, radius));
            }
        }
        Centres(each(once, |(o, radius)| (o.id.clone(), radius, shrink(&o.on_face(), radius, budget))))
    }

    /// That of an opening and a bush.
    ///
    /// # Errors
    /// As [`shrink`].
    pub fn of(&self, o: &Opening, bush_radius: f64, budget: &Budget) -> Centre {
        let known = self.0.iter().find(|(id, radius, _)| *id == o.id && *radius == bush_radius);
        known.map_or_else(|| shrink(&o.on_face(), bush_radius, budget), |k| k.2.clone())
    }
}
