//! The page's desk against the real service: what a phone keeps, sends, takes in, and goes on from.

use crate::harness::server::{T0, TestServer, answer};
use serde_json::{Value, json};
use sheaf_model::{desk::Desk, wire::InviteReply};
use std::collections::BTreeMap;

/// A phone: a desk, and what its store keeps of it.
#[derive(Clone, Default)]
struct Kept {
    entries: BTreeMap<(String, String, u64), String>,
    card: Value,
    have: Value,
}

struct Phone {
    desk: Desk,
    kept: Kept,
    now_ms: u64,
    draws: u64,
}

impl Phone {
    fn new(draws: u64) -> Self {
        Self { desk: Desk::default(), kept: Kept::default(), now_ms: T0, draws }
    }

    /// Asks as the page's worker does: keeps what was written before it looks at the answer.
    fn ask(&mut self, name: &str, input: &Value) -> Result<Value, Value> {
        self.ask_with(name, input, &[])
    }

    fn ask_with(&mut self, name: &str, input: &Value, lines: &[&String]) -> Result<Value, Value> {
        self.now_ms += 1000;
        self.draws = self.draws.wrapping_mul(6_364_136_223_846_793_005).wrapping_add(1);
        let seed = format!("{:016x}", self.draws);
        let request =
            json!({"call": name, "input": input, "now_ms": self.now_ms, "offset_min": 120, "seed": seed});
        let request = lines.iter().fold(request.to_string(), |request, line| format!("{request}\n{line}"));
        let answer: Value = serde_json::from_str(&self.desk.answer(&request)).expect("JSON");
        if !answer["card"].is_null() {
            (self.kept.card, self.kept.have) = (answer["card"].clone(), answer["have"].clone());
        }
        let team = self.kept.card["team"].as_str().unwrap_or_default().to_owned();
        if let Some(device) = answer["gone"]["device"].as_str() {
            let after = answer["gone"]["after"].as_u64().unwrap_or_default();
            self.kept.entries.retain(|(t, d, seq), _| (t, d.as_str()) != (&team, device) || *seq <= after);
        }
        for text in answer["fresh"].as_array().into_iter().flatten().filter_map(Value::as_str) {
            let entry: Value = serde_json::from_str(text).expect("an entry");
            let (device, seq) = (entry["device"].as_str(), entry["seq"].as_u64());
            let key = (team.clone(), device.unwrap_or_default().to_owned(), seq.unwrap_or_default());
            self.kept.entries.insert(key, text.to_owned());
        }
        if answer["error"].is_null() { Ok(answer["output"].clone()) } else { Err(answer["error"].clone()) }
    }

    #[track_caller]
    fn ok(&mut self, name: &str, input: Value) -> Value {
        self.ask(name, &input).unwrap_or_else(|e| panic!("{name}: {e}"))
    }

    /// Starts anew from what was kept, as after a kill.
    fn reopened(kept: Kept, draws: u64) -> Self {
        let mut phone = Self { kept: kept.clone(), ..Self::new(draws) };
        let team = kept.card["team"].as_str().unwrap_or_default();
        phone.ok("open", json!({"card": kept.card, "have": kept.have}));
        let own = kept.entries.iter().filter(|((t, ..), _)| t == team);
        let texts: Vec<&String> = own.map(|(_, text)| text).collect();
        let loaded = phone.ask_with("load", &json!({}), &texts).expect("it was kept");
        assert_eq!((loaded["kept"].as_u64(), &loaded["refused"]), (Some(texts.len() as u64), &json!([])));
        phone
    }

    fn begun(name: &str, draws: u64) -> Self {
        let mut phone = Self::new(draws);
        phone.ok("start", json!({"person": name, "device_name": "phone"}));
        phone
    }

    fn team(&self) -> String {
        self.kept.card["team"].as_str().unwrap_or_default().to_owned()
    }

    fn token(&self) -> String {
        self.kept.card["server"]["token"].as_str().unwrap_or_default().to_owned()
    }

    fn post(
        &self,
        server: &TestServer,
        path: &str,
        body: &Value,
        token: Option<&str>,
    ) -> (u16, String, Value) {
        // Sent as the desk wrote it: read and written again, the text of the entries would change.
        let body = body.as_str().expect("a body").as_bytes().to_vec();
        let headers = [("content-type", "application/json")];
        let answer = answer(server.send("POST", path, token, &headers, Some(body)));
        (answer.status, answer.text, answer.body)
    }

    /// Syncs until level; returns the report, or the problem of the server.
    fn sync(&mut self, server: &TestServer) -> Result<Value, Value> {
        let path = format!("/v1/teams/{}/exchange", self.team());
        let mut step = self.ok("exchange", json!({}));
        while !step["body"].is_null() {
            let (status, text, body) = self.post(server, &path, &step["body"], Some(&self.token()));
            if status != 200 {
                return Err(body);
            }
            step = self.ok("exchange", json!({"reply": text}));
        }
        Ok(step["report"].clone())
    }

    fn found(&mut self, server: &TestServer) {
        let asked = self.ok("found", json!({"key": server.key()}));
        let (status, text, _) = self.post(server, "/v1/teams", &asked["body"], None);
        assert_eq!(status, 201, "{text}");
        self.ok("founded", json!({"reply": text}));
    }

    fn invite(&self, server: &TestServer, role: &str) -> String {
        let path = format!("/v1/teams/{}/invites", self.team());
        let answer = server.call("POST", &path, Some(&self.token()), Some(&json!({"role": role})));
        answer.ok::<InviteReply>().code
    }

    /// Comes in by an invite; what was recorded before comes along.
    fn join(&mut self, server: &TestServer, code: &str, me: &str) {
        let asked = self.ok("join", json!({"code": code, "me": me, "device_name": "phone"}));
        let (status, text, _) = self.post(server, "/v1/join", &asked["body"], None);
        assert_eq!(status, 201, "{text}");
        let before = self.team();
        self.ok("joined", json!({"reply": text, "device_name": "phone"}));
        self.sync(server).expect("level");
        let old = self.kept.entries.iter().filter(|((team, ..), _)| *team == before);
        let texts: Vec<String> = old.map(|(_, text)| text.clone()).collect();
        self.ok("carry", json!({"entries": texts, "me": me}));
        self.sync(server).expect("level");
    }

    fn status(&mut self) -> Value {
        self.ok("status", json!({}))
    }

    fn name_bow(&mut self, name: &str) {
        self.ok("add", json!({"kind": "bow", "fields": {"name": name}}));
    }

    fn bows(&mut self) -> Vec<String> {
        let things = self.ok("things", json!({"kind": "bow"}));
        let list = things["things"].as_array().into_iter().flatten();
        let mut names: Vec<String> = list.filter_map(|t| t["name"].as_str()).map(str::to_owned).collect();
        names.sort();
        names
    }
}

#[test]
fn a_team_of_one_comes_onto_the_server_and_another_joins_with_what_it_had() {
    let server = TestServer::start();
    let mut ada = Phone::begun("Ada Fern", 1);
    ada.name_bow("Kestrel");
    assert_eq!(
        (ada.status()["unsent"].as_u64(), ada.status()["on_server"].as_bool()),
        (Some(2), Some(false))
    );
    ada.found(&server);
    let report = ada.sync(&server).expect("level");
    assert_eq!((report["agree"].as_bool(), report["sent"].as_u64()), (Some(true), Some(2)));

    let mut ben = Phone::begun("Ben Reed", 2);
    ben.name_bow("Plover");
    let code = ada.invite(&server, "archer");
    ben.join(&server, &code, "Ben Reed");
    ada.sync(&server).expect("level");
    assert_eq!((ada.bows(), ben.bows()), (vec!["Kestrel".into(), "Plover".into()], ada.bows()));
    assert_eq!(
        (ada.status()["digest"].clone(), ada.status()["unsent"].as_u64()),
        (ben.status()["digest"].clone(), Some(0))
    );
    assert_eq!(ben.status()["person_name"], "Ben Reed");
    // A kill right here: what is kept is all of it.
    let (digest, kept) = (ben.status()["digest"].clone(), ben.kept.clone());
    assert_eq!(Phone::reopened(kept, 3).status()["digest"], digest);
}

#[test]
fn a_phone_restored_from_an_old_copy_goes_on_under_another_id_and_loses_nothing() {
    let server = TestServer::start();
    let mut ada = Phone::begun("Ada Fern", 4);
    ada.found(&server);
    ada.sync(&server).expect("level");
    let old = ada.kept.clone();
    ada.name_bow("Kestrel");
    ada.sync(&server).expect("level");

    let mut copy = Phone::reopened(old, 5);
    copy.now_ms += 60_000;
    copy.name_bow("Plover");
    let problem = copy.sync(&server).expect_err("its log forked");
    assert_eq!(problem["code"], "fork");
    let path = format!("/v1/teams/{}", copy.team());
    let mut step = copy.ok("fork", json!({}));
    while !step["body"].is_null() {
        let token = copy.token();
        let (status, text, _) = copy.post(&server, &format!("{path}/exchange"), &step["body"], Some(&token));
        assert_eq!(status, 200, "{text}");
        step = copy.ok("fork", json!({"reply": text}));
    }
    let token = copy.token();
    let (status, text, _) = copy.post(&server, &format!("{path}/devices"), &step["ask"], Some(&token));
    assert_eq!(status, 201, "{text}");
    assert_eq!(copy.ok("renewed", json!({"reply": text}))["moved"], 1);
    assert_eq!(copy.sync(&server).expect("level")["agree"], true);
    assert_eq!(copy.bows(), ["Kestrel", "Plover"]);
    let (digest, kept) = (copy.status()["digest"].clone(), copy.kept.clone());
    assert_eq!(Phone::reopened(kept, 6).status()["digest"], digest, "the old end of the log is let go of");
}

#[test]
fn a_phone_that_was_shut_out_comes_in_again_with_what_only_it_has() {
    let server = TestServer::start();
    let mut ada = Phone::begun("Ada Fern", 21);
    ada.found(&server);
    ada.sync(&server).expect("level");
    let mut ben = Phone::new(22);
    let code = ada.invite(&server, "archer");
    ben.join(&server, &code, "Ben Reed");
    ben.name_bow("Plover");
    let device = ben.kept.card["device"].as_str().unwrap_or_default().to_owned();
    let path = format!("/v1/teams/{}/devices/{device}", ada.team());
    assert_eq!(server.call("DELETE", &path, Some(&ada.token()), None).status, 204);
    assert_eq!(ben.sync(&server).expect_err("shut out")["status"], 403);

    let refused = ben.ask("join", &json!({"code": "x", "device_name": "phone"})).expect_err("in a team");
    assert_eq!(refused["code"], "joined_already");
    let person = ben.kept.card["person"].clone();
    let path = format!("/v1/teams/{}/invites", ada.team());
    let answer = server.call("POST", &path, Some(&ada.token()), Some(&json!({"person": person})));
    let code = answer.ok::<InviteReply>().code;
    let asked = ben.ok("join", json!({"code": code, "device_name": "phone", "again": true}));
    let (status, text, _) = ben.post(&server, "/v1/join", &asked["body"], None);
    assert_eq!(status, 201, "{text}");
    assert_eq!(ben.ok("joined", json!({"reply": text, "device_name": "phone"}))["moved"], 1);
    assert_eq!(ben.sync(&server).expect("level")["agree"], true);
    ada.sync(&server).expect("level");
    assert_eq!((ada.bows(), ben.bows()), (vec!["Plover".into()], vec!["Plover".into()]));
    let (digest, kept) = (ben.status()["digest"].clone(), ben.kept.clone());
    assert_eq!(Phone::reopened(kept, 23).status()["digest"], digest);
}

#[test]
fn who_comes_in_again_as_a_coach_keeps_what_only_this_phone_has() {
    let server = TestServer::start();
    let mut ada = Phone::begun("Ada Fern", 24);
    ada.found(&server);
    let mut ben = Phone::new(25);
    let code = ada.invite(&server, "archer");
    ben.join(&server, &code, "Ben Reed");
    ben.name_bow("Plover");
    let (team, token) = (ada.team(), ada.token());
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let (device, person) = (text(&ben.kept.card["device"]), text(&ben.kept.card["person"]));
    let call = |method: &str, path: &str, body: Option<&Value>| {
        server.call(method, &format!("/v1/teams/{team}/{path}"), Some(&token), body)
    };
    assert_eq!(call("DELETE", &format!("devices/{device}"), None).status, 204);
    let role = call("PUT", &format!("people/{person}/role"), Some(&json!({"role": "coach"})));
    assert!(role.status < 300, "{role:?}");
    let code = call("POST", "invites", Some(&json!({"person": person}))).ok::<InviteReply>().code;
    let asked = ben.ok("join", json!({"code": code, "device_name": "phone", "again": true}));
    let (_, reply, _) = ben.post(&server, "/v1/join", &asked["body"], None);
    assert_eq!(ben.ok("joined", json!({"reply": reply, "device_name": "phone"}))["moved"], 0);
    assert_eq!(ben.bows(), ["Plover"]);
    let kept = ben.kept.clone();
    assert_eq!(Phone::reopened(kept, 26).bows(), ["Plover"], "and it is on the disk");
}

#[test]
fn a_file_brings_two_phones_level_and_a_lost_one_back() {
    let mut ada = Phone::begun("Ada Fern", 7);
    ada.name_bow("Kestrel");
    let file = ada.ok("bundle", json!({}));
    let mut other = Phone::begun("Ben Reed", 8);
    let e = other.ask("unbundle", &json!({"text": file["text"]})).expect_err("another team's");
    assert_eq!(e["code"], "other_team");
    let mut again = Phone::new(9);
    let people = again.ok("unbundle", json!({"text": file["text"]}));
    let me = people["people"][0]["id"].clone();
    let from = json!({"text": file["text"], "person": me, "device_name": "tablet", "team_name": "Fern"});
    again.ok("start_from", from);
    assert_eq!(again.status()["digest"], ada.status()["digest"]);
    again.name_bow("Plover");
    let back = again.ok("bundle", json!({}));
    assert_eq!(ada.ok("unbundle", json!({"text": back["text"]}))["kept"], 1);
    assert_eq!(
        (ada.bows(), ada.status()["digest"].clone()),
        (again.bows(), again.status()["digest"].clone())
    );
    let kept = ada.kept.clone();
    assert_eq!(Phone::reopened(kept, 10).bows(), ["Kestrel", "Plover"]);
    let torn = file["text"].as_str().unwrap_or_default();
    assert!(
        ada.ask("unbundle", &json!({"text": torn[..torn.len() - 20]})).is_err(),
        "a torn file is refused"
    );
}

#[test]
fn a_coach_reads_all_and_may_write_no_bow() {
    let server = TestServer::start();
    let mut ada = Phone::begun("Ada Fern", 11);
    ada.found(&server);
    ada.name_bow("Kestrel");
    ada.sync(&server).expect("level");
    let code = ada.invite(&server, "coach");
    let mut coach = Phone::new(12);
    coach.join(&server, &code, "Cleo Marsh");
    assert_eq!(coach.bows(), ["Kestrel"]);
    let e =
        coach.ask("add", &json!({"kind": "bow", "fields": {"name": "Plover"}})).expect_err("not a coach's");
    assert_eq!(e["code"], "role");
    assert_eq!(coach.status()["unsent"], 0, "nothing of it was kept");
}
