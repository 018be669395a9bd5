//! Requests to the real service over loopback: a first line such as `POST /v1/teams/{team}/exchange gzip`, and a body.
//!
//! `gzip` packs the body; `packed` says that it is packed already. `{team}` and `{device}` stand for ours, `{key}` for
//! the founding key. The logs in an exchange are put right and are new ones for every input.

use super::chain::mended;
use flate2::{Compression, write::GzEncoder};
use serde_json::{Value, json};
use sheaf_model::{
    id::{DeviceId, TeamId, ThingId},
    log::Hash,
    wire::ExchangeRequest,
};
use sheaf_server::{Clock, Config, Server, founding_key};
use std::{
    io::{Read, Write},
    net::{SocketAddr, TcpStream},
    sync::{Arc, Mutex, atomic::AtomicU64},
};
use tempfile::TempDir;
use tokio::{net::TcpListener, runtime::Runtime};

const T0: u64 = 1_775_000_000_000;
/// How many requests one service gets, whose records grow by them.
const MOST: usize = 1000;

static RUNNING: Mutex<Option<Running>> = Mutex::new(None);

/// Asks. The service answers with JSON; what it refuses it explains, and it never fails.
pub fn check(bytes: &[u8]) {
    let end = bytes.iter().position(|b| *b == b'\n').unwrap_or(bytes.len());
    let line = String::from_utf8_lossy(&bytes[..end]).into_owned();
    let body = bytes.get(end + 1..).unwrap_or_default();
    let mut slot = RUNNING.lock().unwrap_or_else(std::sync::PoisonError::into_inner);
    let running = match slot.take() {
        Some(running) if running.asked < MOST => running,
        _ => Running::start(),
    };
    slot.insert(running).holds(&line, body);
}

struct Running {
    address: SocketAddr,
    token: String,
    key: String,
    asked: usize,
    // Both end when this is dropped.
    _runtime: Runtime,
    _folder: TempDir,
}

fn team() -> TeamId {
    TeamId::new(T0, [1; 10])
}

fn device() -> DeviceId {
    DeviceId::new(T0, [2; 10])
}

impl Running {
    fn start() -> Self {
        let folder = tempfile::tempdir().expect("a folder");
        let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_all().build();
        let runtime = runtime.expect("a runtime");
        let mut config = Config::new(folder.path());
        (config.exchange_bytes, config.compute_bytes, config.small_bytes) = (100_000, 100_000, 10_000);
        let clock = Clock::Set(Arc::new(AtomicU64::new(T0)));
        let server = runtime.block_on(Server::open(config, clock)).expect("the service opens");
        let listener = runtime.block_on(TcpListener::bind("127.0.0.1:0")).expect("a port");
        let address = listener.local_addr().expect("an address");
        runtime.spawn(server.run(listener, std::future::pending::<()>()));
        let key = founding_key(folder.path()).expect("a key");
        let mut running =
            Self { address, token: String::new(), key, asked: 0, _runtime: runtime, _folder: folder };
        let found = json!({"team": team(), "name": "the team", "device": device(), "device_name": "keeper",
                           "person": ThingId::new(T0, [3; 10]), "key": running.key});
        let (status, answer) = running.ask("POST", "/v1/teams", "", found.to_string().as_bytes());
        assert_eq!(status, 201, "{answer}");
        running.token = answer["token"].as_str().expect("a token").to_owned();
        running
    }

    fn holds(&mut self, line: &str, body: &[u8]) {
        let mut words = line.split(' ');
        let method = words.next().filter(|m| ["GET", "PUT", "DELETE", "PATCH"].contains(m)).unwrap_or("POST");
        let path = words.next().unwrap_or_default().replace("{team}", &team().to_string());
        let path = escaped(&path.replace("{device}", &device().to_string()));
        // Events go on until the service ends; who shuts itself out gets no further.
        if path.contains("events") || (method == "DELETE" && path.contains(&device().to_string())) {
            return;
        }
        let body = self.filled(body);
        let (body, coding) = match words.next() {
            Some("gzip") => (packed(&body), "content-encoding: gzip\r\n"),
            Some("packed") => (body, "content-encoding: gzip\r\n"),
            _ => (body, ""),
        };
        let (status, answer) = self.ask(method, &path, coding, &body);
        assert!(status < 500 || answer["code"] == "busy", "{method} {path}: {status} {answer}");
        if status >= 400 {
            let said = ["type", "title", "detail", "code"].map(|f| answer[f].as_str().unwrap_or_default());
            assert!(said.iter().all(|text| !text.is_empty()), "{method} {path}: {status} {answer}");
            assert_eq!(answer["status"], status, "{answer}");
        }
    }

    fn filled(&self, body: &[u8]) -> Vec<u8> {
        let Ok(text) = std::str::from_utf8(body) else { return body.to_vec() };
        let text = text.replace("{key}", &self.key).replace("{device}", &device().to_string());
        let text = text.replace("{team}", &team().to_string());
        let Ok(mut ask) = serde_json::from_str::<ExchangeRequest>(&text) else { return text.into_bytes() };
        let salt = Hash::of(body);
        for entry in &mut ask.entries {
            let mut id = *entry.device.as_bytes();
            id.iter_mut().zip(salt.as_bytes()).for_each(|(a, b)| *a ^= b);
            entry.device = DeviceId::from_bytes(id);
        }
        ask.entries = mended(ask.entries);
        serde_json::to_vec(&ask).expect("a request is written")
    }

    fn ask(&mut self, method: &str, path: &str, coding: &str, body: &[u8]) -> (u16, Value) {
        self.asked += 1;
        let head = format!(
            "{method} {path} HTTP/1.1\r\nhost: sheaf\r\nauthorization: Bearer {}\r\n{coding}content-type: \
             application/json\r\ncontent-length: {}\r\nconnection: close\r\n\r\n",
            self.token,
            body.len()
        );
        let mut stream = TcpStream::connect(self.address).expect("a connection");
        // A body that is refused is not read to its end.
        let _ = stream.write_all(&[head.as_bytes(), body].concat());
        let mut reply = Vec::new();
        stream.read_to_end(&mut reply).expect("an answer");
        let text = String::from_utf8(reply).expect("an answer is text");
        let (head, body) = text.split_once("\r\n\r\n").expect("an answer has a head");
        let status = head.split(' ').nth(1).and_then(|s| s.parse().ok()).expect("an answer has a status");
        let json = head.to_lowercase().contains("json");
        assert!(json || body.is_empty() || status < 400, "{method} {path}: {text}");
        (status, serde_json::from_str(body).unwrap_or_default())
    }
}

fn packed(body: &[u8]) -> Vec<u8> {
    let mut out = GzEncoder::new(Vec::new(), Compression::fast());
    out.write_all(body).and_then(|()| out.finish()).expect("memory takes any bytes")
}

/// Returns a path of the characters that a request can have.
fn escaped(path: &str) -> String {
    let plain = |b: u8| b.is_ascii_alphanumeric() || b"/?&=.,:%_-~".contains(&b);
    let byte = |b: u8| if plain(b) { char::from(b).to_string() } else { format!("%{b:02X}") };
    format!("/{}", path.trim_start_matches('/').bytes().map(byte).collect::<String>())
}
