//! The settings of a bow: what each is now, by how much it is usually altered, and what to take care of.

use super::{Ask, Desk, given::Given};
use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Part, SETTINGS, Setting},
    records::{self, Named, part_of_setting, setting_place},
    replica::{Memory, Store as _},
    rig::caution,
    timeline::{Set, Timeline},
    verdict::{gone_from, gone_words, name_and_unit, quantity, unit_beside},
};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// By how much settings are usually altered, in their units (common practice, no source): field, or unit where the
/// field has no row of its own.
const STEPS: &[(&str, &[f64])] = &[
    ("string_twists", &[1.0, 2.0, 5.0]),
    ("brace_height_mm", &[1.0, 2.0, 5.0]),
    ("clicker_mm", &[1.0, 2.0, 5.0]),
    ("centre_shot_mm", &[0.25, 0.5, 1.0]),
    ("turns", &[0.25, 0.5, 1.0]),
    ("mm", &[0.5, 1.0, 2.0]),
    ("lbf", &[0.5, 1.0, 2.0]),
    ("in", &[0.125, 0.25, 0.5]),
    ("", &[]),
];

/// Lists the settings of a bow in the order in which the trade sets one up.
pub(super) fn settings(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    let bow = Given::new(desk, input).needed("bow", "bow")?;
    let store = desk.store()?;
    let mut setup = Timeline::read(store, bow)?.setup_now();
    let gone = gone_from(store, bow, &setup)?;
    setup.retain(|setting, _| !gone.contains_key(setting));
    let names = records::names(store, records::NAMED)?;
    let parts = parts(store)?;
    let known = SETTINGS.iter().map(|s: &Setting| (s.field, s.about));
    let own = setup.keys().map(String::as_str).filter(|field| setting_place(field) == SETTINGS.len());
    let all = known.chain(own.map(|field| (field, "a setting of your own")));
    let told = all.map(|(field, about)| {
        let (name, unit) = name_and_unit(field);
        let set = setup.get(field);
        json!({
            "setting": field,
            "name": name,
            "unit": unit,
            "about": about,
            "value": set.map(|s| &s.value),
            "shown": set.map(|s| value_words(field, &s.value, &names)),
            "since": set.map(|s: &Set| s.at.day()),
            "gone": gone.get(field).map(|gone| {
                format!("{} {}", records::name_of(&names, gone.part), gone_words(gone, &names))
            }),
            "steps": steps(field, unit),
            "parts": if unit.is_empty() { fitting(field, &parts) } else { Vec::new() },
            "cautions": caution::of_setting(field),
        })
    });
    Ok(json!({"settings": told.collect::<Vec<Value>>()}))
}

/// Returns the value of a setting with its unit, or the name of the part.
pub(super) fn value_words(field: &str, value: &Value, names: &BTreeMap<ThingId, String>) -> String {
    let unit = unit_beside(name_and_unit(field).1, value);
    format!("{} {unit}", quantity(value, &|id| names.get(&id).cloned())).trim_end().to_owned()
}

fn steps(field: &str, unit: &'static str) -> Vec<Value> {
    let row = STEPS.iter().find(|(of, _)| *of == field).or_else(|| STEPS.iter().find(|(of, _)| *of == unit));
    let sizes = row.map_or(&[][..], |(_, sizes)| sizes);
    let down = sizes.iter().rev().map(|by| -by);
    down.chain(sizes.iter().copied())
        .map(|by| json!({"by": by, "words": step_words(field, by, unit)}))
        .collect()
}

/// Which way a screw goes for more of its setting: what it is counted from stands in [`SETTINGS`](crate::kind::SETTINGS).
const MORE: &[(&str, [&str; 2])] = &[
    ("limb_bolt_top_turns", ["in", "out"]),
    ("limb_bolt_bottom_turns", ["in", "out"]),
    ("plunger_turns", ["out", "in"]),
];

/// Returns a step in words, for example `1/4 turn in` of a screw and `+1 mm` of anything else.
fn step_words(field: &str, by: f64, unit: &'static str) -> String {
    let size = match by.abs() {
        0.125 => "1/8".to_owned(),
        0.25 => "1/4".to_owned(),
        0.5 => "1/2".to_owned(),
        whole => whole.to_string(),
    };
    let unit = if unit == "turns" && by.abs() <= 1.0 { "turn" } else { unit };
    if let Some((_, ways)) = MORE.iter().find(|(of, _)| *of == field) {
        return format!("{size} {unit} {}", ways[usize::from(by > 0.0)]);
    }
    format!("{}{size} {unit}", if by < 0.0 { "\u{2212}" } else { "+" })
}

/// Returns the parts and arrow sets in use, with what they are.
fn parts(store: &Memory) -> Result<Vec<(Named, String)>, ModelError> {
    let mut found = Vec::new();
    for set in records::all(store, "arrows")? {
        found.push((set, "arrows".to_owned()));
    }
    store.visit("part", None, &mut |thing| {
        let what = kind::read::<Part>(thing).ok().and_then(|part| part.what).unwrap_or_default();
        found.extend(records::named("part", thing).map(|named| (named, what)));
    })?;
    found.retain(|(named, _)| !named.retired);
    Ok(found)
}

fn fitting(field: &str, parts: &[(Named, String)]) -> Vec<Value> {
    let (kind, _) = part_of_setting(field);
    let fits = parts.iter().filter(|(named, what)| named.kind == kind && what == field);
    fits.map(|(named, _)| json!({"id": named.id, "name": named.name})).collect()
}
