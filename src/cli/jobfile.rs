//! JOB.toml: settings in a file, under the names of the command line's options.
//!
//! In: the arguments as typed, with a file NAME.toml in place of the drawing. Out: equivalent arguments without that file.
//! The definition of the command line is the only list of settings: every option of it is a setting of a job file. A typed
//! option overrides the file. Paths in the file are relative to the file's folder. Refuses, with [`Failure`] and the
//! place in the text: invalid TOML, unknown settings, and values of the wrong type.

use super::args::{Cli, DRAWING};
use super::failure::Failure;
use super::meant::{self, Meant, find};
use crate::app;
use clap::parser::ValueSource;
use clap::{Arg, ArgAction, ArgMatches, Command, CommandFactory, ValueHint};
use std::ffi::OsString;
use std::ops::Range;
use std::path::{Path, PathBuf};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The text of a job file, and its settings.
#[derive(Debug)]
pub(super) struct JobFile {
    pub path: PathBuf,
    pub text: String,
    /// Each setting by the name of its option, with the byte range of its value.
    places: Vec<(String, Range<usize>)>,
    /// Whether a typed option overrides the folder of the files.
    pub out_is_typed: bool,
}

impl JobFile {
    /// The byte range of the value of `setting`.
    pub(super) fn place(&self, setting: &str) -> Option<Range<usize>> {
        self.places.iter().find(|(name, _)| name == setting).map(|(_, place)| place.clone())
    }

    fn wrong(&self, place: Range<usize>, message: String, help: impl Into<String>) -> Failure {
        Failure::usage(&[], message, help).at(&self.path, &self.text, place)
    }
}

/// Whether a path names a job file and not a drawing.
pub(super) fn is_job_file(path: &Path) -> bool {
    path.extension().is_some_and(|e| e.eq_ignore_ascii_case("toml"))
}

/// The arguments with the settings of their job file, if they name one. Invalid arguments are returned unchanged; the
/// caller parses them again and reports the error.
pub(super) fn spelt_out(args: Vec<OsString>) -> Result<(Vec<OsString>, Option<JobFile>), Failure> {
    let Ok(typed) = Cli::command().try_get_matches_from(&args) else { return Ok((args, None)) };
    let Some((name, typed)) = typed.subcommand() else { return Ok((args, None)) };
    let drawings = typed.try_get_many::<PathBuf>(DRAWING).ok().flatten();
    let Some(path) = drawings.into_iter().flatten().find(|p| is_job_file(p)) else { return Ok((args, None)) };
    let text = app::read_text(path)?;
    let out_is_typed = typed.try_contains_id("out").is_ok_and(|typed| typed);
    let mut file = JobFile { path: path.clone(), text, places: Vec::new(), out_is_typed };
    let commands = Cli::command();
    let settings = from_file(&mut file, &commands, name, typed)?;
    let mut all: Vec<OsString> = args.iter().take(2).cloned().collect();
    all.extend(settings);
    all.extend(args.into_iter().skip(2));
    Ok((all, Some(file)))
}

/// The settings of the file as arguments of the command `name`, without those that a typed option overrides.
fn from_file(file: &mut JobFile, commands: &Command, name: &str, typed: &ArgMatches) -> Result<Vec<OsString>, Failure> {
    let text = file.text.clone();
    let table = DeTable::parse(&text).map_err(|e| {
        let place = e.span().unwrap_or(0..text.len().min(1));
        let message = format!("the job file is not valid TOML: {}", e.message());
        file.wrong(place, message, "Write each setting as name = \"value\", one on a line.")
    })?;
    let mut entries: Vec<_> = table.get_ref().iter().collect();
    entries.sort_by_key(|(key, _)| key.span().start);
    let mut args = Vec::new();
    for (key, value) in entries {
        // `make` has every option of `check`, so one job file serves both.
        let make = commands.find_subcommand("make");
        let Some(arg) = make.and_then(|c| find(c, key.get_ref())).filter(|a| !only_typed(a)) else {
            let Meant { message, help } = meant::setting(commands, key.get_ref());
            return Err(file.wrong(key.span(), message, help));
        };
        // An alias such as `bushing` counts as its option.
        let setting = arg.get_long().unwrap_or(DRAWING).to_owned();
        file.places.push((setting.clone(), value.span()));
        let of_this_command = commands.find_subcommand(name).is_some_and(|c| find(c, &setting).is_some());
        let over = of_this_command && typed.value_source(arg.get_id().as_str()) == Some(ValueSource::CommandLine);
        let given = arguments(file, arg, &setting, value)?;
        // The typed drawing is the job file itself, so it does not override the drawing of the file.
        if of_this_command && (!over || setting == DRAWING) {
            args.extend(given);
        }
    }
    if file.place(DRAWING).is_none() {
        let place = 0..text.len().min(1);
        let message = "the job file names no drawing".to_owned();
        return Err(file.wrong(place, message, "Add a line such as drawing = \"key.svg\"."));
    }
    Ok(args)
}

/// Whether an option has no meaning in a job file.
pub(super) fn only_typed(a: &Arg) -> bool {
    matches!(a.get_long(), Some("help" | "version" | "write-job"))
}

/// One entry of the file as arguments.
fn arguments(file: &JobFile, arg: &Arg, setting: &str, value: &Spanned<DeValue<'_>>) -> Result<Vec<OsString>, Failure> {
    let place = value.span();
    if matches!(arg.get_action(), ArgAction::SetTrue) {
        return match value.get_ref() {
            DeValue::Boolean(true) => Ok(vec![format!("--{setting}").into()]),
            DeValue::Boolean(false) => Ok(Vec::new()),
            _ => {
                let help = format!("Write {setting} = true or {setting} = false.");
                Err(file.wrong(place, format!("{setting} is yes or no: true or false"), help))
            }
        };
    }
    let many = matches!(arg.get_action(), ArgAction::Append);
    let values: Vec<&Spanned<DeValue>> = match value.get_ref() {
        DeValue::Array(list) if many => list.iter().collect(),
        DeValue::Array(_) => {
            let help = format!("Write {setting} = \"…\", without the brackets.");
            return Err(file.wrong(place, format!("{setting} takes one value, not a list"), help));
        }
        _ => vec![value],
    };
    let mut args = Vec::new();
    for v in values {
        let Some(text) = plain(v.get_ref()) else {
            let message = format!("{setting} cannot be a {}", v.get_ref().type_str());
            return Err(file.wrong(v.span(), message, format!("Write {setting} = \"…\".")));
        };
        let mut one = OsString::from(if setting == DRAWING { String::new() } else { format!("--{setting}=") });
        match file.path.parent().filter(|_| is_path(arg)) {
            Some(folder) => one.push(folder.join(text)),
            None => one.push(text),
        }
        args.push(one);
    }
    Ok(args)
}

/// The text of a string, or of a decimal number as it is written.
fn plain(value: &DeValue<'_>) -> Option<String> {
    match value {
        DeValue::String(s) => Some(s.to_string()),
        DeValue::Integer(i) if i.radix() == 10 => Some(i.as_str().to_owned()),
        DeValue::Float(f) => Some(f.as_str().to_owned()),
        _ => None,
    }
}

pub(super) fn is_path(arg: &Arg) -> bool {
    arg.get_value_hint() == ValueHint::AnyPath
}

impl Failure {
    /// The failure at the place of its setting in the job file, if it has one there.
    pub(super) fn in_file(self, file: Option<&JobFile>) -> Failure {
        match file.and_then(|f| Some((f, self.settings.iter().find_map(|s| f.place(s))?))) {
            Some((f, place)) => self.at(&f.path, &f.text, place),
            None => self,
        }
    }
}
