//! `fit` behind the door.

use super::{read::Field, write};
use crate::{
    ModelError,
    stats::fit::{LimbLength, bow_length_in, limb_length, string_length_in},
};
use serde_json::Value;

pub(super) const HELP: &str = "\
Input
  any of these
  draw_length_in  draw length by the AMO measure, 10 to 40
  riser_in        riser length, 9 to 31
  limb_length     short, medium or long; stands before what the draw length says
Output
  what follows from them
  limb_length       short, medium, long, or between: the rule says nothing from 26 to 26.5 in
  bow_length_in     from riser and limbs, null when either is not known
  string_length_in  string to start from, measured braced as the AMO bow length is
  notes             what the rules leave open
Units
  inches
Source
  limb and bow lengths: common practice, no source; string: AMO Standards, Field Publication FP-3
  (2000). What the makers of riser, limbs and string say comes first.
";

#[derive(serde::Serialize)]
struct Output {
    limb_length: Option<LimbLength>,
    bow_length_in: Option<f64>,
    string_length_in: Option<f64>,
    notes: Vec<String>,
}

pub(super) fn run(input: &Value) -> Result<Value, ModelError> {
    let root = Field::root(input)?;
    let riser = root.find("riser_in").map(|f| f.number()).transpose()?;
    let draw = root.find("draw_length_in").map(|f| f.number()).transpose()?;
    let named = root.find("limb_length").map(|f| limb_word(&f)).transpose()?;
    if riser.is_none() && draw.is_none() && named.is_none() {
        let message = "Nothing to fit: give draw_length_in, riser_in or limb_length.";
        return Err(ModelError::new("missing_field", message).at("draw_length_in"));
    }
    let from_draw = draw.map(limb_length).transpose()?;
    let limbs = named.or(from_draw);
    // A riser alone is checked too, though nothing follows from it.
    let bow = riser.map(|r| bow_length_in(r, limbs.unwrap_or(LimbLength::Between))).transpose()?.flatten();
    write::output(&Output {
        limb_length: limbs,
        bow_length_in: bow,
        string_length_in: bow.map(string_length_in),
        notes: notes(riser, named, from_draw),
    })
}

fn limb_word(field: &Field) -> Result<LimbLength, ModelError> {
    let word = field.text()?;
    let known = LimbLength::WORDS.iter().find(|(name, _)| *name == word);
    known.map(|(_, limbs)| *limbs).ok_or_else(|| {
        field.wrong("out_of_range", format_args!("is '{word}'; limbs are short, medium or long"))
    })
}

fn notes(riser: Option<f64>, named: Option<LimbLength>, from_draw: Option<LimbLength>) -> Vec<String> {
    let mut notes = Vec::new();
    let limbs = named.or(from_draw);
    if limbs == Some(LimbLength::Between) {
        notes.push(
            "A draw from 26 to below 26.5 in lies between short and medium limbs; try both.".to_owned(),
        );
    }
    if riser.is_none() && limbs.is_some_and(|l| l != LimbLength::Between) {
        notes.push("The bow length follows once riser_in is given.".to_owned());
    }
    if riser.is_some() && limbs.is_none() {
        notes.push("The bow length follows once limb_length or draw_length_in is given.".to_owned());
    }
    if let (Some(a), Some(b)) = (named, from_draw)
        && a != b
    {
        notes.push("The limbs named are not those that the rule gives for this draw length.".to_owned());
    }
    notes
}

#[cfg(test)]
mod tests {
    use super::*;
    use serde_json::json;

    #[test]
    fn everything_follows_from_archer_and_riser() {
        let out = run(&json!({"draw_length_in": 28, "riser_in": 25})).expect("a fit");
        assert_eq!(
            out,
            json!({"limb_length": "medium", "bow_length_in": 68.0, "string_length_in": 65.0, "notes": []})
        );
    }

    #[test]
    fn what_does_not_follow_is_null_and_said() {
        let gap = run(&json!({"draw_length_in": 26.2, "riser_in": 25})).expect("a fit");
        assert_eq!((&gap["limb_length"], &gap["bow_length_in"]), (&json!("between"), &Value::Null));
        assert_eq!(gap["notes"].as_array().map(Vec::len), Some(1));
        let riser = run(&json!({"riser_in": 25})).expect("a fit");
        assert_eq!((&riser["limb_length"], riser["notes"].as_array().map(Vec::len)), (&Value::Null, Some(1)));
        let odd = run(&json!({"draw_length_in": 24, "limb_length": "long", "riser_in": 21})).expect("a fit");
        assert_eq!((&odd["bow_length_in"], odd["notes"].as_array().map(Vec::len)), (&json!(66.0), Some(1)));
    }

    #[test]
    fn what_is_wrong_is_said_where_it_is() {
        for (input, code, field) in [
            (json!({}), "missing_field", "draw_length_in"),
            (json!({"limb_length": "huge"}), "out_of_range", "limb_length"),
            (json!({"draw_length_in": "28"}), "wrong_type", "draw_length_in"),
            (json!({"draw_length_in": 280}), "out_of_range", "draw_length_in"),
            (json!({"riser_in": -1}), "out_of_range", "riser_in"),
        ] {
            let e = run(&input).expect_err("wrong input");
            assert_eq!((e.code, e.field.as_deref()), (code, Some(field)), "{input}");
        }
    }
}
