//! Movement of wood across the grain with its moisture content.
//!
//! In: a species of the table `shared/wood.toml`, a width in mm, and a change of moisture content in per cent. Out: the
//! change of that width, `ΔD = D · C_T · ΔM`, mm, for moisture contents between 6 and 14 per cent. Source: USDA *Wood
//! Handbook*, FPL-GTR-190, table 13–5 and equation 13–2.

use serde::Deserialize;

const TABLE: &str = include_str!("../../shared/wood.toml");

#[derive(Clone, Debug, Deserialize, PartialEq)]
pub struct Species {
    pub name: String,
    /// Tangential change per unit of width and per cent of moisture content.
    pub tangential: f64,
}

impl Species {
    /// Change of the width `across`, mm, when the moisture content changes by `percent`.
    #[must_use]
    pub fn movement(&self, across: f64, percent: f64) -> f64 {
        across * self.tangential * percent
    }
}

/// The table's form.
#[derive(Default, Deserialize)]
struct Table {
    species: Vec<Species>,
}

/// All species of the table; none if the table is invalid, which a test checks.
#[must_use]
pub fn all() -> Vec<Species> {
    toml::from_str::<Table>(TABLE).unwrap_or_default().species
}

/// The species called `name`, ignoring case, with any spaces or hyphens.
#[must_use]
pub fn named(name: &str) -> Option<Species> {
    let plain = |s: &str| s.to_lowercase().split(['-', ' ', '_']).collect::<Vec<_>>().join(" ");
    all().into_iter().find(|s| plain(&s.name) == plain(name.trim()))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// 40 mm across the grain, 3 % more moisture.
    #[test]
    fn figures_of_the_handbook() {
        assert_eq!((all().len(), all()[0].name.as_str()), (4, "white ash"));
        for (name, moves) in [("white ash", 0.3288), ("Sugar-Maple", 0.4236)] {
            assert!((named(name).unwrap().movement(40.0, 3.0) - moves).abs() < 1e-9, "{name}");
        }
        assert_eq!(named("balsa"), None);
    }
}
