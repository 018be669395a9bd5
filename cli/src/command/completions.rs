//! `sheaf completions`: the script that completes commands in a shell.

use crate::{
    CliError, Env,
    args::{Completions, definition},
};

/// Prints the script.
pub fn run(args: &Completions, env: &mut Env<'_>) -> Result<(), CliError> {
    let mut script = Vec::new();
    clap_complete::generate(args.shell, &mut definition(), "sheaf", &mut script);
    Ok(env.out.write_all(&script)?)
}
