//! Devices that exchange with the service: coming in, filling it, sending group by group, and a first sync.

use super::{
    Plan,
    club::{Device, team},
    link::Link,
    pace::Pace,
    service::{Service, cpu_s},
};
use serde_json::json;
use sheaf_model::{
    id::TeamId,
    log::{Entry, Have},
    replica::{Memory, PAGE_ENTRIES, Replica, Store as _},
    wire::{Admitted, ExchangeReply, ExchangeRequest, InviteReply, JoinRequest, Role},
};
use std::{
    collections::BTreeMap,
    net::SocketAddr,
    sync::Arc,
    time::{Duration, Instant},
};
use tokio::sync::{Barrier, Semaphore};

/// How many teams come in at one time.
const AT_ONCE: usize = 16;

/// Devices that exchanged one group at a time.
#[derive(Debug)]
pub struct Run {
    /// How many devices did so at one time.
    pub devices: usize,
    /// The exchanges.
    pub pace: Pace,
    /// Entries of others that came back.
    pub received: usize,
    /// Share of one core that the service took.
    pub service_cores: f64,
    /// Share of one core that this program took.
    pub client_cores: f64,
}

/// Founds the teams, lets their devices in by invite, and has them send their groups; returns the devices and how
/// many entries were sent.
pub async fn fill(plan: &Plan, address: SocketAddr, key: &str) -> (Vec<Device>, usize) {
    let places = Arc::new(Semaphore::new(AT_ONCE));
    let mut tasks = Vec::new();
    for number in 0..plan.teams {
        let (place, key, plan) = (places.clone().acquire_owned().await, key.to_owned(), plan.clone());
        tasks.push(tokio::spawn(async move {
            let _place = place.expect("nobody closes the places");
            let mut link = Link::open(address).await.unwrap_or_else(|e| panic!("{e}"));
            let mut devices = come_in(&plan, &mut link, number, &key).await;
            let sent = send_all(&plan, &mut link, number, &mut devices).await;
            (devices, sent)
        }));
    }
    let (mut devices, mut sent) = (Vec::new(), 0);
    for task in tasks {
        let (of_team, entries) = task.await.expect("a team comes in");
        devices.extend(of_team);
        sent += entries;
    }
    (devices, sent)
}

async fn come_in(plan: &Plan, link: &mut Link, number: usize, key: &str) -> Vec<Device> {
    let id = team(number as u64);
    let mut devices: Vec<Device> =
        (0..plan.mates).map(|mate| Device::new(id, (number * plan.mates + mate) as u64)).collect();
    let keeper = devices[0].writer;
    let ask = json!({"team": id, "name": format!("team {number}"), "device": keeper.device, "device_name": "invented",
                     "person": keeper.author, "key": key});
    let admitted: Admitted = link.post("/v1/teams", "", &ask).await;
    devices[0].token = admitted.token;
    let token = devices[0].token.clone();
    for device in &mut devices[1..] {
        join(link, &token, device).await;
    }
    devices
}

async fn join(link: &mut Link, keeper: &str, device: &mut Device) {
    let path = format!("/v1/teams/{}/invites", device.team);
    let invite: InviteReply = link.post(&path, keeper, &json!({"role": Role::Archer})).await;
    let ask = JoinRequest {
        code: invite.code,
        device: device.writer.device,
        device_name: "invented".into(),
        person: device.writer.author,
    };
    let admitted: Admitted = link.post("/v1/join", "", &ask).await;
    device.token = admitted.token;
}

/// Sends a team's share of the groups page by page, device after device.
async fn send_all(plan: &Plan, link: &mut Link, number: usize, devices: &mut [Device]) -> usize {
    let share = |all: usize, of: usize, n: usize| all * (n + 1) / of - all * n / of;
    let groups = share(plan.groups, plan.teams, number);
    let (mut have, mut sent, mates) = (Have::new(), 0, devices.len());
    for (n, device) in devices.iter_mut().enumerate() {
        device.have = have;
        let mut entries = device.begin();
        let mut left = share(groups, mates, n);
        loop {
            let page = left.min(PAGE_ENTRIES - entries.len());
            entries.extend(device.shoot(page));
            left -= page;
            sent += entries.len();
            exchange(link, device, std::mem::take(&mut entries)).await;
            if left == 0 {
                break;
            }
        }
        have = device.have.clone();
    }
    devices.iter_mut().for_each(|device| device.have = have.clone());
    sent
}

/// Exchanges once; what was sent has to be kept. Returns how many entries came back.
async fn exchange(link: &mut Link, device: &mut Device, entries: Vec<Entry>) -> usize {
    let sent = entries.len();
    let path = format!("/v1/teams/{}/exchange", device.team);
    let have = device.marks();
    let ask = ExchangeRequest { device: device.writer.device, clock_ms: 0, have, entries };
    let reply: ExchangeReply = link.post(&path, &device.token, &ask).await;
    assert_eq!((reply.kept, reply.refused.len()), (Some(sent), 0), "all that was sent is kept");
    assert!(!reply.more, "a device that keeps up gets all of what is new at once");
    device.have = reply.have;
    reply.entries.len()
}

/// Has the first devices send one new group after the other, each over a connection of its own and each waiting
/// until its group is kept; hands the devices back.
pub async fn run(plan: &Plan, service: &Service, devices: &mut Vec<Device>, count: usize) -> Run {
    let start = Arc::new(Barrier::new(count + 1));
    let mut tasks = Vec::new();
    for mut device in devices.drain(..count) {
        let mut link = Link::open(service.address).await.unwrap_or_else(|e| panic!("{e}"));
        let (start, time) = (start.clone(), plan.time);
        tasks.push(tokio::spawn(async move {
            start.wait().await;
            let (began, mut took, mut received) = (Instant::now(), Vec::new(), 0);
            while began.elapsed() < time {
                let entries = device.shoot(1);
                let one = Instant::now();
                received += exchange(&mut link, &mut device, entries).await;
                took.push(one.elapsed());
            }
            (device, took, received)
        }));
    }
    let (theirs, ours) = (service.cpu_s(), cpu_s("self"));
    start.wait().await;
    let began = Instant::now();
    let (mut took, mut received) = (Vec::new(), 0);
    for task in tasks {
        let (device, one, came) = task.await.expect("a device exchanges to the end");
        devices.push(device);
        took.extend(one);
        received += came;
    }
    let all = began.elapsed();
    in_step(devices);
    let share = |from: f64, to: f64| (to - from) / all.as_secs_f64();
    Run {
        devices: count,
        pace: Pace::new(took, all),
        received,
        service_cores: share(theirs, service.cpu_s()),
        client_cores: share(ours, cpu_s("self")),
    }
}

/// Brings the marks of all devices of a team to those of the one that knows most, as if each had synced: devices
/// that did not take part in a run would begin the next with pages of it.
fn in_step(devices: &mut [Device]) {
    let mut teams: BTreeMap<TeamId, Have> = BTreeMap::new();
    for device in devices.iter() {
        let team = teams.entry(device.team).or_default();
        for (log, mark) in &device.have {
            if team.get(log).is_none_or(|known| known.0 < mark.0) {
                team.insert(*log, *mark);
            }
        }
    }
    for device in devices {
        device.have.clone_from(&teams[&device.team]);
    }
}

/// Lets a new device in and has it fetch all of its team, folding it as a device does; returns how many entries it
/// got and how long that took.
///
/// # Panics
/// When its state is not the service's in the end.
pub async fn first_sync(plan: &Plan, address: SocketAddr, keeper: &Device) -> (usize, Duration) {
    let mut link = Link::open(address).await.unwrap_or_else(|e| panic!("{e}"));
    let mut device = Device::new(keeper.team, (plan.teams * plan.mates) as u64);
    join(&mut link, &keeper.token, &mut device).await;
    let path = format!("/v1/teams/{}/exchange", device.team);
    let (began, mut replica) = (Instant::now(), Replica::new(Memory::default()));
    loop {
        let have = replica.store().vector().have();
        let ask = ExchangeRequest { device: device.writer.device, clock_ms: 0, have, entries: Vec::new() };
        let reply: ExchangeReply = link.post(&path, &device.token, &ask).await;
        replica.absorb(reply.entries).expect("it is kept");
        if !reply.more {
            let took = began.elapsed();
            assert_eq!(replica.store_mut().digest().expect("a digest"), reply.digest, "both sides agree");
            return (replica.store().vector().total() as usize, took);
        }
    }
}
