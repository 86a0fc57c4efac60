//! Finds the true diameters of bush and cutter from a test piece.
//!
//! In: the size T of an opening, and the widths of a recess and an inlay routed with one pair in that opening, mm. Out:
//! the diameter of the cut, `d = (recess − inlay)/2`, and that of the bush, `B = T − (recess + inlay)/2`. The recess is
//! `T − B + d` wide and the inlay `T − B − d`. So half their difference is d, and their mean is T − B. One width alone
//! cannot separate bush from cutter. Refuses readings that no test piece can give.

use super::Pair;
use crate::tolerance::FAR_FROM_NOMINAL;

/// Largest accepted difference of readings of one thing, mm. Beyond it the opening is out of round or the calipers were
/// askew, and the mean has no meaning. (Common practice, no source: five divisions of calipers that read to 0.02.)
const WIDE_SPREAD: f64 = 0.1;

/// Caliper readings, mm. The opening is measured, or as drawn.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Readings {
    pub openings: Vec<f64>,
    pub recesses: Vec<f64>,
    pub inlays: Vec<f64>,
}

/// Diameters calculated from readings, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Found {
    pub bush: f64,
    pub cutter: f64,
    /// Largest difference of readings of one thing.
    pub spread: f64,
}

/// Readings that no test piece can give.
#[derive(Clone, Copy, Debug, PartialEq, thiserror::Error)]
pub enum ReadingError {
    #[error("a reading of the {0} is missing")]
    Missing(&'static str),
    #[error(
        "two readings of the {what} contradict each other: {least:.2} and {most:.2} mm are {:.2} mm apart, more than {WIDE_SPREAD} mm",
        most - least
    )]
    Apart { what: &'static str, least: f64, most: f64 },
    #[error("the inlay, {inlay:.2} mm, is not smaller than the recess, {recess:.2} mm")]
    WrongWayRound { recess: f64, inlay: f64 },
    #[error("the recess, {recess:.2} mm, is not smaller than the opening, {opening:.2} mm")]
    LargerThanOpening { recess: f64, opening: f64 },
    #[error("the readings give {found:.2} mm for the {what}, {off:.2} mm from its nominal {called} mm", off = (found - called).abs())]
    FarOff { what: &'static str, found: f64, called: f64 },
}

/// Calculates bush and cutter from `readings` of a piece routed with the nominal pair `called`. Several readings of one
/// thing are averaged. This reduces the effect of runout and of the calipers' resolution.
///
/// # Errors
/// [`ReadingError`] for missing or impossible readings.
pub fn solve(readings: &Readings, called: Pair) -> Result<Found, ReadingError> {
    let kinds = [("opening", &readings.openings), ("recess", &readings.recesses), ("inlay", &readings.inlays)];
    let mut widest: f64 = 0.0;
    for (what, all) in kinds {
        let Some((least, most)) = ends(all) else { continue };
        // In floating point 46.1 − 46.0 slightly exceeds 0.1.
        if most - least > WIDE_SPREAD + 1e-9 {
            return Err(ReadingError::Apart { what, least, most });
        }
        widest = widest.max(most - least);
    }
    let opening = mean(&readings.openings).ok_or(ReadingError::Missing("opening"))?;
    let recess = mean(&readings.recesses).ok_or(ReadingError::Missing("recess"))?;
    let inlay = mean(&readings.inlays).ok_or(ReadingError::Missing("inlay"))?;
    if inlay >= recess {
        return Err(ReadingError::WrongWayRound { recess, inlay });
    }
    if recess >= opening {
        return Err(ReadingError::LargerThanOpening { recess, opening });
    }
    let (bush, cutter) = (opening - f64::midpoint(recess, inlay), (recess - inlay) / 2.0);
    for (what, found, called) in [("bush", bush, called.bush), ("cutter", cutter, called.cutter)] {
        if (found - called).abs() > FAR_FROM_NOMINAL {
            return Err(ReadingError::FarOff { what, found, called });
        }
    }
    Ok(Found { bush, cutter, spread: widest })
}

fn mean(of: &[f64]) -> Option<f64> {
    (!of.is_empty()).then(|| of.iter().sum::<f64>() / of.len() as f64)
}

/// The least and the greatest value.
fn ends(of: &[f64]) -> Option<(f64, f64)> {
    let most = of.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let least = of.iter().copied().fold(f64::INFINITY, f64::min);
    (!of.is_empty()).then_some((least, most))
}

/// Step of the test piece's sizes, mm, easy to set on calipers.
const STEP: f64 = 10.0;

/// Size of the test piece's openings for a pair, mm: diameter of round ones, side of square ones. The inlay is at least
/// 30 wide, enough for the calipers.
#[must_use]
pub fn opening(pair: Pair) -> f64 {
    ((pair.bush + pair.cutter + 30.0) / STEP - 1e-9).ceil() * STEP
}

/// Widths of recess and inlay by the diameters of `pair`, in an opening of size `t`, mm.
#[must_use]
pub fn expected(t: f64, pair: Pair) -> (f64, f64) {
    (t - pair.bush + pair.cutter, t - pair.bush - pair.cutter)
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const CALLED: Pair = Pair { bush: 20.0, cutter: 6.0 };

    fn readings(t: f64, recess: f64, inlay: f64) -> Readings {
        Readings { openings: vec![t], recesses: vec![recess], inlays: vec![inlay] }
    }

    /// By hand: 60 − 20 + 6 = 46 and 60 − 20 − 6 = 34. Worn tools of 19.87 and 5.94 give 46.07 and 34.19.
    #[test]
    fn the_sums_by_hand() {
        assert_eq!(opening(CALLED), 60.0);
        assert_eq!(expected(60.0, CALLED), (46.0, 34.0));
        let f = solve(&readings(60.0, 46.07, 34.19), CALLED).unwrap();
        assert!((f.bush - 19.87).abs() < 1e-9 && (f.cutter - 5.94).abs() < 1e-9, "{f:?}");
        let several = Readings { openings: vec![60.0], recesses: vec![46.06, 46.08], inlays: vec![34.19] };
        let f = solve(&several, CALLED).unwrap();
        assert!((f.cutter - 5.94).abs() < 1e-9 && (f.spread - 0.02).abs() < 1e-9, "{f:?}");
    }

    #[test]
    fn impossible_measurements_are_refused() {
        let refused = |r: Readings| solve(&r, CALLED).unwrap_err().to_string();
        assert!(refused(readings(60.0, 34.0, 46.0)).contains("not smaller than the recess"));
        assert!(refused(readings(40.0, 46.0, 34.0)).contains("not smaller than the opening"));
        assert!(refused(readings(60.0, 45.0, 35.0)).contains("give 5.00 mm for the cutter, 1.00 mm from"));
        let apart = Readings { recesses: vec![46.07, 45.5], inlays: vec![34.19, 34.19], openings: vec![60.0] };
        let said = refused(apart);
        assert!(said.contains("recess") && said.contains("45.50 and 46.07 mm are 0.57 mm apart"), "{said}");
        let apart = Readings { openings: vec![60.0, 61.0], ..readings(60.0, 46.0, 34.0) };
        assert!(refused(apart).contains("opening contradict each other: 60.00 and 61.00 mm"));
        let near = Readings { recesses: vec![46.0, 46.1], ..readings(60.0, 46.0, 34.0) };
        assert!((solve(&near, CALLED).unwrap().spread - 0.1).abs() < 1e-9);
        assert_eq!(refused(Readings::default()), "a reading of the opening is missing");
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(256) })]

        /// Readings of a perfect piece give its diameters back.
        #[test]
        fn readings_of_a_perfect_piece_give_the_diameters_back(
            bush in 10.0..40.0_f64, cutter in 3.0..9.0_f64, wear in -0.5..0.5_f64, worn in -0.5..0.5_f64,
        ) {
            let (called, real) = (Pair { bush, cutter }, Pair { bush: bush + wear, cutter: cutter + worn });
            let t = opening(called);
            let (recess, inlay) = expected(t, real);
            let found = solve(&readings(t, recess, inlay), called).unwrap();
            prop_assert!((found.bush - real.bush).abs() < 1e-9 && (found.cutter - real.cutter).abs() < 1e-9);
        }
    }
}
