//! `snapshot`: the state and the places of all entries up to a position of the journal, so that a
//! command need not fold a whole season. It is derived: one that fails any check is thrown away.
//!
//! Layout, little-endian: magic `SHEAFCS1`; length of the index (u64); CRC-32 of the index (u32); the index:
//! team 16, position (segment u32, offset u64, batch u64), number of logs (u32), then each log (device 16,
//! last number u64, hash 32, stamp ms u64 and counter u32, then a place of segment u32, offset u64 and length
//! u32 for every entry); then the model's snapshot of the state.

use super::{
    files,
    segments::{Place, Position},
};
use crate::CliError;
use sheaf_model::{
    ModelError,
    id::{DeviceId, TeamId},
    log::{Hash, Head, Tick, Vector},
    replica::State,
};
use std::{collections::BTreeMap, fs::File, io::Read, path::Path, sync::Arc};

const MAGIC: &[u8; 8] = b"SHEAFCS1";
/// The name of the file within the journal's folder.
pub const NAME: &str = "snapshot";

/// The places of all entries: each device's log in order.
pub type Places = BTreeMap<DeviceId, Vec<Place>>;

/// What a snapshot holds.
pub struct Snapshot {
    /// How far into the journal it goes.
    pub position: Position,
    /// The heads of all logs there.
    pub vector: Vector,
    /// Where the entries stand.
    pub places: Places,
    /// The state.
    pub state: State,
}

/// Writes a snapshot beside the journal, in one step.
pub fn write(
    folder: &Path,
    team: TeamId,
    position: Position,
    vector: &Vector,
    places: &Places,
    state: &State,
) -> Result<(), CliError> {
    let mut index = Vec::new();
    index.extend_from_slice(team.as_bytes());
    index.extend_from_slice(&position.segment.to_le_bytes());
    index.extend_from_slice(&position.at.to_le_bytes());
    index.extend_from_slice(&position.batch.to_le_bytes());
    index.extend_from_slice(&(places.len() as u32).to_le_bytes());
    for (device, log) in places {
        let Some(head) = vector.head(*device) else { continue };
        index.extend_from_slice(device.as_bytes());
        index.extend_from_slice(&head.seq.to_le_bytes());
        index.extend_from_slice(head.hash.as_bytes());
        index.extend_from_slice(&head.tick.ms().to_le_bytes());
        index.extend_from_slice(&head.tick.counter().to_le_bytes());
        for place in log {
            index.extend_from_slice(&place.segment.to_le_bytes());
            index.extend_from_slice(&place.at.to_le_bytes());
            index.extend_from_slice(&place.len.to_le_bytes());
        }
    }
    let mut bytes = MAGIC.to_vec();
    bytes.extend_from_slice(&(index.len() as u64).to_le_bytes());
    bytes.extend_from_slice(&crc32fast::hash(&index).to_le_bytes());
    bytes.append(&mut index);
    bytes.append(&mut state.snapshot()?);
    files::replace_derived(&folder.join(NAME), &bytes)
}

/// Reads the snapshot of a journal; nothing when there is none that can be used.
pub fn read(folder: &Path, team: TeamId) -> Option<Snapshot> {
    let mut file = File::open(folder.join(NAME)).ok()?;
    let length = file.metadata().ok()?.len();
    let mut head = [0; 20];
    file.read_exact(&mut head).ok()?;
    let (magic, rest) = head.split_at(8);
    let (size, sum) = rest.split_at(8);
    let size = u64::from_le_bytes(size.try_into().ok()?);
    if magic != MAGIC || size > length {
        return None;
    }
    let mut index = vec![0; usize::try_from(size).ok()?];
    file.read_exact(&mut index).ok()?;
    if crc32fast::hash(&index).to_le_bytes() != sum {
        return None;
    }
    let (position, vector, places) = read_index(&index, team).ok()?;
    let left = usize::try_from(length.checked_sub(20 + size)?).ok()?;
    // Made in place: a copy of the state's bytes would cost as much as reading them.
    let mut bytes: Arc<[u8]> = std::iter::repeat_n(0, left).collect();
    file.read_exact(Arc::get_mut(&mut bytes)?).ok()?;
    let state = State::open(bytes).ok()?;
    Some(Snapshot { position, vector, places, state })
}

fn read_index(index: &[u8], team: TeamId) -> Result<(Position, Vector, Places), ModelError> {
    let mut at = Cursor(index);
    if at.array::<16>()? != *team.as_bytes() {
        return Err(short());
    }
    let position = Position { segment: at.u32()?, at: at.u64()?, batch: at.u64()? };
    let (mut vector, mut places) = (Vector::default(), Places::new());
    for _ in 0..at.u32()? {
        let device = DeviceId::from_bytes(at.array()?);
        let (seq, hash) = (at.u64()?, Hash::from_bytes(at.array()?));
        let tick = Tick::new(at.u64()?, at.u32()?)?;
        let count = usize::try_from(seq).ok().filter(|n| *n <= at.0.len() / 16).ok_or_else(short)?;
        let mut log = Vec::with_capacity(count);
        for _ in 0..count {
            log.push(Place { segment: at.u32()?, at: at.u64()?, len: at.u32()? });
        }
        vector.restore(device, Head { seq, hash, tick });
        places.insert(device, log);
    }
    Ok((position, vector, places))
}

struct Cursor<'a>(&'a [u8]);

impl Cursor<'_> {
    fn array<const N: usize>(&mut self) -> Result<[u8; N], ModelError> {
        let (taken, rest) = self.0.split_first_chunk::<N>().ok_or_else(short)?;
        self.0 = rest;
        Ok(*taken)
    }

    fn u32(&mut self) -> Result<u32, ModelError> {
        Ok(u32::from_le_bytes(self.array()?))
    }

    fn u64(&mut self) -> Result<u64, ModelError> {
        Ok(u64::from_le_bytes(self.array()?))
    }
}

fn short() -> ModelError {
    ModelError::new("bad_snapshot", "the snapshot cannot be used")
}
