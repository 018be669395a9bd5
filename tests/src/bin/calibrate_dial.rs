//! How often the answers of `dial` are wrong and how often their intervals hold the truth, by simulated seasons:
//! `cargo run -p sheaf-tests --release --bin calibrate_dial -- [SEASONS] [SEED]`.

use sheaf_tests::dial_season::{Kind, Tally, kinds, simulate};
use std::process::ExitCode;

fn main() -> ExitCode {
    let words: Vec<String> = std::env::args().skip(1).collect();
    let number = |i: usize, usual: u64| words.get(i).map_or(Ok(usual), |w| w.parse::<u64>());
    let (Ok(seasons), Ok(seed)) = (number(0, 2000), number(1, 1)) else {
        eprintln!("calibrate_dial: two whole numbers are wanted\nusage: calibrate_dial [SEASONS] [SEED]");
        return ExitCode::from(2);
    };
    println!("{seasons} seasons of each kind, seed {seed}.");
    println!(
        "{:34}{:>12}{:>12}{:>8}{:>8}{:>8}{:>12}",
        "season", "unanswered", "shift cover", "moved", "bent", "best", "best cover"
    );
    for kind in kinds() {
        show(&kind, &simulate(&kind, seasons as usize, seed));
    }
    ExitCode::SUCCESS
}

fn show(kind: &Kind, t: &Tally) {
    let rate = |n: usize, of: usize| {
        if of == 0 { "-".to_owned() } else { format!("{:.1} %", 100.0 * n as f64 / of as f64) }
    };
    println!(
        "{:34}{:>12}{:>12}{:>8}{:>8}{:>8}{:>12}",
        kind.name,
        t.unanswered,
        rate(t.covered, t.intervals),
        rate(t.moved, t.seasons),
        rate(t.bent, t.seasons),
        rate(t.shown, t.seasons),
        rate(t.best_covered, if kind.curvature > 0.0 { t.shown } else { 0 })
    );
}
