//! Ends: framed, looked at, kept once, listed, mended.

use super::{Page, end};
use proptest::prelude::*;
use serde_json::{Value, json};

#[test]
fn a_face_has_its_zones_highest_first() {
    let faces = Page::new().ok("faces", json!({}))["faces"].clone();
    let face = faces.as_array().unwrap().iter().find(|f| f["code"] == "wa_122").unwrap();
    // World Archery, Book 3: ten rings of 61 mm, the inner ten of 61 mm across.
    assert_eq!(face["zones"][0], json!({"points": 10, "outer_radius_mm": 61.0, "colour": "yellow"}));
    assert_eq!((&face["radius_mm"], &face["inner10_radius_mm"]), (&json!(610.0), &json!(30.5)));
    assert_eq!(face["zones"][9]["colour"], "white");
}

#[test]
fn an_end_is_looked_at_while_it_is_placed() {
    let mut page = Page::new();
    let shot = json!([{"mm": [0, 0]}, {"mm": [140, -140]}, {"mm": ["-60,2", 0], "number": "03"}, {"mm": null},
        {"mm": [0, -20], "flyer": true}]);
    let input = json!({"face": "wa_80", "shaft_mm": 5.5, "distance_m": "30", "arrows": shot});
    let told = page.ok("look", input);
    let rings: Vec<&str> =
        told["arrows"].as_array().unwrap().iter().map(|a| a["ring"].as_str().unwrap()).collect();
    assert_eq!(rings, ["X", "6", "9", "M", "X"]);
    assert_eq!(told["arrows"][1]["words"], "blue 6, half past four");
    assert_eq!(told["arrows"][3]["words"], "missed, not found");
    assert_eq!((&told["total"], &told["words"]), (&json!(35), &json!("5 arrows, 35 points")));
    let figures = &told["figures"];
    // The mean of (0,0), (140,-140), (-60.2,0) is (26.6, -46.7).
    assert_eq!((&figures["n"], &figures["mpi_words"]), (&json!(3), &json!("27 mm right, 47 mm low")));
    assert!(
        figures["ellipse"]["semi_mm"][0].as_f64().unwrap()
            > figures["spread_ellipse"]["semi_mm"][0].as_f64().unwrap()
    );
    let none = page.ok("look", json!({"face": "wa_80", "arrows": [{"mm": null}]}));
    assert_eq!(none["figures"], Value::Null);
}

#[test]
fn typed_arrows_come_back_as_placed_ones() {
    let mut page = Page::new();
    let told = page.ok("typed", json!({"face": "wa_80", "text": "3:9@3! M 1,2;-3,1cm"}));
    let want =
        json!([{"mm": [60.0, 0.0], "number": "3", "flyer": true}, {"mm": null}, {"mm": [12.0, -31.0]}]);
    assert_eq!(told["arrows"], want);
    assert_eq!(page.error("typed", json!({"face": "wa_80", "text": "11@3"})).1, "text");
    assert_eq!(page.ok("typed", json!({"face": "wa_80", "text": ""}))["arrows"], json!([]));
}

#[test]
fn the_next_end_is_shot_with_what_the_last_one_was() {
    let (mut page, bow, arrows) = Page::with_bow();
    let first = page.ok("frame", json!({}));
    assert_eq!((&first["bow"]["name"], &first["archer"]["name"]), (&json!("Elm"), &json!("Ada")));
    assert_eq!((&first["arrows"]["count"], &first["shaft_mm"]), (&json!(12), &json!(5.5)));
    assert_eq!(
        (&first["distance_m"], &first["face"], &first["end_number"]),
        (&Value::Null, &Value::Null, &json!(1))
    );
    let mut kept = end(&mut page, &bow, &arrows, json!([{"mm": [1, 2]}, {"mm": [3, 4]}, {"mm": [0, 0]}]));
    kept["sight"] = json!("3.5");
    page.ok("keep", kept.clone());
    page.now_ms += 3_600_000;
    let next = page.ok("frame", json!({}));
    assert_eq!((&next["distance_m"], &next["distance_words"]), (&json!(18.0), &json!("18 m")));
    assert_eq!((&next["face"]["code"], &next["sight"]), (&json!("wa_40"), &json!("3.5")));
    assert_eq!((&next["arrows_per_end"], &next["end_number"]), (&json!(3), &json!(2)));
    assert_eq!(next["assumed"], json!(["Elm", "18 m", "wa_40", "Red twelve", "sight 3.5"]));
    assert_eq!(next["session_words"], "Today: 1 end, 3 arrows, 30 points at 18 m");
    assert_eq!(next["choices"]["distances"][0], json!({"m": 18.0, "words": "18 m"}));
    let farther = page.ok("frame", json!({"distance_m": "20yd"}));
    assert_eq!((&farther["distance_m"], &farther["face_guessed_from_m"]), (&json!(18.288), &json!(18.0)));
    assert_eq!(farther["sight"], Value::Null);
    // The next day begins anew.
    page.now_ms += 86_400_000;
    assert_eq!(page.ok("frame", json!({}))["end_number"], 1);
}

#[test]
fn another_archer_on_the_same_phone_gets_her_own_frame() {
    let (mut page, bow, arrows) = Page::with_bow();
    let ben = page.id("add", json!({"kind": "person", "fields": {"name": "Ben"}}));
    let oak = page.id("add", json!({"kind": "bow", "fields": {"name": "Oak"}}));
    let own = end(&mut page, &bow, &arrows, json!([{"mm": [1, 2]}]));
    let mut his = own.clone();
    (his["archer"], his["bow"], his["distance_m"]) = (json!(ben), json!(oak), json!(30));
    page.ok("keep", his);
    page.ok("keep", own);
    let told = page.ok("frame", json!({"archer": ben}));
    assert_eq!((&told["bow"]["name"], &told["distance_m"]), (&json!("Oak"), &json!(30.0)));
    assert_eq!(page.ok("frame", json!({}))["bow"]["name"], "Elm");
}

#[test]
fn an_end_that_is_sent_twice_is_kept_once() {
    let (mut page, bow, arrows) = Page::with_bow();
    let id = page.id("new_id", json!({}));
    let mut sent = end(&mut page, &bow, &arrows, json!([{"mm": [1, 2]}, {"mm": null}]));
    sent["id"] = json!(id);
    let first = page.ok("keep", sent.clone());
    assert_eq!(first["group"], json!(id));
    let entries = page.kept.len();
    let again = page.ok("keep", sent.clone());
    assert_eq!((&again["group"], page.kept.len()), (&json!(id), entries));
    // After a crash, on the desk that reads what was kept.
    let mut page = page.opened();
    page.ok("keep", sent.clone());
    assert_eq!((page.kept.len(), page.ok("ends", json!({}))["ends"].as_array().unwrap().len()), (entries, 1));
    // A mend in between stays when the same end is sent once more.
    page.ok("mend", json!({"group": id, "note": "wind"}));
    page.ok("keep", sent.clone());
    assert_eq!(page.ok("ends", json!({}))["ends"][0]["note"], "wind");
    // One more arrow in the draft than was kept: it is not lost, nor is the mend.
    sent["shot"] = json!([{"mm": [1, 2]}, {"mm": null}, {"mm": [5, 5]}]);
    page.ok("keep", sent);
    let ends = page.ok("ends", json!({}))["ends"].clone();
    assert_eq!(ends.as_array().unwrap().len(), 1);
    assert_eq!((&ends[0]["note"], &ends[0]["points_mm"][2]), (&json!("wind"), &json!([5.0, 5.0])));
}

#[test]
fn what_is_wrong_with_an_end_is_told_at_its_field() {
    let (mut page, bow, arrows) = Page::with_bow();
    let good = end(&mut page, &bow, &arrows, json!([{"mm": [1, 2]}]));
    for (field, value, at) in [
        ("bow", json!("Ash"), "bow"),
        ("bow", Value::Null, "bow"),
        ("archer", json!(""), "archer"),
        ("arrows", json!("00000000-0000-7000-8000-000000000000"), "arrows"),
        ("distance_m", json!("0,2"), "distance_m"),
        ("distance_m", json!("far"), "distance_m"),
        ("distance_m", Value::Null, "distance_m"),
        ("face", json!("wa_41"), "face"),
        ("face", Value::Null, "face"),
        ("at", json!("soon"), "at"),
        ("session", json!("x".repeat(101)), "session"),
        ("note", json!("x".repeat(2001)), "note"),
        ("shot", json!([]), "shot"),
        ("shot", json!("9"), "shot"),
        ("shot", json!([{"mm": [1]}]), "shot[0].mm"),
        ("shot", json!([{"mm": [1, "x"]}]), "shot[0].mm"),
        ("shot", json!([{"mm": [1, 2]}, {"mm": [1, 30_000]}]), "shot[1]"),
        ("shot", json!([{"mm": [1, 2], "number": "3"}, {"mm": null, "number": 3}]), "shot[1].number"),
        ("shot", json!([{"mm": [1, 2], "number": "-"}]), "shot[0].number"),
        ("shot", json!([{"mm": [1, 2], "flyer": "yes"}]), "shot[0].flyer"),
        ("id", json!("7"), "id"),
    ] {
        let mut bad = good.clone();
        bad[field] = value;
        assert_eq!(page.error("keep", bad).1, at, "{field}");
    }
    assert_eq!(page.ok("ends", json!({}))["ends"], json!([]));
}

#[test]
fn what_was_really_shot_is_kept() {
    let (mut page, bow, arrows) = Page::with_bow();
    // All missed; with what is out of use; with a number that the set has not; off the face; in the future.
    page.ok("retire", json!({"kind": "bow", "id": bow, "retired": true}));
    let shot = json!([{"mm": null}, {"mm": [900, 0], "number": "14"}]);
    let mut sent = end(&mut page, &bow, &arrows, shot);
    sent["at"] = json!("2026-05-01 10:00");
    let words = page.ok("keep", sent)["words"].to_string();
    for part in ["2 arrows at 18 m, 0 points", "Arrow 2 lies off", "no arrow 14", "1 arrow with no place"] {
        assert!(words.contains(part), "{words}");
    }
    let sent = end(&mut page, &bow, "", json!([{"mm": null}]));
    page.ok("keep", sent);
    assert_eq!(page.ok("ends", json!({"day": "2026-05-01"}))["ends"][0]["rings"], json!(["M", "M"]));
}

#[test]
fn ends_are_listed_newest_first_with_their_sessions() {
    let (mut page, bow, arrows) = Page::with_bow();
    for (at, mm) in [("2026-04-10 09:00", 1), ("2026-04-10 09:10", 30), ("2026-04-11 18:00", 50)] {
        let mut sent = end(&mut page, &bow, &arrows, json!([{"mm": [mm, 0]}, {"mm": [0, 0], "bare": true}]));
        sent["at"] = json!(at);
        page.ok("keep", sent);
    }
    let told = page.ok("ends", json!({"bow": bow}));
    // Rings of the 40 cm face are 20 mm wide; a shaft of 5.5 mm reaches 2.75 mm farther in.
    let totals: Vec<&Value> = told["ends"].as_array().unwrap().iter().map(|e| &e["total"]).collect();
    assert_eq!(totals, [&json!(18), &json!(19), &json!(20)]);
    assert_eq!((&told["ends"][0]["time"], &told["ends"][0]["bare"]), (&json!("18:00"), &json!([1])));
    assert_eq!(told["sessions"][1]["words"], "2026-04-10, Ada: 2 ends, 4 arrows at 18 m");
    assert_eq!((&told["sessions"][1]["total"], &told["sessions"][1]["ends"]), (&json!(39), &json!(2)));
    assert_eq!(page.ok("ends", json!({"limit": 1}))["ends"].as_array().unwrap().len(), 1);
    assert_eq!(page.ok("ends", json!({"day": "2026-04-10"}))["ends"].as_array().unwrap().len(), 2);
}

#[test]
fn an_end_is_mended_field_by_field() {
    let (mut page, bow, arrows) = Page::with_bow();
    let mut sent = end(&mut page, &bow, &arrows, json!([{"mm": [1, 2], "number": "4"}]));
    sent["note"] = json!("gusts");
    let group = page.ok("keep", sent)["group"].clone();
    let entries = page.kept.len();
    let told = page.ok("mend", json!({"group": group, "distance_m": "18,0", "note": "gusts"}));
    assert_eq!((&told["words"], page.kept.len()), (&json!(["Nothing was altered."]), entries));
    let told = page.ok("mend", json!({"group": group, "distance_m": "20 yd", "note": "", "arrows": null}));
    let words = told["words"].to_string();
    assert!(words.contains("distance 18 -> 18.288 m") && words.contains("it was gusts"), "{words}");
    page.ok("mend", json!({"group": group, "shot": [{"mm": [5, 5]}, {"mm": [6, 6]}]}));
    let kept = page.ok("ends", json!({}))["ends"][0].clone();
    assert_eq!(
        (&kept["note"], &kept["numbers"], &kept["arrows"]),
        (&Value::Null, &Value::Null, &Value::Null)
    );
    assert_eq!(kept["points_mm"], json!([[5.0, 5.0], [6.0, 6.0]]));
    for (field, value) in
        [("bow", Value::Null), ("distance_m", json!("")), ("face", Value::Null), ("at", json!(""))]
    {
        assert_eq!(page.error("mend", json!({"group": group, field: value})).1, field);
    }
    assert_eq!(page.error("mend", json!({"group": group, "shot": []})).1, "shot");
    assert_eq!(page.error("mend", json!({"group": bow})).1, "group");
    page.ok("retire", json!({"kind": "group", "id": group, "retired": true}));
    assert_eq!(page.ok("ends", json!({}))["ends"], json!([]));
}

#[test]
fn a_coach_is_told_that_the_role_says_no() {
    let (page, bow, arrows) = Page::with_bow();
    let mut page = Page { card: page.card.clone(), ..page };
    page.card["server"] = json!({"token": "t", "role": "coach"});
    let mut page = page.opened();
    let sent = end(&mut page, &bow, &arrows, json!([{"mm": [1, 2]}]));
    assert_eq!(page.error("keep", sent).0, "role");
    assert_eq!(page.error("add", json!({"kind": "bow", "fields": {"name": "Oak"}})).0, "role");
}

/// JSON of any shape, with the words that the calls look for.
fn anything() -> impl Strategy<Value = Value> {
    let leaf = prop_oneof![
        Just(Value::Null),
        any::<bool>().prop_map(Value::from),
        any::<f64>().prop_map(|n| json!(n)),
        any::<i64>().prop_map(Value::from),
        "[0-9a-zA-Z ,.;:@!½/+-]{0,12}".prop_map(Value::from),
        "\\PC{0,6}".prop_map(Value::from),
        prop::sample::select(vec![
            "wa_40",
            "Elm",
            "Ada",
            "Red twelve",
            "bow",
            "group",
            "18m",
            "+1/4",
            "M",
            "9@4:30"
        ])
        .prop_map(Value::from),
    ];
    leaf.prop_recursive(3, 24, 6, |inner| {
        let field = prop::sample::select(FIELDS.to_vec()).prop_map(str::to_owned);
        prop_oneof![
            prop::collection::vec(inner.clone(), 0..5).prop_map(Value::from),
            prop::collection::btree_map(field, inner, 0..5)
                .prop_map(|map| Value::Object(map.into_iter().collect())),
        ]
    })
}

const FIELDS: &[&str] = &[
    "bow",
    "archer",
    "arrows",
    "distance_m",
    "face",
    "sight",
    "session",
    "note",
    "plan",
    "at",
    "shot",
    "id",
    "group",
    "mm",
    "number",
    "flyer",
    "bare",
    "kind",
    "fields",
    "all",
    "name",
    "what",
    "retired",
    "text",
    "units",
    "shaft_mm",
    "limit",
    "day",
    "set",
    "setting",
    "by",
    "to",
    "before",
    "baseline",
    "measured",
    "tolerances",
    "over",
    "choice",
    "field",
    "zones",
    "points",
    "outer_radius_mm",
    "count",
];

const CALLS: &[&str] = &[
    "faces",
    "frame",
    "look",
    "typed",
    "keep",
    "mend",
    "retire",
    "ends",
    "add",
    "set",
    "things",
    "fields",
    "new_id",
    "settings",
    "change",
    "baselines",
    "save_baseline",
    "put_baseline",
    "tolerances",
    "rebuild",
    "keep_measured",
    "timeline",
    "note",
    "differences",
    "settle",
];

proptest! {
    #![proptest_config(ProptestConfig::with_cases(400))]

    #[test]
    fn no_input_panics(call in prop::sample::select(CALLS.to_vec()), input in anything()) {
        let (mut page, ..) = Page::with_bow();
        page.answer(call, &input);
        page.ok("frame", json!({}));
    }

    #[test]
    fn no_altered_input_panics(field in prop::sample::select(FIELDS.to_vec()), value in anything(), call in prop::sample::select(CALLS.to_vec())) {
        let (mut page, bow, arrows) = Page::with_bow();
        let mut input = end(&mut page, &bow, &arrows, json!([{"mm": [1, 2], "number": "3"}, {"mm": [4, 5]}]));
        let kept = page.ok("keep", input.clone());
        input["group"] = kept["group"].clone();
        input["kind"] = json!("bow");
        input["id"] = json!(bow);
        input["fields"] = json!({"name": "Oak", "note": "old"});
        input[field] = value;
        page.answer(call, &input);
        // Whatever was taken in can be read again.
        page.ok("ends", json!({}));
        page.ok("frame", json!({}));
        page.opened().ok("ends", json!({}));
    }
}

/// An arrow that lies a hair outside of a line is kept to a tenth of a millimetre, on the line.
#[test]
fn the_ring_that_is_shown_is_the_ring_that_is_kept() {
    let (mut page, bow, arrows) = Page::with_bow();
    let edge = 40.0 + 5.5 / 2.0;
    let shot = json!([{"mm": [0, edge + 0.04]}, {"mm": [edge - 0.04, 0]}, {"mm": [0, edge + 0.06]}]);
    let looked = page.ok("look", json!({"face": "wa_40", "shaft_mm": 5.5, "arrows": shot}));
    let shown: Vec<&Value> =
        looked["arrows"].as_array().unwrap().iter().map(|arrow| &arrow["ring"]).collect();
    let kept = end(&mut page, &bow, &arrows, shot);
    page.ok("keep", kept);
    let ends = page.ok("ends", json!({}));
    assert_eq!(json!(shown), ends["ends"][0]["rings"]);
    assert_eq!(looked["total"], ends["ends"][0]["total"]);
}

/// A phone marks a flyer in an end that another one put right since it was shown.
#[test]
fn a_mark_leaves_what_somebody_else_put_right() {
    let (mut page, bow, arrows) = Page::with_bow();
    let was = json!([{"mm": [1, 2]}, {"mm": [90, 2]}]);
    let kept = end(&mut page, &bow, &arrows, was.clone());
    let group = page.ok("keep", kept)["group"].clone();
    page.ok("mend", json!({"group": group, "shot": [{"mm": [3, 4]}, {"mm": [90, 2]}]}));
    let marked = json!([{"mm": [1, 2]}, {"mm": [90, 2], "flyer": true}]);
    page.ok("mend", json!({"group": group, "shot": marked, "shot_was": was}));
    let kept = page.ok("ends", json!({}))["ends"][0].clone();
    assert_eq!(kept["points_mm"], json!([[3.0, 4.0], [90.0, 2.0]]));
    assert_eq!(kept["flyers"], json!([1]));
}
