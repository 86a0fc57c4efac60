//! JOB.toml: settings in a file, by the names they have on the command line.
//!
//! In: the arguments as typed, with a file NAME.toml in the place of the drawing. Out: the arguments that say the same
//! without it. The definition of the command line is the only list of settings: what it knows, a job file knows, and
//! what is typed beside the file outweighs it. Paths in the file count from the file's folder. Refuses (with
//! [`JobFileError`]) what is no TOML, settings that do not exist and values of the wrong kind, each with its place.

use super::args::Cli;
use crate::app::{self, AppError};
use crate::text::alike;
use clap::parser::ValueSource;
use clap::{Arg, ArgAction, ArgMatches, Command, CommandFactory, ValueHint};
use std::ffi::OsString;
use std::ops::Range;
use std::path::{Path, PathBuf};
use toml::Spanned;
use toml::de::{DeTable, DeValue};

/// The key that names the drawing; on the command line it has no name.
pub(super) const DRAWING: &str = "drawing";

/// A job file that was read.
#[derive(Clone, Debug)]
pub(super) struct JobFile {
    pub path: PathBuf,
    pub text: String,
    /// Each setting in it, with its place in the text.
    places: Vec<(String, Range<usize>)>,
    /// Settings that were typed beside it.
    typed: Vec<String>,
}

impl JobFile {
    /// Where the file gives `setting`.
    pub(super) fn place(&self, setting: &str) -> Option<Range<usize>> {
        self.places.iter().find(|(name, _)| name == setting).map(|(_, place)| place.clone())
    }

    /// Whether `setting` was typed, whatever the file says.
    pub(super) fn outweighed(&self, setting: &str) -> bool {
        self.typed.iter().any(|t| t == setting)
    }

    fn wrong(&self, place: Range<usize>, message: String, help: impl Into<String>) -> JobFileError {
        JobFileError::Wrong(Box::new(Wrong { file: self.clone(), place, message, help: help.into() }))
    }
}

/// Something in a job file that cannot be understood.
#[derive(Debug)]
pub(super) struct Wrong {
    pub file: JobFile,
    pub place: Range<usize>,
    pub message: String,
    pub help: String,
}

#[derive(Debug)]
pub(super) enum JobFileError {
    Wrong(Box<Wrong>),
    Unreadable(AppError),
}

/// Whether a path names a job file and not a drawing.
pub(super) fn is_job_file(path: &Path) -> bool {
    path.extension().is_some_and(|e| e.eq_ignore_ascii_case("toml"))
}

/// The arguments with what stands in the job file that they name, if they name one. Arguments that cannot be understood
/// come back as they are: whoever reads them next says so.
pub(super) fn spelt_out(args: Vec<OsString>) -> Result<(Vec<OsString>, Option<JobFile>), JobFileError> {
    let Ok(typed) = Cli::command().try_get_matches_from(&args) else { return Ok((args, None)) };
    let Some((name, typed)) = typed.subcommand() else { return Ok((args, None)) };
    let drawings = typed.try_get_many::<PathBuf>(DRAWING).ok().flatten();
    let Some(path) = drawings.into_iter().flatten().find(|p| is_job_file(p)) else { return Ok((args, None)) };
    let text = app::read_text(path).map_err(JobFileError::Unreadable)?;
    let from_typing = |id: &&clap::Id| typed.value_source(id.as_str()) == Some(ValueSource::CommandLine);
    let named = typed.ids().filter(from_typing).map(|id| id.as_str().replace('_', "-")).collect();
    let mut file = JobFile { path: path.clone(), text, places: Vec::new(), typed: named };
    let commands = Cli::command();
    let settings = from_file(&mut file, &commands, name, typed)?;
    let mut all: Vec<OsString> = args.iter().take(2).cloned().collect();
    all.extend(settings);
    all.extend(args.into_iter().skip(2));
    Ok((all, Some(file)))
}

/// What the file says and the command line does not, as arguments of the command `name`.
fn from_file(
    file: &mut JobFile,
    commands: &Command,
    name: &str,
    typed: &ArgMatches,
) -> Result<Vec<OsString>, JobFileError> {
    let text = file.text.clone();
    let table = DeTable::parse(&text).map_err(|e| {
        let place = e.span().unwrap_or(0..text.len().min(1));
        file.wrong(place, format!("this is no TOML: {}", e.message()), "a setting is written as name = \"value\"")
    })?;
    let mut entries: Vec<_> = table.get_ref().iter().collect();
    entries.sort_by_key(|(key, _)| key.span().start);
    let mut args = Vec::new();
    for (key, value) in entries {
        let setting = key.get_ref().to_string();
        let Some(arg) = known(commands, &setting) else {
            return Err(file.wrong(key.span(), format!("there is no setting {setting}"), meant(commands, &setting)));
        };
        file.places.push((setting.clone(), value.span()));
        let of_this_command = commands.find_subcommand(name).is_some_and(|c| find(c, &setting).is_some());
        let over = of_this_command && typed.value_source(arg.get_id().as_str()) == Some(ValueSource::CommandLine);
        let given = arguments(file, arg, &setting, value)?;
        // The drawing's own place is taken by the job file, so it is never outweighed.
        if of_this_command && (!over || setting == DRAWING) {
            args.extend(given);
        }
    }
    if file.place(DRAWING).is_none() {
        let place = 0..text.len().min(1);
        return Err(file.wrong(place, "it names no drawing".to_owned(), "add a line such as drawing = \"key.svg\""));
    }
    Ok(args)
}

/// The setting of either command that works on a drawing: one file serves both.
fn known<'a>(commands: &'a Command, setting: &str) -> Option<&'a Arg> {
    on_drawings(commands).find_map(|c| find(c, setting)).filter(|a| !only_typed(a))
}

fn on_drawings(commands: &Command) -> impl Iterator<Item = &Command> {
    commands.get_subcommands().filter(|c| ["make", "check"].contains(&c.get_name()))
}

fn find<'a>(command: &'a Command, setting: &str) -> Option<&'a Arg> {
    let named = |a: &&Arg| a.get_long() == Some(setting) || (setting == DRAWING && a.get_id() == DRAWING);
    command.get_arguments().find(named)
}

/// What has no meaning in a file.
pub(super) fn only_typed(a: &Arg) -> bool {
    matches!(a.get_long(), Some("help" | "version" | "write-job"))
}

fn meant(commands: &Command, setting: &str) -> String {
    let names: Vec<&str> =
        on_drawings(commands).flat_map(Command::get_arguments).filter_map(Arg::get_long).chain([DRAWING]).collect();
    let mut alike = alike(setting, names.into_iter());
    alike.dedup();
    if alike.is_empty() {
        return "the settings are the options that letin make --help lists, without the two dashes".to_owned();
    }
    format!("did you mean {}?", alike.join(" or "))
}

/// One entry of the file as arguments.
fn arguments(
    file: &JobFile,
    arg: &Arg,
    setting: &str,
    value: &Spanned<DeValue<'_>>,
) -> Result<Vec<OsString>, JobFileError> {
    let place = value.span();
    if matches!(arg.get_action(), ArgAction::SetTrue) {
        return match value.get_ref() {
            DeValue::Boolean(true) => Ok(vec![format!("--{setting}").into()]),
            DeValue::Boolean(false) => Ok(Vec::new()),
            _ => Err(file.wrong(place, format!("{setting} is yes or no"), format!("write {setting} = true"))),
        };
    }
    let many = matches!(arg.get_action(), ArgAction::Append);
    let values: Vec<&Spanned<DeValue>> = match value.get_ref() {
        DeValue::Array(list) if many => list.iter().collect(),
        DeValue::Array(_) => {
            let help = format!("write {setting} = \"…\", without the brackets");
            return Err(file.wrong(place, format!("{setting} has one value, not a list"), help));
        }
        _ => vec![value],
    };
    let mut args = Vec::new();
    for v in values {
        let Some(text) = plain(v.get_ref()) else {
            let message = format!("{setting} cannot be a {}", v.get_ref().type_str());
            return Err(file.wrong(v.span(), message, format!("write {setting} = \"…\"")));
        };
        let text = if is_path(arg) { beside(&file.path, &text) } else { text.into() };
        let mut one = OsString::new();
        if setting != DRAWING {
            one.push(format!("--{setting}="));
        }
        one.push(text);
        args.push(one);
    }
    Ok(args)
}

/// Strings as they are and numbers as they are written.
fn plain(value: &DeValue<'_>) -> Option<String> {
    match value {
        DeValue::String(s) => Some(s.to_string()),
        DeValue::Integer(i) if i.radix() == 10 => Some(i.as_str().to_owned()),
        DeValue::Float(f) => Some(f.as_str().to_owned()),
        _ => None,
    }
}

pub(super) fn is_path(arg: &Arg) -> bool {
    matches!(arg.get_value_hint(), ValueHint::AnyPath | ValueHint::FilePath | ValueHint::DirPath)
}

/// Relative paths count from the folder of the file they stand in.
fn beside(file: &Path, text: &str) -> OsString {
    file.parent().unwrap_or(Path::new("")).join(text).into_os_string()
}
