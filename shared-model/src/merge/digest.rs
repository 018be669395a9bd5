//! One fingerprint of the whole state, kept up to date thing by thing.
//!
//! # Formula
//! Things are dealt into 256 buckets by the last byte of their id (random in every UUIDv7). A bucket's
//! hash covers kind, id and hash of its things in order; the digest covers the 256 bucket hashes.
//! Changing one thing rehashes one bucket.

use crate::{id::ThingId, log::Hash};
use std::collections::BTreeMap;

/// The fingerprints of all things of a state.
#[derive(Debug, Clone)]
pub struct Digest {
    buckets: Vec<Bucket>,
}

#[derive(Debug, Clone, Default)]
struct Bucket {
    things: BTreeMap<(String, ThingId), Hash>,
    hash: Option<Hash>,
}

impl Default for Digest {
    fn default() -> Self {
        Self { buckets: vec![Bucket::default(); 256] }
    }
}

impl Digest {
    /// Sets the fingerprint of a thing.
    pub fn put(&mut self, kind: &str, id: ThingId, hash: Hash) {
        let bucket = &mut self.buckets[usize::from(id.as_bytes()[15])];
        bucket.things.insert((kind.to_owned(), id), hash);
        bucket.hash = None;
    }

    /// Returns the fingerprint of the state.
    pub fn root(&mut self) -> Hash {
        let hashes: Vec<Hash> = self.buckets.iter_mut().map(Bucket::root).collect();
        Hash::of_all(hashes.iter().map(|h| &h.as_bytes()[..]))
    }
}

impl Bucket {
    fn root(&mut self) -> Hash {
        let things = &self.things;
        *self.hash.get_or_insert_with(|| {
            Hash::of_all(things.iter().flat_map(|((kind, id), hash)| {
                [kind.as_bytes(), b"\n", &id.as_bytes()[..], &hash.as_bytes()[..]]
            }))
        })
    }
}
