//! What every answer says to a browser, whatever the answer is; and the number by which the log knows a request.

use crate::harness::{
    server::{TestServer, answer},
    team::Range,
};
use reqwest::blocking::Response;
use std::{fs, path::Path, time::Duration};

/// What every answer has.
const ALWAYS: [(&str, &str); 7] = [
    ("cache-control", "no-store"),
    (
        "content-security-policy",
        "default-src 'none'; base-uri 'none'; form-action 'none'; frame-ancestors 'none'",
    ),
    ("cross-origin-resource-policy", "same-origin"),
    ("referrer-policy", "no-referrer"),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    (
        "permissions-policy",
        "camera=(), display-capture=(), geolocation=(), microphone=(), payment=(), usb=()",
    ),
];

#[track_caller]
fn dressed(response: &Response, what: &str) {
    let headers = response.headers();
    for (name, value) in ALWAYS {
        let found: Vec<&[u8]> = headers.get_all(name).iter().map(|v| v.as_bytes()).collect();
        assert_eq!(found, [value.as_bytes()], "{what}: {name}");
    }
    let id = headers["x-request-id"].to_str().expect("text");
    assert!(id.len() == 36 && id.split('-').count() == 5, "{what}: {id}");
    for never in ["server", "x-powered-by", "access-control-allow-origin", "strict-transport-security"] {
        assert!(!headers.contains_key(never), "{what}: {never}");
    }
}

/// Overwrites every segment of a journal behind its first line, as a failing disk might.
fn harm(data: &Path) {
    for segment in fs::read_dir(data.join("journal")).expect("a journal") {
        let path = segment.expect("a segment").path();
        let mut bytes = fs::read(&path).expect("it can be read");
        let head = bytes.iter().position(|b| *b == b'\n').expect("a line") + 1;
        bytes[head..].iter_mut().filter(|b| **b != b'\n').for_each(|b| *b = b'x');
        fs::write(&path, bytes).expect("it can be written");
    }
}

#[test]
fn every_route_answers_with_the_headers_of_safety() {
    let server = TestServer::start();
    let device = server.found();
    for (method, path) in sheaf_server::routes().filter(|(_, path)| path.starts_with("/v1/")) {
        let path = path.replace("{team}", &device.team.to_string()).replace("{method}", "adjust-p");
        for token in [None, Some(device.token.as_str())] {
            let body = matches!(method, "POST" | "PUT").then(|| b"{}".to_vec());
            let headers = [("content-type", "application/json"), ("origin", "https://sheaf.example")];
            let response = server.send(method, &path, token, &headers, body);
            dressed(&response, &format!("{method} {path}: {}", response.status()));
        }
        dressed(&server.send("OPTIONS", &path, None, &[], None), &format!("OPTIONS {path}"));
    }
}

#[test]
fn every_error_answers_with_the_headers_of_safety() {
    let long = Duration::from_secs(36_000);
    let server = TestServer::with(|config| {
        (config.stranger_requests, config.request_window, config.small_bytes) = (1, long, 2000);
    });
    let mut device = server.found();
    device.notes(1);
    device.sync(&server);
    let send = |method: &str, path: &str, headers: &[(&str, &str)], body: Option<Vec<u8>>| {
        server.send(method, path, Some(&device.token), headers, body)
    };
    let team = format!("/v1/teams/{}", device.team);
    let from = [("x-forwarded-for", "192.0.2.1")];
    server.send("GET", "/v1/health", None, &from, None);
    harm(server.folder.path());
    let ask = serde_json::json!({"device": device.writer.device, "clock_ms": 0, "have": {}});
    let ask = serde_json::to_vec(&ask).expect("JSON");
    let json = [("content-type", "application/json")];
    for (status, code, response) in [
        (400, "bad_json", send("POST", "/v1/join", &json, Some(b"{".to_vec()))),
        (401, "no_token", server.send("GET", &format!("{team}/bows"), None, &[], None)),
        (404, "unknown_route", send("GET", "/nowhere", &[], None)),
        (405, "method_not_allowed", send("PATCH", "/v1/join", &[], None)),
        (406, "not_acceptable", send("GET", &format!("{team}/bows"), &[("accept", "image/png")], None)),
        (413, "too_large", send("POST", "/v1/join", &json, Some(vec![b' '; 2001]))),
        (415, "unsupported_media_type", send("POST", "/v1/join", &[("content-type", "text/plain")], None)),
        (429, "too_many_requests", server.send("GET", "/v1/health", None, &from, None)),
        (500, "fault", send("POST", &format!("{team}/exchange"), &json, Some(ask))),
    ] {
        dressed(&response, &format!("{status} {code}"));
        let id = response.headers()["x-request-id"].to_str().expect("text").to_owned();
        assert_eq!(response.headers()["content-type"], "application/problem+json");
        let answer = answer(response);
        answer.is_problem(status, code);
        assert_eq!(answer.body["instance"], format!("urn:uuid:{id}"));
        assert!(!answer.text.contains(server.folder.path().to_str().expect("text")), "{}", answer.text);
    }
}

#[test]
fn a_browser_is_told_to_stay_with_tls_only_where_there_is_tls() {
    let server = TestServer::start();
    let ask = |headers: &[(&str, &str)]| server.send("GET", "/v1/health", None, headers, None);
    let proxied = ask(&[("x-forwarded-for", "192.0.2.1"), ("x-forwarded-proto", "https")]);
    assert_eq!(proxied.headers()["strict-transport-security"], "max-age=31536000");
    let plain = ask(&[("x-forwarded-for", "192.0.2.1"), ("x-forwarded-proto", "http")]);
    assert!(!plain.headers().contains_key("strict-transport-security"));
}

#[test]
fn a_request_has_the_number_that_a_proxy_on_this_machine_gave_it() {
    let server = TestServer::start();
    let given = "6f1c2d3e-4b5a-4c6d-8e7f-901234567890";
    let ask = |id: &str| server.send("GET", "/nowhere", None, &[("x-request-id", id)], None);
    let taken = ask(given);
    assert_eq!(taken.headers()["x-request-id"], given);
    assert_eq!(answer(taken).body["instance"], format!("urn:uuid:{given}"));
    let other = ask("a line of one's own");
    assert_eq!(other.headers()["x-request-id"].len(), 36, "what is no number is not taken");
}

#[test]
fn who_meets_a_fault_of_the_service_is_told_its_number() {
    let range = Range::open();
    let keeper = range.keeper("Ilse");
    let partner = range.join(&keeper, "Birch", "archer");
    keeper.ok(&["add", "bow", "elm"]);
    keeper.sync();
    harm(&range.path("server"));
    let said = partner.fails(3, &["sync"]).split_whitespace().collect::<Vec<_>>().join(" ");
    assert!(said.contains("Something went wrong inside the service"), "{said}");
    let number = said.split("has it under ").nth(1).unwrap_or_else(|| panic!("no number: {said}"));
    assert!(number.trim_start().get(..36).is_some_and(|n| n.split('-').count() == 5), "{said}");
}
