//! `force-draw` behind the door.

use super::{read::Field, write};
use crate::{
    ModelError,
    rig::{arrow::kinetic_energy_j, force_draw::DrawCurve, stacking::stacking},
};
use serde_json::{Map, Value, json};

pub(super) const HELP: &str = "\
Input
  draw_in     draw lengths, two or more, rising
  weight_lbf  weight at each
  at_in       a draw or a list of draws that is asked for; may be left out
  arrow_mass_gr, speed_fps  an arrow and its speed at release; may be left out
Output
  weight_lbf, slope_lbf_per_in       at at_in; null in a list where nothing was measured
  stored_energy_ftlbf, stored_energy_j  from the first draw to the last
  energy_per_pound    ft-lbf stored for each lbf at the last draw
  slope_full_lbf_per_in  by how much it gains at the last draw
  last_inch_lbf_per_in, middle_lbf_per_in  gain over the last inch, over the middle third; null
                      where less than 6 in were measured
  stacking            the first over the second
  kinetic_energy_j, efficiency  of the arrow, and that over the energy stored; null without mass or
                      speed
  notes       what is null, and why
Units
  in, lbf, lbf/in, ft-lbf, J
Source
  Fritsch and Carlson, SIAM J. Numer. Anal. 17 (1980) 238; Fritsch and Butland, SIAM J. Sci. Stat.
  Comput. 5 (1984) 300. Energies: NIST SP 811. Stacking: common practice, no source.
  Never draw beyond what the maker allows.
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
    let mut found = at_full_draw(&curve, &mut notes);
    found.extend(of_arrow(&root, &curve, &mut notes)?);
    for (name, value) in [
        ("weight_lbf", weight),
        ("slope_lbf_per_in", slope),
        ("stored_energy_ftlbf", json!(curve.stored_energy_ftlbf())),
        ("stored_energy_j", json!(curve.stored_energy_j())),
        ("notes", json!(notes)),
    ] {
        found.insert(name.into(), value);
    }
    write::output(&Value::Object(found))
}

/// Returns what holds at the last draw.
fn at_full_draw(curve: &DrawCurve, notes: &mut Vec<String>) -> Map<String, Value> {
    let [first, last] = curve.span_in();
    let [weight, slope] = curve.at(last).unwrap_or([0.0, 0.0]);
    let stacking = stacking(curve, last);
    if stacking.is_none() {
        notes.push(format!("from {first} to {last} in is too little to tell stacking"));
    }
    let per_pound = (weight > 0.0).then(|| curve.stored_energy_ftlbf() / weight);
    if per_pound.is_none() {
        notes.push("there is no weight at the last draw: nothing is stored for each pound".into());
    }
    if curve.at(first).is_some_and(|[lbf, _]| lbf > 0.0) {
        notes.push(format!("energy is counted from {first} in on, where there is weight already"));
    }
    let found = [
        ("energy_per_pound", json!(per_pound)),
        ("slope_full_lbf_per_in", json!(slope)),
        ("last_inch_lbf_per_in", json!(stacking.map(|s| s.last_lbf_per_in))),
        ("middle_lbf_per_in", json!(stacking.map(|s| s.middle_lbf_per_in))),
        ("stacking", json!(stacking.and_then(|s| s.ratio))),
    ];
    found.into_iter().map(|(name, value)| (name.to_owned(), value)).collect()
}

/// Returns the energy of the arrow and its share of what is stored; null where one of mass and speed is not given.
fn of_arrow(
    root: &Field,
    curve: &DrawCurve,
    notes: &mut Vec<String>,
) -> Result<Vec<(String, Value)>, ModelError> {
    let number = |name: &str, most: f64| {
        let Some(field) = root.find(name) else { return Ok(None) };
        let value = field.number_above_zero()?;
        if value <= most {
            return Ok(Some(value));
        }
        Err(field.wrong("out_of_range", format_args!("is {value}; at most {most}. Is it in another unit?")))
    };
    let both = number("arrow_mass_gr", 3000.0)?.zip(number("speed_fps", 700.0)?);
    let [_, last] = curve.span_in();
    let share = both.and_then(|(gr, fps)| curve.efficiency(last, gr, fps));
    if share.is_some_and(|share| share > 1.0) {
        notes.push("the arrow has more energy than the curve stores: check mass, speed and curve".into());
    }
    let kinetic = both.map(|(gr, fps)| kinetic_energy_j(gr, fps));
    Ok(vec![("kinetic_energy_j".into(), json!(kinetic)), ("efficiency".into(), json!(share))])
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
