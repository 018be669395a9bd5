//! Marks: one that was found at a distance, and the mark of any distance.

use super::{
    Ask, Desk,
    given::{Given, need},
    to_json,
};
use crate::{
    ModelError,
    kind::{self, Form},
    moment::Moment,
    notation::{distance_words, quantity},
    records::{TypedMark, marked, marked_words, speed_m_s},
    replica::Store as _,
    stats::marks::MarkedOn,
    verdict::{MarksAsked, NewMark, bow_marks, day_words, mark_expected},
};
use serde_json::{Value, json};

/// Keeps a mark, and says what the others expected of it; sent twice under one id it is kept once.
pub(super) fn mark(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let id = given.id("id")?.unwrap_or_else(|| ask.thing_id());
    if desk.store()?.thing("mark", id)?.is_some() {
        return Ok(json!({"mark": id, "words": ["This mark was kept already."]}));
    }
    let bow = given.needed("bow", "bow")?;
    let distance_m = need(given.distance_m("distance_m")?, "distance_m", "the distance")?;
    let [sight, crawl, gap] = [given.text("mark")?, given.text("crawl")?, given.text("gap")?];
    let typed = TypedMark { sight: sight.as_deref(), crawl: crawl.as_deref(), gap: gap.as_deref() };
    let (what, reading, mut record) = marked(&typed)?;
    let archer = given.thing("archer", "person")?.unwrap_or(desk.card()?.person);
    let arrows = given.thing("arrows", "arrows")?;
    let at = given.at("at", ask)?.map_or_else(|| ask.moment(), Ok)?;
    record.bow = Some(bow);
    record.archer = Some(archer);
    record.arrows = arrows;
    record.distance_m = Some(distance_m);
    record.at = Some(at.rfc3339());
    record.note = given.remark("note")?;
    let units = given.units()?;
    let new = NewMark { archer: Some(archer), arrows, what, distance_m, reading, at };
    let expected = mark_expected(desk.store()?, bow, &new, units)?;
    desk.write(ask, vec![kind::draft(id, &record)?])?;
    let mut words = vec![format!("Kept: {} at {}.", marked_words(what, reading), distance_words(distance_m))];
    words.extend(expected);
    Ok(json!({"mark": id, "words": words}))
}

/// Says the mark of any distance, what has grown stale, and draws the card to print.
pub(super) fn marks(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let bow = given.needed("bow", "bow")?;
    let measured = |field: &str, unit: &str, least: f64, most: f64| -> Result<Option<f64>, ModelError> {
        let Some(typed) = given.text(field)? else { return Ok(None) };
        let value = quantity(&typed, unit).map_err(|e| e.at(field))?;
        if (least..=most).contains(&value) {
            return Ok(Some(value));
        }
        let message =
            format!("{value} {unit} is not between {least} and {most} {unit}; check the number and its unit");
        Err(ModelError::new("out_of_range", message).at(field))
    };
    let what = match given.text("what")? {
        None => None,
        Some(word) => {
            let read = kind::value("what", Form::Choice(kind::MARKED_ON), &word)?;
            MarkedOn::named(read.as_str())
        }
    };
    let today: Moment = ask.moment()?;
    let asked = MarksAsked {
        archer: given.thing("archer", "person")?,
        arrows: given.thing("arrows", "arrows")?,
        what,
        at_m: given.distance_m("at")?.into_iter().collect(),
        every_m: given.distance_m("every")?,
        speed_m_s: given.text("speed")?.as_deref().map(speed_m_s).transpose()?,
        eye_mm: measured("eye", "mm", 0.0, 300.0)?,
        units: given.units()?,
        unit_mm: measured("unit", "mm", 0.01, 100.0)?,
        day: day_words(&today.day()),
    };
    to_json(&bow_marks(desk.store()?, bow, &asked)?)
}
