//! The plan under which an end is shot: which end of it, and what to alter on the bow first.

use super::frame::Frame;
use crate::{
    ModelError,
    id::ThingId,
    kind::Plan,
    moment::Moment,
    records::{self, open_settings},
    replica::Memory,
    timeline::Timeline,
    verdict::{NextEnd, Units, block_session, name_and_unit, plan_state, quantity, upper_first},
};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Returns the state of a plan for an end that is about to be shot.
pub(super) fn state(
    store: &Memory,
    id: ThingId,
    plan: &Plan,
    frame: &Frame,
    now: &Moment,
) -> Result<Value, ModelError> {
    let of = plan.order.as_ref().map_or(0, String::len);
    let mut told = json!({
        "id": id, "name": plan.name, "end": null, "of": of, "setup": null,
        "words": "The plan is shot to its end.", "set_up": true, "change": [],
    });
    let Some(bow) = plan.bow else { return Ok(told) };
    let timeline = Timeline::read(store, bow)?;
    let session = block_session(&timeline, &frame.group(now), plan)?;
    let Some(end) = plan_state(store, id, plan, Units::Metric, Some(&session))?.next else { return Ok(told) };
    let names = records::names(store, records::NAMED)?;
    let open = open_settings(&timeline.setup_at(now.unix_ms()), &end);
    told["change"] = json!(alterations(&open, &names));
    told["set_up"] = json!(open.is_empty());
    told["end"] = json!(end.place + 1);
    told["setup"] = json!(end.setup);
    told["words"] = json!(end_words(&end, of));
    Ok(told)
}

/// Says which end of so many comes next, and whether its block begins anew.
pub(super) fn end_words(end: &NextEnd, of: usize) -> String {
    let anew = if end.anew { " The block is begun anew, since it was begun on another day." } else { "" };
    format!("{}.{anew}", upper_first(&end.told(of)))
}

/// Returns what is to be altered as the page takes it.
pub(super) fn alterations(open: &[(String, Value)], names: &BTreeMap<ThingId, String>) -> Vec<Value> {
    let one = |(field, to): &(String, Value)| {
        let (name, unit) = name_and_unit(field);
        let shown = quantity(to, &|id| names.get(&id).cloned());
        json!({"setting": field, "to": to, "words": format!("{name} {shown} {unit}").trim_end()})
    };
    open.iter().map(one).collect()
}
