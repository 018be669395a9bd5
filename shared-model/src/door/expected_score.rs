//! `expected-score` behind the door.

use std::collections::BTreeMap;

use super::{
    face_score::{shaft_diameter, shaft_notes},
    read::Field,
    write,
};
use crate::{ModelError, face::Face, stats::expected_score::expected_score};
use serde_json::Value;

pub(super) const HELP: &str = "\
Input
  face               code such as \"wa_80\", or an object with zones (see face-score)
  shaft_diameter_mm  0 to 20
  mean_mm            [x, y] from the centre of the spot aimed at
  covariance_mm2     [[xx, xy], [xy, yy]]; no spread along one axis or both is allowed
Output
  zone_probability       object: the probability of each ring by its points, \"0\" for a miss
  inner_ten_probability  probability of touching the inner ten; null on a face without one
  points_per_arrow, sd_points_per_arrow
                         mean and standard deviation of one arrow's points
  notes                  what to know about them
Units
  mm and mm2 on the face, x to the right, y up; scores in points
Source
  The normal law over an offset circle: DiDonato and Jarnagin, Mathematics of Computation 15 (1961);
  line-cutters: World Archery, Constitution and Rules, Books 3 and 4
";

#[derive(serde::Serialize)]
struct Output {
    zone_probability: BTreeMap<String, f64>,
    inner_ten_probability: Option<f64>,
    points_per_arrow: f64,
    sd_points_per_arrow: f64,
    notes: Vec<String>,
}

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let face = Face::from_json(root.need("face")?.raw(), "face")?;
    let shaft = shaft_diameter(&root)?;
    let mean = root.need("mean_mm")?.point()?;
    let score = expected_score(&face, shaft, mean, covariance(&root.need("covariance_mm2")?)?)?;
    let mut notes = shaft_notes(shaft);
    if score.inner_ten_probability.is_none() {
        notes.push("The face has no inner ten.".to_owned());
    }
    write::output(&Output {
        zone_probability: score.zone_probability.iter().map(|(points, p)| (points.to_string(), *p)).collect(),
        inner_ten_probability: score.inner_ten_probability,
        points_per_arrow: score.points_per_arrow,
        sd_points_per_arrow: score.sd_points_per_arrow,
        notes,
    })
}

fn covariance(field: &Field) -> Result<[[f64; 2]; 2], ModelError> {
    let rows = field.points(2)?;
    match rows.as_slice() {
        [first, second] => Ok([*first, *second]),
        _ => Err(field.wrong("length_mismatch", "has to be two rows, [[xx, xy], [xy, yy]]")),
    }
}
