//! Parts and what fits: listed, told, moved from bow to bow.

use super::Page;
use serde_json::{Value, json};

/// A page with the bow Elm, the bow Oak and a pair of limbs: their ids.
fn begun() -> (Page, [String; 3]) {
    let (mut page, elm, _) = Page::with_bow();
    let oak = page.id("add", json!({"kind": "bow", "fields": {"name": "Oak", "discipline": "field"}}));
    let fields = json!({
        "name": "Long 36", "what": "limbs", "limb_length": "long", "marked_weight_lbf": "36", "most_weight_lbf": "40",
    });
    let limbs = page.id("add", json!({"kind": "part", "fields": fields}));
    (page, [elm, oak, limbs])
}

fn put(page: &mut Page, bow: &str, limbs: &str) -> Value {
    page.ok("change", json!({"bow": bow, "set": [{"setting": "limbs", "to": limbs}]}))
}

#[test]
fn a_part_that_goes_to_another_bow_is_said_where_it_was() {
    let (mut page, [elm, oak, limbs]) = begun();
    assert_eq!(put(&mut page, &elm, &limbs)["moved"], json!([]));
    let told = put(&mut page, &oak, &limbs);
    assert_eq!(
        told["moved"],
        json!(["Long 36 were on Elm until now: Elm has no limbs noted from here on; note what is on it."])
    );
    let part = page.ok("parts", json!({"what": "limbs"}))["parts"][0].clone();
    assert_eq!((&part["on"], &part["place"]), (&json!(oak), &json!("on Oak since 12 April 2026")));
    assert_eq!(part["limits"], "maker's limits: at most 40 lbf");
    let row = page.ok("bow", json!({"bow": elm}))["setup"][0].clone();
    assert_eq!((&row["shown"], &row["gone"]), (&json!("Long 36"), &json!("went to Oak on 12 April 2026")));
    // What follows from the limbs of the records no longer follows for Elm.
    let wanted = page.ok("bow", json!({"bow": elm}))["wanted"].to_string();
    assert!(wanted.contains("the length of the limbs"), "{wanted}");
    let settings = page.ok("settings", json!({"bow": elm}))["settings"].clone();
    let row = settings.as_array().unwrap().iter().find(|s| s["setting"] == "limbs").unwrap();
    assert_eq!((&row["shown"], &row["gone"]), (&Value::Null, &json!("Long 36 went to Oak on 12 April 2026")));
    let sheet = page.ok("rebuild", json!({"bow": elm}));
    assert_eq!((&sheet["rows"], &sheet["day"]), (&json!([]), &Value::Null));
    assert_eq!(sheet["elsewhere"], json!(["Long 36 (limbs) went to Oak on 12 April 2026."]));
}

#[test]
fn a_part_of_another_sort_and_a_range_upside_down_are_refused() {
    let (mut page, [elm, _, limbs]) = begun();
    let set = |setting: &str| json!({"bow": elm, "set": [{"setting": setting, "to": limbs}]});
    assert_eq!(page.error("change", set("string")), ("wrong_sort".into(), "set[0].to".into()));
    assert_eq!(page.error("change", set("rest")), ("wrong_sort".into(), "set[0].to".into()));
    let fields = json!({"name": "Grey", "what": "riser", "least_bolt_turns": "6", "most_bolt_turns": "2"});
    let refused = page.error("add", json!({"kind": "part", "fields": fields}));
    assert_eq!(refused, ("upside_down".into(), "least_bolt_turns".into()));
    let lower = json!({"kind": "part", "id": limbs, "fields": {"least_weight_lbf": "50"}});
    assert_eq!(page.error("set", lower).0, "upside_down");
    assert_eq!(page.error("parts", json!({"what": "wheel"})).1, "what");
}

#[test]
fn fields_of_parts_say_which_sorts_they_belong_to() {
    let told = Page::new().ok("fields", json!({"kind": "part"}))["fields"].clone();
    let of =
        |name: &str| told.as_array().unwrap().iter().find(|f| f["field"] == name).unwrap()["sorts"].clone();
    assert_eq!((of("strands"), of("limb_length")), (json!(["string"]), json!(["limbs"])));
    assert_eq!((of("name"), of("note")), (Value::Null, Value::Null));
}

#[test]
fn what_fits_is_told_for_who_asks_and_for_what_is_asked() {
    let (mut page, [elm, _, limbs]) = begun();
    put(&mut page, &elm, &limbs);
    let me = page.me();
    let told = page.ok("fits", json!({}));
    assert_eq!((&told["person"], &told["draw_length_in"]), (&json!(me), &Value::Null));
    page.ok(
        "set",
        json!({"kind": "person", "id": me, "fields": {"pivot_draw_in": "28.25", "hook": "split finger"}}),
    );
    let told = page.ok("fits", json!({"discipline": "Target", "weight_lbf": "38", "units": "imperial"}));
    assert_eq!((&told["draw_length_in"], &told["risers"][0]["riser_in"]), (&json!(30.0), &json!(21.0)));
    let first = &told["combinations"][0];
    assert_eq!((&first["title"], &first["on_now"]), (&json!("Elm with Long 36, a 70 in bow"), &json!(true)));
    // 36 lbf, 2 in of draw more: 36 x 1.03 to 36 x 1.17.
    let weight = |end: usize| first["weight_lbf"][end].as_f64().unwrap();
    assert!((weight(0) - 36.0 * 1.03).abs() < 1e-9 && (weight(1) - 36.0 * 1.17).abs() < 1e-9, "{first}");
    assert_eq!(first["limits"], "may_pass");
    assert!(told["said"].to_string().contains("0.12 to 0.24 in"), "{}", told["said"]);
    for (input, at) in [
        (json!({"draw_length_in": "28 cm"}), "draw_length_in"),
        (json!({"weight_lbf": "-3"}), "weight_lbf"),
        (json!({"discipline": "clout"}), "discipline"),
        (json!({"person": "Nobody"}), "person"),
    ] {
        assert_eq!(page.error("fits", input).1, at);
    }
}
