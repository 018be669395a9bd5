//! Who gets what at every route: one table, walked against the service's own list of routes and its OpenAPI document.

use crate::harness::server::{Answer, Device, T0, TestServer, answer};
use serde_json::{Value, json};
use sheaf_model::{
    kind::{Arrows, Bow, Person},
    wire::{Admitted, InviteReply, Role},
};
use std::collections::BTreeSet;

/// A row a route, a column a caller: the status when it is met, the code of the problem document when not.
///
/// Callers ask from another machine, but for the last. *none* sends no token, *rubbish* one that nobody got, *other*
/// that of another team's keeper, *shut* that of a device that was shut out, *renewed* that which an archer's device
/// had before it got a new id, *void* one that founding again replaced, *key* the founding key. *local* is a program
/// on the service's machine without a token.
const TABLE: &str = "
METHOD PATH                                none     rubbish  other        coach archer keeper shut renewed void     key      local
GET    /v1/health                          200      200      200          200   200    200    200  200     200      200      200
GET    /v1/ready                           200      200      200          200   200    200    200  200     200      200      200
GET    /v1/metrics                         no_key   no_key   no_key       no_key no_key no_key no_key no_key no_key  200      200
GET    /v1/openapi.json                    200      200      200          200   200    200    200  200     200      200      200
POST   /v1/teams                           201      201      201          201   201    201    201  201     201      201      201
POST   /v1/join                            201      201      201          201   201    201    201  201     201      201      201
POST   /v1/teams/{team}/invites            no_token no_token unknown_team role  role   201    shut role    no_token no_token no_token
POST   /v1/teams/{team}/devices            no_token no_token unknown_team 201   201    201    shut 201     no_token no_token no_token
GET    /v1/teams/{team}/devices            no_token no_token unknown_team role  role   200    shut role    no_token no_token no_token
DELETE /v1/teams/{team}/devices/{device}   no_token no_token unknown_team role  role   204    shut role    no_token no_token no_token
PUT    /v1/teams/{team}/people/{person}/role no_token no_token unknown_team role role  204    shut role    no_token no_token no_token
POST   /v1/teams/{team}/exchange           no_token no_token unknown_team 200   200    200    shut 200     no_token no_token no_token
GET    /v1/teams/{team}/arrows             no_token no_token unknown_team 200   200    200    shut 200     no_token no_token no_token
GET    /v1/teams/{team}/arrows/{set}       no_token no_token unknown_team 200   200    200    shut 200     no_token no_token no_token
GET    /v1/teams/{team}/bows               no_token no_token unknown_team 200   200    200    shut 200     no_token no_token no_token
GET    /v1/teams/{team}/bows/{bow}/setups  no_token no_token unknown_team 200   200    200    shut 200     no_token no_token no_token
GET    /v1/teams/{team}/bows/{bow}/groups  no_token no_token unknown_team 200   200    200    shut 200     no_token no_token no_token
GET    /v1/teams/{team}/bows/{bow}/effects no_token no_token unknown_team 200   200    200    shut 200     no_token no_token no_token
GET    /v1/teams/{team}/bows/{bow}/wear    no_token no_token unknown_team 200   200    200    shut 200     no_token no_token no_token
GET    /v1/teams/{team}/bows/{bow}/curves  no_token no_token unknown_team 200   200    200    shut 200     no_token no_token no_token
GET    /v1/teams/{team}/bows/{bow}/pairs   no_token no_token unknown_team 200   200    200    shut 200     no_token no_token no_token
GET    /v1/teams/{team}/bows/{bow}/marks   no_token no_token unknown_team 200   200    200    shut 200     no_token no_token no_token
GET    /v1/teams/{team}/parts              no_token no_token unknown_team 200   200    200    shut 200     no_token no_token no_token
GET    /v1/teams/{team}/people/{person}/fits no_token no_token unknown_team 200 200    200    shut 200     no_token no_token no_token
GET    /v1/teams/{team}/bows/{bow}/rebuild no_token no_token unknown_team 200   200    200    shut 200     no_token no_token no_token
GET    /v1/teams/{team}/report             no_token no_token unknown_team 200   200    200    shut 200     no_token no_token no_token
GET    /v1/teams/{team}/events             no_token no_token unknown_team 200   200    200    shut 200     no_token no_token no_token
GET    /v1/compute                         200      200      200          200   200    200    200  200     200      200      200
POST   /v1/compute/{method}                no_token no_token 200          200   200    200    shut 200     no_token no_token no_token
GET    /                                   200      200      200          200   200    200    200  200     200      200      200
GET    /sw.js                              200      200      200          200   200    200    200  200     200      200      200
GET    /manifest.webmanifest               200      200      200          200   200    200    200  200     200      200      200
GET    /web/{file*}                        200      200      200          200   200    200    200  200     200      200      200
";

/// A row: method, path, and what each caller gets.
type Row = (&'static str, &'static str, Vec<(&'static str, &'static str)>);

/// The cells of the table by row: method, path, and what each caller gets.
fn rows() -> Vec<Row> {
    let mut lines = TABLE.lines().filter(|line| !line.is_empty()).map(str::split_whitespace);
    let callers: Vec<&str> = lines.next().expect("a head").skip(2).collect();
    lines
        .map(|mut words| {
            let (method, path) = (words.next().expect("a method"), words.next().expect("a path"));
            let cells: Vec<&str> = words.collect();
            assert_eq!(cells.len(), callers.len(), "{method} {path} has a cell for each caller");
            (method, path, callers.iter().copied().zip(cells).collect())
        })
        .collect()
}

/// A team with a device of every kind, and another team.
struct Stage {
    server: TestServer,
    keeper: Device,
    coach: Device,
    archer: Device,
    shut: Device,
    renewed: Device,
    other: Device,
    void: String,
}

impl Stage {
    fn set() -> Self {
        // The clock stands still here, and more is asked by strangers than one minute allows.
        let server = TestServer::with(|config| config.stranger_requests = 2000);
        let founder = Device::new();
        let ask = founder.found_request(&server.key());
        let first: Admitted = server.call("POST", "/v1/teams", None, Some(&ask)).ok();
        let again: Admitted = server.call("POST", "/v1/teams", None, Some(&ask)).ok();
        let mut keeper = founder.admitted(again);
        keeper.keep(&Bow { name: Some("elm".into()), ..Bow::default() });
        keeper.keep(&Arrows { name: Some("blue".into()), ..Arrows::default() });
        keeper.keep(&Person { name: Some("Ada".into()), ..Person::default() });
        keeper.sync(&server);
        let [coach, archer] = [Role::Coach, Role::Archer].map(|role| server.join(&keeper, role));
        let [shut, renewed] = [(), ()].map(|()| server.join(&keeper, Role::Archer));
        keeper.call(&server, "DELETE", &format!("/devices/{}", shut.writer.device), None).ok::<Value>();
        let new = json!({"device": Device::new().writer.device, "device_name": "a phone"});
        renewed.call(&server, "POST", "/devices", Some(&new)).ok::<Admitted>();
        let other = server.found();
        Self { server, keeper, coach, archer, shut, renewed, other, void: first.token }
    }

    /// Returns the device of a caller, where it is one, and what it sends as its token.
    fn caller(&self, name: &str) -> (&Device, Option<String>) {
        let of = |device: &Device| Some(device.token.clone());
        match name {
            "none" | "local" => (&self.keeper, None),
            "rubbish" => (&self.keeper, Some("bm9ib2R5IGdvdCB0aGlzIHRva2VuIGZyb20gYW55b25l".into())),
            "void" => (&self.keeper, Some(self.void.clone())),
            "key" => (&self.keeper, Some(self.server.key())),
            "other" => (&self.other, of(&self.other)),
            "coach" => (&self.coach, of(&self.coach)),
            "archer" => (&self.archer, of(&self.archer)),
            "keeper" => (&self.keeper, of(&self.keeper)),
            "shut" => (&self.shut, of(&self.shut)),
            "renewed" => (&self.renewed, of(&self.renewed)),
            unknown => panic!("no caller is called {unknown}"),
        }
    }

    /// Returns what a sound request to a route says.
    fn body(&self, method: &str, path: &str, device: &Device) -> Option<Value> {
        if !matches!(method, "POST" | "PUT") {
            return None;
        }
        Some(match path {
            "/v1/teams" => Device::new().found_request(&self.server.key()),
            "/v1/join" => {
                let code: InviteReply =
                    self.keeper.call(&self.server, "POST", "/invites", Some(&json!({"role": "archer"}))).ok();
                Device::new().join_request(&code.code)
            }
            "/v1/teams/{team}/invites" | "/v1/teams/{team}/people/{person}/role" => json!({"role": "archer"}),
            "/v1/teams/{team}/devices" => {
                json!({"device": Device::new().writer.device, "device_name": "a phone"})
            }
            "/v1/teams/{team}/exchange" => {
                json!({"device": device.writer.device, "clock_ms": T0, "have": {}})
            }
            "/v1/compute/{method}" => json!({"p": [0.01, 0.04]}),
            _ => panic!("nobody knows what to send to {method} {path}"),
        })
    }

    /// Returns a path with its parameters filled in.
    fn filled(&self, path: &str) -> String {
        let mut filled = path.replace("{team}", &self.keeper.team.to_string());
        if path.ends_with("/fits") {
            filled = filled.replace("{person}", "ada");
        }
        if path.contains("{device}") || filled.contains("{person}") {
            let victim = self.server.join(&self.keeper, Role::Archer).writer;
            filled = filled.replace("{device}", &victim.device.to_string());
            filled = filled.replace("{person}", &victim.author.to_string());
        }
        filled
            .replace("{bow}", "elm")
            .replace("{set}", "blue")
            .replace("{method}", "adjust-p")
            .replace("{file*}", "icon/sheaf.svg")
    }

    fn send(&self, caller: &str, method: &str, path: &str, body: Option<Vec<u8>>) -> Answer {
        let (_, token) = self.caller(caller);
        let mut headers = vec![("content-type", "application/json")];
        if caller != "local" {
            headers.push(("x-forwarded-for", "192.0.2.7"));
        }
        let response = self.server.send(method, path, token.as_deref(), &headers, body);
        if path.ends_with("/events") && response.status() == 200 {
            // The stream goes on for as long as one listens.
            return Answer { status: 200, body: Value::Null, text: String::new() };
        }
        answer(response)
    }
}

/// Returns what an answer is in the words of the table.
fn word(answer: &Answer) -> String {
    let code = answer.body["code"].as_str().filter(|_| answer.status >= 400);
    code.map_or_else(|| answer.status.to_string(), str::to_owned)
}

#[test]
fn every_caller_gets_what_the_table_says() {
    let stage = Stage::set();
    let mut wrong = Vec::new();
    for (method, path, cells) in rows() {
        for (caller, expect) in cells {
            let (device, _) = stage.caller(caller);
            let body = stage.body(method, path, device).map(|b| serde_json::to_vec(&b).expect("JSON"));
            let got = stage.send(caller, method, &stage.filled(path), body);
            if word(&got) != expect {
                wrong.push(format!("{method} {path} for {caller}: {} and not {expect}", word(&got)));
            }
            if method == "GET" {
                let head = stage.send(caller, "HEAD", &stage.filled(path), None);
                if head.status != got.status || !head.text.is_empty() {
                    wrong.push(format!("HEAD {path} for {caller}: {} and not {}", head.status, got.status));
                }
            } else if expect.parse::<u16>().is_err() {
                // Who may not ask is told so whatever the body says: nothing of it is looked at before.
                let torn = stage.send(caller, method, &stage.filled(path), Some(b"{".to_vec()));
                if !matches!(expect, "role") && word(&torn) != expect {
                    wrong.push(format!("{method} {path} for {caller} with a torn body: {}", word(&torn)));
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

#[test]
fn the_table_has_every_route_and_no_other() {
    let own: BTreeSet<(String, String)> =
        sheaf_server::routes().map(|(method, path)| (method.to_owned(), path.to_owned())).collect();
    let rows = rows();
    let listed: BTreeSet<(String, String)> =
        rows.iter().map(|(method, path, _)| ((*method).to_owned(), (*path).to_owned())).collect();
    assert_eq!(listed.len(), rows.len(), "each route has one row");
    assert_eq!(own, listed, "a route without a row, or a row without a route");
    let document: Value = TestServer::start().call("GET", "/v1/openapi.json", None, None).ok();
    let mut described = BTreeSet::new();
    for (path, methods) in document["paths"].as_object().expect("paths") {
        for (method, operation) in methods.as_object().expect("methods") {
            described.insert((method.to_uppercase(), path.clone()));
            let (_, _, cells) = rows
                .iter()
                .find(|(m, p, _)| m.eq_ignore_ascii_case(method) && p == path)
                .unwrap_or_else(|| panic!("{method} {path} is described and has no row"));
            let closed = cells.iter().any(|(caller, gets)| *caller == "none" && *gets == "no_token");
            assert_eq!(operation["security"].is_array(), closed, "{method} {path} and its token");
        }
    }
    // The page's files are for browsers: they are found from / and come and go, and nobody programs against them.
    let own: BTreeSet<_> = own.into_iter().filter(|(_, path)| path.starts_with("/v1/")).collect();
    assert_eq!(own, described, "the OpenAPI document has every route of the interface and no other");
}
