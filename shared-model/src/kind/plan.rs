//! Plans: which setup to shoot when, so that the answer is fair.

use super::Kind;
use crate::id::ThingId;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;

/// A comparison of two setups of a bow, planned before the first arrow.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Plan {
    /// What it is called.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// The bow.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bow: Option<ThingId>,
    /// Who shoots it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub archer: Option<ThingId>,
    /// When it was made, RFC 3339.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// The settings of setup A.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub a: Option<BTreeMap<String, Value>>,
    /// The settings of setup B.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub b: Option<BTreeMap<String, Value>>,
    /// The setups in order, an end each: A or B, in blocks of four.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub order: Option<String>,
    /// The seed from which the order was drawn.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub seed: Option<u64>,
    /// Distance in m.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub distance_m: Option<f64>,
    /// Arrows an end.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub arrows_per_end: Option<u32>,
    /// Error rate of the verdict.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub alpha: Option<f64>,
    /// The shift that is to be found, mm at the distance.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shift_mm: Option<f64>,
    /// The SD ratio that is to be found, B over A.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub sd_ratio: Option<f64>,
    /// The chance that was promised of finding the shift.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub power_shift: Option<f64>,
    /// The chance that was promised of finding the change of spread.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub power_spread: Option<f64>,
    /// What to do.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Whether it is out of use.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub retired: bool,
}

impl Kind for Plan {
    const NAME: &'static str = "plan";
}

impl Plan {
    /// Returns the setup of an end: its letter and settings; nothing beyond the last end.
    pub fn setup(&self, place: usize) -> Option<(char, &BTreeMap<String, Value>)> {
        let letter = *self.order.as_ref()?.as_bytes().get(place)?;
        let settings = if letter == b'B' { self.b.as_ref()? } else { self.a.as_ref()? };
        Some((char::from(letter), settings))
    }
}
