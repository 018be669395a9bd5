//! How many arrows each part has seen, and when the archer wants to be reminded.

use crate::harness::alone::begun;
use serde_json::{Value, json};

fn told(out: &str) -> Value {
    serde_json::from_str(out).expect("JSON")
}

#[test]
fn groups_and_practice_wear_what_is_on_the_bow() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "arrows", "blue", "--count", "12"]).0, 0);
    assert_eq!(sheaf(&["add", "part", "red string", "--what", "string"]).0, 0);
    let (code, _, err) =
        sheaf(&["change", "elm", "string=red string", "serving=new", "arrows=blue", "tab=old face"]);
    assert_eq!(code, 0, "{err}");
    assert_eq!(sheaf(&["shoot", "elm", "18m", "9@1 9@5 M", "--face", "wa_40"]).0, 0);
    let (code, out, err) = sheaf(&["practice", "elm", "72", "--note", "blank butt"]);
    assert!(code == 0 && out.contains("elm") && out.contains("72 arrows shot without placing"), "{out}{err}");
    let (code, out, err) = sheaf(&["wear", "elm"]);
    assert_eq!(code, 0, "{err}");
    let line = |name: &str| out.lines().find(|line| line.contains(name)).unwrap_or_default().to_owned();
    for name in ["red string", "new", "blue", "old face"] {
        assert!(line(name).contains(" 75 ") && line(name).contains(" 72 "), "{name}: {out}");
    }
    assert!(err.contains("remind_at_arrows=2500") && err.contains("sheaf set change"), "{err}");
    // A serving begins anew by itself.
    assert_eq!(sheaf(&["change", "elm", "serving=new"]).0, 0);
    assert_eq!(sheaf(&["practice", "elm", "6"]).0, 0);
    let sheet = told(&sheaf(&["wear", "elm", "--json"]).1);
    let of = |setting: &str| {
        let rows = sheet["rows"].as_array().expect("rows").iter();
        rows.filter(|row| row["setting"] == setting).map(|row| row["arrows"].clone()).collect::<Vec<_>>()
    };
    assert_eq!((of("serving"), of("string")), (vec![json!(6)], vec![json!(81)]));
    // Nobody counts them as shot groups.
    let timeline = told(&sheaf(&["timeline", "elm", "--json"]).1);
    assert_eq!(timeline["practice"].as_array().map(Vec::len), Some(2));
    let arrows: u64 = timeline["stretches"]
        .as_array()
        .expect("stretches")
        .iter()
        .filter_map(|s| s["arrows"].as_u64())
        .sum();
    assert_eq!(arrows, 3);
    assert!(sheaf(&["timeline", "elm"]).1.contains("counted only"));
}

#[test]
fn a_reminder_is_said_once_when_it_comes_due() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "part", "red string", "--what", "string"]).0, 0);
    assert_eq!(sheaf(&["set", "part", "red string", "remind_at_arrows=2500"]).0, 0);
    assert_eq!(sheaf(&["change", "elm", "string=red string"]).0, 0);
    assert!(!sheaf(&["practice", "elm", "2374"]).2.contains("reminded"));
    let err = sheaf(&["practice", "elm", "106"]).2.replace('\n', " ");
    assert!(
        err.contains("The red string has seen 2,480 of the 2,500 arrows after which you want to be reminded: look it over."),
        "{err}"
    );
    assert!(!sheaf(&["practice", "elm", "19"]).2.contains("reminded"));
    let (code, _, err) = sheaf(&["shoot", "elm", "18m", "9@1 9@5", "--face", "wa_40"]);
    let err = err.replace('\n', " ");
    assert!(code == 0 && err.contains("has seen 2,501 arrows, 1 more than the 2,500"), "{err}");
    assert!(!sheaf(&["shoot", "9@1 9@5"]).2.contains("reminded"));
    let out = sheaf(&["wear"]).1.replace('\n', " ");
    assert!(out.contains("3 more than the 2,500"), "{out}");
}

#[test]
fn a_string_on_another_bow_and_a_tab_for_two_bows() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "bow", "oak"]).0, 0);
    for (name, what) in [("red string", "string"), ("old face", "tab")] {
        assert_eq!(sheaf(&["add", "part", name, "--what", what]).0, 0);
    }
    assert_eq!(sheaf(&["change", "elm", "string=red string", "tab=old face"]).0, 0);
    assert_eq!(sheaf(&["practice", "elm", "10"]).0, 0);
    assert_eq!(sheaf(&["practice", "oak", "20"]).0, 0);
    assert_eq!(sheaf(&["change", "oak", "string=red string"]).0, 0);
    assert_eq!(sheaf(&["practice", "oak", "40"]).0, 0);
    assert_eq!(sheaf(&["practice", "elm", "5"]).0, 0);
    let sheet = told(&sheaf(&["wear", "--json"]).1);
    let of = |name: &str| {
        let rows = sheet["rows"].as_array().expect("rows");
        let row = rows.iter().find(|row| row["name"] == name).expect("a row");
        (row["arrows"].as_u64(), row["bows"].as_array().map_or(0, Vec::len))
    };
    // The string is on oak from the change on; the tab is on Ash's hand with both.
    assert_eq!((of("red string"), of("old face")), ((Some(50), 2), (Some(75), 2)));
    assert!(sheaf(&["wear", "oak"]).1.contains("old face"));
}

#[test]
fn what_is_no_count_is_said_and_nothing_is_kept() {
    let (_folder, sheaf) = begun();
    for (words, says) in [
        (vec!["practice", "elm", "0"], "no whole number from 1 to"),
        (vec!["practice", "elm", "-5"], "no whole number from 1 to"),
        (vec!["practice", "elm", "72.5"], "no whole number from 1 to"),
        (vec!["practice", "elm", "99999"], "no whole number from 1 to"),
        (vec!["practice", "oak", "72"], "no bow called"),
        (vec!["practice", "elm", "72", "--arrows", "green"], "called"),
        (vec!["wear", "oak"], "no bow called"),
    ] {
        let (code, _, err) = sheaf(&words);
        assert!(code == 1 && err.replace('\n', " ").contains(says), "{words:?}: {err}");
    }
    assert!(sheaf(&["wear", "elm"]).1.contains("Nothing is noted that wears"));
    assert_eq!(told(&sheaf(&["list", "practice", "--json"]).1), json!([]));
}

#[test]
fn practice_is_written_as_a_table_and_put_right() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["practice", "elm", "72", "--at", "2026-04-12 10:30", "--note", "=blank"]).0, 0);
    let (code, out, _) = sheaf(&["export", "practice"]);
    let lines: Vec<&str> = out.lines().collect();
    assert_eq!((code, lines.len()), (0, 2), "{out}");
    assert!(lines[0].starts_with("practice,bow,archer,arrows,at,count,note"), "{out}");
    assert!(lines[1].contains(",elm,Ash,,2026-04-12T10:30:00") && lines[1].ends_with(",72,'=blank"), "{out}");
    let id = told(&sheaf(&["list", "practice", "--json"]).1)[0]["id"].as_str().expect("an id").to_owned();
    assert_eq!(sheaf(&["set", "practice", &id, "count=60"]).0, 0);
    assert!(sheaf(&["export", "practice"]).1.contains(",60,"));
    assert_eq!(sheaf(&["retire", &id]).0, 0);
    assert_eq!(sheaf(&["export", "practice"]).1.lines().count(), 1);
}
