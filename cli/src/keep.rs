//! Keeping a new record.

use crate::{CliError, Env, store::Home};
use sheaf_model::{
    id::ThingId,
    kind::{self, Bow, Kind},
    replica::Store as _,
};

/// Keeps a new record, and remarks where the bow that it is of is out of use: nothing is refused, but it may be the wrong
/// bow.
pub fn keep_new<K: Kind>(
    home: &mut Home,
    id: ThingId,
    record: &K,
    env: &mut Env<'_>,
) -> Result<(), CliError> {
    let draft = kind::draft(id, record)?;
    let bow = draft.set.get("bow").and_then(|raw| serde_json::from_str::<ThingId>(raw.get()).ok());
    home.record(env, vec![draft])?;
    let Some(bow) = bow.filter(|bow| *bow != id) else { return Ok(()) };
    let there = home.store().thing(Bow::NAME, bow)?.and_then(|thing| kind::read::<Bow>(&thing).ok());
    match there.filter(|bow| bow.retired) {
        Some(there) => env.remark(format!(
            "Note: the bow {} is out of use; this is kept of it all the same. `sheaf restore {}` brings the bow back.",
            there.name.unwrap_or_default(),
            bow.short()
        )),
        None => Ok(()),
    }
}
