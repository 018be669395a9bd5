//! What goes wrong: messages lost, doubled, overtaken and cut; crashes; restores from old copies.

use super::{
    failed,
    http::{Cut, text},
    work::work_of,
    world::{Message, World},
};
use sheaf_model::{
    log::{Entry, Have, Mark},
    wire::{ExchangeReply, ExchangeRequest},
};
use std::collections::BTreeSet;

impl World {
    /// Something that is on its way arrives, or does not.
    pub(super) fn deliver(&mut self) -> Result<(), String> {
        if self.net.is_empty() {
            return Ok(());
        }
        let which = self.rng.below(self.net.len() as u64) as usize;
        self.tally.more("messages that overtook others", u64::from(which > 0));
        let message = self.net.remove(which);
        match self.rng.below(20) {
            0..2 => {
                self.tally.one("messages dropped");
                return Ok(());
            }
            2..5 => {
                self.tally.one("messages doubled");
                self.net.push(message.clone());
            }
            _ => {}
        }
        match message {
            Message::Request { from, session, token, body } => {
                let part = self.rng.below(1_000_000);
                let cut = match self.rng.below(10) {
                    0 => Cut::Request(part),
                    1 => Cut::Reply(part),
                    _ => Cut::Not,
                };
                let answer = self.service.exchange(&token, &body, cut)?;
                match (answer, cut) {
                    (Some((status, body)), Cut::Not) => {
                        self.net.push(Message::Reply { to: from, session, status, body })
                    }
                    (None, Cut::Request(_)) => self.tally.one("requests cut at a byte"),
                    (None, Cut::Reply(_)) => self.tally.one("answers cut at a byte"),
                    (Some((status, body)), _) => {
                        return Err(format!("a cut leaves an answer: {status} {}", text(&body)));
                    }
                    (None, Cut::Not) => return Err("a whole request has no answer".into()),
                }
                Ok(())
            }
            Message::Reply { to, session, status, body } => self.take(to, session, status, &body),
        }
    }

    /// A device is killed between two commands.
    pub(super) fn crash(&mut self, at: usize) -> Result<(), String> {
        let bytes = self.devices[at].replica.store().bytes().to_vec();
        self.tally.one("devices killed");
        self.devices[at].reopen(bytes, &mut self.rng).map_err(failed("a device opens after a kill"))
    }

    /// A device loses its power while it writes: of that batch, which it never said was kept, any part is there.
    pub(super) fn crash_while_writing(&mut self, at: usize) -> Result<(), String> {
        let (drafts, _) = self.drafts(at)?;
        let wall = self.devices[at].wall(self.now_ms);
        let device = &mut self.devices[at];
        let synced = device.replica.store().bytes().len();
        device.replica.append(device.writer, drafts, wall).map_err(failed("a record"))?;
        let left = device.replica.store().torn(synced, &mut self.rng);
        self.tally.one("devices without power while writing");
        device.reopen(left, &mut self.rng).map_err(failed("a device opens after a power cut"))
    }

    /// The service is killed between two requests.
    pub(super) fn crash_service(&mut self) -> Result<(), String> {
        let shape = self.service.crash(&mut self.rng)?;
        self.tally.one(shape);
        Ok(())
    }

    /// The service loses its power while it commits what a device sends.
    pub(super) fn crash_service_in_commit(&mut self, at: usize) -> Result<(), String> {
        let device = &mut self.devices[at];
        let (token, body) = (device.token.clone(), device.request(self.now_ms).map_err(failed("a request"))?);
        self.tally.one("service without power in a commit");
        self.service.crash_in_commit(&token, &body, &mut self.rng)
    }

    /// Copies are set aside.
    pub(super) fn set_aside(&mut self, at: usize) -> Result<(), String> {
        if !self.one_in(4) {
            self.devices[at].set_aside();
            return Ok(());
        }
        let with_index = self.one_in(2);
        self.service.set_aside(with_index)
    }

    /// A device comes back from an old copy. What only it held is gone with it.
    pub(super) fn restore_device(&mut self) -> Result<(), String> {
        let copies = self
            .devices
            .iter()
            .enumerate()
            .flat_map(|(n, device)| device.copies.iter().rev().take(3).map(move |c| (n, c)));
        let copies: Vec<_> = copies.collect();
        if copies.is_empty() {
            return Ok(());
        }
        let (at, copy) = copies[self.rng.below(copies.len() as u64) as usize];
        let copy = copy.clone();
        let there = self.on_service()?;
        self.devices[at].restore(copy).map_err(failed("a device comes back"))?;
        self.tally.one("devices restored from a copy");
        self.forget_what_is_gone(&there)
    }

    /// The service comes back from an old copy; devices bring back what it lost.
    pub(super) fn restore_service(&mut self) -> Result<(), String> {
        if self.service.copies == 0 {
            return Ok(());
        }
        let copy = self.rng.below(self.service.copies as u64) as usize;
        self.service.restore(copy)?;
        self.tally.one("service restored from a copy");
        let there = self.on_service()?;
        self.forget_what_is_gone(&there)
    }

    /// Returns everything that the service hands out.
    pub(super) fn on_service(&self) -> Result<Vec<Entry>, String> {
        let (mut have, mut all) = (Have::new(), Vec::new());
        loop {
            let ask = ExchangeRequest {
                device: self.service.keeper_device(),
                clock_ms: self.now_ms,
                have: have.clone(),
                entries: Vec::new(),
            };
            let ask = serde_json::to_vec(&ask).map_err(failed("a request"))?;
            let (status, body) =
                self.service.exchange(self.service.keeper(), &ask, Cut::Not)?.ok_or("no answer")?;
            if status != 200 {
                return Err(format!("the keeper is answered with {status}: {}", text(&body)));
            }
            let reply: ExchangeReply = serde_json::from_slice(&body).map_err(failed("an answer"))?;
            for entry in reply.entries {
                have.insert(entry.device, Mark(entry.seq, entry.header_hash()));
                all.push(entry);
            }
            if !reply.more {
                return Ok(all);
            }
        }
    }

    /// What a restore took the last copy of cannot come back.
    fn forget_what_is_gone(&mut self, there: &[Entry]) -> Result<(), String> {
        let mut held: BTreeSet<u64> = there.iter().filter_map(work_of).collect();
        for device in &self.devices {
            let entries = device.replica.store().entries().map_err(failed("entries"))?;
            held.extend(entries.iter().filter_map(work_of));
        }
        let before = self.acknowledged.len();
        self.acknowledged.retain(|work| held.contains(work));
        self.tally
            .more("records whose only copy a restore replaced", (before - self.acknowledged.len()) as u64);
        Ok(())
    }
}
