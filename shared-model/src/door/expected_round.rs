//! `expected-round` behind the door.

use super::{effects::group, face_score::shaft_diameter, read::Field, write};
use crate::{
    ModelError,
    face::Face,
    rng::Seed,
    stats::expected_round::{Part, expected_round},
};
use serde_json::Value;

pub(super) const HELP: &str = "\
Input
  groups  what was shot lately, as for `effects`: list of {at, distance_m, points_mm} and, where
          known, session, end, flyers, misses (arrows not found, a count); shot with one sight
          setting a distance
  round   list of {face, distance_m, arrows} and, where known, arrows_per_end (6); a face is a code
          or zones (see face-score)
  shaft_diameter_mm  0 to 20
  confidence         of the intervals, between 0 and 1 (0.95)
Output
  points, points_interval  expected points of the round, and the interval in which one round lies
  most_points              what the round gives at most
  lost_to_spread_points    with the mean on the centre
  lost_to_mean_points, lost_to_mean_points_interval  what a sight correction is worth at
                           the distances that were shot; null where none was
  lost_to_strays_points    to misses and flyers, by their share: a miss scores nothing, a flyer
                           where it struck; points_interval holds them too
  parts     with arrows of the spread: distance_m, points_per_arrow, points_per_arrow_centred, mean_mm, sd_mm
  sessions, arrows, misses, flyers  that it rests on; notes
Units
  mm on the face, m, points
Source
  REML with nested random effects and draws of parameters: Gelman and others, Bayesian Data
  Analysis, 3rd ed. (2013), section 3. A round shot as practice was; nerves and wind are not known.
";

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let list = root.need("groups")?.list()?;
    let groups = list.iter().map(group).collect::<Result<Vec<_>, _>>()?;
    let misses =
        list.iter().map(|g| g.find("misses").map_or(Ok(0), |f| f.count())).collect::<Result<Vec<_>, _>>()?;
    let misses = misses.into_iter().fold(0, usize::saturating_add);
    let round = root.need("round")?.list()?.iter().map(part).collect::<Result<Vec<_>, _>>()?;
    let shaft = shaft_diameter(&root)?;
    let confidence = root.find("confidence").map_or(Ok(0.95), |f| f.fraction())?;
    write::output(&expected_round(&groups, misses, &round, shaft, confidence, Seed(1))?)
}

fn part(field: &Field) -> Result<Part, ModelError> {
    let face = field.need("face")?;
    Ok(Part {
        face: Face::from_json(face.raw(), face.path())?,
        distance_m: field.need("distance_m")?.number_above_zero()?,
        arrows: field.need("arrows")?.count()?,
        arrows_per_end: field.find("arrows_per_end").map_or(Ok(6), |f| f.count())?,
    })
}
