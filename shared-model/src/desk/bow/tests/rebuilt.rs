//! A bow is put back as it was, and what was measured is kept.

use super::*;

#[test]
fn a_bow_is_rebuilt_setting_by_setting() {
    let mut elm = elm();
    let (bow, baseline) = (elm.bow, elm.baseline);
    let sheet = elm.range.output("rebuild", json!({"bow": bow, "baseline": baseline}));
    assert_eq!((&sheet["title"], &sheet["day"]), (&json!("elm as in match"), &json!("15 June 2026")));
    assert_eq!(sheet["head"], "Nothing measured yet, 8 to go through.");
    let measured = json!({
        "brace_height_mm": "8 3/8 in", "tiller_mm": "4,5", "string": "Red String", "plunger": "a new one",
        "plunger_turns": 2.0, "limbs": "", "clicker_mm": null, "nocking point": "7",
    });
    let sheet = elm.range.output("rebuild", json!({"bow": bow, "baseline": baseline, "measured": measured}));
    let told: Vec<(&str, &Value, &Value)> = sheet["rows"]
        .as_array()
        .unwrap()
        .iter()
        .map(|r| (r["setting"].as_str().unwrap(), &r["off"], &r["ok"]))
        .collect();
    let (none, yes, no) = (Value::Null, json!(true), json!(false));
    // 8 3/8 in are 212.725 mm: 2.275 mm less than 215 mm, beyond the 2 mm.
    assert_eq!(
        told,
        [
            ("limbs", &none, &none),
            ("string", &none, &yes),
            ("brace_height_mm", &json!("2.275 mm too little"), &no),
            ("tiller_mm", &json!("0.5 mm too much"), &yes),
            ("draw_weight_lbf", &none, &none),
            ("nocking_point_mm", &none, &none),
            ("plunger", &none, &no),
            ("plunger_turns", &json!("0 turns"), &yes),
            ("arrows", &none, &none),
        ]
    );
    assert_eq!(
        sheet["head"],
        "5 of 8 measured, 2 off. Begin with brace height: 2.275 mm too little. It moves tiller, draw weight and nocking \
         point: measure these again once it is right."
    );
    assert_eq!(sheet["rows"][3]["first"], "brace height is off and it moves this: put that right first");
    assert_eq!(sheet["rows"][2]["disturbs"], "moves tiller, draw weight and nocking point");
    assert_eq!(
        (&sheet["rows"][5]["target"], &sheet["rows"][5]["measured"]),
        (&json!("not noted"), &json!("7 mm"))
    );
    assert_eq!(sheet["source"], "common practice, no source");
    let now = elm.range.output("rebuild", json!({"bow": bow, "measured": {"brace_height_mm": "218"}}));
    assert_eq!((&now["title"], &now["day"]), (&json!("elm as last noted"), &json!("26 May 2026")));
    assert_eq!(now["head"], "1 of 8 measured, none off.");
}

#[test]
fn what_was_measured_wrongly_is_said_with_its_place() {
    let mut elm = elm();
    let oak = elm.range.keep(&Bow { name: Some("yew".into()), ..Bow::default() });
    let (bow, baseline) = (elm.bow, elm.baseline);
    for (input, code, field) in [
        (json!({"bow": bow, "measured": {"brace_height_mm": "8.5"}}), "out_of_range", "brace_height_mm"),
        (json!({"bow": bow, "measured": {"brace_height_mm": "tall"}}), "bad_quantity", "brace_height_mm"),
        (json!({"bow": bow, "measured": {"wheel": "3"}}), "unknown_setting", "measured"),
        (
            json!({"bow": bow, "measured": {"brace": "215", "brace_height_mm": "216"}}),
            "setting_twice",
            "brace_height_mm",
        ),
        (json!({"bow": oak, "baseline": baseline}), "unknown_thing", "baseline"),
        (json!({"bow": bow, "baseline": bow}), "unknown_thing", "baseline"),
        (json!({"bow": baseline}), "unknown_thing", "bow"),
    ] {
        let error = elm.range.ask("rebuild", input.clone())["error"].clone();
        assert_eq!((&error["code"], &error["field"]), (&json!(code), &json!(field)), "{input} {error}");
    }
    let empty = elm.range.output("rebuild", json!({"bow": oak}));
    assert_eq!(empty["head"], "Nothing of its setup is noted, so there is nothing to compare with.");
}

#[test]
fn a_tiller_that_is_out_is_found_and_what_it_moves_is_said() {
    let mut elm = elm();
    let (bow, baseline) = (elm.bow, elm.baseline);
    let measured = json!({"brace_height_mm": "215", "tiller_mm": "7", "nocking_point_mm": "6"});
    let sheet = elm.range.output("rebuild", json!({"bow": bow, "baseline": baseline, "measured": measured}));
    let head = sheet["head"].as_str().unwrap();
    assert!(head.contains("1 off. Begin with tiller: 3 mm too much."), "{head}");
    assert!(head.contains("It moves draw weight and nocking point: measure these again"), "{head}");
    let nocking =
        sheet["rows"].as_array().unwrap().iter().find(|r| r["setting"] == "nocking_point_mm").unwrap();
    assert_eq!(nocking["first"], "tiller is off and it moves this: put that right first");
}

#[test]
fn a_sheet_in_inches_takes_and_tells_inches() {
    let mut elm = elm();
    let (bow, baseline) = (elm.bow, elm.baseline);
    let measured = json!({"brace_height_mm": "8 3/8", "tiller_mm": "4 mm", "plunger_turns": "2"});
    let asked = json!({"bow": bow, "baseline": baseline, "measured": measured, "units": "imperial"});
    let sheet = elm.range.output("rebuild", asked);
    let row = |setting: &str| {
        sheet["rows"].as_array().unwrap().iter().find(|row| row["setting"] == setting).unwrap().clone()
    };
    let brace = row("brace_height_mm");
    // 215 mm are 8.4646 in, 8 3/8 in are 212.725 mm: 2.275 mm or 0.0896 in less; 2 mm are 0.0787 in.
    assert_eq!(
        [
            &brace["unit"],
            &brace["target"],
            &brace["also"],
            &brace["measured"],
            &brace["off"],
            &brace["tolerance"]
        ],
        ["in", "8.46 in", "215 mm, about 8 7/16 in", "8.375 in", "0.09 in too little", "± 0.079 in"]
    );
    assert_eq!((&row("tiller_mm")["off"], &row("tiller_mm")["ok"]), (&json!("0 in"), &json!(true)));
    assert_eq!(row("plunger_turns")["target"], "2 turns");
    let wrong = json!({"bow": bow, "measured": {"brace_height_mm": "215"}, "units": "imperial"});
    let told = elm.range.ask("rebuild", wrong)["error"]["message"].to_string();
    assert!(told.contains("did you mean 215 mm"), "{told}");
}

#[test]
fn what_was_measured_is_kept_as_one_change_of_what_differs() {
    let mut elm = elm();
    let (bow, baseline) = (elm.bow, elm.baseline);
    let id = elm.range.output("new_id", json!({}))["id"].clone();
    let measured =
        json!({"brace_height_mm": "218", "tiller_mm": "5", "string": "RED string", "plunger": "a new one"});
    let asked = json!({"bow": bow, "baseline": baseline, "measured": measured, "id": id, "note": "rebuilt"});
    let kept = elm.range.output("keep_measured", asked.clone());
    // The bow is braced at 218 mm and strung with the red one by the records.
    assert_eq!(kept["words"], json!(["tiller 4 to 5 mm", "plunger the old one to a new one"]));
    assert_eq!(elm.range.output("keep_measured", asked.clone())["words"], json!(["This was kept already."]));
    let mut again = asked.clone();
    again["id"] = Value::Null;
    assert_eq!(elm.range.output("keep_measured", again)["change"], Value::Null);
    for (measured, code) in [
        (json!({"string": "a string of nobody's"}), "unknown_thing"),
        (json!({"brace_height_mm": ""}), "nothing_measured"),
        (json!({"brace_height_mm": "8.5"}), "out_of_range"),
    ] {
        let error =
            elm.range.ask("keep_measured", json!({"bow": bow, "measured": measured}))["error"].clone();
        assert_eq!(error["code"], code, "{error}");
    }
}
