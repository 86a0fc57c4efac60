//! Reads a kit from a TOML file.
//!
//! In: the text of a kit file. Out: a [`Kit`], mm. A length is a number in the file's `unit`, or a string with its own
//! unit (`"5/8in"`). Refuses, with [`KitFileError`], invalid TOML, unknown names, rows without their size, and
//! impossible figures. Each error has its place in the text and a remedy.

use super::owned::{Bush, Cutter, Kit};
use crate::text::{alike, terminal as safe};
use crate::tolerance::{FAR_FROM_NOMINAL, WIDTH_SLACK};
use crate::units::{Unit, parse_length_in};
use std::ops::Range;
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// A fault in a kit file.
#[derive(Clone, Debug, PartialEq, Eq, thiserror::Error)]
#[error("{message}")]
pub struct KitFileError {
    /// The byte range of the fault in the text.
    pub place: Range<usize>,
    pub message: String,
    /// What to write instead.
    pub help: String,
}

fn wrong(place: Range<usize>, message: impl Into<String>, help: impl Into<String>) -> KitFileError {
    KitFileError { place, message: message.into(), help: help.into() }
}

/// Reads a kit from the text of its file.
///
/// # Errors
/// [`KitFileError`] for the first fault.
pub fn parse(text: &str) -> Result<Kit, KitFileError> {
    let place = 0..text.len().min(1);
    let table = DeTable::parse(text).map_err(|e| {
        let place = e.span().unwrap_or(place.clone());
        wrong(place, format!("this is not TOML: {}", e.message()), "write a row as [[bush]] and below it outside = 20")
    })?;
    let file = Row { what: "kit", place, table: table.get_ref(), unit: Unit::MM };
    file.only(&["unit", "bush", "cutter", "router", "template"])?;
    let top = Row { unit: file.unit()?, ..file };
    let mut kit = Kit { inches: top.unit == Unit::INCH, ..Kit::default() };
    let mut sizes = Vec::new();
    for row in top.rows("bush", "a bush", &["outside", "bore", "projection", "measured", "source"])? {
        let outside = row.size("outside", &mut sizes)?;
        let (bore, projection) = (row.bore(outside)?, row.length("projection")?);
        let (measured, source) = (row.measured(outside)?, row.text("source")?);
        kit.bushes.push(Bush { outside, bore, projection, measured, source });
    }
    sizes.clear();
    for row in top.rows("cutter", "a cutter", &["diameter", "length", "shank", "measured", "source"])? {
        let diameter = row.size("diameter", &mut sizes)?;
        let (length, shank) = (row.length("length")?, row.length("shank")?);
        let (measured, source) = (row.measured(diameter)?, row.text("source")?);
        kit.cutters.push(Cutter { diameter, length, shank, measured, source });
    }
    if let Some(row) = top.table("router", "the router", &["base", "source"])? {
        kit.base = row.length("base")?;
    }
    if let Some(row) = top.table("template", "the template", &["stock", "cutters", "source"])? {
        (kit.stock, kit.template_cutters) = (row.lengths("stock")?, row.lengths("cutters")?);
    }
    if kit.bushes.is_empty() && kit.cutters.is_empty() {
        return Err(wrong(top.place, "the kit has neither a bush nor a cutter", "add rows: [[bush]], outside = 20"));
    }
    kit.bushes.sort_by(|a, b| a.outside.total_cmp(&b.outside));
    kit.cutters.sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
    Ok(kit)
}

type Cell<'a> = Spanned<DeValue<'a>>;

/// A table of the file.
struct Row<'a> {
    /// Its name in messages, such as `a bush`.
    what: &'static str,
    place: Range<usize>,
    table: &'a DeTable<'a>,
    /// The unit of its numbers.
    unit: Unit,
}

impl<'a> Row<'a> {
    fn get(&self, key: &str) -> Option<&'a Cell<'a>> {
        self.table.iter().find(|(k, _)| k.get_ref().as_ref() == key).map(|(_, v)| v)
    }

    fn only(&self, names: &[&str]) -> Result<(), KitFileError> {
        let strange = |k: &&Spanned<std::borrow::Cow<str>>| !names.contains(&k.get_ref().as_ref());
        let Some(key) = self.table.keys().filter(strange).min_by_key(|k| k.span().start) else { return Ok(()) };
        let like = alike(key.get_ref(), names.iter().copied());
        let help = if like.is_empty() {
            format!("{} takes {}", self.what, names.join(", "))
        } else {
            format!("did you mean {}?", like.join(" or "))
        };
        Err(wrong(key.span(), format!("{} has no {}", self.what, safe(key.get_ref())), help))
    }

    fn unit(&self) -> Result<Unit, KitFileError> {
        let Some(v) = self.get("unit") else { return Ok(Unit::MM) };
        let unit = v.get_ref().as_str().and_then(Unit::parse).filter(|u| [Unit::MM, Unit::INCH].contains(u));
        unit.ok_or_else(|| wrong(v.span(), "the unit of a kit is mm or in", "write unit = \"mm\" or unit = \"in\""))
    }

    /// The table `v`, which takes `names`; `None` for another value.
    fn inner(&self, what: &'static str, v: &'a Cell<'a>, names: &[&str]) -> Result<Option<Row<'a>>, KitFileError> {
        let DeValue::Table(table) = v.get_ref() else { return Ok(None) };
        let row = Row { what, place: v.span(), table, unit: self.unit };
        row.only(names)?;
        Ok(Some(row))
    }

    fn rows(&self, key: &str, what: &'static str, names: &[&str]) -> Result<Vec<Row<'a>>, KitFileError> {
        let Some(v) = self.get(key) else { return Ok(Vec::new()) };
        let no_row = |v: &Cell| {
            wrong(v.span(), format!("{key} must be a list of rows"), format!("head every row with [[{key}]]"))
        };
        let list = v.get_ref().as_array().ok_or_else(|| no_row(v))?;
        list.iter().map(|v| self.inner(what, v, names)?.ok_or_else(|| no_row(v))).collect()
    }

    fn table(&self, key: &str, what: &'static str, names: &[&str]) -> Result<Option<Row<'a>>, KitFileError> {
        let Some(v) = self.get(key) else { return Ok(None) };
        let row = self.inner(what, v, names)?;
        let row =
            row.ok_or_else(|| wrong(v.span(), format!("{key} must be a table"), format!("head it with [{key}]")))?;
        row.text("source")?;
        Ok(Some(row))
    }

    fn text(&self, key: &str) -> Result<Option<String>, KitFileError> {
        let text = |v: &Cell| v.get_ref().as_str().map(str::to_owned);
        let refused = |v: &Cell| wrong(v.span(), format!("{key} must be text"), format!("write {key} = \"…\""));
        self.get(key).map(|v| text(v).ok_or_else(|| refused(v))).transpose()
    }

    /// The length under `key`, mm.
    fn length(&self, key: &str) -> Result<Option<f64>, KitFileError> {
        self.get(key).map(|v| self.read(key, v)).transpose()
    }

    /// One length or a list of them.
    fn lengths(&self, key: &str) -> Result<Vec<f64>, KitFileError> {
        let Some(v) = self.get(key) else { return Ok(Vec::new()) };
        match v.get_ref().as_array() {
            Some(list) => list.iter().map(|v| self.read(key, v)).collect(),
            None => Ok(vec![self.read(key, v)?]),
        }
    }

    fn read(&self, key: &str, v: &Cell) -> Result<f64, KitFileError> {
        let refused =
            |message: String| wrong(v.span(), message, "a length is a number, or text with a unit: \"1/4in\"");
        let text = match v.get_ref() {
            DeValue::String(s) => s.to_string(),
            DeValue::Integer(i) if i.radix() == 10 => i.as_str().to_owned(),
            DeValue::Float(f) => f.as_str().to_owned(),
            other => return Err(refused(format!("{key} cannot be a {}", other.type_str()))),
        };
        let mm = parse_length_in(&text, self.unit).map_err(|e| refused(format!("{key}: {e}")))?;
        if mm > 0.0 { Ok(mm) } else { Err(refused(format!("{key} must be more than 0"))) }
    }

    /// The nominal size, which is the name of a tool, so that each may stand in one row only. `seen`: those before it.
    fn size(&self, key: &str, seen: &mut Vec<f64>) -> Result<f64, KitFileError> {
        let Some(size) = self.length(key)? else {
            let size = match (key, self.unit == Unit::MM) {
                ("outside", true) => "20",
                ("outside", false) => "\"3/4in\"",
                (_, true) => "6",
                (_, false) => "\"1/4in\"",
            };
            let help = format!("add a line such as {key} = {size}");
            return Err(wrong(self.place.clone(), format!("{} lacks its {key}", self.what), help));
        };
        if seen.iter().any(|s| (s - size).abs() <= WIDTH_SLACK) {
            let message = format!("{} of {size:.2} mm is listed twice", self.what);
            return Err(wrong(self.place.clone(), message, "the size is the name of a tool: keep one row"));
        }
        seen.push(size);
        Ok(size)
    }

    /// The bore of a bush, which must leave a wall.
    fn bore(&self, outside: f64) -> Result<Option<f64>, KitFileError> {
        let bore = self.length("bore")?;
        match (bore, self.get("bore")) {
            (Some(bore), Some(v)) if bore >= outside => {
                let message = format!("a bore of {bore:.2} mm in a bush of {outside:.2} mm leaves no wall");
                Err(wrong(v.span(), message, "outside runs along the template, bore is the hole through it"))
            }
            _ => Ok(bore),
        }
    }

    /// The measured size, which must be near the nominal one.
    fn measured(&self, nominal: f64) -> Result<Option<f64>, KitFileError> {
        let measured = self.length("measured")?;
        match (measured, self.get("measured")) {
            (Some(m), Some(v)) if (m - nominal).abs() > FAR_FROM_NOMINAL => {
                let (off, what) = ((m - nominal).abs(), self.what);
                let message = format!("measured {m:.2} mm is {off:.2} mm from the {nominal:.2} mm of {what}");
                Err(wrong(v.span(), message, "check that it is in the right row, and check its unit"))
            }
            _ => Ok(measured),
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The message, the help, and the text at the place.
    fn refused(text: &str) -> (String, String, &str) {
        let e = parse(text).expect_err(text);
        (e.message, e.help, &text[e.place])
    }

    #[test]
    fn a_kit_in_millimetres_and_inches() {
        let kit = parse(
            "[[bush]]\noutside = 20\nbore = 17.5\nmeasured = 19.87\n[[bush]]\noutside = \"5/8in\"\n\
             [[cutter]]\ndiameter = \"6,35\"\nlength = \"1in\"\n[router]\nbase = 60\n[template]\nstock = 9\ncutters = [3, 6]",
        )
        .unwrap();
        assert_eq!(kit.bushes.iter().map(|b| b.outside).collect::<Vec<_>>(), [15.875, 20.0]);
        assert_eq!((kit.bushes[1].bore, kit.bushes[1].measured), (Some(17.5), Some(19.87)));
        assert_eq!((kit.cutters[0].diameter, kit.cutters[0].length), (6.35, Some(25.4)));
        assert_eq!((kit.base, kit.stock, kit.template_cutters), (Some(60.0), vec![9.0], vec![3.0, 6.0]));
        let kit = parse("unit = \"in\"\n[[bush]]\noutside = 0.75\n").unwrap();
        assert!(kit.inches && (kit.bushes[0].outside - 19.05).abs() < 1e-12);
    }

    #[test]
    fn errors_point_at_the_row_and_say_what_to_write() {
        let reported = |m: &str, h: &str, p| (m.to_owned(), h.to_owned(), p);
        assert_eq!(
            refused("[[bush]]\noutsid = 20\n"),
            reported("a bush has no outsid", "did you mean outside?", "outsid")
        );
        assert_eq!(
            refused("[[bush]]\noutside = 20\n\n[[bush]]\nbore = 10\n"),
            reported("a bush lacks its outside", "add a line such as outside = 20", "[[bush]]")
        );
        assert_eq!(
            refused("[[cutter]]\ndiameter = \"1/4\"\n"),
            reported(
                "diameter: 1/4 what? Write 1/4in",
                "a length is a number, or text with a unit: \"1/4in\"",
                "\"1/4\""
            )
        );
        assert_eq!(
            refused("[[cutter]]\ndiameter = -6\n"),
            reported(
                "diameter: “-6” is negative; a length is 0 or more",
                "a length is a number, or text with a unit: \"1/4in\"",
                "-6"
            )
        );
        assert_eq!(
            refused("[[bush]]\noutside = 20\nbore = 21\n"),
            reported(
                "a bore of 21.00 mm in a bush of 20.00 mm leaves no wall",
                "outside runs along the template, bore is the hole through it",
                "21"
            )
        );
        assert_eq!(
            refused("[[bush]]\noutside = 20\nmeasured = 16.9\n"),
            reported(
                "measured 16.90 mm is 3.10 mm from the 20.00 mm of a bush",
                "check that it is in the right row, and check its unit",
                "16.9"
            )
        );
        assert_eq!(
            refused("[[cutter]]\ndiameter = 6.35\n[[cutter]]\ndiameter = \"1/4in\"\n").0,
            "a cutter of 6.35 mm is listed twice"
        );
        assert_eq!(refused("[bush]\noutside = 20\n").1, "head every row with [[bush]]");
        assert_eq!(refused("unit = \"furlong\"\n").0, "the unit of a kit is mm or in");
        assert_eq!(refused("bushes = 3\n").1, "did you mean bush?");
        assert_eq!(refused("").0, "the kit has neither a bush nor a cutter");
        assert!(refused("[[bush]\noutside = 20").0.starts_with("this is not TOML"));
        assert_eq!(refused("[[bush]]\noutside = true\n").0, "outside cannot be a boolean");
        assert_eq!(refused("[[bush]]\noutside = 0\n").0, "outside must be more than 0");
    }
}
