//! Bow-tie keys across a split: number, size, place and depth by rules of thumb.
//!
//! In: length of the split, thickness of the board, diameter of the cutter, mm. Out: [`Keys`], and a drawing. In the
//! drawing the split runs along the middle from the left border to the right one, with the keys across it. Every rule
//! here is common practice without a source. Strength is not calculated. Refuses more keys than leave a key's width of
//! wood between them, and splits that are too short or too long ([`KeysError`]).

use super::{BORDER, Drawing, Outline, bow_tie};
use crate::geom::{Affine, Point};

/// Length of a key in board thicknesses.
const LENGTH_OF_BOARD: f64 = 3.0;
/// Lengths are rounded to this, mm, to suit a ruler.
const STEP: f64 = 5.0;
/// Shortest and longest key, mm. A wide cutter may need a longer one.
const SHORTEST: f64 = 40.0;
const LONGEST: f64 = 160.0;
/// Widths of the ends and the waist in key lengths. The sides slope 1 in 4.
const WIDTH_OF_LENGTH: f64 = 0.5;
const WAIST_OF_LENGTH: f64 = 0.25;
/// Width of the waist in cutter diameters. The cutter must clear the recess through it.
const CUTTERS_IN_WAIST: f64 = 2.0;
/// Depth in board thicknesses: least, greatest and default.
const SHALLOWEST: f64 = 1.0 / 3.0;
const DEEPEST: f64 = 0.5;
const DEPTH: f64 = 0.4;
/// Depths are rounded to this, mm.
const DEPTH_STEP: f64 = 0.5;
/// Distance between key centres, in key lengths.
const SPACING_OF_LENGTH: f64 = 2.0;
/// Most keys in a row.
pub const MOST: u32 = 200;

/// The given figures; lengths in mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Split {
    pub length: f64,
    pub board: f64,
    pub cutter: f64,
    /// Number of keys, if given.
    pub count: Option<u32>,
}

/// Why no keys can be planned.
#[derive(Clone, Debug, PartialEq, thiserror::Error)]
pub enum KeysError {
    #[error("the {what} must be more than 0, and is {mm} mm")]
    NoSize { what: &'static str, mm: f64 },
    #[error("the number of keys must be from 1 to {MOST}, and is {0}")]
    Count(u32),
    #[error("a split of {split} mm is too short: a key for this board and cutter is {width} mm wide")]
    Short { split: f64, width: f64 },
    #[error("{count} keys do not fit on a split of {split} mm: at most {most} fit, {width} mm (a key's width) apart")]
    TooMany { count: u32, split: f64, width: f64, most: u32 },
    #[error(
        "a split of {split} mm needs more than {MOST} keys by these rules: give the number of keys, or divide the split"
    )]
    TooLong { split: f64 },
}

/// The keys; lengths in mm.
#[derive(Clone, Debug, PartialEq)]
pub struct Keys {
    pub split: Split,
    /// Length along the key, across the split. The split is at its middle.
    pub length: f64,
    /// Width of the ends, along the split.
    pub width: f64,
    pub waist: f64,
    pub depth: f64,
    /// Least and greatest depth by common practice.
    pub depth_range: (f64, f64),
    /// Distance between key centres. The first and the last key are half of it from the ends of the split.
    pub spacing: f64,
    /// Centre of each key, from the left end of the split.
    pub places: Vec<f64>,
    /// True if the cutter needs a longer key than the board alone would, to clear the waist.
    pub for_cutter: bool,
}

impl Keys {
    /// Plans the keys by the rules of thumb above.
    ///
    /// # Errors
    /// [`KeysError`] for a size or a number out of range, a split too short or too long, and more keys than fit.
    pub fn plan(split: Split) -> Result<Keys, KeysError> {
        let sizes = [("split's length", split.length), ("board's thickness", split.board), ("cutter", split.cutter)];
        for (what, mm) in sizes {
            if !(mm.is_finite() && mm > 0.0) {
                return Err(KeysError::NoSize { what, mm });
            }
        }
        let by_board = ((LENGTH_OF_BOARD * split.board / STEP).round() * STEP).clamp(SHORTEST, LONGEST);
        let by_cutter = (CUTTERS_IN_WAIST * split.cutter / WAIST_OF_LENGTH / STEP).ceil() * STEP;
        let length = by_board.max(by_cutter);
        let (width, waist) = (length * WIDTH_OF_LENGTH, length * WAIST_OF_LENGTH);
        if split.length < width {
            return Err(KeysError::Short { split: split.length, width });
        }
        let count = number(split, length, width)?;
        let spacing = split.length / f64::from(count);
        let depth_range = (split.board * SHALLOWEST, split.board * DEEPEST);
        let depth = ((split.board * DEPTH / DEPTH_STEP).round() * DEPTH_STEP).clamp(depth_range.0, depth_range.1);
        let places = (0..count).map(|k| spacing * (f64::from(k) + 0.5)).collect();
        Ok(Keys { split, length, width, waist, depth, depth_range, spacing, places, for_cutter: by_cutter > by_board })
    }

    #[must_use]
    pub fn cutters_in_waist(&self) -> f64 {
        self.waist / self.split.cutter
    }

    /// Width of wood between two keys, mm; `None` for one key.
    #[must_use]
    pub fn between(&self) -> Option<f64> {
        (self.places.len() > 1).then_some(self.spacing - self.width)
    }

    /// A drawing of the keys at their places. It is as wide as the split is long. The split runs along its middle.
    #[must_use]
    pub fn drawing(&self) -> Drawing {
        let height = self.length + 2.0 * BORDER;
        // An exact quarter turn.
        let upright = Affine::new([0.0, 1.0, -1.0, 0.0, 0.0, 0.0]);
        let ring = bow_tie(self.length, self.width, self.waist).under_similarity(upright);
        let key = |(k, &x): (usize, &f64)| {
            let at = Point::new(x, height / 2.0).to_vec2();
            (format!("key-{}", k + 1), Outline::Ring(ring.translated(at)))
        };
        let about = format!(
            "Bow-tie keys, {} by {} mm, waist {} mm, {} mm deep. The split runs along the middle, {} mm from border to border.",
            self.length, self.width, self.waist, self.depth, self.split.length
        );
        let outlines = self.places.iter().enumerate().map(key).collect();
        Drawing { width: self.split.length, height, about, outlines }
    }

    /// A file name without its extension.
    #[must_use]
    pub fn file_stem(&self) -> String {
        format!("keys-{}", super::by(self.split.length, self.split.board))
    }
}

fn number(split: Split, length: f64, width: f64) -> Result<u32, KeysError> {
    // Two widths from centre to centre leave one width of wood. A little slack allows for rounding of the division.
    let room = (split.length / (2.0 * width) + 1e-9).floor();
    let most = room.clamp(1.0, f64::from(MOST)) as u32;
    match split.count {
        Some(n) if n == 0 || n > MOST => Err(KeysError::Count(n)),
        Some(n) if n > most => Err(KeysError::TooMany { count: n, split: split.length, width, most }),
        Some(n) => Ok(n),
        None => {
            let wanted = (split.length / (SPACING_OF_LENGTH * length)).round().max(1.0);
            if wanted > f64::from(MOST) {
                return Err(KeysError::TooLong { split: split.length });
            }
            Ok((wanted as u32).min(most))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::trig::atan2;

    fn plan(length: f64, board: f64, cutter: f64, count: Option<u32>) -> Result<Keys, KeysError> {
        Keys::plan(Split { length, board, cutter, count })
    }

    /// By hand, for a key 90 long: ends 45, waist 22.5, area 90·(45 + 22.5)/2, slope atan(1/4) = 14.036243°.
    #[test]
    fn a_split_of_600_in_a_board_of_30() {
        let k = plan(600.0, 30.0, 6.0, None).unwrap();
        assert_eq!((k.length, k.width, k.waist, k.depth), (90.0, 45.0, 22.5, 12.0));
        assert_eq!((k.depth_range, k.spacing), ((10.0, 15.0), 200.0));
        assert_eq!(k.places, [100.0, 300.0, 500.0]);
        assert_eq!((k.between(), k.for_cutter), (Some(155.0), false));
        let slope = atan2((k.width - k.waist) / 2.0, k.length / 2.0).to_degrees();
        assert!((slope - 14.036_243).abs() < 1e-6, "{slope}");
        let d = k.drawing();
        assert_eq!((d.width, d.height, d.outlines.len()), (600.0, 110.0, 3));
        for ((name, o), (n, x)) in d.outlines.iter().zip([("key-1", 100.0), ("key-2", 300.0), ("key-3", 500.0)]) {
            assert_eq!(name, n);
            assert!((o.area() - 3037.5).abs() < 1e-9);
            let Outline::Ring(r) = o else { panic!("{name}") };
            let b = r.bounds().unwrap();
            assert!((b.center() - Point::new(x, 55.0)).hypot() < 1e-9, "{b:?}");
            assert!((b.width() - 45.0).abs() < 1e-9 && (b.height() - 90.0).abs() < 1e-9, "{b:?}");
        }
    }

    #[test]
    fn a_wide_cutter_needs_a_longer_key() {
        // Twice 12.7 is a waist of 25.4. The key is 101.6 long, rounded up.
        let k = plan(600.0, 20.0, 12.7, None).unwrap();
        assert_eq!((k.length, k.waist, k.for_cutter), (105.0, 26.25, true));
        assert!(k.cutters_in_waist() >= 2.0);
    }

    #[test]
    fn depth_stays_between_a_third_and_a_half() {
        for board in 1..200 {
            let b = f64::from(board) * 0.7;
            let k = plan(1000.0, b, 6.0, None).unwrap();
            assert!(k.depth >= b / 3.0 - 1e-12 && k.depth <= b / 2.0 + 1e-12, "{b}: {}", k.depth);
        }
    }

    #[test]
    fn a_set_number_is_planned_or_refused() {
        assert_eq!(plan(600.0, 30.0, 6.0, Some(6)).unwrap().places.len(), 6);
        let e = plan(600.0, 30.0, 6.0, Some(7)).unwrap_err();
        assert_eq!(e, KeysError::TooMany { count: 7, split: 600.0, width: 45.0, most: 6 });
        assert_eq!(plan(600.0, 30.0, 6.0, Some(0)), Err(KeysError::Count(0)));
        assert_eq!(plan(600.0, 30.0, 6.0, Some(5000)), Err(KeysError::Count(5000)));
        assert!(matches!(plan(40.0, 30.0, 6.0, None), Err(KeysError::Short { .. })));
        assert!(matches!(plan(1e7, 30.0, 6.0, None), Err(KeysError::TooLong { .. })));
        assert_eq!(plan(50.0, 30.0, 6.0, None).unwrap().places, [25.0]);
        assert!(matches!(plan(0.0, 30.0, 6.0, None), Err(KeysError::NoSize { .. })));
    }
}
