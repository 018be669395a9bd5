//! The arrows of a set one by one, and one set on several bows.

use super::{Page, end};
use crate::kind::{self, Speed};
use serde_json::{Value, json};

#[track_caller]
fn weighed(page: &mut Page, set: &str, masses: &[&str]) {
    let list: Vec<Value> = (1..)
        .zip(masses)
        .map(|(number, mass)| json!({"number": number, "field": "mass_gr", "value": mass}))
        .collect();
    page.ok("set_shafts", json!({"set": set, "shafts": list}));
}

#[test]
fn arrows_are_weighed_one_after_the_other_and_told() {
    let (mut page, _, set) = Page::with_bow();
    let told = page.ok("shafts", json!({"set": set}));
    assert_eq!(told["waiting"].as_array().unwrap().len(), 12);
    assert!(told["fields"].as_array().unwrap().iter().any(|f| f["field"] == "mass_gr" && f["unit"] == "gr"));
    let kept = page
        .ok("set_shafts", json!({"set": set, "shafts": [{"number": 1, "field": "mass", "value": "330,8"}]}));
    assert_eq!(kept["words"], json!(["Kept: shaft 1 mass 330.8 gr."]));
    page.ok("set_shafts", json!({"set": set, "typed": ["mass=330.8,331.2,329.9,330.6"]}));
    page.ok("set_shafts", json!({"set": set, "typed": ["4", "bare=yes", "out=no"]}));
    let told = page.ok("shafts", json!({"set": set, "keep": 2}));
    assert_eq!((&told["shafts"][0]["mass"], &told["shafts"][3]["words"]), (&json!("330.8"), &json!("bare")));
    assert_eq!(told["waiting"][0], 5);
    let figures = told["figures"].to_string();
    assert!(figures.contains("3 arrows weighed, fletched and in use: mean 330.6 gr"), "{figures}");
    assert!(
        told["advice"]
            .to_string()
            .contains("The 2 nearest in mass are 1 and 2: within 0.4 gr of each other."),
        "{}",
        told["advice"]
    );
    // Sent twice, it is kept once.
    let entries = page.kept.len();
    weighed(&mut page, &set, &["330.8", "331.2"]);
    assert_eq!(page.kept.len(), entries);
    let things = page.ok("things", json!({"kind": "arrows"}));
    assert!(
        things["things"][0]["words"]
            .as_str()
            .unwrap()
            .ends_with("4 shafts noted one by one, 4 weighed: 329.9 to 331.2 gr")
    );
    page.ok("set_shafts", json!({"set": set, "shafts": [{"number": 1, "field": "mass_gr", "value": ""}]}));
    assert_eq!(page.ok("shafts", json!({"set": set}))["shafts"][0]["mass"], Value::Null);
}

#[test]
fn what_is_wrong_is_told_at_its_arrow_and_nothing_is_kept() {
    let (mut page, bow, set) = Page::with_bow();
    let entries = page.kept.len();
    let one =
        |number: Value, field: &str, value: Value| json!({"number": number, "field": field, "value": value});
    for (list, at) in [
        (json!([one(json!(1), "mass", json!("331")), one(json!(13), "mass", json!("331"))]), "shafts[1]"),
        (json!([one(json!(0), "mass", json!("331"))]), "shafts[0]"),
        (json!([one(json!("x"), "mass", json!("331"))]), "shafts[0]"),
        (json!([one(json!(1), "mass", json!("21.4"))]), "shafts[0]"),
        (json!([one(json!(1), "colour", json!("red"))]), "shafts[0]"),
        (json!([{"number": 1}]), "shafts[0].field"),
        (json!([{"field": "mass"}]), "shafts[0].number"),
        (json!([one(json!(1), "mass", json!(true))]), "shafts[0].value"),
        (json!(5), "shafts"),
        (json!([]), "shafts"),
    ] {
        assert_eq!(page.error("set_shafts", json!({"set": set, "shafts": list})).1, at, "{list}");
    }
    assert_eq!(page.error("set_shafts", json!({"set": set, "typed": ["mass=330,8"]})).1, "typed");
    assert_eq!(page.error("set_shafts", json!({"set": bow, "typed": ["1:331"]})).1, "set");
    assert_eq!(page.error("suits", json!({"set": set, "bows": ["Yew"]})).1, "bows[0]");
    assert_eq!(page.error("shafts", json!({"set": set, "units": "cubits"})).1, "units");
    assert_eq!(page.kept.len(), entries);
}

#[test]
fn a_set_is_held_against_two_bows() {
    let (mut page, elm, set) = Page::with_bow();
    let oak = page.id("add", json!({"kind": "bow", "fields": {"name": "Oak", "riser": "21"}}));
    weighed(&mut page, &set, &["330.8", "331.2", "329.9"]);
    let told = page.ok("suits", json!({"set": set}));
    assert_eq!(told["bows"].as_array().unwrap().len(), 2, "nothing shoots it yet: every bow in use");
    assert!(told["head"].as_str().unwrap().contains("cannot be told yet"), "{}", told["head"]);
    for (bow, weight) in [(&elm, "40"), (&oak, "42")] {
        page.ok("change", json!({"bow": bow, "set": [{"setting": "arrows", "to": set}, {"setting": "draw_weight", "to": weight}]}));
    }
    let told = page.ok("suits", json!({"set": set}));
    assert_eq!(
        told["head"],
        "Red twelve suits both Elm and Oak by mass; of Elm and Oak that is by the common floor alone: ask the makers."
    );
    let grains = told["bows"][0]["grains_per_pound"][0].as_f64().unwrap();
    assert!((grains - 329.9 / 40.0).abs() < 1e-9, "{grains}");
    let limbs = page.id(
        "add",
        json!({"kind": "part", "fields": {"name": "Long 42", "what": "limbs", "least_arrow_gr": "350"}}),
    );
    page.ok("change", json!({"bow": oak, "set": [{"setting": "limbs", "to": limbs}]}));
    let told = page.ok("suits", json!({"set": set}));
    assert_eq!(
        told["head"],
        "Stop. Do not shoot Red twelve from Oak: too light for it; Red twelve suits Elm by mass; of Elm that is by the common floor alone: ask the makers."
    );
    assert_eq!(
        (&told["bows"][0]["by_mass"], &told["bows"][1]["by_mass"]),
        (&json!("suits"), &json!("too_light"))
    );
    assert!(told["cautions"][0].as_str().unwrap().len() > 10);
    let only = page.ok("suits", json!({"set": set, "bows": [elm], "units": "imperial"}));
    assert_eq!(only["bows"].as_array().unwrap().len(), 1);
}

#[test]
fn the_sheet_of_a_bow_names_the_shaft_that_is_short() {
    let (mut page, elm, set) = Page::with_bow();
    let me = page.me();
    page.ok("set", json!({"kind": "person", "id": me, "fields": {"draw_length": "28.5"}}));
    page.ok("set", json!({"kind": "arrows", "id": set, "fields": {"length": "28.75"}}));
    page.ok("change", json!({"bow": elm, "set": [{"setting": "arrows", "to": set}]}));
    assert!(!page.ok("bow", json!({"bow": elm}))["arrows"].to_string().contains("grip"));
    page.ok("set_shafts", json!({"set": set, "typed": ["7", "length=27"]}));
    let told = page.ok("bow", json!({"bow": elm}))["arrows"].to_string();
    assert!(told.contains("Shaft 7, 27 in long: at Ada's draw that leaves 0.25 in"), "{told}");
}

#[test]
fn bare_shafts_are_told_for_the_bow_that_shot_them() {
    let (mut page, elm, set) = Page::with_bow();
    let oak = page.id("add", json!({"kind": "bow", "fields": {"name": "Oak"}}));
    let me = page.me();
    page.ok("set", json!({"kind": "person", "id": me, "fields": {"bow_arm": "left"}}));
    for (bow, aside) in [(&elm, 0.0), (&oak, -40.0)] {
        for n in 0..6 {
            let off = f64::from(n % 3) - 1.0;
            let shot = json!([{"mm": [off, 2.0]}, {"mm": [3.0 - off, -off]}, {"mm": [1.0, off * 2.0]},
                {"mm": [aside + off * 4.0, off], "bare": true}]);
            let input = end(&mut page, bow, &set, shot);
            page.ok("keep", input);
        }
    }
    let told = page.ok("suits", json!({"set": set}));
    assert_eq!(told["bows"][0]["bare"][0]["short"], Value::Null);
    let head = told["head"].as_str().unwrap();
    assert!(head.contains("on Oak Ada's bare shafts land") && head.contains("mm left (95 %:"), "{head}");
    assert!(
        head.contains("the shafts are stiff for this bow, or the plunger is, common practice, no source"),
        "{head}"
    );
}

/// Keeps a speed that was measured.
fn timed(page: &mut Page, bow: &str, set: &str, speed_fps: f64) {
    let speed = Speed {
        bow: Some(bow.parse().unwrap()),
        arrows: Some(set.parse().unwrap()),
        at: Some("2026-04-12T10:00:00+02:00".into()),
        speed_fps: Some(speed_fps),
        ..Speed::default()
    };
    let ask = crate::desk::Ask::new(page.now_ms, 120, 77);
    page.desk.write(&ask, vec![kind::draft(ask.thing_id(), &speed).unwrap()]).unwrap();
}

#[test]
fn what_a_mass_is_worth_is_told_in_mm_and_held_against_what_the_target_shows() {
    let (mut page, bow, set) = Page::with_bow();
    weighed(&mut page, &set, &["330.8", "331.0", "330.9", "331.1", "330.7", "330.9"]);
    timed(&mut page, &bow, &set, 190.0);
    for n in 0..8 {
        let wide = f64::from(n % 3) * 30.0 - 30.0;
        let shot: Value = (0..6)
            .map(|i| json!({"mm": [f64::from(i), wide * f64::from(i - 2) / 3.0], "number": (i + 1).to_string()}))
            .collect();
        let kept = end(&mut page, &bow, &set, shot);
        page.ok("keep", kept);
    }
    let told = page.ok("shafts", json!({"set": set}));
    let worth = told["worth"].to_string();
    // 18 m take 0.32 s and a fall of half a metre; 0.2 gr of 331 are 0.06 %, so a third of a millimetre.
    assert!(worth.contains("shaft 4, and the lightest, shaft 5, land beside the mean arrow: 0.3 mm low and 0.3 mm high at 18 m"), "{worth}");
    assert!(
        worth.contains("190 ft/s measured with Elm")
            && worth.contains("rather too large, since a heavier arrow takes somewhat more")
            && worth.contains("from memory, air of ISO 2533"),
        "{worth}"
    );
    assert!(worth.contains("All the masses together") && worth.contains("0 % less tall"), "{worth}");
    assert!(worth.contains("No shaft is to be dropped for its mass alone"), "{worth}");
    let figures = told["figures"].to_string();
    // 330.9 gr at 190 ft/s: 0.0214419... kg × 57.912² / 2 = 35.96 J = 26.5 ft·lbf; 1.24 kg m/s.
    assert!(figures.contains("26.5 ft·lbf (36 J), momentum 1.24 kg m/s"), "{figures}");
    // One that is far heavier counts, and is told as such.
    page.ok("set_shafts", json!({"set": set, "typed": ["6", "mass=352"]}));
    let told = page.ok("shafts", json!({"set": set, "units": "imperial"}));
    let worth = told["worth"].to_string();
    assert!(
        worth.contains("in low")
            && worth.contains("By mass alone so far from the mean arrow: 6 (1 of 6 arrows)"),
        "{worth}"
    );
    assert!(told["advice"].to_string().contains("If it stands, leave it out"), "{}", told["advice"]);
}
