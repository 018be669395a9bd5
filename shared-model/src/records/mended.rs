//! What is put right of a record: whether its fields still fit one another, and what a change began from.

use crate::{
    ModelError,
    kind::{self, Change, Group, Kind, Mark, Part},
    merge::Thing,
    moment::Moment,
    replica::{Draft, Store},
    timeline::{Setup, Timeline},
};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Checks a record as it will be, where its fields have to fit one another.
///
/// # Errors
/// What a group or a part must not be; what was wrong before and is not touched keeps nothing from being mended.
pub fn check_draft(before: Option<&Thing>, draft: &Draft) -> Result<(), ModelError> {
    match draft.kind.as_str() {
        Group::NAME if before.is_some() => fits(before, draft, &Group::check),
        Part::NAME => fits(before, draft, &Part::check),
        Mark::NAME => fits(before, draft, &Mark::check),
        _ => Ok(()),
    }
}

/// Checks a record as it will be with a draft; what was wrong in it before is passed over.
fn fits<K: Kind>(
    before: Option<&Thing>,
    draft: &Draft,
    check: &dyn Fn(&K) -> Result<(), ModelError>,
) -> Result<(), ModelError> {
    let was = before.and_then(|thing| kind::read::<K>(thing).ok());
    let wrong_before = was.and_then(|was| check(&was).err());
    let fields = before.map(Thing::fields).unwrap_or_default();
    let mut values: BTreeMap<String, Value> =
        fields.into_iter().map(|(name, f)| (name, json!(f.now.value))).collect();
    values.extend(draft.set.iter().map(|(name, raw)| (name.clone(), json!(raw))));
    let record: K = serde_json::from_value(json!(values)).map_err(|e| {
        ModelError::new("bad_record", format!("the {} cannot be read with that value: {e}", K::NAME))
    })?;
    match check(&record) {
        Err(e) if Some(&e) != wrong_before.as_ref() => Err(e),
        _ => Ok(()),
    }
}

/// Returns the settings that a change holds.
pub fn held(thing: &Thing) -> Vec<String> {
    let fields = thing.fields().into_iter().filter(|(_, f)| f.now.value.get() != "null");
    fields.filter_map(|(name, _)| Some(name.strip_prefix("set.")?.to_owned())).collect()
}

/// Returns the setup to which a signed value of a change is added: what was on the bow before it.
///
/// # Errors
/// Those of the store, and of a change that cannot be read.
pub fn setup_before<S: Store>(store: &S, thing: &Thing) -> Result<Setup, S::Error> {
    let change: Change = kind::read(thing)?;
    let (Some(bow), Some(at)) = (change.bow, change.at) else { return Ok(Setup::new()) };
    let timeline = Timeline::read(store, bow)?;
    let stretches = timeline.stretches();
    match stretches.iter().position(|s| s.change == Some(thing.id)) {
        Some(place) => {
            Ok(place.checked_sub(1).map(|before| stretches[before].setup.clone()).unwrap_or_default())
        }
        None => Ok(timeline.setup_at(Moment::read(&at)?.unix_ms())),
    }
}
