//! Flyers of a season: arrows that lie farther from the others of their end than chance puts them.
//!
//! # Formula
//! An arrow is set against the mean of the others of its group, times √((n − 1)/n), which has the spread of
//! one arrow, in mrad; divided by the robust SD of its session by axis (median of absolute values / 0.6745,
//! of the whole season below 60 arrows), d² is the sum over both axes. With ν = 0.37 m, what the median of m
//! values knows of an SD, an arrow is flagged when (1 + d²/ν)^(−ν/2) < 0.05 / N, N the arrows of the season; the farthest of a group first, then again without it,
//! down to two arrows and to half of the group.
//! # Units
//! Points in mm on the face; distances in m.
//! # Source
//! Robust SD by the median: Hampel, J. Amer. Statist. Assoc. 69 (1974) 383. 0.37 is its
//! efficiency at the normal (the same). The tail is that of F on 2 and ν, corrected by Bonferroni.
//! # Limits
//! A season of normal arrows has one flagged in about one of twenty. Groups of three arrows or more. Never drops
//! an arrow: verdicts are given with and without them.

use super::effects::Group;
use std::{borrow::Cow, collections::BTreeMap};

/// The chance with which a season without flyers has one flagged.
const FALSE_ALARM: f64 = 0.05;
/// Arrows from which on a session has an SD of its own.
const SESSION_FROM: usize = 60;
/// What the median of absolute values knows of an SD, against the root of the mean square.
const EFFICIENCY: f64 = 0.37;
/// The median of the absolute value of a standard normal.
const MEDIAN_ABSOLUTE: f64 = 0.674_489_750_196_081_7;

/// Returns the places of the flyers: group and arrow, those by the archer's word not among them.
pub fn season_flyers(groups: &[Group]) -> Vec<(usize, usize)> {
    let asked: Vec<(usize, &Group)> =
        groups.iter().enumerate().filter(|(_, g)| kept(g).count() >= 3).collect();
    let arrows: usize = asked.iter().map(|(_, group)| kept(group).count()).sum();
    let odds = libm::log(arrows as f64 / FALSE_ALARM);
    let scales = scales(&asked);
    let mut found = Vec::new();
    for ((i, group), scale) in asked.iter().zip(scales) {
        let Some(Scale { sd, df }) = scale else { continue };
        let bar = df * libm::expm1(2.0 / df * odds);
        let far = |r: [f64; 2]| square(r[0] / sd[0]) + square(r[1] / sd[1]);
        if residuals(group, kept(group)).all(|r| far(r) <= bar) {
            continue;
        }
        let mut left: Vec<usize> = kept(group).collect();
        let least = (left.len() - left.len() / 2).max(3);
        while left.len() >= least {
            let d2 = residuals(group, left.iter().copied()).map(far).enumerate();
            match d2.max_by(|a, b| a.1.total_cmp(&b.1)) {
                Some((place, d2)) if d2 > bar => found.push((*i, left.remove(place))),
                _ => break,
            }
        }
    }
    found
}

/// Returns the arrows that are no flyers by the archer's word.
fn kept(group: &Group) -> impl Iterator<Item = usize> + Clone {
    (0..group.points_mm.len()).filter(|i| !group.flyers.contains(i))
}

/// Returns each arrow against the mean of the others, with the spread of one arrow, mrad.
fn residuals<I: Iterator<Item = usize> + Clone>(group: &Group, left: I) -> impl Iterator<Item = [f64; 2]> {
    let (sum, n) = left.clone().fold(([0.0; 2], 0.0), |(s, n), i| {
        let [x, y] = group.points_mm[i];
        ([s[0] + x, s[1] + y], n + 1.0)
    });
    let scale = f64::sqrt(n / (n - 1.0)) / group.distance_m;
    left.map(move |i| [0, 1].map(|a| (group.points_mm[i][a] - sum[a] / n) * scale))
}

fn square(v: f64) -> f64 {
    v * v
}

/// A robust SD by axis, and the degrees of freedom that it is worth.
#[derive(Clone, Copy)]
struct Scale {
    sd: [f64; 2],
    df: f64,
}

/// Returns for every group the scale of its session where that is long, else that of the season.
fn scales(groups: &[(usize, &Group)]) -> Vec<Option<Scale>> {
    let mut names: BTreeMap<Cow<str>, usize> = BTreeMap::new();
    let mut sessions: Vec<Vec<[f64; 2]>> = Vec::new();
    let mut places = Vec::with_capacity(groups.len());
    for (_, group) in groups {
        let name = group.session.as_deref().map_or_else(|| group.at.day().into(), Cow::Borrowed);
        let place = *names.entry(name).or_insert(sessions.len());
        if place == sessions.len() {
            sessions.push(Vec::new());
        }
        sessions[place].extend(residuals(group, kept(group)));
        places.push(place);
    }
    let season = robust(sessions.iter().flatten());
    let own = |s: &Vec<[f64; 2]>| (s.len() >= SESSION_FROM).then(|| robust(s.iter())).flatten().or(season);
    let by_session: Vec<Option<Scale>> = sessions.iter().map(own).collect();
    places.into_iter().map(|place| by_session[place]).collect()
}

fn robust<'a>(residuals: impl Iterator<Item = &'a [f64; 2]> + Clone) -> Option<Scale> {
    let mut df = 0.0;
    let sd = [0, 1].map(|a| {
        let mut values: Vec<f64> = residuals.clone().map(|r| r[a].abs()).collect();
        df = EFFICIENCY * values.len() as f64;
        let middle = values.len() / 2;
        if values.is_empty() {
            return 0.0;
        }
        let (_, median, _) = values.select_nth_unstable_by(middle, f64::total_cmp);
        *median / MEDIAN_ABSOLUTE
    });
    sd.iter().all(|v| *v > 0.0).then_some(Scale { sd, df })
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        moment::Moment,
        rng::{Rng, Seed},
    };

    fn season(seed: u64, ends: usize, arrows: usize) -> Vec<Group> {
        let mut rng = Rng::new(Seed(seed));
        let mut group = |i: usize| Group {
            at: Moment::new(1_775_000_000_000 + i as i64 * 600_000, 0).expect("a moment"),
            session: Some((i / 8).to_string()),
            end: None,
            distance_m: 30.0,
            points_mm: (0..arrows).map(|_| [30.0 * rng.normal(), 45.0 * rng.normal()]).collect(),
            flyers: Vec::new(),
            sight: None,
            sight_offset_mrad: None,
        };
        (0..ends).map(&mut group).collect()
    }

    #[test]
    fn a_season_without_flyers_rarely_has_one_flagged() {
        for arrows in [3, 6] {
            let flagged = (0..400).filter(|s| !season_flyers(&season(*s, 40, arrows)).is_empty()).count();
            // 5 % are 20 with an SD of 4; the SD that is estimated adds some.
            assert!(flagged <= 40, "{flagged} of 400 seasons with ends of {arrows}");
        }
    }

    #[test]
    fn a_flyer_is_found_and_only_that_also_beside_another() {
        let mut groups = season(3, 40, 6);
        groups[7].points_mm[2] = [400.0, -300.0];
        groups[9].points_mm[0] = [-350.0, 0.0];
        groups[9].points_mm[5] = [-360.0, 200.0];
        assert_eq!(season_flyers(&groups), [(7, 2), (9, 5), (9, 0)]);
        groups[7].flyers = vec![2];
        assert_eq!(season_flyers(&groups), [(9, 5), (9, 0)]);
    }

    #[test]
    fn nothing_is_flagged_where_nothing_can_be_told() {
        assert!(season_flyers(&[]).is_empty());
        assert!(season_flyers(&season(1, 1, 2)).is_empty());
        let mut hole = season(1, 10, 6);
        hole.iter_mut().for_each(|g| g.points_mm.fill([1.0, 1.0]));
        hole[0].points_mm[0] = [500.0, 0.0];
        assert!(season_flyers(&hole).is_empty());
    }
}
