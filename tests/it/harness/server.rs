//! A real service on a real socket, in this process, over a throw-away folder; and devices that talk to it.

use flate2::{Compression, write::GzEncoder};
use reqwest::{
    Method,
    blocking::{Client, Response},
};
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use sheaf_model::{
    id::{DeviceId, TeamId, ThingId},
    kind::{self, Kind, Note},
    log::Entry,
    replica::{Draft, Memory, Replica, Writer},
    wire::{Admitted, ExchangeReply, ExchangeRequest, InviteReply, Role},
};
use sheaf_server::{Clock, Config, Server, founding_key};
use std::{
    io::Write,
    net::SocketAddr,
    sync::{
        Arc, LazyLock,
        atomic::{AtomicU64, Ordering},
    },
    thread::JoinHandle,
};
use tempfile::TempDir;
use tokio::{net::TcpListener, sync::oneshot};

/// When the tests' clock begins.
pub const T0: u64 = 1_775_000_000_000;

/// A service that stops when it is dropped.
pub struct TestServer {
    /// Its folder.
    pub folder: Arc<TempDir>,
    /// Its clock.
    pub clock: Arc<AtomicU64>,
    address: SocketAddr,
    stop: Option<oneshot::Sender<()>>,
    thread: Option<JoinHandle<()>>,
}

/// An answer: its status and its body.
#[derive(Debug)]
pub struct Answer {
    /// The HTTP status.
    pub status: u16,
    /// The body as JSON; null when it is none.
    pub body: Value,
    /// The body as text.
    pub text: String,
}

impl Answer {
    /// Checks that all went well and reads the body.
    #[track_caller]
    pub fn ok<T: DeserializeOwned>(self) -> T {
        assert!((200..300).contains(&self.status), "{} {}", self.status, self.body);
        let text = if self.text.is_empty() { "null" } else { &self.text };
        serde_json::from_str(text).expect("the answer has its shape")
    }

    /// Checks that it is a problem document with a status and a code.
    #[track_caller]
    pub fn is_problem(&self, status: u16, code: &str) {
        assert_eq!((self.status, self.body["code"].as_str()), (status, Some(code)), "{}", self.body);
        assert_eq!(self.body["status"], status);
        let said = ["type", "title", "detail", "instance"].map(|f| self.body[f].as_str().unwrap_or_default());
        assert!(said.iter().all(|text| !text.is_empty()), "{}", self.body);
    }
}

impl TestServer {
    /// Starts a service over a new folder.
    pub fn start() -> Self {
        Self::start_over(Arc::new(TempDir::new().expect("a folder")), |_| {})
    }

    /// Starts a service over a new folder, with a configuration of its own.
    pub fn with(configure: impl FnOnce(&mut Config)) -> Self {
        Self::start_over(Arc::new(TempDir::new().expect("a folder")), configure)
    }

    /// Starts a service over a folder, with a configuration of its own.
    pub fn start_over(folder: Arc<TempDir>, configure: impl FnOnce(&mut Config)) -> Self {
        Self::start_on("127.0.0.1:0", folder, configure)
    }

    /// Starts a service that listens elsewhere.
    pub fn start_on(listen: &'static str, folder: Arc<TempDir>, configure: impl FnOnce(&mut Config)) -> Self {
        let mut config = Config::new(folder.path());
        configure(&mut config);
        let clock = Arc::new(AtomicU64::new(T0));
        let (stop, stopped) = oneshot::channel::<()>();
        let (tell, told) = std::sync::mpsc::channel();
        let wall = Clock::Set(clock.clone());
        let thread = std::thread::spawn(move || {
            let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build();
            runtime.expect("a runtime").block_on(async move {
                let server = Server::open(config, wall).await.expect("the service opens");
                let listener = TcpListener::bind(listen).await.expect("a free port");
                tell.send(listener.local_addr().expect("an address")).expect("the test waits");
                let done = server.run(listener, async {
                    stopped.await.ok();
                });
                done.await.expect("the service ends well");
            });
        });
        let address = told.recv().expect("the service starts");
        Self { folder, clock, address, stop: Some(stop), thread: Some(thread) }
    }

    /// Stops the service and starts another over the same folder, after `between`.
    pub fn restart(mut self, between: impl FnOnce(&std::path::Path)) -> Self {
        self.stop();
        between(self.folder.path());
        let next = Self::start_over(self.folder.clone(), |_| {});
        next.clock.store(self.clock.load(Ordering::SeqCst), Ordering::SeqCst);
        next
    }

    /// Stops the service.
    pub fn stop(&mut self) {
        drop(self.stop.take());
        if let Some(thread) = self.thread.take() {
            thread.join().expect("the service does not panic");
        }
    }

    /// Returns its address.
    pub fn address(&self) -> SocketAddr {
        self.address
    }

    /// Returns the address of a path.
    pub fn url(&self, path: &str) -> String {
        format!("http://{}{path}", self.address)
    }

    /// Returns its founding key.
    pub fn key(&self) -> String {
        founding_key(self.folder.path()).expect("the key is there")
    }

    /// Sends a request and returns the answer.
    pub fn call(&self, method: &str, path: &str, token: Option<&str>, body: Option<&Value>) -> Answer {
        let bytes = body.map(|b| serde_json::to_vec(b).expect("JSON"));
        answer(self.send(method, path, token, &[("content-type", "application/json")], bytes))
    }

    /// Sends a request with headers and bytes of its own.
    pub fn send(
        &self,
        method: &str,
        path: &str,
        token: Option<&str>,
        headers: &[(&str, &str)],
        body: Option<Vec<u8>>,
    ) -> Response {
        let method = Method::from_bytes(method.as_bytes()).expect("a method");
        let mut request = client().request(method, self.url(path));
        if let Some(token) = token {
            request = request.bearer_auth(token);
        }
        for (name, value) in headers {
            request = request.header(*name, *value);
        }
        if let Some(body) = body {
            request = request.body(body);
        }
        request.send().expect("the service answers")
    }

    /// Moves a new team onto the service and returns its founder's device.
    pub fn found(&self) -> Device {
        let device = Device::new();
        let ask = device.found_request(&self.key());
        let admitted: Admitted = self.call("POST", "/v1/teams", None, Some(&ask)).ok();
        device.admitted(admitted)
    }

    /// Lets a new device in, with an invite of a keeper.
    pub fn join(&self, keeper: &Device, role: Role) -> Device {
        let invite: InviteReply = keeper.call(self, "POST", "/invites", Some(&json!({"role": role}))).ok();
        let device = Device::new();
        let admitted: Admitted =
            self.call("POST", "/v1/join", None, Some(&device.join_request(&invite.code))).ok();
        device.admitted(admitted)
    }
}

impl Drop for TestServer {
    fn drop(&mut self) {
        self.stop();
    }
}

/// Returns the answer of a response.
pub fn answer(response: Response) -> Answer {
    let status = response.status().as_u16();
    let text = response.text().expect("the answer arrives whole");
    Answer { status, body: serde_json::from_str(&text).unwrap_or(Value::Null), text }
}

/// Returns a client that keeps no connection and leaves packed answers packed.
pub fn client() -> &'static Client {
    static CLIENT: LazyLock<Client> = LazyLock::new(|| {
        // The client insists on TLS being set up, though the tests speak plain HTTP.
        rustls::crypto::ring::default_provider().install_default().ok();
        let builder = Client::builder().no_proxy().no_gzip().timeout(None).pool_max_idle_per_host(0);
        builder.build().expect("a client")
    });
    &CLIENT
}

/// Packs bytes with gzip.
pub fn pack(bytes: &[u8]) -> Vec<u8> {
    let mut out = GzEncoder::new(Vec::new(), Compression::best());
    out.write_all(bytes).expect("memory");
    out.finish().expect("memory")
}

/// Returns ten bytes that no other call returns.
fn unlike() -> [u8; 10] {
    static NEXT: AtomicU64 = AtomicU64::new(1);
    let n = NEXT.fetch_add(1, Ordering::SeqCst);
    let mut bytes = [0; 10];
    bytes[2..].copy_from_slice(&n.to_be_bytes());
    bytes
}

/// Returns a new id of a thing.
pub fn new_thing() -> ThingId {
    ThingId::new(T0, unlike())
}

/// A device with its replica, in memory.
pub struct Device {
    /// Its replica.
    pub replica: Replica<Memory>,
    /// Whose log it writes.
    pub writer: Writer,
    /// Its team.
    pub team: TeamId,
    /// Its token.
    pub token: String,
}

impl Device {
    /// Makes a device that belongs nowhere yet.
    pub fn new() -> Self {
        Self {
            replica: Replica::new(Memory::default()),
            writer: Writer { device: DeviceId::new(T0, unlike()), author: new_thing() },
            team: TeamId::new(T0, unlike()),
            token: String::new(),
        }
    }

    /// Returns what founding its team takes.
    pub fn found_request(&self, key: &str) -> Value {
        let Writer { device, author } = self.writer;
        json!({"team": self.team, "name": "the team", "device": device, "device_name": "a phone",
               "person": author, "key": key})
    }

    /// Returns what joining with a code takes.
    pub fn join_request(&self, code: &str) -> Value {
        let Writer { device, author } = self.writer;
        json!({"code": code, "device": device, "device_name": "a phone", "person": author})
    }

    /// Notes that it was let in.
    pub fn admitted(mut self, admitted: Admitted) -> Self {
        assert_eq!(admitted.device, self.writer.device);
        (self.team, self.token) = (admitted.team, admitted.token);
        self.writer.author = admitted.person;
        self
    }

    /// Records drafts.
    pub fn record(&mut self, drafts: Vec<Draft>) -> Vec<Entry> {
        self.replica.append(self.writer, drafts, T0).expect("it is kept")
    }

    /// Records so many notes.
    pub fn notes(&mut self, count: usize) -> Vec<Entry> {
        let note = |n: usize| {
            let note = Note { text: Some(format!("note {n}")), ..Note::default() };
            kind::draft(new_thing(), &note).expect("a note")
        };
        self.record((0..count).map(note).collect())
    }

    /// Records a thing and returns its id.
    pub fn keep<K: Kind>(&mut self, record: &K) -> ThingId {
        let id = new_thing();
        self.record(vec![kind::draft(id, record).expect("a record")]);
        id
    }

    /// Sends a request about its team.
    pub fn call(&self, server: &TestServer, method: &str, path: &str, body: Option<&Value>) -> Answer {
        server.call(method, &format!("/v1/teams/{}{path}", self.team), Some(&self.token), body)
    }

    /// Exchanges once, sending these entries.
    pub fn exchange(&self, server: &TestServer, entries: Vec<Entry>) -> Answer {
        use sheaf_model::replica::Store as _;
        let have = self.replica.store().vector().have();
        let ask = ExchangeRequest { device: self.writer.device, clock_ms: T0, have, entries };
        // Written as it is: by way of a `Value` the text of the bodies would change.
        let body = serde_json::to_vec(&ask).expect("JSON");
        let path = format!("/v1/teams/{}/exchange", self.team);
        let headers = [("content-type", "application/json")];
        answer(server.send("POST", &path, Some(&self.token), &headers, Some(body)))
    }

    /// Syncs until neither side has anything for the other; returns how many pages came back.
    pub fn sync(&mut self, server: &TestServer) -> usize {
        use sheaf_model::replica::Store as _;
        let mut theirs = sheaf_model::log::Have::new();
        for pages in 1..100 {
            let page = self.replica.missing_for(&theirs).expect("a page");
            let entries = if pages == 1 { Vec::new() } else { page.entries };
            let reply: ExchangeReply = self.exchange(server, entries).ok();
            assert!(reply.refused.is_empty(), "{:?}", reply.refused);
            theirs = reply.have;
            self.replica.absorb(reply.entries).expect("it is kept");
            if self.replica.store().vector().have() == theirs && !reply.more {
                assert_eq!(self.replica.store_mut().digest().expect("a digest"), reply.digest);
                return pages;
            }
        }
        panic!("the exchange goes nowhere")
    }
}
