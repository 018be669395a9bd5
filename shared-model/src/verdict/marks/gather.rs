//! Which marks belong together: same archer, arrows and way of aiming, and the same of what moves marks on the bow.

use super::Known;
use crate::{
    id::ThingId,
    kind::{self, Mark, same_value},
    moment::Moment,
    replica::Store,
    stats::marks::{MOST, MarkedOn, Reading},
    timeline::Altered,
    verdict::bow_sheet::moves_marks,
};
use serde_json::Value;
use std::collections::BTreeMap;

/// What moves marks, setting by setting.
pub(super) type Moving = BTreeMap<String, Value>;

/// A mark of the records, with what was on the bow.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Found {
    pub id: ThingId,
    pub at: Option<Moment>,
    pub archer: Option<ThingId>,
    pub arrows: Option<ThingId>,
    pub what: MarkedOn,
    pub distance_m: f64,
    pub reading: f64,
    /// What was on the bow; none where nobody knows when it was found.
    pub setup: Option<Moving>,
}

/// Marks that belong together, and those before them that do no longer.
#[derive(Debug, Clone, PartialEq)]
pub(super) struct Family {
    pub archer: Option<ThingId>,
    pub arrows: Option<ThingId>,
    pub what: MarkedOn,
    pub setup: Option<Moving>,
    /// In order of time.
    pub marks: Vec<Found>,
    /// Marks of another setup, in order of time.
    pub older: Vec<Found>,
}

impl Found {
    /// Returns whether it was found with the same of everything.
    pub fn belongs_with(&self, other: &Self) -> bool {
        (self.archer, self.arrows, self.what) == (other.archer, other.arrows, other.what)
            && same_setup(self.setup.as_ref(), other.setup.as_ref())
    }

    fn ms(&self) -> i64 {
        self.at.map_or(i64::MIN, |at| at.unix_ms())
    }
}

impl Family {
    /// Returns when its last mark was found.
    pub fn latest_ms(&self) -> i64 {
        self.marks.iter().map(Found::ms).max().unwrap_or(i64::MIN).max(-i64::MAX)
    }

    /// Returns the newest marks, as many as one question takes.
    pub fn counted(&self) -> &[Found] {
        &self.marks[self.marks.len().saturating_sub(MOST)..]
    }

    pub fn readings(&self) -> Vec<Reading> {
        let one = |m: &Found| Reading { distance_m: m.distance_m, reading: m.reading };
        self.counted().iter().map(one).collect()
    }
}

/// Returns whether two setups are one in everything that moves marks.
pub(super) fn same_setup(a: Option<&Moving>, b: Option<&Moving>) -> bool {
    match (a, b) {
        (None, None) => true,
        (Some(a), Some(b)) => {
            a.len() == b.len() && a.iter().all(|(name, v)| b.get(name).is_some_and(|w| same_value(v, w)))
        }
        _ => false,
    }
}

/// Returns what of a setup is otherwise in a later one; what the later one does not know is left out.
pub(super) fn differing(before: &Moving, after: &Moving) -> Vec<Altered> {
    let other = |(name, after): (&String, &Value)| {
        let before = before.get(name)?.clone();
        let differs = !same_value(&before, after);
        differs.then(|| Altered { setting: name.clone(), before: Some(before), after: after.clone() })
    };
    after.iter().filter_map(other).collect()
}

/// Returns the latest family of each archer, arrow set and way of aiming.
pub(super) fn families(found: &[Found]) -> Vec<Family> {
    type Key = (Option<ThingId>, Option<ThingId>, MarkedOn);
    let mut by: BTreeMap<Key, Vec<Found>> = BTreeMap::new();
    for mark in found {
        by.entry((mark.archer, mark.arrows, mark.what)).or_default().push(mark.clone());
    }
    let family = |((archer, arrows, what), mut marks): (Key, Vec<Found>)| {
        marks.sort_by_key(Found::ms);
        let setup = marks.last()?.setup.clone();
        let (marks, older) = marks.into_iter().partition(|m| same_setup(m.setup.as_ref(), setup.as_ref()));
        Some(Family { archer, arrows, what, setup, marks, older })
    };
    by.into_iter().filter_map(family).collect()
}

impl<S: Store> Known<'_, S> {
    /// Returns every mark of the bow that is in use and can be read.
    pub fn found(&self) -> Result<Vec<Found>, S::Error> {
        let mut found = Vec::new();
        self.store.visit("mark", Some(self.bow), &mut |thing| {
            let Ok(mark) = kind::read::<Mark>(thing) else { return };
            let Some(what) = MarkedOn::named(mark.what.as_deref()).filter(|_| !mark.retired) else { return };
            let reading = match what {
                MarkedOn::Sight => mark.sight_mark,
                MarkedOn::Crawl => mark.crawl_mm,
                MarkedOn::Gap => mark.gap_mm,
            };
            let (Some(distance_m), Some(reading)) = (mark.distance_m, reading) else { return };
            let [least, most] = what.range();
            if !(kind::DISTANCES_M.contains(&distance_m) && (least..=most).contains(&reading)) {
                return;
            }
            let at = mark.at.as_deref().and_then(|at| Moment::read(at).ok());
            let (archer, arrows) = (mark.archer, mark.arrows);
            found.push(Found { id: thing.id, at, archer, arrows, what, distance_m, reading, setup: None });
        })?;
        Ok(found.into_iter().map(|mark| self.placed(mark)).collect())
    }

    /// Returns a mark with what was on the bow when it was found, its arrows among it.
    pub fn placed(&self, mut mark: Found) -> Found {
        let Some(at) = mark.at else { return mark };
        let mut setup = self.moving(mark.what, at.unix_ms());
        let on_it = setup.remove("arrows").and_then(|v| v.as_str().and_then(|id| id.parse().ok()));
        mark.arrows = mark.arrows.or(on_it);
        mark.setup = Some(setup);
        mark
    }

    /// Returns everything that moves marks as it is now.
    pub fn now(&self) -> Moving {
        self.moving(MarkedOn::Sight, i64::MAX)
    }

    /// Returns what moves marks as it was at a moment; what was noted later for the first time was so before.
    pub fn moving(&self, what: MarkedOn, unix_ms: i64) -> Moving {
        let mut moving = Moving::new();
        for stretch in &self.stretches {
            let past = stretch.at.is_none_or(|at| at.unix_ms() <= unix_ms);
            for altered in stretch.altered.iter().filter(|a| moves(what, &a.setting)) {
                if past || !moving.contains_key(&altered.setting) {
                    moving.insert(altered.setting.clone(), altered.after.clone());
                }
            }
        }
        moving
    }
}

/// Returns whether a setting moves marks of a kind: a sight those of a sight alone, a tab those that fingers set.
pub(super) fn moves(what: MarkedOn, setting: &str) -> bool {
    match setting {
        "sight" => what == MarkedOn::Sight,
        "tab" => what == MarkedOn::Crawl,
        other => moves_marks(other),
    }
}
