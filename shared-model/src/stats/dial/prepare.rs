//! From groups and their settings to ends, states of the bow, sight epochs and sessions.

use std::collections::{BTreeMap, BTreeSet};

use super::input::{DialChange, DialGroup, DialInput};
use crate::ModelError;
use crate::stats::effects::{
    End, EndName, Names, add_points, check_group, distance_with_most_arrows, epoch_name, session_name,
};

/// The largest number that a setting may be.
const LARGEST_SETTING: f64 = 1e6;
/// So many values make a line that can be tested.
pub(super) const LEAST_VALUES: usize = 3;

/// Everything about the bow that the groups tell: what makes ends alike but for sight and session.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord)]
pub(super) struct State {
    /// By setting, the place among its values; `None` where it is not known.
    pub levels: Vec<Option<usize>>,
    /// How many of the steps came before.
    pub slot: usize,
}

/// A numeric setting that took several values.
#[derive(Debug, Clone)]
pub(super) struct Setting {
    pub name: String,
    /// From the lowest.
    pub values: Vec<f64>,
    /// Whether it is held as a line; otherwise each value has a step of its own.
    pub linear: bool,
    /// What it was in the last group.
    pub now: Option<f64>,
}

impl Setting {
    /// Returns a value on the scale from -1 for the lowest to 1 for the highest.
    pub fn scaled(&self, level: usize) -> f64 {
        (self.values[level] - self.middle()) / self.reach()
    }

    /// Returns the value that is 0 on that scale.
    pub fn middle(&self) -> f64 {
        0.5 * (self.values[0] + self.values[self.values.len() - 1])
    }

    /// Returns the units that are 1 on that scale.
    pub fn reach(&self) -> f64 {
        0.5 * (self.values[self.values.len() - 1] - self.values[0])
    }
}

/// How much was shot at a value of the dial.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Count {
    pub arrows: usize,
    pub flyers: usize,
}

/// A season ready to be fitted; the segment of an end is its state.
#[derive(Debug, Clone)]
pub(super) struct Season {
    pub ends: Vec<End>,
    pub states: Vec<State>,
    /// The dial first.
    pub settings: Vec<Setting>,
    pub sessions: usize,
    /// The label of each epoch as it is shown.
    pub epochs: Vec<String>,
    /// The changes of each step.
    pub steps: Vec<Vec<String>>,
    /// By value of the dial.
    pub counts: Vec<Count>,
    pub distance_m: f64,
    pub notes: Vec<String>,
}

/// Checks the input and sorts it into ends, states, epochs and sessions.
pub(super) fn season(input: &DialInput) -> Result<Season, ModelError> {
    let mut shot = Vec::with_capacity(input.groups.len());
    for (i, group) in input.groups.iter().enumerate() {
        let flyers = check_group(&group.group, i)?;
        check_settings(group, i)?;
        if known(group, &input.dial).is_some() && flyers.len() < group.group.points_mm.len() {
            shot.push(Shot { place: i, group, flyers });
        }
    }
    let settings = settings(&input.dial, &shot);
    check_values(&input.dial, &shot, settings.first())?;
    let (steps, slots) = steps(&input.changes, &settings, &shot);
    let arrows = shot.iter().map(|s| (s.group.group.distance_m, s.group.group.points_mm.len()));
    let mut season = Season {
        ends: Vec::new(),
        states: Vec::new(),
        counts: vec![Count::default(); settings[0].values.len()],
        settings,
        sessions: 0,
        epochs: Vec::new(),
        steps,
        distance_m: distance_with_most_arrows(arrows).unwrap_or(1.0),
        notes: Vec::new(),
    };
    pool(&shot, &slots, &mut season);
    let unknown = input.groups.iter().filter(|g| known(g, &input.dial).is_none()).count();
    if unknown > 0 {
        season.notes.push(format!("groups: {unknown} left out, since their {} is not known", input.dial));
    }
    Ok(season)
}

/// A group that is used.
struct Shot<'a> {
    place: usize,
    group: &'a DialGroup,
    flyers: BTreeSet<usize>,
}

fn check_settings(group: &DialGroup, i: usize) -> Result<(), ModelError> {
    for (name, value) in &group.settings {
        if let Some(value) = value.filter(|v| v.is_nan() || v.abs() > LARGEST_SETTING) {
            let message = format!(
                "{name} of group {i} is {value}; a setting is a number within ±{LARGEST_SETTING} of its unit"
            );
            return Err(ModelError::new("out_of_range", message).at(format!("groups[{i}].settings.{name}")));
        }
    }
    Ok(())
}

/// Returns the value of a setting, to a thousandth of its unit as it is shown: sums of parts of a turn meet, and two
/// values that read the same are one.
fn known(group: &DialGroup, name: &str) -> Option<f64> {
    let value = group.settings.get(name).copied().flatten()?;
    Some(libm::round(value * 1e3) / 1e3 + 0.0)
}

/// Returns the settings that took several values, the dial first even where it did not.
fn settings(dial: &str, shot: &[Shot]) -> Vec<Setting> {
    let others: BTreeSet<&str> = shot
        .iter()
        .flat_map(|s| s.group.settings.keys())
        .map(String::as_str)
        .filter(|n| *n != dial)
        .collect();
    let last = shot.iter().max_by_key(|s| s.group.group.at.instant());
    let read = |name: &str| {
        let mut values: Vec<f64> = shot.iter().filter_map(|s| known(s.group, name)).collect();
        values.sort_by(f64::total_cmp);
        values.dedup();
        let everywhere = shot.iter().all(|s| known(s.group, name).is_some());
        Setting {
            name: name.to_owned(),
            linear: everywhere && values.len() >= LEAST_VALUES,
            values,
            now: last.and_then(|s| known(s.group, name)),
        }
    };
    let varied = |s: &Setting| s.values.len() > 1;
    std::iter::once(read(dial)).chain(others.into_iter().map(read).filter(varied)).collect()
}

fn check_values(dial: &str, shot: &[Shot], setting: Option<&Setting>) -> Result<(), ModelError> {
    let values = setting.map_or(&[][..], |s| &s.values);
    if shot.is_empty() {
        let message = format!(
            "no group has both an arrow that is no flyer and a known {dial}; note the setting, then shoot"
        );
        return Err(ModelError::new("no_groups", message).at("groups"));
    }
    if values.len() < LEAST_VALUES {
        let list: Vec<String> = values.iter().map(f64::to_string).collect();
        let message = format!(
            "{dial} was shot at {} only; shoot it at {LEAST_VALUES} values or more to see how groups answer to it",
            list.join(" and ")
        );
        return Err(ModelError::new("too_few_values", message).at("groups"));
    }
    Ok(())
}

/// Returns the changes of each step with groups on both sides, and how many steps came before each group.
fn steps(changes: &[DialChange], settings: &[Setting], shot: &[Shot]) -> (Vec<Vec<String>>, Vec<usize>) {
    let held = |name: &String| settings.iter().any(|s| s.linear && s.name == *name);
    let mut changes: Vec<&DialChange> =
        changes.iter().filter(|c| c.set.is_empty() || !c.set.iter().all(held)).collect();
    changes.sort_by_key(|c| c.at.instant());
    let before = |s: &Shot| changes.partition_point(|c| c.at.instant() <= s.group.group.at.instant());
    let before: Vec<usize> = shot.iter().map(before).collect();
    let present: Vec<usize> = before.iter().copied().collect::<BTreeSet<_>>().into_iter().collect();
    let ids = |pair: &[usize]| changes[pair[0]..pair[1]].iter().map(|c| c.id.clone()).collect();
    let slot = |n: &usize| present.partition_point(|p| p < n);
    (present.windows(2).map(ids).collect(), before.iter().map(slot).collect())
}

/// Pools the groups into ends.
fn pool(shot: &[Shot], slots: &[usize], season: &mut Season) {
    let (mut sessions, mut epochs) = (Names::default(), Names::default());
    let mut states: BTreeMap<State, usize> = BTreeMap::new();
    let mut places: BTreeMap<(usize, EndName, usize, usize), usize> = BTreeMap::new();
    for (shot, slot) in shot.iter().zip(slots) {
        let group = &shot.group.group;
        let place = |s: &Setting| {
            let value = known(shot.group, &s.name)?;
            Some(s.values.partition_point(|v| *v < value))
        };
        let state = State { levels: season.settings.iter().map(place).collect(), slot: *slot };
        let count = &mut season.counts[state.levels[0].unwrap_or(0)];
        count.arrows += group.points_mm.len();
        count.flyers += shot.flyers.len();
        let next = states.len();
        let state = *states.entry(state).or_insert(next);
        let (session, epoch) = (sessions.place(&session_name(group)), epochs.place(&epoch_name(group)));
        let name = group.end.as_deref().map_or(EndName::Group(shot.place), EndName::Label);
        let at = *places.entry((session, name, state, epoch)).or_insert_with(|| {
            season.ends.push(End { session, segment: state, epoch, arrows: 0, mean: [0.0; 2], ss: [0.0; 2] });
            season.ends.len() - 1
        });
        add_points(&mut season.ends[at], group, &shot.flyers);
    }
    season.sessions = sessions.in_order().len();
    season.epochs = epochs.in_order();
    let mut in_order: Vec<(usize, State)> = states.into_iter().map(|(state, i)| (i, state)).collect();
    in_order.sort();
    season.states = in_order.into_iter().map(|(_, state)| state).collect();
}
