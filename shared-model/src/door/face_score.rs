//! `face-score` behind the door.

use super::{read::Field, write};
use crate::{
    ModelError,
    face::{Face, WIDEST_LEGAL_SHAFT_MM, WIDEST_SHAFT_MM},
    stats::face_score::face_score,
};
use serde_json::Value;

pub(super) const HELP: &str = "\
Input
  face               code such as \"wa_80\", or {\"zones\": [{\"points\": 10, \"outer_radius_mm\": 61}],
                     \"inner10_radius_mm\": 30.5}
  shaft_diameter_mm  0 to 20
  points_mm          list of [x, y] from the centre of the spot aimed at
Output
  points     list: what each arrow scores, 0 for a miss; a shaft that touches a line takes the
             higher ring
  inner_ten  list: whether it touches the inner ten (false on a face without one)
  notes      what to know about them
Units
  mm on the face, x to the right, y up
Source
  World Archery, Constitution and Rules, Book 2 (faces), Books 3 and 4 (line-cutters)
";

#[derive(serde::Serialize)]
struct Output {
    points: Vec<u32>,
    inner_ten: Vec<bool>,
    notes: Vec<String>,
}

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let face = Face::from_json(root.need("face")?.raw(), "face")?;
    let shaft = shaft_diameter(&root)?;
    let scores = face_score(&face, shaft, &root.need("points_mm")?.points(0)?);
    write::output(&Output {
        points: scores.iter().map(|score| score.points).collect(),
        inner_ten: scores.iter().map(|score| score.inner_ten).collect(),
        notes: shaft_notes(shaft),
    })
}

/// Reads the diameter of the shaft.
pub(super) fn shaft_diameter(root: &Field) -> Result<f64, ModelError> {
    root.need("shaft_diameter_mm")?.number_within(0.0, WIDEST_SHAFT_MM)
}

/// Returns what to know about a shaft.
pub(super) fn shaft_notes(shaft_diameter_mm: f64) -> Vec<String> {
    if shaft_diameter_mm <= WIDEST_LEGAL_SHAFT_MM {
        return Vec::new();
    }
    vec![format!(
        "A shaft of {shaft_diameter_mm} mm is wider than the {WIDEST_LEGAL_SHAFT_MM} mm that World Archery \
         allows; check the rules you shoot under."
    )]
}
