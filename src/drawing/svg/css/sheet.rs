//! Parses the text of style sheets into rules.
//!
//! In: the text of a sheet and its medium. Out: [`Rules`], in file order: selectors with their declarations, layer and
//! undecided condition. Unsupported syntax is recorded by name. Source: W3C CSS Syntax 3, CSS Cascade 5 section 6.4,
//! CSS Nesting.

use super::condition::{Truth, media, supports};
use super::selector::{List, Prefixes};
use super::{bare, rest};
use crate::drawing::svg::shown;
use cssparser::{
    AtRuleParser, CowRcStr, DeclarationParser, ParseError, Parser as Input, ParserState, QualifiedRuleParser,
    RuleBodyItemParser, RuleBodyParser, StyleSheetParser, Token,
};
use std::collections::BTreeMap;
use std::rc::Rc;

/// One property set to one value.
#[derive(Clone, Debug, PartialEq)]
pub(super) struct Declaration {
    /// In small letters, except for custom properties.
    pub name: Rc<str>,
    pub value: Rc<str>,
    pub important: bool,
}

/// A style rule.
pub(super) struct Rule {
    pub selectors: List,
    pub declarations: Vec<Declaration>,
    /// Indices of its layers, from the outermost, then [`usize::MAX`]. A later index has precedence.
    pub layer: Rc<[usize]>,
    /// A condition that depends on where the drawing is shown.
    pub doubt: Option<Rc<str>>,
}

/// Rules of all sheets.
#[derive(Default)]
pub(super) struct Rules {
    pub rules: Vec<Rule>,
    /// Unsupported syntax, by name.
    pub unread: BTreeMap<String, usize>,
    /// True if there is more than selectors of names, classes and ids.
    pub beyond: bool,
    /// True if a selector depends on more than the element itself.
    pub places: bool,
    prefixes: Prefixes,
    /// Names of the layers within each layer, in the order of their first use.
    layers: BTreeMap<Vec<usize>, Vec<String>>,
}

impl Rules {
    pub(super) fn add(&mut self, text: &str, medium: Option<&str>) {
        let mut frame = Frame::default();
        if let Some(medium) = medium.map(str::trim).filter(|m| !m.is_empty()) {
            self.beyond = true;
            match media(medium) {
                Truth::No => return,
                Truth::Yes => {}
                Truth::Unknown => frame.doubt = Some(format!("media={}", shown(medium)).into()),
            }
        }
        self.prefixes.clear();
        let mut input = Input::new(text);
        let mut reader = Reader { rules: self, frame, declarations: None };
        let mut faults = Vec::new();
        for item in StyleSheetParser::new(&mut input, &mut reader) {
            if let Err((_, slice, _)) = item {
                faults.push(slice);
            }
        }
        faults.into_iter().for_each(|f| self.fault(f));
    }

    /// The declarations of a `style` attribute, and its faults.
    pub(super) fn inline(text: &str) -> (Vec<Declaration>, Vec<String>) {
        let mut rules = Rules::default();
        let mut input = Input::new(text);
        let mut reader = Reader { rules: &mut rules, frame: Frame::default(), declarations: Some(Vec::new()) };
        let mut faults = Vec::new();
        for item in RuleBodyParser::new(&mut input, &mut reader) {
            if let Err((_, slice, _)) = item {
                faults.push(bare(slice));
            }
        }
        faults.retain(|f| !f.is_empty());
        (reader.declarations.unwrap_or_default(), faults)
    }

    /// Records text that is not a rule, or a rule with an unsupported selector.
    fn fault(&mut self, text: &str) {
        let text = bare(text);
        let head = text.split('{').next().unwrap_or("").trim();
        let what = match head {
            "" => return,
            _ if text.contains('{') => format!("the style rule {}", shown(head)),
            _ => format!("the style {}", shown(head)),
        };
        self.unread(what);
    }

    fn unread(&mut self, what: String) {
        self.beyond = true;
        *self.unread.entry(what).or_insert(0) += 1;
    }

    /// The index path of a layer. A new layer comes after all others.
    fn layer(&mut self, within: &[usize], name: &str) -> Vec<usize> {
        let mut path = within.to_vec();
        for part in name.split('.').map(str::trim) {
            let known = self.layers.entry(path.clone()).or_default();
            let place = known.iter().position(|n| n == part && !part.is_empty());
            let place = place.unwrap_or_else(|| {
                known.push(part.to_owned());
                known.len() - 1
            });
            path.push(place);
        }
        path
    }
}

/// The context of the text that is being read.
#[derive(Clone, Default)]
struct Frame {
    layer: Vec<usize>,
    doubt: Option<Rc<str>>,
    parent: Option<List>,
}

struct Reader<'r> {
    rules: &'r mut Rules,
    frame: Frame,
    /// The declarations of the current rule; `None` outside rules.
    declarations: Option<Vec<Declaration>>,
}

/// The head of an at-rule.
enum Head {
    Within(Frame),
    /// The rule does not apply, or sets nothing on elements.
    Skip,
    Layers(String),
    Unread(String),
}

impl Reader<'_> {
    /// Makes a rule of the declarations so far.
    fn finish(&mut self) {
        if let (Some(set), Some(selectors)) = (self.declarations.as_mut(), self.frame.parent.as_ref())
            && !set.is_empty()
        {
            let mut layer = self.frame.layer.clone();
            layer.push(usize::MAX);
            self.rules.rules.push(Rule {
                selectors: selectors.clone(),
                declarations: std::mem::take(set),
                layer: layer.into(),
                doubt: self.frame.doubt.clone(),
            });
        }
    }

    /// Reads a block in the given context.
    fn within(&mut self, frame: Frame, input: &mut Input) {
        let declarations = frame.parent.is_some().then(Vec::new);
        let mut inner = Reader { rules: &mut *self.rules, frame, declarations };
        let mut faults = Vec::new();
        if inner.frame.parent.is_some() {
            for item in RuleBodyParser::new(input, &mut inner) {
                if let Err((_, slice, _)) = item {
                    faults.push(slice);
                }
            }
        } else {
            for item in StyleSheetParser::new(input, &mut inner) {
                if let Err((_, slice, _)) = item {
                    faults.push(slice);
                }
            }
        }
        inner.finish();
        faults.into_iter().for_each(|f| self.rules.fault(f));
    }

    fn head(&mut self, name: &str, prelude: &str) -> Head {
        let judged = |truth, frame: &Frame| match truth {
            Truth::No => Head::Skip,
            Truth::Yes => Head::Within(frame.clone()),
            Truth::Unknown => {
                let text = format!("@{name} {prelude}");
                Head::Within(Frame { doubt: Some(shown(text.trim()).into()), ..frame.clone() })
            }
        };
        match name {
            "media" => judged(media(prelude), &self.frame),
            "supports" => judged(supports(prelude, &self.rules.prefixes), &self.frame),
            "layer" => Head::Layers(prelude.to_owned()),
            "namespace" => {
                let (prefix, url) = match prelude.split_once(|c: char| c.is_ascii_whitespace()) {
                    Some((p, u)) if !p.starts_with(['"', '\'', 'u']) || p.chars().all(char::is_alphanumeric) => (p, u),
                    _ => ("", prelude),
                };
                let url = url.trim().trim_start_matches("url(").trim_end_matches(')').trim_matches(['"', '\'', ' ']);
                self.rules.prefixes.insert(prefix.to_owned(), url.to_owned());
                Head::Skip
            }
            "charset"
            | "font-face"
            | "page"
            | "keyframes"
            | "-webkit-keyframes"
            | "-moz-keyframes"
            | "-o-keyframes"
            | "counter-style"
            | "font-feature-values"
            | "font-palette-values"
            | "view-transition"
            | "starting-style" => Head::Skip,
            _ => Head::Unread(format!("the style rule {}", shown(format!("@{name} {prelude}").trim()))),
        }
    }
}

impl<'i> AtRuleParser<'i> for Reader<'_> {
    type Prelude = Head;
    type AtRule = ();
    type Error = ();

    fn parse_prelude(&mut self, name: CowRcStr<'i>, input: &mut Input<'i>) -> Result<Head, ParseError<()>> {
        self.rules.beyond = true;
        let prelude = bare(rest(input));
        Ok(self.head(&name.to_ascii_lowercase(), &prelude))
    }

    fn rule_without_block(&mut self, head: Head, _: &ParserState) -> Result<(), ()> {
        match head {
            Head::Layers(names) => {
                for name in names.split(',') {
                    let _ = self.rules.layer(&self.frame.layer, name);
                }
            }
            Head::Unread(what) => self.rules.unread(what),
            Head::Within(_) | Head::Skip => {}
        }
        Ok(())
    }

    fn parse_block(&mut self, head: Head, _: &ParserState, input: &mut Input<'i>) -> Result<(), ParseError<()>> {
        self.finish();
        match head {
            Head::Within(frame) => self.within(frame, input),
            Head::Layers(name) => {
                let layer = self.rules.layer(&self.frame.layer, &name);
                let frame = Frame { layer, ..self.frame.clone() };
                self.within(frame, input);
            }
            Head::Unread(what) => {
                self.rules.unread(what);
                rest(input);
            }
            Head::Skip => {
                rest(input);
            }
        }
        Ok(())
    }
}

impl<'i> QualifiedRuleParser<'i> for Reader<'_> {
    type Prelude = List;
    type QualifiedRule = ();
    type Error = ();

    fn parse_prelude(&mut self, input: &mut Input<'i>) -> Result<List, ParseError<()>> {
        let start = input.position();
        let list = List::parse(input, &self.rules.prefixes, self.frame.parent.as_ref());
        let text = input.slice_from(start);
        self.rules.beyond |= self.frame.parent.is_some() || text.contains([':', '[', '~', '|', '&', '\\', '+']);
        // The second reader's matching time is the depth of the tree to the power of the number of combinators.
        let spaced = text.replace(['>', '+', '~'], " ");
        self.rules.beyond |= spaced.split(',').any(|one| one.split_ascii_whitespace().count() > 2);
        self.rules.places |=
            self.frame.parent.is_some() || text.trim().contains([' ', '>', '+', '~', ':', '&', '\n', '\t']);
        list.ok_or_else(|| ParseError::custom(()))
    }

    fn parse_block(&mut self, list: List, _: &ParserState, input: &mut Input<'i>) -> Result<(), ParseError<()>> {
        self.finish();
        let frame = Frame { parent: Some(list), ..self.frame.clone() };
        self.within(frame, input);
        Ok(())
    }
}

impl<'i> DeclarationParser<'i> for Reader<'_> {
    type Declaration = ();
    type Error = ();

    fn parse_value(
        &mut self,
        name: CowRcStr<'i>,
        input: &mut Input<'i>,
        _: &ParserState,
    ) -> Result<(), ParseError<()>> {
        let custom = name.starts_with("--");
        let start = input.position();
        let mut seen_block = false;
        while let Ok(token) = input.next_including_whitespace_and_comments() {
            seen_block |= matches!(token, Token::CurlyBracketBlock);
        }
        // A block in a value: this is a rule whose selector looks like a property.
        if seen_block && !custom {
            return Err(ParseError::custom(()));
        }
        let text = bare(input.slice_from(start));
        let (value, important) = match text.rsplit_once('!') {
            Some((value, word)) if word.trim().eq_ignore_ascii_case("important") => (value.trim(), true),
            _ => (text.as_str(), false),
        };
        if value.is_empty() && !custom {
            return Err(ParseError::custom(()));
        }
        let lower = name.to_ascii_lowercase();
        self.rules.beyond |= important || custom || *name != *lower;
        let name = if custom { Rc::from(&*name) } else { Rc::from(lower) };
        if let Some(set) = self.declarations.as_mut() {
            set.push(Declaration { name, value: value.into(), important });
        }
        Ok(())
    }
}

impl<'i> RuleBodyItemParser<'i, (), ()> for Reader<'_> {
    fn parse_declarations(&self) -> bool {
        true
    }

    fn parse_qualified(&self) -> bool {
        self.frame.parent.is_some()
    }
}
