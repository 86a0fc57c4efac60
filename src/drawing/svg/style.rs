//! What of an element's style matters for its outline: whether it is filled, stroked, shown.
//!
//! In: presentation attributes, the `style` attribute, and the rules of `<style>` elements. Out: a [`Style`] for each
//! element, with what it inherits. Not read: colours as such, rules within `@media` and `@import` (said so in a
//! remark). Source: W3C SVG 2 chapters 6, 11 and 13, CSS Cascading.

use super::document::in_svg;
use super::limits;
use crate::drawing::ReadError;
use roxmltree::{Document, Node};
use simplecss::{AttributeOperator, Declaration, DeclarationTokenizer, PseudoClass, StyleSheet};
use std::cell::Cell;
use std::rc::Rc;
use std::str::FromStr;
use svgtypes::{Color, Paint, PaintFallback};

/// The properties that are looked at; the place in this list is where a value is kept.
const PROPERTIES: [&str; 23] = [
    "fill",
    "stroke",
    "fill-rule",
    "visibility",
    "display",
    "stroke-width",
    "transform",
    "transform-origin",
    "transform-box",
    "clip-path",
    "mask",
    "filter",
    "marker-start",
    "marker-mid",
    "marker-end",
    "marker",
    "d",
    "color",
    "stroke-linecap",
    "stroke-linejoin",
    "stroke-miterlimit",
    "stroke-dasharray",
    "stroke-dashoffset",
];

/// Attributes of shapes that a style may set as well (SVG 2, 7.3); that is not read.
const GEOMETRY: [&str; 9] = ["x", "y", "width", "height", "cx", "cy", "r", "rx", "ry"];

/// The values that an element itself sets, by [`PROPERTIES`].
pub(super) struct Own<'a> {
    values: [Option<(&'a str, bool)>; PROPERTIES.len()],
    /// A style sets one of [`GEOMETRY`].
    pub geometry: bool,
}

impl<'a> Own<'a> {
    /// The value of a property, if the element sets it (and does not tell it to inherit).
    pub(super) fn get(&self, name: &str) -> Option<&'a str> {
        let i = PROPERTIES.iter().position(|p| *p == name)?;
        self.values[i].map(|(v, _)| v).filter(|v| *v != "inherit" && *v != "unset")
    }

    /// Whether the property is set to something else than `none`.
    pub(super) fn some(&self, name: &str) -> bool {
        self.get(name).is_some_and(|v| v != "none")
    }

    fn set(&mut self, d: &Declaration<'a>) {
        self.geometry |= GEOMETRY.iter().any(|g| g.eq_ignore_ascii_case(d.name));
        if let Some(i) = PROPERTIES.iter().position(|p| p.eq_ignore_ascii_case(d.name)) {
            // What was marked important is only overruled by what is too.
            if d.important || !matches!(self.values[i], Some((_, true))) {
                self.values[i] = Some((d.value.trim(), d.important));
            }
        }
    }
}

/// What an element inherits and passes on.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Style {
    pub filled: bool,
    pub stroked: bool,
    pub even_odd: bool,
    pub visible: bool,
    /// As written; a length.
    pub stroke_width: String,
    pub markers: bool,
    /// Colours, where they are plain ones.
    pub fill: Option<Rgb>,
    pub stroke: Option<Rgb>,
    current: Option<Rgb>,
    /// How strokes end, turn and break, as written, by [`LINE`]: seldom set.
    pub line: [Option<Rc<str>>; LINE.len()],
}

/// Red, green, blue.
pub(super) type Rgb = [u8; 3];

/// The properties of [`Style::line`].
pub(super) const LINE: [&str; 5] =
    ["stroke-linecap", "stroke-linejoin", "stroke-miterlimit", "stroke-dasharray", "stroke-dashoffset"];

impl Default for Style {
    fn default() -> Self {
        Style {
            filled: true,
            stroked: false,
            even_odd: false,
            visible: true,
            stroke_width: "1".into(),
            markers: false,
            fill: Some([0; 3]),
            stroke: None,
            current: Some([0; 3]),
            line: Default::default(),
        }
    }
}

impl Style {
    /// The style of a child with these values of its own.
    pub(super) fn child(&self, own: &Own, has_id: impl Fn(&str) -> bool) -> Style {
        let mut s = self.clone();
        if let Some(Ok(c)) = own.get("color").map(Color::from_str) {
            s.current = Some([c.red, c.green, c.blue]);
        }
        if let Some((paints, colour)) = own.get("fill").and_then(|v| paints(v, &has_id, s.current)) {
            (s.filled, s.fill) = (paints, colour);
        }
        if let Some((paints, colour)) = own.get("stroke").and_then(|v| paints(v, &has_id, s.current)) {
            (s.stroked, s.stroke) = (paints, colour);
        }
        for (kept, name) in s.line.iter_mut().zip(LINE) {
            if let Some(v) = own.get(name) {
                *kept = Some(v.into());
            }
        }
        match own.get("fill-rule") {
            Some("evenodd") => s.even_odd = true,
            Some("nonzero" | "initial") => s.even_odd = false,
            _ => {}
        }
        match own.get("visibility") {
            Some("hidden" | "collapse") => s.visible = false,
            Some("visible" | "initial") => s.visible = true,
            _ => {}
        }
        if let Some(v) = own.get("stroke-width") {
            s.stroke_width = v.to_string();
        }
        for marker in ["marker-start", "marker-mid", "marker-end", "marker"] {
            match own.get(marker) {
                Some("none") => s.markers = false,
                Some(_) => s.markers = true,
                None => {}
            }
        }
        s
    }
}

/// Whether a paint leaves anything on the page, and its colour; `None` for a value that is not one. Opacity does not
/// count: a faint shape is still drawn, but the keyword `transparent` is how programs write that there is none.
fn paints(value: &str, has_id: &impl Fn(&str) -> bool, current: Option<Rgb>) -> Option<(bool, Option<Rgb>)> {
    match value {
        "initial" => return None,
        "transparent" => return Some((false, None)),
        _ => {}
    }
    let plain = |c: Color| (c.alpha > 0, Some([c.red, c.green, c.blue]));
    Some(match Paint::from_str(value).ok()? {
        Paint::None => (false, None),
        Paint::Inherit => return None,
        Paint::Color(c) => plain(c),
        Paint::CurrentColor => (true, current),
        Paint::ContextFill | Paint::ContextStroke => (true, None),
        Paint::FuncIRI(id, _) if has_id(id) => (true, None),
        Paint::FuncIRI(_, None | Some(PaintFallback::None)) => (false, None),
        Paint::FuncIRI(_, Some(PaintFallback::CurrentColor)) => (true, current),
        Paint::FuncIRI(_, Some(PaintFallback::Color(c))) => plain(c),
    })
}

/// The style rules of a document.
pub(super) struct Sheet<'a> {
    sheet: StyleSheet<'a>,
    steps: Cell<u64>,
    /// Rules that were passed over: `@media`, `@import`.
    pub unread: usize,
}

impl<'a> Sheet<'a> {
    pub(super) fn of(doc: &'a Document) -> Sheet<'a> {
        let mut sheet = StyleSheet::new();
        let mut unread = 0;
        for node in doc.descendants().filter(|n| n.has_tag_name("style") || in_style(n)) {
            if !matches!(node.attribute("type"), None | Some("" | "text/css")) {
                continue;
            }
            for text in node.children().filter_map(|n| n.text()) {
                unread += text.matches("@media").count() + text.matches("@import").count();
                sheet.parse_more(text);
            }
        }
        Sheet { sheet, steps: Cell::new(0), unread }
    }

    /// Steps of matching so far.
    pub(super) fn steps(&self) -> u64 {
        self.steps.get()
    }

    /// What `node` sets for itself: attributes first, then rules by weight, then the `style` attribute.
    pub(super) fn own<'b>(&'b self, node: Node<'b, '_>) -> Result<Own<'b>, ReadError> {
        let mut own = Own { values: [None; PROPERTIES.len()], geometry: false };
        for a in node.attributes().filter(|a| a.namespace().is_none()) {
            if let Some(i) = PROPERTIES.iter().position(|p| *p == a.name()) {
                own.values[i] = Some((a.value().trim(), false));
            }
        }
        for rule in &self.sheet.rules {
            if rule.selector.matches(&Matched { node, steps: &self.steps }) {
                rule.declarations.iter().for_each(|d| own.set(d));
            }
            if self.steps.get() > limits::STYLE_STEPS {
                return Err(ReadError::Refused { what: "the style rules are too many for the elements".into() });
            }
        }
        if let Some(style) = node.attribute("style") {
            DeclarationTokenizer::from(style).for_each(|d| own.set(&d));
        }
        Ok(own)
    }
}

fn in_style(node: &Node) -> bool {
    node.is_element() && in_svg(node) && node.tag_name().name() == "style"
}

/// An element as the rules see it. Every question counts, because a rule with many blanks can ask very many; past the
/// limit there are no more parents, so that the asking ends.
struct Matched<'b, 'a, 'i> {
    node: Node<'a, 'i>,
    steps: &'b Cell<u64>,
}

impl Matched<'_, '_, '_> {
    fn step(&self) -> bool {
        self.steps.set(self.steps.get() + 1);
        self.steps.get() <= limits::STYLE_STEPS
    }
}

impl simplecss::Element for Matched<'_, '_, '_> {
    fn parent_element(&self) -> Option<Self> {
        let node = self.step().then(|| self.node.parent_element())??;
        Some(Matched { node, steps: self.steps })
    }

    fn prev_sibling_element(&self) -> Option<Self> {
        let node = self.step().then(|| self.node.prev_sibling_element())??;
        Some(Matched { node, steps: self.steps })
    }

    fn has_local_name(&self, name: &str) -> bool {
        self.step() && self.node.tag_name().name() == name
    }

    fn attribute_matches(&self, name: &str, operator: AttributeOperator<'_>) -> bool {
        self.step() && self.node.attribute(name).is_some_and(|v| operator.matches(v))
    }

    fn pseudo_class_matches(&self, class: PseudoClass<'_>) -> bool {
        self.step() && matches!(class, PseudoClass::FirstChild) && self.node.prev_sibling_element().is_none()
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn style(svg: &str) -> Style {
        let doc = Document::parse(svg).unwrap();
        let sheet = Sheet::of(&doc);
        let node = doc.descendants().find(|n| n.attribute("id") == Some("x")).unwrap();
        let mut chain: Vec<Node> = node.ancestors().filter(Node::is_element).collect();
        chain.reverse();
        let has_id = |id: &str| doc.descendants().any(|n| n.attribute("id") == Some(id));
        chain.iter().fold(Style::default(), |s, n| s.child(&sheet.own(*n).unwrap(), has_id))
    }

    #[test]
    fn the_order_of_weight() {
        // W3C SVG 2, 6.6: a presentation attribute weighs less than any rule; CSS Cascading: id over class over
        // element, the style attribute over all, !important over that.
        assert!(style("<svg><path id='x'/></svg>").filled);
        assert!(!style("<svg><path id='x' fill='none'/></svg>").filled);
        assert!(style("<svg><style>path{fill:red}</style><path id='x' fill='none'/></svg>").filled);
        assert!(
            !style("<svg><style>#x{fill:none} .a{fill:red} path{fill:red}</style><path id='x' class='b a'/></svg>")
                .filled
        );
        assert!(style("<svg><style>#x{fill:none}</style><path id='x' style='fill:red'/></svg>").filled);
        assert!(!style("<svg><style>path{fill:none !important}</style><path id='x' style='fill:red'/></svg>").filled);
        assert!(!style("<svg><style>g > path{fill:none}</style><g><path id='x'/></g></svg>").filled);
        assert!(!style("<svg><style><![CDATA[ g path{fill:none} ]]></style><g><g><path id='x'/></g></g></svg>").filled);
    }

    #[test]
    fn what_is_inherited() {
        let s = style(
            "<svg fill='none' stroke='red'><g fill-rule='evenodd' visibility='hidden'><path id='x' visibility='visible'/></g></svg>",
        );
        assert!(!s.filled && s.stroked && s.even_odd && s.visible);
        assert!(!style("<svg fill='none'><path id='x' fill='inherit'/></svg>").filled);
        assert!(!style("<svg fill='none'><path id='x' fill='no-such-colour'/></svg>").filled);
    }

    #[test]
    fn paints_of_all_kinds() {
        let is = |v: &str| style(&format!("<svg><linearGradient id='g'/><path id='x' fill='{v}'/></svg>")).filled;
        assert!(is("url(#g)") && is("url(#missing) red") && is("#fff") && is("rgb(1,2,3)") && is("currentColor"));
        assert!(!is("url(#missing)") && !is("url(#missing) none") && !is("transparent") && !is("rgba(0,0,0,0)"));
    }

    #[test]
    fn rules_that_never_end_are_refused() {
        let rule = format!("{} z{{fill:none}}", "g ".repeat(12));
        let svg = format!("<svg><style>{rule}</style>{}<z id='x'/>{}</svg>", "<g>".repeat(300), "</g>".repeat(300));
        let doc = Document::parse(&svg).unwrap();
        let node = doc.descendants().find(|n| n.attribute("id") == Some("x")).unwrap();
        // This one matches at once; one that cannot match has to try every choice.
        assert!(Sheet::of(&doc).own(node).is_ok());
        let svg = svg.replacen("g g", "q g", 1);
        let doc = Document::parse(&svg).unwrap();
        let node = doc.descendants().find(|n| n.attribute("id") == Some("x")).unwrap();
        assert!(matches!(Sheet::of(&doc).own(node), Err(ReadError::Refused { .. })));
    }
}
