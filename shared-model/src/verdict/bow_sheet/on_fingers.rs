//! What a bow weighs on the fingers and what its makers allow, for whoever asks besides the bow's own sheet.

use super::{Said, asked};
use crate::{
    id::ThingId,
    kind::{Part, Person},
    replica::Store,
    verdict::units::Units,
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
    /// The riser that its setup names, where that is a part of the records.
    pub riser: Option<Part>,
    /// The limbs.
    pub limbs: Option<Part>,
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
        Ok(OnFingers {
            said,
            weight_lbf,
            archers,
            riser: known.part("riser")?,
            limbs: known.part("limbs")?,
            wanted,
        })
    })
}
