//! What somebody new to the programs stumbles over: what is taken over unasked, put right, and told.

use crate::harness::{alone::begun, team::Range};
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
        guessed == "wa_80" && err.contains("taken from 30 m") && err.contains("face=CODE"),
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

#[test]
fn a_face_put_right_keeps_the_places_and_says_so() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["shoot", "elm", "30m", "9@12", "8@3", "--face", "wa_80"]).0, 0);
    let places = || json(&sheaf(&["show", "last", "--json"]).1)["fields"]["points_mm"].clone();
    let before = places();
    let (code, out, err) = sheaf(&["set", "group", "last", "face=WA_122"]);
    assert!(code == 0 && out.contains("face wa_80 -> wa_122") && err.contains("in mm"), "{out}{err}");
    assert!(err.contains("shots=") && places() == before, "{err}");
    let (code, _, err) = sheaf(&["set", "group", "last", "face=wa_12"]);
    assert!(code == 1 && err.contains("wa_122"), "{err}");
    assert_eq!(sheaf(&["set", "group", "last", "shots=9@12 8@3", "face=wa_40"]).0, 0);
    assert_eq!(places(), serde_json::json!([[0.0, 30.0], [50.0, 0.0]]), "rings of the face given with them");
}

#[test]
fn arrows_typed_anew_take_the_place_of_the_old_ones() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["shoot", "elm", "30m", "1:9@12!", "2:8@3b", "--face", "wa_80"]).0, 0);
    let (code, out, err) = sheaf(&["set", "group", "last", "shots=9@12 M"]);
    assert!(code == 0 && out.contains("shots 0,60 100,0 -> 0,60 M"), "{out}{err}");
    let shown = sheaf(&["show", "last"]).1;
    assert!(shown.contains("Scores 9 M") && !shown.contains("flyers"), "{shown}");
    for wrong in ["shots=", "shots=9@13", "shot=9@1"] {
        let (code, _, err) = sheaf(&["set", "group", "last", wrong]);
        assert!(code == 1 && err.contains("shot"), "{wrong}: {err}");
    }
    assert!(sheaf(&["show", "last"]).1.contains("Scores 9 M"));
}

#[test]
fn a_value_in_a_change_can_be_put_right_and_taken_out() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["change", "elm", "plunger=2", "brace_height=215mm"]).0, 0);
    assert_eq!(sheaf(&["change", "elm", "plunger=+1/4", "brace_height=271mm"]).0, 0);
    let list = json(&sheaf(&["list", "changes", "--json"]).1);
    let id = list[1]["id"].as_str().expect("an id");
    let set = |field: &str| sheaf(&["set", "change", id, field]);
    let (code, out, err) = set("brace_height=217mm");
    assert!(code == 0 && out.contains("brace height 271 -> 217 mm"), "{out}{err}");
    // A sign is relative to what was on the bow before that change, as in `sheaf change`.
    assert!(set("plunger=+1/2").1.contains("plunger 2.25 -> 2.5 turns"));
    let setup = || json(&sheaf(&["show", "elm", "--json"]).1)["setup"].clone();
    assert_eq!(setup(), serde_json::json!({"brace_height_mm": 217.0, "plunger_turns": 2.5}));
    assert_eq!(set("brace_height=").0, 0);
    assert_eq!(setup(), serde_json::json!({"brace_height_mm": 215.0, "plunger_turns": 2.5}), "as before it");
    assert!(!sheaf(&["list", "changes"]).1.contains("brace_height_mm=-"));
    let err = set("tiller=").2;
    assert!(err.contains("does not hold") && err.contains("plunger_turns"), "{err}");
    let err = set("colour=red").2;
    assert!(err.contains("tiller_mm") && err.contains("note"), "{err}");
}

#[test]
fn what_was_retired_last_is_what_comes_back() {
    let (_folder, sheaf) = begun();
    for note in ["first", "second"] {
        assert_eq!(sheaf(&["shoot", "elm", "30m", "9@1", "--face", "wa_80", "--note", note]).0, 0);
    }
    let (code, _, err) = sheaf(&["restore", "last"]);
    assert!(code == 1 && err.contains("nothing is retired"), "{err}");
    let list = json(&sheaf(&["list", "groups", "--json"]).1);
    let ids: Vec<&str> = (0..2).map(|n| list[n]["id"].as_str().expect("an id")).collect();
    let (_, out, _) = sheaf(&["retire", "last"]);
    assert!(out.contains(&format!("sheaf restore {}", &ids[1][ids[1].len() - 8..])), "{out}");
    assert!(sheaf(&["retire", ids[1]]).1.contains("already"));
    assert_eq!(sheaf(&["retire", ids[0]]).0, 0);
    let (code, _, err) = sheaf(&["retire", "last"]);
    assert!(code == 1 && err.contains("all are retired") && err.contains("restore last"), "{err}");
    assert_eq!(json(&sheaf(&["restore", "last", "--json"]).1)["id"], ids[0], "the one retired last");
    assert_eq!(json(&sheaf(&["restore", "last", "--json"]).1)["id"], ids[1], "then the one before");
    assert!(sheaf(&["restore", ids[1]]).1.contains("already"));
}

#[test]
fn the_last_of_nothing_is_told_as_that() {
    let (_folder, sheaf) = begun();
    for words in [["analyse"].as_slice(), &["show", "last"], &["retire", "last"]] {
        let (code, _, err) = sheaf(words);
        assert!(code == 1 && err.contains("there is no group yet") && err.contains("sheaf shoot"), "{err}");
    }
}

#[test]
fn groups_are_listed_by_when_they_were_shot() {
    let (_folder, sheaf) = begun();
    let shoot = |at: &str, archer: &str| {
        let words = ["shoot", "elm", "30m", "9@1", "--face", "wa_80", "--at", at, "--archer", archer];
        assert_eq!(sheaf(&words).0, 0);
    };
    assert_eq!(sheaf(&["add", "person", "Birch"]).0, 0);
    shoot("2026-03-03 10:00", "Ash");
    shoot("2026-01-01 10:00", "Birch");
    shoot("2026-02-02 10:00", "Ash");
    let days = |words: &[&str]| -> Vec<String> {
        let list = json(&sheaf(&[&["list", "groups", "--json"], words].concat()).1);
        let at = |group: &Value| group["fields"]["at"].as_str().expect("a time")[5..10].to_owned();
        list.as_array().expect("a list").iter().map(at).collect()
    };
    assert_eq!(days(&[]), ["01-01", "02-02", "03-03"]);
    assert_eq!(days(&["--last", "2"]), ["02-02", "03-03"]);
    assert_eq!(days(&["--archer", "Birch"]), ["01-01"]);
    assert_eq!(days(&["--bow", "elm", "--last", "1"]), ["03-03"]);
    assert!(sheaf(&["show", "last"]).1.contains("2026-02-02"), "`last` is the one recorded last");
}

#[test]
fn a_kind_may_stand_in_front_of_a_name() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["shoot", "elm", "30m", "9@1", "--face", "wa_80"]).0, 0);
    for words in [["show", "group", "last"], ["show", "bow", "elm"], ["retire", "bow", "elm"]] {
        assert_eq!(sheaf(&words).0, 0, "{words:?}");
    }
    let (code, _, err) = sheaf(&["show", "old", "elm"]);
    assert!(code == 1 && err.contains("\"old elm\""), "{err}");
}

#[test]
fn a_device_follows_its_team_to_another_address() {
    let mut range = Range::open();
    let keeper = range.keeper("Ash");
    let birch = range.join(&keeper, "Birch", "archer");
    birch.ok(&["add", "bow", "elm"]);
    let old = range.url();
    let other = Range::open();
    let err = birch.fails(4, &["connect", &other.url()]);
    assert!(err.contains("not your team's service") && !err.contains("Bearer"), "{err}");
    assert!(err.contains(&format!("stays with {old}")), "{err}");
    range.move_away();
    let err = birch.fails(1, &["connect", &old]);
    assert!(err.contains("already"), "{err}");
    let out = birch.ok(&["connect", &range.url()]);
    assert!(out.contains("answers at") && out.contains("1 entry sent") && !out.contains("igest"), "{out}");
    keeper.ok(&["connect", &range.url()]);
    assert!(keeper.ok(&["list", "bows"]).contains("elm"));
    assert!(keeper.ok(&["sync", "--verbose"]).contains("digest"));
}

#[test]
fn a_service_of_others_is_told_in_words_for_archers() {
    let mut range = Range::open();
    let keeper = range.keeper("Ash");
    let home = keeper.home().join("replica.json");
    let other = Range::open();
    let card = std::fs::read_to_string(&home).expect("the card");
    std::fs::write(&home, card.replace(&range.url(), &other.url())).expect("it can be written");
    let err = keeper.fails(4, &["sync"]);
    assert!(err.contains("does not know this device") && err.contains("sheaf connect URL"), "{err}");
    assert!(!err.contains("Authorization"), "{err}");
    range.kill();
}

#[test]
fn a_team_without_a_server_needs_its_key() {
    let (_folder, sheaf) = begun();
    let (code, _, err) = sheaf(&["connect", "http://127.0.0.1:9"]);
    assert!(
        code == 1 && err.contains("--key") && err.contains("sheafd key") && err.contains("sheaf join"),
        "{err}"
    );
}

#[test]
fn a_sync_that_brings_differences_says_so_and_they_have_their_times() {
    let range = Range::open();
    let keeper = range.keeper("Ash");
    keeper.ok(&["add", "bow", "elm"]);
    keeper.ok(&["sync"]);
    let birch = range.join(&keeper, "Birch", "archer");
    birch.ok(&["set", "bow", "elm", "note=heavy"]);
    keeper.ok(&["set", "bow", "elm", "note=light"]);
    birch.ok(&["sync"]);
    let err = String::from_utf8(keeper.run(&["sync"]).stderr).expect("text");
    assert!(err.contains("1 difference to settle: `sheaf differences`"), "{err}");
    let err = String::from_utf8(keeper.run(&["sync"]).stderr).expect("text");
    assert!(err.is_empty(), "nothing came in: {err}");
    let told = keeper.ok(&["differences"]);
    let by = |name: &str| told.lines().find(|l| l.contains(&format!("by {name}, 20"))).is_some();
    assert!(by("Ash") && by("Birch"), "{told}");
}

#[test]
fn a_history_has_times_and_names_the_latest_first() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["shoot", "elm", "30m", "9@1", "--face", "wa_80"]).0, 0);
    assert_eq!(sheaf(&["add", "person", "Birch"]).0, 0);
    let (_, out, _) = sheaf(&["set", "group", "last", "archer=Birch", "note=gusty"]);
    assert!(out.contains("archer Ash -> Birch") && out.contains("note gusty"), "{out}");
    assert_eq!(sheaf(&["set", "group", "last", "distance=18m"]).0, 0);
    let shown = sheaf(&["show", "last", "--history"]).1;
    let (_, history) = shown.split_once("latest first:\n").expect("a history");
    let lines: Vec<&str> = history.lines().skip(1).collect();
    assert!(lines[0].contains("distance_m") && lines[0].contains("18"), "{history}");
    assert!(lines.iter().all(|l| l.contains("20") && l.contains("Ash")), "{history}");
    assert!(lines.iter().any(|l| l.contains("archer") && l.contains("Birch")), "{history}");
    assert!(!shown.contains("from edge to edge"), "no plot: {shown}");
}

#[test]
fn the_plunger_and_its_turns_are_told_apart() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["change", "elm", "plunger=2", "plunger=the old one"]).0, 0);
    let shown = sheaf(&["show", "elm"]).1;
    assert!(shown.contains("\nplunger part ") && shown.contains("\nplunger   "), "{shown}");
    let (_, out, _) = sheaf(&["add", "arrows", "blue"]);
    assert!(!out.is_empty());
    assert!(sheaf(&["set", "arrows", "blue", "mass=330gr"]).1.contains("mass 330 gr"));
}

#[test]
fn a_bundle_that_brings_nothing_says_so() {
    let (folder, sheaf) = begun();
    let file = folder.path().join("pair.sheaf");
    let path = file.to_str().expect("a path of text");
    assert_eq!(sheaf(&["bundle", "out", path]).0, 0);
    let out = sheaf(&["bundle", "in", path]).1;
    assert!(out.starts_with("Nothing new: 2 entries were here already."), "{out}");
}
