//! How often the verdicts are wrong, how often their intervals hold the truth, and how much they find, by
//! simulated seasons: `cargo run -p sheaf-tests --release --bin calibrate -- [--seasons N] [--seed S] [--only WORD]`.
//! The exit status is 1 when a promise is broken.

use sheaf_tests::{
    scenarios::{COVERAGE, FALSE_RATE, scenarios},
    season::{Scenario, Tally, simulate_on_all_cores},
};
use std::process::ExitCode;

/// The most seasons of a kind.
const MOST_SEASONS: usize = 10_000_000;

struct Asked {
    seasons: usize,
    seed: u64,
    only: Option<String>,
}

fn main() -> ExitCode {
    let asked = match read(std::env::args().skip(1)) {
        Ok(asked) => asked,
        Err(why) => {
            eprintln!("calibrate: {why}\nusage: calibrate [--seasons N] [--seed S] [--only WORD]");
            return ExitCode::from(2);
        }
    };
    println!(
        "{} seasons of each kind, seed {}. Rates with their Monte Carlo error (one SD).",
        asked.seasons, asked.seed
    );
    println!(
        "{:36}{:>14}{:>16}{:>14}{:>12}{:>12}{:>9}{:>9}",
        "season", "moved, wrong", "spread, wrong", "shift cover", "ratio cover", "found moved", "found", ""
    );
    let mut broken = 0;
    for scenario in
        scenarios().iter().filter(|s| asked.only.as_ref().is_none_or(|word| s.name.contains(word.as_str())))
    {
        let tally = simulate_on_all_cores(scenario, asked.seasons, asked.seed);
        broken += usize::from(!show(scenario, &tally));
    }
    println!(
        "{broken} kinds of season break a promise: no season without an answer, wrong at most {FALSE_RATE}, and from 12 \
         sessions on\nintervals cover {} to {}, those of shifts where sessions and ends have an effect of their own (without it they are \
         wider than need be).",
        COVERAGE.0, COVERAGE.1
    );
    ExitCode::from(u8::from(broken > 0))
}

fn seasons(asked: u64) -> Result<usize, String> {
    let number = usize::try_from(asked).ok().filter(|n| (1..=MOST_SEASONS).contains(n));
    number.ok_or(format!("{asked} seasons are out of range; ask for 1 to {MOST_SEASONS}"))
}

fn seed(asked: u64) -> Result<u64, String> {
    let most = u64::MAX / 1000 - 1;
    Some(asked).filter(|s| *s <= most).ok_or(format!("seed {asked} is out of range; the largest is {most}"))
}

fn read(mut words: impl Iterator<Item = String>) -> Result<Asked, String> {
    let mut asked = Asked { seasons: 10_000, seed: 1, only: None };
    while let Some(word) = words.next() {
        let value = words.next().ok_or(format!("{word} needs a value"))?;
        let number = || value.parse::<u64>().map_err(|_| format!("`{value}` is no whole number"));
        match word.as_str() {
            "--seasons" => asked.seasons = seasons(number()?)?,
            "--seed" => asked.seed = seed(number()?)?,
            "--only" if scenarios().iter().any(|s| s.name.contains(&value)) => asked.only = Some(value),
            "--only" => return Err(format!("no kind of season has `{value}` in its name")),
            _ => return Err(format!("`{word}` is no option")),
        }
    }
    Ok(asked)
}

/// Prints a line and returns whether the promises hold.
fn show(scenario: &Scenario, t: &Tally) -> bool {
    let rate = |k: usize, n: usize| if n == 0 { None } else { Some(k as f64 / n as f64) };
    let moved = rate(t.place.wrong_seasons, t.place.seasons);
    let spread = rate(t.spread.wrong_seasons, t.spread.seasons).filter(|_| !scenario.alters_spread());
    let cover = rate(t.place.covered, t.place.intervals);
    let ratio_cover = rate(t.spread.covered, t.spread.intervals);
    let found = |(changes, found)| rate(found, changes).map_or("-".into(), |v| format!("{:.0} %", 100.0 * v));
    let text = |v: Option<f64>, n: usize| {
        v.map_or("-".into(), |v| {
            format!("{:.1} ±{:.1} %", 100.0 * v, 100.0 * (v * (1.0 - v) / n as f64).sqrt())
        })
    };
    let right = |v: Option<f64>| v.is_none_or(|v| v <= FALSE_RATE);
    let enough = |v: Option<f64>| scenario.sessions < 12 || v.is_none_or(|v| v >= COVERAGE.0);
    // Where sessions and ends have no effect of their own the model's caution makes intervals wider than need be.
    let effects = scenario.session_sd > 0.0 && scenario.end_sd > 0.0;
    let not_too_wide = !effects || scenario.sessions < 12 || cover.is_none_or(|v| v <= COVERAGE.1);
    let ratio_not_too_wide = scenario.sessions < 12 || ratio_cover.is_none_or(|v| v <= COVERAGE.1);
    let good = t.unanswered == 0
        && right(moved)
        && right(spread)
        && enough(cover)
        && enough(ratio_cover)
        && not_too_wide
        && ratio_not_too_wide;
    println!(
        "{:36}{:>14}{:>16}{:>14}{:>12}{:>12}{:>9}  {}",
        scenario.name,
        text(moved, t.seasons),
        text(spread, t.seasons),
        cover.map_or("-".into(), |v| format!("{:.1} %", 100.0 * v)),
        ratio_cover.map_or("-".into(), |v| format!("{:.1} %", 100.0 * v)),
        found(t.place.found()),
        found(t.spread.found()),
        if good { "" } else { "BROKEN" }
    );
    good
}
