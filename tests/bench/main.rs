//! How long a verdict takes inside the process, and how much memory: `cargo bench -p sheaf-tests`.

use sheaf_model::{
    face::Face,
    rng::{Rng, Seed},
    stats::effects::{EffectsInput, effects},
};
use sheaf_tests::season::{Changes, Drawn, Scenario};
use std::time::Instant;

fn main() {
    println!("{:>8} {:>9} {:>9} {:>12} {:>12}", "ends", "sessions", "changes", "median", "peak memory");
    for (sessions, ends, changes) in
        [(20, 10, 6), (100, 20, 30), (1000, 50, 100), (1250, 10, 300), (2500, 10, 300), (5000, 10, 300)]
    {
        let scenario = Scenario { ends, ..Scenario::usual("bench", sessions, changes, Changes::Inside) };
        let mut input: EffectsInput = Drawn::new(&scenario, &mut Rng::new(Seed(1))).input;
        input.face = Face::by_code("wa_80").ok();
        input.shaft_diameter_mm = 5.5;
        let mut took: Vec<f64> = (0..7)
            .map(|_| {
                let began = Instant::now();
                let found = effects(&input).expect("a season");
                assert_eq!(found.effects.len(), changes);
                began.elapsed().as_secs_f64() * 1e3
            })
            .collect();
        took.sort_by(f64::total_cmp);
        println!(
            "{:>8} {sessions:>9} {changes:>9} {:>9.1} ms {:>12}",
            sessions * ends,
            took[3],
            peak_memory()
        );
    }
}

/// Returns the most memory that this process has held, where the system tells.
fn peak_memory() -> String {
    let status = std::fs::read_to_string("/proc/self/status").unwrap_or_default();
    let line = status.lines().find_map(|l| l.strip_prefix("VmHWM:")).unwrap_or("unknown");
    line.trim().to_owned()
}
