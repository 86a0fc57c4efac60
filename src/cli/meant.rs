//! "Did you mean …?": the commands and options that a mistyped word most likely means.
//!
//! In: a word that is no command, option or setting, and the definition of the command line. Out: an answer in words, with
//! what to type instead. Meaning comes before spelling: the two tables below hold common words of the trade and of command
//! lines.

use super::args::DRAWING;
use super::spelling::british;
use crate::text::{alike, terminal as safe};
use clap::{Arg, Command};

/// Words that people type, the options or commands that serve them, and a remark. An option may carry its value; a command
/// begins with the program's name.
type Synonym = (&'static str, &'static str, &'static str);

/// Options by meaning.
const OPTIONS: &[Synonym] = &[
    ("depth cut-depth cutting-depth inlay-depth", "--recess-depth", ""),
    ("thickness thick material-thickness", "--template-thickness, --board, --stock", ""),
    ("step-down stepdown depth-per-pass max-depth pass", "--pass-depth", ""),
    ("bit-size bit-diameter cutter-size cutter-diameter tool tool-diameter diameter mill", "--cutter", ""),
    ("bush-size bushing-size bush-diameter guide-bush guide-bushing guide template-guide", "--bush", ""),
    (
        "router-base baseplate base-plate base-radius base-diameter sole-plate",
        "--base",
        "The figure is the radius of the base.",
    ),
    ("tolerance accuracy precision", "--within, --gap", ""),
    ("clearance play allowance slack fit glue-gap", "--gap", ""),
    (
        "offset recess-offset inlay-offset kerf",
        "letin offsets",
        "letin works out the offsets from --bush, --cutter and --gap.",
    ),
    ("flip rotate over", "--turn, --mirror", ""),
    ("mirrored reverse back", "--mirror", ""),
    ("scale size resize height", "--width", "The height follows in proportion."),
    ("units", "--unit", ""),
    ("output o out-dir outdir output-dir folder directory dir destination", "--out", ""),
    ("overwrite replace f y yes", "--force", ""),
    ("round rounding fillet radius corner-radius", "--ease-inside, --ease-outside, --corner", ""),
    ("chisel sharp", "--corners square", ""),
    ("layer layers select id group colour outline", "--only", ""),
    ("exclude ignore omit without", "--skip", ""),
    ("bed-size machine-bed work-area table", "--bed", ""),
    ("panel-size template-size sheet sheet-size", "--panel", ""),
    ("origin position place", "--at", ""),
    ("margin border spacing bridge strip", "--web", ""),
    ("inches inch imperial", "--show in, --unit in", ""),
    ("mm metric millimetres millimeters", "--show mm, --unit mm", ""),
    (
        "quiet q silent",
        "--json",
        "The answer goes to standard output and the list of files to standard error. The exit status alone may be enough.",
    ),
    ("verbose v detail details debug", "--full", ""),
    ("list ls list-layers", "letin outlines", ""),
    ("help-all man usage ?", "--help", ""),
    ("ppi resolution", "--dpi", ""),
    ("weld close join-gap", "--join", ""),
    ("allow continue ignore-errors", "--accept", ""),
    ("strict", "--fail-on warning", ""),
    ("wood timber", "--species", ""),
    ("moisture humidity", "--moisture-change", ""),
    ("tools toolbox", "--kit", ""),
    ("preview simulate n", "--dry-run, letin check", ""),
    ("save save-settings save-job", "--write-job", ""),
    (
        "job config settings",
        "letin make JOB.toml",
        "A job file takes the place of the drawing. --write-job writes one.",
    ),
];

/// Commands by meaning.
const COMMANDS: &[(&str, &str)] = &[
    ("cut run build create generate write convert inlay template", "make"),
    ("test validate lint dry-run preview simulate", "check"),
    ("list ls show info inspect layers lines", "outlines"),
    ("verify proof audit", "prove"),
    ("why what describe codes", "explain"),
    ("offset table kit tools pairs", "offsets"),
    ("test-piece testcut test-cut measure calibrate", "testpiece"),
    ("rectangle disc circle oval ellipse polygon lozenge draw new", "shape"),
    ("bow-tie bowtie butterfly bow-ties dutchman split", "keys"),
];

/// Parts of names in other words, and in the words of this program.
const PARTS: [(&str, &str); 7] = [
    ("insert", "inlay"),
    ("pocket", "recess"),
    ("mortise", "recess"),
    ("mortice", "recess"),
    ("bushing", "bush"),
    ("collar", "bush"),
    ("bit", "cutter"),
];

/// Most suggestions of an answer.
const OFFERED: usize = 3;

/// A command or an option to offer.
struct Offer<'a> {
    /// As it is typed: `--show in`, `letin outlines`.
    typed: String,
    /// The option; none for a command.
    arg: Option<&'a Arg>,
    /// The command of the option, if it differs from the typed one.
    of: Option<&'a str>,
}

/// What an unknown word means: a message and what to do.
#[derive(Debug, PartialEq, Eq)]
pub(super) struct Meant {
    pub message: String,
    pub help: String,
}

/// The option of `command` that `typed` means, dashes included.
pub(super) fn option(commands: &Command, command: &str, typed: &str) -> Meant {
    let (offers, remark) = offers(commands, &[command], typed);
    let name = safe(typed);
    let message = match offers.first().and_then(|o| o.of) {
        _ if offers.is_empty() => format!("There is no option {name}."),
        Some(of) if offers[0].typed == name => {
            format!("{name} is an option of `letin {of}`, not of `letin {command}`.")
        }
        Some(of) => format!("There is no option {name}. `letin {of}` has `{}`.", offers[0].typed),
        None => format!("There is no option {name}. Did you mean {}?", or(offers.iter().map(|o| o.typed.clone()))),
    };
    let mut lines: Vec<String> = offers.iter().filter_map(|o| about(commands, o)).collect();
    lines.extend((!remark.is_empty()).then(|| remark.to_owned()));
    if lines.is_empty() {
        lines.push(format!("`letin {command} --help` lists its options."));
    }
    Meant { message, help: lines.join("\n") }
}

/// The setting of a job file that `typed` means.
pub(super) fn setting(commands: &Command, typed: &str) -> Meant {
    let (offers, remark) = offers(commands, &["make", "check"], typed);
    let name = safe(typed);
    let written = |o: &Offer| match o.typed.strip_prefix("--").map(|t| t.split_once(' ').unwrap_or((t, ""))) {
        Some((setting, "")) => setting.to_owned(),
        Some((setting, value)) => format!("{setting} = \"{value}\""),
        None => o.typed.clone(),
    };
    let message = if offers.is_empty() {
        format!("There is no setting {name}.")
    } else {
        format!("There is no setting {name}. Did you mean {}?", or(offers.iter().map(written)))
    };
    let mut lines: Vec<String> = offers.iter().filter_map(|o| about(commands, o)).collect();
    lines.extend((!remark.is_empty()).then(|| remark.to_owned()));
    if lines.is_empty() {
        lines.push("`letin make --help` lists the options; a setting is an option without its dashes.".to_owned());
    }
    Meant { message, help: lines.join("\n") }
}

/// The command that `typed` means.
pub(super) fn command(commands: &Command, typed: &str) -> Option<String> {
    let word = british(typed);
    let by_meaning = COMMANDS.iter().find(|(typed, _)| typed.split(' ').any(|t| t == word));
    let names = || commands.get_subcommands().map(Command::get_name);
    names()
        .find(|n| *n == word)
        .or(by_meaning.map(|(_, means)| *means))
        .or_else(|| alike(&word, names()).first().copied())
        .map(str::to_owned)
}

/// The options and commands that `typed` may mean, by meaning before spelling, and a remark.
fn offers<'a>(commands: &'a Command, own: &[&str], typed: &str) -> (Vec<Offer<'a>>, &'static str) {
    let word = british(typed.trim_start_matches(['-', '–', '—']));
    let is_own = |c: &&Command| own.contains(&c.get_name());
    let here = || commands.get_subcommands().filter(is_own);
    let there = || commands.get_subcommands().filter(|c| !is_own(c));
    let in_own = |option: &str| here().find_map(|c| find(c, option));
    let offer = |typed: String, arg: &'a Arg| Offer { typed, arg: Some(arg), of: None };
    let exact = |word: &str| in_own(word).map(|arg| vec![offer(dashed(arg), arg)]);
    if let Some(found) = exact(&word) {
        return (found, "");
    }
    if let Some((_, means, remark)) = OPTIONS.iter().find(|(typed, ..)| typed.split(' ').any(|t| t == word)) {
        let offers = by_meaning(means, in_own, there);
        if !offers.is_empty() {
            return (offers, remark);
        }
    }
    let renamed = PARTS.iter().fold(word.clone(), |w, (from, to)| {
        w.split('-').map(|part| if part == *from { *to } else { part }).collect::<Vec<_>>().join("-")
    });
    if let Some(found) = exact(&renamed) {
        return (found, "");
    }
    if let Some((c, arg)) = there().find_map(|c| Some((c, find(c, &renamed)?))) {
        return (vec![Offer { typed: dashed(arg), arg: Some(arg), of: Some(c.get_name()) }], "");
    }
    let names: Vec<&str> = here().flat_map(Command::get_arguments).filter_map(Arg::get_long).chain([DRAWING]).collect();
    let mut like = alike(&word, names.into_iter());
    like.dedup();
    let found = like.into_iter().filter_map(|name| {
        let arg = in_own(name)?;
        Some(offer(if name == DRAWING { name.to_owned() } else { dashed(arg) }, arg))
    });
    // A setting of a job file may be the drawing; on the command line it has no name.
    (found.filter(|o| own.len() > 1 || o.typed != DRAWING).collect(), "")
}

/// What a synonym offers: options of the command itself and commands, or else options of other commands.
fn by_meaning<'a, C: Iterator<Item = &'a Command>>(
    means: &str,
    in_own: impl Fn(&str) -> Option<&'a Arg>,
    there: impl Fn() -> C,
) -> Vec<Offer<'a>> {
    let name = |means: &str| means.trim_start_matches('-').split(' ').next().unwrap_or_default().to_owned();
    let is_option = |means: &&str| means.starts_with("--") && *means != "--help";
    let own = means.split(", ").filter_map(|means| {
        let arg = if is_option(&means) { Some(in_own(&name(means))?) } else { None };
        Some(Offer { typed: means.to_owned(), arg, of: None })
    });
    let own: Vec<Offer> = own.take(OFFERED).collect();
    if !own.is_empty() {
        return own;
    }
    let others = means.split(", ").filter(is_option).filter_map(|means| {
        let (c, arg) = there().find_map(|c| Some((c, find(c, &name(means))?)))?;
        Some(Offer { typed: means.to_owned(), arg: Some(arg), of: Some(c.get_name()) })
    });
    others.take(1).collect()
}

/// The argument of `command` with this long name or alias; also the drawing, by its key in a job file.
pub(super) fn find<'a>(command: &'a Command, option: &str) -> Option<&'a Arg> {
    let named = |a: &&Arg| {
        a.get_long() == Some(option)
            || a.get_all_aliases().is_some_and(|all| all.contains(&option))
            || (option == DRAWING && a.get_id() == DRAWING)
    };
    command.get_arguments().find(named)
}

fn dashed(arg: &Arg) -> String {
    format!("--{}", arg.get_long().unwrap_or(DRAWING))
}

/// An option or a command with its help, on one line.
fn about(commands: &Command, offer: &Offer) -> Option<String> {
    let Some(arg) = offer.arg else {
        let name = offer.typed.strip_prefix("letin ")?.split(' ').next()?;
        return Some(format!("letin {name}: {}", commands.find_subcommand(name)?.get_about()?));
    };
    let long = arg.get_long()?;
    let takes_value = arg.get_action().takes_values();
    let value = arg.get_value_names().and_then(|n| n.first()).filter(|_| takes_value);
    let value = value.map(|v| format!(" {v}")).unwrap_or_default();
    Some(format!("--{long}{value}: {}", arg.get_help()?))
}

/// `a`, `b` or `c`, each in backticks.
fn or(all: impl Iterator<Item = String>) -> String {
    let all: Vec<String> = all.map(|a| format!("`{a}`")).collect();
    match all.split_last() {
        None => String::new(),
        Some((last, [])) => last.clone(),
        Some((last, first)) => format!("{} or {last}", first.join(", ")),
    }
}

#[cfg(test)]
mod tests {
    use super::super::args::Cli;
    use super::*;
    use clap::CommandFactory;

    /// Every synonym names options and commands that exist, and none is an option itself.
    #[test]
    fn the_tables_hold() {
        let commands = Cli::command();
        for (typed, means, _) in OPTIONS {
            for means in means.split(", ") {
                let name = means.trim_start_matches("--").split(' ').next().unwrap();
                let known = means == "--help" || commands.get_subcommands().any(|c| find(c, name).is_some());
                let command = means.strip_prefix("letin ").and_then(|c| c.split(' ').next());
                let known = known || command.is_some_and(|c| commands.find_subcommand(c).is_some());
                assert!(known, "{means}");
            }
            for typed in typed.split(' ') {
                assert_eq!(typed, british(typed), "as it is compared");
                let make = commands.find_subcommand("make").unwrap();
                assert!(find(make, typed).is_none(), "{typed} is an option");
            }
        }
        for (_, command) in COMMANDS {
            assert!(commands.find_subcommand(command).is_some(), "{command}");
        }
        let mut all: Vec<&str> = OPTIONS.iter().flat_map(|(typed, ..)| typed.split(' ')).collect();
        let count = all.len();
        all.sort_unstable();
        all.dedup();
        assert_eq!(all.len(), count, "a word has one meaning");
    }

    #[test]
    fn meaning_comes_before_spelling() {
        let commands = Cli::command();
        let of = |command: &str, typed: &str| option(&commands, command, typed);
        for (command, typed, says) in [
            ("make", "--depth", "There is no option --depth. Did you mean `--recess-depth`?"),
            ("make", "--thickness", "Did you mean `--template-thickness`, `--board` or `--stock`?"),
            ("make", "--tolerance", "Did you mean `--within` or `--gap`?"),
            ("make", "--inches", "Did you mean `--show in` or `--unit in`?"),
            ("make", "--list", "Did you mean `letin outlines`?"),
            ("make", "--insert-bush", "Did you mean `--inlay-bush`?"),
            ("make", "--pocket_depth", "Did you mean `--recess-depth`?"),
            ("make", "--Bush", "Did you mean `--bush`?"),
            ("make", "--layer", "Did you mean `--only`?"),
            ("make", "-o", "Did you mean `--out`?"),
            ("make", "--moisure-change", "Did you mean `--moisture-change`?"),
            ("shape", "--radius", "Did you mean `--corner`?"),
            ("check", "--out", "--out is an option of `letin make`, not of `letin check`."),
            ("check", "--output", "There is no option --output. `letin make` has `--out`."),
            ("outlines", "--bush", "--bush is an option of `letin make`"),
        ] {
            let said = of(command, typed).message;
            assert!(said.contains(says), "{command} {typed}: {said}");
        }
        let said = of("make", "--offset").help;
        assert!(said.contains("works out the offsets"), "{said}");
        let said = of("make", "--xyzzy");
        assert_eq!(said.message, "There is no option --xyzzy.");
        assert!(said.help.contains("letin make --help"), "{said:?}");
        let said = of("make", "--depth").help;
        assert_eq!(said, "--recess-depth LENGTH: Depth of the recess, or of the rebate for a shoulder (US: rabbet)");
    }

    #[test]
    fn settings_have_no_dashes() {
        let commands = Cli::command();
        let said = |typed: &str| setting(&commands, typed).message;
        assert_eq!(said("bosh"), "There is no setting bosh. Did you mean `bush` or `inlay-bush`?");
        assert_eq!(said("inches"), "There is no setting inches. Did you mean `show = \"in\"` or `unit = \"in\"`?");
        assert_eq!(said("drawin"), "There is no setting drawin. Did you mean `drawing`?");
        assert_eq!(said("tools"), "There is no setting tools. Did you mean `kit`?");
    }

    #[test]
    fn commands_by_meaning_and_by_spelling() {
        let commands = Cli::command();
        for (typed, means) in [
            ("mak", Some("make")),
            ("chek", Some("check")),
            ("List", Some("outlines")),
            ("bowtie", Some("keys")),
            ("test_piece", Some("testpiece")),
            ("xyzzy", None),
        ] {
            assert_eq!(command(&commands, typed).as_deref(), means, "{typed}");
        }
    }
}
