//! Parses selectors and matches elements.
//!
//! In: the text of a selector list; an element. Out: a [`List`]; whether it matches. Supports everything that the
//! library parses (Selectors Level 4), with `:is`, `:where`, `:has` and `&`. Supports the pseudo-classes that have a
//! fixed answer in a static drawing: no hover, no focus, no visited links. Pseudo-elements match nothing, because SVG
//! draws none. Source: W3C Selectors Level 4.

use crate::drawing::svg::limits;
use cssparser::{ParseError, Parser as Input, ToCss, serialize_string};
use precomputed_hash::PrecomputedHash;
use roxmltree::{Node, NodeId};
use selectors::attr::{AttrSelectorOperation, CaseSensitivity, NamespaceConstraint};
use selectors::bloom::BloomFilter;
use selectors::context::{
    MatchingContext, MatchingForInvalidation, MatchingMode, NeedsSelectorFlags, QuirksMode, SelectorCaches,
};
use selectors::matching::{ElementSelectorFlags, matches_selector};
use selectors::parser::{
    NonTSPseudoClass, ParseRelative, Parser, PseudoElement, Selector, SelectorImpl, SelectorList,
    SelectorParseErrorKind,
};
use selectors::{Element, OpaqueElement};
use std::borrow::Borrow;
use std::cell::{Cell, RefCell};
use std::collections::BTreeMap;
use std::fmt;

/// Most parts of a selector (names, classes, combinators). Nobody writes more by hand, and matching is recursive.
const MOST_PARTS: usize = 200;

/// The selector language of this reader.
#[derive(Clone, Debug)]
pub(super) struct Svg;

/// A name or value in a selector.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub(super) struct Word(Box<str>);

impl<'a> From<&'a str> for Word {
    fn from(text: &'a str) -> Word {
        Word(text.into())
    }
}

impl AsRef<str> for Word {
    fn as_ref(&self) -> &str {
        &self.0
    }
}

impl Borrow<str> for Word {
    fn borrow(&self) -> &str {
        &self.0
    }
}

impl ToCss for Word {
    fn to_css<W: fmt::Write>(&self, dest: &mut W) -> fmt::Result {
        serialize_string(&self.0, dest)
    }
}

impl PrecomputedHash for Word {
    /// FNV-1a, 32 bits.
    fn precomputed_hash(&self) -> u32 {
        self.0.bytes().fold(0x811c_9dc5, |h, b| (h ^ u32::from(b)).wrapping_mul(0x0100_0193))
    }
}

/// The answer of a static drawing to a pseudo-class.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum AtRest {
    Link,
    Always,
    Never,
}

impl ToCss for AtRest {
    fn to_css<W: fmt::Write>(&self, dest: &mut W) -> fmt::Result {
        write!(dest, ":{self:?}")
    }
}

impl NonTSPseudoClass for AtRest {
    fn is_active_or_hover(&self) -> bool {
        false
    }

    fn is_user_action_state(&self) -> bool {
        false
    }
}

/// A pseudo-element, which is not in the tree.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct NotThere;

impl ToCss for NotThere {
    fn to_css<W: fmt::Write>(&self, dest: &mut W) -> fmt::Result {
        dest.write_str("::part")
    }
}

impl PseudoElement for NotThere {}

impl SelectorImpl for Svg {
    type ExtraMatchingData<'a> = ();
    type AttrValue = Word;
    type Identifier = Word;
    type LocalName = Word;
    type NamespaceUrl = Word;
    type NamespacePrefix = Word;
    type BorrowedNamespaceUrl = str;
    type BorrowedLocalName = str;
    type NonTSPseudoClass = AtRest;
    type PseudoElement = NotThere;
}

/// Prefixes that `@namespace` declares. The empty prefix is the default.
pub(super) type Prefixes = BTreeMap<String, String>;

struct Grammar<'a>(&'a Prefixes);

fn unknown<T>() -> Result<T, ParseError<SelectorParseErrorKind>> {
    Err(ParseError::custom(SelectorParseErrorKind::UnsupportedPseudoClassOrElement))
}

impl<'i> Parser<'i> for Grammar<'_> {
    type Impl = Svg;
    type Error = SelectorParseErrorKind;

    fn parse_nth_child_of(&self) -> bool {
        true
    }

    fn parse_is_and_where(&self) -> bool {
        true
    }

    fn parse_has(&self) -> bool {
        true
    }

    fn parse_parent_selector(&self) -> bool {
        true
    }

    /// `:is` would otherwise ignore unsupported selectors silently.
    fn allow_forgiving_selectors(&self) -> bool {
        false
    }

    fn parse_non_ts_pseudo_class(&self, name: &str) -> Result<AtRest, ParseError<SelectorParseErrorKind>> {
        Ok(match name.to_ascii_lowercase().as_str() {
            "link" | "any-link" => AtRest::Link,
            "defined" => AtRest::Always,
            "hover" | "active" | "focus" | "focus-visible" | "focus-within" | "visited" | "target"
            | "target-within" | "checked" | "disabled" | "enabled" | "indeterminate" | "fullscreen" | "playing"
            | "current" => AtRest::Never,
            _ => return unknown(),
        })
    }

    fn parse_pseudo_element(&self, name: &str) -> Result<NotThere, ParseError<SelectorParseErrorKind>> {
        match name.to_ascii_lowercase().as_str() {
            "before" | "after" | "first-line" | "first-letter" | "selection" | "marker" | "placeholder"
            | "backdrop" | "target-text" => Ok(NotThere),
            _ => unknown(),
        }
    }

    fn default_namespace(&self) -> Option<Word> {
        self.0.get("").map(|url| url.as_str().into())
    }

    fn namespace_for_prefix(&self, prefix: &Word) -> Option<Word> {
        self.0.get(prefix.as_ref()).filter(|_| !prefix.as_ref().is_empty()).map(|url| url.as_str().into())
    }
}

/// A list of selectors.
#[derive(Clone, Debug)]
pub(super) struct List(SelectorList<Svg>);

impl List {
    /// Parses a list. In a nested rule, `parent` is the list of the outer rule.
    pub(super) fn parse(input: &mut Input, prefixes: &Prefixes, parent: Option<&List>) -> Option<List> {
        let relative = if parent.is_some() { ParseRelative::ForNesting } else { ParseRelative::No };
        let list = SelectorList::parse(&Grammar(prefixes), input, relative).ok()?;
        let list = match parent {
            Some(parent) => list.replace_parent_selector(&parent.0),
            None => list,
        };
        list.slice().iter().all(|s| s.len() <= MOST_PARTS).then_some(List(list))
    }

    /// The highest specificity of the selectors that the element matches. `top` is the root of its tree if that is not
    /// the document's root. A copy by `use` is a tree of its own.
    pub(super) fn weight(&self, node: Node, top: Option<NodeId>, eyes: &Eyes) -> Option<u32> {
        let mut caches = eyes.caches.borrow_mut();
        let mut context = MatchingContext::new(
            MatchingMode::Normal,
            None,
            &mut caches,
            QuirksMode::NoQuirks,
            NeedsSelectorFlags::No,
            MatchingForInvalidation::No,
        );
        let seen = SelectorElement { node, top, eyes };
        let matched = |s: &&Selector<Svg>| matches_selector(s, 0, None, seen, &mut context);
        self.0.slice().iter().filter(matched).map(Selector::specificity).max()
    }
}

/// The shared state of matching.
pub(super) struct Eyes {
    /// Two bytes for each node. Their addresses identify the node in its tree and as the top of a copy.
    marks: Vec<u8>,
    caches: RefCell<SelectorCaches>,
    pub(super) steps: Cell<u64>,
}

impl Eyes {
    pub(super) fn new(nodes: usize) -> Eyes {
        Eyes { marks: vec![0; 2 * nodes], caches: RefCell::default(), steps: Cell::new(0) }
    }

    /// Counts a step; `false` beyond the limit. Every query counts, because a rule with many combinators can ask very
    /// many. Beyond the limit no node has a parent, so matching ends.
    pub(super) fn step(&self) -> bool {
        self.steps.set(self.steps.get() + 1);
        self.steps.get() <= limits::STYLE_STEPS
    }
}

/// An element for the selector library.
#[derive(Clone, Copy)]
struct SelectorElement<'e, 'a, 'i> {
    node: Node<'a, 'i>,
    top: Option<NodeId>,
    eyes: &'e Eyes,
}

impl fmt::Debug for SelectorElement<'_, '_, '_> {
    fn fmt(&self, f: &mut fmt::Formatter) -> fmt::Result {
        self.node.fmt(f)
    }
}

impl<'a, 'i> SelectorElement<'_, 'a, 'i> {
    fn is_top(&self) -> bool {
        self.top == Some(self.node.id())
    }

    /// One step in the tree. From the top of a copy only steps down exist.
    fn go(&self, down: bool, to: impl FnOnce(Node<'a, 'i>) -> Option<Node<'a, 'i>>) -> Option<Self> {
        let node = (self.eyes.step() && (down || !self.is_top())).then(|| to(self.node))??;
        Some(SelectorElement { node, ..*self })
    }
}

impl Element for SelectorElement<'_, '_, '_> {
    type Impl = Svg;

    fn opaque(&self) -> OpaqueElement {
        OpaqueElement::new(&self.eyes.marks[2 * self.node.id().get_usize() + usize::from(self.is_top())])
    }

    fn parent_element(&self) -> Option<Self> {
        self.go(false, |n| n.parent_element())
    }

    fn parent_node_is_shadow_root(&self) -> bool {
        false
    }

    fn containing_shadow_host(&self) -> Option<Self> {
        None
    }

    fn is_pseudo_element(&self) -> bool {
        false
    }

    fn prev_sibling_element(&self) -> Option<Self> {
        self.go(false, |n| n.prev_sibling_element())
    }

    fn next_sibling_element(&self) -> Option<Self> {
        self.go(false, |n| n.next_sibling_element())
    }

    fn first_element_child(&self) -> Option<Self> {
        self.go(true, |n| n.first_element_child())
    }

    fn is_html_element_in_html_document(&self) -> bool {
        false
    }

    fn has_local_name(&self, name: &str) -> bool {
        self.eyes.step() && self.node.tag_name().name() == name
    }

    fn has_namespace(&self, url: &str) -> bool {
        self.node.tag_name().namespace().unwrap_or_default() == url
    }

    fn is_same_type(&self, other: &Self) -> bool {
        self.eyes.step() && self.node.tag_name() == other.node.tag_name()
    }

    fn attr_matches(
        &self,
        url: &NamespaceConstraint<&Word>,
        name: &Word,
        operation: &AttrSelectorOperation<&Word>,
    ) -> bool {
        let right = |a: &roxmltree::Attribute| match url {
            NamespaceConstraint::Any => true,
            NamespaceConstraint::Specific(url) => a.namespace().unwrap_or_default() == url.as_ref(),
        };
        self.eyes.step()
            && self.node.attributes().any(|a| a.name() == name.as_ref() && right(&a) && operation.eval_str(a.value()))
    }

    fn match_non_ts_pseudo_class(&self, class: &AtRest, _: &mut MatchingContext<Svg>) -> bool {
        match class {
            AtRest::Link => self.is_link(),
            AtRest::Always => true,
            AtRest::Never => false,
        }
    }

    fn match_pseudo_element(&self, _: &NotThere, _: &mut MatchingContext<Svg>) -> bool {
        false
    }

    fn apply_selector_flags(&self, _: ElementSelectorFlags) {}

    fn is_link(&self) -> bool {
        self.node.tag_name().name() == "a" && self.node.attributes().any(|a| a.name() == "href")
    }

    fn is_html_slot_element(&self) -> bool {
        false
    }

    fn has_id(&self, id: &Word, case: CaseSensitivity) -> bool {
        self.eyes.step() && self.node.attribute("id").is_some_and(|v| case.eq(v.as_bytes(), id.as_ref().as_bytes()))
    }

    fn has_class(&self, name: &Word, case: CaseSensitivity) -> bool {
        let is = |c: &str| case.eq(c.as_bytes(), name.as_ref().as_bytes());
        self.eyes.step() && self.node.attribute("class").is_some_and(|v| v.split_ascii_whitespace().any(is))
    }

    fn has_custom_state(&self, _: &Word) -> bool {
        false
    }

    fn imported_part(&self, _: &Word) -> Option<Word> {
        None
    }

    fn is_part(&self, _: &Word) -> bool {
        false
    }

    fn is_empty(&self) -> bool {
        self.node.children().all(|n| !n.is_element() && n.text().is_none_or(|t| !n.is_text() || t.is_empty()))
    }

    fn is_root(&self) -> bool {
        self.eyes.step() && self.top.is_none() && self.node.parent_element().is_none()
    }

    fn add_element_unique_hashes(&self, _: &mut BloomFilter) -> bool {
        false
    }
}
