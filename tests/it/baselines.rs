//! Setups under a name: saved, listed, put back, written over.

use crate::harness::alone::begun;
use serde_json::{Value, json};

type Run<'a> = &'a dyn Fn(&[&str]) -> (u8, String, String);

#[track_caller]
fn ok(sheaf: Run<'_>, words: &[&str]) -> String {
    let (code, out, err) = sheaf(words);
    assert_eq!(code, 0, "{words:?}: {out}{err}");
    out
}

#[track_caller]
fn told(sheaf: Run<'_>, words: &[&str]) -> Value {
    serde_json::from_str(&ok(sheaf, words)).expect("JSON")
}

/// Two strings, a bow with a setup, and that setup as a baseline.
fn match_saved(sheaf: Run<'_>) {
    for string in ["red string", "blue string"] {
        ok(sheaf, &["add", "part", string, "--what", "string"]);
    }
    ok(sheaf, &["change", "elm", "brace_height=215", "tiller=4", "plunger=2", "string=red string"]);
    let out =
        ok(sheaf, &["baseline", "save", "elm", "match", "--note", "indoors", "--tolerance", "tiller=0.5mm"]);
    assert!(out.contains("as the baseline match, 4 settings"), "{out}");
    assert!(out.contains("Tolerances of your own: tiller ± 0.5 mm. For all others common practice"), "{out}");
}

#[test]
fn a_whole_baseline_goes_back_as_one_change() {
    let (_folder, sheaf) = begun();
    match_saved(&sheaf);
    let out = ok(&sheaf, &["baseline", "put", "elm", "match"]);
    assert!(out.contains("set up as in match already: there is nothing to note"), "{out}");
    ok(&sheaf, &["change", "elm", "tiller=7", "plunger=2.5", "string=blue string", "clicker=20"]);
    let list = told(&sheaf, &["baseline", "list", "elm", "--json"]);
    assert_eq!(list[0]["differs"].as_array().map(Vec::len), Some(3));
    assert_eq!(list[0]["tolerances"], json!({"tiller_mm": 0.5}));
    let shown = ok(&sheaf, &["baseline", "list"]);
    assert!(shown.contains("match of elm: 4 settings") && shown.contains("indoors"), "{shown}");
    assert!(shown.contains("tiller 4 mm, now 7 mm"), "{shown}");
    // The string has gone to another bow meanwhile.
    ok(&sheaf, &["add", "bow", "oak"]);
    ok(&sheaf, &["change", "oak", "string=red string"]);
    let before = told(&sheaf, &["list", "changes", "--bow", "elm", "--json"]).as_array().map(Vec::len);
    let (code, out, err) = sheaf(&["baseline", "put", "elm", "match", "--note", "before the match"]);
    assert_eq!(code, 0, "{err}");
    assert!(out.contains("one change of 3 settings"), "{out}");
    let row = |name: &str| -> Vec<String> {
        let line = out.lines().find(|line| line.starts_with(name)).unwrap_or_else(|| panic!("{name}: {out}"));
        line.split("  ").map(str::trim).filter(|cell| !cell.is_empty()).map(str::to_owned).collect()
    };
    assert_eq!(row("tiller"), ["tiller", "7 mm", "4 mm"]);
    assert_eq!(row("string"), ["string", "blue string", "red string"]);
    assert!(out.contains("match says nothing of clicker: left as before."), "{out}");
    let err = err.replace('\n', " ");
    assert!(err.contains("red string is on oak now") && err.contains("without an arrow on it"), "{err}");
    let after = told(&sheaf, &["list", "changes", "--bow", "elm", "--json"]).as_array().map(Vec::len);
    assert_eq!(after, before.map(|n| n + 1), "one change");
    let setup = told(&sheaf, &["show", "elm", "--json"])["setup"].clone();
    assert_eq!((&setup["tiller_mm"], &setup["clicker_mm"]), (&json!(4.0), &json!(20.0)));
    let timeline = ok(&sheaf, &["timeline", "elm"]);
    assert!(timeline.contains("tiller 7 -> 4 mm") || timeline.contains("tiller 7 to 4 mm"), "{timeline}");
}

#[test]
fn what_was_not_noted_is_said_when_a_baseline_goes_back() {
    let (_folder, sheaf) = begun();
    match_saved(&sheaf);
    // At a moment before anything of the bow was noted.
    let put = told(&sheaf, &["baseline", "put", "elm", "match", "--at", "2020-05-01 10:00", "--json"]);
    assert!(put["altered"].as_array().expect("a list").iter().all(|a| a["before"].is_null()), "{put}");
    let out = ok(&sheaf, &["baseline", "put", "elm", "match", "--at", "2019-05-01 10:00", "--imperial"]);
    assert!(out.contains("not noted") && out.contains("8.46 in"), "{out}");
}

#[test]
fn a_baseline_is_written_over_only_when_that_is_asked_for() {
    let (_folder, sheaf) = begun();
    match_saved(&sheaf);
    ok(&sheaf, &["change", "elm", "tiller=5"]);
    let (code, _, err) = sheaf(&["baseline", "save", "elm", " Match "]);
    assert!(
        code == 1 && err.contains("has a baseline called match already") && err.contains("--replace"),
        "{err}"
    );
    let id = told(&sheaf, &["baseline", "list", "--json"])[0]["baseline"].clone();
    let (code, out, err) = sheaf(&["baseline", "save", "elm", "match", "--replace"]);
    assert!(code == 0 && out.contains("tiller 4 mm -> 5 mm") && err.contains("--history"), "{out}{err}");
    let kept = told(&sheaf, &["baseline", "save", "elm", "match", "--replace", "--json"]);
    assert_eq!((&kept["baseline"], &kept["kept"]), (&id, &json!(false)));
    assert_eq!(
        (&kept["settings"]["tiller_mm"], &kept["tolerances"]),
        (&json!(5.0), &json!({"tiller_mm": 0.5}))
    );
    let history =
        told(&sheaf, &["show", "baseline", "match", "--history", "--json"])["history"]["settings"].clone();
    assert!(history.to_string().contains("\"tiller_mm\":4.0"), "{history}");
    let out = ok(&sheaf, &["baseline", "tolerance", "elm", "match", "tiller=", "plunger=1/16"]);
    assert!(out.contains("plunger ± 0.062 turns") && !out.contains("tiller"), "{out}");
}

#[test]
fn two_bows_may_both_have_a_baseline_called_so() {
    let (_folder, sheaf) = begun();
    match_saved(&sheaf);
    ok(&sheaf, &["add", "bow", "oak"]);
    ok(&sheaf, &["change", "oak", "tiller=2"]);
    ok(&sheaf, &["baseline", "save", "oak", "match"]);
    ok(&sheaf, &["baseline", "save", "oak", "field"]);
    assert!(ok(&sheaf, &["rebuild", "oak", "--baseline", "match"]).contains("2 mm"));
    assert!(ok(&sheaf, &["rebuild", "elm", "--baseline", "match"]).contains("215 mm"));
    let (code, _, err) = sheaf(&["rebuild", "elm", "--baseline", "field"]);
    assert!(
        code == 1 && err.contains("no baseline called `field` of elm") && err.contains("it has match"),
        "{err}"
    );
    // A name is another's only among those of its bow.
    ok(&sheaf, &["set", "baseline", "field", "name=match two"]);
    let (code, _, err) = sheaf(&["set", "baseline", "match two", "name=match"]);
    assert!(code == 1 && err.contains("called match already"), "{err}");
    ok(&sheaf, &["retire", "baseline", "match two"]);
    assert_eq!(told(&sheaf, &["baseline", "list", "oak", "--json"]).as_array().map(Vec::len), Some(1));
}

#[test]
fn what_no_baseline_can_be_is_said() {
    let (_folder, sheaf) = begun();
    for (words, says) in [
        (vec!["baseline", "save", "elm", "match"], "nothing is noted of this bow's setup yet"),
        (vec!["baseline", "save", "oak", "match"], "no bow called"),
        (vec!["baseline", "put", "elm", "match"], "no baseline called `match` of elm"),
    ] {
        let (code, _, err) = sheaf(&words);
        assert!(code == 1 && err.replace('\n', " ").contains(says), "{words:?}: {err}");
    }
    match_saved(&sheaf);
    for (typed, says) in [
        ("tiller=20mm", "at most 6 mm"),
        ("tiller=-1", "not above 0"),
        ("tiller=nan", "is no number"),
        ("string=1", "string is a part"),
        ("tiller", "no setting with a tolerance"),
        ("clicker=1", "clicker_mm is not noted"),
    ] {
        let (code, _, err) = sheaf(&["baseline", "tolerance", "elm", "match", typed]);
        assert!(code == 1 && err.replace('\n', " ").contains(says), "{typed}: {err}");
    }
    assert_eq!(told(&sheaf, &["baseline", "list", "--json"])[0]["tolerances"], json!({"tiller_mm": 0.5}));
}

#[test]
fn a_tab_goes_with_its_hand_and_is_nobodys_to_give_back() {
    let (_folder, sheaf) = begun();
    match_saved(&sheaf);
    ok(&sheaf, &["add", "part", "black tab", "--what", "tab"]);
    ok(&sheaf, &["add", "bow", "oak"]);
    ok(&sheaf, &["change", "elm", "tab=black tab"]);
    ok(&sheaf, &["baseline", "save", "elm", "with tab"]);
    ok(&sheaf, &["change", "oak", "tab=black tab"]);
    ok(&sheaf, &["change", "elm", "tab=the old one"]);
    let out = ok(&sheaf, &["baseline", "put", "elm", "with tab"]);
    assert!(out.contains("black tab") && !out.contains("cannot be on both"), "{out}");
}
