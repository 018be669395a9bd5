//! `power-shift` and `power-spread` behind the door.

use super::{read::Field, write};
use crate::{ModelError, stats::power::Test};
use serde_json::{Value, json};

pub(super) const HELP_SHIFT: &str = "\
Input
  alpha     level of the test, between 0 and 1
  all but one of
  n_before and n_after, or n_per_side  arrows, 2 or more on each side
  shift_sd  shift in SDs of one axis, above 0
  power     chance to find it, above alpha and below 1
Output
  the missing one: n_per_side (the fewest that reach the power), shift_sd or power
Units
  arrows; shift in SDs
Source
  Hotelling's two-sample test, noncentral F: Johnson and Wichern, Applied Multivariate Statistical
  Analysis, 6th ed. (2007), 6.3. For arrows without ends and sessions; a season needs more.
";

pub(super) const HELP_SPREAD: &str = "\
Input
  alpha     level of the test, between 0 and 1
  all but one of
  n_before and n_after, or n_per_side  arrows, 2 or more on each side
  sd_ratio  SD after over SD before, above 0 and not 1
  power     chance to find it, above alpha and below 1
Output
  the missing one: n_per_side (the fewest that reach the power), sd_ratio (the one above 1) or power
Units
  arrows; ratio of SDs
Source
  two-sided F test of the radial variances on 2 (n - 1) degrees of freedom each: NIST/SEMATECH
  e-Handbook of Statistical Methods, 1.3.5.9
";

pub(super) fn run_shift(input: &Value) -> Result<Value, ModelError> {
    run(Test::Shift, input)
}

pub(super) fn run_spread(input: &Value) -> Result<Value, ModelError> {
    run(Test::Spread, input)
}

fn run(test: Test, input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let alpha = root.need("alpha")?.fraction()?;
    let arrows = arrows(&root)?;
    let size = root.find(test.field()).map(|f| size(test, &f)).transpose()?;
    let power = root.find("power").map(|f| power(&f, alpha)).transpose()?;
    let found = match (arrows, size, power) {
        (None, Some(size), Some(power)) => json!({"n_per_side": test.arrows(size, power, alpha)?}),
        (Some(n), None, Some(power)) => json!({test.field(): test.size(n, power, alpha)?}),
        (Some(n), Some(size), None) => match test.power(n, size, alpha) {
            Some(power) => json!({"power": power}),
            None => {
                let message =
                    "the power cannot be computed from these numbers; look for values far too large";
                return Err(ModelError::new("not_computable", message).at(test.field()));
            }
        },
        _ => {
            let message = format!(
                "Give two of the arrows (n_before and n_after, or n_per_side), '{}' and 'power'; the third is \
                 computed.",
                test.field()
            );
            return Err(ModelError::new("missing_field", message).at(test.field()));
        }
    };
    write::output(&found)
}

fn arrows(root: &Field) -> Result<Option<[usize; 2]>, ModelError> {
    let count = |field: Field| {
        let n = field.count()?;
        if (2..=10_000_000).contains(&n) {
            return Ok(n);
        }
        Err(field.wrong("out_of_range", format_args!("is {n}; it has to be from 2 to 10,000,000")))
    };
    match (root.find("n_per_side"), root.find("n_before"), root.find("n_after")) {
        (None, None, None) => Ok(None),
        (Some(n), None, None) => count(n).map(|n| Some([n, n])),
        (None, Some(before), Some(after)) => Ok(Some([count(before)?, count(after)?])),
        _ => {
            let message = "Give 'n_before' and 'n_after' together, or 'n_per_side' alone.";
            Err(ModelError::new("missing_field", message).at("n_after"))
        }
    }
}

fn size(test: Test, field: &Field) -> Result<f64, ModelError> {
    let size = field.number_above_zero()?;
    if size == test.none() {
        return Err(field.wrong("out_of_range", "is 1, which is no change; give another ratio"));
    }
    Ok(size)
}

fn power(field: &Field, alpha: f64) -> Result<f64, ModelError> {
    let power = field.fraction()?;
    if power > alpha {
        return Ok(power);
    }
    Err(field.wrong("out_of_range", format_args!("is {power}; chance alone reaches alpha, {alpha}")))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn what_is_wrong_is_said_where_it_is() {
        for (input, field) in [
            (json!({"n_per_side": 12, "power": 0.8}), "alpha"),
            (json!({"alpha": 0.05, "power": 0.8}), "shift_sd"),
            (json!({"alpha": 0.05, "power": 0.8, "n_per_side": 9, "shift_sd": 1}), "shift_sd"),
            (json!({"alpha": 0.05, "power": 0.04, "shift_sd": 1}), "power"),
            (json!({"alpha": 0.05, "power": 0.8, "n_before": 9}), "n_after"),
            (json!({"alpha": 0.05, "power": 0.8, "n_per_side": 1}), "n_per_side"),
            (json!({"alpha": 0.05, "power": 0.8, "shift_sd": 0}), "shift_sd"),
        ] {
            assert_eq!(run_shift(&input).expect_err("wrong").field.as_deref(), Some(field), "{input}");
        }
        let one = run_spread(&json!({"alpha": 0.05, "power": 0.8, "sd_ratio": 1})).expect_err("no change");
        assert_eq!(one.field.as_deref(), Some("sd_ratio"));
    }
}
