//! What the rows of one end share: when, where, who and with what.

use super::{
    Options,
    cell::{Cells, metres, number},
    header::{Column, Field, Unit},
    moment::{DateOrder, Dates, order_of},
    sheet::Row,
};
use crate::{ModelError, face::Face, id::ThingId, notation::Length, timeline::Moment};
use serde_json::{
    Value,
    value::{RawValue, to_raw_value},
};
use std::collections::BTreeMap;

/// What the rows of one end share.
#[derive(Debug, Clone)]
pub(super) struct Context {
    pub group: Option<ThingId>,
    pub at: Moment,
    pub timed: bool,
    pub session: Option<String>,
    pub end: Option<String>,
    pub bow: String,
    pub archer: Option<String>,
    pub arrows: Option<String>,
    pub distance_m: f64,
    pub face: Option<Box<RawValue>>,
    pub sight: Option<String>,
    pub sight_offset_mrad: Option<[f64; 2]>,
}

/// Reads the contexts of a file.
pub(super) struct Contexts<'a> {
    columns: &'a [Column],
    options: &'a Options,
    dates: Dates<'a>,
    faces: BTreeMap<String, Result<Face, ModelError>>,
}

impl<'a> Contexts<'a> {
    pub fn new(rows: &[Row], columns: &'a [Column], options: &'a Options) -> Self {
        let dates = Dates { order: date_order(rows, columns, options), zone: &options.zone };
        Self { columns, options, dates, faces: BTreeMap::new() }
    }

    /// Returns the face of a context, when it has one.
    pub fn face(&self, context: &Context) -> Option<&Face> {
        self.faces.get(context.face.as_ref()?.get())?.as_ref().ok()
    }

    /// Reads what a row says about its end, or notes in `cells` why that cannot be told.
    pub fn read(&mut self, cells: &mut Cells<'_>) -> Option<Context> {
        let before = cells.troubles.len();
        let usual = &self.options.usual;
        let group = cells.text(Field::Group, None).map(|(index, text)| cells.keep(index, text.parse()));
        let moment = self.moment(cells);
        let bow = cells.name(Field::Bow).or_else(|| usual.bow.clone());
        if bow.is_none() {
            let column = self.columns.iter().position(|column| column.field == Field::Bow);
            let message = "the row names no bow; fill the cell, or say --bow NAME for rows without one";
            cells.trouble(column, ModelError::new("missing_field", message));
        }
        let distance_m = self.distance(cells);
        let face = self.read_face(cells);
        let sight_offset_mrad = self.sight_offset(cells);
        if cells.troubles.len() > before {
            return None;
        }
        let (at, timed) = moment?;
        Some(Context {
            group: group.flatten(),
            at,
            timed,
            session: cells.name(Field::Session).or_else(|| usual.session.clone()),
            end: cells.name(Field::End),
            bow: bow?,
            archer: cells.name(Field::Archer).or_else(|| usual.archer.clone()),
            arrows: cells.name(Field::Arrows).or_else(|| usual.arrows.clone()),
            distance_m: distance_m?,
            face,
            sight: cells.name(Field::Sight),
            sight_offset_mrad,
        })
    }

    fn moment(&self, cells: &mut Cells<'_>) -> Option<(Moment, bool)> {
        let time = cells.text(Field::Time, None);
        let Some((index, text)) = cells.text(Field::At, None) else {
            let Some(usual) = &self.options.usual.at else {
                let column = self.columns.iter().position(|column| column.field == Field::At);
                let message = "the row has no date; fill the cell, or say --at DATE for rows without one";
                cells.trouble(column, ModelError::new("missing_field", message));
                return None;
            };
            let read = self.dates.read(usual, time.map(|(_, text)| text));
            return read.map_err(|error| cells.trouble(time.map(|(index, _)| index), error)).ok();
        };
        cells.keep(index, self.dates.read(text, time.map(|(_, text)| text)))
    }

    fn distance(&self, cells: &mut Cells<'_>) -> Option<f64> {
        if let Some((index, _)) = cells.text(Field::Distance, None) {
            return cells.metres(index, self.options.distance);
        }
        let column = self.columns.iter().position(|column| column.field == Field::Distance);
        let Some(usual) = &self.options.usual.distance else {
            let message =
                "the row has no distance; fill the cell, or say --distance 30m for rows without one";
            cells.trouble(column, ModelError::new("missing_field", message));
            return None;
        };
        let read = number(usual).and_then(|(value, unit)| match (unit, Length::named(unit)) {
            ("", _) => Ok(metres(value, self.options.distance)),
            (_, Some(unit)) => Ok(metres(value, unit)),
            _ => {
                let message = format!("`{usual}` is no distance; write 30m or 20yd");
                Err(ModelError::new("bad_unit", message))
            }
        });
        read.map_err(|error| cells.trouble(column, error)).ok()
    }

    fn read_face(&mut self, cells: &mut Cells<'_>) -> Option<Box<RawValue>> {
        let told = cells.text(Field::Face, None);
        let text = told.map(|(_, text)| text).or(self.options.usual.face.as_deref())?;
        let raw = raw_face(text);
        let face = self.faces.entry(raw.get().to_owned()).or_insert_with(|| {
            match serde_json::from_str(raw.get()).unwrap_or_default() {
                Value::String(code) => Face::by_code(&code),
                own => Face::from_json(&own, "face"),
            }
        });
        if let Err(error) = face {
            cells.trouble(told.map(|(index, _)| index), error.clone());
        }
        Some(raw)
    }

    fn sight_offset(&self, cells: &mut Cells<'_>) -> Option<[f64; 2]> {
        let x = cells.text(Field::SightX, None).map(|(index, _)| index);
        let y = cells.text(Field::SightY, None).map(|(index, _)| index);
        for index in [x, y].into_iter().flatten() {
            if matches!(cells.columns[index].unit, Some(Unit::Length(_))) {
                let message = "a sight offset is an angle in mrad; divide mm on the face by m to it";
                cells.trouble(Some(index), ModelError::new("bad_unit", message));
                return None;
            }
        }
        match (x, y) {
            (Some(x), Some(y)) => Some([cells.number(x)?, cells.number(y)?]),
            (Some(index), None) | (None, Some(index)) => {
                let message = "a sight offset needs both sight_x and sight_y";
                cells.trouble(Some(index), ModelError::new("missing_field", message));
                None
            }
            (None, None) => None,
        }
    }
}

impl Context {
    /// Returns what the rows of an end have in common and what tells it from others without an id; with a name
    /// for the end, its day is enough.
    pub fn shared(&self) -> String {
        let at = if self.end.is_some() { self.at.day() } else { self.at.unix_ms().to_string() };
        let face = self.face.as_ref().map(|face| face.get());
        serde_json::json!([
            at,
            self.session,
            self.end,
            self.bow,
            self.archer,
            self.arrows,
            self.distance_m,
            face,
            self.sight,
            self.sight_offset_mrad
        ])
        .to_string()
    }
}

fn date_order(rows: &[Row], columns: &[Column], options: &Options) -> DateOrder {
    match (options.dates, columns.iter().position(|column| column.field == Field::At)) {
        (DateOrder::AsTheFileTells, Some(index)) => {
            order_of(rows.iter().filter_map(|row| row.cells.get(index)).map(String::as_str))
        }
        (told, _) => told,
    }
}

/// Returns a face as it is kept: a code, or an object of one's own.
fn raw_face(text: &str) -> Box<RawValue> {
    if text.starts_with('{')
        && let Ok(own) = RawValue::from_string(text.to_owned())
    {
        return own;
    }
    let size = text.to_lowercase().replace("cm", "").replace("wa", "").replace(['_', ' '], "");
    let code = match size.as_str() {
        "122" | "80" | "60" | "40" => format!("wa_{size}"),
        _ => text.trim().to_lowercase().replace([' ', '-'], "_"),
    };
    to_raw_value(&code).expect("a text is JSON")
}
