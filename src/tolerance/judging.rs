//! Of template, proof and checks: what is kept, reported, or refused.

/// An inlay that stands proud of the recess by more than this, mm, does not go in: an error. Used by `template` and the
/// checks.
pub const PROUD: f64 = 0.05;

/// Regions of misfit shallower than this, mm, are not reported. Used by the checks.
pub const FINDING_DEPTH: f64 = 0.02;

/// A filled gap or a lost neck is an error if it changes the drawing deeper than this, mm. The pieces are then not what
/// was drawn. Used by the checks.
pub const DEEP_LOSS: f64 = 5.0;

/// The same limit by area, as a share of the outline. Used by the checks.
pub const LARGE_LOSS: f64 = 0.1;

/// Ends of an open line no farther apart than this, mm, nearly meet: the line was meant to close. The value is larger
/// than the gaps that drawing programs leave and smaller than a deliberate gap. Used by the checks.
pub const NEARLY_MEET: f64 = 2.0;

/// A mended gap or a speck wider than this, mm, changes the outline enough to feel. Used by the checks.
pub const CLEARLY_MENDED: f64 = 0.05;

/// A gap per side wider than this, mm, shows as a glue line (common practice, no source). Used by the checks.
pub const WIDE_GAP: f64 = 0.15;

/// Least difference of a bush's bore and a cutter's diameter, mm, that lets the cutter pass: 1/64 in (common practice,
/// no source). Used by `kit`.
pub const BORE_CLEARANCE: f64 = 0.396_875;

/// Room per side for chips between cutter and bore, mm (common practice, no source). Used by `kit`.
pub const CHIP_ROOM: f64 = 1.0;

/// A measured size farther than this, mm, from the tool's nominal size is a typing slip or the wrong row, not wear.
/// (Common practice, no source: tools sold by a size are within a few tenths of it.) Used by `kit`.
pub const FAR_FROM_NOMINAL: f64 = 0.8;

/// How far a simulated piece or an opening read back may lie from the figure worked out by another route, mm. It covers
/// two chains of certified operations and is far below anything visible in wood. Used by `proof`.
pub const PROVED: f64 = 0.01;

/// How far two files may differ in showing one opening, mm; both are written with full digits. Forms saved by another
/// program may lie farther apart; each is then proved separately. Used by `proof`.
pub const ALIKE: f64 = 0.001;

/// Coarsest chords that replace arcs (`--flatten`), mm: a bush jolts over corners that can be felt (common practice, no
/// source). Used by `cli` and by `app::prove`.
pub const COARSEST_CHORDS: f64 = 0.2;

/// A line farther than this, mm, from the expected place of every opening matches none of them. That is far more than
/// any distortion of an opening, and less than the least strip of template between two. Used by `proof`.
pub const NO_OPENING: f64 = 2.0;

/// How far a dropped place of the gap's course may deviate from linear interpolation between the kept ones, mm. Used by
/// `proof`.
pub const GAP_THINNED: f64 = 0.001;

/// Dense openings are simplified within this, mm, to see what supports the router's base. Used by `panel`.
pub const ROUGH_GROUND: f64 = 0.01;

/// The worst position of the base is refined to this, mm. Used by `panel`.
pub const TIPPING_REFINED: f64 = 0.01;

/// A smaller remainder of waste, mm², counts as nothing: artefacts of coincident edges. Used by `template::clearing`.
pub const NOTHING_LEFT: f64 = 1e-3;

/// Rounding error of sums and multiples of typed lengths, mm. Used by `panel` and the checks.
pub const TYPED: f64 = 1e-6;

/// Two deepest points this close, mm, belong to the same corner. Used by the checks.
pub const SAME_CORNER: f64 = 1e-3;

/// A misfit belongs to a region if it lies no farther outside it than the gap and this, mm. A misfit is measured at
/// points of the pieces' edges, and these run along the region's edge. Used by the checks.
pub const BESIDE: f64 = 0.05;

/// A finding is idle if more than this share of its region is as drawn. Used by the checks.
pub const IDLE: f64 = 0.5;

/// Sine of the least turn between two edges that counts as a corner (6°). A smaller turn is a joint within a curve.
/// Used by the checks.
pub const TURN_OF_CORNER: f64 = 0.1;

/// Points on the edges of the two openings belong to the same point of the outline if their distance is at most the
/// difference of the offsets times this. It covers the distance along the bisector of corners down to 40°. Used by the
/// checks.
pub const ALONG_BISECTOR: f64 = 3.0;

/// Largest distance from the point of a notch to that of the outline one gap outside it, in gaps. It covers notches
/// down to 12°. Used by the checks.
pub const HOLLOW: f64 = 10.0;

/// Largest shortfall of the plug's gap that gets no finding, mm. Used by the checks.
pub const SHORT_OF_GAP: f64 = 0.05;

/// Tolerance for a round length, mm: the rounding of five digits in a file. Used by the checks.
pub const ROUND_LENGTH: f64 = 0.004;

/// The diameter of the largest clamp pad is searched to within this, mm. Used by `panel::clamps`.
pub const PAD_REFINED: f64 = 0.01;

/// A corner with a smaller radius, mm, is called sharp. Used by the checks.
pub const DRAWN_SHARP: f64 = 0.005;
