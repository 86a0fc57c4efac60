//! Keys for a split, in words and as JSON.
//!
//! In: [`Keys`], mm, and the name of the drawing as people read it. Every rule of thumb is marked as common practice.

use crate::schema::kit::{Key, KeySize};
use crate::schema::{self, Tool, Version};
use crate::shape::keys::Keys;
use crate::text::{Length, Show, Words, plain, rounded, tenth, terminal as safe, tool, typed};
use crate::units::fraction_of_inch;
use crate::words;

/// Rounded to a millionth, as in all JSON documents.
fn millionth(v: f64) -> f64 {
    (v * 1e6).round() / 1e6
}

/// The unit of figures for people: inches where the board's thickness is an inch size.
fn shown(k: &Keys) -> Show {
    if fraction_of_inch(k.split.board).is_some() { Show::Inch } else { Show::Mm }
}

/// In words.
#[must_use]
pub fn terminal(k: &Keys, file: &str) -> String {
    let show = shown(k);
    let n = k.places.len();
    let size = |mm: f64| -> Length { plain(mm).with_fraction() };
    let place = |mm: f64| -> Length { tenth(mm).with_fraction() };
    let title = words!(
        "{} bow-tie {} across a split {} long, board {} thick\n",
        n,
        if n == 1 { "key" } else { "keys" },
        plain(k.split.length),
        plain(k.split.board)
    );
    let mut out = title.shown(show);
    let mut line = |head: &str, text: Words| out.push_str(&format!("  {head:<8} {}\n", text.shown(show)));
    line("length", size(k.length).into());
    line("width", words!("{} at the ends, {} at the waist", size(k.width), size(k.waist)));
    line(
        "depth",
        words!(
            "{} (a third to a half of the board: {} to {})",
            plain(k.depth),
            plain(k.depth_range.0),
            plain(k.depth_range.1)
        ),
    );
    line("places", "from one end of the split to the middle of each key:".into());
    for row in k.places.chunks(if show == Show::Mm { 6 } else { 3 }) {
        line("", Words::join(row.iter().map(|&p| place(p).into()), ", "));
    }
    if let Some(between) = k.between() {
        line("spacing", words!("{} from middle to middle, {} of board between keys", place(k.spacing), place(between)));
    }
    line("position", "across the split, waist on the split, half the length on either side".into());
    line("grain", "along the key, across the split. Short grain would break at the waist.".into());
    let times = rounded(k.cutters_in_waist(), 1).unwrap_or_default();
    let mut cutter = words!("the waist is {} times as wide as the {} cutter", times, tool(k.split.cutter));
    if k.for_cutter {
        cutter.push(". The keys are longer than usual for the board, so that the cutter has room.".into());
    }
    line("cutter", cutter);
    out.push_str("These are rules of thumb from common practice, without a source. Strength is not calculated.\n");
    let (cutter, depth) = match (show, fraction_of_inch(k.split.cutter)) {
        (Show::Inch, Some(inch)) => (format!("{}in", inch.replace(' ', "-")), typed(k.depth).shown(show)),
        (Show::Inch, None) => (format!("{}mm", k.split.cutter), typed(k.depth).shown(show)),
        (Show::Mm, _) => {
            let number = |v: f64| rounded(v, 6).unwrap_or_default();
            (number(k.split.cutter), number(k.depth))
        }
    };
    let only = if n > 1 { " --only 1" } else { "" };
    out.push_str(&format!(
        "Next: letin make {} --cutter {cutter} --recess-depth {depth}{only}, with your bush as --bush\n",
        safe(file)
    ));
    if n > 1 {
        out.push_str("Use the one template at each place in turn.\n");
    }
    out
}

/// As JSON.
///
/// # Errors
/// The errors of `serde_json`.
pub fn json(k: &Keys, file: &str) -> Result<Vec<u8>, serde_json::Error> {
    let key = |(number, &p): (usize, &f64)| Key { id: format!("key-{number}"), number, place_mm: millionth(p) };
    let document = schema::kit::Keys {
        schema: Version,
        tool: Tool::own(),
        file: file.to_owned(),
        split_mm: millionth(k.split.length),
        board_mm: millionth(k.split.board),
        cutter_mm: millionth(k.split.cutter),
        basis: "common practice, no source; strength was not worked out".to_owned(),
        size: KeySize { length_mm: millionth(k.length), width_mm: millionth(k.width), waist_mm: millionth(k.waist) },
        depth_mm: millionth(k.depth),
        depth_range_mm: [k.depth_range.0, k.depth_range.1].map(millionth),
        spacing_mm: millionth(k.spacing),
        between_mm: k.between().map(millionth),
        grain: "along the key, across the split".to_owned(),
        longer_for_cutter: k.for_cutter,
        keys: (1..).zip(&k.places).map(key).collect(),
    };
    // Here integers keep their decimal point.
    let mut bytes = serde_json::to_vec_pretty(&serde_json::to_value(document)?)?;
    bytes.push(b'\n');
    Ok(bytes)
}
