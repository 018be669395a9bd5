//! What somebody new to the programs stumbles over: what is taken over unasked, put right, and told.

use crate::harness::alone::begun;
use serde_json::Value;

fn json(text: &str) -> Value {
    serde_json::from_str(text).expect("JSON")
}

#[test]
fn the_face_is_the_one_last_shot_at_that_distance() {
    let (_folder, sheaf) = begun();
    let face = |words: &[&str]| {
        let (code, out, err) = sheaf(&[&["shoot", "--json"], words].concat());
        assert_eq!(code, 0, "{words:?}: {err}");
        (json(&out)["groups"][0]["face"].as_str().expect("a face").to_owned(), err)
    };
    face(&["elm", "30m", "9@1", "--face", "wa_80"]);
    let (guessed, err) = face(&["70m", "9@1"]);
    assert!(
        guessed == "wa_80" && err.contains("taken from 30 m") && err.contains("--face"),
        "{guessed}: {err}"
    );
    face(&["70m", "9@1", "--face", "wa_122"]);
    face(&["18m", "9@1", "--face", "wa_40"]);
    for (distance, code) in [("30m", "wa_80"), ("70m", "wa_122"), ("18m", "wa_40")] {
        let (found, err) = face(&[distance, "9@1"]);
        assert!(found == code && err.is_empty(), "{distance}: {found} {err}");
    }
    // Another archer's distances are another's.
    assert_eq!(sheaf(&["add", "person", "Birch"]).0, 0);
    face(&["70m", "9@1", "--face", "wa_80", "--archer", "Birch"]);
    assert_eq!(face(&["70m", "9@1"]).0, "wa_122");
    assert_eq!(face(&["70m", "9@1", "--archer", "Birch"]).0, "wa_80");
}

#[test]
fn the_arrows_are_those_last_shot_with_that_bow() {
    let (_folder, sheaf) = begun();
    for words in [["add", "bow", "oak"], ["add", "arrows", "blue"], ["add", "arrows", "red"]] {
        assert_eq!(sheaf(&words).0, 0);
    }
    let shoot = |bow: &str, rest: &[&str]| {
        let words = [&["shoot", bow, "30m", "9@1", "--face", "wa_80"], rest].concat();
        let (code, out, err) = sheaf(&words);
        assert_eq!(code, 0, "{err}");
        out
    };
    shoot("elm", &["--arrows", "blue"]);
    shoot("oak", &["--arrows", "red"]);
    assert!(shoot("elm", &[]).contains("As the last time: blue"));
}
