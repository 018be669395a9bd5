//! Power loss by replay, of the service and of the command line's replica:
//! `cargo build --bins -p sheaf-cli -p sheaf-server && cargo run -p sheaf-tests --bin power_loss -- [--points N] [--seed S]`.
//! Needs strace. After a failure the recordings are kept; `--recording FOLDER` cuts their power again. `--sheafd FILE` and `--sheaf FILE` name the programs when they do not lie beside this one. The exit
//! status is 1 when something acknowledged is lost.

use sheaf_tests::power_loss::{Asked, can_record, run, serve};
use std::{path::Path, process::ExitCode};

const USAGE: &str =
    "usage: power_loss [--points N] [--seed S] [--sheafd FILE] [--sheaf FILE] [--recording FOLDER]";

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let done = match words.first().map(String::as_str) {
        // As the program that is recorded, with the flags of `sheafd serve`.
        Some("serve") => match (value(&words, "--data"), value(&words, "--port-file")) {
            (Some(data), Some(port)) => serve(Path::new(data), Path::new(port)),
            _ => Err("`serve` needs --data and --port-file".into()),
        },
        _ => asked(&words).and_then(|asked| show(&asked)),
    };
    match done {
        Ok(()) => ExitCode::SUCCESS,
        Err(why) => {
            eprintln!("power_loss: {why}");
            ExitCode::FAILURE
        }
    }
}

fn show(asked: &Asked) -> Result<(), String> {
    if !can_record() {
        return Err("strace is missing: install it, for example `sudo apt-get install strace`".into());
    }
    let tally = run(asked)?;
    println!("{} power cuts of each program, seeds from {}", asked.points, asked.seed);
    for (what, count) in &tally.0 {
        println!("{what:48}{count:>10}");
    }
    println!("nothing acknowledged was lost");
    Ok(())
}

fn value<'a>(words: &'a [String], flag: &str) -> Option<&'a str> {
    words.iter().position(|word| word == flag).and_then(|at| words.get(at + 1)).map(String::as_str)
}

fn asked(words: &[String]) -> Result<Asked, String> {
    let known = ["--points", "--seed", "--sheafd", "--sheaf", "--recording"];
    if let Some(odd) = words.iter().step_by(2).find(|word| !known.contains(&word.as_str())) {
        return Err(format!("`{odd}` is unknown\n{USAGE}"));
    }
    let number = |flag, usual| match value(words, flag) {
        None => Ok(usual),
        Some(text) => {
            text.parse().map_err(|_| format!("{flag} needs a whole number, and not `{text}`\n{USAGE}"))
        }
    };
    let own = std::env::current_exe().map_err(|e| e.to_string())?;
    let program = |flag, name| value(words, flag).map_or_else(|| own.with_file_name(name), Into::into);
    Ok(Asked {
        points: number("--points", 500)?,
        seed: number("--seed", 1)?,
        sheafd: program("--sheafd", "sheafd"),
        sheaf: program("--sheaf", "sheaf"),
        recording: value(words, "--recording").map(Into::into),
        own: own.clone(),
    })
}
