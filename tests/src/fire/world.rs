//! Devices, the proxy and the service, all at work at once while they are killed.

use super::{
    device::{Device, Ended},
    ledger::{all_there, marks_in, none_twice},
    plan::NAMES,
    proxy::{Proxy, Weather},
    service::Service,
};
use crate::simulation::{Cut, Tally, failed, post, text};
use sheaf_model::{
    log::{Have, Mark},
    rng::{Rng, Seed},
    wire::{ExchangeReply, ExchangeRequest},
};
use std::{
    collections::BTreeSet,
    net::SocketAddr,
    path::{Path, PathBuf},
    sync::{Mutex, PoisonError},
    thread,
    time::{Duration, Instant},
};
use tempfile::TempDir;

/// A run that takes longer has come to a standstill.
const LONGEST: Duration = Duration::from_secs(3600);

/// What is asked for.
#[derive(Debug, Clone)]
pub struct Asked {
    /// Where the drawing of work, faults and kills begins.
    pub seed: u64,
    /// How many kills of the service, and how many of devices, at the least.
    pub kills: u64,
    /// How many devices.
    pub devices: usize,
    /// The program `sheafd`.
    pub sheafd: PathBuf,
    /// The program `sheaf`.
    pub sheaf: PathBuf,
}

/// Lets devices and service work under fire; returns what was tried. After a failure the folders are kept.
pub fn run(asked: &Asked) -> Result<Tally, String> {
    let folder = TempDir::new().map_err(failed("a folder"))?;
    World::begin(asked, folder.path()).and_then(|mut world| world.burn(asked)).map_err(|why| {
        let (seed, kept) = (asked.seed, folder.keep());
        format!("seed {seed}: {why}\n  the folders are kept in {}", kept.display())
    })
}

struct World {
    service: Service,
    proxy: Proxy,
    devices: Vec<Device>,
    address: SocketAddr,
    fire: Mutex<Fire>,
}

/// What all threads share.
#[derive(Default)]
struct Fire {
    tally: Tally,
    out: bool,
    failure: Option<String>,
}

impl World {
    /// Makes a team with its devices, in calm weather.
    fn begin(asked: &Asked, folder: &Path) -> Result<Self, String> {
        let mut service = Service::new(&asked.sheafd, folder);
        service.spawn()?;
        let address = service.wait()?;
        let proxy = Proxy::start(address)?;
        let devices: Vec<Device> = (0..asked.devices).map(|n| Device::new(n, &asked.sheaf, folder)).collect();
        let (keeper, others) = devices.split_first().ok_or("it takes a device")?;
        keeper.ok(&["start", "Pair", "--me", "Archer 0"])?;
        keeper.ok(&["add", "bow", "elm"])?;
        keeper.ok(&["connect", &proxy.url(), "--key", &service.key()?])?;
        for (n, device) in others.iter().enumerate() {
            let invite = keeper.ok(&["invite", "--role", "archer", "--json"])?;
            let invite: serde_json::Value = serde_json::from_str(&invite).map_err(failed("an invite"))?;
            let code = invite["code"].as_str().ok_or("an invite without a code")?;
            device.ok(&["join", &proxy.url(), code, "--me", &format!("Archer {}", n + 1)])?;
        }
        Ok(Self { service, proxy, devices, address, fire: Mutex::default() })
    }

    /// Works and kills until it is enough, then settles and checks.
    fn burn(&mut self, asked: &Asked) -> Result<Tally, String> {
        self.proxy.roughen(asked.seed);
        let (service, fire) = (&mut self.service, &self.fire);
        let (proxy, devices, address) = (&self.proxy, &self.devices, self.address);
        thread::scope(|scope| {
            let rng = |n: usize| Rng::new(Seed(asked.seed.wrapping_mul(1000).wrapping_add(n as u64)));
            for (n, device) in devices.iter().enumerate() {
                scope.spawn(move || until_out(fire, |rng| record(device, fire, rng), rng(2 * n + 1)));
                scope.spawn(move || until_out(fire, |rng| sync(device, fire, rng), rng(2 * n + 2)));
            }
            scope.spawn(move || until_out(fire, |rng| kill(service, devices, address, fire, rng), rng(0)));
            let began = Instant::now();
            while !burning(fire, |f| f.out) {
                thread::sleep(Duration::from_millis(50));
                let seen = proxy.tally();
                let enough = burning(fire, |f| {
                    f.tally.of(SERVICE) >= asked.kills && f.tally.of(SYNC) + f.tally.of(RECORD) >= asked.kills
                });
                if enough && NAMES.iter().all(|name| seen.of(name) > 0) {
                    burning(fire, |f| f.out = true);
                }
                if began.elapsed() > LONGEST {
                    fail(fire, "it takes too long".into());
                }
            }
        });
        if let Some(why) = burning(fire, |f| f.failure.take()) {
            return Err(why);
        }
        self.settle()
    }

    /// The faults stop, everyone syncs; then all that was acknowledged is everywhere, once.
    fn settle(&mut self) -> Result<Tally, String> {
        self.proxy.set(Weather::Calm);
        for device in &self.devices {
            device.check_own()?;
            device.level()?;
        }
        let digests = self.devices.iter().map(Device::level).collect::<Result<Vec<_>, _>>()?;
        if digests.iter().any(|digest| *digest != digests[0]) {
            return Err(format!("the digests differ: {digests:?}"));
        }
        let all: Vec<String> = self.devices.iter().flat_map(|d| d.ledger().kept.clone()).collect();
        self.devices.iter().try_for_each(|device| device.check(&all))?;
        self.service.kill()?;
        self.service.check()?;
        self.service.spawn()?;
        self.service.wait()?;
        on_service(&self.devices[0], self.address, &all)?;
        let mut tally = burning(&self.fire, |f| f.tally.clone());
        tally.join(&self.proxy.tally());
        let unsaid: usize = self.devices.iter().map(|d| d.ledger().unsaid.len()).sum();
        tally.more("records acknowledged by a device", all.len() as u64);
        tally.more("records of killed commands, not acknowledged", unsaid as u64);
        Ok(tally)
    }
}

const SERVICE: &str = "kills: service";
const STARTING: &str = "kills: service, while it started";
const SYNC: &str = "kills: device, while it synced";
const RECORD: &str = "kills: device, while it recorded";

fn burning<T>(fire: &Mutex<Fire>, work: impl FnOnce(&mut Fire) -> T) -> T {
    work(&mut fire.lock().unwrap_or_else(PoisonError::into_inner))
}

fn count(fire: &Mutex<Fire>, what: &'static str) {
    burning(fire, |f| f.tally.one(what));
}

fn fail(fire: &Mutex<Fire>, why: String) {
    burning(fire, |f| {
        f.out = true;
        f.failure.get_or_insert(why);
    });
}

/// Does a piece of work over and over until the fire is out.
fn until_out(fire: &Mutex<Fire>, mut work: impl FnMut(&mut Rng) -> Result<(), String>, mut rng: Rng) {
    while !burning(fire, |f| f.out) {
        if let Err(why) = work(&mut rng) {
            fail(fire, why);
        }
    }
}

/// A moment up to so many milliseconds from now, one time in a few.
fn perhaps(rng: &mut Rng, one_in: u64, most_ms: u64) -> Option<Duration> {
    (rng.below(one_in) == 0).then(|| Duration::from_micros(rng.below(most_ms * 1000)))
}

fn record(device: &Device, fire: &Mutex<Fire>, rng: &mut Rng) -> Result<(), String> {
    let kill = perhaps(rng, 6, 60);
    match device.record(rng, kill)? {
        Ended::Killed => {
            count(fire, RECORD);
            device.check_own()?;
        }
        _ => count(fire, "commands that recorded"),
    }
    thread::sleep(Duration::from_millis(rng.below(120)));
    Ok(())
}

fn sync(device: &Device, fire: &Mutex<Fire>, rng: &mut Rng) -> Result<(), String> {
    let kill = perhaps(rng, 4, 200);
    let what = match device.sync(kill)? {
        Ended::Killed => SYNC,
        Ended::Well => "syncs that ended well",
        Ended::OutOfReach => "syncs that said the service is out of reach",
    };
    count(fire, what);
    thread::sleep(Duration::from_millis(rng.below(120)));
    Ok(())
}

/// Kills the service at a moment, starts it again, and looks for all that syncs had taken to it by then.
fn kill(
    service: &mut Service,
    devices: &[Device],
    address: SocketAddr,
    fire: &Mutex<Fire>,
    rng: &mut Rng,
) -> Result<(), String> {
    thread::sleep(Duration::from_millis(rng.below(1500)));
    let promised: Vec<String> = devices.iter().flat_map(|d| d.ledger().on_service().to_vec()).collect();
    if service.kill()? {
        count(fire, SERVICE);
    }
    if rng.below(8) == 0 {
        service.lose_index()?;
        count(fire, "index of the service thrown away");
    }
    service.spawn()?;
    if let Some(moment) = perhaps(rng, 3, 150) {
        thread::sleep(moment);
        if service.kill()? {
            count(fire, SERVICE);
            count(fire, STARTING);
        }
        service.spawn()?;
    }
    service.wait()?;
    on_service(&devices[0], address, &promised)
}

/// Asks the service for everything, as a device and past the proxy, and looks for what was promised to be there.
fn on_service(asker: &Device, address: SocketAddr, promised: &[String]) -> Result<(), String> {
    let card = asker.card()?;
    let word = |value: &serde_json::Value| value.as_str().unwrap_or_default().to_owned();
    let (team, token) = (word(&card["team"]), word(&card["server"]["token"]));
    let device = word(&card["device"]).parse().map_err(|_| "the card names no device")?;
    let (mut have, mut found) = (Have::new(), Vec::new());
    loop {
        let ask = ExchangeRequest { device, clock_ms: 0, have: have.clone(), entries: Vec::new() };
        let body = serde_json::to_vec(&ask).map_err(failed("a request"))?;
        let path = format!("/v1/teams/{team}/exchange");
        let (status, body) = post(address, &path, &token, &body, Cut::Not)?.ok_or("no answer")?;
        if status != 200 {
            return Err(format!("the service answers with {status}: {}", text(&body)));
        }
        found.extend(marks_in(&String::from_utf8_lossy(&body)));
        let reply: ExchangeReply = serde_json::from_slice(&body).map_err(failed("an answer"))?;
        for entry in &reply.entries {
            have.insert(entry.device, Mark(entry.seq, entry.header_hash()));
        }
        if !reply.more {
            break;
        }
    }
    none_twice(&found, "on the service")?;
    all_there(promised, &found.into_iter().collect::<BTreeSet<_>>(), "on the service")
}
