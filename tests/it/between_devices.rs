//! What goes wrong between devices and the service, at every byte: cuts, doubled and overtaking deliveries, proxies
//! that time out.

use crate::harness::{
    alone::run_at,
    care::copy,
    server::{T0, TestServer},
    team::Range,
};
use serde_json::Value;
use sheaf_tests::fire::{Fault, Proxy, Weather};
use std::{
    fs,
    io::{Read, Write},
    net::{SocketAddr, TcpStream},
    path::{Path, PathBuf},
    process::Stdio,
};
use tempfile::TempDir;

/// Two devices that reach a service by a proxy.
struct Pair {
    folder: TempDir,
    server: TestServer,
    proxy: Proxy,
}

impl Pair {
    fn new() -> Self {
        let server = TestServer::start();
        let proxy = Proxy::start(server.address()).expect("a proxy");
        let pair = Self { folder: TempDir::new().expect("a folder"), server, proxy };
        pair.ok("ash", &["start", "Pair", "--me", "Ash"]);
        pair.ok("ash", &["add", "bow", "elm"]);
        pair.ok("ash", &["connect", &pair.proxy.url(), "--key", &pair.server.key()]);
        let invite: Value = serde_json::from_str(&pair.ok("ash", &["invite", "--json"])).expect("JSON");
        let code = invite["code"].as_str().expect("a code");
        pair.ok("birch", &["join", &pair.proxy.url(), code, "--me", "Birch"]);
        pair.sync("ash");
        pair
    }

    fn home(&self, name: &str) -> PathBuf {
        self.folder.path().join(name)
    }

    fn run(&self, name: &str, words: &[&str]) -> (u8, String, String) {
        let mut out = Vec::new();
        let (code, err) = run_at(&self.home(name), T0, &mut out, "", words);
        (code, String::from_utf8(out).expect("text"), err.split_whitespace().collect::<Vec<_>>().join(" "))
    }

    #[track_caller]
    fn ok(&self, name: &str, words: &[&str]) -> String {
        let (code, out, err) = self.run(name, words);
        assert_eq!(code, 0, "{name}: {words:?}: {err}");
        out
    }

    #[track_caller]
    fn sync(&self, name: &str) -> Value {
        let report: Value = serde_json::from_str(&self.ok(name, &["sync", "--json"])).expect("JSON");
        assert_eq!(report["agree"], true, "{report}");
        report
    }

    /// A sync that the proxy spoils: it has to say that nothing is lost. `None` when it came through all the same.
    #[track_caller]
    fn struck(&self, fault: Fault) -> Option<String> {
        self.proxy.set(Weather::Set(fault));
        let (code, out, err) = self.run("ash", &["sync"]);
        self.proxy.set(Weather::Calm);
        if code == 0 {
            return None;
        }
        assert_eq!((code, out.as_str()), (3, ""), "{fault:?}: {err}");
        assert!(err.contains("nothing is lost") || err.contains("is kept"), "{fault:?}: {err}");
        Some(err)
    }

    /// Both sync in calm weather; they agree then and hold each of these notes once.
    #[track_caller]
    fn level(&self, notes: &[&str]) {
        for name in ["ash", "birch", "ash"] {
            self.sync(name);
        }
        assert_eq!(self.sync("ash")["digest"], self.sync("birch")["digest"]);
        for name in ["ash", "birch"] {
            let listed: Value =
                serde_json::from_str(&self.ok(name, &["list", "notes", "--last", "0", "--json"]))
                    .expect("JSON");
            let mut texts: Vec<&str> = listed
                .as_array()
                .expect("a list")
                .iter()
                .filter_map(|n| n["fields"]["text"].as_str())
                .collect();
            texts.sort_unstable();
            assert_eq!(texts, notes, "{name}");
        }
    }
}

#[test]
fn an_exchange_cut_at_any_byte_of_either_way_loses_and_doubles_nothing() {
    let pair = Pair::new();
    pair.ok("birch", &["note", "elm", "from Birch"]);
    pair.sync("birch");
    pair.ok("ash", &["note", "elm", "one"]);
    let whole = (0..).find(|at| {
        let through = pair.struck(Fault::CutRequest(*at)).is_none();
        if !through && at % 50 == 0 {
            assert_eq!(
                pair.sync("birch")["received"],
                0,
                "of a request that was cut at {at} nothing is taken"
            );
        }
        through
    });
    assert!(whole > Some(500), "{whole:?}");
    pair.level(&["from Birch", "one"]);
    pair.ok("birch", &["note", "elm", "more of Birch"]);
    pair.sync("birch");
    pair.ok("ash", &["note", "elm", "two"]);
    // The service has the note from the first of these on, and is sent it again each time.
    let whole = (0..).find(|at| pair.struck(Fault::CutReply(*at)).is_none());
    assert!(whole > Some(500), "{whole:?}");
    pair.level(&["from Birch", "more of Birch", "one", "two"]);
}

/// Sends bytes as a device did, and waits for the answer.
fn deliver(address: SocketAddr, request: &[u8]) {
    let end = request.windows(2).position(|w| w == b"\r\n").expect("a first line");
    let (first, rest) = request.split_at(end);
    let request = [first, b"\r\nconnection: close", rest].concat();
    let mut stream = TcpStream::connect(address).expect("a connection");
    stream.write_all(&request).expect("it is sent");
    let mut answer = Vec::new();
    stream.read_to_end(&mut answer).expect("an answer");
    assert!(answer.starts_with(b"HTTP/1.1 200"), "{}", String::from_utf8_lossy(&answer));
}

#[test]
fn requests_that_come_twice_and_in_any_order_change_nothing() {
    let mut pair = Pair::new();
    let before = TempDir::new().expect("a folder");
    pair.server.stop();
    copy(pair.server.folder.path(), before.path());
    pair.server = TestServer::start_over(pair.server.folder.clone(), |_| {});
    pair.proxy.lead_to(pair.server.address());
    pair.proxy.record();
    for note in ["one", "three", "two"] {
        pair.ok("ash", &["note", "elm", note]);
        pair.sync("ash");
    }
    let sent = pair.proxy.recorded(3);
    let digest = pair.sync("ash")["digest"].clone();
    for order in [[0, 1, 2], [0, 2, 1], [1, 0, 2], [1, 2, 0], [2, 0, 1], [2, 1, 0]] {
        let older = |data: &Path| {
            fs::remove_dir_all(data).expect("it goes");
            copy(before.path(), data);
        };
        pair.server = pair.server.restart(older);
        pair.proxy.lead_to(pair.server.address());
        for which in order.into_iter().chain(order) {
            deliver(pair.server.address(), &sent[which].request);
        }
        assert_eq!(pair.sync("ash")["digest"], digest, "{order:?}");
    }
    pair.level(&["one", "three", "two"]);
}

#[test]
fn what_answers_in_the_services_stead_is_told_from_it() {
    let pair = Pair::new();
    pair.ok("ash", &["note", "elm", "kept"]);
    for (fault, says) in [
        (Fault::StallBefore(5), "does not answer: what stands before it says so (status 504)"),
        (Fault::StallAfter(5), "does not answer: what stands before it says so (status 504)"),
        (Fault::BadGateway, "does not answer: what stands before it says so (status 502)"),
        (Fault::Portal, "log in first"),
        (Fault::CutRequest(20), "broke off before it had answered"),
        (Fault::ResetReply(20), "broke off"),
    ] {
        let err = pair.struck(fault).expect("it is spoilt");
        assert!(err.contains(says) && err.contains("waits on this device"), "{fault:?}: {err}");
    }
    // A login page is no consent either.
    let birch = fs::read_to_string(pair.home("birch").join("replica.json")).expect("a card");
    let card: Value = serde_json::from_str(&birch).expect("JSON");
    let path = format!("/v1/teams/{}/devices", card["team"].as_str().expect("a team"));
    pair.proxy.set(Weather::Set(Fault::Portal));
    let (code, out, err) = pair.run("ash", &["role", "Birch", "coach"]);
    assert!(code == 3 && out.is_empty() && err.contains("log in first"), "{code} {out} {err}");
    let token = card["server"]["token"].as_str();
    assert_eq!(
        pair.server.call("GET", &path, token, None).status,
        403,
        "Birch is an archer still, no keeper"
    );
    pair.proxy.set(Weather::Calm);
    pair.level(&["kept"]);
}

#[test]
fn a_sync_that_hangs_holds_up_no_other_command() {
    let range = Range::open();
    let ash = range.keeper("Ash");
    let address = range.url().trim_start_matches("http://").parse().expect("an address");
    let proxy = Proxy::start(address).expect("a proxy");
    ash.ok(&["connect", &proxy.url()]);
    let before = proxy.tally().of("connections");
    proxy.set(Weather::Set(Fault::StallBefore(3_600_000)));
    let mut sync = ash.command(&["sync"]).stderr(Stdio::null()).spawn().expect("sheaf starts");
    while proxy.tally().of("connections") == before {
        std::thread::yield_now();
    }
    ash.ok(&["add", "bow", "elm"]);
    ash.ok(&["shoot", "elm", "30m", "9@1", "--face", "wa_80"]);
    assert!(sync.try_wait().expect("it can be asked").is_none(), "the sync still waits");
    sync.kill().expect("it can be killed");
    sync.wait().expect("it ends");
    proxy.set(Weather::Calm);
    assert_eq!(ash.sync()["sent"], 2);
}
