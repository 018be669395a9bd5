//! `spread-tests` behind the door.

use super::{read::Field, write};
use crate::{ModelError, stats::spread_tests::spread_tests};
use serde_json::Value;

pub(super) const HELP: &str = "\
Input
  samples  two or more lists of two or more numbers
Output
  bartlett        {statistic, df, p}: for normal samples
  brown_forsythe  {f, df1, df2, p}: distances from medians, steady with long tails
  levene          {f, df1, df2, p}: distances from means
  notes           what is null, and why
Units
  that of the samples
Source
  Bartlett, Proceedings of the Royal Society A 160 (1937) 268; Levene, Contributions to Probability
  and Statistics (1960) 278; Brown and Forsythe, J. Amer. Statist. Assoc. 69 (1974) 364
";

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let lists = Field::root(input)?.need("samples")?.list()?;
    let samples = lists.iter().map(|list| list.numbers(0)).collect::<Result<Vec<_>, _>>()?;
    write::output(&spread_tests(&samples)?)
}
