//! What comes with a call, read field by field, so that an error names the field.

use super::{Ask, Desk};
use crate::{
    ModelError,
    face::Face,
    id::ThingId,
    kind::{self, Form},
    moment::Moment,
    name,
    notation::{Length, Shot, arrow_number, length_mm},
    records::{self, Called},
    replica::{Memory, Store as _},
    verdict::Units,
};
use serde_json::{Value, json};

/// The most arrows that are read of one end, well above what a group may have.
const MOST_SHOTS: usize = 2000;

/// The input of a call.
#[derive(Clone, Copy)]
pub(super) struct Given<'a> {
    desk: &'a Desk,
    input: &'a Value,
}

impl<'a> Given<'a> {
    /// Reads the input of a call on a desk.
    pub fn new(desk: &'a Desk, input: &'a Value) -> Self {
        Self { desk, input }
    }

    /// Returns whether a field is there, be it null.
    pub fn has(self, field: &str) -> bool {
        self.input.get(field).is_some()
    }

    /// Returns whether a field is there and says that there is nothing.
    pub fn empty(self, field: &str) -> bool {
        self.input.get(field).and_then(Value::as_str).is_some_and(|text| text.trim().is_empty())
    }

    /// Returns a field that is not null.
    pub fn value(self, field: &str) -> Option<&'a Value> {
        self.input.get(field).filter(|value| !value.is_null())
    }

    /// Returns the words of a field; of a number, its digits. Nothing where it is empty.
    pub fn text(self, field: &str) -> Result<Option<String>, ModelError> {
        self.value(field).map_or(Ok(None), |value| text_of(value, field))
    }

    /// Returns the thing of a kind that a field names by its id, or by its name.
    pub fn thing(self, field: &str, kind: &'static str) -> Result<Option<ThingId>, ModelError> {
        self.text(field)?.map(|typed| self.desk.find(kind, &typed, field)).transpose()
    }

    /// Returns the thing of a kind that a call cannot do without.
    pub fn needed(self, field: &str, kind: &'static str) -> Result<ThingId, ModelError> {
        need(self.thing(field, kind)?, field, &format!("the {}", kind_word(kind)))
    }

    /// Returns the id in a field, whatever it stands for.
    pub fn id(self, field: &str) -> Result<Option<ThingId>, ModelError> {
        let read = |typed: String| typed.parse::<ThingId>().map_err(|e| e.at(field));
        self.text(field)?.map(read).transpose()
    }

    /// Returns a distance in m: a number, or words with their unit.
    pub fn distance_m(self, field: &str) -> Result<Option<f64>, ModelError> {
        let Some(typed) = self.text(field)? else { return Ok(None) };
        let (least, most) = (*kind::DISTANCES_M.start(), *kind::DISTANCES_M.end());
        let read = kind::value("distance_m", Form::Number(least, most), &typed).map_err(|e| e.at(field))?;
        Ok(read.as_f64())
    }

    /// Returns a face, by its code or its zones.
    pub fn face(self, field: &str) -> Result<Option<Face>, ModelError> {
        self.value(field).map(|value| Face::from_json(value, field)).transpose()
    }

    /// Returns a moment as it is kept.
    pub fn at(self, field: &str, ask: &Ask) -> Result<Option<Moment>, ModelError> {
        let Some(typed) = self.text(field)? else { return Ok(None) };
        Moment::typed(&typed, &ask.moment()?).map(Some).map_err(|e| e.at(field))
    }

    /// Returns a remark of up to 2,000 characters.
    pub fn remark(self, field: &str) -> Result<Option<String>, ModelError> {
        let Some(typed) = self.text(field)? else { return Ok(None) };
        let read = kind::value(field, Form::Text, &typed)?;
        Ok(read.as_str().map(str::to_owned))
    }

    /// Returns whether a field says yes.
    pub fn flag(self, field: &str) -> Result<bool, ModelError> {
        self.value(field).map_or(Ok(false), |value| yes(value, field))
    }

    /// Returns a whole number.
    pub fn count(self, field: &str) -> Result<Option<usize>, ModelError> {
        let Some(typed) = self.text(field)? else { return Ok(None) };
        let read = typed.parse::<usize>().map(Some);
        read.map_err(|_| wrong(field, format!("`{}` is no whole number", short(&typed))))
    }

    /// Returns the units that people are told in.
    pub fn units(self) -> Result<Units, ModelError> {
        match self.text("units")?.as_deref() {
            None | Some("metric") => Ok(Units::Metric),
            Some("imperial") => Ok(Units::Imperial),
            Some(other) => Err(wrong("units", format!("`{}` is neither metric nor imperial", short(other)))),
        }
    }

    /// Returns the arrows of an end.
    pub fn shots(self, field: &str) -> Result<Vec<Shot>, ModelError> {
        let list = match self.value(field) {
            None => return Ok(Vec::new()),
            Some(Value::Array(list)) if list.len() <= MOST_SHOTS => list,
            Some(Value::Array(list)) => {
                return Err(wrong(field, format!("{} arrows are more than an end has", list.len())));
            }
            Some(_) => return Err(wrong(field, "the arrows have to be a list".into())),
        };
        list.iter().enumerate().map(|(i, arrow)| shot(arrow, &format!("{field}[{i}]"))).collect()
    }
}

impl Desk {
    /// Returns the thing of a kind that is meant: by its id, its name or the unique beginning of its name.
    ///
    /// # Errors
    /// `unknown_thing` and `ambiguous`, at the field.
    pub(super) fn find(&self, kind: &'static str, typed: &str, field: &str) -> Result<ThingId, ModelError> {
        let store = self.store()?;
        if let Ok(id) = typed.parse::<ThingId>()
            && store.thing(kind, id)?.is_some()
        {
            return Ok(id);
        }
        let word = kind_word(kind);
        let told = |code, message| Err(ModelError::new(code, message).at(field));
        match records::called(&records::all(store, kind)?, typed) {
            Called::One(found) => Ok(found.id),
            Called::Nobody => {
                told("unknown_thing", format!("there is no {word} `{}` here; choose one", short(typed)))
            }
            Called::Several(found) => {
                let names: Vec<&str> = found.iter().take(5).map(|n| n.name.as_str()).collect();
                let message =
                    format!("`{}` can mean several: {}; write more of it", short(typed), names.join(", "));
                told("ambiguous", message)
            }
        }
    }
}

/// Refuses what is not in the records.
pub(super) fn known(store: &Memory, kind: &'static str, id: ThingId) -> Result<(), ModelError> {
    if store.thing(kind, id)?.is_some() {
        return Ok(());
    }
    let message = format!("there is no {} {} here; pick one from the list", kind_word(kind), id.short());
    Err(ModelError::new("unknown_thing", message).at(kind))
}

/// Returns what a kind of record is called on the page: a group as a record is an end as it is shot.
pub(super) fn kind_word(kind: &str) -> &str {
    if kind == "group" { "end" } else { name::kind_word(kind) }
}

/// Returns what is needed, or an error that says what is missing.
pub(super) fn need<T>(found: Option<T>, field: &str, what: &str) -> Result<T, ModelError> {
    found.ok_or_else(|| ModelError::new("missing_field", format!("{what} is missing")).at(field))
}

/// Returns the words of a value; nothing where it is empty.
pub(super) fn text_of(value: &Value, field: &str) -> Result<Option<String>, ModelError> {
    let text = match value {
        Value::Null => return Ok(None),
        Value::String(text) => text.trim().to_owned(),
        Value::Number(number) => number.to_string(),
        _ => return Err(wrong(field, format!("{field} has to be words or a number"))),
    };
    Ok(Some(text).filter(|text| !text.is_empty()))
}

/// Returns an error about the shape of a field.
pub(super) fn wrong(field: &str, message: String) -> ModelError {
    ModelError::new("bad_input", message).at(field)
}

/// Returns an arrow as the page has it.
pub(super) fn arrow(shot: &Shot) -> Value {
    let mut arrow = json!({"mm": shot.at});
    if let Some(number) = &shot.arrow {
        arrow["number"] = json!(number);
    }
    for (mark, set) in [("flyer", shot.flyer), ("bare", shot.bare)] {
        if set {
            arrow[mark] = json!(true);
        }
    }
    arrow
}

fn shot(arrow: &Value, place: &str) -> Result<Shot, ModelError> {
    if !arrow.is_object() {
        return Err(wrong(place, "an arrow has its place in `mm`, or null where it was not found".into()));
    }
    let within = |name: &str| format!("{place}.{name}");
    let mark = |name: &str| arrow.get(name).map_or(Ok(false), |value| yes(value, &within(name)));
    let at = match arrow.get("mm") {
        None | Some(Value::Null) => None,
        Some(Value::Array(point)) if point.len() == 2 => {
            Some([coordinate(&point[0], &within("mm"))?, coordinate(&point[1], &within("mm"))?])
        }
        Some(_) => return Err(wrong(&within("mm"), "a place is two numbers: mm right and up".into())),
    };
    let number = match arrow.get("number") {
        Some(value) => text_of(value, &within("number"))?,
        None => None,
    };
    let arrow = number.map(|typed| arrow_number(&typed).map_err(|e| e.at(within("number")))).transpose()?;
    Ok(Shot { arrow, at, flyer: mark("flyer")?, bare: mark("bare")? })
}

fn coordinate(value: &Value, field: &str) -> Result<f64, ModelError> {
    let typed = text_of(value, field)?.unwrap_or_default();
    value.as_f64().map_or_else(|| length_mm(&typed, Length::Mm).map_err(|e| e.at(field)), Ok)
}

fn yes(value: &Value, field: &str) -> Result<bool, ModelError> {
    match value {
        Value::Null => Ok(false),
        Value::Bool(yes) => Ok(*yes),
        _ => Err(wrong(field, format!("{field} has to be true or false"))),
    }
}

fn short(text: &str) -> String {
    text.chars().take(60).map(|c| if c.is_control() { ' ' } else { c }).collect()
}
