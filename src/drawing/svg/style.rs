//! The parts of an element's style that matter for its outline: fill, stroke and visibility.
//!
//! In: the element's own values ([`Own`]) and the style of its parent. Out: its [`Style`]. Source: W3C SVG 2 chapters
//! 6, 11 and 13, CSS Fonts 4 section 2.5.

pub(super) use super::css::cascade::{Own, StyleSheet};
use super::css::custom::Vars;
pub(super) use super::css::value::Rgb;
use super::css::value::{self, Colour, Paint, share};
use super::size::{FONT_PX, Lengths};
use std::rc::Rc;

/// The inherited style of an element.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Style {
    pub filled: bool,
    pub stroked: bool,
    pub even_odd: bool,
    pub visible: bool,
    /// A length, as written.
    pub stroke_width: Rc<str>,
    /// Markers at the start, in the middle and at the end.
    pub markers: [bool; 3],
    /// The colours, if they are plain.
    pub fill: Option<Rgb>,
    pub stroke: Option<Rgb>,
    current: Option<Rgb>,
    current_clear: bool,
    /// Whether there is a fill and a stroke paint, and whether its opacity is 0.
    fill_paints: bool,
    stroke_paints: bool,
    fill_clear: bool,
    stroke_clear: bool,
    /// Line caps, joins and dashes, as written, in the order of [`LINE`]. Rarely set.
    pub line: [Option<Rc<str>>; LINE.len()],
    /// Font size, user units.
    pub font_size: f64,
    pub custom: Rc<Vars>,
}

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
            markers: [false; 3],
            fill: Some([0; 3]),
            stroke: None,
            current: Some([0; 3]),
            current_clear: false,
            fill_paints: true,
            stroke_paints: false,
            fill_clear: false,
            stroke_clear: false,
            line: Default::default(),
            font_size: FONT_PX,
            custom: Rc::default(),
        }
    }
}

impl Style {
    /// The style of a child with these own values. `lengths` is the reference of the parent's lengths.
    pub(super) fn child(&self, own: &Own, lengths: &Lengths, has_server: impl Fn(&str) -> bool) -> Style {
        let mut s = self.clone();
        if own.is_empty() {
            return s;
        }
        if let Some(custom) = &own.custom {
            s.custom = custom.clone();
        }
        if let Some(size) = own.get("font-size").and_then(|v| font_size(v, self.font_size, lengths)) {
            s.font_size = size;
        }
        let lengths = Lengths { em: s.font_size, ..*lengths };
        match own.get("color").and_then(value::colour) {
            Some(Colour::Seen(c)) => (s.current, s.current_clear) = (c, false),
            Some(Colour::Clear) => (s.current, s.current_clear) = (None, true),
            Some(Colour::Current) | None => {}
        }
        if let Some(paint) = own.get("fill").and_then(value::paint) {
            (s.fill_paints, s.fill) = s.leaves(&paint, &has_server);
        }
        if let Some(paint) = own.get("stroke").and_then(value::paint) {
            (s.stroke_paints, s.stroke) = s.leaves(&paint, &has_server);
        }
        let clear = |name: &str, before: bool| own.get(name).and_then(share).map_or(before, |o| o == 0.0);
        s.fill_clear = clear("fill-opacity", s.fill_clear);
        s.stroke_clear = clear("stroke-opacity", s.stroke_clear);
        s.filled = s.fill_paints && !s.fill_clear;
        s.stroked = s.stroke_paints && !s.stroke_clear;
        for (kept, name) in s.line.iter_mut().zip(LINE) {
            if let Some(v) = own.get(name) {
                *kept = Some(lengths.without_fonts(v).into());
            }
        }
        match own.get("fill-rule") {
            Some("evenodd") => s.even_odd = true,
            Some(_) => s.even_odd = false,
            None => {}
        }
        match own.get("visibility") {
            Some("visible") => s.visible = true,
            Some(_) => s.visible = false,
            None => {}
        }
        if let Some(v) = own.get("stroke-width") {
            s.stroke_width = lengths.without_fonts(v).into();
        }
        for (kept, name) in s.markers.iter_mut().zip(["marker-start", "marker-mid", "marker-end"]) {
            if let Some(v) = own.get(name) {
                *kept = v != "none";
            }
        }
        s
    }

    /// True if a paint is visible, with its colour. A faint shape counts. A wholly transparent one does not, because
    /// programs write it for "no paint".
    fn leaves(&self, paint: &Paint, has_server: &impl Fn(&str) -> bool) -> (bool, Option<Rgb>) {
        let colour = |c: &Colour| match c {
            Colour::Seen(c) => (true, *c),
            Colour::Clear => (false, None),
            Colour::Current => (!self.current_clear, self.current),
        };
        match paint {
            Paint::None => (false, None),
            Paint::Colour(c) => colour(c),
            Paint::Context => (true, None),
            Paint::Server(id, _) if has_server(id) => (true, None),
            Paint::Server(_, None) => (false, None),
            Paint::Server(_, Some(c)) => colour(c),
        }
    }
}

/// A font size in user units. `em` is that of the parent.
fn font_size(text: &str, em: f64, lengths: &Lengths) -> Option<f64> {
    let lower = text.to_ascii_lowercase();
    if let Some((_, share)) = value::FONT_SIZES.iter().find(|(n, _)| *n == lower) {
        return Some(share * FONT_PX);
    }
    match lower.as_str() {
        "smaller" => Some(em / 1.2),
        "larger" => Some(em * 1.2),
        _ => match lower.strip_suffix('%') {
            Some(n) => n.trim().parse::<f64>().ok().map(|n| n / 100.0 * em),
            None => Lengths { em, ..*lengths }.user(text, super::size::Axis::Diagonal),
        },
    }
    .filter(|s| s.is_finite() && *s >= 0.0)
}

#[cfg(test)]
mod tests {
    use super::*;
    use roxmltree::{Document, Node};

    fn style(svg: &str) -> Style {
        let doc = Document::parse(svg).unwrap();
        let sheet = StyleSheet::from_document(&doc);
        let node = doc.descendants().find(|n| n.attribute("id") == Some("x")).unwrap();
        let mut chain: Vec<Node> = node.ancestors().filter(Node::is_element).collect();
        chain.reverse();
        let has_id = |id: &str| doc.descendants().any(|n| n.attribute("id") == Some(id));
        let lengths = Lengths { viewport: (100.0, 100.0), dpi: 96.0, em: 16.0, rem: 16.0 };
        chain.iter().fold(Style::default(), |s, n| s.child(&sheet.own(*n, &s.custom).unwrap(), &lengths, has_id))
    }

    #[test]
    fn the_order_of_weight() {
        // W3C SVG 2, 6.6: a presentation attribute has the lowest specificity. CSS Cascading: an id outranks a class, a
        // class an element, the style attribute all of them, and `!important` everything.
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
}
