//! `bare-shaft` behind the door.

use super::{
    read::Field,
    shots::{confidence, groups, groups_help},
    write,
};
use crate::{
    ModelError,
    kind::{BowArm, Hook},
    stats::bare_shaft::{Asked, Dial, bare_shaft},
};
use serde_json::Value;

pub(super) const HELP: &str = concat!(
    "\
Input
",
    groups_help!(),
    "  confidence  from 0.5 to 0.9999 (0.95)
  bow_arm     \"left\" for an archer who shoots right-handed, or \"right\"; left and right are
              not read without it
  hook        \"split_finger\" or \"three_under\"
  dials       list of {setting, shift_per_unit_mrad}: how far a unit of the setting moves the
              bare shafts beside the fletched arrows, as this archer measured it
Output
  distance_m  the distance with the most arrows; ends that hold both, bare and fletched
              arrows in them; fletched_mpi_mm from the centre of the face
  difference_mrad, difference_mm  bare less fletched, right and high
  basis       ends (scatter of the differences, from three ends on) or within_end; df
  interval_mrad, interval_mm  by axis, both hold together; p by axis; hotelling, both axes
  sideways, up_down  shown (the interval leaves out nothing), side, reading: stiff, weak,
              nocking_point_low, nocking_point_high; null where not shown
  closing     one a dial: units to turn it by, left_over_mrad; for the axes that are shown
  reading_source, conditions, notes
Units
  mm on the face, x to the archer's right, y up; mrad = mm at 1 m; distances in m
Source
  Numbers: Johnson and Wichern, Applied Multivariate Statistical Analysis, 6th ed. 2007,
  sections 5.2 and 5.4. Readings: common practice, no source. They hold only where the
  fletched group is centred and the archer's form is steady. Stay within the limits of the
  makers, go in small steps, ask a qualified coach.
"
);

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let asked = Asked {
        bow_arm: bow_arm(&root)?,
        hook: hook(&root)?,
        dials: match root.find("dials") {
            Some(dials) => dials.list()?.iter().map(dial).collect::<Result<_, _>>()?,
            None => Vec::new(),
        },
    };
    write::output(&bare_shaft(&groups(&root)?, &asked, confidence(&root)?)?)
}

fn bow_arm(root: &Field) -> Result<Option<BowArm>, ModelError> {
    let Some(field) = root.find("bow_arm") else { return Ok(None) };
    match field.text()? {
        "left" => Ok(Some(BowArm::Left)),
        "right" => Ok(Some(BowArm::Right)),
        _ => Err(field.wrong("unknown_bow_arm", "has to be \"left\" or \"right\"")),
    }
}

fn hook(root: &Field) -> Result<Option<Hook>, ModelError> {
    let Some(field) = root.find("hook") else { return Ok(None) };
    match field.text()? {
        "split_finger" => Ok(Some(Hook::SplitFinger)),
        "three_under" => Ok(Some(Hook::ThreeUnder)),
        _ => Err(field.wrong("unknown_hook", "has to be \"split_finger\" or \"three_under\"")),
    }
}

fn dial(field: &Field) -> Result<Dial, ModelError> {
    let shift_per_unit_mrad = field.need("shift_per_unit_mrad")?.point()?;
    Ok(Dial { setting: field.need("setting")?.text()?.to_owned(), shift_per_unit_mrad })
}
