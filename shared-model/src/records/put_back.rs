//! Putting a baseline back onto its bow: what that alters, and what there is to know of the parts that go on.

use super::baselines::{NamedSetup, baseline_of, differing};
use super::setting_place;
use crate::{
    id::ThingId,
    kind::{self, Change, Kind as _, unit_of_setting},
    moment::Moment,
    named,
    replica::Store,
    timeline::{Altered, Timeline},
};
use std::collections::BTreeMap;

/// What putting a baseline back alters.
#[derive(Debug, Clone)]
pub struct PutBack {
    /// The baseline.
    pub baseline: NamedSetup,
    /// What is altered, in the order of the trade; nothing where the bow is set up so already.
    pub altered: Vec<Altered>,
    /// The settings on the bow that the baseline says nothing of: they stay as they are.
    pub left: Vec<String>,
    /// What there is to know of the parts that go on.
    pub parts: Vec<PartNews>,
}

/// What there is to know of a part before it goes onto a bow.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct PartNews {
    /// The setting that it is for.
    pub setting: String,
    /// The part.
    pub part: ThingId,
    /// What it is called.
    pub name: String,
    /// The other bow that it is on by the records, with its name.
    pub on: Option<(ThingId, String)>,
    /// Whether it was taken out of use.
    pub retired: bool,
}

impl PartNews {
    /// Says it in a sentence.
    pub fn words(&self) -> String {
        match (&self.on, self.retired) {
            (Some((_, bow)), _) => format!(
                "By the records {} is on {bow} now: it cannot be on both, so note what is on {bow} instead.",
                self.name
            ),
            (None, _) => format!("{} was taken out of use; look it over before it goes on again.", self.name),
        }
    }
}

impl PutBack {
    /// Returns the change to be written, without who made it; nothing where nothing is altered.
    pub fn change(&self, bow: ThingId, at: Moment) -> Option<Change> {
        if self.altered.is_empty() {
            return None;
        }
        let at = Some(at.rfc3339());
        let mut change = Change { bow: Some(bow), at, baseline: Some(self.baseline.id), ..Change::default() };
        self.altered.iter().for_each(|a| change.set(&a.setting, a.after.clone()));
        Some(change)
    }
}

/// Returns what putting a baseline back onto its bow at a moment alters: what differs from it, and nothing else.
///
/// # Errors
/// Those of the store, and `unknown_thing`.
pub fn put_back<S: Store>(store: &S, bow: ThingId, id: ThingId, at: Moment) -> Result<PutBack, S::Error> {
    let baseline = baseline_of(store, bow, id)?;
    let setup = Timeline::read(store, bow)?.setup_at(at.unix_ms());
    let altered = differing(&setup, &baseline.settings);
    let mut left: Vec<String> =
        setup.keys().filter(|s| !baseline.settings.contains_key(*s)).cloned().collect();
    left.sort_by_key(|setting| setting_place(setting));
    let parts = part_news(store, bow, &altered)?;
    Ok(PutBack { baseline, altered, left, parts })
}

/// Returns what there is to know of the parts among settings that are altered on a bow: on which other bow they are now,
/// and whether they are out of use. An arrow set can be shot from several bows.
///
/// # Errors
/// Those of the store.
pub fn part_news<S: Store>(store: &S, bow: ThingId, altered: &[Altered]) -> Result<Vec<PartNews>, S::Error> {
    let mut wanted: BTreeMap<ThingId, &str> = BTreeMap::new();
    for a in altered.iter().filter(|a| a.setting != "arrows" && unit_of_setting(&a.setting).is_empty()) {
        wanted.extend(a.after.as_str().and_then(|id| Some((id.parse().ok()?, a.setting.as_str()))));
    }
    if wanted.is_empty() {
        return Ok(Vec::new());
    }
    let on = elsewhere(store, bow)?;
    let mut news = Vec::new();
    for part in named::all(store, "part")? {
        let Some(setting) = wanted.get(&part.id) else { continue };
        let on = on.get(&part.id).cloned();
        if on.is_some() || part.retired {
            news.push(PartNews {
                setting: (*setting).to_owned(),
                part: part.id,
                name: part.name,
                on,
                retired: part.retired,
            });
        }
    }
    news.sort_by_key(|n| setting_place(&n.setting));
    Ok(news)
}

/// Returns the parts that are on other bows in use now, with these; groups are not looked at, since they alter nothing.
fn elsewhere<S: Store>(store: &S, bow: ThingId) -> Result<BTreeMap<ThingId, (ThingId, String)>, S::Error> {
    let others: BTreeMap<ThingId, String> = named::all(store, "bow")?
        .into_iter()
        .filter(|other| !other.retired && other.id != bow)
        .map(|other| (other.id, if other.name.is_empty() { other.id.short() } else { other.name }))
        .collect();
    let mut last = BTreeMap::new();
    store.visit(Change::NAME, None, &mut |thing| {
        let Ok(change) = kind::read::<Change>(thing) else { return };
        let Some(other) = change.bow.filter(|b| !change.retired && others.contains_key(b)) else { return };
        let Some(at) = change.at.as_ref().and_then(|at| Moment::read(at).ok()) else { return };
        let when = (at.unix_ms(), thing.born());
        for (setting, value) in change.settings() {
            let held = last.entry((other, setting.to_owned())).or_insert_with(|| (when, value.clone()));
            if held.0 <= when {
                *held = (when, value.clone());
            }
        }
    })?;
    let on = last.into_iter().filter_map(|((other, _), (when, value))| {
        let part: ThingId = value.as_str()?.parse().ok()?;
        Some((when, part, other))
    });
    let mut on: Vec<_> = on.collect();
    // Where two other bows claim it, the one that was noted later has it.
    on.sort_by_key(|(when, ..)| *when);
    Ok(on.into_iter().map(|(_, part, other)| (part, (other, others[&other].clone()))).collect())
}
