//! The weight on the fingers as limits are held against it, and the most that an archer has shot.

use super::in_range;
use crate::{
    id::ThingId,
    kind::Change,
    replica::Store,
    rig::weight::{Marked, bolt_shares},
    timeline::{Setup, Timeline, What},
    verdict::curve::held,
};
use std::collections::BTreeMap;

/// After so many arrows a draw weight is one that the archer has shot (common practice, no source).
const USED_TO_ARROWS: u64 = 100;

/// Returns the weight on the fingers from least to most, lbf: as it was measured last, by a scale at the archer's draw or by
/// a draw curve that still holds, else as it is to be expected from what is marked on the limbs.
pub(super) fn weight<S: Store>(
    store: &S,
    timeline: &Timeline,
    names: &BTreeMap<ThingId, String>,
    draw_in: Option<f64>,
    marked: Option<(Marked, f64)>,
) -> Result<Option<[f64; 2]>, S::Error> {
    let setup = timeline.setup_now();
    let noted = setup.get("draw_weight_lbf").filter(|_| !older_than_limbs(&setup));
    let noted =
        noted.and_then(|set| Some((set.at.unix_ms(), in_range("draw_weight_lbf", Some(&set.value))?)));
    let (curves, _) = held(store, timeline, names)?;
    let by_curve = curves.iter().find(|one| one.is_valid()).zip(draw_in).and_then(|(one, draw)| {
        let [lbf, _] = one.curve.at(draw)?;
        (1.0..=100.0).contains(&lbf).then_some((one.at.unix_ms(), lbf))
    });
    let last = noted.into_iter().chain(by_curve).max_by_key(|(at, _)| *at);
    if let Some((_, lbf)) = last {
        return Ok(Some([lbf, lbf]));
    }
    let (bolts, _) = bolt_shares(None, None);
    Ok(marked.zip(draw_in).and_then(|((marked, riser), draw)| marked.range_lbf(draw, riser, bolts)))
}

/// Whether the draw weight was noted before other limbs came on: it is not theirs.
fn older_than_limbs(setup: &Setup) -> bool {
    let (weight, limbs) = (setup.get("draw_weight_lbf"), setup.get("limbs"));
    weight.zip(limbs).is_some_and(|(weight, limbs)| {
        limbs.change != weight.change && limbs.at.unix_ms() > weight.at.unix_ms()
    })
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
