//! Seeing inside the service: whether it lives, whether it takes, and what it counts.

use crate::harness::{
    openmetrics::{Series, read},
    server::{Device, TestServer, answer},
};
use serde_json::{Value, json};
use sheaf_model::wire::{ExchangeReply, Role};
use std::{fs, io::Read};

/// Asks for what is counted, and checks its form.
fn counted(server: &TestServer) -> Series {
    let response = server.send("GET", "/v1/metrics", None, &[], None);
    assert_eq!(response.status(), 200);
    let kind = response.headers()["content-type"].to_str().expect("text").to_owned();
    assert_eq!(kind, "application/openmetrics-text; version=1.0.0; charset=utf-8");
    let text = response.text().expect("text");
    read(&text).unwrap_or_else(|why| panic!("{why}\n{text}"))
}

/// The value of a series; one that is not there yet counts nothing.
fn of(series: &Series, name: &str) -> f64 {
    series.get(name).copied().unwrap_or_default()
}

/// Checks by how much series grew.
#[track_caller]
fn grew(before: &Series, after: &Series, expected: &[(&str, f64)]) {
    for (name, by) in expected {
        assert_eq!(of(after, name) - of(before, name), *by, "{name}");
    }
}

#[test]
fn counters_move_as_they_should() {
    let server = TestServer::start();
    let mut keeper = server.found();
    let coach = server.join(&keeper, Role::Coach);
    let before = counted(&server);
    let sent = keeper.notes(3);
    keeper.exchange(&server, sent.clone()).ok::<ExchangeReply>();
    keeper.exchange(&server, sent[1..].to_vec()).ok::<ExchangeReply>();
    let mut early = keeper.notes(2);
    let reply: ExchangeReply = keeper.exchange(&server, early.split_off(1)).ok();
    assert_eq!(reply.refused.len(), 1);
    let after = counted(&server);
    let answered = "sheafd_request_duration_seconds_count{method=\"POST\",route=\"/v1/teams/{team}/exchange\",status=\"2xx\"}";
    grew(
        &before,
        &after,
        &[
            ("sheafd_exchanges_total{result=\"answered\"}", 3.0),
            ("sheafd_entries_kept_total", 3.0),
            ("sheafd_entries_known_total", 2.0),
            ("sheafd_entries_refused_total{reason=\"early\"}", 1.0),
            ("sheafd_flush_duration_seconds_count", 1.0),
            ("sheafd_batch_lines_count", 1.0),
            ("sheafd_batch_lines_sum", 3.0),
            (answered, 3.0),
        ],
    );
    // A wrong token, a role that does not allow it, and an address that is not there.
    let path = format!("/v1/teams/{}/exchange", keeper.team);
    server.call("POST", &path, Some("rubbish"), Some(&json!({}))).is_problem(401, "no_token");
    coach.call(&server, "GET", "/devices", None).is_problem(403, "role");
    server.call("GET", "/nowhere/at/all", None, None).is_problem(404, "unknown_route");
    let last = counted(&server);
    grew(
        &after,
        &last,
        &[
            ("sheafd_exchanges_total{result=\"answered\"}", 0.0),
            ("sheafd_exchanges_total{result=\"refused\"}", 1.0),
            ("sheafd_refusals_total{code=\"no_token\"}", 1.0),
            ("sheafd_refusals_total{code=\"role\"}", 1.0),
            ("sheafd_refusals_total{code=\"unknown_route\"}", 1.0),
            ("sheafd_request_duration_seconds_count{method=\"none\",route=\"none\",status=\"4xx\"}", 1.0),
            (answered, 0.0),
            (&answered.replace("2xx", "4xx"), 1.0),
        ],
    );
}

#[test]
fn what_it_holds_is_told() {
    let server = TestServer::start();
    let (mut keeper, other) = (server.found(), server.found());
    let lost = server.join(&keeper, Role::Archer);
    keeper.call(&server, "DELETE", &format!("/devices/{}", lost.writer.device), None).ok::<Value>();
    let listen = |device: &Device| {
        server.send("GET", &format!("/v1/teams/{}/events", device.team), Some(&device.token), &[], None)
    };
    let mut streams = [listen(&keeper), listen(&other)];
    streams.iter_mut().for_each(|stream| stream.read_exact(&mut [0; 6]).expect("the first event"));
    keeper.notes(20);
    keeper.sync(&server);
    let told = counted(&server);
    assert_eq!((of(&told, "sheafd_teams"), of(&told, "sheafd_devices")), (2.0, 2.0));
    assert_eq!(of(&told, "sheafd_streams"), 2.0);
    assert!(of(&told, "sheafd_connections") >= 3.0, "two streams and the one who asks");
    let segments = fs::read_dir(server.folder.path().join("journal")).expect("a journal");
    let bytes: u64 = segments.map(|s| s.expect("a segment").metadata().expect("its size").len()).sum();
    assert_eq!(of(&told, "sheafd_journal_size_bytes"), bytes as f64);
    assert!(of(&told, "sheafd_index_size_bytes") > 0.0);
    assert_eq!(of(&told, &format!("sheafd_build_info{{version=\"{}\"}}", env!("CARGO_PKG_VERSION"))), 1.0);
    assert!(of(&told, "process_start_time_seconds") > 1.7e9);
    drop(streams);
    // A stream that nobody reads ends when the service next writes to it.
    let until = std::time::Instant::now() + std::time::Duration::from_secs(60);
    while of(&counted(&server), "sheafd_streams") > 0.0 {
        assert!(std::time::Instant::now() < until, "streams that are closed are not counted");
        keeper.notes(1);
        keeper.sync(&server);
    }
}

#[test]
fn what_it_counts_names_nobody() {
    let server = TestServer::start();
    let mut keeper = server.found();
    keeper.notes(1);
    keeper.sync(&server);
    server.call("GET", &format!("/v1/teams/{}/bows/my bow", keeper.team), None, None);
    let text = server.send("GET", "/v1/metrics", None, &[], None).text().expect("text");
    for name in [
        keeper.team.to_string(),
        keeper.writer.device.to_string(),
        keeper.writer.author.to_string(),
        "the team".into(),
        "a phone".into(),
        "my".into(),
        server.folder.path().display().to_string(),
    ] {
        let told = text.lines().find(|line| !line.starts_with('#') && line.contains(&name));
        assert_eq!(told, None, "{name}");
    }
}

#[test]
fn what_it_counts_is_for_its_own_machine_or_the_founding_key() {
    let server = TestServer::start();
    let keeper = server.found();
    let ask = |token: Option<&str>, headers: &[(&str, &str)]| {
        answer(server.send("GET", "/v1/metrics", token, headers, None))
    };
    for handed in
        ["x-forwarded-for", "forwarded", "via", "x-real-ip", "x-forwarded-proto", "x-forwarded-host"]
    {
        ask(None, &[(handed, "127.0.0.1")]).is_problem(401, "no_key");
    }
    // A page whose own name was pointed to this machine asks by that name.
    ask(None, &[("host", "sheaf.example")]).is_problem(401, "no_key");
    ask(Some(&keeper.token), &[("x-forwarded-for", "192.0.2.1")]).is_problem(401, "no_key");
    let key = server.key();
    assert_eq!(ask(Some(&key), &[("x-forwarded-for", "192.0.2.1")]).status, 200);
    assert_eq!(ask(None, &[("host", "localhost:1")]).status, 200);
}

#[test]
fn it_is_ready_while_the_journal_can_be_written() {
    let server = TestServer::start();
    let mut device = server.found();
    let ready: Value = server.call("GET", "/v1/ready", None, None).ok();
    assert_eq!(ready, json!({"status": "ready"}));
    device.notes(5);
    device.sync(&server);
    server.call("GET", "/v1/ready", None, None).ok::<Value>();
    let segment = fs::read_dir(server.folder.path().join("journal")).expect("a journal").next();
    let (path, aside) =
        (segment.expect("one").expect("a segment").path(), server.folder.path().join("aside"));
    fs::rename(&path, &aside).expect("it can be moved");
    let response = server.send("GET", "/v1/ready", None, &[], None);
    assert!(response.headers().contains_key("retry-after"));
    let refused = answer(response);
    refused.is_problem(503, "journal");
    assert!(!refused.text.contains(server.folder.path().to_str().expect("text")), "no path is told");
    server.call("GET", "/v1/health", None, None).ok::<Value>();
    fs::rename(&aside, &path).expect("it can be moved back");
    server.call("GET", "/v1/ready", None, None).ok::<Value>();
    // A journal that something else wrote to is not one to go on with.
    let whole = fs::read(&path).expect("bytes");
    fs::write(&path, [whole.as_slice(), b"x"].concat()).expect("it can be written");
    server.call("GET", "/v1/ready", None, None).is_problem(503, "journal");
    fs::write(&path, whole).expect("it can be written");
}
