//! British and American spellings of the words that commands, options and codes hold.

/// American spellings, and the British ones that this program uses.
const WORDS: [(&str, &str); 4] = [("center", "centre"), ("meter", "metre"), ("color", "colour"), ("gray", "grey")];

/// `text` in British spelling, in lower case, with hyphens in place of blanks and underscores: as codes are written.
pub(super) fn british(text: &str) -> String {
    let text = text.trim().to_lowercase().replace(['_', ' '], "-");
    let one = |word: &str| {
        let known = WORDS.iter().find(|(us, _)| word.strip_prefix(us).is_some_and(|end| ["", "s"].contains(&end)));
        known.map_or_else(|| word.to_owned(), |(us, uk)| word.replacen(us, uk, 1))
    };
    text.split('-').map(one).collect::<Vec<_>>().join("-")
}

/// Other spellings of the value `name` of an option.
pub(super) fn aliases(name: &str) -> &'static [&'static str] {
    match name {
        "mm" => &["millimetre", "millimetres", "millimeter", "millimeters"],
        "in" => &["inch", "inches"],
        "centre" => &["center"],
        _ => &[],
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn whole_words_only() {
        for (typed, plain) in [
            ("center-line", "centre-line"),
            ("Centre_Line", "centre-line"),
            ("Colors", "colours"),
            ("gray", "grey"),
            ("perimeter", "perimeter"),
            ("colorado", "colorado"),
        ] {
            assert_eq!(british(typed), plain);
        }
    }
}
