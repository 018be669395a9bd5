//! Wear counted in shots: how many arrows a string, limbs, a tab or an arrow set has seen, whatever bow it was on.
//!
//! A part is on a bow from the change that names it until a change names another in its place or the part is noted on
//! another bow. An arrow set counts the groups that name it, and those of a bow on which it is noted where the group
//! names none; plain counts of practice likewise. Arrows that missed were shot as well.
//!
//! A tab belongs to the hand and stays where it was noted when it is noted on another bow too: it counts the arrows that
//! its archer shoots from every bow on which the archer noted it, and from bows where the archer noted none, as the tab
//! that the archer noted last. Whose it is, the change says that noted it; a tab noted by somebody who shoots no bow is
//! everybody's who shoots that one.
//!
//! A serving belongs to the string that it was noted on: it comes off with that string and is back with it. Each change
//! that names it in words is another serving, since one that came off cannot be put on again.

mod fold;

use crate::{id::ThingId, kind::unit_of_setting, moment::Moment, timeline::Timeline};
use serde_json::Value;
use std::collections::{BTreeMap, BTreeSet};

/// Something that wears.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub enum Worn {
    /// A part or an arrow set of the records.
    Thing(ThingId),
    /// What a bow's setting only names in words; the same words on another bow are another thing.
    Named(ThingId, String, String),
    /// A serving that a change names in words: the bow, the change, the words.
    Served(ThingId, ThingId, String),
}

impl Worn {
    /// Returns what a bow's setting points to, where it is no measure; `change` is the one that set it.
    pub fn of(bow: ThingId, setting: &str, value: &Value, change: ThingId) -> Option<Self> {
        let text = value.as_str().filter(|_| unit_of_setting(setting).is_empty())?;
        Some(match text.parse() {
            Ok(id) => Self::Thing(id),
            Err(_) if setting == "serving" => Self::Served(bow, change, text.to_owned()),
            Err(_) => Self::Named(bow, setting.to_owned(), text.to_owned()),
        })
    }

    /// Returns the record, where it is one.
    pub fn thing(&self) -> Option<ThingId> {
        if let Self::Thing(id) = self { Some(*id) } else { None }
    }
}

/// What a thing has seen.
#[derive(Debug, Clone, PartialEq)]
pub struct Wear {
    /// When it was first noted on a bow, or first shot.
    pub since: Moment,
    /// The setting that names it: `string`, `limbs` and so on.
    pub setting: String,
    /// Arrows of groups since; of an arrow set, all of its arrows together.
    pub placed: u64,
    /// Arrows of plain counts since.
    pub practice: u64,
    /// The bows that they were shot from.
    pub bows: BTreeSet<ThingId>,
    /// The bow on which it was noted last.
    pub on: Option<ThingId>,
    /// The bows whose setup names it now, each with the change that does so; none for a tab that nobody noted there.
    pub fitted: BTreeMap<ThingId, Option<ThingId>>,
}

impl Wear {
    /// Returns all arrows that it has seen.
    pub fn arrows(&self) -> u64 {
        self.placed.saturating_add(self.practice)
    }
}

/// Returns the wear of everything that was ever noted on one of the bows.
pub fn wear(bows: &[Timeline]) -> BTreeMap<Worn, Wear> {
    fold::fold(bows, None)
}

/// Returns the wear as it would be without one record, a group or a count.
pub fn wear_without(bows: &[Timeline], record: ThingId) -> BTreeMap<Worn, Wear> {
    fold::fold(bows, Some(record))
}

#[cfg(test)]
mod tests;
