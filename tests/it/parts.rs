//! Parts: what is known of them, where they are, and one that goes from bow to bow.

use crate::harness::alone::begun;
use serde_json::{Value, json};

fn json_of(text: &str) -> Value {
    serde_json::from_str(text).expect("JSON")
}

/// Returns a text without the breaks of its lines.
fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn a_part_says_what_it_is_and_what_its_maker_allows() {
    let (_folder, sheaf) = begun();
    let limbs = [
        "add",
        "part",
        "long 36",
        "--what",
        "limbs",
        "--limb-length",
        "long",
        "--limb-kind",
        "recurve",
        "--marked-weight",
        "36lbf",
        "--marked-draw",
        "28in",
        "--marked-riser",
        "25in",
        "--least-bolt",
        "0",
        "--most-bolt",
        "6",
        "--most-weight",
        "44lbf",
        "--most-draw",
        "31in",
    ];
    let (code, _, err) = sheaf(&limbs);
    assert_eq!(code, 0, "{err}");
    let riser = [
        "add",
        "part",
        "grey",
        "--what",
        "riser",
        "--length",
        "63.5cm",
        "--mass",
        "1250g",
        "--material",
        "aluminium",
        "--pocket",
        "shims and side screws",
        "--least-brace",
        "8 1/4in",
        "--most-brace",
        "9in",
        "--least-arrow",
        "300gr",
    ];
    assert_eq!(sheaf(&riser).0, 0);
    let out = flat(&sheaf(&["parts"]).1);
    assert!(
        out.contains(
            "long 36: long, recurve, 36 lbf marked at 28 in on a 25 in riser. On no bow yet. Maker's limits: \
                      limb bolts 0 to 6 turns, at most 44 lbf, drawn at most 31 in."
        ),
        "{out}"
    );
    assert!(
        out.contains(
            "grey: 25 in, aluminium, 1,250 g, limb pockets: shims and side screws. On no bow yet. Maker's \
                      limits: brace height 210 to 229 mm, arrows of at least 300 gr."
        ),
        "{out}"
    );
    let only = json_of(&sheaf(&["parts", "--what", "riser", "--imperial", "--json"]).1);
    assert_eq!(only["parts"].as_array().map(Vec::len), Some(1));
    assert_eq!(only["parts"][0]["known"], "25 in, aluminium, 44.1 oz, limb pockets: shims and side screws");
    assert!(sheaf(&["parts", "--what", "string"]).1.contains("No part of the sort string"));
    assert_eq!(sheaf(&["parts", "--what", "wheel"]).0, 1);
}

#[test]
fn a_part_that_goes_to_another_bow_leaves_the_first_and_nothing_is_lost() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "bow", "oak"]).0, 0);
    assert_eq!(sheaf(&["add", "part", "long 36", "--what", "limbs", "--limb-length", "long"]).0, 0);
    let (code, _, err) = sheaf(&["change", "elm", "limbs=long 36", "brace_height=215"]);
    assert!(code == 0 && !err.contains("until now"), "{err}");
    let (code, out, err) = sheaf(&["change", "oak", "limbs=long 36"]);
    assert!(code == 0 && out.contains("Kept: oak"), "{err}");
    assert!(
        flat(&err).contains(
            "long 36 were on elm until now: elm has no limbs noted from here on; note what is on it."
        ),
        "{err}"
    );
    let part = &json_of(&sheaf(&["parts", "--json"]).1)["parts"][0];
    assert_eq!((&part["on_name"], part["history"].as_array().map(Vec::len)), (&json!("oak"), Some(2)));
    assert_eq!(part["history"][0]["bow_name"], "elm");
    assert!(flat(&sheaf(&["parts"]).1).contains("Before: on elm on"), "{}", sheaf(&["parts"]).1);
    assert!(sheaf(&["show", "long 36"]).1.contains("On oak since"));
    // What was noted of elm is still there, and says where the limbs went; the rebuild does not ask for them.
    let shown = sheaf(&["show", "elm"]).1;
    assert!(shown.contains("Not on it any more: long 36 (limbs) went to oak on"), "{shown}");
    let sheet = json_of(&sheaf(&["rebuild", "elm", "--json"]).1);
    assert_eq!(sheet["rows"].as_array().map(Vec::len), Some(1), "{sheet}");
    assert!(sheet["elsewhere"][0].as_str().is_some_and(|s| s.starts_with("long 36 (limbs) went to oak on")));
    // And back again.
    let back = json_of(&sheaf(&["change", "elm", "limbs=long 36", "--json"]).1);
    assert!(back["moved"][0].as_str().is_some_and(|s| s.contains("were on oak until now")), "{back}");
    assert!(!sheaf(&["show", "elm"]).1.contains("Not on it any more"));
    assert_eq!(
        json_of(&sheaf(&["parts", "--json"]).1)["parts"][0]["history"].as_array().map(Vec::len),
        Some(3)
    );
}

#[test]
fn a_change_that_is_noted_late_says_until_when() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "bow", "oak"]).0, 0);
    assert_eq!(sheaf(&["add", "part", "red string", "--what", "string"]).0, 0);
    assert_eq!(sheaf(&["change", "elm", "string=red string", "--at", "2026-01-05 10:00"]).0, 0);
    assert_eq!(sheaf(&["change", "elm", "string=red string", "--at", "2026-02-05 10:00"]).0, 0);
    let (code, _, err) = sheaf(&["change", "oak", "string=red string", "--at", "2026-01-20 10:00"]);
    assert_eq!(code, 0);
    assert!(
        flat(&err).contains(
            "red string was on elm until 20 January 2026; what came on it after that is noted. Since 5 February 2026 \
             it is noted on elm."
        ),
        "{err}"
    );
}

#[test]
fn a_part_of_another_sort_is_refused_with_words() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["add", "part", "red string", "--what", "string"]).0, 0);
    assert_eq!(sheaf(&["add", "part", "spare", "--what", "other"]).0, 0);
    for (pair, says) in [
        ("limbs=red string", "limbs: `red string` is noted as a string; choose limbs"),
        ("rest=red string", "rest: `red string` is noted as a string; choose a rest"),
        ("limbs=spare", "limbs: `spare` is noted as something other"),
    ] {
        let (code, _, err) = sheaf(&["change", "elm", pair]);
        assert!(code == 1 && flat(&err).contains(says), "{pair}: {err}");
    }
    assert!(sheaf(&["show", "elm"]).1.contains("not been noted yet"));
    // Where words may stand for themselves, the beginning of another sort's name is none of it.
    assert_eq!(sheaf(&["change", "elm", "rest=red", "serving=spare"]).0, 0);
    assert!(sheaf(&["show", "elm"]).1.contains("red"));
    assert!(sheaf(&["parts", "--json"]).1.contains("\"setting\": \"serving\""));
}

#[test]
fn a_range_that_is_upside_down_is_refused() {
    let (_folder, sheaf) = begun();
    let add = ["add", "part", "grey", "--what", "riser", "--least-bolt", "6", "--most-bolt", "2"];
    let (code, _, err) = sheaf(&add);
    assert!(code == 1 && flat(&err).contains("6 turns, is above the most, 2 turns"), "{err}");
    assert_eq!(sheaf(&["add", "part", "grey", "--what", "riser", "--most-weight", "40lbf"]).0, 0);
    let (code, _, err) = sheaf(&["set", "part", "grey", "least_weight=50lbf"]);
    assert!(code == 1 && flat(&err).contains("50 lbf, is above the most, 40 lbf"), "{err}");
    assert_eq!(sheaf(&["set", "part", "grey", "least_weight=20lbf"]).0, 0);
}

#[test]
fn a_part_of_another_sort_is_kept_nowhere_as_limbs() {
    let (_folder, sheaf) = begun();
    for words in [
        &["add", "part", "long 36", "--what", "limbs"][..],
        &["add", "part", "red string", "--what", "string"],
        &["change", "elm", "limbs=long 36", "tiller=4"],
    ] {
        assert_eq!(sheaf(words).0, 0, "{words:?}");
    }
    for words in [
        &["rebuild", "elm", "limbs=red string", "--keep"][..],
        &["pair", "elm", "red string", "fit=true"],
        &["change", "elm", "limbs=red string"],
    ] {
        let (code, _, err) = sheaf(words);
        assert!(code == 1 && flat(&err).contains("is noted as a string"), "{words:?}: {code} {err}");
    }
    assert!(sheaf(&["show", "elm"]).1.contains("long 36"));
}

#[test]
fn what_was_noted_of_a_part_can_be_taken_out_again() {
    let (_folder, sheaf) = begun();
    let add =
        ["add", "part", "long 36", "--what", "limbs", "--marked-weight", "36lbf", "--most-weight", "40lbf"];
    assert_eq!(sheaf(&add).0, 0);
    let (code, out, err) = sheaf(&["set", "part", "long 36", "most_weight=", "marked_weight="]);
    assert_eq!(code, 0, "{err}");
    assert!(out.contains("40") && out.contains("36"), "what it was is told: {out}");
    let told = sheaf(&["parts"]).1;
    assert!(!told.contains("40 lbf") && !told.contains("36 lbf"), "{told}");
    assert_eq!(sheaf(&["set", "part", "long 36", "name="]).0, 1);
    assert_eq!(sheaf(&["shoot", "elm", "18m", "9@1", "--face", "wa_40"]).0, 0);
    assert_eq!(sheaf(&["set", "group", "last", "distance="]).0, 1);
}

#[test]
fn a_part_that_is_out_of_use_is_told_when_it_goes_on_a_bow_and_is_listed_there() {
    let (_folder, sheaf) = begun();
    for words in [
        &["add", "bow", "oak"][..],
        &["add", "part", "red string", "--what", "string"],
        &["retire", "part", "red string"],
    ] {
        assert_eq!(sheaf(words).0, 0, "{words:?}");
    }
    assert!(!sheaf(&["parts"]).1.contains("red string"));
    let (code, _, err) = sheaf(&["change", "elm", "string=red string"]);
    assert!(code == 0 && err.contains("red string was taken out of use; look it over"), "{err}");
    let told = sheaf(&["parts"]).1;
    assert!(told.contains("red string") && told.contains("out of use"), "{told}");
    assert_eq!(sheaf(&["baseline", "save", "elm", "match"]).0, 0);
    assert_eq!(sheaf(&["change", "oak", "string=red string"]).0, 0);
    let (code, _, err) = sheaf(&["baseline", "put", "elm", "match"]);
    let err = err.split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(
        code == 0 && err.contains("comes back from oak") && err.contains("was taken out of use"),
        "{err}"
    );
}
