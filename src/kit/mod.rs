//! Bushes, cutters, and the offsets that follow from them.
//!
//! In: diameters in mm. Out: offsets in mm, the distance of an opening outside the outline it serves. Refuses, with
//! [`KitError`], diameters that cannot work together.
//!
//! S is the outline and T the opening. R is the radius of the bush, r that of the cutter. `⊕` is the Minkowski sum with
//! a disc of the given radius, and `⊖` the Minkowski difference. The bush's centre can be anywhere in `T ⊖ R`. So a
//! recess that follows S needs `T = S ⊕ (R − r)`. An inlay that follows S needs `T = S ⊕ (R + r)`. Source: Serra, *Image
//! Analysis and Mathematical Morphology*, 1982.

#[cfg(feature = "report")]
pub mod edit;
mod figure;
pub mod file;
pub mod fit;
pub mod generic;
mod owned;
pub mod pairs;
pub mod testpiece;
pub mod wood;

pub use figure::{Figure, FigureSource, Figures, Router};
pub use owned::{Bush, Cutter, Kit, Passage, passage, shank_passes};

/// A guide bush and the cutter in it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Pair {
    /// Outside diameter of the bush, B, mm.
    pub bush: f64,
    /// Cutting diameter of the straight cutter, d, mm.
    pub cutter: f64,
}

impl Pair {
    /// Radius of the bush, R, mm.
    #[must_use]
    pub fn bush_radius(self) -> f64 {
        self.bush / 2.0
    }

    /// Radius of the cutter, r, mm.
    #[must_use]
    pub fn cutter_radius(self) -> f64 {
        self.cutter / 2.0
    }
}

/// The tools for the recess and the inlay of a job.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Tools {
    pub recess: Pair,
    pub inlay: Pair,
    /// Gap between recess and inlay, per side, mm.
    pub gap: f64,
    /// The nominal diameters of both pairs. The pairs themselves hold measured diameters where they exist.
    pub recess_called: Pair,
    pub inlay_called: Pair,
    /// True if all diameters are measured.
    pub measured: bool,
    /// True if one opening serves both pieces. The gap then follows from the pairs.
    pub one_opening: bool,
}

/// Diameters that cannot work together, by the names of the settings.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum KitError {
    #[error("--{setting} is {value} mm: a diameter must be more than 0")]
    NotPositive { setting: &'static str, value: f64 },
    #[error(
        "--{bush_setting} {bush} mm is not larger than --{cutter_setting} {cutter} mm: the cutter must turn inside the bush"
    )]
    BushNotLarger { bush_setting: &'static str, bush: f64, cutter_setting: &'static str, cutter: f64 },
    #[error("--gap is {0} mm: it must be 0 or more, because an inlay larger than its recess does not go in")]
    NegativeGap(f64),
    #[error("--gap is {gap} mm: it must be less than the cutter's radius, {radius} mm")]
    GapTooWide { gap: f64, radius: f64 },
}

impl KitError {
    /// The names of the settings at fault.
    #[must_use]
    pub fn settings(&self) -> Vec<&'static str> {
        match self {
            KitError::NotPositive { setting, .. } => vec![setting],
            KitError::BushNotLarger { bush_setting, cutter_setting, .. } => vec![bush_setting, cutter_setting],
            KitError::NegativeGap(_) | KitError::GapTooWide { .. } => vec!["gap"],
        }
    }
}

impl Tools {
    /// Checks a set of tools.
    ///
    /// # Errors
    /// [`KitError`] for a diameter that is not positive, and for a bush not larger than its cutter. Also for a gap
    /// below 0, or not below the smaller cutter's radius.
    pub fn new(recess: Pair, inlay: Pair, gap: f64) -> Result<Tools, KitError> {
        checked(recess, "bush", "cutter")?;
        checked(inlay, "inlay-bush", "inlay-cutter")?;
        if !gap.is_finite() || gap < 0.0 {
            return Err(KitError::NegativeGap(gap));
        }
        let radius = recess.cutter_radius().min(inlay.cutter_radius());
        if gap >= radius {
            return Err(KitError::GapTooWide { gap, radius });
        }
        Ok(Tools {
            recess,
            inlay,
            gap,
            recess_called: recess,
            inlay_called: inlay,
            measured: false,
            one_opening: false,
        })
    }

    /// Tools by their nominal diameters, with the measured diameters of `kit`.
    ///
    /// # Errors
    /// The errors of [`Tools::new`], for nominal and for measured diameters.
    pub fn of_kit(kit: &Kit, recess: Pair, inlay: Pair, gap: f64) -> Result<Tools, KitError> {
        Tools::new(recess, inlay, gap)?;
        let measured = [recess, inlay].iter().all(|p| kit.has_measured(*p));
        let tools = Tools::new(kit.sized(recess), kit.sized(inlay), gap)?;
        Ok(Tools { recess_called: recess, inlay_called: inlay, measured, ..tools })
    }

    /// Tools of `kit` that let one opening serve both pieces.
    ///
    /// # Errors
    /// The errors of [`Tools::new`].
    pub fn matching(kit: &Kit, m: &pairs::Matching) -> Result<Tools, KitError> {
        Ok(Tools { one_opening: true, ..Tools::of_kit(kit, m.recess_called, m.inlay_called, m.gap)? })
    }

    /// The gap per side that one opening gives with the two pairs, mm:
    /// `(inlay.bush + inlay.cutter − recess.bush + recess.cutter) / 2`. Below 0, the inlay is too large.
    #[must_use]
    pub fn gap_of_one_opening(&self) -> f64 {
        let gap = (self.inlay.bush + self.inlay.cutter - self.recess.bush + self.recess.cutter) / 2.0;
        // Sizes have a few digits, so a gap of −1e-15 is 0.
        if gap.abs() < 1e-9 { 0.0 } else { gap }
    }

    /// The same tools with one opening for both pieces and the gap that results. `None` if that gap is below 0, above
    /// `most` mm, or not below a cutter's radius.
    #[must_use]
    pub fn matched(self, most: f64) -> Option<Tools> {
        let gap = self.gap_of_one_opening();
        let radius = self.recess.cutter_radius().min(self.inlay.cutter_radius());
        ((0.0..=most + 1e-9).contains(&gap) && gap < radius).then_some(Tools { gap, one_opening: true, ..self })
    }

    /// The tools with one pair for both pieces, because the other piece exists already.
    #[must_use]
    pub fn only(self, kit: &Kit, of_recess: bool) -> Tools {
        let (pair, called) =
            if of_recess { (self.recess, self.recess_called) } else { (self.inlay, self.inlay_called) };
        Tools {
            recess: pair,
            inlay: pair,
            recess_called: called,
            inlay_called: called,
            measured: kit.has_measured(called),
            ..self
        }
    }

    /// `R − r` of the recess pair, mm.
    #[must_use]
    pub fn recess_offset(&self) -> f64 {
        (self.recess.bush - self.recess.cutter) / 2.0
    }

    /// `R + r − gap` of the inlay pair, mm.
    #[must_use]
    pub fn inlay_offset(&self) -> f64 {
        (self.inlay.bush + self.inlay.cutter) / 2.0 - self.gap
    }

    /// The larger of the two offsets, mm. It rounds outside corners most.
    #[must_use]
    pub fn largest_offset(&self) -> f64 {
        self.recess_offset().max(self.inlay_offset())
    }

    /// The smaller bush, mm. It reaches deepest into corners of an opening.
    #[must_use]
    pub fn smallest_bush(&self) -> f64 {
        self.recess.bush.min(self.inlay.bush)
    }
}

fn checked(pair: Pair, bush_setting: &'static str, cutter_setting: &'static str) -> Result<(), KitError> {
    for (setting, value) in [(bush_setting, pair.bush), (cutter_setting, pair.cutter)] {
        if !value.is_finite() || value <= 0.0 {
            return Err(KitError::NotPositive { setting, value });
        }
    }
    if pair.bush <= pair.cutter {
        return Err(KitError::BushNotLarger { bush_setting, bush: pair.bush, cutter_setting, cutter: pair.cutter });
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    const PAIR: Pair = Pair { bush: 20.0, cutter: 6.0 };

    /// (B − d)/2 and (B + d)/2 − gap by hand: (20 − 6)/2 = 7, (20 + 6)/2 − 0.05 = 12.95.
    #[test]
    fn offsets_of_20_and_6() {
        let t = Tools::new(PAIR, PAIR, 0.05).unwrap();
        assert!((t.recess_offset() - 7.0).abs() < 1e-12);
        assert!((t.inlay_offset() - 12.95).abs() < 1e-12);
        assert!((t.largest_offset() - 12.95).abs() < 1e-12);
    }

    /// 32 − 6 = 20 + 6. A bush of 31.9 gives a gap of 0.05. A bush of 32.1 needs an inlay that is too large.
    #[test]
    fn pairs_that_match() {
        let with = |bush| Tools::new(Pair { bush, cutter: 6.0 }, PAIR, 0.05).unwrap().matched(0.15);
        assert_eq!(with(32.0).map(|t| (t.gap, t.one_opening)), Some((0.0, true)));
        assert!((with(31.9).unwrap().gap - 0.05).abs() < 1e-9);
        assert_eq!((with(32.1), with(31.6), with(20.0)), (None, None, None));
        let t = with(31.8).unwrap();
        assert!((t.recess_offset() - t.inlay_offset()).abs() < 1e-9);
    }

    #[test]
    fn tools_that_cannot_work_together_are_refused_by_name() {
        let small = Pair { bush: 6.0, cutter: 6.0 };
        let err = Tools::new(small, PAIR, 0.0).unwrap_err().to_string();
        assert!(err.contains("--bush 6 mm") && err.contains("--cutter 6 mm"), "{err}");
        let err = Tools::new(PAIR, small, 0.0).unwrap_err().to_string();
        assert!(err.contains("--inlay-bush"), "{err}");
        for (bush, cutter) in [(-20.0, 6.0), (20.0, 0.0), (f64::NAN, 6.0), (20.0, f64::INFINITY)] {
            let err = Tools::new(Pair { bush, cutter }, PAIR, 0.0).unwrap_err();
            assert!(matches!(err, KitError::NotPositive { .. }), "{err}");
        }
        assert!(matches!(Tools::new(PAIR, PAIR, -0.01), Err(KitError::NegativeGap(_))));
        assert!(matches!(Tools::new(PAIR, PAIR, 3.0), Err(KitError::GapTooWide { .. })));
        assert!(Tools::new(PAIR, PAIR, 2.99).is_ok());
    }
}
