//! The page that the service hands out: its files, what a browser may do with them, and at what pace.

use crate::harness::server::{TestServer, answer};
use flate2::read::GzDecoder;
use reqwest::blocking::Response;
use serde_json::Value;
use std::{collections::BTreeMap, fs, io::Read, path::Path, process::Command, time::Duration};

/// What every file of the page has: the list of sources is the one place that says what a script slipped in could do.
const ALWAYS: [(&str, &str); 7] = [
    ("cache-control", "no-cache"),
    (
        "content-security-policy",
        "default-src 'none'; script-src 'self' 'wasm-unsafe-eval'; style-src 'self'; img-src 'self' blob: data:; \
         connect-src 'self'; worker-src 'self'; manifest-src 'self'; base-uri 'none'; form-action 'none'; \
         frame-ancestors 'none'",
    ),
    ("cross-origin-resource-policy", "same-origin"),
    ("referrer-policy", "no-referrer"),
    ("x-content-type-options", "nosniff"),
    ("x-frame-options", "DENY"),
    (
        "permissions-policy",
        "camera=(self), display-capture=(), geolocation=(), microphone=(), payment=(), screen-wake-lock=(self), usb=()",
    ),
];

fn folder() -> std::path::PathBuf {
    Path::new(env!("CARGO_MANIFEST_DIR")).join("../server/web")
}

fn get(server: &TestServer, path: &str, headers: &[(&str, &str)]) -> Response {
    server.send("GET", path, None, headers, None)
}

fn header<'a>(response: &'a Response, name: &str) -> &'a str {
    response.headers().get(name).map_or("", |value| value.to_str().expect("text"))
}

/// Returns what a program that is not ours makes of bytes with SHA-256.
fn sha256sum(bytes: &[u8]) -> String {
    let file = tempfile::NamedTempFile::new().expect("a file");
    fs::write(file.path(), bytes).expect("it can be written");
    let ran = Command::new("sha256sum").arg(file.path()).output().expect("sha256sum is there");
    String::from_utf8_lossy(&ran.stdout).chars().take(64).collect()
}

/// Returns the table in the first line of the service worker.
fn table(server: &TestServer) -> BTreeMap<String, String> {
    let text = get(server, "/sw.js", &[]).text().expect("text");
    let first = text.lines().next().and_then(|l| l.strip_prefix("const FILES = ")?.strip_suffix(';'));
    serde_json::from_str(first.expect("a table")).expect("JSON")
}

#[test]
fn every_file_that_the_worker_lists_is_served_as_it_is_in_the_folder() {
    let server = TestServer::start();
    let listed = table(&server);
    for (path, digest) in &listed {
        let response = get(&server, path, &[]);
        assert_eq!(response.status(), 200, "{path}");
        for (name, value) in ALWAYS {
            let found: Vec<&[u8]> = response.headers().get_all(name).iter().map(|v| v.as_bytes()).collect();
            assert_eq!(found, [value.as_bytes()], "{path}: {name}");
        }
        assert_eq!(header(&response, "etag"), format!("\"{digest}\""), "{path}");
        let name =
            if path == "/" { "index.html" } else { path.trim_start_matches("/web").trim_start_matches('/') };
        let bytes = response.bytes().expect("a file");
        assert_eq!(bytes, fs::read(folder().join(name)).expect("it is in the folder"), "{path}");
        assert_eq!(sha256sum(&bytes), *digest, "{path}");
    }
    let inner = ["door/Cargo.toml", "door/src/lib.rs", "build", "model.sources", "index.html", "sw.js"];
    for name in inner.into_iter().filter(|name| folder().join(name).exists()) {
        server.call("GET", &format!("/web/{name}"), None, None).is_problem(404, "unknown_file");
    }
    for path in
        ["/web/../Cargo.toml", "/web/%2e%2e/Cargo.toml", "/web//icon/sheaf.svg", "/web/icon/sheaf.svg/"]
    {
        assert_eq!(get(&server, path, &[]).status(), 404, "{path}");
    }
    assert!(!listed.contains_key("/sw.js") && listed.len() >= 4, "{listed:?}");
}

#[test]
fn what_the_files_are_is_said_as_a_browser_wants_it() {
    let server = TestServer::start();
    for (path, media_type) in [
        ("/", "text/html; charset=utf-8"),
        ("/sw.js", "text/javascript; charset=utf-8"),
        ("/manifest.webmanifest", "application/manifest+json; charset=utf-8"),
        ("/web/icon/sheaf.svg", "image/svg+xml; charset=utf-8"),
        ("/web/icon/sheaf-192.png", "image/png"),
    ] {
        assert_eq!(header(&get(&server, path, &[]), "content-type"), media_type, "{path}");
    }
    let manifest: Value = server.call("GET", "/manifest.webmanifest", None, None).ok();
    for icon in manifest["icons"].as_array().expect("icons") {
        let path = icon["src"].as_str().expect("a path");
        let response = get(&server, path, &[]);
        assert_eq!(header(&response, "content-type").split(';').next(), icon["type"].as_str(), "{path}");
        // Width and height stand at this place of every PNG (its chapter 11.2.1).
        let bytes = response.bytes().expect("a picture");
        if let Some((width, _)) = icon["sizes"].as_str().and_then(|s| s.split_once('x')) {
            let size = |at: usize| u32::from_be_bytes(bytes[at..at + 4].try_into().expect("four bytes"));
            assert_eq!((size(16), size(20)), (width.parse().expect("a size"), size(16)), "{path}");
        }
    }
}

#[test]
fn a_file_goes_over_the_line_packed_for_who_reads_it_and_not_again_for_who_has_it() {
    let server = TestServer::start();
    let plain = get(&server, "/sw.js", &[]);
    let (tag, text) = (header(&plain, "etag").to_owned(), plain.text().expect("text"));
    assert_eq!(tag, format!("\"{}\"", sha256sum(text.as_bytes())));
    let packs = ("accept-encoding", "gzip, br");
    let packed = get(&server, "/sw.js", &[packs]);
    assert_eq!((header(&packed, "content-encoding"), header(&packed, "vary")), ("gzip", "accept-encoding"));
    let packed_tag = header(&packed, "etag").to_owned();
    assert_ne!(packed_tag, tag, "a strong tag names the bytes");
    let bytes = packed.bytes().expect("bytes");
    let mut unpacked = String::new();
    GzDecoder::new(&bytes[..]).read_to_string(&mut unpacked).expect("gzip");
    assert!(unpacked == text && bytes.len() < text.len());
    for (asks, tag) in [(&[][..], &tag), (&[packs][..], &packed_tag)] {
        let again = get(&server, "/sw.js", &[asks, &[("if-none-match", &**tag)]].concat());
        assert_eq!((again.status().as_u16(), header(&again, "etag")), (304, &**tag));
        assert_eq!(header(&again, "cache-control"), "no-cache");
        assert!(again.bytes().expect("nothing").is_empty());
        let other = get(&server, "/sw.js", &[asks, &[("if-none-match", "\"another\"")]].concat());
        assert_eq!(other.status(), 200);
        let head = server.send("HEAD", "/sw.js", None, asks, None);
        let length = if asks.is_empty() { text.len() } else { bytes.len() };
        assert_eq!(header(&head, "content-length"), length.to_string());
        assert!(head.bytes().expect("nothing").is_empty());
    }
    // A picture gains nothing.
    assert_eq!(header(&get(&server, "/web/icon/sheaf-512.png", &[packs]), "content-encoding"), "");
}

#[test]
fn who_fetches_the_page_is_not_shut_out_of_the_interface_and_the_other_way_round() {
    let long = Duration::from_secs(36_000);
    let server = TestServer::with(|config| {
        (config.stranger_requests, config.address_requests, config.request_window) = (2, 4, long);
        config.page_requests = 50;
    });
    let device = server.found();
    let from = |address| [("x-forwarded-for", address)];
    let fetch = |address| answer(server.send("GET", "/web/icon/sheaf.svg", None, &from(address), None));
    for _ in 0..50 {
        assert_eq!(fetch("192.0.2.1").status, 200);
    }
    let refused = fetch("192.0.2.1");
    refused.is_problem(429, "too_many_requests");
    assert!(refused.body["detail"].as_str().is_some_and(|d| d.contains("for files of the page")));
    assert_eq!(fetch("192.0.2.2").status, 200, "a neighbour has a pace of its own");
    let ask = |address, token| answer(server.send("GET", "/v1/health", token, &from(address), None));
    for _ in 0..2 {
        ask("192.0.2.1", None).ok::<Value>();
    }
    ask("192.0.2.1", None).is_problem(429, "too_many_requests");
    ask("192.0.2.1", Some(&*device.token)).ok::<Value>();
    for _ in 0..4 {
        ask("192.0.2.3", Some(&*device.token));
    }
    ask("192.0.2.3", Some(&*device.token)).is_problem(429, "too_many_requests");
    assert_eq!(fetch("192.0.2.3").status, 200, "who has used up the interface's pace still gets the page");
}

#[test]
fn the_page_takes_no_other_method_and_can_be_left_out() {
    let server = TestServer::start();
    let refused = server.send("POST", "/", None, &[], None);
    assert_eq!(header(&refused, "allow"), "GET, HEAD");
    assert!(header(&refused, "content-security-policy").starts_with("default-src 'none'; base-uri"));
    answer(refused).is_problem(405, "method_not_allowed");
    let without = TestServer::with(|config| config.page = false);
    for path in ["/", "/sw.js", "/manifest.webmanifest", "/web/icon/sheaf.svg"] {
        without.call("GET", path, None, None).is_problem(404, "unknown_route");
        without.call("POST", path, None, None).is_problem(404, "unknown_route");
    }
    without.call("GET", "/v1/health", None, None).ok::<Value>();
}
