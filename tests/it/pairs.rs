//! Risers and limbs through the command line: how a pair fits, and the settings to go to when limbs are put on.

use crate::harness::alone::begun;
use serde_json::{Value, json};

type Sheaf = dyn Fn(&[&str]) -> (u8, String, String);

#[track_caller]
fn ok(sheaf: &Sheaf, words: &[&str]) -> (String, String) {
    let (code, out, err) = sheaf(words);
    assert_eq!(code, 0, "{words:?}: {err}");
    let plain = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
    (plain(out), plain(err))
}

fn rows(sheaf: &Sheaf, words: &[&str]) -> Vec<Value> {
    let told: Value = serde_json::from_str(&sheaf(&[words, &["--json"]].concat()).1).expect("JSON");
    told["rows"].as_array().expect("rows").clone()
}

fn stocked(sheaf: &Sheaf) {
    for limbs in ["long 36", "short 34"] {
        ok(sheaf, &["add", "part", limbs, "--what", "limbs"]);
    }
    ok(sheaf, &["add", "part", "grey riser", "--what", "riser"]);
    ok(sheaf, &["add", "part", "black riser", "--what", "riser"]);
    let put = [
        "change",
        "elm",
        "riser=grey riser",
        "limbs=long 36",
        "limb_bolt_top=3",
        "limb_bolt_bottom=2.5",
        "tiller=4",
    ];
    ok(sheaf, &put);
}

#[test]
fn putting_limbs_on_comes_with_the_settings_to_go_to() {
    let (_folder, sheaf) = begun();
    stocked(&sheaf);
    let (out, _) = ok(&sheaf, &["pair", "elm", "fit=true", "lateral=0"]);
    assert!(out.contains("long 36 on elm, true: the limbs seat fully"), "{out}");
    assert!(
        out.contains("Taken from what is noted of the bow now: top limb bolt 3 turns, bottom limb bolt 2.5 turns and tiller 4 mm"),
        "{out}"
    );
    let (out, err) = ok(&sheaf, &["change", "elm", "limbs=short 34"]);
    assert!(out.contains("short 34 on grey riser is not measured yet"), "{out}");
    assert!(
        out.contains("measure top limb bolt, bottom limb bolt,") && out.contains("note the pair"),
        "{out}"
    );
    assert!(err.contains("Never turn a limb bolt out beyond the maker's range"), "{err}");
    let (out, err) =
        ok(&sheaf, &["pair", "elm", "short 34", "fit=loose", "bolts=2", "tiller==-2", "--note", "rattles"]);
    assert!(out.contains("play in the pockets and move at every shot"), "{out}");
    assert!(err.contains("do not shoot it before its maker or a qualified coach has seen it"), "{err}");
    let (out, _) = ok(&sheaf, &["change", "elm", "limbs=long 36"]);
    assert!(
        out.contains("Go to top limb bolt 3 turns, bottom limb bolt 2.5 turns, upper limb alignment 0 mm"),
        "{out}"
    );
    assert!(out.contains("by Ash"), "{out}");
    let (out, err) = ok(&sheaf, &["change", "elm", "limbs=short 34", "tiller==-2"]);
    assert!(
        out.contains("There are no settings to go to") && !out.contains("Go to top limb bolt"),
        "a loose pair is not set: {out}"
    );
    assert!(out.contains("Noted with it: rattles"), "{out}");
    assert!(err.contains("moves at every shot"), "{err}");
    let known = rows(&sheaf, &["pairs"]);
    let pair = known.iter().find_map(|row| row["pair"].as_str()).expect("a pair");
    let (code, _, err) = sheaf(&["set", "pair", pair, "limbs=grey riser"]);
    assert!(code == 1 && err.contains("is noted as a riser; choose limbs"), "{err}");
    let (out, _) = ok(&sheaf, &["change", "elm", "plunger=2"]);
    assert!(!out.contains("Go to") && !out.contains("measured"), "{out}");
}

#[test]
fn the_table_has_every_riser_with_every_pair_and_says_which_are_not_measured() {
    let (_folder, sheaf) = begun();
    assert!(ok(&sheaf, &["pairs"]).0.contains("No limbs are in the records yet"));
    stocked(&sheaf);
    ok(&sheaf, &["add", "bow", "oak"]);
    ok(&sheaf, &["pair", "elm", "fit=tight"]);
    let all = rows(&sheaf, &["pairs"]);
    let names: Vec<[&str; 2]> = all
        .iter()
        .map(|row| ["riser_name", "limbs_name"].map(|name| row[name].as_str().unwrap_or("-")))
        .collect();
    assert_eq!(
        names,
        [
            ["grey riser", "long 36"],
            ["grey riser", "short 34"],
            ["oak", "long 36"],
            ["oak", "short 34"],
            ["black riser", "long 36"],
            ["black riser", "short 34"],
        ]
    );
    assert_eq!((&all[0]["fit"], &all[0]["on"]), (&json!("tight"), &json!(true)));
    assert_eq!((&all[1]["fit"], &all[1]["fit_words"]), (&Value::Null, &json!("not measured")));
    assert_eq!(rows(&sheaf, &["pairs", "oak"]).len(), 2);
    let (out, err) = ok(&sheaf, &["pairs"]);
    assert!(out.contains("1 of 6 combinations of riser and limbs are measured"), "{out}");
    assert!(err.contains("Never force, hammer or file limbs into a pocket"), "{err}");
    // Another riser comes into the bow: what was measured on the one before does not hold for it.
    let (out, _) = ok(&sheaf, &["change", "elm", "riser=black riser"]);
    assert!(out.contains("Measured on the riser grey riser, and black riser is on the bow now"), "{out}");
    let elm = rows(&sheaf, &["pairs", "elm"]);
    assert!(
        elm[0]["other_riser"].as_str().is_some_and(|words| words.contains("measure this pair anew")),
        "{elm:?}"
    );
    // The grey riser keeps its pair where it goes.
    ok(&sheaf, &["change", "oak", "riser=grey riser"]);
    let oak = rows(&sheaf, &["pairs", "oak"]);
    assert_eq!((&oak[0]["fit"], &oak[0]["other_riser"]), (&json!("tight"), &Value::Null));
}

#[test]
fn what_cannot_be_a_pair_is_said_and_not_kept() {
    let (_folder, sheaf) = begun();
    for (words, says) in [
        (vec!["pair", "elm", "fit=true"], "no limbs are noted on this bow"),
        (vec!["pair", "elm", "fox", "fit=true"], "no part called"),
        (vec!["pair", "elm", "long", "36", "fit=true"], "more than one pair"),
    ] {
        let (code, _, err) = sheaf(&words);
        assert!(code == 1 && err.contains(says), "{words:?}: {err}");
    }
    stocked(&sheaf);
    for (words, says) in [
        (vec!["pair", "elm"], "how does the pair fit"),
        (vec!["pair", "elm", "fit=snug"], "none of tight, true, loose"),
        (vec!["pair", "elm", "fit=true", "bolts=99"], "between -10 and 15 turns"),
        (vec!["pair", "elm", "fit=true", "wheel=3"], "a pair has no `wheel`"),
        (vec!["pair", "elm", "fit=true", "bolts=3", "bolt_top=2"], "given twice"),
        (vec!["pair", "elm", "long 36", "short 34", "fit=true"], "more than one pair"),
    ] {
        let (code, _, err) = sheaf(&words);
        let err = err.split_whitespace().collect::<Vec<_>>().join(" ");
        assert!(code == 1 && err.contains(says), "{words:?}: {err}");
    }
    assert_eq!(sheaf(&["list", "pairs", "--json"]).1.trim(), "[]");
}
