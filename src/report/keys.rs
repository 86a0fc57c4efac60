//! What is told of keys for a split, in words and as JSON.
//!
//! In: [`Keys`], and the name of the drawing as it is to be shown. Every rule of thumb is called common practice.

use super::json::{SCHEMA, TOOL};
use crate::shape::keys::Keys;
use crate::text::{rounded, terminal as safe};

/// For people: to a tenth, as it can be marked out.
fn mm(v: f64) -> String {
    rounded(v, 1).unwrap_or_default()
}

/// For programs: to a millionth, as in all documents.
fn number(v: f64) -> f64 {
    (v * 1e6).round() / 1e6
}

/// In words.
#[must_use]
pub fn terminal(k: &Keys, file: &str) -> String {
    let n = k.places.len();
    let places: Vec<String> = k.places.iter().map(|&p| mm(p)).collect();
    let mut out = format!(
        "{n} bow-tie key{} across a split {} mm long, board {} mm thick\n",
        if n == 1 { "" } else { "s" },
        mm(k.split.length),
        mm(k.split.board)
    );
    let mut line = |head: &str, text: String| out.push_str(&format!("  {head:<8} {text}\n"));
    line(
        "size",
        format!("{} mm long, {} mm wide at the ends, {} mm at the waist", mm(k.length), mm(k.width), mm(k.waist)),
    );
    line(
        "depth",
        format!(
            "{} mm (a third to a half of the board: {} to {} mm)",
            mm(k.depth),
            mm(k.depth_range.0),
            mm(k.depth_range.1)
        ),
    );
    line("places", format!("{} mm from one end of the split to the middle of each key", places.join(", ")));
    if let Some(between) = k.between() {
        line(
            "spacing",
            format!("{} mm from middle to middle, {} mm of board between keys", mm(k.spacing), mm(between)),
        );
    }
    line("lie", "each key across the split, its waist on the split, half of its length on either side".to_owned());
    line("grain", "along the key, so across the split: short grain at the waist would break".to_owned());
    let room = format!("{} mm goes through the waist {} times over", mm(k.split.cutter), mm(k.cutters_in_waist()));
    let why = if k.for_cutter { "; the keys were made longer than the board asks, for the cutter's sake" } else { "" };
    line("cutter", format!("{room}{why}"));
    out.push_str(
        "Number, size, depth and places are common practice, rules of thumb without a source; strength was not worked out.\n",
    );
    let cutter = rounded(k.split.cutter, 6).unwrap_or_default();
    let depth = rounded(k.depth, 6).unwrap_or_default();
    let (only, all) =
        if k.places.len() > 1 { (" --only 1", "; one template is set at each place in turn") } else { ("", "") };
    out.push_str(&format!(
        "Next: letin make {} --cutter {cutter} --recess-depth {depth}{only}, and your bush with --bush{all}\n",
        safe(file)
    ));
    out
}

/// As JSON.
///
/// # Errors
/// Where the document cannot be put together.
pub fn json(k: &Keys, file: &str) -> Result<Vec<u8>, serde_json::Error> {
    let keys: Vec<_> = k
        .places
        .iter()
        .enumerate()
        .map(|(i, &p)| serde_json::json!({"id": format!("key-{}", i + 1), "number": i + 1, "place_mm": number(p)}))
        .collect();
    let document = serde_json::json!({
        "schema": SCHEMA, "tool": TOOL, "file": file,
        "split_mm": number(k.split.length), "board_mm": number(k.split.board), "cutter_mm": number(k.split.cutter),
        "basis": "common practice, no source; strength was not worked out",
        "size": {"length_mm": number(k.length), "width_mm": number(k.width), "waist_mm": number(k.waist)},
        "depth_mm": number(k.depth), "depth_range_mm": [number(k.depth_range.0), number(k.depth_range.1)],
        "spacing_mm": number(k.spacing), "between_mm": k.between().map(number),
        "grain": "along the key, across the split", "longer_for_cutter": k.for_cutter, "keys": keys,
    });
    let mut bytes = serde_json::to_vec_pretty(&document)?;
    bytes.push(b'\n');
    Ok(bytes)
}
