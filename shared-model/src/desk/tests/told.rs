//! What happened to a bow, notes, and what two devices wrote apart.

use super::{Page, end};
use serde_json::{Value, json};

#[test]
fn a_timeline_is_told_newest_first_a_page_at_a_time() {
    let (mut page, bow, arrows) = Page::with_bow();
    page.ok("change", json!({"bow": bow, "set": [{"setting": "plunger", "to": 2}], "note": "new spring"}));
    let sent = end(&mut page, &bow, &arrows, json!([{"mm": [10, 0]}, {"mm": [14, 0]}, {"mm": null}]));
    let group = page.ok("keep", sent)["group"].clone();
    page.ok("note", json!({"text": "loose on the last", "group": group}));
    let all = page.ok("timeline", json!({"bow": bow}));
    let told: Vec<(&Value, &Value)> =
        all["items"].as_array().unwrap().iter().map(|i| (&i["kind"], &i["words"])).collect();
    let want = [
        ("note", "loose on the last"),
        ("group", "3 arrows at 18 m, 20 points; 12 mm right"),
        ("change", "plunger set to 2 turns"),
    ];
    assert_eq!(told.len(), 3);
    for ((kind, words), (want_kind, want_words)) in told.iter().zip(want) {
        assert_eq!((kind.as_str().unwrap(), words.as_str().unwrap()), (want_kind, want_words));
    }
    assert_eq!(
        (&all["more"], &all["items"][1]["arrows"], &all["items"][2]["note"]),
        (&json!(false), &json!(3), &json!("new spring"))
    );
    assert!(
        all["items"]
            .as_array()
            .unwrap()
            .iter()
            .all(|item| item["by"] == "Ada" && item["day"] == "2026-04-12")
    );
    let first = page.ok("timeline", json!({"bow": bow, "limit": 2}));
    assert_eq!((first["items"].as_array().unwrap().len(), &first["more"]), (2, &json!(true)));
    let rest = page.ok("timeline", json!({"bow": bow, "limit": 2, "before": first["items"][1]["id"]}));
    assert_eq!((&rest["items"][0]["kind"], &rest["more"]), (&json!("change"), &json!(false)));
    let by_time = page.ok("timeline", json!({"bow": bow, "before": first["items"][1]["at"]}));
    assert_eq!(by_time["items"], rest["items"]);
    assert_eq!(page.error("timeline", json!({"bow": bow, "before": "then"})).1, "before");
    assert_eq!(page.error("timeline", json!({})).1, "bow");
}

#[test]
fn a_note_says_what_it_is_about() {
    let (mut page, bow, _) = Page::with_bow();
    assert_eq!(page.error("note", json!({"text": " ", "bow": bow})).1, "text");
    assert_eq!(page.error("note", json!({"text": "x"})).1, "bow");
    assert_eq!(page.error("note", json!({"text": "x", "group": bow})).1, "group");
    let id = page.id("new_id", json!({}));
    for _ in 0..2 {
        page.ok("note", json!({"id": id, "text": "string frayed", "bow": bow}));
    }
    assert_eq!(page.ok("things", json!({"kind": "note"}))["things"].as_array().unwrap().len(), 1);
}

#[test]
fn a_sight_mark_is_kept_with_its_distance() {
    let (mut page, bow, _) = Page::with_bow();
    let id = page.id("new_id", json!({}));
    for _ in 0..2 {
        page.ok("mark", json!({"id": id, "bow": bow, "distance_m": "30 m", "mark": "41,5"}));
    }
    let sheet = page.ok("bow", json!({"bow": bow}));
    let marks = sheet["marks"].as_array().unwrap();
    assert_eq!(
        (marks.len(), &marks[0]["mark"], &marks[0]["distance_words"]),
        (1, &json!("41.5"), &json!("30 m"))
    );
    assert_eq!(page.error("mark", json!({"bow": bow, "distance_m": "30 m"})).1, "mark");
    assert_eq!(page.error("mark", json!({"bow": bow, "mark": "40"})).1, "distance_m");
    assert_eq!(page.error("mark", json!({"bow": bow, "distance_m": "30 m", "mark": "many"})).1, "mark");
}

#[test]
fn marks_are_told_for_any_distance_with_a_card_to_print() {
    let (mut page, bow, arrows) = Page::with_bow();
    let empty = page.ok("marks", json!({"bow": bow}));
    assert_eq!((&empty["sets"], empty["hint"].is_string()), (&json!([]), true));
    for (distance, mark) in [("12 m", "25,7"), ("18 m", "31.3"), ("30 m", "45.6"), ("50 m", "72.5")] {
        page.ok("mark", json!({"bow": bow, "arrows": arrows, "distance_m": distance, "mark": mark}));
    }
    // 58.72 by a program of its own: tests/reference/scripts/marks.py.
    let told = page.ok("mark", json!({"bow": bow, "arrows": arrows, "distance_m": "40 m", "mark": "58.7"}));
    let words = told["words"][1].as_str().unwrap();
    assert!(words.starts_with("Your 4 other marks expected 58."), "{words}");
    let told = page.ok("marks", json!({"bow": bow, "at": "45 m", "speed": "57 m/s", "unit": "1mm"}));
    let set = &told["sets"][0];
    assert_eq!(
        (&set["title"], &set["asked"][0]["distance_words"]),
        (&json!("Ada: sight marks with Red twelve"), &json!("45 m"))
    );
    assert!((set["asked"][0]["value"].as_f64().unwrap() - 65.55).abs() < 0.1, "{}", set["asked"]);
    for picture in ["picture", "strip"] {
        let svg = set[picture].as_str().unwrap();
        assert!(svg.starts_with("<svg ") && !svg.contains("NaN"), "{svg}");
    }
    let picture = set["picture"].as_str().unwrap();
    assert!(picture.contains(">sight mark<") && picture.contains(">distance, m<"), "{picture}");
    assert!(set["strip"].as_str().unwrap().contains("true scale"));
    page.ok("mark", json!({"bow": bow, "distance_m": "20 yd", "crawl": "2,4 cm"}));
    page.ok("mark", json!({"bow": bow, "distance_m": "20 yd", "gap": "-300"}));
    assert_eq!(page.ok("marks", json!({"bow": bow}))["sets"].as_array().unwrap().len(), 3);
    let gap = page.ok("marks", json!({"bow": bow, "what": "gap"}));
    assert_eq!(gap["sets"][0]["marks"][0]["mark"], "-300 mm");
    for (input, field) in [
        (json!({"bow": bow, "distance_m": "20 yd", "crawl": "24 cm"}), "crawl"),
        (json!({"bow": bow, "distance_m": "20 yd", "crawl": "24", "gap": "3"}), "gap"),
        (json!({"bow": bow, "distance_m": "-20 yd", "gap": "3"}), "distance_m"),
    ] {
        assert_eq!(page.error("mark", input).1, field);
    }
    for (input, field) in [
        (json!({"bow": bow, "at": "-5 m"}), "at"),
        (json!({"bow": bow, "speed": "900 fps"}), "speed"),
        (json!({"bow": bow, "eye": "95 lbf"}), "eye"),
        (json!({"bow": bow, "unit": "0"}), "unit"),
        (json!({"bow": bow, "what": "scope"}), "what"),
        (json!({}), "bow"),
    ] {
        assert_eq!(page.error("marks", input).1, field);
    }
}

#[test]
fn a_coach_may_write_a_note() {
    let (mut page, bow, _) = Page::with_bow();
    page.card["server"] = json!({"token": "t", "role": "coach"});
    let mut page = page.opened();
    page.ok("note", json!({"text": "watch the draw", "bow": bow}));
    assert_eq!(page.error("change", json!({"bow": bow, "set": [{"setting": "plunger", "to": 2}]})).0, "role");
}

#[test]
fn a_difference_is_settled_by_one_word() {
    let (mut page, bow, _) = Page::with_bow();
    let mut other = page.opened();
    other.card["device"] = json!("01902f3a-7c1e-7d2b-9a55-0c6f1f2e3d4c");
    let mut other = other.opened();
    page.ok("set", json!({"kind": "bow", "id": bow, "fields": {"riser": "23"}}));
    other.now_ms += 600_000;
    other.ok("set", json!({"kind": "bow", "id": bow, "fields": {"riser": "27"}}));
    page.ok("load", json!({"entries": other.kept}));
    let told = page.ok("differences", json!({}))["differences"].clone();
    assert_eq!(told.as_array().unwrap().len(), 1);
    let open = &told[0];
    assert_eq!(
        (&open["name"], &open["what"], &open["field"]),
        (&json!("Elm"), &json!("riser"), &json!("riser_in"))
    );
    let values = &open["values"];
    assert_eq!((&values[0]["shown"], &values[0]["stands"]), (&json!("27 in"), &json!(true)));
    assert_eq!((&values[1]["shown"], &values[1]["by"]), (&json!("23 in"), &json!("Ada")));
    let settle = |choice: &Value| json!({"kind": "bow", "id": bow, "field": "riser_in", "choice": choice});
    assert_eq!(page.error("settle", settle(&json!("1"))).1, "choice");
    let told = page.ok("settle", settle(&values[0]["choice"]));
    assert_eq!(told["words"], json!(["Kept: riser is 27 in; the other values stay in the history."]));
    assert_eq!(page.ok("differences", json!({}))["differences"], json!([]));
    assert_eq!(page.ok("things", json!({"kind": "bow"}))["things"][0]["fields"]["riser_in"], 27.0);
    // The other device sees it settled too, and a second tap alters nothing.
    other.ok("load", json!({"entries": page.kept}));
    assert_eq!(other.ok("differences", json!({}))["differences"], json!([]));
    let entries = page.kept.len();
    page.ok("settle", settle(&values[1]["choice"]));
    assert_eq!(page.kept.len(), entries);
}
