//! Every tolerance of the program, in one place: value, unit, reason, and who uses it.
//!
//! A tolerance decides geometry: whether two things are equal, a point is inside, an edge is kept, a result is accepted
//! or a place is reported. All lengths are millimetres. The promise "within 0.005 mm of exact" is spent as follows.
//! Curves become arcs within [`CURVE_FIT`]. The integer overlay works on chords within [`OVERLAY_CHORD`]. The
//! certificate accepts results within [`CERTIFIED_DISTANCE`].
//!
//! Not here are figures of the workshop (what another maker would set otherwise), figures of file formats and units, the
//! layout of pictures, bounds of work, and the spacing of samples, which is called `STEP`. They stand where they are
//! used. `tests/layers/tolerances.rs` lists those of `geom`, `drawing`, `template`, `proof` and `check`, with reasons.

mod certificate;
mod engine;
mod judging;
mod measuring;
mod reading;

pub use certificate::*;
pub use engine::*;
pub use judging::*;
pub use measuring::*;
pub use reading::*;

/// Quantities that differ by less are equal but for the rounding of doubles: mm within 10 m, mm², radians, degrees, or
/// a share of a size. Used everywhere.
pub const ROUNDING: f64 = 1e-9;

/// The same for what only a few operations have rounded: a share of a size, or a component of a unit vector. Used
/// everywhere.
pub const ROUNDING_SHARE: f64 = 1e-12;
