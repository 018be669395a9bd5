//! A service that is newer or older than the device: what is told, and that nothing is lost by it.

use crate::harness::{
    alone::run_at,
    server::{Device, T0, TestServer},
    team::notes,
};
use serde_json::{Value, json};
use sheaf_model::{replica::Store as _, wire::ExchangeReply};
use std::{
    fs,
    io::{Read, Write},
    net::TcpListener,
    path::PathBuf,
    thread::JoinHandle,
};
use tempfile::TempDir;

/// A device of a team, with a record that its service lacks.
struct Ash {
    folder: TempDir,
    server: TestServer,
}

impl Ash {
    fn new() -> Self {
        let ash = Self { folder: TempDir::new().expect("a folder"), server: TestServer::start() };
        ash.ok(&["start", "Pair", "--me", "Ash"]);
        ash.ok(&["connect", &ash.server.url(""), "--key", &ash.server.key()]);
        ash.ok(&["add", "bow", "elm"]);
        ash
    }

    fn home(&self) -> PathBuf {
        self.folder.path().join("home")
    }

    fn run(&self, words: &[&str]) -> (u8, String, String) {
        let mut out = Vec::new();
        let (code, err) = run_at(&self.home(), T0, &mut out, "", words);
        let flat = |text: String| text.split_whitespace().collect::<Vec<_>>().join(" ");
        (code, flat(String::from_utf8(out).expect("text")), flat(err))
    }

    #[track_caller]
    fn ok(&self, words: &[&str]) -> (String, String) {
        let (code, out, err) = self.run(words);
        assert_eq!(code, 0, "{words:?}: {err}");
        (out, err)
    }

    /// Runs a command while another service answers than its own.
    fn answered(&self, answers: Vec<(u16, String)>, words: &[&str]) -> (u8, String, String, Vec<Value>) {
        let (url, heard) = answering(answers);
        let card = self.home().join("replica.json");
        let own = fs::read_to_string(&card).expect("the card");
        fs::write(&card, own.replace(&self.server.url(""), &url)).expect("it can be written");
        let (code, out, err) = self.run(words);
        let now = fs::read_to_string(&card).expect("the card");
        fs::write(&card, now.replace(&url, &self.server.url(""))).expect("it can be written");
        (code, out, err, heard.join().expect("every answer is fetched"))
    }

    /// Returns what its own service would answer now.
    fn answer(&self) -> Value {
        let card: Value =
            serde_json::from_slice(&fs::read(self.home().join("replica.json")).expect("the card"))
                .expect("JSON");
        let ask = json!({"device": card["device"], "clock_ms": T0, "have": {}});
        let path = format!("/v1/teams/{}/exchange", card["team"].as_str().expect("a team"));
        self.server.call("POST", &path, card["server"]["token"].as_str(), Some(&ask)).ok()
    }
}

/// Answers so many requests with these statuses and bodies; returns the address, and the bodies of the requests.
fn answering(answers: Vec<(u16, String)>) -> (String, JoinHandle<Vec<Value>>) {
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
    let url = format!("http://{}", listener.local_addr().expect("an address"));
    let thread = std::thread::spawn(move || {
        let answer = |(status, body): (u16, String)| {
            let (mut stream, _) = listener.accept().expect("a connection");
            let mut asked = Vec::new();
            let body_of = loop {
                let mut part = [0; 4096];
                let read = stream.read(&mut part).expect("a request");
                asked.extend_from_slice(&part[..read]);
                let Some(end) = asked.windows(4).position(|w| w == b"\r\n\r\n") else { continue };
                let head = String::from_utf8_lossy(&asked[..end]).to_lowercase();
                let length =
                    head.lines().find_map(|l| l.strip_prefix("content-length:")?.trim().parse().ok());
                if asked.len() >= end + 4 + length.unwrap_or(0) {
                    break asked[end + 4..].to_vec();
                }
            };
            let reply = format!(
                "HTTP/1.1 {status} Some Reason\r\ncontent-length: {}\r\nconnection: close\r\n\r\n{body}",
                body.len()
            );
            stream.write_all(reply.as_bytes()).expect("it is sent");
            serde_json::from_slice(&body_of).unwrap_or(Value::Null)
        };
        answers.into_iter().map(answer).collect()
    });
    (url, thread)
}

fn problem(status: u16, code: &str, detail: &str) -> String {
    json!({"type": format!("/problems/{code}"), "title": "No", "status": status, "detail": detail, "code": code})
        .to_string()
}

#[test]
fn what_a_newer_service_adds_to_its_answers_is_passed_over() {
    let ash = Ash::new();
    ash.ok(&["sync"]);
    let mut reply = ash.answer();
    reply["entries"] = json!([]);
    reply["weather"] = json!({"wind_mps": 3});
    reply["role"] = json!("judge");
    let (code, out, err, _) = ash.answered(vec![(200, reply.to_string())], &["sync"]);
    assert!(code == 0 && err.is_empty() && out.contains("hold the same records now"), "{code} {out} {err}");
    ash.ok(&["add", "bow", "oak"]);
}

#[test]
fn kinds_and_fields_that_are_not_known_here_travel_on() {
    use sheaf_model::{kind::Bow, replica::Draft};
    let server = TestServer::start();
    let (mut newer, mut other) = (server.found(), None::<Device>);
    newer.keep(&Bow { name: Some("elm".into()), ..Bow::default() });
    let set = [("wind_mps", "3.5"), ("told_by", "{\"station\":[1,2]}")];
    let set = set.map(|(name, text)| {
        (name.into(), serde_json::value::RawValue::from_string(text.into()).expect("JSON"))
    });
    let draft = Draft {
        kind: "weather".into(),
        id: crate::harness::server::new_thing(),
        set: set.into(),
        settles: false,
    };
    newer.record(vec![draft]);
    newer.sync(&server);
    let folder = TempDir::new().expect("a folder");
    let home = folder.path().join("home");
    let invite: Value = newer.call(&server, "POST", "/invites", Some(&json!({"role": "archer"}))).ok();
    let ok = |words: &[&str]| {
        let mut out = Vec::new();
        let (code, err) = run_at(&home, T0, &mut out, "", words);
        assert_eq!(code, 0, "{words:?}: {err}");
        String::from_utf8(out).expect("text")
    };
    ok(&["join", &server.url(""), invite["code"].as_str().expect("a code"), "--me", "Ash"]);
    assert!(ok(&["list", "bows"]).contains("elm"));
    // It goes on from there to a third device by a bundle.
    let bundle = folder.path().join("pair.sheaf");
    ok(&["bundle", "out", bundle.to_str().expect("text")]);
    let there = fs::read_to_string(bundle).expect("a bundle");
    assert!(there.contains("\"kind\":\"weather\"") && there.contains("{\"station\":[1,2]}"), "{there}");
    let third = other.get_or_insert_with(|| server.join(&newer, sheaf_model::wire::Role::Archer));
    third.sync(&server);
    assert!(third.replica.store().vector().total() >= 3);
}

#[test]
fn records_of_a_newer_format_wait_on_the_service_and_spoil_nothing() {
    let ash = Ash::new();
    ash.ok(&["sync"]);
    let (log, newer) = (notes(2, 9), notes(1, 8));
    let first =
        json!({"v": 2, "device": newer[0].device, "seq": 1, "sealed": "in a shape that is not known yet"});
    let mut reply = ash.answer();
    reply["entries"] = json!([first, log[0]]);
    reply["more"] = json!(true);
    reply["have"][newer[0].device.to_string()] = json!([1, newer[0].header_hash()]);
    reply["have"][log[0].device.to_string()] = json!([2, log[1].header_hash()]);
    let mut next = reply.clone();
    (next["entries"], next["more"]) = (json!([log[1]]), json!(false));
    let answers = [&reply, &next].map(|body| (200, body.to_string()));
    let (code, out, err, asked) = ash.answered(answers.into(), &["sync", "--json"]);
    assert_eq!(code, 0, "{err}");
    assert!(err.contains("newer sheaf") && err.contains("Update sheaf on this device"), "{err}");
    let report: Value = serde_json::from_str(&out).expect("JSON");
    assert_eq!((&report["received"], &report["unfit"][0]["newer"]), (&2.into(), &true.into()), "{report}");
    assert_eq!(asked[1]["have"][newer[0].device.to_string()][0], u64::MAX, "it is not asked for again");
    // The same of an entry in today's shape with another number in front.
    let mut later = log[0].clone();
    later.v = 2;
    let mut refuser = ash.server.found();
    let refused: ExchangeReply = refuser.exchange(&ash.server, vec![later]).ok();
    assert_eq!(refused.refused[0].code, "newer_version", "{:?}", refused.refused);
    refuser.sync(&ash.server);
}

#[test]
fn an_older_service_that_refuses_records_leaves_them_on_the_device() {
    let ash = Ash::new();
    let mut reply = ash.answer();
    let device = reply["have"].as_object().expect("marks").keys().next().expect("a log").clone();
    reply["entries"] = json!([]);
    reply["refused"] = json!([{"device": device, "seq": 2, "code": "newer_version",
        "message": format!("entry 2 of device {device}: format version 2; this build reads 1, update it")}]);
    let (code, _, err, _) = ash.answered(vec![(200, reply.to_string())], &["sync"]);
    assert!(code == 0 && err.contains("sheafd there has to be updated"), "{code} {err}");
    assert!(err.contains("They stay on this device"), "{err}");
    let (out, err) = ash.ok(&["sync"]);
    assert!(out.contains("1 entry sent") && err.is_empty(), "{out} {err}");
}

#[test]
fn answers_of_other_versions_and_of_strangers_say_what_to_do() {
    let ash = Ash::new();
    let cases: &[(u16, String, u8, &[&str])] = &[
        (
            404,
            problem(404, "unknown_route", "GET /v1/openapi.json describes"),
            4,
            &["of different versions", "goes over then"],
        ),
        (405, problem(405, "method_not_allowed", "the `Allow` header"), 4, &["of different versions"]),
        (
            400,
            problem(400, "bad_json", "missing field `x` at line 1 column 9"),
            4,
            &["cannot read what this sheaf sends", "of different versions"],
        ),
        (
            426,
            problem(426, "upgrade", "Version 3 is spoken here."),
            4,
            &["Version 3 is spoken here.", "of different versions"],
        ),
        (
            409,
            problem(409, "news", "Something new is wrong."),
            4,
            &["Something new is wrong.", "kept on this device"],
        ),
        (
            429,
            problem(429, "busy", "Too much at one time."),
            3,
            &["Too much at one time.", "1 entry waits on this device"],
        ),
        (
            503,
            problem(503, "stopped", "The disk is full."),
            3,
            &["The disk is full.", "1 entry waits on this device"],
        ),
        (404, "<html>Not Found</html>".into(), 3, &["with a page for people", "is the address right?"]),
        (511, "<html>Log in</html>".into(), 3, &["asks you to log in first"]),
        (200, "<html>Welcome</html>".into(), 3, &["log in first"]),
        (200, "{\"hello\": 1}".into(), 3, &["cannot read", "update sheaf"]),
        (200, String::new(), 3, &["not as a Sheaf server does", "is kept"]),
    ];
    for (status, body, wants, says) in cases {
        let (code, out, err, _) = ash.answered(vec![(*status, body.clone())], &["sync"]);
        assert_eq!((code, out.as_str()), (*wants, ""), "{status} {body}: {err}");
        assert!(says.iter().all(|say| err.contains(say)), "{status} {body}: {err}");
        for raw in ["line 1", "column", "openapi", "`Allow`"] {
            assert!(!err.contains(raw), "{status} {body}: {err}");
        }
    }
    assert!(ash.ok(&["list", "bows"]).0.contains("elm"));
    assert!(ash.ok(&["sync"]).0.contains("1 entry sent"));
}

#[test]
fn a_stranger_who_asks_to_come_later_is_not_taken_for_the_service() {
    let ash = Ash::new();
    let card = || fs::read_to_string(ash.home().join("replica.json")).expect("the card");
    let before = card();
    let listener = TcpListener::bind("127.0.0.1:0").expect("a port");
    let url = format!("http://{}", listener.local_addr().expect("an address"));
    let busy = std::thread::spawn(move || {
        let (mut stream, _) = listener.accept().expect("a connection");
        assert!(stream.read(&mut [0; 4096]).expect("a request") > 0);
        let head = "HTTP/1.1 503 Busy\r\nretry-after: 900\r\ncontent-length: 0\r\nconnection: close\r\n\r\n";
        stream.write_all(head.as_bytes()).expect("it is sent");
    });
    let (code, _, err) = ash.run(&["connect", &url]);
    busy.join().expect("it was asked");
    assert!(
        code == 3 && err.contains("900 seconds") && err.contains("this device stays with"),
        "{code} {err}"
    );
    assert_eq!(card(), before);
}
