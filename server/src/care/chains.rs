//! Whether lines say what a service may have kept: whole entries that chain, acts that this build knows.

use crate::act::Act;
use sheaf_model::{
    id::TeamId,
    journal::Line,
    log::{Admission, Entry, Head, Vector},
};
use std::collections::BTreeMap;

/// The logs of all teams as far as they were read.
#[derive(Debug, Default)]
pub struct Chains {
    teams: BTreeMap<TeamId, Vector>,
    /// How many entries were read.
    pub entries: u64,
    /// How many acts.
    pub acts: u64,
}

impl Chains {
    /// Takes in the next line; what is wrong with it is returned in words, and the logs go on behind it.
    pub fn take(&mut self, line: &Line) -> Result<(), String> {
        match line {
            Line::Entry(team, entry) => {
                self.entries += 1;
                self.entry(*team, entry)
            }
            Line::Act(raw) => {
                self.acts += 1;
                Act::read(raw).map(drop).map_err(|e| e.to_string())
            }
            Line::Journal(_) | Line::Batch(_) => Ok(()),
        }
    }

    fn entry(&mut self, team: TeamId, entry: &Entry) -> Result<(), String> {
        let vector = self.teams.entry(team).or_default();
        let (device, seq) = (entry.device, entry.seq);
        let before = vector.seq(device);
        let why = match vector.admit(entry, || None) {
            Admission::Next => return Ok(()),
            Admission::Bad(e) => e.message,
            Admission::Early => {
                format!("entry {seq} of device {device} follows entry {before}: what was between is missing")
            }
            _ if seq <= before => {
                format!("entry {seq} of device {device} stands behind entry {before} of the same log")
            }
            _ => format!("entry {seq} of device {device} does not chain to the one before it"),
        };
        if seq > before {
            // Said once: what follows is held to this entry.
            vector.restore(device, Head { seq, hash: entry.header_hash(), tick: entry.stamp });
        }
        Err(why)
    }
}
