//! How often every word of the verdict is right, by simulated seasons with changes of every size:
//! `cargo run -p sheaf-tests --release --bin calibrate_words -- [SEASONS [SEED]] > tests/CALIBRATION.md` writes the page.
//! The exit status is 1 when a promise is broken.

use sheaf_tests::{
    scenarios::{COVERAGE, FALSE_RATE, broad},
    season::{NOTHING, Scenario, Subject, Tally, Truth, simulate_on_all_cores},
};
use std::process::ExitCode;

/// A kind of season, when changes did something and when none did.
struct Kind {
    scenario: Scenario,
    effects: Tally,
    nothing: Tally,
}

fn main() -> ExitCode {
    let mut words = std::env::args().skip(1);
    let mut number = |or: usize| words.next().map_or(Some(or), |word| word.parse().ok());
    let (Some(seasons), Some(seed)) = (number(4000).filter(|n| (1..=10_000_000).contains(n)), number(2026))
    else {
        eprintln!("usage: calibrate_words [SEASONS [SEED]], whole numbers");
        return ExitCode::from(2);
    };
    let kinds: Vec<Kind> = broad()
        .into_iter()
        .map(|scenario| {
            let effects = simulate_on_all_cores(&scenario, seasons, seed as u64);
            let quiet = Scenario { steps: NOTHING, ..scenario.clone() };
            Kind { nothing: simulate_on_all_cores(&quiet, seasons, seed as u64), scenario, effects }
        })
        .collect();
    println!(
        "{}",
        include_str!("calibrate_words/top.md")
            .trim_end()
            .replace("{seasons}", &seasons.to_string())
            .replace("{seed}", &seed.to_string())
    );
    println!("\n## Where the groups lie\n");
    table(&kinds, |t| &t.place, "moved");
    println!("\n## How wide they are\n");
    table(&kinds, |t| &t.spread, "changed");
    let broken: Vec<String> = kinds.iter().flat_map(broken).collect();
    println!("\n## Promises not kept\n");
    if broken.is_empty() {
        println!("None in these seasons.");
    }
    broken.iter().for_each(|line| println!("- {line}"));
    println!("\n{}", include_str!("calibrate_words/end.md").trim_end());
    ExitCode::from(u8::from(!broken.is_empty()))
}

fn percent(part: usize, whole: usize) -> String {
    if whole == 0 { "–".into() } else { format!("{:.1}", 100.0 * part as f64 / whole as f64) }
}

fn table(kinds: &[Kind], subject: impl Fn(&Tally) -> &Subject, word: &str) {
    println!(
        "| season | nothing happened: a change said in a season | held | unsettled or inseparable | less than matters: {word} | held | as much as matters or more: {word} | one who knows the variances | held | wrong way | 95 % interval |"
    );
    println!("| --- |{}", " --- |".repeat(10));
    for kind in kinds {
        let (quiet, found) = (subject(&kind.nothing), subject(&kind.effects));
        let (nothing, little, much) =
            (quiet.of(Truth::Nothing), found.of(Truth::Little), found.of(Truth::Much));
        let open = nothing.unsettled + nothing.inseparable;
        println!(
            "| {} | {} | {} | {} | {} | {} | {} | {} | {} | {} | {} |",
            kind.scenario.name,
            percent(quiet.wrong_seasons, quiet.seasons),
            percent(nothing.held, nothing.verdicts),
            percent(open, nothing.verdicts),
            percent(little.changed, little.verdicts),
            percent(little.held, little.verdicts),
            percent(much.changed, much.verdicts),
            percent(much.oracle, much.asked),
            percent(much.held, much.verdicts),
            percent(little.wrongly + much.wrongly, little.verdicts + much.verdicts),
            percent(found.covered, found.intervals),
        );
    }
}

/// Returns what a kind of season does not keep.
fn broken(kind: &Kind) -> Vec<String> {
    let mut lines = Vec::new();
    for (name, subject) in [("the place", 0), ("the spread", 1)] {
        let of = |t: &Tally| if subject == 0 { t.place } else { t.spread };
        let (quiet, found) = (of(&kind.nothing), of(&kind.effects));
        let much = found.of(Truth::Much);
        let rates = [
            ("a change said though there was none", quiet.wrong_seasons, quiet.seasons),
            ("`held` said of a change that matters", much.held, much.verdicts),
            ("a change said the wrong way", much.wrongly, much.verdicts),
        ];
        for (what, part, whole) in rates {
            if part as f64 > FALSE_RATE * whole as f64 {
                lines.push(format!("{}, {name}: {what} in {} %", kind.scenario.name, percent(part, whole)));
            }
        }
        let least = COVERAGE.0 * found.intervals as f64;
        if kind.scenario.sessions >= 12 && (found.covered as f64) < least {
            let share = percent(found.covered, found.intervals);
            lines.push(format!("{}, {name}: 95 % intervals hold the truth in {share} %", kind.scenario.name));
        }
    }
    let unanswered = kind.effects.unanswered + kind.nothing.unanswered;
    if unanswered > 0 {
        lines.push(format!("{}: {unanswered} seasons got no answer", kind.scenario.name));
    }
    lines
}
