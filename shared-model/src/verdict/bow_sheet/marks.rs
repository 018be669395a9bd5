//! Sight marks by distance, with what was altered since they were found.

use super::Known;
use crate::{
    id::ThingId,
    kind::{self, Mark},
    moment::Moment,
    named::name_of,
    replica::Store,
    rig::speed::alters_speed,
    stats::marks::MarkedOn,
    timeline::SeasonChange,
    verdict::{altered::changed, bow::day_words, units::trimmed},
};
use serde::Serialize;
use std::collections::BTreeMap;

/// Returns whether a setting alters how fast an arrow leaves or where the sight sits: with it a mark may no longer hold
/// (common practice, no source).
pub(in crate::verdict) fn moves_marks(setting: &str) -> bool {
    alters_speed(setting) || matches!(setting, "nocking_point_mm" | "sight")
}

/// A sight mark.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MarkRow {
    /// Which record.
    pub id: ThingId,
    /// Distance in m.
    pub distance_m: f64,
    /// The distance, in words.
    pub distance_words: String,
    /// The reading: on the sight's own scale, or crawl or gap with their unit.
    pub mark: String,
    /// When it was found; none where that is not noted.
    pub day: Option<String>,
    /// Whose mark it is; none where that is not noted.
    pub archer: Option<String>,
    /// What was altered since that may have moved it.
    pub since: Option<String>,
}

impl<S: Store> Known<'_, S> {
    /// Returns the latest mark of every archer and distance, the nearest first.
    pub(super) fn marks(&self) -> Result<Vec<MarkRow>, S::Error> {
        let mut latest: BTreeMap<(Option<ThingId>, MarkedOn, u64), (i64, MarkRow)> = BTreeMap::new();
        self.store.visit("mark", Some(self.bow), &mut |thing| {
            let Ok(mark) = kind::read::<Mark>(thing) else { return };
            let (Some(distance_m), Some((what, reading)), false) =
                (mark.distance_m, self.reading(&mark), mark.retired)
            else {
                return;
            };
            let at = mark.at.as_deref().and_then(|at| Moment::read(at).ok());
            let order = at.map_or(i64::MIN, |at| at.unix_ms());
            let row = MarkRow {
                id: thing.id,
                distance_m,
                distance_words: self.units.distance(distance_m),
                mark: reading,
                day: at.map(|at| day_words(&at.day())),
                archer: mark.archer.map(|id| name_of(&self.names, id)),
                since: at.and_then(|at| self.moved_since(at)),
            };
            let key = (mark.archer, what, distance_m.to_bits());
            if latest.get(&key).is_none_or(|(known, _)| *known <= order) {
                latest.insert(key, (order, row));
            }
        })?;
        let mut rows: Vec<MarkRow> = latest.into_values().map(|(_, row)| row).collect();
        rows.sort_by(|a, b| a.distance_m.total_cmp(&b.distance_m).then_with(|| a.archer.cmp(&b.archer)));
        Ok(rows)
    }

    /// Returns what a mark was read on, and the reading in words.
    fn reading(&self, mark: &Mark) -> Option<(MarkedOn, String)> {
        let what = MarkedOn::named(mark.what.as_deref())?;
        let words = match what {
            MarkedOn::Sight => trimmed(mark.sight_mark?, 3),
            MarkedOn::Crawl => format!("crawl {}", self.units.length(mark.crawl_mm?)),
            MarkedOn::Gap => format!("gap {}", self.units.length(mark.gap_mm?)),
        };
        Some((what, words))
    }

    /// Returns what was altered after a moment that may have moved a mark.
    fn moved_since(&self, at: Moment) -> Option<String> {
        let mut later: Vec<SeasonChange> = Vec::new();
        for stretch in self.stretches.iter().filter(|s| s.at.is_some_and(|s| s.unix_ms() > at.unix_ms())) {
            let mut altered = stretch.altered.clone();
            // What was noted for the first time may have been so before.
            altered.retain(|a| moves_marks(&a.setting) && a.before.is_some());
            if let Some(at) = stretch.at {
                later.push(SeasonChange { id: String::new(), at, altered });
            }
        }
        let later: Vec<&SeasonChange> = later.iter().collect();
        (!crate::timeline::net(&later).is_empty())
            .then(|| format!("since then {}", changed(&later, &|id| self.names.get(&id).cloned())))
    }
}
