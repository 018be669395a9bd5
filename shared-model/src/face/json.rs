//! A face in JSON: a code, or an object with zones.

use serde::de::Error as _;
use serde::ser::SerializeMap as _;
use serde::{Deserialize, Deserializer, Serialize, Serializer};
use serde_json::{Value, json};

use super::{Face, Zone};
use crate::ModelError;

impl Face {
    /// Reads a face from its code or from an object with zones; errors name their field within `field`.
    pub fn from_json(value: &Value, field: &str) -> Result<Self, ModelError> {
        let face = match value {
            Value::String(code) => {
                return Self::by_code(code).map_err(|error| {
                    let told =
                        format!("{} (or give a face of your own as an object with zones)", error.message);
                    ModelError::new(error.code, told).at(field)
                });
            }
            Value::Object(_) => own_face(value),
            other => Err(ModelError::new(
                "wrong_type",
                format!("a face is a code such as \"wa_80\" or an object with zones, not {}", kind_of(other)),
            )),
        };
        face.map_err(|error| match error.field.clone() {
            Some(inner) => error.at(format!("{field}.{inner}")),
            None => error.at(field),
        })
    }
}

impl<'de> Deserialize<'de> for Face {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let value = Value::deserialize(deserializer)?;
        Self::from_json(&value, "face").map_err(D::Error::custom)
    }
}

impl Serialize for Face {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        if let Some(code) = self.code {
            return serializer.serialize_str(code);
        }
        let zones: Vec<Value> = self
            .zones
            .iter()
            .map(|zone| json!({"points": zone.points, "outer_radius_mm": zone.outer_radius_mm}))
            .collect();
        let mut map = serializer.serialize_map(Some(2))?;
        map.serialize_entry("zones", &zones)?;
        map.serialize_entry("inner10_radius_mm", &self.inner10_radius_mm)?;
        map.end()
    }
}

fn own_face(value: &Value) -> Result<Face, ModelError> {
    let zones = value
        .get("zones")
        .ok_or_else(|| ModelError::new("missing_field", "a face of your own needs its zones").at("zones"))?;
    let zones = zones
        .as_array()
        .ok_or_else(|| ModelError::new("wrong_type", "zones must be a list").at("zones"))?
        .iter()
        .enumerate()
        .map(|(index, zone)| own_zone(zone, index))
        .collect::<Result<Vec<_>, _>>()?;
    let inner10 = match value.get("inner10_radius_mm") {
        None | Some(Value::Null) => None,
        Some(radius) => Some(radius.as_f64().ok_or_else(|| {
            ModelError::new("wrong_type", "the inner ten's radius must be a number of mm, or null")
                .at("inner10_radius_mm")
        })?),
    };
    Face::own(zones, inner10)
}

fn own_zone(zone: &Value, index: usize) -> Result<Zone, ModelError> {
    let wrong = |name: &str, what: &str| {
        ModelError::new("wrong_type", format!("zone {} needs {name}, {what}", index + 1))
            .at(format!("zones[{index}].{name}"))
    };
    let points = zone
        .get("points")
        .and_then(Value::as_u64)
        .and_then(|points| u32::try_from(points).ok())
        .ok_or_else(|| wrong("points", "a whole number from 1 to 1000"))?;
    let outer_radius_mm = zone
        .get("outer_radius_mm")
        .and_then(Value::as_f64)
        .ok_or_else(|| wrong("outer_radius_mm", "a number of mm"))?;
    Ok(Zone { points, outer_radius_mm, colour: None })
}

fn kind_of(value: &Value) -> &'static str {
    match value {
        Value::Null => "null",
        Value::Bool(_) => "true or false",
        Value::Number(_) => "a number",
        Value::String(_) => "text",
        Value::Array(_) => "a list",
        Value::Object(_) => "an object",
    }
}
