//! How a pair of limbs sits on a bow's riser, as it is typed and made into a record.

use super::{Measured, Named, all, check_sort, here::setup_here_at, name_of, names};
use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Pair},
    moment::Moment,
    notation::bare,
    replica::Store,
    rig::pair::{SETTINGS, fit_caution, fit_words},
    timeline::Setup,
    verdict::{list, name_and_unit, quantity, unit_beside},
};
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// Makes the record of a pair: `typed` are fields with their values (`fit=true`, `bolts=3`, `tiller=2`); what is not typed is
/// taken from what is noted of the bow, where these limbs are on it.
///
/// # Errors
/// Those of the store; `missing_field` where no limbs are named and none are on the bow, or nothing is said of the fit;
/// `unknown_field`, `given_twice` and those of a value, at its field.
pub fn new_pair<S: Store>(
    store: &S,
    bow: ThingId,
    limbs: Option<ThingId>,
    typed: &[(String, String)],
    at: Moment,
    note: Option<String>,
) -> Result<Measured<Pair>, S::Error> {
    let setup = setup_here_at(store, bow, at.unix_ms())?.setup;
    let on = part_id(&setup, "limbs");
    let limbs = limbs.or(on).ok_or_else(|| {
        ModelError::new("missing_field", "no limbs are noted on this bow: say which pair it is").at("limbs")
    })?;
    check_sort(store, "limbs", &json!(limbs))?;
    let mut fields = read_fields(typed)?;
    let fit = fields.remove("fit").and_then(|fit| fit.as_str().map(str::to_owned)).ok_or_else(|| {
        ModelError::new("missing_field", "how does the pair fit? say tight, true or loose (fit=true)")
            .at("fit")
    })?;
    let taken = if on == Some(limbs) { take_from(&setup, &mut fields) } else { Vec::new() };
    let warnings = fit_caution(&fit).map(str::to_owned).into_iter().collect();
    let number = |field: &str| fields.get(field).and_then(Value::as_f64);
    let record = Pair {
        bow: Some(bow),
        riser: part_id(&setup, "riser"),
        limbs: Some(limbs),
        fit: Some(fit),
        limb_bolt_top_turns: number("limb_bolt_top_turns"),
        limb_bolt_bottom_turns: number("limb_bolt_bottom_turns"),
        limb_lateral_top_mm: number("limb_lateral_top_mm"),
        limb_lateral_bottom_mm: number("limb_lateral_bottom_mm"),
        tiller_mm: number("tiller_mm"),
        at: Some(at.rfc3339()),
        note,
        retired: false,
    };
    let words = pair_words(&names(store, &["bow", "part"])?, &record, &taken);
    Ok(Measured { record, words, warnings })
}

/// Says how the limbs sit, with which settings, and which of these were taken from the bow.
fn pair_words(called: &BTreeMap<ThingId, String>, pair: &Pair, taken: &[String]) -> Vec<String> {
    let name = |id: Option<ThingId>| id.map_or_else(String::new, |id| name_of(called, id));
    let fit = pair.fit.as_deref().and_then(fit_words).unwrap_or("as noted");
    let mut words = vec![format!("{} on {}, {fit}.", name(pair.limbs), name(pair.bow))];
    let settings = settings_words(pair);
    words.push(match settings.is_empty() {
        true => "No settings are noted with it.".into(),
        false => format!("With {}.", list(&settings)),
    });
    if !taken.is_empty() {
        words.push(format!("Taken from what is noted of the bow now: {}.", list(taken)));
    }
    words
}

/// Returns the settings that a pair was measured with, in words and in the order in which they are set.
fn settings_words(pair: &Pair) -> Vec<String> {
    settings_of(pair).into_iter().map(|(field, value)| setting_words(field, value)).collect()
}

/// Returns the settings that a pair was measured with.
pub(crate) fn settings_of(pair: &Pair) -> Vec<(&'static str, f64)> {
    let values = [
        pair.limb_bolt_top_turns,
        pair.limb_bolt_bottom_turns,
        pair.limb_lateral_top_mm,
        pair.limb_lateral_bottom_mm,
        pair.tiller_mm,
    ];
    SETTINGS.into_iter().zip(values).filter_map(|(field, value)| Some((field, value?))).collect()
}

/// Returns a setting in words, for example `top limb bolt 3 turns`.
pub(crate) fn setting_words(field: &str, value: f64) -> String {
    let (name, unit) = name_and_unit(field);
    let value = json!(value);
    format!("{name} {} {}", quantity(&value, &|_| None), unit_beside(unit, &value)).trim_end().to_owned()
}

/// Returns the limbs of the records that are in use.
pub(crate) fn own_limbs<S: Store>(store: &S) -> Result<Vec<Named>, S::Error> {
    own_parts(store, "limbs")
}

/// Returns the parts of a sort that are in use, by name.
pub(crate) fn own_parts<S: Store>(store: &S, what: &str) -> Result<Vec<Named>, S::Error> {
    let mut sorts: BTreeMap<ThingId, String> = BTreeMap::new();
    store.visit("part", None, &mut |thing| {
        if let Some(what) = kind::read::<kind::Part>(thing).ok().and_then(|part| part.what) {
            sorts.insert(thing.id, what);
        }
    })?;
    let mut parts = all(store, "part")?;
    parts.retain(|part| !part.retired && sorts.get(&part.id).is_some_and(|sort| sort == what));
    parts.sort_by(|a, b| a.name.cmp(&b.name).then(a.id.cmp(&b.id)));
    Ok(parts)
}

/// Returns the part that a setting names.
pub(crate) fn part_id(setup: &Setup, setting: &str) -> Option<ThingId> {
    setup.get(setting).and_then(|set| set.value.as_str()?.parse().ok())
}

/// Reads fields of a pair; `bolts` and `lateral` stand for top and bottom alike.
fn read_fields(typed: &[(String, String)]) -> Result<BTreeMap<&'static str, Value>, ModelError> {
    let mut fields = BTreeMap::new();
    for (name, text) in typed.iter().filter(|(_, text)| !text.trim().is_empty()) {
        for field in meant(name)? {
            let (field, form) = kind::field("pair", field).expect("these are fields of a pair");
            let value = kind::value(field, form, text)?;
            if fields.insert(field, value).is_some() {
                let message = format!("{} is given twice; give it once", name_and_unit(field).0);
                return Err(ModelError::new("given_twice", message).at(field));
            }
        }
    }
    Ok(fields)
}

/// Returns the fields that a name stands for.
fn meant(name: &str) -> Result<Vec<&'static str>, ModelError> {
    let key = name.trim().to_lowercase().replace(['-', ' '], "_");
    let fits = |field: &&&str| {
        let own = name_and_unit(field).0.replace(' ', "_");
        [**field, bare(field)].contains(&key.as_str()) || own == key
    };
    if let Some(field) = ["fit"].iter().chain(&SETTINGS).find(fits) {
        return Ok(vec![*field]);
    }
    Ok(match key.as_str() {
        "bolts" | "bolt" | "limb_bolts" | "limb_bolts_turns" => SETTINGS[..2].to_vec(),
        "bolt_top" => SETTINGS[..1].to_vec(),
        "bolt_bottom" => SETTINGS[1..2].to_vec(),
        "lateral" | "limb_lateral" | "lateral_mm" => SETTINGS[2..4].to_vec(),
        "lateral_top" => SETTINGS[2..3].to_vec(),
        "lateral_bottom" => SETTINGS[3..4].to_vec(),
        _ => {
            let shown: String = name.chars().take(40).collect();
            let message = format!(
                "a pair has no `{shown}`; it has fit, bolts (bolt_top, bolt_bottom), lateral (lateral_top, lateral_bottom) and \
                 tiller"
            );
            return Err(ModelError::new("unknown_field", message).at("values"));
        }
    })
}

/// Takes what was not typed from a setup, and returns it in words.
fn take_from(setup: &Setup, fields: &mut BTreeMap<&'static str, Value>) -> Vec<String> {
    let mut taken = Vec::new();
    for field in SETTINGS {
        let noted = setup.get(field).and_then(|set| set.value.as_f64());
        if let Some(value) = noted.filter(|_| !fields.contains_key(field)) {
            fields.insert(field, json!(value));
            taken.push(setting_words(field, value));
        }
    }
    taken
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;

    #[test]
    fn a_word_for_both_limbs_sets_both() {
        let typed = |pairs: &[(&str, &str)]| {
            let pairs: Vec<_> = pairs.iter().map(|(a, b)| ((*a).to_owned(), (*b).to_owned())).collect();
            read_fields(&pairs)
        };
        let read = typed(&[("fit", "True"), ("bolts", "3 1/2"), ("tiller", "-2"), ("lateral_top", "0,5mm")])
            .unwrap();
        assert_eq!(read["fit"], "true");
        assert_eq!(
            (&read["limb_bolt_top_turns"], &read["limb_bolt_bottom_turns"]),
            (&json!(3.5), &json!(3.5))
        );
        assert_eq!((&read["tiller_mm"], &read["limb_lateral_top_mm"]), (&json!(-2.0), &json!(0.5)));
        for (pairs, field) in [
            (vec![("bolts", "3"), ("top limb bolt", "2")], "limb_bolt_top_turns"),
            (vec![("fit", "snug")], "fit"),
            (vec![("bolts", "99")], "limb_bolt_top_turns"),
            (vec![("tiller", "two")], "tiller_mm"),
            (vec![("wheel", "2")], "values"),
        ] {
            assert_eq!(typed(&pairs).unwrap_err().field.as_deref(), Some(field), "{pairs:?}");
        }
        assert_eq!(typed(&[("tiller", " ")]).unwrap().len(), 0);
    }
}
