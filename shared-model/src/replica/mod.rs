//! A copy of a team's logs with the state folded from them, over a small storage trait.

mod again;
#[cfg(test)]
mod laws;
mod memory;
mod snapshot;
mod state;

pub use memory::Memory;
use state::Place;
pub use state::{State, bow_of};

use crate::{
    ModelError,
    id::{DeviceId, ThingId},
    log::{Admission, Entry, Hash, Have, Tick, VERSION, Vector, write_body},
    merge::Thing,
};
use serde_json::value::RawValue;
use std::collections::BTreeMap;

/// The most entries of a page.
pub const PAGE_ENTRIES: usize = 1000;
/// The bytes at which a page is full.
pub const PAGE_BYTES: usize = 1024 * 1024;
/// How many entries that came before their turn are held in memory until the gap closes.
const MOST_EARLY: usize = 10_000;

/// Where a replica keeps its logs and reads its state.
///
/// A commit is durable when it returns; afterwards all reads see it.
pub trait Store {
    /// What can go wrong with the storage.
    type Error: From<ModelError>;

    /// Returns the heads of all logs.
    fn vector(&self) -> &Vector;
    /// Returns the header fingerprint of an entry that is stored.
    fn header_hash(&self, device: DeviceId, seq: u64) -> Result<Option<Hash>, Self::Error>;
    /// Hands out a device's entries after `after` in order, until `take` returns false.
    fn log(
        &self,
        device: DeviceId,
        after: u64,
        take: &mut dyn FnMut(Entry) -> bool,
    ) -> Result<(), Self::Error>;
    /// Keeps entries that continue their logs, which `vector` describes from then on.
    fn commit(&mut self, entries: Vec<Entry>, vector: Vector) -> Result<(), Self::Error>;
    /// Returns a thing.
    fn thing(&self, kind: &str, id: ThingId) -> Result<Option<Thing>, Self::Error>;
    /// Visits all things of a kind in order of their ids; with a bow, only those that belong to it.
    fn visit(&self, kind: &str, bow: Option<ThingId>, see: &mut dyn FnMut(&Thing))
    -> Result<(), Self::Error>;
    /// Visits the things of a kind from the latest id back, until `see` returns false.
    fn visit_back(&self, kind: &str, see: &mut dyn FnMut(&Thing) -> bool) -> Result<(), Self::Error> {
        let mut ids = Vec::new();
        self.visit(kind, None, &mut |thing| ids.push(thing.id))?;
        for id in ids.into_iter().rev() {
            if !self.thing(kind, id)?.is_none_or(|thing| see(&thing)) {
                break;
            }
        }
        Ok(())
    }
    /// Visits the things of a kind that were written more than once: only these can hold differences.
    fn visit_rewritten(&self, kind: &str, see: &mut dyn FnMut(&Thing)) -> Result<(), Self::Error> {
        self.visit(kind, None, &mut |thing| {
            if thing.parts().nth(1).is_some() {
                see(thing);
            }
        })
    }
    /// Returns the digest of the state.
    fn digest(&mut self) -> Result<Hash, Self::Error>;
}

/// What someone wants recorded: some fields of a thing.
#[derive(Debug, Clone)]
pub struct Draft {
    /// What kind of thing.
    pub kind: String,
    /// Which one; a new id makes a new thing.
    pub id: ThingId,
    /// The fields to set.
    pub set: BTreeMap<String, Box<RawValue>>,
    /// Whether the draft settles differences: it then replaces every rival value, not only the one that stands.
    pub settles: bool,
}

/// Who writes, with which device.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Writer {
    /// The log that is written to.
    pub device: DeviceId,
    /// The person.
    pub author: ThingId,
}

/// What became of entries that came from elsewhere.
#[derive(Debug, Default)]
pub struct Absorbed {
    /// How many were new and are kept.
    pub kept: usize,
    /// How many were there already.
    pub known: usize,
    /// Those that are not kept, with the reason.
    pub refused: Vec<Refused>,
}

/// An entry that was not kept.
#[derive(Debug, Clone, PartialEq)]
pub struct Refused {
    /// Whose log.
    pub device: DeviceId,
    /// Which entry of it.
    pub seq: u64,
    /// Why.
    pub why: Admission,
}

/// Entries that another replica lacks.
#[derive(Debug, Default)]
pub struct Page {
    /// The entries, each log in order.
    pub entries: Vec<Entry>,
    /// Whether there are more.
    pub more: bool,
}

/// A replica over its store.
pub struct Replica<S> {
    store: S,
    early: BTreeMap<(DeviceId, u64), Entry>,
}

impl<S: Store> Replica<S> {
    /// Opens a replica over a store.
    pub fn new(store: S) -> Self {
        Self { store, early: BTreeMap::new() }
    }

    /// Returns the store.
    pub fn store(&self) -> &S {
        &self.store
    }

    /// Returns the store, to be changed by its owner.
    pub fn store_mut(&mut self) -> &mut S {
        &mut self.store
    }

    /// Writes drafts to the writer's log and keeps them; all or none.
    pub fn append(
        &mut self,
        writer: Writer,
        drafts: Vec<Draft>,
        wall_ms: u64,
    ) -> Result<Vec<Entry>, S::Error> {
        let mut vector = self.store.vector().clone();
        let mut things: BTreeMap<(String, ThingId), Thing> = BTreeMap::new();
        let mut entries = Vec::with_capacity(drafts.len());
        let mut tick = vector.clock();
        for draft in drafts {
            let key = (draft.kind.clone(), draft.id);
            if !things.contains_key(&key) {
                let thing = self.store.thing(&draft.kind, draft.id)?;
                things.insert(key.clone(), thing.unwrap_or_else(|| Thing::new(&draft.kind, draft.id)));
            }
            let thing = things.get_mut(&key).expect("it was put there just now");
            tick = tick.next(wall_ms)?;
            let entry = write(&vector, writer, tick, thing, draft)?;
            match vector.admit(&entry, || None) {
                Admission::Next => {}
                Admission::Bad(e) => return Err(e.into()),
                other => unreachable!("an entry made from the head continues it: {other:?}"),
            }
            thing.join(&entry);
            entries.push(entry);
        }
        self.store.commit(entries.clone(), vector)?;
        Ok(entries)
    }

    /// Takes in entries from elsewhere; what is kept is durable when this returns.
    ///
    /// Entries that come before their turn are held in memory and kept once the gap closes.
    pub fn absorb(&mut self, entries: Vec<Entry>) -> Result<Absorbed, S::Error> {
        let mut vector = self.store.vector().clone();
        let mut done = Absorbed::default();
        let mut kept: Vec<Entry> = Vec::new();
        let mut queue = entries;
        queue.sort_by_key(|e| (e.device, e.seq));
        queue.reverse();
        while let Some(entry) = queue.pop() {
            let (device, seq) = (entry.device, entry.seq);
            match admit(&self.store, &mut vector, &kept, &entry)? {
                Admission::Next => {
                    kept.push(entry);
                    if let Some(next) = self.early.remove(&(device, seq + 1)) {
                        queue.push(next);
                    }
                }
                Admission::Known => done.known += 1,
                why => {
                    if why == Admission::Early && self.early.len() < MOST_EARLY {
                        self.early.insert((device, seq), entry);
                    }
                    done.refused.push(Refused { device, seq, why });
                }
            }
        }
        done.kept = kept.len();
        done.refused.retain(|r| r.why != Admission::Early || r.seq > vector.seq(r.device));
        if !kept.is_empty() {
            self.store.commit(kept, vector)?;
        }
        Ok(done)
    }

    /// Returns a page of what a replica with these marks lacks.
    pub fn missing_for(&self, have: &Have) -> Result<Page, S::Error> {
        missing_for(&self.store, have)
    }
}

/// Returns a page of the entries that a replica with these marks lacks.
pub fn missing_for<S: Store>(store: &S, have: &Have) -> Result<Page, S::Error> {
    let mut page = Page::default();
    let mut bytes = 0;
    let heads: Vec<(DeviceId, u64)> = store.vector().iter().map(|(d, h)| (d, h.seq)).collect();
    for (device, seq) in heads {
        let after = have.get(&device).map_or(0, |mark| mark.0);
        if after >= seq {
            continue;
        }
        if page.entries.len() >= PAGE_ENTRIES || bytes >= PAGE_BYTES {
            page.more = true;
            break;
        }
        let mut last = after;
        store.log(device, after, &mut |entry| {
            bytes += 320 + entry.body.as_ref().map_or(0, |b| b.get().len());
            last = entry.seq;
            page.entries.push(entry);
            page.entries.len() < PAGE_ENTRIES && bytes < PAGE_BYTES
        })?;
        page.more |= last < seq;
    }
    Ok(page)
}

/// Decides about an entry, which may be known from the store or be among those just `kept`.
fn admit<S: Store>(
    store: &S,
    vector: &mut Vector,
    kept: &[Entry],
    entry: &Entry,
) -> Result<Admission, S::Error> {
    let of = (entry.device, entry.seq);
    let mut failed = None;
    let why = vector.admit(entry, || {
        let fresh = kept.iter().rev().find(|k| (k.device, k.seq) == of).map(Entry::header_hash);
        fresh.or_else(|| {
            store.header_hash(of.0, of.1).unwrap_or_else(|e| {
                failed = Some(e);
                None
            })
        })
    });
    failed.map_or(Ok(why), Err)
}

fn write(
    vector: &Vector,
    writer: Writer,
    tick: Tick,
    thing: &Thing,
    draft: Draft,
) -> Result<Entry, ModelError> {
    let fields = thing.fields();
    let mut over = BTreeMap::new();
    for name in draft.set.keys() {
        let Some(field) = fields.get(name) else { continue };
        let rivals = field.others.iter().filter(|_| draft.settles).map(|a| a.stamp);
        // Whoever saw the value that stands saw every assignment of it.
        let seen = std::iter::once(field.now.stamp).chain(field.same.iter().copied());
        over.insert(name.clone(), seen.chain(rivals).collect());
    }
    let body = write_body(&draft.set, &over)?;
    let head = vector.head(writer.device);
    Ok(Entry {
        v: VERSION,
        device: writer.device,
        seq: head.map_or(1, |h| h.seq + 1),
        stamp: tick,
        author: writer.author,
        kind: draft.kind,
        id: draft.id,
        body_hash: Hash::of(body.get().as_bytes()),
        prev: head.map_or(Hash::NONE, |h| h.hash),
        body: Some(body),
    })
}
