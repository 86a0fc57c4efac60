//! Finds the size of the drawing: viewports, `viewBox`, and lengths with units.
//!
//! In: the root element and the settings. Out: a [`Viewport`], with the source of the size and the map from the root's
//! user space to millimetres. User space has y down; the map's image has y up and its origin at the bottom left of the
//! page. Refuses settings that are not lengths. Sources: W3C SVG 2 sections 8.2 to 8.9, CSS Values and Units (absolute
//! lengths).

use super::css::cascade::Own;
use super::css::value::Given;
use crate::drawing::{ReadError, ReadSettings};
use crate::geom::Affine;
use crate::tolerance::ROUNDING;
use crate::units::{CSS_PX_PER_INCH, INCH, Unit};
use roxmltree::Node;
use svgtypes::{Align, AspectRatio, ViewBox};

/// The root viewport.
#[derive(Clone, Debug)]
pub(super) struct Viewport {
    /// Map from root user space to mm, y up.
    pub to_mm: Affine,
    /// True if the page has a bottom left corner. Otherwise the bounding box gives the origin.
    pub anchored: bool,
    /// Width and height of 100 %, user units.
    pub user: (f64, f64),
    /// Length of a CSS pixel of the root viewport, mm.
    pub px: f64,
    /// Length of a CSS pixel before a given unit scaled the page, mm.
    pub css_px: f64,
    /// Height of the page, mm; 0 without a page.
    pub height: f64,
    pub unit: Unit,
    pub unit_source: String,
    pub unit_guessed: bool,
    /// Font size of the root, user units.
    pub rem: f64,
    /// Messages on invalid sizes.
    pub faults: Vec<String>,
}

/// A width or height of the root.
#[derive(Clone, Copy)]
enum RootLength {
    /// A length in a real unit.
    Real {
        mm: f64,
        unit: Unit,
    },
    Px(f64),
    /// Absent, `auto` or a percentage.
    Open,
}

/// The font size `medium`, which applies if no size is set, px. CSS leaves it to the program; all programs use this
/// value.
pub(super) const FONT_PX: f64 = 16.0;

/// The number and the unit of a CSS length; the unit in small letters.
pub(super) fn split(text: &str) -> Option<(f64, String)> {
    let text = text.trim();
    let end = text
        .char_indices()
        .find(|&(i, c)| {
            let exponent = matches!(c, 'e' | 'E')
                && text[i + 1..].trim_start_matches(['+', '-']).starts_with(|d: char| d.is_ascii_digit());
            !(c.is_ascii_digit() || matches!(c, '.' | '+' | '-') || exponent)
        })
        .map_or(text.len(), |(i, _)| i);
    let n: f64 = text[..end].parse().ok()?;
    n.is_finite().then(|| (n, text[end..].trim().to_ascii_lowercase()))
}

/// True if [`Lengths::user`] supports the unit, which is in small letters.
pub(super) fn known(unit: &str) -> bool {
    matches!(unit, "" | "px" | "%" | "em" | "rem" | "ex" | "ch") || real_unit(unit).is_some()
}

/// True if a length depends on the letters of a font. Half the font size is used instead.
pub(super) fn assumes(text: &str) -> bool {
    split(text).is_some_and(|(_, u)| matches!(u.as_str(), "ex" | "ch"))
}

/// True if the second reader does not support the unit of a length.
pub(super) fn only_here(text: &str) -> bool {
    split(text).is_some_and(|(_, u)| matches!(u.as_str(), "rem" | "ch" | "q"))
}

/// The text of the root's width or height. A length in a style outranks the attribute. A percentage in a style does
/// not, because it does not give the size of the drawing.
pub(super) fn side_text<'o>(svg: &Node<'o, '_>, own: Option<(&'o str, Given)>, name: &str) -> Option<&'o str> {
    match own {
        Some((text, Given::Sheet)) if split(text).is_some_and(|(n, u)| n > 0.0 && u != "%") => Some(text),
        _ => svg.attribute(name),
    }
}

fn real_unit(symbol: &str) -> Option<Unit> {
    Some(match symbol {
        "mm" => Unit::MM,
        "cm" => Unit::CM,
        "in" => Unit::INCH,
        "pt" => Unit::POINT,
        "pc" => Unit::PICA,
        "q" => Unit::Q,
        _ => return None,
    })
}

/// The reference of a percentage.
#[derive(Clone, Copy)]
pub(super) enum Axis {
    X,
    Y,
    Diagonal,
}

/// The reference of the lengths of an element.
#[derive(Clone, Copy, Debug)]
pub(super) struct Lengths {
    /// Width and height of the nearest viewport, user units.
    pub viewport: (f64, f64),
    /// Pixels an inch.
    pub dpi: f64,
    /// Font size of the element, user units.
    pub em: f64,
    /// Font size of the root element, user units.
    pub rem: f64,
}

impl Lengths {
    /// A length in user units. `None` for invalid text and for units of the window. The height of an x and the width of
    /// a 0 count as half the font size. CSS Values and Units defines this for unknown fonts.
    pub(super) fn user(&self, text: &str, axis: Axis) -> Option<f64> {
        let (n, unit) = split(text)?;
        let (w, h) = self.viewport;
        Some(match unit.as_str() {
            "" | "px" => n,
            "%" => {
                n / 100.0
                    * match axis {
                        Axis::X => w,
                        Axis::Y => h,
                        Axis::Diagonal => ((w * w + h * h) / 2.0).sqrt(),
                    }
            }
            "em" => n * self.em,
            "rem" => n * self.rem,
            "ex" | "ch" => n * self.em / 2.0,
            u => n * real_unit(u)?.mm / INCH * self.dpi,
        })
    }

    /// A length in units that the second reader supports.
    pub(super) fn plain(&self, text: &str) -> String {
        match split(text) {
            Some((n, u)) if u == "q" => format!("{}mm", n * Unit::Q.mm),
            _ => self.without_fonts(text),
        }
    }

    /// A list of lengths as children inherit it: font-relative lengths become user units, the others stay as written.
    pub(super) fn without_fonts(&self, text: &str) -> String {
        let parts = text.split(|c: char| c == ',' || c.is_ascii_whitespace()).filter(|p| !p.is_empty());
        let one = |p: &str| match split(p) {
            Some((_, u)) if matches!(u.as_str(), "em" | "rem" | "ex" | "ch") => {
                self.user(p, Axis::Diagonal).map_or_else(|| p.to_owned(), |n| n.to_string())
            }
            _ => p.to_owned(),
        };
        parts.map(one).collect::<Vec<_>>().join(" ")
    }
}

/// `viewBox` and `preserveAspectRatio` of an element.
pub(super) fn view_box(node: &Node) -> Option<ViewBox> {
    let vb: ViewBox = node.attribute("viewBox")?.parse().ok()?;
    [vb.x, vb.y, vb.w, vb.h].iter().all(|v| v.is_finite()).then_some(vb)
}

pub(super) fn aspect(node: &Node) -> AspectRatio {
    node.attribute("preserveAspectRatio").and_then(|a| a.parse().ok()).unwrap_or_default()
}

/// Maps the view box into a viewport of `w` × `h`. `sx` and `sy` are the scales that would stretch it to fill the
/// viewport.
fn placed(vb: ViewBox, aspect: AspectRatio, (w, h): (f64, f64), (sx, sy): (f64, f64)) -> Affine {
    let s = if aspect.slice { sx.max(sy) } else { sx.min(sy) };
    // Scales that differ only by rounding are equal. Otherwise a circle would become an ellipse.
    let (sx, sy) = if aspect.align == Align::None && (sx - sy).abs() > ROUNDING * s { (sx, sy) } else { (s, s) };
    let share = |min: bool, mid: bool| {
        if min {
            0.0
        } else if mid {
            0.5
        } else {
            1.0
        }
    };
    use Align::*;
    let (ax, ay) = (
        share(
            matches!(aspect.align, None | XMinYMin | XMinYMid | XMinYMax),
            matches!(aspect.align, XMidYMin | XMidYMid | XMidYMax),
        ),
        share(
            matches!(aspect.align, None | XMinYMin | XMidYMin | XMaxYMin),
            matches!(aspect.align, XMinYMid | XMidYMid | XMaxYMid),
        ),
    );
    // Remaining room within rounding is 0.
    let room = |r: f64, of: f64| if r.abs() <= ROUNDING * of { 0.0 } else { r };
    let tx = room(w - vb.w * sx, w) * ax - vb.x * sx;
    let ty = room(h - vb.h * sy, h) * ay - vb.y * sy;
    Affine::new([sx, 0.0, 0.0, sy, tx, ty])
}

/// The map of a nested viewport of `w` × `h`, from its user space to that of its corner.
pub(super) fn nested(vb: ViewBox, aspect: AspectRatio, w: f64, h: f64) -> Affine {
    placed(vb, aspect, (w, h), (w / vb.w, h / vb.h))
}

/// The root's viewport. `own` holds the values of its styles. `rem` is its font size, px.
pub(super) fn root(svg: &Node, own: &Own, rem: f64, settings: &ReadSettings) -> Result<Viewport, ReadError> {
    let dpi = settings.dpi.unwrap_or(CSS_PX_PER_INCH);
    if !(dpi.is_finite() && dpi > 0.0) || settings.unit.is_some_and(|u| !(u.mm.is_finite() && u.mm > 0.0)) {
        return Err(ReadError::Refused { what: "--unit and --dpi must be more than 0".into() });
    }
    let px = Unit::px_at(dpi);
    let mut faults = Vec::new();
    let mut side = |name: &str| -> RootLength {
        let Some(text) = side_text(svg, own.given(name), name) else { return RootLength::Open };
        let fault = || format!("{name}={:?} is not a usable length", text);
        match split(text) {
            Some((n, u)) if n > 0.0 && (u.is_empty() || u == "px") => RootLength::Px(n),
            Some((n, u)) if n > 0.0 && matches!(u.as_str(), "em" | "rem") => RootLength::Px(n * rem),
            Some((n, u)) if n > 0.0 && matches!(u.as_str(), "ex" | "ch") => RootLength::Px(n * rem / 2.0),
            Some((_, u)) if u == "%" => RootLength::Open,
            Some((n, u)) if n > 0.0 && real_unit(&u).is_some() => {
                let unit = real_unit(&u).unwrap_or(Unit::MM);
                RootLength::Real { mm: n * unit.mm, unit }
            }
            None if matches!(text.trim(), "" | "auto") => RootLength::Open,
            _ => {
                faults.push(fault());
                RootLength::Open
            }
        }
    };
    let (width, height) = (side("width"), side("height"));
    let vb = view_box(svg);
    if svg.has_attribute("viewBox") && vb.is_none() {
        faults.push("its viewBox is not four numbers with a width and height".into());
    }
    let mm = |s: RootLength| match s {
        RootLength::Real { mm, .. } => Some(mm),
        RootLength::Px(n) => Some(n * px.mm),
        RootLength::Open => None,
    };
    let size = match (mm(width), mm(height), vb) {
        (Some(w), Some(h), _) => Some((w, h)),
        (Some(w), None, Some(vb)) => Some((w, w / vb.w * vb.h)),
        (None, Some(h), Some(vb)) => Some((h / vb.h * vb.w, h)),
        (None, None, Some(vb)) => Some((vb.w * px.mm, vb.h * px.mm)),
        (_, _, None) => None,
    };
    let stated = match (width, height) {
        (RootLength::Real { unit, .. }, _) => Some((unit, "width")),
        (_, RootLength::Real { unit, .. }) => Some((unit, "height")),
        _ => None,
    };
    let view = match (vb, size) {
        (Some(vb), Some((w, h))) => placed(vb, aspect(svg), (w, h), (w / vb.w, h / vb.h)),
        _ => Affine::scale(px.mm),
    };
    let (unit, unit_source, unit_guessed) =
        believed(settings, px, dpi, stated.filter(|_| vb.is_some()), stated.is_some(), svg, own);
    // A given unit is the unit of the drawing's numbers. The page scales with them.
    let [sx, _, _, sy, tx, ty] = view.as_coeffs();
    let (scale, view) = match settings.unit {
        Some(u) => {
            let f = u.mm / sx;
            let sy = if sx == sy { u.mm } else { sy * f };
            (f, Affine::new([u.mm, 0.0, 0.0, sy, tx * f, ty * f]))
        }
        None => (1.0, view),
    };
    let height = size.map_or(0.0, |s| s.1) * scale;
    let user = match (vb, size) {
        (Some(vb), _) => (vb.w, vb.h),
        // Otherwise there is no size either. Programs for the format use 100 × 100.
        (None, s) => s.map_or((100.0, 100.0), |(w, h)| (w / px.mm, h / px.mm)),
    };
    let to_mm = Affine::new([1.0, 0.0, 0.0, -1.0, 0.0, height]) * view;
    if !to_mm.is_finite() || !to_mm.determinant().is_normal() {
        return Err(ReadError::Refused { what: "the size of the page is out of range".into() });
    }
    Ok(Viewport {
        to_mm,
        anchored: size.is_some(),
        user,
        px: px.mm * scale,
        css_px: px.mm,
        height,
        unit,
        unit_source,
        unit_guessed,
        rem,
        faults,
    })
}

/// The unit, its source as a noun phrase that follows "size from", and whether it is a guess.
fn believed(
    settings: &ReadSettings,
    px: Unit,
    dpi: f64,
    stated: Option<(Unit, &str)>,
    page_stated: bool,
    svg: &Node,
    own: &Own,
) -> (Unit, String, bool) {
    if let Some(u) = settings.unit {
        return (u, format!("--unit {}", u.symbol), false);
    }
    if let Some((unit, name)) = stated {
        let (value, _) = side_text(svg, own.given(name), name).and_then(split).unwrap_or_default();
        let (w, h) = view_box(svg).map_or((0.0, 0.0), |vb| (vb.w, vb.h));
        let view = if name == "width" { format!("{w} wide") } else { format!("{h} high") };
        return (unit, format!("the drawing's page {name}, {value} {} (viewBox {view})", unit.symbol), false);
    }
    let counts = if page_stated { "a page size but no viewBox in the file" } else { "no unit in the file" };
    match settings.dpi {
        Some(_) => (px, format!("--dpi {dpi} ({counts})"), false),
        None => (px, format!("a guess: {counts}, {dpi} px an inch"), true),
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Point;
    use roxmltree::Document;

    fn view(attributes: &str, settings: &ReadSettings) -> Viewport {
        let text = format!("<svg {attributes}/>");
        let doc = Document::parse(&text).unwrap();
        root(&doc.root_element(), &Own::default(), FONT_PX, settings).unwrap()
    }

    fn maps(attributes: &str, from: (f64, f64), to: (f64, f64)) {
        let p = view(attributes, &ReadSettings::default()).to_mm * Point::from(from);
        assert!((p - Point::from(to)).hypot() < 1e-9, "{attributes}: {p:?}");
    }

    #[test]
    fn css_lengths() {
        // W3C CSS Values and Units: 1in = 2.54cm = 96px, 1pt = 1/72in, 1pc = 1/6in, 1Q = 1/40cm.
        let l = Lengths { viewport: (200.0, 100.0), dpi: 96.0, em: 20.0, rem: 10.0 };
        for (text, px) in
            [("1in", 96.0), ("2.54cm", 96.0), ("25.4mm", 96.0), ("72pt", 96.0), ("6pc", 96.0), ("1PX", 1.0)]
        {
            assert!((l.user(text, Axis::X).unwrap() - px).abs() < 1e-12, "{text}");
        }
        assert!((l.user("101.6Q", Axis::X).unwrap() - 96.0).abs() < 1e-12);
        assert_eq!(l.user("1e1", Axis::X), Some(10.0));
        assert_eq!(l.user("50%", Axis::X), Some(100.0));
        assert_eq!(l.user("50%", Axis::Y), Some(50.0));
        assert!((l.user("100%", Axis::Diagonal).unwrap() - 25000f64.sqrt()).abs() < 1e-12);
        assert_eq!(l.user("1.5em", Axis::X), Some(30.0));
        assert_eq!(l.user("1.5rem", Axis::X), Some(15.0));
        assert_eq!(l.user("1ex", Axis::X), Some(10.0));
        assert_eq!(l.user("1vw", Axis::X), None);
        assert_eq!(l.without_fonts("1em, 2mm 3"), "20 2mm 3");
        assert_eq!(l.user("wide", Axis::X), None);
        assert_eq!(l.user("1e999", Axis::X), None);
    }

    #[test]
    fn real_units_and_a_view_box() {
        maps("width='100mm' height='50mm' viewBox='0 0 100 50'", (10.0, 10.0), (10.0, 40.0));
        maps("width='4in' height='2in' viewBox='0 0 4 2'", (1.0, 2.0), (25.4, 0.0));
        maps("width='10cm' height='5cm' viewBox='-50 -25 100 50'", (0.0, 0.0), (50.0, 25.0));
        maps("width='100mm' viewBox='0 0 200 50'", (200.0, 50.0), (100.0, 0.0));
        let v = view("width='100mm' height='50mm' viewBox='0 0 100 50'", &ReadSettings::default());
        assert!(!v.unit_guessed && v.anchored && v.unit == Unit::MM);
        // Equal to the last bit: a millimetre is a millimetre.
        assert_eq!(v.to_mm.as_coeffs(), [1.0, 0.0, 0.0, -1.0, 0.0, 50.0]);
    }

    #[test]
    fn pixels() {
        let px = 25.4 / 96.0;
        maps("width='96' height='96px'", (96.0, 0.0), (25.4, 25.4));
        maps("viewBox='0 0 24 24'", (24.0, 24.0), (24.0 * px, 0.0));
        maps("width='100%' height='100%' viewBox='0 0 24 24'", (24.0, 24.0), (24.0 * px, 0.0));
        maps("", (96.0, 96.0), (25.4, -25.4));
        assert!(!view("", &ReadSettings::default()).anchored);
        assert!(view("width='5' height='5'", &ReadSettings::default()).unit_guessed);
        let v = view("width='90' height='90'", &ReadSettings { dpi: Some(90.0), ..ReadSettings::default() });
        assert!(!v.unit_guessed);
        assert!((v.to_mm * Point::new(90.0, 90.0) - Point::new(25.4, 0.0)).hypot() < 1e-12);
        // A page in mm without a viewBox still has user units of 1 px (SVG 2, 8.2).
        maps("width='254mm' height='254mm'", (96.0, 0.0), (25.4, 254.0));
        assert!(view("width='254mm' height='254mm'", &ReadSettings::default()).unit_guessed);
    }

    #[test]
    fn a_unit_that_was_given() {
        let settings = ReadSettings { unit: Some(Unit::MM), ..ReadSettings::default() };
        let v = view("width='24' height='24' viewBox='0 0 240 240'", &settings);
        assert_eq!(v.to_mm.as_coeffs(), [1.0, 0.0, 0.0, -1.0, 0.0, 240.0]);
        assert!(!v.unit_guessed);
        let bad = ReadSettings { dpi: Some(0.0), ..ReadSettings::default() };
        let doc = Document::parse("<svg/>").unwrap();
        assert!(root(&doc.root_element(), &Own::default(), FONT_PX, &bad).is_err());
    }

    #[test]
    fn aspect_ratios() {
        // W3C SVG 2, 8.7: a view box 100 × 50 in a viewport 100 × 100 mm.
        let vp = "width='100mm' height='100mm' viewBox='0 0 100 50'";
        maps(vp, (0.0, 0.0), (0.0, 75.0));
        maps(&format!("{vp} preserveAspectRatio='xMinYMin'"), (0.0, 0.0), (0.0, 100.0));
        maps(&format!("{vp} preserveAspectRatio='xMaxYMax meet'"), (0.0, 50.0), (0.0, 0.0));
        maps(&format!("{vp} preserveAspectRatio='xMidYMid slice'"), (50.0, 25.0), (50.0, 50.0));
        maps(&format!("{vp} preserveAspectRatio='xMidYMid slice'"), (25.0, 0.0), (0.0, 100.0));
        maps(&format!("{vp} preserveAspectRatio='none'"), (100.0, 50.0), (100.0, 0.0));
    }

    #[test]
    fn sizes_that_are_none() {
        assert_eq!(view("width='-5' height='wide' viewBox='0 0 0 5'", &ReadSettings::default()).faults.len(), 3);
        maps("width='0' height='0' viewBox='0 0 96 96'", (0.0, 0.0), (0.0, 25.4));
    }
}
