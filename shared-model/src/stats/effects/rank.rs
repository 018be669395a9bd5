//! Which steps the design can tell apart, and from what it cannot.
//!
//! # Formula
//! A stretch and a sight epoch that share an end are joined; a step is estimable when the stretches on its
//! two sides hang together. The sessions' variance is known when the sessions' indicators are not all
//! sums of stretches and epochs; otherwise a step needs the sessions held fixed, and is estimable when its
//! contrast lies in the row space of stretches, epochs and sessions.
//! # Units
//! None: incidences are whole numbers, and their elimination is exact modulo the prime 2^61 - 1.
//! # Source
//! Searle, Linear Models (1971), sections 5.4 and 7.1 (estimable functions, connected classifications);
//! elimination modulo a prime is common practice, no source.
//! # Limits
//! A rank would come out too low only if 2^61 - 1 divided every minor of that order.

use std::collections::{BTreeMap, BTreeSet};

use super::prepare::{End, Season};

/// What the design says about one step.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(super) enum Separation {
    /// The shift can be estimated.
    Estimable,
    /// It cannot be told apart from these.
    Inseparable(Vec<String>),
}

/// What the design can estimate.
#[derive(Debug, Clone)]
pub(super) struct Design {
    /// Of the steps between neighbouring stretches, by the stretch before.
    pub steps: Vec<Separation>,
    /// The column of each epoch, after those of the stretches; `None` for the one that a connected part
    /// takes as its zero.
    pub epoch_columns: Vec<Option<usize>>,
    pub columns: usize,
    /// Whether the variance between sessions can be estimated.
    pub session_variance: bool,
}

/// Finds what can be estimated of the places of groups; `names` gives the changes of a step.
pub(super) fn design(season: &Season, names: impl Fn(usize) -> Vec<String>) -> Design {
    let cells: BTreeSet<(usize, usize, usize)> =
        season.ends.iter().map(|e| (e.session, e.segment, e.epoch)).collect();
    let parts = connected(season.segments, season.epochs.len(), &cells);
    let mut columns = season.segments;
    let mut zeros = BTreeSet::new();
    let epoch_columns = (0..season.epochs.len())
        .map(|e| {
            let part = parts[season.segments + e];
            (!zeros.insert(part)).then(|| {
                columns += 1;
                columns - 1
            })
        })
        .collect();
    let within = (season.sessions <= columns).then(|| SessionsHeld::new(season, &cells));
    let session_variance = within.as_ref().is_none_or(|w| w.space.rank() > columns);
    let steps = (0..season.segments.saturating_sub(1))
        .map(|k| {
            if parts[k] != parts[k + 1] {
                return Separation::Inseparable(dependence(season, &parts, k, &names));
            }
            match &within {
                Some(held) if !session_variance && !held.estimable(k) => {
                    Separation::Inseparable(vec!["session".into()])
                }
                _ => Separation::Estimable,
            }
        })
        .collect();
    Design { steps, epoch_columns, columns, session_variance }
}

/// Says of each step between neighbouring stretches whether the spread's model, which has no epochs, can
/// tell it from the sessions, and whether the design tells the sessions' own factor; ends of one arrow say
/// nothing about spread.
pub(super) fn spread_separable(season: &Season) -> (Vec<bool>, bool) {
    let ends: Vec<&End> = season.ends.iter().filter(|e| e.arrows > 1).collect();
    let cells: BTreeSet<(usize, usize, usize)> = ends.iter().map(|e| (e.session, e.segment, 0)).collect();
    let present: BTreeSet<usize> = ends.iter().map(|e| e.segment).collect();
    let sessions: BTreeSet<usize> = ends.iter().map(|e| e.session).collect();
    let held = (sessions.len() <= present.len()).then(|| SessionsHeld::new(season, &cells));
    let factor = held.as_ref().is_none_or(|h| h.space.rank() > present.len());
    let separable = (0..season.segments.saturating_sub(1))
        .map(|k| {
            present.contains(&k)
                && present.contains(&(k + 1))
                && (factor || held.as_ref().is_some_and(|h| h.estimable(k)))
        })
        .collect();
    (separable, factor)
}

/// Returns the connected part of every stretch, then of every epoch.
fn connected(segments: usize, epochs: usize, cells: &BTreeSet<(usize, usize, usize)>) -> Vec<usize> {
    let mut parent: Vec<usize> = (0..segments + epochs).collect();
    fn root(parent: &mut [usize], mut i: usize) -> usize {
        while parent[i] != i {
            parent[i] = parent[parent[i]];
            i = parent[i];
        }
        i
    }
    for (_, segment, epoch) in cells {
        let (a, b) = (root(&mut parent, *segment), root(&mut parent, segments + epoch));
        parent[a.max(b)] = a.min(b);
    }
    (0..parent.len()).map(|i| root(&mut parent, i)).collect()
}

/// Names the other steps and epochs of which step `k` is a sum: raising a union of connected parts by one
/// and its epochs by minus one changes nothing, and moves the steps at its borders.
fn dependence(
    season: &Season,
    parts: &[usize],
    k: usize,
    names: &impl Fn(usize) -> Vec<String>,
) -> Vec<String> {
    let only = |part: usize| BTreeSet::from([part]);
    let later: BTreeSet<usize> = parts[k + 1..season.segments].iter().copied().collect();
    // The first stretch is the zero of all steps, so its part stays where it is.
    let unions = [only(parts[k + 1]), only(parts[k]), later];
    let candidates = unions.iter().filter(|union| {
        !union.contains(&parts[0]) && union.contains(&parts[k]) != union.contains(&parts[k + 1])
    });
    let described = candidates.map(|union| {
        let steps: Vec<usize> = (0..season.segments - 1)
            .filter(|j| *j != k && union.contains(&parts[*j]) != union.contains(&parts[j + 1]))
            .collect();
        let epochs: Vec<usize> =
            (0..season.epochs.len()).filter(|e| union.contains(&parts[season.segments + e])).collect();
        (steps.len() + epochs.len(), steps.len(), steps, epochs)
    });
    let Some((_, _, steps, epochs)) = described.min() else { return Vec::new() };
    let mut found: Vec<String> = steps.into_iter().flat_map(names).collect();
    found.extend(epochs.into_iter().map(|e| season.epochs[e].clone()));
    found
}

/// The row space of stretches, epochs and sessions.
struct SessionsHeld {
    space: RowSpace,
}

impl SessionsHeld {
    fn new(season: &Season, cells: &BTreeSet<(usize, usize, usize)>) -> Self {
        let mut space = RowSpace::default();
        for (session, segment, epoch) in cells {
            let epoch = season.segments + epoch;
            space.insert(vec![
                (*segment, 1),
                (epoch, 1),
                (season.segments + season.epochs.len() + session, 1),
            ]);
        }
        Self { space }
    }

    /// Says whether the step from stretch `k` to the next is estimable.
    fn estimable(&self, k: usize) -> bool {
        self.space.contains(vec![(k, PRIME - 1), (k + 1, 1)])
    }
}

/// The prime modulo which rows are eliminated.
const PRIME: u64 = (1 << 61) - 1;

/// A sparse row: columns in order with factors modulo the prime, none of them zero.
type Row = Vec<(usize, u64)>;

/// A space of rows in echelon form.
#[derive(Default)]
struct RowSpace {
    /// By leading column, the leading factor 1.
    rows: BTreeMap<usize, Row>,
}

impl RowSpace {
    fn rank(&self) -> usize {
        self.rows.len()
    }

    fn insert(&mut self, row: Row) {
        let row = self.reduce(row);
        if let Some((lead, factor)) = row.first().copied() {
            let inverse = power(factor, PRIME - 2);
            let scaled = row.into_iter().map(|(c, v)| (c, product(v, inverse))).collect();
            self.rows.insert(lead, scaled);
        }
    }

    fn contains(&self, row: Row) -> bool {
        self.reduce(row).is_empty()
    }

    fn reduce(&self, mut row: Row) -> Row {
        while let Some((lead, factor)) = row.first().copied() {
            let Some(pivot) = self.rows.get(&lead) else { break };
            row = subtract(&row, factor, pivot);
        }
        row
    }
}

/// Returns row - factor * pivot.
fn subtract(row: &Row, factor: u64, pivot: &Row) -> Row {
    let mut result = Row::with_capacity(row.len() + pivot.len());
    let (mut i, mut j) = (0, 0);
    while i < row.len() || j < pivot.len() {
        let (a, b) = (row.get(i).map_or(usize::MAX, |e| e.0), pivot.get(j).map_or(usize::MAX, |e| e.0));
        let column = a.min(b);
        let mut value = 0;
        if a == column {
            value = row[i].1;
            i += 1;
        }
        if b == column {
            value = (value + PRIME - product(factor, pivot[j].1)) % PRIME;
            j += 1;
        }
        if value != 0 {
            result.push((column, value));
        }
    }
    result
}

fn product(a: u64, b: u64) -> u64 {
    (u128::from(a) * u128::from(b) % u128::from(PRIME)) as u64
}

fn power(mut base: u64, mut exponent: u64) -> u64 {
    let mut result = 1;
    while exponent > 0 {
        if exponent & 1 == 1 {
            result = product(result, base);
        }
        base = product(base, base);
        exponent >>= 1;
    }
    result
}
