//! Bows: a riser and whatever is on it; what is on it follows from its changes.

use super::Kind;
use serde::{Deserialize, Serialize};

/// What a bow can be shot for.
pub const DISCIPLINES: &[&str] = &["target", "field", "3d", "hunting"];

/// A bow.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Bow {
    /// What the team calls it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// Length of its riser in inches.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub riser_in: Option<f64>,
    /// What it is shot for: one of [`DISCIPLINES`].
    #[serde(skip_serializing_if = "Option::is_none")]
    pub discipline: Option<String>,
    /// Anything else worth knowing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Whether it is out of use.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub retired: bool,
}

impl Kind for Bow {
    const NAME: &'static str = "bow";
}
