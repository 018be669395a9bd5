//! The way out of a fork: a phone that was restored from an old copy, or copied, goes on under another device id.

use super::{Ask, Desk, Server, read, replies};
use crate::{
    ModelError,
    id::DeviceId,
    log::{Entry, Have, Mark},
    replica::{Draft, Memory, Replica, Store as _},
    wire::{Admitted, ExchangeRequest, RenewRequest, read_reply},
};
use serde::Deserialize;
use serde_json::{Value, json};

/// How far the search for the last common entry has come.
#[derive(Default)]
pub(super) struct Fork {
    have: Have,
    common: u64,
}

/// Looks for the last entry of the own log that the server has as it is here: returns the next request as `body`, or
/// the request for a new device id as `ask`.
pub(super) fn fork(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Asked {
        reply: Option<String>,
    }
    let Asked { reply } = read(input)?;
    let own = desk.card()?.device;
    let Some(reply) = reply else {
        let mut have = desk.store()?.vector().have();
        // The log is asked for from its beginning: its mark would only show the fork.
        have.remove(&own);
        desk.fork = Fork { have, common: 0 };
        return desk.ask_for_own(own, ask);
    };
    let (reply, _) = read_reply(reply.as_bytes()).ok_or_else(replies::unread)?;
    let mut moved_on = false;
    for entry in &reply.entries {
        let hash = entry.header_hash();
        if entry.device == own {
            if desk.store()?.header_hash(own, entry.seq)? != Some(hash) {
                return desk.ask_for_id(ask);
            }
            desk.fork.common = entry.seq;
        }
        // A page that says nothing new would be asked for again for ever.
        let mark = Mark(entry.seq, hash);
        moved_on |= desk.fork.have.insert(entry.device, mark) != Some(mark);
    }
    if reply.more && moved_on { desk.ask_for_own(own, ask) } else { desk.ask_for_id(ask) }
}

/// Goes on under the new id: what the server does not have is written again.
pub(super) fn renewed(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Told {
        reply: String,
    }
    let told: Told = read(input)?;
    let admitted: Admitted = replies::parse(&told.reply)?;
    let moved = desk.go_on_as(admitted, desk.fork.common, ask)?;
    let message = format!(
        "This phone holds a copy of another log, or was restored from an old one. It goes on under a new device id; {moved} \
         entries that only it had are written again under that id. Nothing is lost."
    );
    Ok(json!({"moved": moved, "words": [message]}))
}

impl Desk {
    /// Goes on under the id with which the server let this device in: the entries of its log after `common`, which the
    /// server does not have, are written again under it. Returns how many these are. What the person may not write any
    /// more stays where it is, on this phone.
    pub(super) fn go_on_as(
        &mut self,
        admitted: Admitted,
        common: u64,
        ask: &Ask,
    ) -> Result<usize, ModelError> {
        let old = self.card()?.device;
        let all = self.entries()?;
        let (again, keep): (Vec<Entry>, Vec<Entry>) =
            all.into_iter().partition(|e| e.device == old && e.seq > common);
        let mut drafts = again.iter().map(|e| Draft::again(e, None)).collect::<Result<Vec<_>, _>>()?;
        if drafts.iter().all(|d| admitted.role.may_write(&d.kind, d.id, admitted.person)) {
            let mut replica = Replica::new(Memory::default());
            replica.absorb(keep)?;
            self.replica = Some(replica);
            self.gone = Some((old, common));
        } else {
            drafts.clear();
        }
        let card = self.card.as_mut().ok_or_else(super::not_open)?;
        card.device = admitted.device;
        card.person = admitted.person;
        card.server = Some(Server { token: admitted.token, role: admitted.role });
        self.altered = true;
        let moved = drafts.len();
        if moved > 0 {
            self.write(ask, drafts)?;
        }
        Ok(moved)
    }

    fn ask_for_own(&self, own: DeviceId, ask: &Ask) -> Result<Value, ModelError> {
        let have = self.fork.have.clone();
        let request = ExchangeRequest { device: own, clock_ms: ask.now_ms, have, entries: Vec::new() };
        Ok(json!({"body": replies::text(&request)?}))
    }

    fn ask_for_id(&self, ask: &Ask) -> Result<Value, ModelError> {
        let device_name = self.card()?.device_name.clone();
        let request = RenewRequest { device: ask.device_id(), device_name };
        Ok(json!({"ask": replies::text(&request)?}))
    }
}
