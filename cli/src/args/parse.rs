//! From words to a command, or to the text that says what is wrong with them.

use super::Args;
use clap::{CommandFactory, FromArgMatches};
use std::ffi::OsString;

/// What the words amount to.
pub enum Parsed {
    /// A command to carry out.
    Command(Box<Args>),
    /// A question for help or the version, with its answer.
    Answer(String),
    /// No command: what is wrong, in words.
    Wrong(String),
}

/// Reads a command line for a screen of some columns.
pub fn parse(
    words: impl IntoIterator<Item = impl Into<OsString> + Clone>,
    width: usize,
    colour: bool,
) -> Parsed {
    let words = words.into_iter().map(|word| shield(word.into()));
    let found = definition().term_width(width.min(100)).try_get_matches_from(words);
    match found.and_then(|mut found| Args::from_arg_matches_mut(&mut found)) {
        Ok(args) => Parsed::Command(Box::new(args)),
        Err(e) => {
            let text = if colour { e.render().ansi().to_string() } else { e.render().to_string() };
            if e.use_stderr() { Parsed::Wrong(advised(&text)) } else { Parsed::Answer(text) }
        }
    }
}

/// A point left of the centre, or a length below zero, begins with a minus, which is no option: it is passed on as a
/// minus sign (U+2212), which the notation reads as well.
fn shield(word: OsString) -> OsString {
    match word.to_str().and_then(|text| text.strip_prefix('-')) {
        Some(rest) if rest.starts_with(|c: char| c.is_ascii_digit() || c == '.') && is_measured(rest) => {
            format!("\u{2212}{rest}").into()
        }
        _ => word,
    }
}

/// Whether a word that begins with a digit is a point, a part of a round or a number with a unit of length.
fn is_measured(word: &str) -> bool {
    let unit = word.trim_start_matches(|c: char| c.is_ascii_digit() || c == '.');
    word.contains([',', ';', '@']) || ["mm", "cm", "m", "in", "ft", "yd"].contains(&unit)
}

/// Leaves out advice that does not hold: two dashes would make shots of what stands behind them.
fn advised(text: &str) -> String {
    text.lines().filter(|line| !line.contains("as a value, use '")).map(|line| format!("{line}\n")).collect()
}

/// Returns the definition of the command line.
pub fn definition() -> clap::Command {
    Args::command()
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_definition_is_sound_and_every_command_shows_an_example() {
        let definition = definition();
        definition.clone().debug_assert();
        let mut open: Vec<clap::Command> = definition.get_subcommands().cloned().collect();
        while let Some(command) = open.pop() {
            let help = command.clone().render_long_help().to_string();
            let group = command.has_subcommands();
            assert!(group || help.contains("Example"), "`{}` shows no example", command.get_name());
            open.extend(command.get_subcommands().cloned());
        }
    }
}
