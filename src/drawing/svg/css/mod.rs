//! Applies style rules: from the text of style sheets to the values on an element.
//!
//! The steps:
//!
//! 1. [`sheet`] parses the text into rules, with [`selector`] and [`condition`].
//! 2. [`cascade`] orders the rules of one element by precedence.
//! 3. [`custom`] resolves `var()`.
//! 4. [`value`] validates values.
//!
//! Unsupported syntax is recorded by name for a remark, so nothing is ignored silently. Sources: W3C CSS Syntax 3, CSS
//! Cascade 5, Selectors 4, CSS Nesting, CSS Conditional Rules 3, Media Queries 4, CSS Custom Properties, SVG 2 chapter
//! 6.

pub(super) mod cascade;
mod condition;
pub(super) mod custom;
mod selector;
mod sheet;
pub(super) mod value;

use cssparser::{ParseError, Parser as Input, Token};

/// The rest of a block, as written.
fn rest<'i>(input: &mut Input<'i>) -> &'i str {
    let start = input.position();
    while input.next_including_whitespace_and_comments().is_ok() {}
    input.slice_from(start)
}

/// The text without comments, which count as blanks, and without blanks at its ends.
fn bare(text: &str) -> String {
    if !text.contains("/*") {
        return text.trim().to_owned();
    }
    let mut out = String::with_capacity(text.len());
    let mut input = Input::new(text);
    strip(&mut input, &mut out);
    out.trim().to_owned()
}

fn strip(input: &mut Input, out: &mut String) {
    loop {
        let start = input.position();
        let Ok(token) = input.next_including_whitespace_and_comments() else { return };
        let close = match token {
            Token::Comment(_) => {
                out.push(' ');
                continue;
            }
            Token::Function(_) | Token::ParenthesisBlock => Some(')'),
            Token::SquareBracketBlock => Some(']'),
            Token::CurlyBracketBlock => Some('}'),
            _ => None,
        };
        out.push_str(input.slice_from(start));
        if let Some(close) = close {
            let inner = input.parse_nested_block(|input| {
                strip(input, out);
                Ok::<(), ParseError<()>>(())
            });
            if inner.is_err() {
                return;
            }
            out.push(close);
        }
    }
}

/// Splits a text at `mark`, except within brackets or quotes.
pub(super) fn cut(text: &str, mark: char) -> Vec<&str> {
    let (mut depth, mut quote, mut from) = (0_usize, None, 0);
    let mut parts = Vec::new();
    let mut before = ' ';
    for (i, c) in text.char_indices() {
        match (quote, c) {
            (Some(q), _) if c == q && before != '\\' => quote = None,
            (Some(_), _) => {}
            (None, '"' | '\'') => quote = Some(c),
            (None, '(' | '[' | '{') => depth += 1,
            (None, ')' | ']' | '}') => depth = depth.saturating_sub(1),
            (None, _) if depth == 0 && (c == mark || mark == ' ' && c.is_ascii_whitespace()) => {
                parts.push(&text[from..i]);
                from = i + c.len_utf8();
            }
            _ => {}
        }
        before = c;
    }
    parts.push(&text[from..]);
    if mark == ' ' {
        parts.retain(|p| !p.is_empty());
    }
    parts
}

/// Name and arguments, if the whole text is one function.
pub(super) fn function(text: &str) -> Option<(String, &str)> {
    let text = text.trim();
    let (name, inner) = text.strip_suffix(')')?.split_once('(')?;
    let plain = |c: char| c.is_ascii_alphanumeric() || c == '-' || c == '_';
    // A function that ends earlier is not the whole text.
    let whole = cut(text, ' ').len() == 1;
    (!name.is_empty() && name.chars().all(plain) && whole).then(|| (name.to_ascii_lowercase(), inner.trim()))
}
