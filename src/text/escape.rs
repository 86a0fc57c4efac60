//! Makes strings from outside harmless, for each kind of output.
//!
//! Ids, layer names and file names can hold line ends, control characters and bidirectional controls. A line end forges
//! a pair in DXF, a control character drives a terminal, and a bidirectional control makes one name look like another.
//! Hidden characters are shown as `\u{202e}`. The output is for display and is not meant to be read back.

/// Invisible characters, and characters that change how their neighbours are shown.
///
/// Source: Unicode Standard, general category Cc and the default ignorable code points; UAX 9 (bidirectional controls).
fn hidden(c: char) -> bool {
    c.is_control()
        || matches!(c, '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}'
            | '\u{180b}'..='\u{180f}' | '\u{200b}'..='\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}'
            | '\u{3164}' | '\u{fdd0}'..='\u{fdef}' | '\u{fe00}'..='\u{fe0f}' | '\u{feff}' | '\u{ffa0}'
            | '\u{fff0}'..='\u{fffb}' | '\u{1bca0}'..='\u{1bca3}' | '\u{1d173}'..='\u{1d17a}'
            | '\u{e0000}'..='\u{e0fff}')
        || (c as u32) & 0xfffe == 0xfffe
}

fn visible(out: &mut String, c: char) {
    match c {
        '\n' => out.push_str("\\n"),
        '\r' => out.push_str("\\r"),
        '\t' => out.push_str("\\t"),
        c => out.extend(c.escape_unicode()),
    }
}

/// For a terminal: the result cannot move the cursor or change the writing direction.
#[must_use]
pub fn terminal(s: &str) -> String {
    let mut out = String::with_capacity(s.len());
    for c in s.chars() {
        if hidden(c) { visible(&mut out, c) } else { out.push(c) }
    }
    out
}

/// For text and attributes of XML and HTML.
#[must_use]
pub fn xml(s: &str) -> String {
    let mut out = String::with_capacity(s.len());
    for c in s.chars() {
        match c {
            '&' => out.push_str("&amp;"),
            '<' => out.push_str("&lt;"),
            '>' => out.push_str("&gt;"),
            '"' => out.push_str("&quot;"),
            '\'' => out.push_str("&#39;"),
            c if hidden(c) => visible(&mut out, c),
            c => out.push(c),
        }
    }
    out
}

/// Longest name of a file, bytes. File systems allow 255.
pub const LONGEST_STEM: usize = 180;

/// Device names that Windows reserves, with any extension.
/// Source: Microsoft, Naming Files, Paths, and Namespaces.
fn reserved(base: &str) -> bool {
    let base = base.trim_end().to_ascii_uppercase();
    let port = base.strip_prefix("COM").or_else(|| base.strip_prefix("LPT"));
    matches!(base.as_str(), "CON" | "PRN" | "AUX" | "NUL" | "CONIN$" | "CONOUT$")
        || port
            .is_some_and(|n| matches!(n, "0" | "1" | "2" | "3" | "4" | "5" | "6" | "7" | "8" | "9" | "¹" | "²" | "³"))
}

/// The beginning of a file name that is valid on any system. It has no separators, hidden characters or device names.
/// It has no dots or blanks at its ends, and no leading dash, which would look like an option. Never empty.
#[must_use]
pub fn file_stem(s: &str) -> String {
    let unfit = |c: char| hidden(c) || matches!(c, '/' | '\\' | ':' | '*' | '?' | '"' | '<' | '>' | '|');
    let mut stem: String = s.chars().map(|c| if unfit(c) { '_' } else { c }).collect();
    if stem.len() > LONGEST_STEM {
        let cut = (0..=LONGEST_STEM).rev().find(|&i| stem.is_char_boundary(i)).unwrap_or(0);
        stem.truncate(cut);
    }
    let ends = |c: char| c == '.' || c.is_whitespace();
    stem = stem.trim_matches(ends).to_string();
    if stem.starts_with('-') {
        stem.replace_range(..1, "_");
    }
    let base = stem.find('.').unwrap_or(stem.len());
    if reserved(&stem[..base]) {
        stem.insert(base, '_');
    }
    if stem.is_empty() { "drawing".into() } else { stem }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_line_end_forges_nothing() {
        assert_eq!(terminal("a\nb\u{1b}[2J"), "a\\nb\\u{1b}[2J");
        assert_eq!(xml("a\u{0}<b> & \"c\" 'd'"), "a\\u{0}&lt;b&gt; &amp; &quot;c&quot; &#39;d&#39;");
    }

    #[test]
    fn direction_marks_are_shown() {
        assert_eq!(terminal("hatch\u{202e}gvs"), "hatch\\u{202e}gvs");
        assert_eq!(xml("\u{2066}x\u{2069}"), "\\u{2066}x\\u{2069}");
        assert_eq!(file_stem("hatch\u{202e}gvs"), "hatch_gvs");
    }

    #[test]
    fn stems_are_names_on_any_system() {
        for (given, wanted) in [
            ("chart table", "chart table"),
            ("../../sole", "_.._sole"),
            ("con", "con_"),
            ("Lpt1.old", "Lpt1_.old"),
            ("com0", "com0_"),
            ("aux .x", "aux _.x"),
            ("hatch. .", "hatch"),
            ("-o", "_o"),
            ("", "drawing"),
            ("..", "drawing"),
            ("C:key", "C_key"),
            ("console", "console"),
        ] {
            assert_eq!(file_stem(given), wanted, "{given:?}");
        }
        assert!(file_stem(&"ü".repeat(500)).len() <= LONGEST_STEM);
    }

    proptest! {
        #[test]
        fn whatever_comes_in(s in any::<String>()) {
            prop_assert!(!terminal(&s).chars().any(hidden));
            let x = format!("<a b=\"{0}\">{0}</a>", xml(&s));
            prop_assert!(roxmltree::Document::parse(&x).is_ok());
            let f = file_stem(&s);
            prop_assert!(!f.is_empty() && !f.contains(['/', '\\', ':']) && !f.ends_with(['.', ' ']));
            prop_assert_eq!(file_stem(&f), f);
        }
    }
}
