//! A maker's tools as plain data: bushes, cutters, router and template stock.
//!
//! All lengths in mm. The nominal size is the name of a tool. The measured size, if any, goes into the calculations. A
//! missing figure is unknown, and no check assumes that it is good.

use super::Pair;
use crate::tolerance::{BORE_CLEARANCE, CHIP_ROOM, WIDTH_SLACK};

/// A guide bush.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bush {
    /// Nominal outside diameter, its name.
    pub outside: f64,
    /// Diameter of the hole for the cutter.
    pub bore: Option<f64>,
    /// Projection below the router's base.
    pub projection: Option<f64>,
    /// Measured outside diameter.
    pub measured: Option<f64>,
    /// Source of the row.
    pub source: Option<String>,
}

impl Bush {
    /// The outside diameter for calculations: measured, or else nominal.
    #[must_use]
    pub fn true_size(&self) -> f64 {
        self.measured.unwrap_or(self.outside)
    }
}

/// A straight cutter.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cutter {
    /// Nominal cutting diameter, its name.
    pub diameter: f64,
    /// Length of its cutting edges.
    pub length: Option<f64>,
    /// Diameter of its shank.
    pub shank: Option<f64>,
    /// Measured diameter of its cut, in the router that holds it.
    pub measured: Option<f64>,
    /// Source of the row.
    pub source: Option<String>,
}

impl Cutter {
    /// The cutting diameter for calculations: measured, or else nominal.
    #[must_use]
    pub fn true_size(&self) -> f64 {
        self.measured.unwrap_or(self.diameter)
    }
}

/// Whether a cutter passes through a bush.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Passage {
    /// It passes, with room for chips.
    Free,
    /// It passes, with too little room for chips.
    Tight,
    /// The bore is unknown.
    NotKnown,
    /// It does not pass.
    No,
}

impl Passage {
    /// The name in JSON.
    #[must_use]
    pub fn name(self) -> &'static str {
        match self {
            Passage::Free => "free",
            Passage::Tight => "tight",
            Passage::NotKnown => "not-known",
            Passage::No => "no",
        }
    }
}

/// Whether `cutter` passes through `bush`. With an unknown bore, only a cutter at least as large as the bush's outside
/// is refused.
#[must_use]
pub fn passage(bush: &Bush, cutter: &Cutter) -> Passage {
    let d = cutter.true_size();
    match bush.bore {
        None if bush.true_size() <= d => Passage::No,
        None => Passage::NotKnown,
        Some(bore) if bore + WIDTH_SLACK < d + BORE_CLEARANCE => Passage::No,
        Some(bore) if bore + WIDTH_SLACK < d + 2.0 * CHIP_ROOM => Passage::Tight,
        Some(_) => Passage::Free,
    }
}

/// Whether the shank of `cutter` passes through `bush` too. `None` unless both figures are known.
#[must_use]
pub fn shank_passes(bush: &Bush, cutter: &Cutter) -> Option<bool> {
    Some(bush.bore? + WIDTH_SLACK >= cutter.shank? + BORE_CLEARANCE)
}

/// A set of bushes and cutters, with the router and template they belong to.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Kit {
    /// Bushes, in the order of their outside diameters.
    pub bushes: Vec<Bush>,
    /// Cutters, in the order of their diameters.
    pub cutters: Vec<Cutter>,
    /// Radius of the router's base, to its farthest corner.
    pub base: Option<f64>,
    /// Thicknesses of sheet material for templates.
    pub stock: Vec<f64>,
    /// Diameters of the cutters that cut templates.
    pub template_cutters: Vec<f64>,
    /// True if numbers without a unit are inches.
    pub inches: bool,
    /// True for a general kit, which is not the maker's own. Its figures are assumed.
    pub generic: bool,
}

impl Kit {
    /// The bush with the nominal diameter `outside`.
    #[must_use]
    pub fn bush(&self, outside: f64) -> Option<&Bush> {
        self.bushes.iter().find(|b| same(b.outside, outside))
    }

    /// The cutter with the nominal diameter `diameter`.
    #[must_use]
    pub fn cutter(&self, diameter: f64) -> Option<&Cutter> {
        self.cutters.iter().find(|c| same(c.diameter, diameter))
    }

    /// True if both tools of the nominal pair are measured.
    #[must_use]
    pub fn has_measured(&self, nominal: Pair) -> bool {
        let bush = self.bush(nominal.bush).and_then(|b| b.measured);
        bush.and(self.cutter(nominal.cutter).and_then(|c| c.measured)).is_some()
    }

    /// The nominal pair with the diameters for calculations: measured where the kit has them.
    #[must_use]
    pub fn sized(&self, nominal: Pair) -> Pair {
        Pair {
            bush: self.bush(nominal.bush).map_or(nominal.bush, Bush::true_size),
            cutter: self.cutter(nominal.cutter).map_or(nominal.cutter, Cutter::true_size),
        }
    }
}

/// True if two nominal sizes name the same tool, such as 1/4 in and 6.35 mm.
fn same(a: f64, b: f64) -> bool {
    (a - b).abs() <= WIDTH_SLACK
}

#[cfg(test)]
mod tests {
    use super::*;

    fn bush(outside: f64, bore: Option<f64>) -> Bush {
        Bush { outside, bore, ..Bush::default() }
    }

    fn cutter(diameter: f64) -> Cutter {
        Cutter { diameter, ..Cutter::default() }
    }

    /// 1 mm of room per side for chips, and 1/64 in of clearance in all: common practice, no source.
    #[test]
    fn cutters_that_pass_through_a_bore() {
        let b = bush(20.0, Some(18.0));
        for (d, want) in [(16.0, Passage::Free), (16.5, Passage::Tight), (17.6, Passage::Tight), (17.7, Passage::No)] {
            assert_eq!(passage(&b, &cutter(d)), want, "{d}");
        }
        assert_eq!(passage(&bush(20.0, None), &cutter(6.0)), Passage::NotKnown);
        assert_eq!(passage(&bush(20.0, None), &cutter(20.0)), Passage::No);
        assert_eq!(shank_passes(&b, &cutter(6.0)), None);
        assert_eq!(shank_passes(&b, &Cutter { shank: Some(8.0), ..cutter(6.0) }), Some(true));
        assert_eq!(shank_passes(&bush(10.0, Some(8.0)), &Cutter { shank: Some(8.0), ..cutter(6.0) }), Some(false));
    }

    #[test]
    fn measured_sizes_are_what_the_sums_are_made_with() {
        let kit = Kit {
            bushes: vec![Bush { measured: Some(19.87), ..bush(20.0, None) }],
            cutters: vec![Cutter { measured: Some(5.94), ..cutter(6.0) }],
            ..Kit::default()
        };
        assert_eq!(kit.sized(Pair { bush: 20.0, cutter: 6.0 }), Pair { bush: 19.87, cutter: 5.94 });
        assert_eq!(kit.sized(Pair { bush: 16.0, cutter: 6.0 }), Pair { bush: 16.0, cutter: 5.94 });
    }
}
