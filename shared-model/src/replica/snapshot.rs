//! The bytes of a snapshot: an index of fixed rows, then the contributions of every thing as JSON.
//!
//! Layout, little-endian: magic `SHEAFST1`; CRC-32 of everything after it (u32); number of kinds (u32),
//! each a length byte and its name; number of rows (u32); rows of 79 bytes (kind u16, id 16, has-bow u8,
//! bow 16, hash 32, offset u64, length u32); then the data that offsets count from. A snapshot is derived:
//! one that fails any check is thrown away and folded again from the log.

use super::Place;
use crate::{
    ModelError,
    id::ThingId,
    log::Hash,
    merge::{Contribution, Thing},
};
use std::collections::BTreeMap;

const MAGIC: &[u8; 8] = b"SHEAFST1";
const ROW: usize = 79;

/// The index of a snapshot.
pub struct Index {
    /// The kinds, in order of their names.
    pub kinds: Vec<String>,
    /// A row a thing, in order of kind and id.
    pub rows: Vec<Indexed>,
}

/// A row of the index.
pub struct Indexed {
    /// What kind of thing, as its place among the kinds.
    pub kind: usize,
    /// Which one.
    pub id: ThingId,
    /// The bow it belongs to.
    pub bow: Option<ThingId>,
    /// Its fingerprint.
    pub hash: Hash,
    /// Where its bytes stand, from the start of the file.
    pub place: Place,
}

/// Gathers the things of a snapshot.
#[derive(Default)]
pub struct Writer {
    kinds: BTreeMap<String, u16>,
    rows: Vec<u8>,
    data: Vec<u8>,
}

impl Writer {
    /// Adds a thing.
    pub fn thing(&mut self, thing: &Thing, bow: Option<ThingId>, hash: Hash) -> Result<(), ModelError> {
        let parts: Vec<&Contribution> = thing.parts().collect();
        let bytes = serde_json::to_vec(&parts).map_err(|e| ModelError::new("bad_snapshot", e.to_string()))?;
        self.bytes(&thing.kind, thing.id, bow, hash, &bytes)
    }

    /// Adds a thing that is at hand as bytes.
    pub fn bytes(
        &mut self,
        kind: &str,
        id: ThingId,
        bow: Option<ThingId>,
        hash: Hash,
        bytes: &[u8],
    ) -> Result<(), ModelError> {
        let kind = match self.kinds.get(kind) {
            Some(place) => *place,
            None => {
                let next = u16::try_from(self.kinds.len()).map_err(|_| too_much("more than 65,536 kinds"))?;
                self.kinds.insert(kind.to_owned(), next);
                next
            }
        };
        let len = u32::try_from(bytes.len()).map_err(|_| too_much("a thing of over 4 GiB"))?;
        self.rows.extend_from_slice(&kind.to_le_bytes());
        self.rows.extend_from_slice(id.as_bytes());
        self.rows.push(u8::from(bow.is_some()));
        self.rows.extend_from_slice(bow.map_or([0; 16], |b| *b.as_bytes()).as_slice());
        self.rows.extend_from_slice(hash.as_bytes());
        self.rows.extend_from_slice(&(self.data.len() as u64).to_le_bytes());
        self.rows.extend_from_slice(&len.to_le_bytes());
        self.data.extend_from_slice(bytes);
        Ok(())
    }

    /// Returns the bytes of the snapshot.
    pub fn finish(self) -> Vec<u8> {
        let mut body = Vec::with_capacity(self.rows.len() + self.data.len() + 1024);
        let mut names: Vec<(&String, &u16)> = self.kinds.iter().collect();
        names.sort_by_key(|(_, n)| **n);
        body.extend_from_slice(&(names.len() as u32).to_le_bytes());
        for (name, _) in names {
            body.push(name.len() as u8);
            body.extend_from_slice(name.as_bytes());
        }
        body.extend_from_slice(&((self.rows.len() / ROW) as u32).to_le_bytes());
        body.extend_from_slice(&self.rows);
        body.extend_from_slice(&self.data);
        let mut out = MAGIC.to_vec();
        out.extend_from_slice(&crc32fast::hash(&body).to_le_bytes());
        out.append(&mut body);
        out
    }
}

/// Reads the index of a snapshot after checking its checksum.
pub fn index(bytes: &[u8]) -> Result<Index, ModelError> {
    let mut at = Cursor { bytes, at: 0 };
    if at.take(8)? != MAGIC {
        return Err(broken("it is none, or of another version"));
    }
    let sum = at.u32()?;
    if crc32fast::hash(&bytes[12..]) != sum {
        return Err(broken("it fails its checksum"));
    }
    let mut kinds = Vec::new();
    for _ in 0..at.u32()? {
        let len = usize::from(at.take(1)?[0]);
        let name = std::str::from_utf8(at.take(len)?).map_err(|_| broken("a kind is no text"))?;
        kinds.push(name.to_owned());
    }
    let count = at.u32()? as usize;
    let table = at.take(count.checked_mul(ROW).ok_or_else(|| broken("its index is too long"))?)?;
    let data = at.at as u64;
    let rows =
        table.chunks_exact(ROW).map(|row| read_row(row, kinds.len(), data)).collect::<Result<_, _>>()?;
    Ok(Index { kinds, rows })
}

fn read_row(row: &[u8], kinds: usize, data: u64) -> Result<Indexed, ModelError> {
    let mut at = Cursor { bytes: row, at: 0 };
    let kind = usize::from(u16::from_le_bytes(at.array()?));
    let id = ThingId::from_bytes(at.array()?);
    let has_bow = at.take(1)?[0] == 1;
    let bow = ThingId::from_bytes(at.array()?);
    let hash = Hash::from_bytes(at.array()?);
    let from = u64::from_le_bytes(at.array()?);
    let from = data.checked_add(from).ok_or_else(|| broken("a thing lies beyond its end"))?;
    let place = Place { at: from, len: at.u32()? };
    if kind >= kinds {
        return Err(broken("a kind is missing"));
    }
    Ok(Indexed { kind, id, bow: has_bow.then_some(bow), hash, place })
}

/// Returns the bytes at a place.
pub fn slice(bytes: &[u8], place: Place) -> Result<&[u8], ModelError> {
    let from = usize::try_from(place.at).unwrap_or(usize::MAX);
    bytes.get(from..from.saturating_add(place.len as usize)).ok_or_else(|| broken("it is too short"))
}

/// Says whether the bytes of a thing can hold more than one contribution, without reading them: every
/// contribution opens with its stamp.
pub fn may_be_rewritten(bytes: &[u8], place: Place) -> Result<bool, ModelError> {
    let text = std::str::from_utf8(slice(bytes, place)?).map_err(|_| broken("a thing is no text"))?;
    Ok(text.get(2..).is_none_or(|rest| rest.contains("{\"stamp\":")))
}

/// Reads a thing at a place.
pub fn read_thing(bytes: &[u8], place: Place, kind: &str, id: ThingId) -> Result<Thing, ModelError> {
    let parts: Vec<Contribution> =
        serde_json::from_slice(slice(bytes, place)?).map_err(|e| broken(&e.to_string()))?;
    let mut thing = Thing::new(kind, id);
    for part in parts {
        thing.add(part);
    }
    Ok(thing)
}

struct Cursor<'a> {
    bytes: &'a [u8],
    at: usize,
}

impl<'a> Cursor<'a> {
    fn take(&mut self, len: usize) -> Result<&'a [u8], ModelError> {
        let end = self.at.checked_add(len).ok_or_else(|| broken("it is too short"))?;
        let found = self.bytes.get(self.at..end).ok_or_else(|| broken("it is too short"))?;
        self.at = end;
        Ok(found)
    }

    fn array<const N: usize>(&mut self) -> Result<[u8; N], ModelError> {
        self.take(N)?.try_into().map_err(|_| broken("it is too short"))
    }

    fn u32(&mut self) -> Result<u32, ModelError> {
        Ok(u32::from_le_bytes(self.array()?))
    }
}

fn too_much(what: &str) -> ModelError {
    ModelError::new("bad_snapshot", format!("a snapshot cannot hold {what}; go on without one"))
}

fn broken(why: &str) -> ModelError {
    ModelError::new("bad_snapshot", format!("the snapshot cannot be used: {why}"))
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::{super::State, *};
    use std::sync::Arc;

    #[test]
    fn a_snapshot_that_cannot_hold_its_kinds_or_points_beyond_all_bytes_is_refused() {
        let id = ThingId::new(1_775_000_000_000, [1; 10]);
        let mut out = Writer::default();
        let mut add = |n: u32| out.bytes(&format!("kind_{n}"), id, None, Hash::NONE, b"[]");
        assert!((0..=u32::from(u16::MAX)).all(|n| add(n).is_ok()));
        assert_eq!(add(70_000).unwrap_err().code, "bad_snapshot");
        assert!(add(0).is_ok(), "a kind that is there already takes more things");

        let mut out = Writer::default();
        out.bytes("note", id, None, Hash::NONE, b"[]").unwrap();
        let mut bytes = out.finish();
        // The last twelve bytes of the one row, before two of data, are the offset and the length.
        let offset = bytes.len() - 14;
        bytes[offset..offset + 8].fill(0xFF);
        let sum = crc32fast::hash(&bytes[12..]);
        bytes[8..12].copy_from_slice(&sum.to_le_bytes());
        assert_eq!(State::open(Arc::from(bytes)).unwrap_err().code, "bad_snapshot");
    }
}
