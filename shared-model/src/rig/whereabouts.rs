//! Where a part is: on which bow, since when, and where it was before.
//!
//! A part is on a bow from the change that names it until a change names another in its place or the part is noted on
//! another bow; [`wear`](super::wear) counts by the same rule. Arrow sets fly from several bows and have no place here.

use super::wear::Worn;
use crate::{
    id::ThingId,
    moment::Moment,
    timeline::{Setup, Timeline},
};
use serde_json::Value;
use std::collections::BTreeMap;

/// A time that a part was on a bow.
#[derive(Debug, Clone, PartialEq)]
pub struct Spell {
    /// The bow.
    pub bow: ThingId,
    /// As what: the setting that named it.
    pub setting: String,
    /// From when.
    pub since: Moment,
    /// How it ended; none as long as the part is there.
    pub end: Option<End>,
}

/// How a part came off a bow.
#[derive(Debug, Clone, PartialEq)]
pub struct End {
    /// When.
    pub at: Moment,
    /// The change that says so.
    pub change: ThingId,
    /// What happened.
    pub by: Way,
}

/// What ended a part's time on a bow.
#[derive(Debug, Clone, PartialEq)]
pub enum Way {
    /// Another part or words came in its place.
    Replaced(Value),
    /// It was noted on another bow, or in another place of the same.
    Moved(ThingId),
}

/// Where every part was, in order of time; the last spell is where it is, unless that has an end.
pub type Whereabouts = BTreeMap<ThingId, Vec<Spell>>;

/// Returns where every part was that was ever noted on one of the bows.
pub fn whereabouts(bows: &[Timeline]) -> Whereabouts {
    let mut changes: Vec<_> = bows
        .iter()
        .flat_map(|bow| bow.changes().map(move |(item, change)| (bow.bow, item, change)))
        .collect();
    changes.sort_by_key(|(bow, item, _)| (item.at.unix_ms(), item.stamp, *bow));
    let mut found = Whereabouts::new();
    for (bow, item, change) in changes {
        for (setting, value) in change.settings().filter(|(setting, _)| *setting != "arrows") {
            let Some(worn) = Worn::of(bow, setting, value, item.id) else { continue };
            let named = worn.thing();
            let ended = |by: Way| Some(End { at: item.at, change: item.id, by });
            let there =
                |spell: &&mut Spell| spell.end.is_none() && spell.bow == bow && spell.setting == setting;
            let others = found.iter_mut().filter(|(part, _)| Some(**part) != named);
            for spell in others.filter_map(|(_, spells)| spells.last_mut()).filter(there) {
                spell.end = ended(Way::Replaced(value.clone()));
            }
            let Some(part) = named else { continue };
            let spells = found.entry(part).or_default();
            if let Some(last) = spells.last_mut().filter(|last| last.end.is_none()) {
                if last.bow == bow && last.setting == setting {
                    continue;
                }
                // A tab goes with the hand of its archer, whatever bow that draws.
                if setting != "tab" {
                    last.end = ended(Way::Moved(bow));
                }
            }
            spells.push(Spell { bow, setting: setting.to_owned(), since: item.at, end: None });
        }
    }
    found
}

/// The parts that bear on where an arrow goes.
const OF_FLIGHT: [&str; 5] = ["riser", "limbs", "string", "rest", "plunger"];

/// Returns whether something that bears on where an arrow goes is a part by its record.
pub fn has_parts(timeline: &Timeline) -> bool {
    let mut settings = timeline.changes().flat_map(|(_, change)| change.settings());
    settings.any(|(setting, value)| {
        OF_FLIGHT.contains(&setting) && value.as_str().is_some_and(|id| id.parse::<ThingId>().is_ok())
    })
}

/// Returns the spans, in ms, in which a part of a bow was on another one and nothing was noted in its place: what the bow was
/// shot with then is not known.
pub fn without_part(found: &Whereabouts, timeline: &Timeline) -> Vec<[i64; 2]> {
    let mut spans = Vec::new();
    for spell in found.values().flatten().filter(|spell| spell.bow == timeline.bow) {
        let Some(End { at, by: Way::Moved(to), .. }) = &spell.end else { continue };
        if *to == timeline.bow || !OF_FLIGHT.contains(&&*spell.setting) {
            continue;
        }
        let from = at.unix_ms();
        // Limbs that are swapped between two bows are often noted with one moment.
        let again = timeline.changes().find(|(item, change)| {
            item.at.unix_ms() >= from && change.settings().any(|(setting, _)| setting == spell.setting)
        });
        spans.push([from, again.map_or(i64::MAX, |(item, _)| item.at.unix_ms())]);
    }
    spans
}

/// A part that a bow's setup still names, though it was noted on another bow since.
#[derive(Debug, Clone, PartialEq)]
pub struct Gone {
    /// The part.
    pub part: ThingId,
    /// The bow that it went to.
    pub to: ThingId,
    /// When.
    pub at: Moment,
}

/// Returns, setting by setting, the parts that a bow's setup as it is now names and that went to another bow.
pub fn gone(found: &Whereabouts, bow: ThingId, setup: &Setup) -> BTreeMap<String, Gone> {
    let mut all = BTreeMap::new();
    for (setting, set) in setup {
        let Some(Worn::Thing(part)) = Worn::of(bow, setting, &set.value, set.change) else { continue };
        let spells = found.get(&part).into_iter().flatten();
        let last = spells.rev().find(|spell| spell.bow == bow && spell.setting == *setting);
        if let Some(End { at, by: Way::Moved(to), .. }) = last.and_then(|spell| spell.end.as_ref()) {
            all.insert(setting.clone(), Gone { part, to: *to, at: *at });
        }
    }
    all
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{
        id::DeviceId,
        kind::Change,
        log::{Stamp, Tick},
        timeline::{Item, What},
    };
    use serde_json::json;

    const DAY: i64 = 86_400_000;

    fn id(n: u8) -> ThingId {
        ThingId::from_bytes([n; 16])
    }

    /// A change of a day, whose id is the day.
    fn change(day: u8, settings: &[(&str, Value)]) -> Item {
        let ms = i64::from(day) * DAY;
        let mut change = Change::default();
        settings.iter().for_each(|(setting, value)| change.set(setting, value.clone()));
        let tick = Tick::default().next(u64::try_from(ms).unwrap()).unwrap();
        Item {
            id: id(day),
            at: Moment::new(ms, 0).unwrap(),
            stamp: Stamp { tick, device: DeviceId::from_bytes([1; 16]) },
            what: What::Change(change),
        }
    }

    fn bow(n: u8, items: Vec<Item>) -> Timeline {
        Timeline { bow: id(n), items, practice: Vec::new(), unplaced: Vec::new() }
    }

    /// The spells of a part as bow, day it began, day it ended.
    fn spells(found: &Whereabouts, part: u8) -> Vec<(ThingId, i64, Option<i64>)> {
        let day = |at: Moment| at.unix_ms() / DAY;
        let told = |spell: &Spell| (spell.bow, day(spell.since), spell.end.as_ref().map(|end| day(end.at)));
        found.get(&id(part)).into_iter().flatten().map(told).collect()
    }

    #[test]
    fn a_part_is_on_one_bow_at_a_time() {
        let (elm, oak, limbs, others) = (101, 102, 11, 12);
        let of = |part: u8| [("limbs", json!(id(part)))];
        let elm_bow = bow(elm, vec![change(1, &of(limbs)), change(3, &[("tiller_mm", json!(4))])]);
        let oak_bow = bow(oak, vec![change(2, &of(others)), change(5, &of(limbs)), change(7, &of(limbs))]);
        let found = whereabouts(&[elm_bow.clone(), oak_bow.clone()]);
        assert_eq!(spells(&found, limbs), [(id(elm), 1, Some(5)), (id(oak), 5, None)]);
        assert_eq!(spells(&found, others), [(id(oak), 2, Some(5))]);
        let ended = |part: u8| found[&id(part)][0].end.clone().unwrap();
        assert_eq!((ended(limbs).by, ended(limbs).change), (Way::Moved(id(oak)), id(5)));
        assert_eq!(ended(others).by, Way::Replaced(json!(id(limbs))));
        let left = gone(&found, id(elm), &elm_bow.setup_now());
        assert_eq!(left.len(), 1);
        assert_eq!((left["limbs"].part, left["limbs"].to), (id(limbs), id(oak)));
        assert!(gone(&found, id(oak), &oak_bow.setup_now()).is_empty());
    }

    #[test]
    fn what_comes_back_is_there_again_and_what_is_replaced_is_nowhere() {
        let (elm, oak, string) = (101, 102, 11);
        let of = |value: Value| [("string", value)];
        let elm_bow = bow(
            elm,
            vec![
                change(1, &of(json!(id(string)))),
                change(4, &of(json!(id(string)))),
                change(6, &of(json!("a borrowed one"))),
            ],
        );
        let oak_bow = bow(oak, vec![change(2, &of(json!(id(string))))]);
        let found = whereabouts(&[oak_bow.clone(), elm_bow.clone()]);
        assert_eq!(
            spells(&found, string),
            [(id(elm), 1, Some(2)), (id(oak), 2, Some(4)), (id(elm), 4, Some(6))]
        );
        // What stands on elm now are words, which go nowhere; oak still names the string that left it.
        assert!(gone(&found, id(elm), &elm_bow.setup_now()).is_empty());
        assert_eq!(gone(&found, id(oak), &oak_bow.setup_now())["string"].to, id(elm));
    }

    #[test]
    fn arrows_fly_from_every_bow() {
        let of = [("arrows", json!(id(11)))];
        assert!(whereabouts(&[bow(101, vec![change(1, &of)]), bow(102, vec![change(2, &of)])]).is_empty());
    }
}
