//! `numbered-arrows` behind the door.

use super::{
    read::Field,
    shots::{confidence, groups, groups_help},
    write,
};
use crate::{ModelError, stats::numbered_arrows::numbered_arrows};
use serde_json::Value;

pub(super) const HELP: &str = concat!(
    "\
Input
",
    groups_help!(),
    "  confidence  from 0.5 to 0.9999 (0.95); 1 - confidence is also the level of the verdicts
Output
  distance_m  the distance with the most arrows; ends (of three arrows or more); flyers and
              bare left out; judged, the number of arrows that could be judged
  arrows      one a number:
    number, n (ends in which it is compared with two others or more)
    offset_mrad, offset_mm  right and high of those others of its ends that are not apart
    ellipse_mrad, ellipse_mm  semi_major, semi_minor, angle_deg of the offset's ellipse
    p  of no offset; p_without_farthest  the same without the end in which the arrow lay
       farthest from its own mean; p_adjusted  the larger of both, Holm over all judged
    verdict  apart (p_adjusted below 1 - confidence) or not_shown
    suspect  below it without the correction; more_ends  further ends that would find a
             suspect's present offset with a power of 0.8; null where over 10,000
    notes
Units
  mm on the face, x to the archer's right, y up; mrad = mm at 1 m; distances in m
Source
  Hotelling, Ann. Math. Statist. 2 (1931) 360; Holm, Scand. J. Statist. 6 (1979) 65; Berger,
  Technometrics 24 (1982) 295; noncentral F: Abramowitz and Stegun 26.6.18
"
);

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    write::output(&numbered_arrows(&groups(&root)?, confidence(&root)?)?)
}
