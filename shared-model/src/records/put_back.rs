//! Putting a baseline back onto its bow: what that alters, and what there is to know of the parts that go on.

use super::{
    baselines::{NamedSetup, baseline_of, differing},
    here::{places, setup_here, setup_here_at},
    setting_place,
};
use crate::{
    id::ThingId,
    kind::{Change, unit_of_setting},
    moment::Moment,
    named,
    replica::Store,
    rig::whereabouts::Gone,
    timeline::Altered,
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
    /// Whether it was on this bow before it went to that one, and so comes back.
    pub back: bool,
    /// Whether it was taken out of use.
    pub retired: bool,
}

impl PartNews {
    /// Says it in a sentence.
    pub fn words(&self) -> String {
        let on = self.on.as_ref().map(|(_, bow)| match self.back {
            true => {
                let come = if self.setting == "limbs" { "come" } else { "comes" };
                format!("{} {come} back from {bow}: note what is on {bow} instead.", self.name)
            }
            false => format!(
                "By the records {} is on {bow} now: it cannot be on both, so note what is on {bow} instead.",
                self.name
            ),
        });
        let out = self.retired.then(|| out_of_use_words(&self.name));
        on.into_iter().chain(out).collect::<Vec<_>>().join(" ")
    }
}

/// Says that a part which is to go on a bow is out of use.
pub(crate) fn out_of_use_words(name: &str) -> String {
    format!("{name} was taken out of use; look it over before it goes on again.")
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
    // What went to another bow has to come back: it is noted again.
    let here = setup_here_at(store, bow, at.unix_ms())?;
    let altered = differing(&here.setup, &baseline.settings);
    let mut left: Vec<String> =
        here.setup.keys().filter(|s| !baseline.settings.contains_key(*s)).cloned().collect();
    left.sort_by_key(|setting| setting_place(setting));
    let parts = news_of(store, bow, &altered, &here.gone)?;
    Ok(PutBack { baseline, altered, left, parts })
}

/// Returns what there is to know of the parts among settings that are altered on a bow: on which other bow they are now,
/// and whether they are out of use. An arrow set can be shot from several bows.
///
/// # Errors
/// Those of the store.
pub fn part_news<S: Store>(store: &S, bow: ThingId, altered: &[Altered]) -> Result<Vec<PartNews>, S::Error> {
    news_of(store, bow, altered, &setup_here(store, bow)?.gone)
}

fn news_of<S: Store>(
    store: &S,
    bow: ThingId,
    altered: &[Altered],
    gone: &BTreeMap<String, Gone>,
) -> Result<Vec<PartNews>, S::Error> {
    let mut wanted: BTreeMap<ThingId, &str> = BTreeMap::new();
    // An arrow set is shot from several bows, and a tab goes with its archer's hand.
    let of_one_bow =
        |setting: &str| !matches!(setting, "arrows" | "tab") && unit_of_setting(setting).is_empty();
    for a in altered.iter().filter(|a| of_one_bow(&a.setting)) {
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
                back: on.is_some() && gone.values().any(|gone| gone.part == part.id),
                on,
                retired: part.retired,
            });
        }
    }
    news.sort_by_key(|n| setting_place(&n.setting));
    Ok(news)
}

/// Returns the parts that are on other bows in use now, with these.
fn elsewhere<S: Store>(store: &S, bow: ThingId) -> Result<BTreeMap<ThingId, (ThingId, String)>, S::Error> {
    let others: BTreeMap<ThingId, String> = named::all(store, "bow")?
        .into_iter()
        .filter(|other| !other.retired && other.id != bow)
        .map(|other| (other.id, if other.name.is_empty() { other.id.short() } else { other.name }))
        .collect();
    let on = places(store, i64::MAX)?.into_iter().filter_map(|(part, spells)| {
        let last = spells.into_iter().rev().find(|spell| spell.end.is_none())?;
        Some((part, (last.bow, others.get(&last.bow)?.clone())))
    });
    Ok(on.collect())
}
