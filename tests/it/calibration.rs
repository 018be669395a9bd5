//! The promises of the verdicts on a few hundred simulated seasons with a fixed seed. `calibrate` does the same on
//! as many as one likes.

use sheaf_tests::{
    scenarios::scenarios,
    season::{Tally, simulate},
};

fn tally(name: &str, seasons: usize) -> Tally {
    let all = scenarios();
    let scenario = all.iter().find(|s| s.name == name).expect("the scenario is listed");
    simulate(scenario, seasons, 11)
}

/// With a true rate of 6 % no more than 14 of 120 seasons go wrong in 995 of 1,000 runs (binomial distribution).
#[track_caller]
fn check_no_effect(name: &str) {
    let t = tally(name, 120);
    assert_eq!((t.seasons, t.unanswered), (120, 0));
    assert!(t.false_moved <= 14, "{name}: moved in {} of 120 seasons without any effect", t.false_moved);
    assert!(
        t.false_spread <= 14,
        "{name}: spread changed in {} of 120 seasons without any effect",
        t.false_spread
    );
    let cover = t.covered as f64 / t.intervals as f64;
    assert!((0.91..=0.985).contains(&cover), "{name}: the intervals cover {cover}");
}

#[test]
fn seasons_without_effect_are_rarely_said_to_have_one() {
    check_no_effect("12 sessions, 4 changes inside");
    check_no_effect("axes correlated, between");
    check_no_effect("sessions' spread 0.2, between");
}

#[test]
fn few_sessions_with_changes_between_them_are_not_believed_too_easily() {
    for name in ["4 sessions, 2 changes between", "8 sessions, 3 changes between"] {
        let t = tally(name, 120);
        assert!(t.false_moved <= 14 && t.false_spread <= 14, "{name}: {t:?}");
    }
}

#[test]
fn true_effects_are_found() {
    let t = tally("power: shift of 0.7 mrad", 60);
    assert!(
        t.found_moved * 5 > t.shifts,
        "a shift of 0.7 mrad is found in {} of {}",
        t.found_moved,
        t.shifts
    );
    let t = tally("power: SD ratio 0.8", 60);
    assert!(
        t.found_spread * 5 > t.ratios * 2,
        "a spread smaller by a fifth is found in {} of {}",
        t.found_spread,
        t.ratios
    );
}
