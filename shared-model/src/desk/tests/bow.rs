//! A bow: its settings, what is altered on it, baselines.

use super::{Page, end};
use proptest::prelude::*;
use serde_json::{Value, json};

#[track_caller]
fn setting(page: &mut Page, bow: &str, field: &str) -> Value {
    let all = page.ok("settings", json!({"bow": bow}))["settings"].clone();
    all.as_array().unwrap().iter().find(|s| s["setting"] == field).unwrap().clone()
}

#[test]
fn a_setting_is_told_with_its_value_steps_and_parts() {
    let (mut page, bow, arrows) = Page::with_bow();
    let none = setting(&mut page, &bow, "plunger_turns");
    assert_eq!(
        (&none["value"], &none["since"], &none["name"]),
        (&Value::Null, &Value::Null, &json!("plunger"))
    );
    page.ok(
        "change",
        json!({"bow": bow, "set": [{"setting": "plunger", "to": "2 1/4"}, {"setting": "arrows", "to": arrows},
        {"setting": "dial_mm", "to": "1,5"}]}),
    );
    let plunger = setting(&mut page, &bow, "plunger_turns");
    assert_eq!((&plunger["shown"], &plunger["since"]), (&json!("2.25 turns"), &json!("2026-04-12")));
    let words: Vec<&Value> = plunger["steps"].as_array().unwrap().iter().map(|s| &s["words"]).collect();
    assert_eq!(
        words,
        ["1 turn out", "1/2 turn out", "1/4 turn out", "1/4 turn in", "1/2 turn in", "1 turn in"]
    );
    let set = setting(&mut page, &bow, "arrows");
    assert_eq!((&set["shown"], &set["parts"][0]["id"]), (&json!("Red twelve"), &json!(arrows)));
    assert!(set["cautions"][0].as_str().unwrap().starts_with("An arrow lighter"));
    assert_eq!(setting(&mut page, &bow, "dial_mm")["shown"], "1.5 mm");
}

#[test]
fn a_change_is_read_as_it_is_typed() {
    let (mut page, bow, _) = Page::with_bow();
    let change = |set: Value| json!({"bow": bow, "set": set});
    let told = page.ok(
        "change",
        change(json!([{"setting": "brace_height", "to": "8 1/2in"}, {"setting": "plunger", "to": 2}])),
    );
    assert_eq!(told["words"], json!(["brace height set to 215.9 mm", "plunger set to 2 turns"]));
    assert!(told["cautions"][0].as_str().unwrap().contains("brace height"));
    let told = page.ok("change", change(json!([{"setting": "plunger_turns", "by": "1/4"}])));
    assert_eq!(told["words"], json!(["quarter turn on the plunger (2 to 2.25)"]));
    page.ok("change", change(json!([{"setting": "plunger_turns", "by": "-0,5"}])));
    assert_eq!(setting(&mut page, &bow, "plunger_turns")["value"], 1.75);
    // Added to what it was then, not to what it is now.
    let mut earlier = change(json!([{"setting": "plunger_turns", "by": 0.5}]));
    earlier["at"] = json!("2026-04-01 10:00");
    assert_eq!(page.error("change", earlier), ("not_noted".into(), "set[0].by".into()));
    for (set, at) in [
        (json!([]), "set"),
        (json!([{"to": 2}]), "set[0].setting"),
        (json!([{"setting": "plonger", "to": "2"}]), "set[0].setting"),
        (json!([{"setting": "plunger_turns"}]), "set[0].to"),
        (json!([{"setting": "plunger_turns", "to": "soft"}]), "set[0].to"),
        (json!([{"setting": "plunger_turns", "to": 99}]), "set[0].to"),
        (json!([{"setting": "plunger_turns", "by": 1, "to": 2}]), "set[0].by"),
        (json!([{"setting": "plunger_turns", "by": "99"}]), "set[0].by"),
        (json!([{"setting": "tiller", "by": "1"}]), "set[0].by"),
        (json!([{"setting": "limbs", "to": "Long"}]), "set[0].to"),
        (json!([{"setting": "arrows", "to": "Blue"}]), "set[0].to"),
        (json!([{"setting": "plunger", "to": 1}, {"setting": "plunger_turns", "to": 2}]), "set[1].setting"),
    ] {
        assert_eq!(page.error("change", change(set.clone())).1, at, "{set}");
    }
    let told = page.ok("change", change(json!([{"setting": "rest", "to": "the old one"}])));
    assert_eq!(told["words"], json!(["rest set to the old one"]));
}

#[test]
fn a_change_that_is_sent_twice_is_kept_once() {
    let (mut page, bow, _) = Page::with_bow();
    let id = page.id("new_id", json!({}));
    page.ok("change", json!({"bow": bow, "set": [{"setting": "plunger", "to": 2}]}));
    let sent = json!({"id": id, "bow": bow, "set": [{"setting": "plunger_turns", "by": "+1/4"}]});
    page.ok("change", sent.clone());
    assert_eq!(page.ok("change", sent)["change"], json!(id));
    assert_eq!(setting(&mut page, &bow, "plunger_turns")["value"], 2.25);
}

#[test]
fn a_baseline_is_put_back_by_a_change_of_what_differs() {
    let (mut page, bow, _) = Page::with_bow();
    assert_eq!(page.error("save_baseline", json!({"bow": bow, "name": "indoor"})).1, "bow");
    let change = |set: Value| json!({"bow": bow, "set": set});
    page.ok(
        "change",
        change(json!([{"setting": "plunger", "to": 2}, {"setting": "tiller", "to": "4,5"},
        {"setting": "rest", "to": "the old one"}])),
    );
    let baseline = page.id("save_baseline", json!({"bow": bow, "name": "indoor"}));
    assert_eq!(page.error("save_baseline", json!({"bow": bow, "name": " Indoor "})).1, "name");
    let put = json!({"bow": bow, "baseline": baseline});
    assert_eq!(page.ok("put_baseline", put.clone())["change"], Value::Null);
    page.ok(
        "change",
        change(json!([{"setting": "plunger", "by": "1/2"}, {"setting": "clicker", "to": 100}])),
    );
    let told = page.ok("baselines", json!({"bow": bow}))["baselines"][0].clone();
    assert_eq!((&told["id"], &told["name"]), (&json!(baseline), &json!("indoor")));
    assert_eq!(told["words"], "tiller 4.5 mm, rest the old one and plunger 2 turns");
    assert_eq!(told["differs"], json!(["plunger 2 turns, now 2.5 turns"]));
    let told = page.ok("put_baseline", put.clone());
    assert_eq!(told["words"], json!(["half turn on the plunger (2.5 to 2)"]));
    // Nothing but the plunger was written, and the clicker stays as it was.
    let items = page.ok("timeline", json!({"bow": bow}))["items"].clone();
    assert_eq!(items[0]["words"], "put back to indoor: half turn on the plunger (2.5 to 2)");
    let kept = page.ok("things", json!({"kind": "change", "all": true}))["things"].clone();
    let put_back = kept.as_array().unwrap().iter().find(|c| c["id"] == told["change"]).unwrap();
    let set: Vec<&String> =
        put_back["fields"].as_object().unwrap().keys().filter(|k| k.starts_with("set.")).collect();
    assert_eq!(set, ["set.plunger_turns"]);
    assert_eq!(setting(&mut page, &bow, "clicker_mm")["value"], 100.0);
    assert_eq!(page.ok("baselines", json!({"bow": bow}))["baselines"][0]["differs"], json!([]));
    let oak = page.id("add", json!({"kind": "bow", "fields": {"name": "Oak"}}));
    assert_eq!(page.error("put_baseline", json!({"bow": oak, "baseline": baseline})).1, "baseline");
}

#[test]
fn a_baseline_holds_the_setup_of_now_and_tolerances_of_ones_own() {
    let (mut page, bow, _) = Page::with_bow();
    let change = |to: &str| json!({"bow": bow, "set": [{"setting": "tiller", "to": to}]});
    page.ok("change", change("4"));
    let save = json!({"bow": bow, "name": "match", "tolerances": {"tiller": "0,5", "plunger": ""}});
    let baseline = page.id("save_baseline", save.clone());
    let told = page.ok("baselines", json!({"bow": bow}))["baselines"][0].clone();
    assert_eq!(told["tolerance_words"], "Tolerances of your own: tiller ± 0.5 mm.");
    let sheet = json!({"bow": bow, "baseline": baseline, "measured": {"tiller_mm": "4.6"}});
    let row = page.ok("rebuild", sheet.clone())["rows"][0].clone();
    assert_eq!([&row["tolerance"], &row["tolerance_source"]], ["± 0.5 mm", "your own"]);
    assert_eq!(row["ok"], false);
    // Written over: under its own id, with the tolerances that it had.
    page.ok("change", change("5"));
    assert_eq!(page.error("save_baseline", save.clone()), ("taken_name".into(), "name".into()));
    let over = json!({"bow": bow, "name": "Match", "over": true});
    assert_eq!(page.ok("save_baseline", over.clone())["id"], json!(baseline));
    assert_eq!(page.ok("save_baseline", over)["words"], json!(["match holds the setup of now already."]));
    let row = page.ok("rebuild", sheet.clone())["rows"][0].clone();
    assert_eq!([&row["target"], &row["tolerance"]], ["5 mm", "± 0.5 mm"]);
    let back = json!({"bow": bow, "baseline": baseline, "tolerances": {"tiller": ""}});
    assert_eq!(
        page.ok("tolerances", back)["words"],
        json!(["Kept: its tolerances are those of common practice again."])
    );
    assert_eq!(page.ok("rebuild", sheet)["rows"][0]["tolerance"], "± 1 mm");
    for (setting, typed, code) in [
        ("tiller", "0.5in", "out_of_range"),
        ("tiller", "0", "out_of_range"),
        ("tiller", "tight", "bad_quantity"),
        ("string", "1", "unknown_setting"),
        ("wheel", "1", "unknown_setting"),
        ("brace_height", "1", "not_noted"),
    ] {
        let set = json!({"bow": bow, "baseline": baseline, "tolerances": {setting: typed}});
        assert_eq!(page.error("tolerances", set).0, code, "{setting} {typed}");
    }
}

#[test]
fn a_part_that_is_on_another_bow_is_said_when_a_baseline_goes_back() {
    let (mut page, bow, _) = Page::with_bow();
    let string = page.id("add", json!({"kind": "part", "fields": {"name": "red", "what": "string"}}));
    let spare = page.id("add", json!({"kind": "part", "fields": {"name": "spare", "what": "string"}}));
    let put_on = |bow: &str, part: &str| json!({"bow": bow, "set": [{"setting": "string", "to": part}]});
    page.ok("change", put_on(&bow, &string));
    let baseline = page.id("save_baseline", json!({"bow": bow, "name": "match"}));
    page.ok("change", put_on(&bow, &spare));
    let oak = page.id("add", json!({"kind": "bow", "fields": {"name": "Oak"}}));
    page.ok("change", put_on(&oak, &string));
    let put = json!({"bow": bow, "baseline": baseline});
    let told = page.ok("put_baseline", put.clone());
    assert_eq!(told["words"], json!(["string spare to red"]));
    assert!(told["remarks"][0].as_str().unwrap().starts_with("By the records red is on Oak now"), "{told}");
    // Oak has another string since.
    page.ok("change", put_on(&oak, &spare));
    page.ok("change", put_on(&bow, &spare));
    assert_eq!(page.ok("put_baseline", put.clone())["remarks"], json!([]));
    page.ok("change", put_on(&bow, &spare));
    page.ok("retire", json!({"kind": "part", "id": string, "retired": true}));
    let told = page.ok("put_baseline", put);
    assert!(told["remarks"][0].as_str().unwrap().contains("out of use"), "{told}");
}

#[test]
fn a_setting_of_a_change_is_put_right() {
    let (mut page, bow, _) = Page::with_bow();
    let set = json!([{"setting": "plunger", "to": 2}, {"setting": "tiller", "to": 4}]);
    let change = page.ok("change", json!({"bow": bow, "set": set}))["change"].clone();
    let mend = |fields: Value| json!({"kind": "change", "id": change, "fields": fields});
    let told = page.ok("set", mend(json!({"plunger_turns": "2,25", "set.tiller_mm": ""})));
    assert_eq!(
        told["words"],
        json!(["Kept: plunger 2 -> 2.25 turns.", "Kept: tiller is not noted any more; it was 4 mm."])
    );
    assert_eq!(setting(&mut page, &bow, "plunger_turns")["value"], 2.25);
    assert_eq!(setting(&mut page, &bow, "tiller_mm")["value"], Value::Null);
    assert_eq!(page.error("set", mend(json!({"plunger_turns": "soft"}))).1, "plunger_turns");
    assert_eq!(page.error("set", mend(json!({"wheel": "soft"}))).1, "wheel");
}

/// What can be put on a bow.
fn put() -> impl Strategy<Value = (&'static str, i32)> {
    (prop::sample::select(vec!["plunger_turns", "tiller_mm", "clicker_mm", "nocking_point_mm"]), -10..20i32)
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(60))]

    #[test]
    fn a_baseline_that_was_put_on_is_what_the_bow_is(
        first in prop::collection::btree_map(prop::sample::select(vec!["plunger_turns", "tiller_mm", "clicker_mm"]), -10..20i32, 1..4),
        later in prop::collection::vec(put(), 0..6),
    ) {
        let (mut page, bow, _) = Page::with_bow();
        let set: Vec<Value> = first.iter().map(|(s, to)| json!({"setting": s, "to": to})).collect();
        page.ok("change", json!({"bow": bow, "set": set}));
        let baseline = page.id("save_baseline", json!({"bow": bow, "name": "indoor"}));
        for (setting, to) in later {
            page.ok("change", json!({"bow": bow, "set": [{"setting": setting, "to": to}]}));
        }
        let differs = page.ok("baselines", json!({"bow": bow}))["baselines"][0]["differs"].as_array().unwrap().len();
        let told = page.ok("put_baseline", json!({"bow": bow, "baseline": baseline}));
        prop_assert_eq!(told["change"].is_null(), differs == 0);
        if differs > 0 {
            prop_assert_eq!(told["words"].as_array().unwrap().len(), differs);
        }
        for (field, to) in first {
            let now = setting(&mut page, &bow, field)["value"].as_f64();
            prop_assert_eq!(now, Some(f64::from(to)));
        }
    }
}

/// A page that was killed before its draft let go of a change still holds it, and may go on gathering.
#[test]
fn a_change_that_is_sent_again_with_more_is_put_right() {
    let (mut page, bow, _) = Page::with_bow();
    page.ok("change", json!({"bow": bow, "set": [{"setting": "plunger_turns", "to": "3"}]}));
    let id = page.ok("new_id", json!({}))["id"].clone();
    let step = json!({"setting": "plunger_turns", "by": 0.25});
    page.ok("change", json!({"bow": bow, "id": id, "set": [step, {"setting": "brace_mm", "to": "215"}]}));
    let entries = page.kept.len();
    let same = json!({"bow": bow, "id": id, "set": [step, {"setting": "brace_mm", "to": "215"}]});
    assert_eq!(page.ok("change", same)["words"], json!(["This change was kept already."]));
    assert_eq!(page.kept.len(), entries);
    let more =
        json!({"bow": bow, "id": id, "set": [step, {"setting": "tiller_mm", "to": "4"}], "note": "gusts"});
    page.ok("change", more);
    let things = page.ok("things", json!({"kind": "change", "all": true}))["things"].clone();
    let fields = things.as_array().unwrap().iter().find(|thing| thing["id"] == id).unwrap()["fields"].clone();
    let text = fields.to_string();
    assert!(text.contains("3.25") && text.contains("tiller_mm") && text.contains("gusts"), "{text}");
    assert!(fields.get("set.brace_mm").is_none_or(Value::is_null), "{text}");
}

#[test]
fn what_was_so_all_along_is_no_change() {
    let (mut page, bow, arrows) = Page::with_bow();
    let shot = end(&mut page, &bow, &arrows, json!([{"mm": [1, 2]}, {"mm": [3, -4]}]));
    page.ok("keep", shot.clone());
    page.ok(
        "change",
        json!({"bow": bow, "set": [{"setting": "brace_height_mm", "to": "215"}], "already": true}),
    );
    page.ok("keep", shot);
    let told = page.ok("answer", json!({"bow": bow}));
    assert_eq!(told["answers"], json!([]), "nothing is judged");
    assert_eq!(setting(&mut page, &bow, "brace_height_mm")["shown"], "215 mm");
    page.ok("change", json!({"bow": bow, "set": [{"setting": "tiller_mm", "to": "4"}]}));
    let told = page.ok("answer", json!({"bow": bow}));
    assert_eq!(told["answers"].as_array().unwrap().len(), 1, "what was altered is");
}

#[test]
fn a_set_that_was_not_noted_is_not_assumed_and_one_short_end_is_not_usual() {
    let (mut page, bow, _) = Page::with_bow();
    let archer = page.me();
    let shot = |n: usize| {
        let arrows: Vec<Value> = (0..n).map(|i| json!({"mm": [i, 0]})).collect();
        json!({"bow": bow, "archer": archer, "distance_m": "18 m", "face": "wa_40", "shot": arrows})
    };
    for n in [6, 6, 6, 1] {
        page.ok("keep", shot(n));
    }
    let frame = page.ok("frame", json!({}));
    assert_eq!((&frame["arrows"], &frame["arrows_per_end"]), (&Value::Null, &json!(6)));
}
