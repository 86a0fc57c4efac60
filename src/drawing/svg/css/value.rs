//! Validates the values of the properties that matter for an outline, and decides whether a paint is visible.
//!
//! In: the name of a property and a value. Out: the value in normal form (keywords in small letters), or an error. The
//! cascade then falls back to another declaration, as CSS defines. Sources: W3C SVG 2 chapters 7, 8, 11 and 13, CSS
//! Values and Units, CSS Color 4 and 5, CSS Transforms 2.

use super::super::size;
use super::super::transform;
use super::{cut, function};
use std::borrow::Cow;
use std::str::FromStr;
use svgtypes::Color;

/// The origin of a value. In an attribute a length may omit its unit.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in super::super) enum Given {
    Attribute,
    Sheet,
}

/// Inherited properties, with their initial values.
const INHERITED: [(&str, &str); 16] = [
    ("fill", "#000"),
    ("stroke", "none"),
    ("fill-rule", "nonzero"),
    ("visibility", "visible"),
    ("stroke-width", "1"),
    ("fill-opacity", "1"),
    ("stroke-opacity", "1"),
    ("color", "#000"),
    ("stroke-linecap", "butt"),
    ("stroke-linejoin", "miter"),
    ("stroke-miterlimit", "4"),
    ("stroke-dasharray", "none"),
    ("stroke-dashoffset", "0"),
    ("marker-start", "none"),
    ("marker-mid", "none"),
    ("marker-end", "none"),
];

/// Geometry properties, which a style may set too (SVG 2, 7.3).
pub(in super::super) const GEOMETRY: [&str; 9] = ["x", "y", "width", "height", "cx", "cy", "r", "rx", "ry"];

/// True if the property matters for an outline.
pub(in super::super) fn matters(name: &str) -> bool {
    presentation(name)
        || matches!(
            name,
            "font"
                | "marker"
                | "rotate"
                | "scale"
                | "translate"
                | "mask-image"
                | "offset-path"
                | "zoom"
                | "animation"
                | "animation-name"
                | "all"
                | "content-visibility"
                | "perspective"
        )
}

/// True if an attribute of this name is a presentation attribute.
pub(in super::super) fn presentation(name: &str) -> bool {
    matches!(
        name,
        "fill"
            | "stroke"
            | "stroke-width"
            | "d"
            | "transform"
            | "x"
            | "y"
            | "width"
            | "height"
            | "cx"
            | "cy"
            | "r"
            | "rx"
            | "ry"
            | "fill-rule"
            | "visibility"
            | "fill-opacity"
            | "stroke-opacity"
            | "color"
            | "stroke-linecap"
            | "stroke-linejoin"
            | "stroke-miterlimit"
            | "stroke-dasharray"
            | "stroke-dashoffset"
            | "marker-start"
            | "marker-mid"
            | "marker-end"
            | "display"
            | "opacity"
            | "transform-origin"
            | "transform-box"
            | "clip-path"
            | "mask"
            | "filter"
            | "overflow"
            | "vector-effect"
            | "font-size"
    )
}

/// The initial value of an inherited property; `None` for other properties.
pub(in super::super) fn initial(name: &str) -> Option<&'static str> {
    if name == "font-size" {
        return Some("medium");
    }
    INHERITED.iter().find(|(n, _)| *n == name).map(|(_, v)| *v)
}

/// The CSS-wide keyword in the value, if any.
pub(in super::super) fn wide(value: &str) -> Option<&'static str> {
    ["inherit", "initial", "unset", "revert", "revert-layer"].into_iter().find(|w| value.eq_ignore_ascii_case(w))
}

/// The value in normal form. `Some(Err)` means an unsupported value, and `None` a property that does not matter.
pub(in super::super) fn normal<'v>(name: &str, value: &'v str, given: Given) -> Option<Result<Cow<'v, str>, ()>> {
    let value = value.trim();
    if !matters(name) {
        return None;
    }
    if name == "all" {
        return Some(Err(()));
    }
    if let Some(w) = wide(value) {
        return Some(Ok(w.into()));
    }
    let when = |holds: bool| Some(if holds { Ok(Cow::Borrowed(value)) } else { Err(()) });
    let word = |words: &[&str]| {
        let lower = value.to_ascii_lowercase();
        Some(if words.contains(&lower.as_str()) { Ok(Cow::Owned(lower)) } else { Err(()) })
    };
    match name {
        "fill" | "stroke" => when(paint(value).is_some()),
        "color" => when(colour(value).is_some()),
        "fill-rule" => word(&["nonzero", "evenodd"]),
        "visibility" => word(&["visible", "hidden", "collapse"]),
        "overflow" => {
            let first = value.split_ascii_whitespace().next().unwrap_or("").to_ascii_lowercase();
            let known = ["visible", "hidden", "auto", "scroll", "clip"].contains(&first.as_str());
            Some(if known { Ok(first.into()) } else { Err(()) })
        }
        "stroke-linecap" => word(&["butt", "round", "square"]),
        "stroke-linejoin" => word(&["miter", "round", "bevel"]),
        "vector-effect" => word(&["none", "non-scaling-stroke"]),
        "transform-box" => word(&["view-box", "fill-box", "stroke-box", "content-box", "border-box"]),
        "display" => {
            let lower = value.to_ascii_lowercase();
            let known = lower.split_ascii_whitespace().all(|w| DISPLAY.contains(&w)) && !lower.is_empty();
            Some(if known { Ok(lower.into()) } else { Err(()) })
        }
        "opacity" | "fill-opacity" | "stroke-opacity" => when(share(value).is_some()),
        "stroke-miterlimit" => when(value.parse::<f64>().is_ok_and(|m| m.is_finite() && m >= 0.0)),
        "stroke-width" => when(length(value).is_some_and(|n| n >= 0.0)),
        "stroke-dashoffset" => when(length(value).is_some()),
        "stroke-dasharray" => {
            let none = value.eq_ignore_ascii_case("none");
            let parts = value.split(|c: char| c == ',' || c.is_ascii_whitespace()).filter(|p| !p.is_empty());
            let all = parts.clone().count() > 0 && parts.into_iter().all(|p| length(p).is_some_and(|n| n >= 0.0));
            Some(if none {
                Ok("none".into())
            } else if all {
                Ok(value.into())
            } else {
                Err(())
            })
        }
        "font-size" => when(font_size(value)),
        "transform" if given == Given::Sheet => when(transform::is_css(value)),
        "rotate" | "scale" | "translate" => when(transform::is_single(name, value)),
        "transform-origin" => when(transform::is_origin(value)),
        "width" | "height" | "rx" | "ry" if given == Given::Sheet => {
            let auto = value.eq_ignore_ascii_case("auto");
            Some(if auto {
                Ok("auto".into())
            } else if length(value).is_some_and(|n| n >= 0.0) {
                Ok(value.into())
            } else {
                Err(())
            })
        }
        "r" if given == Given::Sheet => when(length(value).is_some_and(|n| n >= 0.0)),
        "x" | "y" | "cx" | "cy" if given == Given::Sheet => when(length(value).is_some()),
        "d" if given == Given::Sheet => Some(path(value).ok_or(())),
        "clip-path" | "mask" | "mask-image" | "filter" | "marker-start" | "marker-mid" | "marker-end" | "marker"
        | "offset-path" | "animation-name" | "perspective" | "zoom" | "content-visibility"
            if ["none", "normal", "1", "100%", "visible"].iter().any(|n| value.eq_ignore_ascii_case(n)) =>
        {
            Some(Ok("none".into()))
        }
        _ => when(true),
    }
}

const DISPLAY: [&str; 26] = [
    "none",
    "contents",
    "inline",
    "block",
    "inline-block",
    "flex",
    "inline-flex",
    "grid",
    "inline-grid",
    "table",
    "inline-table",
    "flow",
    "flow-root",
    "list-item",
    "run-in",
    "compact",
    "marker",
    "table-row",
    "table-cell",
    "table-column",
    "table-caption",
    "table-row-group",
    "table-header-group",
    "table-footer-group",
    "table-column-group",
    "ruby",
];

/// The number of a length, if its unit is supported. CSS requires a unit, but a browser accepts sizes without one.
fn length(text: &str) -> Option<f64> {
    let (n, unit) = size::split(text)?;
    size::known(&unit).then_some(n)
}

/// True if a geometry property in a style has no unit.
pub(super) fn bare_length(name: &str, text: &str) -> bool {
    GEOMETRY.contains(&name) && size::split(text).is_some_and(|(n, unit)| unit.is_empty() && n != 0.0)
}

/// An opacity, as a number or percentage, from 0 to 1.
pub(in super::super) fn share(text: &str) -> Option<f64> {
    let text = text.trim();
    let n = match text.strip_suffix('%') {
        Some(n) => n.parse::<f64>().ok()? / 100.0,
        None => text.parse::<f64>().ok()?,
    };
    n.is_finite().then_some(n.clamp(0.0, 1.0))
}

/// Keywords of `font-size`, as fractions of `medium` (CSS Fonts 4, 2.5.1; browsers use these fractions).
pub(in super::super) const FONT_SIZES: [(&str, f64); 8] = [
    ("xx-small", 9.0 / 16.0),
    ("x-small", 10.0 / 16.0),
    ("small", 13.0 / 16.0),
    ("medium", 1.0),
    ("large", 18.0 / 16.0),
    ("x-large", 24.0 / 16.0),
    ("xx-large", 2.0),
    ("xxx-large", 3.0),
];

fn font_size(text: &str) -> bool {
    let word = |w: &str| text.eq_ignore_ascii_case(w);
    FONT_SIZES.iter().any(|(n, _)| word(n))
        || word("smaller")
        || word("larger")
        || length(text).is_some_and(|n| n >= 0.0)
}

/// The size in a `font` shorthand.
pub(in super::super) fn font_shorthand(text: &str) -> Option<&str> {
    text.split_ascii_whitespace().map(|w| w.split('/').next().unwrap_or(w)).find(|w| {
        let weight = w.parse::<f64>().is_ok();
        !weight && font_size(w) && !w.eq_ignore_ascii_case("normal")
    })
}

/// The data in `path("…")`. A fill rule before it is ignored.
fn path(text: &str) -> Option<Cow<'_, str>> {
    if text.eq_ignore_ascii_case("none") {
        return Some("none".into());
    }
    let (name, inner) = function(text)?;
    let data = cut(inner, ',').pop()?.trim();
    let quote = data.chars().next().filter(|q| matches!(q, '"' | '\''))?;
    let data = data.strip_prefix(quote)?.strip_suffix(quote)?;
    (name == "path").then(|| data.to_owned().into())
}

/// Red, green, blue.
pub(in super::super) type Rgb = [u8; 3];

/// A colour.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(in super::super) enum Colour {
    /// A visible colour, with its components if it is plain.
    Seen(Option<Rgb>),
    /// Wholly transparent.
    Clear,
    /// `currentColor`.
    Current,
}

/// The paint of a fill or stroke.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(in super::super) enum Paint {
    None,
    Colour(Colour),
    /// The id of a gradient or pattern in this file (empty if elsewhere), and the fallback colour.
    Server(String, Option<Colour>),
    /// The paint of the element that contains the `use` or marker.
    Context,
}

/// Parses a paint; `None` if it is invalid.
pub(in super::super) fn paint(text: &str) -> Option<Paint> {
    let text = text.trim();
    let lower = text.to_ascii_lowercase();
    match lower.as_str() {
        "none" => return Some(Paint::None),
        "context-fill" | "context-stroke" => return Some(Paint::Context),
        _ => {}
    }
    if !lower.starts_with("url(") {
        // An SVG 1.1 colour profile after a colour is not a second colour.
        let plain = lower.split("icc-color(").next().unwrap_or("");
        return colour(plain).map(Paint::Colour);
    }
    let parts = cut(text, ' ');
    let (url, rest) = parts.split_first()?;
    let target = url.get(4..)?.strip_suffix(')')?.trim().trim_matches(['"', '\'']);
    let id = target.strip_prefix('#').unwrap_or("").to_owned();
    let rest = rest.join(" ");
    Some(match rest.to_ascii_lowercase().as_str() {
        "" | "none" => Paint::Server(id, None),
        other => Paint::Server(id, Some(colour(other)?)),
    })
}

/// Parses a colour; `None` if it is invalid.
pub(in super::super) fn colour(text: &str) -> Option<Colour> {
    colour_within(&text.trim().to_ascii_lowercase(), 8)
}

fn colour_within(text: &str, depth: usize) -> Option<Colour> {
    let text = text.trim();
    match text {
        "transparent" => return Some(Colour::Clear),
        "currentcolor" => return Some(Colour::Current),
        _ => {}
    }
    if SYSTEM.contains(&text) {
        return Some(Colour::Seen(None));
    }
    if let Ok(c) = Color::from_str(text) {
        return Some(if c.alpha == 0 { Colour::Clear } else { Colour::Seen(Some([c.red, c.green, c.blue])) });
    }
    let (name, inner) = function(text)?;
    let depth = depth.checked_sub(1)?;
    let commas = cut(inner, ',');
    let (body, alpha) = match cut(inner, '/').as_slice() {
        [body] => (*body, commas.get(3).copied()),
        [body, alpha] => (*body, Some(*alpha)),
        _ => return None,
    };
    let parts = if commas.len() > 1 { commas.len() } else { cut(body, ' ').len() };
    match name.as_str() {
        // A drawing is shown on white paper.
        "light-dark" => {
            let [light, dark] = commas.as_slice() else { return None };
            colour_within(dark, depth)?;
            return colour_within(light, depth);
        }
        "rgb" | "rgba" | "hsl" | "hsla" | "hwb" | "lab" | "lch" | "oklab" | "oklch" if parts < 3 => return None,
        "rgb" | "rgba" | "hsl" | "hsla" | "hwb" | "lab" | "lch" | "oklab" | "oklch" => {}
        "color" if parts >= 4 => {}
        "color-mix" if commas.len() >= 2 => return Some(Colour::Seen(None)),
        _ => return None,
    }
    Some(if alpha.and_then(share) == Some(0.0) { Colour::Clear } else { Colour::Seen(None) })
}

/// Colours that the system sets (CSS Color 4, 6.2).
const SYSTEM: [&str; 20] = [
    "accentcolor",
    "accentcolortext",
    "activetext",
    "buttonborder",
    "buttonface",
    "buttontext",
    "canvas",
    "canvastext",
    "field",
    "fieldtext",
    "graytext",
    "highlight",
    "highlighttext",
    "linktext",
    "mark",
    "marktext",
    "selecteditem",
    "selecteditemtext",
    "visitedtext",
    "windowtext",
];

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn colours_old_and_new() {
        // W3C CSS Color 4 and 5.
        assert_eq!(colour("RED"), Some(Colour::Seen(Some([255, 0, 0]))));
        assert_eq!(colour("light-dark(rgb(0, 0, 0), rgb(255, 255, 255))"), Some(Colour::Seen(Some([0; 3]))));
        for seen in ["oklch(40% 0.2 20)", "color(display-p3 1 0 0)", "lab(50% 20 20)", "color-mix(in srgb, red, blue)"]
        {
            assert_eq!(colour(seen), Some(Colour::Seen(None)), "{seen}");
        }
        for clear in ["transparent", "rgb(0 0 0 / 0)", "rgba(0,0,0,0)", "oklab(50% 0 0 / 0%)", "#0000"] {
            assert_eq!(colour(clear), Some(Colour::Clear), "{clear}");
        }
        for none in ["rgb(red)", "wobble(1 2 3)", "light-dark(red)", "light-dark(red, wobble)", "no-colour", ""] {
            assert_eq!(colour(none), None, "{none}");
        }
    }

    #[test]
    fn paints_with_servers() {
        assert_eq!(paint("url(#A)"), Some(Paint::Server("A".into(), None)));
        assert_eq!(paint("url( '#A' ) red"), Some(Paint::Server("A".into(), colour("red"))));
        assert_eq!(paint("url(other.svg#A) none"), Some(Paint::Server(String::new(), None)));
        assert_eq!(paint("NONE"), Some(Paint::None));
        assert_eq!(paint("url(#A) wobble"), None);
    }
}
