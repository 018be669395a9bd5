//! What two people wrote without seeing each other.

use crate::{
    id::ThingId,
    kind,
    log::Stamp,
    merge::{Assigned, Thing},
    replica::Store,
};
use serde::Serialize;
use serde_json::Value;

/// A field of a thing with rival values; the first stands.
#[derive(Debug, Clone, Serialize)]
pub struct Difference {
    /// What kind of thing.
    pub kind: String,
    /// Which one.
    pub id: ThingId,
    /// The field.
    pub field: String,
    /// The values.
    pub values: Vec<Rival>,
}

/// A value that someone wrote.
#[derive(Debug, Clone, Serialize)]
pub struct Rival {
    /// The value.
    pub value: Value,
    /// By whom.
    pub by: ThingId,
    /// When by the clock of its device, milliseconds since 1970.
    pub at_ms: u64,
    /// Whether it is the one that stands.
    pub stands: bool,
    /// The stamp of its assignment, which names it whatever else arrives.
    #[serde(skip)]
    pub stamp: Stamp,
}

/// Returns every difference of a replica that nobody has settled.
///
/// # Errors
/// Those of the store.
pub fn differences<S: Store>(store: &S) -> Result<Vec<Difference>, S::Error> {
    let mut found = Vec::new();
    for kind in kind::NAMES {
        store.visit_rewritten(kind, &mut |thing| found.extend(differences_of(thing)))?;
    }
    Ok(found)
}

/// Returns the differences of one thing.
pub fn differences_of(thing: &Thing) -> Vec<Difference> {
    if thing.parts().nth(1).is_none() {
        return Vec::new();
    }
    let rival = |a: &Assigned<'_>, stands| Rival {
        value: serde_json::from_str(a.value.get()).unwrap_or(Value::Null),
        by: a.author,
        at_ms: a.stamp.tick.ms(),
        stands,
        stamp: a.stamp,
    };
    let open = thing.fields().into_iter().filter(|(_, field)| !field.others.is_empty());
    open.map(|(name, field)| Difference {
        kind: thing.kind.clone(),
        id: thing.id,
        field: name,
        values: std::iter::once(rival(&field.now, true))
            .chain(field.others.iter().map(|a| rival(a, false)))
            .collect(),
    })
    .collect()
}
