//! The voice of findings: short sentences, no word that the program's vocabulary replaces, lengths only as numbers.

use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Words and phrases with a plainer one in the vocabulary.
const AVOIDED: &[&str] = &[
    "insert",
    "jutting",
    "timber",
    "pocket",
    "mortise",
    "collar",
    "sleeve",
    "sight line",
    "common point",
    "told",
    "found:",
    "on paper",
    "usual",
    "stands",
    "wanted",
    "a side",
    "bushing",
];

/// Most words of a sentence.
const LONGEST: usize = 25;

fn root() -> PathBuf {
    PathBuf::from(env!("CARGO_MANIFEST_DIR"))
}

/// The string literals of Rust code, without those of comments and unit tests.
fn literals(code: &str) -> Vec<String> {
    let code = code.split("#[cfg(test)]").next().unwrap();
    let mut all = Vec::new();
    let mut chars = code.chars().peekable();
    while let Some(c) = chars.next() {
        if c == '/' && chars.peek() == Some(&'/') {
            while chars.next_if(|c| *c != '\n').is_some() {}
        }
        if c != '"' {
            continue;
        }
        let mut text = String::new();
        while let Some(c) = chars.next().filter(|c| *c != '"') {
            match c {
                // A line break that the literal leaves out, with the blanks behind it.
                '\\' if chars.peek() == Some(&'\n') => while chars.next_if(|c| c.is_whitespace()).is_some() {},
                '\\' => text.extend(chars.next()),
                c => text.push(c),
            }
        }
        all.push(text);
    }
    all
}

/// The sentences of a text with at least one blank.
fn sentences(text: &str) -> impl Iterator<Item = &str> {
    text.split(['.', '!', '?']).filter_map(|s| Some(s.trim()).filter(|s| s.contains(' ')))
}

/// The first avoided word in a text, as whole words.
fn avoided(text: &str) -> Option<&'static str> {
    let word = |c: char| c.is_alphanumeric() || c == '-';
    let text = format!(" {} ", text.to_lowercase());
    AVOIDED.iter().copied().find(|a| {
        text.match_indices(a).any(|(i, _)| {
            let (before, after) = (&text[..i], &text[i + a.len()..]);
            !before.ends_with(word) && !after.starts_with(word)
        })
    })
}

#[test]
fn the_scan_sees_what_it_should() {
    let code =
        "// \"a comment\"\nlet a = \"one \\\n    line\"; let b = \"two \\\"quoted\\\"\"; #[cfg(test)] \"not this\"";
    assert_eq!(literals(code), ["one line", "two \"quoted\""]);
    assert_eq!(avoided("A piece wanted here"), Some("wanted"));
    assert_eq!((avoided("unwanted"), avoided("an unusual inside")), (None, None));
    assert_eq!(sentences("One two. Three four 0.5 mm").count(), 3);
}

/// Every literal of the checks. A place for a figure counts as two words, the number and its unit.
#[test]
fn literals_of_the_checks_are_plain() {
    let mut seen = 0;
    for entry in fs::read_dir(root().join("src/check")).unwrap() {
        let path = entry.unwrap().path();
        if path.extension().is_none_or(|e| e != "rs") {
            continue;
        }
        for text in literals(&fs::read_to_string(&path).unwrap()) {
            let place = format!("{}: {text}", path.display());
            assert_eq!(avoided(&text), None, "{place}");
            let words: Vec<&str> = text.split(|c: char| !c.is_alphanumeric()).collect();
            let units = words.windows(2).filter(|w| w[1] == "mm" && w[0] != "unit").count();
            assert_eq!(units, 0, "a unit in a literal, {place}");
            assert!(!text.contains(';'), "a semicolon, {place}");
            for s in sentences(&text) {
                let long = s.split_whitespace().map(|w| if w.contains("{}") { 2 } else { 1 }).sum::<usize>();
                assert!(long <= LONGEST, "{long} words, {place}");
            }
            seen += usize::from(text.contains(' '));
        }
    }
    assert!(seen > 150, "{seen} texts");
}

fn findings(folder: &Path, more: &[&str]) -> Vec<Value> {
    let words = |file: &str| fs::read_to_string(folder.join(file)).unwrap_or_default();
    let settings = format!("{} {}", words("args"), words("bad.args"));
    let drawing = ["bad.svg", "bad.dxf"].map(|n| folder.join(n)).into_iter().find(|p| p.is_file()).unwrap();
    let out = Command::new(env!("CARGO_BIN_EXE_letin"))
        .current_dir(root())
        .args(["check", "--json"])
        .args(settings.split_whitespace())
        .args(more)
        .arg(&drawing)
        .output()
        .unwrap();
    let v: Value = serde_json::from_slice(&out.stdout).unwrap_or_else(|e| panic!("{}: {e}: {out:?}", folder.display()));
    v["findings"].as_array().unwrap().clone()
}

/// Every finding on the drawings of `tests/codes`, in millimetres and in inches.
#[test]
fn findings_read_plainly() {
    for entry in fs::read_dir(root().join("tests/codes")).unwrap() {
        let folder = entry.unwrap().path();
        for show in ["mm", "in"] {
            for f in findings(&folder, &["--show", show]) {
                for key in ["message", "help"] {
                    let text = f[key].as_str().unwrap();
                    let place = format!("{} {key}: {text}", f["code"]);
                    assert!(text.ends_with('.') && !text.starts_with(char::is_lowercase), "{place}");
                    assert_eq!(avoided(text), None, "{place}");
                    for s in text.split(". ") {
                        assert!(s.split_whitespace().count() <= LONGEST, "{place}");
                    }
                    if show == "in" {
                        // A metric tool has its own unit behind the inches, in parentheses.
                        let bare: String =
                            text.replace("--unit mm", "").split('(').map(|p| p.rsplit(')').next().unwrap()).collect();
                        assert!(!bare.contains(" mm"), "{place}");
                    }
                }
            }
        }
    }
}
