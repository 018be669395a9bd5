//! What `effects` answers.

use crate::moment::Moment;
use serde::{Deserialize, Serialize};

/// The effects of a season's changes, in the order of time.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Effects {
    /// One a moment of change.
    pub effects: Vec<Effect>,
    /// Variance between sessions by axis; null where the data cannot tell it.
    pub var_session_mrad2: [Option<f64>; 2],
    /// Variance between the ends of a session by axis; null where the data cannot tell it.
    pub var_end_mrad2: [Option<f64>; 2],
    /// Variance within an end by axis; null where nothing is left to estimate it from.
    pub var_noise_mrad2: [Option<f64>; 2],
    /// SD of the logarithm of a session's SD about that of its stretch: 0.1 is a tenth more or less from
    /// session to session; null where the data cannot tell it.
    pub session_log_sd: Option<f64>,
    /// Root of the mean of the two variances within an end.
    pub sigma_mrad: Option<f64>,
    /// The smallest shift that counts as one that matters.
    pub matters_mrad: Option<f64>,
    /// The distance with the most arrows, at which points are counted.
    pub distance_m: f64,
    /// What there is to know about the season as a whole.
    pub notes: Vec<String>,
}

/// What one moment of change did to the groups.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Effect {
    /// The changes made at that moment.
    pub changes: Vec<String>,
    /// When the first of them was made.
    pub at: Moment,
    /// Ends from the change before to this one.
    pub ends_before: usize,
    /// Ends from this change to the next.
    pub ends_after: usize,
    /// Arrows shot from the change before to this one, flyers among them.
    pub arrows_before: usize,
    /// Arrows shot from this change to the next, flyers among them.
    pub arrows_after: usize,
    /// Those of `arrows_before` that were left out.
    pub flyers_before: usize,
    /// Those of `arrows_after` that were left out.
    pub flyers_after: usize,
    /// Shift of the mean point of impact.
    pub shift_mrad: Option<[f64; 2]>,
    /// Its Kenward-Roger standard error.
    pub shift_se_mrad: Option<[f64; 2]>,
    /// Its degrees of freedom.
    pub shift_df: Option<[f64; 2]>,
    /// Its interval by axis.
    pub shift_interval_mrad: Option<[[f64; 2]; 2]>,
    /// Its p-value by axis.
    pub shift_p: Option<[f64; 2]>,
    /// The p-value of both axes together, corrected for the number of changes judged.
    pub shift_p_adjusted: Option<f64>,
    /// SD within an end after the change over that before.
    pub sd_ratio: Option<f64>,
    /// Its interval.
    pub sd_ratio_interval: Option<[f64; 2]>,
    /// Its p-value.
    pub spread_p: Option<f64>,
    /// The same, corrected for the number of changes judged.
    pub spread_p_adjusted: Option<f64>,
    /// Points an arrow gained, the sight left alone.
    pub points_per_arrow: Option<f64>,
    /// Its interval.
    pub points_per_arrow_interval: Option<[f64; 2]>,
    /// Points an arrow gained once the sight is moved to bring the group back to the centre.
    pub points_per_arrow_resighted: Option<f64>,
    /// Its interval.
    pub points_per_arrow_resighted_interval: Option<[f64; 2]>,
    /// The verdict about the place of the groups.
    #[serde(rename = "where")]
    pub location: Location,
    /// The verdict about their spread.
    pub tight: Tightness,
    /// The shift that would have shown with a chance of 80 %.
    pub detectable_shift_mrad: Option<f64>,
    /// Further ends, half before and half after, that would settle the place.
    pub ends_to_settle: Option<u64>,
    /// What the shift cannot be told apart from: `session`, other changes, `sight LABEL`.
    pub inseparable_from: Vec<String>,
    /// Why something is null, and what else to know.
    pub notes: Vec<String>,
}

/// The verdict about the place of the groups.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Location {
    /// They moved.
    Moved,
    /// They did not move as much as matters.
    Held,
    /// The groups so far cannot tell.
    Unsettled,
    /// No number of such groups could tell.
    Inseparable,
}

/// The verdict about the spread of the groups.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum Tightness {
    /// They became smaller.
    Tighter,
    /// They became larger.
    Wider,
    /// They did not change as much as matters.
    Held,
    /// The groups so far cannot tell.
    Unsettled,
    /// No number of such groups could tell.
    Inseparable,
}
