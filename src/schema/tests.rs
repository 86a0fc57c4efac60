//! Every sample's document comes back to the byte, and the committed JSON Schema is that of the types.
//!
//! `LETIN_REFRESH=1 cargo test --lib schema` writes the JSON Schema anew.

use super::answers::{Codes, Listing, NoVerdict, Page, Proved};
use super::kit::{Correction, Keys, Offsets, TestPiece};
use super::{Document, OutlineId, bytes};
use std::fs;
use std::path::{Path, PathBuf};

/// What letin writes or prints as JSON. `Document` is `NAME.json` and the output of `--json`.
#[derive(schemars::JsonSchema)]
#[serde(untagged)]
#[allow(dead_code, clippy::large_enum_variant, reason = "only its JSON Schema is used")]
enum Answer {
    Document(Document),
    TestPiece(TestPiece),
    Listing(Listing),
    Proved(Proved),
    Offsets(Offsets),
    Correction(Correction),
    Keys(Keys),
    Page(Page),
    Codes(Codes),
    NoVerdict(NoVerdict),
}

fn root() -> &'static Path {
    Path::new(env!("CARGO_MANIFEST_DIR"))
}

#[test]
fn the_committed_json_schema_is_that_of_the_types() {
    let path = root().join("shared/letin.schema.json");
    let text = String::from_utf8(bytes(&schemars::schema_for!(Answer)).unwrap()).unwrap();
    if std::env::var_os("LETIN_REFRESH").is_some() {
        fs::write(&path, &text).unwrap();
    }
    assert_eq!(fs::read_to_string(&path).unwrap(), text, "see the head of this file");
}

/// A key that no type knows would be missing from the second text.
#[test]
fn the_documents_of_the_samples_come_back_to_the_byte() {
    let folders = fs::read_dir(root().join("samples")).unwrap().map(|e| e.unwrap().path().join("expected"));
    let files = folders.filter(|f| f.is_dir()).flat_map(|f| fs::read_dir(f).unwrap()).map(|e| e.unwrap().path());
    let documents: Vec<PathBuf> = files.filter(|p| p.extension().is_some_and(|e| e == "json")).collect();
    assert!(documents.len() >= 3, "{documents:?}");
    for path in documents {
        let text = fs::read_to_string(&path).unwrap();
        let read: Document = serde_json::from_str(&text).unwrap_or_else(|e| panic!("{}: {e}", path.display()));
        assert_eq!(String::from_utf8(bytes(&read).unwrap()).unwrap(), text, "{}", path.display());
    }
}

#[test]
fn numbers_are_rounded_and_have_no_minus_zero() {
    let text = |v: f64| String::from_utf8(bytes(&[v]).unwrap()).unwrap().split_whitespace().collect::<String>();
    assert_eq!(text(7.0), "[7]");
    assert_eq!(text(-0.0), "[0]");
    assert_eq!(text(-0.000_000_4), "[0]");
    assert_eq!(text(0.123_456_789), "[0.123457]");
    assert_eq!(text(f64::NAN), "[null]");
    assert_eq!(text(f64::MAX), "[null]");
}

#[test]
fn an_error_names_the_place_and_the_wrong_value() {
    let sample = fs::read_to_string(root().join("samples/bow-tie-key/expected/key.json")).unwrap();
    for (right, wrong, message) in [
        ("\"schema\": 1", "\"schema\": 2", "it has schema 2, and this version of letin reads schema 1 at line 2"),
        ("\"duty\": \"recess\"", "\"duty\": \"hole\"", "it has an opening of an unknown duty, \"hole\" at line"),
        ("\"id\": \"outline-1\"", "\"id\": \"line-1\"", "line-1 is not the id of an outline at line"),
        ("\"turn\": \"left-right\"", "\"turn\": \"around\"", "it has a panel with an unknown turn, \"around\" at line"),
        ("\"piece\": \"board\"", "\"plank\": \"board\"", "missing field `piece` at line"),
        ("\"face_up\": 1", "\"face_up\": -1", "invalid value: integer `-1`, expected u8 at line"),
    ] {
        let spoilt = sample.replacen(right, wrong, 1);
        assert_ne!(spoilt, sample, "{right}");
        let error = serde_json::from_str::<Document>(&spoilt).unwrap_err().to_string();
        assert!(error.starts_with(message), "{error}");
    }
}

#[test]
fn long_lists_are_refused() {
    let texts =
        |n: usize| format!("{{\"outline\":\"outline-1\",\"drawn\":[{}\"\"],\"made\":[]}}", "\"\",".repeat(n - 1));
    let read = |n: usize| serde_json::from_str::<super::proof::Shape>(&texts(n));
    let most = read(1_000_000).unwrap();
    assert_eq!((most.outline, most.drawn.len()), (OutlineId(1), 1_000_000));
    assert!(read(1_000_001).unwrap_err().to_string().contains("a list of at most 1000000 entries"));
}
