//! Arrow sets.

use super::Kind;
use serde::{Deserialize, Serialize};

/// A set of arrows made alike.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Arrows {
    /// What the team calls the set.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// How many arrows.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub count: Option<u32>,
    /// Outer diameter of the shaft in mm, which decides line cutters.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub shaft_diameter_mm: Option<f64>,
    /// Static spine: thousandths of an inch of deflection (ASTM F2031).
    #[serde(skip_serializing_if = "Option::is_none")]
    pub spine: Option<f64>,
    /// Length in inches, nock groove to the front end of the shaft.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub length_in: Option<f64>,
    /// Mass of a finished arrow in grains.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mass_gr: Option<f64>,
    /// Mass of the pile in grains.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pile_gr: Option<f64>,
    /// Anything else worth knowing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Whether the set is out of use.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub retired: bool,
}

impl Kind for Arrows {
    const NAME: &'static str = "arrows";
}
