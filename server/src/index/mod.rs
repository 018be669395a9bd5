//! The index over the journal, which makes reads fast: the only place that knows sled.
//!
//! Nothing lives here alone. Every batch carries the position in the journal up to which it goes, so that
//! whatever a crash takes away is read from the journal again, and an index that is missing, damaged or of
//! another format is made anew.

mod access;
mod apply;
mod codec;
mod compare;
mod fit;
mod guard;
mod keys;
mod open;

pub use access::{DeviceRow, InviteRow};
pub use guard::survive;
pub use open::remove;

use crate::{error::ServerError, journal::Place};
use codec::{EntryRow, ThingRow, id_at, read_head, read_part};
use sheaf_model::{
    id::{DeviceId, TeamId, ThingId},
    log::{Hash, Head, Vector},
    merge::{Digest, Thing},
};
use std::path::PathBuf;

/// The index, open.
pub struct Index {
    db: sled::Db,
    journal: PathBuf,
}

impl From<sled::Error> for ServerError {
    fn from(e: sled::Error) -> Self {
        Self::Index(e.to_string())
    }
}

impl Index {
    /// Returns the heads of a team's logs.
    pub fn vector(&self, team: TeamId) -> Result<Vector, ServerError> {
        let mut vector = Vector::default();
        for row in self.db.scan_prefix(keys::heads(team)) {
            let (key, value) = row?;
            vector.restore(DeviceId::from_bytes(id_at(&key, 17)?), read_head(&value)?);
        }
        Ok(vector)
    }

    /// Returns the head of a device's log.
    pub fn head(&self, team: TeamId, device: DeviceId) -> Result<Option<Head>, ServerError> {
        self.db.get(keys::head(team, device))?.map(|value| read_head(&value)).transpose()
    }

    /// Returns the header fingerprint of an entry.
    pub fn header_hash(&self, team: TeamId, device: DeviceId, seq: u64) -> Result<Option<Hash>, ServerError> {
        let row = self.db.get(keys::entry(team, device, seq))?;
        row.map(|row| Ok(EntryRow::read(&row)?.hash)).transpose()
    }

    /// Hands out the places of a device's entries after `after`, in order, until `take` returns false.
    pub fn places(
        &self,
        team: TeamId,
        device: DeviceId,
        after: u64,
        take: &mut dyn FnMut(Place) -> Result<bool, ServerError>,
    ) -> Result<(), ServerError> {
        let Some(first) = after.checked_add(1) else { return Ok(()) };
        let (from, to) = (keys::entry(team, device, first), keys::entry(team, device, u64::MAX));
        for row in self.db.range(from..=to) {
            if !take(EntryRow::read(&row?.1)?.place)? {
                break;
            }
        }
        Ok(())
    }

    /// Returns a thing.
    pub fn thing(&self, team: TeamId, kind: &str, id: ThingId) -> Result<Option<Thing>, ServerError> {
        if !self.db.contains_key(keys::thing(team, kind, id))? {
            return Ok(None);
        }
        let mut thing = Thing::new(kind, id);
        for row in self.db.scan_prefix(keys::parts(team, kind, id)) {
            let (key, value) = row?;
            thing.add(read_part(&key, &value)?);
        }
        Ok(Some(thing))
    }

    /// Visits the things of a kind in order of their ids; with a bow, only those that belong to it.
    pub fn visit(
        &self,
        team: TeamId,
        kind: &str,
        bow: Option<ThingId>,
        see: &mut dyn FnMut(&Thing),
    ) -> Result<(), ServerError> {
        match bow {
            None => self.visit_all(team, kind, see),
            Some(bow) => {
                let prefix = keys::of_bow(team, bow, kind);
                for row in self.db.scan_prefix(&prefix) {
                    let id = ThingId::from_bytes(id_at(&row?.0, prefix.len())?);
                    self.thing(team, kind, id)?.iter().for_each(&mut *see);
                }
                Ok(())
            }
        }
    }

    fn visit_all(&self, team: TeamId, kind: &str, see: &mut dyn FnMut(&Thing)) -> Result<(), ServerError> {
        let prefix = keys::parts_of_kind(team, kind);
        let mut current: Option<Thing> = None;
        for row in self.db.scan_prefix(&prefix) {
            let (key, value) = row?;
            let id = ThingId::from_bytes(id_at(&key, prefix.len())?);
            if current.as_ref().is_none_or(|thing| thing.id != id)
                && let Some(done) = current.replace(Thing::new(kind, id))
            {
                see(&done);
            }
            if let Some(thing) = &mut current {
                thing.add(read_part(&key, &value)?);
            }
        }
        current.iter().for_each(see);
        Ok(())
    }

    /// Gathers the fingerprints of all things of a team.
    pub fn digest(&self, team: TeamId) -> Result<Digest, ServerError> {
        let mut digest = Digest::default();
        for row in self.db.scan_prefix(keys::things(team)) {
            let (key, value) = row?;
            let (kind, id) = kind_and_id(&key)?;
            digest.put(kind, id, ThingRow::read(&value)?.hash);
        }
        Ok(digest)
    }

    /// Writes everything to the disk, so that the next start has nothing to catch up.
    pub fn flush(&self) -> Result<(), ServerError> {
        self.db.flush()?;
        Ok(())
    }
}

/// Reads kind and id out of the key of a thing.
fn kind_and_id(key: &[u8]) -> Result<(&str, ThingId), ServerError> {
    let broken = || ServerError::Index("the key of a thing cannot be read".into());
    let len = usize::from(*key.get(17).ok_or_else(broken)?);
    let kind = key.get(18..18 + len).and_then(|k| std::str::from_utf8(k).ok()).ok_or_else(broken)?;
    Ok((kind, ThingId::from_bytes(id_at(key, 18 + len)?)))
}
