//! `adjust-p` behind the door.

use super::{read::Field, write};
use crate::{
    ModelError,
    stats::adjust_p::{benjamini_hochberg, holm},
};
use serde_json::Value;

pub(super) const HELP: &str = "\
Input
  p  list of p-values, each from 0 to 1
Output
  holm                list, in the order of p: corrected so that the chance of any false alarm stays
                      at the level asked for
  benjamini_hochberg  list, in the order of p: corrected so that the share of false alarms among all
                      alarms stays at the level asked for
Units
  none
Source
  Holm, Scandinavian Journal of Statistics 6 (1979) 65; Benjamini and Hochberg, Journal of the Royal
  Statistical Society B 57 (1995) 289
";

#[derive(serde::Serialize)]
struct Output {
    holm: Vec<f64>,
    benjamini_hochberg: Vec<f64>,
}

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let list = Field::root(input)?.need("p")?;
    let p: Vec<f64> = list.list()?.iter().map(|f| f.number_within(0.0, 1.0)).collect::<Result<_, _>>()?;
    if p.is_empty() {
        return Err(list.wrong("too_few", "is empty; give at least one p-value"));
    }
    write::output(&Output { holm: holm(&p), benjamini_hochberg: benjamini_hochberg(&p) })
}
