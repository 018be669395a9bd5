//! From groups and changes to ends, stretches, sight epochs and sessions.

use std::collections::{BTreeMap, BTreeSet};

use jiff::Timestamp;

use super::input::{EffectsInput, Group};
use crate::{ModelError, stats::spread_steps::EndScatter};

/// An end, its points pooled about one mean; it lies in one stretch and one epoch.
#[derive(Debug, Clone)]
pub(in crate::stats) struct End {
    pub session: usize,
    pub segment: usize,
    pub epoch: usize,
    pub arrows: usize,
    pub mean: [f64; 2],
    /// Sums of squares about the mean.
    pub ss: [f64; 2],
}

impl End {
    /// Returns the scatter of its arrows about their mean.
    pub fn scatter(&self) -> EndScatter {
        EndScatter {
            ss: self.ss[0] + self.ss[1],
            df: 2.0 * (self.arrows as f64 - 1.0),
            segment: self.segment,
            session: self.session,
        }
    }
}

/// How much was shot in a stretch.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Count {
    pub ends: usize,
    pub arrows: usize,
    pub flyers: usize,
}

/// A moment of change: the changes with no group between them.
#[derive(Debug, Clone)]
pub(super) struct Step {
    /// Places in the input's list of changes, in the order of time.
    pub changes: Vec<usize>,
    /// The stretches before and after; `None` where nothing was shot on that side.
    pub before: Option<usize>,
    pub after: Option<usize>,
}

/// A season ready to be fitted.
#[derive(Debug, Clone)]
pub(super) struct Season {
    pub ends: Vec<End>,
    pub segments: usize,
    pub sessions: usize,
    /// The label of each epoch as it is shown.
    pub epochs: Vec<String>,
    pub counts: Vec<Count>,
    pub steps: Vec<Step>,
    /// The distance with the most arrows.
    pub distance_m: f64,
    pub notes: Vec<String>,
}

/// Checks the input and sorts it into ends, stretches, epochs and sessions.
pub(super) fn season(input: &EffectsInput) -> Result<Season, ModelError> {
    let changes = sorted_changes(input)?;
    let moments: Vec<Timestamp> = changes.iter().map(|(at, _)| *at).collect();
    let mut shot = Vec::with_capacity(input.groups.len());
    for (i, group) in input.groups.iter().enumerate() {
        let at = group.at.instant();
        shot.push(Shot { slot: moments.partition_point(|m| *m <= at), flyers: check_group(group, i)? });
    }
    let fitted = |i: usize| shot[i].flyers.len() < input.groups[i].points_mm.len();
    let slots: BTreeSet<usize> = (0..shot.len()).filter(|i| fitted(*i)).map(|i| shot[i].slot).collect();
    if slots.is_empty() {
        return Err(ModelError::new(
            "no_groups",
            "there is no arrow to judge by: give at least one group with an arrow that is no flyer",
        )
        .at("groups"));
    }
    let slots: Vec<usize> = slots.into_iter().collect();
    let arrows_at = input.groups.iter().map(|group| (group.distance_m, group.points_mm.len()));
    let mut season = Season {
        ends: Vec::new(),
        segments: slots.len(),
        sessions: 0,
        epochs: Vec::new(),
        counts: vec![Count::default(); slots.len()],
        steps: steps(&slots, &changes),
        distance_m: distance_with_most_arrows(arrows_at).unwrap_or(1.0),
        notes: Vec::new(),
    };
    pool(input, &shot, &slots, &mut season);
    Ok(season)
}

/// A group's place among the changes.
struct Shot {
    /// How many changes came before it.
    slot: usize,
    flyers: BTreeSet<usize>,
}

fn sorted_changes(input: &EffectsInput) -> Result<Vec<(Timestamp, usize)>, ModelError> {
    let mut seen = BTreeMap::new();
    let mut changes = Vec::with_capacity(input.changes.len());
    for (i, change) in input.changes.iter().enumerate() {
        if let Some(first) = seen.insert(change.id.as_str(), i) {
            let message = format!(
                "the changes {first} and {i} have the same id '{}'; give every change an id of its own",
                change.id
            );
            return Err(ModelError::new("duplicate_id", message).at(format!("changes[{i}].id")));
        }
        changes.push((change.at.instant(), i));
    }
    for (i, id) in input.judge.iter().flatten().enumerate() {
        if !seen.contains_key(id.as_str()) {
            let known: Vec<&str> = seen.keys().take(10).copied().collect();
            let message = format!("there is no change '{id}' to judge; the changes are {}", known.join(", "));
            return Err(ModelError::new("unknown_change", message).at(format!("judge[{i}]")));
        }
    }
    changes.sort();
    Ok(changes)
}

/// Checks a group's numbers and returns its flyers, each once.
pub(in crate::stats) fn check_group(group: &Group, i: usize) -> Result<BTreeSet<usize>, ModelError> {
    let wrong = |field: String, message: String| {
        Err(ModelError::new("out_of_range", message).at(format!("groups[{i}].{field}")))
    };
    if !(group.distance_m.is_finite() && group.distance_m > 0.0) {
        let message = format!("the distance of group {i} is {} m; it has to be above 0", group.distance_m);
        return wrong("distance_m".into(), message);
    }
    for (j, point) in group.points_mm.iter().enumerate() {
        if !(point[0].is_finite() && point[1].is_finite()) {
            let message = format!("arrow {j} of group {i} is no finite point; leave it out or mend it");
            return wrong(format!("points_mm[{j}]"), message);
        }
    }
    if let Some(offset) = group.sight_offset_mrad.filter(|o| !(o[0].is_finite() && o[1].is_finite())) {
        let message = format!("the sight offset of group {i} is {offset:?}; give two finite numbers in mrad");
        return wrong("sight_offset_mrad".into(), message);
    }
    let arrows = group.points_mm.len();
    for (j, flyer) in group.flyers.iter().enumerate() {
        if *flyer >= arrows {
            let message =
                format!("flyer {flyer} of group {i} is no arrow of it: it has {arrows}, counted from 0");
            return wrong(format!("flyers[{j}]"), message);
        }
    }
    Ok(group.flyers.iter().copied().collect())
}

/// Makes one step of the changes between neighbouring stretches.
fn steps(slots: &[usize], changes: &[(Timestamp, usize)]) -> Vec<Step> {
    let mut steps = Vec::new();
    let mut add = |range: std::ops::Range<usize>, before, after| {
        if !range.is_empty() {
            let changes = changes[range].iter().map(|(_, i)| *i).collect();
            steps.push(Step { changes, before, after });
        }
    };
    add(0..slots[0], None, Some(0));
    for (k, pair) in slots.windows(2).enumerate() {
        add(pair[0]..pair[1], Some(k), Some(k + 1));
    }
    let last = slots.len() - 1;
    add(slots[last]..changes.len(), Some(last), None);
    steps
}

/// Returns the distance at which most arrows were shot, the shortest of several, from distances above 0 with
/// their numbers of arrows.
pub(crate) fn distance_with_most_arrows(shot: impl Iterator<Item = (f64, usize)>) -> Option<f64> {
    let mut arrows: BTreeMap<u64, usize> = BTreeMap::new();
    for (distance_m, n) in shot {
        // Above zero the order of the bits is the order of the numbers.
        *arrows.entry(distance_m.to_bits()).or_default() += n;
    }
    let most = arrows.iter().max_by_key(|(distance, n)| (**n, std::cmp::Reverse(**distance)));
    most.map(|(distance, _)| f64::from_bits(*distance))
}

/// Pools the groups into ends and counts what was shot.
fn pool(input: &EffectsInput, shot: &[Shot], slots: &[usize], season: &mut Season) {
    let mut sessions = Names::default();
    let mut epochs = Names::default();
    let mut places: BTreeMap<(usize, EndName, usize, usize), usize> = BTreeMap::new();
    for (i, (group, shot)) in input.groups.iter().zip(shot).enumerate() {
        // Flyers alone between two changes leave no stretch of their own; they count for the one before.
        let segment = slots.partition_point(|s| *s <= shot.slot).saturating_sub(1);
        let count = &mut season.counts[segment];
        count.arrows += group.points_mm.len();
        count.flyers += shot.flyers.len();
        if shot.flyers.len() == group.points_mm.len() {
            continue;
        }
        let session = sessions.place(&session_name(group));
        let epoch = epochs.place(&epoch_name(group));
        let name = group.end.as_deref().map_or(EndName::Group(i), EndName::Label);
        let at = *places.entry((session, name, segment, epoch)).or_insert_with(|| {
            season.ends.push(End { session, segment, epoch, arrows: 0, mean: [0.0; 2], ss: [0.0; 2] });
            count.ends += 1;
            season.ends.len() - 1
        });
        add_points(&mut season.ends[at], group, &shot.flyers);
    }
    season.sessions = sessions.known.len();
    season.epochs = epochs.in_order();
    let mut whole: Vec<(usize, EndName)> = places.keys().map(|(s, e, _, _)| (*s, *e)).collect();
    whole.dedup();
    if whole.len() < places.len() {
        season.notes.push(format!(
            "{} ends have arrows on both sides of a change or a sight move; each side counts as an end",
            places.len() - whole.len()
        ));
    }
}

/// Returns the session's label: the day where none was given.
pub(in crate::stats) fn session_name(group: &Group) -> String {
    group.session.clone().unwrap_or_else(|| group.at.day())
}

/// What an end goes by within its session.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(in crate::stats) enum EndName<'a> {
    Label(&'a str),
    Group(usize),
}

/// Names in the order of their first appearance.
#[derive(Default)]
pub(in crate::stats) struct Names {
    known: BTreeMap<String, usize>,
}

impl Names {
    pub fn place(&mut self, name: &str) -> usize {
        if let Some(place) = self.known.get(name) {
            return *place;
        }
        let next = self.known.len();
        self.known.insert(name.to_owned(), next);
        next
    }

    pub fn in_order(self) -> Vec<String> {
        let mut names: Vec<(usize, String)> = self.known.into_iter().map(|(name, i)| (i, name)).collect();
        names.sort();
        names.into_iter().map(|(_, name)| name).collect()
    }
}

pub(in crate::stats) fn epoch_name(group: &Group) -> String {
    match (&group.sight_offset_mrad, &group.sight) {
        (Some(_), _) => "sight with a known offset".into(),
        (None, Some(label)) => format!("sight {label}"),
        (None, None) => "sight not noted".into(),
    }
}

/// Adds a group's arrows in mrad, less where the sight pointed (Welford's updating).
pub(in crate::stats) fn add_points(end: &mut End, group: &Group, flyers: &BTreeSet<usize>) {
    let zero = group.sight_offset_mrad.unwrap_or([0.0; 2]);
    for (i, point) in group.points_mm.iter().enumerate() {
        if flyers.contains(&i) {
            continue;
        }
        end.arrows += 1;
        for axis in 0..2 {
            let value = point[axis] / group.distance_m - zero[axis];
            let off = value - end.mean[axis];
            end.mean[axis] += off / end.arrows as f64;
            end.ss[axis] += off * (value - end.mean[axis]);
        }
    }
}
