//! A bow is put back as it was.

use crate::harness::alone::begun;
use serde_json::{Value, json};

#[test]
fn what_was_measured_stands_beside_what_was_noted() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "part", "red string", "--what", "string"]).0, 0);
    assert_eq!(
        sheaf(&["change", "elm", "brace_height=215", "tiller=4", "plunger=2", "string=red string"]).0,
        0
    );
    let (code, out, err) = sheaf(&["rebuild", "elm", "brace=212", "tiller==4.5", "string=Red String"]);
    assert_eq!(code, 0, "{err}");
    assert!(out.contains("3 of 4 measured, 1 off. Begin with brace height: 3 mm too little."), "{out}");
    assert!(out.contains("brace height is off and it moves this"), "{out}");
    assert!(err.contains("without an arrow on it") && err.contains("qualified coach"), "{err}");
    let lines: Vec<&str> = out.lines().collect();
    let at = |word: &str| lines.iter().position(|line| line.starts_with(word));
    assert!(at("string") < at("brace height") && at("brace height") < at("tiller"), "{out}");
    let told: Value =
        serde_json::from_str(&sheaf(&["rebuild", "elm", "plunger=2 1/4", "--json"]).1).expect("JSON");
    let plunger = &told["rows"][3];
    assert_eq!(
        (&plunger["target"], &plunger["off"], &plunger["ok"]),
        (&json!("2 turns"), &json!("0.25 turns too much"), &json!(false))
    );
}

#[test]
fn what_cannot_be_measured_so_is_said() {
    let (_folder, sheaf) = begun();
    for (words, says) in [
        (vec!["rebuild", "oak"], "no bow called"),
        (vec!["rebuild", "elm", "brace"], "no setting with what it measures"),
        (vec!["rebuild", "elm", "brace="], "gives no value"),
        (vec!["rebuild", "elm", "wheel=3"], "no setting `wheel`"),
        (vec!["rebuild", "elm", "brace=8"], "between 100 and 350 mm"),
        (vec!["rebuild", "elm", "--baseline", "match"], "no baseline called"),
    ] {
        let (code, _, err) = sheaf(&words);
        assert!(code == 1 && err.replace('\n', " ").contains(says), "{words:?}: {err}");
    }
    assert!(sheaf(&["rebuild", "elm"]).1.contains("Nothing of its setup is noted"));
}
