//! The command line: arguments in, text and an exit status out.
//!
//! Findings and JSON go to standard output; notes on files and errors go to standard error. A failed write of the answer
//! gives [`ExitStatus::NoVerdict`]. No other module depends on clap or miette.

mod args;
mod convert;
mod exit;
mod explain;
mod jobfile;
mod kit;
mod look;
mod meant;
mod prove;
mod ranges;
mod savejob;
mod shape;
mod spelling;
mod stdout;
mod usage;
mod watch;

pub use exit::ExitStatus;

use crate::app::{self, AppError, Input, Job, Out, Outcome, Task};
use crate::budget::Budget;
use crate::report::terminal::Detail;
use crate::report::{json, terminal};
use crate::text::{terminal as safe, wrapped};
use args::{Cli, Command};
use clap::error::ErrorKind;
use clap::parser::ValueSource;
use clap::{CommandFactory, Parser};
use convert::{Answer, UsageError};
use jobfile::{JobFile, JobFileError, Wrong};
use meant::Meant;
use std::ffi::{OsStr, OsString};
use std::io::{self, Write};
use std::ops::Range;
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
        return no_verdict("usage", &meant.message, Some(&meant.help), json);
    }
    let args = with_command(args);
    let (args, file) = match jobfile::spelt_out(args) {
        Ok(both) => both,
        Err(JobFileError::Unreadable(e)) => return no_verdict_from(&e, json),
        Err(JobFileError::Wrong(w)) => return wrong_in_file(&w, json),
    };
    let json = args.iter().any(|a| a == "--json");
    let cli = match Cli::try_parse_from(&args) {
        Ok(cli) => cli,
        Err(e) => return not_understood(&e, &args, file, json),
    };
    let command = match cli.command {
        Command::Job(command) => command,
        Command::Outlines(asked) => return look::outlines(&asked),
        Command::Prove(asked) => return prove::prove(&asked),
        Command::Explain(asked) => return explain::explain(asked.code.as_deref(), asked.json),
        Command::Offsets(asked) => return kit::table(&asked),
        Command::Testpiece(asked) => return kit::test_piece(&asked),
        Command::Shape(asked) => return shape::shape(&asked),
        Command::Keys(asked) => return shape::keys(&asked),
    };
    let save = command.write_job().and_then(|to| Some((to.to_path_buf(), savejob::text(&args, to)?)));
    let chosen = match kit::of_job(command.common()) {
        Ok(chosen) => chosen,
        Err(e) => return no_verdict_from(&e, json),
    };
    let (mut job, answer) = match convert::convert(command, &chosen.kit) {
        Ok(both) => both,
        Err(e) => return does_not_make_sense(&e, file, json),
    };
    let read_file = file.as_ref().map(|f| f.path.clone());
    job.assumed = if job.auto_pair { Vec::new() } else { not_given(&args) };
    job.also_read = chosen.path.iter().chain(&read_file).cloned().collect();
    let Task::Make(out) = &job.task else {
        return match watched(|budget| pipeline(&job, budget)) {
            Ok(outcome) => print(&outcome, answer, false),
            Err(e) => no_verdict_from(&e, json),
        };
    };
    if let Some(file) = file.as_ref().filter(|f| !f.overridden("out")) {
        note_outside(&file.path, &job.drawing, out);
    }
    let inputs: Vec<Input> = [Input { path: &job.drawing, what: "the drawing" }]
        .into_iter()
        .chain(chosen.path.iter().map(|path| Input { path, what: "the kit" }))
        .chain(read_file.iter().map(|path| Input { path, what: "the job file of this run" }))
        .collect();
    let saved = watched(|budget| {
        save.iter().try_for_each(|(to, _)| may_save(to, &inputs, &job.drawing, out))?;
        let outcome = pipeline(&job, budget)?;
        save.iter().try_for_each(|(to, text)| app::save(to, text.as_bytes(), &inputs, out))?;
        Ok(outcome)
    });
    match saved {
        Ok(outcome) => print(&outcome, answer, true),
        Err(e) => no_verdict_from(&e, json),
    }
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
fn not_given(args: &[OsString]) -> Vec<&'static str> {
    let Ok(matches) = Cli::command().try_get_matches_from(args) else { return Vec::new() };
    let Some((_, given)) = matches.subcommand() else { return Vec::new() };
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

/// Arguments that clap refuses, or a request for help or the version. An error in a job file is shown at its place.
fn not_understood(e: &clap::Error, args: &[OsString], file: Option<JobFile>, json: bool) -> ExitStatus {
    if matches!(e.kind(), ErrorKind::DisplayHelp | ErrorKind::DisplayVersion) {
        return stdout::written(e.print(), ExitStatus::Clean);
    }
    if e.kind() == ErrorKind::DisplayHelpOnMissingArgumentOrSubcommand {
        let _ = e.print();
        return ExitStatus::NoVerdict;
    }
    let Meant { message, help } = usage::refused(e, args, &Cli::command());
    if let Some(place) = file.as_ref().and_then(|f| f.place(&usage::about(e)))
        && let Some(file) = file
    {
        return wrong_in_file(&Wrong { file, place, message, help }, json);
    }
    no_verdict("usage", &message, Some(&help), json)
}

/// Settings with impossible values, or settings that contradict each other. Those of a job file are shown at their place.
fn does_not_make_sense(e: &UsageError, file: Option<JobFile>, json: bool) -> ExitStatus {
    if let Some(place) = e.settings().iter().find_map(|s| file.as_ref()?.place(s))
        && let Some(file) = file
    {
        return wrong_in_file(&Wrong { file, place, message: e.to_string(), help: e.help().unwrap_or_default() }, json);
    }
    no_verdict(e.code(), &e.to_string(), e.help().as_deref(), json)
}

/// An error in a job file, at its place.
fn wrong_in_file(w: &Wrong, as_json: bool) -> ExitStatus {
    points_at("usage", &w.file.path, &w.file.text, w.place.clone(), (&w.message, &w.help), as_json)
}

/// An error of the pipeline; an error in a kit is shown at its row.
fn no_verdict_from(e: &AppError, as_json: bool) -> ExitStatus {
    match e {
        AppError::Kit { path, text, source } => {
            points_at(e.code(), path, text, source.place.clone(), (&source.message, &source.help), as_json)
        }
        _ => no_verdict(e.code(), &e.to_string(), e.help().as_deref(), as_json),
    }
}

/// An error at a place, in bytes, of a text file.
fn points_at(
    code: &str,
    path: &Path,
    text: &str,
    place: Range<usize>,
    (message, help): (&str, &str),
    as_json: bool,
) -> ExitStatus {
    let name = safe(&path.to_string_lossy());
    if as_json {
        let line = text.get(..place.start).map_or(1, |before| before.matches('\n').count() + 1);
        let help = (!help.is_empty()).then_some(help);
        return no_verdict(code, &format!("{name}, line {line}: {message}"), help, true);
    }
    let here = miette::LabeledSpan::underline(place);
    let diagnostic = diagnostic(code, message, Some(help).filter(|h| !h.is_empty())).with_label(here);
    // Control characters could move the terminal's cursor.
    let shown: String = text.chars().map(|c| if c.is_control() && c != '\n' { ' ' } else { c }).collect();
    let report = miette::Report::new(diagnostic).with_source_code(miette::NamedSource::new(name, shown));
    let _ = writeln!(io::stderr(), "{report:?}");
    ExitStatus::NoVerdict
}

/// Prints the report and the notes on files. `made`: files were written.
fn print(outcome: &Outcome, answer: Answer, made: bool) -> ExitStatus {
    let text = if answer.json {
        outcome.document.clone()
    } else {
        terminal::report(&outcome.facts, Detail { all: answer.all, full: answer.full }, made).into_bytes()
    };
    let counts = |f: &crate::check::Finding| !f.accepted && answer.fail_on.is_some_and(|least| f.severity <= least);
    let found = outcome.facts.jobs().flat_map(|f| &f.findings).any(counts);
    let status = stdout::answer(&text, if found { ExitStatus::Findings } else { ExitStatus::Clean });
    // The files exist even if the answer could not be printed.
    let notes: Vec<u8> = outcome.notes.iter().flat_map(|n| [n.as_bytes(), b"\n"].concat()).collect();
    let _ = io::stderr().write_all(&notes);
    status
}

/// An error without a verdict: as JSON on standard output, or in words on standard error.
fn no_verdict(code: &str, message: &str, help: Option<&str>, as_json: bool) -> ExitStatus {
    if as_json {
        if let Ok(bytes) = json::error(code, message, help) {
            return stdout::answer(&bytes, ExitStatus::NoVerdict);
        }
        return ExitStatus::NoVerdict;
    }
    in_words(code, message, help);
    ExitStatus::NoVerdict
}

fn in_words(code: &str, message: &str, help: Option<&str>) {
    let _ = writeln!(io::stderr(), "{:?}", miette::Report::new(diagnostic(code, message, help)));
}

/// Longest line of an error, characters, without the mark before it.
const WIDEST: usize = 88;

/// An error with its lines wrapped at blanks only, so that options stay whole.
fn diagnostic(code: &str, message: &str, help: Option<&str>) -> miette::MietteDiagnostic {
    // The first call sets the hook; later calls have no effect.
    let _ = miette::set_hook(Box::new(|_| Box::new(miette::MietteHandlerOpts::new().wrap_lines(false).build())));
    let lines = |text: &str| {
        let line = |l: &str| {
            let margin = " ".repeat(l.len() - l.trim_start().len());
            wrapped(l, &margin, &margin, WIDEST)
        };
        text.lines().map(line).collect::<String>().trim_end().to_owned()
    };
    let diagnostic = miette::MietteDiagnostic::new(lines(message)).with_code(code);
    match help {
        Some(help) => diagnostic.with_help(lines(help)),
        None => diagnostic,
    }
}

/// The answer to a fault of the program itself.
#[must_use]
pub fn fault(message: &str) -> ExitStatus {
    let json = std::env::args_os().any(|a| a == "--json");
    no_verdict("internal", message, Some("letin itself is at fault. Please report it with the drawing."), json)
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
