//! The byte layout of the index's values; ids, hashes and numbers have fixed widths, big-endian.

use crate::{
    error::ServerError,
    journal::{Place, Placed},
};
use sheaf_model::{
    id::{DeviceId, ThingId},
    journal,
    log::{Hash, Head, Stamp, Tick},
    merge::Contribution,
};

/// How far into the journal the index has come, with what proves that it is the same journal.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Position {
    /// The last line that was applied.
    pub last: Place,
    /// The checksum that this line begins with.
    pub sum: [u8; 8],
}

/// Where an entry stands, and the fingerprint of its header.
#[derive(Debug, Clone, Copy)]
pub struct EntryRow {
    /// Where.
    pub place: Place,
    /// The fingerprint.
    pub hash: Hash,
}

/// What the index knows of a thing beside its contributions.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct ThingRow {
    /// Its fingerprint.
    pub hash: Hash,
    /// The bow it belongs to.
    pub bow: Option<ThingId>,
}

impl Position {
    /// Returns the position behind a line.
    pub fn of(placed: &Placed) -> Result<Self, ServerError> {
        let mut bytes = Vec::new();
        journal::encode(&placed.line, &mut bytes)?;
        let mut sum = [0; 8];
        sum.copy_from_slice(&bytes[..8]);
        Ok(Self { last: placed.place, sum })
    }

    pub fn write(&self) -> Vec<u8> {
        [&write_place(self.last)[..], &self.sum].concat()
    }

    pub fn read(bytes: &[u8]) -> Result<Self, ServerError> {
        let mut at = Bytes(bytes);
        Ok(Self { last: at.place()?, sum: at.take()? })
    }
}

impl EntryRow {
    pub fn write(&self) -> Vec<u8> {
        [&write_place(self.place)[..], self.hash.as_bytes()].concat()
    }

    pub fn read(bytes: &[u8]) -> Result<Self, ServerError> {
        let mut at = Bytes(bytes);
        Ok(Self { place: at.place()?, hash: Hash::from_bytes(at.take()?) })
    }
}

impl ThingRow {
    pub fn write(&self) -> Vec<u8> {
        let mut bytes = self.hash.as_bytes().to_vec();
        bytes.extend(self.bow.iter().flat_map(|b| *b.as_bytes()));
        bytes
    }

    pub fn read(bytes: &[u8]) -> Result<Self, ServerError> {
        let mut at = Bytes(bytes);
        let hash = Hash::from_bytes(at.take()?);
        let bow = if at.0.is_empty() { None } else { Some(ThingId::from_bytes(at.take()?)) };
        Ok(Self { hash, bow })
    }
}

/// Reads where a segment ends.
pub fn read_end(bytes: &[u8]) -> Result<u64, ServerError> {
    Ok(u64::from_be_bytes(Bytes(bytes).take()?))
}

pub fn write_head(head: &Head) -> Vec<u8> {
    let (seq, ms, counter) =
        (head.seq.to_be_bytes(), head.tick.ms().to_be_bytes(), head.tick.counter().to_be_bytes());
    [&seq[..], head.hash.as_bytes(), &ms, &counter].concat()
}

pub fn read_head(bytes: &[u8]) -> Result<Head, ServerError> {
    let mut at = Bytes(bytes);
    let seq = u64::from_be_bytes(at.take()?);
    let hash = Hash::from_bytes(at.take()?);
    Ok(Head { seq, hash, tick: at.tick()? })
}

pub fn write_part(part: &Contribution) -> Vec<u8> {
    [part.author.as_bytes(), part.body.get().as_bytes()].concat()
}

/// Reads a contribution; its stamp stands at the end of the key.
pub fn read_part(key: &[u8], value: &[u8]) -> Result<Contribution, ServerError> {
    let from = key.len().checked_sub(28).ok_or_else(short)?;
    let mut at = Bytes(&key[from..]);
    let stamp = Stamp { tick: at.tick()?, device: DeviceId::from_bytes(at.take()?) };
    let mut at = Bytes(value);
    let author = ThingId::from_bytes(at.take()?);
    let body =
        serde_json::from_slice(at.0).map_err(|e| ServerError::Index(format!("a contribution: {e}")))?;
    Ok(Contribution { stamp, author, body })
}

/// Reads the 16 bytes of an id that stand at a place of a key.
pub fn id_at(key: &[u8], from: usize) -> Result<[u8; 16], ServerError> {
    Bytes(key.get(from..).ok_or_else(short)?).take()
}

fn write_place(place: Place) -> [u8; 16] {
    let mut bytes = [0; 16];
    bytes[..4].copy_from_slice(&place.segment.to_be_bytes());
    bytes[4..12].copy_from_slice(&place.at.to_be_bytes());
    bytes[12..].copy_from_slice(&place.len.to_be_bytes());
    bytes
}

fn short() -> ServerError {
    ServerError::Index("a row is too short".into())
}

struct Bytes<'a>(&'a [u8]);

impl Bytes<'_> {
    fn take<const N: usize>(&mut self) -> Result<[u8; N], ServerError> {
        let (found, rest) = self.0.split_first_chunk::<N>().ok_or_else(short)?;
        self.0 = rest;
        Ok(*found)
    }

    fn place(&mut self) -> Result<Place, ServerError> {
        Ok(Place {
            segment: u32::from_be_bytes(self.take()?),
            at: u64::from_be_bytes(self.take()?),
            len: u32::from_be_bytes(self.take()?),
        })
    }

    fn tick(&mut self) -> Result<Tick, ServerError> {
        let (ms, counter) = (u64::from_be_bytes(self.take()?), u32::from_be_bytes(self.take()?));
        Ok(Tick::new(ms, counter)?)
    }
}
