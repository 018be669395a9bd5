//! `deal` behind the door.

use super::{read::Field, write};
use crate::{
    ModelError,
    rng::Seed,
    stats::deal::{DealtEnd, deal},
};
use serde_json::Value;

pub(super) const HELP: &str = "\
Input
  ends   list of {mean_mrad, after, session, sight}: the mean point of an end, whether it was shot
         after the change, the session and the sight's setting (both may be left out)
  deals  how many at most, 1 to 100000 (10000)
  seed   whole number from which deals are drawn, where there are more than that
Output
  shift_mrad, distance_mrad  mean after less mean before, within sessions where they hold both
  deals, reach, share  deals counted, the one as it was shot among them; those that reach it
  least_share      the least share that can come out of so many deals
  possible, all    how many different deals there are; whether all of them were counted
  within_sessions, strata  whether dealt within sessions; how many hold both sides
  ends, ends_left_out      ends before and after that were dealt; the others
Units
  mrad (mm at 1 m), x to the archer's right, y up
Source
  Fisher, The Design of Experiments (1935), chapter 3; Edgington and Onghena, Randomization Tests
  (2007); Phipson and Smyth, Stat. Appl. Genet. Mol. Biol. 9 (2010), article 39; from memory
";

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let ends = root.need("ends")?.list()?.iter().map(end).collect::<Result<Vec<_>, _>>()?;
    let most = root.find("deals").map_or(Ok(10_000), |f| f.count())?;
    let seed = root.find("seed").map_or(Ok(0), |f| f.count())? as u64;
    write::output(&deal(&ends, most, Seed(seed))?)
}

fn end(field: &Field) -> Result<DealtEnd, ModelError> {
    let label = |name| field.find(name).map_or_else(|| Ok(String::new()), |f: Field| f.label());
    let after = field.need("after")?;
    let Some(side) = after.raw().as_bool() else {
        return Err(after.wrong("wrong_type", "has to be true or false"));
    };
    Ok(DealtEnd {
        mean_mrad: field.need("mean_mrad")?.point()?,
        after: side,
        session: label("session")?,
        sight: label("sight")?,
    })
}
