//! The folded state in memory: every thing, found by kind, id and bow. Things that came out of a
//! snapshot stay as bytes until someone asks for them.

use super::snapshot;
use crate::{
    ModelError,
    id::ThingId,
    log::{Entry, Hash},
    merge::{Digest, Thing},
};
use serde::Deserialize;
use std::{
    collections::{BTreeMap, BTreeSet, btree_map},
    sync::Arc,
};

/// Where the bytes of a thing stand in a snapshot.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) struct Place {
    /// Offset of the first byte.
    pub at: u64,
    /// How many bytes.
    pub len: u32,
}

/// A thing of the state, read or not yet read.
#[derive(Debug, Clone)]
enum Row {
    /// Its contributions, read.
    Read(Thing),
    /// Its bytes in the snapshot.
    Kept(Place),
}

#[derive(Debug, Clone)]
struct Slot {
    row: Row,
    bow: Option<ThingId>,
    hash: Hash,
}

/// Every thing of a replica.
#[derive(Debug, Clone, Default)]
pub struct State {
    kinds: BTreeMap<String, BTreeMap<ThingId, Slot>>,
    of_bow: BTreeMap<(ThingId, String), BTreeSet<ThingId>>,
    /// The fingerprints, gathered on the first question about the digest.
    digest: Option<Digest>,
    kept: Arc<[u8]>,
}

#[derive(Deserialize)]
struct OfBow {
    bow: Option<ThingId>,
}

impl State {
    /// Folds an entry in; returns whether it changed anything.
    pub fn join(&mut self, entry: &Entry) -> Result<bool, ModelError> {
        if entry.body.is_none() {
            return Ok(false);
        }
        let mut thing = match self.take(&entry.kind, entry.id)? {
            Some(thing) => thing,
            None => Thing::new(entry.kind.clone(), entry.id),
        };
        let new = thing.join(entry);
        self.put(thing);
        Ok(new)
    }

    /// Returns a thing.
    pub fn thing(&self, kind: &str, id: ThingId) -> Result<Option<Thing>, ModelError> {
        let slot = self.kinds.get(kind).and_then(|things| things.get(&id));
        slot.map(|slot| self.read(kind, id, &slot.row)).transpose()
    }

    /// Visits the things of a kind, in order of their ids; with a bow, only those that name it.
    pub fn visit(
        &self,
        kind: &str,
        bow: Option<ThingId>,
        see: &mut dyn FnMut(&Thing),
    ) -> Result<(), ModelError> {
        let Some(things) = self.kinds.get(kind) else { return Ok(()) };
        let mut show = |id: ThingId, slot: &Slot| {
            match &slot.row {
                Row::Read(thing) => see(thing),
                Row::Kept(place) => see(&snapshot::read_thing(&self.kept, *place, kind, id)?),
            }
            Ok(())
        };
        match bow {
            None => things.iter().try_for_each(|(id, slot)| show(*id, slot)),
            Some(bow) => {
                let ids = self.of_bow.get(&(bow, kind.to_owned()));
                ids.into_iter()
                    .flatten()
                    .try_for_each(|id| things.get(id).map_or(Ok(()), |slot| show(*id, slot)))
            }
        }
    }

    /// Visits the things of a kind from the latest id back, until `see` returns false.
    pub fn visit_back(&self, kind: &str, see: &mut dyn FnMut(&Thing) -> bool) -> Result<(), ModelError> {
        for (id, slot) in self.kinds.get(kind).into_iter().flatten().rev() {
            let on = match &slot.row {
                Row::Read(thing) => see(thing),
                Row::Kept(place) => see(&snapshot::read_thing(&self.kept, *place, kind, *id)?),
            };
            if !on {
                break;
            }
        }
        Ok(())
    }

    /// Visits the things of a kind that were written more than once.
    pub fn visit_rewritten(&self, kind: &str, see: &mut dyn FnMut(&Thing)) -> Result<(), ModelError> {
        for (id, slot) in self.kinds.get(kind).into_iter().flatten() {
            match &slot.row {
                Row::Read(thing) if thing.parts().nth(1).is_some() => see(thing),
                Row::Kept(place) if snapshot::may_be_rewritten(&self.kept, *place)? => {
                    let thing = snapshot::read_thing(&self.kept, *place, kind, *id)?;
                    if thing.parts().nth(1).is_some() {
                        see(&thing);
                    }
                }
                _ => {}
            }
        }
        Ok(())
    }

    /// Returns the ids of the things of a kind, in order.
    pub fn ids(&self, kind: &str) -> impl DoubleEndedIterator<Item = ThingId> {
        self.kinds.get(kind).into_iter().flat_map(BTreeMap::keys).copied()
    }

    /// Returns the digest of the state.
    pub fn digest(&mut self) -> Hash {
        let kinds = &self.kinds;
        let digest = self.digest.get_or_insert_with(|| {
            let mut digest = Digest::default();
            for (kind, things) in kinds {
                things.iter().for_each(|(id, slot)| digest.put(kind, *id, slot.hash));
            }
            digest
        });
        digest.root()
    }

    /// Writes the state as a snapshot that [`State::open`] reads back.
    pub fn snapshot(&self) -> Result<Vec<u8>, ModelError> {
        let mut out = snapshot::Writer::default();
        for (kind, things) in &self.kinds {
            for (id, slot) in things {
                match &slot.row {
                    Row::Read(thing) => out.thing(thing, slot.bow, slot.hash)?,
                    Row::Kept(place) => {
                        out.bytes(kind, *id, slot.bow, slot.hash, snapshot::slice(&self.kept, *place)?)?;
                    }
                }
            }
        }
        Ok(out.finish())
    }

    /// Opens a snapshot; its things are read when they are asked for.
    pub fn open(bytes: Arc<[u8]>) -> Result<Self, ModelError> {
        let index = snapshot::index(&bytes)?;
        let mut state = Self::default();
        let mut kinds: Vec<Vec<(ThingId, Slot)>> = index.kinds.iter().map(|_| Vec::new()).collect();
        let mut of_bow: BTreeMap<(ThingId, usize), Vec<ThingId>> = BTreeMap::new();
        for row in index.rows {
            if let Some(bow) = row.bow {
                of_bow.entry((bow, row.kind)).or_default().push(row.id);
            }
            let slot = Slot { row: Row::Kept(row.place), bow: row.bow, hash: row.hash };
            kinds[row.kind].push((row.id, slot));
        }
        for ((bow, kind), ids) in of_bow {
            state.of_bow.insert((bow, index.kinds[kind].clone()), ids.into_iter().collect());
        }
        for (kind, things) in index.kinds.into_iter().zip(kinds) {
            state.kinds.insert(kind, things.into_iter().collect());
        }
        state.kept = bytes;
        Ok(state)
    }

    fn take(&mut self, kind: &str, id: ThingId) -> Result<Option<Thing>, ModelError> {
        let Some(btree_map::Entry::Occupied(slot)) = self.kinds.get_mut(kind).map(|things| things.entry(id))
        else {
            return Ok(None);
        };
        // What cannot be read stays where it is, or the state would lack what its digest covers.
        let read = match slot.get().row {
            Row::Kept(place) => Some(snapshot::read_thing(&self.kept, place, kind, id)?),
            Row::Read(_) => None,
        };
        let slot = slot.remove();
        if let Some(ids) = slot.bow.and_then(|bow| self.of_bow.get_mut(&(bow, kind.to_owned()))) {
            ids.remove(&id);
        }
        Ok(match slot.row {
            Row::Read(thing) => Some(thing),
            Row::Kept(_) => read,
        })
    }

    fn put(&mut self, thing: Thing) {
        let bow = bow_of(&thing);
        let hash = thing.hash();
        if let Some(digest) = &mut self.digest {
            digest.put(&thing.kind, thing.id, hash);
        }
        if let Some(bow) = bow {
            self.of_bow.entry((bow, thing.kind.clone())).or_default().insert(thing.id);
        }
        let things = self.kinds.entry(thing.kind.clone()).or_default();
        things.insert(thing.id, Slot { bow, hash, row: Row::Read(thing) });
    }

    fn read(&self, kind: &str, id: ThingId, row: &Row) -> Result<Thing, ModelError> {
        match row {
            Row::Read(thing) => Ok(thing.clone()),
            Row::Kept(place) => snapshot::read_thing(&self.kept, *place, kind, id),
        }
    }
}

/// Returns the bow that a thing belongs to.
pub fn bow_of(thing: &Thing) -> Option<ThingId> {
    thing.read::<OfBow>().ok().and_then(|t| t.bow)
}
