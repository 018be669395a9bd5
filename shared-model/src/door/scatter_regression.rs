//! `scatter-regression` behind the door.

use super::{read::Field, write};
use crate::{ModelError, stats::scatter_regression::scatter_regression};
use serde_json::Value;

pub(super) const HELP: &str = "\
Input
  ss  list: the radial scatter of each end about its own mean, SSx + SSy, above 0
  df  list: its degrees of freedom, 2 (arrows - 1), above 0
  x   list of rows: the design, one row an end; linearly independent columns, the first usually 1
Output
  gamma     list: coefficients of log sigma^2; exp(gamma/2) is a ratio of standard deviations
  se        list: their standard errors (expected information, dispersion 1)
  deviance  twice what the likelihood lacks to a perfect fit
Units
  ss in any squared length; gamma in logarithms of it
Source
  McCullagh and Nelder, Generalized Linear Models, 2nd ed. 1989, chapters 2 and 8
";

#[derive(serde::Serialize)]
struct Output {
    gamma: Vec<f64>,
    se: Vec<f64>,
    deviance: f64,
}

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let ss = root.need("ss")?.numbers(1)?;
    let df = root.need("df")?.numbers(1)?;
    let fit = scatter_regression(&ss, &df, &root.need("x")?.matrix()?)?;
    write::output(&Output { gamma: fit.gamma, se: fit.se, deviance: fit.deviance })
}
