//! Rows into ends: one row each, or as many rows as arrows.

use super::{
    Found, Options, Table, Trouble,
    cell::{Cells, shown},
    context::{Context, Contexts},
    field_name,
    header::{Column, Field},
    moment::has_time,
    sheet::{Row, Sheet},
    shots::{self, Arrow},
};
use crate::{ModelError, kind::Group};
use std::collections::{BTreeMap, BTreeSet};

/// How many rows pass between two words of progress.
const PROGRESS_ROWS: usize = 256;

/// An end as it comes together.
struct End {
    line: u64,
    context: Context,
    label: String,
    arrows: Vec<Arrow>,
    notes: Vec<String>,
    rows: usize,
    bad_rows: usize,
    spoiled: bool,
}

/// Reads the rows of a sheet.
pub(super) fn read(
    mut sheet: Sheet,
    columns: &[Column],
    options: &Options,
    progress: &mut dyn FnMut(usize, usize),
) -> Result<Table, ModelError> {
    let by_arrow = layout(&sheet.headers, columns)?;
    needed(columns, options)?;
    if options.fill_down {
        fill_down(&mut sheet.rows, columns);
    }
    let Sheet { headers, rows, troubles } = sheet;
    let mut reader = Reader {
        columns,
        headers: &headers,
        options,
        by_arrow,
        contexts: Contexts::new(&rows, columns, options),
        ends: Vec::new(),
        place: BTreeMap::new(),
        troubles,
    };
    let mut lost: Vec<(usize, String)> = Vec::new();
    let mut of_row: Vec<Option<usize>> = Vec::with_capacity(rows.len());
    for (index, row) in rows.iter().enumerate() {
        if index % PROGRESS_ROWS == 0 {
            progress(index, rows.len());
        }
        let end = reader.row(row);
        if end.is_none() {
            lost.push((index, reader.label(row)));
        }
        of_row.push(end);
    }
    reader.spoil_neighbours(&lost, &of_row);
    progress(rows.len(), rows.len());
    Ok(reader.finish(rows.len()))
}

/// Returns whether a row is an arrow (and not an end).
fn layout(headers: &[String], columns: &[Column]) -> Result<bool, ModelError> {
    let has = |field, numbered: bool| {
        columns.iter().any(|column| column.field == field && column.arrow.is_some() == numbered)
    };
    let single = (has(Field::X, false) && has(Field::Y, false))
        || has(Field::Shot, false)
        || (has(Field::Score, false) && has(Field::Clock, false));
    let several = has(Field::Shots, false)
        || has(Field::Shot, true)
        || (has(Field::X, true) && has(Field::Y, true))
        || (has(Field::Score, true) && has(Field::Clock, true));
    match (single, several) {
        (true, false) => Ok(true),
        // A score beside a list of shots is the score of the end.
        (_, true) if !has(Field::X, false) && !has(Field::Shot, false) => Ok(false),
        (true, true) => Err(ModelError::new(
            "two_layouts",
            "the file has columns for one arrow a row (x, y) and for one end a row (x1, y1 or shots); say with \
             --column which to read, and ignore=HEADER for the others",
        )),
        _ => {
            let message = format!(
                "no columns say where the arrows struck. One row an arrow needs x and y, or score and clock; \
                 one row an end needs x1, y1, x2, y2 and so on, or shots (9@4:30 X@12 M). The file has: {}. \
                 Name them with --column, for example --column x=HEADER",
                headers.join(", ")
            );
            Err(ModelError::new("no_positions", message).at("column"))
        }
    }
}

/// Checks that whatever every group needs has a column or a usual value.
fn needed(columns: &[Column], options: &Options) -> Result<(), ModelError> {
    let usual = &options.usual;
    // A file with its own ids still needs all of these.
    let needs = [
        (Field::At, "at", usual.at.is_some(), "a date", "--at 2026-04-12"),
        (Field::Distance, "distance", usual.distance.is_some(), "a distance", "--distance 30m"),
        (Field::Bow, "bow", usual.bow.is_some(), "a bow", "--bow NAME"),
    ];
    for (field, name, given, what, option) in needs {
        if !given && !columns.iter().any(|column| column.field == field) {
            let message = format!(
                "no column is {what}; name it with --column {name}=HEADER, or say {option} for the whole file"
            );
            return Err(ModelError::new("no_column", message).at(name));
        }
    }
    Ok(())
}

fn fill_down(rows: &mut [Row], columns: &[Column]) {
    use Field::{Archer, Arrows, At, Bow, Distance, End, Face, Session, Sight, Time};
    let mut of = |field: Field, wants: &dyn Fn(&Row) -> bool| {
        let Some(index) = columns.iter().position(|column| column.field == field) else { return };
        let mut above = String::new();
        for row in rows.iter_mut() {
            let wanted = wants(row);
            match row.cells.get_mut(index) {
                Some(cell) if !cell.is_empty() => above.clone_from(cell),
                Some(cell) if wanted => cell.clone_from(&above),
                _ => {}
            }
        }
    };
    for field in [At, Session, End, Bow, Archer, Arrows, Distance, Face, Sight] {
        of(field, &|_| true);
    }
    // A time from above would take the place of the one that a full date carries.
    let at = columns.iter().position(|column| column.field == At);
    let bare = |row: &Row| !at.and_then(|at| row.cells.get(at)).is_some_and(|text| has_time(text));
    of(Time, &bare);
}

struct Reader<'a> {
    columns: &'a [Column],
    headers: &'a [String],
    options: &'a Options,
    by_arrow: bool,
    contexts: Contexts<'a>,
    ends: Vec<End>,
    place: BTreeMap<String, usize>,
    troubles: Vec<Trouble>,
}

impl Reader<'_> {
    /// Reads a row; returns the end it belongs to, when that can be told.
    fn row(&mut self, row: &Row) -> Option<usize> {
        let mut cells = Cells { row, headers: self.headers, columns: self.columns, troubles: Vec::new() };
        if let Some(extra) = row.cells.iter().skip(self.headers.len()).find(|cell| !cell.is_empty()) {
            let message = format!(
                "the row has more cells than there are headers (`{}`); is a cell with a separator in it \
                 without its quotation marks?",
                shown(extra)
            );
            cells.trouble(None, ModelError::new("too_many_cells", message));
        }
        let context = self.contexts.read(&mut cells);
        let face = context.as_ref().and_then(|context| self.contexts.face(context));
        let arrows = if self.by_arrow {
            shots::arrow(&mut cells, face, self.options).into_iter().collect()
        } else {
            shots::arrows(&mut cells, face, self.options)
        };
        let note = cells.name(Field::Note);
        let end = context.map(|context| self.end_of(&mut cells, context));
        let bad = !cells.troubles.is_empty();
        // One trouble a row: what comes after the first is most often its consequence.
        self.troubles.extend(cells.troubles.into_iter().next());
        let end = end?;
        let end_row = &mut self.ends[end];
        end_row.rows += 1;
        end_row.bad_rows += usize::from(bad);
        end_row.spoiled |= bad;
        end_row.arrows.extend(arrows);
        end_row.notes.extend(note.filter(|note| !end_row.notes.contains(note)));
        Some(end)
    }

    /// Returns the end with this context, a new one where there is none; notes in `cells` what speaks against it.
    fn end_of(&mut self, cells: &mut Cells<'_>, context: Context) -> usize {
        let row = cells.row;
        let key = match context.group {
            Some(group) => group.to_string(),
            None if self.by_arrow => context.shared(),
            None => format!("row {}", row.line),
        };
        if let Some(end) = self.place.get(&key).copied() {
            let first = &self.ends[end];
            let why = if !self.by_arrow {
                "give each end an id of its own"
            } else if first.context.shared() != context.shared() {
                "and its bow, date, distance or another thing that an end shares differs; make these rows alike, \
                 or give them another id"
            } else {
                return end;
            };
            let message = format!("the group id {key} stands on line {} already; {why}", first.line);
            let column = self.columns.iter().position(|column| column.field == Field::Group);
            cells.trouble(column, ModelError::new("group_twice", message));
            return end;
        }
        let label = self.label(row);
        self.ends.push(End {
            line: row.line,
            context,
            label,
            arrows: Vec::new(),
            notes: Vec::new(),
            rows: 0,
            bad_rows: 0,
            spoiled: false,
        });
        self.place.insert(key, self.ends.len() - 1);
        self.ends.len() - 1
    }

    /// Returns what the cells of a row say about its end, unread.
    fn label(&self, row: &Row) -> String {
        let cell = |field| {
            let index = self.columns.iter().position(|column| column.field == field);
            index.and_then(|index| row.cells.get(index)).map_or("", String::as_str)
        };
        format!("{}\n{}\n{}", cell(Field::Group), cell(Field::Session), cell(Field::End))
    }

    /// Leaves out the ends to which rows that cannot be placed seem to belong: the one before and the
    /// one after, if they bear the same session and end. Part of an end would be another end.
    fn spoil_neighbours(&mut self, lost: &[(usize, String)], of_row: &[Option<usize>]) {
        let named = self.columns.iter().any(|c| matches!(c.field, Field::End | Field::Group));
        if !self.by_arrow || !named {
            return;
        }
        let mut spoiled = BTreeSet::new();
        for (index, label) in lost {
            let before = of_row[..*index].iter().rev().find_map(|end| *end);
            let after = of_row[index + 1..].iter().find_map(|end| *end);
            spoiled
                .extend([before, after].into_iter().flatten().filter(|end| self.ends[*end].label == *label));
        }
        spoiled.into_iter().for_each(|end| self.ends[end].spoiled = true);
    }

    fn finish(mut self, rows: usize) -> Table {
        let mut found = Vec::with_capacity(self.ends.len());
        let (mut left_out, mut untimed) = (0, 0);
        for end in std::mem::take(&mut self.ends) {
            if end.spoiled {
                left_out += end.rows - end.bad_rows;
                continue;
            }
            untimed += usize::from(!end.context.timed);
            let line = end.line;
            let group = end.into_found();
            match group.group.check() {
                Ok(()) => found.push(group),
                Err(error) => self.troubles.push(Trouble {
                    line,
                    column: None,
                    code: error.code,
                    message: error.message,
                }),
            }
        }
        self.troubles.sort_by_key(|trouble| trouble.line);
        let mut notes = Vec::new();
        if untimed > 0 {
            let groups = if untimed == 1 { "group has" } else { "groups have" };
            notes.push(format!(
                "{untimed} {groups} a day and no time, read as noon; a change on the same day may come to \
                 stand on the wrong side"
            ));
        }
        let columns =
            self.headers.iter().zip(self.columns).map(|(h, c)| (h.clone(), field_name(c.field))).collect();
        Table { found, troubles: self.troubles, left_out, rows, columns, notes }
    }
}

impl End {
    fn into_found(self) -> Found {
        let arrows = in_order(self.arrows);
        let marked = |mark: fn(&Arrow) -> bool| {
            let list: Vec<u32> = arrows.iter().zip(0..).filter(|(a, _)| mark(a)).map(|(_, i)| i).collect();
            (!list.is_empty()).then_some(list)
        };
        let numbers: Vec<Option<String>> = arrows.iter().map(|arrow| arrow.number.clone()).collect();
        let context = self.context;
        let group = Group {
            at: Some(context.at.rfc3339()),
            session: context.session,
            end: context.end,
            distance_m: Some(context.distance_m),
            face: context.face,
            flyers: marked(|arrow| arrow.flyer),
            bare: marked(|arrow| arrow.bare),
            points_mm: Some(arrows.iter().map(|arrow| arrow.point_mm).collect()),
            arrow_numbers: numbers.iter().any(Option::is_some).then_some(numbers),
            sight: context.sight,
            sight_offset_mrad: context.sight_offset_mrad,
            note: (!self.notes.is_empty()).then(|| self.notes.join("; ")),
            ..Group::default()
        };
        Found {
            line: self.line,
            id: context.group,
            bow: context.bow,
            archer: context.archer,
            arrows: context.arrows,
            group,
        }
    }
}

/// Puts the arrows of an end in the order that their rows say; where one says none, that of the rows stands.
fn in_order(mut arrows: Vec<Arrow>) -> Vec<Arrow> {
    if arrows.iter().all(|arrow| arrow.order.is_some()) {
        arrows.sort_by(|a, b| a.order.unwrap_or_default().total_cmp(&b.order.unwrap_or_default()));
    }
    arrows
}
