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

const TOP: &[&str] = &["unit", "bush", "cutter", "router", "template"];
const BUSH: &[&str] = &["outside", "bore", "projection", "measured", "source"];
const CUTTER: &[&str] = &["diameter", "length", "shank", "measured", "source"];
const ROUTER: &[&str] = &["base", "source"];
const TEMPLATE: &[&str] = &["stock", "cutters", "source"];

/// Reads a kit from the text of its file.
///
/// # Errors
/// [`KitFileError`] for the first fault.
pub fn parse(text: &str) -> Result<Kit, KitFileError> {
    let whole = 0..text.len().min(1);
    let table = DeTable::parse(text).map_err(|e| {
        let place = e.span().unwrap_or(whole.clone());
        wrong(place, format!("this is not TOML: {}", e.message()), "write a row as [[bush]] and below it outside = 20")
    })?;
    let top = Row { what: "kit", place: whole, table: table.get_ref(), unit: Unit::MM };
    top.only(TOP)?;
    let unit = top.unit()?;
    let mut kit = Kit { inches: unit == Unit::INCH, ..Kit::default() };
    let mut places = Vec::new();
    for row in top.rows("bush", "a bush", unit)? {
        let b = row.bush()?;
        row.only_one(&mut places, b.outside)?;
        kit.bushes.push(b);
    }
    places.clear();
    for row in top.rows("cutter", "a cutter", unit)? {
        let c = row.cutter()?;
        row.only_one(&mut places, c.diameter)?;
        kit.cutters.push(c);
    }
    if let Some(row) = top.table("router", "the router", unit)? {
        row.only(ROUTER)?;
        kit.base = row.length("base")?;
        row.text("source")?;
    }
    if let Some(row) = top.table("template", "the template", unit)? {
        row.only(TEMPLATE)?;
        (kit.stock, kit.template_cutters) = (row.lengths("stock")?, row.lengths("cutters")?);
        row.text("source")?;
    }
    if kit.bushes.is_empty() && kit.cutters.is_empty() {
        return Err(wrong(top.place, "the kit has neither a bush nor a cutter", "add rows: [[bush]], outside = 20"));
    }
    kit.bushes.sort_by(|a, b| a.outside.total_cmp(&b.outside));
    kit.cutters.sort_by(|a, b| a.diameter.total_cmp(&b.diameter));
    Ok(kit)
}

/// A table of the file.
struct Row<'a> {
    /// Its name in messages, such as `a bush`.
    what: &'static str,
    place: Range<usize>,
    table: &'a DeTable<'a>,
    unit: Unit,
}

impl<'a> Row<'a> {
    fn get(&self, key: &str) -> Option<&'a Spanned<DeValue<'a>>> {
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
        match v.get_ref() {
            DeValue::String(s) if Unit::parse(s) == Some(Unit::MM) => Ok(Unit::MM),
            DeValue::String(s) if Unit::parse(s) == Some(Unit::INCH) => Ok(Unit::INCH),
            _ => Err(wrong(v.span(), "the unit of a kit is mm or in", "write unit = \"mm\" or unit = \"in\"")),
        }
    }

    fn rows(&self, key: &str, what: &'static str, unit: Unit) -> Result<Vec<Row<'a>>, KitFileError> {
        let Some(v) = self.get(key) else { return Ok(Vec::new()) };
        let help = format!("head every row with [[{key}]]");
        let DeValue::Array(list) = v.get_ref() else {
            return Err(wrong(v.span(), format!("{key} must be a list of rows"), help));
        };
        let row = |v: &'a Spanned<DeValue<'a>>| match v.get_ref() {
            DeValue::Table(table) => Ok(Row { what, place: v.span(), table, unit }),
            _ => Err(wrong(v.span(), format!("{key} must be a list of rows"), help.clone())),
        };
        list.iter().map(row).collect()
    }

    fn table(&self, key: &str, what: &'static str, unit: Unit) -> Result<Option<Row<'a>>, KitFileError> {
        match self.get(key).map(|v| (v.span(), v.get_ref())) {
            None => Ok(None),
            Some((place, DeValue::Table(table))) => Ok(Some(Row { what, place, table, unit })),
            Some((place, _)) => Err(wrong(place, format!("{key} must be a table"), format!("head it with [{key}]"))),
        }
    }

    fn text(&self, key: &str) -> Result<Option<String>, KitFileError> {
        match self.get(key).map(|v| (v.span(), v.get_ref())) {
            None => Ok(None),
            Some((_, DeValue::String(s))) => Ok(Some(s.to_string())),
            Some((place, _)) => Err(wrong(place, format!("{key} must be text"), format!("write {key} = \"…\""))),
        }
    }

    /// The length under `key`, mm.
    fn length(&self, key: &str) -> Result<Option<f64>, KitFileError> {
        self.get(key).map(|v| self.read(key, v)).transpose()
    }

    fn needed(&self, key: &str) -> Result<f64, KitFileError> {
        let none = || {
            let size = match (key, self.unit == Unit::MM) {
                ("outside", true) => "20",
                ("outside", false) => "\"3/4in\"",
                (_, true) => "6",
                (_, false) => "\"1/4in\"",
            };
            let help = format!("add a line such as {key} = {size}");
            wrong(self.place.clone(), format!("{} lacks its {key}", self.what), help)
        };
        self.length(key)?.ok_or_else(none)
    }

    /// One length or a list of them.
    fn lengths(&self, key: &str) -> Result<Vec<f64>, KitFileError> {
        match self.get(key).map(|v| (v, v.get_ref())) {
            None => Ok(Vec::new()),
            Some((_, DeValue::Array(list))) => list.iter().map(|v| self.read(key, v)).collect(),
            Some((v, _)) => Ok(vec![self.read(key, v)?]),
        }
    }

    fn read(&self, key: &str, v: &Spanned<DeValue>) -> Result<f64, KitFileError> {
        let text = match v.get_ref() {
            DeValue::String(s) => s.to_string(),
            DeValue::Integer(i) if i.radix() == 10 => i.as_str().to_owned(),
            DeValue::Float(f) => f.as_str().to_owned(),
            other => {
                let message = format!("{key} cannot be a {}", other.type_str());
                return Err(wrong(v.span(), message, "a length is a number, or text with a unit: \"1/4in\""));
            }
        };
        let help = "a length is a number, or text with a unit: \"1/4in\"";
        let mm = parse_length_in(&text, self.unit).map_err(|e| wrong(v.span(), format!("{key}: {e}"), help))?;
        if mm > 0.0 { Ok(mm) } else { Err(wrong(v.span(), format!("{key} must be more than 0"), help)) }
    }

    /// The measured size, which must be near the nominal one.
    fn measured(&self, nominal: f64) -> Result<Option<f64>, KitFileError> {
        let measured = self.length("measured")?;
        match (measured, self.get("measured")) {
            (Some(m), Some(v)) if (m - nominal).abs() > FAR_FROM_NOMINAL => {
                let message = format!(
                    "measured {m:.2} mm is {:.2} mm from the {nominal:.2} mm of {}",
                    (m - nominal).abs(),
                    self.what
                );
                Err(wrong(v.span(), message, "check that it is in the right row, and check its unit"))
            }
            _ => Ok(measured),
        }
    }

    fn bush(&self) -> Result<Bush, KitFileError> {
        self.only(BUSH)?;
        let outside = self.needed("outside")?;
        let bore = self.length("bore")?;
        if let (Some(bore), Some(v)) = (bore, self.get("bore"))
            && bore >= outside
        {
            let message = format!("a bore of {bore:.2} mm in a bush of {outside:.2} mm leaves no wall");
            return Err(wrong(v.span(), message, "outside runs along the template, bore is the hole through it"));
        }
        Ok(Bush {
            outside,
            bore,
            projection: self.length("projection")?,
            measured: self.measured(outside)?,
            source: self.text("source")?,
        })
    }

    fn cutter(&self) -> Result<Cutter, KitFileError> {
        self.only(CUTTER)?;
        let diameter = self.needed("diameter")?;
        Ok(Cutter {
            diameter,
            length: self.length("length")?,
            shank: self.length("shank")?,
            measured: self.measured(diameter)?,
            source: self.text("source")?,
        })
    }

    /// Refuses a second tool of the same size, because the size is the name of a tool.
    fn only_one(&self, seen: &mut Vec<f64>, size: f64) -> Result<(), KitFileError> {
        if seen.iter().any(|s| (s - size).abs() <= WIDTH_SLACK) {
            let message = format!("{} of {size:.2} mm is listed twice", self.what);
            let help = "the size is the name of a tool: keep one row";
            return Err(wrong(self.place.clone(), message, help));
        }
        seen.push(size);
        Ok(())
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
