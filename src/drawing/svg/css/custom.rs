//! Resolves custom properties and `var()`.
//!
//! In: the properties that an element sets and inherits. Out: the properties that apply, and values, with all
//! references replaced. A missing or circular reference makes a value invalid. Refuses values above [`MOST_BYTES`] or
//! references deeper than [`DEPTH`]. Source: W3C CSS Custom Properties for Cascading Variables 1.

use super::value::wide;
use std::cell::Cell;
use std::collections::{BTreeMap, BTreeSet};
use std::rc::Rc;

/// Largest size of a resolved value, bytes.
const MOST_BYTES: usize = 16 << 10;
/// Deepest nesting of references.
const DEPTH: usize = 40;

/// The custom properties that apply to an element.
pub(in super::super) type Vars = BTreeMap<Rc<str>, Rc<str>>;

/// True if a value has references.
pub(super) fn refers(value: &str) -> bool {
    value.contains('(') && find(value, 0).is_some()
}

/// The value with all references replaced; `None` if it is invalid. Sets `beyond` if it reaches a limit.
pub(super) fn put_in(value: &str, vars: &Vars, beyond: &Cell<bool>) -> Option<String> {
    replace(value, &mut |name| vars.get(name).map(ToString::to_string), DEPTH, beyond)
}

/// The custom properties of an element that sets `set`. The last declaration of a name counts.
pub(super) fn define(inherited: &Vars, set: &[(Rc<str>, Rc<str>)], beyond: &Cell<bool>) -> Vars {
    let raw = set.iter().map(|(n, v)| (&**n, &**v)).collect();
    let mut asking =
        Asking { raw, inherited, beyond, open: Vec::new(), circular: BTreeSet::new(), done: BTreeMap::new() };
    let mut vars = inherited.clone();
    for (name, _) in set {
        match asking.resolve(name) {
            Some(v) => vars.insert(name.clone(), v.into()),
            None => vars.remove(name),
        };
    }
    vars
}

/// The properties of one element during resolution.
struct Asking<'r> {
    raw: BTreeMap<&'r str, &'r str>,
    inherited: &'r Vars,
    beyond: &'r Cell<bool>,
    /// Names that are being resolved.
    open: Vec<&'r str>,
    circular: BTreeSet<&'r str>,
    done: BTreeMap<&'r str, Option<String>>,
}

impl Asking<'_> {
    fn resolve(&mut self, name: &str) -> Option<String> {
        let inherited = |a: &Self| a.inherited.get(name).map(ToString::to_string);
        let Some((&key, &value)) = self.raw.get_key_value(name) else { return inherited(self) };
        match wide(value) {
            Some("initial") => return None,
            Some(_) => return inherited(self),
            None => {}
        }
        if let Some(done) = self.done.get(key) {
            return done.clone();
        }
        if let Some(from) = self.open.iter().position(|o| *o == key) {
            self.circular.extend(&self.open[from..]);
            return None;
        }
        if self.open.len() >= DEPTH {
            self.beyond.set(true);
            return None;
        }
        self.open.push(key);
        let beyond = self.beyond;
        let whole = replace(value, &mut |n| self.resolve(n), DEPTH, beyond);
        self.open.pop();
        let whole = whole.filter(|_| !self.circular.contains(key));
        self.done.insert(key, whole.clone());
        whole
    }
}

/// The position of the next `var(` or `env(` outside quotes, and whether it is `var(`.
fn find(text: &str, from: usize) -> Option<(usize, bool)> {
    let bytes = text.as_bytes();
    let (mut quote, mut i) = (None, from);
    while i < bytes.len() {
        match (quote, bytes[i]) {
            (Some(_), b'\\') => i += 1,
            (Some(q), b) if b == q => quote = None,
            (Some(_), _) => {}
            (None, b @ (b'"' | b'\'')) => quote = Some(b),
            (None, _) => {
                let head = bytes.get(i..i + 4).unwrap_or_default();
                let (var, env) = (head.eq_ignore_ascii_case(b"var("), head.eq_ignore_ascii_case(b"env("));
                let begins = i == 0 || !(bytes[i - 1].is_ascii_alphanumeric() || matches!(bytes[i - 1], b'-' | b'_'));
                if begins && (var || env) {
                    return Some((i, var));
                }
            }
        }
        i += 1;
    }
    None
}

/// The position of the bracket that closes the one before `from`.
fn closing(text: &str, from: usize) -> usize {
    let (mut depth, mut quote) = (1_usize, None);
    let mut skip = false;
    for (i, b) in text.bytes().enumerate().skip(from) {
        match (quote, b) {
            _ if skip => skip = false,
            (_, b'\\') => skip = true,
            (Some(q), _) if b == q => quote = None,
            (Some(_), _) => {}
            (None, b'"' | b'\'') => quote = Some(b),
            (None, b'(') => depth += 1,
            (None, b')') => {
                depth -= 1;
                if depth == 0 {
                    return i;
                }
            }
            _ => {}
        }
    }
    text.len()
}

fn replace(
    text: &str,
    look_up: &mut dyn FnMut(&str) -> Option<String>,
    depth: usize,
    beyond: &Cell<bool>,
) -> Option<String> {
    if depth == 0 {
        beyond.set(true);
        return None;
    }
    let mut out = String::new();
    let mut at = 0;
    while let Some((i, var)) = find(text, at) {
        out.push_str(&text[at..i]);
        let end = closing(text, i + 4);
        let inner = &text[i + 4..end];
        let (name, fallback) = match inner.split_once(',') {
            Some((name, fallback)) => (name.trim(), Some(fallback)),
            None => (inner.trim(), None),
        };
        let value = if var { look_up(name) } else { None };
        match (value, fallback) {
            (Some(v), _) => out.push_str(&v),
            (None, Some(f)) => out.push_str(&replace(f.trim(), look_up, depth - 1, beyond)?),
            (None, None) => return None,
        }
        if out.len() > MOST_BYTES {
            beyond.set(true);
            return None;
        }
        at = (end + 1).min(text.len());
    }
    out.push_str(&text[at..]);
    Some(out)
}

#[cfg(test)]
mod tests {
    use super::*;

    fn vars(inherited: &Vars, set: &[(&str, &str)]) -> Vars {
        let set: Vec<(Rc<str>, Rc<str>)> = set.iter().map(|(n, v)| ((*n).into(), (*v).into())).collect();
        define(inherited, &set, &Cell::default())
    }

    #[test]
    fn references_are_replaced() {
        let beyond = Cell::default();
        let all = vars(&Vars::new(), &[("--a", "var(--b)"), ("--b", "red"), ("--c", "var(--d)"), ("--d", "var(--c)")]);
        let is = |v: &str| put_in(v, &all, &beyond);
        assert_eq!(is("var(--a)").as_deref(), Some("red"));
        assert_eq!(is("VAR( --a , blue) x").as_deref(), Some("red x"));
        // A circular reference is invalid; its fallback counts.
        assert_eq!(is("var(--c)"), None);
        assert_eq!(is("var(--c, var(--none, rgb(1, 2, 3)))").as_deref(), Some("rgb(1, 2, 3)"));
        assert_eq!(is("var(--A)"), None);
        let round = vars(&Vars::new(), &[("--a", "var(--b, 1)"), ("--b", "var(--a, 2)"), ("--c", "var(--a, 3)")]);
        assert_eq!(round.iter().map(|(n, v)| (&**n, &**v)).collect::<Vec<_>>(), [("--c", "3")]);
        assert_eq!(is("\"var(--a)\"").as_deref(), Some("\"var(--a)\""));
        assert!(!refers("\"var(--a)\"") && refers("1 var(--a)") && !refers("myvar(--a)"));
        assert!(!beyond.get());
    }

    #[test]
    fn what_is_inherited_and_what_is_set_back() {
        let parent = vars(&Vars::new(), &[("--a", "red"), ("--b", "blue")]);
        let child = vars(&parent, &[("--a", "initial"), ("--b", "inherit")]);
        assert_eq!((child.get("--a"), child.get("--b").map(|v| &**v)), (None, Some("blue")));
    }

    #[test]
    fn values_that_grow_without_end_are_stopped() {
        let names: Vec<String> = (0..60).map(|i| format!("--v{i}")).collect();
        let values: Vec<String> = (0..60).map(|i| format!("var(--v{})var(--v{})", i + 1, i + 1)).collect();
        let mut set: Vec<(Rc<str>, Rc<str>)> =
            names.iter().zip(&values).map(|(n, v)| (n.as_str().into(), v.as_str().into())).collect();
        set.push(("--v60".into(), "0123456789".into()));
        let beyond = Cell::default();
        define(&Vars::new(), &set[45..], &beyond);
        assert!(beyond.get());
        // Empty values do not grow.
        set.pop();
        set.push(("--v60".into(), "".into()));
        let beyond = Cell::default();
        assert_eq!(define(&Vars::new(), &set[25..], &beyond).len(), 36);
        assert!(!beyond.get());
        define(&Vars::new(), &set, &beyond);
        assert!(beyond.get());
    }
}
