//! What people do: record, edit the same fields on two devices, settle, retire and bring back; exchange, and hand
//! bundles over.

use super::{
    device::Came,
    failed,
    http::Cut,
    world::{Message, World},
};
use serde_json::value::RawValue;
use sheaf_model::{
    ModelError, journal,
    log::{Entry, read_body},
    replica::{Draft, Store},
};
use std::collections::BTreeMap;

/// The fields that are edited; every draft also carries its number in `work`.
const FIELDS: [&str; 4] = ["name", "note", "field_of_tomorrow", "retired"];

impl World {
    /// Records something on a device; what it says is kept is on its disk.
    pub(super) fn write(&mut self, at: usize) -> Result<(), String> {
        let (drafts, works) = self.drafts(at)?;
        let seen = self.devices[at].replica.store().vector().clock();
        let wall = self.devices[at].wall(self.now_ms);
        let device = &mut self.devices[at];
        let entries = device.replica.append(device.writer, drafts, wall).map_err(failed("a record"))?;
        if entries.iter().any(|entry| entry.stamp <= seen) {
            return Err("an edit is stamped before one that its writer had seen".into());
        }
        self.tally.more("records acknowledged", works.len() as u64);
        self.acknowledged.extend(works);
        Ok(())
    }

    /// Draws what is to be recorded, and the numbers it carries.
    pub(super) fn drafts(&mut self, at: usize) -> Result<(Vec<Draft>, Vec<u64>), String> {
        // More than a page holds, now and then.
        let (count, new_in) = match self.rng.below(400) {
            0 => (1100, 1),
            1..5 => (150, 1),
            _ => (1 + self.rng.below(3), 8),
        };
        let mut drafts = Vec::new();
        for _ in 0..count {
            if self.one_in(new_in) {
                let id = self.new_thing();
                self.things.push((["bow", "group", "note"][self.rng.below(3) as usize], id));
            }
            drafts.push(self.draft(at, new_in == 1).map_err(failed("a draft"))?);
        }
        Ok((drafts, (self.work + 1 - count..=self.work).collect()))
    }

    fn draft(&mut self, at: usize, latest: bool) -> Result<Draft, ModelError> {
        self.work += 1;
        // Mostly one of a few things, which all devices write to.
        let among = if self.one_in(3) { self.things.len() } else { 8.min(self.things.len()) };
        let which = if latest { self.things.len() - 1 } else { self.rng.below(among as u64) as usize };
        let (kind, id) = self.things[which];
        let field = FIELDS[self.rng.below(4) as usize];
        let mut value = match field {
            "retired" => self.one_in(2).to_string(),
            _ => format!("\"{}\"", self.rng.below(5)),
        };
        let settles = self.one_in(4);
        if settles && let Some(thing) = self.devices[at].replica.store().thing(kind, id)? {
            let rival =
                thing.fields().get(field).and_then(|f| Some(f.others.first()?.value.get().to_owned()));
            self.tally.more("differences settled", u64::from(rival.is_some()));
            value = rival.unwrap_or(value);
        }
        if field == "retired" {
            self.tally.one("things retired or brought back");
        }
        let bow = self.things[self.rng.below(2) as usize].1;
        let mut set = BTreeMap::from([(field.to_owned(), value), ("work".into(), self.work.to_string())]);
        if kind == "group" {
            set.insert("bow".into(), format!("\"{bow}\""));
        }
        let raw = |text| RawValue::from_string(text).map_err(|e| ModelError::new("bad_value", e.to_string()));
        let set = set.into_iter().map(|(field, text)| Ok((field, raw(text)?)));
        Ok(Draft { kind: kind.into(), id, set: set.collect::<Result<_, ModelError>>()?, settles })
    }

    /// A device sends the next request of its exchange.
    pub(super) fn call(&mut self, at: usize) -> Result<(), String> {
        let device = &mut self.devices[at];
        let body = device.request(self.now_ms).map_err(failed("a request"))?;
        let (session, token) = (device.session, device.token.clone());
        self.net.push(Message::Request { from: at, session, token, body });
        self.tally.one("requests");
        Ok(())
    }

    /// Takes an answer in, and does what it asks for.
    pub(super) fn take(&mut self, to: usize, session: u64, status: u16, body: &[u8]) -> Result<(), String> {
        let came = self.devices[to].take(session, status, body)?;
        if came == Came::In || session != self.devices[to].session {
            return Ok(());
        }
        if let Came::ForkOf(forked) = came {
            let parted = self.devices[to].part(&self.service, forked, self.now_ms)?;
            self.tally.more("forks of others that were parted", u64::from(parted));
            return Ok(());
        }
        let new = self.new_device();
        if came == Came::Unknown {
            self.tally.one("devices that come in again");
            return self.devices[to].come_in_again(&self.service, new);
        }
        let cut_off = self.one_in(4);
        self.tally.one(if cut_off {
            "new identities cut off halfway"
        } else {
            "new identities after a fork"
        });
        self.devices[to].renew(&self.service, new, self.now_ms, cut_off)
    }

    /// A device hands a bundle to another, which may be cut short.
    pub(super) fn hand_over(&mut self, from: usize) -> Result<(), String> {
        let to = (from + 1 + self.rng.below(self.devices.len() as u64 - 1) as usize) % self.devices.len();
        let team = self.service.team();
        let entries = self.devices[from].replica.store().entries().map_err(failed("entries"))?;
        let mut bundle = journal::write_bundle(team, entries).map_err(failed("a bundle"))?;
        if self.one_in(3) {
            bundle.truncate(self.rng.below(bundle.len() as u64) as usize);
            self.tally.one("bundles cut short");
            return match journal::read_bundle(&bundle) {
                Ok(_) => Err("a bundle that was cut short is read".into()),
                Err(_) => Ok(()),
            };
        }
        let (_, entries) = journal::read_bundle(&bundle).map_err(failed("a bundle"))?;
        self.devices[to].replica.absorb(entries).map_err(failed("a bundle"))?;
        self.tally.one("bundles handed over");
        Ok(())
    }

    /// Exchanges without faults until the device and the service are level.
    pub(super) fn sync(&mut self, at: usize) -> Result<(), String> {
        for _ in 0..200 {
            let device = &mut self.devices[at];
            let (session, token) = (device.session, device.token.clone());
            let body = device.request(self.now_ms).map_err(failed("a request"))?;
            let answer = self.service.exchange(&token, &body, Cut::Not)?;
            let (status, body) = answer.ok_or("an exchange without faults has no answer")?;
            self.take(at, session, status, &body)?;
            if self.devices[at].is_level() {
                return Ok(());
            }
        }
        Err(format!("device {at} and the service do not come level"))
    }
}

/// Returns the number of the work that an entry carries.
pub fn work_of(entry: &Entry) -> Option<u64> {
    read_body(entry.body.as_ref()?).ok()?.set.get("work")?.get().parse().ok()
}
