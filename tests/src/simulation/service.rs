//! The real service over a throw-away folder, asked over loopback one request at a time, with cuts at any byte;
//! crashes and restores of its folder. Its clock is set, so a run follows from its seed alone.

use super::{
    disk::tear,
    failed,
    http::{Answer, Cut, Running, post, text},
};
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use sheaf_model::{
    id::{DeviceId, TeamId, ThingId},
    log::Hash,
    rng::Rng,
    wire::{Admitted, ExchangeReply, InviteReply},
};
use sheaf_server::{Clock, Config, founding_key};
use std::{
    fs,
    path::{Path, PathBuf},
    sync::{
        Arc,
        atomic::{AtomicU64, Ordering},
    },
};
use tempfile::TempDir;
use tokio::runtime::Runtime;

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
        self.running = Some(Running::open(&self.runtime, config, Clock::Set(self.clock.clone()))?);
        Ok(())
    }

    /// Stops it.
    pub fn stop(&mut self) -> Result<(), String> {
        self.running.take().map_or(Ok(()), |running| running.stop(&self.runtime))
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
        post(running.address, path, token, body, cut)
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
        // Lines are applied to the index once they are synced: a crash before that leaves it as it was.
        let (index, aside) = (self.data().join("index"), self.folder.path().join("index-before"));
        copy(&index, &aside).map_err(failed("the index"))?;
        self.exchange(token, body, Cut::Not)?;
        self.stop()?;
        fs::remove_dir_all(&index).and_then(|()| fs::rename(&aside, &index)).map_err(failed("the index"))?;
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
