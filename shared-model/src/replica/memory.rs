//! A store that lives in memory, for tests and for a look at a bundle.

use super::{State, Store};
use crate::{
    ModelError,
    id::{DeviceId, ThingId},
    log::{Entry, Hash, Vector},
    merge::Thing,
};
use std::collections::BTreeMap;

/// Logs and state in memory.
#[derive(Default)]
pub struct Memory {
    logs: BTreeMap<DeviceId, Vec<Entry>>,
    vector: Vector,
    state: State,
}

impl Memory {
    /// Returns the state.
    pub fn state(&self) -> &State {
        &self.state
    }
}

impl Store for Memory {
    type Error = ModelError;

    fn vector(&self) -> &Vector {
        &self.vector
    }

    fn header_hash(&self, device: DeviceId, seq: u64) -> Result<Option<Hash>, ModelError> {
        let index = usize::try_from(seq.saturating_sub(1)).unwrap_or(usize::MAX);
        Ok(self.logs.get(&device).and_then(|log| log.get(index)).map(Entry::header_hash))
    }

    fn log(
        &self,
        device: DeviceId,
        after: u64,
        take: &mut dyn FnMut(Entry) -> bool,
    ) -> Result<(), ModelError> {
        let skip = usize::try_from(after).unwrap_or(usize::MAX);
        for entry in self.logs.get(&device).into_iter().flatten().skip(skip) {
            if !take(entry.clone()) {
                break;
            }
        }
        Ok(())
    }

    fn commit(&mut self, entries: Vec<Entry>, vector: Vector) -> Result<(), ModelError> {
        for entry in entries {
            self.state.join(&entry)?;
            self.logs.entry(entry.device).or_default().push(entry);
        }
        self.vector = vector;
        Ok(())
    }

    fn thing(&self, kind: &str, id: ThingId) -> Result<Option<Thing>, ModelError> {
        self.state.thing(kind, id)
    }

    fn visit(&self, kind: &str, bow: Option<ThingId>, see: &mut dyn FnMut(&Thing)) -> Result<(), ModelError> {
        self.state.visit(kind, bow, see)
    }

    fn digest(&mut self) -> Result<Hash, ModelError> {
        Ok(self.state.digest())
    }

    fn visit_back(&self, kind: &str, see: &mut dyn FnMut(&Thing) -> bool) -> Result<(), ModelError> {
        self.state.visit_back(kind, see)
    }

    fn visit_rewritten(&self, kind: &str, see: &mut dyn FnMut(&Thing)) -> Result<(), ModelError> {
        self.state.visit_rewritten(kind, see)
    }
}
