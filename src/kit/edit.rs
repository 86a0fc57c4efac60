//! Writes measured sizes into a kit file and keeps its comments and order.
//!
//! In: the text of a kit file, the nominal sizes of the tools, and their measured sizes, mm. Out: the text with
//! `measured` in the rows of the tools. Missing rows are added after the last of their kind. Every other byte stays
//! unchanged. Refuses a text that is not a kit. Never returns one.

use super::Pair;
use super::file::{self, KitFileError};
use super::owned::Kit;
use crate::tolerance::WIDTH_SLACK;
use crate::units::{Unit, parse_length_in};
use toml_edit::{ArrayOfTables, DocumentMut, Item, Table, Value, value};

/// Writes `found` as the measured sizes of the tools with the nominal sizes `called`.
///
/// # Errors
/// [`KitFileError`] if the text is not a kit, or would not be one afterwards.
pub fn measured(text: &str, called: Pair, found: Pair) -> Result<String, KitFileError> {
    let kit = if text.trim().is_empty() { Kit::default() } else { file::parse(text)? };
    let whole = |m: String| KitFileError { place: 0..text.len().min(1), message: m, help: "check the file".into() };
    let mut doc: DocumentMut = text.parse().map_err(|e: toml_edit::TomlError| whole(e.message().to_owned()))?;
    let unit = if kit.inches { Unit::INCH } else { Unit::MM };
    for (key, size, called, found) in
        [("bush", "outside", called.bush, found.bush), ("cutter", "diameter", called.cutter, found.cutter)]
    {
        let rows = doc.entry(key).or_insert(Item::ArrayOfTables(ArrayOfTables::new()));
        let written = written(found, kit.inches);
        if let Some(rows) = rows.as_array_of_tables_mut() {
            let at = rows.iter().position(|t| names(t.get(size), called, unit));
            if let Some(row) = at.and_then(|i| rows.get_mut(i)) {
                put(row, written);
            } else {
                let mut row = Table::new();
                row.insert(size, value_of(called, kit.inches));
                row.insert("measured", value(written));
                rows.push(row);
            }
        } else if let Some(list) = rows.as_array_mut() {
            // The form bush = [{outside = 20}, …] means the same.
            let row = list
                .iter_mut()
                .filter_map(Value::as_inline_table_mut)
                .find(|t| names(t.get(size).map(|v| Item::Value(v.clone())).as_ref(), called, unit));
            match row {
                Some(row) => _ = row.insert("measured", written),
                None => return Err(whole(format!("its {key} list has no row of that size"))),
            }
        }
    }
    let out = with_line_ends_of(text, &doc.to_string());
    file::parse(&out)?;
    Ok(out)
}

/// Restores in `out` the line ends of `text`, which the editing library replaces. An existing line keeps its own line
/// end. A new one gets that of the first line.
fn with_line_ends_of(text: &str, out: &str) -> String {
    let end = |line: &str| if line.ends_with("\r\n") { "\r\n" } else { "\n" };
    let bare = |line: &'_ str| line.trim_end_matches(['\r', '\n']).to_owned();
    let usual = text.split_inclusive('\n').next().map_or("\n", end);
    let mut old = text.split_inclusive('\n').peekable();
    let mut all = String::with_capacity(out.len() + 64);
    for line in out.split_inclusive('\n') {
        let now = bare(line);
        let measured = |l: &str| l.trim_start().starts_with("measured");
        // A line whose measured size has changed counts as the same line.
        let of = old.next_if(|was| bare(was) == now || (measured(was) && measured(&now)));
        all.push_str(&now);
        if line.ends_with('\n') {
            all.push_str(of.map_or(usual, end));
        }
    }
    all
}

/// Puts the measured size into a row. It replaces an earlier one and keeps the comment behind it.
fn put(row: &mut Table, written: Value) {
    match row.get_mut("measured").and_then(Item::as_value_mut) {
        Some(old) => {
            let decor = old.decor().clone();
            *old = written;
            *old.decor_mut() = decor;
        }
        None => _ = row.insert("measured", value(written)),
    }
}

/// Formats a measured size to the micrometre, the limit of the readings. In a kit in inches it has its unit.
fn written(mm: f64, inches: bool) -> Value {
    let rounded = (mm * 1000.0).round() / 1000.0;
    if inches { format!("{rounded}mm").into() } else { rounded.into() }
}

fn value_of(mm: f64, inches: bool) -> Item {
    if inches { value(format!("{mm}mm")) } else { value(mm) }
}

fn names(item: Option<&Item>, called: f64, unit: Unit) -> bool {
    let text = match item.and_then(Item::as_value) {
        Some(Value::String(s)) => s.value().clone(),
        Some(Value::Integer(i)) => i.value().to_string(),
        Some(Value::Float(f)) => f.value().to_string(),
        _ => return false,
    };
    parse_length_in(&text, unit).is_ok_and(|mm| (mm - called).abs() <= WIDTH_SLACK)
}

#[cfg(test)]
mod tests {
    use super::*;

    const CALLED: Pair = Pair { bush: 20.0, cutter: 6.0 };
    const FOUND: Pair = Pair { bush: 19.8704, cutter: 5.99 };

    #[test]
    fn comments_and_order_stay() {
        let text = "# The box under the bench.\nunit = \"mm\"\n\n[[cutter]] # the long one\ndiameter = 6.0\nmeasured = 6.02 # \
                    in spring\n\n[[bush]]\noutside = 16\n\n[[bush]]\n  outside = \"20mm\"   # brass\n  bore = 17\n";
        let want = "# The box under the bench.\nunit = \"mm\"\n\n[[cutter]] # the long one\ndiameter = 6.0\nmeasured = 5.99 # \
                    in spring\n\n[[bush]]\noutside = 16\n\n[[bush]]\n  outside = \"20mm\"   # brass\n  bore = 17\nmeasured = 19.87\n";
        assert_eq!(measured(text, CALLED, FOUND).unwrap(), want);
        // A second run changes nothing.
        assert_eq!(measured(want, CALLED, FOUND).unwrap(), want);
    }

    #[test]
    fn line_ends_stay() {
        let plain = "# box\n[[bush]]\noutside = 20\nmeasured = 19.9 # spring\n\n[[cutter]]\ndiameter = 6\n# end\n";
        let windows = |t: &str| t.replace('\n', "\r\n");
        let want = measured(plain, CALLED, FOUND).unwrap();
        assert!(!want.contains('\r') && want.contains("measured = 19.87 # spring\n"), "{want}");
        assert_eq!(measured(&windows(plain), CALLED, FOUND).unwrap(), windows(&want));
        // Every untouched line keeps its own line end.
        let mixed = plain.replace("# box\n", "# box\r\n");
        let got = measured(&mixed, CALLED, FOUND).unwrap();
        assert!(got.starts_with("# box\r\n[[bush]]\noutside = 20\nmeasured = 19.87"), "{got:?}");
        assert!(got.ends_with("# end\n") && !got.ends_with("\r\n"), "{got:?}");
    }

    #[test]
    fn rows_that_are_missing_are_added() {
        let out = measured("", CALLED, FOUND).unwrap();
        let kit = file::parse(&out).unwrap();
        assert_eq!(kit.sized(CALLED), Pair { bush: 19.87, cutter: 5.99 });
        let out = measured("unit = \"in\"\n[[bush]]\noutside = \"5/8in\"\n", CALLED, FOUND).unwrap();
        let kit = file::parse(&out).unwrap();
        assert_eq!((kit.sized(CALLED), kit.bushes.len()), (Pair { bush: 19.87, cutter: 5.99 }, 2));
        let out = measured("bush = [{outside = 20}]\ncutter = [{diameter = 6}] # short\n", CALLED, FOUND).unwrap();
        assert!(out.ends_with("# short\n") && file::parse(&out).unwrap().sized(CALLED).bush < 19.9, "{out}");
    }

    #[test]
    fn a_file_that_is_no_kit_is_not_changed() {
        assert!(measured("[[bush]]\noutsid = 20\n", CALLED, FOUND).is_err());
        assert!(measured("[[bush]]\noutside = 20\n", CALLED, Pair { bush: 12.0, cutter: 6.0 }).is_err());
    }
}
