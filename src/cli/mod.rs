//! The command line: arguments in, text and an exit status out.
//!
//! Findings and JSON go to standard output; notes on files and errors go to standard error. A failed write of the answer
//! gives [`ExitStatus::NoVerdict`]. No other module depends on clap or miette.

mod args;
mod convert;
mod exit;
mod explain;
mod failure;
mod jobfile;
mod kit;
mod look;
mod meant;
mod message;
mod prove;
mod savejob;
mod shape;
mod spelling;
mod stdout;
mod usage;
mod values;
mod watch;

pub use exit::ExitStatus;
pub use failure::fault;

use crate::app::{self, AppError, Input, Job, Out, Outcome, Task};
use crate::budget::Budget;
use crate::report::terminal;
use crate::report::terminal::Detail;
use crate::text::terminal as safe;
use args::{Cli, Command, CommonArgs, FileArgs, ReportArgs};
use clap::error::ErrorKind;
use clap::parser::ValueSource;
use clap::{ArgMatches, CommandFactory, FromArgMatches};
use failure::Failure;
use jobfile::JobFile;
use meant::Meant;
use std::ffi::{OsStr, OsString};
use std::io::{self, Write};
use std::path::Path;
use watch::watched;

/// Runs the program with `args`, its own name first.
#[must_use]
pub fn run(args: impl IntoIterator<Item = OsString>) -> ExitStatus {
    run_by(app::run, args)
}

/// [`run`] with another pipeline, for tests.
fn run_by(
    pipeline: impl Fn(&Job, &Budget) -> Result<Outcome, AppError>,
    args: impl IntoIterator<Item = OsString>,
) -> ExitStatus {
    if let Some(status) = stdout::closed() {
        return status;
    }
    let args: Vec<OsString> = args.into_iter().collect();
    // Read before the arguments are parsed: with --json, wrong usage is answered in JSON too.
    let json = args.iter().any(|a| a == "--json");
    if let Some(meant) = mistyped_command(&args) {
        return Failure::from(meant).print(json);
    }
    let args = with_command(args);
    let (args, file) = match jobfile::spelt_out(args) {
        Ok(both) => both,
        Err(e) => return e.print(json),
    };
    let json = args.iter().any(|a| a == "--json");
    let parsed = Cli::command().try_get_matches_from(&args);
    let (cli, matches) = match parsed.and_then(|m| Ok((Cli::from_arg_matches(&m)?, m))) {
        Ok(both) => both,
        Err(e) => return not_understood(&e, &args, file.as_ref(), json),
    };
    let (_, given) = matches.subcommand().unwrap_or(("", &matches));
    let (common, report, files) = match cli.command {
        Command::Make(m) => (m.common, m.report, Some(m.files)),
        Command::Check(c) => (c.common, c.report, None),
        Command::Outlines(asked) => return look::outlines(&asked),
        Command::Prove(asked) => return prove::prove(&asked),
        Command::Explain(asked) => return explain::explain(asked.code.as_deref(), asked.json),
        Command::Offsets(asked) => return kit::table(&asked),
        Command::Testpiece(asked) => return kit::test_piece(&asked),
        Command::Shape(asked) => return shape::shape(&asked),
        Command::Keys(asked) => return shape::keys(&asked),
    };
    let status = run_job(pipeline, (&common, &report, files.as_ref()), given, file.as_ref());
    status.unwrap_or_else(|e| e.in_file(file.as_ref()).print(json))
}

/// Runs `make`, or `check` without files. `given`: its arguments as clap has them. `file`: the job file that they are from.
fn run_job(
    pipeline: impl Fn(&Job, &Budget) -> Result<Outcome, AppError>,
    (common, report, files): (&CommonArgs, &ReportArgs, Option<&FileArgs>),
    given: &ArgMatches,
    file: Option<&JobFile>,
) -> Result<ExitStatus, Failure> {
    let write_job = files.and_then(|f| f.write_job.as_deref());
    let save = write_job.and_then(|to| Some((to, savejob::text(given, to)?)));
    let chosen = kit::of_job(common)?;
    let mut job = convert::convert(common, report, files, &chosen.kit)?;
    job.assumed = if job.auto_pair { Vec::new() } else { not_given(given) };
    job.also_read = chosen.path.iter().chain(file.map(|f| &f.path)).cloned().collect();
    let Task::Make(out) = &job.task else {
        return Ok(print(&watched(|budget| pipeline(&job, budget))?, report, false));
    };
    if let Some(file) = file.filter(|f| !f.out_is_typed) {
        note_outside(&file.path, &job.drawing, out);
    }
    let inputs: Vec<Input> = [Input { path: &job.drawing, what: "the drawing" }]
        .into_iter()
        .chain(chosen.path.iter().map(|path| Input { path, what: "the kit" }))
        .chain(file.map(|f| Input { path: &f.path, what: "the job file of this run" }))
        .collect();
    let outcome = watched(|budget| -> Result<Outcome, AppError> {
        save.iter().try_for_each(|(to, _)| may_save(to, &inputs, &job.drawing, out))?;
        let outcome = pipeline(&job, budget)?;
        save.iter().try_for_each(|(to, text)| app::save(to, text.as_bytes(), &inputs, out))?;
        Ok(outcome)
    })?;
    Ok(print(&outcome, report, true))
}

/// Checks that the settings may be written to `to`: not over an input, and not over an output of this run, which may not
/// exist yet.
fn may_save(to: &Path, inputs: &[Input], drawing: &Path, out: &Out) -> Result<(), AppError> {
    if app::is_output(to, drawing, out) {
        return Err(AppError::Kept { path: to.to_path_buf(), what: "one of the files of this run" });
    }
    app::may_save(to, inputs, out)
}

/// Prints a note where a job file sends the files out of its own folder: a job file from somebody else may name any folder.
fn note_outside(file: &Path, drawing: &Path, out: &Out) {
    if let Some(folder) = app::outside(file, drawing, out) {
        let (file, folder) = (safe(&file.to_string_lossy()), safe(&folder.to_string_lossy()));
        let _ = writeln!(io::stderr(), "note: {file} sends the files outside its own folder, into {folder}");
    }
}

/// Whether the first argument is a command, or asks for help or the version.
fn is_command(arg: &OsStr) -> bool {
    ["help", "-h", "--help", "-V", "--version"].iter().any(|f| arg == *f)
        || Cli::command().get_subcommands().any(|c| arg == c.get_name())
}

/// The options of the tools that the arguments leave at their default.
fn not_given(given: &ArgMatches) -> Vec<&'static str> {
    let default = |o: &&str| given.value_source(o) == Some(ValueSource::DefaultValue);
    ["bush", "cutter", "gap"].into_iter().filter(default).collect()
}

/// `letin DRAWING` means `letin make DRAWING`.
fn with_command(mut args: Vec<OsString>) -> Vec<OsString> {
    if args.get(1).is_some_and(|a| !is_command(a)) {
        args.insert(1, OsString::from("make"));
    }
    args
}

/// The answer to a first word that is no command and no drawing.
fn mistyped_command(args: &[OsString]) -> Option<Meant> {
    args.get(1).filter(|a| !a.is_empty() && !is_command(a))?;
    usage::first_word(args, &Cli::command())
}

/// Arguments that clap refuses, or a request for help or the version.
fn not_understood(e: &clap::Error, args: &[OsString], file: Option<&JobFile>, json: bool) -> ExitStatus {
    if matches!(e.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) {
        return stdout::written(e.print(), ExitStatus::Clean);
    }
    if e.kind() == ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand {
        let _ = e.print();
        return ExitStatus::NoVerdict;
    }
    usage::refused(e, args, &Cli::command()).in_file(file).print(json)
}

/// Prints the report and the notes on files. `made`: files were written.
fn print(outcome: &Outcome, report: &ReportArgs, made: bool) -> ExitStatus {
    let text = if report.json {
        outcome.document.clone()
    } else {
        terminal::report(&outcome.facts, Detail { all: report.all, full: report.full }, made).into_bytes()
    };
    let counts = |f: &crate::check::Finding| !f.accepted && report.fails_at(made).counts(f.severity);
    let found = outcome.facts.jobs().flat_map(|f| &f.findings).any(counts);
    let status = stdout::answer(&text, if found { ExitStatus::Findings } else { ExitStatus::Clean });
    // The files exist even if the answer could not be printed.
    let notes: Vec<u8> = outcome.notes.iter().flat_map(|n| [n.as_bytes(), b"\n"].concat()).collect();
    let _ = io::stderr().write_all(&notes);
    status
}

#[cfg(test)]
mod tests {
    use super::*;

    fn completed(args: &[&str]) -> Vec<String> {
        let all = ["letin"].iter().chain(args).map(OsString::from).collect();
        with_command(all).into_iter().skip(1).map(|a| a.into_string().unwrap()).collect()
    }

    #[test]
    fn a_drawing_alone_is_made() {
        assert_eq!(completed(&["key.svg"]), ["make", "key.svg"]);
        assert_eq!(completed(&["--bush", "20", "key.svg"]), ["make", "--bush", "20", "key.svg"]);
        assert_eq!(completed(&["check", "key.svg"]), ["check", "key.svg"]);
        assert_eq!(completed(&["--version"]), ["--version"]);
        assert!(completed(&[]).is_empty());
    }

    /// A proof that fails gives status 2 and writes nothing.
    #[test]
    fn a_failing_proof_gives_no_answer_and_leaves_nothing() {
        let dir = tempfile::tempdir().unwrap();
        let (drawing, out) = (dir.path().join("key.svg"), dir.path().join("out"));
        let svg = "<svg xmlns='http://www.w3.org/2000/svg' width='80mm' height='40mm' viewBox='0 0 80 40'>\
                   <path d='M5 5H75V35H5Z'/></svg>";
        std::fs::write(&drawing, svg).unwrap();
        let args = || ["letin".into(), "make".into(), drawing.clone().into(), "--out".into(), out.clone().into()];
        let failing: app::Prover = |_, _, _, _| Err(crate::proof::ProofError::NothingCut { outline: 1 });
        let status = run_by(|job, budget| app::run_proved_by(failing, job, budget), args());
        assert_eq!((status, out.exists()), (ExitStatus::NoVerdict, false));
        let status = run_by(|job, budget| app::run_proved_by(crate::proof::prove, job, budget), args());
        assert_eq!((status, out.exists()), (ExitStatus::Clean, true));
    }

    #[test]
    fn the_definition_of_the_command_line_is_sound() {
        Cli::command().debug_assert();
    }

    #[test]
    fn exit_statuses_are_those_promised() {
        assert_eq!([ExitStatus::Clean, ExitStatus::Findings, ExitStatus::NoVerdict].map(|s| s as u8), [0, 1, 2]);
    }
}
