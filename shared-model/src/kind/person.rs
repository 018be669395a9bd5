//! People: who shoots, who shares, who coaches.

use super::Kind;
use crate::stats::fit::draw_length_in;
use serde::{Deserialize, Serialize};

/// A person of the team.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Person {
    /// What the team calls the person.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub name: Option<String>,
    /// The arm that holds the bow.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bow_arm: Option<BowArm>,
    /// How the fingers hold the string.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub hook: Option<Hook>,
    /// ATA/AMO draw length in inches.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub draw_length_in: Option<f64>,
    /// Draw measured from the nocking point to the pivot point of the grip, inches: the draw length less 1.75 in.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub pivot_draw_in: Option<f64>,
    /// Anything else worth knowing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Whether the person has left.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub retired: bool,
}

impl Person {
    /// Returns the draw length by the AMO measure, in: as it is noted, or from the draw to the pivot point of the grip.
    pub fn draw_in(&self) -> Option<f64> {
        self.draw_length_in.or_else(|| draw_length_in(self.pivot_draw_in?).ok())
    }
}

/// The arm that holds the bow: `left` for an archer who shoots right-handed.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "lowercase")]
pub enum BowArm {
    /// The left arm: a right-handed archer.
    Left,
    /// The right arm: a left-handed archer.
    Right,
}

/// How the fingers hold the string.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "snake_case")]
pub enum Hook {
    /// One finger above the nock, two below.
    SplitFinger,
    /// Three fingers under the nock.
    ThreeUnder,
}

impl Kind for Person {
    const NAME: &'static str = "person";
}
