//! A bow's changes and groups in order, and the setup at any moment.
//!
//! The order is by `at`, then by stamp; who recorded an item and when it arrived play no part, so a
//! partner's change that arrives a day late still lands in its place.

mod around;
mod practice;
mod season;
mod season_input;
mod shots;

pub use crate::moment::Moment;
pub use around::EndMean;
pub use practice::Practiced;
pub use season::{Season, SeasonChange, SeasonGroup, net};
pub use season_input::{Asked, USUAL_SHAFT_MM};
pub use shots::PlacedGroup;

use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Change, Group},
    log::Stamp,
    merge::Thing,
    replica::Store,
};
use serde_json::Value;
use std::collections::BTreeMap;

/// Something that happened to or with a bow.
#[derive(Debug, Clone)]
pub struct Item {
    /// Which record.
    pub id: ThingId,
    /// When it happened.
    pub at: Moment,
    /// When it was first recorded.
    pub stamp: Stamp,
    /// What it was.
    pub what: What,
}

/// What happened.
#[derive(Debug, Clone)]
pub enum What {
    /// Something was altered.
    Change(Change),
    /// Arrows were shot.
    Group(Box<Group>),
}

/// A record that has no place in the timeline, with the reason.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Unplaced {
    /// Which record.
    pub id: ThingId,
    /// Its kind.
    pub kind: String,
    /// Why it cannot be placed.
    pub why: String,
}

/// The value of a setting and where it comes from.
#[derive(Debug, Clone, PartialEq)]
pub struct Set {
    /// The value.
    pub value: Value,
    /// The change that set it.
    pub change: ThingId,
    /// When.
    pub at: Moment,
}

/// Everything that is on a bow at a moment: setting by setting.
pub type Setup = BTreeMap<String, Set>;

/// The stretch between one change and the next.
#[derive(Debug, Clone)]
pub struct Stretch {
    /// The change that opens it; none before the first.
    pub change: Option<ThingId>,
    /// When it opens.
    pub at: Option<Moment>,
    /// What the change altered: setting, value before, value after.
    pub altered: Vec<Altered>,
    /// The setup from here on.
    pub setup: Setup,
    /// The groups shot in it, by id.
    pub groups: Vec<ThingId>,
    /// Arrows shot in it.
    pub arrows: usize,
}

/// One setting that a change altered.
#[derive(Debug, Clone, PartialEq)]
pub struct Altered {
    /// Which setting.
    pub setting: String,
    /// What it was before; unknown when it was never noted.
    pub before: Option<Value>,
    /// What it is now.
    pub after: Value,
}

/// A bow's changes and groups in order.
#[derive(Debug, Clone)]
pub struct Timeline {
    /// The bow.
    pub bow: ThingId,
    /// What happened, in order.
    pub items: Vec<Item>,
    /// Arrows that were shot without being placed, in order; they are none of the items.
    pub practice: Vec<Practiced>,
    /// Records of the bow that have no place, so that none is lost sight of.
    pub unplaced: Vec<Unplaced>,
}

impl Timeline {
    /// Reads the timeline of a bow; retired records are left out.
    pub fn read<S: Store>(store: &S, bow: ThingId) -> Result<Self, S::Error> {
        let mut timeline = Self::changes_only(store, bow)?;
        store.visit("group", Some(bow), &mut |thing| {
            let place = |g: Group| (!g.retired).then(|| (g.at.clone(), What::Group(Box::new(g))));
            timeline.place_item(thing, kind::read::<Group>(thing).map(place));
        })?;
        timeline.read_practice(store)?;
        timeline.items.sort_by_key(|item| (item.at.unix_ms(), item.stamp));
        Ok(timeline)
    }

    /// Reads the changes of a bow alone.
    ///
    /// # Errors
    /// Those of the store.
    pub fn changes_only<S: Store>(store: &S, bow: ThingId) -> Result<Self, S::Error> {
        let mut timeline = Self { bow, items: Vec::new(), practice: Vec::new(), unplaced: Vec::new() };
        store.visit("change", Some(bow), &mut |thing| {
            let place = |c: Change| (!c.retired).then(|| (c.at.clone(), What::Change(c)));
            timeline.place_item(thing, kind::read::<Change>(thing).map(place));
        })?;
        timeline.items.sort_by_key(|item| (item.at.unix_ms(), item.stamp));
        Ok(timeline)
    }

    /// Reads the changes of every bow: all that it takes to say where parts were.
    ///
    /// # Errors
    /// Those of the store.
    pub fn changes_of_all<S: Store>(store: &S) -> Result<Vec<Self>, S::Error> {
        let mut bows = Vec::new();
        store.visit("bow", None, &mut |thing| bows.push(thing.id))?;
        bows.into_iter().map(|bow| Self::changes_only(store, bow)).collect()
    }

    fn place_item(&mut self, thing: &Thing, read: Result<Option<(Option<String>, What)>, ModelError>) {
        if let Some((at, stamp, what)) = self.place(thing, read) {
            self.items.push(Item { id: thing.id, at, stamp, what });
        }
    }

    /// Returns a record with its moment and its stamp; one that has no place is told of among the unplaced.
    fn place<T>(
        &mut self,
        thing: &Thing,
        read: Result<Option<(Option<String>, T)>, ModelError>,
    ) -> Option<(Moment, Stamp, T)> {
        let placed = read.and_then(|found| {
            let Some((at, what)) = found else { return Ok(None) };
            let at =
                at.ok_or_else(|| ModelError::new("missing_field", "it does not say when it happened"))?;
            Ok(Some((Moment::read(&at)?, what)))
        });
        match (placed, thing.born()) {
            (Ok(Some((at, what))), Some(stamp)) => return Some((at, stamp, what)),
            (Ok(_), _) => {}
            (Err(e), _) => {
                self.unplaced.push(Unplaced { id: thing.id, kind: thing.kind.clone(), why: e.message });
            }
        }
        None
    }

    /// Returns the changes in order.
    pub fn changes(&self) -> impl Iterator<Item = (&Item, &Change)> {
        self.items.iter().filter_map(|item| match &item.what {
            What::Change(change) => Some((item, change)),
            What::Group(_) => None,
        })
    }

    /// Returns the groups in order.
    pub fn groups(&self) -> impl Iterator<Item = (&Item, &Group)> {
        self.items.iter().filter_map(|item| match &item.what {
            What::Group(group) => Some((item, &**group)),
            What::Change(_) => None,
        })
    }

    /// Returns the setup after every change up to and including a moment.
    pub fn setup_at(&self, unix_ms: i64) -> Setup {
        let mut setup = Setup::new();
        for (item, change) in self.changes().take_while(|(item, _)| item.at.unix_ms() <= unix_ms) {
            apply(&mut setup, item, change);
        }
        setup
    }

    /// Returns the setup as it is after the last change.
    pub fn setup_now(&self) -> Setup {
        self.setup_at(i64::MAX)
    }

    /// Returns the setup that a group was shot with: the fold of the changes before it.
    pub fn setup_of(&self, group: ThingId) -> Option<Setup> {
        let end = self.items.iter().position(|item| item.id == group)?;
        let mut setup = Setup::new();
        for item in &self.items[..end] {
            if let What::Change(change) = &item.what {
                apply(&mut setup, item, change);
            }
        }
        Some(setup)
    }

    /// Returns the stretches between the changes, the one before the first change included.
    pub fn stretches(&self) -> Vec<Stretch> {
        let first = Stretch {
            change: None,
            at: None,
            altered: Vec::new(),
            setup: Setup::new(),
            groups: Vec::new(),
            arrows: 0,
        };
        let mut stretches = vec![first];
        for item in &self.items {
            let last = stretches.last_mut().expect("there is always the first stretch");
            match &item.what {
                What::Group(group) => {
                    last.groups.push(item.id);
                    last.arrows += group.points_mm.as_ref().map_or(0, Vec::len);
                }
                What::Change(change) => {
                    let mut setup = last.setup.clone();
                    let altered = apply(&mut setup, item, change);
                    let (change, at) = (Some(item.id), Some(item.at));
                    stretches.push(Stretch { change, at, altered, setup, groups: Vec::new(), arrows: 0 });
                }
            }
        }
        stretches
    }

    /// Returns who has shot the bow.
    pub fn archers(&self) -> Vec<Option<ThingId>> {
        let mut archers: Vec<Option<ThingId>> = self.groups().map(|(_, group)| group.archer).collect();
        archers.sort();
        archers.dedup();
        archers
    }
}

fn apply(setup: &mut Setup, item: &Item, change: &Change) -> Vec<Altered> {
    let mut altered = Vec::new();
    for (setting, value) in change.settings() {
        let set = Set { value: value.clone(), change: item.id, at: item.at };
        let before = setup.insert(setting.to_owned(), set).map(|s| s.value);
        altered.push(Altered { setting: setting.to_owned(), before, after: value.clone() });
    }
    altered
}
