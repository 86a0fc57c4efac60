//! Of reading and joining drawings.

/// Ends of loose lines no farther apart than this, mm, are joined, and the join is reported. Used by `drawing::join`.
pub const JOIN: f64 = 0.05;

/// How far the bounding box of an element may differ from that of the second SVG reader, mm, before it is reported.
/// More than that reader's rounding at the size of a bench, less than a fit. Used by `drawing::svg`.
pub const SECOND_READER: f64 = 0.05;

/// The same limit as a share of the element's larger side. The second reader draws circles as cubics, which miss by
/// 2.7e-4 of the radius or 1.4e-4 of the size. That difference must not be reported. Used by `drawing::svg`.
pub const SECOND_READER_SHARE: f64 = 5e-4;

/// A closed loop no larger than this in both directions, mm, is dust, not an outline or a hole. No tool makes it.
/// Dropping it changes an outline by half of this at most. Used by `drawing::outline`.
pub const SPECK: f64 = 0.1;

/// Arcs with a smaller sagitta, mm, are read as straight lines: their distant centre cannot be determined to this
/// length anyway. Used by the readers.
pub const STRAIGHT: f64 = 1e-6;

/// Ends no farther apart than this, mm, count as one point without a message: it is the rounding of doubles at 10 m.
/// Used by `drawing::join` and the readers.
pub const SAME_POINT: f64 = 1e-9;

/// Ends within this distance, mm, meet in one place. If three meet, the continuation is ambiguous. Used by
/// `drawing::join`.
pub const SAME_PLACE: f64 = 1e-6;

/// Two lines are duplicates if their ends and middles lie within this distance, mm. That is far below anything visible
/// in wood. Used by `drawing::join`.
pub const DOUBLED: f64 = 1e-4;

/// How far the points of a flat curve may lie from its plane, mm. Used by the DXF reader.
pub const FLAT: f64 = 1e-3;

/// Greatest distance, mm, of the cubics that replace a rational or high-degree spline. A small part of
/// [`CURVE_FIT`](super::CURVE_FIT), which is spent on the cubics. Used by the DXF reader.
pub const SPLINE_CUBIC: f64 = 1e-4;

/// Greatest distance, mm, of the cubics that replace the edge of a wide stroke. A small part of
/// [`CURVE_FIT`](super::CURVE_FIT), which is spent on the cubics. Used by the SVG reader.
pub const STROKE: f64 = 1e-4;

/// A shape wider or higher than this, mm, is no outline of a joint: its unit is wrong. Used by `drawing::outline`.
pub const LARGEST_OUTLINE: f64 = 10_000.0;

/// Shapes that together are wider or higher than this, mm, are not the joints of one job. Used by `drawing::outline`.
pub const LARGEST_SPREAD: f64 = 20_000.0;

/// Areas of one loop under two fill rules agree within this share if it does not cross itself. Used by
/// `drawing::outline`.
pub const AREA_SHARE: f64 = 1e-6;

/// Largest x or y of a unit normal that counts as upright. A lean of 1e-6 moves no point of a 1 m drawing by more than
/// 1e-9 mm. Used by the DXF reader.
pub const UPRIGHT: f64 = 1e-6;

/// Largest bulge, the tangent of a quarter of the sweep. This value is a full turn to within a millionth of a degree.
/// Used by the DXF reader.
pub const MOST_BULGE: f64 = 1e8;

/// Figures of a file that should be equal agree within this share: programs write seven digits or more. Used by the
/// readers.
pub const WRITTEN_SHARE: f64 = 1e-6;

/// Within this angle, radians, of a half turn, an SVG arc's flag for the longer way decides nothing. Used by
/// `geom::Curve`.
pub const HALF_TURN: f64 = 1e-6;

/// Coordinates below this, in the file's unit, have the rounding of this size. Used by the SVG reader.
pub const LEAST_SIZE: f64 = 1e-3;
