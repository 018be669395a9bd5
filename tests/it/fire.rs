//! The real programs under fire for a short while. `under_fire` does it as long as one likes.

use crate::harness::programs::program;
use sheaf_tests::fire::{Asked, NAMES, run};

#[test]
fn what_was_acknowledged_survives_kills_and_a_network_that_does_its_worst() {
    let asked = Asked { seed: 1, kills: 4, devices: 2, sheafd: program("sheafd"), sheaf: program("sheaf") };
    let tally = run(&asked).unwrap_or_else(|why| panic!("{why}"));
    for tried in NAMES.into_iter().chain(["kills: service", "syncs that ended well"]) {
        assert!(tally.of(tried) > 0, "no {tried}: {tally:?}");
    }
}
