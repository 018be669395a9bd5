//! The verdict under a plan, at any look: what setup B does against A, with an error rate that holds
//! however often one looks.
//!
//! # Formula
//! A block counts once for every session in which all of its four ends were shot. It gives the mean of its B ends less that of its A ends by axis, and half
//! the log of the ratio of their pooled scatters. Each axis runs the test of [`super::anytime`] at α/2, the
//! spread at α. `moved` once an axis has rejected no shift; `held` when both confidence sequences lie
//! within what was to be found; otherwise not settled. What was said once stays said.
//! # Units
//! mrad (mm at 1 m) for places; ratio of SDs, B over A.
//! # Source
//! See [`super::anytime`] and [`super::plan`].
//! # Limits
//! Two complete blocks or more with two arrows an end. Log scatter is near to normal from ends of three on
//! (false rate by simulation in the tests).

use super::{
    anytime::{Look, Running},
    compare::side,
};
use serde::Serialize;

/// An end that was shot under a plan, in mrad.
#[derive(Debug, Clone, PartialEq)]
pub struct PlannedEnd {
    /// Its place in the plan's order, from 0.
    pub place: usize,
    /// The session in which it was shot, and with what: ends of a block count together where these are the same.
    pub session: String,
    /// Where its arrows struck.
    pub points_mrad: Vec<[f64; 2]>,
}

/// What is promised and by when.
#[derive(Debug, Clone, PartialEq)]
pub struct Promise {
    /// The setups in order, an end each: A or B.
    pub order: String,
    /// Error rate.
    pub alpha: f64,
    /// The shift that was to be found, mrad.
    pub shift_mrad: Option<f64>,
    /// The SD ratio that was to be found.
    pub sd_ratio: Option<f64>,
}

/// How the places compare.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Word {
    /// B differs from A.
    Changed,
    /// B is within what was to be found of A.
    Held,
    /// Not settled yet.
    #[default]
    Unsettled,
}

/// The verdict at this look.
#[derive(Debug, Clone, Default, PartialEq, Serialize)]
pub struct PlanVerdict {
    /// Ends shot and planned.
    pub ends: usize,
    /// Ends planned.
    pub ends_planned: usize,
    /// Complete blocks: what the verdict rests on.
    pub blocks: usize,
    /// Blocks planned.
    pub blocks_planned: usize,
    /// Blocks all of whose ends were shot, but in no session together.
    pub blocks_split: usize,
    /// Ends that count for nothing yet, since their block is not complete in their session.
    pub ends_waiting: usize,
    /// Whether the place moved.
    pub place: Word,
    /// Whether the spread changed.
    pub spread: Word,
    /// B less A by axis.
    pub shift_mrad: Option<[f64; 2]>,
    /// The confidence sequence of that at this look; null while it has no end.
    pub shift_interval_mrad: Option<[[f64; 2]; 2]>,
    /// SD of B over that of A.
    pub sd_ratio: Option<f64>,
    /// The confidence sequence of that.
    pub sd_ratio_interval: Option<[f64; 2]>,
    /// Whether all that was to be found is settled, so that one may stop.
    pub may_stop: bool,
    /// The place of the next end to shoot; null when all blocks are complete.
    pub next: Option<usize>,
    /// Whether that end begins a block anew, since what was shot of it was shot in another session.
    pub anew: bool,
}

/// Returns the verdict on what was shot so far, ends in the order of time; `now` is the session under way, or how it
/// begins: a block that was begun in another is to be begun anew. Without it every block may be gone on with.
pub fn plan_verdict(promise: &Promise, ends: &[PlannedEnd], now: Option<&str>) -> PlanVerdict {
    let setups = promise.order.as_bytes();
    let blocks = setups.len() / 4;
    let mut tests = Tests::new(promise.alpha, blocks);
    let mut found =
        PlanVerdict { ends_planned: setups.len(), blocks_planned: blocks, ..PlanVerdict::default() };
    for first in (0..blocks).map(|block| 4 * block) {
        let tries = tries(ends, first);
        let counted = found.blocks;
        for (_, own) in &tries {
            let shot = own.iter().flatten().count();
            found.ends += shot;
            match sides(&setups[first..first + 4], own) {
                Some(sides) => {
                    found.blocks += 1;
                    tests.take(sides);
                }
                None => found.ends_waiting += shot,
            }
        }
        if counted < found.blocks {
            continue;
        }
        found.blocks_split += usize::from((0..4).all(|i| tries.iter().any(|(_, own)| own[i].is_some())));
        if found.next.is_none() {
            let open = tries.last().filter(|(session, _)| now.is_none_or(|now| session.starts_with(now)));
            let place = open.and_then(|(_, own)| own.iter().position(Option::is_none));
            (found.next, found.anew) =
                (Some(first + place.unwrap_or(0)), open.is_none() && !tries.is_empty());
        }
    }
    tests.verdict(promise, found)
}

/// Returns what was shot of the block that begins at `first`, session by session, in the order of time.
fn tries(ends: &[PlannedEnd], first: usize) -> Vec<(&str, [Option<Pooled>; 4])> {
    let own: Vec<&PlannedEnd> = ends.iter().filter(|e| (first..first + 4).contains(&e.place)).collect();
    let mut sessions: Vec<&str> = Vec::new();
    for end in &own {
        if !sessions.contains(&end.session.as_str()) {
            sessions.push(&end.session);
        }
    }
    let shot = |session: &str, place: usize| {
        pool(
            own.iter().filter(|e| e.place == place && e.session == session).map(|e| e.points_mrad.as_slice()),
        )
    };
    sessions.into_iter().map(|session| (session, [0, 1, 2, 3].map(|i| shot(session, first + i)))).collect()
}

/// The running tests, and what they have said.
struct Tests {
    axes: [Running; 2],
    spread: Running,
    moved: bool,
    spread_changed: bool,
}

impl Tests {
    fn new(alpha: f64, blocks: usize) -> Self {
        let axes = [Running::new(0.5 * alpha, blocks); 2];
        Self { axes, spread: Running::new(alpha, blocks), moved: false, spread_changed: false }
    }

    /// Takes a block: its A ends and its B ends.
    fn take(&mut self, [a, b]: [Pooled; 2]) {
        for (axis, test) in self.axes.iter_mut().enumerate() {
            test.take(b.mean[axis] - a.mean[axis]);
            self.moved |= test.rejects();
        }
        if let (Some(va), Some(vb)) = (a.variance(), b.variance()) {
            self.spread.take(0.5 * libm::log(vb / va));
            self.spread_changed |= self.spread.rejects();
        }
    }

    /// Adds what the tests say to the counts.
    fn verdict(&self, promise: &Promise, counts: PlanVerdict) -> PlanVerdict {
        let looks = self.axes.map(|test| test.look());
        let intervals = looks.map(|look| look.and_then(bounds));
        let held = intervals.iter().all(|i| within(promise.shift_mrad, *i));
        let ratio = self.spread.look();
        let ratio_interval = ratio.and_then(bounds);
        let ratio_held = within(promise.sd_ratio.map(|r| libm::log(r).abs()), ratio_interval);
        let (place, spread) = (word(self.moved, held), word(self.spread_changed, ratio_held));
        let sought = [(promise.shift_mrad, place), (promise.sd_ratio, spread)];
        let settled = sought.iter().all(|(want, word)| want.is_none() || *word != Word::Unsettled);
        PlanVerdict {
            place,
            spread,
            shift_mrad: pair(looks.map(|look| look.map(|l| l.mean))),
            shift_interval_mrad: pair(intervals),
            sd_ratio: ratio.map(|l| libm::exp(l.mean)),
            sd_ratio_interval: ratio_interval.map(|i| i.map(|v| libm::exp(v.clamp(-14.0, 14.0)))),
            may_stop: counts.next.is_none() || settled,
            ..counts
        }
    }
}

/// Returns whether an interval lies within what was to be found.
fn within(bound: Option<f64>, interval: Option<[f64; 2]>) -> bool {
    bound.zip(interval).is_some_and(|(bound, [low, high])| low > -bound && high < bound)
}

fn word(changed: bool, held: bool) -> Word {
    match (changed, held) {
        (true, _) => Word::Changed,
        (false, true) => Word::Held,
        (false, false) => Word::Unsettled,
    }
}

fn pair<T>([a, b]: [Option<T>; 2]) -> Option<[T; 2]> {
    Some([a?, b?])
}

fn bounds(look: Look) -> Option<[f64; 2]> {
    look.half.map(|half| [look.mean - half, look.mean + half])
}

/// Ends pooled: mean of their means, scatter about each.
#[derive(Clone, Copy, Default)]
struct Pooled {
    ends: f64,
    mean: [f64; 2],
    ss: f64,
    df: f64,
}

impl Pooled {
    fn variance(&self) -> Option<f64> {
        (self.df > 0.0 && self.ss > 0.0).then(|| self.ss / self.df)
    }
}

fn pool<'a>(groups: impl Iterator<Item = &'a [[f64; 2]]>) -> Option<Pooled> {
    let points: Vec<[f64; 2]> = groups.flatten().copied().collect();
    if points.is_empty() {
        return None;
    }
    let own = side(&points);
    Some(Pooled { ends: 1.0, mean: own.mean, ss: own.ss[0] + own.ss[2], df: 2.0 * (own.n - 1.0) })
}

/// Returns both setups of a block, where all its ends were shot.
fn sides(setups: &[u8], ends: &[Option<Pooled>]) -> Option<[Pooled; 2]> {
    let mut sides = [Pooled::default(); 2];
    for (setup, end) in setups.iter().zip(ends) {
        let end = end.as_ref()?;
        let side = &mut sides[usize::from(*setup == b'B')];
        side.ends += 1.0;
        (0..2).for_each(|a| side.mean[a] += (end.mean[a] - side.mean[a]) / side.ends);
        side.ss += end.ss;
        side.df += end.df;
    }
    sides.iter().all(|s| s.ends > 0.0).then_some(sides)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::{
        rng::{Rng, Seed},
        stats::plan::{Wanted, plan},
    };

    const SD_END: f64 = 0.3;

    fn shoot(rng: &mut Rng, order: &str, arrows: usize, shift: f64, ratio: f64) -> Vec<PlannedEnd> {
        let mut ends = Vec::new();
        let mut day = [0.0; 2];
        for (place, setup) in order.bytes().enumerate() {
            if place % 4 == 0 {
                day = [rng.normal(), rng.normal()];
            }
            let b = setup == b'B';
            let right = if b { shift } else { 0.0 };
            let off = [day[0] + right + SD_END * rng.normal(), day[1] + SD_END * rng.normal()];
            let sd = if b { ratio } else { 1.0 };
            let points_mrad = (0..arrows).map(|_| off.map(|v| v + sd * rng.normal())).collect();
            ends.push(PlannedEnd { place, session: (place / 4).to_string(), points_mrad });
        }
        ends
    }

    /// The shares of experiments in which shift and spread are called changed at one of the looks after every end.
    fn rates(shift: f64, ratio: f64, arrows: usize, order: &str, promise: &Promise) -> [f64; 2] {
        let (mut moved, mut spread) = (0, 0);
        let experiments = 1000;
        for seed in 0..experiments {
            let ends = shoot(&mut Rng::new(Seed(9_000 + seed)), order, arrows, shift, ratio);
            // The verdict at the end holds what any look has said, since only complete blocks speak.
            let last = plan_verdict(promise, &ends, None);
            moved += usize::from(last.place == Word::Changed);
            spread += usize::from(last.spread == Word::Changed);
        }
        [moved, spread].map(|n| n as f64 / experiments as f64)
    }

    fn promise(order: &str) -> Promise {
        Promise { order: order.into(), alpha: 0.05, shift_mrad: Some(0.5), sd_ratio: Some(0.7) }
    }

    #[test]
    fn looking_after_every_end_keeps_both_error_rates() {
        for arrows in [3, 6] {
            let order = "ABBABAAB".repeat(12);
            let [moved, spread] = rates(0.0, 1.0, arrows, &order, &promise(&order));
            assert!(moved <= 0.06 && spread <= 0.06, "{moved} {spread} with ends of {arrows}");
        }
    }

    #[test]
    fn the_power_that_was_promised_is_what_is_found() {
        let wanted = Wanted {
            shift_mrad: Some(0.6),
            sd_ratio: Some(0.7),
            power: 0.8,
            alpha: 0.05,
            sd_end_mrad: [SD_END, SD_END],
            sd_arrow_mrad: [1.0, 1.0],
            arrows_per_end: 6,
            minutes_per_end: 6.0,
            minutes_per_change: 4.0,
        };
        for want in [Wanted { sd_ratio: None, ..wanted }, Wanted { shift_mrad: None, ..wanted }] {
            let design = plan(&want, Seed(5)).expect("a plan");
            let promise = promise(&design.order);
            let [moved, spread] = rates(
                want.shift_mrad.unwrap_or(0.0),
                want.sd_ratio.unwrap_or(1.0),
                6,
                &design.order,
                &promise,
            );
            let (promised, found) = match design.power_shift {
                Some(power) => (power, moved),
                None => (design.power_spread.expect("a power"), spread),
            };
            // The other axis adds at most a false alarm's share.
            assert!((promised - found).abs() < 0.05, "promised {promised}, found {found}, {design:?}");
        }
    }

    #[test]
    fn only_complete_blocks_speak_and_the_next_end_is_named() {
        let order = "ABBABAAB";
        let ends = shoot(&mut Rng::new(Seed(1)), order, 6, 0.0, 1.0);
        let part = plan_verdict(&promise(order), &ends[..6], None);
        assert_eq!((part.blocks, part.next, part.ends, part.may_stop), (1, Some(6), 6, false));
        assert_eq!((part.place, part.shift_interval_mrad), (Word::Unsettled, None));
        assert!(plan_verdict(&promise(order), &ends, None).may_stop);
        let mut split = ends.clone();
        split[5].session = "another day".into();
        let verdict = plan_verdict(&promise(order), &split, None);
        assert_eq!((verdict.blocks, verdict.blocks_split, verdict.ends_waiting), (1, 1, 4));
        let next = |ends: &[PlannedEnd], now| {
            let verdict = plan_verdict(&promise(order), ends, Some(now));
            (verdict.next, verdict.anew)
        };
        assert_eq!(next(&ends[..6], "1"), (Some(6), false));
        assert_eq!(next(&ends[..6], "the day after"), (Some(4), true));
        assert_eq!(next(&split[..6], "another day"), (Some(4), false));
        // Both devices' blocks count that were shot without knowing of each other.
        let mut twice = ends.clone();
        twice.extend(
            ends.iter().cloned().map(|e| PlannedEnd { session: format!("other {}", e.session), ..e }),
        );
        let verdict = plan_verdict(&promise(order), &twice, Some("any"));
        assert_eq!((verdict.blocks, verdict.ends, verdict.next), (4, 16, None));
        assert_eq!(plan_verdict(&promise(order), &[], None).next, Some(0));
    }
}
