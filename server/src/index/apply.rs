//! Applying lines of the journal to the index: one atomic batch, together with the position.

use super::{
    Index,
    codec::{EntryRow, Position, ThingRow, write_head, write_part},
    keys,
};
use crate::{
    act::Act,
    error::ServerError,
    journal::{Placed, path_of},
};
use sheaf_model::{
    id::{DeviceId, TeamId, ThingId},
    journal::Line,
    log::{Entry, Hash, Head},
    merge::{Contribution, Thing},
    replica::bow_of,
};
use std::collections::{BTreeMap, BTreeSet};

/// What changed in a team.
#[derive(Debug, Default)]
pub struct Touched {
    /// The new fingerprints of its things.
    pub things: Vec<(String, ThingId, Hash)>,
    /// The bows that something belongs to which changed.
    pub bows: BTreeSet<ThingId>,
    /// How many entries were added.
    pub entries: usize,
}

/// Changes that are to be written in one go, seen through by those that follow.
pub struct Changes<'a> {
    index: &'a Index,
    rows: BTreeMap<Vec<u8>, Option<Vec<u8>>>,
    things: BTreeMap<(TeamId, String, ThingId), Thing>,
    heads: BTreeMap<(TeamId, DeviceId), Head>,
    touched: BTreeMap<TeamId, Touched>,
}

impl Index {
    /// Applies lines that are on the disk; either all of them or none.
    pub fn apply(&self, lines: &[Placed]) -> Result<BTreeMap<TeamId, Touched>, ServerError> {
        let mut changes = Changes {
            index: self,
            rows: BTreeMap::new(),
            things: BTreeMap::new(),
            heads: BTreeMap::new(),
            touched: BTreeMap::new(),
        };
        for placed in lines {
            let end = placed.place.at + u64::from(placed.place.len);
            changes.put(keys::segment(placed.place.segment), end.to_be_bytes().to_vec());
            match &placed.line {
                Line::Entry(team, entry) => changes.entry(*team, entry, placed)?,
                Line::Act(raw) => changes.act(&Act::read(raw)?)?,
                Line::Journal(_) | Line::Batch(_) => {}
            }
        }
        if let Some(first) = lines.iter().find(|line| line.speaks())
            && self.db.get(keys::FIRST)?.is_none()
        {
            changes.put(keys::FIRST.to_vec(), Position::of(first)?.write());
        }
        if let Some(last) = lines.last() {
            changes.put(keys::POSITION.to_vec(), Position::of(last)?.write());
        }
        changes.finish()
    }
}

impl Changes<'_> {
    /// Returns a row as it will be.
    pub fn get(&self, key: &[u8]) -> Result<Option<Vec<u8>>, ServerError> {
        match self.rows.get(key) {
            Some(value) => Ok(value.clone()),
            None => Ok(self.index.db.get(key)?.map(|v| v.to_vec())),
        }
    }

    /// Writes a row.
    pub fn put(&mut self, key: Vec<u8>, value: Vec<u8>) {
        self.rows.insert(key, Some(value));
    }

    /// Removes a row.
    pub fn remove(&mut self, key: Vec<u8>) {
        self.rows.insert(key, None);
    }

    fn entry(&mut self, team: TeamId, entry: &Entry, placed: &Placed) -> Result<(), ServerError> {
        let hash = entry.header_hash();
        self.continues(team, entry, placed)?;
        let row = EntryRow { place: placed.place, hash };
        self.put(keys::entry(team, entry.device, entry.seq), row.write());
        self.heads.insert((team, entry.device), Head { seq: entry.seq, hash, tick: entry.stamp });
        self.touched.entry(team).or_default().entries += 1;
        let Some(body) = &entry.body else { return Ok(()) };
        let part = Contribution { stamp: entry.full_stamp(), author: entry.author, body: body.clone() };
        self.put(keys::part(team, &entry.kind, entry.id, part.stamp), write_part(&part));
        let key = (team, entry.kind.clone(), entry.id);
        if !self.things.contains_key(&key) {
            let thing = self.index.thing(team, &entry.kind, entry.id)?;
            self.things.insert(key.clone(), thing.unwrap_or_else(|| Thing::new(&entry.kind, entry.id)));
        }
        if let Some(thing) = self.things.get_mut(&key) {
            thing.add(part);
        }
        Ok(())
    }

    /// Checks that an entry continues its log, as it did when it was let in.
    fn continues(&self, team: TeamId, entry: &Entry, placed: &Placed) -> Result<(), ServerError> {
        let before = match self.heads.get(&(team, entry.device)) {
            Some(head) => Some(*head),
            None => self.index.head(team, entry.device)?,
        };
        let (seq, hash) = before.map_or((0, Hash::NONE), |head| (head.seq, head.hash));
        if (entry.seq, entry.prev) == (seq + 1, hash) {
            return Ok(());
        }
        Err(ServerError::Damaged {
            file: path_of(&self.index.journal, placed.place.segment),
            at: placed.place.at,
            why: format!("entry {} of device {} does not continue its log", entry.seq, entry.device),
        })
    }

    fn finish(mut self) -> Result<BTreeMap<TeamId, Touched>, ServerError> {
        for ((team, device), head) in std::mem::take(&mut self.heads) {
            self.put(keys::head(team, device), write_head(&head));
        }
        for ((team, _, _), thing) in std::mem::take(&mut self.things) {
            self.thing(team, thing)?;
        }
        let mut batch = sled::Batch::default();
        for (key, value) in self.rows {
            match value {
                Some(value) => batch.insert(key, value),
                None => batch.remove(key),
            }
        }
        self.index.db.apply_batch(batch)?;
        Ok(self.touched)
    }

    fn thing(&mut self, team: TeamId, thing: Thing) -> Result<(), ServerError> {
        let row = ThingRow { hash: thing.hash(), bow: bow_of(&thing) };
        let key = keys::thing(team, &thing.kind, thing.id);
        let before = self.get(&key)?.map(|v| ThingRow::read(&v)).transpose()?;
        let was = before.and_then(|b| b.bow);
        if let Some(bow) = was.filter(|_| was != row.bow) {
            self.remove(keys::bow(team, bow, &thing.kind, thing.id));
        }
        if let Some(bow) = row.bow {
            self.put(keys::bow(team, bow, &thing.kind, thing.id), Vec::new());
        }
        self.put(key, row.write());
        let touched = self.touched.entry(team).or_default();
        touched.bows.extend(row.bow.iter().chain(&was));
        if thing.kind == "bow" {
            touched.bows.insert(thing.id);
        }
        touched.things.push((thing.kind, thing.id, row.hash));
        Ok(())
    }
}
