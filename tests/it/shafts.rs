//! Single arrows of a set: weighed, listed, paired, exported, read from the service, merged between two people.

use crate::harness::{alone::begun, server::TestServer};
use serde_json::{Value, json};
use sheaf_model::{
    id::ThingId,
    kind::{self, Arrows, Kind as _},
    records::differences,
    replica::{Draft, Store as _},
};

type Sheaf<'a> = &'a dyn Fn(&[&str]) -> (u8, String, String);

#[track_caller]
fn ok(sheaf: Sheaf<'_>, words: &[&str]) -> String {
    let (code, out, err) = sheaf(words);
    assert_eq!(code, 0, "{words:?}: {out}{err}");
    assert!(out.lines().all(|line| line.chars().count() <= 110), "{out}");
    out
}

fn flat(text: &str) -> String {
    text.split_whitespace().collect::<Vec<_>>().join(" ")
}

#[test]
fn arrows_are_weighed_listed_and_judged() {
    let (_folder, sheaf) = begun();
    ok(
        &sheaf,
        &["add", "arrows", "blue", "--count", "12", "--shaft-diameter", "5.5mm", "--length", "28.5in"],
    );
    let out = ok(&sheaf, &["shaft", "blue", "3", "mass=331gr", "balance=16.1in", "bare=yes"]);
    assert!(out.contains("Kept: shaft 3 mass 331 gr") && out.contains("Kept: shaft 3 bare yes"), "{out}");
    assert!(ok(&sheaf, &["shaft", "blue", "3", "mass=331"]).contains("Nothing was altered"));
    ok(&sheaf, &["shaft", "blue", "mass=330.8,331.2,329.9,330.6,331.0,330.3,334.6,330.9"]);
    ok(&sheaf, &["shaft", "blue", "9:331.4", "10:330,1"]);
    ok(&sheaf, &["shaft", "blue", "3", "bare=no"]);
    ok(&sheaf, &["shaft", "blue", "10", "out=yes", "note=split nock"]);
    ok(&sheaf, &["set", "arrows", "blue", "shaft.1.nock=red", "spine=500"]);
    let out = flat(&ok(&sheaf, &["shafts", "blue"]));
    // Of the nine in use: 330.8 331.2 329.9 330.6 331 330.3 334.6 330.9 331.4, mean 331.19.
    assert!(
        out.contains("9 arrows weighed: mean 331.2 gr") && out.contains("from 329.9 to 334.6 (4.7 apart)"),
        "{out}"
    );
    assert!(out.contains("The scale shows steps of 0.1 gr"), "{out}");
    // Without 334.6 the mean of the eight is 330.7625, and shaft 1 lies at it.
    assert!(out.contains("is that of the others without 7: 330.8 gr"), "{out}");
    assert!(out.contains("1 330.8 0 ") && out.contains("7 334.6 +3.8 "), "{out}");
    assert!(out.contains("far from the others") && out.contains("Shaft 7 with 334.6 gr"), "{out}");
    assert!(out.contains("The 6 nearest in mass are") && out.contains("Pairs by mass:"), "{out}");
    assert!(out.contains("1.94 lb") && out.contains("from memory (AMO)"), "{out}");
    assert!(out.contains("out of use; split nock"), "{out}");
    let told: Value =
        serde_json::from_str(&ok_wide(&sheaf, &["shafts", "blue", "--keep", "4", "--json"])).expect("JSON");
    // 330.6 330.8 330.9 331 lie 0.4 apart, and no other four nearer.
    assert!(
        told["advice"][0]["words"]
            .as_str()
            .is_some_and(|w| w.contains("4, 1, 8 and 5: within 0.4 gr of each other")),
        "{told}"
    );
}

#[test]
fn an_arrow_of_another_length_is_neither_paired_nor_kept() {
    let (_folder, sheaf) = begun();
    ok(&sheaf, &["add", "arrows", "teal", "--count", "8", "--length", "28.75in"]);
    ok(&sheaf, &["shaft", "teal", "mass=330.8,331.2,329.9,330.6,331.0,330.3,330.8,330.9"]);
    assert!(!flat(&ok(&sheaf, &["shafts", "teal"])).contains("than the others"));
    ok(&sheaf, &["shaft", "teal", "7", "length=27in"]);
    let out = flat(&ok(&sheaf, &["shafts", "teal"]));
    assert!(
        out.contains(
            "Shaft 7 is 1.75 in shorter than the others: it is left out of pairs and of what to keep"
        ),
        "{out}"
    );
    // Without 7 the six of the seven that lie nearest are all but 3.
    assert!(out.contains("The 6 nearest in mass are 6, 4, 1, 8, 5 and 2"), "{out}");
    let pairs = out.split("Pairs by mass: ").nth(1).and_then(|rest| rest.split('(').next()).expect("pairs");
    assert!(!pairs.contains('7') && pairs.contains("stays alone"), "{pairs}");
    let out = flat(&ok(&sheaf, &["shafts", "teal", "--keep", "7"]));
    assert!(out.contains("7 to keep: 7 arrows weighed and of one length, so none is left over"), "{out}");
}

#[test]
fn what_is_wrong_is_refused_with_what_to_do_and_nothing_is_kept() {
    let (_folder, sheaf) = begun();
    ok(&sheaf, &["add", "arrows", "blue", "--count", "6"]);
    for (words, told) in [
        (&["shaft", "blue", "7", "mass=331"][..], "6 arrows"),
        (
            &["shaft", "blue", "7", "mass=331"],
            "`sheaf set arrows blue count=7` says so, then type this again",
        ),
        (&["shaft", "blue", "1-3", "spine=548,552,550"], "like spine=\"1:548; 2:552; 3:550\""),
        (&["shaft", "blue", "1-3", "spine=548,552,550"], "`sheaf shaft --help` says how a row is typed"),
        (&["shaft", "blue", "0", "mass=331"], "counted from 1"),
        (&["shaft", "blue", "mass=330,8"], "decimal point"),
        (&["shaft", "blue", "3", "mass=21.4"], "did you mean 21.4 g"),
        (&["shaft", "blue", "3", "mass=-5"], "between 50 and 2000"),
        (&["shaft", "blue", "3", "length=72.4"], "did you mean 72.4 cm"),
        (&["shaft", "blue", "3", "colour=red"], "no field `colour`"),
        (&["shaft", "blue", "mass=331"], "of which arrow"),
        (&["shaft", "green", "3", "mass=331"], "green"),
    ] {
        let (code, out, err) = sheaf(words);
        assert!(code == 1 && flat(&err).contains(told), "{words:?}: {out}{err}");
    }
    assert!(!ok(&sheaf, &["show", "blue"]).contains("shaft"));
}

#[test]
fn shafts_are_told_in_words_wherever_records_are() {
    let (folder, sheaf) = begun();
    ok(&sheaf, &["add", "arrows", "blue", "--count", "12"]);
    ok(&sheaf, &["shaft", "blue", "3", "mass=331gr"]);
    assert!(flat(&ok(&sheaf, &["show", "blue", "--history"])).contains("shaft 3 mass 331 gr"));
    assert!(ok(&sheaf, &["list", "arrows"]).contains("shaft 3 mass 331 gr"));
    ok(&sheaf, &["shaft", "blue", "mass=330.8;331.2;331;330.5;330.9"]);
    assert!(
        ok(&sheaf, &["list", "arrows"]).contains("5 shafts noted one by one, 5 weighed: 330.5 to 331.2 gr")
    );
    let csv = ok_wide(&sheaf, &["export", "arrows"]);
    assert!(csv.starts_with("arrows,name,shaft,count,mass_gr"), "{csv}");
    assert!(csv.lines().any(|line| line.contains(",blue,3,,331,")), "{csv}");
    assert_eq!(sheaf(&["export", "arrows", "--bow", "elm"]).0, 1);
    drop(folder);
}

#[track_caller]
fn ok_wide(sheaf: Sheaf<'_>, words: &[&str]) -> String {
    let (code, out, err) = sheaf(words);
    assert_eq!(code, 0, "{words:?}: {err}");
    out
}

#[test]
fn a_heavy_arrow_that_lands_low_is_said_as_such_and_a_light_difference_is_not_blown_up() {
    let (_folder, sheaf) = begun();
    ok(&sheaf, &["add", "arrows", "blue", "--count", "6", "--shaft-diameter", "5.5mm"]);
    ok(&sheaf, &["shaft", "blue", "mass=330.8,331.0,339.0,330.9,331.1,330.7"]);
    for end in 0..12 {
        let shots: Vec<String> = (0..6)
            .map(|arrow| {
                let drawn =
                    |seed: usize| ((seed * 7919 + seed * seed * 104_729) % 4001) as f64 / 200.0 - 10.0;
                let low = if arrow == 2 { -60.0 } else { 0.0 };
                format!(
                    "{}:{:.1},{:.1}",
                    arrow + 1,
                    drawn(12 * end + arrow),
                    drawn(500 + 12 * end + arrow) + low
                )
            })
            .collect();
        let mut words = vec!["shoot", "elm", "30m", "--face", "wa_80", "--arrows", "blue"];
        words.extend(shots.iter().map(String::as_str));
        ok_wide(&sheaf, &words);
    }
    let out = flat(&ok(&sheaf, &["shafts", "blue"]));
    assert!(out.contains("Arrow 3 lands") && out.contains("heavy and low, which go together"), "{out}");
    assert!(out.contains("cannot be said without the speed"), "{out}");
}

/// Drafts fields of a set.
fn draft(id: ThingId, fields: Value) -> Draft {
    let set: Arrows = serde_json::from_value(fields).expect("a set");
    kind::draft(id, &set).expect("a draft")
}

#[test]
fn two_people_who_weigh_different_shafts_merge_without_difference() {
    let server = TestServer::start();
    let mut one = server.found();
    let set = one.keep(&Arrows { name: Some("blue".into()), count: Some(12), ..Arrows::default() });
    one.sync(&server);
    let mut other = server.join(&one, sheaf_model::wire::Role::Archer);
    other.sync(&server);
    one.record(vec![draft(set, json!({"shaft.1.mass_gr": 330.8, "shaft.2.mass_gr": 331.2}))]);
    other.record(vec![draft(set, json!({"shaft.3.mass_gr": 329.9, "shaft.1.balance_from_nock_in": 16.1}))]);
    for _ in 0..2 {
        one.sync(&server);
        other.sync(&server);
    }
    for device in [&mut one, &mut other] {
        let store = device.replica.store_mut();
        let thing = store.thing(Arrows::NAME, set).expect("a store").expect("the set");
        let shafts = kind::read::<Arrows>(&thing).expect("a set").shafts();
        assert_eq!((shafts[&1].mass_gr, shafts[&1].balance_from_nock_in), (Some(330.8), Some(16.1)));
        assert_eq!((shafts[&2].mass_gr, shafts[&3].mass_gr), (Some(331.2), Some(329.9)));
        assert!(differences(store).expect("a store").is_empty());
    }
    one.record(vec![draft(set, json!({"shaft.5.mass_gr": 330.0}))]);
    other.record(vec![draft(set, json!({"shaft.5.mass_gr": 331.0}))]);
    for _ in 0..2 {
        one.sync(&server);
        other.sync(&server);
    }
    let open = differences(one.replica.store_mut()).expect("a store");
    assert_eq!(open.iter().map(|d| d.field.as_str()).collect::<Vec<_>>(), ["shaft.5.mass_gr"]);

    let told: Value = one.call(&server, "GET", "/arrows", None).ok();
    assert_eq!(told["arrows"][0]["shafts"]["2"]["mass_gr"], 331.2);
    assert_eq!(told["arrows"][0].get("shaft.2.mass_gr"), None, "{told}");
    let told: Value = one.call(&server, "GET", "/arrows/BLUE", None).ok();
    assert_eq!((&told["name"], &told["count"]), (&json!("blue"), &json!(12)));
    let path = format!("/v1/teams/{}/arrows/{set}", one.team);
    let response = server.send("GET", &path, Some(&one.token), &[("accept", "text/csv")], None);
    let text = response.text().expect("text");
    assert!(text.lines().any(|line| line.starts_with(&format!("{set},blue,3,,329.9,"))), "{text}");
    let missing = one.call(&server, "GET", "/arrows/bleu", None);
    assert!(missing.body["detail"].as_str().is_some_and(|d| d.contains("blue")), "{}", missing.body);
    missing.is_problem(404, "unknown_arrows");
}
