//! The exchange with the team's server, as far as it is no network: what to ask, and what an answer comes to.

use super::{Ask, Desk, read, replies::unread};
use crate::{
    ModelError,
    id::DeviceId,
    log::{Admission, Hash, Have, Mark},
    replica::{Page, Store as _, missing_for},
    wire::{ExchangeReply, ExchangeRequest, RefusedEntry, read_reply},
};
use serde::Deserialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// A clock that differs by more than this is spoken of.
const CLOCK_OFF_MS: u64 = 120_000;
/// Rounds in a row that may move nothing.
const STILL: u32 = 2;

/// How far an exchange has come.
#[derive(Default)]
pub(super) struct Course {
    /// What the server has, as far as anything more is offered to it.
    known: Have,
    offered: Vec<(DeviceId, u64)>,
    sent: usize,
    received: usize,
    still: u32,
    /// What the server did not keep.
    refused: BTreeMap<(DeviceId, u64), RefusedEntry>,
    /// What was not kept here, the first of each log, with the reason.
    unfit: BTreeMap<DeviceId, (bool, String)>,
}

/// Takes the server's answer in where there is one, and returns the next request as `body`, or the `report`.
pub(super) fn exchange(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Asked {
        reply: Option<String>,
    }
    let Asked { reply } = read(input)?;
    let Some(reply) = reply else {
        // A server that was never heard of is asked first, since it may hold all of this already.
        let page =
            if desk.have.is_empty() { Page::default() } else { missing_for(desk.store()?, &desk.have)? };
        desk.course = Course { known: desk.have.clone(), ..Course::default() };
        return desk.request(page, ask);
    };
    let (reply, newer) = read_reply(reply.as_bytes()).ok_or_else(unread)?;
    for newer in newer {
        let why = format!("it has format {}", newer.v);
        desk.course.unfit.entry(newer.device).or_insert((true, why));
    }
    let moved = desk.take_in(&reply)?;
    let page = missing_for(desk.store()?, &desk.course.known)?;
    if !reply.more && page.entries.is_empty() {
        return desk.report(&reply, ask);
    }
    desk.course.still = if moved { 0 } else { desk.course.still + 1 };
    if desk.course.still > STILL {
        let message = "the server and this device do not come level; nothing is lost, try again later";
        return Err(ModelError::new("not_level", message));
    }
    desk.request(page, ask)
}

impl Desk {
    fn request(&mut self, page: Page, ask: &Ask) -> Result<Value, ModelError> {
        self.course.offered = page.entries.iter().map(|e| (e.device, e.seq)).collect();
        let mut have = self.store()?.vector().have();
        // Of a log that cannot go on here no more is asked for in this sync.
        have.extend(self.course.unfit.keys().map(|device| (*device, Mark(u64::MAX, Hash::NONE))));
        let request = ExchangeRequest {
            device: self.card()?.device,
            clock_ms: ask.now_ms,
            have,
            entries: page.entries,
        };
        let body = super::replies::text(&request)?;
        Ok(json!({"body": body, "sent": self.course.sent, "received": self.course.received}))
    }

    /// Takes an answer in; returns whether it moved anything.
    fn take_in(&mut self, reply: &ExchangeReply) -> Result<bool, ModelError> {
        let before = (self.course.known.clone(), self.course.received);
        let replica = self.replica.as_mut().ok_or_else(super::not_open)?;
        let heads = replica.store().vector().clone();
        let absorbed = replica.absorb(reply.entries.clone())?;
        let mut new = Vec::new();
        for (device, head) in replica.store().vector().iter() {
            if head.seq > heads.seq(device) {
                replica.store().log(device, heads.seq(device), &mut |entry| {
                    new.push(entry);
                    true
                })?;
            }
        }
        self.keep(&new)?;
        let course = &mut self.course;
        let not_kept = |of: &&(DeviceId, u64)| reply.refused.iter().any(|r| (r.device, r.seq) == **of);
        let kept = course.offered.len() - course.offered.iter().filter(not_kept).count();
        course.sent += reply.kept.unwrap_or(kept);
        course.received += absorbed.kept;
        for refused in absorbed.refused {
            if let Admission::Bad(e) = refused.why {
                let newer = e.code == "newer_version";
                course.unfit.entry(refused.device).or_insert((newer, e.message));
            }
        }
        for r in reply.refused.iter().filter(|r| r.code != "early") {
            course.refused.insert((r.device, r.seq), r.clone());
        }
        course.known = reply.have.clone();
        // What follows a refused entry is refused as well, so its log is offered no further in this sync.
        course.known.extend(course.refused.keys().map(|(device, _)| (*device, Mark(u64::MAX, Hash::NONE))));
        let moved = before != (course.known.clone(), course.received);
        self.note(reply);
        Ok(moved)
    }

    /// Remembers how far the server has come and what the person may do there.
    fn note(&mut self, reply: &ExchangeReply) {
        self.altered |= self.have != reply.have;
        self.have = reply.have.clone();
        if let (Some(role), Some(server)) = (reply.role, self.card.as_mut().and_then(|c| c.server.as_mut()))
            && server.role != role
        {
            server.role = role;
            self.altered = true;
        }
    }

    fn report(&mut self, reply: &ExchangeReply, ask: &Ask) -> Result<Value, ModelError> {
        let replica = self.replica.as_mut().ok_or_else(super::not_open)?;
        let level = replica.store().vector().have() == reply.have;
        let digest = replica.store_mut().digest()?;
        if level && digest != reply.digest {
            let message = "this phone and the server hold the same entries and read them differently: update both to \
                           the same version; nothing is lost";
            return Err(ModelError::new("digests_differ", message));
        }
        let ms = |ms: u64| i64::try_from(ms).unwrap_or(0);
        let off_ms = ms(ask.now_ms).saturating_sub(ms(reply.clock_ms));
        let course = std::mem::take(&mut self.course);
        Ok(json!({"report": {
            "sent": course.sent, "received": course.received, "digest": digest, "agree": level,
            "clock_off_ms": off_ms, "words": words(&course, level, off_ms),
        }}))
    }
}

/// Says what needs attention after an exchange; nothing where both sides are level and nothing was refused.
fn words(course: &Course, level: bool, off_ms: i64) -> Vec<String> {
    let mut words = Vec::new();
    for refused in course.refused.values().take(5) {
        words.push(format!("Not kept by the server: {}.", refused.message));
    }
    if course.refused.values().any(|r| r.code == "newer_version") {
        words.push(
            "The server is older than what wrote these records: it has to be updated. They stay on this phone and go \
             over after that."
                .into(),
        );
    }
    for (device, (newer, why)) in course.unfit.iter().take(5) {
        words.push(match newer {
            true => format!(
                "Device {} writes with a newer version than this one; what it wrote cannot be read here yet and stays \
                 on the server. Update this page, then sync.",
                device.short()
            ),
            false => format!("Not kept here, since it is not as it was written: {why}. Everything else was exchanged."),
        });
    }
    if !level && words.is_empty() {
        words.push("The server holds more or less than this phone: sync again.".into());
    }
    if off_ms.unsigned_abs() > CLOCK_OFF_MS {
        let way = if off_ms > 0 { "ahead of" } else { "behind" };
        let minutes = off_ms.unsigned_abs() / 60_000;
        words.push(format!(
            "The clock of this phone is {minutes} min {way} the server's. Set it right; what was recorded meanwhile bears \
             wrong times, which can be altered end by end."
        ));
    }
    words
}
