//! The cascade: finds the values that apply to an element itself.
//!
//! In: an element, the rules of the document, and the inherited custom properties. Out: [`Own`], with one value for
//! each property. From low to high precedence: attributes, rules in layers, other rules, the `style` attribute.
//! Important declarations follow in the same order, with the layers reversed. An invalid value is ignored. Source: W3C
//! CSS Cascade 5 section 6, SVG 2 section 6.6.

use super::custom::{self, Vars};
use super::selector::Eyes;
use super::sheet::{Declaration, Rule, Rules};
use super::value::{self, Given};
use crate::drawing::ReadError;
use crate::drawing::svg::document::in_svg;
use crate::drawing::svg::{limits, shown};
use roxmltree::{Document, Node, NodeId};
use std::borrow::Cow;
use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::rc::Rc;
use std::str::FromStr as _;

/// A value that applies.
#[derive(PartialEq)]
struct Set<'a> {
    name: Cow<'a, str>,
    value: Cow<'a, str>,
    given: Given,
}

/// The values that an element sets itself.
#[derive(Default)]
pub(in super::super) struct Own<'a> {
    values: Vec<Set<'a>>,
    /// The custom properties, unless they are simply inherited.
    pub custom: Option<Rc<Vars>>,
    /// True if a value uses custom properties. It may then differ from one `use` to another.
    pub replaced: bool,
}

impl<'a> Own<'a> {
    /// True if the element sets nothing.
    pub(in super::super) fn is_empty(&self) -> bool {
        self.values.is_empty() && self.custom.is_none()
    }

    /// The value of a property, if the element sets it to anything but `inherit`.
    pub(in super::super) fn get(&self, name: &str) -> Option<&str> {
        self.given(name).map(|(v, _)| v)
    }

    /// Like [`Own::get`], with the origin of the value.
    pub(in super::super) fn given(&self, name: &str) -> Option<(&str, Given)> {
        self.values.iter().find(|s| s.name == name).map(|s| (&*s.value, s.given))
    }

    /// True if the property has a value other than `none`.
    pub(in super::super) fn some(&self, name: &str) -> bool {
        self.get(name).is_some_and(|v| !v.eq_ignore_ascii_case("none"))
    }

    /// All values from style sheets and attributes, in the order of setting.
    pub(in super::super) fn all(&self) -> impl Iterator<Item = (&str, &str, Given)> {
        self.values.iter().map(|s| (&*s.name, &*s.value, s.given))
    }

    /// True if `other` has the same values.
    pub(in super::super) fn is_as(&self, other: &Own) -> bool {
        self.values == other.values
    }

    fn set(&mut self, name: Cow<'a, str>, value: Cow<'a, str>, given: Given) {
        self.values.retain(|s| s.name != name);
        self.values.push(Set { name, value, given });
    }
}

/// The style rules of a document.
pub(in super::super) struct StyleSheet {
    rules: Rules,
    eyes: Eyes,
    /// Unsupported syntax on elements, by name, with its count.
    unread: RefCell<BTreeMap<String, usize>>,
    beyond: Cell<bool>,
    too_deep: Cell<bool>,
}

/// A declaration with its precedence: layer, specificity and order.
type Weighed<'r> = (Rc<[usize]>, u32, usize, &'r Declaration);

impl StyleSheet {
    pub(in super::super) fn from_document(doc: &Document) -> StyleSheet {
        let mut rules = Rules::default();
        let mut count = 0;
        for node in doc.descendants() {
            count += 1;
            if !is_style(&node) || !matches!(node.attribute("type").map(str::trim), None | Some("" | "text/css")) {
                continue;
            }
            let text: String = node.children().filter_map(|n| n.text().filter(|_| n.is_text())).collect();
            rules.add(&text, node.attribute("media"));
        }
        StyleSheet {
            rules,
            eyes: Eyes::new(count),
            unread: RefCell::default(),
            beyond: Cell::default(),
            too_deep: Cell::default(),
        }
    }

    /// Number of matching steps so far.
    pub(in super::super) fn steps(&self) -> u64 {
        self.eyes.steps.get()
    }

    /// True if there is more than attributes and selectors of names, classes and ids. The second reader then needs a
    /// resolved copy.
    pub(in super::super) fn beyond(&self) -> bool {
        self.rules.beyond || self.beyond.get()
    }

    /// True if a rule may match a copy by `use` differently from the original.
    pub(in super::super) fn sees_places(&self) -> bool {
        self.rules.places
    }

    /// Notes that the document uses something that only this reader supports.
    pub(in super::super) fn went_beyond(&self) {
        self.beyond.set(true);
    }

    /// All unsupported syntax, by name, with its count.
    pub(in super::super) fn unread(&self) -> Vec<(String, usize)> {
        let mut all = self.rules.unread.clone();
        for (what, n) in &*self.unread.borrow() {
            *all.entry(what.clone()).or_insert(0) += n;
        }
        if self.too_deep.get() {
            all.insert("custom properties (var) that grow without end".to_owned(), 1);
        }
        all.into_iter().collect()
    }

    fn not_understood(&self, what: String) {
        self.beyond.set(true);
        *self.unread.borrow_mut().entry(what).or_insert(0) += 1;
    }

    /// The own values of `node`. `inherited` holds the custom properties of its parent.
    pub(in super::super) fn own<'b>(&self, node: Node<'b, '_>, inherited: &Rc<Vars>) -> Result<Own<'b>, ReadError> {
        self.own_within(node, None, inherited)
    }

    /// Like [`StyleSheet::own`], for a copy by a `use`. Rules see only the tree below `top`, the target of the `use`.
    pub(in super::super) fn own_within<'b>(
        &self,
        node: Node<'b, '_>,
        top: Option<NodeId>,
        inherited: &Rc<Vars>,
    ) -> Result<Own<'b>, ReadError> {
        let mut own = Own::default();
        let mut weighed: Vec<Weighed> = Vec::new();
        for (order, rule) in self.rules.rules.iter().enumerate() {
            if self.eyes.step() {
                self.weigh(node, top, rule, order, &mut weighed);
            }
            if self.steps() > limits::STYLE_STEPS {
                return Err(ReadError::Refused {
                    what: "the style rules are too many for the number of elements".into(),
                });
            }
        }
        let (inline, faults) = match node.attribute("style") {
            Some(text) => Rules::inline(text),
            None if weighed.is_empty() => {
                self.attributes(&mut own, node, inherited);
                self.settle(&mut own);
                return Ok(own);
            }
            None => (Vec::new(), Vec::new()),
        };
        faults.into_iter().for_each(|f| self.not_understood(format!("the style {}", shown(&f))));
        weighed.sort_by(|a, b| (&a.0, a.1, a.2).cmp(&(&b.0, b.1, b.2)));
        let normal = weighed.iter().map(|w| w.3).chain(&inline).filter(|d| !d.important);
        let mut order: Vec<&Declaration> = normal.collect();
        weighed.sort_by(|a, b| (&b.0, a.1, a.2).cmp(&(&a.0, b.1, b.2)));
        order.extend(weighed.iter().map(|w| w.3).chain(&inline).filter(|d| d.important));
        let custom: Vec<(Rc<str>, Rc<str>)> =
            order.iter().filter(|d| d.name.starts_with("--")).map(|d| (d.name.clone(), d.value.clone())).collect();
        if !custom.is_empty() {
            self.beyond.set(true);
            own.custom = Some(custom::define(inherited, &custom, &self.too_deep).into());
        }
        let vars = own.custom.clone().unwrap_or_else(|| inherited.clone());
        self.attributes(&mut own, node, &vars);
        for d in order.into_iter().filter(|d| !d.name.starts_with("--")) {
            self.declare(&mut own, d, &vars);
        }
        self.settle(&mut own);
        Ok(own)
    }

    fn attributes<'b>(&self, own: &mut Own<'b>, node: Node<'b, '_>, vars: &Vars) {
        for a in node.attributes().filter(|a| a.namespace().is_none() && value::presentation(a.name())) {
            if custom::refers(a.value()) {
                let d = Declaration { name: a.name().into(), value: a.value().into(), important: false };
                self.declare(own, &d, vars);
            } else {
                self.attribute(own, a.name(), a.value());
            }
        }
    }

    fn attribute<'b>(&self, own: &mut Own<'b>, name: &'b str, text: &'b str) {
        let kept = value::normal(name, text, Given::Attribute);
        self.look(name, text, kept.as_ref());
        match kept {
            Some(Ok(v)) => own.set(name.into(), v, Given::Attribute),
            Some(Err(())) if text.trim().is_empty() => {}
            Some(Err(())) => self.not_understood(format!("the value {}", shown(&format!("{name}: {}", text.trim())))),
            None => {}
        }
    }

    /// Notes values that only this reader supports.
    fn look(&self, name: &str, text: &str, kept: Option<&Result<Cow<str>, ()>>) {
        let text = text.trim();
        let rewritten = matches!(kept, Some(Ok(v)) if *v != text);
        let paint = matches!(name, "fill" | "stroke") && svgtypes::Paint::from_str(text).is_err();
        let colour = name == "color" && svgtypes::Color::from_str(text).is_err();
        let word = name == "font-size" && text.starts_with(|c: char| c.is_ascii_alphabetic());
        if rewritten || paint || colour || word {
            self.beyond.set(true);
        }
    }

    /// Adds the declarations of the rule if the element matches it.
    fn weigh<'r>(&self, node: Node, top: Option<NodeId>, rule: &'r Rule, order: usize, weighed: &mut Vec<Weighed<'r>>) {
        let Some(weight) = rule.selectors.weight(node, top, &self.eyes) else { return };
        match &rule.doubt {
            None => weighed.extend(rule.declarations.iter().map(|d| (rule.layer.clone(), weight, order, d))),
            Some(doubt) => {
                if rule.declarations.iter().any(|d| value::matters(&d.name) || d.name.starts_with("--")) {
                    self.not_understood(format!("style rules that depend on where the drawing is shown ({doubt})"));
                }
            }
        }
    }

    fn declare<'b>(&self, own: &mut Own<'b>, d: &Declaration, vars: &Vars) {
        let refers = custom::refers(&d.value);
        let replaced = refers.then(|| custom::put_in(&d.value, vars, &self.too_deep));
        own.replaced |= refers;
        // The second reader expands a shorthand differently.
        if refers || *d.name == *"font" {
            self.beyond.set(true);
        }
        let text: Cow<str> = match &replaced {
            None => Cow::Borrowed(&*d.value),
            Some(Some(text)) => Cow::Borrowed(text.trim()),
            // A reference to a missing property is invalid, but it has won the cascade. Nothing else then sets the
            // property.
            Some(None) => "unset".into(),
        };
        let names: &[&str] = match &*d.name {
            "marker" => &["marker-start", "marker-mid", "marker-end"],
            name => &[name],
        };
        if value::GEOMETRY.contains(&&*d.name) || TRANSFORMING.contains(&&*d.name) {
            self.beyond.set(true);
            if value::bare_length(&d.name, &text) {
                self.not_understood(format!(
                    "the missing unit of the style {} (it was read as px)",
                    shown(&format!("{}: {text}", d.name))
                ));
            }
        }
        for name in names {
            let kept = value::normal(name, &text, Given::Sheet);
            self.look(name, &text, kept.as_ref());
            let kept = match kept {
                None => text.to_string(),
                Some(Ok(v)) => v.into_owned(),
                Some(Err(())) => {
                    self.not_understood(format!("the style {}", shown(&format!("{name}: {text}"))));
                    match replaced {
                        // The cascade has already discarded the other declarations.
                        Some(_) => "unset".to_owned(),
                        None => continue,
                    }
                }
            };
            own.set(Cow::Owned((*name).to_owned()), kept.into(), Given::Sheet);
            if *name == "font"
                && let Some(size) = value::font_shorthand(&text)
            {
                own.set("font-size".into(), Cow::Owned(size.to_owned()), Given::Sheet);
            }
        }
    }

    /// Replaces keywords such as `initial` by the value they mean.
    fn settle(&self, own: &mut Own) {
        if own.values.iter().all(|s| value::wide(&s.value).is_none()) {
            return;
        }
        let mut kept = Vec::with_capacity(own.values.len());
        for mut s in std::mem::take(&mut own.values) {
            let Some(word) = value::wide(&s.value) else {
                kept.push(s);
                continue;
            };
            if word != "inherit" {
                self.beyond.set(true);
            }
            let start = value::initial(&s.name);
            match (word, start) {
                ("initial", Some(v)) => {
                    s.value = v.into();
                    kept.push(s);
                }
                // An inherited property inherits by default. Another one has its initial value by default.
                ("inherit" | "unset" | "revert", Some(_)) | ("initial" | "unset" | "revert", None) => {}
                // A hidden parent was left out with its contents.
                ("inherit", None) if matches!(&*s.name, "display" | "opacity" | "clip-path" | "mask" | "filter") => {}
                _ if value::matters(&s.name) => {
                    self.not_understood(format!("the style {}", shown(&format!("{}: {word}", s.name))));
                }
                _ => kept.push(s),
            }
        }
        own.values = kept;
    }
}

/// Properties that transform an element. The second reader supports one of them, in another form.
pub(in super::super) const TRANSFORMING: [&str; 6] =
    ["transform", "transform-origin", "transform-box", "rotate", "scale", "translate"];

/// True for an element whose text is a style sheet: SVG's own, or an HTML one in the drawing.
fn is_style(node: &Node) -> bool {
    node.is_element()
        && node.tag_name().name() == "style"
        && (in_svg(node) || node.tag_name().namespace() == Some("http://www.w3.org/1999/xhtml"))
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The value of a property of the element `x`.
    fn value(body: &str, name: &str) -> Option<String> {
        let text = format!("<svg xmlns='http://www.w3.org/2000/svg'>{body}</svg>");
        let doc = Document::parse(&text).unwrap();
        let node = doc.descendants().find(|n| n.attribute("id") == Some("x")).unwrap();
        let own = StyleSheet::from_document(&doc).own(node, &Rc::default()).unwrap();
        own.get(name).map(str::to_owned)
    }

    fn fill(rules: &str, attributes: &str) -> Option<String> {
        value(
            &format!(
                "<style><![CDATA[{rules}]]></style><g class='out'><rect/><rect id='x' class='a b' {attributes}/></g>"
            ),
            "fill",
        )
    }

    #[test]
    fn weight_and_order() {
        // W3C Selectors 4, section 17, and CSS Cascade 5, section 6.
        for (rules, expected) in [
            (".a{fill:red} rect{fill:blue}", "red"),
            ("rect{fill:red} rect{fill:blue}", "blue"),
            ("rect.a{fill:red} .b{fill:blue}", "red"),
            (":where(#x){fill:red} rect{fill:blue}", "blue"),
            (":is(#x, q){fill:red} .a.b{fill:blue}", "red"),
            (":not(#q){fill:red} .a.b{fill:blue}", "red"),
            ("rect{fill:red !important} #x{fill:blue}", "red"),
            ("[class~=a]{fill:red} rect{fill:blue}", "red"),
            ("rect:nth-child(2){fill:red} .a{fill:blue}", "red"),
            ("rect:last-child{FILL:RED} rect{fill:blue}", "RED"),
            (":root .a{fill:red} .out .a{fill:blue}", "blue"),
            ("svg:has(.b) rect{fill:red}", "red"),
            (".out{ .a{fill:red} }", "red"),
            (".out{ & > .a{fill:red} } .a{fill:blue}", "red"),
            ("@namespace s 'http://www.w3.org/2000/svg'; s|rect{fill:red} ", "red"),
            ("<!-- rect{fill:red} -->", "red"),
            ("rect{/* fill:blue; */fill:red/*}*/}", "red"),
        ] {
            assert_eq!(fill(rules, "fill='green'").as_deref(), Some(expected), "{rules}");
        }
        assert_eq!(fill("rect{fill:red}", "style='fill:blue'").as_deref(), Some("blue"));
        assert_eq!(fill("rect{fill:red!important}", "style='fill:blue'").as_deref(), Some("red"));
        assert_eq!(fill("rect{fill:red!important}", "style='fill:blue ! IMPORTANT'").as_deref(), Some("blue"));
    }

    #[test]
    fn layers() {
        // W3C CSS Cascade 5, section 6.4: a later layer outranks an earlier one, and rules without a layer outrank all.
        // For important declarations the order is reversed.
        for (rules, expected) in [
            ("@layer a{#x{fill:red}} rect{fill:blue}", "blue"),
            ("@layer a, b; @layer b{rect{fill:red}} @layer a{#x{fill:blue}}", "red"),
            ("@layer a{rect{fill:red!important}} rect{fill:blue!important}", "red"),
            ("@layer a{rect{fill:red!important}} @layer b{#x{fill:blue!important}}", "red"),
            ("@layer a{@layer b{#x{fill:blue}} rect{fill:red}}", "red"),
            ("@layer a.b{rect{fill:blue}} @layer{rect{fill:red}}", "red"),
            ("@layer a{rect{fill:red}}", "red"),
        ] {
            assert_eq!(fill(rules, "fill='green'").as_deref(), Some(expected), "{rules}");
        }
    }

    #[test]
    fn what_is_no_value_does_not_count() {
        // W3C CSS Syntax 3, section 2.2; CSS Custom Properties 1, section 3.
        assert_eq!(fill("rect{fill:red; fill:wobble(1)}", "").as_deref(), Some("red"));
        assert_eq!(fill("rect{fill:wobble(1)}", "fill='green'").as_deref(), Some("green"));
        assert_eq!(fill("", "fill='green' style='fill:'").as_deref(), Some("green"));
        assert_eq!(fill("rect{--f:red} rect{fill:blue;fill:var(--f)}", "").as_deref(), Some("red"));
        assert_eq!(fill("rect{fill:var(--none)}", "fill='green'"), None);
        assert_eq!(fill("rect{fill:var(--none, red)}", "fill='green'").as_deref(), Some("red"));
        assert_eq!(fill("rect{fill:initial}", "fill='green'").as_deref(), Some("#000"));
        assert_eq!(fill("rect{fill:unset}", "fill='green'"), None);
    }

    #[test]
    fn conditions() {
        for (rules, expected) in [
            ("@media print{rect{fill:red}}", "green"),
            ("@media screen{rect{fill:red}}", "red"),
            ("@media all{@media not print{rect{fill:red}}}", "red"),
            ("rect{@media screen{fill:red}}", "red"),
            ("@media (min-width:1px){rect{fill:red}}", "green"),
            ("@supports (fill:red){rect{fill:red}}", "red"),
            ("@supports not (fill:red){rect{fill:red}}", "green"),
            ("@font-face{font-family:x} @keyframes k{from{fill:red}} rect{fill:blue}", "blue"),
        ] {
            assert_eq!(fill(rules, "fill='green'").as_deref(), Some(expected), "{rules}");
        }
        let of = |medium: &str| {
            let style = format!("<style media='{medium}'>rect{{fill:red}}</style><rect id='x'/>");
            value(&style, "fill")
        };
        assert_eq!((of("print"), of("screen").as_deref(), of("").as_deref()), (None, Some("red"), Some("red")));
    }

    #[test]
    fn what_is_not_understood_has_a_name() {
        let reported = |rules: &str, name: &str| {
            let text = format!("<svg xmlns='http://www.w3.org/2000/svg'><style>{rules}</style><rect id='x'/></svg>");
            let doc = Document::parse(&text).unwrap();
            let sheet = StyleSheet::from_document(&doc);
            let node = doc.descendants().find(|n| n.attribute("id") == Some("x")).unwrap();
            let _ = sheet.own(node, &Rc::default()).unwrap();
            let all = sheet.unread();
            assert!(all.iter().any(|(what, _)| what.contains(name)), "{rules}: {all:?}");
            assert!(sheet.beyond());
        };
        reported("rect:wobble{fill:red}", "rect:wobble");
        reported("rect:is(:wobble, .a){fill:red}", ":wobble");
        reported("rect::wobble{fill:red}", "::wobble");
        reported("@import 'other.css';", "@import");
        reported("@container (width > 1px){rect{fill:red}}", "@container");
        reported("@media (min-width:1px){rect{display:none}}", "min-width");
        reported("@supports (wobble:1){rect{display:none}}", "wobble");
        reported("rect{fill:wobble(1)}", "fill: wobble(1)");
        reported("rect{width:calc(1px + 1em)}", "width: calc");
        reported("rect{transform:rotate(45)}", "transform: rotate(45)");
        reported("rect{all:unset}", "all: unset");
        reported("rect{fill red}", "fill red");
        reported("rect{transform:inherit}", "transform: inherit");
        reported(&format!("rect{}{{fill:red}}", " rect".repeat(300)), "rect rect");
        reported(&format!("{}rect{{fill:red}}{}", "@media screen{".repeat(90), "}".repeat(90)), "@media");
        reported(&format!("rect{}x{}{{fill:red}}", ":not(".repeat(5000), ")".repeat(5000)), ":not(");
    }

    #[test]
    fn rules_that_never_end_are_refused() {
        let text = "<svg xmlns='http://www.w3.org/2000/svg'><style>g g{fill:red}</style><g><g id='x'/></g></svg>";
        let doc = Document::parse(text).unwrap();
        let node = doc.descendants().find(|n| n.attribute("id") == Some("x")).unwrap();
        let sheet = StyleSheet::from_document(&doc);
        assert!(sheet.own(node, &Rc::default()).is_ok());
        assert!((1..20).contains(&sheet.steps()), "every question counts: {}", sheet.steps());
        sheet.eyes.steps.set(limits::STYLE_STEPS);
        assert!(matches!(sheet.own(node, &Rc::default()), Err(ReadError::Refused { .. })));
    }
}
