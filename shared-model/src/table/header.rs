//! What the headers of a table mean: the trade's words in any order, with units, or as the user says.

use crate::{ModelError, notation::Length};
use std::collections::BTreeMap;

/// What a column can hold.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Field {
    Group,
    At,
    Time,
    Session,
    End,
    Bow,
    Archer,
    Arrows,
    Arrow,
    X,
    Y,
    Score,
    Clock,
    Shot,
    Shots,
    Miss,
    Flyer,
    Bare,
    Numbers,
    Distance,
    Face,
    Sight,
    SightX,
    SightY,
    Note,
    Order,
    Ignored,
}

/// A field, what a user calls it, and the headers that mean it.
pub(super) struct Word {
    pub field: Field,
    pub name: &'static str,
    pub means: &'static [&'static str],
}

#[rustfmt::skip]
pub(super) const WORDS: &[Word] = &[
    Word { field: Field::Group, name: "group", means: &["group", "group id"] },
    Word { field: Field::At, name: "at", means: &["at", "date", "datetime", "date time", "date and time", "timestamp", "time stamp", "when", "day", "shot at", "shot on"] },
    Word { field: Field::Time, name: "time", means: &["time", "time of day", "clock time", "hour", "start", "start time"] },
    Word { field: Field::Session, name: "session", means: &["session", "session no", "session id", "session name", "practice", "training", "outing", "round"] },
    Word { field: Field::End, name: "end", means: &["end", "end no", "end id", "volley", "volley no"] },
    Word { field: Field::Bow, name: "bow", means: &["bow", "bow name", "bow id", "bow used"] },
    Word { field: Field::Archer, name: "archer", means: &["archer", "archer name", "shooter", "person", "who", "name", "shot by"] },
    Word { field: Field::Arrows, name: "arrows", means: &["arrows", "arrow set", "set", "shafts", "arrow type", "set of arrows", "arrows used"] },
    Word { field: Field::Arrow, name: "arrow", means: &["arrow", "arrow no", "arrow id", "shaft", "shaft no", "nock no"] },
    Word { field: Field::X, name: "x", means: &["x", "x pos", "x position", "x coordinate", "x coord", "pos x", "arrow x", "shot x", "x arrow", "x shot", "horizontal", "right", "windage"] },
    Word { field: Field::Y, name: "y", means: &["y", "y pos", "y position", "y coordinate", "y coord", "pos y", "arrow y", "shot y", "y arrow", "y shot", "vertical", "up", "height", "high", "elevation"] },
    Word { field: Field::Score, name: "score", means: &["score", "ring", "points", "value", "ring score", "arrow score", "arrow value"] },
    Word { field: Field::Clock, name: "clock", means: &["clock", "clock position", "o clock", "oclock", "clock face", "direction", "at clock"] },
    Word { field: Field::Shot, name: "shot", means: &["shot", "hit", "impact", "shot at face", "landed"] },
    Word { field: Field::Shots, name: "shots", means: &["shots", "hits", "impacts", "arrows shot", "shot list", "positions"] },
    Word { field: Field::Miss, name: "miss", means: &["miss", "missed", "off target", "not found"] },
    Word { field: Field::Flyer, name: "flyer", means: &["flyer", "flyers", "flier", "fliers", "outlier", "outliers", "bad shot", "bad shots"] },
    Word { field: Field::Bare, name: "bare", means: &["bare", "bare shaft", "bare shafts", "bareshaft", "bareshafts", "unfletched"] },
    Word { field: Field::Numbers, name: "numbers", means: &["numbers", "arrow numbers", "arrow nos", "shaft numbers"] },
    Word { field: Field::Distance, name: "distance", means: &["distance", "dist", "range", "shooting distance", "distance to face", "distance to target"] },
    Word { field: Field::Face, name: "face", means: &["face", "target", "target face", "face code", "target size", "face size"] },
    Word { field: Field::Sight, name: "sight", means: &["sight", "sight mark", "sight setting", "sight epoch", "crawl"] },
    Word { field: Field::SightX, name: "sight_x", means: &["sight x", "sight offset x", "sight right"] },
    Word { field: Field::SightY, name: "sight_y", means: &["sight y", "sight offset y", "sight up"] },
    Word { field: Field::Note, name: "note", means: &["note", "notes", "comment", "comments", "remark", "remarks"] },
    Word { field: Field::Order, name: "order", means: &["order", "shot no", "no", "shot id", "row"] },
    Word { field: Field::Ignored, name: "ignore", means: &[] },
];

/// A column: what it holds, of which arrow of the end, in which unit.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Column {
    pub field: Field,
    /// The arrow of the end, counted from 1, in a table of one row an end.
    pub arrow: Option<u32>,
    pub unit: Option<Unit>,
}

/// A unit that a header names.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) enum Unit {
    Length(Length),
    Mrad,
}

/// Returns what each header means; those that mean nothing are `Ignored`.
pub(super) fn columns(headers: &[String], told: &[(String, String)]) -> Result<Vec<Column>, ModelError> {
    let mut columns: Vec<Column> = headers.iter().map(|header| column(header)).collect();
    let mut by_hand: BTreeMap<usize, Column> = BTreeMap::new();
    for (field, header) in told {
        let mut column = told_column(field)?;
        let index = find(headers, header)?;
        column.unit = column.unit.or(columns[index].unit).or(self::column(header).unit);
        by_hand.insert(index, column);
    }
    // What the user says about a field takes it away from every other header that would mean it.
    for (index, column) in columns.iter_mut().enumerate() {
        if let Some(said) = by_hand.get(&index) {
            *column = *said;
        } else if by_hand.values().any(|said| (said.field, said.arrow) == (column.field, column.arrow)) {
            column.field = Field::Ignored;
        }
    }
    check_twice(headers, &columns)?;
    Ok(columns)
}

/// Returns what a user calls each field.
pub(super) fn field_names() -> impl Iterator<Item = &'static str> {
    WORDS.iter().map(|word| word.name)
}

fn column(header: &str) -> Column {
    let (words, unit) = split(header);
    let numbers: Vec<u32> = words.iter().filter_map(|word| word.parse().ok()).collect();
    let text: Vec<&str> = words.iter().filter(|w| w.parse::<u32>().is_err()).map(String::as_str).collect();
    let text = text.join(" ");
    let found = WORDS.iter().find(|word| word.means.contains(&text.as_str())).map(|word| word.field);
    let per_arrow = |field| matches!(field, Field::X | Field::Y | Field::Score | Field::Clock | Field::Shot);
    match (found, numbers.as_slice()) {
        (Some(field), []) => Column { field, arrow: None, unit },
        (Some(Field::Arrow), [n]) if !text.contains("no") => {
            Column { field: Field::Shot, arrow: Some(*n), unit }
        }
        (Some(field), [n]) if per_arrow(field) => Column { field, arrow: Some(*n), unit },
        _ => Column { field: Field::Ignored, arrow: None, unit },
    }
}

/// Splits a header into words and the unit in brackets or at its end.
fn split(header: &str) -> (Vec<String>, Option<Unit>) {
    let mut text = header.trim().to_lowercase();
    let mut unit = None;
    if let Some(open) = text.rfind(['(', '[']) {
        let inside = text[open + 1..].trim_end_matches([')', ']']).trim().to_owned();
        unit = read_unit(&inside);
        let before = text[..open].to_owned();
        text = if before.trim().is_empty() { inside } else { before };
    }
    if let Some(rest) = text.strip_suffix('"') {
        unit = unit.or(Some(Unit::Length(Length::In)));
        text = rest.to_owned();
    }
    let mut words: Vec<String> = Vec::new();
    let mut last: Option<char> = None;
    for c in text.replace('#', " no ").chars() {
        let joins = last.is_some_and(|l| l.is_alphanumeric() && l.is_numeric() == c.is_numeric());
        if c.is_alphanumeric() {
            match words.last_mut() {
                Some(word) if joins => word.push(c),
                _ => words.push(c.to_string()),
            }
        }
        last = Some(c);
    }
    for word in &mut words {
        if matches!(word.as_str(), "number" | "nr" | "num") {
            "no".clone_into(word);
        }
    }
    if unit.is_none() && words.len() > 1 {
        unit = words.last().and_then(|word| read_unit(word));
        if unit.is_some() {
            words.pop();
        }
        if words.len() > 1 && words.last().is_some_and(|word| word == "in") {
            words.pop();
        }
    }
    (words, unit)
}

fn read_unit(text: &str) -> Option<Unit> {
    match text {
        "mrad" => Some(Unit::Mrad),
        _ => Length::named(text).map(Unit::Length),
    }
}

/// Reads a field as the user names it: `x`, `x_mm`, `x1`, `distance_yd`.
fn told_column(name: &str) -> Result<Column, ModelError> {
    let wanted = name.trim().to_lowercase();
    let exact = |text: &str| WORDS.iter().find(|word| word.name == text).map(|word| word.field);
    if let Some(field) = exact(&wanted) {
        return Ok(Column { field, arrow: None, unit: None });
    }
    let (base, unit) = match wanted.rsplit_once('_') {
        Some((base, unit)) if read_unit(unit).is_some() => (base, read_unit(unit)),
        _ => (wanted.as_str(), None),
    };
    let digits = base.trim_start_matches(|c: char| !c.is_ascii_digit());
    let plain = base.trim_end_matches(|c: char| c.is_ascii_digit());
    let arrow = digits.parse().ok();
    match exact(plain) {
        Some(field) if digits.is_empty() || arrow.is_some() => Ok(Column { field, arrow, unit }),
        _ => {
            let near = nearest(&wanted, field_names());
            let names: Vec<&str> = field_names().collect();
            let message = format!(
                "`{name}` is no field of a group{near}; the fields are {}, with a number for one arrow of an \
                 end (x1, y1) and a unit where there is one (x_mm, distance_yd)",
                names.join(", ")
            );
            Err(ModelError::new("unknown_field", message).at("column"))
        }
    }
}

fn find(headers: &[String], wanted: &str) -> Result<usize, ModelError> {
    let same = |header: &&String| header.trim().to_lowercase() == wanted.trim().to_lowercase();
    headers.iter().position(|header| same(&header)).ok_or_else(|| {
        let near = nearest(wanted, headers.iter().map(String::as_str));
        let message =
            format!("the file has no column `{wanted}`{near}; its columns are {}", headers.join(", "));
        ModelError::new("unknown_column", message).at("column")
    })
}

fn nearest<'a>(wanted: &str, known: impl Iterator<Item = &'a str>) -> String {
    let near = known.map(|name| (strsim::jaro_winkler(&wanted.to_lowercase(), &name.to_lowercase()), name));
    match near.max_by(|a, b| a.0.total_cmp(&b.0)) {
        Some((likeness, name)) if likeness > 0.75 => format!(" (did you mean `{name}`?)"),
        _ => String::new(),
    }
}

fn check_twice(headers: &[String], columns: &[Column]) -> Result<(), ModelError> {
    let mut seen: BTreeMap<(Field, Option<u32>), usize> = BTreeMap::new();
    for (index, column) in columns.iter().enumerate() {
        if column.field == Field::Ignored {
            continue;
        }
        if let Some(first) = seen.insert((column.field, column.arrow), index) {
            let word = WORDS.iter().find(|word| word.field == column.field).map_or("", |word| word.name);
            let number = column.arrow.map_or(String::new(), |n| n.to_string());
            let message = format!(
                "the columns `{}` and `{}` both mean {word}{number}; say which with --column \
                 {word}{number}=HEADER",
                headers[first], headers[index]
            );
            return Err(ModelError::new("column_twice", message).at("column"));
        }
    }
    Ok(())
}
