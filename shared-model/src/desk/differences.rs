//! What two people wrote without seeing each other, and the word that settles it.

use super::{
    Ask, Desk,
    given::{Given, kind_word, need, wrong},
    mend::known_kind,
    raw,
};
use crate::{
    ModelError,
    id::ThingId,
    moment::Moment,
    records::{self, Difference, Rival, check_draft, differences_of, field_shown, name_of},
    replica::{Draft, Store as _},
    verdict::{clashes, name_and_unit},
};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Lists the differences that nobody has settled.
pub(super) fn differences(desk: &mut Desk, _: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let store = desk.store()?;
    let names = records::names(store, records::NAMED)?;
    let rival = |field: &str, rival: &Rival| {
        let at = i64::try_from(rival.at_ms).ok().and_then(|ms| Moment::new(ms, ask.offset_min).ok());
        json!({
            "shown": shown(field, &rival.value, &names),
            "by": name_of(&names, rival.by),
            "day_time": at.map(|at| at.day_and_time()),
            "stands": rival.stands,
            "choice": rival.stamp.to_string(),
        })
    };
    let told = |d: &Difference| {
        json!({
            "kind": d.kind,
            "id": d.id,
            "field": d.field,
            "what": what(&d.field),
            "kind_word": kind_word(&d.kind),
            "name": name_of(&names, d.id),
            "values": d.values.iter().map(|r| rival(&d.field, r)).collect::<Vec<_>>(),
        })
    };
    let all = records::differences(store)?;
    let clashes: Vec<String> = clashes(store)?.into_iter().map(|clash| clash.words).collect();
    Ok(json!({"differences": all.iter().map(told).collect::<Vec<_>>(), "clashes": clashes}))
}

/// Records the value that replaces all rivals of a field.
pub(super) fn settle(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let kind = known_kind(&need(given.text("kind")?, "kind", "the kind")?)?;
    let id = need(given.id("id")?, "id", "the record")?;
    let field = need(given.text("field")?, "field", "the field")?;
    let choice = need(given.text("choice")?, "choice", "the value that is to stand")?;
    let thing = need(desk.store()?.thing(kind, id)?, "id", &format!("the {}", kind_word(kind)))?;
    let open = differences_of(&thing);
    let Some(difference) = open.iter().find(|d| d.field == field) else {
        return Ok(json!({"words": ["There is nothing to settle here any more."]}));
    };
    let chosen = difference.values.iter().find(|rival| rival.stamp.to_string() == choice);
    let chosen = chosen.ok_or_else(|| {
        wrong("choice", "that value is not among those to choose from any more; look at them again".into())
    })?;
    let set = BTreeMap::from([(field.clone(), raw(&field, &chosen.value)?)]);
    let draft = Draft { kind: kind.into(), id, set, settles: true };
    check_draft(Some(&thing), &draft)?;
    let names = records::names(desk.store()?, records::NAMED)?;
    let words = format!(
        "Kept: {} is {}; the other values stay in the history.",
        what(&field),
        shown(&field, &chosen.value, &names)
    );
    desk.write(ask, vec![draft])?;
    Ok(json!({"words": [words]}))
}

/// Returns what a field is called.
fn what(field: &str) -> String {
    match field {
        "points_mm" => "where the arrows struck".into(),
        "retired" => "out of use".into(),
        _ => name_and_unit(field.strip_prefix("set.").unwrap_or(field)).0,
    }
}

/// Returns a value with its unit.
fn shown(field: &str, value: &Value, names: &BTreeMap<ThingId, String>) -> String {
    let (_, unit) = name_and_unit(field.strip_prefix("set.").unwrap_or(field));
    let unit = if value.is_number() { unit } else { "" };
    format!("{} {unit}", field_shown(field, value, names)).trim_end().to_owned()
}
