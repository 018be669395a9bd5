//! Devices and the real service under a few seeded schedules of work and faults. `simulate` runs as many as one likes.

use sheaf_tests::simulation::{Tally, run};

#[test]
fn nothing_acknowledged_is_lost_and_all_digests_agree_whatever_goes_wrong() {
    let mut tally = Tally::default();
    for seed in 1..=30 {
        tally.join(&run(seed).unwrap_or_else(|why| panic!("{why}")));
    }
    // A schedule in which nothing goes wrong proves nothing.
    for fault in [
        "answers cut at a byte",
        "bundles cut short",
        "clocks set wrong",
        "devices killed",
        "devices restored from a copy",
        "devices without power while writing",
        "equal stamps of two devices",
        "messages doubled",
        "messages dropped",
        "messages that overtook others",
        "new identities after a fork",
        "requests cut at a byte",
        "service crashes, index gone",
        "service crashes, index half opened",
        "service crashes, index torn",
        "service restored from a copy",
        "service without power in a commit",
    ] {
        assert!(tally.of(fault) > 0, "no {fault}: {tally:?}");
    }
}

#[test]
fn a_schedule_follows_from_its_seed_alone() {
    assert_eq!(run(7), run(7));
}
