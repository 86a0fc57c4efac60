//! Reports what the walk leaves out or ignores.
//!
//! In: an element that is not read, is hidden, or has an unsupported effect. Out: an entry in the tally, which becomes
//! a remark. Source: W3C SVG 2 chapters 3 and 14, CSS Masking, CSS Display 3.

use super::css::cascade::Own;
use super::css::value::{Given, share};
use super::document::in_svg;
use super::shapes;
use super::shown;
use super::size;
use super::text::TextSlot;
use super::walk::{Context, Walk};
use crate::drawing::{Source, Strokes};
use roxmltree::Node;

/// Unsupported effects, each with its message.
const EFFECTS: [(&str, &str); 9] = [
    ("clip-path", "clipping (clip-path; the shape was read whole)"),
    ("mask", "masks (the shape was read whole)"),
    ("mask-image", "masks (the shape was read whole)"),
    ("filter", "filters (the shape was read without them)"),
    ("offset-path", "movement along a path (offset-path; the shape was read in its own place)"),
    ("zoom", "the style zoom (the shape was read in its own size)"),
    ("perspective", "the style perspective"),
    ("animation", "animation (the shape was read at rest)"),
    ("animation-name", "animation (the shape was read at rest)"),
];

/// The reason why an element and its contents are not on the page.
pub(super) fn not_shown(own: &Own) -> Option<&'static str> {
    if own.get("display") == Some("none") {
        return Some("display: none");
    }
    // With `display: contents` a group has no opacity of its own.
    let clear = own.get("display") != Some("contents") && own.get("opacity").and_then(share) == Some(0.0);
    clear.then_some("opacity: 0")
}

impl<'a, 'i> Walk<'a, 'i> {
    /// Reports the effects of an element that is read without them.
    pub(super) fn effects(&mut self, node: Node<'a, 'i>, own: &Own) {
        for (property, value, _) in own.all() {
            if let Some((_, what)) = EFFECTS.iter().find(|(p, _)| *p == property)
                && !value.eq_ignore_ascii_case("none")
            {
                let source = self.bare_source(node);
                self.leave_out(what, 1, false, Some(source));
            }
        }
        if self.strokes == Strokes::Outline && own.some("vector-effect") {
            let what = "strokes that do not scale (non-scaling-stroke; they were read at the width in the drawing)";
            let source = self.bare_source(node);
            self.tally.reported(what, 1, false, Some(source));
        }
    }

    /// The width or height of a nested viewport. Programs differ on whether a style may set it, so the attribute
    /// counts.
    pub(super) fn side<'n>(&mut self, node: Node<'n, 'i>, own: &Own, name: &str) -> Option<&'n str>
    where
        'a: 'n,
    {
        if matches!(own.given(name), Some((_, Given::Sheet))) {
            let what = "a width or height in the style of a nested svg or use (the attribute was read instead)";
            let source = self.bare_source(node);
            self.tally.reported(what, 1, false, Some(source));
        }
        node.attribute(name)
    }

    /// Reports lengths that depend on the letters of an unknown font, and lengths that the second reader does not
    /// support.
    pub(super) fn assumed(&mut self, node: Node<'a, 'i>, own: &Own) {
        let line = ["x1", "y1", "x2", "y2"].into_iter().filter_map(|n| node.attribute(n));
        let mut assumes = false;
        for text in own.all().map(|(_, v, _)| v).chain(line) {
            // The last letters of the units ex, ch, rem and Q.
            if !text.trim_end().ends_with(['x', 'X', 'h', 'H', 'm', 'M', 'q', 'Q']) || text.len() > 40 {
                continue;
            }
            assumes |= size::assumes(text);
            if size::only_here(text) {
                self.sheet.went_beyond();
            }
        }
        if assumes {
            let what = "lengths in a font's letters (ex, ch; they were read as half the font size)";
            let source = self.bare_source(node);
            self.tally.reported(what, 1, false, Some(source));
        }
    }

    pub(super) fn not_read(&mut self, node: Node<'a, 'i>, context: &Context, name: &str) {
        let source = Some(self.source(node, context));
        let shown_text = context.style.visible && (context.style.filled || context.style.stroked);
        match name {
            "text" if self.texts.is_some() && shown_text => {
                let id = node.attribute("id").filter(|_| context.uses.is_none()).map(str::to_string);
                let slot = TextSlot { at: self.shapes.len(), id, source: self.source(node, context) };
                self.texts.get_or_insert_default().push(slot);
            }
            "text" => self.leave_out("text", 1, true, source),
            "image" => self.leave_out("pictures (image)", 1, false, source),
            _ => self.leave_out(&format!("elements of the kind {}", shown(name)), 1, false, source),
        }
    }

    /// Reports an element that is not on the page, with its contents. No other reader sees it either.
    pub(super) fn hidden(&mut self, node: Node<'a, 'i>, why: &str) {
        self.account(node, true);
        let drawn = |n: &Node| {
            n.is_element()
                && in_svg(n)
                && (shapes::NAMES.contains(&n.tag_name().name()) || n.tag_name().name() == "use")
        };
        let count = node.descendants().filter(drawn).count();
        if count > 0 {
            let source = self.bare_source(node);
            self.tally.reported(&format!("shapes that are not shown ({why})"), count, true, Some(source));
        }
    }

    pub(super) fn leave_out_one(&mut self, what: &str, node: Node<'a, 'i>, context: &Context) {
        self.leave_out(what, 1, false, Some(self.source(node, context)));
    }

    pub(super) fn leave_out(&mut self, what: &str, count: usize, harmless: bool, source: Option<Source>) {
        self.tally.leave_out(what, count, harmless, source);
    }
}
