//! Things by their names: what is meant, what is not, and what a name may be.

use crate::harness::{
    alone::{begun, run},
    team::Range,
};
use serde_json::Value;

#[test]
fn the_last_group_is_the_last_one_in_use() {
    let (_folder, sheaf) = begun();
    let shoot = ["shoot", "elm", "30m", "9@1", "--face", "wa_80", "--note"];
    for note in ["first", "second"] {
        assert_eq!(sheaf(&[&shoot[..], &[note]].concat()).0, 0);
    }
    let note = || sheaf(&["show", "last"]).1.lines().find(|l| l.starts_with("note")).map(str::to_owned);
    let before = note();
    assert_eq!(sheaf(&["retire", "last"]).0, 0);
    assert!(before.is_some() && note().is_some() && note() != before, "{before:?}");
    assert_eq!(sheaf(&["retire", "last"]).0, 0);
    assert_eq!(sheaf(&["show", "last"]).0, 1, "none is left");
}

#[test]
fn a_thing_found_by_its_id_is_called_by_its_name() {
    let (_folder, sheaf) = begun();
    let list: Value = serde_json::from_str(&sheaf(&["list", "bows", "--json"]).1).expect("JSON");
    let id = list[0]["id"].as_str().expect("an id");
    let (code, out, err) = sheaf(&["timeline", id]);
    assert!(code == 0 && out.starts_with("elm\n"), "{out}{err}");
}

#[test]
fn a_kind_that_cannot_be_added_is_not_said_to_be_addable() {
    let (_folder, sheaf) = begun();
    let err = sheaf(&["set", "plan", "winter", "note=x"]).2;
    assert!(err.contains("sheaf list plan") && !err.contains("sheaf add"), "{err}");
    let err = sheaf(&["change", "elm", "limbs=long"]).2;
    assert!(err.contains("sheaf add part"), "{err}");
}

#[test]
fn a_name_that_can_mean_two_things_makes_no_third() {
    let (folder, sheaf) = begun();
    for bow in ["bramble", "briar"] {
        assert_eq!(sheaf(&["add", "bow", bow]).0, 0);
        assert_eq!(sheaf(&["add", "part", bow, "--what", "plunger"]).0, 0);
    }
    let file = folder.path().join("groups.csv");
    std::fs::write(&file, "date,x_mm,y_mm\n2026-04-12,1,2\n").expect("a file");
    let path = file.to_str().expect("a path of text");
    let words = ["import", path, "--create", "--bow", "br", "--distance", "30m", "--face", "wa_80"];
    let (code, _, err) = sheaf(&words);
    assert!(code == 1 && err.contains("several things"), "{err}");
    let (code, _, err) = sheaf(&["change", "elm", "plunger=br"]);
    assert!(code == 1 && err.contains("several things"), "{err}");
    assert_eq!(
        sheaf(&["import", path, "--create", "--bow", "new one", "--distance", "30m", "--face", "wa_80"]).0,
        0
    );
}

#[test]
fn who_joins_under_a_name_that_is_taken_or_none_is_told() {
    let range = Range::open();
    let ash = range.keeper("Ash");
    let code = ash.json(&["invite"])["code"].as_str().expect("a code").to_owned();
    let second = range.device("second");
    for me in ["two\nlines", " ", &"x".repeat(101)] {
        let err = second.fails(1, &["join", &range.url(), &code, "--me", me]);
        assert!(err.contains("1 to 100 characters"), "{err}");
    }
    let output = second.run(&["join", &range.url(), &code, "--me", "ash"]);
    let err = String::from_utf8_lossy(&output.stderr).into_owned();
    assert!(output.status.success() && err.contains("called ash 2"), "{err}");
    ash.ok(&["add", "bow", "elm"]);
    second.ok(&["add", "bow", "Elm"]);
    ash.sync();
    let output = second.run(&["sync", "--quiet"]);
    let err = String::from_utf8_lossy(&output.stderr).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(output.status.success() && err.contains("Several of the kind bow are called"), "{err}");
    let id = err.split("`sheaf set bow ").nth(1).and_then(|rest| rest.split(' ').next()).expect("an id");
    second.ok(&["set", "bow", id, "name=another elm"]);
}

#[test]
fn the_word_last_means_the_group_recorded_last() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["shoot", "elm", "30m", "9@1", "--face", "wa_80"]).0, 0);
    for (kind, words) in [
        ("bow", &["add", "bow", "last"] as &[&str]),
        ("person", &["add", "person", "Last"]),
        ("arrow set", &["add", "arrows", "last"]),
        ("part", &["add", "part", "last", "--what", "limbs"]),
        ("bow", &["set", "bow", "elm", "name=last"]),
        ("person", &["set", "person", "Ash", "name=last"]),
    ] {
        let (code, _, err) = sheaf(words);
        assert!(code == 1 && err.contains(kind) && err.contains("is read as the group"), "{words:?}: {err}");
    }
    assert_eq!(sheaf(&["retire", "last"]).0, 0);
    let (code, _, err) = sheaf(&["show", "last"]);
    assert!(code == 1 && err.contains("there is no last group"), "{err}");
}

#[test]
fn a_bow_is_not_called_what_shoot_reads_as_something_else() {
    let (folder, sheaf) = begun();
    for name in ["30m", "20 yd", "9@4", "M", "X", "12,3", "2024", "elm: long"] {
        let (code, _, err) = sheaf(&["add", "bow", name]);
        assert!(code == 1 && err.contains("is read as a"), "{name}: {err}");
        assert_eq!(sheaf(&["set", "bow", "elm", &format!("name={name}")]).0, 1, "{name}");
    }
    let other = folder.path().join("other");
    let (code, err) = run(&other, &mut Vec::new(), "", &["start", "Pair", "--me", "30m"]);
    assert!(code == 1 && err.contains("a distance"), "{err}");
    let (code, err) =
        run(&other, &mut Vec::new(), "", &["start", "Pair", "--me", "Ash", "--device", "a\u{202e}b"]);
    assert!(code == 1 && err.contains("U+202E"), "{err}");
}

#[test]
fn names_that_look_alike_are_one_name() {
    let (folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "bow", "e\u{301}lan"]).0, 0);
    let (code, _, err) = sheaf(&["add", "bow", "\u{e9}lan"]);
    assert!(code == 1 && err.contains("already"), "{err}");
    for typed in ["e\u{301}lan", "\u{c9}LAN"] {
        assert!(sheaf(&["show", typed]).1.contains("\u{e9}lan"), "{typed}");
    }
    let file = folder.path().join("groups.csv");
    std::fs::write(&file, "date,bow,x_mm,y_mm\n2026-04-12,e\u{301}lan,1,2\n").expect("a file");
    let path = file.to_str().expect("a path of text");
    let (code, _, err) = sheaf(&["import", path, "--create", "--distance", "30m", "--face", "wa_80"]);
    assert!(code == 0 && !err.contains("Added"), "{err}");
    for hidden in ["el\u{200b}m", "el\u{202e}m", "\u{feff}elm"] {
        let (code, _, err) = sheaf(&["add", "bow", hidden]);
        assert!(code == 1 && err.contains("U+"), "{hidden:?}: {err}");
    }
}
