//! The bounds of each number, by the name of its option, for all commands.
//!
//! In: the option and its text. Out: millimetres, or a [`UsageError`] with the option, the value and the bounds. The bounds
//! are wider than any tool, board or inlay. A figure outside has a wrong unit or a misplaced decimal point. Common practice,
//! no source.

use super::convert::UsageError;
use crate::units::{LengthError, Unit, parse_length, parse_pair};

/// Inclusive bounds of the lengths, mm.
const LENGTHS: [(&[&str], f64, f64); 11] = [
    (&["bush", "inlay-bush"], 1.0, 200.0),
    (&["cutter", "inlay-cutter", "template-cutter"], 0.1, 100.0),
    (&["gap", "gap-most", "plug-gap"], 0.0, 10.0),
    (&["board", "stock", "recess-depth", "plug-height"], 0.1, 1000.0),
    (&["pass-depth", "template-thickness"], 0.1, 200.0),
    (&["projection"], 0.0, 200.0),
    (&["within"], 0.001, 100.0),
    (&["base"], 1.0, 1000.0),
    (&["web", "ease-inside", "ease-outside", "corner", "join"], 0.0, 1000.0),
    (&["at", "panel", "bed", "opening", "measured"], 1.0, 10_000.0),
    (&["width", "SIZE", "waist", "length"], 0.1, 10_000.0),
];

fn bounds(option: &str) -> Option<(f64, f64)> {
    LENGTHS.iter().find(|l| l.0.contains(&option)).map(|l| (l.1, l.2))
}

fn value(option: &'static str, text: &str, why: String) -> UsageError {
    UsageError::Value { option, value: text.to_owned(), why }
}

/// An example of each option, to type instead of a wrong value.
const EXAMPLES: [(&[&str], &str); 21] = [
    (&["bush", "inlay-bush"], "20, 20mm or 3/4in"),
    (&["cutter", "inlay-cutter", "template-cutter"], "6, 6mm or 1/4in"),
    (&["gap"], "0.05"),
    (&["gap-most", "plug-gap"], "0.25"),
    (&["board", "stock"], "20, 20mm or 3/4in"),
    (&["recess-depth", "plug-height"], "6, 6mm or 1/4in"),
    (&["pass-depth"], "3"),
    (&["template-thickness"], "9, 9mm or 3/8in"),
    (&["projection"], "7"),
    (&["within"], "0.5"),
    (&["base"], "75 or 3in: the radius of the router's base"),
    (&["web"], "9"),
    (&["ease-inside", "ease-outside", "corner"], "0.5"),
    (&["join"], "0.05"),
    (&["at", "panel", "bed", "measured"], "400x250 or 16x10in"),
    (&["opening", "width", "waist", "length", "SIZE"], "80, 80mm or 3 1/4in in quotation marks"),
    (&["flatten"], "0.01"),
    (&["dpi"], "96"),
    (&["unit"], "mm, cm, m, in, ft, px, pt, pc or Q"),
    (&["moisture-change"], "3"),
    (&["sides", "count"], "6"),
];

/// What to type for an option; nothing for an option without an example.
pub(super) fn example(option: &str) -> Option<String> {
    let (_, example) = EXAMPLES.iter().find(|e| e.0.contains(&option))?;
    // A positional argument has no dashes; its name is in capitals.
    let option = if option == "SIZE" { "the size as".to_owned() } else { format!("--{option}") };
    let bare = if bounds(option.trim_start_matches('-')).is_some() { " A bare number is in millimetres." } else { "" };
    Some(format!("Write {option} {example}.{bare}"))
}

/// The option's length, mm.
pub(super) fn length(option: &'static str, text: &str) -> Result<f64, UsageError> {
    let allowed = bounds(option);
    let parsed = parse_length(text, Unit::MM).map_err(|e| refused(option, text, &e))?;
    match allowed {
        Some((least, most)) if !(least..=most).contains(&parsed) => {
            Err(value(option, text, format!("it must be from {least} to {most} mm")))
        }
        _ => Ok(parsed),
    }
}

/// The option's two lengths, mm.
pub(super) fn pair(option: &'static str, text: &str) -> Result<(f64, f64), UsageError> {
    let (a, b) = parse_pair(text, Unit::MM).map_err(|e| refused(option, text, &e))?;
    match bounds(option) {
        Some((least, most)) if [a, b].iter().any(|l| !(least..=most).contains(l)) => {
            Err(value(option, text, format!("each must be from {least} to {most} mm")))
        }
        _ => Ok((a, b)),
    }
}

/// The error of a text that is no length. A negative or very long length gets the bounds.
fn refused(option: &'static str, text: &str, e: &LengthError) -> UsageError {
    let far = matches!(e, LengthError::Negative(_) | LengthError::TooLong(_));
    match bounds(option).filter(|_| far) {
        Some((least, most)) => value(option, text, format!("it must be from {least} to {most} mm")),
        None => value(option, text, e.to_string()),
    }
}

/// The option's plain number, from `least` to `most`.
pub(super) fn number(option: &'static str, text: &str, least: f64, most: f64) -> Result<f64, UsageError> {
    let plain = text.chars().all(|c| c.is_ascii_digit() || ".,-".contains(c));
    let n = text.replace(',', ".").parse::<f64>().ok().filter(|n| plain && (least..=most).contains(n));
    n.ok_or_else(|| value(option, text, format!("it must be a number from {least} to {most}")))
}

/// The option's whole number, from `least` to `most`.
pub(super) fn whole(option: &'static str, text: &str, least: u32, most: u32) -> Result<u32, UsageError> {
    let n = text.trim().parse::<u32>().ok().filter(|n| (least..=most).contains(n));
    n.ok_or_else(|| value(option, text, format!("it must be a whole number from {least} to {most}")))
}

#[cfg(test)]
mod tests {
    use super::super::args::Cli;
    use super::*;
    use clap::CommandFactory;

    /// Every option that takes a length has bounds and an example.
    #[test]
    fn every_length_has_bounds() {
        let lengths = ["LENGTH", "XxY", "WxH", "RECESSxINLAY", "SIZE"];
        let mut seen = 0;
        for command in Cli::command().get_subcommands() {
            for arg in command.get_arguments() {
                let Some(name) = arg.get_value_names().and_then(|n| n.first()).map(ToString::to_string) else {
                    continue;
                };
                let option = arg.get_long().map_or_else(|| name.clone(), str::to_owned);
                // The tolerance of chords has bounds of its own.
                if lengths.contains(&&*name) && option != "flatten" {
                    assert!(bounds(&option).is_some(), "{} --{option}", command.get_name());
                    assert!(EXAMPLES.iter().any(|e| e.0.contains(&&*option)), "{} --{option}", command.get_name());
                    seen += 1;
                }
            }
        }
        assert!(seen > 40, "{seen}");
    }

    #[test]
    fn a_value_out_of_bounds_is_reported_with_the_bounds() {
        let huge = "9".repeat(300);
        for text in ["0", "-3", "0.0001", "9999999", "99999999", &huge, "10001"] {
            let said = length("width", text).unwrap_err().to_string();
            assert_eq!(said, format!("--width {text}: it must be from 0.1 to 10000 mm"));
        }
        for text in ["0x5", "5x0", "-1x5", "5x99999", "10001x5"] {
            let said = pair("panel", text).unwrap_err().to_string();
            assert!(said.starts_with(&format!("--panel {text}: ")) && said.ends_with("from 1 to 10000 mm"), "{said}");
        }
        for text in ["NaN", "inf", "1e300", "1e-300", "6 mm mm", "", "six", "--6"] {
            let said = length("width", text).unwrap_err().to_string();
            assert!(said.starts_with(&format!("--width {text}: ")), "{said}");
            assert!(number("dpi", text, 1.0, 1e5).is_err() && whole("sides", text, 3, 9).is_err(), "{text}");
        }
        assert_eq!((length("width", "10000"), length("width", "0.1")), (Ok(10_000.0), Ok(0.1)));
    }
}
