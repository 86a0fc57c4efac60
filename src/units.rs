//! Lengths and their units: the only file that knows 25.4, 96 and 72.

/// Millimetres in an inch (exact by definition).
pub const INCH: f64 = 25.4;
/// CSS pixels in an inch (W3C CSS Values and Units, absolute lengths).
pub const CSS_PX_PER_INCH: f64 = 96.0;
/// Points in an inch (same source).
pub const POINTS_PER_INCH: f64 = 72.0;

/// A unit of length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// As it is written after a number: `mm`, `in`, `px`.
    pub symbol: &'static str,
    /// Length of one, mm.
    pub mm: f64,
}

impl Unit {
    pub const MM: Unit = Unit { symbol: "mm", mm: 1.0 };
    pub const CM: Unit = Unit { symbol: "cm", mm: 10.0 };
    pub const M: Unit = Unit { symbol: "m", mm: 1000.0 };
    pub const INCH: Unit = Unit { symbol: "in", mm: INCH };
    pub const FOOT: Unit = Unit { symbol: "ft", mm: 12.0 * INCH };
    pub const PX: Unit = Unit { symbol: "px", mm: INCH / CSS_PX_PER_INCH };

    /// The pixel of a file that counts `dpi` of them an inch.
    #[must_use]
    pub fn px_at(dpi: f64) -> Unit {
        Unit { symbol: "px", mm: INCH / dpi }
    }
}
