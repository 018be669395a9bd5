//! The exchange with the team's server: pages both ways until both sides are level, and the way out of a fork.

use crate::{
    CliError, Env,
    remote::{Exchanged, Remote, Traffic},
    store::{Carry, Home, Server, forget_server, new_journal, read_server_have, write_server_have},
};
use serde::Serialize;
use sheaf_model::{
    id::DeviceId,
    log::{Entry, Hash, Have, Mark, read_body},
    replica::{Draft, Page, Store, missing_for},
    wire::{ExchangeReply, ExchangeRequest, RefusedEntry, RenewRequest},
};
use std::collections::BTreeMap;

/// A clock that differs by more than this is spoken of.
pub const CLOCK_OFF_MS: u64 = 120_000;

/// From so many entries on a person is shown how far it has come.
const PROGRESS_FROM: usize = 1000;

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
    /// Entries that the server did not keep.
    pub refused: Vec<RefusedEntry>,
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

/// Exchanges until both sides are level; shows how far it has come when a person watches.
pub fn sync(home: &mut Home, env: &mut Env<'_>, watched: bool) -> Result<Report, CliError> {
    carry_over(home, env)?;
    level(home, env, watched)
}

/// Exchanges until both sides are level, and leaves what is still to be carried over for later.
pub fn level(home: &mut Home, env: &mut Env<'_>, watched: bool) -> Result<Report, CliError> {
    let mut remote = remote(home)?;
    let mut renewed = None;
    loop {
        match exchange(home, env, &mut remote, watched)? {
            Some(mut report) => {
                report.renewed = renewed;
                report.traffic = remote.traffic;
                if report.clock_off_ms.unsigned_abs() <= CLOCK_OFF_MS {
                    remember_synced(home);
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

/// Returns the server of a home.
pub fn remote(home: &Home) -> Result<Remote, CliError> {
    let server = home.card().server.as_ref().ok_or_else(|| {
        CliError::input(format!("the team {} is on no server yet", home.card().team_name)).hint(
            "move it onto one with `sheaf connect URL --key KEY`, or hand records over with `sheaf bundle`",
        )
    })?;
    Remote::new(&server.url, Some(server.token.clone()))
}

/// Runs the exchange to its end; `None` when the own log forked.
fn exchange(
    home: &mut Home,
    env: &mut Env<'_>,
    remote: &mut Remote,
    watched: bool,
) -> Result<Option<Report>, CliError> {
    let mut known = read_server_have(&home.journal());
    let mut heard = !known.is_empty();
    let (mut sent, mut received) = (0, 0);
    let mut still = 0;
    let mut refused: BTreeMap<(DeviceId, u64), RefusedEntry> = BTreeMap::new();
    loop {
        // A server that was never heard of is asked first, since it may hold all of this already.
        let page = if heard { missing_for(home.store(), &known)? } else { Page::default() };
        heard = true;
        let offered = page.entries.len();
        let Exchanged::Reply(reply) = ask(home, env, remote, home.store().vector().have(), page.entries)?
        else {
            return Ok(None);
        };
        let reply = *reply;
        let clock_off_ms =
            i64::try_from(env.now_ms()).unwrap_or(0) - i64::try_from(reply.clock_ms).unwrap_or(0);
        let before = known;
        known = reply.have.clone();
        for r in reply.refused.iter().filter(|r| r.code != "early") {
            // What follows a refused entry is refused as well: that log is offered no further in this sync.
            known.entry(r.device).and_modify(|m| m.0 = u64::MAX).or_insert(Mark(u64::MAX, Hash::NONE));
            refused.insert((r.device, r.seq), r.clone());
        }
        let kept_there = offered.saturating_sub(reply.refused.len());
        let kept = home.absorb(reply.entries)?.kept;
        write_server_have(&home.journal(), &reply.have);
        (sent, received) = (sent + kept_there, received + kept);
        if watched && sent + received >= PROGRESS_FROM {
            write!(env.err, "\r{sent} sent, {received} received so far ")?;
            env.err.flush()?;
        }
        if !reply.more && missing_for(home.store(), &known)?.entries.is_empty() {
            let level = home.store().vector().have() == reply.have;
            if watched && sent + received >= PROGRESS_FROM {
                writeln!(env.err)?;
            }
            let digest = home.digest()?;
            if level && digest != reply.digest {
                return Err(CliError::bug(format!(
                    "both sides hold the same entries and read them differently: {digest} here, {} there",
                    reply.digest
                ))
                .hint("update sheaf and sheafd to the same version; nothing is lost"));
            }
            return Ok(Some(Report {
                sent,
                received,
                traffic: remote.traffic,
                entries: home.store().vector().total(),
                digest,
                agree: level,
                clock_off_ms,
                renewed: None,
                refused: refused.into_values().collect(),
            }));
        }
        still = if kept == 0 && before == known { still + 1 } else { 0 };
        if still > 2 {
            return Err(CliError::out_of_reach("the server and this device do not come level")
                .hint("nothing is lost; sync again later"));
        }
    }
}

fn ask(
    home: &Home,
    env: &Env<'_>,
    remote: &mut Remote,
    have: Have,
    entries: Vec<Entry>,
) -> Result<Exchanged, CliError> {
    let device = home.card().device;
    let ask = ExchangeRequest { device, clock_ms: env.now_ms(), have, entries };
    remote.exchange(home.card().team, &ask).map_err(|e| waiting(home, e))
}

/// Says how many entries wait on this device when the server is out of reach.
fn waiting(home: &Home, e: CliError) -> CliError {
    let known = read_server_have(&home.journal());
    let there = |device: &DeviceId| known.get(device).map_or(0, |m| m.0);
    let wait: u64 = home.store().vector().iter().map(|(d, head)| head.seq.saturating_sub(there(&d))).sum();
    match e {
        CliError::OutOfReach(told) => CliError::out_of_reach(told.message).hint(match wait {
            0 => "nothing is lost, and the server has all that is here".into(),
            1 => "nothing is lost: 1 entry waits on this device".into(),
            n => format!("nothing is lost: {n} entries wait on this device"),
        }),
        other => other,
    }
}

/// Goes on under a new device id: the entries that the server does not have are written again under it.
fn renew(home: &mut Home, env: &mut Env<'_>, remote: &mut Remote) -> Result<Renewed, CliError> {
    let (old, new) = (home.card().device, env.device_id());
    let common = common_prefix(home, env, remote)?;
    let ask = RenewRequest { device: new, device_name: home.card().device_name.clone() };
    let admitted = remote.renew(home.card().team, &ask)?;
    let mut card = home.card().clone();
    card.device = new;
    card.journal = new_journal(home.folder());
    card.server =
        Some(Server { url: remote.url().to_owned(), token: admitted.token.clone(), role: admitted.role });
    let (mut keep, mut again) = (Vec::new(), Vec::new());
    let devices: Vec<DeviceId> = home.store().vector().iter().map(|(d, _)| d).collect();
    for device in devices {
        home.store().log(device, 0, &mut |entry| {
            if device == old && entry.seq > common {
                again.push(entry)
            } else {
                keep.push(entry)
            }
            true
        })?;
    }
    let moved = again.len();
    let drafts = again.iter().map(|e| draft_of(e, None)).collect::<Result<Vec<_>, _>>()?;
    home.move_to(card, keep, drafts, env.now_ms())?;
    remote.show(admitted.token);
    Ok(Renewed { from: old, to: new, moved })
}

/// Returns the number of the last entry of the own log that is the same here and on the server.
fn common_prefix(home: &Home, env: &Env<'_>, remote: &mut Remote) -> Result<u64, CliError> {
    let own = home.card().device;
    let mut have = home.store().vector().have();
    have.remove(&own);
    let mut common = 0;
    loop {
        let Exchanged::Reply(reply) = ask(home, env, remote, have.clone(), Vec::new())? else {
            return Ok(common);
        };
        let ExchangeReply { entries, more, .. } = *reply;
        let mut moved_on = false;
        for entry in &entries {
            let hash = entry.header_hash();
            if entry.device == own {
                if home.store().header_hash(own, entry.seq)? != Some(hash) {
                    return Ok(common);
                }
                common = entry.seq;
            }
            // The own log is left out of the marks until it ends, so that a mark never shows the fork.
            if entry.device != own {
                have.insert(entry.device, Mark(entry.seq, hash));
            } else {
                have.insert(own, Mark(entry.seq, hash));
            }
            moved_on = true;
        }
        if !more || !moved_on {
            return Ok(common);
        }
    }
}

/// Returns what an entry said as a draft, to be written again; with a pair of ids, the first becomes the second.
fn draft_of(entry: &Entry, person: Option<(&str, &str)>) -> Result<Draft, CliError> {
    let mut set = BTreeMap::new();
    let mut settles = false;
    if let Some(raw) = &entry.body {
        let body = read_body(raw)?;
        settles = body.over.values().any(|seen| seen.len() > 1);
        for (field, value) in body.set {
            let text = match person {
                Some((from, to)) => value.get().replace(from, to),
                None => value.get().to_owned(),
            };
            let raw = serde_json::value::RawValue::from_string(text)
                .map_err(|e| CliError::bug(format!("a value cannot be carried over: {e}")))?;
            set.insert(field, raw);
        }
    }
    Ok(Draft { kind: entry.kind.clone(), id: entry.id, set, settles })
}

/// Writes what this home recorded before it joined a team into the team's records, once.
pub fn carry_over(home: &mut Home, env: &Env<'_>) -> Result<usize, CliError> {
    let Some(Carry { journal, team, person }) = home.card().carry.clone() else { return Ok(0) };
    let mut entries = Home::entries_of(&home.folder().join(&journal), team)?;
    entries.sort_by_key(Entry::full_stamp);
    let (old, new) = (person.to_string(), home.card().person.to_string());
    let pair = (old != new).then_some((old.as_str(), new.as_str()));
    // With another person's id the old person's own record is that of someone the team knows already.
    let kept = entries.iter().filter(|e| pair.is_none() || e.id != person);
    let drafts = kept.map(|e| draft_of(e, pair)).collect::<Result<Vec<_>, _>>()?;
    let count = drafts.len();
    for part in drafts.chunks(1000) {
        home.record(env, part.to_vec())?;
    }
    let mut card = home.card().clone();
    card.carry = None;
    home.turn_to(card)?;
    forget_server(&home.journal());
    Ok(count)
}

/// A clock that a sync found to be wrong, and the entries of the own log that were recorded under it.
#[derive(Debug, Clone, Copy, Serialize, serde::Deserialize)]
pub struct ClockOff {
    /// How far it was ahead.
    pub off_ms: i64,
    /// The last entry before.
    pub from_seq: u64,
    /// The last entry under it.
    pub to_seq: u64,
}

const CLOCK: &str = "clock-off.json";
const SYNCED: &str = "synced-seq.json";

/// Remembers by how much the clock is off and since which entry.
pub fn remember_clock(home: &Home, off_ms: i64) {
    let to_seq = home.store().vector().seq(home.card().device);
    let from_seq = recall::<u64>(home, SYNCED).unwrap_or(0).min(to_seq);
    remember(home, CLOCK, &ClockOff { off_ms, from_seq, to_seq });
}

/// Remembers that the clock was right up to here.
fn remember_synced(home: &Home) {
    if recall_clock(home).is_none() {
        remember(home, SYNCED, &home.store().vector().seq(home.card().device));
    }
}

/// Returns the clock that the last sync found to be wrong.
pub fn recall_clock(home: &Home) -> Option<ClockOff> {
    recall(home, CLOCK)
}

/// Forgets it, once the times are shifted.
pub fn forget_clock(home: &Home) {
    let _ = std::fs::remove_file(home.journal().join(CLOCK));
    remember_synced(home);
}

fn remember(home: &Home, name: &str, value: &impl Serialize) {
    if let Ok(text) = serde_json::to_vec(value) {
        let _ = std::fs::write(home.journal().join(name), text);
    }
}

fn recall<T: serde::de::DeserializeOwned>(home: &Home, name: &str) -> Option<T> {
    serde_json::from_slice(&std::fs::read(home.journal().join(name)).ok()?).ok()
}
