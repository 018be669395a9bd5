//! The exchange: take what the device has that is not here, hand out what it lacks.

use super::{Service, Session};
use crate::{
    error::ServerError,
    store::{Pushed, Reason, View, forked, reason_of},
};
use sheaf_model::{
    id::DeviceId,
    log::{Admission, Entry, Have, Mark},
    replica::{Store as _, missing_for},
    wire::{ExchangeReply, ExchangeRequest, RefusedEntry},
};

impl Service {
    /// Checks that an exchange speaks for its own device and that this device's log did not fork.
    pub fn check_exchange(&self, who: Session, ask: &ExchangeRequest) -> Result<(), ServerError> {
        if ask.device != who.device {
            let detail = format!(
                "The token belongs to device {} and the request speaks for {}; sync with the token that device got.",
                who.device, ask.device
            );
            return Err(ServerError::refuse(403, "other_device", "Not this device", detail).at("device"));
        }
        let (sent, most) = (ask.entries.len(), self.config.exchange_entries);
        if sent > most {
            let detail =
                format!("An exchange takes at most {most} entries, and {sent} came; send less at a time.");
            return Err(
                ServerError::refuse(413, "too_many_entries", "Too many entries", detail).at("entries")
            );
        }
        let view = self.view(who)?;
        match ask.have.get(&who.device) {
            Some(mark) if differs(&view, who.device, mark)? => Err(forked(who.device, mark.0)),
            _ => Ok(()),
        }
    }

    /// Keeps the entries that a device offers; they are on the disk when this is done.
    pub async fn push(&self, who: Session, entries: Vec<Entry>) -> Result<Pushed, ServerError> {
        if entries.is_empty() {
            return Ok(Pushed::default());
        }
        let answer = self.store.push(who.team, Some(who.device), entries)?;
        answer.await.map_err(|_| ServerError::Stopped("the service is stopping".into()))?
    }

    /// Answers an exchange: a page of what the device lacks, and how far the service has come.
    pub fn answer_exchange(
        &self,
        who: Session,
        mut have: Have,
        pushed: Pushed,
    ) -> Result<ExchangeReply, ServerError> {
        let view = self.view(who)?;
        let kept = Some(pushed.kept);
        let mut refused: Vec<(DeviceId, u64, Reason)> = pushed.refused;
        for (device, mark) in &mut have {
            if differs(&view, *device, mark)? {
                // What follows a fork fits nowhere on the device, so none of it is handed out.
                refused.push((*device, mark.0, reason_of(&Admission::Fork, *device, mark.0)));
                mark.0 = u64::MAX;
            }
        }
        let page = missing_for(&view, &have)?;
        Ok(ExchangeReply {
            clock_ms: self.clock.now_ms(),
            have: view.vector().have(),
            entries: page.entries,
            more: page.more,
            digest: view.root(),
            refused: refused.into_iter().map(as_wire).collect(),
            kept,
            role: Some(who.role),
        })
    }
}

/// Returns whether the device holds another entry at its mark than the one that is kept here.
fn differs(view: &View, device: DeviceId, mark: &Mark) -> Result<bool, ServerError> {
    Ok(view.header_hash(device, mark.0)?.is_some_and(|hash| hash != mark.1))
}

fn as_wire((device, seq, reason): (DeviceId, u64, Reason)) -> RefusedEntry {
    RefusedEntry { device, seq, code: reason.code.to_owned(), message: reason.message }
}
