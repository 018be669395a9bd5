//! Devices and the real service under seeded schedules of work and faults:
//! `cargo run -p sheaf-tests --bin simulate -- [--seed S] [--schedules N]`. Schedule n has seed S + n. The exit status
//! is 1 when something acknowledged is lost or two digests differ; the seed of that schedule is printed.

use sheaf_tests::simulation::{Tally, run};
use std::process::ExitCode;

fn main() -> ExitCode {
    let (seed, schedules) = match read(std::env::args().skip(1)) {
        Ok(asked) => asked,
        Err(why) => {
            eprintln!("simulate: {why}\nusage: simulate [--seed S] [--schedules N]");
            return ExitCode::from(2);
        }
    };
    let (mut tally, mut broken) = (Tally::default(), 0);
    for n in 0..schedules {
        match run(seed.wrapping_add(n)) {
            Ok(one) => tally.join(&one),
            Err(why) => {
                broken += 1;
                eprintln!("{why}");
            }
        }
        if (n + 1) % 100 == 0 {
            eprintln!("{} of {schedules} schedules", n + 1);
        }
    }
    println!("seeds {seed} to {}", seed.wrapping_add(schedules - 1));
    for (what, count) in &tally.0 {
        println!("{what:48}{count:>10}");
    }
    println!("{broken} of {schedules} schedules lost something or ended apart");
    ExitCode::from(u8::from(broken > 0))
}

fn read(mut words: impl Iterator<Item = String>) -> Result<(u64, u64), String> {
    let (mut seed, mut schedules) = (1, 100);
    while let Some(word) = words.next() {
        let place = match word.as_str() {
            "--seed" => &mut seed,
            "--schedules" => &mut schedules,
            other => return Err(format!("`{other}` is unknown")),
        };
        let number = words.next().ok_or(format!("{word} needs a number"))?;
        *place = number.parse().map_err(|_| format!("{word} needs a whole number, and not `{number}`"))?;
    }
    if schedules == 0 {
        return Err("--schedules needs at least 1".into());
    }
    Ok((seed, schedules))
}
