//! Values of fields as people read them: names for ids, the clock on the wall, places of arrows.

use crate::{
    id::ThingId,
    kind::shaft_of,
    moment::Moment,
    verdict::{decimal, name_and_unit},
};
use serde_json::Value;
use std::collections::BTreeMap;

/// Returns a JSON value as a person reads it.
pub fn plain(value: &Value) -> String {
    match value {
        Value::String(text) => text.replace(char::is_control, " "),
        Value::Number(n) => n.as_f64().map_or_else(|| n.to_string(), |n| decimal(n, 4)),
        Value::Bool(true) => "yes".into(),
        Value::Bool(false) => "no".into(),
        Value::Null => "-".into(),
        other => other.to_string(),
    }
}

/// Returns a value for people: the name of the thing it points to where it does.
pub fn shown(value: &Value, names: &BTreeMap<ThingId, String>) -> String {
    let named = value.as_str().and_then(|t| t.parse().ok()).and_then(|id: ThingId| names.get(&id));
    named.cloned().unwrap_or_else(|| plain(value))
}

/// Returns the value of a field for people.
pub fn field_shown(field: &str, value: &Value, names: &BTreeMap<ThingId, String>) -> String {
    match field {
        "at" => day_and_time(value.as_str()),
        "points_mm" => points(value),
        _ => shown(value, names),
    }
}

/// Returns a field and its value for people: of one arrow of a set in words, with its unit.
pub fn named_field(field: &str, value: &Value, names: &BTreeMap<ThingId, String>) -> (String, String) {
    let shown = field_shown(field, value, names);
    if shaft_of(field).is_none() {
        return (field.to_owned(), shown);
    }
    let (name, unit) = name_and_unit(field);
    (name, if value.is_number() && !unit.is_empty() { format!("{shown} {unit}") } else { shown })
}

/// Returns day and time on the wall where it was written, for example `2026-04-12 10:30`.
pub fn day_and_time(at: Option<&str>) -> String {
    let Some(at) = at else { return "no time".into() };
    Moment::read(at).map_or_else(|_| at.to_owned(), |m| m.day_and_time())
}

/// Returns what a field is now and was before, in the words of the trade.
pub fn mended_words(field: &str, was: &Value, now: &Value, names: &BTreeMap<ThingId, String>) -> String {
    let (name, unit) = name_and_unit(field.strip_prefix("set.").unwrap_or(field));
    let name = if field == "points_mm" { "shots".to_owned() } else { name };
    let unit = if unit.is_empty() || field == "points_mm" { String::new() } else { format!(" {unit}") };
    let value = |value: &Value| field_shown(field, value, names);
    match (was.is_null(), now.is_null()) {
        (true, true) => format!("{name} is not noted"),
        (true, false) => format!("{name} {}{unit}", value(now)),
        (false, true) => format!("{name} is not noted any more; it was {}{unit}", value(was)),
        (false, false) => format!("{name} {} -> {}{unit}", value(was), value(now)),
    }
}

fn points(value: &Value) -> String {
    let point = |p: &Value| match p.as_array().map(Vec::as_slice) {
        Some([x, y]) => format!("{},{}", plain(x), plain(y)),
        _ => "M".into(),
    };
    value.as_array().map(|list| list.iter().map(point).collect::<Vec<_>>().join(" ")).unwrap_or_default()
}
