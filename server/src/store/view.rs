//! A team's logs and state at a moment, as the model reads them.

use super::Store;
use crate::error::ServerError;
use sheaf_model::{
    ModelError,
    id::{DeviceId, TeamId, ThingId},
    log::{Entry, Hash, Vector},
    merge::Thing,
    replica,
};
use std::sync::Arc;

/// A team at a moment. Its heads and digest belong together; entries that come later are not handed out.
pub struct View {
    store: Arc<Store>,
    team: TeamId,
    vector: Arc<Vector>,
    digest: Hash,
}

impl View {
    pub(super) fn new(store: Arc<Store>, team: TeamId, vector: Arc<Vector>, digest: Hash) -> Self {
        Self { store, team, vector, digest }
    }

    /// Returns the digest of the state.
    pub fn root(&self) -> Hash {
        self.digest
    }
}

impl replica::Store for View {
    type Error = ServerError;

    fn vector(&self) -> &Vector {
        &self.vector
    }

    fn header_hash(&self, device: DeviceId, seq: u64) -> Result<Option<Hash>, ServerError> {
        if seq > self.vector.seq(device) {
            return Ok(None);
        }
        self.store.index().header_hash(self.team, device, seq)
    }

    fn log(
        &self,
        device: DeviceId,
        after: u64,
        take: &mut dyn FnMut(Entry) -> bool,
    ) -> Result<(), ServerError> {
        let last = self.vector.seq(device);
        let reader = &self.store.shelf.reader;
        let mut next = after;
        self.store.index().places(self.team, device, after, &mut |place| {
            let entry = reader.entry(place)?;
            next += 1;
            if (entry.device, entry.seq) != (device, next) {
                let why = format!("entry {next} of device {device} is not where it says");
                return Err(ServerError::Index(why));
            }
            Ok(entry.seq <= last && take(entry))
        })
    }

    fn commit(&mut self, entries: Vec<Entry>, _vector: Vector) -> Result<(), ServerError> {
        let answer = self.store.push(self.team, None, entries)?;
        let pushed = answer.blocking_recv().unwrap_or_else(|_| Err(super::gone()))?;
        (self.vector, self.digest) = self.store.shelf.snapshot(self.team)?;
        match pushed.refused.into_iter().next() {
            None => Ok(()),
            Some((_, _, reason)) => Err(ModelError::new(reason.code, reason.message).into()),
        }
    }

    fn thing(&self, kind: &str, id: ThingId) -> Result<Option<Thing>, ServerError> {
        self.store.index().thing(self.team, kind, id)
    }

    fn visit(
        &self,
        kind: &str,
        bow: Option<ThingId>,
        see: &mut dyn FnMut(&Thing),
    ) -> Result<(), ServerError> {
        self.store.index().visit(self.team, kind, bow, see)
    }

    fn digest(&mut self) -> Result<Hash, ServerError> {
        Ok(self.digest)
    }
}
