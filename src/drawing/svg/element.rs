//! Answers questions about one element alone: whether it draws, whether it applies, its label and its transform.
//!
//! In: an element and the values of its style. Out: the answers, or a message. Source: W3C SVG 2 chapters 5 and 8.

use super::css::cascade::{Own, TRANSFORMING};
use super::css::value::Given;
use super::size::Lengths;
use super::transform::{self, Reference};
use crate::geom::{Affine, Rect, Vec2};
use roxmltree::Node;

/// True for elements that draw nothing in their place.
pub(super) fn draws_nothing(name: &str) -> bool {
    matches!(
        name,
        "defs"
            | "symbol"
            | "clipPath"
            | "mask"
            | "pattern"
            | "marker"
            | "linearGradient"
            | "radialGradient"
            | "filter"
            | "style"
            | "title"
            | "desc"
            | "metadata"
            | "view"
            | "animate"
            | "animateMotion"
            | "animateTransform"
            | "animateColor"
            | "set"
            | "discard"
            | "mpath"
            | "cursor"
            | "font"
            | "font-face"
            | "color-profile"
            | "solidColor"
            | "solidcolor"
            | "meshgradient"
            | "hatch"
    )
}

/// True if shapes can be painted with the element.
pub(super) fn paint_server(node: &Node) -> bool {
    matches!(
        node.tag_name().name(),
        "linearGradient" | "radialGradient" | "pattern" | "hatch" | "meshgradient" | "solidColor" | "solidcolor"
    )
}

/// The conditions of SVG 2 section 5.10. The language is English, the usual default of programs.
pub(super) fn condition(node: &Node) -> bool {
    if node.attribute("requiredExtensions").is_some_and(|e| !e.trim().is_empty()) {
        return false;
    }
    match node.attribute("systemLanguage") {
        None => true,
        Some(l) => l.split(',').map(str::trim).any(|l| l == "en" || l.starts_with("en-")),
    }
}

/// The label in an editor's own namespace.
pub(super) fn editors_label<'a>(node: &Node<'a, '_>) -> Option<&'a str> {
    node.attributes().find(|a| a.name() == "label" && a.namespace().is_some()).map(|a| a.value())
}

/// The label of a group: a `label` attribute in any editor's namespace, or else the id.
pub(super) fn label(node: &Node) -> Option<String> {
    editors_label(node).or(node.attribute("id")).filter(|l| !l.is_empty()).map(str::to_string)
}

/// The element's transform, or a message. `lengths` gives the reference of its lengths and the box of the viewport.
/// `own_box` computes the box of the shape when the transform needs it.
pub(super) fn own_transform(
    own: &Own,
    lengths: Lengths,
    own_box: impl FnOnce() -> Option<Rect>,
) -> Result<Affine, String> {
    if own.all().all(|(name, ..)| !TRANSFORMING.contains(&name)) {
        return Ok(Affine::IDENTITY);
    }
    let (w, h) = lengths.viewport;
    let rect = match own.get("transform-box") {
        None | Some("view-box") => Rect::new(0.0, 0.0, w, h),
        Some("fill-box" | "content-box") => own_box().ok_or("elements with a transform-box whose box is not known")?,
        Some(other) => return Err(format!("elements with the transform-box {other}")),
    };
    let r = Reference { lengths, rect };
    let fault = || "elements whose transform cannot be read".to_owned();
    let mut m = Affine::IDENTITY;
    for name in ["translate", "rotate", "scale"] {
        if let Some(text) = own.get(name) {
            m *= transform::single(name, text, &r).ok_or_else(fault)?;
        }
    }
    m *= match own.given("transform") {
        None => Affine::IDENTITY,
        Some((text, Given::Attribute)) => transform::parse(text).ok_or_else(fault)?,
        Some((text, Given::Sheet)) => transform::css(text, &r).ok_or_else(fault)?,
    };
    // SVG's origin is the corner of the box. HTML's is the centre.
    let about = match own.get("transform-origin") {
        Some(text) => transform::origin(text, &r).ok_or("elements whose transform-origin cannot be read")?,
        None => Vec2::new(rect.x0, rect.y0),
    };
    if about == Vec2::ZERO {
        return Ok(m);
    }
    Ok(Affine::translate(about) * m * Affine::translate(-about))
}
