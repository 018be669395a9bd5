//! What on a sheet lies beyond a limit: what was measured, and what the bow is to come back to.

use crate::{
    id::ThingId,
    replica::Store,
    rig::limits::{Finding, PRACTICE, Severity},
    verdict::limits::limits_measured,
};
use serde_json::Value;
use std::collections::BTreeMap;

/// Returns which settings of a setup lie beyond what a maker allows, and which parts do not go together.
///
/// # Errors
/// Those of the store.
pub fn beyond_makers<S: Store>(
    store: &S,
    bow: ThingId,
    settings: &BTreeMap<String, Value>,
) -> Result<Vec<Finding>, S::Error> {
    let mut found = limits_measured(store, bow, settings)?;
    found.retain(|one| one.severity == Severity::Stop && (one.whose != PRACTICE || one.of_parts()));
    Ok(found)
}

/// What lies beyond a limit.
pub(super) struct Beyond {
    measured: Vec<Finding>,
    target: Vec<Finding>,
}

impl Beyond {
    pub(super) fn read<S: Store>(
        store: &S,
        bow: ThingId,
        target: &BTreeMap<String, Value>,
        measured: &BTreeMap<String, Value>,
    ) -> Result<Self, S::Error> {
        let (measured, target) = (limits_measured(store, bow, measured)?, beyond_makers(store, bow, target)?);
        Ok(Self { measured, target })
    }

    /// Returns what is said beside a setting: of what was measured, then of what it was, where that is another figure.
    pub(super) fn of(&self, setting: &str) -> Vec<String> {
        let here = |one: &&Finding| one.setting == setting;
        let measured: Vec<&Finding> = self.measured.iter().filter(here).collect();
        let known = |one: &&Finding| {
            !measured.iter().any(|other| other.code == one.code && other.figure == one.figure)
        };
        let target = self.target.iter().filter(here).filter(known);
        let target = target.map(|one| format!("Stop. As it was noted: {}", one.words));
        measured.iter().map(|one| one.said()).chain(target).collect()
    }
}
