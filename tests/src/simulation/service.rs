//! The real service over a throw-away folder, asked over loopback one request at a time, with cuts at any byte;
//! crashes and restores of its folder. Its clock is set, so a run follows from its seed alone.

use super::{disk::tear, failed};
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use sheaf_model::{
    id::{DeviceId, TeamId, ThingId},
    log::Hash,
    rng::Rng,
    wire::{Admitted, ExchangeReply, InviteReply},
};
use sheaf_server::{Clock, Config, Server, ServerError, founding_key};
use std::{
    fs,
    io::{Read, Write},
    net::{Shutdown, SocketAddr, TcpStream},
    path::{Path, PathBuf},
    sync::{
        Arc,
        atomic::{AtomicU64, Ordering},
    },
    time::Duration,
};
use tempfile::TempDir;
use tokio::{net::TcpListener, runtime::Runtime, sync::oneshot, task::JoinHandle};

/// A status and a body.
pub type Answer = (u16, Vec<u8>);

/// Where a connection is cut.
#[derive(Debug, Clone, Copy)]
pub enum Cut {
    /// Nowhere.
    Not,
    /// After this share of the request, in millionths.
    Request(u64),
    /// After this share of the answer, in millionths.
    Reply(u64),
}

/// The service, its folder, and the copies of it that were set aside.
pub struct Service {
    runtime: Runtime,
    folder: TempDir,
    clock: Arc<AtomicU64>,
    segment_bytes: u64,
    running: Option<Running>,
    /// How many copies there are.
    pub copies: usize,
    team: TeamId,
    keeper: (DeviceId, String),
}

struct Running {
    address: SocketAddr,
    stop: oneshot::Sender<()>,
    done: JoinHandle<Result<(), ServerError>>,
}

impl Service {
    /// Founds a team on a new service.
    pub fn start(team: TeamId, device: DeviceId, person: ThingId, rng: &mut Rng) -> Result<Self, String> {
        let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_all().build();
        // Memory where there is some: what survives a power cut is decided here, and not by the real disk.
        let memory = Path::new("/dev/shm");
        let folder = if memory.is_dir() { TempDir::new_in(memory) } else { TempDir::new() };
        let mut service = Self {
            runtime: runtime.map_err(failed("a runtime"))?,
            folder: folder.map_err(failed("a folder"))?,
            clock: Arc::default(),
            segment_bytes: [2_000, 20_000, 64 << 20][rng.below(3) as usize],
            running: None,
            copies: 0,
            team,
            keeper: (device, String::new()),
        };
        service.open()?;
        let key = founding_key(&service.data()).map_err(failed("the founding key"))?;
        let ask = json!({"team": team, "name": "the team", "device": device, "device_name": "keeper",
                         "person": person, "key": key});
        service.keeper.1 = service.ask::<Admitted>("/v1/teams", "", &ask)?.token;
        Ok(service)
    }

    fn data(&self) -> PathBuf {
        self.folder.path().join("data")
    }

    /// Sets its clock.
    pub fn set_clock(&self, now_ms: u64) {
        self.clock.store(now_ms, Ordering::SeqCst);
    }

    /// Opens it over its folder.
    pub fn open(&mut self) -> Result<(), String> {
        let mut config = Config::new(self.data());
        config.segment_bytes = self.segment_bytes;
        // No answer may hang on how long something took.
        let long = Duration::from_secs(3600);
        (config.header_timeout, config.body_timeout, config.write_timeout) = (long, long, long);
        let clock = Clock::Set(self.clock.clone());
        let server =
            self.runtime.block_on(Server::open(config, clock)).map_err(failed("the service opens"))?;
        let listener = self.runtime.block_on(TcpListener::bind("127.0.0.1:0")).map_err(failed("a port"))?;
        let address = listener.local_addr().map_err(failed("a port"))?;
        let (stop, stopped) = oneshot::channel::<()>();
        let done = self.runtime.spawn(server.run(listener, async {
            stopped.await.ok();
        }));
        self.running = Some(Running { address, stop, done });
        Ok(())
    }

    /// Stops it.
    pub fn stop(&mut self) -> Result<(), String> {
        let Some(Running { stop, done, .. }) = self.running.take() else { return Ok(()) };
        drop(stop);
        let done = self.runtime.block_on(done).map_err(failed("the service ends"))?;
        done.map_err(failed("the service ends"))
    }

    /// Asks and reads an answer that must be good.
    pub fn ask<T: DeserializeOwned>(&self, path: &str, token: &str, body: &Value) -> Result<T, String> {
        match self.post(path, token, body.to_string().as_bytes(), Cut::Not)? {
            Some((200..=299, body)) => serde_json::from_slice(&body).map_err(failed("an answer")),
            other => Err(format!("{path} is answered with {:?}", other.map(|(s, b)| (s, text(&b))))),
        }
    }

    /// Exchanges; `None` when the connection was cut.
    pub fn exchange(&self, token: &str, body: &[u8], cut: Cut) -> Result<Option<Answer>, String> {
        self.post(&format!("/v1/teams/{}/exchange", self.team), token, body, cut)
    }

    /// Lets a device in by an invite of the keeper's, which names the person when the team knows them already.
    pub fn let_in(&self, device: DeviceId, person: ThingId, known: bool) -> Result<Admitted, String> {
        let path = format!("/v1/teams/{}/invites", self.team);
        let invite: InviteReply =
            self.ask(&path, &self.keeper.1, &json!({"role": "archer", "person": known.then_some(person)}))?;
        let ask = json!({"code": invite.code, "device": device, "device_name": "device", "person": person});
        self.ask("/v1/join", "", &ask)
    }

    /// Returns the token of the keeper, whose device writes nothing and is never restored.
    pub fn keeper(&self) -> &str {
        &self.keeper.1
    }

    /// Returns the keeper's device.
    pub fn keeper_device(&self) -> DeviceId {
        self.keeper.0
    }

    /// Returns the team.
    pub fn team(&self) -> TeamId {
        self.team
    }

    /// Returns the digest that the service answers with.
    pub fn digest(&self) -> Result<Hash, String> {
        let ask = json!({"device": self.keeper.0, "clock_ms": 0, "have": {}});
        let path = format!("/v1/teams/{}/exchange", self.team);
        Ok(self.ask::<ExchangeReply>(&path, &self.keeper.1, &ask)?.digest)
    }

    fn post(&self, path: &str, token: &str, body: &[u8], cut: Cut) -> Result<Option<Answer>, String> {
        let running = self.running.as_ref().ok_or("the service is not running")?;
        let head = format!(
            "POST {path} HTTP/1.1\r\nhost: sheaf\r\nauthorization: Bearer {token}\r\ncontent-type: \
             application/json\r\ncontent-length: {}\r\nconnection: close\r\n\r\n",
            body.len()
        );
        let request = [head.as_bytes(), body].concat();
        let mut stream = TcpStream::connect(running.address).map_err(failed("a connection"))?;
        let share = |of: usize, millionths: u64| (of as u64 * millionths / 1_000_000) as usize;
        if let Cut::Request(part) = cut {
            stream.write_all(&request[..share(request.len(), part)]).map_err(failed("a request"))?;
            stream.shutdown(Shutdown::Write).map_err(failed("a cut"))?;
            // The service ends the connection, with or without words; then it is done with the request.
            std::io::copy(&mut stream, &mut std::io::sink()).ok();
            return Ok(None);
        }
        stream.write_all(&request).map_err(failed("a request"))?;
        let mut reply = Vec::new();
        stream.read_to_end(&mut reply).map_err(failed("an answer"))?;
        if let Cut::Reply(part) = cut {
            reply.truncate(share(reply.len(), part));
        }
        Ok(read_answer(&reply))
    }

    /// Sets a copy of its folder aside, with its index or without.
    pub fn set_aside(&mut self, with_index: bool) -> Result<(), String> {
        let to = self.folder.path().join(format!("copy-{}", self.copies));
        copy(&self.data(), &to).map_err(failed("a copy"))?;
        if !with_index {
            fs::remove_dir_all(to.join("index")).map_err(failed("a copy"))?;
        }
        self.copies += 1;
        Ok(())
    }

    /// Comes back from a copy.
    pub fn restore(&mut self, copied: usize) -> Result<(), String> {
        self.stop()?;
        fs::remove_dir_all(self.data()).map_err(failed("the folder goes"))?;
        let from = self.folder.path().join(format!("copy-{copied}"));
        copy(&from, &self.data()).map_err(failed("a copy comes back"))?;
        self.open()
    }

    /// Crashes between two requests, and comes back with its index in some shape.
    pub fn crash(&mut self, rng: &mut Rng) -> Result<&'static str, String> {
        self.stop()?;
        let shape = self.harm_index(rng).map_err(failed("the index"))?;
        self.open()?;
        Ok(shape)
    }

    /// Crashes while it makes the entries of a request durable: of those, any part may be there afterwards.
    pub fn crash_in_commit(&mut self, token: &str, body: &[u8], rng: &mut Rng) -> Result<(), String> {
        let (before, synced) = self.last_segment()?;
        self.exchange(token, body, Cut::Not)?;
        self.stop()?;
        let (after, _) = self.last_segment()?;
        let synced = if before == after { synced } else { 0 };
        let bytes = fs::read(&after).map_err(failed("a segment"))?;
        fs::write(&after, tear(&bytes, synced, rng)).map_err(failed("a segment"))?;
        self.harm_index(rng).map_err(failed("the index"))?;
        self.open()
    }

    fn last_segment(&self) -> Result<(PathBuf, usize), String> {
        let list = fs::read_dir(self.data().join("journal")).map_err(failed("the journal"))?;
        let last =
            list.filter_map(|item| Some(item.ok()?.path())).max().ok_or("the journal has no segment")?;
        let length = fs::metadata(&last).map_err(failed("a segment"))?.len();
        Ok((last, length as usize))
    }

    fn harm_index(&self, rng: &mut Rng) -> std::io::Result<&'static str> {
        let index = self.data().join("index");
        match rng.below(5) {
            0 => {
                fs::remove_dir_all(&index)?;
                Ok("service crashes, index gone")
            }
            1 => {
                fs::write(index.join("snap.0000000000000000.generating"), b"half")?;
                Ok("service crashes, index half opened")
            }
            2 => {
                let older =
                    (0..self.copies).rev().map(|n| self.folder.path().join(format!("copy-{n}/index")));
                if let Some(older) = older.into_iter().find(|path| path.exists()) {
                    fs::remove_dir_all(&index)?;
                    copy(&older, &index)?;
                }
                Ok("service crashes, index older")
            }
            3 => {
                let path = index.join("db");
                let bytes = fs::read(&path)?;
                fs::write(&path, tear(&bytes, bytes.len() / 2, rng))?;
                Ok("service crashes, index torn")
            }
            _ => Ok("service crashes, index whole"),
        }
    }
}

impl Drop for Service {
    fn drop(&mut self) {
        // After a failure its words are those of the failure.
        self.stop().ok();
    }
}

/// Reads an answer that came whole; `None` when it did not.
fn read_answer(reply: &[u8]) -> Option<Answer> {
    let end = reply.windows(4).position(|w| w == b"\r\n\r\n")?;
    let (head, body) = (std::str::from_utf8(&reply[..end]).ok()?.to_lowercase(), &reply[end + 4..]);
    let status = head.split(' ').nth(1)?.parse().ok()?;
    let length = head.lines().find_map(|line| line.strip_prefix("content-length:"))?;
    (length.trim().parse() == Ok(body.len())).then(|| (status, body.to_vec()))
}

/// Returns an answer as text, for a failure.
pub fn text(body: &[u8]) -> String {
    String::from_utf8_lossy(body).chars().take(500).collect()
}

/// Copies a folder.
pub fn copy(from: &Path, to: &Path) -> std::io::Result<()> {
    fs::create_dir_all(to)?;
    for item in fs::read_dir(from)? {
        let item = item?;
        if item.file_type()?.is_dir() {
            copy(&item.path(), &to.join(item.file_name()))?;
        } else {
            fs::copy(item.path(), to.join(item.file_name()))?;
        }
    }
    Ok(())
}
