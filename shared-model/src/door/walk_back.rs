//! `walk-back` behind the door.

use super::{
    read::Field,
    shots::{confidence, groups, groups_help},
    write,
};
use crate::{ModelError, stats::walk_back::walk_back};
use serde_json::Value;

pub(super) const HELP: &str = concat!(
    "\
Input
",
    groups_help!(),
    "  confidence  from 0.5 to 0.9999 (0.95); 1 - confidence is also the level of the verdict
  All groups with one sight mark and one setup, from three distances or more.
Output
  distances   one each: distance_m, ends, arrows, mean_mm to the right, se_mm, straight_mm and
              curved_mm where the two fits lie
  basis       ends (from 4 degrees of freedom between ends of a distance on) or arrows; df;
              sigma_mrad
  lean        value in mm/m, to the right with the distance, of the straight line; interval,
              p, p_adjusted (Holm over lean and curve)
  curve       value in mm/m2 of the curve, with the same
  bend_mm, bend_interval_mm  how far right of its chord the curve lies in the middle
  curve_test  f, df1, df2, p of the curve against the straight line
  lack_of_fit the same of what the curve leaves, from four distances on
  aicc_difference  AICc of the straight line less that of the curve; above 0 for the curve
  preferred   straight or curved
  verdict     curved, leaning or not_shown; side left or right; meaning
  reading_source, conditions, notes
Units
  mm on the face, x to the archer's right, y up; mrad = mm at 1 m; distances in m
Source
  Draper and Smith, Applied Regression Analysis, 3rd ed. 1998; Hurvich and Tsai, Biometrika
  76 (1989) 297. What straight and curved mean: common practice, no source.
"
);

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    write::output(&walk_back(&groups(&root)?, confidence(&root)?)?)
}
