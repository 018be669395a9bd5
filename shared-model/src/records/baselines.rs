//! Baselines: setups of a bow under a name, to come back to. What one holds, what differs from it now, and what
//! saving one writes.

use super::{here::setup_here, meant_setting, setting_place};
use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Baseline, Kind as _, same_value, setting, unit_of_setting},
    merge::Thing,
    name,
    named::{self, Called, Named},
    notation::quantity,
    replica::{Draft, Store},
    timeline::{Altered, Setup},
    verdict::Units,
};
use serde_json::value::to_raw_value;
use std::collections::{BTreeMap, BTreeSet};

/// A baseline as it is kept.
#[derive(Debug, Clone, PartialEq)]
pub struct NamedSetup {
    /// Which one.
    pub id: ThingId,
    /// What it is called.
    pub name: String,
    /// The bow; none where the record does not say.
    pub bow: Option<ThingId>,
    /// Its settings and their values.
    pub settings: BTreeMap<String, serde_json::Value>,
    /// How far off a setting may be, in its unit, where the archer says so.
    pub tolerances: BTreeMap<String, f64>,
    /// The remark that it holds.
    pub note: Option<String>,
    /// When its settings were written, ms since 1970.
    pub written_ms: Option<i64>,
    /// Whether it is out of use.
    pub retired: bool,
}

impl NamedSetup {
    /// Reads a baseline; nothing where the record cannot be read.
    pub fn read(thing: &Thing) -> Option<Self> {
        let baseline: Baseline = kind::read(thing).ok()?;
        let known = named::named(Baseline::NAME, thing)?;
        let ms = thing.fields().get("settings").map(|field| field.now.stamp.tick.ms());
        let tolerances = baseline.tolerances.unwrap_or_default();
        Some(Self {
            id: thing.id,
            name: if known.name.is_empty() { thing.id.short() } else { known.name },
            bow: baseline.bow,
            settings: baseline.settings.unwrap_or_default(),
            tolerances: tolerances.into_iter().filter(|(_, most)| most.is_finite() && *most > 0.0).collect(),
            note: baseline.note,
            written_ms: ms.and_then(|ms| i64::try_from(ms).ok()),
            retired: baseline.retired,
        })
    }
}

/// Returns the baselines of a bow that are in use, the first saved first.
///
/// # Errors
/// Those of the store.
pub fn baselines<S: Store>(store: &S, bow: ThingId) -> Result<Vec<NamedSetup>, S::Error> {
    let mut found = Vec::new();
    store.visit(Baseline::NAME, Some(bow), &mut |thing| {
        found.extend(NamedSetup::read(thing).filter(|baseline| !baseline.retired));
    })?;
    Ok(found)
}

/// Returns a baseline of a bow by its id, be it out of use.
///
/// # Errors
/// Those of the store; `unknown_thing` for what is no baseline or that of another bow.
pub fn baseline_of<S: Store>(store: &S, bow: ThingId, id: ThingId) -> Result<NamedSetup, S::Error> {
    let wrong = |why: String| S::Error::from(ModelError::new("unknown_thing", why).at("baseline"));
    let thing = store.thing(Baseline::NAME, id)?;
    let thing = thing.ok_or_else(|| wrong(format!("there is no baseline {id}")))?;
    let found = NamedSetup::read(&thing).ok_or_else(|| wrong(format!("the baseline {id} cannot be read")))?;
    if found.bow != Some(bow) {
        return Err(wrong(format!("the baseline {} is of another bow; choose one of this bow", found.name)));
    }
    Ok(found)
}

/// Returns which baseline of a bow a text means, those out of use behind the others.
///
/// # Errors
/// Those of the store.
pub fn baseline_called<S: Store>(store: &S, bow: ThingId, typed: &str) -> Result<Called, S::Error> {
    Ok(named::called(&own(store, bow)?, typed))
}

/// Returns the baselines of a bow with their names; two bows may both have one called `indoor`.
fn own<S: Store>(store: &S, bow: ThingId) -> Result<Vec<Named>, S::Error> {
    let mut own = Vec::new();
    store.visit(Baseline::NAME, Some(bow), &mut |thing| own.extend(named::named(Baseline::NAME, thing)))?;
    Ok(own)
}

/// Returns the baseline of a bow that is in use under a name already.
///
/// # Errors
/// Those of the store.
pub fn baseline_taken<S: Store>(store: &S, bow: ThingId, name: &str) -> Result<Option<Named>, S::Error> {
    Ok(named::taken(&own(store, bow)?, name, None).cloned())
}

/// Returns the things beside which a new name of one has to stand out: all of its kind, but of baselines those of its bow.
///
/// # Errors
/// Those of the store.
pub fn beside<S: Store>(store: &S, kind: &'static str, id: Option<ThingId>) -> Result<Vec<Named>, S::Error> {
    let thing = match id.filter(|_| kind == Baseline::NAME) {
        Some(id) => store.thing(kind, id)?,
        None => None,
    };
    match thing.as_ref().and_then(NamedSetup::read).and_then(|baseline| baseline.bow) {
        Some(bow) => own(store, bow),
        None => named::all(store, kind),
    }
}

/// Returns what would have to be altered to come from a setup to settings, in the order of the trade.
pub fn differing(setup: &Setup, settings: &BTreeMap<String, serde_json::Value>) -> Vec<Altered> {
    let mut altered = Vec::new();
    for (setting, after) in settings {
        let before = setup.get(setting).map(|s| s.value.clone());
        if !before.as_ref().is_some_and(|before| same_value(before, after)) {
            altered.push(Altered { setting: setting.clone(), before, after: after.clone() });
        }
    }
    altered.sort_by_key(|a| setting_place(&a.setting));
    altered
}

/// Reads how far off a setting may be: `tiller` and `0.5mm`; nothing typed takes the archer's own tolerance away again.
///
/// # Errors
/// `unknown_setting`; `bad_quantity`; `out_of_range` for a tolerance within which anything is right, or nothing can be.
pub fn read_tolerance(wanted: &str, typed: &str, units: Units) -> Result<(String, Option<f64>), ModelError> {
    let wrong = |code, at: &str, message: String| Err(ModelError::new(code, message).at(at.to_owned()));
    let Some(meant) = meant_setting(wanted, true) else {
        let all: Vec<&str> = kind::SETTINGS.iter().filter(|s| !s.unit.is_empty()).map(|s| s.field).collect();
        let shown: String = wanted.chars().take(60).collect();
        let message = format!("there is no setting `{shown}` with a tolerance; there are {}", all.join(", "));
        return wrong("unknown_setting", "tolerances", message);
    };
    let field = meant.field;
    if meant.unit.is_empty() {
        let message = format!("{field} is a part: it is the same or another one, and has no tolerance");
        return wrong("unknown_setting", "tolerances", message);
    }
    if typed.trim().is_empty() {
        return Ok((field, None));
    }
    // A bare number is one of the sheet's: of inches where the sheet is in inches.
    let bare = |c: char| c.is_ascii_digit() || "+-\u{2212}.,/ ½¼¾".contains(c);
    let inches = units == Units::Imperial && meant.unit == "mm" && typed.trim().chars().all(bare);
    let typed = if inches { format!("{} in", typed.trim()) } else { typed.to_owned() };
    let number = quantity(&typed, meant.unit)
        .map_err(|e| ModelError::new(e.code, format!("{field}: {}", e.message)).at(field.clone()))?;
    let most = most_tolerance(&field);
    if !(number > 0.0 && number <= most) {
        let unit = meant.unit;
        let message = format!(
            "{field}: a tolerance of {number} {unit} is not above 0 and at most {most} {unit}; check the number and its unit"
        );
        return wrong("out_of_range", &field, message);
    }
    Ok((field, Some(number)))
}

/// Returns the widest tolerance that still says something: a tenth of what is plausible at all.
fn most_tolerance(field: &str) -> f64 {
    let range = setting(field).and_then(|s| s.range);
    let own = match unit_of_setting(field) {
        "in" => 2.0,
        "m" => 0.1,
        "turns" | "lbf" => 5.0,
        _ => 50.0,
    };
    range.map_or(own, |[least, most]| libm::round((most - least) * 1e3) / 1e4)
}

/// What is to be kept under a name.
#[derive(Debug, Clone)]
pub struct Saving {
    /// The bow.
    pub bow: ThingId,
    /// The id of a new baseline.
    pub id: ThingId,
    /// What it is to be called.
    pub name: String,
    /// A remark.
    pub note: Option<String>,
    /// How far off settings may be; none takes the archer's own away.
    pub tolerances: BTreeMap<String, Option<f64>>,
    /// Whether a baseline that is called so is to hold the setup of now instead.
    pub over: bool,
}

/// What saving writes.
#[derive(Debug, Clone)]
pub struct Saved {
    /// The baseline.
    pub id: ThingId,
    /// What it is called.
    pub name: String,
    /// Its settings.
    pub settings: BTreeMap<String, serde_json::Value>,
    /// The tolerances that it holds.
    pub tolerances: BTreeMap<String, f64>,
    /// What it held before, where it was there.
    pub before: Option<BTreeMap<String, serde_json::Value>>,
    /// What is to be written; nothing where all of it is kept already.
    pub draft: Option<Draft>,
}

/// Names the setup of a bow as it is now, to come back to.
///
/// # Errors
/// Those of the store and of a name; `taken_name` where the bow has one called so and it is not to be written over;
/// `not_noted` where nothing is on the bow, or a tolerance is of what is not.
pub fn save_baseline<S: Store>(store: &S, saving: Saving) -> Result<Saved, S::Error> {
    let name = name::read("a baseline", &saving.name)?;
    name::check_unambiguous("baseline", &name)?;
    let known = baseline_taken(store, saving.bow, &name)?;
    if let Some(other) = known.as_ref().filter(|_| !saving.over) {
        let message = format!(
            "this bow has a baseline called {} already; take another name, or write over that one",
            other.name
        );
        return Err(ModelError::new("taken_name", message).at("name").into());
    }
    // What went to another bow is none of the setup of now.
    let setup = setup_here(store, saving.bow)?.setup;
    if setup.is_empty() {
        let message = "nothing is noted of this bow's setup yet: note its settings first";
        return Err(ModelError::new("not_noted", message).at("bow").into());
    }
    let settings: BTreeMap<_, _> = setup.into_iter().map(|(field, set)| (field, set.value)).collect();
    let before = known.map(|other| baseline_of(store, saving.bow, other.id)).transpose()?;
    let mut tolerances = before.as_ref().map(|b| b.tolerances.clone()).unwrap_or_default();
    alter(&mut tolerances, &saving.tolerances, &settings)?;
    Ok(Saved {
        id: before.as_ref().map_or(saving.id, |b| b.id),
        name: before.as_ref().map_or(name, |b| b.name.clone()),
        settings,
        tolerances,
        before: None,
        draft: None,
    }
    .drafted(saving, before)?)
}

impl Saved {
    /// Drafts it: whole where it is new, else what is otherwise than it was.
    fn drafted(mut self, saving: Saving, before: Option<NamedSetup>) -> Result<Self, ModelError> {
        let record = Baseline {
            name: Some(self.name.clone()),
            bow: Some(saving.bow),
            settings: Some(self.settings.clone()),
            tolerances: Some(self.tolerances.clone()).filter(|t| !t.is_empty() || before.is_some()),
            note: saving.note,
            retired: false,
        };
        let mut draft = kind::draft(self.id, &record)?;
        if let Some(before) = before {
            let same = differing_values(&before.settings, &self.settings).is_empty();
            draft.set.retain(|field, _| match field.as_str() {
                "settings" => !same,
                "tolerances" => before.tolerances != self.tolerances,
                "note" => record.note != before.note,
                _ => false,
            });
            self.before = Some(before.settings);
        }
        self.draft = Some(draft).filter(|draft| !draft.set.is_empty());
        Ok(self)
    }
}

/// Returns the settings in which two setups differ, either way.
fn differing_values<'a>(
    one: &'a BTreeMap<String, serde_json::Value>,
    other: &'a BTreeMap<String, serde_json::Value>,
) -> BTreeSet<&'a String> {
    let all = one.keys().chain(other.keys());
    all.filter(|s| match (one.get(*s), other.get(*s)) {
        (Some(a), Some(b)) => !same_value(a, b),
        _ => true,
    })
    .collect()
}

/// How far off settings may be after a rebuild, by setting, in the setting's unit.
pub type Tolerances = BTreeMap<String, f64>;

/// Sets the tolerances of a baseline that is there; returns all that it holds then, and what is to be written.
///
/// # Errors
/// Those of the store; `not_noted` where a tolerance is of what the baseline does not hold.
pub fn set_tolerances<S: Store>(
    store: &S,
    bow: ThingId,
    id: ThingId,
    wanted: &BTreeMap<String, Option<f64>>,
) -> Result<(Tolerances, Option<Draft>), S::Error> {
    let known = baseline_of(store, bow, id)?;
    let mut tolerances = known.tolerances.clone();
    alter(&mut tolerances, wanted, &known.settings)?;
    if tolerances == known.tolerances {
        return Ok((tolerances, None));
    }
    let raw = to_raw_value(&tolerances)
        .map_err(|e| ModelError::new("bad_record", format!("the tolerances cannot be written: {e}")))?;
    let set = BTreeMap::from([("tolerances".to_owned(), raw)]);
    Ok((tolerances, Some(Draft { kind: Baseline::NAME.into(), id, set, settles: false })))
}

fn alter(
    tolerances: &mut BTreeMap<String, f64>,
    wanted: &BTreeMap<String, Option<f64>>,
    settings: &BTreeMap<String, serde_json::Value>,
) -> Result<(), ModelError> {
    for (setting, most) in wanted {
        match most {
            Some(_) if !settings.contains_key(setting) => {
                let message = format!(
                    "{setting} is not noted in this baseline, so it has no tolerance there; note it first"
                );
                return Err(ModelError::new("not_noted", message).at(setting.clone()));
            }
            Some(most) => drop(tolerances.insert(setting.clone(), *most)),
            None => drop(tolerances.remove(setting)),
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use proptest::prelude::*;

    #[test]
    fn a_tolerance_is_read_in_the_unit_of_its_setting() {
        // 1/32 in are 0.79375 mm: 25.4 / 32.
        assert_eq!(
            read_tolerance("Tiller", "1/32in", Units::Metric),
            Ok(("tiller_mm".into(), Some(0.793_75)))
        );
        assert_eq!(
            read_tolerance("plunger", " 1/8 ", Units::Imperial),
            Ok(("plunger_turns".into(), Some(0.125)))
        );
        // 1/8 in are 3.175 mm; 0.5 mm stay what they are.
        assert_eq!(
            read_tolerance("brace_height", "1/8", Units::Imperial),
            Ok(("brace_height_mm".into(), Some(3.175)))
        );
        assert_eq!(read_tolerance("tiller", "0.5mm", Units::Imperial), Ok(("tiller_mm".into(), Some(0.5))));
        assert_eq!(read_tolerance("dial_mm", "", Units::Metric), Ok(("dial_mm".into(), None)));
        // A tenth of what a tiller can be: from -30 to 30 mm.
        assert!(
            read_tolerance("tiller", "6", Units::Metric).is_ok()
                && read_tolerance("tiller", "6.1", Units::Metric).is_err()
        );
    }

    proptest! {
        #[test]
        fn whatever_is_typed_for_a_tolerance_is_one_or_refused(setting in "[a-z_ ]{0,12}|tiller|brace_height", typed in ".{0,12}|-?[0-9]{1,3}([.,/][0-9]{1,3})?(mm|in|turns)?") {
            if let Ok((field, Some(most))) = read_tolerance(&setting, &typed, Units::Metric) {
                prop_assert!(most > 0.0 && most <= most_tolerance(&field), "{} {}", field, most);
            }
        }
    }
}
