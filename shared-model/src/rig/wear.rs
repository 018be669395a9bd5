//! Wear counted in shots: how many arrows a string, limbs or an arrow set has seen, whatever bow it was on.
//!
//! A part is on a bow from the change that names it until a change names another in its place or the part is noted on
//! another bow. An arrow set counts the groups that name it, and those of a bow on which it is noted where the group
//! names none. Arrows that missed were shot as well.

use crate::{
    id::ThingId,
    kind::unit_of_setting,
    moment::Moment,
    timeline::{Timeline, What},
};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// Something that wears.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Worn {
    /// A part or an arrow set of the records.
    Thing(ThingId),
    /// What a bow's setting only names in words; the same words on another bow are another thing.
    Named(ThingId, String, String),
}

impl Worn {
    /// Returns what a bow's setting points to, where it is no measure.
    pub fn of(bow: ThingId, setting: &str, value: &Value) -> Option<Self> {
        let text = value.as_str().filter(|_| unit_of_setting(setting).is_empty())?;
        Some(match text.parse() {
            Ok(id) => Self::Thing(id),
            Err(_) => Self::Named(bow, setting.to_owned(), text.to_owned()),
        })
    }
}

/// What a thing has seen.
#[derive(Debug, Clone, PartialEq)]
pub struct Wear {
    /// When it was first noted on a bow, or first shot.
    pub since: Moment,
    /// Arrows shot since; of an arrow set, all of its arrows together.
    pub arrows: usize,
    /// The bows that they were shot from.
    pub bows: BTreeSet<ThingId>,
    /// The bow on which it was noted last.
    pub on: Option<ThingId>,
}

/// Returns the wear of everything that was ever noted on one of the bows.
pub fn wear(bows: &[Timeline]) -> BTreeMap<Worn, Wear> {
    let mut items: Vec<_> =
        bows.iter().flat_map(|bow| bow.items.iter().map(move |item| (bow.bow, item))).collect();
    items.sort_by_key(|(bow, item)| (item.at.unix_ms(), item.stamp, *bow));
    let mut setups: BTreeMap<ThingId, BTreeMap<String, Worn>> = BTreeMap::new();
    let mut found: BTreeMap<Worn, Wear> = BTreeMap::new();
    for (bow, item) in items {
        let setup = setups.entry(bow).or_default();
        match &item.what {
            What::Change(change) => {
                for (setting, value) in change.settings() {
                    let Some(worn) = Worn::of(bow, setting, value) else { continue };
                    seen(&mut found, &worn, item.at).on = Some(bow);
                    setup.insert(setting.to_owned(), worn);
                }
            }
            What::Group(group) => {
                let arrows = group.points_mm.as_ref().map_or(0, Vec::len);
                let named = group.arrows.map(Worn::Thing);
                let set = named.as_ref().or_else(|| setup.get("arrows"));
                let parts = setup.iter().filter(|(setting, _)| *setting != "arrows").map(|(_, worn)| worn);
                let here = |worn: &&Worn| found.get(worn).is_some_and(|wear| wear.on == Some(bow));
                let shot: BTreeSet<Worn> = parts.filter(here).chain(set).cloned().collect();
                for worn in shot {
                    let wear = seen(&mut found, &worn, item.at);
                    wear.arrows += arrows;
                    wear.bows.insert(bow);
                }
            }
        }
    }
    found
}

fn seen<'a>(found: &'a mut BTreeMap<Worn, Wear>, worn: &Worn, at: Moment) -> &'a mut Wear {
    let new = || Wear { since: at, arrows: 0, bows: BTreeSet::new(), on: None };
    found.entry(worn.clone()).or_insert_with(new)
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used)]
    use super::*;
    use crate::{
        id::DeviceId,
        kind::{Change, Group},
        log::{Stamp, Tick},
        timeline::Item,
    };
    use serde_json::json;

    const DAY: i64 = 86_400_000;

    fn id(n: u8) -> ThingId {
        ThingId::from_bytes([n; 16])
    }

    fn item(day: i64, what: What) -> Item {
        let at = Moment::new(day * DAY, 0).unwrap();
        let tick = Tick::default().next(u64::try_from(day * DAY).unwrap()).unwrap();
        Item { id: id(200), at, stamp: Stamp { tick, device: DeviceId::from_bytes([1; 16]) }, what }
    }

    fn change(day: i64, setting: &str, value: Value) -> Item {
        let mut change = Change::default();
        change.set(setting, value);
        item(day, What::Change(change))
    }

    fn shot(day: i64, arrows: usize, set: Option<ThingId>) -> Item {
        let group = Group { points_mm: Some(vec![None; arrows]), arrows: set, ..Group::default() };
        item(day, What::Group(Box::new(group)))
    }

    fn bow(n: u8, items: Vec<Item>) -> Timeline {
        Timeline { bow: id(n), items, unplaced: Vec::new() }
    }

    #[test]
    fn a_string_counts_on_whatever_bow_it_is() {
        let string = json!(id(9));
        let elm = bow(
            1,
            vec![
                shot(1, 100, None),
                change(2, "string", string.clone()),
                shot(3, 6, None),
                // The string is on the other bow from day 4 on, though nobody noted what came in its place.
                shot(5, 50, None),
            ],
        );
        let oak = bow(2, vec![change(4, "string", string), shot(5, 12, None), shot(6, 3, None)]);
        let found = wear(&[elm, oak]);
        let string = &found[&Worn::Thing(id(9))];
        assert_eq!((string.arrows, string.bows.len(), string.on), (21, 2, Some(id(2))));
        assert_eq!(string.since.unix_ms(), 2 * DAY);
    }

    #[test]
    fn a_part_that_came_off_no_longer_counts_and_words_stay_with_their_bow() {
        let elm = bow(
            1,
            vec![
                change(1, "string", json!("sixteen strands")),
                shot(2, 6, None),
                change(3, "string", json!("the old one")),
                shot(4, 30, None),
            ],
        );
        let oak = bow(2, vec![change(1, "string", json!("sixteen strands")), shot(2, 5, None)]);
        let found = wear(&[elm, oak]);
        let of = |bow: u8, words: &str| &found[&Worn::Named(id(bow), "string".into(), words.into())];
        assert_eq!(
            [of(1, "sixteen strands"), of(1, "the old one"), of(2, "sixteen strands")].map(|w| w.arrows),
            [6, 30, 5]
        );
    }

    #[test]
    fn arrows_count_by_the_group_before_the_bow() {
        let (blue, red) = (id(21), id(22));
        let elm = bow(
            1,
            vec![
                change(1, "arrows", json!(blue)),
                change(1, "brace_height_mm", json!(215)),
                shot(2, 6, None),
                shot(3, 12, Some(red)),
            ],
        );
        let oak = bow(2, vec![shot(2, 3, Some(blue))]);
        let found = wear(&[elm, oak]);
        assert_eq!((found[&Worn::Thing(blue)].arrows, found[&Worn::Thing(red)].arrows), (9, 12));
        assert_eq!(found.len(), 2);
    }
}
