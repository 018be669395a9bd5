//! `mixed` behind the door.

use super::{read::Field, write};
use crate::{
    ModelError,
    stats::mixed::{Observations, fit},
};
use serde_json::Value;

pub(super) const HELP: &str = "\
Input
  y        list of numbers, one an observation
  x        rows of the design, one an observation; a column of ones is the intercept
  session  list of labels, one an observation (may be left out: no effect of sessions)
  end      list of labels, counted within their session (may be left out: no effect of ends)
Output
  beta                    coefficients, one a column of x
  se                      their standard errors
  se_kr, df_kr            standard errors and degrees of freedom by Kenward and Roger
  t_kr, p_kr              beta / se_kr and its two-sided p-value
  var_session, var_end, var_noise
                          variances; null where the labels were left out
  reml_loglik             restricted log-likelihood, as lme4 writes it
  joint                   {f, ndf, ddf, p}: that all coefficients but the first are zero; null where
                          there is none
  notes                   why something is null
Units
  beta in units of y per unit of x, variances in units of y squared
Source
  REML: Patterson and Thompson, Biometrika 58 (1971); Kenward and Roger, Biometrics 53 (1997); the
  convention of the likelihood: Bates, Maechler, Bolker and Walker, J. Stat. Softw. 67(1) (2015)
";

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let y = root.need("y")?.numbers(1)?;
    let x = root.need("x")?.matrix()?;
    let labels = |name| root.find(name).map(|field| field.labels()).transpose();
    let (session, end) = (labels("session")?, labels("end")?);
    let observations = Observations { y: &y, x: &x, session: session.as_deref(), end: end.as_deref() };
    write::output(&fit(&observations)?)
}
