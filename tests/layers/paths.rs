//! Reads the paths in Rust source: which modules of the crate a file names.

/// A module or an item, from the crate's root: `["geom", "ops", "hull"]`.
pub type Path = Vec<String>;

/// The paths that `code`, the source of the module `own`, names from `crate::`, `super::` or `self::`. Lists in braces
/// are resolved, also nested ones. Comments, strings and the visibility of items do not count.
pub fn named(own: &[String], code: &str) -> Vec<Path> {
    let tokens = tokens(&plain(code));
    let mut out = Vec::new();
    let mut i = 0;
    while i < tokens.len() {
        if tokens[i] == "pub" && next(&tokens, i + 1) == "(" {
            while next(&tokens, i) != ")" {
                i += 1;
            }
        }
        let starts = ["crate", "super", "self"].contains(&next(&tokens, i)) && next(&tokens, i + 1) == "::";
        let goes_on = i > 0 && tokens[i - 1] == "::";
        if starts && !goes_on {
            i = tree(&tokens, i, &[], own, &mut out);
        } else {
            i += 1;
        }
    }
    out
}

/// The code before the first module in braces that only tests use, and whether another module in braces is left:
/// `super::` means another module in there.
pub fn without_tests(code: &str) -> (&str, bool) {
    let opens = |line: &str| line.split_whitespace().any(|w| w == "mod") && line.ends_with('{');
    let mut from = 0;
    let mut tested = false;
    for line in code.split_inclusive('\n') {
        if tested && opens(line.trim_end()) {
            return (&code[..from], false);
        }
        if opens(line.trim_end()) && !line.trim_start().starts_with("//") {
            return (code, true);
        }
        tested = line.trim() == "#[cfg(test)]";
        from += line.len();
    }
    (code, false)
}

fn next(tokens: &[String], i: usize) -> &str {
    tokens.get(i).map_or("", String::as_str)
}

/// Reads one path, or one entry of a list, from token `i` on; `before` is what stands in front of the list. Returns the
/// token after it.
fn tree(tokens: &[String], mut i: usize, before: &[String], own: &[String], out: &mut Vec<Path>) -> usize {
    let mut path = before.to_vec();
    loop {
        if next(tokens, i) == "{" {
            i += 1;
            while !["}", ""].contains(&next(tokens, i)) {
                i = tree(tokens, i, &path, own, out);
                // What is no path, such as `as name`, is passed over.
                while ![",", "}", ""].contains(&next(tokens, i)) {
                    i += 1;
                }
                i += usize::from(next(tokens, i) == ",");
            }
            return i + 1;
        }
        let word = next(tokens, i);
        if word == "*" || word.starts_with(|c: char| c.is_alphanumeric() || c == '_') {
            path.push(word.to_owned());
            i += 1;
        }
        if next(tokens, i) != "::" {
            break;
        }
        i += 1;
    }
    if path.len() > before.len() {
        out.push(resolved(own, &path));
    }
    i
}

fn resolved(own: &[String], path: &[String]) -> Path {
    let mut out = own.to_vec();
    for word in path {
        match word.as_str() {
            "crate" => out.clear(),
            "self" => {}
            "super" => drop(out.pop()),
            _ => out.push(word.clone()),
        }
    }
    out
}

/// Words, `::`, and other characters one by one.
fn tokens(code: &str) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut in_word = false;
    for c in code.chars() {
        let of_word = c.is_alphanumeric() || c == '_';
        match out.last_mut() {
            Some(last) if of_word && in_word => last.push(c),
            Some(last) if c == ':' && last == ":" => last.push(c),
            _ if c.is_whitespace() => {}
            _ => out.push(c.to_string()),
        }
        in_word = of_word;
    }
    out
}

/// The numbers in plain code, those that are written as `f64`.
pub fn numbers(code: &str) -> Vec<f64> {
    let mut out = Vec::new();
    let bytes = code.as_bytes();
    let mut i = 0;
    while i < bytes.len() {
        let from = i;
        while i < bytes.len() && (bytes[i].is_ascii_alphanumeric() || bytes[i] == b'_') {
            i += 1;
            let (fraction, exponent) =
                (bytes.get(i) == Some(&b'.'), bytes[i - 1] == b'e' && bytes.get(i) == Some(&b'-'));
            let digit = bytes.get(i + 1).is_some_and(u8::is_ascii_digit);
            if bytes[from].is_ascii_digit() && digit && (fraction || exponent) {
                i += 1;
            }
        }
        // Of `a.1` the digit is no number.
        let field = from > 0 && bytes[from - 1] == b'.';
        if i > from && bytes[from].is_ascii_digit() && !field {
            out.extend(code[from..i].replace('_', "").parse::<f64>());
        }
        i += usize::from(i == from);
    }
    out
}

/// The code without comments and without what stands in strings.
pub fn plain(code: &str) -> String {
    let mut out = String::new();
    let mut rest = code;
    while let Some(c) = rest.chars().next() {
        let gone = if rest.starts_with("//") {
            rest.find('\n').unwrap_or(rest.len())
        } else if rest.starts_with("/*") {
            rest.find("*/").map_or(rest.len(), |i| i + 2)
        } else if let Some(hashes) = raw_string(rest) {
            let end = format!("\"{}", "#".repeat(hashes));
            let from = hashes + 2;
            rest[from..].find(&end).map_or(rest.len(), |i| from + i + end.len())
        } else if c == '"' {
            string(rest)
        } else if rest.starts_with("'\"'") {
            3
        } else if rest.starts_with("'\\") {
            // The escaped character may be a quote.
            rest[3..].find('\'').map_or(rest.len(), |i| i + 4)
        } else {
            out.push(c);
            rest = &rest[c.len_utf8()..];
            continue;
        };
        out.push(' ');
        rest = &rest[gone..];
    }
    out
}

/// The number of `#` of a raw string that starts here.
fn raw_string(rest: &str) -> Option<usize> {
    let inner = rest.strip_prefix('r')?;
    let quoted = inner.trim_start_matches('#');
    quoted.starts_with('"').then_some(inner.len() - quoted.len())
}

/// The length of the string that starts here.
fn string(rest: &str) -> usize {
    let mut escaped = true;
    for (i, c) in rest.char_indices() {
        match c {
            '"' if !escaped => return i + 1,
            '\\' => escaped = !escaped,
            _ => escaped = false,
        }
    }
    rest.len()
}

#[test]
fn paths_are_read_as_what_they_are() {
    let own: Path = ["geom", "ops", "hull"].map(str::to_owned).to_vec();
    let read = |code: &str| named(&own, code).iter().map(|p| p.join("::")).collect::<Vec<_>>();
    assert_eq!(read("use crate::units;"), ["units"]);
    assert_eq!(read("use super::offset::grow;"), ["geom::ops::offset::grow"]);
    assert_eq!(read("use super::super::index::{self, edges};"), ["geom::index", "geom::index::edges"]);
    assert_eq!(read("use self::parts::*; use super::*;"), ["geom::ops::hull::parts::*", "geom::ops::*"]);
    assert_eq!(
        read("use crate::{budget::Budget, geom::{shape::{Arc, trig as t}, ops},\n threads};"),
        ["budget::Budget", "geom::shape::Arc", "geom::shape::trig", "geom::ops", "threads"]
    );
    assert_eq!(read("let a = crate::text::plain(super::b::<f64>(x), self.c);"), ["text::plain", "geom::ops::b"]);
    assert_eq!(read("pub(in crate::geom) fn f() {} pub(super) use self::g;"), ["geom::ops::hull::g"]);
    let quoted =
        "// crate::a\n/* crate::b */ \"crate::c \\\" crate::d\" r#\"crate::\"e\"# '\"' crate::f '\\'' crate::g";
    assert_eq!(read(quoted), ["f", "g"]);
    assert_eq!(read("use kurbo::Point; use std::f64::consts::{PI, TAU}; Some::crate_of()"), [""; 0]);
}

#[test]
fn tests_are_left_out() {
    assert_eq!(without_tests("a\n#[cfg(test)]\npub mod tests {\n"), ("a\n#[cfg(test)]\n", false));
    assert_eq!(without_tests("mod a;\n// a mod {\n"), ("mod a;\n// a mod {\n", false));
    assert!(without_tests("pub mod a {\n}\n").1);
}
