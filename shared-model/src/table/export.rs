//! Groups and changes as CSV, one row an arrow and one row a setting.

use super::cell::guard;
use crate::{
    ModelError,
    id::ThingId,
    kind::{Change, Group, setting},
};
use serde_json::Value;

const GROUP_HEADERS: [&str; 20] = [
    "group",
    "at",
    "session",
    "end",
    "archer",
    "bow",
    "arrows",
    "distance_m",
    "face",
    "sight",
    "sight_x_mrad",
    "sight_y_mrad",
    "arrow",
    "x_mm",
    "y_mm",
    "miss",
    "flyer",
    "bare",
    "note",
    "order",
];

/// Writes groups as CSV, one row an arrow; `name` says what an id is called.
///
/// What [`super::read`] makes of it are the same groups with the same ids. Cells that a spreadsheet would
/// take for a formula begin with an apostrophe, which is taken off when they are read.
pub fn groups_csv<'a>(
    groups: impl IntoIterator<Item = (ThingId, &'a Group)>,
    name: &dyn Fn(ThingId) -> Option<String>,
) -> Result<String, ModelError> {
    let mut out = csv::Writer::from_writer(Vec::new());
    out.write_record(GROUP_HEADERS).map_err(|e| failed(&e))?;
    let called = |id: Option<ThingId>| called(id, name);
    for (id, group) in groups {
        let shared = [
            id.to_string(),
            text(&group.at),
            text(&group.session),
            text(&group.end),
            called(group.archer),
            called(group.bow),
            called(group.arrows),
            group.distance_m.map_or(String::new(), |m| m.to_string()),
            group.face.as_ref().map_or(String::new(), |face| face_text(face.get())),
            text(&group.sight),
            group.sight_offset_mrad.map_or(String::new(), |s| s[0].to_string()),
            group.sight_offset_mrad.map_or(String::new(), |s| s[1].to_string()),
        ];
        for (index, point) in group.points_mm.iter().flatten().enumerate() {
            let number = group.arrow_numbers.as_ref().and_then(|n| n.get(index).cloned().flatten());
            let yes = |is: bool| if is { "yes".to_owned() } else { String::new() };
            let own = [
                text(&number),
                point.map_or(String::new(), |[x, _]| x.to_string()),
                point.map_or(String::new(), |[_, y]| y.to_string()),
                yes(point.is_none()),
                yes(group.is_flyer(index)),
                yes(group.is_bare(index)),
                text(&group.note),
                (index + 1).to_string(),
            ];
            out.write_record(shared.iter().chain(&own)).map_err(|e| failed(&e))?;
        }
    }
    finish(out)
}

/// Writes changes as CSV, one row a setting; `name` says what an id is called.
pub fn changes_csv<'a>(
    changes: impl IntoIterator<Item = (ThingId, &'a Change)>,
    name: &dyn Fn(ThingId) -> Option<String>,
) -> Result<String, ModelError> {
    let mut out = csv::Writer::from_writer(Vec::new());
    let headers = ["change", "at", "bow", "by", "setting", "value", "unit", "note"];
    out.write_record(headers).map_err(|e| failed(&e))?;
    let called = |id: Option<ThingId>| called(id, name);
    for (id, change) in changes {
        let row = |field: &str, value: String, unit: &str| {
            [
                id.to_string(),
                text(&change.at),
                called(change.bow),
                called(change.by),
                field.to_owned(),
                value,
                unit.to_owned(),
                text(&change.note),
            ]
        };
        let mut written = false;
        for (field, value) in change.settings() {
            let value = match value {
                Value::String(word) => match word.parse::<ThingId>() {
                    Ok(id) => called(Some(id)),
                    Err(_) => guard(word),
                },
                other => other.to_string(),
            };
            let unit = setting(field).map_or("", |setting| setting.unit);
            out.write_record(row(field, value, unit)).map_err(|e| failed(&e))?;
            written = true;
        }
        if !written {
            out.write_record(row("", String::new(), "")).map_err(|e| failed(&e))?;
        }
    }
    finish(out)
}

fn called(id: Option<ThingId>, name: &dyn Fn(ThingId) -> Option<String>) -> String {
    id.map_or(String::new(), |id| guard(&name(id).unwrap_or_else(|| id.to_string())))
}

fn text(text: &Option<String>) -> String {
    text.as_deref().map_or(String::new(), guard)
}

fn face_text(raw: &str) -> String {
    serde_json::from_str::<String>(raw).unwrap_or_else(|_| raw.to_owned())
}

fn finish(out: csv::Writer<Vec<u8>>) -> Result<String, ModelError> {
    let bytes = out.into_inner().map_err(|e| failed(&e.into_error().into()))?;
    String::from_utf8(bytes).map_err(|_| ModelError::new("not_text", "the table is no text"))
}

fn failed(e: &csv::Error) -> ModelError {
    ModelError::new("unwritable", format!("the table cannot be written: {e}"))
}
