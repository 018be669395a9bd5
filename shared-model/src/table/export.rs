//! Groups, changes and plain counts as CSV, one row an arrow, a setting, a count.

use super::cell::guard;
use crate::{
    id::ThingId,
    kind::{Change, Group, Practice, setting},
};
use csv::ByteRecord;
use serde_json::Value;
use std::{
    fmt::{Display, Write as _},
    io::{self, Write},
};

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
/// # Errors
/// Those of `out`.
pub fn groups_csv<'a>(
    mut out: impl Write,
    groups: impl IntoIterator<Item = (ThingId, &'a Group)>,
    name: &dyn Fn(ThingId) -> Option<String>,
) -> io::Result<()> {
    group_headers_csv(&mut out)?;
    group_rows_csv(out, groups, name)
}

/// Writes the row of headers that stands above the rows of groups.
/// # Errors
/// Those of `out`.
pub fn group_headers_csv(out: impl Write) -> io::Result<()> {
    let mut out = csv::Writer::from_writer(out);
    out.write_record(GROUP_HEADERS)?;
    out.flush()
}

/// Writes the rows of groups without the headers, so that parts of a long list can be written side by side.
/// # Errors
/// Those of `out`.
pub fn group_rows_csv<'a>(
    out: impl Write,
    groups: impl IntoIterator<Item = (ThingId, &'a Group)>,
    name: &dyn Fn(ThingId) -> Option<String>,
) -> io::Result<()> {
    let (mut out, called) = (csv::Writer::from_writer(out), |id: Option<ThingId>| called(id, name));
    let (mut row, mut cell) = (ByteRecord::new(), String::new());
    for (id, group) in groups {
        push_shared(&mut row, &mut cell, id, group, &called);
        let (shared, note) = (row.len(), text(&group.note));
        for (index, point) in group.points_mm.iter().flatten().enumerate() {
            row.truncate(shared);
            let number = group.arrow_numbers.as_ref().and_then(|n| n.get(index)?.as_deref());
            row.push_field(number.map_or(String::new(), guard).as_bytes());
            push_number(&mut row, &mut cell, point.map(|[x, _]| x));
            push_number(&mut row, &mut cell, point.map(|[_, y]| y));
            for is in [point.is_none(), group.is_flyer(index), group.is_bare(index)] {
                row.push_field(if is { b"yes" } else { b"" });
            }
            row.push_field(note.as_bytes());
            push_number(&mut row, &mut cell, Some(index + 1));
            out.write_byte_record(&row)?;
        }
    }
    out.flush()
}

/// Begins a row with what all arrows of a group share.
fn push_shared(
    row: &mut ByteRecord,
    cell: &mut String,
    id: ThingId,
    group: &Group,
    called: &dyn Fn(Option<ThingId>) -> String,
) {
    row.clear();
    row.push_field(id.to_string().as_bytes());
    for shared in [&group.at, &group.session, &group.end] {
        row.push_field(text(shared).as_bytes());
    }
    for thing in [group.archer, group.bow, group.arrows] {
        row.push_field(called(thing).as_bytes());
    }
    push_number(row, cell, group.distance_m);
    let face = group.face.as_ref().map_or(String::new(), |face| face_text(face.get()));
    row.push_field(face.as_bytes());
    row.push_field(text(&group.sight).as_bytes());
    push_number(row, cell, group.sight_offset_mrad.map(|s| s[0]));
    push_number(row, cell, group.sight_offset_mrad.map(|s| s[1]));
}

/// Adds a number by way of `cell`, so that no text is allocated for it.
fn push_number(row: &mut ByteRecord, cell: &mut String, number: Option<impl Display>) {
    cell.clear();
    if let Some(number) = number {
        // Writing into a text cannot fail.
        let _ = write!(cell, "{number}");
    }
    row.push_field(cell.as_bytes());
}

/// Writes plain counts of arrows as CSV, a row each.
///
/// # Errors
/// Those of the writer.
pub fn practice_csv<'a>(
    out: impl Write,
    counts: impl IntoIterator<Item = (ThingId, &'a Practice)>,
    name: &dyn Fn(ThingId) -> Option<String>,
) -> io::Result<()> {
    let mut out = csv::Writer::from_writer(out);
    out.write_record(["practice", "bow", "archer", "arrows", "at", "count", "note"])?;
    for (id, count) in counts {
        let [bow, archer, arrows] = [count.bow, count.archer, count.arrows].map(|id| called(id, name));
        let number = count.count.map(|n| n.to_string()).unwrap_or_default();
        out.write_record([id.to_string(), bow, archer, arrows, text(&count.at), number, text(&count.note)])?;
    }
    out.flush()
}

/// Writes changes as CSV, one row a setting; `name` says what an id is called.
/// # Errors
/// Those of `out`.
pub fn changes_csv<'a>(
    out: impl Write,
    changes: impl IntoIterator<Item = (ThingId, &'a Change)>,
    name: &dyn Fn(ThingId) -> Option<String>,
) -> io::Result<()> {
    let mut out = csv::Writer::from_writer(out);
    out.write_record(["change", "at", "bow", "by", "setting", "value", "unit", "note"])?;
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
            out.write_record(row(field, value, unit))?;
            written = true;
        }
        if !written {
            out.write_record(row("", String::new(), ""))?;
        }
    }
    out.flush()
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
