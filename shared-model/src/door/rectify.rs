//! `rectify` behind the door.

use super::{read::Field, write};
use crate::{ModelError, rig::rectify::Rectifier};
use serde_json::{Value, json};

pub(super) const HELP: &str = "\
Input
  points_px  points in the picture that are asked for
  either
  image_px   four references or more in the picture
  plane_mm   the same on the face, in the same order
  or
  ring_px         five taps or more around one ring
  ring_radius_mm  its radius on the face
  centre_px       the centre of the face in the picture
  top_px          a point straight above it
Output
  points_mm  where the points lie on the face; null beyond the horizon of the picture
  notes      what is null, and why
Units
  pixels, y down; mm on the face, x to the archer's right, y up
Source
  Hartley and Zisserman, Multiple View Geometry, 2nd ed. (2004), algorithm 4.2; conics: 2.2.3, 2.7.
  A flat face and a lens without distortion are taken for granted.
";

/// References or taps that one question may hold.
const MOST: usize = 500;

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let asked = root.need("points_px")?.points(0)?;
    let map = map(&root)?;
    let found: Vec<Option<[f64; 2]>> = asked.iter().map(|p| map.to_mm(*p)).collect();
    let beyond = found.iter().filter(|p| p.is_none()).count();
    let notes: Vec<String> = (beyond > 0)
        .then(|| format!("{beyond} of the points lie beyond the horizon of the picture"))
        .into_iter()
        .collect();
    write::output(&json!({"points_mm": found, "notes": notes}))
}

fn map(root: &Field) -> Result<Rectifier, ModelError> {
    if let Some(ring) = root.find("ring_px") {
        let radius = root.need("ring_radius_mm")?.number_above_zero()?;
        let (centre, top) = (root.need("centre_px")?.point()?, root.need("top_px")?.point()?);
        return Rectifier::from_ring(&few(&ring)?, radius, centre, top);
    }
    let (image, plane) = (root.need("image_px")?, root.need("plane_mm")?);
    Rectifier::from_references(&few(&image)?, &few(&plane)?)
}

fn few(field: &Field) -> Result<Vec<[f64; 2]>, ModelError> {
    let points = field.points(0)?;
    if points.len() <= MOST {
        return Ok(points);
    }
    Err(field.wrong("too_many", format_args!("has {} points; at most {MOST}", points.len())))
}
