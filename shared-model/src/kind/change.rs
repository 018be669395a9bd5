//! Changes: what was altered on a bow at a moment.

use super::Kind;
use crate::id::ThingId;
use serde::{Deserialize, Serialize};
use serde_json::Value;
use std::collections::BTreeMap;

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
    /// Returns what was set: setting and value; one that was taken out again has none.
    pub fn settings(&self) -> impl Iterator<Item = (&str, &Value)> {
        let set = self.rest.iter().filter(|(_, value)| !value.is_null());
        set.filter_map(|(field, value)| Some((field.strip_prefix("set.")?, value)))
    }

    /// Sets a setting.
    pub fn set(&mut self, setting: &str, value: Value) {
        self.rest.insert(format!("set.{setting}"), value);
    }
}
