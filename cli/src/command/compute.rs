//! `sheaf compute`: one question to the model, JSON in and JSON out.

use crate::{CliError, Env, args::Compute};
use serde_json::json;
use sheaf_model::door;
use std::{fs, io::Read};

/// The most bytes of an input.
const MOST: u64 = 64 * 1024 * 1024;

/// Answers the question; on an error nothing goes to standard output.
pub fn run(args: &Compute, env: &mut Env<'_>) -> Result<(), CliError> {
    let Some(name) = &args.method else { return overview(args.list, env) };
    let method = door::method(name).map_err(wrong)?;
    if args.help {
        writeln!(env.out, "{}: {}\n\n{}", method.name, method.summary, method.help.trim_end())?;
        return Ok(());
    }
    let input = match &args.input {
        Some(file) => fs::read_to_string(file).map_err(|e| CliError::file("read", file, &e))?,
        None => {
            let mut text = String::new();
            let read = env.input.take(MOST).read_to_string(&mut text);
            read.map_err(|e| CliError::input(format!("the input cannot be read: {e}")))?;
            text
        }
    };
    let answer = door::compute_json(name, &input).map_err(wrong)?;
    writeln!(env.out, "{answer}")?;
    Ok(())
}

fn overview(list: bool, env: &mut Env<'_>) -> Result<(), CliError> {
    if env.json {
        let methods: Vec<_> =
            door::METHODS.iter().map(|m| json!({"method": m.name, "summary": m.summary})).collect();
        return env.print_json(&methods);
    }
    if !list {
        writeln!(env.out, "Usage: sheaf compute METHOD < in.json > out.json\n")?;
    }
    for method in door::METHODS {
        writeln!(env.out, "{:20}{}", method.name, method.summary)?;
    }
    if !list {
        writeln!(env.out, "\n`sheaf compute METHOD --help` shows input, output, units and source.")?;
    }
    Ok(())
}

fn wrong(e: sheaf_model::ModelError) -> CliError {
    match &e.field {
        Some(field) if !e.message.contains(field.as_str()) => {
            CliError::input(format!("{field}: {}", e.message))
        }
        _ => CliError::input(e.message),
    }
}
