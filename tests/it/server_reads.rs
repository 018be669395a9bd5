//! Reads for people without a replica, and the live stream.

use crate::harness::server::{Device, TestServer, client};
use serde_json::{Value, json};
use sheaf_model::{
    id::ThingId,
    kind::{Baseline, Bow, Change, Curve, Group, Mark, Pair, Part, Person, Practice},
    wire::Role,
};
use std::io::{BufRead, BufReader};

/// A team with a bow, a change of its plunger and groups before and after.
fn season(server: &TestServer) -> (Device, ThingId) {
    let mut keeper = server.found();
    let archer = keeper.keep(&Person { name: Some("Ada".into()), ..Person::default() });
    let bow = keeper.keep(&Bow { name: Some("old böw".into()), riser_in: Some(25.0), ..Bow::default() });
    for day in 1..=6 {
        for end in 0..4 {
            let x = f64::from(end) + if day > 3 { 40.0 } else { 0.0 };
            keeper.keep(&Group {
                bow: Some(bow),
                archer: Some(archer),
                at: Some(format!("2026-04-0{day}T10:{:02}:00+02:00", end * 5)),
                distance_m: Some(30.0),
                points_mm: Some(vec![Some([x, 1.0]), Some([x + 9.0, -8.0]), None, Some([x - 7.0, 12.0])]),
                note: (end == 0).then(|| "=1+1".to_owned()),
                ..Group::default()
            });
        }
    }
    let at = |text: &str| Some(text.to_owned());
    let mut first = Change { bow: Some(bow), at: at("2026-03-30T09:00:00+02:00"), ..Change::default() };
    first.set("plunger_turns", json!(2.0));
    keeper.keep(&first);
    let mut second = Change { bow: Some(bow), at: at("2026-04-03T18:00:00+02:00"), ..Change::default() };
    second.set("plunger_turns", json!(2.25));
    keeper.keep(&second);
    keeper.sync(server);
    // A sync sends a page at most a round; the second round sees that all is there.
    keeper.sync(server);
    (keeper, bow)
}

fn get(server: &TestServer, device: &Device, path: &str) -> Value {
    device.call(server, "GET", path, None).ok()
}

fn csv(server: &TestServer, device: &Device, path: &str) -> Vec<Vec<String>> {
    let path = format!("/v1/teams/{}{path}", device.team);
    let response = server.send("GET", &path, Some(&device.token), &[("accept", "text/csv")], None);
    assert_eq!(response.status(), 200);
    assert!(response.headers()["content-type"].to_str().is_ok_and(|t| t.starts_with("text/csv")));
    let text = response.text().expect("text");
    let lines = text.split("\r\n").filter(|line| !line.is_empty());
    lines.map(|line| line.split(',').map(str::to_owned).collect()).collect()
}

#[test]
fn bows_setups_and_groups_read_as_records_and_as_tables() {
    let server = TestServer::start();
    let (keeper, bow) = season(&server);
    let coach = server.join(&keeper, Role::Coach);
    let bows = get(&server, &coach, "/bows");
    assert_eq!(bows["bows"][0]["name"], "old böw");
    assert_eq!(csv(&server, &coach, "/bows")[1], [&bow.to_string(), "old böw", "25", "", "false"]);

    let setups = get(&server, &coach, "/bows/OLD%20b%C3%B6w/setups");
    assert_eq!(setups["setups"].as_array().map(Vec::len), Some(3));
    assert_eq!(setups["setups"][1]["groups"], 12);
    assert_eq!(setups["setups"][2]["altered"][0]["before"], 2.0);
    assert_eq!(setups["setups"][2]["settings"]["plunger_turns"]["value"], 2.25);
    let table = csv(&server, &coach, &format!("/bows/{bow}/setups"));
    assert_eq!(table[0], ["change", "at", "altered", "groups", "arrows", "plunger_turns"]);
    assert_eq!(
        table[3][1..],
        ["2026-04-03T18:00:00+02:00", "plunger_turns: 2.0 to 2.25", "12", "48", "2.25"]
    );

    let groups = get(&server, &coach, &format!("/bows/{bow}/groups"));
    assert_eq!(groups["groups"].as_array().map(Vec::len), Some(24));
    assert_eq!(groups["groups"][0]["archer_name"], "Ada");
    let table = csv(&server, &coach, &format!("/bows/{bow}/groups"));
    assert_eq!(table.len(), 1 + 24 * 4);
    let column = |name: &str| table[0].iter().position(|c| c == name).expect("the column is there");
    let row = |name: &str| (1..=4).map(|r| table[r][column(name)].as_str()).collect::<Vec<_>>();
    assert_eq!(row("x_mm"), ["0", "9", "", "-7"]);
    assert_eq!(row("found"), ["true", "true", "false", "true"]);
    assert_eq!(row("note")[0], "'=1+1", "a note is no formula");
}

#[test]
fn the_effects_are_those_of_the_model() {
    let server = TestServer::start();
    let (keeper, bow) = season(&server);
    let effects = get(&server, &keeper, &format!("/bows/{bow}/effects"));
    let archer = &effects["archers"][0];
    assert_eq!((&effects["name"], &archer["name"]), (&json!("old böw"), &json!("Ada")));
    let verdicts = archer["verdicts"].as_array().expect("there are verdicts");
    let last = verdicts.last().expect("the second change");
    let shift = last["shift_mrad"][0].as_f64().expect("a shift");
    // Both halves are the same ends moved by 40 mm: at 30 m that is 40/30 mrad exactly.
    assert!((shift - 40.0 / 30.0).abs() < 1e-6, "{shift}");
    let table = csv(&server, &keeper, &format!("/bows/{bow}/effects"));
    assert_eq!(table.len(), 1 + verdicts.len());
    assert_eq!(table.last().map(|row| row[4].as_str()), Some("moved"));
    let report = get(&server, &keeper, "/report");
    assert_eq!(report["rows"][0]["archer_name"], "Ada");
    assert_eq!(report["rows"][0]["last_verdict"], last["sentence"]);
    assert_eq!(csv(&server, &keeper, "/report")[1][..2], ["Ada", "old böw"]);
}

#[test]
fn draw_curves_and_pairs_read_as_records_and_as_tables() {
    let server = TestServer::start();
    let (mut keeper, bow) = season(&server);
    let limbs = Part { name: Some("=long 36".into()), what: Some("limbs".into()), ..Part::default() };
    let limbs = keeper.keep(&limbs);
    let at = || Some("2026-04-09T10:00:00+02:00".to_owned());
    keeper.keep(&Curve {
        bow: Some(bow),
        at: at(),
        draw_in: Some(vec![12.0, 18.0, 28.0]),
        weight_lbf: Some(vec![4.0, 16.0, 36.0]),
        no_weight_draw_in: Some(10.0),
        ..Curve::default()
    });
    let bolts = Some(3.0);
    keeper.keep(&Pair {
        bow: Some(bow),
        limbs: Some(limbs),
        fit: Some("true".into()),
        at: at(),
        limb_bolt_top_turns: bolts,
        ..Pair::default()
    });
    keeper.sync(&server);
    keeper.sync(&server);
    let path = format!("/bows/{bow}/curves");
    let curves = get(&server, &keeper, &path);
    // 2 lbf an inch from 10 in on: 18 * 36 / 2 / 12 ft lbf up to the last draw.
    assert!(
        (curves["figures"]["stored_energy_ftlbf"].as_f64().expect("energy") - 27.0).abs() < 1e-9,
        "{curves}"
    );
    let table = csv(&server, &keeper, &path);
    assert_eq!(table[0][3..6], ["draw_in", "weight_lbf", "measured"]);
    assert_eq!(table[1][2..6], ["true", "10", "0", "false"], "what was added is no measured point");
    assert_eq!((table.len(), &table[4][3..6]), (5, &["28".into(), "36".into(), "true".into()][..]));
    let path = format!("/bows/{bow}/pairs");
    let pairs = get(&server, &keeper, &path);
    assert_eq!(
        (&pairs["rows"][0]["fit"], &pairs["rows"][0]["settings"][0]["value"]),
        (&json!("true"), &json!(3.0))
    );
    let table = csv(&server, &keeper, &path);
    assert_eq!(
        (table[1][3].as_str(), table[1][6].as_str(), table[1][7].as_str()),
        ("'=long 36", "true", "3")
    );
}

#[test]
fn marks_read_as_records_and_as_a_table() {
    let server = TestServer::start();
    let mut keeper = server.found();
    let archer = keeper.keep(&Person { name: Some("Ada".into()), ..Person::default() });
    let bow = keeper.keep(&Bow { name: Some("elm".into()), ..Bow::default() });
    // An arrow of 57 m/s, by tests/reference/scripts/marks.py.
    for (distance_m, mark) in [(12.0, 25.7), (18.0, 31.3), (30.0, 45.6), (40.0, 58.7), (50.0, 72.5)] {
        keeper.keep(&Mark {
            bow: Some(bow),
            archer: Some(archer),
            distance_m: Some(distance_m),
            sight_mark: Some(mark),
            at: Some("2026-04-01T10:00:00+02:00".into()),
            ..Mark::default()
        });
    }
    // One mark alone: no curve goes through it.
    keeper.keep(&Mark {
        bow: Some(bow),
        archer: Some(archer),
        distance_m: Some(18.0),
        what: Some("crawl".into()),
        crawl_mm: Some(24.0),
        at: Some("2026-04-01T11:00:00+02:00".into()),
        ..Mark::default()
    });
    keeper.sync(&server);
    keeper.sync(&server);
    let told = get(&server, &keeper, &format!("/bows/{bow}/marks"));
    let mut sets = told["sets"].as_array().expect("sets").iter();
    let sight = sets.find(|set| set["title"] == "Ada: sight marks").expect("the sight marks");
    assert_eq!(sight["figures"]["curve"], "trajectory");
    let table = csv(&server, &keeper, "/bows/elm/marks");
    assert_eq!(table[0][..6], ["bow", "archer", "arrows", "what", "distance_m", "mark"]);
    let row = table.iter().find(|row| row[4] == "45").expect("a row of 45 m");
    let mark: f64 = row[5].parse().expect("a mark");
    assert!((mark - 65.55).abs() < 0.3 && row[8] == "between", "{row:?}");
    let crawls: Vec<_> = table.iter().filter(|row| row[3] == "crawl").collect();
    assert_eq!(crawls.len(), 1, "{table:?}");
    assert_eq!(crawls[0][4..9], ["18", "24", "", "", "noted"]);
}

#[test]
fn the_rebuild_sheet_is_that_of_the_model() {
    let server = TestServer::start();
    let (mut keeper, bow) = season(&server);
    let settings = [("plunger_turns".to_owned(), json!(2.0)), ("brace_height_mm".to_owned(), json!(215))];
    let baseline = keeper.keep(&Baseline {
        name: Some("match day".into()),
        bow: Some(bow),
        settings: Some(settings.into()),
        tolerances: Some([("brace_height_mm".to_owned(), 1.0)].into()),
        ..Baseline::default()
    });
    keeper.sync(&server);
    keeper.sync(&server);
    let now = get(&server, &keeper, &format!("/bows/{bow}/rebuild"));
    assert_eq!(
        (&now["title"], &now["rows"][0]["target"]),
        (&json!("old böw as last noted"), &json!("2.25 turns"))
    );
    let path = format!("/bows/{bow}/rebuild?baseline=Match%20day&units=imperial");
    let sheet = get(&server, &keeper, &path);
    assert_eq!((&sheet["baseline"], &sheet["title"]), (&json!(baseline), &json!("old böw as in match day")));
    // 215 / 25.4 = 8.4646; 1 / 25.4 = 0.0394.
    assert_eq!([&sheet["rows"][0]["target"], &sheet["rows"][0]["tolerance"]], ["8.46 in", "± 0.039 in"]);
    assert_eq!(sheet["source"], "common practice, no source");
    let table = csv(&server, &keeper, &format!("/bows/{bow}/rebuild?baseline={baseline}"));
    assert_eq!(table[1][..5], ["1", "brace_height_mm", "brace height", "mm", "215 mm"]);
    assert_eq!(table.len(), 3);
    let answer = keeper.call(&server, "GET", &format!("/bows/{bow}/rebuild?baseline=indoor"), None);
    assert!(
        answer.body["detail"].as_str().is_some_and(|d| d.contains("It has: match day.")),
        "{}",
        answer.body
    );
    answer.is_problem(404, "unknown_baseline");
    let answer = keeper.call(&server, "GET", &format!("/bows/{bow}/rebuild?units=ells"), None);
    answer.is_problem(400, "bad_units");
}

#[test]
fn an_unknown_bow_is_answered_with_the_nearest() {
    let server = TestServer::start();
    let (keeper, _) = season(&server);
    let answer = keeper.call(&server, "GET", "/bows/old%20bow/groups", None);
    assert!(answer.body["detail"].as_str().is_some_and(|d| d.contains("old böw")), "{}", answer.body);
    answer.is_problem(404, "unknown_bow");
}

/// Reads the next event of a stream: its name and what it says.
fn next(stream: &mut impl BufRead) -> Option<(String, Value)> {
    let (mut name, mut data) = (String::new(), Value::Null);
    loop {
        let mut line = String::new();
        if stream.read_line(&mut line).ok()? == 0 {
            return None;
        }
        match line.trim_end().split_once(':') {
            Some(("event", text)) => name = text.to_owned(),
            Some(("data", text)) => data = serde_json::from_str(text).ok()?,
            None if !name.is_empty() => return Some((name, data)),
            _ => {}
        }
    }
}

#[test]
fn commits_of_the_team_and_no_other_are_told_as_they_happen() {
    let server = TestServer::start();
    let mut keeper = server.found();
    let mut stranger = server.found();
    let listener = server.join(&keeper, Role::Coach);
    let url = server.url(&format!("/v1/teams/{}/events", listener.team));
    let stream = client().get(url).bearer_auth(&listener.token).send().expect("a stream");
    assert!(stream.headers()["content-type"].to_str().is_ok_and(|t| t.starts_with("text/event-stream")));
    let mut stream = BufReader::new(stream);
    let (name, told) = next(&mut stream).expect("the state comes first");
    assert_eq!((name.as_str(), &told["entries"]), ("state", &json!(0)));
    stranger.notes(2);
    stranger.sync(&server);
    let bow = keeper.keep(&Bow { name: Some("new".into()), ..Bow::default() });
    keeper.sync(&server);
    let (name, told) = next(&mut stream).expect("a commit");
    assert_eq!((name.as_str(), &told["entries"], &told["added"]), ("commit", &json!(1), &json!(1)));
    assert_eq!(told["bows"], json!([bow]));
    use sheaf_model::replica::Store as _;
    assert_eq!(told["digest"], json!(keeper.replica.store_mut().digest().expect("a digest")));
    // A device that is shut out hears no more.
    keeper.call(&server, "DELETE", &format!("/devices/{}", listener.writer.device), None).ok::<Value>();
    assert!(next(&mut stream).is_none());
}

#[test]
fn the_description_names_what_there_is() {
    let server = TestServer::start();
    let document: Value = server.call("GET", "/v1/openapi.json", None, None).ok();
    assert_eq!(document["openapi"], "3.1.0");
    for (path, methods) in document["paths"].as_object().expect("paths") {
        let path = path.replace("{method}", "adjust-p").replace(['{', '}'], "");
        for method in methods.as_object().expect("methods").keys() {
            let answer = server.call(&method.to_uppercase(), &path, None, None);
            let code = answer.body["code"].as_str().unwrap_or_default();
            assert!(!["unknown_route", "method_not_allowed"].contains(&code), "{method} {path}: {code}");
        }
    }
}

#[test]
fn wear_reads_as_records_and_as_a_table() {
    let server = TestServer::start();
    let (mut keeper, bow) = season(&server);
    let string = Part {
        name: Some("=red".into()),
        what: Some("string".into()),
        remind_at_arrows: Some(100),
        ..Part::default()
    };
    let string = keeper.keep(&string);
    let at = |text: &str| Some(text.to_owned());
    let mut change = Change { bow: Some(bow), at: at("2026-03-31T09:00:00+02:00"), ..Change::default() };
    change.set("string", json!(string));
    keeper.keep(&change);
    let count = Practice {
        bow: Some(bow),
        at: at("2026-04-08T10:00:00+02:00"),
        count: Some(72),
        ..Practice::default()
    };
    keeper.keep(&count);
    keeper.sync(&server);
    keeper.sync(&server);
    let coach = server.join(&keeper, Role::Coach);
    let wear = get(&server, &coach, &format!("/bows/{bow}/wear"));
    let row = &wear["rows"][0];
    // Six days of four ends of four arrows each, one of them not found.
    assert_eq!((&row["placed"], &row["practice"], &row["arrows"]), (&json!(96), &json!(72), &json!(168)));
    assert_eq!((&row["due"], &row["remind_at"]), (&json!("now"), &json!(100)));
    let table = csv(&server, &coach, &format!("/bows/{bow}/wear"));
    assert_eq!(table[0][..3], ["setting", "name", "id"]);
    assert_eq!(table[1][..2], ["string", "'=red"]);
    assert_eq!(table[1][3..], ["2026-03-31", "168", "96", "72", "100", "old böw"]);
}

#[test]
fn parts_and_what_fits_read_as_records_and_as_tables() {
    let server = TestServer::start();
    let (mut keeper, bow) = season(&server);
    let limbs = keeper.keep(&Part {
        name: Some("=long".into()),
        what: Some("limbs".into()),
        limb_length: Some("long".into()),
        marked_weight_lbf: Some(36.0),
        most_weight_lbf: Some(30.0),
        ..Part::default()
    });
    let birch =
        keeper.keep(&Person { name: Some("Birch".into()), draw_length_in: Some(28.0), ..Person::default() });
    let at = Some("2026-04-08T09:00:00+02:00".to_owned());
    let mut fitted = Change { bow: Some(bow), at, ..Change::default() };
    fitted.set("limbs", json!(limbs));
    keeper.keep(&fitted);
    keeper.sync(&server);
    keeper.sync(&server);
    let coach = server.join(&keeper, Role::Coach);
    let parts = get(&server, &coach, "/parts");
    assert_eq!(parts["parts"][0]["place"], "on old böw since 8 April 2026");
    assert_eq!(csv(&server, &coach, "/parts")[1][1..3], ["'=long", "limbs"]);
    let fits = get(&server, &coach, "/people/birch/fits");
    assert_eq!(
        (&fits["person"], &fits["combinations"][0]["bow_length_in"], &fits["combinations"][0]["limits"]),
        (&json!(birch), &json!(70.0), &json!("passed"))
    );
    let table = csv(&server, &coach, &format!("/people/{birch}/fits"));
    assert_eq!(table[0][..4], ["rank", "title", "riser_in", "bow_length_in"]);
    // The title has a comma, at which this reader of tables splits too.
    assert_eq!((&*table[0][6], &*table[1][7]), ("weight_measured", "false"));
    coach.call(&server, "GET", "/people/nobody/fits", None).is_problem(404, "unknown_person");
}
