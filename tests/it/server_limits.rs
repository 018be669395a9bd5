//! Bad and hostile requests: each gets a clear answer, and none holds the service up.

use crate::harness::server::{TestServer, answer, pack};
use serde_json::{Value, json};
use std::{
    io::{Read, Write},
    net::TcpStream,
    sync::Arc,
    time::Duration,
};
use tempfile::TempDir;

const JSON: (&str, &str) = ("content-type", "application/json");

#[test]
fn a_body_of_100_mb_is_refused_without_being_read() {
    let server = TestServer::start();
    let device = server.found();
    let path = format!("/v1/teams/{}/exchange", device.team);
    let body = vec![b' '; 100_000_000];
    let response = server.send("POST", &path, Some(&device.token), &[JSON], Some(body));
    answer(response).is_problem(413, "too_large");
    // Without a length beforehand it is read up to the limit and no further.
    let mut endless = TcpStream::connect(server.address()).expect("a connection");
    let head = format!(
        "POST {path} HTTP/1.1\r\nhost: x\r\nauthorization: Bearer {}\r\ncontent-type: application/json\r\n\
         transfer-encoding: chunked\r\n\r\n",
        device.token
    );
    endless.write_all(head.as_bytes()).expect("it is sent");
    let chunk = [b"100000\r\n".as_slice(), &vec![b' '; 1 << 20], b"\r\n"].concat();
    let sent = (0..100).take_while(|_| endless.write_all(&chunk).is_ok()).count();
    let mut heard = String::new();
    endless.read_to_string(&mut heard).expect("an answer");
    assert!(
        heard.starts_with("HTTP/1.1 413") && heard.contains("\"code\":\"too_large\""),
        "{sent} MiB: {heard}"
    );
    device.exchange(&server, Vec::new()).ok::<Value>();
}

#[test]
fn a_small_body_that_unpacks_to_a_large_one_is_refused() {
    let server = TestServer::start();
    let device = server.found();
    let bomb = pack(&vec![b' '; 200_000_000]);
    assert!(bomb.len() < 300_000, "the bomb is small: {}", bomb.len());
    let path = format!("/v1/teams/{}/exchange", device.team);
    let headers = [JSON, ("content-encoding", "gzip")];
    answer(server.send("POST", &path, Some(&device.token), &headers, Some(bomb)))
        .is_problem(413, "too_large");
    let headers = [JSON, ("content-encoding", "gzip")];
    let torn = pack(b"{}")[..10].to_vec();
    answer(server.send("POST", &path, Some(&device.token), &headers, Some(torn))).is_problem(400, "bad_gzip");
}

#[test]
fn a_head_that_never_ends_is_cut_off() {
    let folder = Arc::new(TempDir::new().expect("a folder"));
    let server = TestServer::start_over(folder, |config| config.header_timeout = Duration::from_millis(100));
    let mut slow = TcpStream::connect(server.address()).expect("a connection");
    slow.set_read_timeout(Some(Duration::from_secs(60))).expect("a time");
    slow.write_all(b"GET /v1/health HTTP/1.1\r\nhost: x\r\n").expect("it is sent");
    // The read ends well because the service closes; nothing else would end it so.
    slow.read_to_end(&mut Vec::new()).expect("the service closes the connection");
    server.call("GET", "/v1/health", None, None).ok::<Value>();
}

#[test]
fn a_body_that_never_ends_is_cut_off() {
    let folder = Arc::new(TempDir::new().expect("a folder"));
    let server = TestServer::start_over(folder, |config| config.body_timeout = Duration::from_millis(100));
    let mut slow = TcpStream::connect(server.address()).expect("a connection");
    slow.set_read_timeout(Some(Duration::from_secs(60))).expect("a time");
    let head =
        "POST /v1/join HTTP/1.1\r\nhost: x\r\ncontent-type: application/json\r\ncontent-length: 100\r\n\r\n{";
    slow.write_all(head.as_bytes()).expect("it is sent");
    let mut heard = String::new();
    slow.read_to_string(&mut heard).expect("an answer, and then the end");
    assert!(heard.starts_with("HTTP/1.1 408") && heard.contains("\"code\":\"slow_body\""), "{heard}");
}

#[test]
fn a_device_listens_to_so_many_streams_and_no_more() {
    let folder = Arc::new(TempDir::new().expect("a folder"));
    let server = TestServer::start_over(folder, |config| config.streams = 2);
    let (device, other) = (server.found(), server.found());
    let listen = |d: &crate::harness::server::Device| {
        server.send("GET", &format!("/v1/teams/{}/events", d.team), Some(&d.token), &[], None)
    };
    let open = [listen(&device), listen(&device)];
    assert!(open.iter().all(|stream| stream.status() == 200));
    let third = listen(&device);
    assert_eq!(third.headers()["retry-after"], "15");
    answer(third).is_problem(429, "too_many_streams");
    assert_eq!(listen(&other).status(), 200, "another device has places of its own");
    drop(open);
    let until = std::time::Instant::now() + Duration::from_secs(60);
    while listen(&device).status() != 200 {
        assert!(std::time::Instant::now() < until, "a place that is free is given again");
        std::thread::yield_now();
    }
}

#[test]
fn connections_beyond_the_cap_wait_their_turn() {
    let folder = Arc::new(TempDir::new().expect("a folder"));
    let server = TestServer::start_over(folder, |config| config.connections = 2);
    let idle: Vec<TcpStream> =
        (0..2).map(|_| TcpStream::connect(server.address()).expect("a connection")).collect();
    let mut waiting = TcpStream::connect(server.address()).expect("a connection");
    waiting
        .write_all(b"GET /v1/health HTTP/1.1\r\nhost: x\r\nconnection: close\r\n\r\n")
        .expect("it is sent");
    drop(idle);
    let mut heard = String::new();
    waiting.read_to_string(&mut heard).expect("an answer");
    assert!(heard.starts_with("HTTP/1.1 200"), "{heard}");
}

#[test]
fn every_error_is_a_problem_document() {
    let server = TestServer::start();
    let device = server.found();
    let team = format!("/v1/teams/{}", device.team);
    let token = Some(device.token.as_str());
    server.call("GET", "/nowhere", None, None).is_problem(404, "unknown_route");
    server.call("GET", "/web/nowhere.js", None, None).is_problem(404, "unknown_file");
    server.call("GET", "/v1/teamss", None, None).is_problem(404, "unknown_route");
    server.call("PATCH", "/v1/join", None, None).is_problem(405, "method_not_allowed");
    let response = server.send("PATCH", &format!("{team}/devices"), token, &[], None);
    assert_eq!(response.headers()["allow"], "POST, GET, HEAD");
    let send = |headers: &[(&str, &str)], body: &[u8]| {
        answer(server.send("POST", &format!("{team}/exchange"), token, headers, Some(body.to_vec())))
    };
    send(&[("content-type", "text/plain")], b"{}").is_problem(415, "unsupported_media_type");
    send(&[JSON, ("content-encoding", "br")], b"{}").is_problem(415, "unsupported_media_type");
    let bad = send(&[JSON], b"{\n  \"device\": 5}");
    assert!(bad.body["detail"].as_str().is_some_and(|d| d.contains("line 2 column")), "{}", bad.body);
    bad.is_problem(400, "bad_json");
    for nonsense in [&b""[..], b"[", b"\xff\xfe", b"nan"] {
        send(&[JSON], nonsense).is_problem(400, "bad_json");
    }
    let deep = "[".repeat(1_000_000);
    send(&[JSON], deep.as_bytes()).is_problem(400, "bad_json");
    let accept = [("accept", "image/png")];
    answer(server.send("GET", &format!("{team}/bows"), token, &accept, None))
        .is_problem(406, "not_acceptable");
}

#[test]
fn every_reply_carries_its_number_and_the_headers_of_safety() {
    let server = TestServer::start();
    for path in ["/v1/health", "/nowhere"] {
        let response = server.send("GET", path, None, &[("origin", "https://example.org")], None);
        let headers = response.headers().clone();
        assert_eq!(headers["x-content-type-options"], "nosniff");
        assert_eq!(headers["cache-control"], "no-store");
        assert!(headers.contains_key("content-security-policy"));
        assert!(!headers.contains_key("access-control-allow-origin"));
        let id = headers["x-request-id"].to_str().expect("text").to_owned();
        let body = answer(response).body;
        if path == "/nowhere" {
            assert_eq!(body["instance"], format!("urn:uuid:{id}"));
        }
    }
    let head = server.send("HEAD", "/v1/health", None, &[], None);
    assert_eq!(head.status(), 200);
    assert!(head.bytes().expect("no body").is_empty());
}

#[test]
fn the_compute_door_stands_behind_a_token() {
    let server = TestServer::start();
    let device = server.found();
    let ask = json!({"p": [0.01, 0.04]});
    server.call("POST", "/v1/compute/adjust-p", None, Some(&ask)).is_problem(401, "no_token");
    let output: Value = server.call("POST", "/v1/compute/adjust-p", Some(&device.token), Some(&ask)).ok();
    let expected = sheaf_model::door::compute("adjust-p", &ask).expect("it computes");
    assert_eq!(output, expected);
    let bad = server.call("POST", "/v1/compute/adjust-p", Some(&device.token), Some(&json!({"p": ["x"]})));
    assert_eq!(bad.body["field"], "p[0]");
    bad.is_problem(422, "wrong_type");
    server
        .call("POST", "/v1/compute/adjustp", Some(&device.token), Some(&ask))
        .is_problem(404, "unknown_method");
    let methods: Value = server.call("GET", "/v1/compute", None, None).ok();
    assert_eq!(methods["methods"].as_array().map(Vec::len), Some(sheaf_model::door::METHODS.len()));
}
