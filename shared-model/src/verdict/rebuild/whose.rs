//! For whose draw a draw weight on a sheet was noted, and what whoever asks reads of this setup.

use super::{RebuildAsked, Target};
use crate::{
    id::ThingId,
    kind::same_value,
    moment::Moment,
    records::{Here, author},
    replica::Store,
    timeline::{Set, Setup, Timeline, What},
    verdict::{
        bow::day_words,
        curve::{Drawer, held, weight_since},
        limits::by_curve,
        sentence::list,
        units::trimmed,
    },
};
use std::collections::BTreeMap;

/// The setting.
pub(super) const WEIGHT: &str = "draw_weight_lbf";

/// What there is to know of the draw weight of a sheet.
#[derive(Default)]
pub(super) struct Whose {
    /// Sentences beside it.
    pub notes: Vec<String>,
    /// Whether it is no longer one to come back to: other limbs, riser, bolts or string came on after it was noted.
    pub stale: bool,
}

impl Whose {
    pub(super) fn read<S: Store>(
        store: &S,
        asked: &RebuildAsked<'_>,
        (target, here): (&Target, &Here),
        names: &BTreeMap<ThingId, String>,
    ) -> Result<Self, S::Error> {
        let Some(lbf) = target.settings.get(WEIGHT).and_then(serde_json::Value::as_f64) else {
            return Ok(Self::default());
        };
        let timeline = Timeline::read(store, asked.bow)?;
        let setup = setup(asked, target, here);
        let mut told = Self::default();
        match noted(&timeline, target) {
            None => told.notes.push("For whose draw it was noted is not known.".into()),
            Some((change, at, by)) => {
                let by = match by {
                    Some(by) => Some(by),
                    None => store.thing("change", change)?.as_ref().and_then(author),
                };
                let by = by.map(|by| Drawer::read(store, by, names)).transpose()?;
                let noted = format!("{} lbf was noted {}", trimmed(lbf, 1), day_words(&at.day()));
                let stale = stale(&timeline.setup_at(at.unix_ms()), &setup, names);
                told.stale = stale.is_some();
                told.notes.push(whose(&noted, by.as_ref(), stale));
            }
        }
        let gone = if asked.baseline.is_some() { BTreeMap::new() } else { here.gone.clone() };
        let (curves, _) = held(store, &timeline, &Here { setup, gone }, names)?;
        let me = asked.me.map(|me| Drawer::read(store, me, names)).transpose()?;
        if let Some((me, draw)) = me.and_then(|me| me.draw_in.map(|draw| (me, draw)))
            && let Some((at, lbf)) = by_curve(&curves, draw)
        {
            let (lbf, draw) = (trimmed(lbf, 1), trimmed(draw, 2));
            let day = day_words(&at.day());
            told.notes.push(format!("{lbf} lbf at the {draw} in of {} by the draw curve of {day}.", me.name));
        }
        Ok(told)
    }
}

/// Returns what is on the bow when it is as the sheet has it.
fn setup(asked: &RebuildAsked<'_>, target: &Target, here: &Here) -> Setup {
    let (Some(baseline), Some(at)) = (asked.baseline, target.at) else { return here.setup.clone() };
    let one = |(setting, value): (&String, &serde_json::Value)| {
        (setting.clone(), Set { value: value.clone(), change: baseline, at })
    };
    target.settings.iter().map(one).collect()
}

/// Returns the change that noted the weight of a sheet, when it did, and who is named with it.
fn noted(timeline: &Timeline, target: &Target) -> Option<(ThingId, Moment, Option<ThingId>)> {
    let wanted = target.settings.get(WEIGHT)?;
    let until = target.at.map_or(i64::MAX, |at| at.unix_ms());
    timeline.items.iter().rev().filter(|item| item.at.unix_ms() <= until).find_map(|item| {
        let What::Change(change) = &item.what else { return None };
        let same = change.settings().any(|(name, value)| name == WEIGHT && same_value(value, wanted));
        same.then_some((item.id, item.at, change.by))
    })
}

/// Says why a weight is no longer one to come back to.
fn stale(then: &Setup, now: &Setup, names: &BTreeMap<ThingId, String>) -> Option<String> {
    let limbs = |setup: &Setup| setup.get("limbs").map(|set| set.value.clone());
    if limbs(now).is_some() && limbs(then) != limbs(now) {
        return Some("before these limbs came on: measure again".into());
    }
    let changed = weight_since(then, now, names);
    (!changed.is_empty()).then(|| format!("before {}: measure again", list(&changed)))
}

fn whose(noted: &str, by: Option<&Drawer>, stale: Option<String>) -> String {
    let by = match by {
        None => String::new(),
        Some(Drawer { name, draw_in: Some(draw), .. }) => {
            format!(" by {name}, who draws {} in", trimmed(*draw, 2))
        }
        Some(Drawer { name, .. }) => format!(" by {name}"),
    };
    match stale {
        Some(stale) => format!("{noted}{by}, {stale}."),
        None => format!("{noted}{by}: at another draw length it is another weight."),
    }
}
