//! Of the engine: fitting curves, overlays, simplifying. It shares out what the promise leaves.

/// Greatest distance, mm, of a fitted line or arc from the drawn curve (Bézier, ellipse, spline). It is half of the
/// promise. A smaller value makes more arcs than machines like; a larger one eats the room that the operations need.
/// Used by `engine::fit` and the readers.
pub const CURVE_FIT: f64 = 0.0025;

/// Greatest distance, mm, of the corners of a dense trace from the lines that replace them. Drawn lines spend nothing
/// of the promise otherwise; only curves spend [`CURVE_FIT`]. The value is a little smaller than that, to leave room
/// for the ends of the few lines that a fit makes. Used by `drawing::outline`.
pub const TRACE: f64 = 0.002;

/// Greatest sagitta, mm, of the chords that represent an arc in the overlay. The arcs themselves stay exact. The value
/// only limits how well near-tangent crossings are seen. Smaller costs time in proportion to its square root. Used by
/// `engine::overlay`.
pub const OVERLAY_CHORD: f64 = 0.0005;

/// Greatest sagitta, mm, of the chords that replace arcs when very dense regions are compared for measuring only. Used
/// by `geom::ops`; no outline that leaves `geom` is built from these chords.
pub const FINE_CHORD: f64 = 1e-4;

/// Step, mm, of the integer grid on which crossings are resolved. It is negligible beside [`OVERLAY_CHORD`], and large
/// enough that a drawing 10 km wide fits 64 bits with room. Used by `engine::overlay` and the certificate.
pub const GRID: f64 = 1e-6;

/// How much an offset may gain, mm, when narrow pockets of a dense outline are bridged first. Longer bridges save more
/// edges: a tenth of this value makes three times the edges. Used by `engine::bridged`; the certificate includes it.
pub const BRIDGE: f64 = 0.0001;

/// How far runs of short edges of a result may lie from the one edge that replaces them, mm. It counts towards
/// [`CERTIFIED_DISTANCE`](super::CERTIFIED_DISTANCE) and is well below it. Used by `engine::thinned`.
pub const THIN: f64 = 0.0006;

/// Shorter segments, mm, are dropped: they are artefacts of the grid. Used by `engine::overlay`.
pub const CRUMB: f64 = 5e-6;

/// Parts of a region joined by a strip narrower than this, mm, are measured as separate parts. The value exceeds the
/// distance between the chords of two coincident arcs. It is far below any depth that is reported. Used by
/// `engine::parted`.
pub const HAIR: f64 = 1e-3;

/// Coordinates beyond this, mm, are refused. No template is 10 km wide, and doubles lose the micrometre there. Used by
/// `geom` and the readers.
pub const LARGEST_COORDINATE: f64 = 1e7;

/// Greatest angle, radians, between fitted edges at a joint where the curve is smooth, and at the curve's ends. Offset
/// by 10 mm, this angle opens the joint by 1e-8 mm, far below [`CRUMB`]. Used by `engine::fit`.
pub const TANGENT: f64 = 1e-9;

/// Curves are not cut into pieces shorter than this, mm, where that can be avoided: machines stutter on them. Used by
/// `engine::fit`.
pub const SHORTEST_FITTED: f64 = 1e-4;

/// Fitted arcs of a larger radius, mm, become lines: beyond it a double cannot hold [`GRID`]. The line leans from the
/// arc by up to half its length over the radius. From a length of 2 mm on, this exceeds [`TANGENT`]: it is 5e-8 rad for
/// 100 mm. Offset by 10 mm, the joint opens by less than [`CRUMB`]. Used by `engine::fit`.
pub const FLATTEST_FITTED: f64 = 1e9;

/// Control points within this distance of one straight line, mm, make a straight run. It is far below [`CURVE_FIT`].
/// Used by `engine::fit`.
pub const STRAIGHT_RUN: f64 = 1e-7;

/// Share of a fit's tolerance that its samples may use; the rest covers the curve between them. Used by `engine::fit`.
pub const FIT_SHARE: f64 = 0.95;

/// Greatest bulge of one fitted arc. A larger arc nears half a turn, where the test of its angular span fails. Used by
/// `engine::fit`.
pub const ROUNDEST_BULGE: f64 = 0.9;

/// Shortest piece of a fitted curve, in the curve's parameter. Only pieces at a cusp, smaller than any tolerance,
/// become this short. Used by `engine::fit`.
pub const SHORTEST_SPAN: f64 = 1e-6;

/// A speed below this share of the greatest counts as a stop of the curve; the direction then comes from the next
/// derivative. Used by `engine::fit`.
pub const STOP: f64 = 1e-6;

/// A turn with a radius below this share of the fit's tolerance counts as a cusp. Used by `engine::fit`.
pub const INVISIBLE_TURN: f64 = 0.02;

/// Two derivatives are perpendicular if the cosine of their angle is below this. The value only picks out the place of
/// least speed. Used by `engine::fit`.
pub const ACROSS: f64 = 1e-3;

/// Edges whose lines or circles lie within this distance, mm, run on as one edge: rounding of exact carriers. Used by
/// `engine::overlay`.
pub const SAME_CARRIER: f64 = 1e-8;

/// Arcs are joined only up to a full turn less this angle, radians: the ends of a longer one would coincide. Used by
/// `engine::overlay`.
pub const NEARLY_ROUND: f64 = 1e-3;

/// Carriers whose directions have a smaller cross product count as parallel where their crossing is sought. Used by
/// `engine::overlay`.
pub const PARALLEL: f64 = 1e-7;

/// The search for a crossing ends with a step shorter than this, mm: the last digit of a coordinate. Used by
/// `engine::overlay`.
pub const CONVERGED: f64 = 1e-13;

/// Two edges within this distance, mm, are the same edge. It covers a few steps of [`GRID`], and the error of ends near
/// a tangency. Used by `engine::tails`.
pub const SAME_EDGE: f64 = 1e-5;

/// Tubes whose far corners lie within this distance, mm, belong to edges that are tangent: some steps of [`GRID`]. Used
/// by `engine::tubes`.
pub const TANGENT_TUBES: f64 = 1e-5;

/// Within this of a half turn, radians, the turn direction is ambiguous. Two arcs may cross again just after their
/// corner, by less than [`OVERLAY_CHORD`]. Such a corner turns one way while the lens between the crossings exists, and
/// the other way once it is removed. For arcs of the size of cutters that is some hundredths of a radian. Used by
/// `engine::tubes` and `geom::certify`.
pub const CUSP: f64 = 0.1;

/// Direction at a vertex is taken towards a point this far along the piece, mm. At a cusp the tangents coincide, and
/// the pieces diverge only with distance. Used by `engine::parted`.
pub const LOOK_AHEAD: f64 = 0.1;

/// Pieces within this angle, radians, may cross by rounding. Used by `engine::parted`.
pub const IN_LINE: f64 = 0.005;

/// Share of a tolerance that chords are made for. A chord may be a hundredth longer than asked, its sagitta 1.0201
/// times as large. Used by `ops::flat`.
pub const CHORD_SHARE: f64 = 0.97;

/// Where a curve's speed is below this share of the greatest, a cusp is looked for. Used by `engine::fit`.
pub const SLOW: f64 = 0.05;

/// An edge may run back along the one before if the cosine of the angle between them is at most this. Used by
/// `engine::tails`.
pub const FOLDED_BACK: f64 = -0.99;

/// At a cusp, a stretch that spans no more than this share of the fit's tolerance becomes a chord. Used by
/// `engine::fit`.
pub const TINY_STRETCH: f64 = 0.05;

/// The search for a crossing takes no step longer than this, mm. No chord error reaches as far, and longer steps
/// diverge where carriers only nearly touch. Used by `engine::overlay`.
pub const LONGEST_STEP: f64 = 0.25;

/// A crossing found farther than this from its place on the grid, mm, is another one. Used by `engine::overlay`.
pub const STRAYED: f64 = 1.0;

/// A stretch that uses a smaller share of the fit's allowance is lengthened as if it used this share: at most tenfold.
/// Used by `engine::fit`.
pub const LEAST_MISFIT: f64 = 1e-3;
