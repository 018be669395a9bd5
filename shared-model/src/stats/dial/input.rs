//! What `dial` is asked.

use std::collections::BTreeMap;

use crate::moment::Moment;
use crate::stats::effects::{Group, Noise};

/// Groups with the settings that they were shot with.
#[derive(Debug, Clone, PartialEq)]
pub struct DialInput {
    /// The setting whose response is asked, with its unit at the end of its name.
    pub dial: String,
    /// Confidence of the intervals, from 0.5 to below 1.
    pub confidence: f64,
    /// Whether arrows scatter as the spread that is fitted to their settings says, or all alike.
    pub noise: Noise,
    /// What was altered, and when.
    pub changes: Vec<DialChange>,
    /// What was shot, and with what.
    pub groups: Vec<DialGroup>,
}

/// A change of a bow.
#[derive(Debug, Clone, PartialEq)]
pub struct DialChange {
    /// Its name.
    pub id: String,
    /// When.
    pub at: Moment,
    /// The settings that it altered; where none is named it may have altered anything.
    pub set: Vec<String>,
}

/// A group with the numeric settings in force.
#[derive(Debug, Clone, PartialEq)]
pub struct DialGroup {
    /// The arrows.
    pub group: Group,
    /// The value of each numeric setting; `None`, or left out, where it is not known.
    pub settings: BTreeMap<String, Option<f64>>,
}
