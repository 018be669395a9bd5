//! The arrows of a set one by one: listed with what follows, weighed and noted, held against several bows.

use super::{
    Ask, Desk,
    given::{Given, need, text_of, wrong},
    mend::write,
    to_json,
};
use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Arrows, FIELDS, Form},
    records::read_shafts,
    replica::Store as _,
    verdict::{SetAsked, name_and_unit, set_sheet},
};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// The most values that are taken in one go.
const MOST: usize = 4000;

/// Lists the arrows of a set with what follows from them, how their fields are typed, and which wait to be weighed.
pub(super) fn shafts(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let set = given.needed("set", "arrows")?;
    let asked = SetAsked { keep: given.count("keep")?, units: given.units()? };
    let sheet = set_sheet(desk.store()?, set, desk.card()?.person, &asked)?;
    let waiting: Vec<u32> =
        sheet.shafts.iter().filter(|row| row.mass.is_none() && !row.out).map(|row| row.number).collect();
    let mut told = to_json(&sheet)?;
    told["waiting"] = json!(waiting);
    told["fields"] = fields();
    Ok(told)
}

/// Returns how the fields of an arrow are typed.
fn fields() -> Value {
    let own = FIELDS.iter().filter(|(of, ..)| *of == "shaft");
    let told = own.map(|(_, field, form)| {
        let (name, unit) = name_and_unit(field);
        match form {
            Form::Number(..) => json!({"field": field, "name": name, "unit": unit, "form": "number"}),
            Form::Choice(words) => {
                json!({"field": field, "name": name, "unit": unit, "form": "choice", "choices": words})
            }
            _ => json!({"field": field, "name": name, "unit": unit, "form": "text"}),
        }
    });
    told.collect()
}

/// Keeps what was measured of a set's arrows: `shafts`, a list of number, field and value, or `typed` as for the command
/// line. All or none; an empty value is noted no more.
pub(super) fn set_shafts(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let set = given.needed("set", "arrows")?;
    let thing = need(desk.store()?.thing("arrows", set)?, "set", "the arrow set")?;
    let record: Arrows = kind::read(&thing)?;
    let mut values = match given.value("typed") {
        None => BTreeMap::new(),
        Some(Value::Array(words)) if words.len() <= MOST => {
            let word = |word: &Value| Ok(text_of(word, "typed")?.unwrap_or_default());
            let words = words.iter().map(word).collect::<Result<Vec<String>, ModelError>>()?;
            read_shafts(&record, &words).map_err(|e| e.at("typed"))?
        }
        Some(_) => return Err(wrong("typed", "what was typed has to be a list of words".into())),
    };
    match given.value("shafts") {
        None => {}
        Some(Value::Array(list)) if list.len() <= MOST => each(&record, list, &mut values)?,
        Some(_) => return Err(wrong("shafts", "the arrows have to be a list".into())),
    }
    if values.is_empty() {
        return Err(ModelError::new("missing_field", "nothing was measured yet").at("shafts"));
    }
    let words = write(desk, &thing, values, ask)?;
    Ok(json!({"words": words}))
}

fn each(record: &Arrows, list: &[Value], values: &mut BTreeMap<String, Value>) -> Result<(), ModelError> {
    let mut record = record.clone();
    for (i, item) in list.iter().enumerate() {
        let place = format!("shafts[{i}]");
        let part = |name: &str| text_of(item.get(name).unwrap_or(&Value::Null), &format!("{place}.{name}"));
        let number = need(part("number")?, &format!("{place}.number"), "the number of the arrow")?;
        let field = need(part("field")?, &format!("{place}.field"), "what was measured")?;
        let value = part("value")?.unwrap_or_default();
        if !number.chars().all(|c| c.is_ascii_digit()) {
            return Err(wrong(
                &place,
                format!("`{}` is no number of an arrow", number.chars().take(20).collect::<String>()),
            ));
        }
        let read = read_shafts(&record, &[number, format!("{field}={value}")]).map_err(|e| e.at(&place))?;
        record.rest.extend(read.clone());
        values.extend(read);
    }
    Ok(())
}

/// Says how a set suits several bows.
pub(super) fn suits(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let set = given.needed("set", "arrows")?;
    let units = given.units()?;
    let bows = match given.value("bows") {
        None => Vec::new(),
        Some(Value::Array(list)) => {
            let bow = |(i, bow): (usize, &Value)| {
                let place = format!("bows[{i}]");
                let typed = need(text_of(bow, &place)?, &place, "the bow")?;
                desk.find("bow", &typed, &place)
            };
            list.iter().enumerate().map(bow).collect::<Result<Vec<ThingId>, ModelError>>()?
        }
        Some(_) => return Err(wrong("bows", "the bows have to be a list".into())),
    };
    to_json(&crate::verdict::suits(desk.store()?, set, &bows, desk.card()?.person, units)?)
}
