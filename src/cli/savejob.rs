//! The settings of a run as a job file, for `--write-job`.
//!
//! In: the arguments. Out: TOML that [`super::jobfile`] reads back to the same arguments. A given setting keeps its text.
//! Every other setting is a comment with its help, so the file lists all settings.

use super::args::{Cli, DRAWING};
use super::jobfile::{is_job_file, is_path, only_typed};
use crate::app::relative;
use clap::parser::ValueSource;
use clap::{Arg, ArgAction, ArgMatches, CommandFactory};
use std::ffi::OsStr;
use std::fmt::Write as _;
use std::path::{Path, PathBuf};

/// The text of the job file at `to` for the arguments of `make`.
pub(super) fn text(given: &ArgMatches, to: &Path) -> Option<String> {
    let commands = Cli::command();
    let command = commands.find_subcommand("make")?;
    let mut out = String::from("# Settings of a letin job. A length without a unit is in millimetres.\n");
    let drawings: Vec<&PathBuf> = given.get_many::<PathBuf>(DRAWING)?.filter(|p| !is_job_file(p)).collect();
    for d in drawings {
        let _ = writeln!(out, "{DRAWING} = {}", quoted(relative(d, to)));
    }
    let mut heading = None;
    for arg in command.get_arguments().filter(|a| a.get_long().is_some() && !only_typed(a)) {
        if heading != arg.get_help_heading() {
            heading = arg.get_help_heading();
            let _ = writeln!(out, "\n# {}", heading.unwrap_or_default());
        }
        setting(&mut out, arg, given, to);
    }
    Some(out)
}

fn setting(out: &mut String, arg: &Arg, given: &ArgMatches, to: &Path) {
    let (id, name) = (arg.get_id().as_str(), arg.get_long().unwrap_or_default());
    if given.value_source(id) != Some(ValueSource::CommandLine) {
        let usual = match (arg.get_action(), arg.get_default_values().first()) {
            (ArgAction::SetTrue, _) => "false".to_owned(),
            (ArgAction::Append, _) => "[]".to_owned(),
            (_, usual) => quoted(usual.map_or(OsStr::new("…"), |d| d.as_os_str())),
        };
        let help = arg.get_help().map(ToString::to_string).unwrap_or_default();
        let _ = writeln!(out, "# {help}\n# {name} = {usual}");
        return;
    }
    if matches!(arg.get_action(), ArgAction::SetTrue) {
        let _ = writeln!(out, "{name} = true");
        return;
    }
    let shown = |v: &OsStr| if is_path(arg) { quoted(relative(Path::new(v), to)) } else { quoted(v) };
    let values: Vec<String> = given.get_raw(id).into_iter().flatten().map(shown).collect();
    match (arg.get_action(), values.last()) {
        (ArgAction::Append, _) => _ = writeln!(out, "{name} = [{}]", values.join(", ")),
        (_, Some(one)) => _ = writeln!(out, "{name} = {one}"),
        (_, None) => {}
    }
}

/// A TOML string; bytes of a name that are not valid Unicode become replacement characters.
fn quoted(text: impl AsRef<OsStr>) -> String {
    let mut out = String::from("\"");
    for c in text.as_ref().to_string_lossy().chars() {
        match c {
            '"' => out.push_str("\\\""),
            '\\' => out.push_str("\\\\"),
            c if c.is_control() => _ = write!(out, "\\u{:04X}", u32::from(c)),
            c => out.push(c),
        }
    }
    out.push('"');
    out
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn strings_are_escaped() {
        assert_eq!(quoted("5/8\" \\ \u{7}"), "\"5/8\\\" \\\\ \\u0007\"");
    }
}
