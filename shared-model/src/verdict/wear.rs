//! What wears, in words: how many arrows each part has seen, and when the archer wanted to be reminded.

use super::{
    bow::{day_words, names},
    rebuild::full_name,
    sentence::upper_first,
    units::{count, thousands},
};
use crate::{
    ModelError,
    id::ThingId,
    kind::Practice,
    merge::Thing,
    named::{self, name_of},
    replica::Store,
    rig::{
        caution,
        rebuild::place,
        wear::{Wear, Worn, wear, wear_without},
    },
    timeline::Timeline,
};
use serde::Serialize;
use std::collections::BTreeMap;

/// From this share of a reminder's number on it is spoken of.
const SOON: f64 = 0.95;

/// What wears, on one bow or on all.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WearSheet {
    /// The bow, where one was asked for.
    pub bow: Option<ThingId>,
    /// Its name.
    pub name: Option<String>,
    /// One a thing that wears, in the order in which a bow is put together.
    pub rows: Vec<WearRow>,
    /// What to take care of.
    pub cautions: Vec<&'static str>,
}

/// How near a thing is to the number at which its archer wants to be reminded.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "lowercase")]
pub enum Due {
    /// No number is set.
    Unset,
    /// There is time.
    Later,
    /// At 95 of 100 arrows or beyond.
    Soon,
    /// The number is reached.
    Now,
}

/// What something on a bow has seen.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct WearRow {
    /// The setting that names it.
    pub setting: String,
    /// What it is: string, limbs, arrows and so on.
    pub part: String,
    /// Its name.
    pub name: String,
    /// `part` or `arrows` where it is one of the records, else none.
    pub kind: Option<&'static str>,
    /// Which record.
    pub id: Option<ThingId>,
    /// The change that names it on the bow asked for, or on the bow it was noted on last.
    pub change: Option<ThingId>,
    /// Since which day.
    pub since: String,
    /// The same day as a date.
    pub since_day: String,
    /// Arrows shot since.
    pub arrows: u64,
    /// Those of them that were placed on a face.
    pub placed: u64,
    /// Those of them that were counted only.
    pub practice: u64,
    /// The bows that they were shot from, by name.
    pub bows: Vec<String>,
    /// The same in a sentence.
    pub words: String,
    /// After how many arrows the archer wants to be reminded.
    pub remind_at: Option<u64>,
    /// How near that is.
    pub due: Due,
    /// The same in a sentence.
    pub reminder: Option<String>,
    /// How it gets a reminder, where it is only named in words.
    pub how: Option<String>,
    /// What to take care of.
    pub caution: Option<&'static str>,
}

/// Returns what wears: what is on a bow and the sets shot from it, or everything that is in use.
///
/// # Errors
/// Those of the store, and `unknown_thing`.
pub fn wear_sheet<S: Store>(store: &S, bow: Option<ThingId>) -> Result<WearSheet, S::Error> {
    if let Some(id) = bow
        && store.thing("bow", id)?.is_none()
    {
        let message = format!("there is no bow {} in the records of this device", id.short());
        return Err(ModelError::new("unknown_thing", message).at("bow").into());
    }
    let names = names(store)?;
    let rows = rows(store, &names, &wear(&timelines(store)?), bow)?;
    let mut cautions: Vec<&'static str> = rows.iter().filter_map(|row| row.caution).collect();
    cautions.push(caution::FIRST);
    let name = bow.map(|bow| name_of(&names, bow));
    Ok(WearSheet { bow, name, rows, cautions: caution::once(cautions) })
}

/// Returns the timelines of all bows, those out of use among them: what they wore stays worn.
pub(super) fn timelines<S: Store>(store: &S) -> Result<Vec<Timeline>, S::Error> {
    let mut ids = Vec::new();
    store.visit("bow", None, &mut |thing| ids.push(thing.id))?;
    ids.into_iter().map(|id| Timeline::read(store, id)).collect()
}

/// Returns how many arrows of a set missed on the day on which it was shot last, whatever bows it was shot from.
pub(super) fn misses_on_last_day(bows: &[Timeline], set: ThingId) -> u64 {
    let mut days: BTreeMap<String, u64> = BTreeMap::new();
    for (item, group) in bows.iter().flat_map(Timeline::groups).filter(|(_, group)| group.arrows == Some(set))
    {
        let missed = group.points_mm.iter().flatten().filter(|point| point.is_none()).count();
        *days.entry(item.at.day()).or_default() += missed as u64;
    }
    days.pop_last().map_or(0, |(_, missed)| missed)
}

/// Returns a row for each thing that wears.
pub(super) fn rows<S: Store>(
    store: &S,
    names: &BTreeMap<ThingId, String>,
    worn: &BTreeMap<Worn, Wear>,
    bow: Option<ThingId>,
) -> Result<Vec<WearRow>, S::Error> {
    let mut rows = Vec::new();
    for (worn, wear) in worn {
        let record = Record::of(store, worn)?;
        let fitted = bow.map_or(!wear.fitted.is_empty(), |bow| wear.fitted.contains_key(&bow));
        let shot = bow.is_none_or(|bow| wear.setting == "arrows" && wear.bows.contains(&bow));
        let kept = record.as_ref().is_some_and(|record| !record.retired);
        if fitted || shot && kept {
            rows.push(row(worn, wear, record, names, bow));
        }
    }
    rows.sort_by_cached_key(|row| {
        (place(&row.setting), row.setting.clone(), row.name.to_lowercase(), row.id)
    });
    Ok(rows)
}

/// What the records say of a thing that wears.
struct Record {
    kind: &'static str,
    remind_at: Option<u64>,
    retired: bool,
}

impl Record {
    fn of<S: Store>(store: &S, worn: &Worn) -> Result<Option<Self>, S::Error> {
        let Some(id) = worn.thing() else { return Ok(None) };
        for kind in ["part", "arrows"] {
            if let Some(thing) = store.thing(kind, id)? {
                let retired = named::named(kind, &thing).is_some_and(|named| named.retired);
                return Ok(Some(Self { kind, remind_at: remind_at(&thing), retired }));
            }
        }
        Ok(None)
    }
}

/// Returns the number at which the archer wants to be reminded of a thing; what is no such number is none.
fn remind_at(thing: &Thing) -> Option<u64> {
    let fields = thing.fields();
    let number: f64 = serde_json::from_str(fields.get("remind_at_arrows")?.now.value.get()).ok()?;
    (number >= 1.0 && number <= f64::from(u32::MAX)).then_some(number as u64)
}

fn row(
    worn: &Worn,
    wear: &Wear,
    record: Option<Record>,
    names: &BTreeMap<ThingId, String>,
    bow: Option<ThingId>,
) -> WearRow {
    let part = full_name(&wear.setting).0;
    let name = match worn {
        Worn::Thing(id) => name_of(names, *id),
        Worn::Named(.., words) | Worn::Served(.., words) => words.replace(char::is_control, " "),
    };
    let since = day_words(&wear.since.day());
    let remind_at = record.as_ref().and_then(|record| record.remind_at);
    let due = due(wear.arrows(), remind_at);
    let reminder = remind_at.map(|at| reminder(&Subject::of(&part, &name), wear.arrows(), at));
    let last = bow.or(wear.on);
    WearRow {
        change: last.and_then(|bow| wear.fitted.get(&bow).copied().flatten()),
        words: words(wear, names, bow, &since),
        setting: wear.setting.clone(),
        part,
        name,
        kind: record.map(|record| record.kind),
        id: worn.thing(),
        how: worn.thing().is_none().then(|| how(&since)),
        since,
        since_day: wear.since.day(),
        arrows: wear.arrows(),
        placed: wear.placed,
        practice: wear.practice,
        bows: wear.bows.iter().map(|bow| name_of(names, *bow)).collect(),
        remind_at,
        due,
        reminder,
        caution: caution_of(&wear.setting),
    }
}

/// Says how what is only named in words gets a reminder.
fn how(since: &str) -> String {
    format!(
        "It is named only in words. For a reminder add it as a part with a name, and name that part in the change of \
         {since}: what it has seen since then counts for it."
    )
}

fn caution_of(setting: &str) -> Option<&'static str> {
    match setting {
        "string" | "serving" => Some(caution::STRING),
        "limbs" => Some(caution::LIMBS),
        "arrows" => Some(caution::CARBON),
        _ => None,
    }
}

fn words(wear: &Wear, names: &BTreeMap<ThingId, String>, bow: Option<ThingId>, since: &str) -> String {
    let mut words = format!("{} since {since}", arrows(wear.arrows()));
    if wear.practice > 0 {
        words.push_str(&format!(", {} of them counted only", thousands(wear.practice)));
    }
    if wear.bows.len() > 1 {
        words.push_str(&format!(", from {} bows", wear.bows.len()));
    }
    match (bow, wear.on) {
        (Some(bow), Some(on)) if on != bow && !["arrows", "tab"].contains(&wear.setting.as_str()) => {
            words.push_str(&format!("; since then noted on {}", name_of(names, on)));
        }
        (None, _) if wear.fitted.is_empty() && wear.setting != "arrows" => {
            words.push_str("; on no bow now");
        }
        _ => {}
    }
    words
}

fn arrows(n: u64) -> String {
    count(usize::try_from(n).unwrap_or(usize::MAX), "arrow")
}

fn due(seen: u64, remind_at: Option<u64>) -> Due {
    match remind_at {
        None => Due::Unset,
        Some(at) if seen >= at => Due::Now,
        Some(at) if seen as f64 >= SOON * at as f64 => Due::Soon,
        Some(_) => Due::Later,
    }
}

/// What a reminder is about.
struct Subject {
    words: String,
    many: bool,
}

impl Subject {
    /// Returns it as people say it: the red string, the limbs long 36.
    fn of(part: &str, name: &str) -> Self {
        let said = name.to_lowercase().contains(&part.to_lowercase());
        let words = if said { format!("the {name}") } else { format!("the {part} {name}") };
        Self { words, many: matches!(part, "limbs" | "arrows") }
    }
}

fn reminder(of: &Subject, seen: u64, at: u64) -> String {
    let (have, them) = if of.many { ("have", "them") } else { ("has", "it") };
    let number = thousands(at);
    let the = upper_first(&of.words);
    if seen > at {
        let over = thousands(seen - at);
        return format!(
            "{the} {have} seen {}, {over} more than the {number} after which you want to be reminded: look {them} over, \
             and replace {them} or set a new number.",
            arrows(seen)
        );
    }
    if seen == at {
        return format!(
            "{the} {have} seen the {number} arrows after which you want to be reminded: look {them} over."
        );
    }
    let end = if due(seen, Some(at)) == Due::Soon { format!(": look {them} over.") } else { ".".into() };
    format!(
        "{the} {have} seen {} of the {number} arrows after which you want to be reminded{end}",
        thousands(seen)
    )
}

/// Returns the reminders that a group or a count which was just kept made due, each in a sentence: a reminder is spoken of
/// when the count comes near its number and when it reaches it, not with every end.
///
/// # Errors
/// Those of the store.
pub fn reminders_by<S: Store>(store: &S, record: ThingId) -> Result<Vec<String>, S::Error> {
    let mut any = false;
    for kind in ["part", "arrows"] {
        store.visit(kind, None, &mut |thing| any |= remind_at(thing).is_some())?;
    }
    if !any {
        return Ok(Vec::new());
    }
    let timelines = timelines(store)?;
    let (before, after) = (wear_without(&timelines, record), wear(&timelines));
    let names = names(store)?;
    let mut told = Vec::new();
    for (worn, wear) in &after {
        let was = before.get(worn).map_or(0, Wear::arrows);
        if was == wear.arrows() {
            continue;
        }
        let record = Record::of(store, worn)?;
        let Some(at) = record.filter(|record| !record.retired).and_then(|record| record.remind_at) else {
            continue;
        };
        if due(wear.arrows(), Some(at)) > due(was, Some(at)).max(Due::Later) {
            let row = row(worn, wear, None, &names, None);
            told.push(reminder(&Subject::of(&row.part, &row.name), wear.arrows(), at));
        }
    }
    Ok(told)
}

/// Says what was counted.
pub fn practice_words(practice: &Practice, names: &BTreeMap<ThingId, String>) -> String {
    let set = practice.arrows.map_or_else(String::new, |id| format!(" of {}", name_of(names, id)));
    format!("{}{set} shot without placing", arrows(u64::from(practice.count.unwrap_or_default())))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_reminder_says_how_far_it_is_and_by_how_much_it_is_past() {
        let of = |part: &str, name: &str, seen| reminder(&Subject::of(part, name), seen, 2500);
        assert_eq!(
            of("string", "red string", 2480),
            "The red string has seen 2,480 of the 2,500 arrows after which you want to be reminded: look it over."
        );
        assert!(of("limbs", "long 36", 2300).starts_with("The limbs long 36 have seen 2,300 of the 2,500 "));
        assert!(!of("limbs", "long 36", 2300).contains("look"));
        assert!(of("arrows", "blue", 2500).contains("the 2,500 arrows after which"));
        assert!(
            of("tab", "old face", 2620).contains("seen 2,620 arrows, 120 more than the 2,500 after which")
        );
    }

    #[test]
    fn near_is_from_95_of_100_on() {
        let states = [0, 94, 95, 99, 100, 101].map(|seen| due(seen, Some(100)));
        assert_eq!(states, [Due::Later, Due::Later, Due::Soon, Due::Soon, Due::Now, Due::Now]);
        assert_eq!((due(5, None), due(u64::MAX, Some(1))), (Due::Unset, Due::Now));
    }
}
