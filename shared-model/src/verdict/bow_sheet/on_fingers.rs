//! What a bow weighs on the fingers and what its makers allow, for whoever asks besides the bow's own sheet.

use super::{Said, asked};
use crate::{
    id::ThingId,
    kind::{Part, Person},
    replica::Store,
    verdict::{limits::PARTS, units::Units},
};

/// What is known of a bow where arrows are held against it.
#[derive(Debug, Clone, Default)]
pub(in crate::verdict) struct OnFingers {
    /// What is said of the weight.
    pub said: Vec<Said>,
    /// The weight from least to most, lbf; both the same where it was measured.
    pub weight_lbf: Option<[f64; 2]>,
    /// Who shot the bow, the last first; whoever asks where nobody did.
    pub archers: Vec<(String, Person)>,
    /// The parts that its setup names and that are on it, by setting.
    pub parts: Vec<(&'static str, Part)>,
    /// What the records lack.
    pub wanted: Vec<String>,
}

/// Returns what a bow weighs on the fingers, as its own sheet says it.
pub(in crate::verdict) fn on_fingers<S: Store>(
    store: &S,
    bow: ThingId,
    me: ThingId,
    units: Units,
) -> Result<OnFingers, S::Error> {
    asked(store, bow, me, units, |known| {
        let mut wanted = Vec::new();
        let (said, weight_lbf) = known.weight(&mut wanted)?;
        let archers = known.archers.clone();
        let mut parts = Vec::new();
        for setting in PARTS {
            parts.extend(known.part(setting)?.map(|part| (*setting, part)));
        }
        Ok(OnFingers { said, weight_lbf, archers, parts, wanted })
    })
}
