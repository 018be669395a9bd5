//! Everything about a bow as it is now: what is on it, what follows from it, its marks, its wear, its baselines.

mod arrows;
mod fit;
mod marks;
mod noted;
mod on_fingers;
mod room;
mod weight;

pub use arrows::ArrowSet;
pub(super) use arrows::LIGHT;
pub use marks::MarkRow;
pub(super) use marks::moves_marks;
pub(super) use on_fingers::on_fingers;
pub(super) use room::{Room, shortest};

use super::{
    altered::{altered, quantity, unit_beside},
    bow::{day_words, names},
    limits::{For, limits_with},
    moved::gone_words,
    rebuild::full_name,
    units::{Units, count, trimmed},
    wear::{WearRow, rows as wear_rows, timelines},
};
use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Baseline, Bow, Kind, Part, Person, same_value},
    moment::Moment,
    named::name_of,
    replica::Store,
    rig::{
        caution,
        limits::Finding,
        rebuild::place,
        wear::{Wear, Worn, wear},
        whereabouts::{Gone, gone, whereabouts},
    },
    timeline::{Altered, Setup, Stretch, Timeline, What},
};
use serde::Serialize;
use serde_json::Value;
use std::collections::BTreeMap;

/// What is said without a source.
pub(super) const PRACTICE: &str = "common practice, no source";

/// A bow as it is now.
#[derive(Debug, Clone, Serialize)]
pub struct BowSheet {
    /// The bow.
    pub bow: ThingId,
    /// Its name.
    pub name: String,
    /// Its riser, in words; none where its length is not noted.
    pub riser: Option<String>,
    /// The remark that its record holds.
    pub note: Option<String>,
    /// What is on it, in the order in which a bow is set up.
    pub setup: Vec<SetupRow>,
    /// Which limbs, what bow, what string follow.
    pub fit: Vec<Said>,
    /// The weight on the fingers.
    pub weight: Vec<Said>,
    /// The arrow sets on it and shot from it.
    pub arrows: Vec<ArrowSet>,
    /// Its sight marks, by distance.
    pub marks: Vec<MarkRow>,
    /// What wears, with the arrows that it has seen.
    pub wear: Vec<WearRow>,
    /// What the records lack for more to follow.
    pub wanted: Vec<String>,
    /// Its baselines, with what differs now.
    pub baselines: Vec<BaselineRow>,
    /// Every caution that stands beside something above, and whose word comes first.
    pub cautions: Vec<String>,
}

/// Something that follows, and from what.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Said {
    /// What follows, in a sentence.
    pub words: String,
    /// Whose word that is.
    pub source: String,
    /// What to take care of.
    pub caution: Option<&'static str>,
}

/// A setting as it is now.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SetupRow {
    /// Which setting.
    pub setting: String,
    /// What the trade calls it.
    pub name: String,
    /// The value with its unit.
    pub shown: String,
    /// Since which day.
    pub since: String,
    /// Who noted it; none where the record does not say.
    pub by: Option<String>,
    /// Where it went since, where it is a part that is on another bow now.
    pub gone: Option<String>,
    /// What lies beyond a limit, then what to take care of.
    pub cautions: Vec<String>,
}

/// A setup to come back to.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct BaselineRow {
    /// Which one.
    pub id: ThingId,
    /// Its name.
    pub name: String,
    /// How many settings it holds, and since when.
    pub words: String,
    /// What is otherwise now, setting by setting.
    pub differs: Vec<String>,
}

/// What is known of the bow and its people while the sheet is written.
struct Known<'a, S> {
    store: &'a S,
    bow: ThingId,
    record: Bow,
    names: BTreeMap<ThingId, String>,
    timeline: &'a Timeline,
    stretches: Vec<Stretch>,
    setup: Setup,
    /// What the setup names and is on another bow now.
    gone: BTreeMap<String, Gone>,
    wear: BTreeMap<Worn, Wear>,
    /// What lies beyond a limit.
    beyond: Vec<Finding>,
    /// Who shot it, the last first; whoever asks where nobody did.
    archers: Vec<(String, Person)>,
    units: Units,
}

/// Returns everything about a bow as it is now; `me` is who asks, `offset_min` the clock on the wall.
///
/// # Errors
/// Those of the store, and `unknown_thing`.
pub fn bow_sheet<S: Store>(
    store: &S,
    bow: ThingId,
    me: ThingId,
    units: Units,
    offset_min: i32,
) -> Result<BowSheet, S::Error> {
    asked(store, bow, me, units, |known| known.sheet(offset_min))
}

/// Asks something of what is known of a bow and its people.
fn asked<S: Store, T>(
    store: &S,
    bow: ThingId,
    me: ThingId,
    units: Units,
    ask: impl FnOnce(&Known<'_, S>) -> Result<T, S::Error>,
) -> Result<T, S::Error> {
    let Some(record) = thing::<S, Bow>(store, bow)? else {
        let message = format!("there is no bow {bow} in the records of this device");
        return Err(ModelError::new("unknown_thing", message).at("bow").into());
    };
    let timelines = timelines(store)?;
    let Some(timeline) = timelines.iter().find(|timeline| timeline.bow == bow) else {
        return Err(ModelError::new("unknown_thing", "the bow is not in the records").at("bow").into());
    };
    let mut known = Known {
        store,
        bow,
        record,
        names: names(store)?,
        archers: archers(store, timeline, me)?,
        gone: gone(&whereabouts(&timelines), bow, &timeline.setup_now()),
        setup: timeline.setup_now(),
        wear: wear(&timelines),
        beyond: limits_with(store, &timelines, bow, For::Last(Some(me)), &BTreeMap::new())?,
        stretches: timeline.stretches(),
        timeline,
        units,
    };
    // The riser itself, where it is a part, comes before what the bow's record says.
    known.record.riser_in = known.part("riser")?.and_then(|part| part.length_in).or(known.record.riser_in);
    ask(&known)
}

impl<S: Store> Known<'_, S> {
    fn sheet(&self, offset_min: i32) -> Result<BowSheet, S::Error> {
        let mut wanted = Vec::new();
        let fit = self.fit(&mut wanted)?;
        let (mut weight, weight_lbf) = self.weight(&mut wanted)?;
        weight.extend(self.weight_beyond());
        let mut sheet = BowSheet {
            bow: self.bow,
            name: name_of(&self.names, self.bow),
            riser: self.record.riser_in.map(|inches| format!("{} in riser", trimmed(inches, 2))),
            note: self.record.note.clone(),
            setup: self.setup_rows(),
            fit,
            weight,
            arrows: self.arrows(weight_lbf, &mut wanted)?,
            marks: self.marks()?,
            wear: wear_rows(self.store, &self.names, &self.wear, Some(self.bow))?,
            baselines: self.baselines(offset_min)?,
            wanted,
            cautions: Vec::new(),
        };
        sheet.cautions = sheet.gathered(&self.beyond);
        Ok(sheet)
    }

    /// Returns a value for people.
    fn shown(&self, value: &Value) -> String {
        quantity(value, &|id| self.names.get(&id).cloned())
    }

    fn setup_rows(&self) -> Vec<SetupRow> {
        let by: BTreeMap<ThingId, Option<ThingId>> =
            self.timeline.changes().map(|(item, change)| (item.id, change.by)).collect();
        let mut rows: Vec<SetupRow> = Vec::new();
        let mut settings: Vec<&String> = self.setup.keys().collect();
        settings.sort_by_key(|setting| (place(setting), *setting));
        for setting in settings {
            let set = &self.setup[setting];
            let (name, unit) = full_name(setting);
            let shown = format!("{} {}", self.shown(&set.value), unit_beside(unit, &set.value));
            rows.push(SetupRow {
                setting: setting.clone(),
                name,
                shown: shown.trim_end().to_owned(),
                since: day_words(&set.at.day()),
                by: by.get(&set.change).copied().flatten().map(|id| name_of(&self.names, id)),
                gone: self.gone.get(setting).map(|gone| gone_words(gone, &self.names)),
                cautions: self.cautions(setting),
            });
        }
        rows
    }

    /// Returns what lies beyond a limit at a setting, then what to take care of there.
    fn cautions(&self, setting: &str) -> Vec<String> {
        let beyond = self.beyond.iter().filter(|finding| finding.setting == setting);
        let beyond = beyond.map(Finding::said);
        beyond.chain(caution::of_setting(setting).iter().map(|words| (*words).to_owned())).collect()
    }

    /// Returns what is beyond a limit by a weight that nobody measured, and so has no place beside a setting.
    fn weight_beyond(&self) -> Vec<Said> {
        let at = "draw_weight_lbf";
        let beyond = self.beyond.iter().filter(|one| one.setting == at && !self.setup.contains_key(at));
        let said = beyond.map(|one| Said {
            words: one.said(),
            source: one.whose.clone(),
            caution: Some(one.caution),
        });
        said.collect()
    }

    fn baselines(&self, offset_min: i32) -> Result<Vec<BaselineRow>, S::Error> {
        let mut rows = Vec::new();
        self.store.visit("baseline", Some(self.bow), &mut |thing| {
            let Ok(baseline) = kind::read::<Baseline>(thing) else { return };
            if baseline.retired {
                return;
            }
            let settings = baseline.settings.unwrap_or_default();
            let ms = thing.born().and_then(|stamp| i64::try_from(stamp.tick.ms()).ok());
            let at = ms.and_then(|ms| Moment::new(ms, offset_min).ok());
            let day = at.map_or_else(String::new, |at| format!(", {}", day_words(&at.day())));
            rows.push(BaselineRow {
                id: thing.id,
                name: baseline.name.unwrap_or_else(|| thing.id.short()).replace(char::is_control, " "),
                words: format!("{}{day}", count(settings.len(), "setting")),
                differs: self.differs(&settings),
            });
        })?;
        Ok(rows)
    }

    /// Returns what is otherwise now than in a baseline, in the order of the work.
    fn differs(&self, settings: &BTreeMap<String, Value>) -> Vec<String> {
        let mut names: Vec<&String> = settings.keys().collect();
        names.sort_by_key(|setting| (place(setting), *setting));
        let told = |setting: &String| {
            let (was, now) = (&settings[setting], self.setup.get(setting).map(|set| &set.value));
            if let Some(gone) = self.gone.get(setting) {
                let lent = was.as_str().is_some_and(|id| id.parse() == Ok(gone.part));
                let went = || format!("{} {}", self.shown(was), gone_words(gone, &self.names));
                let name = full_name(setting).0;
                return Some(if lent {
                    format!("{name} {}", went())
                } else {
                    format!("{name} is not noted now")
                });
            }
            let Some(now) = now else { return Some(format!("{} is not noted now", full_name(setting).0)) };
            if same_value(now, was) {
                return None;
            }
            let step = Altered { setting: setting.clone(), before: Some(was.clone()), after: now.clone() };
            Some(altered(&step, &|id| self.names.get(&id).cloned()))
        };
        names.into_iter().filter_map(told).collect()
    }

    /// Returns the part that a setting names, where it is one of the records and on the bow still.
    fn part(&self, setting: &str) -> Result<Option<Part>, S::Error> {
        let there = self.setup.get(setting).filter(|_| !self.gone.contains_key(setting));
        let Some(id) = there.and_then(|set| set.value.as_str()?.parse().ok()) else {
            return Ok(None);
        };
        thing(self.store, id)
    }
}

impl BowSheet {
    /// Returns what lies beyond a limit and every caution of the sheet once, the one about whose word comes first at the end.
    fn gathered(&self, beyond: &[Finding]) -> Vec<String> {
        let said = self.fit.iter().chain(&self.weight).chain(self.arrows.iter().flat_map(|set| &set.words));
        let all = beyond.iter().map(Finding::said);
        let all = all.chain(self.setup.iter().flat_map(|row| row.cautions.clone()));
        let all = all.chain(said.filter_map(|said| said.caution).map(str::to_owned));
        let all = all
            .chain(self.wear.iter().filter_map(|row| row.caution).chain([caution::FIRST]).map(str::to_owned));
        let mut once: Vec<String> = Vec::new();
        for words in all {
            if !once.contains(&words) {
                once.push(words);
            }
        }
        once
    }
}

/// Reads a record by its id; one that cannot be read is none.
fn thing<S: Store, K: Kind>(store: &S, id: ThingId) -> Result<Option<K>, S::Error> {
    Ok(store.thing(K::NAME, id)?.and_then(|thing| kind::read(&thing).ok()))
}

fn archers<S: Store>(store: &S, timeline: &Timeline, me: ThingId) -> Result<Vec<(String, Person)>, S::Error> {
    let mut ids: Vec<ThingId> = Vec::new();
    for archer in timeline.items.iter().rev().filter_map(|item| match &item.what {
        What::Group(group) => group.archer,
        What::Change(_) => None,
    }) {
        if !ids.contains(&archer) {
            ids.push(archer);
        }
    }
    if ids.is_empty() {
        ids.push(me);
    }
    let mut archers = Vec::new();
    for id in ids {
        if let Some(person) = thing::<S, Person>(store, id)? {
            let name = person.name.clone().unwrap_or_else(|| id.short()).replace(char::is_control, " ");
            archers.push((name, person));
        }
    }
    Ok(archers)
}
