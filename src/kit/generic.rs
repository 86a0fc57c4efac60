//! The two general kits, for makers who have not listed their own tools.

use super::file::{KitFileError, parse};
use super::owned::Kit;

const METRIC: &str = include_str!("../../shared/kit-metric.toml");
const INCH: &str = include_str!("../../shared/kit-inch.toml");

/// Bushes from 10 to 40 mm, cutters from 3 to 12 mm.
///
/// # Errors
/// None while the embedded file is valid, which a test checks.
pub fn metric() -> Result<Kit, KitFileError> {
    general(METRIC)
}

/// Bushes from 5/16 to 1 1/4 in, cutters from 1/8 to 1/2 in.
///
/// # Errors
/// None while the embedded file is valid, which a test checks.
pub fn inch() -> Result<Kit, KitFileError> {
    general(INCH)
}

fn general(text: &str) -> Result<Kit, KitFileError> {
    Ok(Kit { generic: true, ..parse(text)? })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn both_are_sound_and_every_row_says_where_it_is_from() {
        for (kit, bushes) in [(metric().unwrap(), (10.0, 40.0)), (inch().unwrap(), (7.9375, 31.75))] {
            assert_eq!((kit.bushes[0].outside, kit.bushes[kit.bushes.len() - 1].outside), bushes);
            assert!(kit.bushes.iter().all(|b| b.source.is_some() && b.bore.is_some()));
            assert!(kit.cutters.iter().all(|c| c.source.is_some() && c.length.is_some()));
            assert!(kit.generic && kit.base.is_some() && !kit.stock.is_empty() && !kit.template_cutters.is_empty());
        }
    }
}
