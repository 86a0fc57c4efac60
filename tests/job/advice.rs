//! Every option that a message advises with a value is tried: with it the finding is gone, accepted, or there are fewer.
//!
//! The drawings are the bad ones of `tests/codes`. `tests/job/ways_out.rs` tries the sizes of tools, which messages give without
//! an option. Source: none outside; the program must keep its own promises.

use letin::check::Code;
use serde_json::Value;
use std::fs;
use std::path::{Path, PathBuf};
use std::process::Command;

/// Advice that only the maker can judge, so that the finding may stay: the code, the option, and why.
const DEPENDS: &[(Code, &str, &str)] = &[
    (Code::OddSize, "--unit", "the size may be meant"),
    (Code::LeftOut, "--text", "the letters need fonts of the computer"),
];

fn folder(code: Code) -> PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/codes").join(code.name())
}

fn words(path: &Path) -> Vec<String> {
    fs::read_to_string(path).unwrap_or_default().split_whitespace().map(str::to_owned).collect()
}

/// The findings of a code that count, and the help of each. None without a verdict.
fn found(code: Code, drawing: &Path, args: &[String]) -> Option<Vec<String>> {
    let o =
        Command::new(env!("CARGO_BIN_EXE_letin")).args(["check", "--json"]).args(args).arg(drawing).output().unwrap();
    let v: Value = serde_json::from_slice(&o.stdout).unwrap_or_else(|e| panic!("{code} {args:?}: {e}: {o:?}"));
    let all = v["findings"].as_array()?;
    let counts = |f: &&Value| f["code"] == code.name() && f["accepted"] != true;
    Some(all.iter().filter(counts).map(|f| f["help"].as_str().unwrap().to_owned()).collect())
}

/// Options with values, those that belong together as one advice: `--panel 210x120 … with --at 60x60`.
fn advice(help: &str) -> Vec<Vec<(String, String)>> {
    let mut out: Vec<Vec<(String, String)>> = Vec::new();
    let mut rest = help;
    let mut between = String::new();
    while let Some(at) = rest.find("--") {
        between.push_str(&rest[..at]);
        let tail = &rest[at..];
        let option: String = tail.chars().take_while(|c| c.is_ascii_lowercase() || *c == '-').collect();
        rest = &tail[option.len()..];
        let value = rest.strip_prefix(' ').map(value).unwrap_or_default();
        if value.is_empty() {
            between.push('.');
            continue;
        }
        let quoted = rest[1..].starts_with('"');
        rest = &rest[1 + value.len() + if quoted { 2 } else { 0 }..];
        let joined = between.trim().is_empty() || between.trim_end().ends_with("with");
        let pair = (option, value);
        match out.last_mut() {
            Some(last) if joined && !between.contains('.') => last.push(pair),
            _ => out.push(vec![pair]),
        }
        between.clear();
    }
    out
}

/// A value as messages write it: a size, a name in quotation marks, or a word that the option takes.
fn value(text: &str) -> String {
    if let Some(name) = text.strip_prefix('"') {
        return name.split('"').next().unwrap_or_default().to_owned();
    }
    let word: String = text.chars().take_while(|c| c.is_ascii_alphanumeric() || "-.".contains(*c)).collect();
    let word = word.trim_end_matches('.').to_owned();
    let known = ["ease", "square", "keep", "none", "left-right", "bottom-top", "outline", "mm", "in", "auto", "tape"];
    let is_value = word.starts_with(|c: char| c.is_ascii_digit())
        || known.contains(&word.as_str())
        || Code::from_name(&word).is_some();
    if is_value { word } else { String::new() }
}

#[test]
fn advice_is_read_as_it_is_meant() {
    let pair = |a: &str, b: &str| (a.to_owned(), b.to_owned());
    assert_eq!(
        advice("Leave out --panel. Or set --panel 210x120 or larger with --at 60x60. Or accept less with --web 7.05."),
        [vec![pair("--panel", "210x120"), pair("--at", "60x60")], vec![pair("--web", "7.05")]]
    );
    assert_eq!(
        advice("add --plug \"the plug\" --shoulder \"rim\", or --unit in; --only one"),
        [vec![pair("--plug", "the plug"), pair("--shoulder", "rim")], vec![pair("--unit", "in")]]
    );
}

#[test]
fn every_option_that_is_advised_helps() {
    let (mut tried, mut wrong) = (0, Vec::new());
    for &code in Code::ALL {
        let Some(drawing) = ["bad.svg", "bad.dxf"].map(|n| folder(code).join(n)).into_iter().find(|p| p.is_file())
        else {
            continue;
        };
        let mut args = words(&folder(code).join("args"));
        args.extend(words(&folder(code).join("bad.args")));
        let before = found(code, &drawing, &args).unwrap_or_else(|| panic!("{code}: no verdict"));
        let mut all: Vec<_> = before.iter().flat_map(|help| advice(help)).collect();
        all.sort();
        all.dedup();
        for advised in all {
            if DEPENDS.iter().any(|d| d.0 == code && advised.iter().any(|a| a.0 == d.1)) {
                continue;
            }
            let mut with = args.clone();
            for (option, value) in &advised {
                if let Some(at) = with.iter().position(|a| a == option) {
                    with.drain(at..=at + 1);
                }
                with.extend([option.clone(), value.clone()]);
            }
            tried += 1;
            match found(code, &drawing, &with) {
                Some(after) if after.len() < before.len() => {}
                after => wrong.push(format!("{code}: {advised:?} leaves {after:?} of {} findings", before.len())),
            }
        }
    }
    assert!(wrong.is_empty(), "{wrong:#?}");
    assert!(tried >= 20, "only {tried} tried");
}
