//! What `dial` answers.

use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;

/// How groups answer to a numeric setting.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Dial {
    /// The setting; its unit stands at the end of its name, and "per unit" is per one of it.
    pub dial: String,
    /// The values shot, from the lowest.
    pub values: Vec<DialValue>,
    /// The distance with the most arrows, at which mm are given.
    pub distance_m: f64,
    /// Shift of the mean point of impact per unit, right and up.
    pub shift_mrad_per_unit: Option<[f64; 2]>,
    /// Its Kenward-Roger standard error.
    pub shift_se_mrad_per_unit: Option<[f64; 2]>,
    /// Its degrees of freedom.
    pub shift_df: Option<[f64; 2]>,
    /// Its interval by axis.
    pub shift_interval_mrad_per_unit: Option<[[f64; 2]; 2]>,
    /// Its p-value by axis.
    pub shift_p: Option<[f64; 2]>,
    /// The p-value of both axes together.
    pub shift_p_joint: Option<f64>,
    /// The same, corrected for asking about straightness too (Holm): a movement with the dial is claimed on either.
    pub shift_p_adjusted: Option<f64>,
    /// Whether the values lie on a line.
    pub straightness: Option<Straightness>,
    /// What the spread does.
    pub spread: DialSpread,
    /// What the shift cannot be told apart from: `session`, other settings, changes, `sight LABEL`.
    pub inseparable_from: Vec<String>,
    /// What would tell them apart.
    pub separate_by: Option<Separate>,
    /// Other settings that are held as a line of their own.
    pub linear_with: Vec<String>,
    /// Changes that are held as steps; those with no group between them are one step.
    pub steps: Vec<Vec<String>>,
    /// Variance between sessions by axis; null where the data cannot tell it.
    pub var_session_mrad2: [Option<f64>; 2],
    /// Variance between the ends of a session by axis; null where the data cannot tell it.
    pub var_end_mrad2: [Option<f64>; 2],
    /// Variance within an end by axis; null where nothing is left to estimate it from.
    pub var_noise_mrad2: [Option<f64>; 2],
    /// Why something is null, and what else to know.
    pub notes: Vec<String>,
}

/// What was shot at one value.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct DialValue {
    /// The value in the dial's unit.
    pub value: f64,
    /// Ends shot.
    pub ends: usize,
    /// Arrows shot, flyers among them.
    pub arrows: usize,
    /// Those of `arrows` that were left out.
    pub flyers: usize,
    /// Mean point of impact, what is fitted to sight, other settings and other changes taken out.
    pub mean_mrad: [f64; 2],
    /// The same in mm at `distance_m`.
    pub mean_mm: [f64; 2],
    /// SD of an arrow about its end on one axis; null where no end has two arrows.
    pub sd_mrad: Option<f64>,
    /// The same in mm at `distance_m`.
    pub sd_mm: Option<f64>,
}

/// The dial's values one by one against the line.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Straightness {
    /// Kenward-Roger F by axis.
    pub f: [f64; 2],
    /// Values that are free of the line.
    pub ndf: [f64; 2],
    /// Denominator degrees of freedom.
    pub ddf: [f64; 2],
    /// p-value by axis.
    pub p: [f64; 2],
    /// The p-value of both axes together.
    pub p_joint: f64,
    /// The same, corrected for asking about the line's slope too (Holm).
    pub p_adjusted: f64,
    /// Whether a line will do at the confidence asked for.
    pub line_fits: bool,
}

/// The spread against the dial.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
pub struct DialSpread {
    /// Whether a value of smallest spread is shown.
    pub best: Best,
    /// The value of smallest spread.
    pub smallest_at: Option<f64>,
    /// Its interval.
    pub smallest_at_interval: Option<[f64; 2]>,
    /// Log SD per unit squared: half the second derivative.
    pub curvature_log_sd_per_unit2: Option<f64>,
    /// Its interval.
    pub curvature_interval: Option<[f64; 2]>,
    /// Its degrees of freedom.
    pub curvature_df: Option<f64>,
    /// Its p-value.
    pub curvature_p: Option<f64>,
    /// SD at a unit more over SD, where no smallest spread is shown.
    pub sd_ratio_per_unit: Option<f64>,
    /// Its interval.
    pub sd_ratio_per_unit_interval: Option<[f64; 2]>,
    /// Its degrees of freedom.
    pub sd_ratio_df: Option<f64>,
    /// Its p-value.
    pub sd_ratio_p: Option<f64>,
    /// What the spread's answer cannot be told apart from.
    pub inseparable_from: Vec<String>,
}

/// Whether a value of smallest spread is shown.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
pub enum Best {
    /// The spread is smallest at a value between those shot.
    #[serde(rename = "shown")]
    Shown,
    /// The spread shows no best value.
    #[default]
    #[serde(rename = "none shown")]
    NoneShown,
}

/// What to shoot so that the dial can be told apart.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Separate {
    /// The dial at this value,
    pub dial_at: f64,
    /// with these settings left as they are now,
    pub left_at: BTreeMap<String, f64>,
    /// and neither these changes taken back nor the sight moved.
    pub left_alone: Vec<String>,
}
