//! Arrows shot without being placed, counted for the wear; and what wears.

use super::{
    Ask, Desk,
    given::{Given, need},
    keep::altered_since,
    mend, to_json,
};
use crate::{
    ModelError,
    kind::{self, Form, Practice},
    records,
    replica::Store as _,
    verdict::{cautions_with, limits_when_counted, practice_words, reminders_by, wear_sheet},
};
use serde_json::{Value, json};

/// The most arrows of one count.
const MOST: u32 = 5000;

/// Keeps a count of arrows. One that is sent again is kept once; what was altered in it since is put right.
pub(super) fn practice(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let id = given.id("id")?.unwrap_or_else(|| ask.thing_id());
    let typed = need(given.text("count")?, "count", "how many arrows were shot")?;
    let arrows = kind::value("count", Form::Count(MOST), &typed)?;
    let timed = given.has("at");
    let at = given.at("at", ask)?.map_or_else(|| ask.moment(), Ok)?;
    let mut record = Practice {
        bow: Some(given.needed("bow", "bow")?),
        archer: Some(given.thing("archer", "person")?.unwrap_or(desk.card()?.person)),
        arrows: given.thing("arrows", "arrows")?,
        at: Some(at.rfc3339()),
        count: arrows.as_u64().and_then(|n| u32::try_from(n).ok()),
        note: given.remark("note")?,
        retired: false,
    };
    if let Some(thing) = desk.store()?.thing("practice", id)? {
        if !timed {
            record.at = kind::read::<Practice>(&thing)?.at;
        }
        let set = altered_since(&thing, &kind::draft(id, &record)?, timed);
        if set.is_empty() {
            return Ok(json!({"practice": id, "words": ["This count was kept already."]}));
        }
        let words = mend::write(desk, &thing, set, ask)?;
        return Ok(json!({"practice": id, "words": words}));
    }
    let names = records::names(desk.store()?, records::NAMED)?;
    let mut words = vec![format!("Kept: {}.", practice_words(&record, &names))];
    desk.write(ask, vec![kind::draft(id, &record)?])?;
    words.extend(reminders_by(desk.store()?, id)?);
    if let Some((bow, archer)) = record.bow.zip(record.archer) {
        words.extend(cautions_with::<&str>(&limits_when_counted(desk.store()?, bow, archer)?, &[]));
    }
    Ok(json!({"practice": id, "words": words}))
}

/// Says what wears on a bow, or on all of them.
pub(super) fn wear(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let bow = given.thing("bow", "bow")?;
    to_json(&wear_sheet(desk.store()?, bow)?)
}
