//! Arrow sets.

use super::Kind;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;

/// What shafts can be made of.
pub const MATERIALS: &[&str] = &["carbon", "aluminium", "carbon_aluminium", "wood", "glass", "other"];

/// A set of arrows made alike. What is known of one of them is a field of its own, `shaft.<number>.<field>`, so that two
/// people who measure different shafts do not get in each other's way.
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
    /// Distance of the balance point from the nock groove in inches.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub balance_from_nock_in: Option<f64>,
    /// What the shafts are made of: one of [`MATERIALS`].
    #[serde(skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    /// The nocks, in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub nock: Option<String>,
    /// The fletching, in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub fletching: Option<String>,
    /// After so many shots of the set the archer wants to be reminded to look it over.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub remind_at_arrows: Option<u32>,
    /// Anything else worth knowing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Whether the set is out of use.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub retired: bool,
    /// Everything else, among it `shaft.<number>.<field>`.
    #[serde(flatten)]
    pub rest: BTreeMap<String, Value>,
}

impl Kind for Arrows {
    const NAME: &'static str = "arrows";
}
