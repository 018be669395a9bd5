//! What was recorded alone, once its phone is in a team; and what the model holds, once the store holds nothing.

use super::{Page, end};
use serde_json::{Value, json};

/// A page with an end that came into another team in a role, and what it kept before.
fn come_in(role: &str) -> (Page, Vec<String>) {
    let (mut page, bow, arrows) = Page::with_bow();
    let kept = end(&mut page, &bow, &arrows, json!([{"mm": [1, 2]}]));
    page.ok("keep", kept);
    let asked = page.ok("join", json!({"code": "x", "device_name": "phone"}));
    let asked: Value = serde_json::from_str(asked["body"].as_str().unwrap()).unwrap();
    let team = Page::new().card["team"].clone();
    let reply = json!({"team": team, "name": "Elm pair", "device": asked["device"], "person": asked["person"],
        "role": role, "token": "t"});
    page.ok("joined", json!({"reply": reply.to_string(), "device_name": "phone"}));
    let before = std::mem::take(&mut page.kept);
    (page, before)
}

#[test]
fn what_was_recorded_before_comes_along() {
    let (mut page, before) = come_in("archer");
    assert_eq!(page.ok("carry", json!({"entries": before}))["carried"], before.len());
    assert_eq!(page.card["carry"], Value::Null);
    assert_eq!(page.ok("ends", json!({}))["ends"].as_array().unwrap().len(), 1);
}

#[test]
fn a_coach_s_own_records_wait_for_another_role() {
    let (mut page, before) = come_in("coach");
    assert_eq!(page.ok("carry", json!({"entries": before, "me": "Ada"}))["carried"], 0);
    assert_eq!(page.ok("status", json!({}))["person_name"], "Ada");
    assert_eq!(page.ok("status", json!({}))["carrying"], true);
    page.card["server"]["role"] = json!("archer");
    let mut page = page.opened();
    assert_eq!(page.ok("carry", json!({"entries": before}))["carried"], before.len());
    assert_eq!(page.card["carry"], Value::Null);
    assert_eq!(page.ok("ends", json!({}))["ends"].as_array().unwrap().len(), 1);
}

#[test]
fn everything_is_handed_out_to_be_kept_anew() {
    let (mut page, bow, arrows) = Page::with_bow();
    let kept = end(&mut page, &bow, &arrows, json!([{"mm": [1, 2]}]));
    page.ok("keep", kept);
    let (card, before) = (page.card.clone(), std::mem::take(&mut page.kept));
    assert_eq!(page.ok("whole", json!({}))["entries"], before.len());
    assert_eq!((&page.kept, &page.card), (&before, &card));
    let digest = page.ok("status", json!({}))["digest"].clone();
    assert_eq!(page.opened().ok("status", json!({}))["digest"], digest);
}
