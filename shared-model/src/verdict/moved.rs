//! What a change took from another bow, in words: a part is on one bow at a time, and nothing noted is lost.

use super::bow::names;
use crate::{
    id::ThingId,
    kind::{self, Change, Kind as _, Part},
    moment::Moment,
    named::{self, name_of},
    records::out_of_use_words,
    replica::Store,
    rig::whereabouts::{Gone, Spell, Way, Whereabouts, gone, whereabouts},
    timeline::{Setup, Timeline},
    verdict::{bow::day_words, rebuild::full_name},
};
use std::collections::BTreeMap;

/// From the change until a moment that close to it, in ms, is "now".
const JUST_NOW_MS: i64 = 120_000;

/// Returns, setting by setting, what a bow's setup still names though it went to another bow since.
///
/// # Errors
/// Those of the store.
pub fn gone_from<S: Store>(
    store: &S,
    bow: ThingId,
    setup: &Setup,
) -> Result<BTreeMap<String, Gone>, S::Error> {
    Ok(gone(&whereabouts(&Timeline::changes_of_all(store)?), bow, setup))
}

/// Says where a part of a bow's setup went: `went to oak on 3 May 2026`.
pub fn gone_words(gone: &Gone, names: &BTreeMap<ThingId, String>) -> String {
    format!("went to {} on {}", name_of(names, gone.to), day_words(&gone.at.day()))
}

/// Says, a sentence a part, what a change that is kept took from another bow, and which of its parts are out of use.
///
/// # Errors
/// Those of the store.
pub fn moved<S: Store>(store: &S, change: ThingId, now: &Moment) -> Result<Vec<String>, S::Error> {
    // A change that names no part moves none; that spares the reading of all bows.
    let record: Change = match store.thing(Change::NAME, change)? {
        Some(thing) => kind::read(&thing)?,
        None => return Ok(Vec::new()),
    };
    let names_a_thing = |text: &str| text.parse::<ThingId>().is_ok();
    if !record.settings().any(|(_, value)| value.as_str().is_some_and(names_a_thing)) {
        return Ok(Vec::new());
    }
    let bows = Timeline::changes_of_all(store)?;
    let told = Told { found: &whereabouts(&bows), bows: &bows, names: names(store)?, now };
    let mut said = Vec::new();
    for (part, spells) in told.found {
        let left = spells.iter().filter(|spell| spell.end.as_ref().is_some_and(|end| end.change == change));
        said.extend(left.filter_map(|spell| told.sentence(*part, spell)));
    }
    said.extend(out_of_use(store, &record)?);
    Ok(said)
}

/// Says which parts that a change puts on are out of use.
fn out_of_use<S: Store>(store: &S, change: &Change) -> Result<Vec<String>, S::Error> {
    let put =
        |id: ThingId| change.settings().any(|(_, value)| value.as_str() == Some(id.to_string().as_str()));
    let out = named::all(store, Part::NAME)?.into_iter().filter(|part| part.retired && put(part.id));
    Ok(out.map(|part| out_of_use_words(&part.name)).collect())
}

struct Told<'a> {
    found: &'a Whereabouts,
    bows: &'a [Timeline],
    names: BTreeMap<ThingId, String>,
    now: &'a Moment,
}

impl Told<'_> {
    /// Says that a part left a bow for another; nothing where it was replaced, or only came to another place.
    fn sentence(&self, part: ThingId, spell: &Spell) -> Option<String> {
        let end = spell.end.as_ref()?;
        let Way::Moved(to) = end.by else { return None };
        if to == spell.bow {
            return None;
        }
        let bow = name_of(&self.names, spell.bow);
        let were = if matches!(spell.setting.as_str(), "limbs" | "stabiliser") { "were" } else { "was" };
        let just_now = (self.now.unix_ms() - end.at.unix_ms()).abs() <= JUST_NOW_MS;
        let until = if just_now { "now".to_owned() } else { day_words(&end.at.day()) };
        let mut said = format!("{} {were} on {bow} until {until}", name_of(&self.names, part));
        let timeline = self.bows.iter().find(|timeline| timeline.bow == spell.bow)?;
        let empty = gone(self.found, spell.bow, &timeline.setup_now());
        said.push_str(&if empty.get(&spell.setting).is_some_and(|gone| gone.part == part) {
            let setting = full_name(&spell.setting).0;
            format!(": {bow} has no {setting} noted from here on; note what is on it.")
        } else {
            "; what came on it after that is noted.".to_owned()
        });
        let last = self.found.get(&part).and_then(|spells| spells.last())?;
        if last.bow != to && last.end.is_none() && last.since.unix_ms() > end.at.unix_ms() {
            let (on, since) = (name_of(&self.names, last.bow), day_words(&last.since.day()));
            said.push_str(&format!(" Since {since} it is noted on {on}."));
        }
        Some(said)
    }
}
