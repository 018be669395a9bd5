//! `compare` behind the door.

use super::{read::Field, write};
use crate::{ModelError, stats::compare::compare};
use serde_json::Value;

pub(super) const HELP: &str = "\
Input
  before_mm, after_mm  lists of points [x, y], one or more each
  confidence           of the interval, between 0 and 1 (0.95)
Output
  shift_mm           after minus before
  hotelling          {t2, f, df1, df2, p}: no shift, both groups of one covariance
  hotelling_unequal  the same, each group with its own covariance
  spread             {sd_ratio, sd_ratio_interval, p}: after over before
  n, notes           arrows on each side; what is null, and why
Units
  mm on the face, x to the archer's right, y up
Source
  Hotelling, Annals of Mathematical Statistics 2 (1931) 360; Krishnamoorthy and Yu, Statistics and
  Probability Letters 66 (2004) 161. Ends and sessions are not known here: for a season, `effects`.
";

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let before = root.need("before_mm")?.points(1)?;
    let after = root.need("after_mm")?.points(1)?;
    let confidence = root.find("confidence").map_or(Ok(0.95), |f| f.fraction())?;
    write::output(&compare(&before, &after, confidence)?)
}
