//! A device: the model's replica over a disk, and the device's side of the exchange by the rules of the command
//! line, a new identity after a fork included.

use super::{
    disk::Disk,
    failed,
    http::{Cut, text},
    service::Service,
};
use serde_json::json;
use sheaf_model::{
    ModelError,
    id::{DeviceId, TeamId},
    log::{Entry, Have, Mark, adopt, read_body},
    replica::{Draft, Page, Replica, Store, Writer},
    rng::Rng,
    wire::{Admitted, ExchangeReply, ExchangeRequest},
};
use std::collections::BTreeMap;

/// A device of the team.
pub struct Device {
    /// Its replica.
    pub replica: Replica<Disk>,
    /// Whose log it writes.
    pub writer: Writer,
    /// Its token.
    pub token: String,
    /// How far its clock is off.
    pub skew_ms: i64,
    /// Which run of the exchange it is in; answers of an earlier one come too late.
    pub session: u64,
    /// Copies of it that were set aside.
    pub copies: Vec<Copy>,
    known: Have,
    heard: bool,
    team: TeamId,
}

/// What a copy of a device holds.
#[derive(Clone)]
pub struct Copy {
    bytes: Vec<u8>,
    /// Whose log it writes.
    pub writer: Writer,
    token: String,
    known: Have,
}

/// What an answer led to.
#[derive(Debug, PartialEq, Eq)]
pub enum Came {
    /// It was taken in.
    In,
    /// Its log forked.
    Forked,
    /// The log of another device forked between here and the service.
    ForkOf(DeviceId),
    /// The service does not know its token: it came back from a copy of before.
    Unknown,
}

impl Device {
    /// Makes a device with an empty disk.
    pub fn new(team: TeamId, writer: Writer, token: String) -> Result<Self, ModelError> {
        let replica = Replica::new(Disk::open(team, Vec::new())?);
        let (known, copies) = (Have::new(), Vec::new());
        Ok(Self { replica, writer, token, skew_ms: 0, session: 0, copies, known, heard: false, team })
    }

    /// Returns its wall clock.
    pub fn wall(&self, now_ms: u64) -> u64 {
        now_ms.saturating_add_signed(self.skew_ms)
    }

    /// Begins a run of the exchange anew and writes its next request.
    pub fn request(&mut self, now_ms: u64) -> Result<Vec<u8>, ModelError> {
        // A service that was never heard of is asked first, since it may hold all of this already.
        let page = if self.heard { self.replica.missing_for(&self.known)? } else { Page::default() };
        self.ask(self.replica.store().vector().have(), page.entries, now_ms)
    }

    fn ask(&self, have: Have, entries: Vec<Entry>, now_ms: u64) -> Result<Vec<u8>, ModelError> {
        let ask = ExchangeRequest { device: self.writer.device, clock_ms: self.wall(now_ms), have, entries };
        serde_json::to_vec(&ask).map_err(|e| ModelError::new("bad_request", e.to_string()))
    }

    /// Takes an answer of the service; one of an earlier run brings its entries and no more.
    pub fn take(&mut self, session: u64, status: u16, body: &[u8]) -> Result<Came, String> {
        match status {
            200 => {}
            409 if body.windows(6).any(|w| w == b"\"fork\"") => return Ok(Came::Forked),
            401 => return Ok(Came::Unknown),
            _ => return Err(format!("an exchange is answered with {status}: {}", text(body))),
        }
        let mut reply: ExchangeReply = serde_json::from_slice(body).map_err(failed("an answer"))?;
        self.replica.absorb(std::mem::take(&mut reply.entries)).map_err(failed("entries are taken in"))?;
        if session != self.session {
            return Ok(Came::In);
        }
        let (forks, others): (Vec<_>, Vec<_>) =
            reply.refused.into_iter().filter(|r| r.code != "early").partition(|r| r.code == "fork");
        if let Some(refused) = others.first() {
            return Err(format!("the service refuses an entry: {}", refused.message));
        }
        (self.known, self.heard) = (reply.have, true);
        Ok(forks.first().map_or(Came::In, |fork| Came::ForkOf(fork.device)))
    }

    /// Returns whether it and the service hold the same, as far as it knows.
    pub fn is_level(&self) -> bool {
        self.heard && self.known == self.replica.store().vector().have()
    }

    /// Goes on under a new id after a fork: what the service lacks of its log is written again under the new one.
    /// Cut off before the new journal is in its place, nothing has happened here.
    pub fn renew(
        &mut self,
        service: &Service,
        new: DeviceId,
        now_ms: u64,
        cut_off: bool,
    ) -> Result<(), String> {
        let (common, _) = self.common_prefix(service, self.writer.device, now_ms)?;
        let path = format!("/v1/teams/{}/devices", self.team);
        let ask = json!({"device": new, "device_name": "device"});
        let admitted: Admitted = service.ask(&path, &self.token, &ask)?;
        if !cut_off {
            self.move_to(admitted, common, now_ms).map_err(failed("the log is written again"))?;
        }
        Ok(())
    }

    /// Makes what it holds of another device's log, and the service has otherwise, a log of its own.
    pub fn part(&mut self, service: &Service, forked: DeviceId, now_ms: u64) -> Result<bool, String> {
        let (common, differs) = self.common_prefix(service, forked, now_ms)?;
        if differs {
            self.adopt(forked, common).map_err(failed("a forked log is adopted"))?;
        }
        Ok(differs)
    }

    fn adopt(&mut self, forked: DeviceId, common: u64) -> Result<(), ModelError> {
        let lacking = |entry: &Entry| entry.device == forked && entry.seq > common;
        let (parted, mut all): (Vec<_>, Vec<_>) =
            self.replica.store().entries()?.into_iter().partition(lacking);
        all.extend(adopt(&all, &parted)?);
        self.replica = Replica::new(Disk::open(self.team, Vec::new())?);
        let absorbed = self.replica.absorb(all)?;
        match absorbed.refused.first() {
            None => Ok(()),
            Some(refused) => Err(ModelError::new("bad_log", format!("{refused:?}"))),
        }
    }

    fn common_prefix(&self, service: &Service, of: DeviceId, now_ms: u64) -> Result<(u64, bool), String> {
        let mut common = 0;
        let mut have = self.replica.store().vector().have();
        have.remove(&of);
        loop {
            let ask = self.ask(have.clone(), Vec::new(), now_ms).map_err(failed("a request"))?;
            let Some((200, body)) = service.exchange(&self.token, &ask, Cut::Not)? else {
                return Ok((common, false));
            };
            let reply: ExchangeReply = serde_json::from_slice(&body).map_err(failed("an answer"))?;
            for entry in &reply.entries {
                let hash = entry.header_hash();
                if entry.device == of {
                    match self.replica.store().header_hash(of, entry.seq).map_err(failed("a log"))? {
                        Some(here) if here == hash => common = entry.seq,
                        here => return Ok((common, here.is_some())),
                    }
                }
                have.insert(entry.device, Mark(entry.seq, hash));
            }
            if !reply.more || reply.entries.is_empty() {
                return Ok((common, false));
            }
        }
    }

    fn move_to(&mut self, admitted: Admitted, common: u64, now_ms: u64) -> Result<(), ModelError> {
        let old = self.writer.device;
        let lacking = |entry: &Entry| entry.device == old && entry.seq > common;
        let (again, keep): (Vec<_>, Vec<_>) = self.replica.store().entries()?.into_iter().partition(lacking);
        let drafts = again.iter().map(draft_of).collect::<Result<Vec<_>, _>>()?;
        self.begin_anew(admitted)?;
        self.replica.absorb(keep)?;
        self.replica.append(self.writer, drafts, self.wall(now_ms))?;
        Ok(())
    }

    /// Comes in again under a new id, with everything that it holds.
    pub fn come_in_again(&mut self, service: &Service, new: DeviceId) -> Result<(), String> {
        let admitted = service.let_in(new, self.writer.author, true)?;
        let all = self.replica.store().entries().map_err(failed("its entries"))?;
        self.begin_anew(admitted).map_err(failed("a new home"))?;
        self.replica.absorb(all).map_err(failed("entries come along"))?;
        Ok(())
    }

    fn begin_anew(&mut self, admitted: Admitted) -> Result<(), ModelError> {
        self.replica = Replica::new(Disk::open(self.team, Vec::new())?);
        self.writer = Writer { device: admitted.device, author: admitted.person };
        self.token = admitted.token;
        (self.known, self.heard) = (Have::new(), false);
        self.session += 1;
        Ok(())
    }

    /// Starts again from what is on its disk.
    pub fn reopen(&mut self, bytes: Vec<u8>, rng: &mut Rng) -> Result<(), ModelError> {
        self.replica = Replica::new(Disk::open(self.team, bytes)?);
        self.session += 1;
        if rng.below(3) == 0 {
            // What it knew of the service is a file that is never synced.
            (self.known, self.heard) = (Have::new(), false);
        }
        Ok(())
    }

    /// Sets a copy of itself aside.
    pub fn set_aside(&mut self) {
        let bytes = self.replica.store().bytes().to_vec();
        let (writer, token, known) = (self.writer, self.token.clone(), self.known.clone());
        self.copies.push(Copy { bytes, writer, token, known });
    }

    /// Comes back from a copy.
    pub fn restore(&mut self, copy: Copy) -> Result<(), ModelError> {
        self.replica = Replica::new(Disk::open(self.team, copy.bytes)?);
        (self.writer, self.token, self.known) = (copy.writer, copy.token, copy.known);
        self.heard = !self.known.is_empty();
        self.session += 1;
        Ok(())
    }
}

/// Returns what an entry said as a draft, to be written again.
fn draft_of(entry: &Entry) -> Result<Draft, ModelError> {
    let mut draft = Draft { kind: entry.kind.clone(), id: entry.id, set: BTreeMap::new(), settles: false };
    if let Some(raw) = &entry.body {
        let body = read_body(raw)?;
        draft.settles = body.over.values().any(|seen| seen.len() > 1);
        draft.set = body.set.into_iter().map(|(field, value)| (field, value.to_owned())).collect();
    }
    Ok(draft)
}
