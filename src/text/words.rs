//! Texts for people that keep lengths as numbers. The same text can be shown in millimetres or in inches.
//!
//! In: a form with places `{}`, and the parts that fill them. Out: [`Words`], which [`Words::shown`] turns into text.
//! Inside [`Words`] lengths are in mm and areas in mm².

use super::number::rounded;
use crate::units::{INCH, fraction_of_inch};
use std::fmt;

/// The unit of figures for people.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Show {
    #[default]
    Mm,
    Inch,
}

impl Show {
    /// The symbol after a number: `mm` or `in`.
    #[must_use]
    pub fn symbol(self) -> &'static str {
        match self {
            Show::Mm => "mm",
            Show::Inch => "in",
        }
    }
}

/// How a length is shown.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Form {
    /// 70.00 mm, 2.756 in.
    Fixed,
    /// 3.5 mm, 0.138 in.
    Plain,
    /// 35.0 mm, 1.38 in.
    Tenth,
    /// 480 mm, 18.90 in.
    Whole,
    /// 0.05 mm, 0.002 in.
    Gap,
    /// 20 mm, 15.88 mm (5/8 in); 5/8 in, 0.787 in (20 mm).
    Tool,
    /// 2.99 mm, 0.117 in: rounded down.
    AtMost,
    /// 3.01 mm, 0.119 in: rounded up.
    AtLeast,
    /// As typed for an option: 0.29, 0.0114in; rounded down.
    Typed,
    /// As typed for an option: 0.3, 0.0119in; rounded up.
    TypedUp,
}

/// A length and the form in which it is shown.
#[derive(Clone, Copy, Debug, PartialEq)]
pub struct Length {
    mm: f64,
    form: Form,
    /// The nearest 64th of an inch is added if inches are shown.
    fraction: bool,
}

/// A size that calipers read: two decimals.
#[must_use]
pub fn fixed(mm: f64) -> Length {
    Length::new(mm, Form::Fixed)
}

/// At most two decimals, without trailing zeros.
#[must_use]
pub fn plain(mm: f64) -> Length {
    Length::new(mm, Form::Plain)
}

/// To the tenth of a millimetre, as a place is measured with a rule.
#[must_use]
pub fn tenth(mm: f64) -> Length {
    Length::new(mm, Form::Tenth)
}

/// To the millimetre.
#[must_use]
pub fn whole(mm: f64) -> Length {
    Length::new(mm, Form::Whole)
}

/// A gap per side: two decimals, or three if the third is not 0.
#[must_use]
pub fn gap(mm: f64) -> Length {
    Length::new(mm, Form::Gap)
}

/// The nominal size of a bush or cutter. The tool's own unit is always given: `15.88 mm (5/8 in)`.
#[must_use]
pub fn tool(mm: f64) -> Length {
    Length::new(mm, Form::Tool)
}

/// Rounded down, for "at most".
#[must_use]
pub fn at_most(mm: f64) -> Length {
    Length::new(mm, Form::AtMost)
}

/// Rounded up, for "at least".
#[must_use]
pub fn at_least(mm: f64) -> Length {
    Length::new(mm, Form::AtLeast)
}

/// The value of an option, rounded up.
#[must_use]
pub fn typed_up(mm: f64) -> Length {
    Length::new(mm, Form::TypedUp)
}

/// The value of an option, rounded down.
#[must_use]
pub fn typed(mm: f64) -> Length {
    Length::new(mm, Form::Typed)
}

impl Length {
    fn new(mm: f64, form: Form) -> Length {
        Length { mm, form, fraction: false }
    }

    /// Adds the nearest 64th of an inch if inches are shown.
    #[must_use]
    pub fn with_fraction(mut self) -> Length {
        self.fraction = true;
        self
    }

    /// The number without its unit.
    #[must_use]
    pub fn number(self, show: Show) -> String {
        // Halves round away from zero. The nudge covers doubles slightly below a half.
        let nudge = |v: f64| v + v.signum() * 1e-9;
        let decimals = |v: f64, d: usize| no_minus_zero(format!("{:.d$}", nudge(v)));
        let trimmed = |v: f64, d: usize| rounded(nudge(v), d).unwrap_or_else(|_| v.to_string());
        let v = match show {
            Show::Mm => self.mm,
            Show::Inch => self.mm / INCH,
        };
        let cut = |per: f64, round: fn(f64) -> f64, slack: f64| round(v * per + slack) / per;
        match (self.form, show) {
            (Form::Fixed, Show::Mm) => decimals(v, 2),
            (Form::Fixed | Form::Plain | Form::Gap, Show::Inch) => decimals(v, 3),
            (Form::Plain | Form::Tool, Show::Mm) => trimmed(v, 2),
            (Form::Tool, Show::Inch) => fraction_of_inch(self.mm).unwrap_or_else(|| decimals(v, 3)),
            (Form::Tenth, Show::Mm) => decimals(v, 1),
            (Form::Tenth, Show::Inch) => decimals(v, 2),
            (Form::Whole, Show::Mm) => decimals(v, 0),
            (Form::Whole, Show::Inch) => decimals(v, 2),
            (Form::Gap, Show::Mm) => {
                let fine = trimmed(v, 3);
                let short = decimals(v, 2);
                if fine.len() > short.len() { fine } else { short }
            }
            (Form::AtMost, Show::Mm) => trimmed(cut(100.0, f64::floor, 1e-6), 2),
            (Form::AtMost, Show::Inch) => decimals(cut(1000.0, f64::floor, 1e-6), 3),
            (Form::AtLeast, Show::Mm) => trimmed(cut(100.0, f64::ceil, -1e-6), 2),
            (Form::AtLeast, Show::Inch) => decimals(cut(1000.0, f64::ceil, -1e-6), 3),
            (Form::Typed, Show::Mm) => trimmed(cut(100.0, f64::floor, 1e-6), 2),
            (Form::TypedUp, Show::Mm) => trimmed(cut(100.0, f64::ceil, -1e-6), 2),
            (Form::TypedUp, Show::Inch) => trimmed(cut(10_000.0, f64::ceil, -1e-6), 4),
            (Form::Typed, Show::Inch) => trimmed(cut(10_000.0, f64::floor, 1e-6), 4),
        }
    }

    /// The number with its unit.
    #[must_use]
    pub fn shown(self, show: Show) -> String {
        let number = self.number(show);
        match (self.form, show) {
            (Form::Typed | Form::TypedUp, Show::Mm) => number,
            (Form::Typed | Form::TypedUp, Show::Inch) => format!("{number}in"),
            (Form::Tool, _) => self.tool_shown(number, show),
            (_, Show::Inch) if self.fraction => format!("{number} in{}", self.behind()),
            (_, show) => format!("{number} {}", show.symbol()),
        }
    }

    /// The nearest 64th to follow decimal inches: ` (≈ 2 3/4)`.
    fn behind(self) -> String {
        let parts = (self.mm.abs() / INCH * 64.0).round();
        if parts < 1.0 || !parts.is_finite() {
            return String::new();
        }
        let near = parts * INCH / 64.0;
        let about = if (near - self.mm.abs()).abs() < 1e-6 { "" } else { "≈ " };
        fraction_of_inch(near).map(|f| format!(" ({about}{f})")).unwrap_or_default()
    }

    fn tool_shown(self, number: String, show: Show) -> String {
        let fraction = fraction_of_inch(self.mm);
        match (show, fraction) {
            (Show::Mm, Some(inch)) => format!("{number} mm ({inch} in)"),
            (Show::Mm, None) => format!("{number} mm"),
            (Show::Inch, Some(inch)) => format!("{inch} in"),
            (Show::Inch, None) => format!("{number} in ({} mm)", self.number(Show::Mm)),
        }
    }
}

/// The nearest 64ths to follow a width and a height: ` (≈ 2 3/4 × 1 27/64)`.
fn both_fractions(w: Length, h: Length) -> String {
    let (w, h) = (w.behind(), h.behind());
    let bare = |s: &str| s.trim_start_matches(" (").trim_end_matches(')').trim_start_matches("≈ ").to_owned();
    if w.is_empty() || h.is_empty() {
        return String::new();
    }
    let about = if w.contains('≈') || h.contains('≈') { "≈ " } else { "" };
    format!(" ({about}{} × {})", bare(&w), bare(&h))
}

fn no_minus_zero(number: String) -> String {
    match number.strip_prefix('-') {
        Some(rest) if rest.chars().all(|c| c == '0' || c == '.') => rest.to_owned(),
        _ => number,
    }
}

#[derive(Clone, Debug, PartialEq)]
enum Part {
    Text(String),
    Length(Length),
    /// Width and height.
    Pair(Length, Length),
    /// mm².
    Area(f64),
}

/// A text that keeps its lengths as numbers. `Display` shows them in millimetres.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Words(Vec<Part>);

/// The number of places `{}` in a form.
#[must_use]
pub const fn places(form: &str) -> usize {
    let bytes = form.as_bytes();
    let (mut i, mut n) = (0, 0);
    while i + 1 < bytes.len() {
        if bytes[i] == b'{' && bytes[i + 1] == b'}' {
            n += 1;
            i += 1;
        }
        i += 1;
    }
    n
}

/// [`Words`] from a literal form with places `{}` and their parts. The compiler checks that there are as many parts
/// as places.
#[macro_export]
macro_rules! words {
    ($form:literal $(, $part:expr)* $(,)?) => {{
        const _: () = assert!($crate::text::places($form) == [$(stringify!($part)),*].len() as usize);
        $crate::text::Words::from_form($form, [$($crate::text::Words::from($part)),*])
    }};
}

impl Words {
    /// A form with its places filled by `parts`. [`words!`](crate::words) also checks their number.
    #[must_use]
    pub fn from_form<const N: usize>(form: &str, parts: [Words; N]) -> Words {
        let mut out = Words::default();
        let mut parts = parts.into_iter();
        for (i, text) in form.split("{}").enumerate() {
            if i > 0 {
                out.push(parts.next().unwrap_or_default());
            }
            out.push(text.into());
        }
        out
    }

    /// Appends `other`.
    pub fn push(&mut self, other: Words) {
        for part in other.0 {
            match (self.0.last_mut(), part) {
                (_, Part::Text(t)) if t.is_empty() => {}
                (Some(Part::Text(last)), Part::Text(t)) => last.push_str(&t),
                (_, part) => self.0.push(part),
            }
        }
    }

    /// The texts of `list`, separated by `between`.
    #[must_use]
    pub fn join(list: impl IntoIterator<Item = Words>, between: &str) -> Words {
        let mut out = Words::default();
        for (i, words) in list.into_iter().enumerate() {
            if i > 0 {
                out.push(between.into());
            }
            out.push(words);
        }
        out
    }

    /// Width and height: `70.00 × 33.72 mm`.
    #[must_use]
    pub fn pair(width: Length, height: Length) -> Words {
        Words(vec![Part::Pair(width, height)])
    }

    /// An area in mm². It is shown with one decimal below 10 mm², else without decimals; in square inches with two.
    #[must_use]
    pub fn area(mm2: f64) -> Words {
        Words(vec![Part::Area(mm2)])
    }

    /// Whether it contains `text` when shown in millimetres.
    #[must_use]
    pub fn contains(&self, text: &str) -> bool {
        self.to_string().contains(text)
    }

    #[must_use]
    pub fn is_empty(&self) -> bool {
        self.0.is_empty()
    }

    /// The text in one unit.
    #[must_use]
    pub fn shown(&self, show: Show) -> String {
        let mut out = String::new();
        for part in &self.0 {
            match part {
                Part::Text(t) => out.push_str(t),
                Part::Length(l) => out.push_str(&l.shown(show)),
                Part::Pair(w, h) => {
                    out.push_str(&format!("{} × {} {}", w.number(show), h.number(show), show.symbol()));
                    if show == Show::Inch && w.fraction && h.fraction {
                        out.push_str(&both_fractions(*w, *h));
                    }
                }
                Part::Area(a) if show == Show::Inch => out.push_str(&format!("{:.2} in²", a / INCH / INCH)),
                Part::Area(a) if *a < 10.0 => out.push_str(&format!("{a:.1} mm²")),
                Part::Area(a) => out.push_str(&format!("{a:.0} mm²")),
            }
        }
        out
    }
}

impl fmt::Display for Words {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        f.write_str(&self.shown(Show::Mm))
    }
}

impl From<&str> for Words {
    fn from(text: &str) -> Words {
        if text.is_empty() { Words::default() } else { Words(vec![Part::Text(text.to_owned())]) }
    }
}

impl From<String> for Words {
    fn from(text: String) -> Words {
        Words::from(text.as_str())
    }
}

impl From<&String> for Words {
    fn from(text: &String) -> Words {
        Words::from(text.as_str())
    }
}

impl From<Length> for Words {
    fn from(length: Length) -> Words {
        Words(vec![Part::Length(length)])
    }
}

impl From<usize> for Words {
    fn from(n: usize) -> Words {
        n.to_string().into()
    }
}

impl From<u32> for Words {
    fn from(n: u32) -> Words {
        n.to_string().into()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// At 25.4 mm per inch: 70 mm is 2.7559 in, 20 mm is 0.7874 in, 5/8 in is 15.875 mm.
    #[test]
    fn lengths_in_both_units() {
        for (length, mm, inch) in [
            (fixed(70.0), "70.00 mm", "2.756 in"),
            (fixed(69.855).with_fraction(), "69.86 mm", "2.750 in (≈ 2 3/4)"),
            (fixed(63.5).with_fraction(), "63.50 mm", "2.500 in (2 1/2)"),
            (plain(3.5), "3.5 mm", "0.138 in"),
            (plain(3.175), "3.18 mm", "0.125 in"),
            (tenth(35.04), "35.0 mm", "1.38 in"),
            (tenth(-0.01), "0.0 mm", "0.00 in"),
            (whole(480.0), "480 mm", "18.90 in"),
            (gap(0.05), "0.05 mm", "0.002 in"),
            (gap(0.1625), "0.163 mm", "0.006 in"),
            (gap(0.0), "0.00 mm", "0.000 in"),
            (tool(20.0), "20 mm", "0.787 in (20 mm)"),
            (tool(15.875), "15.88 mm (5/8 in)", "5/8 in"),
            (at_most(2.995), "2.99 mm", "0.117 in"),
            (at_least(3.0012), "3.01 mm", "0.119 in"),
            (at_most(3.0), "3 mm", "0.118 in"),
            (typed(0.297), "0.29", "0.0116in"),
        ] {
            assert_eq!((length.shown(Show::Mm).as_str(), length.shown(Show::Inch).as_str()), (mm, inch));
        }
    }

    #[test]
    fn a_form_is_filled_in_order() {
        let neck = words!("Neck {} wide; {} needs {}.", plain(4.2), "the cutter", plain(6.0));
        assert_eq!(neck.to_string(), "Neck 4.2 mm wide; the cutter needs 6 mm.");
        let both = words!("{} Or more: {}.", neck, Words::join(["a".into(), words!("{}", 2_usize)], ", "));
        assert_eq!(both.shown(Show::Inch), "Neck 0.165 in wide; the cutter needs 0.236 in. Or more: a, 2.");
        assert_eq!(Words::pair(fixed(70.0), fixed(33.72)).shown(Show::Inch), "2.756 × 1.328 in");
        assert_eq!((places("{} and {}"), places("none"), places("{{}")), (2, 0, 1));
    }
}
