//! A part that went to another bow through the command line: no answer counts it any more, and it comes home again.

use crate::harness::alone::begun;
use serde_json::Value;

type Sheaf = dyn Fn(&[&str]) -> (u8, String, String);

#[track_caller]
fn ok(sheaf: &Sheaf, words: &[&str]) -> String {
    let (code, out, err) = sheaf(words);
    assert_eq!(code, 0, "{words:?}: {err}");
    format!("{out} {err}").split_whitespace().collect::<Vec<_>>().join(" ")
}

fn json(sheaf: &Sheaf, words: &[&str]) -> Value {
    serde_json::from_str(&sheaf(&[words, &["--json"]].concat()).1).expect("JSON")
}

/// Limbs, riser and string on elm, kept as a baseline, with a draw curve.
fn set_up(sheaf: &Sheaf) {
    ok(sheaf, &["add", "bow", "oak"]);
    ok(sheaf, &["add", "part", "long 36", "--what", "limbs"]);
    ok(sheaf, &["add", "part", "grey riser", "--what", "riser"]);
    ok(sheaf, &["add", "part", "red", "--what", "string"]);
    ok(sheaf, &["change", "elm", "riser=grey riser", "limbs=long 36", "string=red", "tiller=4"]);
    ok(sheaf, &["baseline", "save", "elm", "base"]);
    ok(sheaf, &["curve", "elm", "18=21", "26=33.5", "28=37.8"]);
}

#[test]
fn what_was_lent_differs_and_a_baseline_brings_it_home() {
    let (_folder, sheaf) = begun();
    set_up(&sheaf);
    assert!(ok(&sheaf, &["baseline", "list"]).contains("The bow is set up so now"));
    ok(&sheaf, &["change", "oak", "limbs=long 36", "string=red"]);
    let told = ok(&sheaf, &["baseline", "list"]);
    assert!(told.contains("limbs long 36 went to oak on") && !told.contains("is set up so now"), "{told}");
    let elm = ok(&sheaf, &["show", "bow", "elm"]);
    let (_, on) = elm.split_once("On it now").expect("a setup");
    assert!(on.split("Not on it any more").next().is_some_and(|table| !table.contains("long 36")), "{elm}");
    // One pair of limbs is on one riser.
    let rows = json(&sheaf, &["pairs"])["rows"].as_array().cloned().expect("rows");
    let on: Vec<&Value> = rows.iter().filter(|row| row["on"] == true).map(|row| &row["bow_name"]).collect();
    assert_eq!(on, ["oak"]);
    // One part is home before the rest.
    ok(&sheaf, &["change", "elm", "string=red"]);
    let told = ok(&sheaf, &["baseline", "put", "elm", "base"]);
    assert!(told.contains("one change of 1 setting"), "{told}");
    assert!(told.contains("long 36 come back from oak: note what is on oak instead"), "{told}");
    assert!(ok(&sheaf, &["baseline", "put", "elm", "base"]).contains("set up as in base already"));
    assert!(ok(&sheaf, &["baseline", "list"]).contains("The bow is set up so now"));
}

#[test]
fn a_lent_part_that_is_measured_came_home_and_a_curve_goes_with_its_limbs() {
    let (_folder, sheaf) = begun();
    set_up(&sheaf);
    assert!(json(&sheaf, &["curve", "elm"])["stale"].is_null());
    ok(&sheaf, &["change", "oak", "limbs=long 36"]);
    let stale = json(&sheaf, &["curve", "elm"])["stale"].clone();
    assert!(stale.as_str().is_some_and(|words| words.contains("the limbs went to oak on")), "{stale}");
    let told = ok(&sheaf, &["rebuild", "elm", "--baseline", "base", "limbs=long 36", "--keep"]);
    assert!(told.contains("Kept: elm") && told.contains("come back from oak"), "{told}");
    assert!(!told.contains("nothing to keep"), "{told}");
    assert!(json(&sheaf, &["curve", "elm"])["stale"].is_null(), "it is the bow of the curve again");
    for (words, says) in [
        (&["rebuild", "elm", "tiller=4", "--at", "10:30"][..], "--at goes with --keep"),
        (&["curve", "elm", "18=21", "28=38", "--archer", "Ada"], "--archer goes with looking at a curve"),
        (&["curve", "elm", "--note", "windy"], "--note goes with the points of a new curve"),
    ] {
        let (code, _, err) = sheaf(words);
        assert!(code != 0 && err.contains(says), "{words:?}: {err}");
    }
}

#[test]
fn nothing_leads_beyond_a_makers_limit() {
    let (folder, sheaf) = begun();
    set_up(&sheaf);
    ok(&sheaf, &["change", "elm", "limb_bolt_top=5", "limb_bolt_bottom=3"]);
    ok(&sheaf, &["pair", "elm", "fit=true"]);
    ok(&sheaf, &["set", "part", "grey riser", "most_bolt_turns=4", "most_weight_lbf=35", "most_draw_in=27"]);

    let begins = "The top limb bolt is 5 turns out";
    let told = ok(&sheaf, &["baseline", "save", "elm", "far"]);
    assert!(told.contains(&format!("Stop. {begins}")), "{told}");
    let told = ok(&sheaf, &["rebuild", "elm", "--baseline", "far"]);
    assert!(told.contains(&format!("Stop. As it was noted: {begins}")), "{told}");
    let paper = folder.path().join("sheet.html").display().to_string();
    ok(&sheaf, &["rebuild", "elm", "--baseline", "far", "--print", &paper]);
    assert!(std::fs::read_to_string(&paper).is_ok_and(|page| page.contains(begins)));
    // A setting beyond the limit is none to go to.
    let row = json(&sheaf, &["pairs", "elm"])["rows"][0].clone();
    assert!(
        row["settings_words"].as_str().is_some_and(|words| words.starts_with("bottom limb bolt")),
        "{row}"
    );
    assert!(row["left_out"][0].as_str().is_some_and(|words| words.contains(begins)), "{row}");
    ok(&sheaf, &["pair", "elm", "fit=loose"]);
    let row = json(&sheaf, &["pairs", "elm"])["rows"][0].clone();
    assert_eq!(row["settings"], serde_json::json!([]));
    let told = ok(&sheaf, &["change", "elm", "limbs=long 36"]);
    assert!(told.contains("There are no settings to go to") && !told.contains("Go to "), "{told}");
    // The curve is beyond the riser's weight and draw, whenever it is looked at.
    let told = ok(&sheaf, &["curve", "elm"]);
    assert!(told.contains("Stop. 37.8 lbf on the fingers: 2.8 lbf above the 35 lbf"), "{told}");
    assert!(told.contains("Stop. A draw of 28 in is 1 in longer than the 27 in"), "{told}");
}

#[test]
fn what_was_shot_while_a_part_was_on_another_bow_is_left_out_of_the_verdict_and_told() {
    let (_folder, sheaf) = begun();
    for words in [
        &["add", "bow", "oak"][..],
        &["add", "part", "long 36", "--what", "limbs"],
        &["add", "part", "medium 34", "--what", "limbs"],
        &["change", "elm", "limbs=long 36", "--at", "2026-03-01 09:00"],
        &["change", "oak", "limbs=long 36", "--at", "2026-03-05 08:00"],
    ] {
        assert_eq!(sheaf(words).0, 0, "{words:?}");
    }
    for day in ["02", "03", "06", "07", "08", "09"] {
        for minute in ["10", "20", "30", "40"] {
            let at = format!("2026-03-{day} 10:{minute}");
            let words = ["shoot", "elm", "30m", "5,3", "12,-3", "-7,1", "--face", "wa_80", "--at", &at];
            assert_eq!(sheaf(&words).0, 0);
        }
    }
    assert_eq!(sheaf(&["change", "elm", "limbs=medium 34", "--at", "2026-03-08 08:00"]).0, 0);
    let told: serde_json::Value =
        serde_json::from_str(&sheaf(&["effects", "elm", "--json"]).1).expect("JSON");
    let archer = &told["archers"][0];
    // 8 with the long limbs, 8 with nobody knows which, 8 with the medium ones.
    assert_eq!(archer["groups"], 16, "{told}");
    let remarks = archer["remarks"].to_string();
    assert!(
        remarks.contains("8 groups left out: shot after a part of the bow went to another one"),
        "{remarks}"
    );
    // Noted with its moment, they count.
    assert_eq!(sheaf(&["change", "elm", "limbs=medium 34", "--at", "2026-03-05 09:00"]).0, 0);
    let told: serde_json::Value =
        serde_json::from_str(&sheaf(&["effects", "elm", "--json"]).1).expect("JSON");
    assert_eq!(told["archers"][0]["groups"], 24, "{told}");
}

#[test]
fn limbs_that_two_bows_swap_at_one_moment_leave_nothing_out() {
    let (_folder, sheaf) = begun();
    for words in [
        &["add", "bow", "oak"][..],
        &["add", "part", "long 36", "--what", "limbs"],
        &["add", "part", "medium 34", "--what", "limbs"],
        &["change", "elm", "limbs=long 36", "--at", "2026-03-01 09:00"],
        &["change", "oak", "limbs=medium 34", "--at", "2026-03-01 09:00"],
        &["change", "oak", "limbs=long 36", "--at", "2026-03-02 09:00"],
        &["change", "elm", "limbs=medium 34", "--at", "2026-03-02 09:00"],
        &["shoot", "elm", "30m", "5,3", "12,-3", "-7,1", "--face", "wa_80", "--at", "2026-03-02 10:00"],
    ] {
        assert_eq!(sheaf(words).0, 0, "{words:?}");
    }
    let told: serde_json::Value =
        serde_json::from_str(&sheaf(&["effects", "elm", "--json"]).1).expect("JSON");
    assert_eq!(told["archers"][0]["groups"], 1, "{told}");
}
