//! What a change altered, in the trade's words.

use super::{sentence::list, units::trimmed};
use crate::{
    id::ThingId,
    kind::{setting, shaft_of},
    notation::{bare, unit_of},
    timeline::{Altered, SeasonChange, net},
};
use serde_json::Value;

/// Returns what was altered: `quarter turn on the plunger (2 to 2.25)`, `brace height 215 to 218 mm`.
pub fn altered(altered: &Altered, name_of: &dyn Fn(ThingId) -> Option<String>) -> String {
    let (name, unit) = name_and_unit(&altered.setting);
    let show = |value: &Value| quantity(value, name_of);
    let after = show(&altered.after);
    let unit = unit_beside(unit, &altered.after);
    let Some(before) = &altered.before else { return with_unit(format!("{name} set to {after}"), unit) };
    if let (Some(a), Some(b), "turn") = (before.as_f64(), altered.after.as_f64(), unit.trim_end_matches('s'))
        && let Some(turn) = turn_words(b - a)
    {
        return format!("{turn} on the {name} ({} to {after})", show(before));
    }
    with_unit(format!("{name} {} to {after}", show(before)), unit)
}

/// Returns what changes altered taken together, as a list.
pub fn changed(changes: &[&SeasonChange], name_of: &dyn Fn(ThingId) -> Option<String>) -> String {
    let parts: Vec<String> = net(changes).iter().map(|a| altered(a, name_of)).collect();
    if parts.is_empty() { "a change that names no setting".into() } else { list(&parts) }
}

/// Returns what the trade calls a setting or a field, and its unit; of one arrow of a set, with its number.
pub fn name_and_unit(field: &str) -> (String, &'static str) {
    if let Some((number, of)) = shaft_of(field) {
        return (format!("shaft {number} {}", bare(of).replace('_', " ")), unit_of(of));
    }
    match setting(field) {
        Some(known) => (known.name.to_owned(), known.unit),
        None => (bare(field).replace('_', " "), unit_of(field)),
    }
}

/// Returns a unit as it is written behind a value: `turn` behind 1.
pub fn unit_beside(unit: &'static str, value: &Value) -> &'static str {
    match (unit, value.as_f64()) {
        ("turns", Some(value)) if value.abs() == 1.0 => "turn",
        (unit, _) => unit,
    }
}

/// Returns a value for people: the name of the thing that it points to, or the number.
pub fn quantity(value: &Value, name_of: &dyn Fn(ThingId) -> Option<String>) -> String {
    match value {
        Value::String(text) => {
            text.parse().ok().and_then(name_of).unwrap_or_else(|| text.replace(char::is_control, " "))
        }
        Value::Number(n) => n.as_f64().map_or_else(|| n.to_string(), |n| trimmed(n, 3)),
        Value::Null => "nothing".into(),
        other => other.to_string(),
    }
}

fn with_unit(text: String, unit: &str) -> String {
    if unit.is_empty() { text } else { format!("{text} {unit}") }
}

fn turn_words(turns: f64) -> Option<&'static str> {
    let known = [
        (0.125, "eighth of a turn"),
        (0.25, "quarter turn"),
        (0.5, "half turn"),
        (0.75, "three-quarter turn"),
        (1.0, "full turn"),
    ];
    known.iter().find(|(size, _)| (turns.abs() - size).abs() < 1e-9).map(|(_, words)| *words)
}
