//! What one archer shot with one bow, made ready for the question which change moved the groups.
//!
//! Two archers have two ways of missing, so their groups are never pooled. Bare shafts, arrows that were
//! not found and retired groups stay out. A sight is set for a distance, so an epoch is one distance with
//! one sight label. When the arrow set of the groups changes without a change that says so, a change of
//! arrows is put in where it happened.

use super::{Altered, Moment, Setup, Timeline, What, apply};
use crate::{id::ThingId, kind::Group, notation::same_distance, stats::effects::distance_with_most_arrows};
use serde_json::Value;
use std::{collections::BTreeMap, sync::Arc};

/// A change as the statistics see it.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonChange {
    /// The change's id, or `arrows-N` for a change of arrows that only the groups tell of.
    pub id: String,
    /// When it was made.
    pub at: Moment,
    /// What it altered.
    pub altered: Vec<Altered>,
}

/// A group as the statistics see it.
#[derive(Debug, Clone, PartialEq)]
pub struct SeasonGroup {
    /// Which record.
    pub id: ThingId,
    /// When it was shot.
    pub at: Moment,
    /// The session: a day, and a name where one was given.
    pub session: String,
    /// The end within the session.
    pub end: String,
    /// Distance in m.
    pub distance_m: f64,
    /// Where the arrows struck, mm from the centre of the face.
    pub points_mm: Vec<[f64; 2]>,
    /// Indices into `points_mm` of flyers by the archer's word.
    pub flyers: Vec<usize>,
    /// Its arrows that were not found, bare shafts not among them.
    pub misses: usize,
    /// The sight's epoch.
    pub sight: String,
    /// Where the sight pointed from a common zero, mrad.
    pub sight_offset_mrad: Option<[f64; 2]>,
    /// The face, as its code or zones in JSON.
    pub face: Option<String>,
    /// The arrow set.
    pub arrows: Option<ThingId>,
    /// The numeric settings in force, where they were ever noted; shared by the groups between two changes.
    pub settings: Arc<BTreeMap<String, f64>>,
}

/// A group of which no arrow was found.
#[derive(Debug, Clone, PartialEq)]
pub struct Missed {
    /// When it was shot.
    pub at: Moment,
    /// As a group's.
    pub session: String,
    /// The sight's epoch.
    pub sight: String,
    /// Its arrows, bare shafts not among them.
    pub misses: usize,
}

/// What one archer shot with one bow, in order.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Season {
    /// The changes, in order; groups and changes of the same moment keep the timeline's order.
    pub changes: Vec<SeasonChange>,
    /// The groups, in order.
    pub groups: Vec<SeasonGroup>,
    /// Groups of which no arrow was found, in order.
    pub missed: Vec<Missed>,
    /// Groups left out because they were shot for a walk-back.
    pub walk_backs: usize,
    /// Arrows left out because they were bare shafts.
    pub bare: usize,
    /// Arrows left out because they were not found.
    pub lost: usize,
    /// Changes left out because those after them, with nothing shot between, put everything back as it was.
    pub undone: usize,
    /// Groups left out because their distance is missing or none.
    pub unusable: Vec<ThingId>,
    /// Groups left out because a part of the bow had gone to another one, and nothing was noted in its place.
    pub without_part: usize,
}

impl Season {
    /// Leaves only the groups of one distance, where one is asked for.
    pub fn keep_distance(&mut self, distance_m: Option<f64>) {
        if let Some(wanted) = distance_m {
            self.groups.retain(|group| same_distance(group.distance_m, wanted));
        }
    }

    /// Leaves out the groups shot after the first and not after the second moment of a span, for each span in ms.
    pub fn leave_out(&mut self, spans: &[[i64; 2]]) {
        let before = self.groups.len();
        let inside = |at: i64| spans.iter().any(|[from, to]| at > *from && at <= *to);
        self.groups.retain(|group| !inside(group.at.unix_ms()));
        self.without_part += before - self.groups.len();
    }

    /// Returns the distances shot from, the nearest first.
    pub fn distances_m(&self) -> Vec<f64> {
        let mut all: Vec<f64> = self.groups.iter().map(|group| group.distance_m).collect();
        all.sort_by(f64::total_cmp);
        all.dedup_by(|a, b| same_distance(*a, *b));
        all
    }

    /// Returns the face on which most arrows were shot at the distance with the most arrows.
    pub fn face(&self) -> Option<&str> {
        let most = distance_with_most_arrows(self.groups.iter().map(|g| (g.distance_m, g.points_mm.len())))?;
        let mut faces: BTreeMap<&str, usize> = BTreeMap::new();
        for group in self.groups.iter().filter(|g| g.distance_m.to_bits() == most.to_bits()) {
            if let Some(face) = &group.face {
                *faces.entry(face).or_default() += group.points_mm.len();
            }
        }
        faces.into_iter().max_by_key(|(_, n)| *n).map(|(face, _)| face)
    }

    /// Returns the arrow set that was shot most.
    pub fn arrows(&self) -> Option<ThingId> {
        let mut sets: BTreeMap<ThingId, usize> = BTreeMap::new();
        for group in &self.groups {
            if let Some(set) = group.arrows {
                *sets.entry(set).or_default() += group.points_mm.len();
            }
        }
        sets.into_iter().max_by_key(|(_, n)| *n).map(|(set, _)| set)
    }
}

impl Timeline {
    /// Returns what an archer shot with the bow.
    pub fn season(&self, archer: Option<ThingId>) -> Season {
        let mut walk = Walk::default();
        for item in &self.items {
            match &item.what {
                What::Change(change) => {
                    let altered = apply(&mut walk.setup, item, change);
                    walk.settings = Arc::new(numeric(&walk.setup));
                    walk.told |= altered.iter().any(|a| a.setting == "arrows");
                    let at = walk.step(item.at, false);
                    walk.season.changes.push(SeasonChange { id: item.id.to_string(), at, altered });
                }
                What::Group(group) if group.archer == archer => walk.group(item.id, item.at, group),
                What::Group(_) => {}
            }
        }
        walk.season.drop_undone();
        walk.season
    }
}

/// Returns what several changes altered taken together: each setting once, and none that is as it was before.
pub fn net(changes: &[&SeasonChange]) -> Vec<Altered> {
    let mut net: Vec<Altered> = Vec::new();
    for altered in changes.iter().flat_map(|c| &c.altered) {
        match net.iter_mut().find(|n| n.setting == altered.setting) {
            Some(known) => known.after = altered.after.clone(),
            None => net.push(altered.clone()),
        }
    }
    net.retain(|a| a.before.as_ref() != Some(&a.after));
    net
}

impl Season {
    /// Leaves out the changes between two groups that together alter nothing: the bow was the same on both sides.
    fn drop_undone(&mut self) {
        let shot_by = |at: Moment| self.groups.partition_point(|g| g.at.unix_ms() < at.unix_ms());
        let mut kept = Vec::with_capacity(self.changes.len());
        for moment in self.changes.chunk_by(|a, b| shot_by(a.at) == shot_by(b.at)) {
            let altering = moment.iter().any(|c| !c.altered.is_empty());
            if altering && net(&moment.iter().collect::<Vec<_>>()).is_empty() {
                self.undone += moment.len();
            } else {
                kept.extend_from_slice(moment);
            }
        }
        self.changes = kept;
    }
}

impl SeasonGroup {
    /// Returns the points that count for mean and spread: all but the flyers.
    pub fn counted_mm(&self) -> Vec<[f64; 2]> {
        let all = self.points_mm.iter().enumerate().filter(|(i, _)| !self.flyers.contains(i));
        all.map(|(_, point)| *point).collect()
    }
}

#[derive(Default)]
struct Walk {
    season: Season,
    setup: Setup,
    /// Its numeric settings.
    settings: Arc<BTreeMap<String, f64>>,
    /// The arrow set of the group before.
    arrows: Option<ThingId>,
    /// Whether a change has named the arrow set since that group.
    told: bool,
    /// The last moment handed out, and whether it was a group's.
    last: Option<(i64, bool)>,
}

impl Walk {
    /// Returns the moment, moved on by milliseconds where a change follows a group of the same moment or
    /// stands before it in the timeline, so that order by time alone is the timeline's order.
    fn step(&mut self, at: Moment, group: bool) -> Moment {
        let mut ms = at.unix_ms();
        if let Some((last, was_group)) = self.last {
            let least = if was_group && !group { last + 1 } else { last };
            ms = ms.max(least);
        }
        self.last = Some((ms, group));
        Moment::new(ms, at.offset_min()).unwrap_or(at)
    }

    fn group(&mut self, id: ThingId, at: Moment, group: &Group) {
        if group.is_walk_back() {
            self.season.walk_backs += 1;
            return;
        }
        let Some(distance_m) = group.distance_m.filter(|d| d.is_finite() && *d > 0.0) else {
            self.season.unusable.push(id);
            return;
        };
        let (points_mm, flyers) = self.points(group);
        let (misses, session) = (misses(group), session(at, group));
        let on = format!("{distance_m} m");
        let sight = group.sight.as_ref().map_or_else(|| on.clone(), |s| format!("{s} at {on}"));
        if points_mm.is_empty() {
            if misses > 0 {
                self.season.missed.push(Missed { at, session, sight, misses });
            }
            return;
        }
        let arrows = group.arrows.or_else(|| as_id(&self.setup.get("arrows")?.value)).or(self.arrows);
        self.note_arrows(at, arrows);
        let at = self.step(at, true);
        self.season.groups.push(SeasonGroup {
            id,
            at,
            session,
            end: group.end.clone().unwrap_or_else(|| id.to_string()),
            distance_m,
            points_mm,
            flyers,
            misses,
            sight,
            sight_offset_mrad: group.sight_offset_mrad.filter(|o| o.iter().all(|v| v.is_finite())),
            face: group.face.as_ref().map(|raw| raw.get().to_owned()),
            arrows,
            settings: Arc::clone(&self.settings),
        });
    }

    fn points(&mut self, group: &Group) -> (Vec<[f64; 2]>, Vec<usize>) {
        let (mut points, mut flyers) = (Vec::new(), Vec::new());
        for (i, point) in group.fletched() {
            if group.is_flyer(i) {
                flyers.push(points.len());
            }
            points.push(point);
        }
        let all = || group.points_mm.iter().flatten();
        let found = all().flatten().count();
        self.season.lost += all().count() - found;
        self.season.bare += found - points.len();
        (points, flyers)
    }

    fn note_arrows(&mut self, at: Moment, arrows: Option<ThingId>) {
        let (before, told) = (self.arrows, std::mem::take(&mut self.told));
        self.arrows = arrows.or(before);
        let (Some(before), Some(after)) = (before, arrows) else { return };
        let said = told && self.setup.get("arrows").and_then(|s| as_id(&s.value)) == Some(after);
        if before == after || said {
            return;
        }
        let at = self.step(at, false);
        let id = format!("arrows-{}", self.season.changes.len() + 1);
        let value = |id: ThingId| Value::String(id.to_string());
        let altered = Altered { setting: "arrows".into(), before: Some(value(before)), after: value(after) };
        self.season.changes.push(SeasonChange { id, at, altered: vec![altered] });
    }
}

fn misses(group: &Group) -> usize {
    let places = group.points_mm.iter().flatten().enumerate();
    places.filter(|(i, point)| point.is_none() && !group.is_bare(*i)).count()
}

fn session(at: Moment, group: &Group) -> String {
    let day = at.day();
    group.session.as_ref().map_or_else(|| day.clone(), |name| format!("{day} {name}"))
}

fn numeric(setup: &Setup) -> BTreeMap<String, f64> {
    let number = |(name, set): (&String, &super::Set)| Some((name.clone(), set.value.as_f64()?));
    setup.iter().filter_map(number).collect()
}

fn as_id(value: &Value) -> Option<ThingId> {
    value.as_str()?.parse().ok()
}

#[cfg(test)]
mod tests;
