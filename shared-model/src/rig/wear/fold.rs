//! What happened to all bows, walked through in order, with what was on each.

use super::{Wear, Worn};
use crate::{
    id::ThingId,
    kind::Change,
    log::Stamp,
    moment::Moment,
    timeline::{Timeline, What},
};
use std::collections::{BTreeMap, BTreeSet};

/// Something that happened with a bow.
enum Event<'a> {
    Change(ThingId, &'a Change),
    Shot(Shot),
}

/// Arrows that left a bow together.
#[derive(Clone, Copy)]
struct Shot {
    arrows: u64,
    placed: bool,
    archer: Option<ThingId>,
    set: Option<ThingId>,
}

/// Its order: when, then when that was recorded, then the bow.
type Place = (i64, Stamp, ThingId);

pub(super) fn fold(bows: &[Timeline], without: Option<ThingId>) -> BTreeMap<Worn, Wear> {
    let mut events = Vec::new();
    for bow in bows {
        events.extend(events_of(bow, without));
    }
    events.sort_by_key(|(place, ..)| *place);
    let mut walk = Walk::default();
    walk.shooters.extend(events.iter().filter_map(|(.., event)| match event {
        Event::Shot(shot) => shot.archer,
        Event::Change(..) => None,
    }));
    for ((.., bow), at, event) in events {
        match event {
            Event::Change(id, change) => walk.change(bow, at, id, change),
            Event::Shot(shot) => walk.shot(bow, at, shot),
        }
    }
    walk.found
}

fn events_of(bow: &Timeline, without: Option<ThingId>) -> Vec<(Place, Moment, Event<'_>)> {
    let items = bow.items.iter().filter(|item| Some(item.id) != without).map(|item| {
        let event = match &item.what {
            What::Change(change) => Event::Change(item.id, change),
            What::Group(group) => Event::Shot(Shot {
                arrows: group.points_mm.as_ref().map_or(0, Vec::len) as u64,
                placed: true,
                archer: group.archer,
                set: group.arrows,
            }),
        };
        ((item.at.unix_ms(), item.stamp, bow.bow), item.at, event)
    });
    let counts = bow.practice.iter().filter(|count| Some(count.id) != without).map(|count| {
        let (archer, set) = (count.practice.archer, count.practice.arrows);
        let shot = Shot { arrows: u64::from(count.arrows), placed: false, archer, set };
        ((count.at.unix_ms(), count.stamp, bow.bow), count.at, Event::Shot(shot))
    });
    items.chain(counts).collect()
}

/// What is known so far.
#[derive(Default)]
struct Walk {
    found: BTreeMap<Worn, Wear>,
    /// What each bow's setup names, setting by setting.
    setups: BTreeMap<ThingId, BTreeMap<String, Worn>>,
    /// The serving of each string.
    served: BTreeMap<Worn, (Worn, Option<ThingId>)>,
    /// Everybody who shoots.
    shooters: BTreeSet<ThingId>,
    /// Who noted the tab of a bow.
    noted_tab: BTreeMap<ThingId, Option<ThingId>>,
    /// The tab that a person noted on a bow, and the one noted last on any.
    tabs: BTreeMap<(ThingId, ThingId), Worn>,
    hands: BTreeMap<ThingId, Worn>,
    /// The tab that counted for a person on a bow where the person noted none.
    taken_along: BTreeMap<(ThingId, ThingId), Worn>,
}

impl Walk {
    fn change(&mut self, bow: ThingId, at: Moment, id: ThingId, change: &Change) {
        // A string comes before the serving on it.
        let mut settings: Vec<_> = change.settings().collect();
        settings.sort_by_key(|(setting, _)| *setting != "string");
        for (setting, value) in settings {
            let Some(worn) = Worn::of(bow, setting, value, id) else { continue };
            if setting == "string" {
                self.restring(bow, &worn);
            }
            if setting == "tab" {
                self.take_in_hand(bow, change.by, &worn);
            }
            self.fit(bow, at, setting, worn.clone(), Some(id));
            if let Some(string) = self.on(bow, "string").filter(|_| setting == "serving") {
                self.served.insert(string, (worn, Some(id)));
            }
        }
    }

    /// Notes that a setting of a bow names something.
    fn fit(&mut self, bow: ThingId, at: Moment, setting: &str, worn: Worn, change: Option<ThingId>) {
        self.take_off(bow, setting);
        let wear = self.seen(&worn, at, setting);
        wear.on = Some(bow);
        setting.clone_into(&mut wear.setting);
        wear.fitted.insert(bow, change);
        self.setups.entry(bow).or_default().insert(setting.to_owned(), worn);
    }

    fn take_off(&mut self, bow: ThingId, setting: &str) -> Option<(Worn, Option<ThingId>)> {
        let worn = self.setups.get_mut(&bow)?.remove(setting)?;
        let change = self.found.get_mut(&worn).and_then(|wear| wear.fitted.remove(&bow)).flatten();
        Some((worn, change))
    }

    fn on(&self, bow: ThingId, setting: &str) -> Option<Worn> {
        self.setups.get(&bow)?.get(setting).cloned()
    }

    /// Notes whose hand a tab is on: what others noted on the same bow stays on their hands.
    fn take_in_hand(&mut self, bow: ThingId, by: Option<ThingId>, tab: &Worn) {
        let before = self.noted_tab.insert(bow, by).flatten();
        if before.is_some() && before != by {
            self.setups.entry(bow).or_default().remove("tab");
        }
        let Some(by) = by else { return };
        self.hands.insert(by, tab.clone());
        let own = self.tabs.insert((bow, by), tab.clone());
        let others = self.taken_along.remove(&(bow, by));
        for old in own.into_iter().chain(others).filter(|old| old != tab) {
            if let Some(wear) = self.found.get_mut(&old) {
                wear.fitted.remove(&bow);
            }
        }
    }

    /// Takes the serving off with the old string, and puts the one of the new string on.
    fn restring(&mut self, bow: ThingId, new: &Worn) {
        let old = self.on(bow, "string");
        if old.as_ref() == Some(new) {
            return;
        }
        let own = self.served.get(new).cloned();
        if let Some(old) = old {
            if let Some((serving, change)) = self.take_off(bow, "serving")
                && self.found.get(&serving).is_some_and(|wear| wear.on == Some(bow))
            {
                self.served.insert(old, (serving, change));
            }
        } else if own.is_none() {
            // The first string that is noted is the one that was there, with the serving noted before.
            if let Some(serving) = self.on(bow, "serving") {
                let change = self.found.get(&serving).and_then(|wear| wear.fitted.get(&bow).copied());
                self.served.insert(new.clone(), (serving, change.flatten()));
            }
        }
        if let Some((serving, change)) = own {
            let since = self.found.get(&serving).map(|wear| wear.since);
            if let Some(since) = since {
                self.fit(bow, since, "serving", serving, change);
            }
        }
    }

    fn shot(&mut self, bow: ThingId, at: Moment, shot: Shot) {
        let tab = self.tab(bow, at, shot.archer);
        let setup = self.setups.get(&bow);
        let named = shot.set.map(Worn::Thing);
        let set = named.or_else(|| setup?.get("arrows").cloned());
        let parts =
            setup.into_iter().flatten().filter(|(setting, _)| *setting != "arrows" && *setting != "tab");
        let here = |worn: &&Worn| self.found.get(worn).is_some_and(|wear| wear.on == Some(bow));
        let parts = parts.map(|(_, worn)| worn).filter(here).cloned();
        let all: BTreeSet<Worn> = parts.chain(set).chain(tab).collect();
        for worn in all {
            let wear = self.seen(&worn, at, "arrows");
            let counted = if shot.placed { &mut wear.placed } else { &mut wear.practice };
            *counted = counted.saturating_add(shot.arrows);
            wear.bows.insert(bow);
        }
    }

    /// Returns the tab in the hand that shot.
    fn tab(&mut self, bow: ThingId, at: Moment, archer: Option<ThingId>) -> Option<Worn> {
        let on_bow = self.on(bow, "tab");
        let Some(archer) = archer else { return on_bow };
        if let Some(own) = self.tabs.get(&(bow, archer)) {
            return Some(own.clone());
        }
        let Some(hand) = self.hands.get(&archer).cloned() else {
            // A tab of somebody else's hand wears in that hand alone.
            let whose = self.noted_tab.get(&bow).copied().flatten();
            return on_bow.filter(|_| whose.is_none_or(|by| !self.shooters.contains(&by)));
        };
        let before = self.taken_along.insert((bow, archer), hand.clone());
        if before.as_ref() != Some(&hand) {
            if let Some(wear) = before.and_then(|before| self.found.get_mut(&before)) {
                wear.fitted.remove(&bow);
            }
            self.seen(&hand, at, "tab").fitted.entry(bow).or_insert(None);
        }
        Some(hand)
    }

    fn seen(&mut self, worn: &Worn, at: Moment, setting: &str) -> &mut Wear {
        self.found.entry(worn.clone()).or_insert_with(|| Wear {
            since: at,
            setting: setting.to_owned(),
            placed: 0,
            practice: 0,
            bows: BTreeSet::new(),
            on: None,
            fitted: BTreeMap::new(),
        })
    }
}
