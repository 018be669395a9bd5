//! The settings to go to with a pair: none where the limbs do not sit true, and none beyond a maker's limit.

use super::PairSetting;
use crate::{
    ModelError,
    id::ThingId,
    kind::{self, Pair, Part},
    records::{setting_words, settings_of},
    replica::Store,
    rig::limits::{Facts, Finding, PRACTICE, PartLimits, Severity, beyond},
    verdict::sentence::list,
};
use std::collections::BTreeMap;

/// What the makers of the parts allow.
pub(super) struct Makers(BTreeMap<ThingId, Part>);

impl Makers {
    pub(super) fn read<S: Store>(store: &S) -> Result<Self, S::Error> {
        let mut all = BTreeMap::new();
        store.visit("part", None, &mut |thing| {
            let part: Result<Part, ModelError> = kind::read(thing);
            all.extend(part.ok().map(|part| (thing.id, part)));
        })?;
        Ok(Self(all))
    }

    /// Returns which settings of a pair lie beyond what the makers of riser and limbs allow.
    pub(super) fn beyond(
        &self,
        riser: Option<ThingId>,
        limbs: ThingId,
        settings: &[(&'static str, f64)],
    ) -> Vec<Finding> {
        let number = |field: &str| settings.iter().find(|(name, _)| *name == field).map(|(_, value)| *value);
        let of = |what: &str, id: Option<ThingId>| {
            let part = self.0.get(&id?)?;
            Some(PartLimits {
                part: what.to_owned(),
                least_bolt_turns: part.least_bolt_turns,
                most_bolt_turns: part.most_bolt_turns,
                ..PartLimits::default()
            })
        };
        let mut found = beyond(&Facts {
            limb_bolt_top_turns: number("limb_bolt_top_turns"),
            limb_bolt_bottom_turns: number("limb_bolt_bottom_turns"),
            parts: of("riser", riser).into_iter().chain(of("limbs", Some(limbs))).collect(),
            ..Facts::default()
        });
        found.retain(|one| one.severity == Severity::Stop && one.whose != PRACTICE);
        found
    }
}

/// Where to go with a pair.
#[derive(Default)]
pub(super) struct GoTo {
    /// The settings.
    pub settings: Vec<PairSetting>,
    /// The same in words, or why there are none.
    pub words: String,
    /// What was noted with the pair and is left out, each with the limit beyond which it lies.
    pub left_out: Vec<String>,
}

impl GoTo {
    pub(super) fn of(pair: &Pair, riser: Option<ThingId>, limbs: ThingId, makers: &Makers) -> Self {
        if let Some(words) = pair.fit.as_deref().and_then(short) {
            return Self { words: words.into(), ..Self::default() };
        }
        let all = settings_of(pair);
        let found = makers.beyond(riser, limbs, &all);
        let allowed = |(setting, _): &(&'static str, f64)| !found.iter().any(|one| one.setting == *setting);
        let one = |(setting, value)| PairSetting { setting, value, words: setting_words(setting, value) };
        let settings: Vec<PairSetting> = all.into_iter().filter(allowed).map(one).collect();
        let told: Vec<String> = settings.iter().map(|one| one.words.clone()).collect();
        let left_out =
            found.iter().map(|one| format!("Stop. Do not go to what was noted with it: {}", one.words));
        Self { words: list(&told), left_out: left_out.collect(), settings }
    }
}

/// Says in a cell of a table why there is nothing to go to with a pair that does not sit true.
fn short(fit: &str) -> Option<&'static str> {
    match fit {
        "loose" | "tight" => Some("nothing: have its maker or a coach see it first"),
        _ => None,
    }
}

/// Says what to do with a pair that does not sit true, in place of settings.
pub(super) fn instead(fit: Option<&str>) -> Option<&'static str> {
    match fit? {
        "loose" => Some(
            "There are no settings to go to: no bolt or tiller makes a loose pair safe. Take the limbs off again and have \
             their maker or a qualified coach see the pair; once it sits true, measure it and note it anew.",
        ),
        "tight" => Some(
            "There are no settings to go to while limbs do not seat fully. Do not string the bow: take the limbs off again \
             and have their maker or a qualified coach see the pair; once it sits true, measure it and note it anew.",
        ),
        _ => None,
    }
}
