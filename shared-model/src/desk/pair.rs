//! Pairs of riser and limbs: noted as they are measured, and which there are.

use super::{
    Ask, Desk,
    curve::{again, keep},
    given::{Given, text_of, wrong},
    to_json,
};
use crate::{ModelError, records::new_pair, replica::Store as _, rig::limits::Finding, verdict};
use serde_json::Value;

/// Lists every riser with every pair of limbs, or one bow's.
pub(super) fn pairs(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    let bow = Given::new(desk, input).thing("bow", "bow")?;
    to_json(&verdict::pairs(desk.store()?, bow)?)
}

/// Keeps how a pair of limbs sits on a bow's riser; sent twice under one id it is kept once.
pub(super) fn note_pair(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let id = given.id("id")?.unwrap_or_else(|| ask.thing_id());
    if desk.store()?.thing("pair", id)?.is_some() {
        return Ok(again(id));
    }
    let bow = given.needed("bow", "bow")?;
    let limbs = given.thing("limbs", "part")?;
    let mut typed = Vec::new();
    match given.value("fields") {
        None => {}
        Some(Value::Object(fields)) => {
            for (name, value) in fields {
                typed.extend(text_of(value, name)?.map(|text| (name.clone(), text)));
            }
        }
        Some(_) => return Err(wrong("fields", "fields are names with their values".into())),
    }
    let at = given.at("at", ask)?.map_or_else(|| ask.moment(), Ok)?;
    let note = given.remark("note")?;
    let mut measured = new_pair(desk.store()?, bow, limbs, &typed, at, note)?;
    measured
        .warnings
        .extend(verdict::pair_beyond(desk.store()?, &measured.record)?.iter().map(Finding::said));
    keep(desk, ask, id, measured)
}
