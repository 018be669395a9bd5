//! How far each log has come, and what may be added to it.

use crate::{
    ModelError,
    id::DeviceId,
    log::{Entry, Hash, Tick},
};
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// The end of one device's log, without holes up to it.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Head {
    /// Number of its last entry.
    pub seq: u64,
    /// Fingerprint of that entry's header.
    pub hash: Hash,
    /// Stamp of that entry.
    pub tick: Tick,
}

/// What travels of a head: `[seq, hash]`. The hash shows a fork even when the numbers agree.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Mark(pub u64, pub Hash);

/// The marks of all logs of a replica.
pub type Have = BTreeMap<DeviceId, Mark>;

/// The heads of all logs of a replica.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Vector(BTreeMap<DeviceId, Head>);

/// What became of an entry that was offered.
#[derive(Debug, Clone, PartialEq)]
pub enum Admission {
    /// It is the next of its log: the vector has moved on to it.
    Next,
    /// It was there already.
    Known,
    /// Entries before it are missing; it may be offered again after them.
    Early,
    /// The log already holds another entry of that number: two devices wrote under one name.
    Fork,
    /// It is malformed.
    Bad(ModelError),
}

impl Vector {
    /// Returns the head of a device's log.
    pub fn head(&self, device: DeviceId) -> Option<&Head> {
        self.0.get(&device)
    }

    /// Returns the number of a device's last entry; 0 when there is none.
    pub fn seq(&self, device: DeviceId) -> u64 {
        self.head(device).map_or(0, |h| h.seq)
    }

    /// Returns all devices with their heads, in order of their ids.
    pub fn iter(&self) -> impl Iterator<Item = (DeviceId, &Head)> {
        self.0.iter().map(|(d, h)| (*d, h))
    }

    /// Sets the head of a log, for a store that reads its heads back.
    pub fn restore(&mut self, device: DeviceId, head: Head) {
        self.0.insert(device, head);
    }

    /// Returns the latest stamp in any log, from which the clock goes on.
    pub fn clock(&self) -> Tick {
        self.0.values().map(|h| h.tick).max().unwrap_or_default()
    }

    /// Returns how many entries all the logs hold.
    pub fn total(&self) -> u64 {
        self.0.values().map(|h| h.seq).sum()
    }

    /// Returns the marks that tell another replica what is here.
    pub fn have(&self) -> Have {
        self.0.iter().map(|(d, h)| (*d, Mark(h.seq, h.hash))).collect()
    }

    /// Decides whether an entry continues its log, and moves the head on when it does.
    ///
    /// `known` returns the header fingerprint of an entry that the log already holds.
    pub fn admit(&mut self, entry: &Entry, known: impl FnOnce() -> Option<Hash>) -> Admission {
        if let Err(e) = entry.check() {
            return Admission::Bad(e);
        }
        let hash = entry.header_hash();
        let (seq, prev, tick) = match self.0.get(&entry.device) {
            Some(head) => (head.seq, head.hash, Some(head.tick)),
            None => (0, Hash::NONE, None),
        };
        if entry.seq <= seq {
            return if known() == Some(hash) { Admission::Known } else { Admission::Fork };
        }
        if entry.seq > seq + 1 {
            return Admission::Early;
        }
        if entry.prev != prev {
            return Admission::Fork;
        }
        if tick.is_some_and(|t| entry.stamp <= t) {
            return Admission::Bad(ModelError::new(
                "bad_stamp",
                format!(
                    "entry {} of device {} is not stamped after the one before it",
                    entry.seq, entry.device
                ),
            ));
        }
        self.0.insert(entry.device, Head { seq: entry.seq, hash, tick: entry.stamp });
        Admission::Next
    }
}
