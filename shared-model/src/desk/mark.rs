//! A sight mark that was found at a distance.

use super::{
    Ask, Desk,
    given::{Given, need},
};
use crate::{
    ModelError,
    kind::{self, Mark},
    notation::distance_words,
    replica::Store as _,
};
use serde_json::{Value, json};

/// Keeps a sight mark; sent twice under one id it is kept once.
pub(super) fn mark(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let id = given.id("id")?.unwrap_or_else(|| ask.thing_id());
    if desk.store()?.thing("mark", id)?.is_some() {
        return Ok(json!({"mark": id, "words": ["This mark was kept already."]}));
    }
    let bow = given.needed("bow", "bow")?;
    let distance_m = need(given.distance_m("distance_m")?, "distance_m", "the distance")?;
    let typed = need(given.text("mark")?, "mark", "what the sight reads")?;
    let (field, form) = kind::field("mark", "sight_mark").expect("a mark has its reading");
    let reading = kind::value(field, form, &typed).map_err(|e| e.at("mark"))?;
    let archer = given.thing("archer", "person")?.unwrap_or(desk.card()?.person);
    let at = given.at("at", ask)?.map_or_else(|| ask.moment(), Ok)?;
    let record = Mark {
        bow: Some(bow),
        archer: Some(archer),
        distance_m: Some(distance_m),
        sight_mark: reading.as_f64(),
        at: Some(at.rfc3339()),
        note: given.remark("note")?,
        ..Mark::default()
    };
    desk.write(ask, vec![kind::draft(id, &record)?])?;
    Ok(json!({"mark": id, "words": [format!("Kept: {typed} at {}.", distance_words(distance_m))]}))
}
