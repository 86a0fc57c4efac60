//! Of the certificate: what a result may deviate, and when two edges are one.

use super::WIDTH_SLACK;

/// How far a point of a certified result may lie from its exact place, mm. The exact place is at distance `|d|` from
/// the source. Used by `geom::certify`.
pub const CERTIFIED_DISTANCE: f64 = 0.002;

/// Two engines may differ by regions in which no disc of this radius, mm, fits; a wider difference is a disagreement.
/// The value exceeds the chord error of both engines ([`INDEPENDENT_CHORD`]) and is below the slack of a comparison.
/// Used by `geom::certify`.
pub const AGREE_RADIUS: f64 = 0.0022;

/// Sagitta, mm, of the chords that the independent engine of the certificate works on. Used by `geom::certify`.
pub const INDEPENDENT_CHORD: f64 = 0.001;

/// A stretch with a source edge nearer than |d| minus this, mm, is not on the true boundary. The value is well above
/// rounding. It is far below [`CERTIFIED_DISTANCE`]: where carriers cross, one of the two tests holds on each side down
/// to 1°. Used by `certify::complete`.
pub const NEARER: f64 = CERTIFIED_DISTANCE / 100.0;

/// The same for an answer that must also hold for a radius smaller by half the slack, with a margin, mm. Used by
/// `certify::complete`.
pub const CLEARLY_NEARER: f64 = WIDTH_SLACK + 1e-4;

/// Stretches are not halved below this length, mm. Used by `certify::complete`.
pub const SHORTEST_HALF: f64 = CERTIFIED_DISTANCE / 200.0;

/// Shorter stretches, mm, are left to their neighbours: far below [`CERTIFIED_DISTANCE`]. Used by `certify::complete`.
pub const NO_STRETCH: f64 = 1e-6;

/// Within this of a half turn, radians, only rounding can flip the turn of two lines: they cannot cross again. For arcs
/// see [`CUSP`](super::CUSP). Used by `certify::complete`.
pub const CUSP_OF_LINES: f64 = 1e-6;

/// Stretches within this distance, mm, of a sharp corner of the result may run along either of its edges. A sharp
/// corner turns by more than a right angle. The two edges are so close there that the direction does not distinguish
/// them. Used by `certify::complete`.
pub const TIP: f64 = 0.05;

/// Edges of results whose radii differ by the slack may be this far apart and still be the same, mm. It is a little
/// less than [`SAME_FEATURE`](super::SAME_FEATURE). Used by `certify::complete`.
pub const SAME_WITHIN_SLACK: f64 = 0.09;

/// Ends of an arc lie on its circle within this distance, mm: one step of [`GRID`](super::GRID). Used by
/// `certify::structure`.
pub const ON_CIRCLE: f64 = 1e-6;

/// An edge is doubled if its middle and a point beside the middle lie within this distance, mm, of one other edge. A
/// wall as thin as [`WIDTH_SLACK`] is thousands of times as wide. Used by `certify::structure`.
pub const TWICE: f64 = 1e-6;

/// The same limit as a share of a very short edge, which would otherwise lie within it as a whole. Used by
/// `certify::structure`.
pub const TWICE_SHARE: f64 = 1e-3;

/// Arcs are not cut into pieces shorter than this, mm, for the test of their distance. Used by `certify::edges`.
pub const SHORTEST_PIECE: f64 = 1e-3;

/// Arcs with a smaller sweep, radians, are bounded by their end tangents; beyond it these meet too far out. Used by
/// `certify::complete`.
pub const FLAT_ARC: f64 = 1.1;

/// Greatest sweep, radians, of an arc whose span is judged by ends and quarters: a little less than a half turn. Used
/// by `certify`.
pub const NEARLY_HALF: f64 = 3.0;
