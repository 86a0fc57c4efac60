//! Sizes that a drawing could be meant to have, judged by round numbers.
//!
//! In: a drawing as read. Out: other readings of its numbers that make width and height round, each with its setting.
//! Old programs wrote 90 or 72 pixels per inch, and inches get mixed up with millimetres. Nothing is applied, only
//! proposed. Common practice, no source.
//!
//! The rule: a size is proposed only where neither width nor height is round as read. Both must be round by one of the
//! known factors of the file's format. The proposed size must be at most [`LARGEST`]. The unit must be guessed, or
//! stated as millimetres by the file. A width that the maker gives is never doubted.

use super::outlines::LARGEST;
use crate::drawing::{Drawing, Format};
use crate::text::{Words, fixed};
use crate::tolerance::ROUND_LENGTH;
use crate::units::{CSS_PX_PER_INCH, INCH, Unit};
use crate::words;

/// Round lengths are multiples of these, mm: half a millimetre and a sixteenth of an inch.
const ROUND: [f64; 2] = [0.5, INCH / 16.0];

fn round(v: f64) -> bool {
    v >= 1.0 && ROUND.iter().any(|&step| (v - (v / step).round() * step).abs() <= ROUND_LENGTH)
}

/// Other readings: the factor on all lengths, and the setting.
fn readings(d: &Drawing) -> Vec<(f64, &'static str)> {
    match (d.format, d.unit_guessed) {
        (Format::Svg, true) => vec![
            (CSS_PX_PER_INCH / 90.0, "--dpi 90"),
            (CSS_PX_PER_INCH / 72.0, "--dpi 72"),
            (CSS_PX_PER_INCH / INCH, "--unit mm"),
        ],
        (Format::Dxf, true) => vec![(INCH, "--unit in")],
        (_, false) if d.unit == Unit::MM => vec![(INCH, "--unit in")],
        _ => Vec::new(),
    }
}

/// Proposals such as "50.00 × 30.00 mm with --dpi 90".
pub(super) fn offers(d: &Drawing) -> Vec<Words> {
    let Some(b) = d.bounds else { return Vec::new() };
    let (w, h) = (b.width(), b.height());
    if round(w) || round(h) {
        return Vec::new();
    }
    let round_too = |f: &f64| round(w * f) && round(h * f) && w.max(h) * f <= LARGEST;
    let offered = readings(d).into_iter().filter(|(f, _)| round_too(f));
    offered.map(|(f, setting)| words!("{} with {}", Words::pair(fixed(w * f), fixed(h * f)), setting)).collect()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Rect;

    fn offered(format: Format, unit: Unit, unit_guessed: bool, w: f64, h: f64) -> Vec<String> {
        let all = offers(&Drawing {
            format,
            unit,
            unit_source: String::new(),
            unit_guessed,
            shapes: Vec::new(),
            bounds: Some(Rect::new(5.0, 5.0, 5.0 + w, 5.0 + h)),
            remarks: Vec::new(),
        });
        all.iter().map(Words::to_string).collect()
    }

    /// A part of 50 × 30 mm written at 90 or 72 pixels an inch and read at 96 comes out 46.875 or 37.5 wide.
    #[test]
    fn old_pixels_show() {
        let px = Unit::px_at(96.0);
        // Both readings are round, so both are offered.
        let both = ["50.00 × 30.00 mm with --dpi 90", "62.50 × 37.50 mm with --dpi 72"];
        assert_eq!(offered(Format::Svg, px, true, 46.875, 28.125), both);
        let at_72 = offered(Format::Svg, px, true, 51.0 * 0.75, 31.25 * 0.75);
        assert!(at_72.is_empty(), "31.25 is not round: {at_72:?}");
        assert_eq!(offered(Format::Svg, px, true, 51.3 * 0.75, 30.0 * 0.75).len(), 0);
        assert_eq!(offered(Format::Svg, px, true, 52.5 * 0.75, 30.5 * 0.75), ["52.50 × 30.50 mm with --dpi 72"]);
        // Round as read: no proposal, although 60 × 40 is round too.
        assert!(offered(Format::Svg, px, true, 45.0, 30.0).is_empty());
    }

    /// Whole and half millimetres and sixteenths of an inch, as width or height, with any other side. A size that is
    /// round as read gets no proposal.
    #[test]
    fn a_round_size_is_never_doubted() {
        let whole = (1..=1000).map(f64::from);
        let half = (2..=2000).map(|n| f64::from(n) / 2.0);
        let sixteenth = (1..=640).map(|n| f64::from(n) * INCH / 16.0);
        let beside = [3.0625, 7.0, 12.5, 19.6875, 25.4, 33.333_333, 78.125, 87.25, 91.666_667, 100.0, 640.3];
        for size in whole.chain(half).chain(sixteenth) {
            for other in beside {
                for (format, unit, guessed) in [
                    (Format::Svg, Unit::MM, false),
                    (Format::Dxf, Unit::MM, false),
                    (Format::Dxf, Unit::MM, true),
                    (Format::Svg, Unit::INCH, false),
                    (Format::Svg, Unit::px_at(96.0), true),
                ] {
                    let sizes = [(size, other), (other, size)];
                    // A side under a millimetre is not plausible.
                    let all = sizes.map(|(w, h)| offered(format, unit, guessed, w, h));
                    assert!(size < 1.0 || all.iter().all(Vec::is_empty), "{size} x {other}: {all:?}");
                }
            }
        }
    }

    /// 25.4 times as large it is beyond the largest plausible size.
    #[test]
    fn no_size_beyond_a_joint_is_offered() {
        let of = |inches: f64| offered(Format::Svg, Unit::MM, false, inches + 0.0625, 1.0625).len();
        assert_eq!((of(78.0), of(79.0)), (1, 0));
    }

    #[test]
    fn inches_and_millimetres_mixed_up() {
        assert_eq!(offered(Format::Dxf, Unit::MM, true, 2.25, 1.25), ["57.15 × 31.75 mm with --unit in"]);
        assert_eq!(
            offered(Format::Svg, Unit::MM, false, 50.0 / 25.4, 30.0 / 25.4),
            ["50.00 × 30.00 mm with --unit in"]
        );
        assert!(offered(Format::Svg, Unit::MM, false, 50.0, 30.0).is_empty());
    }
}
