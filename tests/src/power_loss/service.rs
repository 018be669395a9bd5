//! The service under power loss: recorded while devices exchange, killed and started again in between.

use super::{Asked, disk::Disk, folder, read, recorded, trace::Event};
use crate::simulation::{Cut, Running, Tally, post, read_answer, text};
use serde::de::DeserializeOwned;
use serde_json::{Value, json};
use sheaf_model::{
    id::{DeviceId, TeamId, ThingId},
    kind::{self, Note},
    log::{Hash, Have, Mark},
    replica::{Memory, Replica, Store, Writer},
    rng::Rng,
    wire::{Admitted, ExchangeReply, ExchangeRequest, InviteReply},
};
use sheaf_server::{Clock, Config};
use std::{
    collections::BTreeMap,
    fs,
    net::SocketAddr,
    path::{Path, PathBuf},
    process::{Child, Command, Stdio},
    thread,
};
use tokio::{net::TcpListener, runtime::Runtime};

const T0: u64 = 1_775_000_000_000;
/// Small segments, so that many are begun.
const SEGMENT: u64 = 8_000;

/// What the service did, and whom it let in.
pub struct Recorded {
    events: Vec<Event>,
    team: TeamId,
    runtime: Runtime,
}

struct Device {
    replica: Replica<Memory>,
    writer: Writer,
    token: String,
}

impl Recorded {
    /// Records the service while three devices exchange with it.
    pub fn new(asked: &Asked, folder: &Path) -> Result<Self, String> {
        let (root, recording) = (folder.join("service"), folder.join("service.trace"));
        let team = TeamId::new(T0, [1; 10]);
        if !recording.exists() {
            fs::create_dir(&root).map_err(|e| format!("a folder: {e}"))?;
            record(asked, folder, &root.join("data"), &recording, team)?;
        }
        let events = read(&recording, &root)?;
        let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(1).enable_all().build();
        Ok(Self { events, team, runtime: runtime.map_err(|e| format!("a runtime: {e}"))? })
    }

    /// Cuts the power at a moment; what was acknowledged until then must be there.
    pub fn cut_power(&self, rng: &mut Rng, tally: &mut Tally) -> Result<(), String> {
        let moment = rng.below(self.events.len() as u64 + 1) as usize;
        let mut disk = Disk::default();
        for (n, event) in self.events[..moment].iter().enumerate() {
            disk.apply(n, event)?;
        }
        let said = Said::until(&self.events[..moment]);
        let left = folder()?;
        let mut harm = || -> std::io::Result<&'static str> {
            disk.cut_power(left.path(), rng)?;
            harm_index(&left.path().join("data/index"), rng)
        };
        let harm = harm().map_err(|e| format!("the folder cannot be rebuilt: {e}"))?;
        tally.one(harm);
        tally.more("service: entries acknowledged by then", said.have.values().map(|m| m.0).sum());
        let found = self.check(&left.path().join("data"), &said);
        found.map_err(|why| format!("the service's power was cut after event {moment}, {harm}: {why}"))
    }

    fn check(&self, data: &Path, said: &Said) -> Result<(), String> {
        let mut config = Config::new(data);
        config.segment_bytes = SEGMENT;
        let running = Running::open(&self.runtime, config, Clock::System)?;
        let compared = said.compare(running.address, self.team);
        running.stop(&self.runtime)?;
        compared
    }
}

fn record(asked: &Asked, folder: &Path, data: &Path, recording: &Path, team: TeamId) -> Result<(), String> {
    let program = Program::start(&mut recorded(&asked.sheafd, recording, None), data, folder)?;
    let key = fs::read_to_string(data.join("founding-key")).map_err(|e| format!("the key: {e}"))?;
    let mut devices = vec![found(program.address, team, key.trim())?];
    for n in 2..4 {
        let device = join(program.address, team, &devices[0].token, n)?;
        devices.push(device);
    }
    devices = exchanges(program.address, team, devices, 20)?;
    program.end("KILL")?;
    for end in ["KILL", "TERM"] {
        let program = Program::start(&mut recorded(&asked.own, recording, None), data, folder)?;
        devices = exchanges(program.address, team, devices, 20)?;
        program.end(end)?;
    }
    let program = Program::start(&mut recorded(&asked.sheafd, recording, None), data, folder)?;
    exchanges(program.address, team, devices, 5)?;
    program.end("TERM")
}

fn harm_index(index: &Path, rng: &mut Rng) -> std::io::Result<&'static str> {
    match rng.below(3) {
        0 if index.exists() => {
            fs::remove_dir_all(index)?;
            Ok("service: power cut, index gone")
        }
        1 if index.exists() => {
            let half = vec![0x5a; rng.below(2000) as usize];
            fs::write(index.join(format!("snap.{:016X}.generating", rng.below(1 << 20))), half)?;
            Ok("service: power cut, index half opened")
        }
        _ if index.exists() => Ok("service: power cut, index as it was left"),
        _ => Ok("service: power cut, no index yet"),
    }
}

/// What the service had said by a moment.
#[derive(Default)]
struct Said {
    have: Have,
    /// The tokens that it gave, with the devices.
    tokens: BTreeMap<String, DeviceId>,
}

impl Said {
    fn until(events: &[Event]) -> Self {
        let (mut streams, mut said) = (BTreeMap::<&str, Vec<u8>>::new(), Self::default());
        for event in events {
            let Event::Said(to, bytes) = event else { continue };
            let stream = streams.entry(to).or_default();
            stream.extend_from_slice(bytes);
            let Some((200..=299, body)) = read_answer(stream) else { continue };
            stream.clear();
            if let Ok(reply) = serde_json::from_slice::<ExchangeReply>(&body) {
                for (device, mark) in reply.have {
                    let now = said.have.entry(device).or_insert(mark);
                    *now = if mark.0 > now.0 { mark } else { *now };
                }
            } else if let Ok(admitted) = serde_json::from_slice::<Admitted>(&body) {
                said.tokens.insert(admitted.token, admitted.device);
            }
        }
        said
    }

    fn compare(&self, address: SocketAddr, team: TeamId) -> Result<(), String> {
        let mut there: BTreeMap<(DeviceId, u64), Hash> = BTreeMap::new();
        for (token, device) in &self.tokens {
            there.clear();
            let mut have = Have::new();
            loop {
                let reply = exchange(address, team, token, *device, have.clone(), Vec::new())?;
                for entry in &reply.entries {
                    have.insert(entry.device, Mark(entry.seq, entry.header_hash()));
                    there.insert((entry.device, entry.seq), entry.header_hash());
                }
                if !reply.more {
                    break;
                }
            }
        }
        let lost = self.have.iter().find(|(device, mark)| there.get(&(**device, mark.0)) != Some(&mark.1));
        match lost {
            None => Ok(()),
            Some((device, mark)) => Err(format!("entry {} of {device} was acknowledged and is lost", mark.0)),
        }
    }
}

/// A program that serves, under strace.
struct Program {
    child: Child,
    address: SocketAddr,
}

impl Program {
    fn start(command: &mut Command, data: &Path, folder: &Path) -> Result<Self, String> {
        let port: PathBuf = folder.join("address");
        fs::remove_file(&port).ok();
        command.args(["serve", "--listen", "127.0.0.1:0", "--data"]).arg(data).arg("--port-file").arg(&port);
        command.stdout(Stdio::piped()).stderr(Stdio::null());
        let mut child = command.spawn().map_err(|e| format!("strace does not start: {e}"))?;
        let out = child.stdout.take().ok_or("no output")?;
        std::io::BufRead::read_line(&mut std::io::BufReader::new(out), &mut String::new())
            .map_err(|e| e.to_string())?;
        let address = fs::read_to_string(&port).map_err(|e| format!("the service does not listen: {e}"))?;
        Ok(Self { child, address: address.trim().parse().map_err(|_| "no address")? })
    }

    /// Ends the program that strace runs.
    fn end(mut self, signal: &str) -> Result<(), String> {
        let strace = self.child.id();
        let path = format!("/proc/{strace}/task/{strace}/children");
        let program = fs::read_to_string(&path).map_err(|e| format!("{path}: {e}"))?;
        let done = Command::new("kill").args(["-s", signal, program.trim()]).status();
        if !done.is_ok_and(|done| done.success()) {
            return Err("the service cannot be ended".into());
        }
        self.child.wait().map(drop).map_err(|e| e.to_string())
    }
}

fn ask<T: DeserializeOwned>(address: SocketAddr, path: &str, token: &str, body: &[u8]) -> Result<T, String> {
    match post(address, path, token, body, Cut::Not)? {
        Some((200..=299, body)) => serde_json::from_slice(&body).map_err(|e| e.to_string()),
        Some((status, body)) => Err(format!("{path} is answered with {status}: {}", text(&body))),
        None => Err(format!("{path} has no answer")),
    }
}

fn exchange(
    address: SocketAddr,
    team: TeamId,
    token: &str,
    device: DeviceId,
    have: Have,
    entries: Vec<sheaf_model::log::Entry>,
) -> Result<ExchangeReply, String> {
    let ask_for = ExchangeRequest { device, clock_ms: T0, have, entries };
    let body = serde_json::to_vec(&ask_for).map_err(|e| e.to_string())?;
    ask(address, &format!("/v1/teams/{team}/exchange"), token, &body)
}

fn device(n: u8, token: String) -> Device {
    let writer = Writer { device: DeviceId::new(T0, [n; 10]), author: ThingId::new(T0, [n; 10]) };
    Device { replica: Replica::new(Memory::default()), writer, token }
}

fn found(address: SocketAddr, team: TeamId, key: &str) -> Result<Device, String> {
    let mut device = device(1, String::new());
    let Writer { device: id, author } = device.writer;
    let body: Value = json!({"team": team, "name": "the team", "device": id, "device_name": "first",
                             "person": author, "key": key});
    device.token = ask::<Admitted>(address, "/v1/teams", "", body.to_string().as_bytes())?.token;
    Ok(device)
}

fn join(address: SocketAddr, team: TeamId, keeper: &str, n: u8) -> Result<Device, String> {
    let invite: InviteReply =
        ask(address, &format!("/v1/teams/{team}/invites"), keeper, br#"{"role": "archer"}"#)?;
    let mut device = device(n, String::new());
    let Writer { device: id, author } = device.writer;
    let body = json!({"code": invite.code, "device": id, "device_name": "another", "person": author});
    device.token = ask::<Admitted>(address, "/v1/join", "", body.to_string().as_bytes())?.token;
    Ok(device)
}

/// Lets all devices exchange at the same time, so that commits gather several.
fn exchanges(
    address: SocketAddr,
    team: TeamId,
    devices: Vec<Device>,
    rounds: u64,
) -> Result<Vec<Device>, String> {
    let working = devices.into_iter().map(|mut device| {
        thread::spawn(move || {
            for round in 0..rounds {
                device.record(1 + round % 5).map_err(|e| e.message)?;
                device.exchange(address, team)?;
            }
            Ok(device)
        })
    });
    let working: Vec<_> = working.collect();
    working.into_iter().map(|thread| thread.join().map_err(|_| "a device gives up".to_owned())?).collect()
}

impl Device {
    fn record(&mut self, count: u64) -> Result<(), sheaf_model::ModelError> {
        let seq = self.replica.store().vector().seq(self.writer.device);
        let mut id = *self.writer.device.as_bytes();
        let drafts = (seq + 1..=seq + count).map(|n| {
            id[8..].copy_from_slice(&n.to_be_bytes());
            let note =
                Note { text: Some(format!("note {n}, {}", "x".repeat(n as usize % 300))), ..Note::default() };
            kind::draft(ThingId::from_bytes(id), &note)
        });
        let drafts = drafts.collect::<Result<_, _>>()?;
        self.replica.append(self.writer, drafts, T0)?;
        Ok(())
    }

    fn exchange(&mut self, address: SocketAddr, team: TeamId) -> Result<(), String> {
        // The service had all of this log but what is new; of the others it is asked for everything.
        let own = self.writer.device;
        let mut theirs = self.replica.store().vector().have();
        theirs.remove(&own);
        let entries = self.replica.missing_for(&theirs).map_err(|e| e.message)?.entries;
        let have = self.replica.store().vector().have();
        let reply = exchange(address, team, &self.token, own, have, entries)?;
        self.replica.absorb(reply.entries).map_err(|e| e.message)?;
        Ok(())
    }
}

/// Serves with small segments until it is told to stop, like `sheafd serve`.
pub fn serve(data: &Path, port_file: &Path) -> Result<(), String> {
    let runtime = tokio::runtime::Builder::new_multi_thread().worker_threads(2).enable_all().build();
    runtime.map_err(|e| e.to_string())?.block_on(async {
        let mut config = Config::new(data);
        config.segment_bytes = SEGMENT;
        let server = sheaf_server::Server::open(config, Clock::System).await.map_err(|e| e.to_string())?;
        let mut terminate = tokio::signal::unix::signal(tokio::signal::unix::SignalKind::terminate())
            .map_err(|e| e.to_string())?;
        let listener = TcpListener::bind("127.0.0.1:0").await.map_err(|e| e.to_string())?;
        let address = listener.local_addr().map_err(|e| e.to_string())?;
        fs::write(port_file, address.to_string()).map_err(|e| e.to_string())?;
        println!("serves on {address}");
        let stop = async {
            terminate.recv().await;
        };
        server.run(listener, stop).await.map_err(|e| e.to_string())
    })
}
