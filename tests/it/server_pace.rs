//! How much may come from whom: requests, entries and connections, each with words that say what to do.

use crate::harness::{
    care,
    server::{Answer, Device, TestServer, answer, client},
    team,
};
use serde_json::Value;
use sheaf_model::{
    replica::PAGE_ENTRIES,
    wire::{ExchangeReply, MOST_ENTRIES, Role},
};
use std::{
    io::Read,
    net::{Ipv4Addr, SocketAddr, TcpStream, UdpSocket},
    sync::Arc,
    time::Duration,
};
use tempfile::TempDir;

/// So long that no bucket fills while a test runs.
const LONG: Duration = Duration::from_secs(36_000);

/// Asks for health as somebody behind a proxy.
fn ask_from(server: &TestServer, address: &str, token: Option<&str>) -> Answer {
    answer(server.send("GET", "/v1/health", token, &[("x-forwarded-for", address)], None))
}

#[test]
fn a_device_sends_so_many_requests_in_a_window_and_no_more() {
    let server = TestServer::with(|config| (config.device_requests, config.request_window) = (5, LONG));
    let keeper = server.found();
    let archer = server.join(&keeper, Role::Archer);
    for _ in 0..5 {
        archer.call(&server, "GET", "/bows", None).ok::<Value>();
    }
    let path = format!("/v1/teams/{}/bows", archer.team);
    let refused = server.send("GET", &path, Some(&archer.token), &[], None);
    let wait: u64 = refused.headers()["retry-after"].to_str().expect("text").parse().expect("seconds");
    assert!((1..=7200).contains(&wait), "the next of five comes after a fifth of the window: {wait}");
    let refused = answer(refused);
    refused.is_problem(429, "too_many_requests");
    let detail = refused.body["detail"].as_str().expect("words");
    assert!(detail.contains("This device sent more than 5 requests") && detail.contains(&wait.to_string()));
    // Whatever it asks for, and from wherever; the others go on.
    server
        .call("POST", "/v1/compute/adjust-p", Some(&archer.token), None)
        .is_problem(429, "too_many_requests");
    ask_from(&server, "192.0.2.1", Some(&archer.token)).is_problem(429, "too_many_requests");
    keeper.call(&server, "GET", "/bows", None).ok::<Value>();
}

#[test]
fn an_address_sends_so_many_requests_and_its_neighbours_do_not_pay() {
    let server = TestServer::with(|config| (config.address_requests, config.request_window) = (4, LONG));
    let device = server.found();
    for (same, other) in [("192.0.2.1", "192.0.2.2"), ("2001:db8::1", "2001:db8:0:1::1")] {
        for _ in 0..4 {
            ask_from(&server, same, Some(&device.token)).ok::<Value>();
        }
        ask_from(&server, same, Some(&device.token)).is_problem(429, "too_many_requests");
        ask_from(&server, other, Some(&device.token)).ok::<Value>();
    }
    ask_from(&server, "2001:db8::2", None).is_problem(429, "too_many_requests");
    for _ in 0..20 {
        server.call("GET", "/v1/health", None, None).ok::<Value>();
    }
}

#[test]
fn strangers_get_less_than_devices_from_the_same_address() {
    let server = TestServer::with(|config| (config.stranger_requests, config.request_window) = (3, LONG));
    let device = server.found();
    ask_from(&server, "192.0.2.1", None).ok::<Value>();
    let path = format!("/v1/teams/{}/bows", device.team);
    let from = [("x-forwarded-for", "192.0.2.1")];
    for _ in 0..2 {
        answer(server.send("GET", &path, Some("no token"), &from, None)).is_problem(401, "no_token");
    }
    answer(server.send("GET", &path, Some("no token"), &from, None)).is_problem(429, "too_many_requests");
    let refused = ask_from(&server, "192.0.2.1", None);
    assert!(refused.body["detail"].as_str().is_some_and(|d| d.contains("without the token")));
    refused.is_problem(429, "too_many_requests");
    answer(server.send("GET", &path, Some(&device.token), &from, None)).ok::<Value>();
}

#[test]
fn an_exchange_takes_so_many_entries_and_no_more() {
    let server = TestServer::with(|config| config.exchange_entries = 3);
    let mut device = server.found();
    let four = device.notes(4);
    let refused = device.exchange(&server, four.clone());
    refused.is_problem(413, "too_many_entries");
    assert_eq!(refused.body["field"], "entries");
    assert!(refused.body["detail"].as_str().is_some_and(|d| d.contains("at most 3") && d.contains("4 came")));
    let reply: ExchangeReply = device.exchange(&server, four[..3].to_vec()).ok();
    assert_eq!(reply.kept, Some(3), "nothing of the first was kept, and what fits is");
}

#[test]
fn a_season_that_is_sent_for_the_first_time_meets_no_limit() {
    const { assert!(PAGE_ENTRIES * 2 <= MOST_ENTRIES, "a page of the command line is well below the limit") };
    let mut most = 0;
    let server = TestServer::with(|config| most = config.device_requests);
    let mut sender = server.found();
    sender.notes(5_000);
    let sent = sender.sync(&server);
    let mut receiver = server.join(&sender, Role::Archer);
    let received = receiver.sync(&server);
    assert!((sent + received) * 20 < most as usize, "{sent} and {received} requests of {most}");
}

#[test]
fn a_sync_that_is_told_to_wait_waits_and_goes_on() {
    let server = TestServer::with(|config| {
        (config.device_requests, config.request_window) = (1, Duration::from_secs(3));
    });
    let folder = TempDir::new().expect("a folder");
    let device = team::Device::in_home(folder.path().join("home"));
    device.ok(&["start", "Pair", "--me", "Ilse"]);
    device.ok(&["connect", &server.url(""), "--key", &server.key()]);
    // Two pages: they would have to be seconds apart to need no pause.
    device.fill(1_500, 7);
    let output = device.run(&["sync"]);
    let (said, remarks) = (String::from_utf8_lossy(&output.stdout), String::from_utf8_lossy(&output.stderr));
    assert!(output.status.success(), "{remarks}");
    assert!(remarks.contains("The server asks for a pause; going on in "), "{remarks}");
    assert!(said.contains("1,500 entries sent"), "{said}");
}

#[test]
fn a_sync_does_not_wait_for_ever() {
    let server = TestServer::with(|config| (config.device_requests, config.request_window) = (2, LONG));
    let folder = TempDir::new().expect("a folder");
    let device = team::Device::in_home(folder.path().join("home"));
    device.ok(&["start", "Pair", "--me", "Ilse"]);
    device.ok(&["connect", &server.url(""), "--key", &server.key()]);
    device.fill(2_500, 7);
    let said = device.fails(3, &["sync"]);
    assert!(
        said.contains("come again in") && said.contains("nothing is lost") && said.contains("wait"),
        "{said}"
    );
}

#[test]
fn limits_are_set_when_the_program_starts() {
    let folder = TempDir::new().expect("a folder");
    let told = care::sheafd(folder.path(), &["serve", "--listen", "256.0.0.1:0", "--limit", "nonsense=3"]);
    assert!(
        told.code == Some(1) && told.err.contains("there are exchange_bytes, exchange_entries"),
        "{told:?}"
    );
    let told = care::sheafd(folder.path(), &["serve", "--listen", "256.0.0.1:0", "--limit", "streams=many"]);
    assert!(told.code == Some(2) && told.err.contains("`many` is no whole number"), "{told:?}");
    let told = care::sheafd(folder.path(), &["serve", "--listen", "256.0.0.1:0", "--limit", "streams=3"]);
    assert!(told.err.contains("cannot listen on 256.0.0.1:0"), "{told:?}");
}

/// Returns an address of this machine that is not loopback, where there is one.
fn own_address() -> Option<Ipv4Addr> {
    // Nothing is sent: the system only chooses from where it would be.
    let socket = UdpSocket::bind("0.0.0.0:0").ok()?;
    socket.connect("192.0.2.1:9").ok()?;
    match socket.local_addr().ok()? {
        SocketAddr::V4(own) if !own.ip().is_loopback() && !own.ip().is_unspecified() => Some(*own.ip()),
        _ => None,
    }
}

#[test]
fn one_address_cannot_take_all_connections() {
    let Some(own) = own_address() else {
        eprintln!("skipped: this machine has no address but loopback");
        return;
    };
    let folder = Arc::new(TempDir::new().expect("a folder"));
    let server = TestServer::start_on("0.0.0.0:0", folder, |config| config.address_connections = 2);
    let port = server.address().port();
    let connect = || TcpStream::connect((own, port)).expect("a connection");
    let idle = [connect(), connect()];
    let mut third = connect();
    third.set_read_timeout(Some(Duration::from_secs(60))).expect("a time");
    // It ends at once, well or by a reset; the two before it are still open, and others come in.
    assert_eq!(third.read(&mut [0; 1]).unwrap_or_default(), 0, "nothing is said");
    client().get(format!("http://127.0.0.1:{port}/v1/health")).send().expect("an answer");
    drop(idle);
    let until = std::time::Instant::now() + Duration::from_secs(60);
    while client().get(format!("http://{own}:{port}/v1/health")).send().is_err() {
        assert!(std::time::Instant::now() < until, "a place that is free is given again");
        std::thread::yield_now();
    }
    // Another way to be somebody else does not help: what an address says of itself is not believed.
    let far = client().get(format!("http://{own}:{port}/v1/metrics"));
    answer(far.header("x-forwarded-for", "127.0.0.1").header("host", "localhost").send().expect("an answer"))
        .is_problem(401, "no_key");
}

#[test]
fn a_device_of_another_team_pays_for_itself_alone() {
    let server = TestServer::with(|config| (config.device_requests, config.request_window) = (2, LONG));
    let (one, two): (Device, Device) = (server.found(), server.found());
    for _ in 0..2 {
        one.call(&server, "GET", "/bows", None).ok::<Value>();
    }
    one.call(&server, "GET", "/bows", None).is_problem(429, "too_many_requests");
    two.call(&server, "GET", "/bows", None).ok::<Value>();
}
