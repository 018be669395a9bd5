//! A bow as it is now, and the sheet by which it is put back.

use super::{Ask, Desk, given::known, read, to_json};
use crate::{
    ModelError,
    id::ThingId,
    verdict::{Units, bow_sheet, rebuild_sheet},
};
use serde::Deserialize;
use serde_json::Value;
use std::collections::BTreeMap;

/// Says everything about a bow as it is now.
pub(super) fn bow(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Wanted {
        bow: ThingId,
        #[serde(default)]
        units: Units,
    }
    let wanted: Wanted = read(input)?;
    let (store, me) = (desk.store()?, desk.card()?.person);
    to_json(&bow_sheet(store, wanted.bow, me, wanted.units, ask.offset_min)?)
}

/// Compares a baseline, or what is noted now, with what was measured anew.
pub(super) fn rebuild(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    #[derive(Deserialize)]
    struct Wanted {
        bow: ThingId,
        baseline: Option<ThingId>,
        #[serde(default)]
        measured: BTreeMap<String, Typed>,
    }
    let wanted: Wanted = read(input)?;
    let store = desk.store()?;
    known(store, "bow", wanted.bow)?;
    let typed: Vec<(String, String)> =
        wanted.measured.into_iter().map(|(setting, typed)| (setting, typed.text())).collect();
    to_json(&rebuild_sheet(store, wanted.bow, wanted.baseline, &typed, ask.offset_min)?)
}

/// What was measured: as it was typed, or a number in the setting's unit.
#[derive(Deserialize)]
#[serde(untagged)]
enum Typed {
    Text(String),
    Number(f64),
    Nothing(()),
}

impl Typed {
    fn text(self) -> String {
        match self {
            Self::Text(text) => text,
            Self::Number(number) => number.to_string(),
            Self::Nothing(()) => String::new(),
        }
    }
}

#[cfg(test)]
mod tests;
