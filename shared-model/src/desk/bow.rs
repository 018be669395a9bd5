//! A bow as it is now, and the sheet by which it is put back.

use super::{
    Ask, Desk,
    given::{Given, known},
    read, to_json,
};
use crate::{
    ModelError,
    id::ThingId,
    kind::Change,
    records::{PartNews, part_news},
    replica::Store as _,
    verdict::{RebuildAsked, Units, bow_sheet, measured_change, rebuild_sheet},
};
use serde::Deserialize;
use serde_json::{Value, json};
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

/// What a sheet is asked for with.
#[derive(Deserialize)]
struct Sheet {
    bow: ThingId,
    baseline: Option<ThingId>,
    #[serde(default)]
    measured: BTreeMap<String, Typed>,
    #[serde(default)]
    units: Units,
    #[serde(skip)]
    me: Option<ThingId>,
}

impl Sheet {
    /// Reads it, with what was measured as it was typed.
    fn read(desk: &Desk, input: &Value) -> Result<(Self, Vec<(String, String)>), ModelError> {
        let mut wanted: Self = read(input)?;
        known(desk.store()?, "bow", wanted.bow)?;
        wanted.me = Some(desk.card()?.person);
        let measured = std::mem::take(&mut wanted.measured);
        Ok((wanted, measured.into_iter().map(|(setting, typed)| (setting, typed.text())).collect()))
    }

    fn asked<'a>(&self, typed: &'a [(String, String)], ask: &Ask) -> RebuildAsked<'a> {
        let (bow, baseline, units) = (self.bow, self.baseline, self.units);
        RebuildAsked { bow, baseline, typed, units, offset_min: ask.offset_min, me: self.me, at: None }
    }
}

/// Compares a baseline, or what is noted now, with what was measured anew.
pub(super) fn rebuild(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let (wanted, typed) = Sheet::read(desk, input)?;
    to_json(&rebuild_sheet(desk.store()?, &wanted.asked(&typed, ask))?)
}

/// Keeps what was measured as one change of what is otherwise than it is noted; one that is sent again is kept once.
pub(super) fn keep_measured(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let (wanted, typed) = Sheet::read(desk, input)?;
    let given = Given::new(desk, input);
    let id = given.id("id")?.unwrap_or_else(|| ask.thing_id());
    if desk.store()?.thing("change", id)?.is_some() {
        return Ok(json!({"change": id, "words": ["This was kept already."], "cautions": []}));
    }
    let at = given.at("at", ask)?.map_or_else(|| ask.moment(), Ok)?;
    let note = given.remark("note")?;
    let altered = measured_change(desk.store()?, &wanted.asked(&typed, ask), at)?;
    if altered.is_empty() {
        let words = ["What was measured is what is noted: there is nothing to keep."];
        return Ok(json!({"change": null, "words": words, "cautions": []}));
    }
    let news = part_news(desk.store()?, wanted.bow, &altered)?;
    let (bow, at) = (Some(wanted.bow), Some(at.rfc3339()));
    let mut told = desk.keep_change(id, Change { bow, at, note, ..Change::default() }, &altered, ask)?;
    told["remarks"] = json!(news.iter().map(PartNews::words).collect::<Vec<_>>());
    Ok(told)
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
