//! Numbered arrows: which arrows of a set keep landing apart from the others.
//!
//! # Formula
//! In every end an arrow's place less the mean of the k other arrows, in mrad: its variance is that of an arrow
//! times 1/c + 1/k (c = 1 shot of the arrow), so an end weighs w = 1 / (1/c + 1/k), and the arrow's own weight in
//! the end's mean does not hide its offset. Per arrow Hotelling's T² of the weighted mean over ends, once with
//! all ends and once without the end in which the arrow lay farthest from its own mean; p is the larger of the
//! two, so no single flyer makes an arrow `apart`. Holm over the arrows. Of those that pass, the one with the
//! largest offset is called apart and left out of the means, and the rest are tested again: an arrow that is
//! apart pulls the mean of its end and would make good arrows look apart the other way.
//! Further ends: the fewest at which the present offset and scatter are found with a power of 0.8 at the level
//! of Holm's first step, by noncentral F.
//! # Units
//! Points in mm, distances in m; offsets in mrad, and in mm at the distance with the most arrows.
//! # Source
//! Hotelling, Annals of Mathematical Statistics 2 (1931) 360; Holm, Scandinavian Journal of Statistics 6 (1979)
//! 65; Berger, Technometrics 24 (1982) 295, for the larger of two p-values.
//! # Limits
//! Four ends with the arrow and two others. An arrow is compared with the set as it was shot: what an offset
//! comes from (straightness, nock, fletching, mass) cannot be seen here. Ends independent; one flyer an arrow.

use super::{
    Ellipse,
    adjust_p::holm,
    effects::distance_with_most_arrows,
    shots::{Placed, ShotGroup, ends},
    special::fewest::fewest,
    weighted_mean::{Weighed, WeightedMean, weighted_mean, without_farthest},
};
use crate::ModelError;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};

/// The fewest ends an arrow is judged by: three are left without the farthest.
const LEAST_ENDS: usize = 4;
/// The fewest other arrows that make a mean to be apart from: with one alone either could be the odd one.
const LEAST_OTHERS: usize = 2;
/// The most numbers that a set may have.
const MOST_NUMBERS: usize = 500;
/// The most ends that are searched for.
const MOST_ENDS: usize = 10_000;
const POWER: f64 = 0.8;

/// What the numbers of a set tell.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NumberedArrows {
    /// The distance with the most arrows, at which offsets are told in mm.
    pub distance_m: f64,
    /// Ends with three arrows or more.
    pub ends: usize,
    /// Arrows left out as flyers by the archer's word.
    pub flyers: usize,
    /// Bare shafts left out.
    pub bare: usize,
    /// Arrows that could be judged; corrections count them all.
    pub judged: usize,
    /// Each numbered arrow.
    pub arrows: Vec<Numbered>,
}

/// Whether an arrow keeps landing apart from its set.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "snake_case")]
pub enum Apart {
    /// It does.
    Apart,
    /// It is not shown.
    #[default]
    NotShown,
}

/// A numbered arrow.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct Numbered {
    /// Its number.
    pub number: String,
    /// Ends in which it is compared with two others or more.
    pub n: usize,
    /// Where it lands on average, less where those arrows land that are not apart: right and high.
    pub offset_mrad: Option<[f64; 2]>,
    /// The same at the distance with the most arrows.
    pub offset_mm: Option<[f64; 2]>,
    /// In which ellipse about it the true offset lies.
    pub ellipse_mrad: Option<Ellipse>,
    /// The same at the distance with the most arrows.
    pub ellipse_mm: Option<Ellipse>,
    /// P-value of no offset, for this arrow alone.
    pub p: Option<f64>,
    /// The same without the end in which it lay farthest from its own mean.
    pub p_without_farthest: Option<f64>,
    /// The larger of the two, corrected for all arrows judged.
    pub p_adjusted: Option<f64>,
    /// Whether it is apart.
    pub verdict: Apart,
    /// Whether it would be apart if no other arrow had been asked about.
    pub suspect: bool,
    /// Further ends that would find the present offset of a suspect with a power of 0.8.
    pub more_ends: Option<usize>,
    /// What could not be had, and why.
    pub notes: Vec<String>,
}

/// What an end holds, by arrow.
struct End {
    sum: [f64; 2],
    count: f64,
    by_arrow: Vec<(usize, [f64; 2], f64)>,
}

/// An arrow's tests over ends.
#[derive(Debug, Clone, Copy)]
struct Tests {
    mean: WeightedMean,
    p: [f64; 2],
}

/// Returns which of the numbered arrows of a set are apart from it.
///
/// # Errors
/// `too_few` when no end holds a numbered arrow and two others; `too_many` for over 500 numbers.
pub fn numbered_arrows(groups: &[ShotGroup], confidence: f64) -> Result<NumberedArrows, ModelError> {
    let shots = || groups.iter().flat_map(|g| &g.shots);
    let counted = |g: &ShotGroup| g.shots.iter().filter(|s| !s.flyer && !s.bare).count();
    let most = distance_with_most_arrows(groups.iter().map(|g| (g.distance_m, counted(g))));
    let numbers: BTreeSet<&str> = shots().filter_map(|s| s.number.as_deref()).collect();
    if numbers.len() > MOST_NUMBERS {
        let message = format!("{} different numbers; a set has at most {MOST_NUMBERS}", numbers.len());
        return Err(ModelError::new("too_many", message).at("groups"));
    }
    let mut numbers: Vec<&str> = numbers.into_iter().collect();
    numbers.sort_by_key(|n| (n.parse::<u64>().unwrap_or(u64::MAX), *n));
    let ends = tally(&ends(groups), &numbers);
    let (Some(distance_m), false) = (most, ends.iter().all(|e| e.by_arrow.is_empty())) else {
        let message =
            "no end holds a numbered arrow and two others that count; note the numbers of the arrows";
        return Err(ModelError::new("too_few", message).at("groups"));
    };
    let arrows = judge(&ends, &numbers, 1.0 - confidence, distance_m);
    Ok(NumberedArrows {
        distance_m,
        ends: ends.len(),
        flyers: shots().filter(|s| s.flyer).count(),
        bare: shots().filter(|s| s.bare && !s.flyer).count(),
        judged: arrows.iter().filter(|a| a.p_adjusted.is_some()).count(),
        arrows,
    })
}

fn tally(ends: &[Vec<Placed>], numbers: &[&str]) -> Vec<End> {
    let index: BTreeMap<&str, usize> = numbers.iter().enumerate().map(|(i, n)| (*n, i)).collect();
    let tally = |end: &Vec<Placed>| {
        let mut by: BTreeMap<usize, ([f64; 2], f64)> = BTreeMap::new();
        let mut all = ([0.0; 2], 0.0);
        for placed in end.iter().filter(|p| !p.shot.bare) {
            add(&mut all, placed.mrad);
            if let Some(i) = placed.shot.number.as_deref().and_then(|n| index.get(n)) {
                add(by.entry(*i).or_default(), placed.mrad);
            }
        }
        let by_arrow = by.into_iter().map(|(i, (sum, count))| (i, sum, count)).collect();
        End { sum: all.0, count: all.1, by_arrow }
    };
    ends.iter().map(tally).filter(|end| end.count > LEAST_OTHERS as f64).collect()
}

fn add(to: &mut ([f64; 2], f64), at: [f64; 2]) {
    to.0 = [to.0[0] + at[0], to.0[1] + at[1]];
    to.1 += 1.0;
}

/// Returns, arrow by arrow, its differences to the others of each end, those left out that are apart.
fn differences(ends: &[End], arrows: usize, apart: &BTreeSet<usize>) -> Vec<Vec<Weighed>> {
    let mut found = vec![Vec::new(); arrows];
    for end in ends {
        let (mut sum, mut count) = (end.sum, end.count);
        for (_, own, n) in end.by_arrow.iter().filter(|(i, ..)| apart.contains(i)) {
            sum = [sum[0] - own[0], sum[1] - own[1]];
            count -= n;
        }
        for (i, own, n) in &end.by_arrow {
            let (others, k) = match apart.contains(i) {
                true => (sum, count),
                false => ([sum[0] - own[0], sum[1] - own[1]], count - n),
            };
            if k >= LEAST_OTHERS as f64 {
                let d = [0, 1].map(|axis| own[axis] / n - others[axis] / k);
                found[*i].push((d, 1.0 / (1.0 / n + 1.0 / k)));
            }
        }
    }
    found
}

fn tests(values: &[Weighed]) -> Option<Tests> {
    if values.len() < LEAST_ENDS {
        return None;
    }
    let mean = weighted_mean(values)?;
    let rest = weighted_mean(&without_farthest(values))?;
    Some(Tests { mean, p: [mean.hotelling()?.p, rest.hotelling()?.p] })
}

fn judge(ends: &[End], numbers: &[&str], alpha: f64, distance_m: f64) -> Vec<Numbered> {
    let mut arrows: Vec<Numbered> =
        numbers.iter().map(|n| Numbered { number: (*n).to_owned(), ..Numbered::default() }).collect();
    let mut apart = BTreeSet::new();
    let mut floor = 0.0_f64;
    loop {
        let values = differences(ends, arrows.len(), &apart);
        let open: Vec<(usize, Tests)> = (0..arrows.len())
            .filter(|i| !apart.contains(i))
            .filter_map(|i| Some((i, tests(&values[i])?)))
            .collect();
        let p: Vec<f64> = open.iter().map(|(_, t)| t.p[0].max(t.p[1])).collect();
        let adjusted: Vec<f64> = holm(&p).into_iter().map(|p| p.max(floor)).collect();
        for ((i, tests), adjusted) in open.iter().zip(&adjusted) {
            tell(&mut arrows[*i], tests, *adjusted, alpha, open.len());
        }
        let size = |i: usize| open[i].1.mean.mean.iter().map(|v| v * v).sum::<f64>();
        let passing = (0..open.len()).filter(|i| adjusted[*i] < alpha);
        let Some(farthest) = passing.max_by(|a, b| size(*a).total_cmp(&size(*b))) else {
            values.iter().zip(&mut arrows).for_each(|(v, a)| place(a, v, 1.0 - alpha, distance_m));
            return arrows;
        };
        floor = adjusted[farthest];
        arrows[open[farthest].0].verdict = Apart::Apart;
        apart.insert(open[farthest].0);
    }
}

/// Notes what the tests say of an arrow that has not been called apart so far.
fn tell(arrow: &mut Numbered, tests: &Tests, adjusted: f64, alpha: f64, asked: usize) {
    arrow.p = Some(tests.p[0]);
    arrow.p_without_farthest = Some(tests.p[1]);
    arrow.p_adjusted = Some(adjusted);
    arrow.suspect = tests.p[0] < alpha && adjusted >= alpha;
    arrow.more_ends = if arrow.suspect { further_ends(&tests.mean, alpha / asked as f64) } else { None };
}

/// Returns how many more ends find the present offset, at least one.
fn further_ends(mean: &WeightedMean, alpha: f64) -> Option<usize> {
    let reached = |m: usize| mean.power(m, alpha).is_some_and(|p| p >= POWER);
    Some(fewest(mean.count, MOST_ENDS, reached)? - mean.count)
}

/// Notes where an arrow lands beside those that are not apart.
fn place(arrow: &mut Numbered, values: &[Weighed], confidence: f64, distance_m: f64) {
    arrow.n = values.len();
    if let Some(mean) = weighted_mean(values) {
        arrow.offset_mrad = Some(mean.mean);
        arrow.offset_mm = Some(mean.mean.map(|v| v * distance_m));
        arrow.ellipse_mrad = mean.ellipse(confidence);
        arrow.ellipse_mm = arrow.ellipse_mrad.map(|e| e.scaled(distance_m));
    }
    if arrow.p.is_none() {
        let why = if arrow.n < LEAST_ENDS {
            format!("judged from {LEAST_ENDS} ends on with two other arrows in each; it has {}", arrow.n)
        } else {
            "its differences to the others lie on a line, so they cannot be judged".to_owned()
        };
        arrow.notes.push(why);
    }
}

#[cfg(test)]
mod tests;
