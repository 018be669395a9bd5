//! Things: listed, added, set, taken out of use.

use super::Page;
use serde_json::{Value, json};

#[test]
fn things_are_added_as_they_are_typed() {
    let (mut page, bow, _) = Page::with_bow();
    let told = page.ok("things", json!({"kind": "arrows"}));
    assert_eq!(told["things"][0]["words"], "count 12, shaft diameter 5.5 mm");
    assert_eq!(told["things"][0]["fields"]["shaft_diameter_mm"], 5.5);
    let bows = page.ok("things", json!({"kind": "bow"}));
    assert_eq!((&bows["things"][0]["id"], &bows["things"][0]["words"]), (&json!(bow), &json!("riser 25 in")));
    for (kind, fields, at) in [
        ("bow", json!({"name": " elm"}), "name"),
        ("bow", json!({"name": ""}), "name"),
        ("bow", json!({}), "name"),
        ("bow", json!({"name": "18m"}), "name"),
        ("bow", json!({"name": "Oak", "riser": "2"}), "riser_in"),
        ("bow", json!({"name": "Oak", "colour": "red"}), "colour"),
        ("part", json!({"name": "Long"}), "what"),
        ("part", json!({"name": "Long", "what": "wheel"}), "what"),
        ("arrows", json!({"name": "Blue", "count": "0"}), "count"),
        ("group", json!({"note": "x"}), "kind"),
        ("lamp", json!({"name": "x"}), "kind"),
    ] {
        assert_eq!(page.error("add", json!({"kind": kind, "fields": fields})).1, at, "{kind} {fields}");
    }
    let part =
        json!({"name": "Long limbs", "what": "limbs", "marked_weight": "36", "limb_length": "", "note": " "});
    let told = page.ok("add", json!({"kind": "part", "fields": part}));
    assert_eq!(told["name"], "Long limbs");
    let parts = page.ok("things", json!({"kind": "part"}));
    assert_eq!(parts["things"][0]["words"], "what limbs, marked weight 36 lbf");
}

#[test]
fn a_thing_that_is_added_twice_under_one_id_is_one() {
    let mut page = Page::new();
    let id = page.id("new_id", json!({}));
    let input = json!({"kind": "bow", "id": id, "fields": {"name": "Elm"}});
    assert_eq!(page.ok("add", input.clone()), page.ok("add", input));
    assert_eq!(page.ok("things", json!({"kind": "bow"}))["things"].as_array().unwrap().len(), 1);
}

#[test]
fn fields_are_set_and_taken_out() {
    let (mut page, bow, _) = Page::with_bow();
    let set = |fields: Value| json!({"kind": "bow", "id": bow, "fields": fields});
    let told = page.ok("set", set(json!({"name": "Elm", "riser": "23,5", "note": "lent"})));
    assert_eq!(told["words"], json!(["Kept: note lent.", "Kept: riser 25 -> 23.5 in."]));
    page.ok("set", set(json!({"note": ""})));
    let fields = page.ok("things", json!({"kind": "bow"}))["things"][0]["fields"].clone();
    assert_eq!((&fields["note"], &fields["riser_in"]), (&Value::Null, &json!(23.5)));
    assert_eq!(page.error("set", set(json!({"name": " "}))).1, "name");
    assert_eq!(page.error("set", set(json!({"riser": true}))).1, "riser_in");
    assert_eq!(page.error("set", json!({"kind": "person", "id": bow, "fields": {}})).1, "id");
}

#[test]
fn what_is_out_of_use_is_listed_when_all_is_asked_for() {
    let (mut page, bow, _) = Page::with_bow();
    let retire = |retired: bool| json!({"kind": "bow", "id": bow, "retired": retired});
    let told = page.ok("retire", retire(true));
    assert_eq!(told["words"], json!(["Elm is out of use; it can be brought back."]));
    let entries = page.kept.len();
    page.ok("retire", retire(true));
    assert_eq!(page.kept.len(), entries);
    assert_eq!(page.ok("things", json!({"kind": "bow"}))["things"], json!([]));
    assert_eq!(page.ok("things", json!({"kind": "bow", "all": true}))["things"][0]["retired"], true);
    assert_eq!(page.ok("frame", json!({}))["bow"], Value::Null);
    page.ok("retire", retire(false));
    assert_eq!(page.ok("frame", json!({}))["bow"]["name"], "Elm");
}

#[test]
fn fields_say_how_they_are_typed() {
    let told = Page::new().ok("fields", json!({"kind": "part"}))["fields"].clone();
    let what = told.as_array().unwrap().iter().find(|f| f["field"] == "what").unwrap();
    assert_eq!((&what["form"], &what["choices"][1]), (&json!("choice"), &json!("limbs")));
    let weight = told.as_array().unwrap().iter().find(|f| f["field"] == "marked_weight_lbf").unwrap();
    assert_eq!(
        (&weight["name"], &weight["unit"], &weight["form"]),
        (&json!("marked weight"), &json!("lbf"), &json!("number"))
    );
}
