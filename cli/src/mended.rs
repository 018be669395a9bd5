//! What is put right of a group and of a change: arrows typed anew, settings by their names.

use crate::{CliError, Env, fields, setting_pair, store::Home};
use serde_json::{Value, json};
use sheaf_model::{
    face::Face,
    id::ThingId,
    kind::{self, Group},
    merge::Thing,
    notation::{Length, Shot, shots, unit_of},
    timeline::{Moment, Setup, Timeline},
    verdict::name_and_unit,
};
use std::collections::BTreeMap;

/// A field with its new value; `Null` takes it out.
pub type Mended = (String, Value);

/// Returns the arrows of a group as they were typed: places, numbers and marks, and nothing else of the group.
pub fn arrows_of(shots: &[Shot]) -> Group {
    let marked = |of: fn(&Shot) -> bool| {
        let list: Vec<u32> = (0..).zip(shots).filter(|(_, s)| of(s)).map(|(i, _)| i).collect();
        Some(list).filter(|list| !list.is_empty())
    };
    let numbers: Vec<Option<String>> = shots.iter().map(|s| s.arrow.clone()).collect();
    Group {
        points_mm: Some(shots.iter().map(|s| s.at.map(|p| p.map(tenths))).collect()),
        arrow_numbers: numbers.iter().any(Option::is_some).then_some(numbers),
        flyers: marked(|s| s.flyer),
        bare: marked(|s| s.bare),
        ..Group::default()
    }
}

/// Positions are kept to a tenth of a millimetre: finer than anyone can read them.
fn tenths(mm: f64) -> f64 {
    (mm * 10.0).round() / 10.0
}

/// Reads the arrows of a group anew, on the face that it has or is given with them.
pub fn arrows(before: Option<&Thing>, face: Option<&Value>, typed: &str) -> Result<Vec<Mended>, CliError> {
    let group = before.map(kind::read::<Group>).transpose()?.unwrap_or_default();
    let face = match face.and_then(Value::as_str) {
        Some(code) => Some(Face::by_code(code)?),
        None => group.face(),
    };
    let face = face.ok_or_else(|| {
        CliError::input("the group has no face on which rings could be read")
            .hint("give it with them, like face=wa_80 shots=\"9@1 8@4\"")
    })?;
    let read = shots(typed, &face, Length::Mm)?;
    if read.is_empty() {
        return Err(CliError::input("shots: no arrow is given")
            .hint("write them like shots=\"9@1 8@4 M\"; `sheaf retire` takes the whole group out"));
    }
    let new = arrows_of(&read);
    let mut mended = vec![("points_mm".to_owned(), json!(new.points_mm))];
    // What was never noted and is not now needs no word.
    let mut mend = |field: &str, had: bool, value: Option<Value>| {
        if had || value.is_some() {
            mended.push((field.to_owned(), json!(value)));
        }
    };
    mend("arrow_numbers", group.arrow_numbers.is_some(), new.arrow_numbers.map(|v| json!(v)));
    mend("flyers", group.flyers.is_some(), new.flyers.map(|v| json!(v)));
    mend("bare", group.bare.is_some(), new.bare.map(|v| json!(v)));
    Ok(mended)
}

/// Whether a word stands for a setting and for no field of a change.
pub fn is_setting(name: &str, typed: &str) -> bool {
    let bare = name.strip_prefix("set.").unwrap_or(name);
    let known = kind::setting_meant(bare, kind::is_numeric(typed)).is_some();
    kind::field("change", name).is_none() && (known || !unit_of(&bare.to_lowercase()).is_empty())
}

/// Reads a setting of a change that is there, by the names that `sheaf change` knows; nothing behind the sign takes the
/// setting out of it.
pub fn setting(
    home: &Home,
    before: Option<&Thing>,
    pair: &str,
    env: &mut Env<'_>,
) -> Result<Mended, CliError> {
    let (name, typed) = pair.split_once('=').unwrap_or((pair, ""));
    if typed.trim().is_empty() {
        let there = before.map(held).unwrap_or_default();
        let meant = |numeric| kind::setting_meant(name, numeric).map(|s| s.field.to_owned());
        let own = name.trim().to_lowercase().replace(['-', ' '], "_");
        let fields = [meant(true), meant(false), Some(own)];
        let field = fields.into_iter().flatten().find(|field| there.contains(field));
        let field = field.ok_or_else(|| {
            CliError::input(format!("the change does not hold `{}`", name.trim()))
                .hint(format!("it holds: {}", there.join(", ")))
        })?;
        return Ok((format!("set.{field}"), Value::Null));
    }
    let setup = match before {
        Some(thing) => setup_before(home, thing)?,
        None => Setup::new(),
    };
    let (field, value) = setting_pair::read(home, &setup, pair, env)?;
    Ok((format!("set.{field}"), value))
}

/// Returns the settings that a change holds.
fn held(thing: &Thing) -> Vec<String> {
    let fields = thing.fields().into_iter().filter(|(_, f)| f.now.value.get() != "null");
    fields.filter_map(|(name, _)| Some(name.strip_prefix("set.")?.to_owned())).collect()
}

/// Returns the setup to which a signed value of a change is added: what was on the bow before it.
fn setup_before(home: &Home, thing: &Thing) -> Result<Setup, CliError> {
    let change: kind::Change = kind::read(thing)?;
    let (Some(bow), Some(at)) = (change.bow, change.at) else { return Ok(Setup::new()) };
    let timeline = Timeline::read(home.store(), bow)?;
    let stretches = timeline.stretches();
    match stretches.iter().position(|s| s.change == Some(thing.id)) {
        Some(place) => {
            Ok(place.checked_sub(1).map(|before| stretches[before].setup.clone()).unwrap_or_default())
        }
        None => Ok(timeline.setup_at(Moment::read(&at)?.unix_ms())),
    }
}

/// Returns every field of a kind that can be set, as it is typed.
pub fn can_be_set(kind: &str) -> Vec<&'static str> {
    let mut all: Vec<&str> = kind::fields_of(kind).collect();
    match kind {
        "group" => all.push("shots"),
        "change" => all.extend(kind::SETTINGS.iter().map(|s| s.field)),
        _ => {}
    }
    all
}

/// Returns what a field is now and was before, in the words of the trade.
pub fn told(field: &str, was: &Value, now: &Value, names: &BTreeMap<ThingId, String>) -> String {
    let (name, unit) = name_and_unit(field.strip_prefix("set.").unwrap_or(field));
    let name = if field == "points_mm" { "shots".to_owned() } else { name };
    let unit = if unit.is_empty() || field == "points_mm" { String::new() } else { format!(" {unit}") };
    let value = |value: &Value| fields::shown(field, value, names);
    match (was.is_null(), now.is_null()) {
        (true, true) => format!("{name} is not noted"),
        (true, false) => format!("{name} {}{unit}", value(now)),
        (false, true) => format!("{name} is not noted any more; it was {}{unit}", value(was)),
        (false, false) => format!("{name} {} -> {}{unit}", value(was), value(now)),
    }
}
