//! Values of fields as they are typed, where reading them takes a look at the records or at the clock.

use crate::{CliError, Env, lookup, mended, render, store::Home, when, words};
use serde_json::{Value, json};
use sheaf_model::{
    id::ThingId,
    kind::{self, Form, Group, Kind as _},
    merge::Thing,
    name,
    replica::Draft,
};
use std::collections::BTreeMap;

/// Returns the field of a kind that is meant: its full name, or the name without its unit.
pub fn field(kind: &str, typed: &str) -> Result<(&'static str, Form), CliError> {
    kind::field(kind, typed).ok_or_else(|| {
        let all = mended::can_be_set(kind).join(", ");
        let near = lookup::nearest(typed.trim(), mended::can_be_set(kind).into_iter());
        let near =
            if near.is_empty() { String::new() } else { format!("the nearest are {}; ", near.join(", ")) };
        CliError::input(format!("{} has no field `{}`", name::with_article(kind), typed.trim()))
            .hint(format!("{near}it has: {all}"))
    })
}

/// Reads what was typed for a field of a thing, or of one that is to be made, and checks it as far as it goes alone.
pub fn read_value(
    home: &Home,
    kind: &'static str,
    own: Option<ThingId>,
    field: &str,
    typed: &str,
    env: &Env<'_>,
) -> Result<Value, CliError> {
    if let ("change", Some(setting)) = (kind, field.strip_prefix("set.")) {
        return read_setting(home, setting, typed);
    }
    let (field, form) = self::field(kind, field)?;
    let value = match form {
        Form::Moment => json!(when::read(typed, env)?),
        Form::Link(of) => json!(lookup::find(home, of, typed)?.id),
        form => kind::value(field, form, typed)?,
    };
    match (field, &value) {
        ("name", Value::String(name)) => Ok(json!(lookup::new_name(home, kind, name, own)?)),
        _ => Ok(value),
    }
}

/// Reads a value of a setting that stands for itself: a part or an arrow set by its name, or a number.
pub fn read_setting(home: &Home, field: &str, typed: &str) -> Result<Value, CliError> {
    let value = if kind::unit_of_setting(field).is_empty() {
        part(home, field, typed.trim())?
    } else {
        json!(kind::read_setting(field, typed)?)
    };
    kind::check_setting(field, &value)?;
    Ok(value)
}

/// Reads a part or an arrow set by its name; where none is called so, the words stand for themselves, save for
/// limbs, string and arrows, which everything else depends on.
fn part(home: &Home, field: &str, typed: &str) -> Result<Value, CliError> {
    match field {
        "arrows" => Ok(json!(lookup::find(home, "arrows", typed)?.id)),
        "limbs" | "string" => Ok(json!(lookup::find(home, "part", typed)?.id)),
        _ => Ok(lookup::find_known(home, "part", typed)?.map_or_else(|| json!(typed), |part| json!(part.id))),
    }
}

/// Returns the value of a field for people: names for ids, the clock on the wall, places of arrows.
pub fn shown(field: &str, value: &Value, names: &BTreeMap<ThingId, String>) -> String {
    match field {
        "at" => when::shown(value.as_str()),
        "points_mm" => points(value),
        _ => words::shown(value, names),
    }
}

fn points(value: &Value) -> String {
    let point = |p: &Value| match p.as_array().map(Vec::as_slice) {
        Some([x, y]) => format!("{},{}", render::plain(x), render::plain(y)),
        _ => "M".into(),
    };
    value.as_array().map(|list| list.iter().map(point).collect::<Vec<_>>().join(" ")).unwrap_or_default()
}

/// Checks a record as it will be, where its fields have to fit one another.
pub fn check_draft(before: Option<&Thing>, draft: &Draft) -> Result<(), CliError> {
    let Some(before) = before.filter(|_| draft.kind == Group::NAME) else { return Ok(()) };
    // What was wrong before and is not touched is no reason to keep the rest from being mended.
    let wrong_before = kind::read::<Group>(before).ok().and_then(|group| group.check().err());
    let mut values: BTreeMap<String, Value> =
        before.fields().into_iter().map(|(name, f)| (name, json!(f.now.value))).collect();
    values.extend(draft.set.iter().map(|(name, raw)| (name.clone(), json!(raw))));
    let group: Group = serde_json::from_value(json!(values))
        .map_err(|e| CliError::input(format!("the group cannot be read with that value: {e}")))?;
    match group.check() {
        Err(e) if Some(&e) != wrong_before.as_ref() => Err(e.into()),
        _ => Ok(()),
    }
}
