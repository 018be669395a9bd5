//! Entries that fit together, and what must hold of taking them in.

use super::told::{told, well};
use sheaf_model::{
    log::{Admission, Entry, Hash, Vector},
    replica::{Memory, Replica, State, Store},
};
use std::sync::Arc;

/// Puts number, chain and fingerprint of an entry right, which no change of bytes would do, and returns it when it may
/// then be kept; `vector` moves on to it.
pub fn mended_one(vector: &mut Vector, mut entry: Entry) -> Option<Entry> {
    let head = vector.head(entry.device).copied();
    entry.seq = head.map_or(1, |h| h.seq + 1);
    entry.prev = head.map_or(Hash::NONE, |h| h.hash);
    entry.body_hash = Hash::of(entry.body.as_ref().map_or("", |b| b.get()).as_bytes());
    match vector.admit(&entry, || None) {
        Admission::Next => Some(entry),
        Admission::Bad(e) => {
            told(&e);
            None
        }
        other => panic!("an entry that continues its log is {other:?}"),
    }
}

/// Puts entries right as [`mended_one`] does.
pub fn mended(entries: Vec<Entry>) -> Vec<Entry> {
    let mut vector = Vector::default();
    entries.into_iter().filter_map(|entry| mended_one(&mut vector, entry)).collect()
}

/// Checks that entries that came as they may are kept once, and not again.
pub fn taken_in_once(entries: &[Entry]) {
    let mut replica = Replica::new(Memory::default());
    let first = replica.absorb(entries.to_vec()).expect("memory keeps");
    let digest = replica.store_mut().digest().expect("a digest");
    let total = replica.store().vector().total();
    assert_eq!(total as usize, first.kept);
    let again = replica.absorb(entries.to_vec()).expect("memory keeps");
    assert_eq!(again.kept, 0, "taken in twice: {again:?}");
    assert_eq!(replica.store_mut().digest().expect("a digest"), digest);
    for refused in &first.refused {
        if let Admission::Bad(e) = &refused.why {
            told(e);
        }
    }
}

/// Takes entries in that fit: all at once, backwards one by one and page by page come to the same state, and so does a
/// snapshot of it. Returns the replica.
pub fn merged(entries: &[Entry]) -> Replica<Memory> {
    let mut whole = Replica::new(Memory::default());
    let first = whole.absorb(entries.to_vec()).expect("memory keeps");
    assert_eq!((first.kept, first.refused.len()), (entries.len(), 0), "{first:?}");
    let digest = whole.store_mut().digest().expect("a digest");
    let mut back = Replica::new(Memory::default());
    for entry in entries.iter().rev() {
        back.absorb(vec![entry.clone()]).expect("memory keeps");
    }
    assert_eq!(back.store_mut().digest().expect("a digest"), digest, "the order does not matter");
    let mut paged = Replica::new(Memory::default());
    loop {
        let page = whole.missing_for(&paged.store().vector().have()).expect("a page");
        let more = page.more;
        let kept = paged.absorb(page.entries).expect("memory keeps").kept;
        assert_eq!(more, more && kept > 0, "a page that is not the last one brings something");
        if !more {
            break;
        }
    }
    assert_eq!(paged.store().vector(), whole.store().vector());
    assert_eq!(paged.store_mut().digest().expect("a digest"), digest);
    let mut state = State::default();
    for entry in entries {
        state.join(entry).expect("an entry that may be kept joins");
    }
    if let Some(snapshot) = well(state.snapshot()) {
        let mut opened = State::open(Arc::from(snapshot)).expect("a snapshot is read");
        assert_eq!(opened.digest(), digest);
    }
    whole
}
