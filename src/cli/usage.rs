//! Arguments that the definition of the command line refuses: what is wrong, and what to type instead.
//!
//! In: the arguments and the refusal. Out: a message and a help, for people and for JSON alike.

use super::failure::Failure;
use super::meant::{self, Meant};
use super::values::Refused;
use crate::text::{alike, terminal as safe};
use clap::Command;
use clap::error::{ContextKind, ContextValue, ErrorKind};
use std::ffi::OsString;
use std::path::Path;

/// The first line of the refusal itself, without its mark.
pub(super) fn first_line(e: &clap::Error) -> String {
    e.to_string().lines().next().unwrap_or_default().trim_start_matches("error: ").to_owned()
}

/// The text of a part of the refusal; of a list, its entries.
fn context(e: &clap::Error, kind: ContextKind) -> Vec<String> {
    match e.get(kind) {
        Some(ContextValue::String(s)) => vec![s.clone()],
        Some(ContextValue::Strings(all)) => all.clone(),
        Some(ContextValue::StyledStr(s)) => vec![s.to_string()],
        _ => Vec::new(),
    }
}

/// `--bush <LENGTH>` is `--bush`.
fn name(option: &str) -> &str {
    option.split([' ', '=']).next().unwrap_or_default().trim_matches(['<', '>'])
}

/// What to say of arguments that were refused.
pub(super) fn refused(e: &clap::Error, args: &[OsString], commands: &Command) -> Failure {
    let command = args.get(1).map(|a| a.to_string_lossy().into_owned()).unwrap_or_default();
    let see = format!("`letin {} --help` lists its options.", safe(&command));
    let invalid = context(e, ContextKind::InvalidArg);
    let about = invalid.first().map(|a| name(a).to_owned()).unwrap_or_default();
    let (message, help) = match e.kind() {
        ErrorKind::UnknownArgument => {
            let typed = whole(args, &about);
            if typed.starts_with('-') {
                return meant::option(commands, &command, &typed).into();
            }
            let typed = safe(&typed);
            (format!("{typed} is one name too many for `letin {}`.", safe(&command)), format!("Leave out {typed}."))
        }
        ErrorKind::InvalidValue => value(e, &about, see),
        ErrorKind::ValueValidation => {
            let refused = std::error::Error::source(e).and_then(|s| s.downcast_ref::<Refused>());
            let given = context(e, ContextKind::InvalidValue).join(" ");
            let why = refused.map_or_else(|| first_line(e), ToString::to_string);
            (format!("{about} {}: {why}", safe(&given)), refused.map_or(see, |r| r.help(&about)))
        }
        ErrorKind::ArgumentConflict => {
            let prior = context(e, ContextKind::PriorArg);
            let prior: Vec<&str> = prior.iter().map(|p| name(p)).collect();
            if prior.is_empty() || prior == [about.as_str()] {
                (format!("{about} is given twice."), format!("Give {about} once."))
            } else {
                let others = prior.join(" or ");
                (format!("{about} does not go together with {others}."), format!("Leave out {about} or {others}."))
            }
        }
        ErrorKind::MissingRequiredArgument => {
            let missing: Vec<String> =
                invalid.iter().map(|a| a.trim_end_matches("...").replace(['<', '>'], "")).collect();
            let missing = missing.join(" and ");
            let help = match command.as_str() {
                "make" | "check" | "outlines" if !missing.contains("--") => {
                    format!("For example: letin {command} key.svg")
                }
                "prove" => "For example: letin prove key-letin".to_owned(),
                "shape" => "For example: letin shape oval 80x50".to_owned(),
                "keys" => "For example: letin keys --length 600 --board 30".to_owned(),
                _ => format!("Add {missing}."),
            };
            (format!("`letin {}` lacks {missing}.", safe(&command)), help)
        }
        ErrorKind::InvalidSubcommand => {
            let typed = context(e, ContextKind::InvalidSubcommand).join(" ");
            return unknown_command(commands, &typed, "").into();
        }
        _ => (first_line(e), see),
    };
    Failure::usage(&[about.trim_start_matches("--")], message, help)
}

/// The answer to a missing value, and to a value that an option does not take.
fn value(e: &clap::Error, option: &str, see: String) -> (String, String) {
    let given = context(e, ContextKind::InvalidValue).join(" ");
    let valid = context(e, ContextKind::ValidValue);
    let list = valid.join(", ");
    if given.is_empty() {
        let help = match valid.first() {
            Some(first) => format!("The values are {list}: for example `{option} {first}`."),
            None => format!("Write the value behind {option}. {see}"),
        };
        return (format!("{option} lacks its value."), help);
    }
    let like = alike(&given, valid.iter().map(String::as_str));
    let message = match like.first() {
        Some(first) => format!("{option} has no value {}. Did you mean `{first}`?", safe(&given)),
        None => format!("{option} has no value {}.", safe(&given)),
    };
    let help = if list.is_empty() { see } else { format!("The values of {option} are {list}.") };
    (message, help)
}

/// An option as it was typed: of `-bush` only `-b` is refused.
fn whole(args: &[OsString], refused: &str) -> String {
    let short = refused.len() == 2 && refused.starts_with('-') && refused != "--";
    let texts = args.iter().map(|a| a.to_string_lossy());
    let longer = texts.filter(|a| short && a.starts_with(refused) && !a.starts_with("--")).max_by_key(|a| a.len());
    longer.map_or_else(|| refused.to_owned(), |a| name(&a).to_owned())
}

/// A first word that is neither a command nor a drawing; nothing where it may be one.
pub(super) fn first_word(args: &[OsString], commands: &Command) -> Option<Meant> {
    let first = args.get(1)?;
    let word = first.to_string_lossy();
    if word.starts_with('-') || word.contains(['.', '/', '\\']) || Path::new(first).exists() {
        return None;
    }
    let rest = &args[2..];
    let drawing = |a: &OsString| {
        let path = Path::new(a);
        let ending = path.extension().and_then(|e| e.to_str()).unwrap_or_default().to_ascii_lowercase();
        ["svg", "dxf", "toml"].contains(&ending.as_str()) || path.is_file()
    };
    let known = meant::command(commands, &word).is_some();
    (known || rest.iter().any(drawing)).then(|| {
        let rest: Vec<String> = rest.iter().map(|a| quoted(&a.to_string_lossy())).collect();
        unknown_command(commands, &word, &rest.join(" "))
    })
}

/// `rest`: what follows the word, as it is typed.
fn unknown_command(commands: &Command, typed: &str, rest: &str) -> Meant {
    let all: Vec<&str> = commands.get_subcommands().map(Command::get_name).collect();
    let list = format!("The commands are {}. A drawing's name ends in .svg or .dxf.", all.join(", "));
    let message = match meant::command(commands, typed) {
        Some(command) => {
            let line = format!("letin {command} {rest}");
            format!("There is no command {}. Did you mean `{}`?", safe(typed), line.trim_end())
        }
        None => format!("There is no command {}.", safe(typed)),
    };
    Meant { message, help: list }
}

/// As it is typed in a terminal.
fn quoted(arg: &str) -> String {
    let arg = safe(arg);
    if arg.is_empty() || arg.contains([' ', '"', '\'', '&', ';', '(', ')']) { format!("\"{arg}\"") } else { arg }
}
