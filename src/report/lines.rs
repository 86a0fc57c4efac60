//! Lines of the terminal: wrapped, never longer than a set number of columns.
//!
//! In: sentences. Out: text. A line breaks between words, but never between a number and its unit. A single word that
//! is longer than a line, such as a path, exceeds the limit. Rows of tables do not wrap either.

use crate::text::wrapped;

/// Longest line, columns.
pub(super) const WIDEST: usize = 100;

/// Text that grows line by line.
#[derive(Debug, Default)]
pub(super) struct Lines(String);

impl Lines {
    pub(super) fn text(self) -> String {
        self.0
    }

    /// Adds an empty line, unless the text is empty or ends in one.
    pub(super) fn gap(&mut self) {
        if !self.0.is_empty() && !self.0.ends_with("\n\n") {
            self.0.push('\n');
        }
    }

    pub(super) fn line(&mut self, words: &str) {
        self.hung(0, 2, words);
    }

    pub(super) fn item(&mut self, words: &str) {
        self.hung(2, 4, words);
    }

    pub(super) fn below(&mut self, words: &str) {
        self.hung(4, 6, words);
    }

    /// A row of a table. It keeps its spaces and does not wrap.
    pub(super) fn table(&mut self, row: &str) {
        self.0.push_str("  ");
        self.0.push_str(row.trim_end());
        self.0.push('\n');
    }

    /// `words` after `heading`. Further lines start below the first word.
    pub(super) fn hung_behind(&mut self, heading: &str, words: &str) {
        let at = self.0.len();
        let wide = heading.chars().count();
        self.hung(wide, wide, words);
        self.0.replace_range(at..at + wide, heading);
    }

    /// A line that starts at column `first`, its further lines at column `further`.
    pub(super) fn hung(&mut self, first: usize, further: usize, words: &str) {
        self.0.push_str(&wrapped(words, &" ".repeat(first), &" ".repeat(further), WIDEST));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn no_line_is_too_long_and_no_word_is_lost() {
        let words = "Recess 70.00 × 33.72 mm, inlay 69.90 × 33.62 mm. ".repeat(12);
        for first in [0, 2, 9] {
            let mut lines = Lines::default();
            lines.hung(first, 12, &words);
            let text = lines.text();
            assert!(text.lines().count() > 5 && text.lines().all(|l| l.chars().count() <= WIDEST), "{text}");
            assert!(text.lines().all(|l| !l.trim().starts_with("mm") && !l.ends_with('×')), "{text}");
            assert_eq!(text.split_whitespace().collect::<Vec<_>>(), words.split_whitespace().collect::<Vec<_>>());
        }
    }

    #[test]
    fn gaps_are_single() {
        let mut lines = Lines::default();
        lines.gap();
        lines.line("a");
        lines.gap();
        lines.gap();
        lines.item("b");
        assert_eq!(lines.text(), "a\n\n  b\n");
    }
}
