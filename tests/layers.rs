//! Imports run one way. A module never names a module of a higher layer, and each library has its place.

#![allow(clippy::unwrap_used, clippy::panic, reason = "a test fails by panicking")]

#[path = "layers/paths.rs"]
mod paths;
#[path = "layers/tolerances.rs"]
mod tolerances;

use std::collections::BTreeMap;
use std::path::{Path, PathBuf};

/// The layers from the lowest to the highest, as in DEVELOPERS.md, and `main` and `lib` above them. Modules of one
/// layer do not import each other, except for [`BESIDE`].
const LAYERS: [&[&str]; 14] = [
    &["names"],
    &["units", "tolerance", "budget", "threads"],
    &["geom"],
    &["text"],
    &["drawing", "kit", "shape"],
    &["template"],
    &["panel"],
    &["proof", "check"],
    &["schema"],
    &["job"],
    &["write", "report"],
    &["app"],
    &["cli"],
    &["main", "lib"],
];
/// Pairs in one layer where the first module may use the second.
const BESIDE: [(&str, &str); 2] = [("units", "tolerance"), ("check", "proof")];

/// Crates that only certain modules may name.
const PLACES: [(&str, &[&str]); 8] = [
    ("clap", &["cli"]),
    ("usvg", &["drawing"]),
    ("miette", &["cli"]),
    ("geo::", &["geom"]),
    ("clipper2_rust", &["geom"]),
    ("i_overlay", &["geom"]),
    ("ctor::", &["cli"]),
    ("rustix", &["cli"]),
];

/// The order of the parts of a module, from the lowest to the highest: each names only itself and lower ones. Parts in
/// one row do not name each other. The module's own file, `mod.rs`, may name all, and gives names out. A part that uses
/// one of these names uses the part from which it comes. Every part of these modules must be listed.
#[rustfmt::skip]
const PARTS: [(&str, &[&[&str]]); 9] = [
    ("geom", &[&["shape"], &["index"], &["engine", "certify"], &["ops"]]),
    ("template", &[&["clearing", "ease", "hand"], &["piece"], &["start"]]),
    ("panel", &[
        &["face"],
        &["centres", "clamps", "colours", "layout", "registration", "steps"],
        &["packing"],
        &["template"],
        &["flush", "ground", "shoulder"],
        &["tipping"],
    ]),
    ("check", &[
        &["finding", "source", "subject"],
        &[
            "account", "base_tips", "bush_bore", "bush_depth", "clamp_room", "closed_gap", "corner", "cutter_reach", "fit",
            "free_hand", "hand", "ledge", "panel", "pass_depth", "path", "sharp_point", "template_corner", "unknown",
        ],
        &["narrow", "outlines"],
        &["difference", "signature"],
        &["reading", "start"],
        &["registry"],
    ]),
    ("job", &[&["asides"], &["facts", "settings"]]),
    ("schema", &[&["form", "value"], &["asides", "bench", "finding", "kit"], &["proof"], &["job"], &["answers"]]),
    ("report", &[
        &["bench", "canvas", "caution", "keys", "lines", "offsets", "verdict"],
        &["found", "glyph", "plan", "registration"],
        &["asides", "balloons", "testpiece", "work"],
        &["machine", "start", "view"],
        &["gap", "json", "marks", "terminal"],
        &["listing"],
    ]),
    ("app", &[&["error", "outcome", "place"], &["read"], &["files", "prove", "save"], &["kits", "run", "testpiece"]]),
    ("cli", &[
        &["exit", "message", "spelling"],
        &["stdout", "values", "watch"],
        &["args"],
        &["meant"],
        &["failure"],
        &["explain", "jobfile", "prove", "shape", "usage"],
        &["convert", "kit", "savejob"],
        &["look"],
    ]),
];

/// One source file without its tests.
struct Source {
    file: PathBuf,
    /// From the crate's root: `["geom", "ops", "hull"]`.
    module: Vec<String>,
    code: String,
}

impl Source {
    fn top(&self) -> &str {
        &self.module[0]
    }
}

fn files(dir: &Path, out: &mut Vec<PathBuf>) {
    for entry in std::fs::read_dir(dir).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() {
            files(&path, out);
        } else if path.extension().is_some_and(|e| e == "rs") {
            out.push(path);
        }
    }
}

/// All source files but those that only tests use.
fn sources() -> Vec<Source> {
    let src = Path::new(env!("CARGO_MANIFEST_DIR")).join("src");
    let mut all = Vec::new();
    files(&src, &mut all);
    all.sort();
    assert!(all.len() > 100, "{} files", all.len());
    let (mut only_tests, mut braces) = (Vec::new(), Vec::new());
    let mut out = Vec::new();
    for path in all {
        let file = path.strip_prefix(&src).unwrap().to_path_buf();
        let mut module: Vec<String> =
            file.with_extension("").iter().map(|part| part.to_string_lossy().into_owned()).collect();
        if module.len() > 1 && module[module.len() - 1] == "mod" {
            module.pop();
        }
        let text = std::fs::read_to_string(&path).unwrap();
        for after in text.split("#[cfg(test)]\nmod ").skip(1) {
            let name = after.split([' ', ';']).next().unwrap();
            only_tests.push([&module[..], &[name.to_owned()]].concat());
        }
        let (code, inner) = paths::without_tests(&text);
        if inner {
            braces.push(module.clone());
        }
        out.push(Source { file, module, code: code.to_owned() });
    }
    let for_tests = |module: &[String]| only_tests.iter().any(|t: &Vec<String>| module.starts_with(t));
    braces.retain(|module| !for_tests(module));
    assert!(braces.is_empty(), "a module in braces hides paths: {braces:?}");
    out.retain(|s| !for_tests(&s.module));
    out
}

#[test]
fn no_layer_knows_a_higher_one() {
    let rank: BTreeMap<&str, usize> =
        LAYERS.iter().enumerate().flat_map(|(i, l)| l.iter().map(move |m| (*m, i))).collect();
    let mut wrong = Vec::new();
    let mut seen = 0;
    for source in sources() {
        let top = source.top();
        let own = *rank.get(top).unwrap_or_else(|| panic!("{} is in no layer", source.file.display()));
        for path in paths::named(&source.module, &source.code) {
            let Some((other, &its)) = path.first().and_then(|p| Some((p.as_str(), rank.get(p.as_str())?))) else {
                continue;
            };
            seen += 1;
            if other != top && its >= own && !BESIDE.contains(&(top, other)) {
                wrong.push(format!("{} names {}", source.file.display(), path.join("::")));
            }
        }
    }
    assert!(seen > 1000, "{seen} paths were found");
    assert!(wrong.is_empty(), "{wrong:#?}");
}

/// The names that a module's own file gives out, each with the part from which it comes. The parts of `geom` must name
/// the part itself, because its file gives out nearly everything.
fn given_out(module: &str) -> BTreeMap<String, String> {
    let file = Path::new(env!("CARGO_MANIFEST_DIR")).join("src").join(module).join("mod.rs");
    if module == "geom" {
        return BTreeMap::new();
    }
    let code = std::fs::read_to_string(file).unwrap();
    let code = paths::plain(paths::without_tests(&code).0);
    let is_use = |text: &str| ["", "pub", "pub(crate)", "pub(super)"].contains(&text.trim());
    let after_use = |item: &'_ str| {
        let (before, path) = item.rsplit_once("use ")?;
        let line = before.rsplit(['\n', '}']).next()?;
        let (part, names) = path.split_once("::")?;
        is_use(line).then(|| (part.to_owned(), names.to_owned()))
    };
    let uses: Vec<(String, String)> = code.split(';').filter_map(after_use).collect();
    let word = |c: char| !(c.is_alphanumeric() || c == '_');
    let names =
        uses.iter().flat_map(|(part, names)| names.split(word).filter(|n| !n.is_empty()).map(move |n| (n, part)));
    // What a module imports for itself comes last, so that it hides nothing that the module gives out.
    let (own, others): (Vec<_>, Vec<_>) = names.partition(|(_, part)| *part != "crate");
    others.into_iter().chain(own).map(|(name, part)| (name.to_owned(), part.clone())).collect()
}

/// What is wrong with the paths of one file, if its module has ordered parts.
fn against_the_order(module: &[String], code: &str) -> Vec<String> {
    let Some((name, rows)) = PARTS.iter().find(|(name, _)| *name == module[0]) else { return Vec::new() };
    let Some(part) = module.get(1) else { return Vec::new() };
    let rank = |part: &str| rows.iter().position(|row| row.contains(&part));
    let Some(own) = rank(part) else { return vec![format!("{part} has no place in the order of {name}")] };
    let given = given_out(name);
    let mut wrong = Vec::new();
    for path in paths::named(module, code).into_iter().filter(|p| p.first().is_some_and(|p| p == name)) {
        let named = path.get(1).map_or("", String::as_str);
        let from = given.get(named).map_or(named, String::as_str);
        let other = if rank(named).is_some() { named } else { from };
        match rank(other) {
            // Given out from another module of the crate: the layers hold that.
            None if other == "crate" => {}
            // A name without its part could come from anywhere.
            None => wrong.push(format!("{} names {}, which has no part", module.join("::"), path.join("::"))),
            Some(its) if other != part && its >= own => {
                wrong.push(format!("{} names {}", module.join("::"), path.join("::")));
            }
            Some(_) => {}
        }
    }
    wrong
}

#[test]
fn no_part_of_a_module_knows_a_higher_one() {
    let mut checked = 0;
    let mut wrong = Vec::new();
    for source in sources() {
        checked += usize::from(source.module.len() > 1 && PARTS.iter().any(|p| p.0 == source.top()));
        wrong.extend(against_the_order(&source.module, &source.code));
    }
    assert!(checked > 30, "{checked} files are in an order");
    assert!(wrong.is_empty(), "{wrong:#?}");
}

#[test]
fn a_path_against_the_order_is_found() {
    let wrong = |module: &str, code: &str| {
        let module: Vec<String> = module.split("::").map(str::to_owned).collect();
        against_the_order(&module, code).len()
    };
    assert_eq!(wrong("geom::ops::hull", "use crate::geom::{shape::Point, certify}; use super::offset;"), 0);
    assert_eq!(wrong("geom", "pub use ops::grow; use self::ops::hull;"), 0);
    assert_eq!(wrong("geom::certify", "use crate::geom::{engine::overlay, ops::{self, hull}};"), 3);
    assert_eq!(wrong("geom::shape::ring", "use super::super::index::BoxTree;"), 1);
    assert_eq!(wrong("geom::shape::ring", "use crate::geom::Region; use crate::geom;"), 2);
    assert_eq!(wrong("geom::other", ""), 1);
    // A name that a module gives out is a use of its part.
    assert_eq!(wrong("panel::layout", "use super::{Panel, packing}; use crate::panel::Turn;"), 1);
    assert_eq!(wrong("schema::form", "use super::Document;"), 1);
}

#[test]
fn libraries_stay_where_they_belong() {
    let mut wrong = Vec::new();
    let mut used = BTreeMap::new();
    for source in sources() {
        for (library, places) in PLACES {
            let code = source.code.lines().filter(|l| !l.trim_start().starts_with("//"));
            let names = code.into_iter().any(|l| {
                let at = l.find(library);
                at.is_some_and(|i| !l[..i].ends_with(|c: char| c.is_alphanumeric() || c == '_' || c == '"'))
            });
            if names && !places.contains(&source.top()) && !["main", "lib"].contains(&source.top()) {
                wrong.push(format!("{} names {library}", source.file.display()));
            }
            *used.entry(library).or_insert(0) += usize::from(names);
        }
    }
    assert!(used.values().all(|n| *n > 0), "{used:?}");
    assert!(wrong.is_empty(), "{wrong:#?}");
}
