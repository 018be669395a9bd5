//! The answer to an exchange, also from a service that is newer than this program: what it adds is passed over, and an
//! entry in a format that is not known here is set apart instead of spoiling the rest.

use super::{ExchangeReply, RefusedEntry};
use crate::{
    id::DeviceId,
    log::{Entry, Hash, Have},
};
use serde::Deserialize;
use serde_json::value::RawValue;

/// An entry that cannot be read here, since a newer program wrote it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Deserialize)]
pub struct Newer {
    /// Version of its format.
    pub v: u32,
    /// Whose log.
    pub device: DeviceId,
    /// Its number there.
    pub seq: u64,
}

/// An answer of which the entries and the role are read one by one.
#[derive(Deserialize)]
struct Loose<'a> {
    clock_ms: u64,
    have: Have,
    #[serde(borrow)]
    entries: Vec<&'a RawValue>,
    more: bool,
    digest: Hash,
    #[serde(default)]
    refused: Vec<RefusedEntry>,
    #[serde(default)]
    kept: Option<usize>,
    #[serde(default, borrow)]
    role: Option<&'a RawValue>,
}

/// Reads an answer, and what of it only a newer program can read; nothing when it is no answer to an exchange.
pub fn read_reply(body: &[u8]) -> Option<(ExchangeReply, Vec<Newer>)> {
    if let Ok(reply) = serde_json::from_slice(body) {
        return Some((reply, Vec::new()));
    }
    let Loose { clock_ms, have, entries: raw, more, digest, refused, kept, role } =
        serde_json::from_slice(body).ok()?;
    let (mut entries, mut newer) = (Vec::with_capacity(raw.len()), Vec::new());
    for text in raw {
        match serde_json::from_str::<Entry>(text.get()) {
            Ok(entry) => entries.push(entry),
            Err(_) => newer.push(serde_json::from_str::<Newer>(text.get()).ok()?),
        }
    }
    // A role that is not known here is for the service to mind.
    let role = role.and_then(|raw| serde_json::from_str(raw.get()).ok());
    Some((ExchangeReply { clock_ms, have, entries, more, digest, refused, kept, role }, newer))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn what_a_newer_service_adds_is_passed_over_and_its_entries_are_set_apart() {
        let device = "01a2261c-7be2-769b-88d6-02bfc1b36847";
        let hash = Hash::NONE;
        let body = format!(
            r#"{{"clock_ms": 1, "have": {{}}, "entries": [{{"v": 2, "device": "{device}", "seq": 7, "sealed": "…"}}],
               "more": false, "digest": "{hash}", "weather": [1, 2], "role": "judge"}}"#
        );
        let (reply, newer) = read_reply(body.as_bytes()).unwrap();
        assert_eq!((reply.entries.len(), reply.role), (0, None));
        assert_eq!(newer, [Newer { v: 2, device: device.parse().unwrap(), seq: 7 }]);
        for no_answer in ["", "<html>", "{}", "[]", r#"{"status": "ok"}"#, &body.replace("\"v\"", "\"w\"")] {
            assert!(read_reply(no_answer.as_bytes()).is_none(), "{no_answer}");
        }
    }
}
