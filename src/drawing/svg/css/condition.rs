//! Evaluates the conditions of style rules: `@media` and `@supports`.
//!
//! In: the text of a condition. Out: whether it holds for a drawing on a screen. The result is [`Truth::Unknown`] if it
//! depends on the window, the device or the viewer's preferences. Sources: W3C Media Queries 4, CSS Conditional Rules
//! 3.

use super::selector::{List, Prefixes};
use super::value::{self, Given};
use super::{cut, function};
use cssparser::Parser as Input;

/// Deepest nesting of conditions.
const DEPTH: usize = 20;

#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Truth {
    No,
    Yes,
    Unknown,
}

impl Truth {
    fn from_bool(holds: bool) -> Truth {
        if holds { Truth::Yes } else { Truth::No }
    }

    fn not(self) -> Truth {
        match self {
            Truth::No => Truth::Yes,
            Truth::Yes => Truth::No,
            Truth::Unknown => Truth::Unknown,
        }
    }

    fn and(self, other: Truth) -> Truth {
        match (self, other) {
            (Truth::No, _) | (_, Truth::No) => Truth::No,
            (Truth::Yes, Truth::Yes) => Truth::Yes,
            _ => Truth::Unknown,
        }
    }

    fn or(self, other: Truth) -> Truth {
        self.not().and(other.not()).not()
    }
}

/// A list of media queries.
pub(super) fn media(text: &str) -> Truth {
    if text.trim().is_empty() {
        return Truth::Yes;
    }
    let lower = text.to_ascii_lowercase();
    cut(&lower, ',').into_iter().map(query).fold(Truth::No, Truth::or)
}

fn query(text: &str) -> Truth {
    let words = cut(text, ' ');
    let (negated, words) = match words.as_slice() {
        ["not", rest @ ..] if rest.first().is_some_and(|w| !w.starts_with('(')) => (true, rest),
        ["only", rest @ ..] => (false, rest),
        all => (false, all),
    };
    let truth = match words {
        [] => Truth::Unknown,
        [medium, rest @ ..] if medium.chars().all(|c| c.is_ascii_alphanumeric() || c == '-') && *medium != "not" => {
            let shown = Truth::from_bool(matches!(*medium, "all" | "screen"));
            match rest {
                [] => shown,
                ["and", rest @ ..] => shown.and(all(rest, DEPTH, &|_| Truth::Unknown)),
                _ => Truth::Unknown,
            }
        }
        _ => all(words, DEPTH, &|_| Truth::Unknown),
    };
    if negated { truth.not() } else { truth }
}

/// The condition of `@supports`.
pub(super) fn supports(text: &str, prefixes: &Prefixes) -> Truth {
    all(&cut(text.trim(), ' '), DEPTH, &|part| {
        if let Some((name, inner)) = function(part) {
            return match name.as_str() {
                "selector" => Truth::from_bool(List::parse(&mut Input::new(inner), prefixes, None).is_some()),
                _ => Truth::Unknown,
            };
        }
        let inner = part.strip_prefix('(').and_then(|p| p.strip_suffix(')')).unwrap_or(part);
        let Some((name, text)) = inner.split_once(':') else { return Truth::Unknown };
        let name = name.trim().to_ascii_lowercase();
        if name.starts_with("--") || value::normal(&name, text.trim(), Given::Sheet).is_some_and(|v| v.is_ok()) {
            Truth::Yes
        } else {
            Truth::Unknown
        }
    })
}

/// Evaluates parts joined by `not`, `and` and `or`.
fn all(words: &[&str], depth: usize, leaf: &dyn Fn(&str) -> Truth) -> Truth {
    let one = |word: &str| part(word, depth, leaf);
    match words {
        [word] => one(word),
        [not, word] if not.eq_ignore_ascii_case("not") => one(word).not(),
        [first, rest @ ..] if rest.len() % 2 == 0 && !rest.is_empty() => {
            let joint = rest[0].to_ascii_lowercase();
            let mut truth = one(first);
            for pair in rest.chunks(2) {
                if !pair[0].eq_ignore_ascii_case(&joint) {
                    return Truth::Unknown;
                }
                truth = match joint.as_str() {
                    "and" => truth.and(one(pair[1])),
                    "or" => truth.or(one(pair[1])),
                    _ => Truth::Unknown,
                };
            }
            truth
        }
        _ => Truth::Unknown,
    }
}

fn part(word: &str, depth: usize, leaf: &dyn Fn(&str) -> Truth) -> Truth {
    let Some(inner) = word.strip_prefix('(').and_then(|w| w.strip_suffix(')')) else { return leaf(word) };
    let inner = inner.trim();
    let first = cut(inner, ' ').first().copied().unwrap_or("");
    let nested = inner.starts_with('(') || first.eq_ignore_ascii_case("not");
    match (nested, depth.checked_sub(1)) {
        (true, Some(depth)) => all(&cut(inner, ' '), depth, leaf),
        (true, None) => Truth::Unknown,
        (false, _) => leaf(word),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_screen_is_what_counts() {
        // W3C Media Queries 4, sections 2 and 3.
        for yes in ["", "screen", "all", "ALL", "print, screen", "only screen", "not print"] {
            assert_eq!(media(yes), Truth::Yes, "{yes}");
        }
        for no in ["print", "speech", "not all", "print and (color)", "not screen"] {
            assert_eq!(media(no), Truth::No, "{no}");
        }
        for unknown in ["(min-width: 100px)", "screen and (prefers-color-scheme: dark)", "not (color)", "{"] {
            assert_eq!(media(unknown), Truth::Unknown, "{unknown}");
        }
        assert_eq!(media(&"(".repeat(100_000)), Truth::Unknown);
    }

    #[test]
    fn what_is_supported_is_what_is_understood() {
        let is = |text: &str| supports(text, &Prefixes::new());
        for yes in ["(fill: red)", "(FILL:red) and (display:none)", "not (not (fill: none))", "selector(a > b)"] {
            assert_eq!(is(yes), Truth::Yes, "{yes}");
        }
        assert_eq!(is("not (fill: red)"), Truth::No);
        assert_eq!(is("(fill: red) or (wobble: 1)"), Truth::Yes);
        assert_eq!(is("(wobble: 1)"), Truth::Unknown);
        assert_eq!(is("selector(:wobble)"), Truth::No);
    }
}
