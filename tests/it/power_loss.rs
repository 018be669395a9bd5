//! A few power cuts of the real programs, by replay of what strace recorded. `power_loss` makes as many as one likes.

use crate::harness::programs::program;
use sheaf_tests::power_loss::{Asked, can_record, run};

#[test]
fn what_was_acknowledged_survives_a_power_cut_at_any_moment() {
    if !can_record() {
        eprintln!("SKIPPED: power loss by replay needs strace (`sudo apt-get install strace`)");
        return;
    }
    let asked = Asked {
        points: 60,
        seed: 1,
        sheafd: program("sheafd"),
        sheaf: program("sheaf"),
        recording: None,
        own: env!("CARGO_BIN_EXE_power_loss").into(),
    };
    let tally = run(&asked).unwrap_or_else(|why| panic!("{why}"));
    for tried in [
        "replica: ends kept by then",
        "replica: power cut, a segment full",
        "service: entries acknowledged by then",
        "service: power cut, index as it was left",
        "service: power cut, index gone",
        "service: power cut, index half opened",
    ] {
        assert!(tally.of(tried) > 0, "no {tried}: {tally:?}");
    }
}
