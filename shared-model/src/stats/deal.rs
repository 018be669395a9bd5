//! Dealing by chance: had a change done nothing, how often would two piles of the same ends lie as far apart as those
//! before and after it?
//!
//! # Formula
//! The unit is the end, by its mean point. Ends are dealt within strata: the sessions that hold ends of both sides; where
//! there is no such session, all ends of one sight setting. Of b ends before and a after, the same numbers are dealt again;
//! all Π C(b + a, a) deals are as likely if the change did nothing. Their distance is |Σ w (mean after − mean before)| / Σ w
//! with w = a b / (a + b), which in one stratum is the distance between the two means. The share is that of the deals that
//! reach the distance as it was shot: of all deals where these are no more than were asked for, else of so many, one of
//! which is the deal as it was shot and the others drawn by chance: (r + 1)/(m + 1). The least share that can come out is
//! 1 / deals, twice that where every stratum holds as many ends before as after, since a deal and its mirror lie as far apart.
//! # Units
//! mrad (mm at 1 m), x to the archer's right, y up.
//! # Source
//! Fisher, The Design of Experiments (1935), chapter 3; Edgington and Onghena, Randomization Tests, 4th ed. (2007),
//! chapters 3 and 5; counting the deal as it was shot: Phipson and Smyth, Statistical Applications in Genetics and
//! Molecular Biology 9 (2010), article 39. All three from memory.
//! # Limits
//! One end or more on either side with the sight left alone. Says whether chance is a poor story, not how far the groups
//! moved. Without a session that holds both sides, what differs from day to day is taken for chance and may be more.

use crate::{
    ModelError,
    rng::{Rng, Seed},
};
use serde::Serialize;
use std::collections::BTreeMap;

/// The most deals that are asked for.
pub const MOST_DEALS: usize = 100_000;
/// The most ends that are dealt, all deals counted: about a second's work.
const MOST_WORK: usize = 100_000_000;

/// An end on one side of a change.
#[derive(Debug, Clone, PartialEq)]
pub struct DealtEnd {
    /// Its mean point.
    pub mean_mrad: [f64; 2],
    /// Whether it was shot after the change.
    pub after: bool,
    /// The session.
    pub session: String,
    /// The sight's setting: ends of different ones are never dealt together.
    pub sight: String,
}

/// What dealing gives.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Dealt {
    /// Mean after less mean before, strata weighted.
    pub shift_mrad: [f64; 2],
    /// How far that is.
    pub distance_mrad: f64,
    /// Deals that were counted, the one as it was shot among them.
    pub deals: usize,
    /// Those that reach the distance as it was shot.
    pub reach: usize,
    /// The one over the other.
    pub share: f64,
    /// The least share that can come out of so many deals.
    pub least_share: f64,
    /// How many different deals there are; null beyond 2^53.
    pub possible: Option<u64>,
    /// Whether all of them were counted.
    pub all: bool,
    /// Whether the ends were dealt within sessions.
    pub within_sessions: bool,
    /// How many sessions, or sight settings, hold both sides.
    pub strata: usize,
    /// Ends before and after that were dealt.
    pub ends: [usize; 2],
    /// Ends left out, since nothing of the other side was shot in their session or with their sight setting.
    pub ends_left_out: usize,
    /// The distance of every deal that was counted, mrad.
    #[serde(skip)]
    pub distances_mrad: Vec<f64>,
}

/// Deals the ends again, `most` deals at most.
///
/// # Errors
/// `too_few` where no session and no sight setting holds ends of both sides; `out_of_range` for a number of deals that
/// is not from 1 to [`MOST_DEALS`] and a point that is not finite.
pub fn deal(ends: &[DealtEnd], most: usize, seed: Seed) -> Result<Dealt, ModelError> {
    check(ends, most)?;
    let (within_sessions, strata) = strata(ends)?;
    let weight: f64 = strata.iter().map(Stratum::weight).sum();
    let length = |shift: [f64; 2]| libm::hypot(shift[0], shift[1]) / weight;
    let shot = sum(strata.iter().map(Stratum::as_shot));
    let distance = length(shot);
    let possible = strata.iter().map(Stratum::deals).product::<f64>();
    let all = possible <= most as f64;
    let distances: Vec<f64> = if all {
        every(&strata).into_iter().map(length).collect()
    } else {
        let mut rng = Rng::new(seed);
        let drawn = |_| length(sum(strata.iter().map(|s| s.drawn(&mut rng)).collect::<Vec<_>>().into_iter()));
        std::iter::once(distance).chain((1..most).map(drawn)).collect()
    };
    let reach = distances.iter().filter(|d| reaches(**d, distance)).count();
    let mirrored = strata.iter().all(|s| 2 * s.after == s.points.len());
    let deals = distances.len();
    let least = (if mirrored { 2.0 } else { 1.0 } / possible).max(if all { 0.0 } else { 1.0 / deals as f64 });
    let used: usize = strata.iter().map(|s| s.points.len()).sum();
    let after: usize = strata.iter().map(|s| s.after).sum();
    Ok(Dealt {
        shift_mrad: shot.map(|v| v / weight),
        distance_mrad: distance,
        deals,
        reach,
        share: reach as f64 / deals as f64,
        least_share: least.min(1.0),
        possible: (possible <= 9_007_199_254_740_992.0).then_some(possible as u64),
        all,
        within_sessions,
        strata: strata.len(),
        ends: [used - after, after],
        ends_left_out: ends.len() - used,
        distances_mrad: distances,
    })
}

/// Whether a deal lies as far apart as it was shot; deals that are alike but for the order of a sum count as alike.
fn reaches(distance_mrad: f64, shot_mrad: f64) -> bool {
    distance_mrad >= shot_mrad * (1.0 - 1e-9)
}

impl Dealt {
    /// Returns of every deal that was counted whether it reaches the distance as it was shot.
    pub fn reaches(&self) -> Vec<bool> {
        self.distances_mrad.iter().map(|distance| reaches(*distance, self.distance_mrad)).collect()
    }
}

fn check(ends: &[DealtEnd], most: usize) -> Result<(), ModelError> {
    if !(1..=MOST_DEALS).contains(&most) {
        let message = format!("{most} deals; ask for 1 to {MOST_DEALS}");
        return Err(ModelError::new("out_of_range", message).at("deals"));
    }
    if ends.len().saturating_mul(most) > MOST_WORK {
        let message = format!("{} ends dealt {most} times take too long; ask for fewer deals", ends.len());
        return Err(ModelError::new("out_of_range", message).at("deals"));
    }
    let far = |end: &DealtEnd| end.mean_mrad.iter().any(|v| v.is_nan() || v.abs() > 1e9);
    match ends.iter().position(far) {
        None => Ok(()),
        Some(i) => {
            let message = format!("end {i} lies at {:?}; give two numbers within 1e9", ends[i].mean_mrad);
            Err(ModelError::new("out_of_range", message).at(format!("ends[{i}].mean_mrad")))
        }
    }
}

/// Ends that are dealt together.
struct Stratum {
    /// Those before first, in the order given.
    points: Vec<[f64; 2]>,
    after: usize,
}

impl Stratum {
    fn before(&self) -> usize {
        self.points.len() - self.after
    }

    fn weight(&self) -> f64 {
        (self.after * self.before()) as f64 / self.points.len() as f64
    }

    /// Returns how many different deals there are.
    fn deals(&self) -> f64 {
        let (n, k) = (self.points.len(), self.after.min(self.before()));
        // Each step is a whole number, so that nothing is rounded below 2^53.
        (1..=k).fold(1.0, |sum, i| sum * (n - k + i) as f64 / i as f64)
    }

    /// Returns the weighted difference of the means where the ends with these places are those after.
    fn shift(&self, places: impl Iterator<Item = usize>) -> [f64; 2] {
        let after = sum(places.map(|i| self.points[i]));
        let total = sum(self.points.iter().copied());
        let (a, b) = (self.after as f64, self.before() as f64);
        [0, 1].map(|i| self.weight() * (after[i] / a - (total[i] - after[i]) / b))
    }

    fn as_shot(&self) -> [f64; 2] {
        self.shift(self.before()..self.points.len())
    }

    fn drawn(&self, rng: &mut Rng) -> [f64; 2] {
        let mut places: Vec<usize> = (0..self.points.len()).collect();
        for i in 0..self.after {
            let other = i + rng.below((places.len() - i) as u64) as usize;
            places.swap(i, other);
        }
        self.shift(places[..self.after].iter().copied())
    }

    fn every(&self) -> Vec<[f64; 2]> {
        let (n, k) = (self.points.len(), self.after);
        let mut places: Vec<usize> = (0..k).collect();
        let mut found = vec![self.shift(places.iter().copied())];
        // The next combination in the order of the dictionary.
        while let Some(i) = (0..k).rev().find(|i| places[*i] < n - k + i) {
            places[i] += 1;
            (i + 1..k).for_each(|j| places[j] = places[j - 1] + 1);
            found.push(self.shift(places.iter().copied()));
        }
        found
    }
}

/// Returns the shift of every deal of all strata together.
fn every(strata: &[Stratum]) -> Vec<[f64; 2]> {
    strata.iter().map(Stratum::every).fold(vec![[0.0; 2]], |known, next| {
        known.iter().flat_map(|k| next.iter().map(|n| sum([*k, *n].into_iter()))).collect()
    })
}

/// Returns whether ends are dealt within sessions, and what is dealt together.
fn strata(ends: &[DealtEnd]) -> Result<(bool, Vec<Stratum>), ModelError> {
    for within_sessions in [true, false] {
        let mut sides: BTreeMap<(&str, &str), [Vec<[f64; 2]>; 2]> = BTreeMap::new();
        for end in ends {
            let session = if within_sessions { end.session.as_str() } else { "" };
            sides.entry((&end.sight, session)).or_default()[usize::from(end.after)].push(end.mean_mrad);
        }
        let strata: Vec<Stratum> = sides
            .into_values()
            .filter(|[before, after]| !before.is_empty() && !after.is_empty())
            .map(|[before, after]| Stratum { after: after.len(), points: [before, after].concat() })
            .collect();
        if !strata.is_empty() {
            return Ok((within_sessions, strata));
        }
    }
    let message = "there is nothing to deal: no end before and end after the change were shot with one setting of the \
                   sight; shoot both sides with the sight left alone";
    Err(ModelError::new("too_few", message).at("ends"))
}

fn sum(points: impl Iterator<Item = [f64; 2]>) -> [f64; 2] {
    points.fold([0.0; 2], |s, p| [s[0] + p[0], s[1] + p[1]])
}

#[cfg(test)]
mod tests {
    use super::*;

    fn end(x: f64, y: f64, after: bool, session: &str) -> DealtEnd {
        DealtEnd { mean_mrad: [x, y], after, session: session.into(), sight: "a".into() }
    }

    fn two_piles(each: usize, apart: f64) -> Vec<DealtEnd> {
        let wander = |i: usize| (i * 7 % 5) as f64 + 0.01 * (i * i) as f64;
        let one = |i: usize| {
            end(wander(i) + if i < each { 0.0 } else { apart }, 0.3 * wander(i + 2), i >= each, "day")
        };
        (0..2 * each).map(one).collect()
    }

    #[test]
    fn three_and_three_ends_give_twenty_deals_and_never_less_than_one_in_ten() {
        let dealt = deal(&two_piles(3, 50.0), 100, Seed(1)).expect("dealt");
        assert_eq!((dealt.possible, dealt.deals, dealt.all), (Some(20), 20, true));
        assert_eq!((dealt.reach, dealt.least_share), (2, 0.1));
        let even = deal(&two_piles(3, 0.0), 100, Seed(1)).expect("dealt");
        assert!(even.reach > 2, "{even:?}");
    }

    #[test]
    fn drawn_deals_come_to_the_share_of_all_deals() {
        let ends = two_piles(6, 1.5);
        let all = deal(&ends, 1000, Seed(1)).expect("dealt");
        assert_eq!((all.deals, all.all), (924, true));
        let drawn = deal(&ends, 900, Seed(5)).expect("dealt");
        assert!(!drawn.all && drawn.deals == 900 && drawn.least_share == 2.0 / 924.0);
        let sd = (all.share * (1.0 - all.share) / 900.0).sqrt();
        assert!((drawn.share - all.share).abs() < 4.0 * sd, "{} {}", drawn.share, all.share);
        assert_eq!(drawn, deal(&ends, 900, Seed(5)).expect("dealt"), "the seed alone decides");
    }

    #[test]
    fn days_that_lie_apart_are_not_taken_for_the_change() {
        // The second day lies far off, and more was shot after the change on it.
        let mut ends: Vec<DealtEnd> = (0..4).map(|i| end(f64::from(i % 3), 0.0, i > 2, "1")).collect();
        ends.extend((0..4).map(|i| end(100.0 + f64::from(i % 3), 0.0, i > 0, "2")));
        let dealt = deal(&ends, 1000, Seed(1)).expect("dealt");
        assert_eq!((dealt.within_sessions, dealt.strata, dealt.possible), (true, 2, Some(16)));
        assert!(dealt.distance_mrad < 2.0 && dealt.share > 0.3, "{dealt:?}");
        assert_eq!(dealt.least_share, 1.0 / 16.0, "no mirror: the days hold uneven numbers");
    }

    #[test]
    fn ends_are_dealt_over_all_days_where_no_day_holds_both_sides_and_never_over_sights() {
        let mut ends = two_piles(3, 9.0);
        ends.iter_mut().for_each(|e| e.session = e.after.to_string());
        let dealt = deal(&ends, 100, Seed(1)).expect("dealt");
        assert_eq!((dealt.within_sessions, dealt.possible), (false, Some(20)));
        ends.iter_mut().for_each(|e| e.sight = e.after.to_string());
        assert_eq!(deal(&ends, 100, Seed(1)).expect_err("two sights").code, "too_few");
        assert_eq!(deal(&ends, 0, Seed(1)).expect_err("no deals").field.as_deref(), Some("deals"));
    }
}
