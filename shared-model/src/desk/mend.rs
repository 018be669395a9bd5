//! An end put right, and records taken out of use or back.

use super::{
    Ask, Desk,
    given::{Given, kind_word, need, wrong},
    keep::{at_input, under_plan},
    raw,
};
use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Group, Kind as _, same_value},
    merge::Thing,
    records::{self, arrows_of, check_draft, mended_words},
    replica::{Draft, Store as _},
};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Puts fields of an end right; those that are empty are noted no more.
pub(super) fn mend(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let id = need(given.id("group")?, "group", "the end")?;
    let thing = need(desk.store()?.thing(Group::NAME, id)?, "group", "the end")?;
    let mut set = fields(given, ask)?;
    let mut told = Vec::new();
    if given.has("plan") {
        match given.thing("plan", "plan")? {
            None => set.extend([("plan".into(), Value::Null), ("plan_place".into(), Value::Null)]),
            Some(plan) => told.push(planned(desk, &thing, plan, &mut set)?),
        }
    }
    let mut words = write(desk, &thing, set, ask)?;
    words.extend(told);
    Ok(json!({"words": words}))
}

/// Reads the fields that are given; those that a group cannot be without must say something.
fn fields(given: Given<'_>, ask: &Ask) -> Result<BTreeMap<String, Value>, ModelError> {
    let mut set = BTreeMap::new();
    let mut put = |field: &str, value: Value| set.insert(field.to_owned(), value);
    for (field, kind) in [("bow", "bow"), ("archer", "person")] {
        if given.has(field) {
            put(field, json!(need(given.thing(field, kind)?, field, &format!("the {field}"))?));
        }
    }
    if given.has("distance_m") {
        put("distance_m", json!(need(given.distance_m("distance_m")?, "distance_m", "the distance")?));
    }
    if given.has("face") {
        put("face", json!(need(given.face("face")?, "face", "the face")?));
    }
    if given.has("at") {
        put("at", json!(need(given.at("at", ask)?, "at", "day and time")?.rfc3339()));
    }
    if given.has("arrows") {
        put("arrows", json!(given.thing("arrows", "arrows")?));
    }
    for label in ["session", "sight"] {
        if given.has(label) {
            put(label, json!(given.text(label)?));
        }
    }
    if given.has("note") {
        put("note", json!(given.remark("note")?));
    }
    if given.has("shot") {
        set.extend(shot_fields(given)?);
    }
    Ok(set)
}

/// Reads the arrows; where `shot_was` says how they were shown, only what is not as it was shown: what somebody else
/// mended meanwhile stays theirs.
fn shot_fields(given: Given<'_>) -> Result<BTreeMap<String, Value>, ModelError> {
    let read = |field| -> Result<[(&str, Value); 4], ModelError> {
        let shot = arrows_of(&given.shots(field)?);
        Ok([
            ("points_mm", json!(shot.points_mm)),
            ("arrow_numbers", json!(shot.arrow_numbers)),
            ("flyers", json!(shot.flyers)),
            ("bare", json!(shot.bare)),
        ])
    };
    let was = if given.has("shot_was") { Some(read("shot_was")?) } else { None };
    let altered = |(field, value): &(&str, Value)| {
        was.as_ref().is_none_or(|was| !was.contains(&(*field, value.clone())))
    };
    Ok(read("shot")?.into_iter().filter(altered).map(|(field, value)| (field.to_owned(), value)).collect())
}

/// Makes an end the next of a plan, as it will be once it is mended.
fn planned(
    desk: &Desk,
    thing: &Thing,
    plan: ThingId,
    set: &mut BTreeMap<String, Value>,
) -> Result<String, ModelError> {
    let mut values: BTreeMap<String, Value> =
        thing.fields().into_iter().map(|(name, f)| (name, json!(f.now.value))).collect();
    if values.get("plan") == Some(&json!(plan)) {
        return Ok("It is an end of that plan already.".into());
    }
    values.extend(set.clone());
    let unread = |e| ModelError::new("bad_record", format!("the end cannot be read with that value: {e}"));
    let mut group: Group = serde_json::from_value(json!(values)).map_err(unread)?;
    (group.plan, group.plan_place) = (None, None);
    let words = under_plan(desk, plan, &mut group)?;
    if group.plan.is_some() {
        set.insert("plan".into(), json!(group.plan));
        set.insert("plan_place".into(), json!(group.plan_place));
        set.insert("distance_m".into(), json!(group.distance_m));
    }
    Ok(words)
}

/// Writes the fields of a thing that differ from what stands, and says what was altered.
pub(super) fn write(
    desk: &mut Desk,
    thing: &Thing,
    set: BTreeMap<String, Value>,
    ask: &Ask,
) -> Result<Vec<String>, ModelError> {
    let old = thing.fields();
    let names = records::names(desk.store()?, records::NAMED)?;
    let (mut altered, mut words) = (BTreeMap::new(), Vec::new());
    for (field, value) in set {
        let was = old.get(&field).map_or(Value::Null, |f| json!(f.now.value));
        if same_value(&was, &value) {
            continue;
        }
        if let Some(told) = told(&field, &was, &value, &names) {
            words.push(told);
        }
        let text = raw(&field, &value)?;
        altered.insert(field, text);
    }
    if altered.is_empty() {
        return Ok(vec!["Nothing was altered.".into()]);
    }
    let draft = Draft { kind: thing.kind.clone(), id: thing.id, set: altered, settles: false };
    check_draft(Some(thing), &draft).map_err(at_input)?;
    desk.write(ask, vec![draft])?;
    Ok(words)
}

/// Says what became of a field; of the arrows' marks, nothing that needs a sentence of its own.
fn told(field: &str, was: &Value, now: &Value, names: &BTreeMap<ThingId, String>) -> Option<String> {
    match field {
        "points_mm" => Some("The arrows are entered anew.".into()),
        "arrow_numbers" => Some("The numbers on the arrows are altered.".into()),
        "flyers" => Some("Which arrows are flyers is altered.".into()),
        "bare" => Some("Which arrows are bare shafts is altered.".into()),
        "plan" | "plan_place" => None,
        _ => Some(format!("Kept: {}.", mended_words(field, was, now, names))),
    }
}

/// Takes a thing out of use, or back.
pub(super) fn retire(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let kind = known_kind(&need(given.text("kind")?, "kind", "the kind")?)?;
    let id = need(given.id("id")?, "id", "the record")?;
    let retired = given.flag("retired")?;
    let thing = need(desk.store()?.thing(kind, id)?, "id", &format!("the {}", kind_word(kind)))?;
    let named = records::named(kind, &thing).filter(|n| !n.name.is_empty());
    let what = named.map_or_else(|| format!("The {}", kind_word(kind)), |n| n.name);
    let now = thing.fields().get("retired").is_some_and(|f| f.now.value.get() == "true");
    let words = match (retired, now == retired) {
        (true, true) => format!("{what} is out of use already."),
        (false, true) => format!("{what} is in use already."),
        (true, false) => format!("{what} is out of use; it can be brought back."),
        (false, false) => format!("{what} is in use again."),
    };
    if now != retired {
        desk.write(ask, vec![kind::retire(kind, id, retired)])?;
    }
    Ok(json!({"words": [words]}))
}

/// Returns a kind of record that this build knows.
pub(super) fn known_kind(typed: &str) -> Result<&'static str, ModelError> {
    let known = kind::NAMES.iter().find(|name| **name == typed).copied();
    known.ok_or_else(|| {
        wrong(
            "kind",
            format!("there is no kind of record of that name; there are {}", kind::NAMES.join(", ")),
        )
    })
}
