//! Changes: what was altered on a bow at a moment.

use super::Kind;
use crate::id::ThingId;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;

/// A setting of a bow that a change can alter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Setting {
    /// Its field name, with the unit.
    pub field: &'static str,
    /// What the trade calls it.
    pub name: &'static str,
    /// Its unit: `mm`, `turns`, `lbf`, `in`, or empty for a name, a part or an arrow set.
    pub unit: &'static str,
    /// What it is read against.
    pub about: &'static str,
}

/// The settings, in the order in which the trade sets a bow up (common practice, no source).
pub const SETTINGS: &[Setting] = &[
    Setting { field: "limbs", name: "limbs", unit: "", about: "the pair of limbs on the bow" },
    Setting {
        field: "limb_bolt_top_turns",
        name: "top limb bolt",
        unit: "turns",
        about: "out from fully in; never past the maker's limit",
    },
    Setting {
        field: "limb_bolt_bottom_turns",
        name: "bottom limb bolt",
        unit: "turns",
        about: "out from fully in; never past the maker's limit",
    },
    Setting {
        field: "draw_weight_lbf",
        name: "draw weight",
        unit: "lbf",
        about: "on the fingers at full draw",
    },
    Setting { field: "string", name: "string", unit: "", about: "the string on the bow" },
    Setting { field: "string_twists", name: "string twists", unit: "turns", about: "twists in the string" },
    Setting {
        field: "brace_height_mm",
        name: "brace height",
        unit: "mm",
        about: "string to the deepest part of the grip",
    },
    Setting {
        field: "tiller_mm",
        name: "tiller",
        unit: "mm",
        about: "upper less lower limb-to-string distance",
    },
    Setting { field: "nocking_point_mm", name: "nocking point", unit: "mm", about: "above square" },
    Setting { field: "rest", name: "rest", unit: "", about: "the rest on the bow" },
    Setting {
        field: "centre_shot_mm",
        name: "centre shot",
        unit: "mm",
        about: "arrow point outside the string line",
    },
    Setting { field: "plunger", name: "plunger", unit: "", about: "the plunger on the bow" },
    Setting {
        field: "plunger_turns",
        name: "plunger",
        unit: "turns",
        about: "turns of the spring screw in from the softest",
    },
    Setting { field: "clicker_mm", name: "clicker", unit: "mm", about: "from the front of the grip" },
    Setting { field: "grip", name: "grip", unit: "", about: "the grip on the bow" },
    Setting { field: "sight", name: "sight", unit: "", about: "the sight on the bow" },
    Setting { field: "stabiliser", name: "stabiliser", unit: "", about: "the stabilisers on the bow" },
    Setting { field: "arrows", name: "arrows", unit: "", about: "the arrow set shot" },
];

/// Returns the setting with a field name.
pub fn setting(field: &str) -> Option<&'static Setting> {
    SETTINGS.iter().find(|s| s.field == field)
}

/// A change. Each setting is a field of its own, `set.<setting>`, so that two people who note
/// different settings of one change do not get in each other's way.
#[derive(Debug, Clone, Default, PartialEq, Serialize, Deserialize)]
#[serde(default)]
pub struct Change {
    /// The bow.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub bow: Option<ThingId>,
    /// When, RFC 3339 with its offset from UTC.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub at: Option<String>,
    /// Who made it.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub by: Option<ThingId>,
    /// The baseline that was put on, when it was one.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub baseline: Option<ThingId>,
    /// Anything else worth knowing.
    #[serde(skip_serializing_if = "Option::is_none")]
    pub note: Option<String>,
    /// Whether it was recorded by mistake.
    #[serde(skip_serializing_if = "std::ops::Not::not")]
    pub retired: bool,
    /// Everything else, among it `set.<setting>`.
    #[serde(flatten)]
    pub rest: BTreeMap<String, Value>,
}

impl Kind for Change {
    const NAME: &'static str = "change";
}

impl Change {
    /// Returns what was set: setting and value.
    pub fn settings(&self) -> impl Iterator<Item = (&str, &Value)> {
        self.rest.iter().filter_map(|(field, value)| Some((field.strip_prefix("set.")?, value)))
    }

    /// Sets a setting.
    pub fn set(&mut self, setting: &str, value: Value) {
        self.rest.insert(format!("set.{setting}"), value);
    }
}
