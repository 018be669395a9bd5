//! Records that came from elsewhere and are odd: whatever they hold, no call stops the model.

use super::odd_fields::FIELDS;
use super::{Page, end};
use crate::{
    id::ThingId,
    replica::Draft,
    rng::{Rng, Seed},
};
use serde_json::{Value, json, value::to_raw_value};
use std::collections::BTreeMap;

/// A place of an arrow, odd or not.
fn point(rng: &mut Rng) -> Value {
    match rng.next_u64() % 8 {
        0 => json!(null),
        1 => json!([1e308, -1e308]),
        2 => json!([0, 0]),
        3 => json!([1e-320, 5e200]),
        4 => json!([20000, -20000]),
        _ => json!([rng.normal() * 40.0, rng.normal() * 40.0]),
    }
}

fn odd(rng: &mut Rng, ids: &[String]) -> Value {
    let id = ids[(rng.next_u64() % ids.len() as u64) as usize].clone();
    match rng.next_u64() % 40 {
        0 => json!(null),
        1 => json!(1e308),
        2 => json!(-1e308),
        3 => json!(0),
        4 => json!(-1),
        5 => json!(u64::MAX),
        6 => json!(4_294_967_295_u64),
        7 => json!(""),
        8 => json!("<script>alert(1)</script>\u{202e}\"'&"),
        9 => json!("x".repeat(3000)),
        10 => json!(true),
        11 => json!([]),
        12 => json!({}),
        13 => json!("9999-12-31T23:59:59Z"),
        14 => json!("0001-01-01T00:00:00+23:59"),
        15 => json!("2026-02-30T25:61:00Z"),
        16 => json!("wa_40"),
        17 => json!({"zones": [{"points": 10, "outer_radius_mm": 1e300}]}),
        18 => json!({"zones": []}),
        19 => json!([0, 1, 4_294_967_295_u64]),
        20 => json!(vec![json!([1, 2]); 500]),
        21 => json!(["1", null, "\u{202e}x"]),
        22 => json!([1e308, 1e308]),
        23 => json!("ABBAABBA"),
        24 => json!("ABC"),
        25 => json!(2),
        26 => json!(18.0),
        27 => json!({"brace_mm": 1e308}),
        28 => json!({"set": {"brace_mm": 210}}),
        29 => json!("2026-04-12T10:30:00+02:00"),
        35 => json!("41.5"),
        36 => json!([20, 22, 24, 26.5]),
        37 => json!(["NaN", -0.0, 28]),
        30..=34 => Value::Array((0..rng.next_u64() % 7).map(|_| point(rng)).collect()),
        _ => json!(id),
    }
}

/// Fields as they should be, some of them odd.
fn draft(rng: &mut Rng, ids: &[String], bow: &str, me: &str, n: u64) -> Draft {
    let (kind, fields) = FIELDS[(rng.next_u64() % FIELDS.len() as u64) as usize];
    let mut set = BTreeMap::new();
    let at = format!("2026-04-{:02}T10:{:02}:00+02:00", 1 + n % 28, n % 60);
    let good: &[(&str, Value)] = &[
        ("bow", json!(bow)),
        ("archer", json!(me)),
        ("at", json!(at)),
        ("distance_m", json!(18)),
        ("face", json!("wa_40")),
        ("points_mm", json!([[rng.normal(), 2.0], [3.0, rng.normal()], [5.0, 9.0]])),
        ("name", json!(format!("name {n}"))),
        ("set.brace_mm", json!(210 + n % 9)),
        ("draw_in", json!([10, 18, 28])),
        ("weight_lbf", json!([4, 20, 38])),
        ("speed_fps", json!(180)),
        ("limbs", json!(bow)),
    ];
    for field in fields {
        let known = good.iter().find(|(name, _)| name == field).map(|(_, value)| value.clone());
        let value = match (known, rng.next_u64() % 10) {
            (Some(value), 0..=7) => value,
            (_, 0..=4) => continue,
            _ => odd(rng, ids),
        };
        set.insert((*field).to_owned(), to_raw_value(&value).unwrap());
    }
    let id = match rng.next_u64() % 5 {
        0 => ids[(rng.next_u64() % ids.len() as u64) as usize].parse().unwrap(),
        _ => ThingId::new(1_775_000_000_000 + n, [(n % 251) as u8; 10]),
    };
    Draft { kind: kind.to_owned(), id, set, settles: rng.next_u64().is_multiple_of(9) }
}

/// Asks everything that only reads.
fn ask_all(page: &mut Page, bow: &str, ids: &[String]) {
    for units in ["metric", "imperial"] {
        let with = json!({"bow": bow, "units": units});
        let calls = "frame ends settings baselines answer bow rebuild plan_offer curve pairs wear";
        for call in calls.split(' ') {
            page.answer(call, &with);
        }
        let answers = page.answer("answer", &with);
        for answer in answers["output"]["answers"].as_array().into_iter().flatten().take(4) {
            page.answer("answer", &json!({"bow": bow, "change": answer["change"], "units": units}));
            page.answer("luck", &json!({"bow": bow, "change": answer["change"], "deals": 200}));
        }
        page.answer("squad", &json!({"units": units}));
        for id in ids {
            page.answer("shafts", &json!({"set": id, "units": units, "keep": 2}));
            page.answer("suits", &json!({"set": id, "units": units}));
            page.answer("archer", &json!({"person": id, "bow": bow, "units": units}));
            page.answer("curve", &json!({"bow": bow, "archer": id, "arrows": id, "beside": id}));
        }
    }
    page.answer("timeline", &json!({"bow": bow, "limit": 100}));
    for call in ["status", "differences", "plans", "bundle", "exchange", "wear", "parts", "fits"] {
        page.answer(call, &json!({}));
    }
    for (kind, _) in FIELDS {
        page.answer("things", &json!({"kind": kind, "all": true}));
        page.answer("fields", &json!({"kind": kind}));
    }
}

/// Asks about every record, and tries to write where there is one.
fn ask_each(page: &mut Page, bow: &str, ids: &[String]) {
    for id in ids {
        page.answer("plan", &json!({"plan": id}));
        page.answer("frame", &json!({"bow": bow, "plan": id}));
        page.answer("frame", &json!({"bow": bow, "arrows": id}));
        page.answer("mend", &json!({"group": id, "note": "x"}));
        page.answer("rebuild", &json!({"bow": bow, "baseline": id}));
        page.answer("put_baseline", &json!({"bow": bow, "baseline": id}));
        let measured = json!({"tiller": "4", "string": "red"});
        page.answer("keep_measured", &json!({"bow": bow, "baseline": id, "measured": measured}));
        page.answer("tolerances", &json!({"bow": bow, "baseline": id, "tolerances": {"tiller": "1"}}));
        page.answer("set_shafts", &json!({"set": id, "typed": ["1:330.8 2:331.2"]}));
        page.answer("wear", &json!({"bow": id}));
        page.answer("practice", &json!({"bow": bow, "arrows": id, "count": 5000}));
        page.answer("practice", &json!({"id": id, "bow": bow, "count": 1}));
        let set = json!([{"setting": "limbs", "to": id}, {"setting": "tab", "to": id}, {"setting": "riser", "to": id}]);
        page.answer("change", &json!({"bow": bow, "set": set}));
        for kind in ["group", "change", "bow", "arrows", "person", "plan", "note", "part", "practice", "pair"]
        {
            page.answer("retire", &json!({"kind": kind, "id": id, "retired": false}));
            page.answer("set", &json!({"kind": kind, "id": id, "fields": {"note": "n"}}));
        }
    }
    let shot = json!([{"mm": [1, 2]}, {"mm": null}, {"mm": [300, 0], "flyer": true}]);
    for id in ids {
        let plan = json!({"bow": bow, "archer": page.me(), "distance_m": 18, "face": "wa_40", "shot": shot, "plan": id});
        page.answer("keep", &plan);
    }
}

fn round(seed: u64, many: u64) {
    let mut rng = Rng::new(Seed(seed));
    let (mut page, bow, arrows) = Page::with_bow();
    let me = page.me();
    for i in 0..4 {
        let shot = json!([{"mm": [i, 2]}, {"mm": [3 * i, -4]}, {"mm": [0, i]}]);
        let kept = end(&mut page, &bow, &arrows, shot);
        page.ok("keep", kept);
        if i == 1 {
            page.ok("change", json!({"bow": bow, "set": [{"setting": "brace_mm", "to": "215"}]}));
        }
    }
    let mut ids = vec![bow.clone(), arrows, me.clone()];
    for n in 0..many {
        let draft = draft(&mut rng, &ids, &bow, &me, n);
        ids.push(draft.id.to_string());
        if ids.len() > 14 {
            ids.remove(3);
        }
        let ask = crate::desk::Ask::new(page.now_ms + n, 60, n);
        let _ = page.desk.write(&ask, vec![draft]);
    }
    ask_all(&mut page, &bow, &ids);
    ask_each(&mut page, &bow, &ids);
}

#[test]
fn odd_records_stop_no_call() {
    for seed in 1..=40 {
        round(seed, 6 + seed % 40);
    }
}

/// What wears and what is on the bow stays told, whatever one record beside it holds.
#[test]
fn an_odd_part_or_count_hides_no_other() {
    let (mut page, bow, arrows) = Page::with_bow();
    let string = page.id("add", json!({"kind": "part", "fields": {"name": "red string", "what": "string"}}));
    page.ok("change", json!({"bow": bow, "set": [{"setting": "string", "to": string}]}));
    let shot = json!([{"mm": [1, 2]}, {"mm": null}]);
    let kept = end(&mut page, &bow, &arrows, shot);
    page.ok("keep", kept);
    page.ok("practice", json!({"bow": bow, "count": "72", "arrows": arrows}));
    let odd = [
        ("practice", json!({"bow": bow, "at": "2026-04-12T10:30:00+02:00", "count": 4_294_967_295_u64})),
        ("practice", json!({"bow": bow, "at": "2026-04-12T10:31:00+02:00", "count": 4_294_967_295_u64})),
        ("practice", json!({"bow": bow, "at": "2026-04-12T10:32:00+02:00", "count": -3})),
        ("practice", json!({"bow": bow, "count": 3})),
        ("practice", json!({"bow": bow, "at": "2026-04-12T10:33:00+02:00"})),
        (
            "part",
            json!({"name": "limbs", "what": "limbs", "most_weight_lbf": "forty", "remind_at_arrows": -1}),
        ),
        ("pair", json!({"bow": bow, "limbs": page.me(), "tiller_mm": "x"})),
        ("curve", json!({"bow": bow, "draw_in": [1, 2, 3], "weight_lbf": [1]})),
    ];
    for (n, (kind, fields)) in odd.iter().enumerate() {
        let fields = fields.as_object().unwrap().iter();
        let set = fields.map(|(name, value)| (name.clone(), to_raw_value(value).unwrap())).collect();
        let id = ThingId::new(1_775_000_000_000, [n as u8; 10]);
        let draft = Draft { kind: (*kind).to_owned(), id, set, settles: false };
        let ask = crate::desk::Ask::new(page.now_ms, 60, 77 + n as u64);
        page.desk.write(&ask, vec![draft]).unwrap();
    }
    let wear = page.ok("wear", json!({"bow": bow}));
    let row =
        |name: &str| wear["rows"].as_array().unwrap().iter().find(|row| row["name"] == name).unwrap().clone();
    assert_eq!(row("red string")["arrows"], 2 + 72);
    assert_eq!(row("Red twelve")["arrows"], 2 + 72);
    let told = page.ok("timeline", json!({"bow": bow}));
    let kinds = |of: &str| {
        let items = told["items"].as_array().unwrap().iter();
        items.filter(|item| item["kind"] == of).count()
    };
    assert_eq!((kinds("practice"), kinds("group")), (3, 1));
    assert_eq!(told["unplaced"].as_array().unwrap().len(), 3, "{}", told["unplaced"]);
    page.ok("bow", json!({"bow": bow}));
    assert_eq!(page.ok("things", json!({"kind": "part"}))["things"].as_array().unwrap().len(), 2);
}
