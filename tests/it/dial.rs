//! How groups answer to a setting: from the command line, and what the answers promise over simulated seasons.

use crate::harness::alone::begun;
use serde_json::Value;
use sheaf_model::rng::{Rng, Seed};
use sheaf_tests::dial_season::{Tally, kinds, simulate};

type Sheaf<'a> = &'a dyn Fn(&[&str]) -> (u8, String, String);

/// Shoots two ends of five arrows at each of some values of the plunger, every day, 21 mm further left a turn;
/// the brace height is what `brace` says.
fn shoot(sheaf: Sheaf<'_>, values: &[f64], days: usize, brace: fn(f64) -> f64) {
    let mut rng = Rng::new(Seed(3));
    for day in 0..days {
        for (i, value) in values.iter().enumerate() {
            let at = |minute: usize| format!("2026-04-{:02}T{:02}:{minute:02}:00Z", day + 1, 9 + i);
            let (turns, height) = (format!("plunger={value}"), format!("brace_height={}", brace(*value)));
            assert_eq!(sheaf(&["change", "elm", &turns, &height, "--at", &at(0)]).0, 0);
            for minute in [10, 20] {
                let scatter = 8.0 + 30.0 * (value - 2.5) * (value - 2.5);
                let arrows: Vec<String> = (0..5)
                    .map(|_| {
                        let (x, y) = (scatter * rng.normal() - 21.0 * value, scatter * rng.normal());
                        format!("{x:.1},{y:.1}")
                    })
                    .collect();
                let when = at(minute);
                let mut words = vec!["shoot", "elm", "30m", "--face", "wa_80", "--at", &when, "--"];
                words.extend(arrows.iter().map(String::as_str));
                let (code, _, err) = sheaf(&words);
                assert_eq!(code, 0, "{err}");
            }
        }
    }
}

/// Returns a text with its line breaks taken out.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn an_archer_is_told_the_shift_per_turn_and_where_the_spread_is_smallest() {
    let (_folder, sheaf) = begun();
    shoot(&sheaf, &[2.0, 2.5, 3.0, 3.5], 4, |_| 215.0);
    let (code, out, err) = sheaf(&["dial", "elm", "plunger"]);
    assert_eq!(code, 0, "{err}");
    let told = flat(&out);
    for says in
        ["Per turn of the plunger the groups move", "left (95 %:", "at 30 m; spread is smallest at 2."]
    {
        assert!(told.contains(says), "`{says}` is missing:\n{out}");
    }
    assert!(told.contains("plunger turns ends arrows right mm high mm SD mm 2 8 40 "), "{out}");
    assert_eq!(marks(&out), 12, "four marks in each of three pictures:\n{out}");
    assert!(out.lines().all(|l| l.chars().count() <= 80), "{out}");
    let json: Value =
        serde_json::from_str(&sheaf(&["dial", "elm", "plunger_turns", "--json"]).1).expect("JSON");
    let figures = &json["archers"][0]["figures"];
    let slope = figures["shift_mrad_per_unit"][0].as_f64().expect("a slope");
    assert!((30.0 * slope + 21.0).abs() < 8.0, "{slope}");
    assert_eq!(figures["spread"]["best"], "shown");
    assert_eq!(figures["values"].as_array().map(Vec::len), Some(4));
}

/// Counts the marks of means: the letter o where no other letter of its line is a word's.
fn marks(out: &str) -> usize {
    let drawn = |line: &&str| line.chars().all(|c| c == 'o' || !c.is_alphabetic());
    out.lines().filter(drawn).map(|line| line.matches('o').count()).sum()
}

#[test]
fn settings_turned_together_are_told_with_what_to_shoot() {
    let (_folder, sheaf) = begun();
    shoot(&sheaf, &[2.0, 2.5, 3.0], 2, |turns| 200.0 + 8.0 * turns);
    let told = flat(&sheaf(&["dial", "elm", "plunger"]).1);
    for says in [
        "What the plunger does to the place of the groups cannot be told apart from the brace height",
        "shoot the plunger at 2 turns with the brace height left at 224 mm",
    ] {
        assert!(told.contains(says), "`{says}` is missing: {told}");
    }
}

#[test]
fn what_cannot_be_asked_is_said() {
    let (_folder, sheaf) = begun();
    assert!(flat(&sheaf(&["dial", "elm", "plunger"]).1).contains("No groups with elm yet"));
    shoot(&sheaf, &[2.0, 2.5], 1, |_| 215.0);
    assert!(flat(&sheaf(&["dial", "elm", "plunger"]).1).contains("shot at 2 and 2.5 only"));
    assert!(flat(&sheaf(&["dial", "elm", "tiller"]).1).contains("note the setting, then shoot"));
    let (code, _, err) = sheaf(&["dial", "elm", "limbs"]);
    assert!(code == 1 && err.contains("not a number"), "{err}");
    let (code, _, err) = sheaf(&["dial", "elm", "plungr_turns"]);
    assert!(code == 1 && err.contains("plunger_turns"), "{err}");
}

fn tally(name: &str, seasons: usize) -> Tally {
    let all = kinds();
    let kind = all.iter().find(|k| k.name == name).expect("the kind is listed");
    let tally = simulate(kind, seasons, 11);
    assert_eq!(tally.unanswered, 0, "{name}");
    tally
}

/// With a true rate of 5 % no more than 20 of 200 seasons go wrong in 998 of 1,000 runs (binomial distribution);
/// a value of smallest spread is falsely shown in half as many at most.
#[test]
fn where_nothing_is_to_be_found_little_is_claimed() {
    for name in ["nothing, 12 sessions", "nothing, 3 values, ends of 3", "nothing, much else going on"] {
        let t = tally(name, 200);
        assert!(t.moved <= 20 && t.bent <= 20 && t.shown <= 13, "{name}: {t:?}");
        let cover = t.covered as f64 / t.intervals as f64;
        assert!((0.91..=0.985).contains(&cover), "{name}: the intervals cover {cover}");
    }
    let t = tally("spread grows, no best value", 200);
    assert!(t.shown <= 13, "a spread that only grows is said to be smallest somewhere: {t:?}");
}

#[test]
fn a_best_value_is_found_and_its_interval_holds_it() {
    for name in ["a line and a best value", "the same, much else going on"] {
        let t = tally(name, 200);
        assert!(t.shown >= 180 && t.moved >= 190, "{name}: {t:?}");
        let cover = t.best_covered as f64 / t.shown as f64;
        assert!((0.90..=0.99).contains(&cover), "{name}: Fieller's intervals cover {cover}");
        let cover = t.covered as f64 / t.intervals as f64;
        assert!((0.91..=0.985).contains(&cover), "{name}: the intervals cover {cover}");
    }
}
