//! Tables of groups: from the CSV files that people already have, and into CSV for whoever wants one.
//!
//! A file is one row an arrow or one row an end, its columns in any order, found by their headers.
//! Names of bows, archers and arrow sets are returned as names; whoever calls decides what they stand for.
//! Positions are mm on the face, x to the archer's right, y up.

mod cell;
mod context;
mod ends;
mod export;
mod header;
mod identity;
mod moment;
mod shafts;
mod sheet;
mod shots;

pub use export::{changes_csv, group_headers_csv, group_rows_csv, groups_csv, practice_csv};
pub use identity::named_id;
pub use moment::DateOrder;
pub use shafts::{SHAFT_COLUMNS, shaft_rows, shafts_csv};
pub use sheet::MOST_BYTES;

use crate::{
    ModelError,
    id::{TeamId, ThingId},
    kind::Group,
    notation::Length,
};
use header::Field;
use jiff::tz::TimeZone;
use serde::Serialize;
use std::collections::BTreeMap;

/// How a file is to be read where it does not say so itself.
#[derive(Debug, Clone)]
pub struct Options {
    /// Fields and the headers that mean them, as the user says: `("x_mm", "Links/rechts")`.
    pub columns: Vec<(String, String)>,
    /// What separates the columns; found from the first line when left out.
    pub separator: Option<char>,
    /// The unit of positions without one.
    pub length: Length,
    /// The unit of distances without one.
    pub distance: Length,
    /// Where the clock on the wall hung, for times without an offset from UTC.
    pub zone: TimeZone,
    /// How dates such as 03/04/2026 are read.
    pub dates: DateOrder,
    /// Whether an empty cell of date, time, session, end, bow, archer, arrows, distance, face or sight means
    /// what stood above it; an empty time only where the date carries none.
    pub fill_down: bool,
    /// What rows mean that do not say so themselves.
    pub usual: Usual,
}

/// What rows mean that do not say so themselves; each as it would stand in its cell.
#[derive(Debug, Clone, Default)]
pub struct Usual {
    /// Date, or date and time.
    pub at: Option<String>,
    /// The bow's name.
    pub bow: Option<String>,
    /// The archer's name.
    pub archer: Option<String>,
    /// The arrow set's name.
    pub arrows: Option<String>,
    /// The distance, with its unit.
    pub distance: Option<String>,
    /// The face's code.
    pub face: Option<String>,
    /// The session.
    pub session: Option<String>,
}

impl Options {
    /// Returns the options for metric tables, times being those of `zone`.
    pub fn metric(zone: TimeZone) -> Self {
        Self {
            columns: Vec::new(),
            separator: None,
            length: Length::Mm,
            distance: Length::M,
            zone,
            dates: DateOrder::AsTheFileTells,
            fill_down: false,
            usual: Usual::default(),
        }
    }

    /// Returns the options for imperial tables: inches on the face, yards to it.
    pub fn imperial(zone: TimeZone) -> Self {
        Self { length: Length::In, distance: Length::Yd, ..Self::metric(zone) }
    }
}

/// Something wrong with a row.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct Trouble {
    /// The line of the file on which the row begins, counted from 1.
    pub line: u64,
    /// The header of the column, when one cell is wrong.
    pub column: Option<String>,
    /// A stable word for programs.
    pub code: &'static str,
    /// What is wrong, and what to do.
    pub message: String,
}

impl std::fmt::Display for Trouble {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        match &self.column {
            Some(column) => write!(f, "line {}, column {column}: {}", self.line, self.message),
            None => write!(f, "line {}: {}", self.line, self.message),
        }
    }
}

/// A group that a file tells of. The group itself names no bow, archer or arrow set yet.
#[derive(Debug, Clone)]
pub struct Found {
    /// The line on which its first row begins.
    pub line: u64,
    /// Its id, when the file has one.
    pub id: Option<ThingId>,
    /// The bow's name, or its id.
    pub bow: String,
    /// The archer's name, or its id.
    pub archer: Option<String>,
    /// The arrow set's name, or its id.
    pub arrows: Option<String>,
    /// Everything else.
    pub group: Group,
}

/// What a file tells.
#[derive(Debug)]
pub struct Table {
    /// The groups, in the order of their first rows.
    pub found: Vec<Found>,
    /// The rows that cannot be read, and why.
    pub troubles: Vec<Trouble>,
    /// Rows that could be read and are left out since another row of their end could not.
    pub left_out: usize,
    /// How many rows the file has, its headers not counted.
    pub rows: usize,
    /// Each header, and the field that it was taken for.
    pub columns: Vec<(String, Option<&'static str>)>,
    /// What the reader had to assume.
    pub notes: Vec<String>,
}

/// A name in a file, and how many groups bear it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Named {
    /// The kind: `bow`, `person` or `arrows`.
    pub kind: &'static str,
    /// The name as it stands in the file.
    pub name: String,
    /// How many groups.
    pub groups: usize,
}

/// Reads a file. `progress` is told how many rows are done, of how many.
///
/// # Errors
/// What is wrong with the file as a whole: no text, no such column, no column for something that every
/// group needs. What is wrong with a row stands in [`Table::troubles`].
pub fn read(
    bytes: &[u8],
    options: &Options,
    progress: &mut dyn FnMut(usize, usize),
) -> Result<Table, ModelError> {
    let sheet = sheet::Sheet::read(bytes, options.separator)?;
    let columns = header::columns(&sheet.headers, &options.columns)?;
    let mut table = ends::read(sheet, &columns, options, progress)?;
    let ignored: Vec<&str> = table
        .columns
        .iter()
        .filter(|(_, field)| field.is_none())
        .map(|(header, _)| header.as_str())
        .collect();
    if !ignored.is_empty() {
        let note = format!("not read, for want of a meaning: {}", ignored.join(", "));
        table.notes.push(note);
    }
    Ok(table)
}

impl Table {
    /// Returns every name of the file, in the order of its first use.
    pub fn names(&self) -> Vec<Named> {
        let mut names: Vec<Named> = Vec::new();
        let mut place: BTreeMap<(&'static str, &str), usize> = BTreeMap::new();
        for found in &self.found {
            let three = [
                ("bow", Some(&found.bow)),
                ("person", found.archer.as_ref()),
                ("arrows", found.arrows.as_ref()),
            ];
            for (kind, name) in three {
                let Some(name) = name else { continue };
                let index = *place.entry((kind, name)).or_insert_with(|| {
                    names.push(Named { kind, name: name.clone(), groups: 0 });
                    names.len() - 1
                });
                names[index].groups += 1;
            }
        }
        names
    }

    /// Returns the groups with their ids and whose they are; `resolve` says what a name of a kind stands for.
    ///
    /// The id of a group follows from what it is, so that the same file yields the same ids.
    ///
    /// # Errors
    /// `unknown_name` when `resolve` does not know a name.
    pub fn groups(
        &self,
        team: TeamId,
        resolve: &mut dyn FnMut(&'static str, &str) -> Option<ThingId>,
    ) -> Result<Vec<(ThingId, Group)>, ModelError> {
        let mut twins = identity::Twins::new(team);
        let mut groups = Vec::with_capacity(self.found.len());
        for found in &self.found {
            let mut known = |kind: &'static str, name: &str| {
                resolve(kind, name).ok_or_else(|| {
                    let message = format!("line {}: there is no {kind} `{name}`", found.line);
                    ModelError::new("unknown_name", message).at(kind)
                })
            };
            let mut group = found.group.clone();
            group.bow = Some(known("bow", &found.bow)?);
            group.archer = found.archer.as_deref().map(|name| known("person", name)).transpose()?;
            group.arrows = found.arrows.as_deref().map(|name| known("arrows", name)).transpose()?;
            let id = found.id.unwrap_or_else(|| twins.id(&group));
            groups.push((id, group));
        }
        Ok(groups)
    }
}

fn field_name(field: Field) -> Option<&'static str> {
    let word = header::WORDS.iter().find(|word| word.field == field)?;
    (field != Field::Ignored).then_some(word.name)
}

#[cfg(test)]
mod laws;
#[cfg(test)]
mod tests;
