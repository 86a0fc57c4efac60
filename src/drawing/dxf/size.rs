//! Finds the length of the file's unit.
//!
//! Source: the published DXF Reference, header variables `$INSUNITS` and `$MEASUREMENT`.

use crate::drawing::Unit;
use crate::units::INCH;

/// The header's units.
#[derive(Clone, Copy, Debug, Default)]
pub struct Header {
    pub insunits: Option<i64>,
    pub measurement: Option<i64>,
}

/// The unit, its source as a noun phrase that follows "size from", and whether it is a guess.
#[derive(Clone, Debug)]
pub struct ChosenUnit {
    pub unit: Unit,
    pub why: String,
    pub guessed: bool,
}

/// The `$INSUNITS` values that a joinery drawing may use.
fn named(code: i64) -> Option<(&'static str, Unit)> {
    // The survey foot is 1200/3937 m by definition.
    const SURVEY_FOOT: f64 = 1_200_000.0 / 3937.0;
    let unit = |symbol, mm| Unit { symbol, mm };
    Some(match code {
        1 => ("inches", Unit::INCH),
        2 => ("feet", Unit::FOOT),
        4 => ("millimetres", Unit::MM),
        5 => ("centimetres", Unit::CM),
        6 => ("metres", Unit::M),
        8 => ("microinches", unit("µin", INCH * 1e-6)),
        9 => ("mils", unit("mil", INCH * 1e-3)),
        10 => ("yards", unit("yd", 36.0 * INCH)),
        13 => ("micrometres", unit("µm", 1e-3)),
        14 => ("decimetres", unit("dm", 100.0)),
        21 => ("US survey feet", unit("ft", SURVEY_FOOT)),
        22 => ("US survey inches", unit("in", SURVEY_FOOT / 12.0)),
        23 => ("US survey yards", unit("yd", 3.0 * SURVEY_FOOT)),
        _ => return None,
    })
}

/// The `$INSUNITS` values that no joinery drawing uses: astronomical, geographical and atomic lengths.
fn absurd(code: i64) -> Option<&'static str> {
    Some(match code {
        3 => "miles",
        7 => "kilometres",
        11 => "ångströms",
        12 => "nanometres",
        15 => "decametres",
        16 => "hectometres",
        17 => "gigametres",
        18 => "astronomical units",
        19 => "light years",
        20 => "parsecs",
        24 => "US survey miles",
        _ => return None,
    })
}

/// The maker's unit goes first, then `$INSUNITS`. Otherwise millimetres are a guess.
pub fn size(header: Header, given: Option<Unit>) -> ChosenUnit {
    if let Some(unit) = given {
        return ChosenUnit { unit, why: format!("--unit {}", unit.symbol), guessed: false };
    }
    let code = header.insunits.unwrap_or(0);
    if let Some((name, unit)) = named(code) {
        return ChosenUnit { unit, why: format!("the file's $INSUNITS: {name}"), guessed: false };
    }
    let says = match (header.insunits, absurd(code)) {
        (None, _) => "no unit in the file".to_owned(),
        (Some(0), _) => "no unit in the file ($INSUNITS 0)".to_owned(),
        (_, Some(name)) => format!("implausible unit in the file ({name}, $INSUNITS {code})"),
        _ => format!("unknown unit in the file ($INSUNITS {code})"),
    };
    let hint = match header.measurement {
        Some(0) => " ($MEASUREMENT 0, imperial, suggests inches)",
        Some(1) => " ($MEASUREMENT 1, metric, agrees)",
        _ => "",
    };
    ChosenUnit { unit: Unit::MM, why: format!("a guess: {says}, read as millimetres{hint}"), guessed: true }
}
