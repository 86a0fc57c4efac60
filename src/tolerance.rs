//! Every tolerance of the program, in one place: value, unit, reason, and who uses it.
//!
//! All lengths are millimetres. The promise "within 0.005 mm of exact" is spent as follows. Curves become arcs within
//! [`CURVE_FIT`]. The integer overlay works on chords within [`OVERLAY_CHORD`]. The certificate accepts results
//! within [`CERTIFIED_DISTANCE`].

/// Greatest distance, mm, of a fitted line or arc from the drawn curve (Bézier, ellipse, spline). It is half of the
/// promise. A smaller value makes more arcs than machines like; a larger one eats the room that the operations need.
/// Used by `geom::fit` and the readers.
pub const CURVE_FIT: f64 = 0.0025;

/// Greatest distance, mm, of the corners of a dense trace from the lines that replace them. Drawn lines spend nothing
/// of the promise otherwise; only curves spend [`CURVE_FIT`]. The value is a little smaller than that, to leave room
/// for the ends of the few lines that a fit makes. Used by `drawing::outline`.
pub const TRACE: f64 = 0.002;

/// Greatest sagitta, mm, of the chords that represent an arc in the overlay. The arcs themselves stay exact. The value
/// only limits how well near-tangent crossings are seen. Smaller costs time in proportion to its square root. Used by
/// `geom::overlay`.
pub const OVERLAY_CHORD: f64 = 0.0005;

/// Greatest sagitta, mm, of the chords that replace arcs when very dense regions are compared for measuring only.
/// Used by `geom::ops`; no outline that leaves `geom` is built from these chords.
pub const FINE_CHORD: f64 = 1e-4;

/// Step, mm, of the integer grid on which crossings are resolved. It is negligible beside [`OVERLAY_CHORD`], and large
/// enough that a drawing 10 km wide fits 64 bits with room. Used by `geom::overlay` and the certificate.
pub const GRID: f64 = 1e-6;

/// How much an offset may gain, mm, when narrow pockets of a dense outline are bridged first. Longer bridges save more
/// edges: a tenth of this value makes three times the edges. Used by `geom::bridged`; the certificate includes it.
pub const BRIDGE: f64 = 0.0001;

/// How far runs of short edges of a result may lie from the one edge that replaces them, mm. It counts towards
/// [`CERTIFIED_DISTANCE`] and is well below it. Used by `geom::thinned`.
pub const THIN: f64 = 0.0006;

/// Shorter segments, mm, are dropped: they are artefacts of the grid. Used by `geom::overlay`.
pub const CRUMB: f64 = 5e-6;

/// Parts of a region joined by a strip narrower than this, mm, are measured as separate parts. The value exceeds the
/// distance between the chords of two coincident arcs. It is far below any depth that is reported. Used by
/// `geom::parted`.
pub const HAIR: f64 = 1e-3;

/// How far a point of a certified result may lie from its exact place, mm. The exact place is at distance `|d|` from
/// the source. Used by `geom::certify`.
pub const CERTIFIED_DISTANCE: f64 = 0.002;

/// Two engines may differ by regions in which no disc of this radius, mm, fits; a wider difference is a disagreement.
/// The value exceeds the chord error of both engines ([`INDEPENDENT_CHORD`]) and is below the slack of a comparison.
/// Used by `geom::certify`.
pub const AGREE_RADIUS: f64 = 0.0022;

/// Sagitta, mm, of the chords that the independent engine of the certificate works on. Used by `geom::certify`.
pub const INDEPENDENT_CHORD: f64 = 0.001;

/// Slack, mm, of every comparison of a width with a tool's diameter. Makers draw round numbers, so no verdict may
/// depend on the last digit or on how the drawing is turned. A radius has half of this slack. Used by
/// `geom::morphology` and the checks.
pub const WIDTH_SLACK: f64 = 0.005;

/// Coordinates beyond this, mm, are refused. No template is 10 km wide, and doubles lose the micrometre there.
/// Used by `geom` and the readers.
pub const LARGEST_COORDINATE: f64 = 1e7;

/// Ends of loose lines no farther apart than this, mm, are joined, and the join is reported. Used by `drawing::join`.
pub const JOIN: f64 = 0.05;

/// An inlay that stands proud of the recess by more than this, mm, does not go in: an error.
/// Used by `template` and the checks.
pub const PROUD: f64 = 0.05;

/// Regions of misfit shallower than this, mm, are not reported. Used by the checks.
pub const FINDING_DEPTH: f64 = 0.02;

/// A filled gap or a lost neck is an error if it changes the drawing deeper than this, mm. The pieces are then not
/// what was drawn. Used by the checks.
pub const DEEP_LOSS: f64 = 5.0;

/// The same limit by area, as a share of the outline. Used by the checks.
pub const LARGE_LOSS: f64 = 0.1;

/// Greatest angle, radians, between fitted edges at a joint where the curve is smooth, and at the curve's ends. Offset
/// by 10 mm, this angle opens the joint by 1e-8 mm, far below [`CRUMB`]. Used by `geom::fit`.
pub const TANGENT: f64 = 1e-9;

/// Curves are not cut into pieces shorter than this, mm, where that can be avoided: machines stutter on them.
/// Used by `geom::fit`.
pub const SHORTEST_FITTED: f64 = 1e-4;

/// Fitted arcs of a larger radius, mm, become lines: beyond it a double cannot hold [`GRID`]. The line leans from the
/// arc by up to half its length over the radius. From a length of 2 mm on, this exceeds [`TANGENT`]: it is 5e-8 rad
/// for 100 mm. Offset by 10 mm, the joint opens by less than [`CRUMB`]. Used by `geom::fit`.
pub const FLATTEST_FITTED: f64 = 1e9;

/// How far the bounding box of an element may differ from that of the second SVG reader, mm, before it is reported.
/// More than that reader's rounding at the size of a bench, less than a fit. Used by `drawing::svg`.
pub const SECOND_READER: f64 = 0.05;

/// The same limit as a share of the element's larger side. The second reader draws circles as cubics, which miss by
/// 2.7e-4 of the radius or 1.4e-4 of the size. That difference must not be reported. Used by `drawing::svg`.
pub const SECOND_READER_SHARE: f64 = 5e-4;

/// Ends of an open line no farther apart than this, mm, nearly meet: the line was meant to close. The value is larger
/// than the gaps that drawing programs leave and smaller than a deliberate gap. Used by the checks.
pub const NEARLY_MEET: f64 = 2.0;

/// A mended gap or a speck wider than this, mm, changes the outline enough to feel. Used by the checks.
pub const CLEARLY_MENDED: f64 = 0.05;

/// A closed loop no larger than this in both directions, mm, is dust, not an outline or a hole. No tool makes it.
/// Dropping it changes an outline by half of this at most. Used by `drawing::outline`.
pub const SPECK: f64 = 0.1;

/// A gap per side wider than this, mm, shows as a glue line (common practice, no source). Used by the checks.
pub const WIDE_GAP: f64 = 0.15;

/// Arcs with a smaller sagitta, mm, are read as straight lines: their distant centre cannot be determined to this
/// length anyway. Used by the readers.
pub const STRAIGHT: f64 = 1e-6;

/// Ends no farther apart than this, mm, count as one point without a message: it is the rounding of doubles at 10 m.
/// Used by `drawing::join` and the readers.
pub const SAME_POINT: f64 = 1e-9;

/// Ends within this distance, mm, meet in one place. If three meet, the continuation is ambiguous. Used by
/// `drawing::join`.
pub const SAME_PLACE: f64 = 1e-6;

/// Two lines are duplicates if their ends and middles lie within this distance, mm. That is far below anything
/// visible in wood. Used by `drawing::join`.
pub const DOUBLED: f64 = 1e-4;

/// How far the points of a flat curve may lie from its plane, mm. Used by the DXF reader.
pub const FLAT: f64 = 1e-3;

/// Greatest distance, mm, of the cubics that replace a rational or high-degree spline. A small part of
/// [`CURVE_FIT`], which is spent on the cubics. Used by the DXF reader.
pub const SPLINE_CUBIC: f64 = 1e-4;

/// Least difference of a bush's bore and a cutter's diameter, mm, that lets the cutter pass: 1/64 in (common practice,
/// no source). Used by `kit`.
pub const BORE_CLEARANCE: f64 = 0.396_875;

/// Room per side for chips between cutter and bore, mm (common practice, no source). Used by `kit`.
pub const CHIP_ROOM: f64 = 1.0;

/// A measured size farther than this, mm, from the tool's nominal size is a typing slip or the wrong row, not wear.
/// (Common practice, no source: tools sold by a size are within a few tenths of it.) Used by `kit`.
pub const FAR_FROM_NOMINAL: f64 = 0.8;
/// Greatest distance, mm, of the cubics that replace the edge of a wide stroke. A small part of [`CURVE_FIT`], which
/// is spent on the cubics. Used by the SVG reader.
pub const STROKE: f64 = 1e-4;

/// How far a simulated piece or an opening read back may lie from the figure worked out by another route, mm. It
/// covers two chains of certified operations and is far below anything visible in wood. Used by `proof`.
pub const PROVED: f64 = 0.01;

/// How far two files may differ in showing one opening, mm; both are written with full digits. Forms saved by another
/// program may lie farther apart; each is then proved separately. Used by `proof`.
pub const ALIKE: f64 = 0.001;

/// Coarsest chords that replace arcs (`--flatten`), mm: a bush jolts over corners that can be felt (common practice, no
/// source). Used by `cli` and by `app::prove`.
pub const COARSEST_CHORDS: f64 = 0.2;
