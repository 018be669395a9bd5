#![allow(clippy::unwrap_used)]
use super::super::tests::range::{Range, at};
use crate::{
    id::ThingId,
    kind::{Bow, Group},
};
use serde_json::{Value, json};

fn bow(range: &mut Range, name: &str) -> ThingId {
    let bow = range.keep(&Bow { name: Some(name.into()), ..Bow::default() });
    range.change(bow, 60, &[("brace_height_mm", json!(215))]);
    bow
}

/// A team in which everybody is in another state.
fn team() -> Range {
    let mut range = Range::open();
    let me = range.me;
    let elm = bow(&mut range, "elm");
    range.ends((elm, me), 3, 6, [2.0, -1.0], 30.0);
    let (birch, oak) = (range.person("Birch"), bow(&mut range, "oak"));
    range.ends((oak, birch), 0, 6, [70.0, 20.0], 20.0);
    let (cedar, yew) = (range.person("Cedar"), bow(&mut range, "yew"));
    range.ends((yew, cedar), 20, 6, [1.0, 1.0], 25.0);
    let (dogwood, ash) = (range.person("Dogwood"), bow(&mut range, "hazel"));
    range.ends((ash, dogwood), 2, 6, [1.0, 1.0], 25.0);
    range.change(ash, 1, &[("brace_height_mm", json!(218))]);
    range.ends((ash, dogwood), 1, 2, [1.0, 1.0], 25.0);
    range.person("Elder");
    range
}

fn row<'a>(squad: &'a Value, name: &str) -> &'a Value {
    squad["rows"].as_array().unwrap().iter().find(|r| r["name"] == name).unwrap()
}

#[test]
fn the_team_is_sorted_by_reason_and_says_what_is_missing() {
    let squad = team().output("squad", json!({}));
    let told: Vec<(&str, &str, &str)> = squad["rows"]
        .as_array()
        .unwrap()
        .iter()
        .map(|r| (r["name"].as_str().unwrap(), r["reason"].as_str().unwrap(), r["why"].as_str().unwrap()))
        .collect();
    assert_eq!(
        told,
        [
            (
                "Birch",
                "look",
                "The mean point of impact is off the middle by more than the spread: check the sight."
            ),
            ("Cedar", "ask", "Nothing shot for 20 days."),
            ("Dogwood", "wait", "Only 2 ends since the last change."),
            ("Ash", "usual", "As usual."),
        ],
        "{squad}"
    );
    assert_eq!(squad["head"], "1 to look at · 1 to ask · 1 to wait for · 1 as usual · 1 missing");
    let missing: Vec<(&str, &str)> = squad["missing"]
        .as_array()
        .unwrap()
        .iter()
        .map(|m| (m["name"].as_str().unwrap(), m["words"].as_str().unwrap()))
        .collect();
    assert_eq!(missing, [("Cedar", "last shot 20 days ago"), ("Elder", "no groups yet")]);
    assert_eq!(row(&squad, "Birch")["last_words"], "shot today, 30 m");
    let spread = row(&squad, "Dogwood")["spread_words"].as_str().unwrap();
    assert!(spread.starts_with("spread 2") && spread.contains(" → ") && spread.ends_with(" mm"), "{spread}");
    assert!(row(&squad, "Ash")["svg"].as_str().unwrap().starts_with("<svg class=\"chart little-face\""));
    assert_eq!(
        team().output("squad", json!({"units": "imperial"}))["rows"][0]["last_words"],
        "shot today, 32.8 yd"
    );
}

#[test]
fn the_words_are_those_of_the_report() {
    let range = team();
    let store = range.desk.store().unwrap();
    let now = i64::try_from(super::super::tests::range::NOW_MS).unwrap();
    let report = crate::verdict::report(store, &Default::default(), Default::default(), now).unwrap();
    let said = serde_json::to_value(&report).unwrap();
    let looks: Vec<&str> =
        said["rows"].as_array().unwrap().iter().filter_map(|r| r["look"][0].as_str()).collect();
    assert_eq!(looks.len(), 3, "{said}");
    let squad = team().output("squad", json!({}));
    for look in looks {
        let sentence = format!("{}.", crate::verdict::upper_first(look));
        assert!(squad["rows"].as_array().unwrap().iter().any(|r| r["why"] == sentence), "{look}");
    }
}

#[test]
fn a_bow_that_rests_while_another_is_shot_calls_for_nobody() {
    let mut range = Range::open();
    let me = range.me;
    let (elm, oak) = (bow(&mut range, "elm"), bow(&mut range, "oak"));
    range.ends((elm, me), 30, 4, [90.0, 0.0], 20.0);
    range.ends((oak, me), 2, 4, [0.0, 0.0], 20.0);
    let squad = range.output("squad", json!({}));
    let elm = squad["rows"].as_array().unwrap().iter().find(|r| r["bow_name"] == "elm").unwrap();
    assert_eq!((&elm["reason"], &elm["why"]), (&json!("usual"), &json!("Since then oak has been shot.")));
    assert_eq!(squad["missing"], json!([]));
}

#[test]
fn a_difference_is_asked_of_the_one_whom_it_concerns() {
    use crate::{
        id::DeviceId,
        kind::{self, Person},
        replica::{Memory, Replica, Writer},
    };
    let mut range = Range::open();
    let me = range.me;
    let elm = bow(&mut range, "elm");
    range.ends((elm, me), 1, 4, [0.0, 0.0], 20.0);
    // Another device writes of the same person without having seen what stands here.
    let mut other = Replica::new(Memory::default());
    let writer = Writer { device: DeviceId::new(1, [9; 10]), author: me };
    let rival = Person { name: Some("Ashley".into()), ..Person::default() };
    let entries = other.append(writer, vec![kind::draft(me, &rival).unwrap()], 1_781_524_900_000).unwrap();
    let texts: Vec<String> = entries.iter().map(|e| serde_json::to_string(e).unwrap()).collect();
    assert_eq!(range.output("load", json!({"entries": texts}))["kept"], 1);
    let squad = range.output("squad", json!({}));
    let first = &squad["rows"][0];
    assert_eq!((&first["reason"], &first["why"]), (&json!("ask"), &json!("1 difference to settle.")));
    assert_eq!(squad["head"], "1 to ask · 1 difference to settle");
}

#[test]
fn one_archer_has_a_page() {
    let mut range = team();
    let squad = range.output("squad", json!({}));
    let dogwood = row(&squad, "Dogwood");
    let page = range.output("archer", json!({"person": dogwood["person"]}));
    assert_eq!((&page["name"], &page["bow_name"]), (&json!("Dogwood"), &json!("hazel")));
    assert_eq!(page["bows"][0]["last_words"], "shot yesterday");
    assert_eq!(page["answers"][0]["what"], "brace height 215 to 218 mm");
    assert!(page["answers"][0]["sentence"].as_str().unwrap().contains("cannot"), "{page}");
    assert_eq!(page["latest"]["arrows"], 12);
    assert!(!page["sentences"].as_array().unwrap().is_empty(), "{page}");
    assert_eq!(page["picture"].as_str().unwrap().matches("arrow-mark").count(), 12);
    let elder = squad["missing"][1]["person"].clone();
    let page = range.output("archer", json!({"person": elder}));
    assert_eq!((&page["name"], &page["bows"], &page["latest"]), (&json!("Elder"), &json!([]), &Value::Null));
}

#[test]
fn an_empty_team_and_one_that_only_missed_are_told() {
    let mut range = Range::open();
    let squad = range.output("squad", json!({}));
    assert_eq!((&squad["head"], &squad["rows"]), (&json!("nobody has shot yet · 1 missing"), &json!([])));
    let (me, elm) = (range.me, bow(&mut range, "elm"));
    let lost = Group {
        bow: Some(elm),
        archer: Some(me),
        at: Some(at(1, 0)),
        distance_m: Some(30.0),
        points_mm: Some(vec![None, None]),
        ..Group::default()
    };
    range.keep(&lost);
    let squad = range.output("squad", json!({}));
    assert_eq!(squad["missing"][0]["words"], "no arrow that counts with a bow in use; last shot yesterday");
    for (input, code) in [
        (json!({"person": me.to_string(), "bow": me.to_string()}), "unknown_thing"),
        (json!({"person": 3}), "bad_input"),
        (json!({"units": "ells"}), "bad_input"),
    ] {
        assert_eq!(range.ask("archer", input)["error"]["code"], code);
    }
}
