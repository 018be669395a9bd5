//! Who may come in, and what each may do.

use crate::harness::server::{Device, T0, TestServer, new_thing};
use serde_json::{Value, json};
use sheaf_model::wire::{Admitted, ExchangeReply, InviteReply, Role};
use std::{
    io::{Read as _, Write as _},
    net::TcpStream,
    sync::atomic::Ordering,
};

fn code(keeper: &Device, server: &TestServer, ask: &Value) -> String {
    keeper.call(server, "POST", "/invites", Some(ask)).ok::<InviteReply>().code
}

#[test]
fn a_team_is_founded_with_the_key_only() {
    let server = TestServer::start();
    let device = Device::new();
    let wrong = Device::new().found_request("AAAA-AAAA");
    server.call("POST", "/v1/teams", None, Some(&wrong)).is_problem(403, "wrong_key");
    let ask = device.found_request(&server.key().to_lowercase().replace('-', " "));
    let first: Admitted = server.call("POST", "/v1/teams", None, Some(&ask)).ok();
    assert_eq!(first.role, Role::Keeper);
    // An answer that got lost: the same device asks again, and its older token is void.
    let again: Admitted = server.call("POST", "/v1/teams", None, Some(&ask)).ok();
    let path = format!("/v1/teams/{}/devices", first.team);
    server.call("GET", &path, Some(&first.token), None).is_problem(401, "no_token");
    server.call("GET", &path, Some(&again.token), None).ok::<Value>();
    let mut other = Device::new().found_request(&server.key());
    other["team"] = ask["team"].clone();
    server.call("POST", "/v1/teams", None, Some(&other)).is_problem(409, "team_known");
}

#[test]
fn founding_again_gives_a_token_and_nothing_else() {
    let server = TestServer::start();
    let founder = server.found();
    let second = server.join(&founder, Role::Keeper);
    let path = format!("/people/{}/role", founder.writer.author);
    second.call(&server, "PUT", &path, Some(&json!({"role": "coach"}))).ok::<Value>();
    let mut ask = founder.found_request(&server.key());
    ask["team"] = json!(founder.team);
    ask["name"] = json!("another name");
    ask["device_name"] = json!("another phone");
    let again: Admitted = server.call("POST", "/v1/teams", None, Some(&ask)).ok();
    assert_eq!((again.role, again.name.as_str()), (Role::Coach, "the team"));
    let founder = founder.admitted(again);
    // What is said is also what holds, and it is the same after the index was made anew.
    let server = server.restart(|folder| std::fs::remove_dir_all(folder.join("index")).expect("it goes"));
    founder.call(&server, "GET", "/devices", None).is_problem(403, "role");
    let devices: Value = second.call(&server, "GET", "/devices", None).ok();
    let of_founder = |d: &&Value| d["device"] == json!(founder.writer.device);
    let row = devices["devices"].as_array().expect("a list").iter().find(of_founder).expect("it is listed");
    assert_eq!((&row["role"], &row["name"]), (&json!("coach"), &json!("a phone")));
}

#[test]
fn an_invite_works_once() {
    let server = TestServer::start();
    let keeper = server.found();
    let code = code(&keeper, &server, &json!({"role": "archer"}));
    let first = Device::new().join_request(&code);
    let admitted: Admitted = server.call("POST", "/v1/join", None, Some(&first)).ok();
    assert_eq!(
        (admitted.team, admitted.role, admitted.name.as_str()),
        (keeper.team, Role::Archer, "the team")
    );
    let second = Device::new().join_request(&code);
    let refused = server.call("POST", "/v1/join", None, Some(&second));
    assert!(refused.body["detail"].as_str().is_some_and(|d| d.contains("used already")));
    refused.is_problem(403, "bad_invite");
}

#[test]
fn an_invite_expires() {
    let server = TestServer::start();
    let keeper = server.found();
    let short = code(&keeper, &server, &json!({"role": "archer", "valid_s": 60}));
    let usual = code(&keeper, &server, &json!({"role": "archer"}));
    let in_time = code(&keeper, &server, &json!({"role": "archer", "valid_s": 60}));
    let unused = code(&keeper, &server, &json!({"role": "archer"}));
    let day = 86_400_000;
    let late = |code: &str| server.call("POST", "/v1/join", None, Some(&Device::new().join_request(code)));
    server.clock.store(T0 + 59_999, Ordering::SeqCst);
    late(&in_time).ok::<Admitted>();
    server.clock.store(T0 + 60_000, Ordering::SeqCst);
    late(&short).is_problem(403, "bad_invite");
    server.clock.store(T0 + day - 1, Ordering::SeqCst);
    late(&usual).ok::<Admitted>();
    server.clock.store(T0 + day, Ordering::SeqCst);
    late(&unused).is_problem(403, "bad_invite");
    for valid_s in [0, 604_801] {
        let ask = json!({"role": "archer", "valid_s": valid_s});
        keeper.call(&server, "POST", "/invites", Some(&ask)).is_problem(422, "bad_value");
    }
}

#[test]
fn codes_cannot_be_guessed_at_leisure() {
    let server = TestServer::start();
    let keeper = server.found();
    let good = code(&keeper, &server, &json!({"role": "archer"}));
    let typo = Device::new().join_request("7777-7777-7777-7777-7777-7777-7777");
    for _ in 0..10 {
        server.call("POST", "/v1/join", None, Some(&typo)).is_problem(422, "bad_value");
    }
    let ask = Device::new().join_request(&good);
    let refused = server.call("POST", "/v1/join", None, Some(&ask));
    refused.is_problem(429, "too_many_guesses");
    server.clock.fetch_add(600_000, Ordering::SeqCst);
    server.call("POST", "/v1/join", None, Some(&ask)).ok::<Admitted>();
}

#[test]
fn an_invite_for_a_person_gives_that_person_another_device() {
    let server = TestServer::start();
    let keeper = server.found();
    let archer = server.join(&keeper, Role::Archer);
    // Nobody becomes someone else by naming that person.
    let open = code(&keeper, &server, &json!({"role": "archer"}));
    let mut posing = Device::new().join_request(&open);
    posing["person"] = json!(keeper.writer.author);
    server.call("POST", "/v1/join", None, Some(&posing)).is_problem(409, "person_known");
    // Who is in the team keeps the role; another is not promised.
    let person = archer.writer.author;
    let other = json!({"role": "coach", "person": person});
    keeper.call(&server, "POST", "/invites", Some(&other)).is_problem(409, "role_known");
    let same: InviteReply =
        keeper.call(&server, "POST", "/invites", Some(&json!({"person": keeper.writer.author}))).ok();
    assert_eq!(same.role, Role::Keeper);
    let named = code(&keeper, &server, &json!({"person": person}));
    let admitted: Admitted =
        server.call("POST", "/v1/join", None, Some(&Device::new().join_request(&named))).ok();
    assert_eq!((admitted.person, admitted.role), (archer.writer.author, Role::Archer));
    // Nor does a device take another's id.
    let mut posing = Device::new().join_request(&open);
    posing["device"] = json!(keeper.writer.device);
    server.call("POST", "/v1/join", None, Some(&posing)).is_problem(409, "device_known");
}

#[test]
fn a_token_sees_its_own_team_and_nothing_else() {
    let server = TestServer::start();
    let (one, two) = (server.found(), server.found());
    let ask = json!({"device": one.writer.device, "clock_ms": T0, "have": {}});
    for (method, path, body) in [
        ("POST", "exchange", Some(&ask)),
        ("GET", "devices", None),
        ("GET", "bows", None),
        ("GET", "report", None),
        ("GET", "events", None),
    ] {
        let other = server.call(method, &format!("/v1/teams/{}/{path}", two.team), Some(&one.token), body);
        let nowhere = Device::new().team;
        let none = server.call(method, &format!("/v1/teams/{nowhere}/{path}"), Some(&one.token), body);
        let words = |a: &Value, team: &dyn ToString| {
            a["detail"].as_str().unwrap_or_default().replace(&team.to_string(), "TEAM")
        };
        assert_eq!(words(&other.body, &two.team), words(&none.body, &nowhere), "the same words for both");
        other.is_problem(404, "unknown_team");
        none.is_problem(404, "unknown_team");
    }
    for token in [None, Some("AAAA"), Some("")] {
        server.call("GET", &format!("/v1/teams/{}/bows", one.team), token, None).is_problem(401, "no_token");
    }
}

#[test]
fn a_device_that_was_shut_out_is_refused_at_once_and_told_so() {
    let server = TestServer::start();
    let mut keeper = server.found();
    let mut lost = server.join(&keeper, Role::Archer);
    lost.notes(1);
    lost.sync(&server);
    keeper.call(&server, "DELETE", &format!("/devices/{}", lost.writer.device), None).ok::<Value>();
    let unsent = lost.notes(1);
    lost.exchange(&server, unsent).is_problem(403, "shut");
    lost.call(&server, "GET", "/bows", None).is_problem(403, "shut");
    keeper.sync(&server);
    let devices: Value = keeper.call(&server, "GET", "/devices", None).ok();
    let shut: Vec<bool> =
        devices["devices"].as_array().expect("a list").iter().map(|d| d["shut_ms"].is_u64()).collect();
    assert_eq!(shut, [false, true]);
    let server = server.restart(|_| {});
    lost.call(&server, "GET", "/bows", None).is_problem(403, "shut");
}

#[test]
fn people_and_devices_are_managed_by_keepers() {
    let server = TestServer::start();
    let keeper = server.found();
    let archer = server.join(&keeper, Role::Archer);
    let role = |person: &dyn ToString| format!("/people/{}/role", person.to_string());
    let to = |role: &str| json!({"role": role});
    archer.call(&server, "POST", "/invites", Some(&to("coach"))).is_problem(403, "role");
    archer.call(&server, "GET", "/devices", None).is_problem(403, "role");
    archer.call(&server, "PUT", &role(&archer.writer.author), Some(&to("keeper"))).is_problem(403, "role");
    let own = format!("/devices/{}", keeper.writer.device);
    keeper.call(&server, "DELETE", &own, None).is_problem(409, "last_keeper");
    keeper
        .call(&server, "PUT", &role(&keeper.writer.author), Some(&to("coach")))
        .is_problem(409, "last_keeper");
    keeper.call(&server, "PUT", &role(&new_thing()), Some(&to("coach"))).is_problem(404, "unknown_person");
    keeper.call(&server, "PUT", &role(&archer.writer.author), Some(&to("keeper"))).ok::<Value>();
    archer.call(&server, "DELETE", &own, None).ok::<Value>();
    keeper.call(&server, "GET", "/bows", None).is_problem(403, "shut");
}

#[test]
fn what_was_let_in_is_still_in_after_the_index_is_gone() {
    let server = TestServer::start();
    let mut keeper = server.found();
    let archer = server.join(&keeper, Role::Archer);
    let unused = code(&keeper, &server, &json!({"role": "coach"}));
    keeper.notes(3);
    keeper.sync(&server);
    let server = server.restart(|folder| std::fs::remove_dir_all(folder.join("index")).expect("it goes"));
    let reply: ExchangeReply = archer.exchange(&server, Vec::new()).ok();
    assert_eq!(reply.entries.len(), 3);
    let devices: Value = keeper.call(&server, "GET", "/devices", None).ok();
    assert_eq!(devices["devices"].as_array().map(Vec::len), Some(2));
    let ask = Device::new().join_request(&unused);
    assert_eq!(server.call("POST", "/v1/join", None, Some(&ask)).ok::<Admitted>().role, Role::Coach);
    server.call("POST", "/v1/join", None, Some(&ask)).is_problem(403, "bad_invite");
}

#[test]
fn the_founding_key_opens_no_team_that_is_here_to_another_device() {
    let server = TestServer::start();
    let founder = server.found();
    let archer = server.join(&founder, Role::Archer);
    // Every member of a team knows these ids.
    let mut ask = archer.found_request(&server.key());
    ask["team"] = json!(founder.team);
    server.call("POST", "/v1/teams", None, Some(&ask)).is_problem(409, "team_known");
    archer.call(&server, "GET", "/bows", None).ok::<Value>();
}

#[test]
fn an_invite_is_void_when_its_maker_keeps_the_team_no_more() {
    let server = TestServer::start();
    let keeper = server.found();
    let (lost, demoted) = (server.join(&keeper, Role::Keeper), server.join(&keeper, Role::Keeper));
    let ask = json!({"role": "archer"});
    let (of_lost, of_demoted) = (code(&lost, &server, &ask), code(&demoted, &server, &ask));
    keeper.call(&server, "DELETE", &format!("/devices/{}", lost.writer.device), None).ok::<Value>();
    let role = format!("/people/{}/role", demoted.writer.author);
    keeper.call(&server, "PUT", &role, Some(&json!({"role": "archer"}))).ok::<Value>();
    for code in [of_lost, of_demoted] {
        let ask = Device::new().join_request(&code);
        server.call("POST", "/v1/join", None, Some(&ask)).is_problem(403, "bad_invite");
    }
}

/// Lets a device go on under a new id.
fn renewed(of: &Device, server: &TestServer) -> Device {
    let next = Device::new();
    let ask = json!({"device": next.writer.device, "device_name": "whatever"});
    next.admitted(of.call(server, "POST", "/devices", Some(&ask)).ok())
}

#[test]
fn a_device_is_shut_out_under_every_id_that_it_had() {
    let server = TestServer::start();
    let keeper = server.found();
    let first = server.join(&keeper, Role::Archer);
    let other = server.join(&keeper, Role::Archer);
    let second = renewed(&first, &server);
    let third = renewed(&second, &server);
    // By the one in the middle, both ways, and nobody else.
    keeper.call(&server, "DELETE", &format!("/devices/{}", second.writer.device), None).ok::<Value>();
    for device in [&first, &second, &third] {
        device.call(&server, "GET", "/bows", None).is_problem(403, "shut");
    }
    other.call(&server, "GET", "/bows", None).ok::<Value>();
    // Whoever clears away an old id of the own device does not lock the door from outside.
    let next = server.join(&keeper, Role::Keeper);
    let newer = renewed(&next, &server);
    newer
        .call(&server, "DELETE", &format!("/devices/{}", next.writer.device), None)
        .is_problem(409, "own_device");
    newer.call(&server, "GET", "/bows", None).ok::<Value>();
    keeper.call(&server, "GET", "/bows", None).ok::<Value>();
    let server = server.restart(|folder| std::fs::remove_dir_all(folder.join("index")).expect("it goes"));
    third.call(&server, "GET", "/bows", None).is_problem(403, "shut");
}

#[test]
fn a_device_that_comes_in_again_is_shut_out_with_the_id_that_it_had_before() {
    let server = TestServer::start();
    let keeper = server.found();
    let first = server.join(&keeper, Role::Archer);
    let second = renewed(&first, &server);
    let code = code(&keeper, &server, &json!({"person": first.writer.author}));
    let mut ask = second.join_request(&code);
    ask["person"] = json!(first.writer.author);
    let second = second.admitted(server.call("POST", "/v1/join", None, Some(&ask)).ok());
    keeper.call(&server, "DELETE", &format!("/devices/{}", second.writer.device), None).ok::<Value>();
    for device in [&first, &second] {
        device.call(&server, "GET", "/bows", None).is_problem(403, "shut");
    }
}

#[test]
fn a_device_that_is_shut_out_while_it_sends_gets_nothing() {
    let server = TestServer::start();
    let mut keeper = server.found();
    keeper.notes(3);
    keeper.sync(&server);
    let lost = server.join(&keeper, Role::Archer);
    let body = json!({"device": lost.writer.device, "clock_ms": T0, "have": {}}).to_string();
    let mut slow = TcpStream::connect(server.address()).expect("a connection");
    let head = format!(
        "POST /v1/teams/{}/exchange HTTP/1.1\r\nhost: x\r\nauthorization: Bearer {}\r\nexpect: 100-continue\r\n\
         connection: close\r\ncontent-length: {}\r\n\r\n",
        lost.team,
        lost.token,
        body.len()
    );
    slow.write_all(head.as_bytes()).expect("the head is sent");
    // `100 Continue` says that the service knows who asks, and reads the body now.
    let mut go = [0; 25];
    slow.read_exact(&mut go).expect("it asks for the body");
    assert!(go.starts_with(b"HTTP/1.1 100"));
    keeper.call(&server, "DELETE", &format!("/devices/{}", lost.writer.device), None).ok::<Value>();
    slow.write_all(body.as_bytes()).expect("the body is sent");
    let mut heard = String::new();
    slow.read_to_string(&mut heard).expect("an answer");
    assert!(heard.starts_with("HTTP/1.1 403 ") && heard.contains("\"code\":\"shut\""), "{heard}");
}
