//! Draw curves, speeds and pairs as the page notes and shows them.

use super::Page;
use serde_json::{Value, json};

fn points(all: &[[&str; 2]]) -> Value {
    json!(all.iter().map(|[draw, weight]| json!({"draw": draw, "weight": weight})).collect::<Vec<_>>())
}

/// A bow with limbs and a brace height, and the two ids.
fn braced() -> (Page, String, String, String) {
    let (mut page, bow, arrows) = Page::with_bow();
    let part = |name: &str| json!({"kind": "part", "fields": {"name": name, "what": "limbs", "marked_weight": "36"}});
    let limbs = page.id("add", part("Long 36"));
    page.id("add", part("Short 34"));
    let set = json!([{"setting": "limbs", "to": limbs}, {"setting": "brace_height_mm", "to": "209,55"}]);
    page.ok("change", json!({"bow": bow, "set": set}));
    (page, bow, arrows, limbs)
}

#[test]
fn a_curve_is_noted_as_it_is_typed_and_kept_once() {
    let (mut page, bow, arrows, _) = braced();
    let me = page.me();
    page.ok("set", json!({"kind": "person", "id": me, "fields": {"draw_length": "27"}}));
    let none = page.ok("curve", json!({"bow": bow}));
    assert_eq!((&none["curve"], &none["svg"]), (&Value::Null, &Value::Null));
    assert!(none["head"].as_str().unwrap().starts_with("No draw curve of Elm is noted yet"));
    let id = page.id("new_id", json!({}));
    let typed =
        points(&[["12", "4"], ["", ""], ["45,72 cm", "16 lbf"], ["24", "28"], ["28", "36"], ["", ""]]);
    let note = json!({"id": id, "bow": bow, "points": typed, "from": "brace"});
    let told = page.ok("note_curve", note.clone());
    assert!(told["words"][0].as_str().unwrap().starts_with("Kept: 4 points from 12 to 28 in"), "{told}");
    let again = page.ok("note_curve", note);
    assert_eq!(again["words"], json!(["This was kept already."]));
    let sheet = page.ok("curve", json!({"bow": bow, "at": ["20", "58.42cm"]}));
    assert_eq!(sheet["curves"].as_array().unwrap().len(), 1);
    assert!(sheet["svg"].as_str().unwrap().starts_with("<svg") && sheet["stale"].is_null());
    let near = |value: &Value, want: f64| assert!((value.as_f64().unwrap() - want).abs() < 1e-6, "{value}");
    near(&sheet["asked"][0]["weight_lbf"], 20.0);
    near(&sheet["asked"][1]["weight_lbf"], 26.0);
    near(&sheet["figures"]["weight_lbf"], 34.0);
    page.ok("set", json!({"kind": "arrows", "id": arrows, "fields": {"mass": "330"}}));
    page.ok("note_speed", json!({"bow": bow, "speed": "45.72 m/s", "arrows": arrows}));
    let sheet = page.ok("curve", json!({"bow": bow, "units": "imperial"}));
    // NIST SP 811: 330 gr are 21.38364 g, at 45.72 m/s 22.34927 J; 289 / 12 ft lbf are 32.65262 J.
    let share = sheet["figures"]["efficiency"].as_f64().unwrap();
    assert!((share - 22.349_27 / 32.652_62).abs() < 1e-5, "{share}");
    assert!(!sheet["head"].as_str().unwrap().contains("kgf"), "imperial");
    page.ok("retire", json!({"kind": "curve", "id": id, "retired": true}));
    assert!(page.ok("curve", json!({"bow": bow}))["curve"].is_null(), "one out of use is none");
    page.ok("retire", json!({"kind": "curve", "id": id, "retired": false}));
    assert_eq!(page.ok("curve", json!({"bow": bow}))["curve"], json!(id));
}

#[test]
fn what_is_wrong_stands_at_its_field_and_nothing_is_kept() {
    let (mut page, bow, arrows, _) = braced();
    let two = [["12", "4"], ["28", "36"]];
    for (more, field) in [
        (json!({"points": points(&[["12", "4"], ["12", "5"]])}), "points[1].draw"),
        (json!({"points": points(&[["12", "4"], ["", "5"]])}), "points[1].draw"),
        (json!({"points": points(&[["12", "4"], ["71", "36"]])}), "points[1].draw"),
        (json!({"points": points(&[["12", "40"], ["28", "36"]])}), "points[1].weight"),
        (json!({"points": points(&[["9", "4"], ["28", "36"]]), "from": "brace"}), "points[0].draw"),
        (json!({"points": "12=4"}), "points"),
        (json!({"points": []}), "points"),
        (json!({"points": points(&two), "from": "wall"}), "from"),
        (json!({"points": points(&two), "at": "late"}), "at"),
    ] {
        let mut input = more;
        input["bow"] = json!(bow);
        assert_eq!(page.error("note_curve", input.clone()).1, field, "{input}");
    }
    assert_eq!(page.error("note_speed", json!({"bow": bow})).1, "speed");
    assert_eq!(page.error("note_speed", json!({"bow": bow, "speed": "20", "arrows": arrows})).1, "speed");
    assert_eq!(page.error("curve", json!({"bow": bow, "at": "20"})).0, "no_curve");
    page.ok("note_curve", json!({"bow": bow, "points": points(&two)}));
    for at in [json!("29"), json!(["20", "11"]), json!("wide"), json!(-3)] {
        assert_eq!(page.error("curve", json!({"bow": bow, "at": at})).1, "at", "{at}");
    }
    let oak = page.id("add", json!({"kind": "bow", "fields": {"name": "Oak"}}));
    assert_eq!(page.error("curve", json!({"bow": bow, "beside": oak})).1, "beside");
}

#[test]
fn the_bow_sheet_says_the_weight_by_the_curve_while_it_holds() {
    let (mut page, bow, _, _) = braced();
    let me = page.me();
    page.ok("set", json!({"kind": "person", "id": me, "fields": {"pivot_draw": "25.25"}}));
    page.ok("note_curve", json!({"bow": bow, "points": points(&[["12", "4"], ["18", "16"], ["28", "36"]])}));
    let first = |page: &mut Page| {
        let sheet = page.ok("bow", json!({"bow": bow}));
        sheet["weight"][0]["words"].as_str().unwrap().to_owned()
    };
    assert_eq!(first(&mut page), "34 lbf at Ada's draw of 27 in, by the draw curve.");
    page.ok("change", json!({"bow": bow, "set": [{"setting": "brace_height_mm", "to": "215"}]}));
    let told = first(&mut page);
    assert!(told.contains("of an older setup: brace height 209.55 to 215 mm since"), "{told}");
    let sheet = page.ok("curve", json!({"bow": bow}));
    assert!(sheet["stale"].as_str().unwrap().contains("brace height 209.55 to 215 mm"), "{sheet}");
    page.ok("change", json!({"bow": bow, "set": [{"setting": "draw_weight_lbf", "to": "32"}]}));
    page.ok("change", json!({"bow": bow, "set": [{"setting": "brace_height_mm", "to": "209.55"}]}));
    assert!(first(&mut page).starts_with("34 lbf"));
    let sheet = page.ok("bow", json!({"bow": bow}));
    assert!(sheet["weight"][1]["words"].as_str().unwrap().contains("not what the curve says"), "{sheet}");
}

#[test]
fn limbs_that_are_put_on_come_with_what_made_the_pair_true() {
    let (mut page, bow, _, limbs) = braced();
    let fields =
        json!({"fit": "true", "limb_bolt_top_turns": "3", "limb_bolt_bottom_turns": "3", "tiller_mm": ""});
    let told = page.ok("note_pair", json!({"bow": bow, "limbs": limbs, "fields": fields}));
    assert!(told["words"][1].as_str().unwrap().contains("top limb bolt 3 turns"), "{told}");
    let put = |to: &str| json!({"bow": bow, "set": [{"setting": "limbs", "to": to}]});
    let told = page.ok("change", put("Short 34"));
    assert!(told["pair"]["words"][0].as_str().unwrap().contains("is not measured yet"), "{told}");
    let told = page.ok("change", put("Long 36"));
    assert!(told["pair"]["words"][1].as_str().unwrap().starts_with("Go to top limb bolt 3 turns"), "{told}");
    assert_eq!(told["pair"]["settings"][0]["value"], 3.0);
    assert!(told["cautions"].as_array().unwrap().iter().any(|c| c.as_str().unwrap().contains("limb bolt")));
    let told = page.ok("change", json!({"bow": bow, "set": [{"setting": "plunger_turns", "to": "2"}]}));
    assert!(told["pair"].is_null());
    let rows = page.ok("pairs", json!({}));
    let fits: Vec<&Value> = rows["rows"].as_array().unwrap().iter().map(|row| &row["fit"]).collect();
    assert_eq!(fits, [&json!("true"), &Value::Null]);
    for (fields, field) in [
        (json!({"fit": "snug"}), "fit"),
        (json!({}), "fit"),
        (json!({"fit": "true", "tiller_mm": "90"}), "tiller_mm"),
        (json!([]), "fields"),
    ] {
        assert_eq!(page.error("note_pair", json!({"bow": bow, "fields": fields})).1, field, "{fields}");
    }
}
