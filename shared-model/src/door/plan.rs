//! `plan` and `plan-verdict` behind the door.

use super::{read::Field, write};
use crate::{
    ModelError,
    rng::Seed,
    stats::{
        plan::{Wanted, plan},
        plan_verdict::{PlannedEnd, Promise, plan_verdict},
    },
};
use serde_json::Value;

pub(super) const HELP: &str = "\
Input
  shift_mrad  the shift to find, or
  sd_ratio    the SD ratio to find, B over A; or both
  sd_end_mrad, sd_arrow_mrad  the archer's SDs by axis, as `day-to-day` gives them
  arrows_per_end      2 to 500
  power               chance to find it (0.8)
  alpha               error rate of the verdict (0.05)
  minutes_per_end     (6)
  minutes_per_change  from one setup to the other (5)
  seed                whole number from which the order is drawn
Output
  blocks, ends, order  blocks of four ends, ABBA or BAAB by lot, each shot within one session
  power_shift, power_spread  chance to find them by the last block
  median_blocks  after which half of such experiments have found it
  changes, minutes
Units
  mrad (mm at 1 m), minutes
Source
  Cox, Planning of Experiments (1958), chapter 14, from memory; the running t-test that may be
  looked at after every end: Perez-Ortiz, Lardy, de Heide and Gruenwald, Annals of Statistics 52
  (2024), from memory
";

pub(super) const HELP_VERDICT: &str = "\
Input
  order       the plan's: A or B for every end, whole blocks of four
  ends        list of {place, session, points_mrad}: place in the order, from 0; by time. A block
              counts for every session in which all four of its ends were shot
  now         the session under way, or how its name begins: what was begun in another is begun anew
  alpha       error rate (0.05)
  shift_mrad, sd_ratio  what was to be found; either may be left out
Output
  place, spread  changed, held (within what was to be found) or unsettled
  shift_mrad, shift_interval_mrad  B less A by axis, with the confidence sequence at this look
  sd_ratio, sd_ratio_interval      SD of B over that of A
  may_stop    whether all that was to be found is settled
  next, anew  place of the next end; null when all are shot; whether it begins its block anew
  ends, ends_waiting, ends_planned, blocks, blocks_planned, blocks_split  shot and planned; waiting
              for the others of their block; blocks of all four ends, in no session together
Units
  mrad (mm at 1 m), x to the archer's right, y up
Source
  as `plan`; the error rate holds however often it is asked
";

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let maybe = |name| root.find(name).map(|f: Field| f.number()).transpose();
    let seed = root.need("seed")?.count()? as u64;
    let wanted = Wanted {
        shift_mrad: maybe("shift_mrad")?,
        sd_ratio: maybe("sd_ratio")?,
        power: maybe("power")?.unwrap_or(0.8),
        alpha: maybe("alpha")?.unwrap_or(0.05),
        sd_end_mrad: root.need("sd_end_mrad")?.point()?,
        sd_arrow_mrad: root.need("sd_arrow_mrad")?.point()?,
        arrows_per_end: root.need("arrows_per_end")?.count()?,
        minutes_per_end: maybe("minutes_per_end")?.unwrap_or(6.0),
        minutes_per_change: maybe("minutes_per_change")?.unwrap_or(5.0),
    };
    write::output(&plan(&wanted, Seed(seed))?)
}

pub(super) fn run_verdict(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let order = order(&root.need("order")?)?;
    let ends = root.need("ends")?.list()?;
    let ends = ends.iter().map(|f| end(f, order.len())).collect::<Result<Vec<_>, _>>()?;
    let maybe = |name| root.find(name).map(|f: Field| f.number_above_zero()).transpose();
    let promise = Promise {
        order,
        alpha: root.find("alpha").map_or(Ok(0.05), |f| f.number_within(1e-6, 0.5))?,
        shift_mrad: maybe("shift_mrad")?,
        sd_ratio: maybe("sd_ratio")?,
    };
    let now = root.find("now").map(|f| f.text()).transpose()?;
    write::output(&plan_verdict(&promise, &ends, now))
}

fn order(field: &Field) -> Result<String, ModelError> {
    let order = field.text()?;
    let blocks = order.len().is_multiple_of(4) && (4..=800).contains(&order.len());
    if blocks && order.bytes().all(|b| b == b'A' || b == b'B') {
        return Ok(order.to_owned());
    }
    Err(field.wrong("out_of_range", "has to be of the letters A and B, four for every block, at most 800"))
}

fn end(field: &Field, planned: usize) -> Result<PlannedEnd, ModelError> {
    let at = field.need("place")?;
    let place = at.count()?;
    if place >= planned {
        return Err(at.wrong("out_of_range", format_args!("is {place}; the plan has {planned} ends, from 0")));
    }
    Ok(PlannedEnd {
        place,
        session: field.need("session")?.label()?,
        points_mrad: field.need("points_mrad")?.points(1)?,
    })
}
