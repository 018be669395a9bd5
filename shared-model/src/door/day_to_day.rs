//! `day-to-day` behind the door.

use super::{effects, read::Field, write};
use crate::{ModelError, stats::day_to_day::day_to_day};
use serde_json::Value;

pub(super) const HELP: &str = "\
Input
  as for `effects` (see `sheaf compute effects --help`); face and judge play no part
Output
  session, at, sessions, ends, ends_before  the last session and what it is set against
  mean, spread  different, not-shown or cannot-tell
  shift_mrad, shift_interval_mrad, shift_p  the last session's mean less that of the others
  sd_ratio, sd_ratio_interval, spread_p     its SD over theirs
  inseparable_from  changes before it, or a sight move, that cannot be told from the day
  sd_session_mrad, sd_end_mrad, sd_arrow_mrad  SDs by axis: of a session's mean, of an end's
                    mean within its session, of an arrow about its end
  session_log_sd    SD of the log SD from session to session: 0.1 is a tenth more or less
  distance_m, notes
Units
  mm on the face, x to the archer's right, y up; mrad = mm at 1 m; distances in m
Source
  REML with nested random effects; Kenward and Roger, Biometrics 53 (1997)
";

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let mut asked = effects::read(&Field::root(input)?)?;
    asked.judge = None;
    write::output(&day_to_day(&asked)?)
}
