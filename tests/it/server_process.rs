//! The real program: killed at any instant, told to stop, started twice.

use crate::harness::{
    programs::program,
    server::{Device, T0, answer, client},
};
use sheaf_model::{
    log::{Entry, Have},
    replica::Store as _,
    wire::{Admitted, ExchangeReply, ExchangeRequest},
};
use std::{
    io::{BufRead, BufReader, Read, Write},
    net::TcpStream,
    path::Path,
    process::{Child, Command, Stdio},
    time::{Duration, Instant},
};
use tempfile::TempDir;

struct Program {
    child: Child,
    address: String,
}

impl Program {
    /// Starts the service on a free port.
    fn start(folder: &Path) -> Self {
        Self::started_by(Command::new(program("sheafd")), folder)
    }

    /// Starts the service by a command that ends in it; its first line says that it listens.
    fn started_by(mut command: Command, folder: &Path) -> Self {
        let file = folder.join("address");
        let mut child = command
            .args(["serve", "--listen", "127.0.0.1:0", "--data"])
            .arg(folder.join("data"))
            .arg("--port-file")
            .arg(&file)
            .env_remove("SHEAFD_LOG")
            .stdout(Stdio::piped())
            .stderr(Stdio::null())
            .spawn()
            .expect("the program starts");
        let mut said = String::new();
        let out = child.stdout.take().expect("its output");
        BufReader::new(out).read_line(&mut said).expect("it says that it listens");
        let address = std::fs::read_to_string(file).expect("the port file").trim().to_owned();
        assert!(said.contains(&address) && said.contains("founding-key"), "{said}");
        Self { child, address }
    }

    fn post(&self, path: &str, token: Option<&str>, body: String) -> Option<reqwest::blocking::Response> {
        let mut request = client().post(format!("http://{}{path}", self.address));
        if let Some(token) = token {
            request = request.bearer_auth(token);
        }
        request.header("content-type", "application/json").body(body).send().ok()
    }

    fn found(&self, folder: &Path) -> Device {
        let key = Command::new(program("sheafd")).arg("key").arg("--data").arg(folder.join("data")).output();
        let key = String::from_utf8(key.expect("it runs").stdout).expect("text");
        let device = Device::new();
        let ask = device.found_request(key.trim());
        let reply = self.post("/v1/teams", None, ask.to_string()).expect("an answer");
        device.admitted(answer(reply).ok::<Admitted>())
    }

    fn exchange(&self, device: &Device, have: Have, entries: Vec<Entry>) -> Option<ExchangeReply> {
        let ask = ExchangeRequest { device: device.writer.device, clock_ms: T0, have, entries };
        let path = format!("/v1/teams/{}/exchange", device.team);
        let reply = self.post(&path, Some(&device.token), serde_json::to_string(&ask).expect("JSON"))?;
        serde_json::from_slice(&reply.bytes().ok()?).ok()
    }

    fn signal(&self, name: &str) {
        let done = Command::new("kill").args(["-s", name, &self.child.id().to_string()]).status();
        assert!(done.expect("kill runs").success());
    }
}

impl Drop for Program {
    fn drop(&mut self) {
        self.child.kill().ok();
        self.child.wait().ok();
    }
}

#[test]
fn killed_at_any_instant_nothing_acknowledged_is_lost() {
    let folder = TempDir::new().expect("a folder");
    let mut program = Program::start(folder.path());
    let mut device = program.found(folder.path());
    let mut acknowledged = 0;
    for round in 0..6_u64 {
        // The kill comes from another thread after a number of acknowledgements that differs by round, at
        // whatever instant the service is in then.
        let id = program.child.id().to_string();
        let (tell, told) = std::sync::mpsc::channel::<()>();
        let killer = std::thread::spawn(move || {
            (0..=3 * round).for_each(|_| told.recv().unwrap_or_default());
            Command::new("kill").args(["-s", "KILL", &id]).status().expect("kill runs")
        });
        loop {
            let sent = device.notes(20);
            let last = sent.last().expect("twenty").seq;
            match program.exchange(&device, Have::new(), sent) {
                Some(reply) => {
                    assert!(reply.refused.is_empty(), "{:?}", reply.refused);
                    acknowledged = last;
                    tell.send(()).ok();
                }
                None => break,
            }
        }
        drop(tell);
        killer.join().expect("the killer ends");
        drop(program);
        program = Program::start(folder.path());
        let reply = program.exchange(&device, Have::new(), Vec::new()).expect("an answer");
        let kept = reply.have[&device.writer.device].0;
        assert!(kept >= acknowledged, "round {round}: {acknowledged} were acknowledged and {kept} are there");
        // What was not acknowledged is sent again; the log goes on without a hole.
        let unsent = device.replica.missing_for(&reply.have).expect("a page").entries;
        let reply = program.exchange(&device, reply.have, unsent).expect("an answer");
        assert_eq!(reply.have, device.replica.store().vector().have(), "round {round}");
        assert_eq!(reply.digest, device.replica.store_mut().digest().expect("a digest"), "round {round}");
    }
}

#[test]
fn killed_while_the_index_is_made_anew_it_comes_back() {
    let folder = TempDir::new().expect("a folder");
    let mut program = Program::start(folder.path());
    let mut device = program.found(folder.path());
    for _ in 0..3 {
        let sent = device.notes(900);
        program.exchange(&device, Have::new(), sent).expect("an answer");
    }
    program.signal("KILL");
    program.child.wait().expect("it ends");
    for _ in 0..5 {
        std::fs::remove_dir_all(folder.path().join("data/index")).expect("it goes");
        let mut child = Command::new(self::program("sheafd"))
            .args(["serve", "--listen", "127.0.0.1:0", "--data"])
            .arg(folder.path().join("data"))
            .stdout(Stdio::null())
            .stderr(Stdio::piped())
            .spawn()
            .expect("the program starts");
        // The first line of its log says that the index is being made; it is killed right then.
        let mut said = String::new();
        BufReader::new(child.stderr.take().expect("its log")).read_line(&mut said).expect("a line");
        assert!(said.contains("index"), "{said}");
        child.kill().expect("it is killed");
        child.wait().expect("it ends");
        let program = Program::start(folder.path());
        let reply = program.exchange(&device, Have::new(), Vec::new()).expect("an answer");
        assert_eq!(reply.have, device.replica.store().vector().have());
        assert_eq!(reply.digest, device.replica.store_mut().digest().expect("a digest"));
    }
}

#[test]
fn told_to_stop_it_lets_the_request_in_flight_finish() {
    let folder = TempDir::new().expect("a folder");
    let mut program = Program::start(folder.path());
    let mut device = program.found(folder.path());
    let entries = device.notes(10);
    let ask = ExchangeRequest { device: device.writer.device, clock_ms: T0, have: Have::new(), entries };
    let body = serde_json::to_vec(&ask).expect("JSON");
    let mut flight = TcpStream::connect(&program.address).expect("a connection");
    let head = format!(
        "POST /v1/teams/{}/exchange HTTP/1.1\r\nhost: x\r\nauthorization: Bearer {}\r\nexpect: 100-continue\r\n\
         content-type: application/json\r\ncontent-length: {}\r\n\r\n",
        device.team,
        device.token,
        body.len()
    );
    flight.write_all(head.as_bytes()).expect("the head is sent");
    // `100 Continue` says that the service reads the body now: the request is in flight.
    let mut go = [0; 25];
    flight.read_exact(&mut go).expect("it asks for the body");
    assert!(go.starts_with(b"HTTP/1.1 100"));
    program.signal("TERM");
    // It has heard the signal once it takes no new connections.
    let until = Instant::now() + Duration::from_secs(60);
    while TcpStream::connect(&program.address).is_ok() {
        assert!(Instant::now() < until, "it still takes connections after the signal");
        std::thread::yield_now();
    }
    flight.write_all(&body).expect("the body is sent");
    let mut heard = String::new();
    flight.read_to_string(&mut heard).expect("an answer");
    assert!(heard.starts_with("HTTP/1.1 200"), "{heard}");
    assert!(program.child.wait().expect("it ends").success(), "it ends well");
    let again = Program::start(folder.path());
    let reply = again.exchange(&device, Have::new(), Vec::new()).expect("an answer");
    assert_eq!(reply.have[&device.writer.device].0, 10);
}

#[test]
fn told_to_stop_it_ends_live_streams_and_leaves_with_0() {
    let folder = TempDir::new().expect("a folder");
    let mut program = Program::start(folder.path());
    let device = program.found(folder.path());
    let url = format!("http://{}/v1/teams/{}/events", program.address, device.team);
    let mut stream = client().get(url).bearer_auth(&device.token).send().expect("a stream");
    let mut first = [0; 12];
    stream.read_exact(&mut first).expect("the first event");
    assert_eq!(&first, b"event:state\n");
    program.signal("TERM");
    let mut rest = String::new();
    stream.read_to_string(&mut rest).expect("the stream ends whole");
    assert!(program.child.wait().expect("it ends").success());
}

#[test]
fn on_a_full_disk_it_stops_taking_and_nothing_acknowledged_is_lost() {
    let folder = TempDir::new().expect("a folder");
    // No file may grow beyond 1 MiB, which the system reports like a full disk.
    let mut shell = Command::new("sh");
    shell.args(["-c", "trap '' XFSZ; ulimit -f 2048; exec \"$0\" \"$@\""]).arg(program("sheafd"));
    let program = Program::started_by(shell, folder.path());
    let mut device = program.found(folder.path());
    let path = format!("/v1/teams/{}/exchange", device.team);
    let mut acknowledged = 0;
    let refused = loop {
        let entries = device.notes(200);
        let last = entries.last().expect("entries").seq;
        let ask = ExchangeRequest { device: device.writer.device, clock_ms: T0, have: Have::new(), entries };
        let body = serde_json::to_string(&ask).expect("JSON");
        let reply = answer(program.post(&path, Some(&device.token), body).expect("an answer"));
        if reply.status != 200 {
            break reply;
        }
        acknowledged = last;
        assert!(acknowledged < 100_000, "the limit is never reached");
    };
    // The index writes to the same disk, and may be the one that notices.
    assert!(refused.status == 503 && refused.body["code"].is_string(), "{}", refused.body);
    assert!(acknowledged > 0, "it took some before");
    if refused.body["code"] == "stopped" {
        let health = client().get(format!("http://{}/v1/health", program.address)).send().expect("an answer");
        assert_eq!(health.status(), 503);
        let ready = client().get(format!("http://{}/v1/ready", program.address)).send().expect("an answer");
        answer(ready).is_problem(503, "stopped");
    }
    drop(program);
    let program = Program::start(folder.path());
    let reply = program.exchange(&device, Have::new(), Vec::new()).expect("an answer");
    assert!(reply.have[&device.writer.device].0 >= acknowledged);
    let unsent = device.replica.missing_for(&reply.have).expect("a page").entries;
    let reply = program.exchange(&device, reply.have, unsent).expect("an answer");
    assert_eq!(reply.digest, device.replica.store_mut().digest().expect("a digest"));
}

#[test]
fn a_second_program_over_the_same_folder_says_why_it_ends() {
    let folder = TempDir::new().expect("a folder");
    let _first = Program::start(folder.path());
    let second = Command::new(program("sheafd"))
        .args(["serve", "--listen", "127.0.0.1:0", "--data"])
        .arg(folder.path().join("data"))
        .output()
        .expect("it runs");
    assert!(!second.status.success());
    let said = String::from_utf8_lossy(&second.stderr);
    assert!(said.contains("another sheafd already runs over"), "{said}");
}

#[test]
fn the_founding_key_is_for_its_owner_only_and_never_logged() {
    use std::os::unix::fs::PermissionsExt as _;
    let folder = TempDir::new().expect("a folder");
    let run = Command::new(program("sheafd"))
        .args(["serve", "--listen", "256.0.0.1:0", "--log", "json", "--data"])
        .arg(folder.path())
        .env("SHEAFD_LOG_FILTER", "trace")
        .output()
        .expect("it runs");
    assert!(!run.status.success());
    let path = folder.path().join("founding-key");
    assert_eq!(path.metadata().expect("the key").permissions().mode() & 0o777, 0o600);
    let key = std::fs::read_to_string(path).expect("the key");
    let log = String::from_utf8_lossy(&run.stderr).into_owned() + &String::from_utf8_lossy(&run.stdout);
    assert!(log.contains("cannot listen on 256.0.0.1:0") && !log.contains(key.trim()), "{log}");
}
