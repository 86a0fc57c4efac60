//! The help of every command: its width, the length of its sentences, and its words.

use super::Cli;
use crate::kit::wood;
use clap::{Arg, Command, CommandFactory};

/// Longest line of help, characters.
const WIDEST: usize = 100;
/// Columns before an option's help, and before a command's.
const OPTION: usize = 10;
const COMMAND: usize = 13;
/// Longest sentence, words.
const LONGEST: usize = 25;

/// Words that the vocabulary replaces by others.
const AVOIDED: [&str; 12] = [
    "insert", "jutting", "timber", "pocket", "mortise", "collar", "sleeve", "told", "wanted", "a side", "on paper",
    "verdict",
];

/// The program and its commands.
fn commands() -> Vec<Command> {
    let mut root = Cli::command();
    root.build();
    let subcommands: Vec<Command> = root.get_subcommands().filter(|c| c.get_name() != "help").cloned().collect();
    [root].into_iter().chain(subcommands).collect()
}

/// Every text of a command: what it does, its options, their values, and the text after them.
fn texts(command: &Command) -> Vec<String> {
    let of_command = command.get_about().into_iter().chain(command.get_after_help()).map(ToString::to_string);
    let of_args = command.get_arguments().flat_map(|a| {
        let values = a.get_possible_values().into_iter().filter_map(|v| v.get_help().map(ToString::to_string));
        a.get_help().map(ToString::to_string).into_iter().chain(values).collect::<Vec<_>>()
    });
    of_command.chain(of_args).collect()
}

#[test]
fn help_fits_the_terminal_and_uses_plain_words() {
    let mut seen = 0;
    for mut command in commands() {
        let name = command.get_name().to_owned();
        for help in [command.render_long_help(), command.render_help()].map(|h| h.to_string()) {
            for line in help.lines() {
                assert!(line.chars().count() <= WIDEST, "{name}: {line}");
            }
            for word in AVOIDED {
                assert!(!help.to_lowercase().contains(word), "{name}: {word} in {help}");
            }
        }
        for text in texts(&command) {
            for sentence in text.split(['\n']).flat_map(|line| line.split(". ")) {
                assert!(sentence.split_whitespace().count() <= LONGEST, "{name}: {sentence}");
            }
            seen += 1;
        }
    }
    assert!(seen > 100, "{seen}");
}

#[test]
fn every_help_is_one_line() {
    for command in commands() {
        let about = command.get_about().map(ToString::to_string).unwrap_or_default();
        let column = if command.get_name() == "letin" { 0 } else { COMMAND };
        assert!(!about.is_empty() && column + about.chars().count() <= WIDEST, "{about}");
        let own = |a: &&Arg| !["help", "version"].contains(&a.get_id().as_str());
        for arg in command.get_arguments().filter(own) {
            let help = arg.get_help().map(ToString::to_string).unwrap_or_default();
            let fits = !help.is_empty() && OPTION + help.chars().count() <= WIDEST && !help.contains('\n');
            assert!(fits, "{} {}: {help}", command.get_name(), arg.get_id());
            assert!(!help.ends_with('.') && help.starts_with(char::is_uppercase), "{help}");
        }
    }
}

#[test]
fn headings_are_those_of_the_guide() {
    let headings = ["Tools", "Wood", "Corners", "Template and panel", "Reading the drawing", "Files", "Report"];
    let of = |name: &str| {
        let all = commands().into_iter().find(|c| c.get_name() == name).unwrap();
        let mut seen: Vec<String> = Vec::new();
        for heading in all.get_arguments().filter_map(Arg::get_help_heading) {
            if seen.last().map(String::as_str) != Some(heading) {
                seen.push(heading.to_owned());
            }
        }
        seen
    };
    assert_eq!(of("make"), headings);
}

#[test]
fn the_species_of_the_table_are_listed() {
    let make = commands().into_iter().find(|c| c.get_name() == "make").unwrap();
    let help = make.get_arguments().find(|a| a.get_id() == "species").unwrap().get_help().unwrap().to_string();
    for species in wood::all() {
        assert!(help.contains(&species.name), "{help}");
    }
}
