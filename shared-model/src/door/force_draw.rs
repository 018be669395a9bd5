//! `force-draw` behind the door.

use super::{read::Field, write};
use crate::{ModelError, rig::force_draw::DrawCurve};
use serde_json::{Value, json};

pub(super) const HELP: &str = "\
Input
  draw_in     draw lengths, two or more, rising
  weight_lbf  weight at each
  at_in       a draw or a list of draws that is asked for; may be left out
Output
  weight_lbf, slope_lbf_per_in       at at_in; null in a list where nothing was measured
  stored_energy_ftlbf, stored_energy_j  from the first draw to the last
  notes       what is null, and why
Units
  in, lbf, lbf/in, ft-lbf, J
Source
  Fritsch and Carlson, SIAM J. Numer. Anal. 17 (1980) 238; Fritsch and Butland, SIAM J. Sci. Stat.
  Comput. 5 (1984) 300. Never draw beyond what the maker allows.
";

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let curve = DrawCurve::new(&root.need("draw_in")?.numbers(0)?, &root.need("weight_lbf")?.numbers(0)?)?;
    let mut notes = Vec::new();
    let (weight, slope) = match root.find("at_in") {
        None => (Value::Null, Value::Null),
        Some(field) if field.raw().is_array() => list(&curve, &field, &mut notes)?,
        Some(field) => {
            let at = field.number()?;
            let [first, last] = curve.span_in();
            let [weight, slope] = curve.at(at).ok_or_else(|| {
                let what =
                    format_args!("is {at} in; the curve was measured from {first} to {last} in").to_string();
                field.wrong("out_of_range", what)
            })?;
            (json!(weight), json!(slope))
        }
    };
    write::output(&json!({
        "weight_lbf": weight,
        "slope_lbf_per_in": slope,
        "stored_energy_ftlbf": curve.stored_energy_ftlbf(),
        "stored_energy_j": curve.stored_energy_j(),
        "notes": notes,
    }))
}

fn list(curve: &DrawCurve, field: &Field, notes: &mut Vec<String>) -> Result<(Value, Value), ModelError> {
    let asked = field.numbers(0)?;
    let found: Vec<Option<[f64; 2]>> = asked.iter().map(|at| curve.at(*at)).collect();
    let [first, last] = curve.span_in();
    for at in asked.iter().zip(&found).filter(|(_, f)| f.is_none()).map(|(at, _)| at) {
        notes.push(format!("{at} in: outside the draws measured, {first} to {last} in"));
    }
    let column = |i: usize| found.iter().map(|f| f.map(|pair| pair[i])).collect::<Vec<_>>();
    Ok((json!(column(0)), json!(column(1))))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn outside_the_curve_is_null_in_a_list_and_an_error_alone() {
        let ask = |at: Value| run(&json!({"draw_in": [8, 28], "weight_lbf": [0, 40], "at_in": at}));
        let list = ask(json!([18, 29])).expect("a list");
        assert_eq!(
            (&list["weight_lbf"], list["notes"].as_array().map(Vec::len)),
            (&json!([20.0, null]), Some(1))
        );
        assert_eq!(ask(json!(29)).expect_err("beyond").field.as_deref(), Some("at_in"));
        assert_eq!(ask(json!(18)).expect("one")["slope_lbf_per_in"], json!(2.0));
    }
}
