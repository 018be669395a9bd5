//! Ends under a plan.

use super::{Page, end};
use crate::{
    desk::Ask,
    kind::{self, Plan},
};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// A page with a bow whose plan compares two turns of the plunger with three: bow, arrows, plan.
fn planned() -> (Page, [String; 3]) {
    let (mut page, bow, arrows) = Page::with_bow();
    let plan = page.id("new_id", json!({}));
    let side = |turns: f64| Some(BTreeMap::from([("plunger_turns".to_owned(), json!(turns))]));
    let record = Plan {
        name: Some("spring".into()),
        bow: Some(bow.parse().unwrap()),
        archer: Some(page.me().parse().unwrap()),
        a: side(2.0),
        b: side(3.0),
        order: Some("ABBA".into()),
        distance_m: Some(18.0),
        arrows_per_end: Some(3),
        ..Plan::default()
    };
    let draft = kind::draft(plan.parse().unwrap(), &record).unwrap();
    page.desk.write(&Ask::new(page.now_ms, 120, 7), vec![draft]).unwrap();
    (page, [bow, arrows, plan])
}

fn turn(page: &mut Page, bow: &str, to: u32) {
    page.ok("change", json!({"bow": bow, "set": [{"setting": "plunger", "to": to}]}));
}

#[test]
fn a_plan_says_what_to_alter_and_which_end_comes_next() {
    let (mut page, [bow, arrows, plan]) = planned();
    let told = page.ok("frame", json!({"plan": plan}));
    let of = &told["plan"];
    assert_eq!(
        (&of["end"], &of["of"], &of["setup"], &of["set_up"]),
        (&json!(1), &json!(4), &json!("A"), &json!(false))
    );
    assert_eq!(of["change"], json!([{"setting": "plunger_turns", "to": 2.0, "words": "plunger 2 turns"}]));
    assert_eq!((&told["distance_m"], &told["arrows_per_end"]), (&json!(18.0), &json!(3)));
    // An end shot before the change is noted is kept, and is none of the plan's.
    let mut sent = end(&mut page, &bow, &arrows, json!([{"mm": [1, 2]}, {"mm": [3, 4]}, {"mm": [0, 0]}]));
    sent["plan"] = json!(plan);
    let kept = page.ok("keep", sent.clone());
    assert!(kept["words"].to_string().contains("not as an end of the plan"), "{kept}");
    assert_eq!(page.ok("ends", json!({}))["ends"][0]["plan"], Value::Null);
    turn(&mut page, &bow, 2);
    assert_eq!(page.ok("frame", json!({"plan": plan}))["plan"]["set_up"], true);
    sent["id"] = json!(page.id("new_id", json!({})));
    let kept = page.ok("keep", sent.clone());
    assert!(kept["words"].to_string().contains("end 1 of 4 of the plan, setup A"), "{kept}");
    // Sent again it is the same end, not the next one.
    page.ok("keep", sent);
    let next = page.ok("frame", json!({"plan": plan}))["plan"].clone();
    assert_eq!((&next["end"], &next["setup"], &next["set_up"]), (&json!(2), &json!("B"), &json!(false)));
}

#[test]
fn an_end_becomes_one_of_the_plan_once_the_change_is_noted() {
    let (mut page, [bow, arrows, plan]) = planned();
    let sent = end(&mut page, &bow, &arrows, json!([{"mm": [1, 2]}]));
    let group = page.ok("keep", sent)["group"].clone();
    let mend = json!({"group": group, "plan": plan});
    assert!(page.ok("mend", mend.clone())["words"].to_string().contains("not as an end"));
    page.ok("change", json!({"bow": bow, "at": "09:00", "set": [{"setting": "plunger", "to": 2}]}));
    let words = page.ok("mend", mend.clone())["words"].to_string();
    assert!(words.contains("end 1 of 4") && words.contains("the plan has ends of 3 arrows"), "{words}");
    assert!(page.ok("mend", mend)["words"].to_string().contains("already"));
    page.ok("mend", json!({"group": group, "plan": ""}));
    assert_eq!(page.ok("frame", json!({"plan": plan}))["plan"]["end"], 1);
}
