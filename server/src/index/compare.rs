//! Comparing an index row by row with one that was just made from the entries.

use super::{
    Index,
    codec::{id_at, read_head},
    keys, kind_and_id,
};
use crate::error::ServerError;
use sheaf_model::{
    id::{DeviceId, TeamId, ThingId},
    log::Hash,
    merge::Digest,
};

/// What the index says otherwise than the entries.
#[derive(Debug, Default)]
pub struct Differences {
    /// How many rows differ.
    pub rows: usize,
    /// The first of them in words.
    pub first: Vec<String>,
}

/// A row of either index: its key and value.
type Row = Option<(sled::IVec, sled::IVec)>;

impl Index {
    /// Compares every row with those of an index that is right; `most` of what differs is put into words.
    pub fn compare(&self, right: &Self, most: usize) -> Result<Differences, ServerError> {
        let mut found = Differences::default();
        let (mut ours, mut theirs) = (self.db.iter(), right.db.iter());
        let (mut a, mut b): (Row, Row) = (ours.next().transpose()?, theirs.next().transpose()?);
        loop {
            let order = match (&a, &b) {
                (None, None) => return Ok(found),
                (Some(_), None) => std::cmp::Ordering::Less,
                (None, Some(_)) => std::cmp::Ordering::Greater,
                (Some((ours, _)), Some((theirs, _))) => ours.cmp(theirs),
            };
            let wrong = match (order, &a, &b) {
                (std::cmp::Ordering::Less, Some((key, _)), _) => Some((key, "is there and should not be")),
                (std::cmp::Ordering::Greater, _, Some((key, _))) => Some((key, "is missing")),
                (_, Some((key, ours)), Some((_, theirs))) if ours != theirs => {
                    Some((key, "is not what the entries give"))
                }
                _ => None,
            };
            if let Some((key, what)) = wrong {
                found.rows += 1;
                if found.first.len() < most {
                    found.first.push(format!("{} {what}", name(key)));
                }
            }
            if order.is_le() {
                a = ours.next().transpose()?;
            }
            if order.is_ge() {
                b = theirs.next().transpose()?;
            }
        }
    }

    /// Returns every team that came in here, with its name and the digest of its state.
    pub fn teams(&self) -> Result<Vec<(TeamId, String, Hash)>, ServerError> {
        let mut found = Vec::new();
        for row in self.db.scan_prefix(keys::teams()) {
            let team = TeamId::from_bytes(id_at(&row?.0, 1)?);
            let name = self.team(team)?.map(|row| row.name).unwrap_or_default();
            let mut digest: Digest = self.digest(team)?;
            found.push((team, name, digest.root()));
        }
        Ok(found)
    }

    /// Returns how many entries the logs of a team hold, and how many logs there are.
    pub fn counts(&self, team: TeamId) -> Result<(u64, usize), ServerError> {
        let (mut entries, mut logs) = (0, 0);
        for row in self.db.scan_prefix(keys::heads(team)) {
            entries += read_head(&row?.1)?.seq;
            logs += 1;
        }
        Ok((entries, logs))
    }
}

/// Says in words what a row is about; fingerprints of tokens and codes are not shown.
fn name(key: &[u8]) -> String {
    words(key).unwrap_or_else(|_| format!("a row with a key of {} bytes that says nothing", key.len()))
}

fn words(key: &[u8]) -> Result<String, ServerError> {
    let team = |what: String| Ok(format!("{what} of team {}", TeamId::from_bytes(id_at(key, 1)?)));
    let device = || Ok::<_, ServerError>(DeviceId::from_bytes(id_at(key, 17)?));
    match key.first() {
        Some(b'm') => Ok(format!("the row {}", String::from_utf8_lossy(key.get(1..).unwrap_or_default()))),
        Some(b's') => Ok(format!("the end of segment {}", keys::segment_of(key)?)),
        Some(b'h') => team(format!("the head of the log of device {}", device()?)),
        Some(b'e') => {
            let seq = key.get(33..).and_then(|s| s.first_chunk()).map_or(0, |s| u64::from_be_bytes(*s));
            team(format!("entry {seq} of device {}", device()?))
        }
        Some(letter @ (b't' | b'c')) => {
            let what = if *letter == b't' { "the fingerprint" } else { "a contribution" };
            let (kind, id) = kind_and_id(key)?;
            team(format!("{what} of {kind} {id}"))
        }
        Some(b'b') => team(format!("what belongs to bow {}", ThingId::from_bytes(id_at(key, 17)?))),
        Some(b'T') => team("the name".into()),
        Some(b'D') => team(format!("the access of device {}", device()?)),
        Some(b'P') => team(format!("the role of person {}", ThingId::from_bytes(id_at(key, 17)?))),
        Some(b'K') => Ok("the token of a device".into()),
        Some(b'I') => Ok("an invite".into()),
        _ => Ok("a row of no known kind".into()),
    }
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{
        act::Act,
        care,
        journal::{Journal, Reader},
    };
    use sheaf_model::{
        id::ThingId,
        kind::{self, Note},
        replica::{Memory, Replica, Writer},
        wire::Role,
    };
    use std::path::Path;
    use tempfile::TempDir;

    /// Makes a data folder with some entries and two acts, and returns its index and whose log it holds.
    fn store(data: &Path) -> (Index, TeamId, DeviceId) {
        let (team, device) = (TeamId::new(1, [1; 10]), DeviceId::new(1, [2; 10]));
        let author = ThingId::new(1, [3; 10]);
        let note = |n| kind::draft(ThingId::new(1, [n; 10]), &Note::default()).unwrap();
        let drafts = (10..20).map(note).collect();
        let entries = Replica::new(Memory::default()).append(Writer { device, author }, drafts, 5).unwrap();
        let (name, device_name, token) = ("team".into(), "phone".into(), Hash::of(b"token"));
        let founded = Act::Founded { team, name, device, device_name, person: author, token, at_ms: 1 };
        let given = Act::RoleGiven { team, person: author, role: Role::Keeper, by: device, at_ms: 2 };
        let mut lines = vec![founded.line().unwrap(), given.line().unwrap()];
        lines.extend(entries.into_iter().map(|e| sheaf_model::journal::Line::Entry(team, Box::new(e))));
        Journal::open(&data.join("journal"), 1 << 20).unwrap().append(lines).unwrap();
        let index = Index::open(&data.join("index"), &Reader::new(&data.join("journal"))).unwrap();
        (index, team, device)
    }

    /// Checks a data folder after something was done to its index, and returns what was found.
    fn after(harm: impl FnOnce(&Index, TeamId, DeviceId)) -> care::Report {
        let folder = TempDir::new().unwrap();
        let (index, team, device) = store(folder.path());
        harm(&index, team, device);
        index.flush().unwrap();
        drop(index);
        care::check(folder.path()).unwrap()
    }

    #[test]
    fn an_index_that_was_left_alone_agrees() {
        let report = after(|_, _, _| ());
        assert!(report.sound && report.index == "agrees", "{report}");
        assert_eq!((report.entries, report.acts, report.teams.len()), (10, 2, 1));
    }

    #[test]
    fn every_row_that_differs_from_what_the_entries_give_is_named() {
        let person = ThingId::new(1, [3; 10]);
        let note = ThingId::new(1, [12; 10]);
        type Harm = fn(&Index, TeamId, DeviceId);
        let harms: [(Harm, String); 5] = [
            (
                |index, team, _| {
                    let key = keys::person(team, ThingId::new(1, [3; 10]));
                    index.db.insert(key, "\"coach\"").unwrap();
                },
                format!("the role of person {person}"),
            ),
            (
                |index, team, _| {
                    index.db.remove(keys::thing(team, "note", ThingId::new(1, [12; 10]))).unwrap();
                },
                format!("the fingerprint of note {note}"),
            ),
            (
                |index, _, _| {
                    index.db.remove(keys::token(&Hash::of(b"token"))).unwrap();
                },
                "the token of a device is missing".into(),
            ),
            (
                |index, _, _| {
                    index.db.insert(keys::token(&Hash::of(b"another")), &[7; 32]).unwrap();
                },
                "the token of a device is there and should not be".into(),
            ),
            (
                |index, team, device| {
                    let other = index.db.get(keys::entry(team, device, 3)).unwrap().unwrap();
                    index.db.insert(keys::entry(team, device, 4), other).unwrap();
                },
                "entry 4 of device".into(),
            ),
        ];
        for (harm, said) in harms {
            let report = after(harm);
            assert!(!report.sound && report.index == "disagrees", "{report}");
            assert_eq!(report.troubles.len(), 1, "{report}");
            assert!(report.troubles[0].what.contains(&said), "{report} instead of {said}");
            assert!(report.troubles[0].todo.contains("sheafd rebuild"));
        }
    }
}
