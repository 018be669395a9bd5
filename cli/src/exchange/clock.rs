//! A wrong clock: what a sync found, until the times are mended.

use crate::store::{Home, replace_derived};
use serde::Serialize;
use sheaf_model::replica::Store;

/// A clock that differs by more than this is spoken of.
pub const CLOCK_OFF_MS: u64 = 120_000;

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
pub(super) fn remember_clock(home: &Home, off_ms: i64) {
    let to_seq = home.store().vector().seq(home.card().device);
    let from_seq = recall::<u64>(home, SYNCED).unwrap_or(0).min(to_seq);
    remember(home, CLOCK, &ClockOff { off_ms, from_seq, to_seq });
}

/// Remembers that the clock was right up to here.
pub(super) fn remember_synced(home: &Home) {
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
        let _ = replace_derived(&home.journal().join(name), &text);
    }
}

fn recall<T: serde::de::DeserializeOwned>(home: &Home, name: &str) -> Option<T> {
    serde_json::from_slice(&std::fs::read(home.journal().join(name)).ok()?).ok()
}
