//! Reads groups arrow by arrow: places with the number on each arrow, flyers and bare shafts.

use super::read::Field;
use crate::{
    ModelError,
    stats::shots::{Shot, ShotGroup},
};

/// What the help of a method says of its groups.
macro_rules! groups_help {
    () => {
        "\
  groups  list of {distance_m, points_mm} and, where known, arrow_numbers (a label or null for
          each point), flyers and bare (indices from 0), end (groups of one end are taken
          together; the group itself), session (tells ends of one name apart)
"
    };
}
pub(super) use groups_help;

/// Returns the groups of an input.
pub(super) fn groups(root: &Field) -> Result<Vec<ShotGroup>, ModelError> {
    root.need("groups")?.list()?.iter().map(group).collect()
}

fn group(field: &Field) -> Result<ShotGroup, ModelError> {
    let distance = field.need("distance_m")?;
    let distance_m = distance.number_within(0.5, 400.0)?;
    let points = field.need("points_mm")?.points(1)?;
    let mut shots: Vec<Shot> = points.into_iter().map(|at_mm| Shot { at_mm, ..Shot::default() }).collect();
    if let Some(numbers) = field.find("arrow_numbers") {
        let list = numbers.list()?;
        if list.len() != shots.len() {
            let what =
                format!("has {} numbers for {} points; give one each, or null", list.len(), shots.len());
            return Err(numbers.wrong("length_mismatch", what));
        }
        for (shot, number) in shots.iter_mut().zip(list) {
            let label = if number.raw().is_null() { String::new() } else { number.label()? };
            shot.number = Some(label.trim().to_owned()).filter(|n| !n.is_empty());
        }
    }
    mark(field, "flyers", &mut shots, |shot| shot.flyer = true)?;
    mark(field, "bare", &mut shots, |shot| shot.bare = true)?;
    let label = |name| field.find(name).map(|f| f.label()).transpose();
    Ok(ShotGroup { distance_m, session: label("session")?, end: label("end")?, shots })
}

fn mark(field: &Field, name: &str, shots: &mut [Shot], set: impl Fn(&mut Shot)) -> Result<(), ModelError> {
    for index in field.find(name).map(|f| f.list()).transpose()?.into_iter().flatten() {
        let count = shots.len();
        let Some(shot) = shots.get_mut(index.count()?) else {
            return Err(
                index.wrong("out_of_range", format_args!("is no index of the {count} points, from 0"))
            );
        };
        set(shot);
    }
    Ok(())
}

/// Returns the confidence that is asked for.
pub(super) fn confidence(root: &Field) -> Result<f64, ModelError> {
    root.find("confidence").map_or(Ok(0.95), |f| f.number_within(0.5, 0.9999))
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn marks_and_numbers_go_to_their_arrows() {
        let input = json!({"groups": [{"distance_m": 18, "points_mm": [[1, 2], [3, 4], [5, 6]],
            "arrow_numbers": [" 7 ", null, 3], "flyers": [1], "bare": [2], "end": 4}]});
        let groups = groups(&Field::root(&input).expect("an object")).expect("groups");
        let told: Vec<_> = groups[0].shots.iter().map(|s| (s.number.as_deref(), s.flyer, s.bare)).collect();
        assert_eq!(told, [(Some("7"), false, false), (None, true, false), (Some("3"), false, true)]);
        assert_eq!(groups[0].end.as_deref(), Some("4"));
    }

    #[test]
    fn what_does_not_fit_the_points_is_told_with_its_place() {
        for (field, value, at) in [
            ("arrow_numbers", json!(["1"]), "groups[0].arrow_numbers"),
            ("flyers", json!([2]), "groups[0].flyers[0]"),
            ("bare", json!([0, 9]), "groups[0].bare[1]"),
            ("distance_m", json!(0), "groups[0].distance_m"),
        ] {
            let mut input = json!({"groups": [{"distance_m": 18, "points_mm": [[1, 2], [3, 4]]}]});
            input["groups"][0][field] = value;
            let e = groups(&Field::root(&input).expect("an object")).expect_err(field);
            assert_eq!(e.field.as_deref(), Some(at), "{}", e.message);
        }
    }
}
