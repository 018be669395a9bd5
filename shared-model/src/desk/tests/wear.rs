//! Arrows that are only counted, reminders, and limits said with what calls for them.

use super::{Page, end};
use serde_json::{Value, json};

#[track_caller]
fn row(page: &mut Page, bow: &str, name: &str) -> Value {
    let sheet = page.ok("wear", json!({"bow": bow}));
    let rows = sheet["rows"].as_array().unwrap();
    rows.iter().find(|row| row["name"] == name).unwrap_or_else(|| panic!("no {name}: {sheet}")).clone()
}

fn words(answer: &Value, field: &str) -> String {
    let all = answer[field].as_array().unwrap().iter();
    all.map(|words| words.as_str().unwrap()).collect::<Vec<_>>().join("\n")
}

/// Adds a part, and puts it on the bow.
fn fitted(page: &mut Page, bow: &str, fields: Value, setting: &str) -> Value {
    let part = page.id("add", json!({"kind": "part", "fields": fields}));
    page.ok("change", json!({"bow": bow, "set": [{"setting": setting, "to": part}]}))
}

#[test]
fn a_count_wears_what_is_on_the_bow_and_is_told_in_the_timeline() {
    let (mut page, bow, arrows) = Page::with_bow();
    fitted(&mut page, &bow, json!({"name": "red string", "what": "string"}), "string");
    let kept = end(&mut page, &bow, &arrows, json!([{"mm": [1, 2]}, {"mm": null}]));
    page.ok("keep", kept);
    let input = json!({"bow": bow, "count": "72", "arrows": "Red twelve", "note": "blank butt"});
    let told = page.ok("practice", input);
    assert_eq!(told["words"], json!(["Kept: 72 arrows of Red twelve shot without placing."]));
    let string = row(&mut page, &bow, "red string");
    assert_eq!(
        (&string["arrows"], &string["placed"], &string["practice"], &string["due"]),
        (&json!(74), &json!(2), &json!(72), &json!("unset"))
    );
    assert_eq!(string["words"], "74 arrows since 12 April 2026, 72 of them counted only");
    assert_eq!(row(&mut page, &bow, "Red twelve")["arrows"], 74);
    let items = page.ok("timeline", json!({"bow": bow}))["items"].clone();
    assert_eq!(
        (&items[0]["kind"], &items[0]["words"], &items[0]["note"], &items[0]["by"]),
        (
            &json!("practice"),
            &json!("72 arrows of Red twelve shot without placing"),
            &json!("blank butt"),
            &json!("Ada")
        )
    );
    // No end counts them.
    assert_eq!(
        (&items[1]["kind"], &items[1]["arrows"], &items[0]["arrows"]),
        (&json!("group"), &json!(2), &Value::Null)
    );
    let id = items[0]["id"].clone();
    assert_eq!(items[0]["count"], 72);
    let told = page.ok("set", json!({"kind": "practice", "id": id, "fields": {"count": "60"}}));
    assert!(words(&told, "words").contains("60"), "{told}");
    assert_eq!(row(&mut page, &bow, "red string")["arrows"], 62);
    page.ok("retire", json!({"kind": "practice", "id": id, "retired": true}));
    assert_eq!(row(&mut page, &bow, "red string")["arrows"], 2);
    page.ok("retire", json!({"kind": "practice", "id": id, "retired": false}));
    let mut again = page.opened();
    assert_eq!(row(&mut again, &bow, "red string")["arrows"], 62);
}

#[test]
fn a_count_that_is_sent_again_is_kept_once_and_a_wrong_one_is_refused() {
    let (mut page, bow, _) = Page::with_bow();
    let id = page.id("new_id", json!({}));
    let count = |n: &str| json!({"id": id, "bow": bow, "count": n});
    assert_eq!(page.ok("practice", count("36"))["practice"], json!(id));
    assert!(words(&page.ok("practice", count("36")), "words").contains("already"));
    page.ok("practice", count("48"));
    let items = page.ok("timeline", json!({"bow": bow}))["items"].clone();
    assert_eq!(
        (items.as_array().unwrap().len(), &items[0]["words"]),
        (1, &json!("48 arrows shot without placing"))
    );
    for (input, field) in [
        (json!({"bow": bow}), "count"),
        (json!({"bow": bow, "count": "0"}), "count"),
        (json!({"bow": bow, "count": "-6"}), "count"),
        (json!({"bow": bow, "count": "5001"}), "count"),
        (json!({"bow": bow, "count": "many"}), "count"),
        (json!({"count": "6"}), "bow"),
        (json!({"bow": bow, "count": "6", "arrows": "Green"}), "arrows"),
        (json!({"bow": bow, "count": "6", "at": "soon"}), "at"),
    ] {
        assert_eq!(page.error("practice", input).1, field);
    }
}

#[test]
fn a_reminder_is_spoken_of_when_it_comes_near_and_when_it_is_due_and_not_in_between() {
    let (mut page, bow, arrows) = Page::with_bow();
    let string = json!({"name": "red string", "what": "string", "remind_at_arrows": "100"});
    fitted(&mut page, &bow, string, "string");
    let mut counted = |n: &str| {
        let told = page.ok("practice", json!({"bow": bow, "count": n}));
        told["words"]
            .as_array()
            .unwrap()
            .iter()
            .skip(1)
            .map(|w| w.as_str().unwrap().to_owned())
            .collect::<Vec<_>>()
    };
    assert_eq!(counted("94"), [""; 0]);
    assert_eq!(
        counted("1"),
        ["The red string has seen 95 of the 100 arrows after which you want to be reminded: look it over."]
    );
    assert_eq!(counted("2"), [""; 0]);
    let shot = json!([{"mm": [1, 2]}, {"mm": [1, 3]}, {"mm": null}, {"mm": [1, 5]}]);
    let first = end(&mut page, &bow, &arrows, shot);
    let told = page.ok("keep", first.clone());
    assert!(words(&told, "words").contains("has seen 101 arrows, 1 more than the 100"), "{told}");
    assert!(!words(&page.ok("keep", first), "words").contains("reminded"));
    let row = row(&mut page, &bow, "red string");
    assert_eq!((&row["due"], &row["remind_at"]), (&json!("now"), &json!(100)));
    page.ok("set", json!({"kind": "part", "id": row["id"], "fields": {"remind_at_arrows": "2500"}}));
    assert_eq!(super::wear::row(&mut page, &bow, "red string")["due"], "later");
}

#[test]
fn what_is_only_named_in_words_says_how_it_gets_a_reminder_and_keeps_its_count_as_a_part() {
    let (mut page, bow, _) = Page::with_bow();
    let change = page.ok("change", json!({"bow": bow, "set": [{"setting": "rest", "to": "wire rest"}]}));
    page.ok("practice", json!({"bow": bow, "count": "60"}));
    let named = row(&mut page, &bow, "wire rest");
    assert_eq!((&named["kind"], &named["change"]), (&Value::Null, &change["change"]));
    assert!(named["how"].as_str().unwrap().contains("12 April 2026"), "{named}");
    let part = page.id("add", json!({"kind": "part", "fields": {"name": "wire", "what": "rest"}}));
    let fields = json!({"rest": part});
    page.ok("set", json!({"kind": "change", "id": change["change"], "fields": fields}));
    let rest = row(&mut page, &bow, "wire");
    assert_eq!((&rest["arrows"], &rest["kind"], &rest["how"]), (&json!(60), &json!("part"), &Value::Null));
}

#[test]
fn a_limit_is_said_with_the_change_and_beside_the_setting_and_with_the_first_end() {
    let (mut page, bow, arrows) = Page::with_bow();
    let riser = json!({"name": "steel", "what": "riser", "most_bolt_turns": "4"});
    fitted(&mut page, &bow, riser, "riser");
    let told = page.ok("change", json!({"bow": bow, "set": [{"setting": "limb_bolt_top_turns", "to": "5"}]}));
    let care = words(&told, "cautions");
    let stop = "Stop. The top limb bolt is 5 turns out, 1 turn beyond the 4 turns that the maker of the riser allows.";
    assert!(care.starts_with(stop) && care.contains("limb can come off"), "{care}");
    // It is kept all the same, and a change that has nothing to do with it says nothing of it.
    let told = page.ok("change", json!({"bow": bow, "set": [{"setting": "tiller", "to": "4"}]}));
    assert!(!words(&told, "cautions").contains("Stop."));
    let sheet = page.ok("bow", json!({"bow": bow}));
    let bolt =
        sheet["setup"].as_array().unwrap().iter().find(|r| r["setting"] == "limb_bolt_top_turns").unwrap();
    assert_eq!(bolt["cautions"][0], stop);
    assert_eq!(sheet["cautions"][0], stop);
    let first = end(&mut page, &bow, &arrows, json!([{"mm": [1, 2]}]));
    assert!(words(&page.ok("keep", first.clone()), "words").contains(stop));
    assert!(!words(&page.ok("keep", first), "words").contains("Stop."));
    let measured = json!({"limb_bolt_top_turns": "4 1/4"});
    let sheet = page.ok("rebuild", json!({"bow": bow, "measured": measured}));
    let bolt =
        sheet["rows"].as_array().unwrap().iter().find(|r| r["setting"] == "limb_bolt_top_turns").unwrap();
    assert!(words(bolt, "beyond").contains("0.25 turns beyond the 4 turns"), "{bolt}");
}

#[test]
fn a_weight_far_above_what_was_shot_asks_for_a_coach_until_it_was_shot() {
    let (mut page, bow, arrows) = Page::with_bow();
    page.ok("change", json!({"bow": bow, "set": [{"setting": "draw_weight_lbf", "to": "34"}]}));
    let one = end(&mut page, &bow, &arrows, json!([{"mm": [1, 2]}]));
    page.ok("keep", one);
    let oak = page.id("add", json!({"kind": "bow", "fields": {"name": "Oak"}}));
    let weight = |to: &str| json!({"bow": oak, "set": [{"setting": "draw_weight_lbf", "to": to}]});
    let care = words(&page.ok("change", weight("40")), "cautions");
    assert!(care.starts_with("Stop. 40 lbf on the fingers: 6 lbf (18 %) above the 34 lbf"), "{care}");
    assert!(care.contains("qualified coach") && care.contains("common practice, no source"));
    let care = words(&page.ok("change", weight("36.5")), "cautions");
    assert!(care.starts_with("36.5 lbf on the fingers: 2.5 lbf (7 %)") && !care.contains("Stop."), "{care}");
    assert!(!words(&page.ok("change", weight("35")), "cautions").contains("by these records"));
    page.ok("change", weight("40"));
    page.ok("practice", json!({"bow": oak, "count": "100"}));
    assert!(!words(&page.ok("change", weight("40")), "cautions").contains("by these records"));
}

#[test]
fn a_miss_with_carbon_is_spoken_of_once_a_day() {
    let (mut page, bow, _) = Page::with_bow();
    let fields = json!({"name": "Black six", "material": "carbon"});
    let black = page.id("add", json!({"kind": "arrows", "fields": fields}));
    page.ok("change", json!({"bow": bow, "set": [{"setting": "arrows", "to": black}]}));
    let miss = end(&mut page, &bow, &black, json!([{"mm": [1, 2]}, {"mm": null}]));
    let told = words(&page.ok("keep", miss.clone()), "words");
    assert!(told.contains("1 arrow of the set missed") && told.contains("flex and look over"), "{told}");
    assert!(!words(&page.ok("keep", miss), "words").contains("flex"));
    let sheet = page.ok("bow", json!({"bow": bow}));
    let row = sheet["setup"].as_array().unwrap().iter().find(|r| r["setting"] == "arrows").unwrap();
    assert!(row["cautions"][0].as_str().unwrap().starts_with("2 arrows of the set missed"), "{row}");
}

#[test]
fn a_weight_that_nobody_measured_is_held_against_the_limit_by_what_is_marked_and_then_by_the_curve() {
    let (mut page, bow, _) = Page::with_bow();
    let me = page.me();
    page.ok("set", json!({"kind": "person", "id": me, "fields": {"draw_length_in": "28"}}));
    let limbs = json!({"name": "long 40", "what": "limbs", "marked_weight": "40", "most_weight": "41"});
    let care = words(&fitted(&mut page, &bow, limbs, "limbs"), "cautions");
    // By hand: 40 lbf less and more 5 % by the limb bolts, at the draw and on the riser for which it is marked.
    assert!(
        care.starts_with(
            "Up to 42 lbf on the fingers are to be expected, and the maker of the limbs allows 41 lbf"
        ),
        "{care}"
    );
    let weight = page.ok("bow", json!({"bow": bow}))["weight"].clone();
    let said =
        weight.as_array().unwrap().iter().find(|one| one["source"] == "the maker of the limbs").unwrap();
    assert!(said["words"].as_str().unwrap().contains("measure it with a bow scale"), "{weight}");
    let points = json!([{"draw": "24", "weight": "30"}, {"draw": "26", "weight": "35"}, {"draw": "28", "weight": "40"}]);
    page.ok("note_curve", json!({"bow": bow, "points": points}));
    let sheet = page.ok("bow", json!({"bow": bow}));
    assert!(!sheet["cautions"].to_string().contains("Up to 42 lbf"), "{}", sheet["cautions"]);
    let told = page.ok("change", json!({"bow": bow, "set": [{"setting": "draw_weight_lbf", "to": "42"}]}));
    assert!(
        words(&told, "cautions").starts_with("Stop. 42 lbf on the fingers: 1 lbf above the 41 lbf"),
        "{told}"
    );
}
