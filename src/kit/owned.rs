//! What a maker owns: bushes, cutters, router and template stock, as plain data.
//!
//! All lengths mm. Nominal sizes are what a tool is called by; a measured one, where there is one, is what the sums are
//! made with. A figure that is not given is not known, and never assumed good.

use super::Pair;
use crate::tolerance::{BORE_CLEARANCE, CHIP_ROOM, WIDTH_SLACK};

/// A guide bush.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Bush {
    /// Nominal outside diameter: what it is called by.
    pub outside: f64,
    /// Diameter of the hole that the cutter comes through.
    pub bore: Option<f64>,
    /// How far it stands out below the router's base.
    pub projection: Option<f64>,
    /// Outside diameter as measured.
    pub measured: Option<f64>,
    /// Where the row is from.
    pub source: Option<String>,
}

impl Bush {
    /// The outside diameter for the sums: measured if it was, else nominal.
    #[must_use]
    pub fn true_size(&self) -> f64 {
        self.measured.unwrap_or(self.outside)
    }
}

/// A straight cutter.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Cutter {
    /// Nominal cutting diameter: what it is called by.
    pub diameter: f64,
    /// Length of its cutting edges.
    pub length: Option<f64>,
    /// Diameter of its shank.
    pub shank: Option<f64>,
    /// Diameter that it cuts, as measured: with the router that it runs in.
    pub measured: Option<f64>,
    /// Where the row is from.
    pub source: Option<String>,
}

impl Cutter {
    /// The cutting diameter for the sums: measured if it was, else nominal.
    #[must_use]
    pub fn true_size(&self) -> f64 {
        self.measured.unwrap_or(self.diameter)
    }
}

/// Whether a cutter comes through a bush.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Passage {
    /// With room for chips.
    Free,
    /// It does, with less room for chips than is good.
    Tight,
    /// The bore is not known.
    NotKnown,
    /// It does not.
    No,
}

impl Passage {
    /// As it is written for programs.
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

/// Whether `cutter` comes through `bush`. Where the bore is not known, a cutter as large as the bush's outside still
/// cannot.
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

/// Whether the shank of `cutter` comes through `bush` too; not known unless both figures are.
#[must_use]
pub fn shank_passes(bush: &Bush, cutter: &Cutter) -> Option<bool> {
    Some(bush.bore? + WIDTH_SLACK >= cutter.shank? + BORE_CLEARANCE)
}

/// A box of bushes and cutters, and what they are used with.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Kit {
    /// In the order of their outside diameters.
    pub bushes: Vec<Bush>,
    /// In the order of their diameters.
    pub cutters: Vec<Cutter>,
    /// Radius of the router's base, to its farthest corner.
    pub base: Option<f64>,
    /// Thicknesses of sheet material for templates.
    pub stock: Vec<f64>,
    /// Diameters of the cutters that cut templates.
    pub template_cutters: Vec<f64>,
    /// Its numbers without a unit are inches.
    pub inches: bool,
    /// A set that anyone might own, and nobody has said to: its figures are assumed.
    pub generic: bool,
}

impl Kit {
    /// The bush called by the nominal diameter `outside`.
    #[must_use]
    pub fn bush(&self, outside: f64) -> Option<&Bush> {
        self.bushes.iter().find(|b| same(b.outside, outside))
    }

    /// The cutter called by the nominal diameter `diameter`.
    #[must_use]
    pub fn cutter(&self, diameter: f64) -> Option<&Cutter> {
        self.cutters.iter().find(|c| same(c.diameter, diameter))
    }

    /// Whether both tools of the pair called by nominal diameters were measured.
    #[must_use]
    pub fn has_measured(&self, nominal: Pair) -> bool {
        let bush = self.bush(nominal.bush).and_then(|b| b.measured);
        bush.and(self.cutter(nominal.cutter).and_then(|c| c.measured)).is_some()
    }

    /// The pair called by nominal diameters, with the diameters for the sums: measured ones where the kit has them.
    #[must_use]
    pub fn sized(&self, nominal: Pair) -> Pair {
        Pair {
            bush: self.bush(nominal.bush).map_or(nominal.bush, Bush::true_size),
            cutter: self.cutter(nominal.cutter).map_or(nominal.cutter, Cutter::true_size),
        }
    }
}

/// Two nominal sizes name one tool: 1/4 in and 6.35 mm do.
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

    /// 1 mm of room per side for chips: common practice, no source. 1/64 in in all: the clearance that a hobbyist's
    /// published table of inch bushes is read with.
    #[test]
    fn what_comes_through_a_bore() {
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
