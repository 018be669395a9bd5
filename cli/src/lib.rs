//! Sheaf's command line: the range in a terminal, offline by default.

#![warn(missing_docs)]

mod answers;
mod args;
mod assumed;
mod command;
mod env;
mod error;
mod exchange;
mod fields;
mod lookup;
mod mended;
mod notes;
mod picture;
mod planned;
mod remote;
mod render;
mod scoring;
mod setting_pair;
mod store;
mod when;
mod words;
mod world;

pub use env::Env;
pub use error::{CliError, Told};
pub use world::run_in_the_world;

use args::Parsed;
use std::ffi::OsString;

/// Runs a command line in a world, and returns the exit code.
pub fn run(words: impl IntoIterator<Item = impl Into<OsString> + Clone>, env: &mut Env<'_>) -> u8 {
    let done = match args::parse(words, env.width, env.colour) {
        Parsed::Wrong(text) => Err(CliError::Usage(text)),
        Parsed::Answer(text) => env.out.write_all(text.as_bytes()).map_err(CliError::from),
        Parsed::Command(args) => {
            env.json = args.json;
            if let Some(home) = args.home {
                env.home = home;
            }
            command::run(args.command, env)
        }
    };
    match done.and_then(|()| env.out.flush().map_err(CliError::from)) {
        Ok(()) => 0,
        Err(e) => {
            // An error that cannot be told changes nothing about the exit code.
            let _ = tell(&e, env);
            e.exit_code()
        }
    }
}

fn tell(e: &CliError, env: &mut Env<'_>) -> std::io::Result<()> {
    match e {
        CliError::Closed => return Ok(()),
        CliError::Usage(text) => return env.err.write_all(render::fitted(text, env.width).as_bytes()),
        _ => {}
    }
    // Where the output cannot be written, that is what has to be told.
    let _ = env.out.flush();
    writeln!(env.err, "{}", render::fitted(&render::tame(&format!("sheaf: {e}")), env.width))?;
    match e.advice() {
        Some(advice) => {
            writeln!(env.err, "{}", render::fitted(&render::tame(&format!("  {advice}")), env.width))
        }
        None => Ok(()),
    }
}
