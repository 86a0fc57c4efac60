//! Lengths and their units. No other file contains 25.4, 96 or 72.
//!
//! Reads lengths as people write them (`6`, `6,35`, `1 1/4in`, `400x160`) into millimetres. Writes millimetres with
//! the nearest 64th of an inch. Refuses ambiguous input.

use crate::names::names;
use crate::tolerance::LARGEST_COORDINATE;

/// Millimetres in an inch (exact by definition).
pub const INCH: f64 = 25.4;
/// CSS pixels in an inch (W3C CSS Values and Units, absolute lengths).
pub const CSS_PX_PER_INCH: f64 = 96.0;
/// Points in an inch (same source).
pub const POINTS_PER_INCH: f64 = 72.0;
/// Picas in an inch (same source).
const PICAS_PER_INCH: f64 = 6.0;
/// Lengths are shown in this part of an inch.
const PARTS: u32 = 64;

/// A unit of length.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Unit {
    /// As written after a number: `mm`, `in`, `px`.
    pub symbol: &'static str,
    /// Length of one unit, mm.
    pub mm: f64,
}

impl Unit {
    pub const MM: Unit = Unit { symbol: "mm", mm: 1.0 };
    pub const CM: Unit = Unit { symbol: "cm", mm: 10.0 };
    pub const M: Unit = Unit { symbol: "m", mm: 1000.0 };
    pub const INCH: Unit = Unit { symbol: "in", mm: INCH };
    pub const FOOT: Unit = Unit { symbol: "ft", mm: 12.0 * INCH };
    pub const PX: Unit = Unit { symbol: "px", mm: INCH / CSS_PX_PER_INCH };
    pub const POINT: Unit = Unit { symbol: "pt", mm: INCH / POINTS_PER_INCH };
    pub const PICA: Unit = Unit { symbol: "pc", mm: INCH / PICAS_PER_INCH };
    /// A quarter of a millimetre.
    pub const Q: Unit = Unit { symbol: "Q", mm: 0.25 };

    /// The pixel of a file with `dpi` pixels per inch.
    #[must_use]
    pub fn px_at(dpi: f64) -> Unit {
        Unit { symbol: "px", mm: INCH / dpi }
    }

    /// The unit named by `text`, in either case: a symbol, a name in British or American spelling, or the inch mark.
    #[must_use]
    pub fn parse(text: &str) -> Option<Unit> {
        match text.trim().to_ascii_lowercase().as_str() {
            "mm" | "millimetre" | "millimetres" | "millimeter" | "millimeters" => Some(Unit::MM),
            "cm" | "centimetre" | "centimetres" | "centimeter" | "centimeters" => Some(Unit::CM),
            "m" | "metre" | "metres" | "meter" | "meters" => Some(Unit::M),
            "in" | "inch" | "inches" | "\"" | "″" => Some(Unit::INCH),
            "ft" | "foot" | "feet" => Some(Unit::FOOT),
            "px" => Some(Unit::PX),
            "pt" => Some(Unit::POINT),
            "pc" => Some(Unit::PICA),
            "q" => Some(Unit::Q),
            _ => None,
        }
    }
}

/// Unit of the numbers in a written file.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum FileUnit {
    Mm,
    Inch,
}

names!(FileUnit, "unknown unit of the files"; Mm = "mm", Inch = "in");

impl FileUnit {
    /// A length of `mm` millimetres in this unit.
    pub(crate) fn number(self, mm: f64) -> f64 {
        match self {
            FileUnit::Mm => mm,
            FileUnit::Inch => mm / INCH,
        }
    }

    /// As [`Unit`], which the readers use.
    #[must_use]
    pub fn unit(self) -> Unit {
        match self {
            FileUnit::Mm => Unit::MM,
            FileUnit::Inch => Unit::INCH,
        }
    }
}

/// Why a text is not a length.
#[derive(Debug, thiserror::Error, Clone, PartialEq, Eq)]
pub enum LengthError {
    #[error("no length given; write one like 6.35mm or 1/4in")]
    Empty,
    #[error("“{0}” is not a length; write one like 6.35mm or 1/4in")]
    NotALength(String),
    #[error("{0} what? Write {0}in")]
    BareFraction(String),
    #[error("“{unit}” in “{text}” is not a unit of length; use mm, cm, m, in, ft, px, pt, pc or Q")]
    UnknownUnit { text: String, unit: String },
    #[error("“{0}” is negative; a length is 0 or more")]
    Negative(String),
    #[error("“{0}” divides by 0")]
    DividesByZero(String),
    #[error("“{0}” could be thousands or a decimal; write it without the comma")]
    TwoWays(String),
    #[error("“{0}” is longer than {max} mm", max = LARGEST_COORDINATE)]
    TooLong(String),
    #[error("“{0}” is not a pair of lengths; write width and height like 400x160")]
    NotAPair(String),
    #[error("in “{0}” only the first length has a unit; give it to both or at the end")]
    UnitOnFirstOnly(String),
}

/// A length as somebody gives it.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Length {
    pub mm: f64,
    /// True if it is given in inches or feet.
    pub inches: bool,
}

/// As [`parse_length`], for text whose writer stated the unit of bare numbers. If that unit is the inch, a fraction
/// needs no unit of its own. Nobody writes fractions of a millimetre.
///
/// # Errors
/// [`LengthError`], which shows what to type.
pub fn parse_length_in(text: &str, said: Unit) -> Result<f64, LengthError> {
    let parts = split_unit(text)?;
    if said == Unit::INCH { to_mm(text, &parts, said) } else { Ok(parse_length(text, said)?.mm) }
}

/// The length given by `text`. A bare number is in `bare`; a fraction must have its own unit.
///
/// # Errors
/// [`LengthError`], which shows what to type.
pub fn parse_length(text: &str, bare: Unit) -> Result<Length, LengthError> {
    let parts = split_unit(text)?;
    if parts.unit.is_none() && parts.fraction {
        return Err(LengthError::BareFraction(text.trim().to_owned()));
    }
    let inches = parts.unit.is_some_and(|u| u == Unit::INCH || u == Unit::FOOT);
    Ok(Length { mm: to_mm(text, &parts, bare)?, inches })
}

/// Lengths in units other than mm are rounded to this part of a millimetre ...
const PER_MM: f64 = 1e9;
/// ... below this length, mm. Above it, rounding would lose digits.
const ROUNDED_BELOW: f64 = 1e6;

/// Two lengths, mm: `400x160`, `400×160`, `400;160`, `400 x 160 mm`. A unit after the second alone applies to both.
///
/// # Errors
/// [`LengthError`], which shows what to type.
pub fn parse_pair(text: &str, bare: Unit) -> Result<(f64, f64), LengthError> {
    let mut cuts = text.char_indices().filter(|(i, c)| match c {
        ';' | '×' => true,
        // The x of `px` is not a separator.
        'x' | 'X' => !text[..*i].ends_with(['p', 'P']),
        _ => false,
    });
    let (Some((at, sign)), None) = (cuts.next(), cuts.next()) else {
        return Err(LengthError::NotAPair(text.trim().to_owned()));
    };
    let (first, second) = (&text[..at], &text[at + sign.len_utf8()..]);
    if first.trim().is_empty() || second.trim().is_empty() {
        return Err(LengthError::NotAPair(text.trim().to_owned()));
    }
    let (a, b) = (split_unit(first)?, split_unit(second)?);
    match (a.unit, b.unit) {
        (None, Some(unit)) => Ok((to_mm(first, &a, unit)?, to_mm(second, &b, unit)?)),
        (Some(_), None) => Err(LengthError::UnitOnFirstOnly(text.trim().to_owned())),
        _ => Ok((parse_length(first, bare)?.mm, parse_length(second, bare)?.mm)),
    }
}

/// A number and the unit written after it.
struct Parts {
    number: f64,
    fraction: bool,
    unit: Option<Unit>,
}

fn split_unit(text: &str) -> Result<Parts, LengthError> {
    let whole = text.trim();
    if whole.is_empty() {
        return Err(LengthError::Empty);
    }
    if whole.starts_with(['-', '−']) && whole.contains(|c: char| c.is_ascii_digit()) {
        return Err(LengthError::Negative(whole.to_owned()));
    }
    let not_a_length = || LengthError::NotALength(whole.to_owned());
    if !whole.starts_with(|c: char| c.is_ascii_digit() || c == '.' || c == ',') {
        return Err(not_a_length());
    }
    let end = whole.rfind(|c: char| c.is_ascii_digit() || "./,".contains(c)).map_or(0, |i| i + 1);
    let (number, unit) = (whole[..end].trim_end(), whole[end..].trim());
    // Letters among the digits: not a misread unit, but not a number either.
    if !number.chars().all(|c| c.is_ascii_digit() || "./, -".contains(c)) {
        return Err(not_a_length());
    }
    let unit = match unit {
        "" => None,
        u => {
            let unknown = || LengthError::UnknownUnit { text: whole.to_owned(), unit: u.to_owned() };
            Some(Unit::parse(u).ok_or_else(unknown)?)
        }
    };
    let fraction = number.contains('/');
    let number = if fraction { parse_fraction(number, whole)? } else { parse_decimal(number, whole)? };
    Ok(Parts { number, fraction, unit })
}

fn to_mm(text: &str, parts: &Parts, bare: Unit) -> Result<f64, LengthError> {
    let unit = parts.unit.unwrap_or(bare);
    let mm = parts.number * unit.mm;
    // 3/8 in is 9.525 mm, not 9.524999999999999: a 64th has six decimals. Millimetres stay bit for bit.
    let mm = if unit == Unit::MM || mm > ROUNDED_BELOW { mm } else { (mm * PER_MM).round() / PER_MM };
    if mm.is_finite() && mm <= LARGEST_COORDINATE { Ok(mm) } else { Err(LengthError::TooLong(text.trim().to_owned())) }
}

/// `6`, `6.35`, `6,35`, `.5`.
fn parse_decimal(number: &str, whole: &str) -> Result<f64, LengthError> {
    let not_a_length = || LengthError::NotALength(whole.to_owned());
    if number.chars().filter(|c| ".,".contains(*c)).count() > 1 || number.contains(' ') {
        return Err(not_a_length());
    }
    if let Some((before, after)) = number.split_once(',')
        && after.len() == 3
        && (1..=3).contains(&before.len())
        && !before.starts_with('0')
    {
        return Err(LengthError::TwoWays(whole.to_owned()));
    }
    if number.ends_with(['.', ',']) {
        return Err(not_a_length());
    }
    number.replace(',', ".").parse().map_err(|_| not_a_length())
}

/// `1/4`, `1 1/4` or `1-1/4`.
fn parse_fraction(number: &str, whole: &str) -> Result<f64, LengthError> {
    let not_a_length = || LengthError::NotALength(whole.to_owned());
    // Real fractions have few digits; a longer number would silently lose its last ones.
    let count = |s: &str| match s.parse::<u32>() {
        Ok(n) if s.len() <= 9 => Ok(f64::from(n)),
        _ => Err(not_a_length()),
    };
    let (above, below) = number.split_once('/').ok_or_else(not_a_length)?;
    let (ones, above) = match above.trim().rsplit_once([' ', '-']) {
        Some((ones, above)) => (count(ones.trim())?, count(above)?),
        None => (0.0, count(above.trim())?),
    };
    let below = count(below.trim())?;
    if below == 0.0 {
        return Err(LengthError::DividesByZero(whole.to_owned()));
    }
    Ok((ones * below + above) / below)
}

/// `mm` with the nearest 64th of an inch: `6.35 mm (1/4 in)`, or `5.90 mm (≈ 15/64 in)` where they differ.
/// Lengths nearer to 0 than to 1/64 in get no inches.
#[must_use]
pub fn mm_and_inch(mm: f64) -> String {
    let parts = (mm.abs() / INCH * f64::from(PARTS)).round();
    if parts < 1.0 || !mm.is_finite() || mm.abs() > LARGEST_COORDINATE {
        return format!("{mm:.2} mm");
    }
    let sign = if mm < 0.0 { "-" } else { "" };
    let same = is_fraction(mm, parts);
    let shown = if same { digits(mm) } else { format!("{mm:.2}") };
    format!("{shown} mm ({}{sign}{} in)", if same { "" } else { "≈ " }, sixty_fourths(parts as u64))
}

/// ` (9/16 in)` to append to millimetres that are exact 64ths of an inch; else empty.
#[must_use]
pub fn inch_behind(mm: f64) -> String {
    fraction_of_inch(mm).map(|f| format!(" ({f} in)")).unwrap_or_default()
}

/// The length as a fraction of an inch, without the unit: `5/8`, `1 1/4`; none where it is no whole number of 64ths.
#[must_use]
pub fn fraction_of_inch(mm: f64) -> Option<String> {
    let parts = (mm / INCH * f64::from(PARTS)).round();
    (parts >= 1.0 && mm <= LARGEST_COORDINATE && is_fraction(mm, parts)).then(|| sixty_fourths(parts as u64))
}

/// To the hundredth, without trailing zeros. The binary value of 3.175 is slightly smaller, yet people expect 3.18.
#[must_use]
pub fn hundredths(mm: f64) -> String {
    let all = format!("{:.2}", mm + mm.signum() * 1e-9);
    all.trim_end_matches('0').trim_end_matches('.').to_owned()
}

/// Decimal inches, as calipers show them: `0.5625 in`.
#[must_use]
pub fn decimal_inch(mm: f64) -> String {
    format!("{:.4} in", mm / INCH)
}

fn is_fraction(mm: f64, parts: f64) -> bool {
    (parts * INCH / f64::from(PARTS) - mm.abs()).abs() < 1e-6
}

/// Two decimals, or up to four where they are needed.
fn digits(mm: f64) -> String {
    let all = format!("{mm:.4}");
    let short = all.trim_end_matches('0').len();
    let two = all.find('.').map_or(all.len(), |at| at + 3);
    all[..short.max(two)].to_owned()
}

/// `parts` 64ths reduced as on a ruler: `1/4`, `1 1/4`, `2`.
fn sixty_fourths(parts: u64) -> String {
    let whole = u64::from(PARTS);
    let (ones, rest) = (parts / whole, parts % whole);
    if rest == 0 {
        return ones.to_string();
    }
    let shift = rest.trailing_zeros();
    let fraction = format!("{}/{}", rest >> shift, whole >> shift);
    if ones == 0 { fraction } else { format!("{ones} {fraction}") }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn mm(text: &str) -> Result<f64, LengthError> {
        Ok(parse_length(text, Unit::MM)?.mm)
    }

    #[test]
    fn lengths_as_people_write_them() {
        for (text, want) in [
            ("6", 6.0),
            ("6.35", 6.35),
            ("6,35", 6.35),
            (".5", 0.5),
            ("0,125", 0.125),
            ("6mm", 6.0),
            ("6.35 mm", 6.35),
            (" 6.35MM ", 6.35),
            ("0.25in", 6.35),
            ("1/4in", 6.35),
            ("1/4 in", 6.35),
            ("1/4\"", 6.35),
            ("1 1/4in", 31.75),
            ("1 1/4″", 31.75),
            ("1-1/4in", 31.75),
            ("51/64in", 20.240625),
            ("4cm", 40.0),
            ("0.5m", 500.0),
            ("1ft", 304.8),
            ("0", 0.0),
        ] {
            let got = mm(text).unwrap();
            assert!((got - want).abs() < 1e-12 * want.max(1.0), "{text}: {got}");
        }
        assert_eq!(parse_length("1.5", Unit::INCH), Ok(Length { mm: 38.1, inches: false }));
        assert_eq!(parse_length("1.5 feet", Unit::MM), Ok(Length { mm: 457.2, inches: true }));
        assert_eq!(mm("3/8in"), Ok(9.525));
        assert_eq!(parse_length("6mm", Unit::INCH).map(|l| l.mm), Ok(6.0));
    }

    #[test]
    fn what_is_no_length_is_refused_with_what_to_write() {
        assert_eq!(mm("1/4").unwrap_err().to_string(), "1/4 what? Write 1/4in");
        assert_eq!(mm("1 1/4").unwrap_err().to_string(), "1 1/4 what? Write 1 1/4in");
        assert!(matches!(parse_length("1/4", Unit::INCH), Err(LengthError::BareFraction(_))));
        assert_eq!(parse_length_in("1/4", Unit::INCH), Ok(6.35));
        assert_eq!(parse_length_in("1-1/4", Unit::INCH), Ok(31.75));
        assert!(matches!(parse_length_in("1/4", Unit::MM), Err(LengthError::BareFraction(_))));
        for text in ["1-4in", "1--1/4in", "1-in", "1/4-1/2in", "1/4-in", "1-1-1/4in"] {
            assert!(mm(text).is_err(), "{text}");
        }
        assert_eq!(mm(""), Err(LengthError::Empty));
        assert_eq!(mm("  "), Err(LengthError::Empty));
        assert!(matches!(mm("-3"), Err(LengthError::Negative(_))));
        assert!(matches!(mm("−3mm"), Err(LengthError::Negative(_))));
        assert!(matches!(mm("1/0in"), Err(LengthError::DividesByZero(_))));
        assert!(matches!(mm("6 furlong"), Err(LengthError::UnknownUnit { .. })));
        assert!(matches!(mm("1,000"), Err(LengthError::TwoWays(_))));
        for text in ["10000001", "20km", "99999999999999999999", "11000m", "500000in"] {
            let got = mm(text);
            assert!(matches!(got, Err(LengthError::TooLong(_) | LengthError::UnknownUnit { .. })), "{text}: {got:?}");
        }
        assert!(matches!(mm(&"9".repeat(400)), Err(LengthError::TooLong(_))));
        for text in [
            "NaN",
            "inf",
            "infinity",
            "mm",
            "x",
            "1e3",
            "1.2.3",
            "1,2,3",
            "1.000,5",
            "6.",
            "1 000",
            "1/2/3in",
            "/4in",
            "1/in",
            "1.5/4in",
            "+6",
            ".",
            "½in",
            "1 1 1/4in",
            "0x10",
            "٣",
        ] {
            let got = mm(text);
            assert!(
                matches!(got, Err(LengthError::NotALength(_) | LengthError::UnknownUnit { .. })),
                "{text}: {got:?}"
            );
        }
    }

    #[test]
    fn pairs() {
        let pair = |t| parse_pair(t, Unit::MM);
        for text in
            ["400x160", "400X160", "400×160", "400;160", " 400 x 160 ", "400mm x 160mm", "40x16cm", "400 × 160 mm"]
        {
            assert_eq!(pair(text), Ok((400.0, 160.0)), "{text}");
        }
        assert_eq!(pair("400,5;160,25"), Ok((400.5, 160.25)));
        assert_eq!(pair("1/2x1/4in"), Ok((12.7, 6.35)));
        assert_eq!(pair("96px x 192px"), Ok((96.0 * Unit::PX.mm, 192.0 * Unit::PX.mm)));
        assert!(matches!(pair("16in x 8"), Err(LengthError::UnitOnFirstOnly(_))));
        assert!(matches!(pair("1/2x1/4"), Err(LengthError::BareFraction(_))));
        for text in ["", "400", "400x", "x160", "400x160x3", "400,160", "x", "400;;160"] {
            assert!(pair(text).is_err(), "{text}");
        }
    }

    /// W3C CSS Values and Units, absolute lengths: 1in = 2.54cm = 96px, 1cm = 10mm, 1Q = 1/40cm, 1pc = 1/6in,
    /// 1pt = 1/72in; unit names in either case.
    #[test]
    fn css_units() {
        let unit = |s: &str| Unit::parse(s).unwrap().mm;
        let close = |a: f64, b: f64| assert!((a - b).abs() < 1e-12 * b, "{a} {b}");
        close(unit("in"), 2.54 * unit("cm"));
        close(unit("in"), 96.0 * unit("px"));
        close(unit("cm"), 10.0 * unit("mm"));
        close(unit("Q"), unit("cm") / 40.0);
        close(unit("pc"), unit("in") / 6.0);
        close(unit("pt"), unit("in") / 72.0);
        close(unit("PX"), unit("px"));
        assert!((unit("px") - 0.264_583).abs() < 5e-7);
        assert_eq!(Unit::parse("em"), None);
        assert_eq!(Unit::parse(""), None);
    }

    #[test]
    fn lengths_for_people() {
        for (mm, want) in [
            (5.9, "5.90 mm (≈ 15/64 in)"),
            (6.35, "6.35 mm (1/4 in)"),
            (3.175, "3.175 mm (1/8 in)"),
            (14.2875, "14.2875 mm (9/16 in)"),
            (0.396875, "0.3969 mm (1/64 in)"),
            (31.75, "31.75 mm (1 1/4 in)"),
            (25.4, "25.40 mm (1 in)"),
            (50.0, "50.00 mm (≈ 1 31/32 in)"),
            (0.1, "0.10 mm"),
            (0.0, "0.00 mm"),
            (-6.35, "-6.35 mm (-1/4 in)"),
            (-5.9, "-5.90 mm (≈ -15/64 in)"),
        ] {
            assert_eq!(mm_and_inch(mm), want);
        }
        assert_eq!(mm_and_inch(f64::NAN), "NaN mm");
    }

    proptest! {
        #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::with_cases(256) })]

        /// Any number of 64ths reads back as the same length and is shown without ≈.
        #[test]
        fn fractions_come_back(parts in 1_u64..100_000) {
            let text = format!("{}in", sixty_fourths(parts));
            let got = mm(&text).unwrap();
            let want = parts as f64 * INCH / 64.0;
            prop_assert!((got - want).abs() <= 1e-12 * want, "{} {}", text, got);
            prop_assert!(!mm_and_inch(got).contains('≈'));
        }

        /// 64ths convert to exact millimetres, without rounding digits: k · 396875 millionths.
        #[test]
        fn fractions_have_no_stray_digits(parts in 1_u64..100_000) {
            let got = mm(&format!("{}in", sixty_fourths(parts))).unwrap();
            let millionths = parts * 396_875;
            let want = format!("{}.{:06}", millionths / 1_000_000, millionths % 1_000_000);
            let want = want.trim_end_matches('0').trim_end_matches('.');
            prop_assert_eq!(format!("{}", got), want);
            prop_assert_eq!(inch_behind(got), format!(" ({} in)", sixty_fourths(parts)));
        }

        /// The displayed fraction is within half of 1/64 in, and the millimetres within 0.005.
        #[test]
        fn what_is_shown_reads_back(length in 0.2..5000.0_f64) {
            let shown = mm_and_inch(length);
            let (left, right) = shown.split_once(" (").unwrap();
            let inch = mm(right.trim_end_matches(')').trim_start_matches("≈ ")).unwrap();
            prop_assert!((inch - length).abs() <= INCH / 128.0 + 1e-9, "{}", shown);
            prop_assert!((mm(left).unwrap() - length).abs() <= 0.005 + 1e-9, "{}", shown);
        }

        /// Decimals round-trip bit for bit, with point or comma.
        #[test]
        fn decimals_come_back(length in 0.0..1e6_f64) {
            let text = format!("{length}");
            prop_assert_eq!(mm(&text), Ok(length));
            let comma = mm(&text.replace('.', ","));
            prop_assert!(comma == Ok(length) || matches!(comma, Err(LengthError::TwoWays(_))));
        }

        #[test]
        fn no_text_panics(text in "\\PC{0,12}", near in "[0-9 /.,xminp\"×;-]{0,10}") {
            for t in [&text, &near] {
                let _ = parse_pair(t, Unit::MM);
                if let Ok(v) = mm(t) {
                    prop_assert!(v.is_finite() && v >= 0.0);
                }
            }
        }
    }
}
