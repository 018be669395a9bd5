//! The sheet by which a bow is put back as it was: setting by setting in the order of the work, in words.

use super::{
    altered::{name_and_unit, quantity, unit_beside},
    bow::{day_words, names},
    limits::limits_measured,
    moved::{gone_from, gone_words},
    sentence::list,
    units::trimmed,
};
use crate::{
    ModelError,
    id::ThingId,
    kind::{
        self, Baseline, SETTINGS, check_setting, is_numeric, read_setting, setting_meant, unit_of_setting,
    },
    moment::Moment,
    name,
    named::{self, Named, name_of},
    notation::bare,
    replica::Store,
    rig::{
        caution,
        limits::Finding,
        rebuild::{Compared, SOURCE, compare},
    },
    timeline::Timeline,
};
use serde::Serialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;

/// The sheet.
#[derive(Debug, Clone, Serialize)]
pub struct RebuildSheet {
    /// Which bow, and as what.
    pub title: String,
    /// When that was noted; none where nothing was.
    pub day: Option<String>,
    /// How it stands, in a sentence or two.
    pub head: String,
    /// One a setting, in the order of the work.
    pub rows: Vec<RebuildRow>,
    /// The parts that were on it and are on another bow now, a sentence each.
    pub elsewhere: Vec<String>,
    /// What to take care of.
    pub cautions: Vec<&'static str>,
    /// Whose word order and tolerances are.
    pub source: &'static str,
}

/// A setting of the sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RebuildRow {
    /// Which setting.
    pub setting: String,
    /// What the trade calls it.
    pub name: String,
    /// Its unit; empty for a part.
    pub unit: &'static str,
    /// What it was.
    pub target: String,
    /// How far off it may be.
    pub tolerance: String,
    /// What was measured.
    pub measured: Option<String>,
    /// By how much it is off, to which side, with its unit.
    pub off: Option<String>,
    /// Whether it is right.
    pub ok: Option<bool>,
    /// How it is measured.
    pub how: &'static str,
    /// What it moves further down; empty where that is nothing.
    pub disturbs: String,
    /// What is off above and moves this one, and so comes first.
    pub first: Option<String>,
    /// That what was measured lies beyond a limit, and whose.
    pub beyond: Vec<String>,
}

/// Returns the sheet of a bow: as a baseline has it, or as it was last noted; `typed` are settings with what was measured
/// anew, `offset_min` is the clock on the wall.
///
/// # Errors
/// Those of the store; `unknown_thing` for what is no baseline of the bow; `unknown_setting`, `setting_twice` and those
/// of a quantity for what was typed.
pub fn rebuild_sheet<S: Store>(
    store: &S,
    bow: ThingId,
    baseline: Option<ThingId>,
    typed: &[(String, String)],
    offset_min: i32,
) -> Result<RebuildSheet, S::Error> {
    let names = names(store)?;
    let bow_name = name_of(&names, bow);
    let mut setup = Timeline::read(store, bow)?.setup_now();
    let gone = gone_from(store, bow, &setup)?;
    let left = gone.iter().map(|(setting, gone)| {
        let (part, setting) = (name_of(&names, gone.part), full_name(setting).0);
        format!("{part} ({setting}) {}.", gone_words(gone, &names))
    });
    let elsewhere = left.collect();
    let (title, at, target) = match baseline {
        Some(id) => {
            let (name, at, settings) = baseline_of(store, bow, id)?;
            (format!("{bow_name} as in {name}"), at.map(|ms| Moment::new(ms, offset_min)), settings)
        }
        None => {
            // What is on another bow now is none of what is to be put back.
            setup.retain(|setting, _| !gone.contains_key(setting));
            let at = setup.values().map(|set| set.at).max_by_key(Moment::unix_ms);
            let settings = setup.into_iter().map(|(setting, set)| (setting, set.value)).collect();
            (format!("{bow_name} as last noted"), at.map(Ok), settings)
        }
    };
    let parts = parts(store)?;
    let measured = measured(&target, typed, &parts)?;
    let shown = |value: &Value| quantity(value, &|id| names.get(&id).cloned());
    let same = |a: &Value, b: &Value| name::key(&shown(a)) == name::key(&shown(b));
    let compared = compare(&target, &measured, &same);
    let mut cautions = caution::of_settings(compared.iter().map(|row| &row.setting));
    cautions.push(caution::FIRST);
    let day = at.transpose()?.map(|at| day_words(&at.day()));
    let beyond = limits_measured(store, bow, &measured)?;
    let rows = compared.iter().map(|row| said(row, &shown, &beyond)).collect();
    Ok(RebuildSheet { title, day, head: head(&compared), rows, elsewhere, cautions, source: SOURCE })
}

/// A baseline: what it is called, when it was written in ms since 1970, its settings.
type Written = (String, Option<i64>, BTreeMap<String, Value>);

/// Returns what a baseline is called, when its settings were written, and these.
fn baseline_of<S: Store>(store: &S, bow: ThingId, id: ThingId) -> Result<Written, S::Error> {
    let wrong = |why: String| S::Error::from(ModelError::new("unknown_thing", why).at("baseline"));
    let thing = store.thing("baseline", id)?.ok_or_else(|| wrong(format!("there is no baseline {id}")))?;
    let baseline: Baseline = kind::read(&thing)?;
    let name = baseline.name.unwrap_or_else(|| id.short()).replace(char::is_control, " ");
    if baseline.bow != Some(bow) {
        return Err(wrong(format!("the baseline {name} is of another bow; choose one of this bow")));
    }
    let ms = thing.fields().get("settings").map(|field| field.now.stamp.tick.ms());
    let at = ms.and_then(|ms| i64::try_from(ms).ok());
    Ok((name, at, baseline.settings.unwrap_or_default()))
}

/// Returns the parts and arrow sets by name, those in use before those that are not.
fn parts<S: Store>(store: &S) -> Result<Vec<Named>, S::Error> {
    let mut found = named::all(store, "part")?;
    found.extend(named::all(store, "arrows")?);
    found.sort_by_key(|part| part.retired);
    Ok(found)
}

/// Reads what was measured; a field that was left empty is none.
fn measured(
    target: &BTreeMap<String, Value>,
    typed: &[(String, String)],
    parts: &[Named],
) -> Result<BTreeMap<String, Value>, ModelError> {
    let mut measured = BTreeMap::new();
    for (wanted, text) in typed.iter().filter(|(_, text)| !text.trim().is_empty()) {
        let field = field(target, wanted, text)?;
        let value = if unit_of_setting(&field).is_empty() {
            let (kind, key) = (if field == "arrows" { "arrows" } else { "part" }, name::key(text));
            let part = parts.iter().find(|part| part.kind == kind && name::key(&part.name) == key);
            part.map_or_else(|| json!(text.trim()), |part| json!(part.id))
        } else {
            json!(read_setting(&field, text)?)
        };
        check_setting(&field, &value)?;
        if measured.insert(field.clone(), value).is_some() {
            let message = format!("{field} is given twice; measure it once more and give one value");
            return Err(ModelError::new("setting_twice", message).at(field));
        }
    }
    Ok(measured)
}

/// Returns the setting that is meant: a known one, or one of the bow's own.
fn field(target: &BTreeMap<String, Value>, wanted: &str, text: &str) -> Result<String, ModelError> {
    let wanted = wanted.trim();
    let own = || target.keys().find(|field| *field == wanted || bare(field) == wanted).cloned();
    let exact = || target.contains_key(wanted).then(|| wanted.to_owned());
    let known = || setting_meant(wanted, is_numeric(text)).map(|known| known.field.to_owned());
    let known_field = SETTINGS.iter().any(|s| s.field == wanted);
    let found = if known_field { known() } else { exact().or_else(known).or_else(own) };
    found.ok_or_else(|| {
        let shown: String = wanted.chars().take(60).collect();
        let all: Vec<&str> = SETTINGS.iter().map(|s| s.field).collect();
        let message = format!("there is no setting `{shown}` on this bow; there are {}", all.join(", "));
        ModelError::new("unknown_setting", message).at("measured")
    })
}

fn said(row: &Compared, shown: &dyn Fn(&Value) -> String, beyond: &[Finding]) -> RebuildRow {
    let beyond = beyond.iter().filter(|one| one.setting == row.setting);
    let (name, unit) = full_name(&row.setting);
    let with_unit =
        |value: &Value| format!("{} {}", shown(value), unit_beside(unit, value)).trim_end().to_owned();
    let called =
        |settings: &[String]| list(&settings.iter().map(|setting| full_name(setting).0).collect::<Vec<_>>());
    let disturbs: Vec<String> = row.step.disturbs.iter().map(|s| (*s).to_owned()).collect();
    RebuildRow {
        setting: row.setting.clone(),
        name,
        unit,
        target: row.target.as_ref().map_or_else(|| "not noted".into(), with_unit),
        tolerance: match row.step.tolerance {
            Some(most) => format!("± {} {unit}", trimmed(most, 3)).trim_end().to_owned(),
            None => "the same".into(),
        },
        measured: row.measured.as_ref().map(with_unit),
        off: row.off.map(|off| aside(off, unit)),
        ok: row.right,
        how: row.step.how,
        beyond: beyond.map(Finding::said).collect(),
        disturbs: if disturbs.is_empty() { String::new() } else { format!("moves {}", called(&disturbs)) },
        first: (!row.after.is_empty()).then(|| {
            let (is, it) = if row.after.len() == 1 { ("is", "it") } else { ("are", "they") };
            format!("{} {is} off and {it} move this: put that right first", called(&row.after))
                .replace("it move ", "it moves ")
        }),
    }
}

/// Returns what the trade calls a setting: a part and its adjustment can have one name, as the plunger has.
pub(super) fn full_name(setting: &str) -> (String, &'static str) {
    let (name, unit) = name_and_unit(setting);
    let twin = unit.is_empty() && SETTINGS.iter().any(|s| s.name == name && !s.unit.is_empty());
    (if twin { format!("{name} part") } else { name }, unit)
}

/// Says by how much a value is off, and to which side: a sign alone reads as what is to be done.
fn aside(off: f64, unit: &'static str) -> String {
    let size = format!("{} {}", trimmed(off.abs(), 3), unit_beside(unit, &json!(off.abs())));
    let size = size.trim_end();
    if trimmed(off, 3) == "0" {
        size.to_owned()
    } else {
        format!("{size} {}", if off < 0.0 { "too little" } else { "too much" })
    }
}

fn head(rows: &[Compared]) -> String {
    let count = |of: &dyn Fn(&&Compared) -> bool| rows.iter().filter(of).count();
    let (noted, measured) = (count(&|r| r.target.is_some()), count(&|r| r.measured.is_some()));
    let known = count(&|r| r.right.is_some());
    if noted == 0 {
        return "Nothing of its setup is noted, so there is nothing to compare with.".into();
    }
    if measured == 0 {
        return format!("Nothing measured yet, {noted} to go through.");
    }
    let Some(first) = rows.iter().find(|r| r.right == Some(false)) else {
        return format!("{known} of {noted} measured, none off.");
    };
    let wrong = count(&|r| r.right == Some(false));
    let (name, unit) = full_name(&first.setting);
    let by = first.off.map_or_else(|| "another one".to_owned(), |off| aside(off, unit));
    format!("{known} of {noted} measured, {wrong} off. Begin with {name}: {by}.")
}
