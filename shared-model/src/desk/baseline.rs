//! Baselines of a bow: which there are with what differs, saving one, its tolerances, putting one back.

use super::{
    Ask, Desk,
    given::{Given, need, text_of, wrong},
    settings::value_words,
};
use crate::{
    ModelError,
    id::ThingId,
    kind,
    records::{
        self, Here, NamedSetup, Saving, baseline_of, differing, put_back, read_tolerance,
        save_baseline as saved, set_tolerances, setting_place, setup_here,
    },
    replica::Store as _,
    rig::limits::Finding,
    verdict::{Units, beyond_makers, gone_words, list, name_and_unit, own_tolerances},
};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Lists the baselines of a bow with what differs from them now.
pub(super) fn baselines(desk: &mut Desk, input: &Value, _: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let (bow, units) = (given.needed("bow", "bow")?, given.units()?);
    let store = desk.store()?;
    let here = setup_here(store, bow)?;
    let names = records::names(store, records::NAMED)?;
    let found = records::baselines(store, bow)?;
    let told: Vec<Value> = found.iter().map(|baseline| row(baseline, &here, units, &names)).collect();
    Ok(json!({"baselines": told}))
}

fn row(baseline: &NamedSetup, here: &Here, units: Units, names: &BTreeMap<ThingId, String>) -> Value {
    let one = |field: &str, value: &Value| {
        format!("{} {}", name_and_unit(field).0, value_words(field, value, names))
    };
    let mut all: Vec<(&String, &Value)> = baseline.settings.iter().collect();
    all.sort_by_key(|(field, _)| setting_place(field));
    let differs = differing(&here.setup, &baseline.settings).into_iter().map(|a| {
        if let Some(gone) = here.gone_of(&a) {
            return format!("{} {}", one(&a.setting, &a.after), gone_words(gone, names));
        }
        let now = a.before.as_ref().map(|v| value_words(&a.setting, v, names));
        format!("{}, now {}", one(&a.setting, &a.after), now.unwrap_or_else(|| "not noted".into()))
    });
    let measured = all.iter().filter(|(field, _)| !kind::unit_of_setting(field).is_empty());
    let tolerances = measured.map(|(field, _)| {
        let own = baseline.tolerances.get(*field);
        let (name, unit) = name_and_unit(field);
        json!({"setting": field, "name": name, "unit": unit, "own": own})
    });
    json!({
        "id": baseline.id,
        "name": baseline.name,
        "note": baseline.note,
        "words": list(&all.iter().map(|(f, v)| one(f, v)).collect::<Vec<_>>()),
        "differs": differs.collect::<Vec<_>>(),
        "tolerances": tolerances.collect::<Vec<_>>(),
        "tolerance_words": own_tolerances(&baseline.tolerances, units),
    })
}

/// Names the setup of a bow as it is now, to come back to; with `over` a baseline that is called so holds it instead.
pub(super) fn save_baseline(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let bow = given.needed("bow", "bow")?;
    let id = given.id("id")?.unwrap_or_else(|| ask.thing_id());
    if desk.store()?.thing("baseline", id)?.is_some() {
        return Ok(json!({"id": id, "words": ["This baseline was kept already."]}));
    }
    let name = need(given.text("name")?, "name", "the name")?;
    let (note, over) = (given.remark("note")?, given.flag("over")?);
    let tolerances = typed_tolerances(given)?;
    let saved = saved(desk.store()?, Saving { bow, id, name, note, tolerances, over })?;
    let beyond = beyond_makers(desk.store()?, bow, &saved.settings)?;
    let cautions: Vec<String> = beyond.iter().map(Finding::said).collect();
    let words = match (&saved.before, &saved.draft) {
        (None, _) => format!("Kept: the setup of now, as the baseline {}.", saved.name),
        (Some(_), Some(_)) => {
            format!("Kept: {} holds the setup of now. What it held before stays in its history.", saved.name)
        }
        (Some(_), None) => format!("{} holds the setup of now already.", saved.name),
    };
    desk.write(ask, saved.draft.into_iter().collect())?;
    Ok(json!({"id": saved.id, "words": [words], "cautions": cautions}))
}

/// Sets how far off settings may be after a rebuild; an empty one goes back to common practice.
pub(super) fn tolerances(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let bow = given.needed("bow", "bow")?;
    let baseline = need(given.id("baseline")?, "baseline", "the baseline")?;
    let (wanted, units) = (typed_tolerances(given)?, given.units()?);
    let (now, draft) = set_tolerances(desk.store()?, bow, baseline, &wanted)?;
    let words = match (&draft, own_tolerances(&now, units)) {
        (None, _) => "These are its tolerances already.".to_owned(),
        (Some(_), Some(own)) => format!("Kept: {own}"),
        (Some(_), None) => "Kept: its tolerances are those of common practice again.".to_owned(),
    };
    desk.write(ask, draft.into_iter().collect())?;
    Ok(json!({"words": [words]}))
}

/// Reads `{"tolerances": {setting: typed}}`.
fn typed_tolerances(given: Given<'_>) -> Result<BTreeMap<String, Option<f64>>, ModelError> {
    let Some(value) = given.value("tolerances") else { return Ok(BTreeMap::new()) };
    let Some(pairs) = value.as_object() else {
        return Err(wrong("tolerances", "tolerances are settings with how far off they may be".into()));
    };
    let units = given.units()?;
    let read = |(setting, typed): (&String, &Value)| {
        let typed = text_of(typed, &format!("tolerances.{setting}"))?.unwrap_or_default();
        read_tolerance(setting, &typed, units)
    };
    pairs.iter().map(read).collect()
}

/// Notes that a bow was set back to a baseline: a change of what differs from it, and of nothing else.
pub(super) fn put_baseline(desk: &mut Desk, input: &Value, ask: &Ask) -> Result<Value, ModelError> {
    let given = Given::new(desk, input);
    let bow = given.needed("bow", "bow")?;
    let baseline = need(given.id("baseline")?, "baseline", "the baseline")?;
    let at = given.at("at", ask)?.map_or_else(|| ask.moment(), Ok)?;
    let note = given.remark("note")?;
    baseline_of(desk.store()?, bow, baseline)?;
    let put = put_back(desk.store()?, bow, baseline, at)?;
    let remarks: Vec<String> = put.parts.iter().map(records::PartNews::words).collect();
    let Some(mut change) = put.change(bow, at) else {
        let words = ["The bow is set up so already."];
        return Ok(json!({"change": null, "words": words, "remarks": [], "cautions": []}));
    };
    change.note = note;
    let mut told = desk.keep_change(ask.thing_id(), change, &put.altered, ask)?;
    // What came from another bow is said once.
    told["remarks"] = json!(remarks);
    told["moved"] = json!([]);
    Ok(told)
}
