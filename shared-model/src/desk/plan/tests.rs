#![allow(clippy::unwrap_used)]
use super::super::tests::shot::Range;
use crate::kind::{self, Group, Plan};
use crate::replica::Store as _;
use serde_json::{Value, json};

/// An archer who shot two sessions with plunger at 2 turns.
fn shot() -> Range {
    let mut range = Range::with_bow("elm");
    range.change(9, 8, "plunger_turns", json!(2));
    range.ends(10, 9, 6, [0.0, 0.0]);
    range.ends(11, 9, 6, [5.0, -4.0]);
    range
}

fn begun(range: &mut Range) -> Value {
    let asked = json!({"bow": range.bow, "a": {"plunger_turns": "2"}, "b": {"plunger_turns": "2 1/4"},
        "smallest_mm": 20, "ends_each": 6, "name": "softer"});
    range.call("plan_new", &asked)
}

#[test]
fn more_ends_show_less_and_the_fewest_that_do_are_named() {
    let mut range = shot();
    let bow = range.bow;
    let told = range.call("plan_offer", &json!({"bow": bow, "smallest_mm": 20}));
    let rows = told["rows"].as_array().unwrap();
    let finds: Vec<f64> = rows.iter().map(|r| r["finds_mm"].as_f64().unwrap()).collect();
    assert!(rows.len() >= 4 && finds.windows(2).all(|w| w[0] > w[1]), "{finds:?}");
    let enough = rows.iter().find(|r| r["enough"] == true).unwrap();
    assert_eq!(enough["ends_each"], told["ends_each"]);
    assert!((enough["finds_mm"].as_f64().unwrap()) < 20.5, "{enough}");
    let said = told["sentences"][0].as_str().unwrap();
    let n = &told["ends_each"];
    assert_eq!(said, format!("{n} + {n} ends will about do."));
    roxmltree::Document::parse(told["svg"].as_str().unwrap()).unwrap();
    let own = range.call("plan_offer", &json!({"bow": bow, "units": "imperial"}));
    assert!(own["smallest_words"].as_str().unwrap().ends_with(" in"), "{own}");
    let never = range.call("plan_offer", &json!({"bow": bow, "smallest_mm": 0.2}));
    assert_eq!(
        (&never["ends_each"], &never["sentences"][0]),
        (&Value::Null, &json!("No number of ends will do."))
    );
}

#[test]
fn a_plan_is_kept_with_the_ends_asked_for_and_led_end_by_end() {
    let mut range = shot();
    let (bow, made) = (range.bow, begun(&mut range));
    assert!(made["words"].to_string().contains("12 ends of 6 arrows in blocks of four"), "{made}");
    let plan = &made["plan"];
    let known = range.call("plans", &json!({}));
    assert_eq!(known["plans"][0]["words"], "elm: 0 of 12 ends shot");
    let told = range.call("plan", &json!({"plan": plan}));
    assert_eq!((&told["left"], &told["of"], &told["next"]["end"]), (&json!(12), &json!(12), &json!(1)));
    let id = plan.as_str().unwrap().parse().unwrap();
    let record: Plan = kind::read(&range.desk.store().unwrap().thing("plan", id).unwrap().unwrap()).unwrap();
    let order = record.order.unwrap();
    assert_eq!((order.len(), record.shift_mm, record.distance_m), (12, Some(20.0), Some(30.0)));
    let first = order.chars().next().unwrap();
    assert_eq!(told["next"]["setup"], first.to_string());
    assert_eq!(told["set_up"], first == 'A');
    let to = range.call("plan", &json!({"plan": plan}))["change"].clone();
    let turned = json!([{"setting": "plunger_turns", "to": 2.25, "words": "plunger 2.25 turns"}]);
    assert_eq!(to, if first == 'A' { json!([]) } else { turned });
    // The first end is shot as the plan asks.
    range.change(19, 11, "plunger_turns", json!(if first == 'A' { 2.0 } else { 2.25 }));
    let end = range.new_id();
    let group = Group {
        bow: Some(bow),
        archer: Some(range.me),
        at: Some("2026-04-19T11:30:00Z".into()),
        distance_m: Some(30.0),
        points_mm: Some(vec![Some([1.0, 2.0]), Some([3.0, -5.0])]),
        plan: Some(id),
        plan_place: Some(0),
        ..Group::default()
    };
    range.add(end, &group);
    let told = range.call("plan", &json!({"plan": plan}));
    assert_eq!((&told["left"], &told["next"]["end"]), (&json!(11), &json!(2)), "{told}");
    assert!(told["next"]["words"].as_str().unwrap().starts_with("End 2 of 12, setup "), "{told}");
}

#[test]
fn what_cannot_be_planned_is_said_at_its_field() {
    let mut range = Range::with_bow("elm");
    let bow = range.bow;
    assert_eq!(range.refused("plan_offer", &json!({"bow": bow}))["field"], "bow");
    let mut range = shot();
    begun(&mut range);
    let good = json!({"bow": bow, "a": {"plunger_turns": "2"}, "b": {"plunger_turns": "3"}, "smallest_mm": 20,
        "ends_each": 6, "name": "other"});
    let mut field = |name: &str, value: Value| {
        let mut asked = good.clone();
        asked[name] = value;
        range.refused("plan_new", &asked)["field"].clone()
    };
    assert_eq!(field("name", json!("Softer")), "name");
    assert_eq!(field("name", json!("")), "name");
    assert_eq!(field("b", json!({"plunger_turns": "2"})), "b");
    assert_eq!(field("b", json!({"brace_height_mm": "215"})), "b");
    assert_eq!(field("b", json!({"plunger_turns": "soft"})), "b.plunger_turns");
    assert_eq!(field("ends_each", json!(5)), "ends_each");
    assert_eq!(field("smallest_mm", json!(0)), "smallest_mm");
}
