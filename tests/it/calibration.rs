//! The promises of the verdicts on a few hundred simulated seasons with a fixed seed. `calibrate` does the same on
//! as many as one likes.

use sheaf_tests::{
    scenarios::{broad, scenarios},
    season::{Tally, Truth, simulate},
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
    assert!(
        t.place.wrong_seasons <= 14,
        "{name}: moved in {} of 120 seasons without any effect",
        t.place.wrong_seasons
    );
    assert!(
        t.spread.wrong_seasons <= 14,
        "{name}: spread changed in {} of 120 seasons without any effect",
        t.spread.wrong_seasons
    );
    let cover = t.place.covered as f64 / t.place.intervals as f64;
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
        assert!(t.place.wrong_seasons <= 14 && t.spread.wrong_seasons <= 14, "{name}: {t:?}");
    }
}

#[test]
fn true_effects_are_found() {
    let (shifts, found) = tally("power: shift of 0.7 mrad", 60).place.found();
    assert!(found * 5 > shifts, "a shift of 0.7 mrad is found in {found} of {shifts}");
    let (changes, found) = tally("power: SD ratio 0.8", 60).spread.found();
    assert!(found * 5 > changes * 2, "a spread smaller by a fifth is found in {found} of {changes}");
}

/// Who knows the variances finds a change more often, and no word is said against a change that matters in more than
/// a few of the hundred verdicts (5 % is promised; 12 of 120 are passed in 1 of 100 runs, by the binomial distribution).
#[test]
fn what_matters_is_rarely_said_not_to_be() {
    let kinds = broad();
    let kind = kinds.iter().find(|k| k.name == "2 sessions between changes").expect("the kind is listed");
    let tally = simulate(kind, 60, 11);
    for subject in [tally.place, tally.spread] {
        let much = subject.of(Truth::Much);
        assert!(much.verdicts >= 60 && much.asked == much.verdicts, "{much:?}");
        assert!(much.held * 10 <= much.verdicts && much.wrongly * 10 <= much.verdicts, "{much:?}");
        assert!(much.changed > 0 && much.changed <= much.oracle, "{much:?}");
    }
}
