//! Plans as they are made: what they are to find, from the archer's own variation.

use crate::{
    ModelError,
    id::ThingId,
    kind::Plan,
    rng::Seed,
    stats::{
        day_to_day::day_to_day,
        plan::{Design, Wanted, plan, plan_of},
    },
    timeline::{Asked, Season, Timeline},
};
use serde_json::Value;
use std::collections::BTreeMap;

/// What a plan is made from besides the archer's variation.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PlanTerms {
    /// The shift to find, mm at the distance, or none.
    pub shift_mm: Option<f64>,
    /// The SD ratio to find, B over A, or none.
    pub sd_ratio: Option<f64>,
    /// Distance in m.
    pub distance_m: f64,
    /// Arrows an end.
    pub arrows_per_end: u32,
    /// Chance of finding it.
    pub power: f64,
    /// Error rate of the verdict.
    pub alpha: f64,
    /// Minutes an end, with walking.
    pub minutes_per_end: f64,
    /// Minutes to change from one setup to the other.
    pub minutes_per_change: f64,
}

impl Default for PlanTerms {
    /// What is usual; common practice, no source.
    fn default() -> Self {
        Self {
            shift_mm: None,
            sd_ratio: None,
            distance_m: 1.0,
            arrows_per_end: 6,
            power: 0.8,
            alpha: 0.05,
            minutes_per_end: 6.0,
            minutes_per_change: 5.0,
        }
    }
}

impl PlanTerms {
    /// Returns what a plan of an archer is to find, the archer's variation read from what was shot.
    ///
    /// # Errors
    /// `too_few` where too little was shot to know how the arrows spread.
    pub fn wanted(&self, season: &Season) -> Result<Wanted, ModelError> {
        let few = || {
            let message = "the archer shot too little with this bow to know how the arrows spread: shoot two sessions of \
                           a few ends first";
            ModelError::new("too_few", message).at("archer")
        };
        let days = day_to_day(&season.input_without_face(&Asked::default())).map_err(|_| few())?;
        let [Some(x), Some(y)] = days.sd_arrow_mrad else { return Err(few()) };
        Ok(Wanted {
            shift_mrad: self.shift_mm.map(|mm| mm / self.distance_m),
            sd_ratio: self.sd_ratio,
            power: self.power,
            alpha: self.alpha,
            sd_end_mrad: days.sd_end_mrad.map(|sd| sd.unwrap_or(0.0)),
            sd_arrow_mrad: [x, y],
            arrows_per_end: self.arrows_per_end as usize,
            minutes_per_end: self.minutes_per_end,
            minutes_per_change: self.minutes_per_change,
        })
    }
}

/// Checks that two setups can be compared: the same settings, not all of the same value.
///
/// # Errors
/// `bad_plan` with what is wrong.
pub fn check_setups(a: &BTreeMap<String, Value>, b: &BTreeMap<String, Value>) -> Result<(), ModelError> {
    if a.keys().ne(b.keys()) {
        return Err(ModelError::new("bad_plan", "A and B name different settings").at("b"));
    }
    if a == b {
        return Err(ModelError::new("bad_plan", "A and B are the same setup").at("b"));
    }
    Ok(())
}

/// Designs a plan and writes order and promise into its record; of so many blocks where that is said.
///
/// # Errors
/// Those of [`plan`] and [`plan_of`].
pub fn design(
    record: &mut Plan,
    id: ThingId,
    wanted: &Wanted,
    blocks: Option<usize>,
) -> Result<Design, ModelError> {
    // Four random bytes: a number that every reader of JSON keeps to the last digit.
    let seed = id.as_bytes()[12..].iter().fold(0, |seed, byte| seed << 8 | u64::from(*byte));
    let design = match blocks {
        Some(blocks) => plan_of(wanted, blocks, Seed(seed))?,
        None => plan(wanted, Seed(seed))?,
    };
    record.order = Some(design.order.clone());
    record.seed = Some(seed);
    (record.power_shift, record.power_spread) = (design.power_shift, design.power_spread);
    Ok(design)
}

/// Returns the distance of the group that was shot last.
pub fn last_distance_m(timeline: &Timeline) -> Option<f64> {
    timeline.groups().last().and_then(|(_, group)| group.distance_m)
}
