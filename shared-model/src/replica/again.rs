//! An entry that its log cannot keep, as what it said: to be written again under another name.

use super::Draft;
use crate::{
    ModelError,
    id::ThingId,
    log::{Entry, read_body},
};
use serde_json::value::RawValue;
use std::collections::BTreeMap;

impl Draft {
    /// Returns what an entry said, to be written again; of a pair of ids of persons, the first becomes the second.
    ///
    /// # Errors
    /// When the body of the entry cannot be read.
    pub fn again(entry: &Entry, person: Option<(ThingId, ThingId)>) -> Result<Self, ModelError> {
        let person = person.map(|(from, to)| (from.to_string(), to.to_string()));
        let mut set = BTreeMap::new();
        let mut settles = false;
        if let Some(raw) = &entry.body {
            let body = read_body(raw)?;
            settles = body.over.values().any(|seen| seen.len() > 1);
            for (field, value) in body.set {
                let text = match &person {
                    Some((from, to)) => value.get().replace(from, to),
                    None => value.get().to_owned(),
                };
                let raw = RawValue::from_string(text).map_err(|e| {
                    ModelError::new("bad_record", format!("a value cannot be carried over: {e}"))
                })?;
                set.insert(field, raw);
            }
        }
        Ok(Self { kind: entry.kind.clone(), id: entry.id, set, settles })
    }
}
