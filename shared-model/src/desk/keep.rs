//! An end that was shot, kept once however often it is sent.

use super::{
    Ask, Desk,
    given::{Given, need},
    look::{CONFIDENCE, middle_words, total},
    mend, raw,
};
use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Group, Plan},
    log::read_body,
    merge::Thing,
    notation::distance_words,
    records::{self, arrows_of, shots_of},
    replica::{Draft, Store as _},
    stats::group::group as figures_of,
    verdict::{Units, cautions_with, count, decimal, limits_when_shot, reminders_by},
};
use serde_json::{Value, json};
use std::collections::{BTreeMap, BTreeSet};

/// Hands out an id under which a draft is kept later.
pub(super) fn new_id(_: &mut Desk, _: &Value, ask: &Ask) -> Result<Value, ModelError> {
    Ok(json!({"id": ask.thing_id()}))
}

/// Keeps an end.
pub(super) fn keep(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let id = given.id("id")?.unwrap_or_else(|| ask.thing_id());
    let before = desk.store()?.thing("group", id)?;
    let mut group = group_of(given, ask)?;
    if let Some(thing) = &before {
        return again(desk, thing, group, given.has("at"), ask);
    }
    group.check().map_err(at_input)?;
    let planned = given.thing("plan", "plan")?.map(|plan| under_plan(desk, plan, &mut group)).transpose()?;
    let mut words = told(desk, &group, given.units()?)?;
    words.extend(planned);
    desk.write(ask, vec![kind::draft(id, &group)?])?;
    words.extend(care(desk, group.bow, id)?);
    Ok(json!({"group": id, "words": words}))
}

/// Returns the reminders that an end made due, and what lies beyond a limit where it is said with an end.
fn care(desk: &Desk, bow: Option<ThingId>, id: ThingId) -> Result<Vec<String>, ModelError> {
    let store = desk.store()?;
    let mut care = reminders_by(store, id)?;
    let found = bow.map(|bow| limits_when_shot(store, bow, id)).transpose()?.unwrap_or_default();
    care.extend(cautions_with::<&str>(&found, &[]));
    Ok(care)
}

/// Reads a whole group, its plan aside.
fn group_of(given: Given<'_>, ask: &Ask) -> Result<Group, ModelError> {
    let shots = given.shots("shot")?;
    let face = need(given.face("face")?, "face", "the face")?;
    let at = given.at("at", ask)?.map_or_else(|| ask.moment(), Ok)?;
    Ok(Group {
        bow: Some(given.needed("bow", "bow")?),
        archer: Some(given.needed("archer", "person")?),
        arrows: given.thing("arrows", "arrows")?,
        at: Some(at.rfc3339()),
        session: given.text("session")?,
        distance_m: Some(need(given.distance_m("distance_m")?, "distance_m", "the distance")?),
        face: Some(raw("face", &face)?),
        sight: given.text("sight")?,
        note: given.remark("note")?,
        ..arrows_of(&shots)
    })
}

/// Names the field of the call that an error about the group is about.
pub(super) fn at_input(e: ModelError) -> ModelError {
    let field = e.field.as_deref().map(|field| match field {
        "flyers" | "bare" => "shot".to_owned(),
        of => match of.strip_prefix("arrow_numbers") {
            Some(place) => format!("shot{place}.number"),
            None => of.replace("points_mm", "shot"),
        },
    });
    ModelError { field, ..e }
}

/// Marks a group as the next end of its plan where it is one, and says so; an end that was shot is kept either way.
pub(super) fn under_plan(desk: &Desk, id: ThingId, group: &mut Group) -> Result<String, ModelError> {
    let store = desk.store()?;
    let thing = need(store.thing("plan", id)?, "plan", "the plan")?;
    let plan: Plan = kind::read(&thing)?;
    let end = match records::tick(store, (id, &plan), group)? {
        Ok(end) => end,
        Err(why) => return Ok(format!("It is kept, but not as an end of the plan: {}.", why.told().message)),
    };
    let ends = plan.order.as_ref().map_or(0, String::len);
    let mut words = format!("It is end {} of {ends} of the plan, setup {}.", end.place + 1, end.setup);
    if end.anew {
        words.push_str(" Its block begins anew.");
    }
    let counted = group.counted_mm().len();
    if let Some(planned) = plan.arrows_per_end.filter(|planned| counted < *planned as usize) {
        let planned = count(planned as usize, "arrow");
        words.push_str(&format!(
            " It counts with {}; the plan has ends of {planned}.",
            count(counted, "arrow")
        ));
    }
    Ok(words)
}

/// Says what was kept.
fn told(desk: &Desk, group: &Group, units: Units) -> Result<Vec<String>, ModelError> {
    let store = desk.store()?;
    let shots = shots_of(group);
    let shaft_mm = records::shaft_mm(store, group.arrows)?;
    let at = group.distance_m.map_or(String::new(), |m| format!(" at {}", distance_words(m)));
    let mut words = Vec::new();
    if let Some(face) = group.face() {
        let points = count(total(&shots, &face, shaft_mm) as usize, "point");
        words.push(format!("Kept: {}{at}, {points}.", count(shots.len(), "arrow")));
        words.extend(records::off_face(group, &face, shaft_mm).iter().map(|n| {
            format!("Arrow {n} lies off the scoring rings: it is kept where it is and scores as a miss.")
        }));
    }
    let counted = group.counted_mm();
    if !counted.is_empty() {
        let figures = figures_of(&counted, group.distance_m, CONFIDENCE)?;
        let [middle, spread] = middle_words(&figures, units);
        words.push(format!("Its middle: {middle}; {spread}."));
    }
    words.extend(records::left_out(group));
    let (beyond, n) = records::beyond_set(store, group)?;
    words.extend(beyond.iter().map(|number| {
        format!("There is no arrow {number} by the records: the set has {}.", decimal(f64::from(n), 0))
    }));
    Ok(words)
}

/// Answers an end that is sent again: the same needs nothing, one that was altered since is mended.
fn again(
    desk: &mut Desk,
    thing: &Thing,
    mut group: Group,
    timed: bool,
    ask: &Ask,
) -> Result<Value, ModelError> {
    let kept: Group = kind::read(thing)?;
    if !timed {
        group.at = kept.at;
    }
    let set = altered_since(thing, &kind::draft(thing.id, &group)?, timed);
    if set.is_empty() {
        return Ok(json!({"group": thing.id, "words": ["This end was kept already."]}));
    }
    let words = mend::write(desk, thing, set, ask)?;
    Ok(json!({"group": thing.id, "words": words}))
}

/// Returns the fields of a draft that are not as they were written first: what others mended since stays theirs.
pub(super) fn altered_since(thing: &Thing, draft: &Draft, timed: bool) -> BTreeMap<String, Value> {
    let first = thing.parts().next().and_then(|part| read_body(&part.body).ok()).map(|body| body.set);
    let first = first.unwrap_or_default();
    // A plan rounds the distance to its own.
    let planned = first.contains_key("plan");
    let aside = |field: &str| match field {
        "plan" | "plan_place" => true,
        "at" => !timed,
        "distance_m" => planned,
        _ => false,
    };
    let fields: BTreeSet<&String> = first.keys().chain(draft.set.keys()).collect();
    let altered = fields.into_iter().filter(|field| !aside(field)).filter(|field| {
        first.get(*field).map(|value| value.get()) != draft.set.get(*field).map(|value| value.get())
    });
    altered.map(|field| (field.clone(), json!(draft.set.get(field)))).collect()
}
