//! `arrow` behind the door.

use super::{read::Field, write};
use crate::{
    ModelError,
    rig::arrow::{foc_percent, ftlbf, grains_per_pound, kinetic_energy_j, momentum_kg_m_s},
};
use serde_json::{Map, Value, json};

pub(super) const HELP: &str = "\
Input
  any of these, each above 0
  length_in             nock groove to the front end of the shaft
  balance_from_nock_in  nock groove to the balance point
  mass_gr               the whole arrow
  speed_fps             at release
  draw_weight_lbf       on the fingers
Output
  what follows from them
  foc_percent           balance in front of the middle, from length and balance
  kinetic_energy_ftlbf, kinetic_energy_j, momentum_kg_m_s  from mass and speed
  grains_per_pound      from mass and draw weight
Units
  as the names say; 1 gr = 64.79891 mg, 1 ft = 0.3048 m
Source
  FOC: from memory (AMO definition); common practice, no source. Conversions: NIST SP 811. How light
  an arrow may be for a bow is the word of the bow's maker.
";

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let number = |name, most: f64| {
        let Some(field) = root.find(name) else { return Ok(None) };
        let value = field.number_above_zero()?;
        if value <= most {
            return Ok(Some(value));
        }
        Err(field.wrong("out_of_range", format_args!("is {value}; at most {most}. Is it in another unit?")))
    };
    let (length, balance) = (number("length_in", 60.0)?, number("balance_from_nock_in", 60.0)?);
    let (mass, speed) = (number("mass_gr", 3000.0)?, number("speed_fps", 700.0)?);
    let weight = number("draw_weight_lbf", 200.0)?;
    if let (Some(l), Some(b)) = (length, balance)
        && b > l
    {
        let message = format!(
            "the balance point at {b} in lies beyond the shaft of {l} in; measure both from the nock groove"
        );
        return Err(ModelError::new("out_of_range", message).at("balance_from_nock_in"));
    }
    let found = follows([length, balance], mass, speed, weight);
    if found.is_empty() {
        let message = "Nothing follows from this: give length_in with balance_from_nock_in, mass_gr with \
                       speed_fps, or mass_gr with draw_weight_lbf.";
        return Err(ModelError::new("missing_field", message).at("mass_gr"));
    }
    write::output(&found)
}

fn follows(
    balanced: [Option<f64>; 2],
    mass: Option<f64>,
    speed: Option<f64>,
    weight: Option<f64>,
) -> Map<String, Value> {
    let mut found = Map::new();
    let mut put = |name: &str, value: f64| found.insert(name.to_owned(), json!(value));
    if let [Some(length), Some(balance)] = balanced {
        put("foc_percent", foc_percent(length, balance));
    }
    if let (Some(mass), Some(speed)) = (mass, speed) {
        let joules = kinetic_energy_j(mass, speed);
        put("kinetic_energy_ftlbf", ftlbf(joules));
        put("kinetic_energy_j", joules);
        put("momentum_kg_m_s", momentum_kg_m_s(mass, speed));
    }
    if let (Some(mass), Some(weight)) = (mass, weight) {
        put("grains_per_pound", grains_per_pound(mass, weight));
    }
    found
}
