//! A device's disk: the model's journal format in memory, behind the model's storage trait, and what a crash
//! leaves of it.

use sheaf_model::{
    ModelError,
    id::{DeviceId, TeamId, ThingId},
    journal::{self, Head as FileHead, Line},
    log::{Entry, Hash, Head, Vector},
    merge::Thing,
    replica::{Memory, Store},
    rng::{Rng, Seed},
};

/// The bytes that a disk writes as one.
pub const SECTOR: usize = 512;

/// A journal and the state folded from it.
pub struct Disk {
    team: TeamId,
    bytes: Vec<u8>,
    batch: u64,
    memory: Memory,
}

impl Disk {
    /// Opens what stands on a disk: a torn tail is cut off, damage is an error.
    pub fn open(team: TeamId, mut bytes: Vec<u8>) -> Result<Self, ModelError> {
        let found = journal::scan(&bytes, 0)?;
        bytes.truncate(found.end);
        if bytes.is_empty() {
            journal::encode(&Line::Journal(FileHead::journal()), &mut bytes)?;
        }
        let mut memory = Memory::default();
        let (mut vector, mut entries) = (Vector::default(), Vec::new());
        for line in found.lines {
            if let Line::Entry(_, entry) = line.line {
                let head = Head { seq: entry.seq, hash: entry.header_hash(), tick: entry.stamp };
                vector.restore(entry.device, head);
                entries.push(*entry);
            }
        }
        memory.commit(entries, vector)?;
        Ok(Self { team, bytes, batch: found.batch, memory })
    }

    /// Returns everything that is on the disk.
    pub fn bytes(&self) -> &[u8] {
        &self.bytes
    }

    /// Returns what a power cut leaves when everything from `synced` on was written and not yet synced.
    pub fn torn(&self, synced: usize, rng: &mut Rng) -> Vec<u8> {
        tear(&self.bytes, synced, rng)
    }

    /// Returns all entries, each log in order.
    pub fn entries(&self) -> Result<Vec<Entry>, ModelError> {
        let mut found = Vec::new();
        for device in self.vector().iter().map(|(device, _)| device).collect::<Vec<_>>() {
            self.log(device, 0, &mut |entry| {
                found.push(entry);
                true
            })?;
        }
        Ok(found)
    }
}

/// Keeps of the bytes from `synced` on some sectors in any order: others are cut off, or still hold zeros.
pub fn tear(bytes: &[u8], synced: usize, rng: &mut Rng) -> Vec<u8> {
    // A generator of its own: how much is drawn from it hangs on sizes that may differ from run to run.
    let rng = &mut Rng::new(Seed(rng.next_u64()));
    let fresh = bytes.len() - synced;
    let mut left = bytes[..synced + rng.below(fresh as u64 + 1) as usize].to_vec();
    if rng.below(3) == 0 {
        let mut at = synced;
        while at < left.len() {
            let end = (at / SECTOR + 1).saturating_mul(SECTOR).min(left.len());
            if rng.below(3) == 0 {
                left[at..end].fill(0);
            }
            at = end;
        }
    }
    left
}

impl Store for Disk {
    type Error = ModelError;

    fn vector(&self) -> &Vector {
        self.memory.vector()
    }

    fn header_hash(&self, device: DeviceId, seq: u64) -> Result<Option<Hash>, ModelError> {
        self.memory.header_hash(device, seq)
    }

    fn log(
        &self,
        device: DeviceId,
        after: u64,
        take: &mut dyn FnMut(Entry) -> bool,
    ) -> Result<(), ModelError> {
        self.memory.log(device, after, take)
    }

    fn commit(&mut self, entries: Vec<Entry>, vector: Vector) -> Result<(), ModelError> {
        self.batch += 1;
        journal::encode(&Line::Batch(self.batch), &mut self.bytes)?;
        for entry in &entries {
            journal::encode(&Line::Entry(self.team, Box::new(entry.clone())), &mut self.bytes)?;
        }
        self.memory.commit(entries, vector)
    }

    fn thing(&self, kind: &str, id: ThingId) -> Result<Option<Thing>, ModelError> {
        self.memory.thing(kind, id)
    }

    fn visit(&self, kind: &str, bow: Option<ThingId>, see: &mut dyn FnMut(&Thing)) -> Result<(), ModelError> {
        self.memory.visit(kind, bow, see)
    }

    fn digest(&mut self) -> Result<Hash, ModelError> {
        self.memory.digest()
    }
}
