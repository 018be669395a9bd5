//! Settings and fields as they are typed: what no bow has is refused before it is kept.

use crate::harness::{alone::begun, team::Range};

#[test]
fn a_setting_that_no_bow_has_is_refused_with_what_is_plausible() {
    let (_folder, sheaf) = begun();
    assert_eq!(sheaf(&["change", "elm", "brace_height=215", "draw_weight=38", "plunger=2"]).0, 0);
    for (pair, says) in [
        ("brace_height=100m", "between 100 and 350 mm"),
        ("brace_height=8.5", "check the number and its unit"),
        ("brace_height=+200", "between 100 and 350 mm"),
        ("draw_weight=9999", "between 1 and 100 lbf"),
        ("draw_weight==-2", "between 1 and 100 lbf"),
        ("plunger=nan", "no number"),
        ("plunger=inf", "no number"),
        ("rest=nan", "names no part"),
        ("button_mm=1000000", "between -3000 and 3000 mm"),
    ] {
        let (code, _, err) = sheaf(&["change", "elm", pair]);
        let err = err.replace('\n', " ");
        assert!(code == 1 && err.contains(says), "{pair}: {err}");
    }
    let changes = sheaf(&["list", "changes", "--json"]).1;
    assert_eq!(changes.matches("\"change\"").count(), 1, "nothing of them is kept: {changes}");
    assert_eq!(sheaf(&["change", "elm", "plunger=-1/4", "tiller==-2", "rest=the wire one"]).0, 0);
}

#[test]
fn a_part_and_an_arrow_have_plausible_figures() {
    let (_folder, sheaf) = begun();
    let tries: [&[&str]; 4] = [
        &["add", "arrows", "blue", "--spine", "5000"],
        &["add", "arrows", "blue", "--length", "28.5mm"],
        &["add", "arrows", "blue", "--mass", "nan"],
        &["add", "part", "long 36", "--what", "limbs", "--marked-weight", "136"],
    ];
    for words in tries {
        assert_eq!(sheaf(words).0, 1, "{words:?}");
    }
    assert!(!sheaf(&["list", "arrows"]).1.contains("blue"));
}

#[test]
fn a_difference_is_settled_by_a_value_that_is_read_like_a_first_one() {
    let range = Range::open();
    let ash = range.keeper("Ash");
    ash.ok(&["add", "bow", "elm"]);
    ash.ok(&["add", "bow", "oak"]);
    ash.ok(&["add", "part", "sixteen strands", "--what", "string"]);
    ash.ok(&["add", "part", "fourteen strands", "--what", "string"]);
    ash.ok(&["shoot", "elm", "30m", "9@1", "--face", "wa_80"]);
    ash.sync();
    let birch = range.join(&ash, "Birch", "archer");
    ash.ok(&["set", "bow", "elm", "name=elm one"]);
    ash.ok(&["set", "group", "last", "distance=31m"]);
    birch.ok(&["set", "bow", "elm", "name=elm two"]);
    birch.ok(&["set", "group", "last", "distance=32m"]);
    ash.sync();
    birch.sync();
    let id = birch.json(&["list", "bows"]).as_array().expect("a list")[0]["id"].as_str().map(str::to_owned);
    let id = id.expect("an id");
    assert!(birch.fails(1, &["settle", &id, "name", "--value", "OAK"]).contains("already"));
    birch.fails(1, &["settle", "last", "distance", "--value", "9000m"]);
    birch.ok(&["settle", &id, "name", "--value", "elm"]);
    birch.ok(&["settle", "last", "distance", "--value", "20yd"]);
    assert_eq!(birch.json(&["show", "last"])["fields"]["distance_m"], 18.288);
}
