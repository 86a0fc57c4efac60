//! Every code has its page and two drawings. The bad one gives exactly this finding, the good one gives none.
//!
//! The program runs `codes/CODE/bad.svg` and `good.svg` (`.dxf` where the code needs it). Further files of the folder:
//! `args` holds settings for both drawings, `bad.args` and `good.args` for one of them. `also` lists the codes that
//! inevitably accompany the bad drawing. The note `not-measured` of every job does not count. A shape has sharp corners
//! only where the code is about them.

use letin::check::Code;
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::{Command, Output};

/// Codes that no valid drawing can cause, and why.
const NO_DRAWINGS: &[(Code, &str)] = &[
    (Code::Uncertified, "a drawing that gives it shows a fault of the geometry, not an example"),
    (Code::Unexplained, "a drawing that gives it shows a fault of the checks, not an example"),
    (Code::SecondReader, "a drawing on which the two readers differ shows a fault of one of them"),
];

/// Codes without a good drawing, and why.
const NO_GOOD: &[(Code, &str)] = &[];

const SECTIONS: [&str; 5] = ["What it checks", "Why it matters", "Example", "What to do", "Source"];

fn has(list: &[(Code, &str)], code: Code) -> bool {
    list.iter().any(|(c, _)| *c == code)
}

fn folder(code: Code) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/codes").join(code.name())
}

/// The drawing `name` of the code, SVG or DXF.
fn drawing(code: Code, name: &str) -> Option<PathBuf> {
    ["svg", "dxf"].map(|ext| folder(code).join(format!("{name}.{ext}"))).into_iter().find(|p| p.is_file())
}

fn words(code: Code, file: &str) -> Vec<String> {
    let text = fs::read_to_string(folder(code).join(file)).unwrap_or_default();
    text.split_whitespace().map(str::to_owned).collect()
}

fn letin(args: &[&str]) -> Output {
    Command::new(env!("CARGO_BIN_EXE_letin")).args(args).output().unwrap()
}

fn text(bytes: &[u8]) -> String {
    String::from_utf8(bytes.to_vec()).unwrap()
}

/// Code and severity of every finding. The note on nominal sizes counts only for its own code.
fn found(code: Code, name: &str) -> Vec<(String, String)> {
    let file = drawing(code, name).unwrap_or_else(|| panic!("{code}: no {name} drawing"));
    let mut args = vec!["check".to_owned(), "--json".to_owned()];
    args.extend(words(code, "args"));
    args.extend(words(code, &format!("{name}.args")));
    args.push(file.to_str().unwrap().to_owned());
    let o = letin(&args.iter().map(String::as_str).collect::<Vec<_>>());
    assert!(matches!(o.status.code(), Some(0 | 1)), "{code}, {name}: {}{}", text(&o.stdout), text(&o.stderr));
    let v: Value = serde_json::from_slice(&o.stdout).unwrap();
    let of = |f: &Value, key: &str| f[key].as_str().unwrap().to_owned();
    let all = v["findings"].as_array().unwrap().iter().map(|f| (of(f, "code"), of(f, "severity")));
    all.filter(|(c, _)| c != "not-measured" || code == Code::NotMeasured).collect()
}

#[test]
fn every_code_has_its_page() {
    for &code in Code::ALL {
        let page = code.page();
        assert!(code.summary().len() > 10 && code.summary().ends_with('.'), "{code}: {}", code.summary());
        assert!(code.severity_words().len() > 3, "{code} has no words for its severity");
        let headings: Vec<&str> = page.lines().filter_map(|l| l.strip_prefix("## ")).collect();
        assert_eq!(headings, SECTIONS, "{code}");
        for section in page.split("\n## ").skip(1) {
            let (heading, body) = section.split_once('\n').unwrap();
            assert!(body.trim().len() > 15, "{code}: nothing under {heading}");
        }
        let source = page.split("## Source").nth(1).unwrap();
        assert!(["Published", "Derived", "Common practice"].iter().any(|s| source.contains(s)), "{code}: {source}");
    }
}

/// Every option in a page exists, and every code in `--accept CODE` can be accepted.
#[test]
fn pages_name_options_that_exist() {
    let help: String = ["make", "testpiece", "outlines"].iter().map(|c| text(&letin(&[c, "--help"]).stdout)).collect();
    let there: BTreeSet<&str> = help.split(|c: char| !(c.is_alphanumeric() || c == '-')).collect();
    for &code in Code::ALL {
        let page = code.page().replace('\n', " ");
        for word in page.split('`').skip(1).step_by(2) {
            let option = word.split(' ').next().unwrap();
            assert!(!option.starts_with("--") || there.contains(option), "{code}: {word}");
            if let Some(name) = word.strip_prefix("--accept ") {
                assert!(Code::from_name(name).is_some_and(Code::acceptable), "{code}: {word}");
            }
        }
    }
}

#[test]
fn there_is_a_folder_for_every_code_and_no_other() {
    let root = Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/codes");
    let there: BTreeSet<String> =
        fs::read_dir(root).unwrap().map(|e| e.unwrap().file_name().into_string().unwrap()).collect();
    let wanted: BTreeSet<String> =
        Code::ALL.iter().filter(|c| !has(NO_DRAWINGS, **c)).map(|c| c.name().to_owned()).collect();
    assert_eq!(there, wanted);
}

#[test]
fn a_bad_drawing_gives_just_this_finding() {
    for &code in Code::ALL.iter().filter(|c| !has(NO_DRAWINGS, **c)) {
        let all = found(code, "bad");
        let (this, others): (Vec<_>, Vec<_>) = all.into_iter().partition(|(c, _)| c == code.name());
        let others: BTreeSet<String> = others.into_iter().map(|(c, _)| c).collect();
        assert_eq!(this.len(), 1, "{code}: {this:?}, and {others:?}");
        assert!(code.severity_words().contains(&this[0].1), "{code} has severity {}, its page has another", this[0].1);
        assert_eq!(others, words(code, "also").into_iter().collect(), "{code}: the other findings");
    }
}

#[test]
fn a_good_drawing_gives_none() {
    for &code in Code::ALL.iter().filter(|c| !has(NO_DRAWINGS, **c) && !has(NO_GOOD, **c)) {
        assert_eq!(found(code, "good"), [], "{code}");
    }
}

#[test]
fn explain_prints_the_page() {
    let o = letin(&["explain", "neck"]);
    let said = text(&o.stdout);
    assert_eq!(o.status.code(), Some(0));
    assert!(said.starts_with("neck\n") && said.contains("\nWHAT TO DO\n") && said.lines().count() > 15, "{said}");
    let o = letin(&["explain", "neck", "--json"]);
    let v: Value = serde_json::from_slice(&o.stdout).unwrap();
    assert_eq!((&v["schema"], &v["code"]), (&Value::from(1), &Value::from("neck")));
    assert_eq!(
        (v["page"].as_str(), v["severity"].as_str()),
        (Some(Code::Neck.page()), Some(&*Code::Neck.severity_words()))
    );
}

#[test]
fn explain_without_a_code_lists_them_all() {
    let o = letin(&["explain"]);
    let said = text(&o.stdout);
    assert_eq!(o.status.code(), Some(0));
    let v: Value = serde_json::from_slice(&letin(&["explain", "--json"]).stdout).unwrap();
    let listed: Vec<&str> = v["codes"].as_array().unwrap().iter().map(|c| c["code"].as_str().unwrap()).collect();
    assert_eq!(listed, Code::ALL.iter().map(|c| c.name()).collect::<Vec<_>>());
    assert!(listed.iter().all(|c| said.lines().any(|l| l.split_whitespace().next() == Some(c))), "{said}");
}

#[test]
fn an_unknown_code_gets_similar_codes() {
    let o = letin(&["explain", "inside-corners"]);
    assert_eq!(o.status.code(), Some(2));
    assert!(
        o.stdout.is_empty() && text(&o.stderr).contains("Did you mean `letin explain inside-corner`?"),
        "{}",
        text(&o.stderr)
    );
    let o = letin(&["explain", "xylophone", "--json"]);
    assert_eq!(o.status.code(), Some(2));
    let v: Value = serde_json::from_slice(&o.stdout).unwrap();
    assert_eq!(v["error"]["code"], "usage");
    assert!(!v["error"]["message"].as_str().unwrap().contains("Did you mean"), "{v}");
}

/// The findings of a report end with one pointer to the pages.
#[test]
fn a_report_points_to_the_pages() {
    let o = letin(&["check", drawing(Code::InsideCorner, "bad").unwrap().to_str().unwrap()]);
    assert_eq!(text(&o.stdout).matches("letin explain inside-corner").count(), 1);
}
