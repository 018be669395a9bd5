//! The sheet by which a bow is put back as it was: setting by setting in the order of the work, in words.

mod amount;
mod beyond;
mod makers;
mod measured;
mod whose;

pub use beyond::beyond_makers;
pub use measured::measured_change;

use super::{
    altered::{name_and_unit, quantity},
    bow::{day_words, names},
    moved::gone_words,
    sentence::list,
    units::Units,
};
use crate::{
    id::ThingId,
    kind::SETTINGS,
    moment::Moment,
    name,
    named::name_of,
    records::{baseline_of, setup_here_at},
    replica::Store,
    rig::{
        caution,
        rebuild::{Compared, SOURCE, compare, place},
    },
    timeline::Setup,
};
use amount::{also, size, told_unit};
use beyond::Beyond;
use makers::Makers;
use measured::{Parts, measured};
use serde::Serialize;
use serde_json::Value;
use std::collections::BTreeMap;
use whose::{WEIGHT, Whose};

/// Which sheet is wanted.
#[derive(Debug, Clone, Copy)]
pub struct RebuildAsked<'a> {
    /// The bow.
    pub bow: ThingId,
    /// The baseline to come back to; what was noted last where there is none.
    pub baseline: Option<ThingId>,
    /// Settings with what was measured, as it was typed.
    pub typed: &'a [(String, String)],
    /// The units in which lengths are told, and taken where none is typed.
    pub units: Units,
    /// The clock on the wall.
    pub offset_min: i32,
    /// Who asks.
    pub me: Option<ThingId>,
    /// When it was measured; now where that is not said.
    pub at: Option<Moment>,
}

/// The sheet.
#[derive(Debug, Clone, Serialize)]
pub struct RebuildSheet {
    /// The bow.
    pub bow: ThingId,
    /// Which bow, and as what.
    pub title: String,
    /// When that was noted; none where nothing was.
    pub day: Option<String>,
    /// The remark that the baseline holds.
    pub note: Option<String>,
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
    /// Which tolerances are the archer's own; none where all are common practice.
    pub own_tolerances: Option<String>,
}

/// A setting of the sheet.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RebuildRow {
    /// Which setting.
    pub setting: String,
    /// What the trade calls it.
    pub name: String,
    /// The unit that it is told in, and that a bare number is taken in; empty for a part.
    pub unit: &'static str,
    /// What it was.
    pub target: String,
    /// The same as a bow square has it, in sixteenths of an inch, or in mm; none for what is no length.
    pub also: Option<String>,
    /// How far off it may be.
    pub tolerance: String,
    /// Whose word the tolerance is: `your own`, or common practice without a source.
    pub tolerance_source: &'static str,
    /// What was measured.
    pub measured: Option<String>,
    /// By how much it is off, to which side, with its unit.
    pub off: Option<String>,
    /// Whether it is right.
    pub ok: Option<bool>,
    /// What else there is to know of it, a sentence each.
    pub notes: Vec<String>,
    /// How it is measured.
    pub how: &'static str,
    /// What it moves further down; empty where that is nothing.
    pub disturbs: String,
    /// What is off above and moves this one, and so comes first.
    pub first: Option<String>,
    /// That what was measured, or what it was, lies beyond a limit, and whose.
    pub beyond: Vec<String>,
}

/// Whose word a tolerance is that was saved with a baseline.
pub const OWN: &str = "your own";

/// Returns the sheet of a bow: as a baseline has it, or as it was last noted, with what was measured anew beside it.
///
/// # Errors
/// Those of the store; `unknown_thing` for what is no baseline of the bow; `unknown_setting`, `setting_twice` and those
/// of a quantity for what was typed.
pub fn rebuild_sheet<S: Store>(store: &S, asked: &RebuildAsked<'_>) -> Result<RebuildSheet, S::Error> {
    let names = names(store)?;
    let here = setup_here_at(store, asked.bow, asked.at.map_or(i64::MAX, |at| at.unix_ms()))?;
    let left = here.gone.iter().map(|(setting, gone)| {
        let (part, setting) = (name_of(&names, gone.part), full_name(setting).0);
        format!("{part} ({setting}) {}.", gone_words(gone, &names))
    });
    let elsewhere: Vec<String> = left.collect();
    let target = target(store, asked, here.setup.clone())?;
    let measured = measured(&target.settings, asked, &Parts::read(store)?)?;
    let shown = |value: &Value| quantity(value, &|id| names.get(&id).cloned());
    let same = |a: &Value, b: &Value| name::key(&shown(a)) == name::key(&shown(b));
    let beyond = Beyond::read(store, asked.bow, &target.settings, &measured)?;
    let whose = Whose::read(store, asked, (&target, &here), &names)?;
    let makers = Makers::read(store, &target, &names)?;
    let mut compared = compare(&target.settings, &measured, &target.tolerances, &same);
    if whose.stale {
        leave_out_weight(&mut compared);
    }
    let mut cautions = caution::of_settings(compared.iter().map(|row| &row.setting));
    cautions.push(caution::FIRST);
    let row = |row: &Compared| {
        let of_makers = makers.of(&row.setting, asked.units);
        let (beyond, notes) = (beyond.of(&row.setting), notes(row, of_makers, &whose));
        let beside = Beside { beyond, stale: whose.stale, notes };
        said(row, asked.units, &shown, beside)
    };
    Ok(RebuildSheet {
        bow: asked.bow,
        title: title(&name_of(&names, asked.bow), &target),
        day: target.at.map(|at| day_words(&at.day())),
        head: head(&compared, asked.units),
        rows: compared.iter().map(row).collect(),
        note: target.note,
        elsewhere,
        cautions,
        source: SOURCE,
        own_tolerances: own_tolerances(&own_of(&compared), asked.units),
    })
}

fn title(bow: &str, target: &Target) -> String {
    match &target.baseline {
        Some(name) => format!("{bow} as in {name}"),
        None => format!("{bow} as last noted"),
    }
}

/// Returns the archer's own tolerances.
fn own_of(compared: &[Compared]) -> BTreeMap<String, f64> {
    let own = compared.iter().filter(|row| row.own_tolerance);
    own.filter_map(|row| Some((row.setting.clone(), row.tolerance?))).collect()
}

/// Makes a draw weight that was of other limbs none to come back to.
fn leave_out_weight(compared: &mut [Compared]) {
    for row in compared {
        row.after.retain(|setting| setting != WEIGHT);
        if row.setting == WEIGHT {
            (row.target, row.off, row.right) = (None, None, None);
        }
    }
}

/// What stands beside a setting.
struct Beside {
    beyond: Vec<String>,
    /// Whether the draw weight was of other limbs.
    stale: bool,
    notes: Vec<String>,
}

/// Returns what the makers allow of a setting, and of the draw weight whose it is.
fn notes(row: &Compared, mut of_makers: Vec<String>, whose: &Whose) -> Vec<String> {
    if row.setting == WEIGHT {
        of_makers.extend(whose.notes.iter().cloned());
    }
    of_makers
}

/// What a bow is to come back to.
struct Target {
    /// The baseline's name.
    baseline: Option<String>,
    note: Option<String>,
    /// When it was noted.
    at: Option<Moment>,
    settings: BTreeMap<String, Value>,
    tolerances: BTreeMap<String, f64>,
}

fn target<S: Store>(store: &S, asked: &RebuildAsked<'_>, setup: Setup) -> Result<Target, S::Error> {
    let Some(id) = asked.baseline else {
        let at = setup.values().map(|set| set.at).max_by_key(Moment::unix_ms);
        let settings = setup.into_iter().map(|(setting, set)| (setting, set.value)).collect();
        return Ok(Target { baseline: None, note: None, at, settings, tolerances: BTreeMap::new() });
    };
    let baseline = baseline_of(store, asked.bow, id)?;
    Ok(Target {
        baseline: Some(baseline.name),
        note: baseline.note.map(|note| note.replace(char::is_control, " ")),
        at: baseline.written_ms.map(|ms| Moment::new(ms, asked.offset_min)).transpose()?,
        settings: baseline.settings,
        tolerances: baseline.tolerances,
    })
}

/// Says which tolerances are the archer's own, in the order of the work.
pub fn own_tolerances(own: &BTreeMap<String, f64>, units: Units) -> Option<String> {
    let mut all: Vec<(&String, &f64)> = own.iter().collect();
    all.sort_by_key(|(setting, _)| (place(setting), *setting));
    let one = |(setting, most): (&String, &f64)| {
        let (name, unit) = full_name(setting);
        format!("{name} ± {}", size(*most, unit, units))
    };
    let said: Vec<String> = all.into_iter().map(one).collect();
    (!said.is_empty()).then(|| format!("Tolerances of your own: {}.", list(&said)))
}

/// Returns the value of a setting with its unit, lengths in the units that people chose.
pub fn setting_amount(
    setting: &str,
    value: &Value,
    units: Units,
    name_of: &dyn Fn(ThingId) -> Option<String>,
) -> String {
    amount::amount(value, full_name(setting).1, units, &|value| quantity(value, name_of))
}

fn said(row: &Compared, units: Units, shown: &dyn Fn(&Value) -> String, beside: Beside) -> RebuildRow {
    let (name, unit) = full_name(&row.setting);
    let amount = |value: &Value| amount::amount(value, unit, units, shown);
    RebuildRow {
        setting: row.setting.clone(),
        name,
        unit: told_unit(unit, units),
        target: row.target.as_ref().map_or_else(|| without_target(row, &beside).into(), amount),
        also: row.target.as_ref().and_then(|value| also(value, unit, units, row.tolerance)),
        tolerance: row
            .tolerance
            .map_or_else(|| "the same".into(), |most| format!("± {}", size(most, unit, units))),
        tolerance_source: if row.own_tolerance { OWN } else { SOURCE },
        measured: row.measured.as_ref().map(amount),
        off: row.off.map(|off| aside(off, unit, units)),
        ok: row.right,
        how: row.step.how,
        beyond: beside.beyond,
        notes: beside.notes,
        disturbs: match row.step.disturbs {
            [] => String::new(),
            moved => format!("moves {}", called(moved)),
        },
        first: (!row.after.is_empty()).then(|| {
            let (is, it) = if row.after.len() == 1 { ("is", "it moves") } else { ("are", "they move") };
            format!("{} {is} off and {it} this: put that right first", called(&row.after))
        }),
    }
}

/// Says what a setting was where there is nothing to come back to: a weight of other limbs was noted, and is told beside it.
fn without_target(row: &Compared, beside: &Beside) -> &'static str {
    if row.setting == WEIGHT && beside.stale { "measure again" } else { "not noted" }
}

/// Returns what the trade calls some settings, as a list.
fn called<T: AsRef<str>>(settings: &[T]) -> String {
    list(&settings.iter().map(|setting| full_name(setting.as_ref()).0).collect::<Vec<_>>())
}

/// Returns what the trade calls a setting: a part and its adjustment can have one name, as the plunger has.
pub fn full_name(setting: &str) -> (String, &'static str) {
    let (name, unit) = name_and_unit(setting);
    let twin = unit.is_empty() && SETTINGS.iter().any(|s| s.name == name && !s.unit.is_empty());
    (if twin { format!("{name} part") } else { name }, unit)
}

/// Says by how much a value is off, and to which side: a sign alone reads as what is to be done.
fn aside(off: f64, unit: &'static str, units: Units) -> String {
    let size = size(off.abs(), unit, units);
    if size.starts_with("0 ") || size == "0" {
        size
    } else {
        format!("{size} {}", if off < 0.0 { "too little" } else { "too much" })
    }
}

fn head(rows: &[Compared], units: Units) -> String {
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
    let by = first.off.map_or_else(|| "another one".to_owned(), |off| aside(off, unit, units));
    let then = match first.step.disturbs {
        [] => String::new(),
        [one] => format!(" It moves {}: measure that again once it is right.", full_name(one).0),
        moved => format!(" It moves {}: measure these again once it is right.", called(moved)),
    };
    format!("{known} of {noted} measured, {wrong} off. Begin with {name}: {by}.{then}")
}
