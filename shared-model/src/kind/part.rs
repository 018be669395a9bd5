//! Parts that go on a bow and come off again.

use super::{Hook, Kind};
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

/// What limbs can be.
pub const LIMB_KIND: &[&str] = &["recurve", "longbow"];

/// A part. Where its maker gives a limit and the archer knows it, the limit stands with it: it comes before every figure.
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
    /// One of [`LIMB_KIND`].
    #[serde(skip_serializing_if = "Option::is_none")]
    pub limb_kind: Option<String>,
    /// Weight marked on limbs, lbf.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub marked_weight_lbf: Option<f64>,
    /// Draw length at which that weight was marked, inches; 28 where nothing else is said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub marked_draw_in: Option<f64>,
    /// Length of the riser on which that weight was marked, inches; 25 where nothing else is said.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub marked_riser_in: Option<f64>,
    /// Strands of a string.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub strands: Option<u32>,
    /// Twists of a string as it was made.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub twists: Option<f64>,
    /// What it is made of.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub material: Option<String>,
    /// Its mass in g.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub mass_g: Option<f64>,
    /// What the limb pockets of a riser let one adjust, in words.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pocket: Option<String>,
    /// The hook that a tab is made for.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hook: Option<Hook>,
    /// Fewest turns that the maker lets a limb bolt be out from fully in.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_bolt_turns: Option<f64>,
    /// Most turns that the maker lets a limb bolt be out from fully in.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub most_bolt_turns: Option<f64>,
    /// Least draw weight that its maker allows or makes it for, lbf.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_weight_lbf: Option<f64>,
    /// Most draw weight that its maker allows, lbf.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub most_weight_lbf: Option<f64>,
    /// Longest draw that the maker of limbs allows, inches.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub most_draw_in: Option<f64>,
    /// Least brace height that its maker allows, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_brace_mm: Option<f64>,
    /// Most brace height that its maker allows, mm.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub most_brace_mm: Option<f64>,
    /// Least mass of an arrow that its maker allows, grains.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_arrow_gr: Option<f64>,
    /// Least grains of arrow on each pound of draw weight that its maker allows.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub least_grains_per_pound: Option<f64>,
    /// After so many arrows the archer wants to be reminded to look it over or replace it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub remind_at_arrows: Option<u32>,
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
