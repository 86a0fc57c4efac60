//! Lines of the terminal: sentences wrapped to a number of columns.

use textwrap::{Options, WordSeparator, WordSplitter, WrapAlgorithm, fill};

/// A space at which no line breaks.
const GLUE: char = '\u{a0}';

/// `text` in lines of at most `width` columns. `head` begins the first line, `margin` the others. A line breaks between
/// words, and not between a number and its unit. Only a word longer than a line, such as a path, runs over.
#[must_use]
pub fn wrapped(text: &str, head: &str, margin: &str, width: usize) -> String {
    let options = Options::new(width)
        .initial_indent(head)
        .subsequent_indent(margin)
        .break_words(false)
        .word_separator(WordSeparator::AsciiSpace)
        .word_splitter(WordSplitter::NoHyphenation)
        .wrap_algorithm(WrapAlgorithm::FirstFit);
    let lines = fill(&glued(text), options).replace(GLUE, " ");
    lines.lines().map(str::trim_end).fold(String::new(), |out, line| out + line + "\n")
}

/// The words of a text, single spaces between them, numbers glued to their units.
fn glued(text: &str) -> String {
    let mut out = String::new();
    for word in text.split_whitespace() {
        let bare = word.trim_end_matches(['.', ',', ':', ';', ')']);
        let unit = ["mm", "mm²", "in", "in²", "%"].contains(&bare) && out.ends_with(|c: char| c.is_ascii_digit());
        let glue = unit || bare == "×" || out.ends_with('×');
        if !out.is_empty() {
            out.push(if glue { GLUE } else { ' ' });
        }
        out.push_str(word);
    }
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_too_long_and_no_word_is_lost() {
        let words = "Recess 70.00 × 33.72 mm, inlay 69.90 × 33.62 mm (100 %). ".repeat(12);
        for head in ["", "  ", "  7. "] {
            let text = wrapped(&words, head, "     ", 60);
            assert!(text.lines().count() > 5 && text.lines().all(|l| l.chars().count() <= 60), "{text}");
            assert!(text.lines().all(|l| !l.trim().starts_with("mm") && !l.ends_with('×')), "{text}");
            let own = format!("{head}{words}");
            assert_eq!(text.split_whitespace().collect::<Vec<_>>(), own.split_whitespace().collect::<Vec<_>>());
        }
        let path = "a/".repeat(80);
        assert_eq!(wrapped(&format!("see {path} now"), "", "  ", 30), format!("see\n  {path}\n  now\n"));
    }
}
