//! The kinds of record: typed views of what the log holds, and drafts that write it.
//!
//! Every field is optional when read, since it may not have arrived yet; a field that a build does not
//! know stays in the log untouched. `retired` hides a thing and can be undone.

mod arrows;
mod bow;
mod change;
mod field;
mod group;
mod other;
mod part;
mod plan;

mod person;
mod setting;
mod shaft;

pub use arrows::{Arrows, MATERIALS};
pub use bow::{Bow, DISCIPLINES};
pub use change::Change;
pub use field::{FIELDS, Form, field, fields_of, value};
pub use group::{DISTANCES_M, Group, check_distance};
pub use other::{Baseline, Curve, FITS, MARKED_ON, Mark, Note, Pair, Practice, Session, Speed};
pub use part::{FIELD_OF, LIMB_KIND, Part, WHAT, is_makers_limit, sorts_of};
pub use person::{BowArm, Hook, Person};
pub use plan::Plan;
pub use setting::{
    SETTINGS, Setting, check_setting, is_numeric, read_setting, same_value, setting, setting_meant,
    unit_of_setting,
};
pub use shaft::{MOST_SHAFTS, Shaft, shaft_field, shaft_name, shaft_of, shaft_value};

use crate::{ModelError, id::ThingId, merge::Thing, replica::Draft};
use serde::{Serialize, de::DeserializeOwned};
use serde_json::value::{RawValue, to_raw_value};
use std::collections::BTreeMap;

/// The names of all kinds that this build knows.
pub const NAMES: &[&str] = &[
    Person::NAME,
    Bow::NAME,
    Part::NAME,
    Arrows::NAME,
    Change::NAME,
    Baseline::NAME,
    Group::NAME,
    Session::NAME,
    Plan::NAME,
    Mark::NAME,
    Note::NAME,
    Pair::NAME,
    Curve::NAME,
    Speed::NAME,
    Practice::NAME,
];

/// A kind of record.
pub trait Kind: Serialize + DeserializeOwned {
    /// Its name in the log.
    const NAME: &'static str;
}

/// Reads a thing as a record of its kind.
pub fn read<K: Kind>(thing: &Thing) -> Result<K, ModelError> {
    debug_assert_eq!(thing.kind, K::NAME);
    thing.read()
}

/// Drafts a record: every field that is given is set.
pub fn draft<K: Kind>(id: ThingId, record: &K) -> Result<Draft, ModelError> {
    let bad = |e: serde_json::Error| {
        ModelError::new("bad_record", format!("the {} cannot be written: {e}", K::NAME))
    };
    let text = serde_json::to_string(record).map_err(bad)?;
    let set: BTreeMap<String, Box<RawValue>> = serde_json::from_str(&text).map_err(bad)?;
    Ok(Draft { kind: K::NAME.into(), id, set, settles: false })
}

/// Drafts the retirement of a thing, or its return.
pub fn retire(kind: &str, id: ThingId, retired: bool) -> Draft {
    let value = to_raw_value(&retired).expect("a bool is JSON");
    Draft { kind: kind.into(), id, set: BTreeMap::from([("retired".into(), value)]), settles: false }
}
