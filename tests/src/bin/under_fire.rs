//! The real programs, killed over and over behind a proxy that does all that a network can do:
//! `cargo build --bins -p sheaf-cli -p sheaf-server && cargo run -p sheaf-tests --bin under_fire -- [--seed S] [--kills N]
//! [--devices K]`. At least N kills of the service and N of devices. `--sheafd FILE` and `--sheaf FILE` name the programs
//! when they do not lie beside this one. The exit status is 1 when something acknowledged is lost or two digests differ;
//! the seed is printed and the folders are kept.

use sheaf_tests::fire::{Asked, run};
use std::{process::ExitCode, time::Instant};

const USAGE: &str = "usage: under_fire [--seed S] [--kills N] [--devices K] [--sheafd FILE] [--sheaf FILE]";

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let began = Instant::now();
    let done = asked(&words).and_then(|asked| Ok((run(&asked)?, asked)));
    match done {
        Ok((tally, asked)) => {
            println!("seed {}, {} devices, {} s", asked.seed, asked.devices, began.elapsed().as_secs());
            for (what, count) in &tally.0 {
                println!("{what:48}{count:>10}");
            }
            println!("{:48}{:>10}", "acknowledged records lost", 0);
            ExitCode::SUCCESS
        }
        Err(why) => {
            eprintln!("under_fire: {why}");
            ExitCode::FAILURE
        }
    }
}

fn value<'a>(words: &'a [String], flag: &str) -> Option<&'a str> {
    words.iter().position(|word| word == flag).and_then(|at| words.get(at + 1)).map(String::as_str)
}

fn asked(words: &[String]) -> Result<Asked, String> {
    let known = ["--seed", "--kills", "--devices", "--sheafd", "--sheaf"];
    if let Some(odd) = words.iter().step_by(2).find(|word| !known.contains(&word.as_str())) {
        return Err(format!("`{odd}` is unknown\n{USAGE}"));
    }
    let number = |flag, usual: u64| match value(words, flag) {
        None => Ok(usual),
        Some(text) => {
            text.parse().map_err(|_| format!("{flag} needs a whole number, and not `{text}`\n{USAGE}"))
        }
    };
    let own = std::env::current_exe().map_err(|e| e.to_string())?;
    let program = |flag, name| value(words, flag).map_or_else(|| own.with_file_name(name), Into::into);
    let devices = number("--devices", 3)? as usize;
    if devices == 0 {
        return Err(format!("--devices needs at least 1\n{USAGE}"));
    }
    Ok(Asked {
        seed: number("--seed", 1)?,
        kills: number("--kills", 100)?,
        devices,
        sheafd: program("--sheafd", "sheafd"),
        sheaf: program("--sheaf", "sheaf"),
    })
}
