//! What `effects` is asked.

use serde::{Deserialize, Serialize};

use crate::{face::Face, moment::Moment};

/// Groups and the changes between them.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct EffectsInput {
    /// Confidence of the intervals, from 0.5 to below 1.
    #[serde(default = "usual_confidence")]
    pub confidence: f64,
    /// The face that points are counted on; without it there is no worth.
    #[serde(default)]
    pub face: Option<Face>,
    /// Diameter of the shaft in mm; 0 counts a line-cutter as the ring its centre is in.
    #[serde(default)]
    pub shaft_diameter_mm: f64,
    /// The smallest shift in mm that matters, at the distance with the most arrows; half the SD within an
    /// end when left out.
    #[serde(default)]
    pub matters_mm: Option<f64>,
    /// Whether stretches between changes have noise of their own.
    #[serde(default)]
    pub noise: Noise,
    /// The changes whose verdict is asked; all when left out.
    #[serde(default)]
    pub judge: Option<Vec<String>>,
    /// What was altered, and when.
    pub changes: Vec<Change>,
    /// What was shot, and when.
    pub groups: Vec<Group>,
}

impl Default for EffectsInput {
    fn default() -> Self {
        Self {
            confidence: usual_confidence(),
            face: None,
            shaft_diameter_mm: 0.0,
            matters_mm: None,
            noise: Noise::BySpread,
            judge: None,
            changes: Vec::new(),
            groups: Vec::new(),
        }
    }
}

fn usual_confidence() -> f64 {
    0.95
}

/// The variance of an arrow about its end.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Noise {
    /// One for all groups.
    Equal,
    /// That of each stretch between changes scaled by the spread fitted to it.
    #[default]
    BySpread,
}

/// A change of a bow.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Change {
    /// Its name, unique among the changes.
    pub id: String,
    /// When.
    pub at: Moment,
}

/// Arrows shot one after the other.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Group {
    /// When.
    pub at: Moment,
    /// The session; the day of `at` when left out.
    #[serde(default)]
    pub session: Option<String>,
    /// The end within its session; the group itself when left out.
    #[serde(default)]
    pub end: Option<String>,
    /// Distance in m, above 0.
    pub distance_m: f64,
    /// Where the arrows landed, mm from the centre, x to the right, y up.
    pub points_mm: Vec<[f64; 2]>,
    /// Places in `points_mm`, from 0, of arrows that are left out of the fit.
    #[serde(default)]
    pub flyers: Vec<usize>,
    /// The sight's setting, where its scale is not known.
    #[serde(default)]
    pub sight: Option<String>,
    /// Where the sight pointed in mrad, from a zero that all such groups share.
    #[serde(default)]
    pub sight_offset_mrad: Option<[f64; 2]>,
}
