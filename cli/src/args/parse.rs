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
            if e.use_stderr() { Parsed::Wrong(text) } else { Parsed::Answer(text) }
        }
    }
}

/// A point left of the centre begins with a minus, which is no option: it is passed on as a minus sign
/// (U+2212), which the notation reads as well.
fn shield(word: OsString) -> OsString {
    match word.to_str().and_then(|text| text.strip_prefix('-')) {
        Some(rest)
            if rest.contains([',', ';']) && rest.starts_with(|c: char| c.is_ascii_digit() || c == '.') =>
        {
            format!("\u{2212}{rest}").into()
        }
        _ => word,
    }
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
