//! Of measures of regions: widths, misfits, distances.

use std::f64::consts::PI;

/// Slack, mm, of every comparison of a width with a tool's diameter. Makers draw round numbers, so no verdict may
/// depend on the last digit or on how the drawing is turned. A radius has half of this slack. Used by `ops::morphology`
/// and the checks.
pub const WIDTH_SLACK: f64 = 0.005;

/// [`WIDTH_SLACK`] of a radius, mm. Used by `ops::morphology`.
pub const HALF_SLACK: f64 = WIDTH_SLACK / 2.0;

/// Edges of two results no farther apart than this, mm, belong to the same feature. Their radii differ by the slack. A
/// corner of 3° moves by this. A sharper corner only costs a second run with the smaller radius. Used by
/// `ops::morphology`.
pub const SAME_FEATURE: f64 = 0.1;

/// If the nearest point lies within this distance, mm, of an edge's end, the corner there decides which side is inside.
/// Used by `index::edges`.
pub const AT_CORNER: f64 = 1e-9;

/// Points no farther than this beyond a chord lie on it, mm. Used by `ops::hull`.
pub const ON_CHORD: f64 = 1e-9;

/// How much a reported greatest distance may fall short, mm: a fifth of the promise for displayed figures. Used by
/// `ops::farthest`.
pub const FARTHEST_ACCURACY: f64 = 0.001;

/// Parts shorter than this, mm, are not halved in that search: no distance within one differs by more. Used by
/// `ops::farthest`.
pub const SHORTEST_SEARCHED: f64 = 1e-4;

/// From this turn on, radians (170°), the two sides run alongside each other: the end of a limb, not a corner. Used by
/// `ops::misfit`.
pub const ALONGSIDE: f64 = 170.0 * PI / 180.0;

/// A shorter stretch of the tool's edge, mm, is an artefact at the tip of a part. (A corner 0.02 deep has a stretch of
/// at least 0.4 with any cutter of 2 mm or more.) Used by `ops::misfit`.
pub const SHORTEST_STRETCH: f64 = 0.05;

/// A turn back by more than this, radians, is the tip of a part, not a slit in it. Its sides are tangent at the tip
/// within rounding. Used by `ops::misfit`.
pub const TURN_BACK: f64 = PI - 1e-4;

/// A vertex with a smaller turn, radians (10°), may approximate a curve; it then has that curve's radius. Used by
/// `ops::misfit`.
pub const OF_CURVE: f64 = PI / 18.0;

/// Between sides that are tangent at their tip, a width up to this, mm, is not reported. Used by `ops::misfit`.
pub const TIP_OF_CUSP: f64 = 0.01;

/// A joint of two edges within this distance of a corner's tip, mm, is its tip. Used by `ops::misfit`.
pub const AT_TIP: f64 = 1e-6;

/// Arcs of the tool whose centres are farther apart than this, mm, belong to two positions of the tool. Used by
/// `ops::misfit`.
pub const SAME_CENTRE: f64 = 0.01;

/// The tool may overlap the outline by this at a tried position, mm: rounding. Used by `ops::misfit`.
pub const TOUCH: f64 = 1e-6;

/// How far a tool reaches into a corner is refined down to this, mm. Used by `ops::misfit`.
pub const REACH: f64 = 0.002;

/// Widths are first sampled at steps along an edge not finer than this, mm. Used by `ops::misfit`.
pub const FINEST_WIDTH: f64 = 0.05;

/// Two contacts of an inscribed disc at least this far apart in angle are opposite, radians (150°). Used by
/// `ops::misfit`.
pub const OPPOSITE: f64 = 150.0 * PI / 180.0;

/// The radius of the largest disc that fits is searched to within this, mm. Used by `ops::apart`.
pub const LARGEST_DISC: f64 = 0.001;
