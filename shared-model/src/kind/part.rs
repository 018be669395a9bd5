//! Parts that go on a bow and come off again.

use super::Kind;
use serde::{Deserialize, Serialize};

/// What a part can be, in the trade's words.
pub const WHAT: &[&str] = &[
    "riser",
    "limbs",
    "string",
    "rest",
    "plunger",
    "grip",
    "sight",
    "stabiliser",
    "clicker",
    "tab",
    "other",
];

/// A part.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Part {
    /// What the team calls it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// One of [`WHAT`].
    #[serde(skip_serializing_if = "Option::is_none")]
    pub what: Option<String>,
    /// Length in inches: of a riser, or of the bow that a string is for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub length_in: Option<f64>,
    /// Limb length class: short, medium or long.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limb_length: Option<String>,
    /// Weight marked on limbs, lbf.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub marked_weight_lbf: Option<f64>,
    /// Strands of a string.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub strands: Option<u32>,
    /// Anything else worth knowing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Whether it is out of use.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub retired: bool,
}

impl Kind for Part {
    const NAME: &'static str = "part";
}
