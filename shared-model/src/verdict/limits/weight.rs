//! The weight on the fingers as everything that asks for it takes it, and the most that an archer has shot.

use super::in_range;
use crate::{
    id::ThingId,
    kind::Change,
    moment::Moment,
    rig::{
        weight::{Marked, bolt_shares},
        whereabouts::Gone,
    },
    timeline::{Set, Setup, Timeline, What},
    verdict::{
        curve::{Held, weight_since},
        sentence::list,
    },
};
use std::collections::BTreeMap;

/// After so many arrows a draw weight is one that the archer has shot (common practice, no source).
const USED_TO_ARROWS: u64 = 100;

/// A draw weight as it was noted.
#[derive(Debug, Clone, PartialEq)]
pub(in crate::verdict) struct Noted {
    /// The weight, lbf.
    pub lbf: f64,
    /// When it was noted.
    pub at: Moment,
    /// Who noted it.
    pub by: Option<ThingId>,
    /// Why it no longer is the bow's weight, in a sentence.
    pub stale: Option<String>,
}

/// Returns the draw weight that is noted, with why it no longer holds: other limbs, riser, limb bolts or string since.
/// Limbs, riser or string that went to another bow (`gone`) leave no weight behind.
pub(in crate::verdict) fn noted(
    timeline: &Timeline,
    gone: &BTreeMap<String, Gone>,
    names: &BTreeMap<ThingId, String>,
) -> Option<Noted> {
    let now = timeline.setup_now();
    let Set { value, change, at } = now.get("draw_weight_lbf")?;
    let lbf = in_range("draw_weight_lbf", Some(value))?;
    let bearing = ["limbs", "riser", "string"].into_iter().find(|setting| gone.contains_key(*setting));
    let went = bearing.map(|setting| format!("The {setting} went to another bow since: measure again."));
    let stale = went.or_else(|| stale(&timeline.setup_at(at.unix_ms()), &now, names));
    let by = timeline.changes().find(|(item, _)| item.id == *change).and_then(|(_, change)| change.by);
    Some(Noted { lbf, at: *at, by, stale })
}

fn stale(then: &Setup, now: &Setup, names: &BTreeMap<ThingId, String>) -> Option<String> {
    let limbs = |setup: &Setup| setup.get("limbs").map(|set| set.value.clone());
    if limbs(now).is_some() && limbs(then) != limbs(now) {
        return Some("That was before these limbs came on: measure again.".into());
    }
    let changed = weight_since(then, now, names);
    (!changed.is_empty()).then(|| format!("Since then {}: measure again.", list(&changed)))
}

/// Returns the weight at a draw by the latest draw curve that still holds, and when that was measured.
pub(in crate::verdict) fn by_curve(curves: &[Held], draw_in: f64) -> Option<(Moment, f64)> {
    let one = curves.iter().find(|one| one.is_valid())?;
    let [lbf, _] = one.curve.at(draw_in)?;
    (1.0..=100.0).contains(&lbf).then_some((one.at, lbf))
}

/// Returns the weight that was measured, lbf: by a draw curve that still holds, else as it was noted where that still holds.
/// Of a curve and a heavier weight that was noted after it the heavier one counts, until it is measured again.
pub(in crate::verdict) fn measured(
    curves: &[Held],
    noted: Option<&Noted>,
    draw_in: Option<f64>,
) -> Option<f64> {
    let noted = noted.filter(|noted| noted.stale.is_none());
    let Some((at, curve)) = draw_in.and_then(|draw| by_curve(curves, draw)) else {
        return noted.map(|noted| noted.lbf);
    };
    let later = noted.filter(|noted| noted.at.unix_ms() > at.unix_ms());
    Some(later.map_or(curve, |noted| noted.lbf.max(curve)))
}

/// Returns the weights to be expected from what is marked on limbs, for a draw and a riser; `bolts` are the shares of
/// [`shares`].
pub(in crate::verdict) fn expected(
    marked: Option<(Marked, f64)>,
    draw_in: Option<f64>,
    bolts: [f64; 2],
) -> Option<[f64; 2]> {
    marked.zip(draw_in).and_then(|((marked, riser), draw)| marked.range_lbf(draw, riser, bolts))
}

/// Returns the shares of the marked weight that the limb bolts make, and whether they are narrower than the rule: by the
/// turns of both bolts and the ranges, fewest and most turns, that the makers of riser and limbs allow.
pub(in crate::verdict) fn shares(turns: [Option<f64>; 2], ranges: &[[Option<f64>; 2]]) -> ([f64; 2], bool) {
    let out = turns[0].zip(turns[1]).map(|(top, bottom)| 0.5 * (top + bottom));
    let ends = |end: usize| ranges.iter().filter_map(move |range| range[end]);
    let range = ends(0).reduce(f64::max).zip(ends(1).reduce(f64::min));
    bolt_shares(out, range.map(|(least, most)| [least, most]))
}

/// Returns the most draw weight that was noted of a bow while an archer shot it. The weight that the bow asked about has now
/// counts once the archer has shot so many arrows with it: an end alone gets nobody used to it.
pub(super) fn most_shot(timeline: &Timeline, archer: ThingId, asked: bool) -> Option<f64> {
    let mut counts =
        timeline.practice.iter().filter(|count| count.practice.archer == Some(archer)).peekable();
    let (mut most, mut now, mut arrows) = (None::<f64>, None::<f64>, 0u64);
    let higher = |most: Option<f64>, now: Option<f64>| most.into_iter().chain(now).max_by(f64::total_cmp);
    for item in &timeline.items {
        let key = (item.at.unix_ms(), item.stamp);
        while let Some(count) = counts.next_if(|count| (count.at.unix_ms(), count.stamp) < key) {
            arrows = arrows.saturating_add(u64::from(count.arrows));
        }
        match &item.what {
            What::Change(change) => {
                let Some(weight) = weight_after(change) else { continue };
                if weight != now {
                    most = higher(most, now.filter(|_| arrows > 0));
                    (now, arrows) = (weight, 0);
                }
            }
            What::Group(group) if group.archer == Some(archer) => {
                arrows = arrows.saturating_add(group.points_mm.as_ref().map_or(0, Vec::len) as u64);
            }
            What::Group(_) => {}
        }
    }
    let left = counts.map(|count| u64::from(count.arrows)).fold(arrows, u64::saturating_add);
    let least = if asked { USED_TO_ARROWS } else { 1 };
    higher(most, now.filter(|_| left >= least))
}

/// Returns the draw weight after a change that has to do with it; none is known after other limbs came on.
fn weight_after(change: &Change) -> Option<Option<f64>> {
    let mut settings = change.settings();
    let weight = settings.find(|(setting, _)| *setting == "draw_weight_lbf");
    match weight {
        Some((setting, value)) => Some(in_range(setting, Some(value))),
        None => change.settings().any(|(setting, _)| setting == "limbs").then_some(None),
    }
}
