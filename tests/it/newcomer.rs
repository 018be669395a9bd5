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
        guessed == "wa_80" && err.contains("taken from 30 m") && err.contains("face=CODE"),
        "{guessed}: {err}"
    );
    face(&["70m", "9@1", "--face", "wa_122"]);
    face(&["18m", "9@1", "--face", "wa_40"]);
    for (distance, code) in [("30m", "wa_80"), ("70m", "wa_122"), ("18m", "wa_40")] {
        let (found, err) = face(&[distance, "9@1"]);
        assert!(found == code && err.is_empty(), "{distance}: {found} {err}");
    }
    // A walk-back is shot at one face from everywhere, and leaves what is usual at a distance alone.
    let walk = ["--sight", "walk 1"];
    face(&[&["30m", "9@1", "--face", "wa_122"], &walk[..]].concat());
    let (found, err) = face(&[&["18m", "9@1"], &walk[..]].concat());
    assert!(found == "wa_122" && err.is_empty(), "{found} {err}");
    assert_eq!(face(&["18m", "9@1"]).0, "wa_40");
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

#[test]
fn a_moment_to_come_is_told_with_the_command_that_mends_it() {
    let (_folder, sheaf) = begun();
    let at = ["--at", "2199-01-01 10:00"];
    let shot = sheaf(&[&["shoot", "elm", "30m", "9@1", "--face", "wa_80"], &at[..]].concat());
    let changed = sheaf(&[&["change", "elm", "plunger=2"], &at[..]].concat());
    for (kind, (code, _, err)) in [("group", shot), ("change", changed)] {
        let (_, command) = err.split_once("`sheaf ").expect("a command");
        let words: Vec<&str> = command.split(' ').take(3).collect();
        assert!(code == 0 && words[..2] == ["set", kind], "{err}");
        assert_eq!(sheaf(&["set", kind, words[2], "at=2026-01-01 10:00"]).0, 0, "{err}");
    }
    assert!(!sheaf(&["show", "last"]).1.contains("2199"));
}

#[test]
fn a_report_says_expected_and_leaves_first_tries_in_peace() {
    let (_folder, sheaf) = begun();
    let shots = ["9@1", "9@2", "9@3", "9@4", "9@5", "9@6"];
    let shoot = || sheaf(&[&["shoot", "elm", "30m", "--face", "wa_80"], &shots[..]].concat()).0;
    assert_eq!(shoot(), 0);
    let told = sheaf(&["report"]).1;
    assert!(told.contains("expected points an arrow") && !told.contains("setup."), "{told}");
    assert_eq!(shoot(), 0);
    assert!(
        sheaf(&["report"]).1.contains("nothing is noted of the bow's setup"),
        "from two ends on it is asked for"
    );
}

#[test]
fn sessions_are_those_of_the_groups() {
    let (_folder, sheaf) = begun();
    assert!(sheaf(&["list", "sessions"]).1.contains("--session"));
    for (at, session) in
        [("2026-02-01 10:00", "indoors"), ("2026-02-01 11:00", "indoors"), ("2026-01-01 09:00", "")]
    {
        let words = ["shoot", "elm", "18m", "9@1", "8@1", "--face", "wa_40", "--at", at];
        let named = ["--session", session];
        assert_eq!(sheaf(&[&words[..], if session.is_empty() { &[] } else { &named }].concat()).0, 0);
    }
    let list = json(&sheaf(&["list", "sessions", "--json"]).1);
    let told: Vec<(&str, u64, u64)> = list
        .as_array()
        .expect("a list")
        .iter()
        .map(|s| {
            (
                s["session"].as_str().expect("a name"),
                s["groups"].as_u64().expect("a count"),
                s["arrows"].as_u64().expect("a count"),
            )
        })
        .collect();
    assert_eq!(told, [("2026-01-01", 1, 2), ("indoors", 2, 4)]);
    let table = sheaf(&["list", "sessions", "--bow", "elm"]).1;
    assert!(table.contains("2026-02-01 11:00") && table.contains("Ash"), "{table}");
}

#[test]
fn an_import_tells_bad_rows_and_unknown_names_together() {
    let (folder, sheaf) = begun();
    let file = folder.path().join("groups.csv");
    let head = "date,bow,archer,face,x_mm,y_mm\n";
    let path = file.to_str().expect("a path of text");
    let import = |rows: &str, words: &[&str]| {
        std::fs::write(&file, format!("{head}{rows}")).expect("a file");
        sheaf(&[&["import", path, "--distance", "30m"], words].concat())
    };
    let rows = "2026-04-12,oak,Ash,wa_80,1,2\n2026-04-13,elm,Ash,wa_80,1,zz\n2026-04-13,yew,Ash,wa_81,1,2\n";
    let (code, _, err) = import(rows, &[]);
    assert!(
        code == 1 && err.contains("line 3") && err.contains("bow `oak`") && err.contains("--create"),
        "{err}"
    );
    assert!(err.contains("wa_80") && !err.contains("zones"), "a cell holds a code: {err}");
    let (code, _, err) = import(rows, &["--keep-good"]);
    assert!(code == 1 && err.contains("line 3") && err.contains("bow `oak`"), "{err}");
    assert_eq!(sheaf(&["list", "groups", "--json"]).1.trim(), "[]");
    let (code, out, err) = import(rows, &["--keep-good", "--create"]);
    assert!(code == 0 && out.contains("Added bow oak"), "{out}{err}");
    let bows = sheaf(&["list", "bows"]).1;
    assert!(bows.contains("oak") && !bows.contains("yew"), "yew stands only in a bad row: {bows}");
}

#[test]
fn a_ring_without_its_clock_is_told_as_that() {
    let (_folder, sheaf) = begun();
    let (code, _, err) = sheaf(&["shoot", "elm", "10", "9", "8", "--face", "wa_80"]);
    assert!(code == 1 && err.contains("10@4:30") && err.contains("10m") && err.contains("clock"), "{err}");
}

#[test]
fn a_distance_is_echoed_in_the_unit_it_was_typed_in() {
    let (_folder, sheaf) = begun();
    for (typed, shown) in
        [("20yd", "20 yd"), ("30m", "30 m"), ("18.5m", "18.5 m"), ("50yd", "50 yd"), ("20ft", "20 ft")]
    {
        let out = sheaf(&["shoot", "elm", typed, "9@1", "--face", "wa_80"]).1;
        assert!(out.contains(&format!("elm at {shown} on")), "{typed}: {out}");
    }
    assert!(sheaf(&["list", "groups"]).1.contains("20 yd"));
}

#[test]
fn what_is_kept_of_a_bow_that_is_out_of_use_is_kept_and_told() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "bow", "oak"]).0, 0);
    assert_eq!(sheaf(&["retire", "bow", "oak"]).0, 0);
    for words in [
        &["shoot", "oak", "18m", "9@1", "8@4", "--face", "wa_40"][..],
        &["change", "oak", "tiller=5"],
        &["mark", "oak", "18m", "3.2"],
        &["practice", "oak", "12"],
        &["curve", "oak", "18=20", "28=36"],
        &["baseline", "save", "oak", "match"],
        &["rebuild", "oak", "tiller=6", "--keep"],
    ] {
        let (code, out, err) = sheaf(words);
        assert!(code == 0 && out.contains("ept"), "{words:?}: {out} {err}");
        let err = err.split_whitespace().collect::<Vec<_>>().join(" ");
        assert_eq!(err.matches("the bow oak is out of use").count(), 1, "{words:?}: {err}");
    }
    assert_eq!(sheaf(&["restore", "bow", "oak"]).0, 0);
    let (code, _, err) = sheaf(&["change", "oak", "tiller=6"]);
    assert!(code == 0 && !err.contains("out of use"), "{err}");
}
