//! How every writer of files and reports formats numbers, strings from outside, and rings.
//!
//! In: numbers in mm, strings from drawings and file names, rings. Out: text that is safe in its place. Numbers that
//! are not finite are refused ([`NotFinite`]); strings are never refused, only made harmless.

mod alike;
mod escape;
mod number;
mod ring;
mod words;
mod wrap;

pub use alike::alike;
pub use escape::{LONGEST_STEM, file_stem, terminal, xml};
pub use number::{NotFinite, full, real, rounded};
pub use ring::{halves, ring_of_path, svg_path, svg_path_in_quarters};
pub use words::{
    Length, Show, Words, at_least, at_most, fixed, gap, places, plain, tenth, tool, typed, typed_up, whole,
};
pub use wrap::wrapped;
