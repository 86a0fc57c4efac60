//! Reads the `transform` of an element as an affine map in double precision.
//!
//! In: the text of a `transform` attribute or CSS property, and of `transform-origin`. Out: the map from the element's
//! user space to its parent's. Returns `None` for invalid text. The caller then leaves the element out, because its
//! place is unknown. Source: W3C SVG 2 section 8.5, CSS Transforms 1.

use super::size::{self, Axis, Lengths};
use crate::geom::{Affine, Rect, Vec2, trig};
use svgtypes::{TransformListParser, TransformListToken as T};

/// The map of a transform list. `none` and the empty list give the identity.
pub(super) fn parse(text: &str) -> Option<Affine> {
    let text = text.trim();
    if text == "none" {
        return Some(Affine::IDENTITY);
    }
    list(text).or_else(|| {
        // The CSS form of the list has units. Remove only the two that mean the same number.
        let css = text.to_ascii_lowercase().replace("skewx", "skewX").replace("skewy", "skewY");
        list(&css.replace("deg", "").replace("px", ""))
    })
}

fn list(text: &str) -> Option<Affine> {
    let mut m = Affine::IDENTITY;
    for token in TransformListParser::from(text) {
        m *= match token.ok()? {
            T::Matrix { a, b, c, d, e, f } => Affine::new([a, b, c, d, e, f]),
            T::Translate { tx, ty } => Affine::translate((tx, ty)),
            T::Scale { sx, sy } => Affine::scale_non_uniform(sx, sy),
            T::Rotate { angle } => turned(angle),
            T::SkewX { angle } => Affine::new([1.0, 0.0, tan(angle), 1.0, 0.0, 0.0]),
            T::SkewY { angle } => Affine::new([1.0, tan(angle), 0.0, 1.0, 0.0, 0.0]),
        };
    }
    m.is_finite().then_some(m)
}

/// Exact at quarter turns, so that a rotated rectangle stays square to the last bit.
fn cos_sin(degrees: f64) -> (f64, f64) {
    let d = degrees.rem_euclid(360.0);
    if d == 0.0 {
        (1.0, 0.0)
    } else if d == 90.0 {
        (0.0, 1.0)
    } else if d == 180.0 {
        (-1.0, 0.0)
    } else if d == 270.0 {
        (0.0, -1.0)
    } else {
        let r = d.to_radians();
        (trig::cos(r), trig::sin(r))
    }
}

fn tan(degrees: f64) -> f64 {
    trig::tan(degrees.to_radians())
}

/// The reference of lengths and percentages in a transform.
#[derive(Clone, Copy, Debug)]
pub(super) struct Reference {
    pub lengths: Lengths,
    /// The box of the nearest viewport or of the shape.
    pub rect: Rect,
}

impl Reference {
    /// A substitute for checking only the form of a value.
    const FORM: Reference = Reference {
        lengths: Lengths { viewport: (1.0, 1.0), dpi: 96.0, em: 1.0, rem: 1.0 },
        rect: Rect::new(0.0, 0.0, 1.0, 1.0),
    };

    /// A length along one axis. CSS requires a unit unless the length is 0.
    fn length(&self, text: &str, axis: Axis) -> Option<f64> {
        let (n, unit) = size::split(text)?;
        let side = if matches!(axis, Axis::X) { self.rect.width() } else { self.rect.height() };
        match unit.as_str() {
            "" if n != 0.0 => None,
            "%" => Some(n / 100.0 * side),
            _ => self.lengths.user(text, axis),
        }
    }

    /// A coordinate within the box.
    fn place(&self, text: &str, axis: Axis) -> Option<f64> {
        let (from, side) = match axis {
            Axis::X => (self.rect.x0, self.rect.width()),
            _ => (self.rect.y0, self.rect.height()),
        };
        let share = match (text, axis) {
            ("left", Axis::X) | ("top", Axis::Y) => 0.0,
            ("center", _) => 0.5,
            ("right", Axis::X) | ("bottom", Axis::Y) => 1.0,
            // Attributes omit the unit.
            _ => return self.length(text, axis).or_else(|| number(text)).map(|n| from + n),
        };
        Some(from + share * side)
    }
}

fn number(text: &str) -> Option<f64> {
    text.trim().parse::<f64>().ok().filter(|v| v.is_finite())
}

/// A number, or a percentage as a fraction of 1.
fn factor(text: &str) -> Option<f64> {
    text.trim().strip_suffix('%').map_or_else(|| number(text), |n| number(n).map(|n| n / 100.0))
}

/// An angle, in degrees.
fn angle(text: &str) -> Option<f64> {
    let (n, unit) = size::split(text)?;
    Some(match unit.as_str() {
        "deg" => n,
        "grad" => n * 0.9,
        "rad" => n.to_degrees(),
        "turn" => n * 360.0,
        "" if n == 0.0 => 0.0,
        _ => return None,
    })
}

fn turned(degrees: f64) -> Affine {
    let (c, s) = cos_sin(degrees);
    Affine::new([c, s, -s, c, 0.0, 0.0])
}

/// The map of the CSS property `transform`. Three-dimensional functions are supported only where the result stays in
/// the plane.
pub(super) fn css(text: &str, r: &Reference) -> Option<Affine> {
    let mut m = Affine::IDENTITY;
    let mut rest = text.trim();
    if rest.eq_ignore_ascii_case("none") {
        return Some(m);
    }
    while !rest.is_empty() {
        let (name, behind) = rest.split_once('(')?;
        let (inner, behind) = behind.split_once(')')?;
        let arguments: Vec<&str> = inner.split(',').map(str::trim).collect();
        m *= step(name.trim().to_ascii_lowercase().as_str(), &arguments, r)?;
        rest = behind.trim_start();
    }
    m.is_finite().then_some(m)
}

fn step(name: &str, arguments: &[&str], r: &Reference) -> Option<Affine> {
    let x = |t: &str| r.length(t, Axis::X);
    let y = |t: &str| r.length(t, Axis::Y);
    Some(match (name, arguments) {
        ("matrix", [a, b, c, d, e, f]) => {
            Affine::new([number(a)?, number(b)?, number(c)?, number(d)?, number(e)?, number(f)?])
        }
        ("translate" | "translatex", [tx]) => Affine::translate((x(tx)?, 0.0)),
        ("translate", [tx, ty]) => Affine::translate((x(tx)?, y(ty)?)),
        ("translatey", [ty]) => Affine::translate((0.0, y(ty)?)),
        ("translate3d", [tx, ty, tz]) => {
            x(tz)?;
            Affine::translate((x(tx)?, y(ty)?))
        }
        ("scale", [s]) => Affine::scale(factor(s)?),
        ("scale", [sx, sy]) => Affine::scale_non_uniform(factor(sx)?, factor(sy)?),
        ("scale3d", [sx, sy, sz]) => {
            factor(sz)?;
            Affine::scale_non_uniform(factor(sx)?, factor(sy)?)
        }
        ("scalex", [s]) => Affine::scale_non_uniform(factor(s)?, 1.0),
        ("scaley", [s]) => Affine::scale_non_uniform(1.0, factor(s)?),
        ("rotate" | "rotatez", [a]) => turned(angle(a)?),
        ("skewx", [a]) => Affine::new([1.0, 0.0, tan(angle(a)?), 1.0, 0.0, 0.0]),
        ("skewy", [a]) => Affine::new([1.0, tan(angle(a)?), 0.0, 1.0, 0.0, 0.0]),
        ("skew", [a]) => Affine::new([1.0, 0.0, tan(angle(a)?), 1.0, 0.0, 0.0]),
        ("skew", [a, b]) => Affine::new([1.0, tan(angle(b)?), tan(angle(a)?), 1.0, 0.0, 0.0]),
        ("translatez", [z]) => x(z).map(|_| Affine::IDENTITY)?,
        ("scalez", [s]) => factor(s).map(|_| Affine::IDENTITY)?,
        _ => return None,
    })
}

/// The map of one of the CSS properties `rotate`, `scale` and `translate`.
pub(super) fn single(name: &str, text: &str, r: &Reference) -> Option<Affine> {
    let lower = text.trim().to_ascii_lowercase();
    if lower == "none" {
        return Some(Affine::IDENTITY);
    }
    let parts: Vec<&str> = lower.split_ascii_whitespace().collect();
    Some(match (name, parts.as_slice()) {
        ("rotate", [a] | ["z", a] | [a, "z"] | ["0", "0", "1", a]) => turned(angle(a)?),
        ("scale", [s]) => Affine::scale(factor(s)?),
        ("scale", [sx, sy]) => Affine::scale_non_uniform(factor(sx)?, factor(sy)?),
        ("translate", [tx]) => Affine::translate((r.length(tx, Axis::X)?, 0.0)),
        ("translate", [tx, ty]) => Affine::translate((r.length(tx, Axis::X)?, r.length(ty, Axis::Y)?)),
        _ => return None,
    })
}

/// The origin of a transform.
pub(super) fn origin(text: &str, r: &Reference) -> Option<Vec2> {
    let lower = text.trim().to_ascii_lowercase();
    let parts: Vec<&str> = lower.split([' ', '\t', '\n', ',']).filter(|p| !p.is_empty()).collect();
    let upright = |t: &str| matches!(t, "top" | "bottom");
    let (x, y) = match parts.as_slice() {
        [y] if upright(y) => ("center", *y),
        [x] => (*x, "center"),
        [y, x] if upright(y) || matches!(*x, "left" | "right") => (*x, *y),
        [x, y] => (*x, *y),
        [x, y, z] => {
            r.length(z, Axis::X).filter(|z| *z == 0.0)?;
            (*x, *y)
        }
        _ => return None,
    };
    Some(Vec2::new(r.place(x, Axis::X)?, r.place(y, Axis::Y)?))
}

pub(super) fn is_css(text: &str) -> bool {
    css(text, &Reference::FORM).is_some()
}

pub(super) fn is_single(name: &str, text: &str) -> bool {
    single(name, text, &Reference::FORM).is_some()
}

pub(super) fn is_origin(text: &str) -> bool {
    origin(text, &Reference::FORM).is_some()
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::geom::Point;

    fn maps(text: &str, from: (f64, f64), to: (f64, f64)) {
        let p = parse(text).unwrap() * Point::from(from);
        assert!((p - Point::from(to)).hypot() < 1e-12, "{text}: {p:?}");
    }

    #[test]
    fn every_kind() {
        // W3C SVG 2, 8.5: the meaning of each function.
        maps("translate(3)", (1.0, 2.0), (4.0, 2.0));
        maps("translate(3,-4)", (1.0, 2.0), (4.0, -2.0));
        maps("scale(2)", (1.0, 2.0), (2.0, 4.0));
        maps("scale(2 3)", (1.0, 2.0), (2.0, 6.0));
        maps("rotate(90)", (1.0, 0.0), (0.0, 1.0));
        maps("rotate(90, 10, 10)", (11.0, 10.0), (10.0, 11.0));
        maps("skewX(45)", (1.0, 2.0), (3.0, 2.0));
        maps("skewY(45)", (1.0, 2.0), (1.0, 3.0));
        maps("matrix(1 2 3 4 5 6)", (1.0, 1.0), (9.0, 12.0));
        // The list applies from right to left.
        maps("translate(10,0) scale(2)", (1.0, 1.0), (12.0, 2.0));
        maps("rotate(90deg) translate(2px, 0px)", (0.0, 0.0), (0.0, 2.0));
        maps("none", (1.0, 1.0), (1.0, 1.0));
        maps("", (1.0, 1.0), (1.0, 1.0));
    }

    #[test]
    fn what_cannot_be_read() {
        assert!(parse("rotate(10").is_none());
        assert!(parse("turn(10)").is_none());
        assert!(parse("rotate(50%)").is_none());
    }

    const BOX: Reference = Reference { rect: Rect::new(10.0, 20.0, 110.0, 70.0), ..Reference::FORM };

    #[test]
    fn the_point_that_it_is_about() {
        // W3C CSS Transforms 1, section 6; the attribute's numbers are px.
        for (text, x, y) in [
            ("10 10px", 20.0, 30.0),
            ("50% 50%", 60.0, 45.0),
            ("center", 60.0, 45.0),
            ("top right", 110.0, 20.0),
            ("bottom", 60.0, 70.0),
            ("left 5px 0", 10.0, 25.0),
        ] {
            assert_eq!(origin(text, &BOX), Some(Vec2::new(x, y)), "{text}");
        }
        assert_eq!(origin("1px 2px 3px", &BOX), None);
        assert_eq!(origin("here", &BOX), None);
    }

    #[test]
    fn css_functions_and_properties() {
        // W3C CSS Transforms 1, section 12, and 2, section 7.
        let at = |text: &str| css(text, &BOX).map(|m| m * Point::new(1.0, 0.0));
        for (text, x, y) in [
            ("translate(10px)", 11.0, 0.0),
            ("translate(10%, 10%)", 11.0, 5.0),
            ("ROTATE(0.25turn)translateX(1px)", 0.0, 2.0),
            ("rotate(100grad)", 0.0, 1.0),
            ("scale(50%, 3)", 0.5, 0.0),
            ("skew(0, 45deg)", 1.0, 1.0),
            ("translate3d(1px, 2px, 0)", 2.0, 2.0),
            ("matrix(1, 2, 3, 4, 5, 6)", 6.0, 8.0),
        ] {
            let p = at(text).unwrap();
            assert!((p - Point::new(x, y)).hypot() < 1e-12, "{text}: {p:?}");
        }
        for none in ["rotate(45)", "translate(10)", "rotateX(10deg)", "translate(1px 2px)", "scale(2", "matrix3d(1)"] {
            assert_eq!(at(none), None, "{none}");
        }
        let one = |name: &str, text: &str| single(name, text, &BOX).map(|m| m * Point::new(1.0, 1.0));
        assert_eq!(one("rotate", "90deg"), Some(Point::new(-1.0, 1.0)));
        assert_eq!(one("scale", "2 300%"), Some(Point::new(2.0, 3.0)));
        assert_eq!(one("translate", "1px 50%"), Some(Point::new(2.0, 26.0)));
        assert_eq!(one("rotate", "x 90deg"), None);
    }
}
