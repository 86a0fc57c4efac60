//! Writes a copy of the drawing with resolved styles, for a second reader that does not support the styles.
//!
//! In: a document, its style sheet, and the transforms of its elements. Out: the text of a document with the same
//! elements and no style rules. Each element has as attributes the values that the rules set on it. Font-relative
//! lengths become numbers, and transforms become matrices. Inherited values stay inherited. So the second reader reads
//! the tree, shapes, units, viewports and copies independently. Only the styles depend on one reader alone.

use super::css::cascade::{Own, TRANSFORMING};
use super::css::value::{self, Colour, GEOMETRY, Paint, share};
use super::document::{SVG, in_svg};
use super::element::paint_server;
use super::shapes;
use super::size::Lengths;
use super::style::{Style, StyleSheet};
use super::walk::Placed;
use crate::drawing::ReadError;
use roxmltree::{Document, Node};
use std::collections::BTreeSet;
use std::fmt::Write;

const XLINK: &str = "http://www.w3.org/1999/xlink";
const XML: &str = "http://www.w3.org/XML/1998/namespace";

/// Styles of letters and gradients, which the second reader needs.
const OF_LETTERS: [&str; 21] = [
    "alignment-baseline",
    "baseline-shift",
    "clip-rule",
    "direction",
    "dominant-baseline",
    "font-family",
    "font-size-adjust",
    "font-stretch",
    "font-style",
    "font-variant",
    "font-weight",
    "letter-spacing",
    "paint-order",
    "stop-color",
    "stop-opacity",
    "text-anchor",
    "text-decoration",
    "text-rendering",
    "unicode-bidi",
    "word-spacing",
    "writing-mode",
];

/// The text of the document. `lengths` is that of the root.
pub(super) fn text(doc: &Document, sheet: &StyleSheet, placed: &Placed, lengths: Lengths) -> Result<String, ReadError> {
    let servers = doc.descendants().filter(paint_server).filter_map(|n| n.attribute("id")).collect();
    let mut writer = Writer { sheet, placed, lengths, servers, out: String::new() };
    // An explicit stack, so that nesting costs no program stack.
    let mut stack = vec![Visit::Open(doc.root_element(), Style::default())];
    while let Some(step) = stack.pop() {
        match step {
            Visit::Open(node, style) if node.is_element() => {
                if !in_svg(&node) || node.tag_name().name() == "style" {
                    continue;
                }
                let style = writer.open(node, &style)?;
                stack.push(Visit::Close(node));
                stack.extend(node.children().rev().map(|n| Visit::Open(n, style.clone())));
            }
            Visit::Open(node, _) => {
                if let Some(text) = node.text().filter(|_| node.is_text()) {
                    writer.escaped(text);
                }
            }
            Visit::Close(node) => {
                let _ = write!(writer.out, "</{}>", node.tag_name().name());
            }
        }
    }
    Ok(writer.out)
}

enum Visit<'a, 'i> {
    Open(Node<'a, 'i>, Style),
    Close(Node<'a, 'i>),
}

struct Writer<'w> {
    sheet: &'w StyleSheet,
    placed: &'w Placed,
    lengths: Lengths,
    servers: BTreeSet<&'w str>,
    out: String,
}

impl Writer<'_> {
    /// Writes the tag and returns the element's style.
    fn open(&mut self, node: Node, parent: &Style) -> Result<Style, ReadError> {
        let own = self.sheet.own(node, &parent.custom)?;
        let style = parent.child(&own, &self.lengths, |id| self.servers.contains(id));
        let lengths = Lengths { em: style.font_size, ..self.lengths };
        let name = node.tag_name().name();
        let root = node.parent_element().is_none();
        let _ = write!(self.out, "<{name}");
        if root {
            let _ = write!(self.out, " xmlns=\"{SVG}\" xmlns:xlink=\"{XLINK}\"");
        }
        for a in node.attributes() {
            let prefix = match a.namespace() {
                None => "",
                Some(XLINK) => "xlink:",
                Some(XML) => "xml:",
                Some(_) => continue,
            };
            let styled = matches!(a.name(), "style" | "class") || value::presentation(a.name());
            let styled = styled || own.given(a.name()).is_some();
            if !(prefix.is_empty() && styled) {
                let text = match a.name() {
                    "x1" | "y1" | "x2" | "y2" if prefix.is_empty() => lengths.plain(a.value()),
                    _ => a.value().to_owned(),
                };
                self.attribute(&format!("{prefix}{}", a.name()), &text);
            }
        }
        self.styles(node, &own, &style, &lengths);
        if let Some(m) = self.placed.maps.get(&node.id().get_usize()) {
            let [a, b, c, d, e, f] = m.as_coeffs();
            self.attribute("transform", &format!("matrix({a} {b} {c} {d} {e} {f})"));
        }
        self.out.push('>');
        Ok(style)
    }

    fn styles(&mut self, node: Node, own: &Own, style: &Style, lengths: &Lengths) {
        let contents = own.get("display") == Some("contents");
        let name_of = node.tag_name().name();
        for (name, text, given) in own.all() {
            // Other styles have no attribute of the same name.
            if !(value::presentation(name) || OF_LETTERS.contains(&name)) {
                continue;
            }
            // With `display: contents` an element has no effects and no place.
            let effect = matches!(name, "opacity" | "clip-path" | "mask" | "filter");
            if contents && (effect || name_of == "use" && matches!(name, "x" | "y")) {
                continue;
            }
            let plain = match name {
                "font-size" => style.font_size.to_string(),
                "fill" | "stroke" | "color" => paint(text),
                "opacity" | "fill-opacity" | "stroke-opacity" => match share(text) {
                    Some(o) => o.to_string(),
                    None => continue,
                },
                "display" if contents && shapes::NAMES.contains(&name_of) => "none".to_owned(),
                "display" if text != "none" => "inline".to_owned(),
                // The root's width and height are the page's, which is read before all styles.
                "width" | "height" if node.parent_element().is_none() => {
                    let stated = super::size::side_text(&node, Some((text, given)), name);
                    lengths.plain(stated.unwrap_or(text))
                }
                "width" | "height" if matches!(name_of, "svg" | "symbol" | "use") => match node.attribute(name) {
                    Some(stated) => lengths.plain(stated),
                    None => continue,
                },
                "stroke-width" | "stroke-dasharray" | "stroke-dashoffset" => lengths.without_fonts(text),
                _ if GEOMETRY.contains(&name) => lengths.plain(text),
                _ if TRANSFORMING.contains(&name) => continue,
                _ => text.to_owned(),
            };
            if plain != "auto" {
                self.attribute(name, &plain);
            }
        }
        // A shorthand is valid only in a style attribute. `font-size` overrides the size in it.
        if let Some(font) = own.get("font") {
            self.attribute("style", &format!("font:{font};font-size:{}", style.font_size));
        }
    }

    fn attribute(&mut self, name: &str, text: &str) {
        let _ = write!(self.out, " {name}=\"");
        self.escaped(text);
        self.out.push('"');
    }

    fn escaped(&mut self, text: &str) {
        for c in text.chars() {
            match c {
                '<' => self.out.push_str("&lt;"),
                '&' => self.out.push_str("&amp;"),
                '"' => self.out.push_str("&quot;"),
                '\n' | '\r' | '\t' => {
                    let _ = write!(self.out, "&#{};", u32::from(c));
                }
                _ => self.out.push(c),
            }
        }
    }
}

/// A paint in SVG 1.1 syntax. Only the visibility of its colour matters.
fn paint(text: &str) -> String {
    let colour = |c: &Colour| match c {
        Colour::Seen(c) => {
            let [r, g, b] = c.unwrap_or_default();
            format!("#{r:02x}{g:02x}{b:02x}")
        }
        Colour::Clear => "none".to_owned(),
        Colour::Current => "currentColor".to_owned(),
    };
    match value::paint(text) {
        None => text.to_owned(),
        Some(Paint::None) => "none".to_owned(),
        Some(Paint::Colour(c)) => colour(&c),
        Some(Paint::Context) => text.to_ascii_lowercase(),
        Some(Paint::Server(id, other)) => {
            let other = other.map_or_else(|| "none".to_owned(), |c| colour(&c));
            format!("url(#{id}) {other}")
        }
    }
}
