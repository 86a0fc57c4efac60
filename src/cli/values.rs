//! The value parsers of options. [`super::args`] declares each option with its parser, bounds and example.
//!
//! In: the text of a value. Out: a value of the domain, lengths in mm. Refuses with [`Refused`], which says why, and what to
//! type instead.

use super::spelling::{aliases, british};
use crate::check::Code;
use crate::kit::wood::{self, Species};
use crate::text::alike;
use crate::units::{Length, LengthError, Unit, parse_length, parse_pair};
use clap::builder::{PossibleValue, PossibleValuesParser, TypedValueParser};

/// Inclusive bounds of a figure, and an example to type. The bounds are wider than any tool, board or inlay. A figure
/// outside has a wrong unit or a misplaced decimal point. Common practice, no source.
#[derive(Clone, Copy)]
pub struct Range(pub f64, pub f64, pub &'static str);

/// The reason why an option does not take a value.
#[derive(Debug, thiserror::Error)]
#[error("{why}")]
pub struct Refused {
    why: String,
    help: Help,
}

/// What to type instead.
#[derive(Debug)]
enum Help {
    /// An example of a length.
    Length(&'static str),
    /// An example of another value.
    Example(&'static str),
    Text(String),
}

impl Refused {
    fn new(why: impl ToString, help: Help) -> Refused {
        Refused { why: why.to_string(), help }
    }

    /// What to type for `option`, which has its dashes; empty where the reason says it.
    pub fn help(&self, option: &str) -> String {
        match &self.help {
            Help::Length(example) => example_of(option, example),
            Help::Example(example) => format!("Write {option} {example}."),
            Help::Text(text) => text.clone(),
        }
    }
}

/// What to type for an option that takes a length.
pub fn example_of(option: &str, example: &str) -> String {
    // A positional argument has no dashes; its name is in capitals.
    let option = if option == "SIZE" { "the size as" } else { option };
    format!("Write {option} {example}. A bare number is in millimetres.")
}

/// A length, with the unit that it is given in.
pub fn length(range: Range) -> impl TypedValueParser<Value = Length> {
    move |text: &str| one_length(text, range)
}

/// A length, mm.
pub fn mm(range: Range) -> impl TypedValueParser<Value = f64> {
    move |text: &str| one_length(text, range).map(|l| l.mm)
}

/// Two lengths, mm.
pub fn pair(range: Range) -> impl TypedValueParser<Value = (f64, f64)> {
    move |text: &str| two(text, range)
}

/// One length or two, mm.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Size {
    One(f64),
    Two(f64, f64),
}

/// One length or two, mm.
pub fn size(range: Range) -> impl TypedValueParser<Value = Size> {
    move |text: &str| {
        // A word that holds an x, and the unit px, are no pairs.
        let digits = text.contains(|c: char| c.is_ascii_digit());
        if digits && text.replace("px", "").contains(['x', 'X', '×', ';']) {
            two(text, range).map(|(a, b)| Size::Two(a, b))
        } else {
            one_length(text, range).map(|l| Size::One(l.mm))
        }
    }
}

fn one_length(text: &str, range: Range) -> Result<Length, Refused> {
    let length = parse_length(text, Unit::MM).map_err(|e| no_length(&e, range))?;
    if range.holds(length.mm) { Ok(length) } else { Err(range.outside("it")) }
}

fn two(text: &str, range: Range) -> Result<(f64, f64), Refused> {
    let (a, b) = parse_pair(text, Unit::MM).map_err(|e| no_length(&e, range))?;
    if range.holds(a) && range.holds(b) { Ok((a, b)) } else { Err(range.outside("each")) }
}

/// The error of a text that is no length. A negative or very long length gets the bounds.
fn no_length(e: &LengthError, range: Range) -> Refused {
    match e {
        LengthError::Negative(_) | LengthError::TooLong(_) => range.outside("it"),
        _ => Refused::new(e, Help::Length(range.2)),
    }
}

impl Range {
    fn holds(self, n: f64) -> bool {
        (self.0..=self.1).contains(&n)
    }

    fn outside(self, what: &str) -> Refused {
        Refused::new(format!("{what} must be from {} to {} mm", self.0, self.1), Help::Length(self.2))
    }
}

/// A plain number.
pub fn number(range: Range) -> impl TypedValueParser<Value = f64> {
    move |text: &str| plain(text, range)
}

/// A number of per cent, with or without the sign.
pub fn percent(range: Range) -> impl TypedValueParser<Value = f64> {
    move |text: &str| plain(text.trim().trim_end_matches('%').trim_end(), range)
}

fn plain(text: &str, range: Range) -> Result<f64, Refused> {
    let digits = text.chars().all(|c| c.is_ascii_digit() || ".,-".contains(c));
    let n = text.replace(',', ".").parse().ok().filter(|n| digits && range.holds(*n));
    let why = || format!("it must be a number from {} to {}", range.0, range.1);
    n.ok_or_else(|| Refused::new(why(), Help::Example(range.2)))
}

/// A whole number.
pub fn whole(least: u32, most: u32, example: &'static str) -> impl TypedValueParser<Value = u32> {
    move |text: &str| {
        let n = text.trim().parse().ok().filter(|n| (least..=most).contains(n));
        let why = || format!("it must be a whole number from {least} to {most}");
        n.ok_or_else(|| Refused::new(why(), Help::Example(example)))
    }
}

/// One of `values`, by its own name, each with its help.
pub fn choice<T: Copy + Send + Sync + 'static, const N: usize>(
    name: fn(T) -> &'static str,
    values: [(T, &'static str); N],
) -> impl TypedValueParser<Value = T> {
    let known = values.map(|(value, help)| {
        let plain = PossibleValue::new(name(value)).aliases(aliases(name(value)).iter().copied());
        (value, if help.is_empty() { plain } else { plain.help(help) })
    });
    PossibleValuesParser::new(known.clone().map(|k| k.1)).try_map(move |typed| {
        known.iter().find(|k| k.1.matches(&typed, false)).map(|k| k.0).ok_or("there is no such value")
    })
}

/// The unit of a drawing.
pub fn unit(text: &str) -> Result<Unit, Refused> {
    let help = Help::Example("mm, cm, m, in, ft, px, pt, pc or Q");
    Unit::parse(text).ok_or_else(|| Refused::new("this is no unit of a drawing", help))
}

/// A species of the table.
pub fn species(text: &str) -> Result<Species, Refused> {
    let names = || wood::all().into_iter().map(|s| s.name).collect::<Vec<_>>().join(", ");
    let why = || format!("the species are {}", names());
    wood::named(text).ok_or_else(|| Refused::new(why(), Help::Text(String::new())))
}

/// The code of a finding that can be accepted.
pub fn acceptable(text: &str) -> Result<Code, Refused> {
    let names = || Code::ALL.iter().filter(|c| c.acceptable()).map(|c| c.name());
    let list = || format!("You can accept {}.", names().collect::<Vec<_>>().join(", "));
    match Code::from_name(&british(text)) {
        Some(code) if code.acceptable() => Ok(code),
        Some(code) => {
            let help = format!("`letin explain {code}` says what to do. {}", list());
            Err(Refused::new("this cannot be accepted", Help::Text(help)))
        }
        None => {
            let like = alike(&british(text), names());
            let meant = like.first().map(|a| format!("Did you mean --accept {a}? ")).unwrap_or_default();
            Err(Refused::new("there is no such code", Help::Text(meant + &list())))
        }
    }
}

#[cfg(test)]
mod tests {
    use super::super::args::Cli;
    use super::*;
    use clap::{Arg, ArgMatches, Command, CommandFactory};
    use std::error::Error as _;

    fn is_length(arg: &Arg) -> bool {
        let name = arg.get_value_names().and_then(|n| n.first()).map(ToString::to_string);
        name.is_some_and(|n| ["LENGTH", "XxY", "WxH", "RECESSxINLAY", "SIZE"].contains(&&*n))
    }

    /// Reads `value` with the parser of the argument alone, without what the option needs beside it.
    fn read(arg: &Arg, value: &str) -> Result<ArgMatches, clap::Error> {
        let plain = Arg::new("it").long("it").allow_hyphen_values(true).value_parser(arg.get_value_parser().clone());
        Command::new("x").arg(plain).try_get_matches_from(["x", "--it", value])
    }

    /// The reason and the help.
    fn refused(arg: &Arg, value: &str) -> (String, String) {
        let e = read(arg, value).expect_err(value);
        let refused = e.source().and_then(|s| s.downcast_ref::<Refused>()).expect(value);
        (refused.to_string(), refused.help("--it"))
    }

    fn option(command: &str, name: &str) -> Arg {
        let all = Cli::command();
        let arg = all.find_subcommand(command).and_then(|c| c.get_arguments().find(|a| a.get_id() == name));
        arg.cloned().expect(name)
    }

    /// Every option that takes a length has bounds and an example.
    #[test]
    fn every_length_has_bounds() {
        let mut seen = 0;
        for command in Cli::command().get_subcommands() {
            for arg in command.get_arguments().filter(|a| is_length(a)) {
                let pair = read(arg, "60x40").is_ok();
                let (why, help) = refused(arg, if pair { "-1x5" } else { "-1" });
                assert!(why.starts_with("it must be from ") && why.ends_with(" mm"), "{}: {why}", arg.get_id());
                let example = help.strip_prefix("Write --it ").and_then(|h| h.split([' ', ',']).next());
                assert!(read(arg, example.expect(&help).trim_end_matches('.')).is_ok(), "{}: {help}", arg.get_id());
                seen += 1;
            }
        }
        assert!(seen > 40, "{seen}");
    }

    #[test]
    fn a_value_out_of_bounds_is_reported_with_the_bounds() {
        let (width, panel) = (option("make", "width"), option("make", "panel"));
        let huge = "9".repeat(300);
        for text in ["0", "-3", "0.0001", "9999999", "99999999", &huge, "10001"] {
            assert_eq!(refused(&width, text).0, "it must be from 0.1 to 10000 mm");
        }
        for text in ["0x5", "5x0", "-1x5", "5x99999", "10001x5"] {
            assert!(refused(&panel, text).0.ends_with(" must be from 1 to 10000 mm"), "{text}");
        }
        for text in ["NaN", "inf", "1e300", "1e-300", "6 mm mm", "", "six", "--6"] {
            assert!(refused(&width, text).1.starts_with("Write --it 80"), "{text}");
            let range = Range(1.0, 1e5, "96");
            assert!(
                plain(text, range).is_err() && refused(&option("shape", "sides"), text).0.contains("whole"),
                "{text}"
            );
        }
        let ends = ["10000", "0.1"].map(|t| one_length(t, Range(0.1, 10_000.0, "")).map(|l| l.mm).expect(t));
        assert_eq!(ends, [10_000.0, 0.1]);
    }
}
