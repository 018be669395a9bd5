#![allow(clippy::unwrap_used)]
use super::super::tests::shot::Range;
use crate::{
    timeline::Asked,
    verdict::{Units, bow_verdict},
};
use serde_json::{Value, json};

/// Two days on which a quarter turn sends the groups to the left.
fn turned(left_mm: f64) -> (Range, Value) {
    let mut range = Range::with_bow("elm <b>&");
    range.change(10, 8, "plunger_turns", json!(2));
    range.ends(11, 9, 6, [4.0, 10.0]);
    let turn = range.change(11, 10, "plunger_turns", json!(2.25));
    range.ends(11, 11, 6, [4.0 - left_mm, 10.0]);
    (range, json!(turn))
}

#[track_caller]
fn is_svg(svg: &Value) {
    let text = svg.as_str().unwrap();
    roxmltree::Document::parse(text).unwrap();
    assert!(!text.contains("style") && !text.contains("<script"), "{text}");
}

#[test]
fn a_clear_move_is_said_large_with_its_interval_and_drawn() {
    let (mut range, turn) = turned(60.0);
    let bow = range.bow;
    let told = range.call("answer", &json!({"bow": bow}));
    assert_eq!(told["archer"]["name"], "Ash");
    let answer = &told["answers"][0];
    assert_eq!((&answer["change"], &answer["word"]), (&turn, &json!("moved")));
    assert_eq!(answer["what"], "quarter turn on the plunger (2 to 2.25)");
    let head = answer["head"].as_str().unwrap();
    assert!(head.starts_with("Moved: ") && head.contains(" mm left, 95 %: "), "{head}");
    assert_eq!(told["first"], json!(["Shot first with plunger set to 2 turns, 10 April 2026."]));
    let shown = &told["shown"];
    assert_eq!(shown["sentence"], answer["sentence"]);
    is_svg(&shown["picture"]);
    let axes: Vec<&Value> = shown["bands"].as_array().unwrap().iter().map(|b| &b["axis"]).collect();
    assert_eq!(axes, ["sideways", "height", "spread"]);
    shown["bands"].as_array().unwrap().iter().for_each(|b| is_svg(&b["svg"]));
    assert!(shown["before"].as_str().unwrap().starts_with("6 ends, 36 arrows, middle "), "{shown}");
}

#[test]
fn the_words_are_those_of_the_verdict_in_either_unit() {
    let (mut range, _) = turned(60.0);
    let bow = range.bow;
    for (name, units) in [("metric", Units::Metric), ("imperial", Units::Imperial)] {
        let told = range.call("answer", &json!({"bow": bow, "units": name}));
        let known =
            bow_verdict(range.desk.store().unwrap(), bow, Some(range.me), &Asked::default(), units).unwrap();
        assert_eq!(told["shown"]["sentence"], known.archers[0].verdicts[0].sentence);
    }
}

#[test]
fn the_asked_change_is_shown_and_what_has_no_answer_says_so() {
    let (mut range, first) = turned(60.0);
    range.change(11, 12, "brace_height_mm", json!(215));
    range.ends(12, 9, 4, [-50.0, 10.0]);
    let (bow, last) = (range.bow, json!(range.change(12, 10, "brace_height_mm", json!(218))));
    let told = range.call("answer", &json!({"bow": bow}));
    let changes: Vec<&Value> = told["answers"].as_array().unwrap().iter().map(|a| &a["change"]).collect();
    assert_eq!((changes.len(), changes[0], changes[2]), (3, &last, &first), "newest first");
    assert_eq!(told["answers"][0]["head"], "Cannot be judged yet, since nothing has been shot after it");
    assert_ne!(told["shown"]["change"], last, "shown is one with groups on both sides");
    let asked = range.call("answer", &json!({"bow": bow, "change": first}));
    assert_eq!(asked["shown"]["change"], first);
    let open = range.call("answer", &json!({"bow": bow, "change": last}));
    assert_eq!(open["shown"]["bands"], json!([]));
    is_svg(&open["shown"]["picture"]);
    let refused = range.refused("answer", &json!({"bow": bow, "change": bow}));
    assert_eq!((&refused["code"], &refused["field"]), (&json!("no_answer"), &json!("change")));
    let nobody = range.refused("answer", &json!({"bow": first}));
    assert_eq!(nobody["code"], "unknown_thing");
}

#[test]
fn a_bow_without_groups_has_no_answer_yet_and_further_looks_are_warned_of() {
    let mut range = Range::with_bow("elm");
    let bow = range.bow;
    let told = range.call("answer", &json!({"bow": bow}));
    assert_eq!((&told["shown"], &told["remarks"][0]), (&Value::Null, &json!("No groups with elm yet.")));
    let (mut range, turn) = turned(0.0);
    let bow = range.bow;
    let warned = |told: &Value| told["remarks"].to_string().contains("chance for a false word. A plan keeps");
    assert!(!warned(&range.call("answer", &json!({"bow": bow, "looks": 1}))));
    let told = range.call("answer", &json!({"bow": bow, "looks": 2}));
    assert!(warned(&told), "{}", told["remarks"]);
    assert_eq!((&told["look"]["change"], &told["look"]["groups"]), (&turn, &json!(12)));
}

#[test]
fn luck_deals_the_ends_of_the_change_again() {
    let (mut range, turn) = turned(60.0);
    let bow = range.bow;
    let told = range.call("luck", &json!({"bow": bow, "change": turn}));
    assert_eq!((&told["deals"], &told["reach"]), (&json!(100), &json!(1)), "{told}");
    is_svg(&told["svg"]);
    let said = told["sentences"].as_array().unwrap();
    assert!(said[1].as_str().unwrap().starts_with("1 of 100 deals lies as far apart as yours"), "{said:?}");
    assert_eq!(said[2], "So luck alone is a poor story here.");
    let (mut range, turn) = turned(0.0);
    let told = range.call("luck", &json!({"bow": bow, "change": turn}));
    assert!(told["reach"].as_u64().unwrap() > 5, "{told}");
    assert_eq!(range.refused("luck", &json!({"bow": bow, "change": turn, "deals": 3}))["field"], "deals");
}
