//! Imports run one way. A module never names a module of a higher layer, and each library has its place.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// The layers from the lowest to the highest, as in DEVELOPERS.md, and `main` and `lib` above them. Modules of one
/// layer do not import each other, except for [`BESIDE`].
const LAYERS: [&[&str]; 12] = [
    &["names"],
    &["units", "tolerance", "budget", "threads"],
    &["geom"],
    &["text"],
    &["drawing", "kit", "shape"],
    &["template"],
    &["proof", "check"],
    &["schema"],
    &["write", "report"],
    &["app"],
    &["cli"],
    &["main", "lib"],
];
/// Pairs in one layer where the first module may use the second.
const BESIDE: [(&str, &str); 2] = [("units", "tolerance"), ("check", "proof")];

/// Crates that only certain modules may name.
const PLACES: [(&str, &[&str]); 7] = [
    ("clap", &["cli"]),
    ("usvg", &["drawing"]),
    ("miette", &["cli"]),
    ("geo::", &["geom"]),
    ("i_overlay", &["geom"]),
    ("ctor::", &["cli"]),
    ("rustix", &["cli"]),
];

fn sources(dir: &Path, out: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            sources(&path, out);
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push(path);
        }
    }
}

/// Each source file with its top module and its code, without comments and without its tests.
fn code() -> Vec<(PathBuf, String, String)> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut files = Vec::new();
    sources(&src, &mut files);
    files.sort();
    assert!(files.len() > 100, "{} files", files.len());
    let plain = |path: PathBuf| {
        let inner = path.strip_prefix(&src).unwrap().to_path_buf();
        let top = inner.iter().next().unwrap().to_string_lossy().trim_end_matches(".rs").to_owned();
        let text = std::fs::read_to_string(&path).unwrap();
        let text = text.split("#[cfg(test)]\nmod tests").next().unwrap().to_owned();
        let lines = text.lines().filter(|l| !l.trim_start().starts_with("//")).collect::<Vec<_>>().join("\n");
        (inner, top, lines)
    };
    files.into_iter().filter(|p| !p.ends_with("tests.rs")).map(plain).collect()
}

/// Modules that follow `crate::`, also inside braces.
fn named(code: &str) -> Vec<String> {
    let word = |s: &str| s.chars().take_while(|c| c.is_alphanumeric() || *c == '_').collect::<String>();
    let mut out = Vec::new();
    for rest in code.split("crate::").skip(1) {
        if let Some(list) = rest.strip_prefix('{') {
            out.extend(list.split('}').next().unwrap().split(',').map(|s| word(s.trim())));
        } else {
            out.push(word(rest));
        }
    }
    out.retain(|w| !w.is_empty());
    out
}

#[test]
fn no_layer_knows_a_higher_one() {
    let rank: BTreeMap<&str, usize> =
        LAYERS.iter().enumerate().flat_map(|(i, l)| l.iter().map(move |m| (*m, i))).collect();
    let mut wrong = Vec::new();
    let mut seen = 0;
    for (file, top, code) in code() {
        let own = *rank.get(top.as_str()).unwrap_or_else(|| panic!("{} is in no layer", file.display()));
        for other in named(&code) {
            let Some(&its) = rank.get(other.as_str()) else { continue };
            seen += 1;
            let beside = BESIDE.contains(&(top.as_str(), other.as_str()));
            if other != top && its >= own && !beside {
                wrong.push(format!("{} names {other}", file.display()));
            }
        }
    }
    assert!(seen > 300, "{seen} imports were found");
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn libraries_stay_where_they_belong() {
    let mut wrong = Vec::new();
    let mut used = BTreeMap::new();
    for (file, top, code) in code() {
        for (library, places) in PLACES {
            let names = code.lines().any(|l| {
                let at = l.find(library);
                at.is_some_and(|i| !l[..i].ends_with(|c: char| c.is_alphanumeric() || c == '_' || c == '"'))
            });
            if names && !places.contains(&top.as_str()) && !["main", "lib"].contains(&top.as_str()) {
                wrong.push(format!("{} names {library}", file.display()));
            }
            *used.entry(library).or_insert(0) += usize::from(names);
        }
    }
    assert!(used.values().all(|n| *n > 0), "{used:?}");
    assert!(wrong.is_empty(), "{wrong:#?}");
}
