//! `trajectory` behind the door.

use super::{read::Field, write};
use crate::{ModelError, rig::trajectory::Launch};
use serde_json::{Value, json};

pub(super) const HELP: &str = "\
Input
  speed_m_s          at release, 1 to 200
  launch_angle_deg   above the horizontal, -80 to 80
  mass_g             1 to 200
  diameter_mm        of the shaft, 1 to 30
  cd                 drag coefficient on the shaft's cross-section, 0 to 20
  air_density_kg_m3  0 to 2
  x_m                a distance or a list of distances, 0 to 1000
Output
  time_s, y_m, speed_m_s  at x_m; null in a list where the arrow does not get
  notes                   what is null, and why
Units
  m, s, m/s; height above the point of release
Source
  point mass with quadratic drag, g = 9.80665 m/s2; Runge-Kutta: Abramowitz and Stegun 25.5.10
";

/// Distances that one question may ask for.
const MOST: usize = 200;

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let number = |name| root.need(name)?.number();
    let launch = Launch {
        speed_m_s: number("speed_m_s")?,
        launch_angle_deg: number("launch_angle_deg")?,
        mass_g: number("mass_g")?,
        diameter_mm: number("diameter_mm")?,
        cd: number("cd")?,
        air_density_kg_m3: number("air_density_kg_m3")?,
    };
    let field = root.need("x_m")?;
    if !field.raw().is_array() {
        let x = field.number()?;
        let there = launch.at(x)?.ok_or_else(|| {
            field.wrong("not_computable", format_args!("is {x} m, which this arrow does not reach"))
        })?;
        return write::output(
            &json!({"time_s": there.time_s, "y_m": there.y_m, "speed_m_s": there.speed_m_s, "notes": []}),
        );
    }
    let asked = field.numbers(1)?;
    if asked.len() > MOST {
        return Err(field.wrong("too_many", format_args!("has {} distances; at most {MOST}", asked.len())));
    }
    let at = |(i, x): (usize, &f64)| launch.at(*x).map_err(|e| place(e, i));
    let found = asked.iter().enumerate().map(at).collect::<Result<Vec<_>, _>>()?;
    let missing = asked.iter().zip(&found).filter(|(_, f)| f.is_none());
    let notes: Vec<String> = missing.map(|(x, _)| format!("{x} m: the arrow does not get there")).collect();
    write::output(&json!({
        "time_s": found.iter().map(|f| f.map(|p| p.time_s)).collect::<Vec<_>>(),
        "y_m": found.iter().map(|f| f.map(|p| p.y_m)).collect::<Vec<_>>(),
        "speed_m_s": found.iter().map(|f| f.map(|p| p.speed_m_s)).collect::<Vec<_>>(),
        "notes": notes,
    }))
}

fn place(e: ModelError, i: usize) -> ModelError {
    if e.field.as_deref() == Some("x_m") { e.at(format!("x_m[{i}]")) } else { e }
}
