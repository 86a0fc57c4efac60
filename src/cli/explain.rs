//! `letin explain`: the page of a code, for a terminal or as JSON.
//!
//! In: the code as typed. Out: the page on standard output, or an error with the codes of similar spelling. The pages use a
//! subset of Markdown: paragraphs, headings, lists, and words in backticks.

use super::ExitStatus;
use super::failure::{Failure, answer};
use super::spelling::british;
use crate::check::Code;
use crate::report::json;
use crate::text::{alike, terminal as safe, wrapped};
use terminal_size::terminal_size;

/// Longest line, characters; longer lines tire the reader.
const WIDEST: usize = 80;
/// Least width for wrapping, characters; a narrower terminal breaks the lines itself.
const NARROWEST: usize = 30;

/// Prints the page of `code`, or the list of all codes.
pub(super) fn explain(code: Option<&str>, as_json: bool) -> ExitStatus {
    let text = match code.map(|typed| Code::from_name(&british(typed)).ok_or(typed)) {
        None if as_json => json::codes(),
        None => Ok(list(width()).into_bytes()),
        Some(Ok(code)) if as_json => json::page(code),
        Some(Ok(code)) => Ok(page(code, width()).into_bytes()),
        Some(Err(typed)) => return unknown(typed, as_json),
    };
    answer(text.map_err(Failure::from), as_json)
}

fn unknown(typed: &str, as_json: bool) -> ExitStatus {
    let alike = alike(&british(typed), Code::ALL.iter().map(|c| c.name()));
    let message = match alike.first() {
        None => format!("There is no code {}.", safe(typed)),
        Some(first) => format!("There is no code {}. Did you mean `letin explain {first}`?", safe(typed)),
    };
    let others = alike.get(1..).unwrap_or_default();
    let others = if others.is_empty() { String::new() } else { format!("Similar codes: {}. ", others.join(", ")) };
    Failure::usage(&[], message, format!("{others}`letin explain` lists all codes.")).print(as_json)
}

/// The width of the terminal; where the output is no terminal, what the environment states.
fn width() -> usize {
    let terminal = terminal_size().map(|(columns, _)| usize::from(columns.0));
    let stated = || std::env::var("COLUMNS").ok().and_then(|c| c.parse::<usize>().ok());
    terminal.or_else(stated).map_or(WIDEST, |c| c.clamp(NARROWEST, WIDEST))
}

fn list(width: usize) -> String {
    let longest = Code::ALL.iter().map(|c| c.name().len()).max().unwrap_or(0);
    let lines = Code::ALL.iter().map(|c| {
        let head = format!("  {:longest$}  ", c.name());
        wrapped(c.summary(), &head, &" ".repeat(longest + 4), width)
    });
    format!("{}\n`letin explain CODE` says what it means, why it matters and what to do.\n", lines.collect::<String>())
}

fn page(code: Code, width: usize) -> String {
    let mut out = format!("{}\n\n", code.name());
    for block in code.page().split("\n\n") {
        let block = block.trim_end();
        if let Some(heading) = block.strip_prefix("## ") {
            out.push_str(&format!("{}\n", heading.to_uppercase()));
            continue;
        }
        if block.starts_with("* ") {
            for item in items(block) {
                out.push_str(&wrapped(&item, "  * ", "    ", width));
            }
        } else {
            out.push_str(&wrapped(&plain(block), "  ", "  ", width));
        }
        out.push('\n');
    }
    out.truncate(out.trim_end().len());
    out.push('\n');
    out
}

/// The items of a list, each on one line.
fn items(block: &str) -> Vec<String> {
    let mut items: Vec<String> = Vec::new();
    for line in block.lines() {
        match (line.strip_prefix("* "), items.last_mut()) {
            (None, Some(last)) => {
                last.push(' ');
                last.push_str(line.trim());
            }
            (first, _) => items.push(first.unwrap_or(line).to_owned()),
        }
    }
    items.iter().map(|i| plain(i)).collect()
}

/// The text without Markdown's backticks.
fn plain(text: &str) -> String {
    text.replace('`', "")
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_slip_is_understood() {
        let alike = |typed| alike(typed, Code::ALL.iter().map(|c| c.name()));
        assert_eq!(alike("nek"), ["neck"]);
        assert_eq!(alike("inside_corner").first(), Some(&"inside-corner"));
        assert_eq!(alike("Crosing").first(), Some(&"crossing"));
        assert!(alike("web").contains(&"thin-web"));
        assert!(alike("xylophone").is_empty());
    }

    #[test]
    fn every_page_fits_the_terminal_and_loses_no_word() {
        for &code in Code::ALL {
            for width in [NARROWEST, 60, WIDEST] {
                let shown = page(code, width);
                let long = shown.lines().find(|l| l.chars().count() > width && l.trim().contains(' '));
                assert_eq!(long, None, "{code} at {width}");
                let words = |t: &str| -> Vec<String> {
                    let bare = t.to_lowercase().replace('`', "").replace(['#', '*'], " ");
                    bare.split_whitespace().map(str::to_owned).collect()
                };
                let (shown, written) = (words(&shown), words(code.page()));
                assert_eq!(shown[1..], written[..], "{code}: the code itself comes first");
            }
        }
    }

    #[test]
    fn the_list_has_every_code() {
        let all = list(WIDEST);
        assert!(Code::ALL.iter().all(|c| all.lines().any(|l| l.split_whitespace().next() == Some(c.name()))), "{all}");
    }
}
