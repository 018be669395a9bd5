//! The exchange with the team's server: pages both ways until both sides are level, and the way out of a fork.

mod ask;
mod clock;
mod renew;
mod told;

pub use ask::ask;
pub use clock::{ClockOff, forget_clock, recall_clock};
pub use renew::carry_over;
pub use told::{Detail, exchange_with_progress, remark_on, tell};

use crate::{
    CliError, Env,
    remote::{Exchanged, Remote, Traffic},
    store::{Home, read_server_have, write_server_have},
};
use clock::CLOCK_OFF_MS;
use renew::{part, renew};
use serde::Serialize;
use sheaf_model::{
    id::DeviceId,
    log::{Admission, Hash, Have, Mark},
    replica::{Page, Refused, Store, missing_for},
    wire::{ExchangeReply, Newer, RefusedEntry},
};
use std::collections::{BTreeMap, BTreeSet};

/// From so many entries on a person is shown how far it has come.
const PROGRESS_FROM: usize = 1000;

/// More forked logs than this are not parted in one sync.
const MOST_FORKS: usize = 100;

/// What a sync came to.
#[derive(Debug, Clone, Serialize)]
pub struct Report {
    /// Entries that the server did not have.
    pub sent: usize,
    /// Entries that were not here.
    pub received: usize,
    /// Requests and bytes.
    #[serde(flatten)]
    pub traffic: Traffic,
    /// Entries here now.
    pub entries: u64,
    /// Digest of the state here.
    pub digest: Hash,
    /// Whether the server holds the same.
    pub agree: bool,
    /// How far this device's clock is ahead of the server's.
    pub clock_off_ms: i64,
    /// That the log went on under another device id.
    pub renewed: Option<Renewed>,
    /// Logs of other devices that forked, and of which this device held the other part.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub parted: Vec<Parted>,
    /// Entries that the server did not keep.
    pub refused: Vec<RefusedEntry>,
    /// Entries of the server that are not kept here, the first of each log: what follows it waits as well.
    #[serde(skip_serializing_if = "Vec::is_empty")]
    pub unfit: Vec<Unfit>,
}

impl Report {
    /// Returns whether the clock of this device is wrong by more than a network can explain.
    pub fn clock_is_off(&self) -> bool {
        self.clock_off_ms.unsigned_abs() > CLOCK_OFF_MS
    }
}

/// A log that went on under another device id.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct Renewed {
    /// The id it had.
    pub from: DeviceId,
    /// The id it has now.
    pub to: DeviceId,
    /// How many entries were written again.
    pub moved: usize,
}

/// What was held of another device's log that had forked, and is a log of its own now.
#[derive(Debug, Clone, Copy, Serialize)]
pub struct Parted {
    /// The device whose log it was.
    pub device: DeviceId,
    /// How many entries.
    pub entries: usize,
}

/// An entry that the server holds and that is not kept here.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Unfit {
    /// Whose log.
    pub device: DeviceId,
    /// Which entry of it.
    pub seq: u64,
    /// Whether a newer program wrote it, so that an update here is all that it takes.
    pub newer: bool,
    /// The reason in words.
    pub why: String,
}

impl Unfit {
    fn of_newer(newer: &Newer) -> Self {
        let why = format!("it has format {}", newer.v);
        Self { device: newer.device, seq: newer.seq, newer: true, why }
    }

    fn of_bad(refused: &Refused) -> Option<Self> {
        let Admission::Bad(e) = &refused.why else { return None };
        let newer = e.code == "newer_version";
        Some(Self { device: refused.device, seq: refused.seq, newer, why: e.message.clone() })
    }
}

/// Exchanges until both sides are level; shows how far it has come when a person watches.
pub fn sync(home: &mut Home, env: &mut Env<'_>, watched: bool) -> Result<Report, CliError> {
    carry_over(home, env)?;
    level(home, env, watched)
}

/// Exchanges until both sides are level, and leaves what is still to be carried over for later.
pub fn level(home: &mut Home, env: &mut Env<'_>, watched: bool) -> Result<Report, CliError> {
    let mut remote = remote(home)?;
    let (mut renewed, mut parted): (_, Vec<Parted>) = (None, Vec::new());
    loop {
        match exchange(home, env, &mut remote, watched)? {
            Some(mut report) => {
                let more = part_forks(home, env, &mut remote, &report)?;
                if !more.is_empty() && parted.len() < MOST_FORKS {
                    parted.extend(more);
                    continue;
                }
                (report.renewed, report.parted) = (renewed, parted);
                report.traffic = remote.traffic;
                if report.clock_is_off() {
                    clock::remember_clock(home, report.clock_off_ms);
                } else {
                    clock::remember_synced(home);
                }
                return Ok(report);
            }
            None if renewed.is_none() => renewed = Some(renew(home, env, &mut remote)?),
            None => {
                return Err(CliError::refused("the log of this device forked again at once")
                    .hint("sync again; nothing is lost"));
            }
        }
    }
}

/// Parts the logs of other devices that forked between here and the server.
fn part_forks(
    home: &mut Home,
    env: &mut Env<'_>,
    remote: &mut Remote,
    report: &Report,
) -> Result<Vec<Parted>, CliError> {
    let forked = report.refused.iter().filter(|refused| refused.code == "fork").map(|refused| refused.device);
    let forked: BTreeSet<DeviceId> = forked.collect();
    let mut parted = Vec::new();
    for device in forked {
        parted.extend(part(home, env, remote, device)?);
    }
    Ok(parted)
}

/// Returns the server of a home.
pub fn remote(home: &Home) -> Result<Remote, CliError> {
    let server = home.card().server.as_ref().ok_or_else(|| {
        CliError::input(format!("the team {} is on no server yet", home.card().team_name)).hint(
            "move it onto one with `sheaf connect URL --key KEY`, or hand records over with `sheaf bundle`",
        )
    })?;
    Remote::new(&server.url, Some(server.token.clone()), server.ca.as_deref())
}

/// Runs the exchange to its end; `None` when the own log forked.
fn exchange(
    home: &mut Home,
    env: &mut Env<'_>,
    remote: &mut Remote,
    watched: bool,
) -> Result<Option<Report>, CliError> {
    let mut course = Course::new(home);
    loop {
        let before = (course.known.clone(), course.received);
        let Some(reply) = course.round(home, env, remote)? else { return Ok(None) };
        let shown = watched && course.sent + course.received >= PROGRESS_FROM;
        if shown {
            write!(env.err, "\r{} sent, {} received so far ", course.sent, course.received)?;
            env.err.flush()?;
        }
        if !reply.more && missing_for(home.store(), &course.known)?.entries.is_empty() {
            if shown {
                writeln!(env.err)?;
            }
            return course.report(home, env, remote, &reply).map(Some);
        }
        course.still = if before == (course.known.clone(), course.received) { course.still + 1 } else { 0 };
        if course.still > 2 {
            return Err(course.stuck());
        }
    }
}

impl Report {
    /// Counts in what an exchange just before brought, so that both are told as one.
    pub fn follows(&mut self, first: &Self) {
        self.sent += first.sent;
        self.received += first.received;
        self.traffic.requests += first.traffic.requests;
        self.traffic.bytes_out += first.traffic.bytes_out;
        self.traffic.bytes_in += first.traffic.bytes_in;
    }
}

/// How far an exchange has come.
struct Course {
    /// What the server has, as far as anything more is offered to it.
    known: Have,
    /// Whether the server was heard of.
    heard: bool,
    sent: usize,
    received: usize,
    /// Rounds in a row that moved nothing.
    still: u32,
    /// What the server did not keep.
    refused: BTreeMap<(DeviceId, u64), RefusedEntry>,
    /// What was not kept here, the first of each log.
    unfit: BTreeMap<DeviceId, Unfit>,
    /// What else was not kept here, first of all.
    odd: Option<Refused>,
}

impl Course {
    fn new(home: &Home) -> Self {
        let known = read_server_have(&home.journal());
        let heard = !known.is_empty();
        Self {
            known,
            heard,
            sent: 0,
            received: 0,
            still: 0,
            refused: BTreeMap::new(),
            unfit: BTreeMap::new(),
            odd: None,
        }
    }

    /// One request: a page each way. `None` when the own log forked.
    fn round(
        &mut self,
        home: &mut Home,
        env: &mut Env<'_>,
        remote: &mut Remote,
    ) -> Result<Option<ExchangeReply>, CliError> {
        // A server that was never heard of is asked first, since it may hold all of this already.
        let page = if self.heard { missing_for(home.store(), &self.known)? } else { Page::default() };
        self.heard = true;
        let offered: Vec<(DeviceId, u64)> = page.entries.iter().map(|e| (e.device, e.seq)).collect();
        let mut have = home.store().vector().have();
        // Of a log that cannot go on here no more is asked for in this sync.
        have.extend(self.unfit.keys().map(|device| (*device, Mark(u64::MAX, Hash::NONE))));
        let Exchanged::Reply(reply, newer) = ask(home, env, remote, have, page.entries)? else {
            return Ok(None);
        };
        let mut reply = *reply;
        let not_kept = |entry: &&(DeviceId, u64)| reply.refused.iter().any(|r| (r.device, r.seq) == **entry);
        self.sent += reply.kept.unwrap_or_else(|| offered.len() - offered.iter().filter(not_kept).count());
        self.note_refused(&reply);
        let absorbed = home.absorb(std::mem::take(&mut reply.entries))?;
        self.received += absorbed.kept;
        let unfit =
            newer.iter().map(Unfit::of_newer).chain(absorbed.refused.iter().filter_map(Unfit::of_bad));
        for unfit in unfit {
            self.unfit.entry(unfit.device).or_insert(unfit);
        }
        self.odd = self.odd.take().or(absorbed.refused.into_iter().next());
        write_server_have(&home.journal(), &reply.have);
        if let Some(role) = reply.role.filter(|role| home.role() != Some(*role)) {
            home.alter_card(|card| card.server.iter_mut().for_each(|server| server.role = role))?;
        }
        Ok(Some(reply))
    }

    /// Takes what the server has from its answer. What follows a refused entry is refused as well, so a log with one
    /// is offered no further in this sync.
    fn note_refused(&mut self, reply: &ExchangeReply) {
        for r in reply.refused.iter().filter(|r| r.code != "early") {
            self.refused.insert((r.device, r.seq), r.clone());
        }
        self.known = reply.have.clone();
        for (device, _) in self.refused.keys() {
            self.known.insert(*device, Mark(u64::MAX, Hash::NONE));
        }
    }

    fn report(
        self,
        home: &mut Home,
        env: &Env<'_>,
        remote: &Remote,
        reply: &ExchangeReply,
    ) -> Result<Report, CliError> {
        let level = home.store().vector().have() == reply.have;
        let digest = home.digest()?;
        if level && digest != reply.digest {
            return Err(CliError::bug(format!(
                "both sides hold the same entries and read them differently: {digest} here, {} there",
                reply.digest
            ))
            .hint("update sheaf and sheafd to the same version; nothing is lost"));
        }
        let ms = |ms: u64| i64::try_from(ms).unwrap_or(0);
        Ok(Report {
            sent: self.sent,
            received: self.received,
            traffic: remote.traffic,
            entries: home.store().vector().total(),
            digest,
            agree: level,
            clock_off_ms: ms(env.now_ms()).saturating_sub(ms(reply.clock_ms)),
            renewed: None,
            parted: Vec::new(),
            refused: self.refused.into_values().collect(),
            unfit: self.unfit.into_values().collect(),
        })
    }

    fn stuck(&self) -> CliError {
        let hint = "nothing is lost; sync again later";
        match &self.odd {
            Some(unfit) => CliError::out_of_reach(format!(
                "the server and this device do not come level: of what the server holds, entry {} of device {} does not fit here, since {}",
                unfit.seq, unfit.device, why_not(&unfit.why)
            )),
            None => CliError::out_of_reach("the server and this device do not come level"),
        }
        .hint(hint)
    }
}

/// Returns why an entry is not kept here, in words.
pub fn why_not(why: &Admission) -> String {
    match why {
        Admission::Early => "entries before it are missing".into(),
        Admission::Fork => "another entry of that number is here: two devices wrote under one id".into(),
        Admission::Bad(e) => e.message.clone(),
        Admission::Next | Admission::Known => "it is here already".into(),
    }
}
