//! Every tolerance of the program, in one place: value, unit, reason, and who uses it.
//!
//! All lengths are millimetres. The budget for the promise "within 0.005 mm of exact" is spent as follows: curves
//! become arcs within [`CURVE_FIT`], the integer overlay sees chords within [`OVERLAY_CHORD`], and what the
//! certificate lets pass is [`CERTIFIED_DISTANCE`].

/// Greatest distance of a fitted line or arc from the curve that was drawn (Bézier, ellipse, spline). Half of the
/// promise; smaller makes more arcs than machines like, larger eats the room that the operations need.
/// Used by `geom::fit` and the readers.
pub const CURVE_FIT: f64 = 0.0025;

/// How far corners of a dense trace may lie off the lines that stand for them, mm. Lines are drawn as they are, so nothing
/// of the promise is spent on them yet ([`CURVE_FIT`] is spent on curves); less than that, to leave room for the ends of
/// the few lines that a fit makes. Used by `drawing::outline`.
pub const TRACE: f64 = 0.002;

/// Greatest sagitta of the chords that stand for an arc while the overlay finds out what crosses what. The arcs
/// themselves stay exact; this only limits where near-tangent crossings are seen. Smaller costs time in proportion to
/// its square root. Used by `geom::overlay`.
pub const OVERLAY_CHORD: f64 = 0.0005;

/// Greatest sagitta of the lines that stand for arcs where regions with very many edges are measured against each other, mm.
/// Used by `geom::ops`, for what is not handed out.
pub const FINE_CHORD: f64 = 1e-4;

/// Step of the integer grid on which crossings are resolved. Small enough to be lost beside [`OVERLAY_CHORD`], large
/// enough that a drawing 10 km wide fits 64 bits with room. Used by `geom::overlay` and the certificate.
pub const GRID: f64 = 1e-6;

/// How much an offset may gain where pockets of a dense outline are bridged before it, mm. Bridges are as long as that allows,
/// so a tenth of it makes three times the edges. Used by `geom::bridged`; the certificate sees it.
pub const BRIDGE: f64 = 0.0001;

/// How far runs of short edges of a result may lie off the one edge that stands for them, mm. Far below
/// [`CERTIFIED_DISTANCE`], which it counts towards. Used by `geom::thinned`.
pub const THIN: f64 = 0.0006;

/// Segments shorter than this are not kept: they are crumbs of the grid, not geometry. Used by `geom::overlay`.
pub const CRUMB: f64 = 5e-6;

/// Parts of a region that hang together by a strip narrower than this are looked at apart, mm. More than the chords of two
/// arcs that should be one are apart, far less than any depth that is told. Used by `geom::parted`.
pub const HAIR: f64 = 1e-3;

/// How far a point of a result may lie from its exact place (at distance `|d|` from the source) and still be
/// certified. Used by `geom::certify`.
pub const CERTIFIED_DISTANCE: f64 = 0.002;

/// Two engines may differ by regions up to this wide; anything in which a disc of this radius fits is a
/// disagreement. More than the chords of both ([`INDEPENDENT_CHORD`]), less than the slack of a comparison.
/// Used by `geom::certify`.
pub const AGREE_RADIUS: f64 = 0.0022;

/// Sagitta of the chords that the independent engine of the certificate works with. Used by `geom::certify`.
pub const INDEPENDENT_CHORD: f64 = 0.001;

/// Slack of every comparison of a width with a tool's diameter: makers draw round numbers, and no verdict may hang on
/// the last digit or on how the drawing is turned. Half of it is the slack of a radius. Used by `geom::morphology`
/// and the checks.
pub const WIDTH_SLACK: f64 = 0.005;

/// Coordinates beyond this are refused: no template is 10 km wide, and doubles lose the micrometre there.
/// Used by `geom` and the readers.
pub const LARGEST_COORDINATE: f64 = 1e7;

/// Ends of loose lines that lie no farther apart than this are joined, and said to be. Used by `drawing::join`.
pub const JOIN: f64 = 0.05;

/// A place where the inlay would stand proud of the recess by more than this is an error: it would not go in.
/// Used by `template` and the checks.
pub const PROUD: f64 = 0.05;

/// Regions of misfit shallower than this are not worth a word. Used by the checks.
pub const FINDING_DEPTH: f64 = 0.02;

/// A closed gap or a neck given up that loses the drawing deeper than this, mm, is an error: the pieces are then not what was
/// drawn. Used by the checks.
pub const DEEP_LOSS: f64 = 5.0;

/// The same by area: more than this share of the outline. Used by the checks.
pub const LARGE_LOSS: f64 = 0.1;

/// Greatest angle, radians, by which fitted lines and arcs may lean at a joint that is smooth in the curve, or at its
/// ends. Offset by 10 mm such a joint opens by 1e-8 mm, far below [`CRUMB`]. Used by `geom::fit`.
pub const TANGENT: f64 = 1e-9;

/// Curves are not cut into pieces shorter than this, mm, where it can be helped: machines stumble over them.
/// Used by `geom::fit`.
pub const SHORTEST_FITTED: f64 = 1e-4;

/// Fitted arcs of a larger radius, mm, become lines: beyond it the digits of a double lose [`GRID`]. A line in place
/// of such an arc leans by up to half its length over this: more than [`TANGENT`] from 2 mm on, 5e-8 rad for 100 mm,
/// which opens by less than [`CRUMB`] when offset by 10 mm. Used by `geom::fit`.
pub const FLATTEST_FITTED: f64 = 1e9;

/// How far the box of an element may lie off what the second reader of SVG sees, mm, before it is told: more than its
/// rounding at the size of a bench, less than a fit. Used by `drawing::svg`.
pub const SECOND_READER: f64 = 0.05;

/// The same as a share of the element's larger side. It draws circles as cubics, which miss by 2.7e-4 of the radius,
/// 1.4e-4 of the size; that must not be told. Used by `drawing::svg`.
pub const SECOND_READER_SHARE: f64 = 5e-4;

/// Ends of an open line that lie no farther apart than this nearly meet: it was meant to be closed. Larger than the
/// gaps that drawing programs leave, smaller than a gap that anyone draws on purpose. Used by the checks.
pub const NEARLY_MEET: f64 = 2.0;

/// A mended gap or a speck wider than this changes the outline so that it can be felt. Used by the checks.
pub const CLEARLY_MENDED: f64 = 0.05;

/// A closed loop no larger than this both ways is dust, not an outline or a hole, mm: no tool makes it, and without it an
/// outline changes by half of it at most. Used by `drawing::outline`.
pub const SPECK: f64 = 0.1;

/// A gap per side wider than this leaves a glue line that shows (common practice, no source). Used by the checks.
pub const WIDE_GAP: f64 = 0.15;

/// Arcs that rise less than this over their chord are read as straight: their centre would lie so far off that it
/// could not be told to this length anyway. Used by the readers.
pub const STRAIGHT: f64 = 1e-6;

/// Ends no farther apart than this are one point without a word: it is the noise of doubles at 10 m. Used by
/// `drawing::join` and the readers.
pub const SAME_POINT: f64 = 1e-9;

/// Ends within this of each other meet in one place: where three do, the way on is not told. Used by
/// `drawing::join`.
pub const SAME_PLACE: f64 = 1e-6;

/// Two lines are one drawn twice where ends and middle lie within this of each other: far below anything that wood
/// shows. Used by `drawing::join`.
pub const DOUBLED: f64 = 1e-4;

/// How far from a flat curve's plane its points may lie. Used by the DXF reader.
pub const FLAT: f64 = 1e-3;

/// Greatest distance of the cubics that stand for a spline with weights or of a high degree. A small part of
/// [`CURVE_FIT`], which is spent on the cubics. Used by the DXF reader.
pub const SPLINE_CUBIC: f64 = 1e-4;

/// Least difference between a bush's bore and a cutter's diameter for the cutter to pass: 1/64 in (common practice, no
/// source). Used by `kit`.
pub const BORE_CLEARANCE: f64 = 0.396_875;

/// Room per side for chips between cutter and bore (common practice, no source). Used by `kit`.
pub const CHIP_ROOM: f64 = 1.0;

/// A size measured farther than this from what the tool is called by is a slip of the pen or of the row, not wear.
/// (Common practice, no source: tools sold by a size are within a few tenths of it.) Used by `kit`.
pub const FAR_FROM_NOMINAL: f64 = 0.8;
/// Greatest distance of the cubics that stand for the edge of a wide stroke. A small part of [`CURVE_FIT`], which is spent
/// on the cubics. Used by the SVG reader.
pub const STROKE: f64 = 1e-4;

/// How far a piece as simulated, or an opening read back, may lie off what was worked out by another route, mm: what
/// two chains of certified operations may differ by, and far below what wood shows. Used by `proof`.
pub const PROVED: f64 = 0.01;

/// How far apart two files may show one opening, mm: both are written with full digits. Forms that another program saved may
/// lie farther apart; then each is proved by itself. Used by `proof`.
pub const ALIKE: f64 = 0.001;
