//! The `transform` of an element, as an affine map in doubles.
//!
//! In: the text of a `transform` attribute or CSS property, and of `transform-origin`. Out: the map from the
//! element's user space to its parent's. Refuses (with `None`) what cannot be read; the caller then leaves the
//! element out, because its place is not known. Source: W3C SVG 2 section 8.5, CSS Transforms 1.

use crate::geom::{Affine, trig};
use svgtypes::{TransformListParser, TransformListToken as T};

/// The map of a transform list; `none` and the empty list are the identity.
pub(super) fn parse(text: &str) -> Option<Affine> {
    let text = text.trim();
    if text == "none" {
        return Some(Affine::IDENTITY);
    }
    list(text).or_else(|| {
        // The CSS form of the same list carries units. Only the two that mean the same number are taken off.
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
            T::Rotate { angle } => {
                let (c, s) = cos_sin(angle);
                Affine::new([c, s, -s, c, 0.0, 0.0])
            }
            T::SkewX { angle } => Affine::new([1.0, 0.0, tan(angle), 1.0, 0.0, 0.0]),
            T::SkewY { angle } => Affine::new([1.0, tan(angle), 0.0, 1.0, 0.0, 0.0]),
        };
    }
    m.is_finite().then_some(m)
}

/// Exact at the quarter turns, so that a turned rectangle stays square to the last bit.
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

/// `m` about the point that `transform-origin` names. Only plain numbers and px are read: the point is then the same
/// whatever the reference box is at the default `transform-box`.
pub(super) fn about(m: Affine, origin: &str) -> Option<Affine> {
    let mut parts = origin.split_whitespace();
    let number = |s: &str| s.strip_suffix("px").unwrap_or(s).parse::<f64>().ok().filter(|v| v.is_finite());
    let (x, y) = (number(parts.next()?)?, number(parts.next()?)?);
    match parts.next() {
        None => Some(Affine::translate((x, y)) * m * Affine::translate((-x, -y))),
        Some(_) => None,
    }
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
        // W3C SVG 2, 8.5: what each function of the list stands for.
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

    #[test]
    fn about_a_point() {
        let m = about(parse("rotate(90)").unwrap(), "10 10px").unwrap();
        assert!((m * Point::new(11.0, 10.0) - Point::new(10.0, 11.0)).hypot() < 1e-12);
        assert!(about(m, "50% 50%").is_none());
    }
}
