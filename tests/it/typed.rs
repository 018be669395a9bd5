//! What is typed amiss: refused in the words in which it was typed, with what to type instead.

use crate::harness::alone::{begun, run};

/// Shoots an end of four at 30 m.
fn shoot(sheaf: &impl Fn(&[&str]) -> (u8, String, String), more: &[&str]) {
    let words = [&["shoot", "elm", "30m", "9@1", "9@5", "8@9", "10@3", "--face", "wa_80"], more].concat();
    assert_eq!(sheaf(&words).0, 0, "{words:?}");
}

/// Returns a text on one line.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_moment_has_one_rule_for_its_year() {
    let (folder, sheaf) = begun();
    for at in ["0000-01-01 10:00", "1899-12-31T23:59:00Z", "9999-12-31T23:59", "2201-01-01 10:00"] {
        let (code, _, err) = sheaf(&["shoot", "elm", "30m", "9@1", "--face", "wa_80", "--at", at]);
        assert!(code == 1 && flat(&err).contains("is not between 1900 and 2200"), "{at}: {err}");
        let file = folder.path().join("groups.csv");
        std::fs::write(&file, format!("date,bow,x_mm,y_mm\n{at},elm,1,2\n")).expect("a file");
        let path = file.to_str().expect("a path of text");
        let (code, _, err) = sheaf(&["import", path, "--distance", "30m", "--face", "wa_80"]);
        assert!(code == 1 && flat(&err).contains("is not between 1900 and 2200"), "{at}: {err}");
    }
    shoot(&sheaf, &[]);
    let (code, _, err) = sheaf(&["set", "group", "last", "at=2199-01-01 10:00"]);
    assert!(code == 0 && err.contains("yet to come"), "{err}");
}

#[test]
fn two_hours_ahead_are_yet_to_come_and_five_minutes_are_not() {
    let (_folder, sheaf) = begun();
    let now = sheaf(&["start", "x", "--me", "y"]).2;
    assert!(now.contains("already"), "{now}");
    let at = |minutes: i64| {
        let t0 = jiff::Timestamp::from_millisecond(crate::harness::server::T0 as i64).expect("a moment");
        (t0 + jiff::SignedDuration::from_mins(minutes)).to_string()
    };
    for (minutes, ahead) in [(5, false), (120, true)] {
        let (code, _, err) = sheaf(&["shoot", "elm", "30m", "9@1", "--face", "wa_80", "--at", &at(minutes)]);
        assert!(code == 0 && err.contains("yet to come") == ahead, "{minutes}: {err}");
    }
}

#[test]
fn a_plan_is_refused_in_the_words_in_which_it_was_typed() {
    let (_folder, sheaf) = begun();
    for day in ["2025-04-10", "2025-04-11"] {
        for hour in ["10:00", "11:00", "12:00"] {
            shoot(&sheaf, &["--at", &format!("{day} {hour}")]);
        }
    }
    let new = ["plan", "new", "p", "elm", "--a", "plunger=2", "--b", "plunger=2.5", "--shift"];
    for (more, says) in [
        (&["-15mm"] as &[&str], "is no shift to be found"),
        (&["0mm"], "is no shift to be found"),
        (&["15mm", "--alpha", "1e-300"], "--alpha 1e-300 is not between"),
        (&["15mm", "--power", "2"], "--power 2.0 is not between"),
        (&["15mm", "--distance", "9000m"], "400 m"),
        (&["15mm", "--distance", "500m"], "400 m"),
    ] {
        let (code, _, err) = sheaf(&[&new[..], more].concat());
        assert!(code == 1 && flat(&err).contains(says) && !err.contains("mrad"), "{more:?}: {err}");
    }
}

#[test]
fn what_is_given_twice_or_is_none_is_refused() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "arrows", "blue"]).0, 0);
    for (words, says) in [
        (&["expect", "elm", "--round", "wa_18m", "--sessions", "0"] as &[&str], "--sessions 0"),
        (&["set", "bow", "elm", "riser=25in", "riser=27in"], "riser_in is given twice"),
        (&["set", "arrows", "blue", "count=0"], "from 1 to 1000"),
        (&["bare", "elm", "--dial", "nosuch=1,2"], "there is no setting `nosuch`"),
        (&["bare", "elm", "--dial", "plunger=1,2", "--dial", "plunger_turns=1,2"], "given twice"),
        (&["expect", "elm", "--part", "36@401m:wa_40"], "not between 0.5 m and 400 m"),
        (&["set", "group", "last", "points=1,2"], "there is no group"),
    ] {
        let (code, _, err) = sheaf(words);
        assert!(code == 1 && flat(&err).contains(says), "{words:?}: {err}");
    }
    shoot(&sheaf, &[]);
    assert_eq!(sheaf(&["expect", "elm", "--round", "WA_18M"]).0, 0);
    let err = flat(&sheaf(&["set", "group", "last", "points=1,2"]).2);
    assert!(["bow", "archer", "distance_m", "session", "sight"].iter().all(|f| err.contains(f)), "{err}");
}

#[test]
fn a_value_noted_again_is_kept_and_said_to_be_as_before() {
    let (_folder, sheaf) = begun();
    assert!(!sheaf(&["change", "elm", "plunger=2.5"]).1.contains("as before"));
    let (code, out, _) = sheaf(&["change", "elm", "plunger=2.5"]);
    assert!(code == 0 && out.contains("plunger 2.5 turns, as before") && !out.contains("->"), "{out}");
}

#[test]
fn a_sight_mark_that_nobody_used_is_told_with_those_that_somebody_did() {
    let (_folder, sheaf) = begun();
    for distance in ["20m", "30m", "40m"] {
        assert_eq!(
            sheaf(&["shoot", "elm", distance, "9@1", "8@5", "--face", "wa_80", "--sight", "walk"]).0,
            0
        );
    }
    let (code, _, err) = sheaf(&["walkback", "elm", "--sight", "nope"]);
    assert!(code == 1 && err.contains("`nope`") && err.contains("walk"), "{err}");
    assert_eq!(sheaf(&["walkback", "elm", "--sight", "walk"]).0, 0);
}

#[test]
fn a_minus_gets_no_advice_that_does_not_help() {
    let (_folder, sheaf) = begun();
    let shot = ["shoot", "elm", "30m", "9@1", "--face", "wa_80"];
    let (code, _, err) = sheaf(&[&shot[..], &["--end", "-5"]].concat());
    assert_eq!(code, 0, "{err}");
    for (words, says) in [
        ([&shot[..], &["--flyer", "-1"]].concat(), "--flyer"),
        (vec!["shoot", "elm", "-1m", "9@1", "--face", "wa_80"], "above 0"),
        (vec!["expect", "elm", "--part", "-3@30m:wa_80"], "no part of a round"),
        (vec!["shoot", "elm", "--nosuch"], "--nosuch"),
    ] {
        let (code, _, err) = sheaf(&words);
        assert!(code != 0 && flat(&err).contains(says) && !err.contains("use '--"), "{words:?}: {err}");
    }
}

#[test]
fn a_bundle_goes_through_a_pipe() {
    let (folder, sheaf) = begun();
    let home = folder.path().join("home");
    let mut bundle = Vec::new();
    let (code, err) = run(&home, &mut bundle, "", &["bundle", "out", "-"]);
    assert!(code == 0 && err.contains("Digest"), "{err}");
    let file = folder.path().join("team.bundle");
    assert_eq!(sheaf(&["bundle", "out", file.to_str().expect("a path")]).0, 0);
    assert_eq!(std::fs::read(&file).expect("a bundle"), bundle);
    let text = String::from_utf8(bundle).expect("a bundle is text");
    let mut out = Vec::new();
    let (code, err) = run(&home, &mut out, &text, &["bundle", "in", "-"]);
    assert!(code == 0 && String::from_utf8_lossy(&out).contains("were here already"), "{err}");
    assert!(!std::path::Path::new("-").exists());
}
