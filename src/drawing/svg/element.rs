//! What one element says of itself, whatever it stands in: whether it draws, whether it applies, its label, its transform.
//!
//! In: an element, and what its style sets. Out: plain answers, or in words what stands in the way. Source: W3C SVG 2
//! chapters 5 and 8.

use super::style::Own;
use super::transform;
use crate::geom::Affine;
use roxmltree::Node;

/// Elements that are defined to draw nothing in their place.
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

/// The conditions of SVG 2 section 5.10; the language is taken to be English, as programs do that are told nothing.
pub(super) fn condition(node: &Node) -> bool {
    if node.attribute("requiredExtensions").is_some_and(|e| !e.trim().is_empty()) {
        return false;
    }
    match node.attribute("systemLanguage") {
        None => true,
        Some(l) => l.split(',').map(str::trim).any(|l| l == "en" || l.starts_with("en-")),
    }
}

/// The label that an editor keeps in a namespace of its own.
pub(super) fn editors_label<'a>(node: &Node<'a, '_>) -> Option<&'a str> {
    node.attributes().find(|a| a.name() == "label" && a.namespace().is_some()).map(|a| a.value())
}

/// The label of a group (a `label` attribute of any editor's namespace), or its id.
pub(super) fn label(node: &Node) -> Option<String> {
    editors_label(node).or(node.attribute("id")).filter(|l| !l.is_empty()).map(str::to_string)
}

/// The element's transform, or in words what stands in the way.
pub(super) fn own_transform(own: &Own) -> Result<Affine, String> {
    let Some(text) = own.get("transform") else { return Ok(Affine::IDENTITY) };
    let m = transform::parse(text).ok_or("elements whose transform cannot be read")?;
    match (own.get("transform-origin"), own.get("transform-box")) {
        (None, _) => Ok(m),
        (Some(_), Some(b)) if b != "view-box" => Err("elements with a transform-box".into()),
        (Some(origin), _) => {
            transform::about(m, origin).ok_or_else(|| "elements whose transform-origin is not two numbers".into())
        }
    }
}
