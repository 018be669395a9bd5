//! What was measured on a bow: read as it was typed, and kept as one change.

use super::{RebuildAsked, amount, target};
use crate::{
    ModelError,
    kind::{SETTINGS, check_setting, is_numeric, setting_meant, unit_of_setting},
    moment::Moment,
    name,
    named::{self, Named},
    notation::bare,
    records::{check_sort, part_of_setting, setting_place, setup_here_at},
    replica::Store,
    timeline::Altered,
    verdict::{altered::quantity, bow::names, units::Units},
};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Returns what was measured and is not what is noted on the bow at a moment, in the order of the trade: what a change
/// has to say for the timeline to be true.
///
/// # Errors
/// Those of [`rebuild_sheet`](super::rebuild_sheet); `unknown_thing` for limbs, a string or arrows that nobody recorded,
/// `ambiguous` for a name that several bear; `nothing_measured`.
pub fn measured_change<S: Store>(
    store: &S,
    asked: &RebuildAsked<'_>,
    at: Moment,
) -> Result<Vec<Altered>, S::Error> {
    let setup = setup_here_at(store, asked.bow, at.unix_ms())?.setup;
    let (target, parts) = (target(store, asked, setup.clone())?, Parts::read(store)?);
    let measured = measured(&target.settings, asked, &parts)?;
    if measured.is_empty() {
        let message =
            "nothing was measured, so there is nothing to keep; give settings with what they measure";
        return Err(ModelError::new("nothing_measured", message).at("measured").into());
    }
    let names = names(store)?;
    let shown = |value: &Value| name::key(&quantity(value, &|id| names.get(&id).cloned()));
    // A part that went to another bow and is measured here came home: that is kept.
    let mut altered = Vec::new();
    for (setting, after) in measured {
        parts.check_recorded(&setting, &after)?;
        check_sort(store, &setting, &after)?;
        let before = setup.get(&setting).map(|set| set.value.clone());
        let same = before.as_ref().is_some_and(|before| match (before.as_f64(), after.as_f64()) {
            (Some(was), Some(is)) => was == is,
            _ => shown(before) == shown(&after),
        });
        if !same {
            altered.push(Altered { setting, before, after });
        }
    }
    altered.sort_by_key(|a| setting_place(&a.setting));
    Ok(altered)
}

/// The parts and arrow sets by name, those in use before those that are not.
pub(super) struct Parts(Vec<Named>);

impl Parts {
    pub(super) fn read<S: Store>(store: &S) -> Result<Self, S::Error> {
        let mut found = named::all(store, "part")?;
        found.extend(named::all(store, "arrows")?);
        found.sort_by_key(|part| part.retired);
        Ok(Self(found))
    }

    /// Returns the things of a setting that a text names.
    fn called<'a>(&'a self, field: &str, text: &str) -> impl Iterator<Item = &'a Named> {
        let (kind, key) = (part_of_setting(field).0, name::key(text));
        self.0.iter().filter(move |part| part.kind == kind && name::key(&part.name) == key)
    }

    /// Refuses words where a thing has to be recorded, and a name that several in use bear.
    fn check_recorded(&self, field: &str, value: &Value) -> Result<(), ModelError> {
        let Some(text) = value.as_str().filter(|_| unit_of_setting(field).is_empty()) else { return Ok(()) };
        let (kind, has_to_be) = part_of_setting(field);
        let Some(part) = self.0.iter().find(|part| part.id.to_string() == text) else {
            if !has_to_be {
                return Ok(());
            }
            let word = if kind == "arrows" { "arrow set" } else { "part" };
            let message = format!(
                "{field}: there is no {word} called `{text}`, so it cannot be kept as what is on the bow; add it first, \
                 or leave it out"
            );
            return Err(ModelError::new("unknown_thing", message).at(field));
        };
        let several = self.called(field, &part.name).filter(|other| !other.retired).count();
        if several > 1 {
            let message = format!(
                "{field}: {several} things are called {}; give one of them another name first",
                part.name
            );
            return Err(ModelError::new("ambiguous", message).at(field));
        }
        Ok(())
    }
}

/// Reads what was measured; a field that was left empty is none.
pub(super) fn measured(
    target: &BTreeMap<String, Value>,
    asked: &RebuildAsked<'_>,
    parts: &Parts,
) -> Result<BTreeMap<String, Value>, ModelError> {
    let mut measured = BTreeMap::new();
    for (wanted, text) in asked.typed.iter().filter(|(_, text)| !text.trim().is_empty()) {
        let field = field(target, wanted, text)?;
        let value = value(&field, text, asked.units, parts)?;
        check_setting(&field, &value)?;
        if measured.insert(field.clone(), value).is_some() {
            let message = format!("{field} is given twice; measure it once more and give one value");
            return Err(ModelError::new("setting_twice", message).at(field));
        }
    }
    Ok(measured)
}

fn value(field: &str, text: &str, units: Units, parts: &Parts) -> Result<Value, ModelError> {
    if !unit_of_setting(field).is_empty() {
        return Ok(json!(amount::read(field, text, units)?));
    }
    let part = parts.called(field, text).next();
    Ok(part.map_or_else(|| json!(text.trim()), |part| json!(part.id)))
}

/// Returns the setting that is meant: a known one, or one of the bow's own.
fn field(target: &BTreeMap<String, Value>, wanted: &str, text: &str) -> Result<String, ModelError> {
    let wanted = wanted.trim();
    let own = || target.keys().find(|field| *field == wanted || bare(field) == wanted).cloned();
    let exact = || target.contains_key(wanted).then(|| wanted.to_owned());
    let known = || setting_meant(wanted, is_numeric(text)).map(|known| known.field.to_owned());
    let known_field = SETTINGS.iter().any(|s| s.field == wanted);
    let found = if known_field { known() } else { exact().or_else(known).or_else(own) };
    found.ok_or_else(|| {
        let shown: String = wanted.chars().take(60).collect();
        let all: Vec<&str> = SETTINGS.iter().map(|s| s.field).collect();
        let message = format!("there is no setting `{shown}` on this bow; there are {}", all.join(", "));
        ModelError::new("unknown_setting", message).at("measured")
    })
}
