//! What people read is plain: short sentences, short lines, one vocabulary, options that exist, cautions, one unit.
//!
//! The texts: the reports of all samples as `samples/*/expected` holds them and in full, the explain pages, the help, and
//! the Markdown of the project. Source of the limits: none outside; they are this project's own.

use letin::check::Code;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;
use std::sync::OnceLock;

/// Columns of the terminal.
const WIDEST: usize = 100;
/// Words of a sentence.
const LONGEST: usize = 25;
/// Lines of the report of a job that goes well.
const SHORT: usize = 24;
/// Lines of `letin check` for a name board.
const BOARD: usize = 40;

/// Words that have a better one, in the report, the pages and the help.
const NOT: &[&str] = &[
    "insert",
    "inserts",
    "jutting",
    "timber",
    "pocket",
    "pockets",
    "mortise",
    "mortises",
    "collar",
    "sleeve",
    "sight line",
    "sight lines",
    "common point",
    "on paper",
    "a side",
    "usual:",
    "told",
    "tells",
    "wanted",
    "nobody said",
    "taken for good",
    "as deep as it comes",
    "stands against",
];

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

fn letin(dir: &Path, args: &[&str]) -> (String, String) {
    let done = Command::new(env!("CARGO_BIN_EXE_letin")).args(args).current_dir(dir).output().unwrap();
    (String::from_utf8(done.stdout).unwrap(), String::from_utf8(done.stderr).unwrap())
}

fn folders() -> Vec<PathBuf> {
    let mut all: Vec<PathBuf> =
        fs::read_dir(root().join("samples")).unwrap().map(|e| e.unwrap().path()).filter(|p| p.is_dir()).collect();
    all.sort();
    assert!(all.len() >= 10, "{all:?}");
    all
}

/// Reports as the samples hold them, by name.
fn said() -> BTreeMap<String, String> {
    let mut all = BTreeMap::new();
    for folder in folders() {
        for entry in fs::read_dir(folder.join("expected")).unwrap() {
            let path = entry.unwrap().path();
            if path.extension().is_some_and(|e| e == "txt") {
                all.insert(
                    path.strip_prefix(root()).unwrap().display().to_string(),
                    fs::read_to_string(&path).unwrap(),
                );
            }
        }
    }
    assert!(all.len() >= 20, "{:?}", all.keys());
    all
}

/// What a sample's command prints with more options, nothing written.
fn printed(folder: &Path, more: &[&str]) -> String {
    let command = fs::read_to_string(folder.join("command")).unwrap();
    let args: Vec<&str> = command.split_whitespace().chain(["--dry-run"]).chain(more.iter().copied()).collect();
    letin(folder, &args).0
}

fn with_command() -> Vec<PathBuf> {
    folders().into_iter().filter(|f| f.join("command").is_file()).collect()
}

/// Reports in full.
fn in_full() -> BTreeMap<String, String> {
    static TEXTS: OnceLock<BTreeMap<String, String>> = OnceLock::new();
    let texts =
        || with_command().iter().map(|f| (format!("{} --full", f.display()), printed(f, &["--full"]))).collect();
    TEXTS.get_or_init(texts).clone()
}

fn pages() -> BTreeMap<String, String> {
    Code::ALL.iter().map(|c| (format!("page {c}"), c.page().to_owned())).collect()
}

fn help() -> BTreeMap<String, String> {
    let commands = ["make", "check", "outlines", "prove", "explain", "offsets", "testpiece", "shape", "keys"];
    let of = |args: &[&str]| (format!("letin {}", args.join(" ")), letin(root(), args).0);
    let mut all: BTreeMap<String, String> = commands.iter().map(|c| of(&[c, "--help"])).collect();
    all.extend([of(&["--help"])]);
    assert!(all.values().all(|t| t.len() > 200));
    all
}

fn markdown() -> BTreeMap<String, String> {
    let mut files: Vec<PathBuf> = ["README.md", "DEVELOPERS.md", "CHANGELOG.md"].map(|f| root().join(f)).into();
    files.extend(folders().iter().map(|f| f.join("README.md")));
    files.into_iter().map(|f| (f.display().to_string(), fs::read_to_string(&f).unwrap())).collect()
}

/// Paragraphs: lines that belong together, joined. A line that starts a list, a table, a heading or a code block is one of
/// its own, and so is a line no deeper than the one before that ends in a full stop or a colon.
fn paragraphs(text: &str) -> Vec<String> {
    let mut out: Vec<String> = Vec::new();
    let mut code = false;
    let mut fresh = true;
    for line in text.lines() {
        if line.trim_start().starts_with("```") {
            code = !code;
            fresh = true;
            continue;
        }
        let own = line.trim();
        let starts = ["* ", "|", "#", "▲", "●", "○", "- "].iter().any(|s| own.starts_with(s))
            || own.split_once(". ").is_some_and(|(n, _)| n.parse::<u32>().is_ok())
            // A row of a table, or of a list of options.
            || own.contains("  ");
        let ended = out.last().is_some_and(|l: &String| l.ends_with(['.', ':', '?', '!', ']']));
        if code || own.is_empty() {
            fresh = true;
        } else if fresh || starts || ended || out.is_empty() {
            out.push(own.to_owned());
            fresh = own.starts_with('|') || own.starts_with('#') || own.contains("  ");
        } else if let Some(last) = out.last_mut() {
            last.push(' ');
            last.push_str(own);
        }
    }
    out
}

/// Sentences of more than [`LONGEST`] words; figures and paths count as words too.
fn too_long(text: &str) -> Vec<String> {
    let mut out = Vec::new();
    for paragraph in paragraphs(text).iter().flat_map(|p| p.split('|')) {
        for sentence in paragraph.split_inclusive(['.', '?', '!', ':', '·', ';']).fold(Vec::<String>::new(), joined) {
            let words = sentence.split_whitespace().filter(|w| w.chars().any(char::is_alphanumeric)).count();
            if words > LONGEST {
                out.push(sentence);
            }
        }
    }
    out
}

/// Ends a sentence only where a space follows, and a list item at its sign.
fn joined(mut all: Vec<String>, piece: &str) -> Vec<String> {
    match all.last_mut() {
        Some(last) if !piece.starts_with(char::is_whitespace) => last.push_str(piece),
        _ => all.push(piece.to_owned()),
    }
    all
}

fn bare(text: &str) -> String {
    let plain = text.to_lowercase().replace(|c: char| !c.is_alphanumeric() && !":'-".contains(c), " ");
    format!(" {} ", plain.split_whitespace().collect::<Vec<_>>().join(" "))
}

fn forbidden(text: &str) -> Vec<&'static str> {
    let text = bare(text);
    NOT.iter().filter(|w| text.contains(&format!(" {w} "))).copied().collect()
}

#[test]
fn the_measures_themselves_hold() {
    let long = format!("A word{}. Two words.", " more".repeat(LONGEST));
    assert_eq!(too_long(&long).len(), 1);
    assert_eq!(too_long(&format!("One word{}.", " more".repeat(LONGEST - 2))), [""; 0]);
    assert_eq!(too_long(&format!("{0}\n{0}\n", "0.5 mm at 3.25 mm. Next one.")), [""; 0]);
    assert_eq!(forbidden("The insert's a side, and the Collar."), ["collar", "a side"]);
    assert_eq!(paragraphs("a b\n  c d.\ne\n\nf\n* g\n  h\n"), ["a b c d.", "e", "f", "* g h"]);
}

#[test]
fn no_sentence_is_long_and_no_word_has_a_better_one() {
    let mut wrong = Vec::new();
    for (name, text) in said().into_iter().chain(in_full()).chain(pages()).chain(help()).chain(markdown()) {
        wrong.extend(too_long(&text).into_iter().map(|s| format!("{name}: long: {s}")));
        // README names the US word once beside our own.
        let text = if name.ends_with("README.md") { text.replacen("(US: mortise)", "", 1) } else { text };
        wrong.extend(forbidden(&text).into_iter().map(|w| format!("{name}: says “{w}”")));
    }
    assert!(wrong.is_empty(), "{} places:\n{}", wrong.len(), wrong.join("\n"));
}

#[test]
fn no_line_of_the_terminal_is_wide() {
    let dir = tempfile::tempdir().unwrap();
    // Figures of many digits: 4 m by 3 m, with tools of odd sizes.
    let large = "<svg xmlns='http://www.w3.org/2000/svg' width='4100.37mm' height='3100.73mm' viewBox='0 0 4100.37 3100.73'>\
                 <path d='M50.13 50.37 H4050.11 L3000.77 1500.33 L4050.19 3050.71 H50.17 L1000.31 1500.79 Z'/></svg>";
    fs::write(dir.path().join("large.svg"), large).unwrap();
    let odd = ["--bush", "19.87", "--cutter", "6.35", "--inlay-bush", "15.875", "--inlay-cutter", "5.93"];
    let mut texts: BTreeMap<String, String> = said().into_iter().chain(in_full()).chain(help()).collect();
    for more in [&["--full"][..], &["--show", "in"], &["--full", "--show", "in"], &[]] {
        let args = [&["check", "large.svg"][..], &odd, more].concat();
        texts.insert(args.join(" "), letin(dir.path(), &args).0);
    }
    // A line without a space is a name or a path: it cannot be broken.
    let wide = |l: &&str| l.chars().count() > WIDEST && l.trim().contains(' ') && !l.contains("samples/");
    for (name, text) in texts {
        let wide: Vec<&str> = text.lines().filter(wide).collect();
        assert!(wide.is_empty(), "{name}: {wide:#?}");
    }
}

#[test]
fn a_job_that_goes_well_is_one_screen() {
    for name in ["bow-tie-key", "inch-patch", "leaf"] {
        let text = fs::read_to_string(root().join("samples").join(name).join("expected/report.txt")).unwrap();
        // The last line is the exit status, which the terminal does not show.
        let lines = text.lines().count() - 1;
        assert!(lines <= SHORT, "{name}: {lines} lines\n{text}");
        assert!(text.starts_with("Fits"), "{text}");
    }
    for more in [&[][..], &["--accept", "closed-gap"], &["--bush", "10", "--cutter", "3", "--base", "60"]] {
        let args = [&["check", "tests/fixtures/svg/name-board.svg"][..], more].concat();
        let (text, _) = letin(root(), &args);
        let lines = text.lines().count();
        assert!(lines <= BOARD && lines > 8, "{args:?}: {lines} lines\n{text}");
        assert!(!text.starts_with("Fits"), "a board that loses so much does not only fit: {text}");
    }
}

/// One sign for one severity, and no other.
#[test]
fn signs_are_those_of_the_severity() {
    for (name, text) in said().into_iter().chain(in_full()) {
        for line in text.lines().filter(|l| l.starts_with(['●', '▲', '○', '■', '◆', '•'])) {
            let right = line.starts_with("● Error") || line.starts_with("▲ Warning") || line.starts_with("○ ");
            assert!(right, "{name}: {line}");
        }
    }
}

#[test]
fn every_report_that_leads_to_routing_has_the_cautions() {
    let dir = tempfile::tempdir().unwrap();
    let key = root().join("samples/bow-tie-key/key.svg").display().to_string();
    let ring = root().join("samples/ring/ring.svg").display().to_string();
    for args in [
        vec!["check", &key],
        vec!["check", &key, "--full"],
        vec!["check", &ring, "--accept", "island"],
        vec!["check", &key, "--from", "recess", "--bush", "16"],
        vec!["make", &key, "--dry-run"],
        vec!["make", &key, "--from", "part", "--pair", "auto", "--kit", "metric", "--dry-run"],
        vec!["testpiece", "--dry-run"],
    ] {
        let (text, errors) = letin(dir.path(), &args);
        for wanted in ["Unplug", "lungs", "Local rules", "makers' instructions", "trained practice"] {
            assert!(text.contains(wanted), "{args:?} lacks {wanted}: {text}{errors}");
        }
    }
}

/// Options are written as in code or in a sentence: two dashes and a name.
fn options(text: &str) -> BTreeSet<String> {
    let mut out = BTreeSet::new();
    for rest in text.split("--").skip(1) {
        let name: String = rest.chars().take_while(|c| c.is_ascii_lowercase() || *c == '-').collect();
        if name.len() > 1 {
            out.insert(name.trim_end_matches('-').to_owned());
        }
    }
    out
}

#[test]
fn every_option_that_is_named_exists() {
    let known: BTreeSet<String> = help().values().flat_map(|t| options(t)).collect();
    assert!(known.len() > 60, "{known:?}");
    // Options of cargo and of the tests' own programs.
    let others = ["release", "path", "test", "features", "no-default-features", "lib", "short", "all-targets"];
    let pieces = ["README.md", "CHANGELOG.md"].map(|f| (f.to_owned(), fs::read_to_string(root().join(f)).unwrap()));
    for (name, text) in said().into_iter().chain(in_full()).chain(pages()).chain(pieces) {
        for option in options(&text) {
            assert!(known.contains(&option) || others.contains(&option.as_str()), "{name}: there is no --{option}");
        }
    }
}

/// Where the drawing is in inches, no figure is in millimetres but the sizes of metric tools, in brackets.
#[test]
fn an_inch_job_is_in_inches() {
    let patch = root().join("samples/inch-patch");
    for more in [&[][..], &["--full"]] {
        let text = printed(&patch, more);
        // Of the words in brackets behind a metric tool nothing is left.
        let outside: String = text.split('(').map(|p| p.split_once(')').map_or(p, |(_, rest)| rest)).collect();
        assert!(text.contains(" in ") && !outside.contains(" mm"), "{text}");
    }
    let text = printed(&patch, &["--show", "mm"]);
    assert!(text.contains("101.60 × 63.50 mm") && text.contains("15.88 mm (5/8 in)"), "{text}");
    let key = root().join("samples/bow-tie-key");
    let text = printed(&key, &["--show", "in"]);
    // 70 / 25.4 = 2.756, 36 / 25.4 = 1.417.
    assert!(text.contains("2.756 × 1.417 in (≈ 2 3/4 × 1 27/64)"), "{text}");
}

#[test]
fn the_readme_has_pictures_of_the_present_build_and_is_short() {
    let text = fs::read_to_string(root().join("README.md")).unwrap();
    assert!(text.lines().count() <= 150, "{} lines", text.lines().count());
    let pictures: Vec<&str> =
        text.split("](").skip(1).map(|r| r.split(')').next().unwrap()).filter(|r| r.ends_with(".svg")).collect();
    assert!(pictures.len() >= 2, "{pictures:?}");
    for picture in pictures {
        // tests/files/samples.rs holds what lies there to the bytes of the present build.
        let expected = picture.starts_with("samples/") && picture.contains("/expected/");
        assert!(expected && root().join(picture).is_file(), "{picture}");
    }
    for row in text.lines().filter(|l| l.starts_with("| ") && l.contains("`letin ")) {
        for command in row.split('`').filter(|c| c.starts_with("letin ")) {
            let name = command.split_whitespace().nth(1).unwrap();
            let known = help().contains_key(&format!("letin {name} --help"));
            assert!(
                known || [".svg", ".toml"].iter().any(|e| name.ends_with(e)) || name.starts_with("--"),
                "{command}"
            );
        }
    }
}
